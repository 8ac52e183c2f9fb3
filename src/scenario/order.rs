//! The work order: all that is known before work begins.

use super::{Usage, history};
use crate::seed::Stream;
use crate::vehicle::Vehicle;

/// What is written on the job card.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct WorkOrder {
    /// Name of the vehicle type.
    pub vehicle: String,
    /// Name of this one vehicle.
    pub name: String,
    /// The complaint in the customer's words.
    pub customer: String,
    /// What is known of its past.
    pub known: Vec<String>,
    /// Service figures that can be had.
    pub figures: Vec<String>,
    /// Cautions for this kind of work.
    pub cautions: Vec<String>,
}

/// Writes the order of a drawn job; `figures` says whether any can be had.
pub(super) fn write_order(
    vehicle: &Vehicle,
    customer: String,
    usage: Usage,
    level: u8,
    figures: bool,
    stream: &mut Stream,
) -> WorkOrder {
    let known = history::drawn(vehicle, usage, level, stream);
    let mut all: Vec<String> = vehicle
        .figures
        .iter()
        .map(|figure| figure.text.clone())
        .collect();
    stream.shuffle(&mut all);
    let kept = match level {
        _ if !figures => 0,
        1 => all.len(),
        2 => all.len().div_ceil(2),
        3 => 2,
        _ => 1,
    };
    all.truncate(kept);
    WorkOrder {
        vehicle: vehicle.name.clone(),
        name: stream.pick(&vehicle.fleet).cloned().unwrap_or_default(),
        customer,
        known,
        figures: all,
        cautions: vehicle.cautions.clone(),
    }
}
