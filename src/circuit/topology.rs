//! What depends only on which nodes are connected, not on any value: islands, shared unknowns,
//! order of elimination. Found once and kept until a connection changes.

use std::sync::Arc;

use crate::numeric::laplacian::Pattern;

use super::CircuitError;
use super::network::{MAX_OHMS, Network, NodeId};

/// Disjoint sets of nodes; the root of a set is its lowest node.
struct Sets(Vec<u32>);

impl Sets {
    fn new(nodes: u32) -> Self {
        Self((0..nodes).collect())
    }

    fn root(&mut self, node: u32) -> u32 {
        let mut at = node;
        while self.0[at as usize] != at {
            let above = self.0[self.0[at as usize] as usize];
            self.0[at as usize] = above;
            at = above;
        }
        at
    }

    /// Joins two sets; false if they were one already.
    fn join(&mut self, a: NodeId, b: NodeId) -> bool {
        let (a, b) = (self.root(a.0), self.root(b.0));
        self.0[a.max(b) as usize] = a.min(b);
        a != b
    }
}

/// Parts of a network between which no current can flow.
#[derive(Clone, Debug, Default)]
pub(super) struct Islands {
    /// Island of each node, numbered in the order of their lowest nodes.
    pub of_node: Arc<[u32]>,
    /// The node of each island that is held at 0 V.
    pub pinned: Vec<NodeId>,
    /// The island of the reference node.
    pub reference: u32,
}

impl Islands {
    /// Islands of a network, connected by whatever conducts: finite branches and sources.
    ///
    /// # Errors
    /// [`CircuitError::NoSuchNode`].
    pub fn find(net: &Network) -> Result<Self, CircuitError> {
        check_nodes(net)?;
        let mut sets = Sets::new(count(net));
        for branch in net.branches().iter().filter(|b| b.ohms <= MAX_OHMS) {
            sets.join(branch.from, branch.to);
        }
        for source in net.sources().iter().filter(|s| s.ohms <= MAX_OHMS) {
            sets.join(source.from, source.to);
        }
        let mut pinned = Vec::new();
        let mut of_node = vec![0; net.node_count()];
        for node in 0..count(net) {
            let root = sets.root(node);
            // The root is the lowest node of its set, so it has been numbered before the others.
            of_node[node as usize] = if root == node {
                pinned.push(NodeId(node));
                u32::try_from(pinned.len() - 1).unwrap_or(u32::MAX)
            } else {
                of_node[root as usize]
            };
        }
        let reference = of_node[net.reference().at()];
        pinned[reference as usize] = net.reference();
        Ok(Self {
            of_node: of_node.into(),
            pinned,
            reference,
        })
    }

    pub fn floating(&self, node: NodeId) -> bool {
        self.of_node[node.at()] != self.reference
    }
}

fn count(net: &Network) -> u32 {
    u32::try_from(net.node_count()).unwrap_or(u32::MAX)
}

fn check_nodes(net: &Network) -> Result<(), CircuitError> {
    let node_count = count(net);
    let ends = net.branches().iter().map(|b| (b.from, b.to));
    let ends = ends.chain(net.sources().iter().map(|s| (s.from, s.to)));
    for (from, to) in ends {
        if let Some(node) = [from, to].into_iter().find(|n| n.0 >= node_count) {
            return Err(CircuitError::NoSuchNode { node, node_count });
        }
    }
    Ok(())
}

/// One step along a tree of ideal sources, away from its root.
#[derive(Clone, Copy, Debug)]
pub(super) struct IdealStep {
    pub source: usize,
    pub parent: NodeId,
    pub child: NodeId,
}

/// A node whose voltage differs from that of the pinned node by known volts has no unknown.
const KNOWN: u32 = u32::MAX;

#[derive(Clone, Debug, Default)]
pub(super) struct Topology {
    pub islands: Islands,
    /// Position of each node's unknown in the order of elimination; for a node of known volts, the number of unknowns.
    pub unknown: Vec<u32>,
    pub pattern: Pattern,
    /// Slot in the equations of each branch's conductance.
    pub branch_slot: Vec<u32>,
    /// The same of each source.
    pub source_slot: Vec<u32>,
    /// Trees of ideal sources, each parent before its children.
    pub ideal: Vec<IdealStep>,
}

impl Topology {
    /// # Errors
    /// [`CircuitError::NoSuchNode`], [`CircuitError::IdealSourceLoop`].
    pub fn find(net: &Network) -> Result<Self, CircuitError> {
        let islands = Islands::find(net)?;
        let ideal = ideal_trees(net, &islands)?;
        let (mut unknown, unknowns) = number_unknowns(net, &islands, &ideal);

        let conducting = net
            .branches()
            .iter()
            .filter(|b| b.ohms <= MAX_OHMS)
            .map(|b| (b.from, b.to));
        let norton = net
            .sources()
            .iter()
            .filter(|s| s.ohms <= MAX_OHMS && s.ohms > 0.0)
            .map(|s| (s.from, s.to));
        let edges: Vec<(u32, u32)> = conducting
            .chain(norton)
            .map(|(a, b)| (unknown[a.at()], unknown[b.at()]))
            .filter(|&(a, b)| a != KNOWN && b != KNOWN && a != b)
            .collect();
        let pattern = Pattern::new(unknowns as usize, &edges);

        // What is open, or has both ends at one unknown, is in no equation.
        let slot = |from: NodeId, to: NodeId, conducts: bool| {
            narrow(match (unknown[from.at()], unknown[to.at()]) {
                (a, b) if !conducts || a == b => pattern.spare_slot(),
                (KNOWN, one) | (one, KNOWN) => pattern.slack_slot(one),
                (a, b) => pattern
                    .edge_slot(a, b)
                    .unwrap_or_else(|| pattern.spare_slot()),
            })
        };
        let branch_slot = net
            .branches()
            .iter()
            .map(|b| slot(b.from, b.to, b.ohms <= MAX_OHMS))
            .collect();
        let source_slot = net
            .sources()
            .iter()
            .map(|s| slot(s.from, s.to, s.ohms <= MAX_OHMS && s.ohms > 0.0))
            .collect();
        for at in &mut unknown {
            *at = narrow(if *at == KNOWN {
                pattern.len()
            } else {
                pattern.position(*at)
            });
        }
        Ok(Self {
            islands,
            unknown,
            pattern,
            branch_slot,
            source_slot,
            ideal,
        })
    }
}

/// Counts of a network in memory, far below 2^32.
#[allow(clippy::cast_possible_truncation)]
fn narrow(value: usize) -> u32 {
    value as u32
}

/// Trees of ideal sources, rooted at the pinned node where they reach it, else at their lowest node.
fn ideal_trees(net: &Network, islands: &Islands) -> Result<Vec<IdealStep>, CircuitError> {
    let is_ideal = |s: &super::Source| s.ohms == 0.0;
    if !net.sources().iter().any(is_ideal) {
        return Ok(Vec::new());
    }
    let mut sets = Sets::new(count(net));
    for (source_index, source) in net
        .sources()
        .iter()
        .enumerate()
        .filter(|(_, s)| is_ideal(s))
    {
        if !sets.join(source.from, source.to) {
            return Err(CircuitError::IdealSourceLoop {
                source_index,
                tag: source.tag,
            });
        }
    }
    let mut reached = vec![false; net.node_count()];
    for &pinned in &islands.pinned {
        reached[pinned.at()] = true;
    }
    let pinned_roots: Vec<u32> = islands.pinned.iter().map(|n| sets.root(n.0)).collect();
    for node in 0..count(net) {
        if sets.root(node) == node && !pinned_roots.contains(&node) {
            reached[node as usize] = true;
        }
    }
    let mut left: Vec<usize> = (0..net.sources().len())
        .filter(|&i| is_ideal(&net.sources()[i]))
        .collect();
    let mut steps = Vec::with_capacity(left.len());
    while !left.is_empty() {
        let before = left.len();
        left.retain(|&source| {
            let (from, to) = (net.sources()[source].from, net.sources()[source].to);
            let (parent, child) = if reached[from.at()] {
                (from, to)
            } else {
                (to, from)
            };
            if reached[parent.at()] {
                reached[child.at()] = true;
                steps.push(IdealStep {
                    source,
                    parent,
                    child,
                });
            }
            !reached[parent.at()]
        });
        debug_assert!(left.len() < before, "every tree of sources has a root");
        if left.len() == before {
            break;
        }
    }
    Ok(steps)
}

/// Gives each group of nodes joined by ideal sources one unknown; those of pinned nodes have none.
fn number_unknowns(net: &Network, islands: &Islands, ideal: &[IdealStep]) -> (Vec<u32>, u32) {
    const UNSET: u32 = u32::MAX - 1;
    let mut unknown = vec![UNSET; net.node_count()];
    for &pinned in &islands.pinned {
        unknown[pinned.at()] = KNOWN;
    }
    let mut is_child = vec![false; net.node_count()];
    for step in ideal {
        is_child[step.child.at()] = true;
    }
    let mut next = 0;
    for node in 0..net.node_count() {
        if unknown[node] == UNSET && !is_child[node] {
            unknown[node] = next;
            next += 1;
        }
    }
    for step in ideal {
        unknown[step.child.at()] = unknown[step.parent.at()];
    }
    (unknown, next)
}
