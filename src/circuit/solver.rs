//! Nodal analysis.

use std::sync::Arc;

use crate::numeric::laplacian::{Factor, LaplacianError};

use super::CircuitError;
use super::check::check_points;
use super::key::Key;
use super::network::{Network, NodeId, Source};
use super::parts::{News, Parts};
use super::port::{Port, Thevenin};
use super::probe::ProbeTable;
use super::solution::Solution;
use super::topology::Topology;

/// How much a solver has done, so that a test can hold effort where it is.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Work {
    /// Times the islands and the order of elimination were found anew, for connections not met lately.
    pub orderings: u64,
    /// Eliminations.
    pub factorisations: u64,
    /// Right-hand sides solved for, the one step of refinement of each answer counted as well.
    pub solutions: u64,
}

/// Topologies kept: a vehicle goes to and fro between a few states of its switches.
const KEPT: usize = 6;

/// Solves networks; keeps its buffers and, for the connections it met last, the order of elimination.
#[derive(Clone, Debug, Default)]
pub struct Solver {
    topology: Arc<Topology>,
    /// The topologies met last with what they hold for, the present one first.
    kept: Vec<(Arc<Key>, Arc<Topology>)>,
    /// What `factor` was made of; forgotten after a failure.
    parts: Parts,
    factor: Factor,
    work: Work,
    /// Volts of each node above its unknown, from ideal sources.
    offset: Vec<f64>,
    /// Current into each unknown, then its volts; one place more stands for every node of known volts.
    rhs: Vec<f64>,
    leaving: Vec<f64>,
}

/// What drives the network.
#[derive(Clone, Copy, PartialEq)]
enum Drive {
    /// Its own sources.
    Own,
    /// One ampere drawn out of the first node and returned to the second, all sources at rest.
    Ampere(NodeId, NodeId),
}

/// Volts and amps that answer to a drive.
#[derive(Clone, Debug)]
pub(super) struct Response {
    pub volts: Vec<f64>,
    pub branch_amps: Vec<f64>,
    pub source_amps: Vec<f64>,
}

impl Solver {
    /// A solver with empty buffers.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// What it has done so far.
    #[must_use]
    pub fn work(&self) -> Work {
        self.work
    }

    /// The operating point: volts at every node, amps through every part.
    ///
    /// # Errors
    /// See [`CircuitError`]. Open circuits and floating islands are no errors.
    pub fn operate(&mut self, net: &Network) -> Result<Solution, CircuitError> {
        self.prepare(net)?;
        self.own(net)
    }

    /// The network between two nodes as one source with resistance.
    ///
    /// # Errors
    /// As [`Solver::operate`]; also when a node does not exist.
    pub fn thevenin(
        &mut self,
        net: &Network,
        a: NodeId,
        b: NodeId,
    ) -> Result<Thevenin, CircuitError> {
        // By way of the port, so that both questions get the same answer to the last bit.
        Ok(self.port(net, a, b)?.thevenin())
    }

    /// The operating point together with how every node and part answers to a current drawn from
    /// one pair of nodes, from one factorisation.
    ///
    /// # Errors
    /// As [`Solver::thevenin`].
    pub fn port(&mut self, net: &Network, a: NodeId, b: NodeId) -> Result<Port, CircuitError> {
        check_points(net, &[a, b])?;
        self.prepare(net)?;
        let unloaded = self.own(net)?;
        Ok(self.port_of(net, unloaded, a, b))
    }

    /// The same of a network that is prepared and whose own operating point is known.
    pub(super) fn port_of(
        &mut self,
        net: &Network,
        unloaded: Solution,
        a: NodeId,
        b: NodeId,
    ) -> Port {
        let (per_amp, thevenin) = if unloaded.joined(a, b) {
            let per_amp = self.respond(net, Drive::Ampere(a, b));
            let ohms = per_amp.volts[b.at()] - per_amp.volts[a.at()];
            (
                per_amp,
                Thevenin {
                    volts: unloaded.between(a, b),
                    ohms: ohms.max(0.0),
                },
            )
        } else {
            let still = Response {
                volts: vec![0.0; net.node_count()],
                branch_amps: vec![0.0; net.branches().len()],
                source_amps: vec![0.0; net.sources().len()],
            };
            (
                still,
                Thevenin {
                    volts: 0.0,
                    ohms: f64::INFINITY,
                },
            )
        };
        Port {
            a,
            b,
            thevenin,
            unloaded,
            per_amp,
        }
    }

    /// What a meter of `meter_ohms` shows between any two of `points`, from one factorisation.
    ///
    /// # Errors
    /// As [`Solver::thevenin`].
    pub fn probe_table(
        &mut self,
        net: &Network,
        points: &[NodeId],
        meter_ohms: f64,
    ) -> Result<ProbeTable, CircuitError> {
        check_points(net, points)?;
        self.prepare(net)?;
        let own = self.own(net)?;
        let mut transfer = Vec::with_capacity(points.len() * points.len());
        for &driven in points {
            self.rhs.fill(0.0);
            self.rhs[self.topology.unknown[driven.at()] as usize] = 1.0;
            self.solve();
            transfer.extend(points.iter().map(|&p| self.solved(p)));
        }
        Ok(ProbeTable {
            points: points.to_vec(),
            islands: points.iter().map(|p| own.islands[p.at()]).collect(),
            volts: points.iter().map(|&p| own.volts(p)).collect(),
            transfer,
            meter_ohms,
        })
    }

    /// Checks all values, renews the topology if a connection changed, and factorises if a resistance has.
    fn prepare(&mut self, net: &Network) -> Result<(), CircuitError> {
        let news = self.parts.renew(net)?;
        if news == News::Nothing {
            return Ok(());
        }
        let done = self.factor_anew(net, news);
        if done.is_err() {
            self.parts.forget();
        }
        done
    }

    fn factor_anew(&mut self, net: &Network, news: News) -> Result<(), CircuitError> {
        if news == News::Connections {
            self.find_topology(net)?;
        }
        let topology = &*self.topology;
        self.factor.clear(&topology.pattern);
        let branches = topology.branch_slot.iter().zip(&self.parts.branch_siemens);
        let sources = topology.source_slot.iter().zip(&self.parts.source_siemens);
        for (&slot, &siemens) in branches.chain(sources) {
            self.factor.add(slot as usize, siemens);
        }
        self.work.factorisations += 1;
        self.factor.factor(&topology.pattern).map_err(
            |LaplacianError::Ungrounded { position, total }| {
                let node = topology
                    .unknown
                    .iter()
                    .position(|&p| p as usize == position);
                CircuitError::Singular {
                    node: NodeId(node.and_then(|n| u32::try_from(n).ok()).unwrap_or(0)),
                    total,
                }
            },
        )
    }

    /// Finds the topology that holds for a network.
    fn find_topology(&mut self, net: &Network) -> Result<(), CircuitError> {
        let parts = &self.parts;
        if let Some(place) = self.kept.iter().position(|(key, _)| key.fits(net, parts)) {
            self.kept[..=place].rotate_right(1);
        } else {
            self.work.orderings += 1;
            let found = Arc::new(Topology::find(net)?);
            self.kept.truncate(KEPT - 1);
            self.kept.insert(0, (Arc::new(Key::of(net, parts)), found));
        }
        self.topology = Arc::clone(&self.kept[0].1);
        self.rhs.resize(self.topology.pattern.len() + 1, 0.0);
        Ok(())
    }

    fn own(&mut self, net: &Network) -> Result<Solution, CircuitError> {
        let Response {
            volts,
            branch_amps,
            source_amps,
        } = self.respond(net, Drive::Own);
        if !(all_finite(&volts) && all_finite(&branch_amps) && all_finite(&source_amps)) {
            return Err(not_finite(net, &volts, &branch_amps, &source_amps));
        }
        Ok(Solution {
            volts,
            branch_amps,
            source_amps,
            islands: self.topology.islands.of_node.clone(),
            reference_island: self.topology.islands.reference,
        })
    }

    /// Volts of a node above its offset, from the last solved right-hand side.
    fn solved(&self, node: NodeId) -> f64 {
        self.rhs[self.topology.unknown[node.at()] as usize]
    }

    /// Replaces the currents in `rhs` by volts.
    fn solve(&mut self) {
        self.work.solutions += 1;
        let unknowns = self.topology.pattern.len();
        self.rhs[unknowns] = 0.0;
        self.factor
            .solve(&self.topology.pattern, &mut self.rhs[..unknowns]);
    }

    /// Solves for a drive; voltages stay in `rhs` and `offset`.
    fn node_volts(&mut self, net: &Network, drive: Drive) {
        let Topology { unknown, ideal, .. } = &*self.topology;
        self.rhs.fill(0.0);
        self.offset.clear();
        self.offset.resize(net.node_count(), 0.0);
        let rhs = &mut self.rhs;
        let mut push = |from: NodeId, to: NodeId, amps: f64| {
            rhs[unknown[from.at()] as usize] -= amps;
            rhs[unknown[to.at()] as usize] += amps;
        };
        match drive {
            Drive::Ampere(a, b) => push(a, b, 1.0),
            Drive::Own => {
                for step in ideal {
                    let source = &net.sources()[step.source];
                    let rise = if step.child == source.to {
                        source.volts
                    } else {
                        -source.volts
                    };
                    self.offset[step.child.at()] = self.offset[step.parent.at()] + rise;
                }
                let sources = net.sources().iter().zip(&self.parts.source_siemens);
                // A source shorted on itself drives nothing outside, and its large Norton current
                // would only cost digits.
                for (source, siemens) in sources.filter(|(s, _)| s.from != s.to) {
                    let driven =
                        source.volts + self.offset[source.from.at()] - self.offset[source.to.at()];
                    push(source.from, source.to, driven * siemens);
                }
                if !ideal.is_empty() {
                    for (branch, siemens) in net.branches().iter().zip(&self.parts.branch_siemens) {
                        let driven = self.offset[branch.from.at()] - self.offset[branch.to.at()];
                        push(branch.from, branch.to, driven * siemens);
                    }
                }
            }
        }
        self.solve();
    }

    /// Solves for a drive, down to the current of every part.
    fn respond(&mut self, net: &Network, drive: Drive) -> Response {
        self.node_volts(net, drive);
        let nodes = self.topology.unknown.iter().zip(&self.offset);
        let volts: Vec<f64> = nodes
            .map(|(&unknown, offset)| self.rhs[unknown as usize] + offset)
            .collect();
        let leaving = &mut self.leaving;
        leaving.clear();
        leaving.resize(volts.len(), 0.0);
        let across = |from: NodeId, to: NodeId| volts[from.at()] - volts[to.at()];
        let mut flow = |from: NodeId, to: NodeId, amps: f64| {
            leaving[from.at()] += amps;
            leaving[to.at()] -= amps;
            amps
        };
        let branches = net.branches().iter().zip(&self.parts.branch_siemens);
        let branch_amps = branches
            .map(|(b, siemens)| flow(b.from, b.to, across(b.from, b.to) * siemens))
            .collect();
        let own = drive == Drive::Own;
        let sources = net.sources().iter().zip(&self.parts.source_siemens);
        let source_amps = sources
            .map(|(s, siemens)| {
                let driving = if own { s.volts } else { 0.0 };
                flow(s.from, s.to, (driving + across(s.from, s.to)) * siemens)
            })
            .collect();
        if let Drive::Ampere(a, b) = drive {
            flow(a, b, 1.0);
        }
        let mut response = Response {
            volts,
            branch_amps,
            source_amps,
        };
        self.correct(net, &mut response);
        if !self.topology.ideal.is_empty() {
            self.carry(net, drive, &mut response);
        }
        response
    }

    /// One step of iterative refinement, on the currents as well as on the volts, from the amps `leaving` each node.
    ///
    /// A voltage near 12 V carries steps of 1.8e-15 V, which across a micro-ohm is 1.8e-9 A. The
    /// correction is small and so carries far finer steps; added to the currents directly it brings
    /// them to Kirchhoff's law whatever the resistance.
    fn correct(&mut self, net: &Network, response: &mut Response) {
        self.rhs.fill(0.0);
        for (&unknown, &amps) in self.topology.unknown.iter().zip(&self.leaving) {
            self.rhs[unknown as usize] -= amps;
        }
        self.solve();
        // The gathered currents are spent: their place takes each node's correction.
        let corrections = &mut self.leaving;
        let nodes = self.topology.unknown.iter().zip(corrections.iter_mut());
        for ((&unknown, correction), volts) in nodes.zip(&mut response.volts) {
            *correction = self.rhs[unknown as usize];
            *volts += *correction;
        }
        let across = |from: NodeId, to: NodeId| corrections[from.at()] - corrections[to.at()];
        let branches = net.branches().iter().zip(&self.parts.branch_siemens);
        for ((branch, siemens), amps) in branches.zip(&mut response.branch_amps) {
            *amps += across(branch.from, branch.to) * siemens;
        }
        let sources = net.sources().iter().zip(&self.parts.source_siemens);
        for ((source, siemens), amps) in sources.zip(&mut response.source_amps) {
            *amps += across(source.from, source.to) * siemens;
        }
    }

    /// The amps of ideal sources: each carries what all else that meets at its outer node leaves over.
    fn carry(&mut self, net: &Network, drive: Drive, response: &mut Response) {
        let leaving = &mut self.leaving;
        leaving.fill(0.0);
        let mut flow = |from: NodeId, to: NodeId, amps: f64| {
            leaving[from.at()] += amps;
            leaving[to.at()] -= amps;
        };
        for (branch, &amps) in net.branches().iter().zip(&response.branch_amps) {
            flow(branch.from, branch.to, amps);
        }
        let resistive = |(source, _): &(&Source, &f64)| source.ohms > 0.0;
        let sources = net.sources().iter().zip(&response.source_amps);
        for (source, &amps) in sources.filter(resistive) {
            flow(source.from, source.to, amps);
        }
        if let Drive::Ampere(a, b) = drive {
            flow(a, b, 1.0);
        }
        for step in self.topology.ideal.iter().rev() {
            let needed = self.leaving[step.child.at()];
            let source = &net.sources()[step.source];
            response.source_amps[step.source] = if step.child == source.to {
                needed
            } else {
                -needed
            };
            self.leaving[step.parent.at()] += needed;
        }
    }
}

/// Without leaving early: quicker so, as nearly always all are.
fn all_finite(values: &[f64]) -> bool {
    values.iter().fold(true, |all, v| all & v.is_finite())
}

fn not_finite(
    net: &Network,
    volts: &[f64],
    branch_amps: &[f64],
    source_amps: &[f64],
) -> CircuitError {
    let nodes = (0..).map(NodeId).zip(volts);
    let branches = net.branches().iter().map(|b| b.from).zip(branch_amps);
    let sources = net.sources().iter().map(|s| s.from).zip(source_amps);
    let mut all = nodes.chain(branches).chain(sources);
    let (node, &value) = all
        .find(|(_, value)| !value.is_finite())
        .unwrap_or((net.reference(), &f64::NAN));
    CircuitError::NotFinite { node, value }
}
