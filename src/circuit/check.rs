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

/// Whether a branch can be solved with.
pub(super) fn check_branch(branch: usize, part: &Branch) -> Result<(), CircuitError> {
    // Written as what is good so that NaN is refused too.
    if part.ohms >= 0.0 {
        return Ok(());
    }
    Err(CircuitError::BranchOhms {
        branch,
        tag: part.tag,
        ohms: part.ohms,
    })
}

/// Whether a source can be solved with.
pub(super) fn check_source(source_index: usize, part: &Source) -> Result<(), CircuitError> {
    let &Source {
        ohms, volts, tag, ..
    } = part;
    if ohms >= 0.0 {
        if volts.is_finite() {
            return Ok(());
        }
        return Err(CircuitError::SourceVolts {
            source_index,
            tag,
            volts,
        });
    }
    Err(CircuitError::SourceOhms {
        source_index,
        tag,
        ohms,
    })
}
