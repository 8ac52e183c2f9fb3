//! Harness wire: what a length of it measures.

use std::f64::consts::PI;

/// One size of harness wire.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conductor {
    /// Nominal size in square millimetres.
    pub size_mm2: f64,
    /// Highest resistance at 20 degrees Celsius, in ohms a metre.
    pub ohms_per_m: f64,
    /// Number of strands of the usual construction.
    pub strands: u32,
    /// Diameter of one strand in metres.
    pub strand_m: f64,
}

/// Resistivity of annealed copper at 20 degrees Celsius, in ohm metres: 100 % IACS of IEC 60028,
/// as quoted by the Copper Development Association.
pub const COPPER_OHM_M: f64 = 0.017_241e-6;

/// Stranding and area tolerance let harness wire exceed the resistance of a solid conductor of
/// its nominal size; the ISO 6722 limits lie 5.6 to 10.5 % above it. Sizes outside the table are
/// taken in the middle.
const STRANDING: f64 = 1.08;

const fn conductor(size_mm2: f64, milliohms_per_m: f64, strands: u32, strand_mm: f64) -> Conductor {
    Conductor { size_mm2, ohms_per_m: milliohms_per_m / 1e3, strands, strand_m: strand_mm / 1e3 }
}

/// Resistance limits of ISO 6722 at 20 degrees Celsius, read through makers' tables of FLRY-B and
/// FLY wire (16 and 25 mm2 from memory); strand counts are the usual ones of those makers.
pub const SIZES: [Conductor; 13] = [
    conductor(0.35, 54.4, 12, 0.20),
    conductor(0.5, 37.1, 16, 0.21),
    conductor(0.75, 24.7, 24, 0.21),
    conductor(1.0, 18.5, 32, 0.21),
    conductor(1.5, 12.7, 30, 0.26),
    conductor(2.0, 9.42, 28, 0.31),
    conductor(2.5, 7.60, 50, 0.26),
    conductor(3.0, 6.15, 44, 0.31),
    conductor(4.0, 4.71, 56, 0.31),
    conductor(6.0, 3.14, 84, 0.31),
    conductor(10.0, 1.82, 80, 0.41),
    conductor(16.0, 1.16, 126, 0.41),
    conductor(25.0, 0.743, 196, 0.41),
];

impl Conductor {
    /// Wire of a nominal area in square metres. A size of the table is taken from it; any other
    /// (an American gauge, say) is computed from copper's resistivity.
    #[must_use]
    pub fn of_area(area_m2: f64) -> Self {
        /// Two writings of one size differ by rounding only.
        const SAME: f64 = 1e-6;
        /// Strand taken for sizes outside the table, in metres.
        const STRAND_M: f64 = 0.26e-3;
        let size_mm2 = area_m2 * 1e6;
        let listed = SIZES.iter().find(|size| (size.size_mm2 - size_mm2).abs() <= SAME * size_mm2);
        listed.copied().unwrap_or_else(|| {
            let strands = (area_m2 / strand_area_m2(STRAND_M)).clamp(1.0, 10_000.0);
            Self {
                size_mm2,
                ohms_per_m: COPPER_OHM_M / area_m2 * STRANDING,
                // Clamped to a range that fits.
                strands: libm::round(strands) as u32,
                strand_m: STRAND_M,
            }
        })
    }

    /// Cross-section of one strand in square metres.
    #[must_use]
    pub fn strand_area_m2(&self) -> f64 {
        strand_area_m2(self.strand_m)
    }
}

fn strand_area_m2(diameter_m: f64) -> f64 {
    PI / 4.0 * diameter_m * diameter_m
}
