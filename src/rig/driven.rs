//! The pumps against the network of one set of switch positions.

use super::RigError;
use super::assemble::{Assembled, Scene, Switching, Winding, assemble};
use super::chatter::{Chatter, made_network};
use super::pair::{LiftState, Lifting, Pair};
use super::stage::Ripple;
use crate::circuit::{Port, Solution, Solver};
use crate::pump::{self, Demand, Hydraulics, OperatingPoint, PumpUnit, Supply};
use crate::vehicle::LiftPump;

/// What the network drives.
#[derive(Clone, Copy)]
pub(super) struct Driving {
    pub unit: PumpUnit,
    pub hydraulics: Hydraulics,
    pub demand: Demand,
    pub lift: Option<LiftPump>,
}

/// The network with the pump at its steady point.
pub(super) struct Driven {
    /// The network with the winding open; a lift pump stands in it as a resistance and a source.
    pub assembled: Assembled,
    /// How that network looks from the pump's terminals.
    pub port: Port,
    /// The square wave of a running driver module.
    pub ripple: Option<Ripple>,
    /// What the pump's motor sees.
    pub supply: Supply,
    /// The pump's steady point.
    pub point: OperatingPoint,
    /// The network with the pump at that point.
    pub solution: Solution,
    /// The lift pump of a vehicle with two.
    pub lift: Option<Lifting>,
}

/// Lets the network of a scene drive the pump.
pub(super) fn driven(
    solver: &mut Solver,
    scene: &Scene<'_>,
    driving: &Driving,
) -> Result<Driven, RigError> {
    let lift = match &driving.lift {
        Some(lift) => Some(Pair::seen(solver, scene, driving, lift)?.settle(driving, lift)?),
        None => None,
    };
    let scene = &beside(scene, lift.as_ref());
    let driving = &driving.brought(lift.as_ref());
    let assembled = assemble(scene, Winding::Open);
    let pump = &scene.vehicle.pump;
    let (port, ripple) = assembled.port(solver, pump.plus, pump.minus)?;
    let thevenin = port.thevenin();
    let supply = Supply {
        volts: thevenin.volts,
        ohms: thevenin.ohms,
    };
    let point = driving.point(&supply)?;
    let solution = if point.rad_s == 0.0 {
        // A motor at rest ties both terminals together even in a dead circuit.
        let (ohms, emf_v) = driving.unit.motor.at_rest(&supply, point.amps);
        assemble(scene, Winding::Frozen { ohms, emf_v }).solve(solver)?
    } else {
        port.loaded(point.amps)
    };
    Ok(Driven {
        assembled,
        port,
        ripple,
        supply,
        point,
        solution,
        lift,
    })
}

/// The same for a scene whose relays are thrown between two states; the solution is the mean of them.
pub(super) fn chattering(
    solver: &mut Solver,
    scene: &Scene<'_>,
    (made, broken): (&Switching, &Switching),
    driving: &Driving,
) -> Result<(Driven, Chatter), RigError> {
    let lift = match &driving.lift {
        Some(lift) => {
            let mut seen = |switching| {
                let thrown = Scene {
                    switching,
                    ..*scene
                };
                Pair::seen(solver, &thrown, driving, lift)
            };
            let (made, broken) = (seen(made)?, seen(broken)?);
            Some(made.mean(&broken).settle(driving, lift)?)
        }
        None => None,
    };
    let scene = &beside(scene, lift.as_ref());
    let driving = &driving.brought(lift.as_ref());
    let assembled = made_network(scene, made);
    let pump = &scene.vehicle.pump;
    let (port, _) = assembled.port(solver, pump.plus, pump.minus)?;
    let ohms = driving.unit.motor.ohms();
    let mut chatter = Chatter::new(scene, (made, broken), port.thevenin(), ohms);
    if let Some(lift) = &lift {
        chatter = chatter.beside_lift(lift.main_supply);
    }
    let supply = chatter.supply();
    let point = driving.point(&supply)?;
    let solution = chatter.mean(solver, point.amps)?;
    let driven = Driven {
        assembled,
        port,
        ripple: None,
        supply,
        point,
        solution,
        lift,
    };
    Ok((driven, chatter))
}

/// The scene with a lift pump held where it was found.
fn beside<'a>(scene: &Scene<'a>, lift: Option<&Lifting>) -> Scene<'a> {
    Scene {
        lift: lift.map_or(Winding::Open, |lift| lift.winding),
        ..*scene
    }
}

impl Driving {
    /// The main pump with what the lift pump brings it.
    fn brought(&self, lift: Option<&Lifting>) -> Driving {
        Driving {
            hydraulics: LiftState::feeds(lift.map(|lift| &lift.state), self.hydraulics),
            ..*self
        }
    }

    pub fn point(&self, supply: &Supply) -> Result<OperatingPoint, RigError> {
        Ok(pump::operating_point(
            &self.unit,
            &self.hydraulics,
            supply,
            &self.demand,
        )?)
    }
}
