//! The first seconds of the pump, for checks outside: the whole circuit with the moving motor as a deck, and our samples.

use std::fmt::Write as _;

use super::attach::Attachments;
use super::{LiftState, Rig, RigError};
use crate::circuit::{self, NodeId};
use crate::pump::{self, Rest, Trace};
use crate::vehicle::Key;

/// A start from rest, told twice.
pub struct StartUp {
    /// The circuit and the motor's moving analog; `None` where the analog does not reach (see
    /// [`pump::spice_motor`]), a driver module switches the pump, or nothing feeds it.
    pub deck: Option<String>,
    /// The same as we step it.
    pub trace: Trace,
}

impl Rig {
    /// Switches the key on from rest and runs the pump for `seconds`, nothing having warmed yet; samples every
    /// `sample_s`. The deck prints the motor's current and speed at the sample times.
    pub fn start_up(mut self, seconds: f64, sample_s: f64) -> Result<StartUp, RigError> {
        self.controls.key = Key::On;
        let settled = self.settle(true, &Attachments::none())?;
        let (unit, demand) = (self.unit_now(), self.demand());
        let lift = settled.lift_state();
        let hydraulics = LiftState::feeds(lift.as_ref(), self.hydraulics_now());
        let rest = Rest {
            rail_pa: self.rail_pa,
        };
        let trace = pump::prime(
            &unit,
            &hydraulics,
            &settled.supply,
            &demand,
            rest,
            seconds,
            sample_s,
        )?;
        let name = |node: NodeId| self.vehicle.nodes[node.0 as usize].name.clone();
        let title = format!("{}, start of the pump", self.vehicle.id);
        // A driver module's stage stands in a deck as sources frozen at one state, which a moving pump leaves.
        let fed_straight = settled.chatter.is_none() && settled.ripple.is_none();
        let driven = fed_straight && settled.port.joined();
        let starved = settled.point.starved || trace.samples.iter().any(|sample| sample.starved);
        let parts = circuit::spice_parts(&settled.assembled.net, &title, &name);
        let deck = parts.filter(|_| driven && !starved).and_then(|parts| {
            let at = |node: NodeId| parts.names[node.0 as usize].as_str();
            let ends = (at(self.vehicle.pump.plus), at(self.vehicle.pump.minus));
            let motor = pump::spice_motor(&unit, &hydraulics, &demand, rest, ends)?;
            let times = trace.samples.iter().skip(1).map(|sample| sample.t_s);
            Some(format!("{}{motor}{}", parts.text, commands(seconds, times)))
        });
        Ok(StartUp { deck, trace })
    }
}

/// Steps of at most a fiftieth of a millisecond, the trapezoidal rule, tight tolerances; every sample measured.
fn commands(seconds: f64, times: impl Iterator<Item = f64>) -> String {
    let mut text = format!(
        ".options reltol=1e-6 abstol=1e-9 vntol=1e-9 gmin=1e-15\n.control\nset numdgt=12\n\
         tran 2e-5 {seconds:e} 0 2e-5 uic\nif $sim_status ne 0\n  quit 3\nend\n"
    );
    for (number, at) in times.enumerate() {
        // Writing to a String never fails.
        let _ = writeln!(
            text,
            "meas tran amps{number} find i(vmot) at={at:e}\nmeas tran speed{number} find v(mot_w) at={at:e}"
        );
    }
    text.push_str("quit 0\n.endc\n.end\n");
    text
}
