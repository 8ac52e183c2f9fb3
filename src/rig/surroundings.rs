//! What warms around the parts: the air under the bonnet, and the fuel in the tank. Coolant warms as
//! [`super::coolant`] says.
//!
//! Under the bonnet the air of each place rises by what the vehicle file says of it, times how warm the engine is (0 to
//! 1, first order in time). Fuel is one lump,
//!
//! ```text
//! level * capacity * rho c dT/dt = V I of the pump + rho c Q_return * pick-up - loss * T
//! ```
//!
//! with `T` above the air. Warm fuel boils sooner: its true vapour pressure follows the formula of AP-42 (US EPA,
//! *Compilation of Air Pollutant Emission Factors*, section 7.1, refined petroleum stocks; from memory). An inlet bears
//! what the vehicle file states for cool fuel, and never falls further than to that vapour pressure: with 60 kPa Reid that
//! leaves less than 40 kPa from some 37 degrees Celsius on.

use super::{Rig, coolant};
use crate::pump::{Hydraulics, OperatingPoint, RegulatorPlace};
use crate::vehicle::{ATMOSPHERE_PA, Key, LiftPump, PartId};

/// Values of the two lumps.
struct Surrounding {
    /// Time in which an engine gets warm, s; ours, no source.
    warms_s: f64,
    /// Time in which it cools, s; ours, no source.
    cools_s: f64,
    /// Density times specific heat of petrol, J/(m3 K): 745 kg/m3 (middle of EN 228) times 2.1 kJ/(kg K) (handbook
    /// value, rounded).
    petrol_j_m3_k: f64,
    /// Fuel left in a tank that counts as empty, m3, so that its heat capacity is not nothing.
    least_m3: f64,
    /// What fuel picks up on its way through a hot engine bay and back, K; ours, no source.
    pick_up_k: f64,
    /// Heat a tank gives off, W/K: some 12 W/(m2 K) over 1.2 m2.
    loss_w_k: f64,
    /// Reid vapour pressure of the fuel, psi: 60 kPa, the summer limit of EN 228 class A (from memory).
    reid_psi: f64,
    /// Least depression an inlet bears, Pa.
    least_pa: f64,
}

const SURROUNDING: Surrounding = Surrounding {
    warms_s: 400.0,
    cools_s: 1800.0,
    petrol_j_m3_k: 745.0 * 2100.0,
    least_m3: 1e-3,
    pick_up_k: 10.0,
    loss_w_k: 14.0,
    reid_psi: 8.7,
    least_pa: 500.0,
};

const PA_PER_PSI: f64 = 6894.757;

/// True vapour pressure of a petrol of this Reid vapour pressure (psi) at a temperature, Pa; 10 % slope 3 as for motor
/// petrol. Within 0.1 psi of the table of AP-42 7.1 between 40 and 100 degrees Fahrenheit.
#[must_use]
pub fn petrol_vapour_pa(celsius: f64, reid_psi: f64) -> f64 {
    let rankine = celsius * 1.8 + 32.0 + 459.6;
    let slope = 3.0_f64.sqrt();
    let log_reid = libm::log10(reid_psi);
    let exponent = (0.7553 - 413.0 / rankine) * slope * log_reid
        - (1.854 - 1042.0 / rankine) * slope
        + (2416.0 / rankine - 2.013) * log_reid
        - 8742.0 / rankine
        + 15.64;
    libm::exp(exponent) * PA_PER_PSI
}

/// What an inlet bears with fuel of this temperature, Pa: what the vehicle file states for cool fuel, and never more than
/// what is left of the atmosphere above the fuel's own vapour pressure, at which it boils.
fn vapour_limit_pa(stated_pa: f64, celsius: f64) -> f64 {
    let left_pa = ATMOSPHERE_PA - petrol_vapour_pa(celsius, SURROUNDING.reid_psi);
    stated_pa.min(left_pa.max(SURROUNDING.least_pa))
}

/// How warm the surroundings are.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Surroundings {
    /// How warm the engine is, 0 to 1.
    pub engine: f64,
    /// What the pump moves above the air, K: fuel in its tank, or coolant.
    pub medium_k: f64,
}

impl Rig {
    /// The surroundings `h` seconds later, while the pump, and a lift pump if there is one, run at these points.
    pub(super) fn surroundings_after(
        &self,
        (point, lift): (&OperatingPoint, Option<&OperatingPoint>),
        h: f64,
    ) -> Surroundings {
        let towards = |from: f64, to: f64, seconds: f64| to + (from - to) * libm::exp(-h / seconds);
        let s = &SURROUNDING;
        let running = self.controls.key == Key::Run;
        let engine = if running {
            towards(self.surroundings.engine, 1.0, s.warms_s)
        } else {
            towards(self.surroundings.engine, 0.0, s.cools_s)
        };
        if let Some(cooling) = &self.vehicle.cooling {
            let flow_m3_s = point.can_m3_s;
            let end_c = coolant::after(cooling, &self.round(flow_m3_s), self.medium_c(), h);
            let medium_k = end_c - self.conditions.ambient_c;
            return Surroundings { engine, medium_k };
        }
        let held = (self.fuel_share() * self.vehicle.tank_m3).max(s.least_m3);
        let mut watts = point.terminal_volts * point.amps;
        if let Some(lift) = lift {
            watts += lift.terminal_volts * lift.amps;
        }
        if running && self.vehicle.hydraulics.regulator.place == RegulatorPlace::Rail {
            watts += s.petrol_j_m3_k * point.return_m3_s * s.pick_up_k;
        }
        let medium_k = towards(
            self.surroundings.medium_k,
            watts / s.loss_w_k,
            held * s.petrol_j_m3_k / s.loss_w_k,
        );
        Surroundings { engine, medium_k }
    }

    /// Temperature of the air around a part, degrees Celsius.
    pub(super) fn air_c(&self, part: PartId) -> f64 {
        let place = self.vehicle.parts[part.0].place;
        self.conditions.ambient_c + self.vehicle.places[place.0].warms_k * self.surroundings.engine
    }

    /// Temperature of what the pump moves, degrees Celsius: fuel in its tank, or coolant.
    #[must_use]
    pub fn medium_c(&self) -> f64 {
        self.conditions.ambient_c + self.surroundings.medium_k
    }

    /// The fuel's way with fuel of its present temperature, on the present slope.
    pub(super) fn hydraulics_now(&self) -> Hydraulics {
        let mut hydraulics = self.build.hydraulics;
        if hydraulics.closed_loop {
            // Its cap lets the pressure rise with the coolant's vapour.
            return hydraulics;
        }
        hydraulics.vapour_limit_pa = vapour_limit_pa(hydraulics.vapour_limit_pa, self.medium_c());
        if self.build.lift.is_none() {
            hydraulics.tank_empty |= self.sloshes();
        }
        hydraulics
    }

    /// The lift pump with its winding and its fuel as warm as they are, on the present slope.
    pub(super) fn lift_now(&self) -> Option<LiftPump> {
        let mut lift = self.build.lift?;
        let celsius = self.medium_c();
        let h = &mut lift.hydraulics;
        h.vapour_limit_pa = vapour_limit_pa(h.vapour_limit_pa, celsius);
        h.tank_empty |= self.sloshes();
        lift.pump.unit.motor.winding_ohms *=
            super::thermal::copper_factor(celsius + self.thermal.lift_winding_k);
        Some(lift)
    }
}
