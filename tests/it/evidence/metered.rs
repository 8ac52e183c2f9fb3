//! What belief makes of readings that only the meter's own circuit explains.
use hidden_ohm::bay::{Action, Bay, Bridge, Closed, Entry};
use hidden_ohm::circuit::conductor::ConductorSize;
use hidden_ohm::evidence::Account;
use hidden_ohm::instrument::{Extension, Function, Quantity};
use hidden_ohm::units::System;
use hidden_ohm::vehicle::Key;

use super::vehicle::{ground, hands_back, opens_up, pool, reads_on};

/// An attempt at the bad ground with everything but the tank open: the actions `of` the van's points and parts, then the
/// handing back.
fn worked(of: impl Fn(&Bay) -> Vec<Action>) -> Closed {
    let mut bay = Bay::open(ground(), System::Metric).expect("the vehicle can be solved");
    bay.act(&Action::Protect).expect("allowed");
    opens_up(&mut bay);
    for action in of(&bay) {
        bay.act(&action)
            .unwrap_or_else(|refusal| panic!("{action:?}: {} {}", refusal.error, refusal.hint));
    }
    hands_back(bay)
}

fn amps(bay: &Bay, red: &str, black: &str) -> Action {
    let node = |name| bay.vehicle().node(name).expect("a point of the van");
    Action::Meter {
        function: Function::Amps,
        red: node(red),
        black: node(black),
    }
}

/// Where a circuit carries the pump's current, the few milliamperes of low-impedance volts change nothing: what they say is
/// what volts say. Before, they were held against each draw's own tolerances as if there were no others.
#[test]
fn low_impedance_volts_say_what_volts_say() {
    let read = |function| {
        let mut bay = Bay::open(ground(), System::Metric).expect("the vehicle can be solved");
        reads_on(&mut bay, function, &["X7.2", "G4"], None);
        let account = Account::of(pool(), &hands_back(bay)).expect("it can be followed");
        account.repair_probabilities()
    };
    let (volts, low) = (read(Function::Volts), read(Function::LowVolts));
    for (at, (volts, low)) in volts.iter().zip(&low).enumerate() {
        assert!((volts - low).abs() < 0.05, "repair {at}: {volts}, {low}");
    }
}

/// The shunt takes next to nothing from the pump: its amps say what the clamp's do. Before, they were held against each draw's
/// own tolerances as if there were no others.
#[test]
fn amps_in_line_say_what_the_clamp_says() {
    let part = |bay: &Bay, id| bay.vehicle().part(id).expect("a part of the van");
    let run = [Action::Key(Key::On), Action::PumpTool(true)];
    let clamped = worked(|bay| {
        let clamp = [Action::ClampZero, Action::Clamp(part(bay, "W12"))];
        [&run[..], &clamp].concat()
    });
    let in_line = worked(|bay| {
        let wire_in = [
            Action::Unplug(part(bay, "F12")),
            amps(bay, "F12.1", "F12.2"),
        ];
        let back = [
            Action::Key(Key::Off),
            Action::MeterOff,
            Action::Plug(part(bay, "F12")),
        ];
        [&wire_in[..], &run, &back].concat()
    });
    // What the steps with a current told about the right repair, bits.
    let told = |closed: &Closed| {
        let account = Account::of(pool(), closed).expect("the attempt can be followed");
        let right = account
            .right_for(&closed.truth.came_with[0])
            .expect("the ground is among the hypotheses");
        let begun = Account::begin(pool(), closed.level, &closed.order);
        let bits = account.realised(begun.repair_probabilities()[right], right);
        let of_amps = |entry: &Entry| {
            let mut readings = entry.readings.iter();
            readings.any(|reading| reading.quantity == Quantity::Current)
        };
        let steps = closed.ledger.iter().zip(bits);
        steps
            .filter(|(entry, _)| of_amps(entry))
            .map(|(_, bits)| bits)
            .sum::<f64>()
    };
    let (clamped, in_line) = (told(&clamped), told(&in_line));
    // Few draws stand for the tolerances, and the meter is the more accurate of the two.
    assert!(
        (clamped - in_line).abs() < 1.5,
        "clamp: {clamped} bits, in line: {in_line} bits"
    );
}

/// A plug that is pushed home pushes the tip out that stood in its way: the pump's sound is the vehicle's own again.
#[test]
fn a_sound_counts_again_once_the_plug_has_pushed_the_ammeter_out() {
    let closed = worked(|bay| {
        let node = |name| bay.vehicle().node(name).expect("a point of the van");
        let plug = bay.vehicle().part("X7").expect("a plug of the van");
        let bridge = Bridge {
            a: node("X7.2"),
            b: node("X7.2t"),
            wire: Extension {
                length_m: 1.0,
                size: ConductorSize::SquareMillimetres(1.5),
            },
        };
        vec![
            Action::Unplug(plug),
            Action::Jumper(bridge),
            amps(bay, "X7.1", "X7.1t"),
            Action::JumperOff,
            Action::Plug(plug),
            Action::Key(Key::On),
        ]
    });
    let account = Account::of(pool(), &closed).expect("the attempt can be followed");
    let told = account.steps().last().expect("a step").expected_bits;
    assert!(told.is_some_and(|bits| bits > 0.1), "{told:?}");
}
