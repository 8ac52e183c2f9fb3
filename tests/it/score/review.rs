//! Looking back: what each action told, what could be believed, hints.

use std::sync::OnceLock;

use super::{GROUND, Learner};
use hidden_ohm::bay::{Action, Verdict as Called};
use hidden_ohm::evidence::Pool;
use hidden_ohm::scenario::Library;
use hidden_ohm::score::review::{Luck, Mistake, Verdict};
use hidden_ohm::score::{Coach, Effort, HintDepth, Points, Review, WEIGHTS, Weights, review};
use hidden_ohm::units::System;
use hidden_ohm::vehicle::Section;

fn pool() -> &'static Pool {
    static POOL: OnceLock<std::sync::Arc<Pool>> = OnceLock::new();
    POOL.get_or_init(|| {
        let library = Library::built_in().expect("the built-in files are right");
        let van = library.vehicle("harbour-van").expect("the van is built in");
        Pool::shared(van, &library.catalogue, 2).expect("every draw can be solved")
    })
}

fn careful() -> Review {
    let mut learner = Learner::at(GROUND);
    learner.finds_the_ground();
    learner.mends_the_ground();
    let closed = learner.hands_back();
    review(&closed, pool(), System::Metric, Effort::Conclusions).expect("the vehicle can be solved")
}

#[test]
fn belief_in_the_right_repair_grows_and_its_bits_add_up() {
    let review = careful();
    let right = review
        .belief
        .repairs
        .iter()
        .position(|r| r.right)
        .expect("the right repair is listed");
    let (first, last) = (
        &review.belief.points[0],
        review.belief.points.last().expect("points"),
    );
    assert!(last.shares[right] > first.shares[right]);
    for point in &review.belief.points {
        assert!((point.shares.iter().sum::<f64>() + point.others - 1.0).abs() < 1e-9);
    }
    let told: f64 = review
        .actions
        .iter()
        .filter_map(|action| action.told_bits)
        .sum();
    let whole = (last.shares[right] / first.shares[right]).log2();
    assert!((told - whole).abs() < 1e-6, "{told} and {whole}");
}

#[test]
fn a_review_survives_being_written_and_read() {
    let review = careful();
    let text = serde_json::to_string(&review).expect("it can be written");
    let again: Review = serde_json::from_str(&text).expect("it can be read");
    assert_eq!(again.actions.len(), review.actions.len());
    assert_eq!(again.marks.luck, review.marks.luck);
    assert_eq!(again.misconceptions, review.misconceptions);
}

#[test]
fn hints_go_from_a_section_to_a_reading_and_cost_more_each_time() {
    let mut learner = Learner::at(GROUND);
    learner.finds_the_ground();
    let bay = &learner.0;
    let mut coach = Coach::new(pool(), bay, &WEIGHTS);
    let hints = [HintDepth::Section, HintDepth::Kind, HintDepth::Reading]
        .map(|depth| coach.hint(bay, depth));
    assert!(hints[0].cost < hints[1].cost && hints[1].cost < hints[2].cost);
    assert!(hints[0].says.contains("ground"), "{}", hints[0].says);
    for hint in &hints {
        assert!(hint.says.ends_with('.'), "{}", hint.says);
    }
}

#[test]
fn each_decision_of_a_careful_repair_is_justified_and_its_regret_is_small() {
    let mut learner = Learner::at(GROUND);
    learner.finds_the_ground();
    learner.mends_the_ground();
    let closed = learner.hands_back();
    let review = review(&closed, pool(), System::Metric, Effort::Replanned)
        .expect("the vehicle can be solved");
    let repaired = review
        .actions
        .iter()
        .find(|step| step.what == "repaired G4")
        .expect("it was repaired");
    assert_eq!(repaired.verdicts, [Verdict::Justified], "{}", repaired.why);
    let regret = review.reference.regret_minutes.expect("it was worked out");
    assert!(
        regret < 0.25 * review.reference.minutes,
        "{regret} of {}",
        review.reference.minutes
    );
    let counted: f64 = review
        .actions
        .iter()
        .filter_map(|step| step.counted_minutes)
        .sum();
    assert!(
        (counted - regret).abs() < 1e-9,
        "the steps' own figures add up: {counted} {regret}"
    );
    assert!(review.reference.least_minutes <= review.reference.minutes + 1e-9);
    assert_eq!(review.marks.luck, Luck::Earned);
}

#[test]
fn proving_the_meter_once_is_no_redundant_test() {
    let mut learner = Learner::at(GROUND);
    learner.does(Action::Protect);
    learner.access(&["bonnet"]);
    learner.longer_lead();
    let mut battery = Vec::new();
    for _ in 0..2 {
        learner.volts("B+", "B-");
        battery.push(learner.0.actions());
    }
    learner.pump_on();
    learner.volts("BODYR", "B-");
    let mut tip = Vec::new();
    for _ in 0..2 {
        learner.volts("BODYR", "B+");
        tip.push(learner.0.actions());
    }
    let closed = learner.hands_back();
    let review = review(&closed, pool(), System::Metric, Effort::Conclusions)
        .expect("the vehicle can be solved");
    let redundant = |number: &u32| {
        let mut steps = review.actions.iter();
        let step = steps.find(|step| step.action == *number).expect("a step");
        step.verdicts.contains(&Verdict::Redundant)
    };
    for proof in [battery, tip] {
        let marked: Vec<bool> = proof.iter().map(redundant).collect();
        assert_eq!(marked, [false, true], "{proof:?}");
    }
}

#[test]
fn a_right_repair_on_hope_is_called_lucky_and_costs_regret() {
    let mut learner = Learner::at(GROUND);
    learner.repair("G4");
    let closed = learner.hands_back();
    let review = review(&closed, pool(), System::Metric, Effort::Conclusions)
        .expect("the vehicle can be solved");
    let repaired = review
        .actions
        .iter()
        .find(|step| step.what == "repaired G4")
        .expect("it was repaired");
    assert!(
        repaired.verdicts.contains(&Verdict::Lucky),
        "{:?}",
        repaired.verdicts
    );
    assert_eq!(review.marks.luck, Luck::Lucky);
    assert_eq!(
        review.reference.regret_minutes, None,
        "not every step was planned anew"
    );
}

#[test]
fn volts_without_current_are_explained_on_the_learners_own_figures() {
    let mut learner = Learner::at(GROUND);
    learner.access(&["bonnet"]);
    learner.longer_lead();
    let volts = learner.volts("X2.1", "B-").max(learner.volts("FB.2", "B-"));
    learner.call(Section::Supply, Called::Good, Some(volts));
    let closed = learner.hands_back();
    let review = review(&closed, pool(), System::Metric, Effort::Conclusions)
        .expect("the vehicle can be solved");
    let found = review
        .misconceptions
        .iter()
        .find(|found| found.mistake == Mistake::UnloadedVolts)
        .expect("it is found");
    assert!(
        found.explanation.contains(&format!("{volts:.2} V")),
        "{}",
        found.explanation
    );
}

#[test]
fn weights_left_out_of_an_exercise_stay_as_they_are_and_unknown_ones_are_refused() {
    let changed: Weights = serde_json::from_str(r#"{"justified": 20.5}"#).expect("it can be read");
    assert_eq!(changed.justified, Points(205));
    assert_eq!(changed.safety, WEIGHTS.safety);
    assert!(serde_json::from_str::<Weights>(r#"{"charm": 5}"#).is_err());
    assert!(serde_json::from_str::<Weights>(r#"{"safety": -1}"#).is_err());
}
