//! Marks of scripted attempts: their order, their reasons, their sums.

use hidden_ohm::bay::{Action, Bay, Closed, Target, Verdict};
use hidden_ohm::circuit::conductor::ConductorSize;
use hidden_ohm::fault;
use hidden_ohm::instrument::{Extension, Function, Side};
use hidden_ohm::scenario::{Library, written};
use hidden_ohm::score::{Points, Scorecard, WEIGHTS, debrief, scorecard};
use hidden_ohm::units::System;
use hidden_ohm::vehicle::{Key, Section};
use proptest::prelude::*;

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

    fn does(&mut self, action: Action) -> Option<f64> {
        let outcome = self.0.act(&action).unwrap_or_else(|refusal| panic!("{action:?}: {} {}", refusal.error, refusal.hint));
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
        let (red, black) = (vehicle.node(red).expect(red), vehicle.node(black).expect(black));
        self.does(Action::Meter { function, red, black }).unwrap_or(f64::INFINITY)
    }

    fn volts(&mut self, red: &str, black: &str) -> f64 {
        self.meter(Function::Volts, red, black)
    }

    fn longer_lead(&mut self) {
        let wire = Extension { length_m: 5.0, size: ConductorSize::SquareMillimetres(1.0) };
        self.does(Action::Leads(Some((Side::Black, wire))));
    }

    fn pump_on(&mut self) {
        self.does(Action::Key(Key::On));
        self.does(Action::PumpTool(true));
    }

    fn call(&mut self, section: Section, verdict: Verdict, cites: Option<f64>) {
        self.does(Action::Call { section, verdict, cites });
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
        self.0.hand_back().unwrap_or_else(|_| panic!("it was handed back"))
    }

    /// Readings that find the bad ground, each tip proved, and the calls that follow from them.
    fn finds_the_ground(&mut self) {
        self.does(Action::Protect);
        self.access(&["bonnet"]);
        self.longer_lead();
        self.pump_on();
        let supply = self.volts("FB.2", "B-");
        self.call(Section::Supply, Verdict::Good, Some(supply));
        let relay = self.volts("X2.1", "B-");
        let lost = self.volts("G4", "B-");
        let body = self.volts("BODYR", "B-");
        // The other tip on the positive post shows that the red one touches.
        self.volts("BODYR", "B+");
        self.call(Section::BodyGround, Verdict::Good, Some(body));
        self.call(Section::Feed, Verdict::Good, Some(relay));
        self.call(Section::GroundSide, Verdict::Bad, Some(lost));
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

fn print(card: &Scorecard) {
    for part in &card.parts {
        eprintln!("{} {}/{}", part.part, part.points.show(), part.of.show());
        for mark in &part.marks {
            eprintln!("   {}/{} {} {:?}", mark.points.show(), mark.of.show(), mark.because, mark.actions);
        }
    }
    eprintln!("total {} cap {:?}", card.total.show(), card.cap);
    for line in &card.baseline.lines { eprintln!("   {} {} {}", line.what, line.seconds, line.goods.0); }
}

#[test]
fn tmp() {
    let closed = careful();
    print(&card(&closed));
    eprintln!("{:#?}", debrief(&closed, System::Metric).unwrap());
    let mut l = Learner::at(GROUND);
    l.repair("G4"); l.does(Action::Drive);
    print(&card(&l.hands_back()));
    print(&card(&Learner::at(GROUND).hands_back()));
    let mut l = Learner::at(GROUND);
    l.finds_the_ground();
    print(&card(&l.hands_back()));
}
