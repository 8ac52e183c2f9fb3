//! A pair of nodes seen from outside.

use super::network::NodeId;
use super::solution::Solution;
use super::solver::Response;

/// What a pair of nodes looks like to anything connected between them (Thevenin's theorem).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Thevenin {
    /// Volts of the first node minus the second with nothing connected; 0 where no path joins them.
    pub volts: f64,
    /// Ohms in series; infinite where no path joins them.
    pub ohms: f64,
}

impl Thevenin {
    /// Volts across a resistance connected to the pair: what a voltmeter of that input resistance shows.
    #[must_use]
    pub fn volts_across(&self, load_ohms: f64) -> f64 {
        if self.ohms == f64::INFINITY {
            0.0
        } else if load_ohms == f64::INFINITY {
            self.volts
        } else if self.ohms + load_ohms == 0.0 {
            0.0
        } else {
            self.volts * (load_ohms / (self.ohms + load_ohms))
        }
    }

    /// Volts left while a current is drawn from the first node to the second through a load outside.
    #[must_use]
    pub fn volts_at(&self, amps: f64) -> f64 {
        if amps == 0.0 {
            self.volts
        } else {
            self.volts - amps * self.ohms
        }
    }
}

/// A solved network together with how it answers to a current drawn from one pair of nodes.
///
/// The network is linear, so any load between the pair (a motor, a lamp) may be solved against
/// [`Port::thevenin`] alone, and [`Port::loaded`] then gives every node by superposition.
#[derive(Clone, Debug)]
pub struct Port {
    pub(super) a: NodeId,
    pub(super) b: NodeId,
    pub(super) thevenin: Thevenin,
    pub(super) unloaded: Solution,
    pub(super) per_amp: Response,
}

impl Port {
    /// The pair as a source with resistance.
    #[must_use]
    pub fn thevenin(&self) -> Thevenin {
        self.thevenin
    }

    /// The network with nothing connected to the pair.
    #[must_use]
    pub fn unloaded(&self) -> &Solution {
        &self.unloaded
    }

    /// Volts by which a node moves for each ampere drawn, in ohms.
    #[must_use]
    pub fn volts_per_amp(&self, node: NodeId) -> f64 {
        self.per_amp.volts[node.at()]
    }

    /// Whether a path joins the pair; without one no current can be drawn.
    #[must_use]
    pub fn joined(&self) -> bool {
        self.unloaded.joined(self.a, self.b)
    }

    /// The network while `amps` flow from the first node through a load outside to the second.
    ///
    /// The load is no part of the network, so [`Solution::kcl_residual`] misses its amps at the pair.
    /// Where no path joins the pair no current can flow: the unloaded solution, whatever `amps` is.
    #[must_use]
    pub fn loaded(&self, amps: f64) -> Solution {
        let mut solution = self.unloaded.clone();
        let moved = |values: &mut [f64], per_amp: &[f64]| {
            for (value, rate) in values.iter_mut().zip(per_amp) {
                *value += amps * rate;
            }
        };
        if self.joined() {
            moved(&mut solution.volts, &self.per_amp.volts);
            moved(&mut solution.branch_amps, &self.per_amp.branch_amps);
            moved(&mut solution.source_amps, &self.per_amp.source_amps);
        }
        solution
    }
}
