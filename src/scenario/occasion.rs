//! On what occasions something that comes and goes shows, as its driver has come to know it.

use crate::fault::{Activation, FaultKind};

/// What brings on something that is not always there.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Occasion {
    /// Bumps and vibration.
    Shaking,
    /// Rain and spray.
    Water,
    /// Having run for a while.
    Warmth,
}

/// Share of honest customers who have noticed what brings it on; ours, no source.
pub(super) const NOTICED: f64 = 0.7;

impl Occasion {
    /// Everything that may bring something on.
    pub(super) const ALL: [Occasion; 3] = [Occasion::Shaking, Occasion::Water, Occasion::Warmth];

    /// What brings faults of a kind on. Nothing for one that is always there; a high current goes with what the engine is asked for, which
    /// the symptoms tell.
    #[must_use]
    pub fn of(kind: &FaultKind) -> Option<Occasion> {
        match kind.activation {
            Activation::Wiggle => Some(Occasion::Shaking),
            Activation::Wet => Some(Occasion::Water),
            Activation::Hot => Some(Occasion::Warmth),
            Activation::Always | Activation::AboveAmps(_) => None,
        }
    }

    /// What drivers say of it.
    pub(super) fn lines(self) -> &'static [&'static str] {
        match self {
            Occasion::Shaking => &[
                "Not always, mind: a good pothole brings it on, and the next one may take it away again.",
                "It comes and goes. Worst of all over the cobbles by the slip.",
                "Then I slam a door and it may be gone, until the next bump.",
            ],
            Occasion::Water => &[
                "It's the rain that does it. On a dry day you'd never know.",
                "Always after a shower, or when I've crossed the ford. Dry, it behaves.",
            ],
            Occasion::Warmth => &[
                "Stone cold it never does it. It has to be warm first.",
                "Once it has stood and cooled, it's as good as new for a while.",
            ],
        }
    }

    /// What a customer's words say brings it on.
    pub(super) fn told(customer: &str) -> Option<Occasion> {
        let says =
            |occasion: &Occasion| occasion.lines().iter().any(|line| customer.contains(line));
        Occasion::ALL.into_iter().find(says)
    }
}
