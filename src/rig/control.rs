//! What a person can set on the vehicle: the key, the service tool, what is unplugged, what is bridged.

use std::collections::BTreeSet;

use crate::circuit::NodeId;
use crate::vehicle::{Key, PartId};

/// A wire laid between two points by hand, carrying whatever the circuit sends through it.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Jumper {
    /// One end.
    pub a: NodeId,
    /// The other end.
    pub b: NodeId,
    /// Resistance end to end, clips and fuse included, ohm.
    pub ohms: f64,
}

/// Everything set from outside; solving never changes it.
#[derive(Clone, PartialEq, Debug)]
pub struct Controls {
    /// Key position.
    pub key: Key,
    /// The service tool commands the pump on through the control unit.
    pub tool_commands_pump: bool,
    /// Connectors, fuses and relays taken out.
    pub unplugged: BTreeSet<PartId>,
    /// Wires laid by hand.
    pub jumper: Option<Jumper>,
    /// How hard the running engine works.
    pub load: EngineLoad,
}

impl Default for Controls {
    /// Key off, everything plugged in, nothing bridged.
    fn default() -> Controls {
        Controls {
            key: Key::Off,
            tool_commands_pump: false,
            unplugged: BTreeSet::new(),
            jumper: None,
            load: EngineLoad::Idle,
        }
    }
}

/// Operating states of the running engine that differ in fuel demand.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum EngineLoad {
    /// Warm idle.
    #[default]
    Idle,
    /// Steady road speed on the level.
    Cruise,
    /// Full load, as on a hill.
    Hill,
}
