//! A relay that chatters, or a module that does what comes to the same: closing, it pulls its own coil's volts below release; open, they come back above pull-in.
//!
//! Such a circuit has no steady state, so what is told of it are means over the chatter. The contact is made for a
//! fixed share of the time: a mini relay lets go about 3 ms after its coil has too little, and pulls in about 7 ms
//! after it has enough again (relay makers' typical times, from memory), which is a buzz of some 100 Hz.
//!
//! The motor's inductance dies down in well under a millisecond and its inertia carries it across, so while the
//! contact is open no current flows and the back-EMF stands at its terminals; while it is made, the current is what
//! the loop allows against that back-EMF. The mean current is therefore that of a loop with its resistance divided by
//! the share, exactly as for a commutator with dead segments, and
//!
//! - a meter on volts or amps shows the mean of the two states, weighted by the share;
//! - a lamp flickers about the brightness of its mean volts;
//! - a current clamp shows the mean, and a screen behind it the pulses: current for 3 ms, none for 7;
//! - an ear hears the relay, and the pump at the speed of the mean current;
//! - joints and fuses warm by the root mean square of the two states.

use super::assemble::{Assembled, Scene, Switching, Winding, assemble};
use crate::circuit::{CircuitError, Solution, Solver, Thevenin};
use crate::pump::{Interrupted, Supply};
use crate::vehicle::Kind;

/// Share of the time for which a chattering contact is made: 3 ms of 10 ms.
pub const MADE_SHARE: f64 = 0.3;

/// The same as a contact before the motor.
pub const CHATTER: Interrupted = Interrupted {
    cycle_s: 10e-3,
    made: MADE_SHARE,
};

/// What throws a circuit to and fro.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Beat {
    /// A relay, which is heard.
    Relay,
    /// A driver module or the control unit, which locks out for want of volts and tries again: nothing clicks.
    Unit,
}

impl Beat {
    /// What differs between two states: a relay, if there is one.
    fn between(scene: &Scene<'_>, made: &Switching, broken: &Switching) -> Beat {
        let mut thrown = made.closed.symmetric_difference(&broken.closed);
        if thrown.any(|part| scene.vehicle.parts[part.0].kind == Kind::Relay) {
            Beat::Relay
        } else {
            Beat::Unit
        }
    }
}

/// The two states between which the circuit is thrown, with the winding in place.
pub(super) struct Chatter {
    /// What throws it.
    pub beat: Beat,
    made: Assembled,
    broken: Assembled,
    thevenin: Thevenin,
    motor_ohms: f64,
    /// What drives the mean current where a lift pump stands in the same circuit.
    beside_lift: Option<Supply>,
}

impl Chatter {
    /// The two states of a scene; `thevenin` is what the pump's terminals see while the contact is made.
    pub fn new(
        scene: &Scene<'_>,
        (made, broken): (&Switching, &Switching),
        thevenin: Thevenin,
        motor_ohms: f64,
    ) -> Chatter {
        let frozen = Winding::Frozen {
            ohms: motor_ohms,
            emf_v: 0.0,
        };
        let network = |switching| {
            assemble(
                &Scene {
                    switching,
                    ..*scene
                },
                frozen,
            )
        };
        Chatter {
            beat: Beat::between(scene, made, broken),
            made: network(made),
            broken: network(broken),
            thevenin,
            motor_ohms,
            beside_lift: None,
        }
    }

    /// The same beside a lift pump held at its EMF, through which a current runs in the broken state as well: `supply`
    /// is what drives the mean of both states.
    pub fn beside_lift(self, supply: Supply) -> Chatter {
        Chatter {
            beside_lift: Some(supply),
            ..self
        }
    }

    /// What drives the mean current.
    pub fn supply(&self) -> Supply {
        if let Some(supply) = self.beside_lift {
            return supply;
        }
        let whole = self.thevenin.ohms + self.motor_ohms;
        Supply {
            volts: self.thevenin.volts,
            ohms: whole / MADE_SHARE - self.motor_ohms,
        }
    }

    /// Means over the chatter while the motor's mean current is `amps`.
    pub fn mean(&self, solver: &mut Solver, amps: f64) -> Result<Solution, CircuitError> {
        let (made, broken) = self.states(solver, amps)?;
        Ok(made.mean(&broken, MADE_SHARE))
    }

    /// The circuit with the contact made and with it broken, while the motor's mean current is `amps`.
    pub fn states(
        &self,
        solver: &mut Solver,
        amps: f64,
    ) -> Result<(Solution, Solution), CircuitError> {
        let pulse = amps / MADE_SHARE;
        let emf_v = match self.beside_lift {
            Some(supply) if amps == 0.0 => supply.volts,
            Some(supply) => supply.volts - amps * (supply.ohms + self.motor_ohms),
            None => self.thevenin.volts_at(pulse) - pulse * self.motor_ohms,
        };
        let mut solve = |state: &Assembled| {
            let mut state = state.clone();
            // The winding comes last in a network, and its back-EMF last among the sources.
            let last = state.net.sources().len() - 1;
            state.net.source_mut(last).volts = emf_v;
            state.solve(solver)
        };
        Ok((solve(&self.made)?, solve(&self.broken)?))
    }
}

/// Of the states that follow each other for ever, the one that is most closed, and the one that is least. A control unit
/// that resets with the volts goes through states of its own between the two.
pub(super) fn extremes(cycle: &[Switching]) -> (Switching, Switching) {
    let closed = |s: &&Switching| s.closed.len() + usize::from(s.commanded) + usize::from(s.awake);
    let most = cycle.iter().max_by_key(closed);
    let least = cycle.iter().min_by_key(closed);
    // A cycle has at least one state.
    (
        most.cloned().unwrap_or_default(),
        least.cloned().unwrap_or_default(),
    )
}

/// The network of the made state, the winding left open.
pub(super) fn made_network(scene: &Scene<'_>, made: &Switching) -> Assembled {
    assemble(
        &Scene {
            switching: made,
            ..*scene
        },
        Winding::Open,
    )
}
