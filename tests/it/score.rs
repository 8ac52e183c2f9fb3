//! Marks of scripted attempts: their order, their reasons, their sums.

mod anything;
mod order;
mod review;
mod technique;
mod told;

use hidden_ohm::bay::{Action, Bay, Cited, Closed, Target, Verdict};
use hidden_ohm::circuit::conductor::ConductorSize;
use hidden_ohm::instrument::{Extension, Function, Side};
use hidden_ohm::scenario::{Library, written};
use hidden_ohm::score::{Points, Scorecard, WEIGHTS, scorecard};
use hidden_ohm::units::System;
use hidden_ohm::vehicle::{Key, Section};

/// A corroded ground point under the sill: 0.5 ohm where a bright one has less than a thousandth.
const GROUND: &str = include_str!("../data/score/ground.toml");

fn open(text: &str) -> Bay {
    let library = Library::built_in().expect("the built-in files are right");
    let scenario = written(&library, "scenario", text).unwrap_or_else(|wrong| panic!("{wrong:?}"));
    Bay::open(scenario, System::Metric).expect("the vehicle can be solved")
}

/// A bay with a learner at it who never types anything that is refused.
struct Learner(Bay);

impl Learner {
    fn at(text: &str) -> Learner {
        Learner(open(text))
    }

    #[allow(clippy::needless_pass_by_value)]
    fn does(&mut self, action: Action) -> Option<f64> {
        let outcome = self
            .0
            .act(&action)
            .unwrap_or_else(|refusal| panic!("{action:?}: {} {}", refusal.error, refusal.hint));
        outcome.readings.first().and_then(|reading| reading.value)
    }

    fn access(&mut self, ids: &[&str]) {
        for id in ids {
            let access = self.0.vehicle().access(id).expect(id);
            self.does(Action::Access(access));
            if *id == "underbody" {
                self.does(Action::Stands);
            }
        }
    }

    fn meter(&mut self, function: Function, red: &str, black: &str) -> f64 {
        let vehicle = self.0.vehicle();
        let (red, black) = (
            vehicle.node(red).expect(red),
            vehicle.node(black).expect(black),
        );
        self.does(Action::Meter {
            function,
            red,
            black,
        })
        .unwrap_or(f64::INFINITY)
    }

    fn volts(&mut self, red: &str, black: &str) -> f64 {
        self.meter(Function::Volts, red, black)
    }

    fn longer_lead(&mut self) {
        let wire = Extension {
            length_m: 5.0,
            size: ConductorSize::SquareMillimetres(1.0),
        };
        self.does(Action::Leads(Some((Side::Black, wire))));
    }

    fn pump_on(&mut self) {
        self.does(Action::Key(Key::On));
        self.does(Action::PumpTool(true));
    }

    /// Bonnet open, a lead that reaches, the pump running.
    fn sets_up(&mut self) {
        self.access(&["bonnet"]);
        self.longer_lead();
        self.pump_on();
    }

    fn call(&mut self, section: Section, verdict: Verdict, cites: Option<f64>) {
        self.does(Action::Call {
            section,
            verdict,
            cites: cites.map(Cited::volts),
        });
    }

    fn repair(&mut self, part: &str) {
        let part = self.0.vehicle().part(part).expect(part);
        self.does(Action::Repair(Target { part, leg: None }));
    }

    fn replace(&mut self, part: &str) {
        let part = self.0.vehicle().part(part).expect(part);
        self.does(Action::Replace(part));
    }

    fn hands_back(mut self) -> Closed {
        self.does(Action::Handover);
        self.0
            .hand_back()
            .unwrap_or_else(|_| panic!("it was handed back"))
    }

    /// Readings that find the bad ground, each tip proved, and the calls that follow from them.
    fn finds_the_ground(&mut self) {
        self.does(Action::Protect);
        self.sets_up();
        let supply = self.volts("FB.2", "B-");
        self.call(Section::Supply, Verdict::Good, Some(supply));
        let mut relay = self.volts("X2.1", "B-");
        // The pump hums, so volts must stand here: a tip that shows none is placed anew.
        while relay < 1.0 {
            relay = self.does(Action::Tip(Side::Red)).unwrap_or(0.0);
        }
        let lost = self.volts("G4", "B-");
        let body = self.volts("BODYR", "B-");
        // The other tip on the positive post shows that the red one touches.
        self.volts("BODYR", "B+");
        self.call(Section::BodyGround, Verdict::Good, Some(body));
        self.call(Section::Feed, Verdict::Good, Some(relay));
        self.call(Section::GroundSide, Verdict::Bad, Some(lost));
    }

    /// Volts on both sides of the ground, under load, calling nothing.
    fn reads_the_ground(&mut self) {
        self.sets_up();
        self.volts("G4", "B-");
        self.volts("BODYR", "B-");
        self.volts("BODYR", "B+");
    }

    fn mends_the_ground(&mut self) {
        self.does(Action::Key(Key::Off));
        self.repair("G4");
        self.does(Action::Drive);
    }
}

fn card(closed: &Closed) -> Scorecard {
    scorecard(closed, System::Metric).expect("the vehicle can be solved")
}

fn careful() -> Closed {
    let mut learner = Learner::at(GROUND);
    learner.finds_the_ground();
    learner.mends_the_ground();
    learner.hands_back()
}

/// Finds the ground, but the pump's own time runs out: the vehicle goes back as it came.
fn careful_but_unfixed() -> Closed {
    let mut learner = Learner::at(GROUND);
    learner.finds_the_ground();
    learner.hands_back()
}

/// Brushes the right stud to bright metal without having looked at anything.
fn lucky() -> Closed {
    let mut learner = Learner::at(GROUND);
    learner.repair("G4");
    learner.does(Action::Drive);
    learner.hands_back()
}

/// Does all that the careful one does, after crawling under a vehicle on a jack.
fn dangerous() -> Closed {
    let mut learner = Learner::at(GROUND);
    for id in ["underbody", "shield"] {
        let access = learner.0.vehicle().access(id).expect(id);
        learner.does(Action::Access(access));
    }
    learner.finds_the_ground();
    learner.mends_the_ground();
    learner.hands_back()
}

fn part<'a>(card: &'a Scorecard, name: &str) -> &'a hidden_ohm::score::Part {
    card.parts
        .iter()
        .find(|part| part.part == name)
        .expect(name)
}

/// Whatever was done: the sums are exact, everything is within bounds, every action named exists.
fn holds_together(closed: &Closed, card: &Scorecard) {
    let actions = u32::try_from(closed.ledger.len()).expect("few");
    let sum: Points = card.parts.iter().map(|part| part.points).sum();
    let limited = card.cap.as_ref().map_or(sum, |cap| cap.at.min(sum));
    assert_eq!(card.total, limited);
    assert_eq!(card.of, Points::whole(100));
    assert!(
        (Points(0)..=Points::whole(100)).contains(&card.total),
        "{:?}",
        card.total
    );
    for part in &card.parts {
        assert_eq!(
            part.points,
            part.marks.iter().map(|mark| mark.points).sum::<Points>()
        );
        assert_eq!(
            part.of,
            part.marks.iter().map(|mark| mark.of).sum::<Points>()
        );
        assert!((Points(0)..=part.of).contains(&part.points), "{part:?}");
        for mark in &part.marks {
            assert!(mark.points <= mark.of, "{mark:?}");
            assert!(mark.of == Points(0) || mark.points >= Points(0), "{mark:?}");
            assert!(
                !mark.because.is_empty() && !mark.actions.is_empty(),
                "{mark:?}"
            );
            assert!(
                mark.actions
                    .iter()
                    .all(|number| (1..=actions).contains(number)),
                "{mark:?}"
            );
        }
    }
    for danger in &card.hazards {
        assert!(
            danger
                .actions
                .iter()
                .all(|number| (1..=actions).contains(number)),
            "{danger:?}"
        );
    }
}

#[test]
fn the_weights_sum_to_a_hundred() {
    assert_eq!(WEIGHTS.of(), Points::whole(100));
}
