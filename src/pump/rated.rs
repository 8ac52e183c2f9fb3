//! From figures on a data sheet to the parameters of a pump.

use core::f64::consts::TAU;

use super::{Element, ElementKind, Motor, PumpError, PumpUnit};

/// Figures of a healthy pump at one point, as service data give them, and how its losses divide.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rated {
    /// Volts at the pump's terminals.
    pub volts: f64,
    /// Pressure rise across the pump, Pa.
    pub rise_pa: f64,
    /// Flow, m3/s.
    pub flow_m3_s: f64,
    /// Current, A.
    pub amps: f64,
    /// Speed, turns per minute.
    pub rpm: f64,
    /// Change of flow with terminal volts at constant pressure rise, m3/s per V.
    pub flow_per_volt: f64,
    /// Armature winding, ohm.
    pub winding_ohms: f64,
    /// Brushes and commutator, ohm.
    pub brush_ohms: f64,
    /// Constant brush drop, V.
    pub brush_volts: f64,
    /// Part of the friction torque at the rated point that is dry, 0 to 1.
    pub dry_part: f64,
    /// Armature inductance, H.
    pub inductance_h: f64,
    /// Moment of inertia, kg m2.
    pub inertia_kg_m2: f64,
    /// Commutator segments.
    pub segments: u32,
    /// Construction of the element.
    pub kind: ElementKind,
}

impl Rated {
    /// The pump that has these figures.
    ///
    /// Back-EMF gives Ke = (V - I R - brush)/w. At constant pressure rise both current and speed are linear
    /// in volts, with dw/dV = Ke/(Ke^2 + R b), so flow is *exactly* linear in volts and its slope fixes the
    /// displacement D; what D w does not deliver is slip, and what Ke I does not pump is friction.
    ///
    /// # Errors
    /// [`PumpError::Rated`] names the quantity that came out negative or not finite.
    pub fn unit(&self) -> Result<PumpUnit, PumpError> {
        let ohms = self.winding_ohms + self.brush_ohms;
        let rad_s = self.rpm * TAU / 60.0;
        let ke = possible(
            "the motor constant",
            (self.volts - self.amps * ohms - self.brush_volts) / rad_s,
        )?;
        let viscous_part = 1.0 - self.dry_part;
        // D = s (Ke + R b / Ke) and b = (1 - dry) (Ke I - D dP) / w: linear in D.
        let displacement = self.flow_per_volt * (ke + ohms * viscous_part * self.amps / rad_s)
            / (1.0 + self.flow_per_volt * ohms * viscous_part * self.rise_pa / (ke * rad_s));
        let displacement = possible("the displacement", displacement)?;
        let friction = possible("friction", ke * self.amps - displacement * self.rise_pa)?;
        let leak = possible(
            "the internal leakage",
            (displacement * rad_s - self.flow_m3_s) / self.rise_pa,
        )?;
        Ok(PumpUnit {
            motor: Motor {
                winding_ohms: self.winding_ohms,
                brush_ohms: self.brush_ohms,
                brush_volts: self.brush_volts,
                ke,
                inductance_h: self.inductance_h,
                inertia_kg_m2: self.inertia_kg_m2,
                dry_nm: friction * self.dry_part,
                viscous_nm_s: friction * viscous_part / rad_s,
                segments: self.segments,
                dead_segments: 0,
                stopped_on_dead: false,
                seized: false,
            },
            element: Element {
                displacement_m3_rad: displacement,
                leak_m3_s_pa: leak,
                kind: self.kind,
            },
        })
    }
}

fn possible(what: &'static str, value: f64) -> Result<f64, PumpError> {
    if value.is_finite() && value >= 0.0 {
        Ok(value)
    } else {
        Err(PumpError::Rated { what, value })
    }
}
