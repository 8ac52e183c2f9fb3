//! Which vehicles a code draws from, and whether their figures can be had: the eight set bits of a code.

/// Vehicles a code draws from.
///
/// Bits 0 to 6 stand for the first seven vehicles of the generator version, in the order it pins; none of them set
/// stands for all vehicles of that version. Bit 7: no service figures are to be had.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct VehicleSet(u8);

/// The bit that withholds the figures.
const WITHOUT_FIGURES: u8 = 0x80;

impl VehicleSet {
    /// Vehicles a set can tell apart.
    pub const MOST: usize = 7;

    /// All vehicles of a generator version.
    #[must_use]
    pub fn all() -> VehicleSet {
        VehicleSet(0)
    }

    /// The set that a code's eight bits stand for.
    #[must_use]
    pub fn from_bits(bits: u8) -> VehicleSet {
        VehicleSet(bits)
    }

    /// The eight bits for a code.
    #[must_use]
    pub fn bits(self) -> u8 {
        self.0
    }

    /// The set with the vehicle of this place in the version's order as well; nothing if no set can name it.
    #[must_use]
    pub fn with(self, place: usize) -> Option<VehicleSet> {
        (place < VehicleSet::MOST).then(|| VehicleSet(self.0 | 1 << place))
    }

    /// The same vehicles with no figures to be had.
    #[must_use]
    pub fn without_figures(self) -> VehicleSet {
        VehicleSet(self.0 | WITHOUT_FIGURES)
    }

    /// Whether figures are withheld.
    #[must_use]
    pub fn withholds_figures(self) -> bool {
        self.0 & WITHOUT_FIGURES != 0
    }

    /// Places of the vehicles meant, of `known` vehicles in all; nothing if the set names one beyond them.
    #[must_use]
    pub fn places(self, known: usize) -> Option<Vec<usize>> {
        let named: Vec<usize> = (0..VehicleSet::MOST)
            .filter(|place| self.0 >> place & 1 == 1)
            .collect();
        match named.last() {
            None => Some((0..known).collect()),
            Some(&last) => (last < known).then_some(named),
        }
    }
}
