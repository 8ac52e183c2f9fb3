//! The tests a certificate counts with, and when two results count as different.

use crate::fault::Fault;
use crate::rig::{Attachments, Moment, Rig, RigError};
use crate::vehicle::{Key, Vehicle};

/// How far two true values must lie apart to be told apart with certainty.
///
/// Each is twice the error of the instrument the bay offers (volts 0.5 % + 2 counts, gauge 1 % of 700 kPa, can 2 %,
/// clamp 2 % and its zero) and something for the tolerance of sound parts, which a learner does not know; the latter
/// is ours, no source.
pub struct Margins {
    /// Volts: V, and share of the value.
    pub volts: (f64, f64),
    /// Current: A, and share.
    pub current: (f64, f64),
    /// Pressure: kPa, and share.
    pub pressure: (f64, f64),
    /// Flow: L/h, and share.
    pub flow: (f64, f64),
}

/// The margins in force.
pub const MARGINS: Margins = Margins {
    volts: (0.06, 0.02),
    current: (0.2, 0.08),
    pressure: (20.0, 0.03),
    flow: (2.0, 0.10),
};

/// One test with its true value.
pub(super) struct Figure {
    pub test: String,
    pub unit: &'static str,
    pub value: f64,
}

pub(super) fn separated(a: &Figure, b: &Figure) -> bool {
    let (least, share) = match a.unit {
        "V" => MARGINS.volts,
        "A" => MARGINS.current,
        "kPa" => MARGINS.pressure,
        _ => MARGINS.flow,
    };
    let size = libm::fabs(a.value).max(libm::fabs(b.value));
    libm::fabs(a.value - b.value) > least + share * size
}

/// Volts at every point a tip can touch against the negative post, key on, pump commanded and not; pump current.
pub(super) fn electrical<F>(
    rig: F,
    vehicle: &Vehicle,
    faults: &[Fault],
) -> Result<Vec<Figure>, RigError>
where
    F: Fn(Vec<Fault>) -> Result<Rig, RigError>,
{
    // The pump's own loop first: of two tests that separate as much, the one on the loop is named.
    let mut points = vehicle.pump_points();
    points.extend(
        vehicle
            .plugged_points()
            .into_iter()
            .filter(|node| !vehicle.pump_points().contains(node)),
    );
    let mut figures = Vec::new();
    for pump_on in [true, false] {
        let ladder = rig(faults.to_vec())?.ladder(Key::On, pump_on, Moment::Settled)?;
        let state = if pump_on {
            "pump commanded"
        } else {
            "key on, pump not commanded"
        };
        for &node in &points {
            let name = &vehicle.nodes[node.0 as usize].name;
            // A tip on a floating point shows next to nothing.
            let value = ladder
                .nodes
                .iter()
                .find(|(other, _)| other == name)
                .map_or(0.0, |(_, volts)| *volts);
            let test = format!("volts {name} to {}, {state}", ladder.reference);
            figures.push(Figure {
                test,
                unit: "V",
                value,
            });
        }
        if pump_on {
            let value = ladder.pumps.first().map_or(0.0, |pump| pump.amps);
            figures.push(Figure {
                test: "pump current by clamp, pump commanded".into(),
                unit: "A",
                value,
            });
        }
    }
    Ok(figures)
}

/// Pressures of a drive and the flow back to the tank.
pub(super) fn under_way<F>(rig: F, _: &Vehicle, faults: &[Fault]) -> Result<Vec<Figure>, RigError>
where
    F: Fn(Vec<Fault>) -> Result<Rig, RigError>,
{
    let mut rig = rig(faults.to_vec())?;
    let report = rig.drive()?;
    // The key has only just been turned off, so that turning it on runs no new prime.
    let none = Attachments::none();
    rig.turn_key(Key::On, &none)?;
    rig.command_pump(true);
    let returned = rig.now(&none)?.pump.return_m3_s * 3.6e6;
    let pressure = |test: &str, pa: f64| Figure {
        test: test.into(),
        unit: "kPa",
        value: pa / 1e3,
    };
    Ok(vec![
        pressure("pressure at the end of the prime", report.primed_pa),
        pressure("pressure at idle", report.idle_pa),
        pressure("pressure at full load on the hill", report.hill_pa),
        pressure("pressure an hour after switching off", report.held_pa),
        Figure {
            test: "flow through the return line, pump commanded".into(),
            unit: "L/h",
            value: returned,
        },
    ])
}
