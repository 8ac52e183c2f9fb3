//! The network as data.

/// Smallest resistance solved with, in ohms: smaller ones, zero included, are raised to it.
///
/// A millionth of an ohm drops 0.15 mV at 150 A, below the last digit of any handheld meter. Raise
/// it and short joints start to show; lower it and voltages, which carry about 16 digits, no longer
/// say what current flows through the branch.
pub const MIN_OHMS: f64 = 1e-6;

/// Largest resistance that still conducts, in ohms; anything above is an open circuit.
///
/// 12 V across it drive 1.2e-17 A, some 75 electrons a second. Lower it and insulation stops to
/// hold a node at its voltage.
pub const MAX_OHMS: f64 = 1e18;

/// A node of one network, numbered from 0 in the order added.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
pub struct NodeId(pub u32);

impl NodeId {
    pub(super) fn at(self) -> usize {
        self.0 as usize
    }
}

/// A resistance between two nodes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Branch {
    /// Current is counted from here...
    pub from: NodeId,
    /// ...to here.
    pub to: NodeId,
    /// Resistance in ohms, from 0 (solved as [`MIN_OHMS`]) to infinity (open; see [`MAX_OHMS`]).
    pub ohms: f64,
    /// The caller's part index; the solver only repeats it in errors.
    pub tag: u32,
}

/// A voltage source with a resistance in series.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Source {
    /// Negative end.
    pub from: NodeId,
    /// Positive end; the source's amps leave it into the network.
    pub to: NodeId,
    /// Volts of `to` minus `from` at no load.
    pub volts: f64,
    /// Resistance in series in ohms: 0 is an ideal source, infinity an open circuit, and what lies
    /// between 0 and [`MIN_OHMS`] is raised to that.
    pub ohms: f64,
    /// The caller's part index.
    pub tag: u32,
}

/// Conductance in siemens that a resistance is solved with; 0 for an open circuit.
pub(super) fn conductance(ohms: f64) -> f64 {
    if ohms > MAX_OHMS {
        0.0
    } else {
        1.0 / ohms.max(MIN_OHMS)
    }
}

/// Branches and sources between numbered nodes.
///
/// Cloning copies two short vectors of plain numbers, so a caller may attach an instrument to a
/// copy for each reading.
#[derive(Clone, Debug, PartialEq)]
pub struct Network {
    reference: NodeId,
    node_count: u32,
    branches: Vec<Branch>,
    sources: Vec<Source>,
}

impl Network {
    /// An empty network with nodes 0 up to and including `reference`, which stands at 0 V.
    #[must_use]
    pub fn new(reference: NodeId) -> Self {
        Self {
            reference,
            node_count: reference.0.saturating_add(1),
            branches: Vec::new(),
            sources: Vec::new(),
        }
    }

    /// Adds a node and returns its number.
    pub fn add_node(&mut self) -> NodeId {
        let node = NodeId(self.node_count);
        self.node_count += 1;
        node
    }

    /// Adds a resistance and returns its index. Values are checked when the network is solved.
    pub fn add_branch(&mut self, branch: Branch) -> usize {
        self.branches.push(branch);
        self.branches.len() - 1
    }

    /// Adds a voltage source and returns its index.
    pub fn add_source(&mut self, source: Source) -> usize {
        self.sources.push(source);
        self.sources.len() - 1
    }

    /// The node that stands at 0 V.
    #[must_use]
    pub fn reference(&self) -> NodeId {
        self.reference
    }

    /// Number of nodes, the reference included.
    #[must_use]
    pub fn node_count(&self) -> usize {
        self.node_count as usize
    }

    /// All resistances, in the order added.
    #[must_use]
    pub fn branches(&self) -> &[Branch] {
        &self.branches
    }

    /// All voltage sources, in the order added.
    #[must_use]
    pub fn sources(&self) -> &[Source] {
        &self.sources
    }

    /// A resistance to change.
    ///
    /// # Panics
    /// If there is no such index, which is a fault of the calling code.
    pub fn branch_mut(&mut self, index: usize) -> &mut Branch {
        &mut self.branches[index]
    }

    /// A voltage source to change.
    ///
    /// # Panics
    /// If there is no such index.
    pub fn source_mut(&mut self, index: usize) -> &mut Source {
        &mut self.sources[index]
    }
}
