//! Hints in practice: from what the learner could know, never from what is hidden.
//!
//! A hint is worked out from the live belief and the reference's next step on it. It can be as wrong as an expert with the
//! same readings can be.

use super::card::Points;
use super::review::described;
use super::weights::Weights;
use crate::bay::Bay;
use crate::evidence::{Account, Depth, Next, Pool, Probe, Reference};
use crate::vehicle::Section;

/// How much a hint gives away.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum HintDepth {
    /// Which section is most in doubt.
    Section,
    /// Which kind of test would tell most for its cost.
    Kind,
    /// Which reading, to the point.
    Reading,
}

impl HintDepth {
    /// The word typed for it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            HintDepth::Section => "section",
            HintDepth::Kind => "kind",
            HintDepth::Reading => "reading",
        }
    }

    /// The number that stands for it in [`crate::bay::Action::Hint`]: 1 to 3.
    #[must_use]
    pub fn number(self) -> u8 {
        match self {
            HintDepth::Section => 1,
            HintDepth::Kind => 2,
            HintDepth::Reading => 3,
        }
    }

    /// What the hint takes from the marks.
    #[must_use]
    pub fn cost(self, weights: &Weights) -> Points {
        match self {
            HintDepth::Section => weights.hint_section,
            HintDepth::Kind => weights.hint_kind,
            HintDepth::Reading => weights.hint_reading,
        }
    }
}

/// A hint.
#[derive(Clone, PartialEq, Debug)]
pub struct Hint {
    /// How much it gives away.
    pub depth: HintDepth,
    /// The hint, a sentence or two.
    pub says: String,
    /// What it takes from the marks.
    pub cost: Points,
}

/// Somebody who watches the work, knows what the learner could know, and can be asked.
pub struct Coach {
    account: Account,
    taken: usize,
    weights: Weights,
}

/// States valued before a hint is given: some tens of milliseconds.
const HINT_STATES: u64 = 20_000;

impl Coach {
    /// A coach for work on a vehicle of the pool's type; the pool is for the level of the bay.
    #[must_use]
    pub fn new(pool: &Pool, bay: &Bay, weights: &Weights) -> Coach {
        Coach {
            account: Account::begin(pool, bay.level(), bay.work_order()),
            taken: 0,
            weights: *weights,
        }
    }

    /// Takes in what was done since last time.
    pub fn watch(&mut self, bay: &Bay) {
        for entry in &bay.ledger()[self.taken..] {
            self.account.observe(entry);
        }
        self.taken = bay.ledger().len();
    }

    /// Answers the question what to do next.
    pub fn hint(&mut self, bay: &Bay, depth: HintDepth) -> Hint {
        self.watch(bay);
        let says = match depth {
            HintDepth::Section => self.section(bay),
            HintDepth::Kind | HintDepth::Reading => self.test(bay, depth),
        };
        Hint {
            depth,
            says,
            cost: depth.cost(&self.weights),
        }
    }

    /// What the reference would do next; nothing if nothing can be planned any more.
    pub fn next(&mut self, bay: &Bay, depth: Depth) -> Option<Next> {
        self.watch(bay);
        let reference = Reference::new(&mut self.account).ok()?;
        Some(reference.advice(depth, HINT_STATES).next)
    }

    /// The belief behind the hints.
    #[must_use]
    pub fn account(&self) -> &Account {
        &self.account
    }

    /// How likely it is by now that there is trouble in each section, 0 to 1, in the order of [`Section::ALL`]. Two faults
    /// count in two sections.
    pub fn sections(&mut self, bay: &Bay) -> Vec<(Section, f64)> {
        self.watch(bay);
        let shares = self.shares(bay);
        Section::ALL.into_iter().zip(shares).collect()
    }

    /// The same for a coach that has watched.
    #[must_use]
    pub fn shares(&self, bay: &Bay) -> Vec<f64> {
        let mut shares = vec![0.0; Section::ALL.len()];
        let hypotheses = self.account.hypotheses();
        for (hypothesis, p) in hypotheses.iter().zip(self.account.probabilities()) {
            for section in hypothesis.sections(bay.vehicle(), bay.catalogue()) {
                let place = Section::ALL.iter().position(|s| *s == section);
                shares[place.unwrap_or(0)] += p;
            }
        }
        // Two faults in one section are counted twice.
        shares.into_iter().map(|p: f64| p.min(1.0)).collect()
    }

    fn section(&self, bay: &Bay) -> String {
        let shares = self.shares(bay);
        let mut order: Vec<usize> = (0..shares.len()).collect();
        order.sort_by(|&a, &b| shares[b].total_cmp(&shares[a]).then(a.cmp(&b)));
        let (first, second) = (Section::ALL[order[0]], Section::ALL[order[1]]);
        let tenths = libm::round(shares[order[0]] * 10.0);
        let (first, second) = (first.spoken(), second.spoken());
        if shares[order[0]] > 0.5 {
            let how_many = if tenths > 9.0 {
                "nearly all".to_owned()
            } else {
                format!("about {tenths:.0} of 10")
            };
            format!(
                "By what has been read so far, the {first} is most in doubt: {how_many} vehicles with these readings have their trouble there."
            )
        } else {
            format!(
                "By what has been read so far nothing stands out: the {first} and the {second} are most in doubt. A reading that tells the one \
from the other would help most."
            )
        }
    }

    fn test(&mut self, bay: &Bay, depth: HintDepth) -> String {
        let vehicle = bay.vehicle();
        let Ok(reference) = Reference::new(&mut self.account) else {
            return "There is nothing left that a test could tell apart.".to_owned();
        };
        let advice = reference.advice(Depth::Rollout, HINT_STATES);
        let repairs = self.account.repairs().all();
        match (advice.next, depth) {
            (Next::Repair(index), HintDepth::Reading) => format!(
                "Another test would cost more than it could tell. The likeliest by now: {}.",
                described::repair(vehicle, &repairs[index])
            ),
            (Next::Repair(_), _) => {
                "No test is worth its cost any more: decide on a repair by what has been read."
                    .to_owned()
            }
            (Next::Probe(probe), HintDepth::Reading) => {
                let step = described::probe(vehicle, repairs, probe);
                format!("Next would be: {step}.")
            }
            (Next::Probe(probe), _) => kind(probe).to_owned(),
        }
    }
}

/// A kind of test with the reason for it.
fn kind(probe: Probe) -> &'static str {
    match probe {
        Probe::Volts { pump: true, .. } => {
            "Volts under load would tell most for their cost: let the pump run, and see how many have been lost up to one more point of the loop."
        }
        Probe::Volts { pump: false, .. } => {
            "Volts with the key on and the pump at rest would tell most for their cost: they show where volts arrive at all."
        }
        Probe::Current(_) => {
            "The current clamp would tell most for its cost: how many amps does the pump take?"
        }
        Probe::Look(_) => {
            "A close look would tell most for its cost: some of what is in doubt could be seen."
        }
        Probe::Try(_) => {
            "One cheap repair with a road test after it would tell as much as any reading, for less."
        }
        Probe::Listen => {
            "Your ears would tell most for their cost: what does the pump do when it is commanded?"
        }
        Probe::Pressure => {
            "The pressure gauge would tell most for its cost: is the pump's work reaching the rail?"
        }
        Probe::LiftPressure => {
            "The pressure gauge, teed in behind the lift pump, would tell most for its cost: does the main pump get its fuel?"
        }
        Probe::Sample => {
            "A glass of the fuel would tell most for its cost: is it fuel, and only fuel, that the pump draws?"
        }
        Probe::Flow => {
            "A timed flow would tell most for its cost: how much does the pump really move?"
        }
    }
}
