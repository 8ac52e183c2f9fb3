//! What every explanation predicts of every test on one type of vehicle.
//!
//! Solved once for a vehicle, on one vehicle of average tolerances; what tolerances, charge and weather add is a linear
//! spread along the differences of a few sound vehicles. The vehicle in question is solved by itself, with its own.

use std::sync::Arc;

use rayon::prelude::{IntoParallelIterator, ParallelIterator};

use super::cause::{Cause, Cure};
use super::effort::Efforts;
use super::probe::{Probe, probes};
use super::readings::{Group, Readings};
use crate::fault::{self, Catalogue, Fault, KindId, Site, Spread};
use crate::rig::{Conditions, Rig, RigError, Symptom, Tank};
use crate::scenario::{TankTrouble, draw_conditions, severity_at};
use crate::seed::Stream;
use crate::vehicle::{Kind, Section, Vehicle};

/// Sound vehicles whose differences stand for tolerance.
pub(super) const SOUND: usize = 10;
/// Severities at which a fault of the wiring, and one of the pump or the fuel, is solved.
const SEVERITIES: (usize, usize) = (4, 6);
/// Seed of everything here: it belongs to no scenario.
const SEED: u64 = 0;

/// Surroundings of the vehicle that explanations are solved on.
pub(super) const AT: Conditions = Conditions {
    ambient_c: 14.0,
    charge: 0.9,
    fuel: 0.55,
};

/// One explanation at one severity, with what it predicts.
#[derive(Clone)]
pub(super) struct Particle {
    pub cause: Cause,
    /// Where the severity lies in its range, 0 the mildest; 1 without degrees.
    pub share: f64,
    /// Explanations of the same kind on the same site, itself included.
    pub siblings: usize,
    pub symptoms: Vec<Symptom>,
    pub cures: Vec<Cure>,
    /// Predicted value of each test.
    pub values: Vec<f64>,
    /// What severities between the solved ones add, as a standard uncertainty of each test.
    pub gaps: Vec<f64>,
}

/// Everything solved beforehand for one type of vehicle.
pub(super) struct Atlas {
    pub vehicle: Arc<Vehicle>,
    pub catalogue: Arc<Catalogue>,
    pub probes: Vec<Probe>,
    pub efforts: Efforts,
    pub sites: Vec<Vec<Site>>,
    pub particles: Vec<Particle>,
    /// What a sound vehicle shows on average.
    pub sound: Vec<f64>,
    /// The sound vehicle that explanations are solved on.
    pub base: Vec<f64>,
    /// How each test moves with one standard deviation along each difference of sound vehicles.
    pub spread: Vec<[f64; SOUND]>,
}

impl Atlas {
    /// Solves every explanation for a vehicle.
    pub fn new(vehicle: &Arc<Vehicle>, catalogue: &Arc<Catalogue>) -> Result<Atlas, RigError> {
        let probes = probes(vehicle);
        let sound_one = |seed, conditions| -> Result<Vec<f64>, RigError> {
            let rig = Rig::new(
                Arc::clone(vehicle),
                Arc::clone(catalogue),
                seed,
                conditions,
                Vec::new(),
            )?;
            Readings::new(&probes, rig, &[], catalogue)?.all(&Group::ALL, &[])
        };
        let mut sound = Vec::with_capacity(SOUND);
        for number in 0..SOUND {
            let key = [vehicle.id.as_str(), &number.to_string()];
            let mut stream = Stream::keyed(SEED, "sound vehicles", &key);
            let seed = stream.next_u64();
            sound.push(sound_one(seed, draw_conditions(&mut stream))?);
        }
        let base = sound_one(SEED, AT)?;
        let (sound, spread) = spread(&sound, probes.len());
        let efforts = Efforts::new(vehicle, &probes);
        let mut atlas = Atlas {
            vehicle: Arc::clone(vehicle),
            catalogue: Arc::clone(catalogue),
            efforts,
            sites: fault::sites(vehicle, catalogue),
            particles: Vec::new(),
            probes,
            sound,
            base,
            spread,
        };
        atlas.particles = atlas.explanations()?;
        Ok(atlas)
    }

    fn explanations(&self) -> Result<Vec<Particle>, RigError> {
        let mut all = vec![self.tank(None)?];
        if self
            .vehicle
            .parts
            .iter()
            .any(|part| part.kind == Kind::Tank)
        {
            all.push(self.tank(Some(TankTrouble::Empty))?);
            all.push(self.tank(Some(TankTrouble::Water))?);
        }
        let kinds = self.sites.iter().enumerate();
        let families: Vec<(KindId, Site)> = kinds
            .flat_map(|(kind, sites)| sites.iter().map(move |&site| (KindId(kind), site)))
            .collect();
        // Each is solved by itself, so that threads change no answer.
        let solved: Result<Vec<Vec<Particle>>, RigError> = families
            .into_par_iter()
            .map(|(kind, site)| self.family(kind, site))
            .collect();
        all.extend(solved?.into_iter().flatten());
        Ok(all)
    }

    /// One kind on one site at several severities. A severity that cannot be solved is left out.
    fn family(&self, kind: KindId, site: Site) -> Result<Vec<Particle>, RigError> {
        let model = &self.catalogue.kinds[kind.0];
        let range = &model.severity;
        let single = model.effect.has_no_degrees() || range.min == range.max;
        let fault = |severity| Fault {
            kind,
            site,
            severity,
        };
        let section = fault::section(&self.vehicle, &fault(range.max));
        let count = match section {
            _ if single => 1,
            Section::Hydraulic | Section::Pump => SEVERITIES.1,
            _ => SEVERITIES.0,
        };
        let mut family = Vec::with_capacity(count);
        for place in 0..count {
            let share = if single {
                1.0
            } else {
                (place as f64 + 0.5) / count as f64
            };
            let severity = if single {
                range.max
            } else {
                severity_at(range, share)
            };
            family.push(self.solved(fault(severity), share)?);
        }
        let values: Vec<Vec<f64>> = family.iter().map(|one| one.values.clone()).collect();
        for (place, one) in family.iter_mut().enumerate() {
            one.siblings = count;
            one.gaps = gaps(&values, place);
        }
        Ok(family)
    }

    /// One fault on the average vehicle.
    pub fn solved(&self, fault: Fault, share: f64) -> Result<Particle, RigError> {
        let cause = Cause::Fault(fault);
        let (symptoms, values) = self.predicted(&[fault], AT, Tank::default())?;
        Ok(Particle {
            cause,
            share,
            siblings: 1,
            symptoms,
            cures: cause.cures(&self.vehicle, &self.catalogue),
            gaps: vec![0.0; values.len()],
            values,
        })
    }

    /// What these faults predict on the average vehicle.
    pub fn predicted(
        &self,
        faults: &[Fault],
        conditions: Conditions,
        tank: Tank,
    ) -> Result<(Vec<Symptom>, Vec<f64>), RigError> {
        let rig = Rig::new(
            Arc::clone(&self.vehicle),
            Arc::clone(&self.catalogue),
            SEED,
            conditions,
            faults.to_vec(),
        )?;
        let rig = rig.with_tank(tank);
        let mut groups = match faults {
            [one] => Group::of(&self.vehicle, &self.catalogue, one),
            _ => Group::ALL.to_vec(),
        };
        let mut readings = Readings::new(&self.probes, rig, faults, &self.catalogue)?;
        let symptoms = readings.symptoms()?.to_vec();
        if symptoms.contains(&Symptom::RunsOn) {
            groups.push(Group::Relays);
        }
        let raw = readings.all(&groups, &self.base)?;
        let values = raw.iter().zip(&self.base).zip(&self.sound);
        let about_average = |((raw, base), sound): ((&f64, &f64), &f64)| raw - base + sound;
        Ok((symptoms, values.map(about_average).collect()))
    }

    fn tank(&self, trouble: Option<TankTrouble>) -> Result<Particle, RigError> {
        let (mut conditions, mut tank) = (AT, Tank::default());
        match trouble {
            Some(TankTrouble::Empty) => conditions.fuel = 0.0,
            Some(TankTrouble::Water) => tank.water = 0.2,
            None => {}
        }
        let cause = trouble.map_or(Cause::Nothing, Cause::Tank);
        let (symptoms, values) = self.predicted(&[], conditions, tank)?;
        Ok(Particle {
            cause,
            share: 1.0,
            siblings: 1,
            symptoms,
            cures: cause.cures(&self.vehicle, &self.catalogue),
            gaps: vec![0.0; values.len()],
            values,
        })
    }

    /// Where a fault's severity lies in its range.
    pub fn share_of(&self, fault: &Fault) -> f64 {
        let model = &self.catalogue.kinds[fault.kind.0];
        let range = &model.severity;
        if model.effect.has_no_degrees() || range.min == range.max {
            return 1.0;
        }
        match range.spread {
            Spread::Linear => (fault.severity - range.min) / (range.max - range.min),
            Spread::Log => libm::log(fault.severity / range.min) / libm::log(range.max / range.min),
        }
    }
}

/// Mean of each test over sound vehicles, and their differences as directions of a standard deviation together.
fn spread(sound: &[Vec<f64>], tests: usize) -> (Vec<f64>, Vec<[f64; SOUND]>) {
    let count = sound.len() as f64;
    let share = 1.0 / (count - 1.0).sqrt();
    let mut means = Vec::with_capacity(tests);
    let mut directions = Vec::with_capacity(tests);
    for test in 0..tests {
        let mean = sound.iter().map(|one| one[test]).sum::<f64>() / count;
        let mut along = [0.0; SOUND];
        for (slope, one) in along.iter_mut().zip(sound) {
            *slope = share * (one[test] - mean);
        }
        means.push(mean);
        directions.push(along);
    }
    (means, directions)
}

/// Half of what lies between the neighbours of a severity, taken as spread evenly.
fn gaps(values: &[Vec<f64>], place: usize) -> Vec<f64> {
    let below = &values[place.saturating_sub(1)];
    let above = &values[(place + 1).min(values.len() - 1)];
    let steps = if place == 0 || place + 1 == values.len() {
        1.0
    } else {
        2.0
    };
    let width = |(a, b): (&f64, &f64)| libm::fabs(b - a) / steps / 12.0_f64.sqrt();
    below.iter().zip(above).map(width).collect()
}
