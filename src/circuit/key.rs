//! What decides whether a topology still holds.

use super::network::{Branch, Network, NodeId, Source};
use super::parts::Parts;

/// What the topology was found for.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Key {
    nodes: usize,
    reference: u32,
    branches: Vec<u64>,
    sources: Vec<(u64, bool)>,
}

/// Two ends and whether the part conducts, in one word. A network never has 2^31 nodes, so the top
/// bit is free.
fn ends(from: NodeId, to: NodeId, conducts: bool) -> u64 {
    (u64::from(!conducts) << 63) ^ (u64::from(from.0) << 32 | u64::from(to.0))
}

fn branch_word(branch: &Branch, siemens: f64) -> u64 {
    ends(branch.from, branch.to, siemens > 0.0)
}

fn source_word(source: &Source, siemens: f64) -> (u64, bool) {
    let ideal = source.ohms == 0.0;
    (ends(source.from, source.to, siemens > 0.0 || ideal), ideal)
}

impl Key {
    pub fn of(net: &Network, parts: &Parts) -> Self {
        let branches = net.branches().iter().zip(&parts.branch_siemens);
        let sources = net.sources().iter().zip(&parts.source_siemens);
        Self {
            nodes: net.node_count(),
            reference: net.reference().0,
            branches: branches.map(|(b, &g)| branch_word(b, g)).collect(),
            sources: sources.map(|(s, &g)| source_word(s, g)).collect(),
        }
    }

    /// Whether a topology found for this key holds for a network with these parts.
    pub fn fits(&self, net: &Network, parts: &Parts) -> bool {
        let branches = net.branches().iter().zip(&parts.branch_siemens);
        let sources = net.sources().iter().zip(&parts.source_siemens);
        (self.nodes, self.reference) == (net.node_count(), net.reference().0)
            && branches
                .map(|(b, &g)| branch_word(b, g))
                .eq(self.branches.iter().copied())
            && sources
                .map(|(s, &g)| source_word(s, g))
                .eq(self.sources.iter().copied())
    }
}
