//! Harness wire: what a length of it measures and how it is stranded.

use std::f64::consts::PI;

use crate::circuit::conductor::{ConductorError, ConductorSize, ISO_6722, ohms_per_metre};
use crate::units::Area;

/// One size of harness wire.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conductor {
    /// Resistance at 20 degrees Celsius, in ohms a metre; for metric sizes the limit of ISO 6722.
    pub ohms_per_m: f64,
    /// Number of strands of the usual construction.
    pub strands: u32,
    /// Diameter of one strand in metres.
    pub strand_m: f64,
}

/// Usual constructions of stranded harness wire: nominal mm2, strands, strand diameter in mm.
/// From memory of makers' FLRY-B and FLY tables; other sizes are taken with 0.26 mm strands.
const STRANDING: [(f64, u32, f64); 13] = [
    (0.35, 12, 0.20),
    (0.5, 16, 0.21),
    (0.75, 24, 0.21),
    (1.0, 32, 0.21),
    (1.5, 30, 0.26),
    (2.0, 28, 0.31),
    (2.5, 50, 0.26),
    (3.0, 44, 0.31),
    (4.0, 56, 0.31),
    (6.0, 84, 0.31),
    (10.0, 80, 0.41),
    (16.0, 126, 0.41),
    (25.0, 196, 0.41),
];

/// Strand diameter taken for sizes that are not listed, in metres.
const OTHER_STRAND_M: f64 = 0.26e-3;

/// Two writings of one size differ by rounding only.
const SAME_SIZE: f64 = 1e-6;

impl Conductor {
    /// Wire of a nominal cross-section.
    ///
    /// # Errors
    /// A cross-section no wire has.
    pub fn of_area(area: Area) -> Result<Self, ConductorError> {
        let mm2 = area.0 * 1e6;
        let same = |size: f64| (size - mm2).abs() <= SAME_SIZE * mm2;
        let listed = ISO_6722
            .iter()
            .map(|(size, _)| *size)
            .find(|size| same(*size));
        let gauge = area
            .nearest_awg()
            .filter(|(_, ratio)| (ratio - 1.0).abs() <= SAME_SIZE);
        let size = match (listed, gauge) {
            (Some(mm2), _) => ConductorSize::SquareMillimetres(mm2),
            (None, Some((gauge, _))) => ConductorSize::Awg(gauge),
            (None, None) => ConductorSize::SquareMillimetres(mm2),
        };
        let ohms_per_m = ohms_per_metre(size)?;
        let usual = STRANDING.iter().find(|(size, _, _)| same(*size));
        let (strands, strand_m) = usual.map_or_else(
            || (strands_in(area.0), OTHER_STRAND_M),
            |(_, strands, strand_mm)| (*strands, strand_mm / 1e3),
        );
        Ok(Self {
            ohms_per_m,
            strands,
            strand_m,
        })
    }

    /// Cross-section of one strand in square metres.
    #[must_use]
    pub fn strand_area_m2(&self) -> f64 {
        circle_m2(self.strand_m)
    }
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the clamp keeps the number within the integer's range"
)]
fn strands_in(area_m2: f64) -> u32 {
    libm::round((area_m2 / circle_m2(OTHER_STRAND_M)).clamp(1.0, 10_000.0)) as u32
}

fn circle_m2(diameter_m: f64) -> f64 {
    PI / 4.0 * diameter_m * diameter_m
}
