//! A solved network.

use std::sync::Arc;

use super::network::{Network, NodeId};

/// Volts at every node and amps through every part.
#[derive(Clone, Debug, PartialEq)]
pub struct Solution {
    pub(super) volts: Vec<f64>,
    pub(super) branch_amps: Vec<f64>,
    pub(super) source_amps: Vec<f64>,
    pub(super) islands: Arc<[u32]>,
    pub(super) reference_island: u32,
}

impl Solution {
    /// Volts of a node against the reference; for a floating node, against the lowest node of its island.
    ///
    /// # Panics
    /// If the node was not in the solved network; likewise for all that follow.
    #[must_use]
    pub fn volts(&self, node: NodeId) -> f64 {
        self.volts[node.at()]
    }

    /// Volts of `plus` minus those of `minus`: meaningful only where [`Solution::joined`].
    #[must_use]
    pub fn between(&self, plus: NodeId, minus: NodeId) -> f64 {
        self.volts(plus) - self.volts(minus)
    }

    /// Volts of all nodes, by number.
    #[must_use]
    pub fn node_volts(&self) -> &[f64] {
        &self.volts
    }

    /// Amps through a branch, from its `from` to its `to`.
    #[must_use]
    pub fn branch_amps(&self, branch: usize) -> f64 {
        self.branch_amps[branch]
    }

    /// Amps of a source, leaving its `to`.
    #[must_use]
    pub fn source_amps(&self, source: usize) -> f64 {
        self.source_amps[source]
    }

    /// Whether a node has no conducting path to the reference.
    #[must_use]
    pub fn floating(&self, node: NodeId) -> bool {
        self.islands[node.at()] != self.reference_island
    }

    /// Whether a conducting path joins two nodes.
    #[must_use]
    pub fn joined(&self, a: NodeId, b: NodeId) -> bool {
        self.islands[a.at()] == self.islands[b.at()]
    }

    /// Island of each node, numbered from 0 in the order of their lowest nodes.
    #[must_use]
    pub fn islands(&self) -> &[u32] {
        &self.islands
    }

    /// Volts and amps averaged over time between two states of one network, `share` of the time in this one.
    ///
    /// Both networks must have the same nodes and parts in the same order (a contact that is open in one of them is a
    /// branch of infinite resistance there). What is joined is told as in this one.
    #[must_use]
    pub fn mean(&self, other: &Self, share: f64) -> Self {
        let blend = |here: &[f64], there: &[f64]| -> Vec<f64> {
            here.iter()
                .zip(there)
                .map(|(a, b)| share * a + (1.0 - share) * b)
                .collect()
        };
        Self {
            volts: blend(&self.volts, &other.volts),
            branch_amps: blend(&self.branch_amps, &other.branch_amps),
            source_amps: blend(&self.source_amps, &other.source_amps),
            ..self.clone()
        }
    }

    /// The node at which the currents of this solution leave Kirchhoff's law the furthest, and the
    /// amps missing there.
    #[must_use]
    pub fn kcl_residual(&self, net: &Network) -> (NodeId, f64) {
        let mut leaving = vec![0.0; net.node_count()];
        let mut flow = |from: NodeId, to: NodeId, amps: f64| {
            leaving[from.at()] += amps;
            leaving[to.at()] -= amps;
        };
        for (branch, &amps) in net.branches().iter().zip(&self.branch_amps) {
            flow(branch.from, branch.to, amps);
        }
        for (source, &amps) in net.sources().iter().zip(&self.source_amps) {
            flow(source.from, source.to, amps);
        }
        let mut worst = (net.reference(), 0.0_f64);
        for (node, amps) in (0..).map(NodeId).zip(leaving) {
            if amps.abs() > worst.1.abs() {
                worst = (node, amps);
            }
        }
        worst
    }
}
