//! Numbers read of one vehicle with two faults, as one normal vector.
//!
//! About what a sound vehicle shows, a fault moves each number by what its own draw tells, and the second by as much
//! again, times the share of the load that the first leaves. Tolerances move all numbers together, each instrument its
//! own, and each fault may be worse than drawn by so many standard deviations, which is integrated out. Numbers read
//! under load and without share no tolerance here: between them little is common, and each side is scaled by itself.

/// One number read, against what a sound vehicle shows.
#[derive(Clone, Debug)]
pub struct Number {
    /// What was read, less what a sound vehicle shows.
    pub off: f64,
    /// Variance that belongs to this number alone.
    pub variance: f64,
    /// Change with one standard deviation of each tolerance.
    pub slopes: Vec<f64>,
    /// The pump takes current.
    pub loaded: bool,
    /// What each draw's fault moves it by, and by how much more if it were worse by one standard deviation.
    pub moves: Vec<[f64; 2]>,
}

impl Number {
    /// By how many standard deviations it is off from what two draws lead to, the first of which leaves a `share` of the
    /// load.
    #[must_use]
    pub fn deviations(&self, [first, then]: [usize; 2], share: f64) -> f64 {
        let share = if self.loaded { share } else { 1.0 };
        let off = self.off - self.moves[first][0] - share * self.moves[then][0];
        let tolerance: f64 = self.slopes.iter().map(|slope| slope * slope).sum();
        let worse = [self.moves[first][1], share * self.moves[then][1]];
        let variance = self.variance + tolerance + worse[0] * worse[0] + worse[1] * worse[1];
        libm::fabs(off) / variance.sqrt()
    }
}

/// Numbers made independent of each other and of unit variance, those under load first.
pub struct Joint {
    off: Vec<f64>,
    /// By draw, then by number.
    moves: Vec<[f64; 2]>,
    /// Numbers under load.
    loaded: usize,
    /// Logarithm of what making them so has scaled the density by.
    scale_log: f64,
}

impl Joint {
    /// Of numbers that each tell of `draws`.
    #[must_use]
    pub fn of(numbers: &[&Number], draws: usize) -> Joint {
        let (under, rest): (Vec<&Number>, Vec<&Number>) =
            numbers.iter().partition(|number| number.loaded);
        let count = numbers.len();
        let mut joint = Joint {
            off: Vec::with_capacity(count),
            moves: vec![[0.0; 2]; draws * count],
            loaded: under.len(),
            scale_log: -0.5 * libm::log(core::f64::consts::TAU) * count as f64,
        };
        let mut first = 0;
        for part in [under, rest] {
            let size = part.len();
            let factor = cholesky(&part);
            joint.scale_log -= (0..size)
                .map(|k| libm::log(factor[k * size + k]))
                .sum::<f64>();
            let mut solved = vec![0.0; size];
            forward(&factor, &mut solved, |k| part[k].off);
            joint.off.extend_from_slice(&solved);
            for draw in 0..draws {
                for side in 0..2 {
                    forward(&factor, &mut solved, |k| part[k].moves[draw][side]);
                    let into = &mut joint.moves[draw * count + first..][..size];
                    for (value, cell) in solved.iter().zip(into) {
                        cell[side] = *value;
                    }
                }
            }
            first += size;
        }
        joint
    }

    /// Natural logarithm of the density of all numbers on a vehicle with the faults of two draws, the first of which
    /// leaves a `share` of the load.
    #[must_use]
    pub fn log_density(&self, [first, then]: [usize; 2], share: f64) -> f64 {
        let count = self.off.len();
        let of = |draw: usize| &self.moves[draw * count..(draw + 1) * count];
        // Products of what is left over and of the two directions of getting worse.
        let (mut left2, mut one_left, mut two_left) = (0.0, 0.0, 0.0);
        let (mut one2, mut both, mut two2) = (0.0, 0.0, 0.0);
        for (k, ((off, one), two)) in self.off.iter().zip(of(first)).zip(of(then)).enumerate() {
            let share = if k < self.loaded { share } else { 1.0 };
            let left = off - one[0] - share * two[0];
            let (one, two) = (one[1], share * two[1]);
            left2 += left * left;
            one_left += one * left;
            two_left += two * left;
            one2 += one * one;
            both += one * two;
            two2 += two * two;
        }
        // The determinant and the inverse of two by two that integrating them out leaves (Woodbury).
        let (one2, two2) = (1.0 + one2, 1.0 + two2);
        let whole = one2 * two2 - both * both;
        let explained = two2 * one_left * one_left - 2.0 * both * one_left * two_left
            + one2 * two_left * two_left;
        self.scale_log - 0.5 * (left2 - explained / whole + libm::log(whole))
    }
}

/// Lower factor of the covariance of some numbers of a vehicle with known faults.
fn cholesky(numbers: &[&Number]) -> Vec<f64> {
    /// Share of a number's own variance that rounding leaves of it at least.
    const LEAST: f64 = 1e-9;
    let size = numbers.len();
    let mut factor = vec![0.0; size * size];
    for i in 0..size {
        for j in 0..=i {
            let slopes = numbers[i].slopes.iter().zip(&numbers[j].slopes);
            let shared: f64 = slopes.map(|(a, b)| a * b).sum();
            let own = if i == j { numbers[i].variance } else { 0.0 };
            let before: f64 = (0..j)
                .map(|k| factor[i * size + k] * factor[j * size + k])
                .sum();
            let left = shared + own - before;
            factor[i * size + j] = if i == j {
                left.max(LEAST * own).sqrt()
            } else {
                left / factor[j * size + j]
            };
        }
    }
    factor
}

/// Solves a lower factor for `values`.
fn forward(factor: &[f64], into: &mut [f64], values: impl Fn(usize) -> f64) {
    let size = into.len();
    for k in 0..size {
        let before: f64 = (0..k).map(|m| factor[k * size + m] * into[m]).sum();
        into[k] = (values(k) - before) / factor[k * size + k];
    }
}
