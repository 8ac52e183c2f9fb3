//! The fuel circuit behind the pump, as flows and pressures that all follow from one of them.

use super::hydraulic::{Demand, Hydraulics, InjectorFlow};

/// Flows and pressures behind the pump for one value of the unknown.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Load {
    pub rail_pa: f64,
    pub outlet_pa: f64,
    pub chamber_pa: f64,
    pub regulator: f64,
    pub injectors: InjectorFlow,
    pub can: f64,
    pub hose_leak: f64,
    pub relief: f64,
    /// Through the check valve.
    pub delivered: f64,
    /// Through the strainer.
    pub drawn: f64,
}

impl Load {
    pub fn at(hydraulics: &Hydraulics, demand: &Demand, x: f64) -> Self {
        let pressure = x.max(0.0);
        let nothing = InjectorFlow {
            asked: 0.0,
            leak: 0.0,
        };
        let (rail_pa, outlet_pa, rail_regulator, injectors, can, line) =
            if hydraulics.line_is_closed() {
                (0.0, pressure, 0.0, nothing, 0.0, 0.0)
            } else if hydraulics.line_ends_free(demand) {
                let line = hydraulics.line_flow(pressure);
                (0.0, pressure, 0.0, nothing, line, line)
            } else {
                let regulator = hydraulics.rail_regulator(demand, pressure);
                let injectors = hydraulics.injector_flow(demand, pressure);
                let line = regulator + injectors.asked + injectors.leak;
                (
                    pressure,
                    pressure + hydraulics.line_drop(line),
                    regulator,
                    injectors,
                    0.0,
                    line,
                )
            };
        let tank_regulator = hydraulics.tank_regulator(outlet_pa);
        let hose_leak = hydraulics.hose_leak(outlet_pa);
        let chamber_pa = outlet_pa + hydraulics.check_valve.crack_pa + x.min(0.0);
        let relief = hydraulics.relief_flow(chamber_pa);
        let delivered = line + tank_regulator + hose_leak;
        Self {
            rail_pa,
            outlet_pa,
            chamber_pa,
            regulator: rail_regulator + tank_regulator,
            injectors,
            can,
            hose_leak,
            relief,
            delivered,
            drawn: delivered + relief,
        }
    }
}
