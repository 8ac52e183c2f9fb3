//! Jobs with two faults: how likely each pair is at first, and what is left once one of the two is cured.
//!
//! A pair comes in as often as the generator draws its kinds together, as far as both together have the customer speak
//! as he did. A road test after a repair says whether one of the two is cured; then belief goes over to the other, and
//! readings are held against that alone.

use super::account::Account;
use super::belief::Belief;
use super::likelihood::drive_log;
use super::pairs::Pairs;
use super::prior::TOLD_OTHERWISE;
use super::weigh::{Evidence, Number};
use crate::fault::{self, Fault};
use crate::rig::Symptom;
use crate::scenario::{PAIRED_LEVEL, Told, Usage, fault_weights, follows, other_kinds};

/// Share of faults that a road test does not show, among those that neither follow from the other one nor brought it
/// about; counted over 600 jobs, against the share of such draws.
const SILENT: f64 = 0.1;
/// Probability that a repair cured one of two faults from which the other alone is looked for.
const FOUND_FROM: f64 = 0.5;
/// Share of belief in the other that begins anew, as what was read before was read of both; ours, set by jobs of simulated
/// learners.
const AFRESH: f64 = 0.5;

/// How readily the customer of a vehicle with both speaks as he did: of what both show, or of what the graver hides the
/// other with.
fn says(told: &Told, [one, other]: [&[Symptom]; 2]) -> f64 {
    let mut both = [one, other].concat();
    both.sort_unstable();
    both.dedup();
    [&both[..], one, other]
        .into_iter()
        .map(|noticed| told.likelihood(PAIRED_LEVEL, noticed))
        .fold(TOLD_OTHERWISE, f64::max)
}

impl Account {
    /// Begins belief in pairs.
    pub(super) fn hide_two(&mut self, usage: Usage, told: &Told) {
        let vehicle = self.forecasts.vehicle();
        let catalogue = &self.catalogue;
        let sites = fault::sites(vehicle, catalogue);
        let weights = fault_weights(vehicle, catalogue, &sites, PAIRED_LEVEL, usage);
        let kinds = catalogue.kinds.len();
        let together: Vec<Vec<f64>> = (0..kinds)
            .map(|kind| {
                let known = fault::KindId(kind);
                let others = other_kinds(catalogue, &sites, &weights, known);
                let share = f64::from(weights[kind]).max(1.0);
                others.into_iter().map(|other| share * other).collect()
            })
            .collect();
        let draws = self.forecasts.draws();
        let mut of_kind = vec![0.0_f64; kinds];
        for fault in draws.iter().filter_map(|draw| draw.fault) {
            of_kind[fault.kind.0] += 1.0;
        }
        let mut lists: Vec<&[Symptom]> = draws.iter().map(|draw| &draw.symptoms[..]).collect();
        lists.sort_unstable();
        lists.dedup();
        let list = |draw: usize| lists.binary_search(&&draws[draw].symptoms[..]).unwrap_or(0);
        let list_of: Vec<usize> = (0..draws.len()).map(list).collect();
        let said: Vec<Vec<f64>> = lists
            .iter()
            .map(|one| lists.iter().map(|other| says(told, [one, other])).collect())
            .collect();
        // What does not show comes in hidden behind what it belongs to.
        let shows = |index: usize, fault: &Fault, other: &Fault| {
            let linked = follows(catalogue, fault.kind, other.kind)
                || follows(catalogue, other.kind, fault.kind);
            if linked || !draws[index].symptoms.is_empty() {
                1.0
            } else {
                SILENT
            }
        };
        let weight = |i: usize, j: usize| match (&draws[i].fault, &draws[j].fault) {
            (Some(one), Some(other)) if one.site.part != other.site.part => {
                let (a, b) = (one.kind.0, other.kind.0);
                (together[a][b] + together[b][a]) / (of_kind[a] * of_kind[b])
                    * said[list_of[i]][list_of[j]]
                    * shows(i, one, other)
                    * shows(j, other, one)
            }
            _ => 0.0,
        };
        self.two = Pairs::new(draws.len(), weight, &self.belief.draws());
        self.hold_the_nearer();
    }

    /// Takes something into belief in pairs; false where one fault is all there is.
    pub(super) fn take_in_of_two(&mut self, evidence: &Evidence) -> bool {
        let sound = self.sound_draw();
        let Some(pairs) = &mut self.two else {
            return false;
        };
        match &evidence.number {
            Some(Number::Read(predicted, reading)) => {
                if let Some(usual) = &predicted[sound] {
                    pairs.read(predicted, usual, reading);
                }
            }
            Some(Number::Proved(reading)) => pairs.prove(reading),
            None => pairs.see(&evidence.logs, evidence.logs[sound].unwrap_or(0.0)),
        }
        self.hold_the_nearer();
        true
    }

    /// Belief in the one of each pair whose repair is surer.
    fn hold_the_nearer(&mut self) {
        let repairs = self.repair_probabilities();
        if let Some(pairs) = &self.two {
            let of = self.belief.hypothesis_of();
            let worth = |draw: usize| repairs[self.repairs().class_of()[of[draw]]];
            let mixed = pairs.each_as_one(worth);
            self.belief = Belief::weighted(of.to_vec(), &mixed);
        }
    }

    /// After a road test of a repaired vehicle that showed `symptoms`: if a repair has cured one of two faults, belief goes
    /// over to the other.
    pub(super) fn look_for_the_other(&mut self, symptoms: &[Symptom]) {
        let setup = self.track.setup();
        let cured = self.forecasts.cured(setup);
        let Some(pairs) = self
            .two
            .take_if(|pairs| pairs.one_and_both(&cured).0 >= FOUND_FROM)
        else {
            return;
        };
        let due = self.forecasts.drives(setup);
        let mut fresh = pairs.left_at_first(&cured);
        for (p, due) in fresh.iter_mut().zip(&due) {
            *p *= libm::exp(drive_log(due, symptoms));
        }
        let whole: f64 = fresh.iter().sum();
        let left = pairs.left(&cured);
        let mixed: Vec<f64> = left
            .iter()
            .zip(&fresh)
            .map(|(left, fresh)| {
                (1.0 - AFRESH) * left + AFRESH * fresh / whole.max(f64::MIN_POSITIVE)
            })
            .collect();
        self.belief = Belief::weighted(self.belief.hypothesis_of().to_vec(), &mixed);
        // What was told before was told of both together.
        self.told.clear();
        self.heard.clear();
    }
}
