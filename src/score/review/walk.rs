//! The attempt walked once more, each decision judged on what could be known when it was made.
//!
//! The regret of a decision is what it and the reference after it are expected to cost, less what the reference was
//! expected to cost from there. Luck is in neither: both use the belief of the moment, never the truth.

use std::collections::BTreeSet;

use super::described;
use super::{Effort, NextStep, Reviewed, Verdict};
use crate::bay::{Action, Closed, Entry, Fact};
use crate::evidence::decision::{LIMITS, counted_regret, is_redundant};
use crate::evidence::{
    Account, Advice, Depth, Done, Next, Planner, Pool, Reference, Setup, Standing, per_minute,
};
use crate::scenario::PAIRED_LEVEL;
use crate::score::WEIGHTS;
use crate::score::technique;
use crate::score::trace::Trace;

/// States valued for one decision.
const STATES: u64 = 4_000;
/// How far the reference of one decision looks ahead.
const DEPTH: Depth = Depth::Rollout;
/// Bits from which a test can be called telling.
const TELLING_BITS: f64 = 0.3;
/// Volts below which a repeated reading is a proof of its tip rather than a repetition.
const NEAR_ZERO_V: f64 = 0.1;

/// An attempt judged step by step.
pub(in crate::score) struct Walk {
    /// Every action.
    pub actions: Vec<Reviewed>,
    /// Repairs and the handing back: how each stood when it was decided on.
    pub conclusions: Vec<Conclusion>,
    /// What the reference expected the job to cost at first, minutes; nothing if it was not planned.
    pub expected: Option<f64>,
    /// Regret that counts, minutes.
    pub regret: f64,
    /// Belief after it all.
    pub account: Account,
    /// Probability of each repair after the work order alone.
    pub begun: Vec<f64>,
    /// Repairs that are right for what was hidden.
    pub rights: Vec<usize>,
}

/// A decision to repair something, or to hand back.
#[derive(Clone, Copy, Debug)]
pub(in crate::score) struct Conclusion {
    /// Number of the action.
    pub action: u32,
    /// Probability at that moment that it was right.
    pub probability: f64,
    /// The evidence spoke for it.
    pub justified: bool,
    /// What it was.
    pub repair: bool,
}

/// What one action was, for judging it.
struct Judge<'a> {
    closed: &'a Closed,
    account: Account,
    effort: Effort,
    walk: Vec<Reviewed>,
    conclusions: Vec<Conclusion>,
    expected: Option<f64>,
    regret: f64,
    /// Actions that prove the meter.
    proofs: BTreeSet<u32>,
    /// A fuse has been renewed that whatever is mended had blown.
    renewed: bool,
    /// The problem as it stands, while belief has not changed.
    planned: Option<Reference>,
}

/// What the reference made of one decision.
struct Weighed {
    /// Cost of the choice and the reference after it, minutes.
    q: f64,
    /// Cost of the reference alone, minutes.
    v: f64,
    /// What stopping at once would have cost, minutes.
    stop: f64,
    advice: Option<Advice>,
    bits: Option<f64>,
}

/// Walks through an attempt.
pub(in crate::score) fn walk(closed: &Closed, pool: &Pool, effort: Effort) -> Walk {
    let account = Account::begin(pool, closed.level, &closed.order);
    let begun = account.repair_probabilities();
    let rights = account.rights(&closed.truth);
    let mut judge = Judge {
        closed,
        account,
        effort,
        walk: Vec::new(),
        conclusions: Vec::new(),
        expected: None,
        regret: 0.0,
        proofs: technique::proofs(closed, &Trace::of(closed, &WEIGHTS)),
        renewed: false,
        planned: None,
    };
    let share = |p: &[f64]| rights.iter().map(|&r| p[r]).sum::<f64>();
    let mut before = (0.0, 0, share(&begun));
    for entry in &closed.ledger {
        let minutes = (entry.clock_s - before.0) / 60.0;
        let money = entry.spent.0 - before.1;
        let mut reviewed = judge.judge(entry, minutes, money);
        let now = judge.account.steps().last();
        let right = now.map_or(before.2, |step| share(&step.repairs));
        let told = (reviewed.expected_bits.is_some() || right != before.2)
            && before.2 > 0.0
            && right > 0.0;
        reviewed.told_bits = told.then(|| libm::log2(right / before.2));
        judge.walk.push(reviewed);
        before = (entry.clock_s, entry.spent.0, right);
    }
    Walk {
        actions: judge.walk,
        conclusions: judge.conclusions,
        expected: judge.expected,
        regret: judge.regret,
        account: judge.account,
        begun,
        rights,
    }
}

/// Work that people's safety and the reading's honesty ask for, or that only says something: it has no regret.
fn is_duty(action: &Action) -> bool {
    action.is_paper()
        || matches!(
            action,
            Action::Call { .. }
                | Action::Protect
                | Action::Relieve
                | Action::Isolate(_)
                | Action::Stands
                | Action::Tip(_)
                | Action::Zero
                | Action::ClampZero
                | Action::ClampOff
                | Action::MeterOff
                | Action::LampOff
                | Action::LoadOff
                | Action::JumperOff
                | Action::Gauge(None)
                | Action::Plug(_)
                | Action::Scrape(_)
                | Action::Record(_)
                | Action::Range(_)
                | Action::Helper(_)
        )
}

impl Judge<'_> {
    fn judge(&mut self, entry: &Entry, minutes: f64, money: i64) -> Reviewed {
        let vehicle = &self.closed.vehicle;
        // Time that nobody works or waits is not on the bill, and parts are: regret counts what is paid.
        let paid = money as f64 / per_minute(vehicle);
        // A new fuse that lasted goes with the mending of what blew the old one and is no decision of its own.
        let renews = self.closed.renewed_a_fuse(entry.number);
        self.renewed |= renews;
        let remedy = Setup::after_work(vehicle, &entry.action).filter(|_| !renews);
        let probability = match (&remedy, &entry.action) {
            (Some(work), _) => self.account.probability_of_cure(work),
            (None, Action::Handover) => self.account.probability_done(),
            _ => 0.0,
        };
        let standing = self.account.standing();
        let concludes = remedy.is_some() || entry.action == Action::Handover;
        // A road test after a repair proves the cure: that is asked for, whatever it costs.
        let proves = entry.action == Action::Drive && self.is_checking();
        let duty = is_duty(&entry.action) || renews;
        let plans = concludes || self.effort == Effort::Replanned && !duty && !proves;
        if let (true, Some(work)) = (plans, &remedy) {
            // The repair has to be among what is planned on before it is done.
            let repairs = self.account.repairs();
            let wanted = work.done().next().and_then(|done| repairs.position(done));
            self.planned = Reference::before_repair(&mut self.account, wanted).ok();
        } else if plans && self.planned.is_none() {
            self.planned = Reference::new(&mut self.account).ok();
        }
        let seen = self.account.weigh(entry);
        let weighed = if !plans {
            None
        } else if seen.is_empty() || remedy.is_some() || entry.action == Action::Handover {
            self.changed(&entry.action, &standing, paid)
        } else {
            let done = Done {
                seen: &seen,
                minutes: paid,
                before: standing.clone(),
            };
            self.tested(&done)
        };
        let silent = seen.is_empty();
        self.account.take(&seen);
        if !silent || remedy.is_some() || renews {
            self.planned = None;
        }
        let step = self.account.steps().last();
        let expected_bits = step.and_then(|step| step.expected_repair_bits);
        let mut reviewed = Reviewed {
            action: entry.number,
            what: described::action(vehicle, entry),
            shown: entry
                .readings
                .iter()
                .map(|reading| reading.shown.as_str())
                .collect::<Vec<_>>()
                .join(", "),
            minutes,
            money,
            expected_bits,
            told_bits: None,
            regret_minutes: None,
            regret_money: None,
            counted_minutes: None,
            verdicts: Vec::new(),
            why: String::new(),
            surest: step.map_or(0.0, |step| step.surest_repair),
            reference: None,
        };
        let mut counted = 0.0;
        if let Some(weighed) = &weighed {
            self.expected.get_or_insert(weighed.v);
            counted = counted_regret(weighed.q, weighed.v, &LIMITS);
            self.regret += counted;
            self.fill(&mut reviewed, weighed, counted);
        }
        if remedy.is_some() || entry.action == Action::Handover {
            let cheap = weighed.is_some()
                && (counted == 0.0 || probability > 0.5 && counted <= LIMITS.close);
            self.conclude(&mut reviewed, entry, probability, cheap);
        } else {
            self.tell(&mut reviewed, entry, weighed.as_ref(), counted, silent);
        }
        reviewed
    }

    /// A decision without a reading: what it changed, by the same plan before and after.
    fn changed(&self, action: &Action, before: &Standing, paid: f64) -> Option<Weighed> {
        let reference = self.planned.as_ref()?;
        let mut planner = Planner::new(reference.problem(), STATES);
        let (from, to) = (
            reference.state_at(before),
            reference.state_at(&self.account.standing()),
        );
        let v = planner.value(DEPTH, &from);
        let q = if *action == Action::Handover {
            reference.minutes_to_hand_back()
        } else {
            paid + planner.value(DEPTH, &to)
        };
        let advice = (q - v > LIMITS.deadband).then(|| reference.advice_by(&mut planner, DEPTH));
        Some(Weighed {
            q,
            v,
            stop: reference.problem().stop(&from).1,
            bits: advice.and_then(|advice| bits_of(reference, &advice)),
            advice,
        })
    }

    fn tested(&mut self, done: &Done) -> Option<Weighed> {
        let reference = Reference::with(&mut self.account, done).ok()?;
        let mut planner = Planner::new(reference.problem(), STATES);
        let v = planner.value(DEPTH, &reference.state());
        let after = reference.state_at(&self.account.standing());
        let q = reference
            .minutes_of_done(&mut planner, DEPTH)
            .filter(|q| q.is_finite())
            .unwrap_or_else(|| done.minutes + planner.value(DEPTH, &after));
        let advice = reference.advice_by(&mut planner, DEPTH);
        Some(Weighed {
            q,
            v,
            stop: reference.minutes_to_stop(),
            bits: bits_of(&reference, &advice),
            advice: Some(advice),
        })
    }

    fn fill(&self, reviewed: &mut Reviewed, weighed: &Weighed, counted: f64) {
        let regret = (weighed.q - weighed.v).max(0.0);
        reviewed.regret_minutes = Some(regret);
        #[expect(
            clippy::cast_possible_truncation,
            reason = "a job's money is far below what i64 holds"
        )]
        let money = libm::round(regret * per_minute(&self.closed.vehicle)) as i64;
        reviewed.regret_money = Some(money);
        reviewed.counted_minutes = Some(counted);
        if counted > 0.0 {
            reviewed.reference = weighed.advice.map(|advice| NextStep {
                what: described::next(
                    &self.closed.vehicle,
                    self.account.repairs().all(),
                    &advice.next,
                ),
                bits: weighed.bits,
                worth_minutes: (weighed.stop - weighed.v).max(0.0),
                rest_minutes: weighed.v,
            });
        }
    }

    /// A repair or the handing back: whether the evidence of the moment spoke for it.
    fn conclude(
        &mut self,
        reviewed: &mut Reviewed,
        entry: &Entry,
        probability: f64,
        without_regret: bool,
    ) {
        let handover = entry.action == Action::Handover;
        let justified = probability >= LIMITS.sure || without_regret;
        self.conclusions.push(Conclusion {
            action: entry.number,
            probability,
            justified,
            repair: !handover,
        });
        let right = entry.facts.iter().any(|fact| match fact {
            Fact::Remedied { cured, .. } | Fact::Filled { cured, .. } => *cured,
            Fact::HandedBack { faults_left, .. } => *faults_left == 0,
            _ => false,
        });
        let percent = libm::round(probability * 100.0);
        let sure = if handover {
            format!(
                "By the readings up to here, about {percent:.0} of 100 such vehicles would have been all right now."
            )
        } else if self.closed.level == PAIRED_LEVEL {
            format!(
                "By the readings up to here, this would have put something right in about {percent:.0} of 100 such vehicles."
            )
        } else {
            format!(
                "By the readings up to here, about {percent:.0} of 100 such vehicles would have been all right after this."
            )
        };
        let likely = probability > 0.5;
        let (verdicts, end) = match (justified, right) {
            (true, true) if likely => (vec![Verdict::Justified], ""),
            (true, true) => (
                vec![Verdict::Justified],
                " That is little, but no test was worth more than simply trying.",
            ),
            (true, false) if likely => (
                vec![Verdict::Justified, Verdict::Unlucky],
                " It was a sound decision that happened to be wrong.",
            ),
            (true, false) => (
                vec![Verdict::Justified],
                " That is little, but no test was worth more than simply trying; that it cured nothing is no surprise.",
            ),
            (false, true) if handover => {
                (vec![Verdict::Unjustified], " A check would have made sure.")
            }
            (false, true) if likely => (
                vec![Verdict::Unjustified, Verdict::Lucky],
                " It was likely and it was right, but a test would have made sure for less than a wrong repair costs.",
            ),
            (false, true) => (
                vec![Verdict::Unjustified, Verdict::Lucky],
                " It happened to be right; the same guess will usually be wrong.",
            ),
            (false, false) => (
                vec![Verdict::Unjustified],
                " A test first would have cost less than being wrong.",
            ),
        };
        reviewed.verdicts = verdicts;
        reviewed.why = format!("{sure}{end}");
    }

    /// Something has been repaired, so that tests may be there to prove the cure.
    fn is_checking(&self) -> bool {
        self.renewed || self.conclusions.iter().any(|made| made.repair)
    }

    fn tell(
        &self,
        reviewed: &mut Reviewed,
        entry: &Entry,
        weighed: Option<&Weighed>,
        counted: f64,
        silent: bool,
    ) {
        let bits = reviewed.expected_bits.unwrap_or(0.0);
        let worth = weighed.map_or(0.0, |weighed| weighed.v - weighed.q);
        let proves = entry.readings.iter().all(|reading| {
            reading
                .value
                .is_none_or(|value| libm::fabs(value) < NEAR_ZERO_V)
        });
        let tests = matches!(
            entry.action,
            Action::Meter { .. }
                | Action::ReadMeter
                | Action::Look(_)
                | Action::Listen
                | Action::Feel(_)
                | Action::Flow { .. }
                | Action::Open(_)
                | Action::Lamp { .. }
                | Action::Load { .. }
        );
        let proves = silent && proves || self.proofs.contains(&entry.number);
        if tests && !proves && !self.is_checking() && is_redundant(bits, worth, &LIMITS) {
            reviewed.verdicts.push(Verdict::Redundant);
            reviewed.why = if silent {
                "The same had been read before, and nothing had been changed since: it could tell nothing new.".to_owned()
            } else {
                "Whatever it had shown, the likely repairs would have stayed as likely as before."
                    .to_owned()
            };
        } else if counted > 0.0 {
            reviewed.verdicts.push(Verdict::Dear);
            "There was a cheaper way to go on.".clone_into(&mut reviewed.why);
        } else if bits >= TELLING_BITS {
            reviewed.verdicts.push(Verdict::Telling);
            "Whatever it showed, it could set some of the likely repairs apart from others."
                .clone_into(&mut reviewed.why);
        }
    }
}

fn bits_of(reference: &Reference, advice: &Advice) -> Option<f64> {
    match advice.next {
        Next::Probe(probe) => reference.bits(probe),
        Next::Repair(_) => None,
    }
}
