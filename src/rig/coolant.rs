//! The heat of a cooling circuit: what the engine gives, what radiator and heater take at a flow.
//!
//! Engine and coolant are one lump,
//!
//! ```text
//! C dT/dt = Q(load) - loss (T - air) - G(flow) (T - air)     G while the thermostat lets coolant to the radiator
//! ```
//!
//! A working thermostat holds its temperature as long as the radiator could take more than there is. `G` and what the
//! heater gives follow from the effectiveness of a counterflow exchanger (number of transfer units; Kays and London,
//! *Compact Heat Exchangers*, from memory). Half of an exchanger's resistance to heat at the rated flow is taken to
//! lie on the coolant's side, where it follows the 0.8th power of the flow (Dittus and Boelter, from memory); the half
//! is ours. Left out: the pump's own heat, the temperature's way round the circuit, boiling away.

use super::{Rig, RigError, Tap};
use crate::rig::Attachments;
use crate::vehicle::{Cooling, Key, PartId, ThermostatState};

/// Density times specific heat of water with antifreeze, half and half, hot, J/(m3 K): 1030 kg/m3 times 3.6 kJ/(kg K)
/// (handbook values, from memory).
const COOLANT_J_M3_K: f64 = 1030.0 * 3600.0;

/// What a counterflow exchanger hands over for a degree between its two inlets, W/K, from its own conductance and what
/// its two streams carry for a degree.
pub(super) fn handed_over(conductance: f64, hot_w_k: f64, cold_w_k: f64) -> f64 {
    let (least, most) = (hot_w_k.min(cold_w_k), hot_w_k.max(cold_w_k));
    if least <= 0.0 || conductance <= 0.0 {
        return 0.0;
    }
    let (ratio, units) = (least / most, conductance / least);
    let effectiveness = if 1.0 - ratio < 1e-9 {
        units / (1.0 + units)
    } else {
        let left = libm::exp(-units * (1.0 - ratio));
        (1.0 - left) / (1.0 - ratio * left)
    };
    effectiveness * least
}

/// Conductance of an exchanger at a share of the flow it is rated for.
fn conductance(rated: f64, share: f64) -> f64 {
    if share <= 0.0 {
        return 0.0;
    }
    2.0 * rated / (1.0 + libm::pow(share, -0.8))
}

/// How the circuit stands while heat flows.
#[derive(Clone, Copy, Debug)]
pub(super) struct Round {
    /// Coolant flow, m3/s.
    pub flow_m3_s: f64,
    /// What the engine does: idle, cruise, hill; nothing while it is off.
    pub load: Option<usize>,
    /// The thermostat.
    pub thermostat: ThermostatState,
    /// Air, degrees Celsius.
    pub air_c: f64,
}

/// Coolant temperature `seconds` after it was `from_c`, degrees Celsius: pieces of exponentials, exact at a steady flow.
pub(super) fn after(cooling: &Cooling, round: &Round, from_c: f64, seconds: f64) -> f64 {
    let heat_w = round.load.map_or(0.0, |load| cooling.heat_w[load]);
    let air_w_k = cooling.air_w_k[round.load.unwrap_or(0)];
    let share = round.flow_m3_s / cooling.rated_m3_s;
    let radiator = if round.load.is_some() {
        let hot_w_k = COOLANT_J_M3_K * round.flow_m3_s * (1.0 - cooling.heater_share);
        handed_over(conductance(cooling.radiator_w_k, share), hot_w_k, air_w_k)
    } else {
        // Neither fan nor road: what still air takes is in the loss.
        0.0
    };
    let towards = |from: f64, taken_w_k: f64, seconds: f64| {
        let end = round.air_c + heat_w / taken_w_k;
        end + (from - end) * libm::exp(-seconds * taken_w_k / cooling.holds_j_k)
    };
    let (shut, open) = (cooling.loss_w_k, cooling.loss_w_k + radiator);
    let end_c = match round.thermostat {
        ThermostatState::Shut => towards(from_c, shut, seconds),
        ThermostatState::Open => towards(from_c, open, seconds),
        ThermostatState::Works => {
            let held = cooling.opens_c;
            // Above its temperature the radiator takes what it can, below it nothing, each until the other begins.
            let first = if from_c > held { open } else { shut };
            let c = towards(from_c, first, seconds);
            let crossed = (from_c > held) != (c > held) && from_c != held;
            let falls = round.air_c + heat_w / shut < held;
            let climbs = round.air_c + heat_w / open > held;
            if from_c == held || crossed {
                // How long it took to get there.
                let end = round.air_c + heat_w / first;
                let spent = if from_c == held {
                    0.0
                } else {
                    cooling.holds_j_k / first * libm::log((from_c - end) / (held - end))
                };
                let left = (seconds - spent).max(0.0);
                if climbs {
                    towards(held, open, left)
                } else if falls {
                    towards(held, shut, left)
                } else {
                    held
                }
            } else {
                c
            }
        }
    };
    end_c.min(cooling.boils_c)
}

/// Air from the heater, degrees Celsius.
pub(super) fn heater_c(cooling: &Cooling, flow_m3_s: f64, coolant_c: f64, air_c: f64) -> f64 {
    let hot_w_k = COOLANT_J_M3_K * flow_m3_s * cooling.heater_share;
    let own = conductance(cooling.heater_w_k, flow_m3_s / cooling.rated_m3_s);
    let given = handed_over(own, hot_w_k, cooling.heater_air_w_k);
    air_c + (coolant_c - air_c) * given / cooling.heater_air_w_k
}

impl Rig {
    /// How a cooling circuit stands at a flow.
    pub(super) fn round(&self, flow_m3_s: f64) -> Round {
        Round {
            flow_m3_s,
            load: (self.controls.key == Key::Run).then_some(self.controls.load as usize),
            thermostat: self.build.thermostat,
            air_c: self.conditions.ambient_c,
        }
    }

    /// Where the needle of a temperature gauge stands, degrees Celsius; nothing for another part, or without ignition.
    pub fn temperature_gauge(&mut self, part: PartId) -> Result<Option<f64>, RigError> {
        let Some(cooling) = self.vehicle.cooling else {
            return Ok(None);
        };
        if part != cooling.gauge {
            return Ok(None);
        }
        let found = self.vehicle.elements_of(part).next();
        let Some((from, to)) = found.map(|(_, element)| (element.from, element.to)) else {
            return Ok(None);
        };
        let instant = self.now(&Attachments::none())?;
        let fed = instant
            .across(Tap::Node(from), Tap::Node(to))
            .is_some_and(|volts| volts > 6.0);
        Ok(fed.then(|| self.medium_c()))
    }
}
