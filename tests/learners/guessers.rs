//! Learners who buy on hope.

use hidden_ohm::fault::Remedy;
use hidden_ohm::vehicle::PartId;

use super::workbench::Workbench;

/// The dearest part first, and the next if that was not it; gives up after six.
pub fn dearest_first(bench: &mut Workbench) {
    let mut parts: Vec<(i64, PartId)> = bench
        .vehicle
        .parts
        .iter()
        .enumerate()
        .filter_map(|(index, part)| Some((part.price?.0, PartId(index))))
        .filter(|(_, part)| bench.vehicle.parts[part.0].replace.is_some())
        .collect();
    parts.sort_by(|a, b| b.cmp(a));
    for (_, part) in parts.into_iter().take(6) {
        if bench.mends(part, Remedy::Replace) && bench.drives() {
            return;
        }
    }
}

/// Reads three points at random, then does up to four random jobs.
pub fn random(bench: &mut Workbench) {
    let points = bench.vehicle.plugged_points();
    for _ in 0..3 {
        if bench.stream.chance(0.5) {
            bench.pump(true);
        }
        if let Some(&point) = bench.stream.pick(&points) {
            bench.volts(point);
        }
    }
    let parts: Vec<PartId> = (0..bench.vehicle.parts.len()).map(PartId).collect();
    for _ in 0..4 {
        let Some(&part) = bench.stream.pick(&parts) else {
            return;
        };
        if bench.mends_somehow(part) && bench.drives() {
            return;
        }
    }
}
