//! A stretch of time comes to the same however it is cut: one long wait, or the same in pieces.

use hidden_ohm::fault::Activation;
use hidden_ohm::rig::{Attachments, Rig, Tap};
use hidden_ohm::seed::Stream;
use hidden_ohm::vehicle::Key;

use super::{cases, library};
use crate::cases::{Spread, case};

/// Below this a pump is about to stall, rad/s.
const BARELY_TURNS: f64 = 200.0;

/// Volts of every node against the reference.
fn volts(rig: &mut Rig) -> Vec<f64> {
    let nodes = rig.vehicle().nodes.len();
    let reference = Tap::Node(rig.reference());
    let instant = rig.now(&Attachments::none()).expect("a state");
    (0..nodes)
        .map(|index| {
            let node = Tap::Node(hidden_ohm::vehicle::node_at(index));
            instant.across(node, reference).unwrap_or(0.0)
        })
        .collect()
}

/// A relay chatters, or the pump stands or only just turns under current.
fn unsettled(rig: &mut Rig) -> bool {
    let instant = rig.now(&Attachments::none()).expect("a state");
    instant.chattering.is_some() || instant.pump.rad_s < BARELY_TURNS && instant.pump.amps > 0.1
}

fn apart(one: &[f64], other: &[f64]) -> f64 {
    let pairs = one.iter().zip(other);
    pairs.fold(0.0, |most, (a, b)| most.max((a - b).abs()))
}

/// The last digit of a volts reading below 6 V is 1 mV. Most cases come within a tenth of that.
const LIMIT_V: f64 = 1e-3;

/// Does not apply to faults that come and go with warmth or current: the moment at which one does is found to a twentieth of
/// a second, and at that moment the volts jump. Nor to a control unit that holds a pressure with the engine running: where
/// the pump only just turns, two duties may stand, and which one does depends on what went before; nor to a relay that
/// chatters or a pump that is about to stall, whose switching leaves more or less pressure behind.
#[test]
fn one_long_wait_and_the_same_in_pieces_agree_to_under_a_meters_last_digit() {
    let library = library();
    let none = Attachments::none();
    let jumps: Vec<String> = library
        .catalogue
        .kinds
        .iter()
        .filter(|kind| !matches!(kind.activation, Activation::Always | Activation::Wiggle))
        .map(|kind| format!("{} at", kind.id))
        .collect();
    let mut tried = 0;
    for number in cases(100) {
        let mut draw = Stream::named(number, "time");
        let mut case = case(&library, Spread::Damaged, number);
        if jumps.iter().any(|kind| case.about.contains(kind)) {
            continue;
        }
        let rig = &mut case.rig;
        let key = if case.key == Key::Off {
            Key::On
        } else {
            case.key
        };
        rig.turn_key(key, &none).expect("a turn");
        if rig.controls().key == Key::On {
            rig.command_pump(case.pump_on);
        }
        if rig.vehicle().holds_pa.is_some() && rig.controls().key == Key::Run {
            continue;
        }
        if unsettled(rig) {
            continue;
        }
        let seconds = draw.log_between(2.0, 600.0);
        let pieces = draw.below(40) + 2;
        let mut cut = rig.clone();
        let opened = rig.wait(seconds, &none).expect("time");
        let mut opened_cut = 0;
        for _ in 0..pieces {
            opened_cut += cut.wait(seconds / pieces as f64, &none).expect("time");
        }
        if unsettled(rig) || unsettled(&mut cut) {
            continue;
        }
        assert_eq!(opened, opened_cut, "fuses in {}", case.about);
        let far = apart(&volts(rig), &volts(&mut cut));
        assert!(
            far < LIMIT_V,
            "{far:e} V after {seconds} s in one and in {pieces}, pump {:?}: {}",
            cut.now(&none).expect("a state").pump,
            case.about
        );
        tried += 1;
    }
    assert!(tried > 0, "every case was left out");
}
