//! Random work, by the hundred steps: a refusal changes nothing, the same actions give the same answers to the last
//! digit, and looking at something else changes no luck.

use hidden_ohm::bay::{Action, Bay, Bridge, Fitting, PointFilter, Target};
use hidden_ohm::circuit::NodeId;
use hidden_ohm::instrument::{Function, Interval, Side};
use hidden_ohm::seed::Stream;
use hidden_ohm::units::System;
use hidden_ohm::vehicle::{AccessId, Key, PartId, Vehicle};

use crate::floor::{Floor, drawn, wire};

/// What a learner might do next, sensible or not. Handing back is left out: it ends the walk.
fn any_action(stream: &mut Stream, vehicle: &Vehicle) -> Action {
    fn one<T: Copy>(stream: &mut Stream, of: &[T]) -> T {
        *stream.pick(of).expect("something to pick from")
    }
    let nodes: Vec<NodeId> = (0..u32::try_from(vehicle.nodes.len()).expect("few nodes"))
        .map(NodeId)
        .collect();
    let parts: Vec<PartId> = (0..vehicle.parts.len()).map(PartId).collect();
    let accesses: Vec<AccessId> = (0..vehicle.accesses.len()).map(AccessId).collect();
    let functions = [
        Function::Volts,
        Function::Volts,
        Function::LowVolts,
        Function::Millivolts,
        Function::Ohms,
        Function::Continuity,
    ];
    let on = stream.chance(0.5);
    match stream.below(34) {
        0..=7 => Action::Meter {
            function: one(stream, &functions),
            red: one(stream, &nodes),
            black: one(stream, &nodes),
        },
        8 => Action::ReadMeter,
        9..=11 => Action::Key(one(stream, &Key::ALL)),
        12 | 13 => Action::PumpTool(on),
        14 | 15 => Action::Access(one(stream, &accesses)),
        16 => Action::Unplug(one(stream, &parts)),
        17 => Action::Plug(one(stream, &parts)),
        18 => Action::Look(Target {
            part: one(stream, &parts),
            leg: None,
        }),
        19 => Action::Wiggle(one(stream, &parts)),
        20 => Action::Leads(on.then(|| (Side::Black, wire(stream.between(-1.0, 30.0), 1.0)))),
        21 => Action::Tip(if on { Side::Red } else { Side::Black }),
        22 => Action::Zero,
        23 => Action::Clamp(one(stream, &parts)),
        24 => Action::Lamp {
            a: one(stream, &nodes),
            b: one(stream, &nodes),
        },
        25 => Action::Gauge(on.then_some(Fitting::Port)),
        26 => Action::Jumper(Bridge {
            a: one(stream, &nodes),
            b: one(stream, &nodes),
            wire: wire(6.0, 1.5),
        }),
        27 => one(stream, &[0, 1, 2, 3]).pipe(|n| match n {
            0 => Action::JumperOff,
            1 => Action::LampOff,
            2 => Action::ClampOff,
            _ => Action::MeterOff,
        }),
        28 => Action::Isolate(on),
        29 => one(stream, &[0, 1, 2, 3]).pipe(|n| match n {
            0 => Action::Stands,
            1 => Action::Protect,
            2 => Action::Relieve,
            _ => Action::Record(on.then_some(Interval::Peaks)),
        }),
        30 => Action::Wait {
            seconds: stream.between(-5.0, 600.0),
        },
        31 => Action::Repair(Target {
            part: one(stream, &parts),
            leg: None,
        }),
        32 => Action::Replace(one(stream, &parts)),
        _ => Action::Flow {
            seconds: stream.between(0.0, 150.0),
            bridge: None,
        },
    }
}

/// So that a drawn number reads in the order it is used.
trait Pipe: Sized {
    fn pipe<T>(self, with: impl FnOnce(Self) -> T) -> T {
        with(self)
    }
}
impl Pipe for i32 {}

fn bay(walk: u64) -> Bay {
    let level = u8::try_from(walk % 5 + 1).expect("1 to 5");
    Bay::open(drawn(level, 500 + walk), System::Metric).expect("a vehicle that can be solved")
}

/// Everything the bay tells after an action, to the last bit.
fn told(bay: &Bay, done: &hidden_ohm::bay::Outcome) -> String {
    format!(
        "{done:?} {:?} {:?} {:?}",
        bay.clock_s().to_bits(),
        bay.spent(),
        bay.key()
    )
}

#[test]
fn a_refused_action_changes_nothing_and_the_same_actions_give_the_same_answers() {
    let (mut done, mut refused) = (0, 0);
    for walk in 0..40 {
        let mut stream = Stream::named(walk, "a walk of the tests");
        let mut tried = bay(walk);
        let vehicle = std::sync::Arc::clone(tried.vehicle());
        let mut accepted: Vec<(Action, String)> = Vec::new();
        for _ in 0..120 {
            let action = any_action(&mut stream, &vehicle);
            let before = (
                tried.clock_s().to_bits(),
                tried.spent(),
                tried.actions(),
                tried.key(),
            );
            match tried.act(&action) {
                Ok(outcome) => {
                    let told = told(&tried, &outcome);
                    accepted.push((action, told));
                }
                Err(refusal) => {
                    assert!(
                        !refusal.error.is_empty() && !refusal.hint.is_empty(),
                        "{action:?}: {refusal:?}"
                    );
                    let after = (
                        tried.clock_s().to_bits(),
                        tried.spent(),
                        tried.actions(),
                        tried.key(),
                    );
                    assert_eq!(
                        before, after,
                        "walk {walk}: {action:?} was refused and charged"
                    );
                    refused += 1;
                }
            }
        }
        // Only what was accepted, in a fresh bay: the refusals in between must not have mattered.
        let mut plain = bay(walk);
        for (step, (action, expected)) in accepted.iter().enumerate() {
            let outcome = plain.act(action).unwrap_or_else(|refusal| {
                panic!("walk {walk}, step {step}: {action:?} is refused without the refusals before it: {refusal:?}")
            });
            assert_eq!(
                &told(&plain, &outcome),
                expected,
                "walk {walk}, step {step}: {action:?}"
            );
            done += 1;
        }
    }
    assert!(
        done > 800 && refused > 800,
        "{done} done, {refused} refused"
    );
}

#[test]
fn looking_at_something_else_changes_no_reading() {
    // Noise is keyed by instrument, points and repeat, contacts by point and placement: never by what came before.
    // Only the time that passes matters, because battery and joints warm or recover in it: it is the same here.
    let measure = |looked_at: [&str; 3], with_paper: bool| {
        let mut floor = Floor::new(drawn(3, 321));
        let mut readings = Vec::new();
        let aside = |floor: &mut Floor, part: &str| {
            let part = floor.part(part);
            floor.act(&Action::Look(Target { part, leg: None }));
            floor.act(&Action::Feel(part));
            if with_paper {
                floor.act(&Action::Points(PointFilter::Reachable));
                floor.act(&Action::Prices(None));
                floor.act(&Action::Log);
            }
        };
        floor.open_up(&["bonnet"]);
        aside(&mut floor, looked_at[0]);
        floor.run_pump();
        for (red, black) in [
            ("B+", "B-"),
            ("FB.2", "B-"),
            ("K1.30", "B-"),
            ("F12.1", "F12.2"),
            ("B+", "B-"),
            ("BODY", "B-"),
        ] {
            readings.push(floor.meter(Function::Volts, red, black));
            aside(&mut floor, looked_at[1]);
            readings.push(floor.meter(Function::Millivolts, red, black));
            aside(&mut floor, looked_at[2]);
        }
        let clamped = floor.part("W11");
        readings.push(floor.act(&Action::Clamp(clamped)).readings.remove(0));
        readings
    };
    let plain = measure(["CLP", "F3", "FL1"], false);
    assert_eq!(plain, measure(["BAT", "F12", "K1"], false));
    assert_eq!(plain, measure(["CLP", "F3", "FL1"], true));
    assert_eq!(plain, measure(["F12", "F12", "F12"], true));
}

#[test]
fn another_repeat_or_placement_draws_anew() {
    let mut floor = Floor::new(drawn(2, 12));
    floor.open_up(&["bonnet"]);
    let shown: Vec<String> = (0..40)
        .map(|_| floor.meter(Function::Millivolts, "F12.1", "F12.2").shown)
        .collect();
    let mut different = shown.clone();
    different.sort();
    different.dedup();
    assert!(different.len() > 1, "the last digit never moves: {shown:?}");
}

#[test]
fn after_handing_back_nothing_more_is_done() {
    let mut floor = Floor::new(drawn(1, 3));
    assert!(!floor.bay.closed());
    floor.act(&Action::Handover);
    assert!(floor.bay.closed());
    let refusal = floor.refused(&Action::Listen);
    assert!(refusal.error.contains("given back"), "{refusal:?}");
}
