//! A switching stage averaged over its cycle.
//!
//! A switch joins supply and output for the share `d` of each cycle; for the rest a freewheeling path joins common and
//! output, so that the load's inductance keeps its current (continuous conduction). A capacitor at the stage's input is
//! taken to carry the ripple, so that the supply sees the mean. Averaged, the stage is an ideal two-port behind a
//! resistance (the state-space average of a buck converter, as in textbooks of power electronics):
//!
//! ```text
//! v(output, common) = d v(supply, common) - R i        i(supply) = d i
//! ```
//!
//! Both sides are linear, so what a pair of nodes sees through the stage follows from three ports of the network
//! without it: the pair's own, one that drives the output, and one that draws at the supply. In the stage's place the
//! network holds a resistance of ordinary size, so that output and common stay joined and a switch of almost no
//! resistance costs no digits; what flows in it is taken off again.

use super::error::CircuitError;
use super::network::{Network, NodeId};
use super::port::{Port, Thevenin};
use super::solver::{Response, Solver};

/// Where a stage stands in a network, which holds two branches in its place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stage {
    /// Branch from supply to output, open in the network; in solutions its amps are the switch's mean current.
    pub switch: usize,
    /// Branch from common to output with [`Stage::tie`] as its resistance; in solutions its amps are those of the
    /// freewheeling path.
    pub freewheel: usize,
    /// Resistance in series with the output, ohm.
    pub ohms: f64,
    /// Share of the cycle in which the switch is closed, 0 to 1.
    pub duty: f64,
}

/// Least resistance that stands in a stage's place, ohm: of the size of what stages drive.
const LEAST_TIE: f64 = 1.0;

impl Stage {
    /// The resistance that stands in the place of a stage with `ohms` in series with its output, ohm.
    #[must_use]
    pub fn tie(ohms: f64) -> f64 {
        ohms.max(LEAST_TIE)
    }
}

/// A pair of nodes that looks through a stage.
#[derive(Clone, Debug)]
pub struct StagePort {
    /// The pair, averaged over the cycle.
    pub port: Port,
    /// Volts by which each node moves for one volt more at the stage's output, the current of the pair held.
    pub ripple: Vec<f64>,
}

/// Amperes that stand for the stage: driven into the output, and drawn from the supply.
#[derive(Clone, Copy)]
struct Drawn {
    output: f64,
    supply: f64,
}

impl Solver {
    /// The network between two nodes as [`Solver::port`] tells it, with an averaged stage in it.
    ///
    /// # Errors
    /// As [`Solver::port`].
    pub fn port_through(
        &mut self,
        net: &Network,
        (a, b): (NodeId, NodeId),
        stage: &Stage,
    ) -> Result<StagePort, CircuitError> {
        let supply = net.branches()[stage.switch].from;
        let freewheel = net.branches()[stage.freewheel];
        let (common, output) = (freewheel.from, freewheel.to);
        let own = self.port(net, a, b)?;
        // The same network and so the same factors: only what drives it differs.
        let driven = self.port_of(net, own.unloaded.clone(), common, output);
        let drawing = self.port_of(net, own.unloaded.clone(), supply, common);
        let fed = own.unloaded.joined(supply, common);
        let across = |volts: &[f64]| volts[supply.at()] - volts[common.at()];
        let rate = |port: &Port| {
            (
                across(&port.per_amp.volts),
                port.per_amp.branch_amps[stage.freewheel],
            )
        };
        let (driven_v, driven_a) = rate(&driven);
        let (drawing_v, drawing_a) = rate(&drawing);
        // R k - X i = d v(supply, common) and j = d (i + k), with k driven into the output, j drawn from the supply, i
        // in the tie and X what the tie has more than R.
        let d = stage.duty;
        let excess = freewheel.ohms - stage.ohms;
        let driving = stage.ohms - excess * driven_a;
        let (kk, kj) = (driving - d * driven_v, -excess * drawing_a - d * drawing_v);
        let (jk, jj) = (-d * (driven_a + 1.0), 1.0 - d * drawing_a);
        let determinant = kk * jj - kj * jk;
        let solve = |volts: f64, amps: f64| {
            let (right_k, right_j) = (d * volts + excess * amps, d * amps);
            let drawn = Drawn {
                output: (right_k * jj - kj * right_j) / determinant,
                supply: (kk * right_j - jk * right_k) / determinant,
            };
            let finite = drawn.output.is_finite() && drawn.supply.is_finite();
            if fed && finite {
                drawn
            } else {
                Drawn {
                    output: 0.0,
                    supply: 0.0,
                }
            }
        };
        let rest = solve(
            across(own.unloaded.node_volts()),
            own.unloaded.branch_amps(stage.freewheel),
        );
        let (own_v, own_a) = rate(&own);
        let each = solve(own_v, own_a);
        let answer = |to: Drawn, volts: &mut [f64], branches: &mut [f64], sources: &mut [f64]| {
            for (port, amps) in [(&driven, to.output), (&drawing, to.supply)] {
                add(volts, &port.per_amp.volts, amps);
                add(branches, &port.per_amp.branch_amps, amps);
                add(sources, &port.per_amp.source_amps, amps);
            }
            branches[stage.freewheel] += to.output - to.supply;
            branches[stage.switch] = to.supply;
        };
        let mut unloaded = own.unloaded.clone();
        answer(
            rest,
            &mut unloaded.volts,
            &mut unloaded.branch_amps,
            &mut unloaded.source_amps,
        );
        let mut per_amp: Response = own.per_amp.clone();
        answer(
            each,
            &mut per_amp.volts,
            &mut per_amp.branch_amps,
            &mut per_amp.source_amps,
        );
        let thevenin = if own.joined() {
            Thevenin {
                volts: unloaded.between(a, b),
                ohms: (per_amp.volts[b.at()] - per_amp.volts[a.at()]).max(0.0),
            }
        } else {
            own.thevenin
        };
        Ok(StagePort {
            port: Port {
                a,
                b,
                thevenin,
                unloaded,
                per_amp,
            },
            ripple: driven.per_amp.volts.iter().map(|v| v / driving).collect(),
        })
    }
}

fn add(to: &mut [f64], rates: &[f64], amps: f64) {
    for (value, rate) in to.iter_mut().zip(rates) {
        *value += amps * rate;
    }
}
