//! The electronic parts of a vehicle file: control unit, driver module, pressure sensor.

use crate::units::Pascal;

use super::elements::Adder;
use super::kinds::Section;
use super::law::{Duty, KeySet, Law};
use super::reader::Table;

/// Nominal supply of sensors, in volts; every maker's (common practice, no source).
pub(super) const SENSOR_SUPPLY_V: f64 = 5.0;
/// What a control unit's sensor supply and sensor ground have in series, in ohms; ours, no source.
const SENSOR_SUPPLY_OHMS: f64 = 1.0;
const SENSOR_GROUND_OHMS: f64 = 0.02;
/// A control unit pulls its signal input down through this, in ohms; common practice, no source.
const INPUT_OHMS: f64 = 47e3;

/// The control unit: what it consumes itself, its low-side driver for relay or module, and on some vehicles a pressure
/// sensor's supply, ground and input.
pub(super) fn control_unit(add: &mut Adder, table: &mut Table) {
    let supply = add.node(table, "supply");
    let ground = add.node(table, "ground");
    let driver = add.node(table, "driver");
    let own = add.ohms(table, "own_load");
    let driver_ohms = add.ohms(table, "driver_resistance");
    let span = table.span.clone();
    if let Some(ohms) = own {
        let law = Law::Load {
            ohms,
            on: KeySet::IGNITION,
        };
        add.push("own", None, (supply, ground), law, span.clone());
    }
    if let Some(ohms) = driver_ohms {
        let law = Law::Driver { ohms };
        add.push("driver", None, (driver, ground), law, span.clone());
    }
    if !table.has("sensor_supply") {
        return;
    }
    let reference = add.node(table, "sensor_supply");
    let sensor_ground = add.node(table, "sensor_ground");
    let signal = add.node(table, "sensor_signal");
    add.draft.holds_pa = table.positive::<Pascal>(add.reader, "holds");
    let law = Law::Reference {
        volts: SENSOR_SUPPLY_V,
        ohms: SENSOR_SUPPLY_OHMS,
    };
    add.push("reference", None, (ground, reference), law, span.clone());
    let law = Law::Contact {
        ohms: SENSOR_GROUND_OHMS,
    };
    add.push(
        "sensor ground",
        None,
        (sensor_ground, ground),
        law,
        span.clone(),
    );
    let law = Law::Load {
        ohms: INPUT_OHMS,
        on: KeySet::ALWAYS,
    };
    add.push("input", None, (signal, ground), law, span);
}

/// A driver module: what it consumes itself, the pull-up of its command input, and the averaged switch.
///
/// The module runs while its command is pulled low, just as a relay closes while its coil is fed: the pull-up stands in
/// the place of the coil.
pub(super) fn driver_module(add: &mut Adder, table: &mut Table) {
    let supply = add.node(table, "supply");
    let ground = add.node(table, "ground");
    let output = add.node(table, "output");
    let command = add.node(table, "command");
    let own = add.ohms(table, "own_load");
    let pull_up = add.ohms(table, "pull_up");
    let operate_v = add.volts(table, "operate");
    let release_v = add.volts(table, "release");
    let ohms = add.ohms(table, "resistance");
    let [prime, crank, run, least] = ["prime_duty", "crank_duty", "run_duty", "least_duty"]
        .map(|key| table.fraction(add.reader, key));
    let span = table.span.clone();
    if let Some(ohms) = own {
        let law = Law::Load {
            ohms,
            on: KeySet::IGNITION,
        };
        add.push(
            "own",
            Some(Section::Control),
            (supply, ground),
            law,
            span.clone(),
        );
    }
    if let (Some(ohms_20), Some(operate_v), Some(release_v)) = (pull_up, operate_v, release_v) {
        let law = Law::Coil {
            ohms_20,
            operate_v,
            release_v,
        };
        add.push(
            "command",
            Some(Section::Control),
            (supply, command),
            law,
            span.clone(),
        );
    }
    if let (Some(ohms), Some(common)) = (ohms, ground)
        && let (Some(prime), Some(crank), Some(run), Some(least)) = (prime, crank, run, least)
    {
        let duty = Duty {
            prime,
            crank,
            run,
            least,
        };
        let law = Law::Chopper { ohms, common, duty };
        add.push("output", Some(Section::Feed), (supply, output), law, span);
    }
}

/// A pressure sensor with three terminals.
pub(super) fn pressure_sensor(add: &mut Adder, table: &mut Table) {
    let supply = add.node(table, "supply");
    let ground = add.node(table, "ground");
    let signal = add.node(table, "signal");
    let own = add.ohms(table, "own_load");
    let output = add.ohms(table, "output_resistance");
    let full_pa = table.positive::<Pascal>(add.reader, "full_scale");
    let span = table.span.clone();
    if let Some(ohms) = own {
        let law = Law::Load {
            ohms,
            on: KeySet::ALWAYS,
        };
        add.push("own", None, (supply, ground), law, span.clone());
    }
    if let (Some(ohms), Some(full_pa), Some(supply)) = (output, full_pa, supply) {
        let law = Law::Signal {
            ohms,
            full_pa,
            supply,
        };
        add.push("signal", None, (ground, signal), law, span);
    }
}
