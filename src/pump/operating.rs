//! The settled operating point: electrical, mechanical and hydraulic equations at once.
//!
//! # Why there is exactly one with full chambers
//! Take the rail pressure x as the unknown. Everything the rail lets out (injectors, leaks, regulator)
//! rises with x, so the line flow does; so does the hose pressure (x plus the drop of that flow), hence
//! what a split hose, a regulator in the tank and the relief valve take; hence the strainer's flow S and
//! its depression, and so the pressure rise dP across the element. Speed follows as w = (S + c dP)/D and
//! load torque as T = dry + b w + D dP: both rise with x. So they do with a centrifugal element, whose speed follows from
//! its flow q = S + g p and dP by a w^2 - b w q = dP + c q^2, and its torque from k w^2 + (a + s) w q. What is left of the supply,
//!
//! f(x) = V - brush - Ke w(x) - R T(x)/Ke    (volts),
//!
//! therefore falls, strictly because c > 0 (or a is finite), from V - brush - R dry/Ke at "nothing turns" to below zero
//! at the dead-head pressure (for a centrifugal element that of one without a leak, which is higher): one root, in a bracket known beforehand. What happens if x draws more
//! than the strainer passes stands with `Starving`.
//!
//! To the left of zero x stands for the chamber pressure while the check valve is not yet open.

use super::check::check;
use super::hydraulic::{Demand, Hydraulics};
use super::load::Load;
use super::starving::{Drive, Starving, Working, root};
use super::{Element, ElementKind, Impeller, LIMITS, PumpError, PumpUnit, Supply};

/// Everything at rest or turning steadily.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct OperatingPoint {
    /// Mean motor current, A; signed like the supply.
    pub amps: f64,
    /// Speed, rad/s; negative backwards.
    pub rad_s: f64,
    /// Mean volts across the pump's terminals.
    pub terminal_volts: f64,
    /// Back-EMF, V.
    pub back_emf_v: f64,
    /// Shaft torque of the magnetic field, N m: Ke times the current.
    pub torque_nm: f64,
    /// Part of it that dry and viscous friction take while turning, N m.
    pub friction_nm: f64,
    /// Part of it that the fuel takes, N m.
    pub hydraulic_nm: f64,
    /// Pressure rise across the element, Pa.
    pub rise_pa: f64,
    /// Pressure behind the check valve, Pa.
    pub outlet_pa: f64,
    /// Pressure in the rail, Pa.
    pub rail_pa: f64,
    /// Flow through the pump's outlet, m3/s.
    pub delivered_m3_s: f64,
    /// Flow through the pressure regulator, m3/s.
    pub return_m3_s: f64,
    /// Flow at the end of a line that runs into a can, m3/s.
    pub can_m3_s: f64,
    /// Flow the engine's injectors take, m3/s.
    pub injectors_m3_s: f64,
    /// Flow past the injectors' seats, m3/s.
    pub injector_leak_m3_s: f64,
    /// Flow out of a split hose, m3/s.
    pub hose_leak_m3_s: f64,
    /// Flow through the pump's relief valve, m3/s.
    pub relief_m3_s: f64,
    /// Flow back through the element's clearances, m3/s.
    pub slip_m3_s: f64,
    /// Strainer or tank limit the flow; the element is partly filled with vapour or air.
    pub starved: bool,
    /// A supply is there, but the motor does not turn.
    pub stalled: bool,
    /// Evaluations of the equations it took.
    pub evaluations: u32,
}

/// Finds the settled operating point, starting from rest with an empty rail.
///
/// With nothing flowing any pressure a healthy check valve once caught could stay; the point returned is
/// the one the pump itself brings about. A reversed supply turns the motor backwards against dry and
/// viscous friction only, and nothing is delivered.
///
/// # Errors
/// [`PumpError::Parameter`] or [`PumpError::Signed`] for meaningless parameters,
/// [`PumpError::NoOperatingPoint`] if values near the end of the number range defeat the root finder.
pub fn operating_point(
    unit: &PumpUnit,
    hydraulics: &Hydraulics,
    supply: &Supply,
    demand: &Demand,
) -> Result<OperatingPoint, PumpError> {
    check(unit, hydraulics, supply, demand)?;
    let motor = &unit.motor;
    let ohms = motor.loop_ohms(supply);
    let sign = if supply.volts < 0.0 { -1.0 } else { 1.0 };
    let drive = Drive {
        ke: motor.ke,
        ohms,
        dry_nm: motor.dry_nm,
        viscous_nm_s: motor.viscous_nm_s,
        volts: supply.volts.abs() - motor.brush_volts - ohms * motor.dry_nm / motor.ke,
    };
    let stall_amps = motor.stall_amps(supply);
    let stays = stall_amps == 0.0 || motor.stays_on_film(stall_amps);
    let held = motor.seized || stays || motor.ke < LIMITS.ke;
    if held || drive.volts <= 0.0 {
        let amps = stall_amps;
        return Ok(OperatingPoint {
            amps,
            torque_nm: motor.ke * amps,
            terminal_volts: terminal_volts(supply, amps, 0.0),
            stalled: supply.volts != 0.0,
            ..OperatingPoint::default()
        });
    }
    let dry = hydraulics.strainer_limit() == 0.0;
    if sign < 0.0 || dry || unit.element.is_missing() {
        let rad_s = drive.volts / drive.volts_per_speed();
        let friction_nm = drive.dry_nm + drive.viscous_nm_s * rad_s;
        return Ok(turning(
            &drive,
            supply,
            sign,
            rad_s,
            friction_nm,
            0.0,
            OperatingPoint {
                starved: dry,
                ..OperatingPoint::default()
            },
        ));
    }
    settle(unit, hydraulics, supply, demand, &drive)
}

fn terminal_volts(supply: &Supply, amps: f64, back_emf_v: f64) -> f64 {
    if amps == 0.0 && supply.ohms >= LIMITS.closed {
        back_emf_v
    } else {
        supply.volts - amps * supply.ohms
    }
}

/// Completes a point at which the motor turns.
fn turning(
    drive: &Drive,
    supply: &Supply,
    sign: f64,
    rad_s: f64,
    friction_nm: f64,
    hydraulic_nm: f64,
    rest: OperatingPoint,
) -> OperatingPoint {
    let torque_nm = friction_nm + hydraulic_nm;
    let amps = sign * torque_nm / drive.ke;
    let back_emf_v = sign * drive.ke * rad_s;
    OperatingPoint {
        amps,
        rad_s: sign * rad_s,
        terminal_volts: terminal_volts(supply, amps, back_emf_v),
        back_emf_v,
        torque_nm: sign * torque_nm,
        friction_nm,
        hydraulic_nm,
        ..rest
    }
}

/// The point of a motor that turns forward and has fuel to pump.
fn settle(
    unit: &PumpUnit,
    hydraulics: &Hydraulics,
    supply: &Supply,
    demand: &Demand,
    drive: &Drive,
) -> Result<OperatingPoint, PumpError> {
    let element = &unit.element;
    let strainer = hydraulics.strainer_pa_s2_m6;
    let taken = Taken::by(element, drive);
    let mut evaluations = 0;
    let mut balance = |x: f64| {
        evaluations += 1;
        let load = Load::at(hydraulics, demand, x);
        let rise = load.chamber_pa + strainer * load.drawn * load.drawn;
        // A steep part of the curve may overflow; the sign is what counts there.
        taken
            .left(load.drawn, load.chamber_pa, rise)
            .max(-LIMITS.closed)
    };
    let crack = hydraulics.check_valve.crack_pa;
    let dead_head = taken.highest_pa() - crack;
    let nothing_drawn = || Load::at(hydraulics, demand, dead_head).drawn == 0.0;
    let x = if matches!(taken, Taken::Swept { .. }) && nothing_drawn() {
        dead_head
    } else {
        let (mut lo, mut hi) = (-crack, dead_head);
        if let Some(knee) = hydraulics
            .regulator_knee(demand)
            .filter(|knee| (lo..hi).contains(knee))
        {
            let left = balance(knee);
            if left > 0.0 {
                lo = knee;
                // Everything but the regulator only adds to this slope, so the line from the knee ends
                // beyond the root, unless the regulator is wide open there. A wheel has no such slope.
                let slope = taken.slope(hydraulics.regulator_slope());
                let guess = knee + left / slope;
                if guess < hi && balance(guess) <= 0.0 {
                    hi = guess;
                }
            } else {
                hi = knee;
            }
        }
        if lo < hi {
            root(&mut balance, lo, hi)?
        } else {
            hi
        }
    };
    let unstarved = Load::at(hydraulics, demand, x);
    let rise = unstarved.chamber_pa + strainer * unstarved.drawn * unstarved.drawn;
    let (rad_s, hydraulic_nm) = element.working(unstarved.drawn, unstarved.chamber_pa, rise);
    let filled = Working {
        rise_pa: rise,
        rad_s,
        hydraulic_nm,
        starved: false,
        load: unstarved,
    };
    let starving = Starving {
        unit,
        hydraulics,
        demand,
        drive,
        limit: hydraulics.strainer_limit(),
    };
    let point = starving
        .instead_of(x, &filled, &mut evaluations)?
        .unwrap_or(filled);
    let Working {
        rise_pa,
        rad_s,
        hydraulic_nm,
        starved,
        load,
    } = point;
    let slip_m3_s = element.slip(load.chamber_pa, rise_pa);
    let friction_nm = drive.dry_nm + drive.viscous_nm_s * rad_s;
    Ok(turning(
        drive,
        supply,
        1.0,
        rad_s,
        friction_nm,
        hydraulic_nm,
        OperatingPoint {
            rise_pa,
            outlet_pa: load.outlet_pa,
            rail_pa: load.rail_pa,
            delivered_m3_s: load.delivered,
            return_m3_s: load.regulator,
            can_m3_s: load.can,
            injectors_m3_s: load.injectors.asked,
            injector_leak_m3_s: load.injectors.leak,
            hose_leak_m3_s: load.hose_leak,
            relief_m3_s: load.relief,
            slip_m3_s,
            starved,
            evaluations: evaluations + 3,
            ..OperatingPoint::default()
        },
    ))
}

/// The volts that turning and pumping take.
enum Taken<'a> {
    /// In proportion to the flow that is moved and the rise.
    Swept {
        volts: f64,
        slip: f64,
        per_flow: f64,
        per_pa: f64,
    },
    /// By the speed and the torque of a wheel.
    Wheel {
        drive: &'a Drive,
        element: &'a Element,
        wheel: &'a Impeller,
    },
}

impl<'a> Taken<'a> {
    fn by(element: &'a Element, drive: &'a Drive) -> Self {
        if let ElementKind::Centrifugal(wheel) = &element.kind {
            return Taken::Wheel {
                drive,
                element,
                wheel,
            };
        }
        let swept = element.displacement_m3_rad;
        Taken::Swept {
            volts: drive.volts,
            slip: element.leak(),
            per_flow: drive.volts_per_speed() / swept,
            per_pa: drive.ohms * swept / drive.ke,
        }
    }

    /// What is left of the supply at a flow drawn, a chamber pressure and a rise, V.
    fn left(&self, drawn: f64, chamber_pa: f64, rise: f64) -> f64 {
        match self {
            Taken::Swept {
                volts,
                slip,
                per_flow,
                per_pa,
            } => volts - per_flow * (drawn + slip * rise) - per_pa * rise,
            Taken::Wheel { drive, element, .. } => {
                let (rad_s, torque) = element.working(drawn, chamber_pa, rise);
                drive.volts - drive.volts_per_speed() * rad_s - drive.ohms / drive.ke * torque
            }
        }
    }

    /// A chamber pressure that no settled point exceeds, Pa; for a swept volume that at which nothing is drawn.
    fn highest_pa(&self) -> f64 {
        match self {
            Taken::Swept {
                volts,
                slip,
                per_flow,
                per_pa,
            } => volts / (per_flow * slip + per_pa),
            Taken::Wheel { drive, wheel, .. } => {
                // With no flow through the wheel, not even its leak: volts = (per speed) w + (per N m) k w^2.
                let per_speed = drive.volts_per_speed();
                let disc = drive.ohms / drive.ke * wheel.disc_nm_s2;
                let root = (per_speed * per_speed + 4.0 * disc * drive.volts).sqrt();
                let rad_s = 2.0 * drive.volts / (per_speed + root);
                wheel.head_pa_s2 * rad_s * rad_s
            }
        }
    }

    /// Least volts per Pa on a regulator of that slope; none is known for a wheel.
    fn slope(&self, regulator_slope: f64) -> f64 {
        match self {
            Taken::Swept {
                slip,
                per_flow,
                per_pa,
                ..
            } => per_flow * (1.0 / regulator_slope + slip) + per_pa,
            Taken::Wheel { .. } => 0.0,
        }
    }
}
