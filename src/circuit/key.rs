//! What decides whether a topology still holds.

use super::network::{Branch, Network, NodeId, Source, conductance};

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

/// Conductance of a source, S; an ideal one has none in the equations.
fn source_siemens(source: &Source) -> f64 {
    if source.ohms == 0.0 {
        0.0
    } else {
        conductance(source.ohms)
    }
}

/// Conductances of a network's parts, S, renewed for each solve.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Siemens {
    pub branches: Vec<f64>,
    pub sources: Vec<f64>,
}

impl Siemens {
    pub fn clear(&mut self) {
        self.branches.clear();
        self.sources.clear();
    }

    /// Takes the values of a network.
    pub fn take(&mut self, net: &Network) {
        self.clear();
        self.branches
            .extend(net.branches().iter().map(|b| conductance(b.ohms)));
        self.sources
            .extend(net.sources().iter().map(source_siemens));
    }
}

impl Key {
    pub fn of(net: &Network, siemens: &Siemens) -> Self {
        let branches = net.branches().iter().zip(&siemens.branches);
        let sources = net.sources().iter().zip(&siemens.sources);
        Self {
            nodes: net.node_count(),
            reference: net.reference().0,
            branches: branches.map(|(b, &g)| branch_word(b, g)).collect(),
            sources: sources.map(|(s, &g)| source_word(s, g)).collect(),
        }
    }

    /// Whether a topology found for this key holds for a network with these conductances.
    pub fn fits(&self, net: &Network, siemens: &Siemens) -> bool {
        let mut same = self.nodes == net.node_count()
            && self.reference == net.reference().0
            && self.branches.len() == net.branches().len()
            && self.sources.len() == net.sources().len();
        if same {
            // Without leaving early: the loop is short, and quicker so.
            let branches = net.branches().iter().zip(&siemens.branches);
            for ((branch, &siemens), &word) in branches.zip(&self.branches) {
                same &= branch_word(branch, siemens) == word;
            }
            let sources = net.sources().iter().zip(&siemens.sources);
            for ((source, &siemens), &word) in sources.zip(&self.sources) {
                same &= source_word(source, siemens) == word;
            }
        }
        same
    }
}
