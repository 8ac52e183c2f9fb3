//! What is written on job cards: the customer's words come from what is noticed, the past says nothing of the fault.

use std::collections::BTreeSet;

use hidden_ohm::fault::Fault;
use hidden_ohm::scenario::{Occasion, Told, customer_lines, symptoms_told};

use hidden_ohm::vehicle::Vehicle;

use super::codes;
use crate::floor::{drawn, library};

/// Words that would give a fault away: those of its title and of its identifier, common ones left out.
fn telling_words() -> BTreeSet<String> {
    const COMMON: [&str; 17] = [
        "the", "and", "when", "with", "that", "under", "back", "down", "high", "never", "past",
        "too", "low", "poor", "pump", "hose", "line",
    ];
    let kinds = library().catalogue.kinds.iter();
    let words = kinds.flat_map(|kind| {
        format!("{} {}", kind.title, kind.id)
            .to_lowercase()
            .replace('-', " ")
            .split(' ')
            .map(str::to_owned)
            .collect::<Vec<_>>()
    });
    words
        .filter(|word| word.len() > 2 && !COMMON.contains(&word.as_str()))
        .collect()
}

/// Every line of every vehicle's customers.
fn all_lines() -> BTreeSet<&'static str> {
    let vehicles = library().vehicles.iter();
    vehicles
        .flat_map(|vehicle| customer_lines(vehicle))
        .collect()
}

fn words(line: &str) -> Vec<String> {
    let lower = line.to_lowercase();
    let words = lower.split(|letter: char| !letter.is_alphabetic());
    words.map(str::to_owned).collect()
}

#[test]
fn no_customer_names_a_fault_or_the_part_it_sits_on() {
    let telling = telling_words();
    assert!(
        telling.contains("corroded") && telling.contains("fuse"),
        "{telling:?}"
    );
    // What a driver sees and says anyway: the engine runs, the driver starts it, the battery is flat in the morning.
    let said_anyway = [
        "runs", "starter", "battery", "fuel", "gauge", "start", "slow", "tank", "shut", "hot",
        "longer", "come",
    ];
    for line in all_lines() {
        for word in words(line) {
            assert!(
                !telling.contains(&word) || said_anyway.contains(&word.as_str()),
                "`{line}` says `{word}`"
            );
        }
    }
}

#[test]
fn every_line_a_customer_may_say_is_recognised_as_one_thing_noticed_or_as_nothing() {
    for vehicle in &library().vehicles {
        let mut lines = BTreeSet::new();
        for line in customer_lines(vehicle) {
            let told = symptoms_told(vehicle, line);
            assert!(told.len() <= 1, "`{line}`: {told:?}");
            assert!(lines.insert(line), "`{line}` stands twice");
        }
        assert!(lines.len() > 30);
    }
}

#[test]
fn orders_tell_what_was_noticed_and_the_past_misleads_only_from_level_three() {
    let (mut misled, mut unhelpful, mut hard) = (0, 0, 0);
    for (level, seed) in codes().take(120) {
        let scenario = drawn(level, seed);
        let order = scenario.order().clone();
        let hidden = scenario.reveal();
        let told = symptoms_told(&hidden.vehicle, &order.customer);
        let noticed = hidden
            .rig(hidden.faults.clone())
            .expect("a rig")
            .drive()
            .expect("a drive");
        let noticed = noticed.symptoms(hidden.vehicle.engine.fade_fraction);
        assert!(
            noticed.starts_with(&told),
            "{told:?} of {noticed:?}: {}",
            order.customer
        );
        let work = order.known.iter().any(|line| {
            let lower = line.to_lowercase();
            hidden
                .vehicle
                .parts
                .iter()
                .any(|part| lower.contains(&part.title.to_lowercase()))
        });
        assert!(level >= 3 || !work, "level {level}: {:?}", order.known);
        assert!((2..=4).contains(&order.known.len()), "{:?}", order.known);
        if level >= 3 {
            hard += 1;
            misled += u32::from(work);
            unhelpful += u32::from(
                !told.is_empty()
                    && !order
                        .customer
                        .starts_with(first_line(&hidden.vehicle, &order.customer)),
            );
        }
    }
    assert!(4 * misled > hard, "{misled} of {hard} pasts name work");
    assert!(unhelpful > 0, "everybody is helpful");
}

#[test]
fn what_a_customer_says_brings_it_on_does() {
    let mut told_so = 0;
    for (level, seed) in codes().take(400).filter(|(level, _)| *level >= 3) {
        let scenario = drawn(level, seed);
        let customer = scenario.order().customer.clone();
        let hidden = scenario.reveal();
        let told = Told::by(&hidden.vehicle, &customer).occasion;
        let mut true_ones = hidden.faults.iter();
        let of = |fault: &Fault| Occasion::of(&hidden.catalogue.kinds[fault.kind.0]);
        assert!(
            told.is_none() || true_ones.any(|fault| of(fault) == told),
            "{told:?}: {customer}"
        );
        told_so += u32::from(told.is_some());
    }
    assert!(told_so > 0, "nobody says what brings it on");
}

/// The first line of usual words in what a customer says.
fn first_line<'v>(vehicle: &'v Vehicle, customer: &str) -> &'v str {
    let found = customer_lines(vehicle).filter_map(|line| Some((customer.find(line)?, line)));
    found.min().map_or("", |(_, line)| line)
}
