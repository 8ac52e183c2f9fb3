//! The parts of the network met last: what has not changed since is not looked at twice.

use super::CircuitError;
use super::check::{check_branch, check_source};
use super::network::{Branch, Network, Source, conductance};

/// What is new in a network.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum News {
    /// Nothing but volts of sources.
    Nothing,
    /// Resistances.
    Values,
    /// What is connected with what.
    Connections,
}

/// The parts of a network and their conductances, S.
#[derive(Clone, Debug, Default)]
pub(super) struct Parts {
    nodes: usize,
    reference: u32,
    branches: Vec<Branch>,
    sources: Vec<Source>,
    pub branch_siemens: Vec<f64>,
    pub source_siemens: Vec<f64>,
}

impl Parts {
    /// Takes the parts of a network and tells what is new.
    ///
    /// # Errors
    /// As [`check_branch`] and [`check_source`]. The parts are forgotten then.
    pub fn renew(&mut self, net: &Network) -> Result<News, CircuitError> {
        let found = if self.alike(net) {
            self.renew_branches(net)
                .and_then(|news| Ok(news.max(self.renew_sources(net)?)))
        } else {
            self.take(net)
        };
        if found.is_err() {
            self.forget();
        }
        found
    }

    /// Whatever comes next is new.
    pub fn forget(&mut self) {
        *self = Self::default();
    }

    /// Whether a network has as many nodes and parts.
    fn alike(&self, net: &Network) -> bool {
        self.nodes == net.node_count()
            && self.reference == net.reference().0
            && self.branches.len() == net.branches().len()
            && self.sources.len() == net.sources().len()
    }

    fn take(&mut self, net: &Network) -> Result<News, CircuitError> {
        for (index, branch) in net.branches().iter().enumerate() {
            check_branch(index, branch)?;
        }
        for (index, source) in net.sources().iter().enumerate() {
            check_source(index, source)?;
        }
        (self.nodes, self.reference) = (net.node_count(), net.reference().0);
        net.branches().clone_into(&mut self.branches);
        net.sources().clone_into(&mut self.sources);
        self.branch_siemens.clear();
        self.branch_siemens
            .extend(net.branches().iter().map(|b| conductance(b.ohms)));
        self.source_siemens.clear();
        self.source_siemens
            .extend(net.sources().iter().map(source_siemens));
        Ok(News::Connections)
    }

    fn renew_branches(&mut self, net: &Network) -> Result<News, CircuitError> {
        let mut news = News::Nothing;
        let known = self.branches.iter_mut().zip(&mut self.branch_siemens);
        for (index, (branch, (known, siemens))) in net.branches().iter().zip(known).enumerate() {
            let same_ends = (branch.from, branch.to) == (known.from, known.to);
            if same_ends && branch.ohms == known.ohms {
                continue;
            }
            check_branch(index, branch)?;
            let renewed = conductance(branch.ohms);
            news = news.max(if same_ends && (renewed > 0.0) == (*siemens > 0.0) {
                News::Values
            } else {
                News::Connections
            });
            (*known, *siemens) = (*branch, renewed);
        }
        Ok(news)
    }

    fn renew_sources(&mut self, net: &Network) -> Result<News, CircuitError> {
        let mut news = News::Nothing;
        let known = self.sources.iter_mut().zip(&mut self.source_siemens);
        for (index, (source, (known, siemens))) in net.sources().iter().zip(known).enumerate() {
            check_source(index, source)?;
            let same_ends = (source.from, source.to) == (known.from, known.to);
            if same_ends && source.ohms == known.ohms {
                continue;
            }
            let renewed = source_siemens(source);
            let ideal = |ohms: f64| ohms == 0.0;
            let same_kind =
                (renewed > 0.0) == (*siemens > 0.0) && ideal(source.ohms) == ideal(known.ohms);
            news = news.max(if same_ends && same_kind {
                News::Values
            } else {
                News::Connections
            });
            (*known, *siemens) = (*source, renewed);
        }
        Ok(news)
    }
}

/// Conductance of a source, S; an ideal one has none in the equations.
fn source_siemens(source: &Source) -> f64 {
    if source.ohms == 0.0 {
        0.0
    } else {
        conductance(source.ohms)
    }
}
