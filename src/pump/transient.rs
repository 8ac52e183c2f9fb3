//! Motor current, speed and two pressures through time.
//!
//! L di/dt = V - Ke w - R i - brush, J dw/dt = Ke i - dry - b w - T(w, p), and for hose and rail
//! C dp/dt = what flows in less what flows out. Time constants run from tenths of a millisecond (L/R) to
//! the length of the prime, so a stiff method steps them. Brush drop and dry friction oppose only what is
//! there: a current or speed that passes zero stops at zero first.

use crate::numeric::Rodas3;

use super::chamber::{Chamber, chamber};
use super::check::{check, signed};
use super::hydraulic::{Demand, Hydraulics};
use super::motor::net_drive;
use super::{LIMITS, PumpError, PumpUnit, Supply};

/// The pump at rest with pressure held in hose and rail.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Rest {
    /// Pressure held from before, Pa.
    pub rail_pa: f64,
}

/// A moment from which a transient starts, and in which it ends.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Motion {
    /// Motor current, A.
    pub amps: f64,
    /// Speed, rad/s.
    pub rad_s: f64,
    /// Pressure behind the check valve, Pa.
    pub outlet_pa: f64,
    /// Pressure in the rail, Pa.
    pub rail_pa: f64,
}

impl From<Rest> for Motion {
    fn from(rest: Rest) -> Self {
        Self {
            outlet_pa: rest.rail_pa,
            rail_pa: rest.rail_pa,
            ..Self::default()
        }
    }
}

/// One moment of a transient.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Sample {
    /// Time since the supply came, s.
    pub t_s: f64,
    /// Motor current (mean over the commutation), A.
    pub amps: f64,
    /// Speed, rad/s.
    pub rad_s: f64,
    /// Pressure in the rail, Pa.
    pub rail_pa: f64,
    /// Pressure behind the check valve, Pa.
    pub outlet_pa: f64,
    /// Flow through the pump's outlet, m3/s; negative is leakage back through the check valve.
    pub delivered_m3_s: f64,
    /// Strainer or tank limit the flow.
    pub starved: bool,
}

/// A transient and what it took.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Trace {
    /// Samples at even intervals, with the first and the last moment.
    pub samples: Vec<Sample>,
    /// The moment of the largest current, from the steps themselves.
    pub peak: Sample,
    /// State at the end, from which another transient can go on.
    pub end: Motion,
    /// Steps taken.
    pub steps: u32,
    /// Steps tried and not taken.
    pub rejected: u32,
    /// Evaluations of the equations.
    pub evaluations: u32,
}

/// Accuracy of the time-stepping, which is finer than any instrument of the simulator shows.
struct Accuracy {
    /// Local error allowed relative to the state.
    relative: f64,
    /// Local error allowed besides: A, rad/s, Pa, Pa.
    absolute: [f64; 4],
    /// First step, s.
    first_s: f64,
    /// A step this short is taken whatever its error: it stands at a corner of some valve's law.
    shortest_s: f64,
    /// Steps before giving up.
    steps: u32,
    /// Most samples of one trace.
    samples: f64,
}

const ACCURACY: Accuracy = Accuracy {
    relative: 1e-6,
    absolute: [1e-5, 1e-3, 1.0, 1.0],
    first_s: 1e-6,
    shortest_s: 1e-8,
    steps: 50_000,
    samples: 1e7,
};

const AMPS: usize = 0;
const RAD_S: usize = 1;
const OUTLET_PA: usize = 2;
const RAIL_PA: usize = 3;

type State = [f64; 4];

/// The equations with everything that stays constant.
struct System<'a> {
    unit: &'a PumpUnit,
    hydraulics: &'a Hydraulics,
    demand: &'a Demand,
    volts: f64,
    ohms: f64,
    inductance: f64,
    inertia: f64,
    hose_compliance: f64,
    rail_compliance: f64,
    /// No current can flow.
    open: bool,
    /// The current that trickles through the film under the brushes of a motor that it leaves at rest, A.
    trickle: Option<f64>,
    evaluations: u32,
}

/// What the fuel does at one speed and two pressures.
#[derive(Clone, Copy)]
struct Fuel {
    chamber: Chamber,
    hose_rate: f64,
    rail_rate: f64,
}

impl System<'_> {
    fn fuel(&mut self, rad_s: f64, outlet_pa: f64, rail_pa: f64) -> Fuel {
        self.evaluations += 1;
        let (outlet, rail) = (outlet_pa.max(0.0), rail_pa.max(0.0));
        let hydraulics = self.hydraulics;
        let chamber = chamber(&self.unit.element, hydraulics, rad_s, outlet);
        let line = hydraulics.line_flow(outlet - rail);
        let hose = chamber.delivered
            - hydraulics.hose_leak(outlet)
            - hydraulics.tank_regulator(outlet)
            - line;
        let into_can = hydraulics.line_ends_free(self.demand);
        let injectors = hydraulics.injector_flow(self.demand, rail);
        let rail =
            line - hydraulics.rail_regulator(self.demand, rail) - injectors.asked - injectors.leak;
        Fuel {
            chamber,
            hose_rate: hose / self.hose_compliance,
            rail_rate: if into_can {
                0.0
            } else {
                rail / self.rail_compliance
            },
        }
    }

    fn rates(&mut self, y: &State) -> State {
        let fuel = self.fuel(y[RAD_S], y[OUTLET_PA], y[RAIL_PA]);
        self.with_fuel(y, &fuel)
    }

    fn with_fuel(&self, y: &State, fuel: &Fuel) -> State {
        let motor = &self.unit.motor;
        let volts = self.volts - motor.ke * y[RAD_S] - self.ohms * y[AMPS];
        let amps = if self.open || self.trickle.is_some() {
            0.0
        } else {
            net_drive(volts, motor.brush_volts, y[AMPS]) / self.inductance
        };
        let torque = motor.ke * y[AMPS] - fuel.chamber.torque - motor.viscous_nm_s * y[RAD_S];
        let rad_s = if motor.seized || self.trickle.is_some() {
            0.0
        } else {
            net_drive(torque, motor.dry_nm, y[RAD_S]) / self.inertia
        };
        [amps, rad_s, fuel.hose_rate, fuel.rail_rate]
    }

    /// Derivative of the rates: the motor's part exactly, the fuel's by forward differences.
    fn jacobian(&mut self, y: &State, f: &State, fuel: &Fuel) -> [State; 4] {
        let motor = self.unit.motor;
        let mut j = [[0.0; 4]; 4];
        // A quantity held at zero by friction, brushes or an open circuit stays there for a small change.
        let flows = !self.open && self.trickle.is_none();
        if flows && (y[AMPS] != 0.0 || f[AMPS] != 0.0) {
            j[AMPS][AMPS] = -self.ohms / self.inductance;
            j[AMPS][RAD_S] = -motor.ke / self.inductance;
        }
        let stuck = motor.seized || self.trickle.is_some();
        let turns = !stuck && (y[RAD_S] != 0.0 || f[RAD_S] != 0.0);
        if turns {
            j[RAD_S][AMPS] = motor.ke / self.inertia;
            j[RAD_S][RAD_S] = -motor.viscous_nm_s / self.inertia;
        }
        for column in [RAD_S, OUTLET_PA, RAIL_PA] {
            let step = 1e-6 * (y[column].abs() + 1e3 * ACCURACY.absolute[column]);
            let mut moved = *y;
            moved[column] += step;
            let there = self.fuel(moved[RAD_S], moved[OUTLET_PA], moved[RAIL_PA]);
            if turns {
                j[RAD_S][column] -=
                    (there.chamber.torque - fuel.chamber.torque) / (step * self.inertia);
            }
            j[OUTLET_PA][column] = (there.hose_rate - fuel.hose_rate) / step;
            j[RAIL_PA][column] = (there.rail_rate - fuel.rail_rate) / step;
        }
        j
    }

    /// A state with everything at zero that must be: a current or speed that changed sign stands still
    /// first, pressures never fall below zero, and what is held stays.
    fn held(&self, before: &State, mut after: State) -> State {
        for n in [AMPS, RAD_S] {
            if before[n] * after[n] < 0.0 {
                after[n] = 0.0;
            }
        }
        for n in [OUTLET_PA, RAIL_PA] {
            after[n] = after[n].max(0.0);
        }
        if self.open {
            after[AMPS] = 0.0;
        }
        if let Some(amps) = self.trickle {
            after[AMPS] = amps;
        }
        if self.unit.motor.seized {
            after[RAD_S] = 0.0;
        }
        if self.hydraulics.line_ends_free(self.demand) {
            after[RAIL_PA] = 0.0;
        }
        after
    }

    fn sample(&mut self, t_s: f64, y: &State) -> Sample {
        let (outlet_pa, rail_pa) = (y[OUTLET_PA].max(0.0), y[RAIL_PA].max(0.0));
        let chamber = self.fuel(y[RAD_S], outlet_pa, rail_pa).chamber;
        Sample {
            t_s,
            amps: y[AMPS],
            rad_s: y[RAD_S],
            rail_pa,
            outlet_pa,
            delivered_m3_s: chamber.delivered,
            starved: chamber.starved,
        }
    }
}

/// Runs the pump from rest for `seconds` and samples every `sample_s`.
///
/// # Errors
/// As [`transient`].
pub fn prime(
    unit: &PumpUnit,
    hydraulics: &Hydraulics,
    supply: &Supply,
    demand: &Demand,
    start: Rest,
    seconds: f64,
    sample_s: f64,
) -> Result<Trace, PumpError> {
    transient(
        unit,
        hydraulics,
        supply,
        demand,
        Motion::from(start),
        seconds,
        sample_s,
    )
}

/// Steps from any moment: spin-up, spin-down (supply of infinite ohms), leak-down, change of demand.
///
/// # Errors
/// [`PumpError::Parameter`] or [`PumpError::Signed`] for meaningless values,
/// [`PumpError::NoTransient`] if the steps run out.
pub fn transient(
    unit: &PumpUnit,
    hydraulics: &Hydraulics,
    supply: &Supply,
    demand: &Demand,
    from: Motion,
    seconds: f64,
    sample_s: f64,
) -> Result<Trace, PumpError> {
    check(unit, hydraulics, supply, demand)?;
    for (name, value) in [
        ("amps", from.amps),
        ("rad_s", from.rad_s),
        ("outlet_pa", from.outlet_pa),
        ("rail_pa", from.rail_pa),
    ] {
        signed(name, value)?;
    }
    if !(0.0..=1e6).contains(&seconds) {
        return Err(PumpError::Parameter {
            name: "seconds",
            value: seconds,
            may_be_infinite: false,
        });
    }
    if !(sample_s > 0.0 && seconds / sample_s <= ACCURACY.samples) {
        return Err(PumpError::Parameter {
            name: "sample_s",
            value: sample_s,
            may_be_infinite: false,
        });
    }
    let motor = &unit.motor;
    let ohms = motor.loop_ohms(supply);
    let mut system = System {
        unit,
        hydraulics,
        demand,
        volts: supply.volts,
        ohms,
        inductance: motor
            .inductance_h
            .max(LIMITS.electrical_s * ohms.min(LIMITS.closed)),
        inertia: motor.inertia_kg_m2.max(LIMITS.inertia_kg_m2),
        hose_compliance: hydraulics
            .hose_compliance_m3_pa
            .max(LIMITS.compliance_m3_pa),
        rail_compliance: hydraulics.compliance_m3_pa.max(LIMITS.compliance_m3_pa),
        open: ohms >= LIMITS.closed || (motor.rests_open() && from.rad_s == 0.0),
        trickle: Some(motor.stall_amps(supply))
            .filter(|&amps| from.rad_s == 0.0 && motor.stays_on_film(amps)),
        evaluations: 0,
    };
    let y = [from.amps, from.rad_s, from.outlet_pa, from.rail_pa];
    let y = system.held(&y, y);
    run(&mut system, y, seconds, sample_s)
}

fn run(
    system: &mut System<'_>,
    mut y: State,
    seconds: f64,
    sample_s: f64,
) -> Result<Trace, PumpError> {
    let mut stepper = Rodas3::default();
    let mut trace = Trace::default();
    let first = system.sample(0.0, &y);
    trace.samples.push(first);
    trace.peak = first;
    let mut fuel = system.fuel(y[RAD_S], y[OUTLET_PA], y[RAIL_PA]);
    let mut f = system.with_fuel(&y, &fuel);
    let (mut t, mut h) = (0.0, ACCURACY.first_s);
    let mut next = 1_u32;
    while t < seconds {
        let last = h >= seconds - t;
        if last {
            h = seconds - t;
        }
        if trace.steps + trace.rejected >= ACCURACY.steps {
            let reason = format!("the step fell to {h} s");
            return Err(PumpError::NoTransient {
                t_s: t,
                steps: trace.steps,
                reason,
            });
        }
        let jacobian = system.jacobian(&y, &f, &fuel);
        let step = stepper.step(&y, &f, &jacobian, h, |y| system.rates(y));
        let error = step
            .as_ref()
            .map_or(f64::INFINITY, |step| error_norm(&y, &step.y, &step.error));
        let accepted = error <= 1.0 || h <= ACCURACY.shortest_s;
        let factor = if error == 0.0 {
            5.0
        } else {
            (0.9 / libm::cbrt(error)).clamp(0.2, 5.0)
        };
        let Some(step) = step.filter(|_| accepted) else {
            if h <= ACCURACY.shortest_s {
                let reason = "the equations have no finite solution here".to_owned();
                return Err(PumpError::NoTransient {
                    t_s: t,
                    steps: trace.steps,
                    reason,
                });
            }
            trace.rejected += 1;
            h = (h * factor.min(0.5)).max(ACCURACY.shortest_s);
            continue;
        };
        let end = system.held(&y, step.y);
        let t_end = if last { seconds } else { t + h };
        fuel = system.fuel(end[RAD_S], end[OUTLET_PA], end[RAIL_PA]);
        let f_end = system.with_fuel(&end, &fuel);
        while f64::from(next) * sample_s < t_end {
            let at = f64::from(next) * sample_s;
            let between = hermite(&y, &f, &end, &f_end, t_end - t, (at - t) / (t_end - t));
            let sample = system.sample(at, &between);
            trace.samples.push(sample);
            next += 1;
        }
        (t, y, f) = (t_end, end, f_end);
        trace.steps += 1;
        h = (h * factor).max(ACCURACY.shortest_s);
        if y[AMPS].abs() > trace.peak.amps.abs() {
            trace.peak = system.sample(t, &y);
        }
    }
    if seconds > 0.0 {
        let sample = system.sample(seconds, &y);
        trace.samples.push(sample);
    }
    trace.end = Motion {
        amps: y[AMPS],
        rad_s: y[RAD_S],
        outlet_pa: y[OUTLET_PA],
        rail_pa: y[RAIL_PA],
    };
    trace.evaluations = system.evaluations;
    Ok(trace)
}

/// Largest error in units of what is allowed.
fn error_norm(before: &State, after: &State, error: &State) -> f64 {
    let mut norm: f64 = 0.0;
    for n in 0..4 {
        let allowed =
            ACCURACY.absolute[n] + ACCURACY.relative * before[n].abs().max(after[n].abs());
        norm = norm.max(error[n].abs() / allowed);
    }
    norm
}

/// Cubic through both ends of a step with their slopes, at the fraction `s` of it.
fn hermite(y0: &State, f0: &State, y1: &State, f1: &State, h: f64, s: f64) -> State {
    core::array::from_fn(|n| {
        let rest = 1.0 - s;
        let bend = rest * (h * f0[n] - (y1[n] - y0[n])) - s * (h * f1[n] - (y1[n] - y0[n]));
        rest * y0[n] + s * y1[n] + s * rest * bend
    })
}
