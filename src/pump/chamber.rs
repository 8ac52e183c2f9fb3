//! The pumping chamber: what the turning element does against a given pressure behind the check valve.
//!
//! Everything is in closed form, for the transient calls it several times a step.

use super::element::Element;
use super::hydraulic::Hydraulics;

/// State of the chamber at one speed and one pressure behind the check valve.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Chamber {
    /// Flow through the check valve; negative is leakage back through it, m3/s.
    pub delivered: f64,
    /// Load torque of the fuel, N m.
    pub torque: f64,
    /// The strainer or the tank limits the flow.
    pub starved: bool,
}

/// Solves the chamber for a speed (rad/s) and the pressure behind the check valve (Pa).
///
/// With S the flow through the strainer, p the chamber's pressure and k the strainer, a displacement element with the slip
/// c gives S = D w - c (p + k S^2), a centrifugal one the S at which its pressure is p + k S^2. While the valve is open p is
/// the outlet pressure plus the valve's own drop, and what the relief valve does not take is delivered. If nothing is left
/// the valve is shut and p is whatever balances slip and relief. S never exceeds the strainer's limit; then the
/// chambers are partly vapour and the torque is less: that of the work done, dP (S + c dP) / w, or that of a lighter fluid.
///
/// Not turning or turning backwards, the element delivers nothing and offers no torque: it would have to
/// draw against the shut check valve.
pub(crate) fn chamber(
    element: &Element,
    hydraulics: &Hydraulics,
    rad_s: f64,
    outlet_pa: f64,
) -> Chamber {
    let valve = &hydraulics.check_valve;
    let limit = hydraulics.strainer_limit();
    let back = |chamber_pa: f64| -hydraulics.orifice_m3_s(valve.leak_m2, outlet_pa - chamber_pa);
    if rad_s <= 0.0 || limit == 0.0 || element.is_missing() {
        return Chamber {
            delivered: back(0.0),
            torque: 0.0,
            starved: limit == 0.0,
        };
    }
    let strainer = hydraulics.strainer_pa_s2_m6;
    let open_pa = outlet_pa + valve.crack_pa;
    let relief = hydraulics.relief_flow(open_pa);
    let flow = element.flow(rad_s, open_pa, 0.0, strainer).min(limit);
    let dead_head = element.dead_head(rad_s);
    let (chamber_pa, flow, delivered) = if flow >= relief && dead_head > open_pa {
        (open_pa, flow, flow - relief)
    } else if dead_head <= hydraulics.relief_pa {
        (dead_head, 0.0, back(dead_head))
    } else {
        let slope = hydraulics.relief_slope();
        let flow = element
            .flow(rad_s, hydraulics.relief_pa, slope, strainer)
            .min(limit);
        let pa = hydraulics.relief_pa + slope * flow;
        (pa, flow, back(pa))
    };
    let starved = flow >= limit;
    let rise = chamber_pa
        + if starved {
            hydraulics.depression_at_limit()
        } else {
            strainer * flow * flow
        };
    let torque = if starved {
        element.starved_torque(rad_s, flow, chamber_pa, rise)
    } else {
        element.torque(rad_s, flow, chamber_pa, rise)
    };
    Chamber {
        delivered,
        torque,
        starved,
    }
}
