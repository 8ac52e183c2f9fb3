//! Learners with one instrument, or one mistaken idea.

use hidden_ohm::bay::Action;
use hidden_ohm::fault::Remedy;
use hidden_ohm::instrument::Function;
use hidden_ohm::vehicle::Key;

use super::methodical::{buys_pump, mends_between, section_of};
use super::workbench::Workbench;

/// Ohms from point to point, the first half of them with the key on; what shows more than an ohm is mended, and if
/// nothing does, the pump is replaced.
pub fn ohms_only(bench: &mut Workbench) {
    let points = bench.vehicle.pump_points();
    bench.does(Action::Key(Key::On));
    let half = points.len() / 2;
    for (index, pair) in points.windows(2).enumerate() {
        if index == half {
            bench.does(Action::Key(Key::Off));
        }
        let Some(ohms) = bench.meter(Function::Ohms, pair[0], pair[1]) else {
            continue;
        };
        let section = section_of(&bench.vehicle, pair[1]);
        if ohms > 1.0 {
            bench.call(section, true, Some(ohms));
            if mends_between(bench, pair[0], pair[1]) {
                return;
            }
        }
    }
    buys_pump(bench);
}

/// Volts from post to post with the key on and the pump at rest; where full volts stand the circuit is good, so that the
/// pump is replaced in the end.
pub fn unloaded_volts(bench: &mut Workbench) {
    bench.does(Action::Key(Key::On));
    for point in bench.vehicle.pump_points() {
        let Some(volts) = bench.volts(point) else {
            continue;
        };
        let section = section_of(&bench.vehicle, point);
        let good = !(0.1..=11.5).contains(&volts);
        bench.call(section, !good, Some(volts));
    }
    buys_pump(bench);
    if !bench.drove_clean {
        let filter = bench.vehicle.part("FILTER");
        if let Some(filter) = filter {
            bench.mends(filter, Remedy::Replace);
            bench.drives();
        }
    }
}
