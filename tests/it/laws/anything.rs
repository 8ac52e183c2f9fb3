//! Any part from zero to open, any combination: a defined answer, never NaN, never a hang, never a panic.

use hidden_ohm::circuit::NodeId;
use hidden_ohm::rig::{Attachments, Filament, Tap};
use hidden_ohm::vehicle::{ElementId, Key};

use super::{cases, library};
use crate::cases::{Spread, case};

#[test]
fn any_vehicle_in_any_state_has_a_finite_truth() {
    let library = library();
    for number in cases(400) {
        let case = case(&library, Spread::Anything, number);
        let about = case.about;
        let ladder = case
            .rig
            .ladder(case.key, case.pump_on, case.moment)
            .unwrap_or_else(|error| panic!("{about}: {error}"));
        for (name, volts) in &ladder.nodes {
            assert!(
                volts.is_finite() && volts.abs() < 100.0,
                "{about}: {name} at {volts} V"
            );
        }
        for branch in &ladder.branches {
            assert!(
                branch.ohms.is_finite() && branch.amps.is_finite(),
                "{about}: {branch:?}"
            );
        }
        for source in &ladder.sources {
            assert!(
                source.volts.is_finite() && source.amps.is_finite(),
                "{about}: {source:?}"
            );
        }
        for pump in &ladder.pumps {
            let all = [pump.amps, pump.rpm, pump.kpa, pump.lph];
            assert!(
                all.iter().all(|value| value.is_finite()),
                "{about}: {pump:?}"
            );
        }
    }
}

/// A morning's work in random order: keys, waits, plugs, a lamp that is left on.
#[test]
fn any_sequence_of_actions_stays_finite_and_bounded_in_temperature() {
    let library = library();
    for number in cases(120) {
        let case = case(&library, Spread::Anything, number);
        let (mut rig, about) = (case.rig, case.about);
        let mut draw = hidden_ohm::seed::Stream::named(number, "actions");
        let mut lamp = Attachments::none();
        lamp.filament(
            Tap::Node(NodeId(0)),
            Tap::Node(NodeId(7)),
            Filament {
                volts: 12.0,
                watts: 5.0,
            },
        );
        for _ in 0..8 {
            let attached = if draw.chance(0.5) {
                lamp.clone()
            } else {
                Attachments::none()
            };
            let done = match draw.below(4) {
                0 => rig
                    .turn_key(*draw.pick(&Key::ALL).expect("keys"), &attached)
                    .map(|_| ()),
                1 => {
                    rig.command_pump(draw.chance(0.7));
                    Ok(())
                }
                2 => rig
                    .wait(draw.log_between(0.1, 20_000.0), &attached)
                    .map(|_| ()),
                _ => rig.now(&attached).map(|_| ()),
            };
            done.unwrap_or_else(|error| panic!("{about}: {error}"));
            let instant = rig
                .now(&attached)
                .unwrap_or_else(|error| panic!("{about}: {error}"));
            assert!(
                instant.pump.amps.is_finite() && rig.rail_pa().is_finite(),
                "{about}"
            );
            for index in 0..rig.vehicle().elements.len() {
                let celsius = rig.temperature_c(ElementId(index));
                assert!(
                    (-40.0..=950.0).contains(&celsius),
                    "{about}: element {index} at {celsius} C"
                );
                assert!(
                    instant.amps(ElementId(index)).is_finite(),
                    "{about}: element {index}"
                );
            }
        }
    }
}
