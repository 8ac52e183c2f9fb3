//! The one table of weights. All figures are ours: a judgement of what matters, stated so that it can be argued with.

use super::card::Points;

/// Version of these rules; it changes whenever a mark could come out differently.
pub const VERSION: &str = "1";

/// Points of every mark. The first eleven sum to 100.
pub struct Weights {
    /// Outcome: a driver notices nothing any more.
    pub complaint_gone: Points,
    /// Outcome: no hidden fault is left that could bring it back.
    pub all_cured: Points,
    /// Outcome: a road test or a loaded reading after the last repair.
    pub verified: Points,
    /// Outcome: nothing repaired or bought that needed none.
    pub nothing_needless: Points,
    /// Cost against the baseline.
    pub cost: Points,
    /// Technique: drops read while the pump draws current.
    pub loaded: Points,
    /// Technique: near-zero volts relied on only with tips that had been proved.
    pub tips: Points,
    /// Technique: ohms on dead circuits; ohms and clamp zeroed before they are relied on.
    pub instruments: Points,
    /// Technique: no lead drop subtracted from volts.
    pub leads: Points,
    /// Calls.
    pub calls: Points,
    /// Safety.
    pub safety: Points,

    /// A needless repair or part takes this from its mark.
    pub each_needless: Points,
    /// Cost earns nothing from this many times the baseline on.
    pub cost_ends_at: i64,
    /// A misused instrument takes this from its mark.
    pub each_misuse: Points,
    /// A subtracted lead drop takes this, from the second one on.
    pub each_subtraction: Points,
    /// Right calls of sound sections that fill their half of the calls.
    pub sound_calls: usize,
    /// A right call relying on a reading that cannot tell earns this many hundredths.
    pub blind_reading: i64,
    /// A right call without a reading earns this many hundredths.
    pub no_reading: i64,
    /// A wrong call takes this from the calls.
    pub wrong_call: Points,
    /// A wrong call put right later takes this.
    pub wrong_call_mended: Points,
    /// A minor danger takes this from safety.
    pub minor: Points,
    /// A serious danger takes this from safety.
    pub serious: Points,
    /// A grave danger takes this from safety.
    pub grave: Points,
    /// With a grave danger the total is at most this.
    pub grave_cap: Points,
}

/// The weights in force.
pub const WEIGHTS: Weights = Weights {
    complaint_gone: Points::whole(15),
    all_cured: Points::whole(15),
    verified: Points::whole(6),
    nothing_needless: Points::whole(4),
    cost: Points::whole(15),
    loaded: Points::whole(6),
    tips: Points::whole(4),
    instruments: Points::whole(3),
    leads: Points::whole(2),
    calls: Points::whole(20),
    safety: Points::whole(10),
    each_needless: Points::whole(2),
    cost_ends_at: 3,
    each_misuse: Points(15),
    each_subtraction: Points::whole(1),
    sound_calls: 4,
    blind_reading: 60,
    no_reading: 40,
    wrong_call: Points::whole(5),
    wrong_call_mended: Points::whole(2),
    minor: Points::whole(1),
    serious: Points::whole(4),
    grave: Points::whole(10),
    grave_cap: Points::whole(40),
};
