//! The centrifugal element: what an impeller builds up, what it lets past, and what it takes to turn it.
//!
//! At one speed w with the flow q through the wheel
//!
//! ```text
//! p = a w^2 - b w q - c q^2        T = k w^2 + (a + s) w q        q = delivered + g p
//! ```
//!
//! a w^2 is the head without flow, b the fall of Euler's head with backswept blades, c friction and shock, k disc
//! friction and what turns over at shut-off, s what the wheel puts into the water beyond its head without flow, g the
//! leak past its clearances (Gulich, *Centrifugal Pumps*, from memory; the forms are the textbook's simplest with the
//! affinity laws exact: q ~ w, p ~ w^2, T ~ w^2). Work done never exceeds work taken, since
//! p q <= a w^2 q <= T w. Turned backwards or at rest it builds up nothing.
//!
//! A starved wheel is filled with a mixture whose density is the share m of the liquid's. Head and torque follow density,
//! so T = rise T(w, q) / p(w, q) with the rise and the flow that there are: none without liquid.

use super::hydraulic::quadratic_flow;

/// The wheel of a centrifugal pump. The leak g is [`super::Element::leak_m3_s_pa`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Impeller {
    /// Blades on the wheel.
    pub blades: u32,
    /// Pressure without flow over the square of speed, a, Pa s2/rad2.
    pub head_pa_s2: f64,
    /// Fall of pressure with speed times flow, b, Pa s2/(rad m3).
    pub fall_pa_s2_m3: f64,
    /// Fall of pressure with the square of flow, c, Pa s2/m6.
    pub loss_pa_s2_m6: f64,
    /// Torque without flow over the square of speed, k, N m s2/rad2.
    pub disc_nm_s2: f64,
    /// Torque over speed times flow beyond that of the head without flow, s, Pa s2/rad2.
    pub mixing_pa_s2: f64,
}

/// Speeds beyond this, rad/s, are as good as infinite, and their squares still finite.
const FASTEST_RAD_S: f64 = 1e100;

impl Impeller {
    /// Pressure at a speed without flow through the wheel, Pa.
    fn head(&self, rad_s: f64) -> f64 {
        self.head_pa_s2 * rad_s * rad_s
    }

    /// Pressure at a speed and a flow through the wheel, Pa.
    fn pressure(&self, rad_s: f64, through: f64) -> f64 {
        self.head(rad_s) - through * (self.fall_pa_s2_m3 * rad_s + self.loss_pa_s2_m6 * through)
    }

    /// Torque over speed and flow, N m.
    pub(super) fn torque(&self, rad_s: f64, through: f64) -> f64 {
        rad_s * (self.disc_nm_s2 * rad_s + (self.head_pa_s2 + self.mixing_pa_s2) * through)
    }

    /// The speed that builds up `rise` with a flow through the wheel, rad/s: it rises with both.
    pub(super) fn speed(&self, through: f64, rise: f64) -> f64 {
        let fall = self.fall_pa_s2_m3 * through;
        let under_root =
            fall * fall + 4.0 * self.head_pa_s2 * (rise + self.loss_pa_s2_m6 * through * through);
        ((fall + under_root.sqrt()) / (2.0 * self.head_pa_s2)).min(FASTEST_RAD_S)
    }

    /// Flow drawn through a strainer at a speed, against a chamber pressure that is `opens` and rises by `slope` with the
    /// flow, m3/s; none if the wheel does not build up that much.
    pub(super) fn flow(&self, rad_s: f64, leak: f64, opens: f64, slope: f64, strainer: f64) -> f64 {
        let (b, c) = (self.fall_pa_s2_m3 * rad_s, self.loss_pa_s2_m6);
        // Through the wheel: what is drawn, with the leak of a pressure that rises with it, and the leak at no flow.
        let (by_flow, still) = (1.0 + leak * slope, leak * opens);
        quadratic_flow(
            strainer + c * by_flow * by_flow,
            slope + by_flow * (b + 2.0 * c * still),
            self.head(rad_s) - opens - still * (b + c * still),
        )
    }

    /// Chamber pressure at a speed with nothing delivered, Pa: the wheel moves its own leak.
    pub(super) fn shut_off(&self, rad_s: f64, leak: f64) -> f64 {
        quadratic_flow(
            self.loss_pa_s2_m6 * leak * leak,
            1.0 + self.fall_pa_s2_m3 * rad_s * leak,
            self.head(rad_s),
        )
    }

    /// Torque of a starved wheel that moves `through` and builds up `rise`, N m. It falls with speed and bends upwards: over
    /// speeds at which a full wheel would build up more than that it is a constant and two poles below them.
    pub(super) fn starved_torque(&self, rad_s: f64, through: f64, rise: f64) -> f64 {
        // On the border rounding may leave a full wheel a little less than the rise.
        let full = self.pressure(rad_s, through).max(rise);
        if full == 0.0 {
            return 0.0;
        }
        self.torque(rad_s, through) * (rise / full)
    }

    /// Change of the starved wheel's torque with speed, N m s/rad: nothing or less.
    pub(super) fn starved_slope(&self, rad_s: f64, through: f64, rise: f64) -> f64 {
        let full = self.pressure(rad_s, through).max(rise);
        if full == 0.0 {
            return 0.0;
        }
        let pull = self.head_pa_s2 + self.mixing_pa_s2;
        let square = self.disc_nm_s2 * self.fall_pa_s2_m3 + self.head_pa_s2 * pull;
        let bend = square * rad_s * rad_s
            + (2.0 * self.disc_nm_s2 * rad_s + pull * through) * self.loss_pa_s2_m6 * through;
        -(rise / full) * (through * bend / full)
    }
}
