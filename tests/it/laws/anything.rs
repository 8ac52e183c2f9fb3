//! Any part from zero to open, any combination: a defined answer, never NaN, never a hang, never a panic.

use std::sync::Arc;

use hidden_ohm::circuit::{CircuitError, NodeId};
use hidden_ohm::rig::{Attachments, Conditions, Filament, Moment, Rig, RigError, Tap};
use hidden_ohm::vehicle::{ElementId, Key, Law, Vehicle};
use proptest::prelude::*;
use proptest::test_runner::{RngSeed, TestRunner};

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
            let all = [source.volts, source.ohms, source.amps];
            assert!(
                all.iter().all(|value| value.is_finite()),
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

/// What one element is set to: closed, anything between, or open.
fn value() -> impl Strategy<Value = f64> {
    prop_oneof![
        2 => Just(0.0),
        2 => Just(f64::INFINITY),
        3 => (-9.0..12.0_f64).prop_map(|power| libm::pow(10.0, power)),
    ]
}

/// Sets an element's own resistance, whatever its law; the winding's is the pump's.
fn set(vehicle: &mut Vehicle, index: usize, value: f64) {
    let count = vehicle.elements.len();
    match &mut vehicle.elements[index % count].law {
        Law::Contact { ohms }
        | Law::Fuse { ohms, .. }
        | Law::RelayContact { ohms }
        | Law::Switch { ohms, .. }
        | Law::OilSwitch { ohms }
        | Law::Driver { ohms }
        | Law::Load { ohms, .. }
        | Law::Metal { ohms }
        | Law::Battery { ohms, .. }
        | Law::Starter { ohms }
        | Law::Alternator { ohms, .. }
        | Law::Chopper { ohms, .. }
        | Law::Signal { ohms, .. }
        | Law::Reference { ohms, .. }
        | Law::Copper { ohms_20: ohms, .. }
        | Law::Coil { ohms_20: ohms, .. } => *ohms = value,
        Law::Winding => vehicle.pump.unit.motor.winding_ohms = value,
    }
}

/// Parts of a whole vehicle closed, open and between, any of them together. A failure shrinks to the fewest parts that make it.
/// Sources without resistance in one loop are the one thing that has no answer, and are told as that.
#[test]
fn any_parts_closed_and_open_together_have_a_finite_truth() {
    let library = library();
    let changes = prop::collection::vec((0_usize..10_000, value()), 0..10);
    let numbers = cases(200);
    let mut runner = TestRunner::new(ProptestConfig {
        cases: u32::try_from(numbers.end - numbers.start).expect("a few thousand"),
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(7 + numbers.start),
        ..ProptestConfig::default()
    });
    let state = (0_usize..4, any::<bool>(), any::<bool>(), 0_usize..100);
    let outcome = runner.run(
        &(changes, state),
        |(changes, (key, pump_on, prime, which))| {
            let vehicle = &library.vehicles[which % library.vehicles.len()];
            let mut changed = Vehicle::clone(vehicle);
            for &(index, value) in &changes {
                set(&mut changed, index, value);
            }
            let conditions = Conditions {
                ambient_c: 20.0,
                charge: 1.0,
                fuel: 0.5,
            };
            let rig = Rig::new(
                Arc::new(changed),
                Arc::clone(&library.catalogue),
                7,
                conditions,
                Vec::new(),
            )
            .expect("a rig");
            let moment = if prime {
                Moment::Prime
            } else {
                Moment::Settled
            };
            match rig.ladder(Key::ALL[key], pump_on, moment) {
                Ok(ladder) => {
                    for (name, volts) in &ladder.nodes {
                        prop_assert!(
                            volts.is_finite() && volts.abs() < 100.0,
                            "{name} at {volts} V"
                        );
                    }
                    for branch in &ladder.branches {
                        prop_assert!(branch.amps.is_finite() && branch.ohms >= 0.0, "{branch:?}");
                    }
                    for pump in &ladder.pumps {
                        let all = [pump.amps, pump.rpm, pump.kpa, pump.lph];
                        prop_assert!(all.iter().all(|value| value.is_finite()), "{pump:?}");
                    }
                }
                Err(error) => {
                    let told = matches!(
                        error,
                        RigError::Circuit(CircuitError::IdealSourceLoop { .. })
                    );
                    prop_assert!(told, "{error}");
                }
            }
            Ok(())
        },
    );
    if let Err(error) = outcome {
        panic!("{error}");
    }
}
