//! Whether a decision was sound on what could be known, luck left out.
//!
//! Regret is what a choice and the reference after it are expected to cost, less what the reference is expected to
//! cost from there: it uses the belief of the moment and never the truth, so a lucky guess earns nothing. Its sum over
//! a policy's decisions is on average what the policy costs more than the reference, whatever the reference is
//! (Kakade and Langford 2002).

/// Limits by which decisions are judged. All are ours, to be tuned on learners.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Limits {
    /// Regret below this many cost units is not counted: nobody plans to the penny.
    pub deadband: f64,
    /// Nor is regret below this share of what the job is still expected to cost: the reference itself may be so far off.
    pub deadband_share: f64,
    /// A test expected to tell less than this many bits may be redundant.
    pub redundant_bits: f64,
    /// Probability of the chosen repair from which stopping can be justified.
    pub sure: f64,
    /// Regret up to which a repair that is likelier than not is justified as well: nobody was told our prior, and odds half
    /// or twice as good would have made it the best choice.
    pub close: f64,
}

/// The limits in force; `deadband` is in the unit of the costs.
pub const LIMITS: Limits = Limits {
    deadband: 1.0,
    deadband_share: 0.02,
    redundant_bits: 0.02,
    sure: 0.9,
    close: 5.0,
};

/// What a choice cost more than the reference's, as far as it counts: zero within the deadband, then all of it above.
#[must_use]
pub fn counted_regret(q: f64, v: f64, limits: &Limits) -> f64 {
    let regret = q - v;
    let deadband = limits.deadband.max(limits.deadband_share * libm::fabs(v));
    (regret - deadband).max(0.0)
}

/// Whether a test told too little to be worth doing: few bits expected *and* no worth even with all that may follow.
/// Either alone is no reason; tests that only tell something together have worth, a second look at a doubtful contact
/// has bits.
#[must_use]
pub fn is_redundant(expected_bits: f64, worth: f64, limits: &Limits) -> bool {
    expected_bits < limits.redundant_bits && worth <= 0.0
}

/// Whether stopping was justified: no test was worth more than its cost, and the repair was probable enough.
#[must_use]
pub fn is_justified(
    stop: f64,
    best_test: f64,
    probability_of_repair: f64,
    limits: &Limits,
) -> bool {
    let slack = limits
        .deadband
        .max(limits.deadband_share * libm::fabs(best_test));
    stop <= best_test + slack && probability_of_repair >= limits.sure
}

/// Outcome and method side by side.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Conclusion {
    /// Right, and for good reason.
    Earned,
    /// Right, without the evidence for it.
    Lucky,
    /// Wrong, though the evidence spoke for it.
    Unlucky,
    /// Wrong, and without evidence.
    Unfounded,
}

impl Conclusion {
    /// Puts the two together.
    #[must_use]
    pub fn of(right: bool, justified: bool) -> Conclusion {
        match (right, justified) {
            (true, true) => Conclusion::Earned,
            (true, false) => Conclusion::Lucky,
            (false, true) => Conclusion::Unlucky,
            (false, false) => Conclusion::Unfounded,
        }
    }
}

/// Efficiency from the counted regret of a job and what the reference expects it to cost: 1 for none, falling
/// exponentially. With `steepness` 1, a tenth too much gives 0.905, half 0.607, twice the cost 0.368.
#[must_use]
pub fn efficiency(counted_regret: f64, reference: f64, steepness: f64) -> f64 {
    if reference > 0.0 {
        libm::exp(-steepness * counted_regret / reference)
    } else {
        1.0
    }
}
