//! Whole jobs, from work order to hand-back, through the bay.

mod bad_input;
mod cures;
mod scripts;
mod walk;
mod words;

use hidden_ohm::bay::{Action, Cited, Fact, TIMES, Verdict};
use hidden_ohm::instrument::{Function, Interval};
use hidden_ohm::rig::Symptom;
use hidden_ohm::vehicle::{Key, Section};

use crate::floor::{Floor, fault, kept, van, wire};

/// Dangers somebody was put in.
fn hazards(closed: &hidden_ohm::bay::Closed) -> Vec<String> {
    let facts = closed.ledger.iter().flat_map(|entry| &entry.facts);
    facts
        .filter_map(|fact| match fact {
            Fact::Hazard(hazard) => Some(hazard.what.clone()),
            _ => None,
        })
        .collect()
}

#[test]
fn a_corroded_ground_from_work_order_to_hand_back() {
    let mut floor = Floor::new(kept("corroded-ground"));
    let order = floor.act(&Action::Order);
    assert!(
        order.said.iter().any(|line| line.contains("chapel")),
        "{:?}",
        order.said
    );
    assert_eq!(order.seconds, 0.0, "reading the order costs nothing");
    let drive = floor.act(&Action::Drive);
    assert!(
        drive.said.iter().any(|line| line.contains("hill")),
        "the complaint shows: {:?}",
        drive.said
    );

    floor.act(&Action::Protect);
    floor.open_up(&["bonnet"]);
    let rest = floor.volts("B+", "B-");
    // Some minutes after a drive surface charge stands on top of the rested 12.6 V.
    assert!((12.4..13.6).contains(&rest), "the battery is well: {rest}");
    floor.run_pump();
    // Body to post first: one reading clears battery, clamp and body ground.
    let body = floor.volts("BODY", "B-");
    assert!(body < 0.05, "{body}");
    floor.black_lead(wire(5.0, 1.0));
    let side = floor.volts("G4", "B-");
    assert!(
        side > 2.0,
        "far more than the 0.1 V that is excellent (common practice): {side}"
    );
    let proved = floor.volts("G4", "B+");
    assert!(proved < -5.0, "the tip touches: {proved}");
    let joint = floor.volts("G4", "BODYR");
    assert!(
        (joint - side).abs() < 0.02 * side + 0.02,
        "all of it at the joint: {joint} of {side}"
    );
    let call = Action::Call {
        section: Section::GroundSide,
        verdict: Verdict::Bad,
        cites: Some(Cited::volts(joint)),
    };
    floor.act(&call);
    floor.key(Key::Off);
    floor.repair("G4");
    floor.run_pump();
    let after = floor.volts("G4", "B-");
    assert!(after < 0.05, "verified under load: {after}");
    floor.key(Key::Off);
    let drive = floor.act(&Action::Drive);
    assert!(
        drive.said[drive.said.len() - 1].starts_with("It starts at once"),
        "{:?}",
        drive.said
    );

    let (closed, symptoms, left) = floor.hand_back();
    assert_eq!((symptoms, left), (vec![], 0));
    assert_eq!(hazards(&closed), Vec::<String>::new());
    let facts: Vec<&Fact> = closed
        .ledger
        .iter()
        .flat_map(|entry| &entry.facts)
        .collect();
    assert!(
        facts
            .iter()
            .any(|fact| matches!(fact, Fact::Remedied { cured: true, .. }))
    );
    let judged = facts.iter().find_map(|fact| match fact {
        Fact::Called(call) => Some(call),
        _ => None,
    });
    let judged = judged.expect("the call");
    assert!(judged.was_bad && judged.imagined_drop_v.is_none());
    let relied = judged.relies_on.expect("the reading relied on is found");
    let entry = &closed.ledger[relied as usize - 1];
    assert!(
        matches!(
            entry.action,
            Action::Meter {
                function: Function::Volts,
                ..
            }
        ),
        "{:?}",
        entry.action
    );
    assert_eq!(closed.truth.came_with.len(), 1);
    assert!(closed.truth.left.is_empty());
}

#[test]
fn a_new_pump_does_not_cure_a_bad_ground() {
    let mut floor = Floor::new(kept("corroded-ground"));
    floor.act(&Action::Protect);
    floor.open_up(&["bonnet", "underbody", "shield"]);
    floor.act(&Action::Relieve);
    floor.act(&Action::Isolate(true));
    floor.open_up(&["tank", "module"]);
    floor.replace("PUMP");
    // The battery goes on last, when nothing is open any more.
    floor.act(&Action::Refit(floor.access_id("tank")));
    floor.act(&Action::Isolate(false));
    let (closed, symptoms, left) = floor.hand_back();
    assert_eq!(left, 1);
    assert!(symptoms.contains(&Symptom::FadesUnderLoad), "{symptoms:?}");
    let facts = closed.ledger.iter().flat_map(|entry| &entry.facts);
    let cured: Vec<bool> = facts
        .filter_map(|fact| match fact {
            Fact::Remedied { cured, .. } => Some(*cured),
            _ => None,
        })
        .collect();
    assert_eq!(cured, [false]);
    assert_eq!(hazards(&closed), Vec::<String>::new());
}

#[test]
fn a_new_fuse_blows_again_while_the_short_is_there() {
    let mut floor = Floor::new(van(
        3,
        &fault("chafed-to-body", "W13", "severity = \"0.05 ohm\""),
    ));
    floor.act(&Action::Protect);
    let blown = |floor: &mut Floor| {
        let look = Action::Look(hidden_ohm::bay::Target {
            part: floor.part("F12"),
            leg: None,
        });
        floor
            .act(&look)
            .said
            .iter()
            .any(|line| line.contains("gone"))
    };
    let turn = |floor: &mut Floor| {
        floor.act(&Action::Wait { seconds: 30.0 });
        let said = floor.key(Key::On).said;
        floor.key(Key::Off);
        said
    };
    floor.open_up(&["bonnet"]);
    assert!(blown(&mut floor), "the customer has turned the key");
    floor.replace("F12");
    assert!(!blown(&mut floor), "whole until current flows");
    let first = turn(&mut floor);
    assert!(
        first.iter().any(|line| line.contains("nothing")),
        "the pump is not heard: {first:?}"
    );
    assert!(
        blown(&mut floor),
        "some 80 A through 20 A: open within the prime (ISO 8820-3, 350 %: at most 0.5 s)"
    );
    floor.replace("F12");
    assert!(!blown(&mut floor));
    turn(&mut floor);
    assert!(blown(&mut floor), "a second fuse wasted");

    floor.open_up(&["underbody", "shield"]);
    floor.repair("W13");
    floor.replace("F12");
    let cured = turn(&mut floor);
    assert!(
        cured.iter().any(|line| line.contains("usual pitch")),
        "{cured:?}"
    );
    assert!(!blown(&mut floor));
    let (_, symptoms, left) = floor.hand_back();
    assert_eq!((symptoms, left), (vec![], 0));
}

#[test]
fn clock_and_money_are_the_sum_of_what_was_done() {
    // Prices and times of the harbour van: labour 58.00 an hour, pump 189.00, 25 min.
    let mut floor = Floor::new(van(1, ""));
    floor.open_all();
    floor.act(&Action::Isolate(true));
    let before = (floor.bay.clock_s(), floor.bay.spent());
    let labour = |seconds: f64| (5800.0 * seconds / 3600.0).round();
    assert_eq!(before.1.0 as f64, labour(before.0), "labour alone");
    floor.replace("PUMP");
    assert_eq!(floor.bay.clock_s() - before.0, 25.0 * 60.0);
    assert_eq!(
        floor.bay.spent().0 as f64,
        labour(before.0 + 1500.0) + 18_900.0
    );
    // A colleague costs 0.6 of the rate while they stand by.
    let (clock, spent) = (floor.bay.clock_s(), floor.bay.spent().0 as f64);
    floor.act(&Action::Helper(true));
    floor.act(&Action::Wait { seconds: 600.0 });
    let taken = TIMES.helper + 600.0;
    assert_eq!(floor.bay.clock_s() - clock, taken);
    assert!((floor.bay.spent().0 as f64 - spent - labour(1.6 * taken)).abs() <= 1.0);
}

#[test]
fn the_prime_is_read_with_the_recorder_or_by_a_colleague_when_the_meter_is_out_of_sight() {
    let mut floor = Floor::new(kept("corroded-ground"));
    floor.volts("G4", "BODYR");
    let blind = floor.key(Key::On);
    assert!(
        blind.readings.is_empty(),
        "the meter lies out of sight: {:?}",
        blind.readings
    );
    assert!(
        blind.said.iter().any(|line| line.contains("record on")),
        "{:?}",
        blind.said
    );
    floor.key(Key::Off);
    floor.act(&Action::Wait { seconds: 15.0 });
    floor.act(&Action::Record(Some(Interval::Peaks)));
    let recorded = floor.key(Key::On);
    let values: Vec<f64> = recorded.readings.iter().filter_map(|r| r.value).collect();
    let [mean, least, most] = values.as_slice() else {
        panic!("{:?}", recorded.readings)
    };
    assert!(least <= mean && mean <= most, "{values:?}");
    // A motor at rest has no back-EMF: the start surge drops more than the run does, averaged over 0.1 s.
    assert!(*most > 1.02 * mean && *mean > 3.0, "{values:?}");
    floor.key(Key::Off);
    floor.act(&Action::Record(None));
    floor.act(&Action::Wait { seconds: 15.0 });
    floor.act(&Action::Helper(true));
    let watched = floor.key(Key::On);
    let seen = watched.readings[0].value.expect("in range");
    assert!((seen - mean).abs() < 0.05 * mean, "{seen} and {mean}");
}

#[test]
fn fuel_work_without_care_is_written_down_as_danger() {
    let mut floor = Floor::new(van(1, ""));
    floor.open_up(&["bonnet"]);
    floor.run_pump();
    floor.act(&Action::PumpTool(false));
    floor.key(Key::Off);
    floor.act(&Action::Access(floor.access_id("underbody")));
    floor.act(&Action::Access(floor.access_id("shield")));
    floor.act(&Action::Access(floor.access_id("tank")));
    let (closed, _, _) = floor.hand_back();
    let told = hazards(&closed).join("\n");
    for what in [
        "jack alone",
        "negative clamp",
        "pressure in the lines",
        "eye protection",
    ] {
        assert!(told.contains(what), "{what} is missing in\n{told}");
    }
}
