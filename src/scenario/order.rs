//! The work order: all that is known before work begins.

/// What is written on the job card.
#[derive(Clone, PartialEq, Eq, Debug)]
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
