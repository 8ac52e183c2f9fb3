//! When to come back to something: the SM-2 rule as published by P. A. Wozniak (1990), with whole days rounded up.
//!
//! Any sensible spacing beats none; that intervals grow is no better than even ones (Latimier and others, 2021). The rule is
//! used because it is simple, published and the same everywhere.

/// How well something is remembered, for its next date.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Spacing {
    /// Successes in a row.
    streak: u32,
    /// Days until it is due again.
    pub interval: i64,
    /// Ease: how fast the interval grows.
    pub ease: f64,
}

impl Spacing {
    /// Ease at first, and the least there is.
    const FIRST_EASE: f64 = 2.5;
    const LEAST_EASE: f64 = 1.3;

    /// Something never met.
    #[must_use]
    pub fn new() -> Spacing {
        Spacing {
            streak: 0,
            interval: 0,
            ease: Spacing::FIRST_EASE,
        }
    }

    /// After it was met with a grade from 0 (blank) to 5 (perfect). Below 3 it starts again and the ease stays.
    #[must_use]
    pub fn after(self, grade: u8) -> Spacing {
        if grade < 3 {
            return Spacing {
                streak: 0,
                interval: 1,
                ..self
            };
        }
        let interval = match self.streak {
            0 => 1,
            1 => 6,
            _ => whole(libm::ceil(self.interval as f64 * self.ease - 1e-9)),
        };
        let short = f64::from(5 - grade.min(5));
        let ease = self.ease + 0.1 - short * (0.08 + short * 0.02);
        Spacing {
            streak: self.streak + 1,
            interval,
            ease: ease.max(Spacing::LEAST_EASE),
        }
    }

    /// The grade for a share of points: a fifth of the points for each step.
    #[must_use]
    pub fn grade(share: f64) -> u8 {
        let grade = libm::round(5.0 * share.clamp(0.0, 1.0));
        // Between 0 and 5 by the line above.
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let grade = grade as u8;
        grade
    }
}

impl Default for Spacing {
    fn default() -> Spacing {
        Spacing::new()
    }
}

/// Days as a whole number; longer than a working life is long enough.
fn whole(days: f64) -> i64 {
    const LONGEST: f64 = 36_500.0;
    #[expect(clippy::cast_possible_truncation)]
    let days = days.min(LONGEST) as i64;
    days
}
