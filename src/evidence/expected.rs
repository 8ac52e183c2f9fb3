//! What each hypothesis expects of a test, over its draws.

use super::account::{Account, Seen};
use super::information::Predicted;
use super::ranges::ranges;
use crate::fault::{Sense, clue};
use crate::vehicle::{Kind, PartId, Vehicle};

impl Account {
    /// Where the draws of each kept hypothesis together expect a reading.
    pub(super) fn by_hypothesis(
        &self,
        places: &[Option<(f64, f64)>],
        kept: &[(usize, f64)],
    ) -> Vec<Predicted> {
        let mut sums = vec![(0.0, 0.0, 0.0); self.hypotheses().len()];
        let p = self.belief().draws();
        for ((place, p), &h) in places.iter().zip(&p).zip(self.belief().hypothesis_of()) {
            let Some((mean, sigma)) = place else { continue };
            let sum = &mut sums[h];
            *sum = (
                sum.0 + p,
                sum.1 + p * mean,
                sum.2 + p * (mean * mean + sigma * sigma),
            );
        }
        let one = |&(h, _): &(usize, f64)| {
            let (whole, first, second) = sums[h];
            if whole <= 0.0 {
                return Predicted {
                    mean: 0.0,
                    sigma: 1e3,
                };
            }
            let mean = first / whole;
            Predicted {
                mean,
                sigma: (second / whole - mean * mean).max(1e-12).sqrt(),
            }
        };
        kept.iter().map(one).collect()
    }

    /// Whether a look at a part shows something under each hypothesis that sound parts never show.
    pub(super) fn looks(&self, vehicle: &Vehicle, kept: &[usize], part: PartId) -> Vec<u8> {
        let fuse = vehicle.parts[part.0].kind == Kind::Fuse;
        let mut shows = vec![0.0; self.hypotheses().len()];
        let mut whole = vec![0.0; self.hypotheses().len()];
        let draws = self.forecasts.draws().iter().zip(self.belief().draws());
        for ((draw, p), &h) in draws.zip(self.belief().hypothesis_of()) {
            whole[h] += p;
            let Some(fault) = draw.fault.filter(|fault| fault.site.part == part) else {
                continue;
            };
            let plain = |text: &str| self.catalogue.signs.iter().any(|sign| sign.text == text);
            let seen = [Sense::Look, Sense::Smell]
                .iter()
                .filter_map(|&sense| clue(&self.catalogue, &fault, sense))
                .any(|text| !plain(text));
            let open = fuse
                && self.catalogue.kinds[fault.kind.0].effect == crate::fault::Effect::FuseBlown;
            if seen || open {
                shows[h] += p;
            }
        }
        kept.iter()
            .map(|&h| u8::from(shows[h] > 0.5 * whole[h]))
            .collect()
    }

    /// What a glass of fuel shows under each hypothesis, by its place among [`super::words::GLASS`].
    pub(super) fn in_the_glass(&self, kept: &[usize]) -> Vec<u8> {
        let setup = self.track.setup();
        let mut due = vec![[0.0; 3]; self.hypotheses().len()];
        let draws = self.belief().draws().into_iter().enumerate();
        for ((index, p), &h) in draws.zip(self.belief().hypothesis_of()) {
            due[h][self.forecasts.glass(setup, index)] += p;
        }
        let likeliest = |&h: &usize| {
            let best = (0..3).fold(1, |best, o| if due[h][o] > due[h][best] { o } else { best });
            u8::try_from(best).unwrap_or(1)
        };
        kept.iter().map(likeliest).collect()
    }

    /// The likeliest outcome of a weighed test under each kept hypothesis, and the bits it was expected to tell.
    pub(super) fn outcomes(&self, seen: &Seen, kept: &[(usize, f64)]) -> Option<(f64, Vec<u8>)> {
        let prior: Vec<f64> = kept.iter().map(|&(_, p)| p).collect();
        let p = self.belief().draws();
        let mut best: Option<(f64, Vec<u8>)> = None;
        for evidence in seen
            .evidence
            .iter()
            .filter(|evidence| !evidence.table.is_empty())
        {
            let found = if let Some(places) = &evidence.ranges {
                let predicted = self.by_hypothesis(places, kept);
                ranges(&prior, &predicted)
            } else {
                let width = evidence.table.iter().map(Vec::len).max().unwrap_or(0);
                let mut rows = vec![vec![0.0; width]; self.hypotheses().len()];
                for ((row, p), &h) in evidence
                    .table
                    .iter()
                    .zip(&p)
                    .zip(self.belief().hypothesis_of())
                {
                    for (sum, chance) in rows[h].iter_mut().zip(row) {
                        *sum += p * chance;
                    }
                }
                let likeliest = |&(h, _): &(usize, f64)| {
                    let row = &rows[h];
                    let best = (0..width)
                        .reduce(|best, next| if row[next] > row[best] { next } else { best });
                    u8::try_from(best.unwrap_or(0).min(15)).unwrap_or(0)
                };
                let outcomes: Vec<u8> = kept.iter().map(likeliest).collect();
                Some((0.0, outcomes))
            };
            if let Some(found) = found
                && best.as_ref().is_none_or(|known| found.0 > known.0)
            {
                best = Some(found);
            }
        }
        best
    }
}
