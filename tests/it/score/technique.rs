//! How a reading was taken, and what a call rests on.

use super::{GROUND, Learner, card, holds_together, part};
use hidden_ohm::bay::{Action, Cited, Verdict};
use hidden_ohm::circuit::conductor::ConductorSize;
use hidden_ohm::instrument::{Extension, Function, LeadSet, Quantity, Side};
use hidden_ohm::score::{Points, WEIGHTS, debrief};
use hidden_ohm::units::System;
use hidden_ohm::vehicle::Section;

/// What a lead would drop if it carried the pump's current: the mistake in figures.
fn imagined_drop(amps: f64) -> f64 {
    let wire = Extension {
        length_m: 5.0,
        size: ConductorSize::SquareMillimetres(1.0),
    };
    let leads = LeadSet::standard(7)
        .extended(Side::Black, wire, 14.0)
        .expect("such wire exists");
    (leads.red.ohms + leads.black.ohms) * amps
}

#[test]
fn a_subtracted_lead_drop_is_explained_the_first_time_and_scored_from_the_second() {
    let attempt = |times: usize| {
        let mut learner = Learner::at(GROUND);
        learner.does(Action::Protect);
        learner.sets_up();
        let lost = learner.volts("G4", "B-");
        for _ in 0..times {
            learner.call(
                Section::GroundSide,
                Verdict::Bad,
                Some(lost - imagined_drop(4.0)),
            );
        }
        let closed = learner.hands_back();
        let card = card(&closed);
        holds_together(&closed, &card);
        (
            part(&card, "technique").marks[3].clone(),
            debrief(&closed, System::Metric).expect("solved"),
            lost,
        )
    };
    let (first, told, lost) = attempt(1);
    assert_eq!(first.points, WEIGHTS.leads);
    // What the learner is told, worked out anew: a 10 Mohm meter draws a ten-millionth of the volts in amperes, and that
    // current through the leads' few tenths of an ohm is all that they drop.
    let nanoamps = lost * 100.0;
    let nanovolts = nanoamps * imagined_drop(1.0);
    let wanted = format!(
        "The 5.0 m lead carried {nanoamps:.0} nA and dropped {nanovolts:.1} nV. There was nothing to subtract: {lost:.3} V was lost between G4 and B-."
    );
    assert!(first.because.starts_with(&wanted), "{}", first.because);
    assert_eq!(told.missteps[0].actions, first.actions);
    let (second, _, _) = attempt(2);
    assert_eq!(second.points + WEIGHTS.each_subtraction, WEIGHTS.leads);
    assert_eq!(attempt(3).0.points, Points(0));
}

#[test]
fn ohms_on_a_live_circuit_cost_points_and_are_explained() {
    let attempt = |pump_runs: bool| {
        let mut learner = Learner::at(GROUND);
        learner.does(Action::Protect);
        if pump_runs {
            learner.pump_on();
        }
        learner.meter(Function::Ohms, "G4", "BODYR");
        let closed = learner.hands_back();
        let told = debrief(&closed, System::Metric).expect("solved");
        (
            part(&card(&closed), "technique").marks[2].points,
            told.missteps,
        )
    };
    let (dead, nothing) = attempt(false);
    assert_eq!((dead, nothing), (WEIGHTS.instruments, Vec::new()));
    let (live, missteps) = attempt(true);
    assert_eq!(live, WEIGHTS.instruments.less(WEIGHTS.each_misuse, 1));
    assert!(
        missteps[0].what.starts_with("Ohms from G4 to BODYR"),
        "{missteps:?}"
    );
    assert_eq!(missteps[0].actions, [4]);
}

#[test]
fn a_clamp_relied_on_before_it_was_zeroed_costs_points() {
    let attempt = |zeroed: bool| {
        let mut learner = Learner::at(GROUND);
        learner.access(&["bonnet"]);
        learner.pump_on();
        if zeroed {
            learner.does(Action::ClampZero);
        }
        let wire = learner.0.vehicle().part("W11").expect("W11");
        let amps = learner.does(Action::Clamp(wire));
        learner.does(Action::Call {
            section: Section::Pump,
            verdict: Verdict::Good,
            cites: amps.map(|value| Cited {
                value,
                quantity: Quantity::Current,
                written: format!("{value} A"),
            }),
        });
        part(&card(&learner.hands_back()), "technique").marks[2].points
    };
    assert_eq!(attempt(true), WEIGHTS.instruments);
    assert_eq!(
        attempt(false),
        WEIGHTS.instruments.less(WEIGHTS.each_misuse, 1)
    );
}

#[test]
fn a_zero_through_an_untested_tip_is_no_ground_for_a_call() {
    let attempt = |proves: bool| {
        let mut learner = Learner::at(GROUND);
        learner.sets_up();
        learner.volts("B+", "B-");
        let body = learner.volts("BODYR", "B-");
        if proves {
            learner.volts("BODYR", "B+");
        }
        learner.call(Section::BodyGround, Verdict::Good, Some(body));
        let card = card(&learner.hands_back());
        (
            part(&card, "technique").marks[1].points,
            part(&card, "calls").points,
        )
    };
    let (proved, judged) = attempt(true);
    assert_eq!((proved, judged), (WEIGHTS.tips, Points(12)));
    let (untested, doubtful) = attempt(false);
    assert_eq!(untested, Points(0));
    assert!(doubtful < judged);
}

#[test]
fn a_tip_placed_anew_with_the_same_result_is_proved() {
    let mut learner = Learner::at(GROUND);
    learner.sets_up();
    learner.volts("B+", "B-");
    learner.volts("BODYR", "B-");
    let again = learner.does(Action::Tip(Side::Red));
    learner.call(Section::BodyGround, Verdict::Good, again);
    assert_eq!(
        part(&card(&learner.hands_back()), "technique").marks[1].points,
        WEIGHTS.tips
    );
}

#[test]
fn a_right_call_is_worth_less_on_a_reading_that_cannot_tell_and_least_on_none() {
    let attempt = |cites: fn(&mut Learner) -> Option<f64>| {
        let mut learner = Learner::at(GROUND);
        learner.sets_up();
        let cites = cites(&mut learner);
        learner.call(Section::GroundSide, Verdict::Bad, cites);
        part(&card(&learner.hands_back()), "calls").points
    };
    assert_eq!(
        attempt(|learner| Some(learner.volts("G4", "B-"))),
        Points::whole(5)
    );
    // Nothing of the ground side lies between the battery's posts.
    assert_eq!(
        attempt(|learner| Some(learner.volts("B+", "B-"))),
        Points::whole(3)
    );
    assert_eq!(attempt(|_| None), Points::whole(2));
}

#[test]
fn wrong_calls_take_back_what_right_ones_earned_and_unsure_ones_nothing() {
    let attempt = |extra: &[(Section, Verdict)]| {
        let mut learner = Learner::at(GROUND);
        learner.sets_up();
        let lost = learner.volts("G4", "B-");
        learner.call(Section::GroundSide, Verdict::Bad, Some(lost));
        for &(section, verdict) in extra {
            learner.call(section, verdict, None);
        }
        let closed = learner.hands_back();
        let card = card(&closed);
        holds_together(&closed, &card);
        part(&card, "calls").points
    };
    assert_eq!(attempt(&[]), Points::whole(5));
    assert_eq!(
        attempt(&[(Section::Feed, Verdict::Unsure)]),
        Points::whole(5)
    );
    assert_eq!(attempt(&[(Section::Feed, Verdict::Bad)]), Points(25));
    assert_eq!(
        attempt(&[
            (Section::Feed, Verdict::Bad),
            (Section::Pump, Verdict::Bad),
            (Section::Supply, Verdict::Bad)
        ]),
        Points(0)
    );
    // Thought better of: one point instead of two and a half, and 0.4 for the right call without a reading.
    assert_eq!(
        attempt(&[
            (Section::Feed, Verdict::Bad),
            (Section::Feed, Verdict::Good)
        ]),
        Points(44)
    );
}
