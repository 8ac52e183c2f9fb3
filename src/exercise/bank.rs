//! Codes of equal difficulty, for exercises that give each learner their own.
//!
//! Every generated vehicle is certified, and its certificate states a difficulty: one number in which doubling the
//! minutes of the reference's tests counts like one bit more to be found. Of the candidates in order of difficulty the run
//! that differs least is taken.

/// Difference of the hardest to the easiest that still counts as equal. Ours: half a bit, or 1.4 times the minutes.
pub const EQUAL: f64 = 0.5;
/// Candidates for each code wanted.
pub const CANDIDATES: usize = 4;

/// A candidate with its difficulty.
#[derive(Clone, PartialEq, Debug)]
pub struct Candidate {
    /// Its scenario code.
    pub code: String,
    /// The difficulty its certificate states.
    pub difficulty: f64,
}

/// The `wanted` candidates that differ least, and by how much they do.
#[must_use]
pub fn nearest(mut candidates: Vec<Candidate>, wanted: usize) -> Option<(Vec<Candidate>, f64)> {
    candidates.sort_by(|a, b| {
        let harder = a.difficulty.total_cmp(&b.difficulty);
        harder.then_with(|| a.code.cmp(&b.code))
    });
    let width = |run: &[Candidate]| match run {
        [first, .., last] => last.difficulty - first.difficulty,
        _ => 0.0,
    };
    let runs = candidates.windows(wanted.max(1));
    let best = runs
        .map(|run| (width(run), run))
        .reduce(|best, next| if next.0 < best.0 { next } else { best })?;
    Some((best.1.to_vec(), best.0))
}
