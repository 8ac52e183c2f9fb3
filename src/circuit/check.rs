//! Refusal of values and nodes that no network can have.

use super::CircuitError;
use super::network::{Branch, Network, NodeId, Source};

/// Whether all nodes of a question exist.
pub(super) fn check_points(net: &Network, points: &[NodeId]) -> Result<(), CircuitError> {
    match points.iter().find(|p| p.at() >= net.node_count()) {
        Some(&node) => Err(CircuitError::NoSuchNode {
            node,
            node_count: u32::try_from(net.node_count()).unwrap_or(u32::MAX),
        }),
        None => Ok(()),
    }
}

/// Whether all values of a network can be solved with.
pub(super) fn check_values(net: &Network) -> Result<(), CircuitError> {
    // Written as "not (at least 0)" so that NaN is refused too.
    let refused = |ohms: f64| {
        !matches!(
            ohms.partial_cmp(&0.0),
            Some(std::cmp::Ordering::Greater | std::cmp::Ordering::Equal)
        )
    };
    for (branch, &Branch { ohms, tag, .. }) in net.branches().iter().enumerate() {
        if refused(ohms) {
            return Err(CircuitError::BranchOhms { branch, tag, ohms });
        }
    }
    for (
        source_index,
        &Source {
            ohms, volts, tag, ..
        },
    ) in net.sources().iter().enumerate()
    {
        if refused(ohms) {
            return Err(CircuitError::SourceOhms {
                source_index,
                tag,
                ohms,
            });
        }
        if !volts.is_finite() {
            return Err(CircuitError::SourceVolts {
                source_index,
                tag,
                volts,
            });
        }
    }
    Ok(())
}
