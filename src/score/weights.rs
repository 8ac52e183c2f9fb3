//! The one table of weights. All figures are ours: a judgement of what matters, stated so that it can be argued with. An
//! exercise can change any of them; what it leaves out stays as it is here.

use serde::{Deserialize, Serialize};

use super::card::Points;

/// Version of these rules; it changes whenever a mark could come out differently.
pub const VERSION: &str = "3";

/// Points of every mark. The first thirteen sum to 100.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
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
    /// Evidence: each repair, and the handing back, decided on readings that spoke for it.
    pub justified: Points,
    /// Evidence: tests that could tell something.
    pub telling: Points,
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
    /// Something broken by the work itself takes this from the same mark.
    pub each_damage: Points,
    /// A trace of the work that may bring the vehicle back takes this from the same mark.
    pub each_trace: Points,
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
    /// A hint which section is in doubt takes this from the total.
    pub hint_section: Points,
    /// A hint which kind of test to do takes this from the total.
    pub hint_kind: Points,
    /// A hint which reading to take takes this from the total.
    pub hint_reading: Points,
    /// Serious dangers from which the total is limited as well.
    pub serious_count: usize,
    /// With so many serious dangers the total is at most this.
    pub serious_cap: Points,
    /// With a grave danger the total is at most this.
    pub grave_cap: Points,
}

/// The weights in force.
pub const WEIGHTS: Weights = Weights {
    complaint_gone: Points::whole(15),
    all_cured: Points::whole(15),
    verified: Points::whole(6),
    nothing_needless: Points::whole(4),
    cost: Points::whole(10),
    justified: Points::whole(15),
    telling: Points::whole(5),
    loaded: Points::whole(4),
    tips: Points::whole(3),
    instruments: Points::whole(2),
    leads: Points::whole(1),
    calls: Points::whole(10),
    safety: Points::whole(10),
    each_needless: Points::whole(2),
    each_damage: Points::whole(2),
    each_trace: Points(5),
    cost_ends_at: 3,
    each_misuse: Points::whole(1),
    each_subtraction: Points(5),
    sound_calls: 4,
    blind_reading: 60,
    no_reading: 40,
    wrong_call: Points(25),
    wrong_call_mended: Points::whole(1),
    minor: Points::whole(1),
    serious: Points::whole(4),
    grave: Points::whole(10),
    hint_section: Points::whole(1),
    hint_kind: Points::whole(2),
    hint_reading: Points::whole(4),
    serious_count: 3,
    serious_cap: Points::whole(60),
    grave_cap: Points::whole(40),
};

impl Default for Weights {
    fn default() -> Weights {
        WEIGHTS
    }
}

impl Weights {
    /// Points that can be earned in all.
    #[must_use]
    pub fn of(&self) -> Points {
        [
            self.complaint_gone,
            self.all_cured,
            self.verified,
            self.nothing_needless,
            self.cost,
            self.justified,
            self.telling,
            self.loaded,
            self.tips,
            self.instruments,
            self.leads,
            self.calls,
            self.safety,
        ]
        .into_iter()
        .sum()
    }
}
