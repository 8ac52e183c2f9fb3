//! A rating with its own uncertainty, after M. E. Glickman, "The Glicko system" (1995): jobs are opponents of known strength,
//! and the share of points is the result.

/// Points of the scale that make one logit: 400 / ln 10.
const LOGIT: f64 = 173.717_792_761_304;
/// q of the paper, ln(10) / 400.
const Q: f64 = 1.0 / LOGIT;
/// A learner nobody knows anything about: the paper's initial deviation.
const UNKNOWN: f64 = 350.0;
/// Rating of a job of the middle level; the paper's usual centre.
const CENTRE: f64 = 1500.0;
/// The middle level.
const MIDDLE_LEVEL: f64 = 3.0;
/// How unsure the strength of a job of a level is: jobs of one level differ by a good half level (ours, not calibrated).
const JOB_DEVIATION: f64 = 100.0;
/// A newcomer is expected to earn this share of the points at level 1 (ours).
const NEWCOMER_SHARE: f64 = 0.7;
/// Days without practice after which nothing is known any more of somebody who was known to within 50 points (ours).
const FORGOTTEN_DAYS: f64 = 365.0;

/// Somebody's rating.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Glicko {
    /// Rating, points.
    pub rating: f64,
    /// Its standard deviation, points.
    pub deviation: f64,
}

/// One job as an opponent, with what came of it.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Opponent {
    /// Rating, points.
    pub rating: f64,
    /// Its standard deviation, points.
    pub deviation: f64,
    /// The result, 0 to 1.
    pub result: f64,
}

impl Opponent {
    /// A job of a level with the share of points earned. Levels are one logit apart, by convention.
    #[must_use]
    pub fn job(level: u8, result: f64) -> Opponent {
        Opponent {
            rating: CENTRE + LOGIT * (f64::from(level) - MIDDLE_LEVEL),
            deviation: JOB_DEVIATION,
            result,
        }
    }

    /// g of the paper: how much an unsure opponent counts.
    fn weight(&self) -> f64 {
        let share = Q * self.deviation / std::f64::consts::PI;
        1.0 / (1.0 + 3.0 * share * share).sqrt()
    }
}

impl Glicko {
    /// Somebody who has done nothing yet.
    #[must_use]
    pub fn newcomer() -> Glicko {
        let ahead = libm::log(NEWCOMER_SHARE / (1.0 - NEWCOMER_SHARE));
        Glicko {
            rating: Opponent::job(1, 0.0).rating + LOGIT * ahead,
            deviation: UNKNOWN,
        }
    }

    /// The share of points to be expected against an opponent, 0 to 1.
    #[must_use]
    pub fn expected(&self, opponent: &Opponent) -> f64 {
        let ahead = opponent.weight() * (self.rating - opponent.rating) / LOGIT;
        1.0 / (1.0 + libm::exp(-ahead))
    }

    /// The rating after one period of practice.
    #[must_use]
    pub fn after(self, period: &[Opponent]) -> Glicko {
        let (mut sum, mut information) = (0.0, 0.0);
        for opponent in period {
            let (weight, expected) = (opponent.weight(), self.expected(opponent));
            sum += weight * (opponent.result - expected);
            information += Q * Q * weight * weight * expected * (1.0 - expected);
        }
        let precision = 1.0 / (self.deviation * self.deviation) + information;
        Glicko {
            rating: self.rating + Q / precision * sum,
            deviation: (1.0 / precision).sqrt(),
        }
    }

    /// The same person some days later: less is known.
    #[must_use]
    pub fn rested(self, days: i64) -> Glicko {
        let a_day = (UNKNOWN * UNKNOWN - 50.0 * 50.0) / FORGOTTEN_DAYS;
        let square = self.deviation * self.deviation + a_day * days.max(0) as f64;
        Glicko {
            deviation: square.sqrt().min(UNKNOWN),
            ..self
        }
    }

    /// The level at which half of the points are to be expected.
    #[must_use]
    pub fn level(&self) -> f64 {
        MIDDLE_LEVEL + (self.rating - CENTRE) / LOGIT
    }

    /// Its standard error, levels.
    #[must_use]
    pub fn level_error(&self) -> f64 {
        self.deviation / LOGIT
    }

    /// The level to practise at: the hardest at which about `NEWCOMER_SHARE` of the points are to be expected.
    #[must_use]
    pub fn suits(&self) -> u8 {
        // Half a step of kindness: a level is taken once it is nearer than the one below.
        let enough = NEWCOMER_SHARE - 0.06;
        let fits = |level: &u8| self.expected(&Opponent::job(*level, 0.0)) >= enough;
        (1..=5).rev().find(fits).unwrap_or(1)
    }
}
