//! The upper tail of the chi-square distribution.

/// Probability that a chi-square variable with `freedom` degrees of freedom exceeds `x`.
///
/// Series and continued fraction (modified Lentz) of the incomplete gamma function, standard literature.
#[must_use]
pub fn upper_tail(x: f64, freedom: f64) -> f64 {
    const MOST: u32 = 1000;
    const SMALL: f64 = 1e-15;
    let (a, x) = (freedom / 2.0, x / 2.0);
    if x <= 0.0 {
        return 1.0;
    }
    let front = libm::exp(a * libm::log(x) - x - libm::lgamma(a));
    if x < a + 1.0 {
        let (mut term, mut total, mut next) = (1.0 / a, 1.0 / a, a);
        for _ in 0..MOST {
            next += 1.0;
            term *= x / next;
            total += term;
            if term < total * SMALL {
                break;
            }
        }
        return 1.0 - front * total;
    }
    let tiny = f64::MIN_POSITIVE / SMALL;
    let mut place = x + 1.0 - a;
    let (mut over, mut under) = (1.0 / tiny, 1.0 / place);
    let mut fraction = under;
    for i in 1..=MOST {
        let term = -f64::from(i) * (f64::from(i) - a);
        place += 2.0;
        let guard = |value: f64| {
            if libm::fabs(value) < tiny {
                tiny
            } else {
                value
            }
        };
        under = 1.0 / guard(term * under + place);
        over = guard(place + term / over);
        fraction *= under * over;
        if libm::fabs(under * over - 1.0) < SMALL {
            break;
        }
    }
    front * fraction
}
