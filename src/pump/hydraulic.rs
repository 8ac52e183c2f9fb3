//! The fuel's way: tank, strainer, pump, relief and check valve, hose, filter, line, rail, regulator,
//! return. Two pressures describe it: the hose behind the pump's check valve and the rail.

use super::LIMITS;

/// Hydraulic circuit around the pump.
///
/// Quadratic resistances follow dP = k Q^2 (Pa s2/m6), linear ones dP = r Q (Pa s/m3); infinity is
/// blocked, and so is everything above 1e24. Pressures are gauge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hydraulics {
    /// Fuel density, kg/m3 (petrol 720 to 775 at 15 C).
    pub density: f64,
    /// Discharge coefficient of every orifice here; 0.62 for a sharp edge.
    pub discharge: f64,
    /// Strainer, quadratic, Pa s2/m6.
    pub strainer_pa_s2_m6: f64,
    /// Suction depression in Pa at which the inlet fills with vapour: the pump never gets more than the
    /// strainer passes at it. Half an atmosphere or less for petrol.
    pub vapour_limit_pa: f64,
    /// Most that reaches the inlet at all, m3/s: what a lift pump brings to the pot this one draws from; infinity where
    /// the pump hangs in the tank itself.
    pub brought_m3_s: f64,
    /// The pump draws air.
    pub tank_empty: bool,
    /// Filter and line lead back to the pump's own inlet, where an expansion tank holds the pressure that all others
    /// are counted from: there is no rail.
    pub closed_loop: bool,
    /// Pressure at which the pump's own relief valve opens, Pa; infinity for none.
    pub relief_pa: f64,
    /// Rise of pressure with flow through the relief valve, Pa s/m3.
    pub relief_slope_pa_s_m3: f64,
    /// Valve at the pump's outlet that keeps the pressure.
    pub check_valve: CheckValve,
    /// Area of a split in the hose inside the tank, m2; sprays into the tank.
    pub in_tank_leak_m2: f64,
    /// Filter, linear, Pa s/m3.
    pub filter_pa_s_m3: f64,
    /// Line to the rail, quadratic, Pa s2/m6.
    pub line_pa_s2_m6: f64,
    /// The line is squeezed shut: what the rail holds does not get back.
    pub line_shut: bool,
    /// Pressure regulator.
    pub regulator: Regulator,
    /// Return line, quadratic, Pa s2/m6.
    pub return_pa_s2_m6: f64,
    /// Area of a leak through the injectors' seats, m2; into the manifold.
    pub injector_leak_m2: f64,
    /// Pressure across the injectors, Pa, at which they pass what [`Demand`] asks. They pass
    /// Q sqrt(dP/rated) at another pressure.
    pub injector_rated_pa: f64,
    /// Compliance of hose and line ahead of the filter, m3/Pa.
    pub hose_compliance_m3_pa: f64,
    /// Compliance of filter, line and rail, m3/Pa.
    pub compliance_m3_pa: f64,
}

/// Check valve at the pump's outlet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CheckValve {
    /// Pressure across the open valve, Pa.
    pub crack_pa: f64,
    /// Area through which the shut valve leaks back, m2.
    pub leak_m2: f64,
}

/// Where the regulator sits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RegulatorPlace {
    /// On the rail, referred to the manifold, spilling into the return line.
    Rail,
    /// In the tank ahead of the filter, referred to the atmosphere, spilling into the tank.
    Tank,
}

/// What is wrong with a regulator.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum RegulatorStuck {
    /// Never shut further than an orifice of this area; it opens further as a sound one does.
    Open {
        /// Area, m2.
        area_m2: f64,
    },
    /// Passes nothing.
    Shut,
}

/// Pressure regulator: passes (P - reference - set)/slope, as far as its opening and the return allow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Regulator {
    /// Opening pressure above the reference, Pa. A tired spring lowers it.
    pub set_pa: f64,
    /// Rise of pressure with flow, Pa s/m3.
    pub slope_pa_s_m3: f64,
    /// Area when fully open, m2.
    pub full_area_m2: f64,
    /// Where it sits.
    pub place: RegulatorPlace,
    /// Jammed.
    pub stuck: Option<RegulatorStuck>,
}

/// Where the fuel goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outlet {
    /// Everything connected.
    Rail,
    /// The return runs into a measuring can instead of the tank: the same hydraulics.
    ReturnIntoCan,
    /// The line is off the rail and runs into a can: no pressure at its end.
    LineIntoCan,
}

/// What the engine takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Demand {
    /// Flow the injectors would pass at [`Hydraulics::injector_rated_pa`], m3/s.
    pub injectors_m3_s: f64,
    /// Manifold pressure, Pa gauge: 0 or negative.
    pub manifold_pa: f64,
    /// Where the fuel goes.
    pub outlet: Outlet,
}

impl Demand {
    /// Key on, engine off: nothing taken, no vacuum.
    #[must_use]
    pub fn none() -> Self {
        Self {
            injectors_m3_s: 0.0,
            manifold_pa: 0.0,
            outlet: Outlet::Rail,
        }
    }
}

impl Hydraulics {
    /// Flow through an orifice, m3/s: Cd A sqrt(2 dP/rho), laminar below 10 Pa; none backwards.
    #[must_use]
    pub fn orifice_m3_s(&self, area_m2: f64, drop_pa: f64) -> f64 {
        if area_m2 == 0.0 || drop_pa <= 0.0 {
            return 0.0;
        }
        let root = if drop_pa >= LIMITS.laminar_pa {
            drop_pa.sqrt()
        } else {
            drop_pa / LIMITS.laminar_pa.sqrt()
        };
        area_m2 * self.orifice_factor() * root
    }

    /// Cd sqrt(2/rho): flow per area and root of pressure.
    fn orifice_factor(&self) -> f64 {
        self.discharge * (2.0 / self.density).sqrt()
    }

    /// Quadratic resistance of an orifice, Pa s2/m6; infinite for no area.
    fn orifice_resistance(&self, area_m2: f64) -> f64 {
        let per_root = area_m2 * self.orifice_factor();
        1.0 / (per_root * per_root)
    }

    /// Filter as the equations use it.
    fn filter(&self) -> f64 {
        self.filter_pa_s_m3.max(LIMITS.slope_pa_s_m3)
    }

    /// Nothing gets from the pump to the rail.
    pub(crate) fn line_is_closed(&self) -> bool {
        self.filter_pa_s_m3 >= LIMITS.closed || self.line_pa_s2_m6 >= LIMITS.closed
    }

    /// Drop along filter and line at a flow, Pa.
    pub(crate) fn line_drop(&self, flow: f64) -> f64 {
        if flow == 0.0 {
            0.0
        } else {
            flow * (self.filter() + self.line_pa_s2_m6 * flow.abs())
        }
    }

    /// Flow along filter and line at a drop, m3/s: the inverse of [`Self::line_drop`].
    pub(crate) fn line_flow(&self, drop_pa: f64) -> f64 {
        let size = quadratic_flow(self.line_pa_s2_m6, self.filter(), drop_pa.abs());
        if drop_pa < 0.0 { -size } else { size }
    }

    /// Most that gets in: what is brought, and what the strainer lets through before vapour fills the inlet, m3/s.
    pub(crate) fn strainer_limit(&self) -> f64 {
        if self.tank_empty || self.strainer_pa_s2_m6 >= LIMITS.closed {
            0.0
        } else if self.strainer_pa_s2_m6 == 0.0 {
            self.brought_m3_s
        } else {
            (self.vapour_limit_pa / self.strainer_pa_s2_m6)
                .sqrt()
                .min(self.brought_m3_s)
        }
    }

    /// Depression at the inlet with all that gets in flowing, Pa: that of vapour where the strainer holds it up. Where no more
    /// is brought air comes with it, and only the strainer's own drop is left.
    pub(crate) fn depression_at_limit(&self) -> f64 {
        let brought = self.brought_m3_s;
        let drop = self.strainer_pa_s2_m6 * brought * brought;
        if drop < self.vapour_limit_pa {
            drop
        } else {
            self.vapour_limit_pa
        }
    }

    /// What a pump further on can draw through this strainer, past this pump at rest (a by-pass of that quadratic
    /// resistance) and along its line with this much suction, m3/s.
    #[must_use]
    pub fn drawn_past(&self, past_pa_s2_m6: f64, suction_pa: f64) -> f64 {
        if self.tank_empty {
            return 0.0;
        }
        let quadratic = self.strainer_pa_s2_m6 + past_pa_s2_m6 + self.line_pa_s2_m6;
        quadratic_flow(quadratic, LIMITS.slope_pa_s_m3, suction_pa)
    }

    /// Flow through the pump's relief valve, m3/s.
    pub(crate) fn relief_flow(&self, chamber_pa: f64) -> f64 {
        if chamber_pa <= self.relief_pa {
            0.0
        } else {
            (chamber_pa - self.relief_pa) / self.relief_slope()
        }
    }

    /// Whether the line ends where there is no pressure, and not at a rail.
    pub(crate) fn line_ends_free(&self, demand: &Demand) -> bool {
        self.closed_loop || demand.outlet == Outlet::LineIntoCan
    }

    /// Slope of the relief valve as the equations use it.
    pub(crate) fn relief_slope(&self) -> f64 {
        self.relief_slope_pa_s_m3.max(LIMITS.slope_pa_s_m3)
    }

    /// Flow through a split hose, m3/s, at the pressure behind the check valve.
    pub(crate) fn hose_leak(&self, outlet_pa: f64) -> f64 {
        self.orifice_m3_s(self.in_tank_leak_m2, outlet_pa)
    }

    /// Flow through the regulator, m3/s, for the pressure it sits at.
    ///
    /// The smaller of two rising functions: what the spring asks for, and what the opening in series with
    /// the return passes; and never less than what an opening that does not shut lets through. It rises with
    /// pressure, and is nothing without pressure.
    fn regulator_flow(&self, pa: f64, reference_pa: f64) -> f64 {
        let regulator = &self.regulator;
        let held_open = match regulator.stuck {
            None => 0.0,
            Some(RegulatorStuck::Open { area_m2 }) => area_m2,
            Some(RegulatorStuck::Shut) => return 0.0,
        };
        let lift = pa - reference_pa - regulator.set_pa;
        if pa <= 0.0 || (held_open == 0.0 && lift <= 0.0) {
            return 0.0;
        }
        let passes = |area| quadratic_flow(self.spill(area), LIMITS.slope_pa_s_m3, pa);
        let asked = passes(regulator.full_area_m2).min(lift.max(0.0) / self.regulator_slope());
        if held_open == 0.0 {
            asked
        } else {
            asked.max(passes(held_open))
        }
    }

    /// Quadratic resistance of a regulator open by this area and of the way its flow takes back, Pa s2/m6.
    fn spill(&self, area_m2: f64) -> f64 {
        let back = match self.regulator.place {
            RegulatorPlace::Rail => self.return_pa_s2_m6,
            RegulatorPlace::Tank => 0.0,
        };
        self.orifice_resistance(area_m2) + back
    }

    /// Flow of the fully open regulator in series with its return for each root of a pascal, m3/s.
    pub(crate) fn regulator_passes_per_root(&self) -> f64 {
        quadratic_flow(self.spill(self.regulator.full_area_m2), 0.0, 1.0)
    }

    /// Slope of the regulator as the equations use it.
    pub(crate) fn regulator_slope(&self) -> f64 {
        self.regulator.slope_pa_s_m3.max(LIMITS.slope_pa_s_m3)
    }

    /// Flow through a regulator on the rail, m3/s.
    pub(crate) fn rail_regulator(&self, demand: &Demand, rail_pa: f64) -> f64 {
        match (self.regulator.place, demand.outlet) {
            (RegulatorPlace::Rail, Outlet::Rail | Outlet::ReturnIntoCan) => {
                self.regulator_flow(rail_pa, demand.manifold_pa)
            }
            _ => 0.0,
        }
    }

    /// Flow through a regulator in the tank, m3/s.
    pub(crate) fn tank_regulator(&self, outlet_pa: f64) -> f64 {
        match self.regulator.place {
            RegulatorPlace::Tank => self.regulator_flow(outlet_pa, 0.0),
            RegulatorPlace::Rail => 0.0,
        }
    }

    /// Rail pressure at which the spring of a regulator that moves begins to give, if there is one.
    pub(crate) fn regulator_knee(&self, demand: &Demand) -> Option<f64> {
        match (self.regulator.stuck, self.regulator.place) {
            (Some(RegulatorStuck::Shut), _) => None,
            (_, RegulatorPlace::Rail) => Some(self.regulator.set_pa + demand.manifold_pa),
            (_, RegulatorPlace::Tank) => Some(self.regulator.set_pa),
        }
    }

    /// Flow through injectors, m3/s: asked for, and leaking past their seats.
    ///
    /// Both follow the root of the pressure across them, times the share of liquid in a rail that is
    /// nearly empty, so that nothing is drawn from an empty one. Both rise with rail pressure.
    pub(crate) fn injector_flow(&self, demand: &Demand, rail_pa: f64) -> InjectorFlow {
        let across = rail_pa - demand.manifold_pa;
        if demand.outlet == Outlet::LineIntoCan || rail_pa <= 0.0 || across <= 0.0 {
            return InjectorFlow {
                asked: 0.0,
                leak: 0.0,
            };
        }
        let liquid = (rail_pa / LIMITS.rail_full_pa).min(1.0);
        let asked = if demand.injectors_m3_s == 0.0 || self.injector_rated_pa == 0.0 {
            0.0
        } else {
            demand.injectors_m3_s * (across / self.injector_rated_pa).sqrt() * liquid
        };
        InjectorFlow {
            asked,
            leak: self.orifice_m3_s(self.injector_leak_m2, across) * liquid,
        }
    }
}

/// What leaves the rail through the injectors, m3/s.
#[derive(Clone, Copy, Debug)]
pub(crate) struct InjectorFlow {
    pub asked: f64,
    pub leak: f64,
}

/// The flow q >= 0 that solves `quadratic` q^2 + `linear` q = `drop`, written so that nothing cancels.
pub(crate) fn quadratic_flow(quadratic: f64, linear: f64, drop: f64) -> f64 {
    if drop <= 0.0 || quadratic >= LIMITS.closed || linear >= LIMITS.closed {
        return 0.0;
    }
    let root = (linear * linear + 4.0 * quadratic * drop).sqrt();
    2.0 * drop / (linear + root)
}

/// Rail pressure left of `from_pa` after `seconds` with the pump at rest and the engine off, Pa.
///
/// Closed form: with all leaks orifices, C dP/dt = -k sqrt(P), so sqrt(P) falls linearly. Leaks are the
/// injectors, a regulator stuck open (in series with its return), and what lies on the tank's side of the line, which a
/// line squeezed shut keeps from the rail: the check valve, a split hose, a regulator there.
/// What stands above a working regulator's opening pressure goes through it within tenths of a second
/// and counts as gone. Filter and line add nothing at these flows.
#[must_use]
pub fn hold_pressure(hydraulics: &Hydraulics, from_pa: f64, seconds: f64) -> f64 {
    let regulator = &hydraulics.regulator;
    let spills = regulator.place == RegulatorPlace::Rail || !hydraulics.line_shut;
    let start = match hydraulics.regulator_knee(&Demand::none()) {
        Some(knee) if spills => from_pa.min(knee),
        _ => from_pa,
    };
    if start <= 0.0 {
        return 0.0;
    }
    let mut area = hydraulics.injector_leak_m2;
    if !hydraulics.line_shut {
        area += hydraulics.check_valve.leak_m2 + hydraulics.in_tank_leak_m2;
    }
    let mut flow_per_root = area * hydraulics.orifice_factor();
    if let Some(RegulatorStuck::Open { area_m2 }) = regulator.stuck.filter(|_| spills) {
        flow_per_root += quadratic_flow(hydraulics.spill(area_m2), 0.0, 1.0);
    }
    let compliance = (hydraulics.compliance_m3_pa + hydraulics.hose_compliance_m3_pa)
        .max(LIMITS.compliance_m3_pa);
    let root = start.sqrt() - 0.5 * flow_per_root / compliance * seconds;
    if root > 0.0 {
        (root * root).min(start)
    } else {
        0.0
    }
}
