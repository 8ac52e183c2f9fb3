//! How much some jobs say about a person.

use serde::{Deserialize, Serialize};

/// Jobs below which a mean is for practice only.
pub const FEWEST_JOBS: usize = 10;

/// A mean over jobs with its standard error.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Standing {
    /// Jobs it rests on.
    pub jobs: usize,
    /// Their mean, points.
    pub mean: f64,
    /// Standard error of the mean, points.
    pub standard_error: f64,
    /// Too few jobs to say anything about a person.
    pub practice_only: bool,
    /// The above in a sentence.
    pub says: String,
}

/// Standard deviation of one person's total between jobs, points: what simulated learners of one habit show (see
/// `docs/scoring.md`). It stands in for the spread of a person who has done fewer than two jobs.
const BETWEEN_JOBS: f64 = 15.0;

impl Standing {
    /// What these totals say together.
    #[must_use]
    pub fn of(totals: &[f64]) -> Standing {
        let jobs = totals.len();
        let count = jobs.max(1) as f64;
        let mean = totals.iter().sum::<f64>() / count;
        let squares: f64 = totals.iter().map(|t| (t - mean) * (t - mean)).sum();
        let spread = if jobs < 2 {
            BETWEEN_JOBS
        } else {
            (squares / (count - 1.0)).sqrt()
        };
        let standard_error = spread / count.sqrt();
        let practice_only = jobs < FEWEST_JOBS;
        let little = if jobs == 1 { "job says" } else { "jobs say" };
        let says = if practice_only {
            format!(
                "Practice only: {jobs} {little} little about a person. The mean could easily be {:.0} points higher or lower \
by the luck of the jobs; from {FEWEST_JOBS} jobs on it begins to mean something.",
                2.0 * standard_error
            )
        } else {
            format!(
                "{mean:.0} points over {jobs} jobs; the luck of the jobs alone could move that by {:.0} points either way.",
                2.0 * standard_error
            )
        };
        Standing {
            jobs,
            mean,
            standard_error,
            practice_only,
            says,
        }
    }
}
