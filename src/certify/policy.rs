//! Which tests to do in which order on a vehicle, by somebody who does not know what is wrong.
//!
//! Greedy: of all tests the one that is expected to tell most about the right repair for its minutes, ranges of a reading
//! being three of its standard uncertainties wide. Each test is read once and taken in; then the next is chosen.

use super::atlas::{Atlas, Particle, SOUND};
use super::cause::Cure;
use super::choosing::next;
use super::effort::Done;
use super::probe::sigma;
use super::readings::Readings;
use super::repairs::Repairs;
use super::weighing::{Reading, Weighing};
use crate::evidence::logs::{entropy, softmax};
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
    /// Logarithm of each explanation's weight before any test.
    before: Vec<f64>,
    pub repairs: Repairs,
    /// Repairs that are right for it.
    pub right: Vec<Cure>,
    /// Tests that are allowed.
    pub allowed: Vec<bool>,
    pub figures: bool,
    /// Bits that have to be found: how unlikely the right repair is before any test.
    pub bits: f64,
}

impl<'a> Case<'a> {
    /// A vehicle with these explanations, their weights before any test, and the repairs that are right.
    pub fn new(
        atlas: &'a Atlas,
        particles: Vec<&'a Particle>,
        weights: &[f64],
        right: Vec<Cure>,
        allowed: Vec<bool>,
        figures: bool,
    ) -> Case<'a> {
        let before: Vec<f64> = weights.iter().map(|&weight| libm::log(weight)).collect();
        let p = softmax(&before);
        let cured: f64 = particles
            .iter()
            .zip(&p)
            .filter(|(particle, _)| particle.cures.iter().any(|cure| right.contains(cure)))
            .map(|(_, &p)| p)
            .sum();
        Case {
            repairs: Repairs::new(&particles),
            atlas,
            particles,
            before,
            right,
            allowed,
            figures,
            bits: -libm::log2(cured.max(1e-9)),
        }
    }

    pub fn reading(&self, test: usize, value: f64) -> Reading<'_> {
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
        let mut weighing = Weighing::new(&self.before);
        let mut done = done;
        let mut taken: Vec<Taken> = Vec::new();
        let mut used = vec![false; self.atlas.probes.len()];
        let mut limit = LIMITS.first;
        let mut p = weighing.probabilities();
        let (mut cure, mut wrong) = self.repairs.best(&p, &self.atlas.vehicle);
        loop {
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
                .then(|| next(self, &weighing, &p, &used, &done))
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
            p = weighing.probabilities();
            (cure, wrong) = self.repairs.best(&p, &self.atlas.vehicle);
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

    /// Entropy over repairs before any test, bits, and how many explanations (kind and site) count.
    pub fn open(&self) -> (f64, usize) {
        let p = softmax(&self.before);
        let places: Vec<usize> = (0..p.len()).collect();
        let (classes, count) = self.repairs.classes(&places);
        let mut masses = vec![0.0; count];
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
        let before: Vec<f64> = kept.iter().map(|&at| self.before[at]).collect();
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
            let mut weighing = Weighing::new(&before);
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
