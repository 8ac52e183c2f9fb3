//! From figures on a data sheet to the parameters of a pump.

use core::f64::consts::TAU;

use super::impeller::Impeller;
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
    /// The element and what is known of it beside the rated point.
    pub element: RatedElement,
}

/// What tells an element's law beside the rated point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum RatedElement {
    /// A roller cell or a turbine.
    Displacement {
        /// Change of flow with terminal volts at constant pressure rise, m3/s per V.
        flow_per_volt: f64,
        /// Construction of the element.
        kind: ElementKind,
    },
    /// A centrifugal wheel; its figures are taken at the rated volts.
    Centrifugal {
        /// Blades on the wheel.
        blades: u32,
        /// Pressure with the outlet shut, Pa.
        shut_off_pa: f64,
        /// Current with the outlet shut, A.
        shut_off_amps: f64,
        /// Current running in air, A.
        dry_amps: f64,
        /// Leak past the wheel's clearances at the rated point, over the rated flow.
        leak_share: f64,
    },
}

/// Of the fall of a centrifugal wheel's pressure between no flow and the rated flow, the part that follows the flow; the rest
/// follows its square. Ours: Euler's head with backswept blades falls with the flow, friction with its square.
const FALLS_WITH_FLOW: f64 = 0.5;

impl Rated {
    /// The pump that has these figures.
    ///
    /// Back-EMF gives Ke = (V - I R - brush)/w.
    ///
    /// Displacement: at constant pressure rise both current and speed are linear
    /// in volts, with dw/dV = Ke/(Ke^2 + R b), so flow is *exactly* linear in volts and its slope fixes the
    /// displacement D; what D w does not deliver is slip, and what Ke I does not pump is friction.
    ///
    /// Centrifugal: currents in air, shut and at the rated point give speeds and torques there. Friction is the torque in air;
    /// what shut-off and rated torque have beyond it fix k and a + s, which stand linearly in both; the two pressures fix a, b and c.
    ///
    /// # Errors
    /// [`PumpError::Rated`] names the quantity that came out negative or not finite.
    pub fn unit(&self) -> Result<PumpUnit, PumpError> {
        let ke = possible("the motor constant", self.emf(self.amps) / self.rad_s())?;
        match self.element {
            RatedElement::Displacement {
                flow_per_volt,
                kind,
            } => self.displacement(ke, flow_per_volt, kind),
            RatedElement::Centrifugal {
                blades,
                shut_off_pa,
                shut_off_amps,
                dry_amps,
                leak_share,
            } => self.centrifugal(
                ke,
                blades,
                (shut_off_pa, shut_off_amps),
                dry_amps,
                leak_share,
            ),
        }
    }

    /// Speed, rad/s.
    fn rad_s(&self) -> f64 {
        self.rpm * TAU / 60.0
    }

    /// Back-EMF at the rated volts and a current, V.
    fn emf(&self, amps: f64) -> f64 {
        self.volts - amps * (self.winding_ohms + self.brush_ohms) - self.brush_volts
    }

    fn displacement(
        &self,
        ke: f64,
        flow_per_volt: f64,
        kind: ElementKind,
    ) -> Result<PumpUnit, PumpError> {
        let ohms = self.winding_ohms + self.brush_ohms;
        let rad_s = self.rad_s();
        let viscous_part = 1.0 - self.dry_part;
        // D = s (Ke + R b / Ke) and b = (1 - dry) (Ke I - D dP) / w: linear in D.
        let displacement = flow_per_volt * (ke + ohms * viscous_part * self.amps / rad_s)
            / (1.0 + flow_per_volt * ohms * viscous_part * self.rise_pa / (ke * rad_s));
        let displacement = possible("the displacement", displacement)?;
        let friction = possible("friction", ke * self.amps - displacement * self.rise_pa)?;
        let leak = possible(
            "the internal leakage",
            (displacement * rad_s - self.flow_m3_s) / self.rise_pa,
        )?;
        Ok(PumpUnit {
            motor: self.motor(ke, friction),
            element: Element {
                displacement_m3_rad: displacement,
                leak_m3_s_pa: leak,
                kind,
            },
        })
    }

    fn centrifugal(
        &self,
        ke: f64,
        blades: u32,
        (shut_off_pa, shut_off_amps): (f64, f64),
        dry_amps: f64,
        leak_share: f64,
    ) -> Result<PumpUnit, PumpError> {
        let rad_s = self.rad_s();
        let dry_ratio = possible("the speed in air", self.emf(dry_amps) / ke)? / rad_s;
        let friction = ke * dry_amps / (self.dry_part + (1.0 - self.dry_part) * dry_ratio);
        let motor = self.motor(ke, possible("friction", friction)?);
        let leak = leak_share * self.flow_m3_s / self.rise_pa;
        let shut_rad_s = possible("the speed at shut-off", self.emf(shut_off_amps) / ke)?;
        let (through, shut_through) = (self.flow_m3_s * (1.0 + leak_share), leak * shut_off_pa);
        // Torque over the square of speed is k + (a + s) q / w at both points.
        let of_wheel =
            |amps: f64, w: f64| (ke * amps - motor.dry_nm - motor.viscous_nm_s * w) / (w * w);
        let (rated, shut) = (
            of_wheel(self.amps, rad_s),
            of_wheel(shut_off_amps, shut_rad_s),
        );
        let pull = (rated - shut) / (through / rad_s - shut_through / shut_rad_s);
        let disc = possible("disc friction", shut - pull * shut_through / shut_rad_s)?;
        // Pressure over the square of speed is a - b q / w - c (q / w)^2; `fall` is b q w + c q^2 at the rated point.
        let faster = shut_rad_s / rad_s;
        let less = shut_through / through;
        let (by_flow, by_square) = (FALLS_WITH_FLOW, 1.0 - FALLS_WITH_FLOW);
        let fall = possible(
            "the fall of pressure with flow",
            (shut_off_pa - self.rise_pa * faster * faster)
                / (faster * faster - by_flow * faster * less - by_square * less * less),
        )?;
        let head = (self.rise_pa + fall) / (rad_s * rad_s);
        Ok(PumpUnit {
            motor,
            element: Element {
                displacement_m3_rad: 0.0,
                leak_m3_s_pa: leak,
                kind: ElementKind::Centrifugal(Impeller {
                    blades,
                    head_pa_s2: head,
                    fall_pa_s2_m3: by_flow * fall / (rad_s * through),
                    loss_pa_s2_m6: by_square * fall / (through * through),
                    disc_nm_s2: disc,
                    mixing_pa_s2: possible("the wheel's loss by mixing", pull - head)?,
                }),
            },
        })
    }

    /// The motor, with its friction torque at the rated speed.
    fn motor(&self, ke: f64, friction: f64) -> Motor {
        Motor {
            winding_ohms: self.winding_ohms,
            brush_ohms: self.brush_ohms,
            brush_volts: self.brush_volts,
            ke,
            inductance_h: self.inductance_h,
            inertia_kg_m2: self.inertia_kg_m2,
            dry_nm: friction * self.dry_part,
            viscous_nm_s: friction * (1.0 - self.dry_part) / self.rad_s(),
            segments: self.segments,
            dead_segments: 0,
            stopped_on_dead: false,
            seized: false,
        }
    }
}

fn possible(what: &'static str, value: f64) -> Result<f64, PumpError> {
    if value.is_finite() && value >= 0.0 {
        Ok(value)
    } else {
        Err(PumpError::Rated { what, value })
    }
}
