//! Our own samplers, so that no library's distributions define what a code means.
//!
//! Each states how many words it takes. Integer work is exact; floating point uses IEEE basic
//! operations and `libm`.

use super::Stream;

impl Stream {
    /// A whole number below `n`, all equally likely (Lemire's multiply-shift with rejection:
    /// Lemire, "Fast random integer generation in an interval", 2019). One word, seldom more. With
    /// `n` = 0 there is nothing to choose: 0, no word taken.
    pub fn below(&mut self, n: u64) -> u64 {
        if n == 0 {
            return 0;
        }
        // Of the 2^64 words this many are too many for equal shares.
        let surplus = n.wrapping_neg() % n;
        loop {
            // The low half decides on rejection, the high half is the answer.
            let (low, high) = self.next_u64().carrying_mul(n, 0);
            if low >= surplus {
                return high;
            }
        }
    }

    /// A number in 0 <= x < 1, a multiple of 2^-53. One word.
    pub fn unit(&mut self) -> f64 {
        const STEP: f64 = 1.0 / (1_u64 << 53) as f64;
        (self.next_u64() >> 11) as f64 * STEP
    }

    /// A number between `low` and `high`, evenly spread. One word.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + self.unit() * (high - low)
    }

    /// A number between `low` and `high` (both above zero) whose logarithm is evenly spread. One
    /// word.
    pub fn log_between(&mut self, low: f64, high: f64) -> f64 {
        let drawn = libm::exp(self.between(libm::log(low), libm::log(high)));
        // Rounding in the logarithms may step over an end by the last digit.
        drawn.max(low).min(high)
    }

    /// A number close to a standard normal one, never beyond 6 on either side: twelve units summed,
    /// less 6. Twelve words.
    pub fn normal(&mut self) -> f64 {
        (0..12).fold(-6.0, |sum, _| sum + self.unit())
    }

    /// True with probability `p`; never for 0 or less, always for 1 or more. One word.
    pub fn chance(&mut self, p: f64) -> bool {
        self.unit() < p
    }

    /// Puts `items` in random order, all orders equally likely (Fisher-Yates from the last place
    /// down). One word for each place but one, seldom more.
    pub fn shuffle<T>(&mut self, items: &mut [T]) {
        for last in (1..items.len()).rev() {
            items.swap(last, self.index(last + 1));
        }
    }

    /// One of `items`, all equally likely; `None` if there are none. One word, seldom more.
    pub fn pick<'a, T>(&mut self, items: &'a [T]) -> Option<&'a T> {
        let place = self.index(items.len());
        items.get(place)
    }

    /// The place of one of `weights`, each as likely as its share of their sum; `None` if all are
    /// zero. One word, seldom more.
    pub fn weighted(&mut self, weights: &[u32]) -> Option<usize> {
        let total: u64 = weights.iter().copied().map(u64::from).sum();
        if total == 0 {
            return None;
        }
        let mut left = self.below(total);
        weights.iter().position(|weight| {
            let weight = u64::from(*weight);
            let here = left < weight;
            left = left.saturating_sub(weight);
            here
        })
    }

    /// A place in a list of `len`.
    #[expect(
        clippy::cast_possible_truncation,
        reason = "the answer is below `len`, which is a `usize`"
    )]
    fn index(&mut self, len: usize) -> usize {
        self.below(len as u64) as usize
    }
}
