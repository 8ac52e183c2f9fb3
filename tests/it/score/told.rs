//! What card, machine form and debrief tell.

use super::{GROUND, Learner, card, careful, dangerous, holds_together, part};
use hidden_ohm::bay::Action;
use hidden_ohm::score::{Points, WEIGHTS, debrief, scorecard};
use hidden_ohm::units::System;

#[test]
fn a_pump_bought_first_is_named_with_its_price_and_costs_points() {
    let mut learner = Learner::at(GROUND);
    learner.does(Action::Protect);
    learner.does(Action::Relieve);
    learner.access(&["bonnet"]);
    learner.does(Action::Isolate(true));
    learner.access(&["underbody", "shield", "tank", "module"]);
    learner.replace("PUMP");
    learner.does(Action::Isolate(false));
    learner.does(Action::Drive);
    learner.reads_the_ground();
    learner.mends_the_ground();
    let closed = learner.hands_back();
    let card = card(&closed);
    holds_together(&closed, &card);
    let needless = &part(&card, "outcome").marks[3];
    assert!(
        needless.points <= WEIGHTS.nothing_needless.less(WEIGHTS.each_needless, 1),
        "{needless:?}"
    );
    assert!(
        needless.because.contains("189.00 cr"),
        "{}",
        needless.because
    );
    assert_eq!(part(&card, "cost").points, Points(0));
}

#[test]
fn the_machine_form_has_stable_keys_and_exact_points() {
    let json = serde_json::to_value(card(&careful())).expect("it can be written");
    let keys: Vec<&String> = json.as_object().expect("an object").keys().collect();
    assert_eq!(
        keys,
        [
            "total", "of", "parts", "hazards", "baseline", "cap", "version"
        ]
    );
    assert_eq!(json["of"], 100);
    assert_eq!(json["parts"][0]["part"], "outcome");
    assert_eq!(json["parts"][0]["points"], 40);
    assert_eq!(json["cap"], serde_json::Value::Null);
    assert_eq!(json["version"], hidden_ohm::score::VERSION);
    let mark: Vec<&String> = json["parts"][0]["marks"][0]
        .as_object()
        .expect("an object")
        .keys()
        .collect();
    assert_eq!(mark, ["points", "of", "because", "actions"]);
    assert_eq!(serde_json::to_string(&Points(75)).expect("a number"), "7.5");
}

#[test]
fn units_change_the_words_and_never_the_points() {
    let closed = careful();
    let [metric, us] = [System::Metric, System::Us]
        .map(|system| scorecard(&closed, system).expect("solved").total);
    assert_eq!(metric, us);
}

#[test]
fn the_debrief_shows_where_the_volts_went() {
    let told = debrief(&careful(), System::Metric).expect("solved");
    let hidden = &told.hidden[0];
    assert_eq!(
        (hidden.part.as_str(), hidden.section, hidden.left),
        ("G4", "ground side", false)
    );
    assert!(hidden.severity.contains("0.50 ohm"), "{}", hidden.severity);
    let lost = |section: &str| {
        told.lost
            .iter()
            .find(|lost| lost.section == section)
            .expect("listed")
    };
    // Ohm's law: half an ohm at the pump's own current is what the ground side takes beyond its healthy share, and the
    // fuel gauge's own current of some 40 mA takes the same way.
    let extra = lost("ground side").came_v.expect("connected") - lost("ground side").healthy_v;
    let ohms = extra / told.pump_came.amps;
    assert!((0.49..0.54).contains(&ohms), "{ohms}");
    // Kirchhoff: all sections together take the battery's volts.
    let sum: f64 = told.lost.iter().filter_map(|lost| lost.came_v).sum();
    let battery = told
        .points
        .first()
        .and_then(|point| point.came_v)
        .expect("the positive post");
    assert!((sum - battery).abs() < 1e-9, "{sum} {battery}");
}

#[test]
fn card_and_debrief_read_well_line_by_line_without_drawings() {
    let closed = dangerous();
    let mut text = hidden_ohm::report::scorecard::text(&card(&closed));
    text.append(hidden_ohm::report::debrief::text(
        &debrief(&closed, System::Us).expect("solved"),
        System::Us,
        true,
    ));
    assert!(text.0.iter().all(|line| !line.is_drawing()));
    let plain = text.plain();
    assert!(plain.is_ascii());
    assert!(
        plain.contains("40 of 100") && plain.contains("grave: "),
        "{plain}"
    );
}
