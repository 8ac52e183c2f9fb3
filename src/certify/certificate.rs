//! The certificate of one scenario.

use serde::Serialize;

use super::Certifier;
use super::atlas::{AT, Atlas, Particle};
use super::cause::{Cause, Cure, Hypothesis};
use super::effort::Done;
use super::level::Difficulty;
use super::policy::{Case, LIMITS, Outcome};
use super::prior::prior;
use super::readings::{Readings, provoked};
use crate::fault::{Activation, Fault, Remedy};
use crate::rig::{DriveReport, RigError, Symptom, Tank};
use crate::scenario::{Revealed, Usage, symptoms_told};

/// What the certificate says.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Certificate {
    /// The road test without and with the hidden faults.
    pub complaint: Complaint,
    /// Draws thrown away before this scenario.
    pub redraws: u32,
    /// Explanations (kind and place) that count once the customer has spoken.
    pub hypotheses: usize,
    /// Bits about the right repair that are open then.
    pub open_bits: f64,
    /// Bits that have to be found: how unlikely the right repair is at the start.
    pub bits: f64,
    /// The tests, in order, of somebody who does not know what is wrong; with two faults, those after the first repair too.
    pub sequence: Vec<Step>,
    /// Minutes of all tests, access included.
    pub minutes: f64,
    /// The same with the repair, parts counted at the labour rate.
    pub cost: f64,
    /// Probability of a wrong repair after them, mean over tolerances; the worse of two faults.
    pub wrong: f64,
    /// How far the deciding reading lies from what the likeliest wrong explanation expects, in standard uncertainties.
    pub contrast: f64,
    /// How often an intermittent fault has to be provoked, or a sound vehicle driven, to be sure.
    pub provocations: u32,
    /// Explanations of other repairs that are left with most probability.
    pub left: Vec<Left>,
    /// The certificate holds: the right repair is certain enough.
    pub holds: bool,
}

/// An explanation of another repair that is left.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Left {
    /// The explanation.
    #[serde(flatten)]
    pub hypothesis: Hypothesis,
    /// Its probability at the end.
    pub probability: f64,
}

/// Road test figures without and with the hidden faults.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Complaint {
    /// Without them.
    pub healthy: Road,
    /// With them.
    pub faulty: Road,
}

/// Figures of one road test.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Road {
    /// The engine started.
    pub starts: bool,
    /// Starter current as a share of a healthy one's.
    pub crank_share: f64,
    /// Pressure at the end of the prime, kPa.
    pub primed_kpa: f64,
    /// Pressure at idle, kPa.
    pub idle_kpa: f64,
    /// Pressure at steady speed, kPa.
    pub cruise_kpa: f64,
    /// Pressure under full load, kPa.
    pub hill_kpa: f64,
    /// Pressure after an hour's rest, kPa.
    pub held_kpa: f64,
    /// Hottest coolant, degrees Celsius; nothing where fuel is pumped.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hottest_c: Option<f64>,
    /// Air from the heater at steady speed, degrees Celsius; likewise.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub heater_c: Option<f64>,
}

/// One test of the sequence.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Step {
    /// The test in words.
    pub test: String,
    /// Unit of the value; empty for what is seen or heard.
    pub unit: &'static str,
    /// What it truly is on this vehicle.
    pub value: f64,
    /// The same in words or with its unit.
    pub found: String,
    /// What it takes, minutes, with access it is the first to need.
    pub minutes: f64,
    /// Probability of a wrong repair after it.
    pub wrong: f64,
    /// The repair that is done then, if it is certain enough.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub repair: Option<String>,
}

impl Road {
    fn of(report: &DriveReport) -> Road {
        Road {
            starts: report.starts,
            crank_share: report.crank_share,
            primed_kpa: report.primed_pa / 1e3,
            idle_kpa: report.idle_pa / 1e3,
            cruise_kpa: report.cruise_pa / 1e3,
            hill_kpa: report.hill_pa / 1e3,
            held_kpa: report.held_pa / 1e3,
            hottest_c: report.heat.map(|heat| heat.hottest_c),
            heater_c: report.heat.map(|heat| heat.heater_c),
        }
    }
}

/// Chance that moving an intermittent part leaves it as it was, as the rig has it.
const STAYS: f64 = 0.5;

/// How often something that stays hidden each time with this chance has to be provoked to leave at most what a
/// certificate allows.
fn provocations(stays: f64) -> u32 {
    let mut times = 1;
    let mut left = stays;
    while left > LIMITS.wrong {
        left *= stays;
        times += 1;
    }
    times
}

/// What one policy run on a scenario came to.
pub(super) struct Run {
    pub hypotheses: usize,
    pub open_bits: f64,
    pub bits: f64,
    pub sequence: Vec<Step>,
    pub minutes: f64,
    pub cost: f64,
    pub wrong: f64,
    pub contrast: f64,
    pub left: Vec<Left>,
    pub holds: bool,
}

impl Run {
    /// What makes it hard.
    pub fn difficulty(&self) -> Difficulty {
        Difficulty {
            minutes: self.minutes,
            bits: self.bits,
            depth: self.sequence.len(),
        }
    }
}

impl Certifier {
    /// The certificate of a scenario of this library's vehicles.
    ///
    /// # Errors
    /// [`RigError`] if the vehicle cannot be solved.
    pub fn certificate(&self, revealed: &Revealed) -> Result<Certificate, RigError> {
        let healthy = Road::of(&revealed.sound_rig()?.drive()?);
        let faulty = Road::of(&revealed.rig(revealed.faults.clone())?.drive()?);
        let run = self.run(revealed, f64::INFINITY)?;
        let wiggles =
            |fault: &Fault| revealed.catalogue.kinds[fault.kind.0].activation == Activation::Wiggle;
        let intermittent = revealed.faults.iter().any(wiggles);
        let nothing = Cause::all_of(revealed) == [Cause::Nothing];
        Ok(Certificate {
            complaint: Complaint { healthy, faulty },
            redraws: revealed.redraws,
            hypotheses: run.hypotheses,
            open_bits: run.open_bits,
            bits: run.bits,
            minutes: run.minutes,
            cost: run.cost,
            wrong: run.wrong,
            contrast: run.contrast,
            provocations: match (intermittent, nothing) {
                (true, _) => provocations(STAYS),
                // Every road test shakes, warms and wets what depends on it.
                (false, nothing) => {
                    u32::from(nothing || provoked(&revealed.catalogue, &revealed.faults))
                }
            },
            left: run.left,
            sequence: run.sequence,
            holds: run.holds,
        })
    }

    /// What the tests a scenario allows cannot tell from its truth, each as a sentence; nothing if the certificate holds.
    ///
    /// # Errors
    /// [`RigError`] if the vehicle cannot be solved.
    pub fn doubts(&self, revealed: &Revealed) -> Result<Vec<String>, RigError> {
        let run = self.run(revealed, f64::INFINITY)?;
        if run.holds {
            return Ok(Vec::new());
        }
        let (vehicle, catalogue) = (&revealed.vehicle, &revealed.catalogue);
        let hidden: Vec<String> = Cause::all_of(revealed)
            .iter()
            .map(|cause| cause.named(vehicle, catalogue).to_string())
            .collect();
        let hidden = hidden.join(" with ");
        let mut doubts: Vec<String> = run
            .left
            .iter()
            .map(|left| {
                let other = &left.hypothesis;
                format!("{hidden} cannot be told from {other} with the tests you allow")
            })
            .collect();
        doubts.dedup();
        if doubts.is_empty() {
            let wrong = 100.0 * run.wrong;
            doubts.push(format!(
                "the tests you allow leave {wrong:.0} % for a wrong repair of {hidden}"
            ));
        }
        Ok(doubts)
    }

    /// The policy on a scenario: on two faults, once on both and once on what the first repair leaves. It is given up as
    /// soon as the difficulty is above `hardest`, which the result then shows.
    pub(super) fn run(&self, revealed: &Revealed, hardest: f64) -> Result<Run, RigError> {
        let place = self
            .stock
            .vehicles
            .iter()
            .position(|vehicle| vehicle.id == revealed.vehicle.id)
            .unwrap_or(0);
        let atlas = self.atlas(place)?;
        let told = symptoms_told(&revealed.vehicle, &revealed.order.customer);
        // Somebody who writes a scenario chooses the customer's words freely: then the road test tells.
        let heard = (revealed.code.is_some() || !told.is_empty()).then_some(&told[..]);
        let causes = Cause::all_of(revealed);
        let (outcome, mut run) =
            stage(atlas, revealed, &causes, heard, (Done::default(), hardest))?;
        let cured = |cause: &Cause| {
            let cures = cause.cures(&atlas.vehicle, &atlas.catalogue);
            cures.contains(&outcome.cure)
        };
        let left: Vec<Cause> = causes
            .iter()
            .filter(|cause| !cured(cause))
            .copied()
            .collect();
        if run.holds && !left.is_empty() {
            let so_far = (outcome.done, f64::INFINITY);
            let (_, second) = stage(atlas, revealed, &left, None, so_far)?;
            run.sequence.extend(second.sequence);
            run.minutes += second.minutes;
            run.cost += second.cost;
            run.bits += second.bits;
            run.wrong = run.wrong.max(second.wrong);
            run.contrast = run.contrast.min(second.contrast);
            run.left.extend(second.left);
            run.holds &= second.holds;
        }
        Ok(run)
    }
}

/// Least weight of the truth, as a share of the largest.
const LEAST_OF_TRUTH: f64 = 0.02;

/// Whether two explanations are one kind on one site.
fn same_kind(a: &Cause, b: &Cause) -> bool {
    match (a, b) {
        (Cause::Fault(a), Cause::Fault(b)) => a.kind == b.kind && a.site == b.site,
        (a, b) => a == b,
    }
}

/// The policy on a vehicle with these causes left, after a customer has told something, or else a road test.
fn stage(
    atlas: &Atlas,
    revealed: &Revealed,
    causes: &[Cause],
    told: Option<&[Symptom]>,
    (done, hardest): (Done, f64),
) -> Result<(Outcome, Run), RigError> {
    let faults: Vec<Fault> = causes
        .iter()
        .filter_map(|cause| match cause {
            Cause::Fault(fault) => Some(*fault),
            Cause::Nothing | Cause::Tank(_) => None,
        })
        .collect();
    let rig = revealed.rig(faults.clone())?;
    let mut truth = Readings::new(&atlas.probes, rig, &faults, &atlas.catalogue)?;
    let told = match told {
        Some(told) => told.to_vec(),
        None => truth.symptoms()?.iter().take(2).copied().collect(),
    };
    let usage = Usage::told(&revealed.vehicle, &revealed.order.known);
    let mut weights = prior(atlas, revealed.level, usage, &told);
    // Somebody who writes a scenario may hide what its level does not draw: that has to be thought of as well.
    let usual = weights.iter().copied().fold(0.0, f64::max);
    let mut of_truth = 0.0_f64;
    for (weight, particle) in weights.iter_mut().zip(&atlas.particles) {
        if causes.iter().any(|cause| same_kind(cause, &particle.cause)) {
            *weight = weight.max(LEAST_OF_TRUTH * usual);
            of_truth = of_truth.max(*weight);
        }
    }
    let pairs = pairs(atlas, &faults)?;
    let exact = written_alone(atlas, revealed, &faults)?;
    let mut particles: Vec<&Particle> = Vec::new();
    let mut chances: Vec<f64> = Vec::new();
    if let Some(exact) = &exact {
        particles.push(exact);
        chances.push(of_truth);
    }
    let all = atlas.particles.iter().zip(weights);
    for (particle, weight) in all.filter(|(_, weight)| *weight > 0.0) {
        particles.push(particle);
        chances.push(weight);
    }
    let single: f64 = chances.iter().sum();
    for particle in &pairs {
        particles.push(particle);
        // As likely together as all single explanations.
        chances.push(single / pairs.len() as f64);
    }
    let right = causes
        .iter()
        .flat_map(|cause| cause.cures(&atlas.vehicle, &atlas.catalogue));
    let allowed = |name: Option<String>| match (&revealed.allowed, name) {
        (Some(allowed), Some(name)) => allowed.contains(&name),
        _ => true,
    };
    let probes = atlas.probes.iter();
    let case = Case::new(
        atlas,
        particles,
        &chances,
        right.collect(),
        probes
            .map(|probe| allowed(probe.place_name(&atlas.vehicle)))
            .collect(),
        !revealed.withholds_figures(),
    );
    let most_minutes = libm::exp2(hardest - case.bits) - 1.0;
    let outcome = case.solve(&mut truth, done, most_minutes, revealed.seed)?;
    let run = told_of(&case, &outcome, done);
    Ok((outcome, run))
}

/// A lone fault written by hand, solved as bad as it is. The severities solved beforehand stand for those between them
/// well enough over many draws; of the one that somebody has written, a warning must not come from the distance to them.
fn written_alone(
    atlas: &Atlas,
    revealed: &Revealed,
    faults: &[Fault],
) -> Result<Option<Particle>, RigError> {
    let [fault] = faults else { return Ok(None) };
    let near = nearest(atlas, fault).filter(|_| revealed.code.is_none());
    let Some(near) = near else { return Ok(None) };
    let (symptoms, values) = atlas.predicted(faults, AT, Tank::default())?;
    Ok(Some(Particle {
        share: atlas.share_of(fault),
        symptoms,
        gaps: vec![0.0; values.len()],
        values,
        ..near.clone()
    }))
}

/// Two faults at once: each hidden one with every single explanation, put together as the sum of their differences from
/// a sound vehicle, and the hidden pair solved as it is.
fn pairs(atlas: &Atlas, faults: &[Fault]) -> Result<Vec<Particle>, RigError> {
    let [a, b] = faults else {
        return Ok(Vec::new());
    };
    let mut all = Vec::new();
    for fault in [a, b] {
        let own = nearest(atlas, fault);
        for other in &atlas.particles {
            let Cause::Fault(with) = other.cause else {
                continue;
            };
            // One severity of each explanation has to do: with both faults hidden there are too many otherwise.
            let middling = other.siblings == 1
                || libm::fabs(other.share - 0.5) <= 0.5 / other.siblings as f64 + 1e-9;
            if with.site.part == fault.site.part || !middling {
                continue;
            }
            all.extend(own.map(|own| joined(atlas, own, other)));
        }
    }
    let (symptoms, values) = atlas.predicted(faults, AT, Tank::default())?;
    if let (Some(first), Some(second)) = (nearest(atlas, a), nearest(atlas, b)) {
        let mut exact = joined(atlas, first, second);
        (exact.symptoms, exact.values) = (symptoms, values);
        all.push(exact);
    }
    Ok(all)
}

/// The explanation of an atlas that a fault belongs to.
fn nearest<'a>(atlas: &'a Atlas, fault: &Fault) -> Option<&'a Particle> {
    let share = atlas.share_of(fault);
    let same = atlas
        .particles
        .iter()
        .filter(|particle| match particle.cause {
            known @ Cause::Fault(_) => same_kind(&known, &Cause::Fault(*fault)),
            Cause::Nothing | Cause::Tank(_) => false,
        });
    let off = |particle: &Particle| libm::fabs(particle.share - share);
    same.min_by(|a, b| off(a).total_cmp(&off(b)))
}

fn joined(atlas: &Atlas, a: &Particle, b: &Particle) -> Particle {
    let values = a.values.iter().zip(&b.values).zip(&atlas.sound);
    let values: Vec<f64> = values.map(|((a, b), sound)| a + b - sound).collect();
    let gaps = a.gaps.iter().zip(&b.gaps).map(|(a, b)| a + b).collect();
    let mut cures = a.cures.clone();
    cures.extend(&b.cures);
    Particle {
        cures,
        values,
        gaps,
        ..b.clone()
    }
}

fn told_of(case: &Case, outcome: &Outcome, before: Done) -> Run {
    let atlas = case.atlas;
    let (open_bits, hypotheses) = case.open();
    let step = |taken: &super::policy::Taken| {
        let probe = atlas.probes[taken.test];
        Step {
            test: probe.words(&atlas.vehicle),
            unit: probe.unit(),
            value: probe.figure(taken.value),
            found: probe.found(taken.value),
            minutes: taken.minutes,
            wrong: taken.wrong,
            repair: None,
        }
    };
    let holds = outcome.wrong <= LIMITS.wrong && case.right.contains(&outcome.cure);
    let mut sequence: Vec<Step> = outcome.taken.iter().map(step).collect();
    if let Some(last) = sequence.last_mut().filter(|_| holds) {
        last.repair = Some(outcome.cure.named(&atlas.vehicle));
    }
    let minutes: f64 = sequence.iter().map(|step| step.minutes).sum();
    let (repair, needs) = outcome.cure.cost(&atlas.vehicle);
    let opened = outcome.done.works | before.works;
    let missing = needs.iter().filter(|id| opened >> id.0 & 1 == 0);
    let access: f64 = missing
        .map(|id| atlas.vehicle.accesses[id.0].seconds / 60.0)
        .sum();
    let mut left: Vec<(f64, &Particle)> = outcome
        .left
        .iter()
        .copied()
        .zip(case.particles.iter().copied())
        .filter(|(p, particle)| {
            *p > 0.002 && !particle.cures.iter().any(|cure| case.right.contains(cure))
        })
        .collect();
    left.sort_by(|a, b| b.0.total_cmp(&a.0));
    left.truncate(4);
    Run {
        hypotheses,
        open_bits,
        bits: case.bits,
        minutes,
        cost: minutes + repair + access,
        wrong: outcome.wrong,
        contrast: outcome.taken.last().map_or(0.0, |taken| taken.contrast),
        left: left
            .into_iter()
            .map(|(probability, particle)| Left {
                hypothesis: particle.cause.named(&atlas.vehicle, &atlas.catalogue),
                probability,
            })
            .collect(),
        sequence,
        holds,
    }
}

/// Whether doing one cure puts everything right; for asking what a habit such as always buying one part would bring.
pub(super) fn cures_all(revealed: &Revealed, cure: Cure) -> bool {
    let causes = Cause::all_of(revealed);
    let mut each = causes
        .iter()
        .map(|cause| cause.cures(&revealed.vehicle, &revealed.catalogue));
    each.all(|cures| cures.contains(&cure))
}

/// Every piece of work that puts everything right by itself.
pub(super) fn one_cure_for_all(revealed: &Revealed) -> Vec<Cure> {
    let causes = Cause::all_of(revealed);
    let any = causes
        .iter()
        .flat_map(|cause| cause.cures(&revealed.vehicle, &revealed.catalogue));
    let mut cures: Vec<Cure> = any.filter(|&cure| cures_all(revealed, cure)).collect();
    cures.sort_unstable();
    cures.dedup();
    cures
}

/// Buying a part.
pub(super) fn buying(part: crate::vehicle::PartId) -> Cure {
    Cure::Part(part, Remedy::Replace)
}
