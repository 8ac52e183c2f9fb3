//! How likely each explanation is once the customer has spoken, as the generator brings vehicles in.

use super::atlas::{Atlas, Particle};
use super::cause::Cause;
use crate::rig::Symptom;
use crate::scenario::{ODDITIES, TankTrouble, Usage, fault_weights, severity_shares};

/// Weight of an explanation that shows something else than the customer tells: between two solved vehicles there are
/// others that would fit; ours, no source.
const TOLD_OTHERWISE: f64 = 0.03;

/// Weight of each explanation of an atlas at a level, on a vehicle of this use, when the customer has told of `told`; of those without weight 0.
pub(super) fn prior(atlas: &Atlas, level: u8, usage: Usage, told: &[Symptom]) -> Vec<f64> {
    let weights = fault_weights(&atlas.vehicle, &atlas.catalogue, &atlas.sites, level, usage);
    let all: f64 = weights.iter().map(|&weight| f64::from(weight)).sum();
    let (from, to) = severity_shares(level);
    let odd = |per_mille: u64| {
        let share = if level >= 2 {
            per_mille as f64 / 1e3
        } else {
            1e-3
        };
        share * all
    };
    let before = |particle: &Particle| match particle.cause {
        Cause::Nothing => odd(ODDITIES.nothing),
        Cause::Tank(TankTrouble::Empty) => odd(ODDITIES.empty),
        Cause::Tank(TankTrouble::Water) => odd(ODDITIES.water),
        Cause::Fault(fault) => {
            let kind = fault.kind.0;
            let sites = atlas.sites[kind].len().max(1) as f64;
            // A severity just beyond what the level draws stands for those between it and the last that is drawn.
            let reach = 0.5 / particle.siblings as f64;
            let drawn = particle.siblings == 1
                || (particle.share >= from - reach && particle.share <= to + reach);
            if drawn && !particle.symptoms.is_empty() {
                f64::from(weights[kind]) / sites / particle.siblings as f64
            } else {
                0.0
            }
        }
    };
    let fits = |particle: &Particle| match particle.cause {
        // Who misreads a sound vehicle tells of nothing that a road test shows.
        Cause::Nothing => told.is_empty(),
        _ => !told.is_empty() && particle.symptoms.starts_with(told),
    };
    let weight =
        |particle: &Particle| before(particle) * if fits(particle) { 1.0 } else { TOLD_OTHERWISE };
    atlas.particles.iter().map(weight).collect()
}
