//! How likely each thing is once the customer has spoken.
//!
//! Certified jobs are counted by the heading of their complaint ([`Frequencies`]); what was not counted follows the
//! generator's weights and what the draws show. Within a heading, what else the customer tells is judged by the draws.

use std::collections::BTreeMap;

use super::belief::Belief;
use super::draws::{Band, Draw, Hypothesis, Matter, Pool};
use super::frequencies::Frequencies;
use crate::fault;
use crate::scenario::{
    ODDITIES, Occasion, SEVERITY_DRAWS, TankTrouble, Told, Usage, fault_weights, severity_shares,
};

/// Share of what the generator never does, such as an empty tank at level 1: one that only readings against all else
/// can raise; ours, no source.
const UNHEARD_OF: f64 = 1e-3;
/// The same of a kind that a level draws only as what another has brought about, among all that is drawn; and of what no
/// vehicle at hand, or nothing of the kind, has its driver say.
const UNDRAWN: f64 = 1e-4;
const UNTOLD: f64 = 1e-4;
/// What a draw that would be told otherwise still counts, as a share of one that would be told so: between the draws at
/// hand lie others; ours, no source.
pub(super) const TOLD_OTHERWISE: f64 = 0.03;
/// Draws that the second thing told counts as much as, beside those at hand.
const PSEUDO_DRAWS: f64 = 0.1;

/// 1, or 0 of a fault that does not show: nobody brings it in.
fn brings_in(draw: &Draw) -> f64 {
    f64::from(u8::from(draw.is_sound() || !draw.symptoms.is_empty()))
}

/// A group of draws with how often it comes in, and each of them.
struct Weighed<'a> {
    matter: Matter,
    probability: f64,
    draws: Vec<(&'a Draw, f64)>,
}

impl Weighed<'_> {
    /// Mean over its draws.
    fn mean(&self, of: impl Fn(&Draw) -> f64) -> f64 {
        self.draws
            .iter()
            .map(|(draw, share)| share * of(draw))
            .sum()
    }
}

impl Pool {
    /// What can be wrong at a level on a vehicle of this use when the customer has said this: hypotheses, their belief over
    /// draws, and the draws. Of a customer whose words are nobody's usual ones, every draw counts as it comes in.
    #[must_use]
    pub fn after_complaint(
        &self,
        level: u8,
        usage: Usage,
        told: &Told,
    ) -> (Vec<Hypothesis>, Belief, Vec<Draw>) {
        let headed = |draw: &Draw| brings_in(draw) * told.heading_likelihood(level, &draw.symptoms);
        let says = |draw: &Draw| brings_in(draw) * told.likelihood(level, &draw.symptoms);
        let mut groups = self.counted(level, told);
        // How often a complaint of this heading is put in just these words.
        let all = |of: &dyn Fn(&Draw) -> f64| -> f64 {
            groups
                .iter()
                .map(|group| group.probability * group.mean(of))
                .sum()
        };
        let (usual, heard) = (all(&says), all(&headed));
        let usual = if heard > 0.0 { usual / heard } else { 1.0 };
        for group in &mut groups {
            let kind = match group.matter {
                Matter::Fault(kind, _) => Some(&self.catalogue.kinds[kind.0]),
                Matter::Nothing | Matter::Tank(_) => None,
            };
            // Counted are vehicles of every use.
            if let Some(kind) = kind {
                group.probability *= usage.factor(&self.vehicle, kind.grows);
            }
            let brought_on = kind.and_then(Occasion::of);
            group.probability *= told.occasion_likelihood(brought_on).max(UNTOLD);
            let so = group.mean(says) + PSEUDO_DRAWS * usual;
            group.probability *= so / (group.mean(headed) + PSEUDO_DRAWS);
            for (draw, share) in &mut group.draws {
                *share *= says(draw).max(TOLD_OTHERWISE);
            }
            let whole: f64 = group.draws.iter().map(|(_, share)| share).sum();
            for (_, share) in &mut group.draws {
                *share *= group.probability / whole;
            }
        }
        let chosen = || groups.iter().flat_map(|group| &group.draws);
        let named: Vec<Hypothesis> = chosen()
            .map(|(draw, _)| draw.hypothesis(&self.catalogue))
            .collect();
        let mut hypotheses = named.clone();
        hypotheses.sort_unstable();
        hypotheses.dedup();
        // Every name is in the list it was taken from.
        let of = named
            .iter()
            .map(|name| hypotheses.binary_search(name).unwrap_or(0))
            .collect();
        let weights: Vec<f64> = chosen().map(|(_, weight)| *weight).collect();
        let draws = chosen().map(|(draw, _)| (*draw).clone()).collect();
        (hypotheses, Belief::weighted(of, &weights), draws)
    }

    /// Groups of draws that a level can bring in, as often as certified jobs with such a complaint come with each.
    fn counted(&self, level: u8, told: &Told) -> Vec<Weighed<'_>> {
        let mut groups = self.generated(level);
        for group in &mut groups {
            let heard =
                group.mean(|draw| brings_in(draw) * told.heading_likelihood(level, &draw.symptoms));
            // What is drawn only along with something else, or what nobody says of such a vehicle, stays just possible.
            group.probability = group.probability.max(UNDRAWN) * heard.max(UNTOLD);
        }
        let whole: f64 = groups.iter().map(|group| group.probability).sum();
        // Elements of one part are counted together; between them the generator's shares decide.
        let mut parts: BTreeMap<(&str, &str), f64> = BTreeMap::new();
        for group in &mut groups {
            group.probability /= whole;
            *parts.entry(self.named(group.matter)).or_default() += group.probability;
        }
        let counted = Frequencies::of(&self.vehicle.id, level, told.heading());
        for group in &mut groups {
            let (kind, part) = self.named(group.matter);
            let share = parts[&(kind, part)];
            group.probability *= counted.probability(kind, part, share) / share;
            let each = 1.0 / group.draws.len() as f64;
            let mut bands = [0.0; 3];
            for (draw, _) in &group.draws {
                bands[Band::of(draw.share) as usize] += each;
            }
            for (draw, share) in &mut group.draws {
                let band = Band::of(draw.share);
                let drawn = bands[band as usize];
                *share = each * counted.band(kind, part, band, drawn) / drawn;
            }
            let sum: f64 = group.draws.iter().map(|(_, share)| share).sum();
            for (_, share) in &mut group.draws {
                *share /= sum;
            }
        }
        groups
    }

    /// A matter as the table of frequencies names it: kind and part.
    fn named(&self, matter: Matter) -> (&str, &str) {
        match matter {
            Matter::Nothing => ("nothing", ""),
            Matter::Tank(TankTrouble::Empty) => ("empty", ""),
            Matter::Tank(TankTrouble::Water) => ("water", ""),
            Matter::Fault(kind, site) => (
                &self.catalogue.kinds[kind.0].id,
                &self.vehicle.parts[site.part.0].id,
            ),
        }
    }

    /// Groups as often as the generator draws them with something that shows, before anything is certified; draws even.
    fn generated(&self, level: u8) -> Vec<Weighed<'_>> {
        let (from, to) = severity_shares(level);
        let kinds = &self.catalogue.kinds;
        let places = fault::sites(&self.vehicle, &self.catalogue);
        let usual = Usage::usual(&self.vehicle);
        let weights = fault_weights(&self.vehicle, &self.catalogue, &places, level, usual);
        let whole: f64 = weights.iter().map(|&weight| f64::from(weight)).sum();
        let odd = |per_mille: u64| {
            if level < 2 {
                UNHEARD_OF
            } else {
                per_mille as f64 / 1e3
            }
        };
        let mut chosen = Vec::new();
        for group in &self.groups {
            let matter = group.matter;
            let (single, tries, share) = match matter {
                Matter::Nothing => (true, 1, odd(ODDITIES.nothing)),
                Matter::Tank(TankTrouble::Empty) => (true, 1, odd(ODDITIES.empty)),
                Matter::Tank(TankTrouble::Water) => (true, 1, odd(ODDITIES.water)),
                Matter::Fault(kind, _) => {
                    let model = &kinds[kind.0];
                    if !model.levels.contains(&level) {
                        continue;
                    }
                    let one = model.severity.min == model.severity.max;
                    // The generator draws the severity again until something shows.
                    let tries = if one { 1 } else { SEVERITY_DRAWS };
                    let share = f64::from(weights[kind.0]) / whole;
                    let share = share / places[kind.0].len().max(1) as f64;
                    (one || model.effect.has_no_degrees(), tries, share)
                }
            };
            let drawn: Vec<&Draw> = group
                .draws
                .iter()
                .filter(|draw| single || (draw.share >= from && draw.share <= to))
                .collect();
            if drawn.is_empty() {
                continue;
            }
            let showing: Vec<&Draw> = drawn
                .iter()
                .copied()
                .filter(|draw| matter == Matter::Nothing || !draw.symptoms.is_empty())
                .collect();
            // Of some draws none of which shows, one in between may still.
            let shown = showing.len().max(1) as f64
                / (drawn.len() + usize::from(showing.is_empty())) as f64;
            let drawn = if showing.is_empty() { drawn } else { showing };
            let each = 1.0 / drawn.len() as f64;
            let missed = (0..tries).fold(1.0, |left, _| left * (1.0 - shown));
            chosen.push(Weighed {
                matter,
                probability: share * (1.0 - missed),
                draws: drawn.into_iter().map(|draw| (draw, each)).collect(),
            });
        }
        chosen
    }
}
