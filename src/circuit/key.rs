//! What decides whether a topology still holds.

use super::network::{Network, NodeId};

/// What the topology was found for.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Key {
    nodes: usize,
    reference: u32,
    branches: Vec<u64>,
    sources: Vec<(u64, bool)>,
    injections: Vec<u64>,
}

/// Two ends and whether the part conducts, in one word. A network never has 2^31 nodes, so the top
/// bit is free.
fn ends(from: NodeId, to: NodeId, conducts: bool) -> u64 {
    (u64::from(!conducts) << 63) ^ (u64::from(from.0) << 32 | u64::from(to.0))
}

impl Key {
    pub fn of(net: &Network, branch_siemens: &[f64], source_siemens: &[f64]) -> Self {
        Self {
            nodes: net.node_count(),
            reference: net.reference().0,
            branches: branch_words(net, branch_siemens).collect(),
            sources: source_words(net, source_siemens).collect(),
            injections: net
                .injections()
                .iter()
                .map(|i| ends(i.from, i.to, true))
                .collect(),
        }
    }

    /// Whether a network still has the topology this key was made for.
    pub fn matches(&self, net: &Network, branch_siemens: &[f64], source_siemens: &[f64]) -> bool {
        self.nodes == net.node_count()
            && self.reference == net.reference().0
            && self.branches.len() == net.branches().len()
            && self.sources.len() == net.sources().len()
            && self.injections.len() == net.injections().len()
            && self
                .branches
                .iter()
                .copied()
                .eq(branch_words(net, branch_siemens))
            && self
                .sources
                .iter()
                .copied()
                .eq(source_words(net, source_siemens))
            && self
                .injections
                .iter()
                .copied()
                .eq(net.injections().iter().map(|i| ends(i.from, i.to, true)))
    }
}

fn branch_words(net: &Network, siemens: &[f64]) -> impl Iterator<Item = u64> {
    net.branches()
        .iter()
        .zip(siemens)
        .map(|(b, &g)| ends(b.from, b.to, g > 0.0))
}

fn source_words(net: &Network, siemens: &[f64]) -> impl Iterator<Item = (u64, bool)> {
    net.sources()
        .iter()
        .zip(siemens)
        .map(|(s, &g)| (ends(s.from, s.to, g > 0.0 || s.ohms == 0.0), s.ohms == 0.0))
}
