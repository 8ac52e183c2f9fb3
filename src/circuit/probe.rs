//! What a voltmeter would show between any two of many points.

use super::network::NodeId;
use super::port::Thevenin;

/// Thevenin equivalents of all pairs of a list of points, from one factorisation.
#[derive(Clone, Debug)]
pub struct ProbeTable {
    pub(super) points: Vec<NodeId>,
    pub(super) islands: Vec<u32>,
    pub(super) volts: Vec<f64>,
    /// Volts at point `i` per ampere driven into point `j`, row by row.
    pub(super) transfer: Vec<f64>,
    pub(super) meter_ohms: f64,
}

impl ProbeTable {
    /// The points, in the order given.
    #[must_use]
    pub fn points(&self) -> &[NodeId] {
        &self.points
    }

    /// Resistance of the meter, in ohms.
    #[must_use]
    pub fn meter_ohms(&self) -> f64 {
        self.meter_ohms
    }

    /// The pair of points numbered `plus` and `minus` in the list, with nothing connected.
    ///
    /// # Panics
    /// If there are not as many points; likewise [`ProbeTable::reading`].
    #[must_use]
    pub fn thevenin(&self, plus: usize, minus: usize) -> Thevenin {
        if plus == minus {
            return Thevenin {
                volts: 0.0,
                ohms: 0.0,
            };
        }
        if self.islands[plus] != self.islands[minus] {
            return Thevenin {
                volts: 0.0,
                ohms: f64::INFINITY,
            };
        }
        let z = |i: usize, j: usize| self.transfer[i * self.points.len() + j];
        let ohms = (z(plus, plus) - z(plus, minus)) + (z(minus, minus) - z(minus, plus));
        // Rounding may leave a tiny negative value between points joined by an ideal source.
        Thevenin {
            volts: self.volts[plus] - self.volts[minus],
            ohms: ohms.max(0.0),
        }
    }

    /// Volts the meter shows with its positive lead on point `plus` and the other on `minus`.
    #[must_use]
    pub fn reading(&self, plus: usize, minus: usize) -> f64 {
        self.thevenin(plus, minus).volts_across(self.meter_ohms)
    }
}
