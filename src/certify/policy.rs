//! Which tests to do in which order on a vehicle, by somebody who does not know what is wrong.
//!
//! Greedy: of all tests the one that is expected to tell most about the right repair for its minutes, ranges of a reading
//! being three of its standard uncertainties wide. Each test is read once and taken in; then the next is chosen.

use super::atlas::{Atlas, Particle, SOUND};
use super::cause::Cure;
use super::probe::{Done, sigma};
use super::readings::Readings;
use super::weighing::{Reading, Weighing};
use crate::evidence::logs::{entropy, surprise};
use crate::rig::RigError;
use crate::seed::Stream;

/// Sizes and limits of the search; ours.
pub(super) struct Limits {
    /// Probability of a wrong repair that is left at most.
    pub wrong: f64,
    /// The same on the one path that is followed first, so that other tolerances have room.
    pub first: f64,
    /// Most tests of a sequence.
    pub tests: usize,
    /// Minutes that any test takes besides its work when the next is chosen: to write it down and think, so that two
    /// readings that tell little do not come before one that tells much.
    pub thinking: f64,
    /// Bits about the repair below which a test is not worth doing.
    pub bits: f64,
    /// Probability below which an explanation does not count in choosing a test.
    pub counts: f64,
    /// Width of a range of readings, in standard uncertainties.
    pub width: f64,
    /// Draws of tolerance and reading that the end is judged over.
    pub draws: usize,
    /// Odds, as a logarithm, at which an explanation is ruled out beyond recall.
    pub recall: f64,
}

pub(super) const LIMITS: Limits = Limits {
    wrong: 0.02,
    first: 0.012,
    tests: 24,
    thinking: 1.5,
    bits: 0.02,
    counts: 2e-4,
    width: 3.0,
    draws: 12,
    recall: 20.0,
};

/// One test of a sequence.
#[derive(Clone, Debug)]
pub(super) struct Taken {
    pub test: usize,
    /// What it truly is on this vehicle.
    pub value: f64,
    pub minutes: f64,
    /// Probability of a wrong repair after it, with the best repair there is then.
    pub wrong: f64,
    /// How far the reading lies from what the likeliest wrong explanation expects, in standard uncertainties.
    pub contrast: f64,
}

/// What a sequence of tests came to.
#[derive(Clone, Debug)]
pub(super) struct Outcome {
    pub taken: Vec<Taken>,
    /// Probability of a wrong repair, mean over tolerances.
    pub wrong: f64,
    /// The repair.
    pub cure: Cure,
    pub done: Done,
    /// Probability of each explanation at the end.
    pub left: Vec<f64>,
}

/// One vehicle to be diagnosed.
pub(super) struct Case<'a> {
    pub atlas: &'a Atlas,
    pub particles: Vec<&'a Particle>,
    pub prior: Vec<f64>,
    /// Repairs that are right for it.
    pub right: Vec<Cure>,
    /// Tests that are allowed.
    pub allowed: Vec<bool>,
    pub figures: bool,
}

impl Case<'_> {
    fn reading(&self, test: usize, value: f64) -> Reading<'_> {
        let probe = self.atlas.probes[test];
        Reading {
            test,
            unit: probe.unit(),
            value,
            sigma: sigma(probe, value, self.figures),
            sound: self.atlas.sound[test],
            spread: &self.atlas.spread[test],
        }
    }

    /// The repair that is right with most probability, and how likely it is wrong.
    fn best_repair(&self, p: &[f64]) -> (Cure, f64) {
        let mut masses: Vec<(Cure, f64)> = Vec::new();
        for (particle, &p) in self.particles.iter().zip(p) {
            for &cure in &particle.cures {
                match masses.iter_mut().find(|(known, _)| *known == cure) {
                    Some((_, mass)) => *mass += p,
                    None => masses.push((cure, p)),
                }
            }
        }
        let vehicle = &self.atlas.vehicle;
        let mut best = (Cure::HandBack, 0.0);
        for (cure, mass) in masses {
            // Of two that are as likely right the cheaper is done.
            let better = mass > best.1 + 1e-9
                || (mass > best.1 - 1e-9
                    && cure.whole_minutes(vehicle) < best.0.whole_minutes(vehicle));
            if better {
                best = (cure, mass);
            }
        }
        (best.0, (1.0 - best.1).max(0.0))
    }

    /// Probability that none of the right repairs is right, as far as belief goes.
    fn wrong_with(&self, cure: Cure, p: &[f64]) -> f64 {
        let cured = self.particles.iter().zip(p);
        let mass: f64 = cured
            .filter(|(particle, _)| particle.cures.contains(&cure))
            .map(|(_, &p)| p)
            .sum();
        (1.0 - mass).max(0.0)
    }

    /// Does tests until the repair is certain enough, or none tells anything more. Work `done` before is not paid again.
    /// Given up once the tests have taken more than `most_minutes`. `truth` answers the tests.
    pub fn solve(
        &self,
        truth: &mut Readings,
        done: Done,
        most_minutes: f64,
        seed: u64,
    ) -> Result<Outcome, RigError> {
        let mut weighing = Weighing::new(&self.prior);
        let mut done = done;
        let mut taken: Vec<Taken> = Vec::new();
        let mut used = vec![false; self.atlas.probes.len()];
        let mut limit = LIMITS.first;
        loop {
            let p = weighing.probabilities();
            let (cure, wrong) = self.best_repair(&p);
            if wrong <= limit && self.right.contains(&cure) {
                let over = self.over_tolerances(cure, &taken, &weighing, seed);
                if over <= LIMITS.wrong {
                    return Ok(Outcome {
                        taken,
                        wrong: over,
                        cure,
                        done,
                        left: p,
                    });
                }
                limit *= 0.5;
            }
            let minutes: f64 = taken.iter().map(|one| one.minutes).sum();
            let next = (taken.len() < LIMITS.tests && minutes <= most_minutes)
                .then(|| self.next(&weighing, &p, &used, &done))
                .flatten();
            let Some(test) = next else {
                let wrong = self
                    .right
                    .iter()
                    .map(|&cure| self.wrong_with(cure, &p))
                    .fold(1.0, f64::min);
                return Ok(Outcome {
                    taken,
                    wrong,
                    cure,
                    done,
                    left: p,
                });
            };
            used[test] = true;
            let minutes = self.atlas.efforts.minutes(test, &done);
            done = self.atlas.efforts.after(test, &done);
            let value = truth.at(test)?;
            let reading = self.reading(test, value);
            let contrast = self.contrast(&weighing, &p, &reading);
            weighing.read(&self.particles, &reading);
            let wrong = self.best_repair(&weighing.probabilities()).1;
            taken.push(Taken {
                test,
                value,
                minutes,
                wrong,
                contrast,
            });
        }
    }

    fn contrast(&self, weighing: &Weighing, p: &[f64], reading: &Reading) -> f64 {
        let wrong = |place: &usize| {
            let cures = &self.particles[*place].cures;
            !cures.iter().any(|cure| self.right.contains(cure))
        };
        let likeliest = (0..p.len())
            .filter(wrong)
            .max_by(|&a, &b| p[a].total_cmp(&p[b]).then(b.cmp(&a)));
        likeliest.map_or(0.0, |place| {
            let expected = weighing.expected(place, self.particles[place], reading);
            libm::fabs(reading.value - expected.mean) / expected.sigma
        })
    }

    /// The test that tells most about the repair for its minutes; nothing if none tells anything.
    fn next(&self, weighing: &Weighing, p: &[f64], used: &[bool], done: &Done) -> Option<usize> {
        let live: Vec<usize> = (0..p.len()).filter(|&at| p[at] > LIMITS.counts).collect();
        let likeliest = live
            .iter()
            .copied()
            .reduce(|best, at| if p[at] > p[best] { at } else { best })?;
        let classes = self.classes(&live);
        let mut expected: Vec<(f64, f64)> = Vec::with_capacity(live.len());
        let whole: f64 = live.iter().map(|&at| p[at]).sum();
        let mut best: Option<(usize, f64)> = None;
        for test in (0..used.len()).filter(|&test| !used[test] && self.allowed[test]) {
            if self.tells_nothing(test, &live) {
                continue;
            }
            expected.clear();
            let mut width = 0.0;
            let variance = weighing.rough_variance(likeliest, &self.atlas.spread[test]);
            for &at in &live {
                let value = self.particles[at].values[test];
                let reading = self.reading(test, value);
                let (mean, sigma) = weighing.roughly(at, self.particles[at], &reading, variance);
                expected.push((mean, p[at] / whole));
                width += sigma * p[at] / whole;
            }
            let width = LIMITS.width * width;
            let bits = class_bits(&expected, &classes, width);
            if bits < LIMITS.bits {
                continue;
            }
            let rate = bits / (LIMITS.thinking + self.atlas.efforts.minutes(test, done));
            // Rates that differ by rounding only are ties, which the order of the tests decides.
            if best.is_none_or(|(_, known)| rate > known * (1.0 + 1e-9)) {
                best = Some((test, rate));
            }
        }
        best.map(|(test, _)| test)
    }

    /// Whether all these explanations expect the same of a test, within less than the reading itself is known.
    fn tells_nothing(&self, test: usize, live: &[usize]) -> bool {
        let values = live.iter().map(|&at| self.particles[at].values[test]);
        let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
            (low.min(value), high.max(value))
        });
        let least = sigma(self.atlas.probes[test], low, self.figures);
        high - low < 0.5 * LIMITS.width * least
    }

    /// A number for each set of cures.
    fn classes(&self, live: &[usize]) -> Vec<usize> {
        let mut known: Vec<&[Cure]> = Vec::new();
        let class = |&at: &usize| {
            let cures = self.particles[at].cures.as_slice();
            known
                .iter()
                .position(|one| *one == cures)
                .unwrap_or_else(|| {
                    known.push(cures);
                    known.len() - 1
                })
        };
        live.iter().map(class).collect()
    }

    /// Bits that have to be found: how unlikely the right repair is before any test.
    pub fn bits(&self) -> f64 {
        let p = Weighing::new(&self.prior).probabilities();
        let right: f64 = self
            .particles
            .iter()
            .zip(&p)
            .filter(|(particle, _)| particle.cures.iter().any(|cure| self.right.contains(cure)))
            .map(|(_, &p)| p)
            .sum();
        -libm::log2(right.max(1e-9))
    }

    /// Entropy over repairs before any test, bits, and how many explanations (kind and site) count.
    pub fn open(&self) -> (f64, usize) {
        let p = Weighing::new(&self.prior).probabilities();
        let places: Vec<usize> = (0..p.len()).collect();
        let classes = self.classes(&places);
        let mut masses = vec![0.0; classes.iter().max().map_or(0, |last| last + 1)];
        for (&class, &p) in classes.iter().zip(&p) {
            masses[class] += p;
        }
        let mut live: Vec<(usize, usize)> = Vec::new();
        for (particle, &p) in self.particles.iter().zip(&p) {
            let super::cause::Cause::Fault(fault) = particle.cause else {
                continue;
            };
            let element = fault.site.element.map_or(0, |element| element.0 + 1);
            let one = (fault.kind.0 * 10_000 + fault.site.part.0, element);
            if p > LIMITS.counts && !live.contains(&one) {
                live.push(one);
            }
        }
        (entropy(&masses), live.len())
    }

    /// Probability of a wrong repair by these tests, mean over other vehicles of the type with the same fault and over
    /// what the instruments leave open.
    fn over_tolerances(&self, cure: Cure, taken: &[Taken], weighing: &Weighing, seed: u64) -> f64 {
        // What these readings have ruled out beyond recall, no other tolerance brings back.
        let kept = weighing.within(LIMITS.recall);
        let particles: Vec<&Particle> = kept.iter().map(|&at| self.particles[at]).collect();
        let prior: Vec<f64> = kept.iter().map(|&at| self.prior[at]).collect();
        let cured = |p: &[f64]| -> f64 {
            let all = particles.iter().zip(p);
            all.filter(|(particle, _)| particle.cures.contains(&cure))
                .map(|(_, &p)| p)
                .sum()
        };
        let mut sum = 0.0;
        for draw in 0..LIMITS.draws {
            let mut stream = Stream::keyed(seed, "certificate", &[&draw.to_string()]);
            let mut along = [0.0; SOUND];
            for one in &mut along {
                *one = stream.normal();
            }
            let mut weighing = Weighing::new(&prior);
            for &Taken { test, value, .. } in taken {
                let sound = self.atlas.sound[test];
                let scale = if libm::fabs(sound) > 0.0 {
                    libm::fabs(value / sound).min(1.0)
                } else {
                    1.0
                };
                let moved: f64 = self.atlas.spread[test]
                    .iter()
                    .zip(&along)
                    .map(|(slope, z)| scale * slope * z)
                    .sum();
                let own = sigma(self.atlas.probes[test], value, true);
                let reading = self.reading(test, value + moved + own * stream.normal());
                weighing.read(&particles, &reading);
            }
            sum += (1.0 - cured(&weighing.probabilities())).max(0.0);
        }
        sum / LIMITS.draws as f64
    }
}

/// What a reading tells about the class, bits: `expected` gives where each explanation expects it and how likely the
/// explanation is; readings are told apart in ranges of `width`.
fn class_bits(expected: &[(f64, f64)], classes: &[usize], width: f64) -> f64 {
    let low = expected
        .iter()
        .map(|(mean, _)| *mean)
        .fold(f64::INFINITY, f64::min);
    let mut cells: Vec<(u32, usize, f64)> = expected
        .iter()
        .zip(classes)
        .map(|(&(mean, p), &class)| (range_of((mean - low) / width), class, p))
        .collect();
    cells.sort_unstable_by_key(|&(range, class, _)| (range, class));
    let last_class = classes.iter().max().map_or(0, |last| last + 1);
    let mut by_class = vec![0.0; last_class];
    let (mut joint, mut ranges) = (0.0, 0.0);
    let (mut in_cell, mut in_range) = (0.0, 0.0);
    for (place, &(range, class, p)) in cells.iter().enumerate() {
        by_class[class] += p;
        in_cell += p;
        in_range += p;
        let next = cells.get(place + 1);
        if next.is_none_or(|next| (next.0, next.1) != (range, class)) {
            joint += surprise(in_cell);
            in_cell = 0.0;
        }
        if next.is_none_or(|next| next.0 != range) {
            ranges += surprise(in_range);
            in_range = 0.0;
        }
    }
    (entropy(&by_class) + ranges - joint).max(0.0)
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the clamp keeps the number within the integer's range"
)]
fn range_of(steps: f64) -> u32 {
    libm::floor(steps + 0.5).clamp(0.0, 1e9) as u32
}
