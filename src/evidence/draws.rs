//! What could be wrong with a vehicle, how likely each is once the customer has spoken, and vehicles drawn to match.
//!
//! A [`Pool`] holds, for every kind of fault on every site, a few whole vehicles with it: their own tolerances,
//! conditions and severity, drawn as the generator draws them, and what a road test of each shows. From it follow the
//! prior and the predictions: frequencies are those of the generator, in which a fault that hardly ever shows hardly
//! ever comes in, whatever its weight in the catalogue. Severities are drawn evenly over the whole range, so that one
//! pool serves every level.
//!
//! Pairs of faults are not in it: at a level that hides two, each is believed in by itself.

use std::sync::{Arc, Mutex, PoisonError};

use super::belief::Belief;
use super::forecast::Bank;
use crate::fault::{self, Catalogue, Fault, KindId, Remedy, Site};
use crate::rig::{Conditions, DriveReport, Rig, RigError, Symptom};
use crate::scenario::{
    ODDITIES, SEVERITY_DRAWS, Usage, draw_conditions, fault_weights, severity_at, severity_shares,
};
use crate::seed::Stream;
use crate::vehicle::{PartId, Section, Vehicle};

/// Probability that a vehicle brought in has nothing wrong with it, where the customer tells of something a road test
/// shows; ours, no source.
const NOTHING_WRONG: f64 = 0.005;
/// Weight of a draw that shows something else than the customer tells: between two draws there are others that would
/// fit; ours, no source.
const TOLD_OTHERWISE: f64 = 0.03;
/// Seed of all pools: they belong to no scenario.
const POOL_SEED: u64 = 0;

/// How bad a fault is, as thirds of its range.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Band {
    /// The mildest third.
    Mild,
    /// The middle third.
    Middling,
    /// The worst third, and faults without degrees.
    Severe,
}

impl Band {
    /// The band of a share of the range.
    #[must_use]
    pub fn of(share: f64) -> Band {
        if share < 1.0 / 3.0 {
            Band::Mild
        } else if share < 2.0 / 3.0 {
            Band::Middling
        } else {
            Band::Severe
        }
    }
}

/// One thing that could be wrong.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Hypothesis {
    /// Nothing is.
    Nothing,
    /// A kind of fault on a site, this bad.
    Fault {
        /// Kind.
        kind: KindId,
        /// Where.
        site: Site,
        /// How bad.
        band: Band,
    },
}

impl Hypothesis {
    /// The hypothesis a fault belongs to.
    #[must_use]
    pub fn of(catalogue: &Catalogue, fault: &Fault) -> Hypothesis {
        let band = Band::of(share_of(catalogue, fault));
        Hypothesis::Fault {
            kind: fault.kind,
            site: fault.site,
            band,
        }
    }

    /// The sections it lies in; none for nothing wrong.
    #[must_use]
    pub fn sections(&self, vehicle: &Vehicle, catalogue: &Catalogue) -> Vec<Section> {
        let Hypothesis::Fault { kind, site, .. } = self else {
            return Vec::new();
        };
        let severity = catalogue.kinds[kind.0].severity.max;
        let fault = Fault {
            kind: *kind,
            site: *site,
            severity,
        };
        vec![fault::section(vehicle, &fault)]
    }

    /// What cures it: every single thing that would.
    #[must_use]
    pub fn cures(&self, vehicle: &Vehicle, catalogue: &Catalogue) -> Vec<(PartId, Remedy)> {
        let Hypothesis::Fault { kind, site, .. } = self else {
            return Vec::new();
        };
        let cures = catalogue.kinds[kind.0].cures.iter().filter_map(|cure| {
            let part = match &cure.part {
                None => site.part,
                Some(id) => vehicle.part(id)?,
            };
            Some((part, cure.remedy))
        });
        cures.collect()
    }
}

/// Where a fault's severity lies in its range, 0 the mildest.
fn share_of(catalogue: &Catalogue, fault: &Fault) -> f64 {
    let kind = &catalogue.kinds[fault.kind.0];
    let range = &kind.severity;
    if kind.effect.has_no_degrees() || range.min == range.max {
        return 1.0;
    }
    match range.spread {
        fault::Spread::Linear => (fault.severity - range.min) / (range.max - range.min),
        fault::Spread::Log => {
            libm::log(fault.severity / range.min) / libm::log(range.max / range.min)
        }
    }
}

/// One vehicle that could be the one on the floor.
#[derive(Clone, PartialEq, Debug)]
pub struct Draw {
    /// What is wrong with it.
    pub fault: Option<Fault>,
    /// Where its severity lies in the range, 0 the mildest.
    pub share: f64,
    /// Width of the part of the range it stands for.
    pub width: f64,
    /// Seed of its tolerances and instruments.
    pub seed: u64,
    /// Its surroundings.
    pub conditions: Conditions,
    /// What a road test shows.
    pub symptoms: Vec<Symptom>,
    /// The figures of that road test.
    pub report: DriveReport,
    /// Its place among all draws of its pool.
    pub(super) place: usize,
}

impl Draw {
    /// The same vehicle with its fault worse by one standard deviation of the part of the range it stands for; nothing
    /// for a fault without degrees.
    #[must_use]
    pub fn worse(&self, catalogue: &Catalogue) -> Option<Draw> {
        let fault = self.fault?;
        let kind = &catalogue.kinds[fault.kind.0];
        if kind.effect.has_no_degrees() || kind.severity.min == kind.severity.max {
            return None;
        }
        // The draw lies anywhere in its part, and so does what it stands for: the difference of two even values.
        let share = self.share + self.width / 6.0_f64.sqrt();
        let severity = severity_at(&kind.severity, share);
        Some(Draw {
            fault: Some(Fault { severity, ..fault }),
            share,
            ..self.clone()
        })
    }
}

/// Vehicles of one type, with every fault the catalogue allows.
#[derive(Clone)]
pub struct Pool {
    vehicle: Arc<Vehicle>,
    catalogue: Arc<Catalogue>,
    /// The one level it serves; nothing for all.
    level: Option<u8>,
    /// Draws of each kind on each site, then those with nothing wrong.
    groups: Vec<Vec<Draw>>,
    /// What the accounts of this pool share.
    bank: Arc<Mutex<Bank>>,
}

impl Pool {
    /// Draws of each kind on each site that are enough for belief to be calibrated.
    pub const USUAL: usize = 8;

    /// Draws `count` vehicles for each kind on each site, and drives each: about 2 ms a vehicle.
    pub fn new(
        vehicle: &Arc<Vehicle>,
        catalogue: &Arc<Catalogue>,
        count: usize,
    ) -> Result<Pool, RigError> {
        Pool::drawn(vehicle, catalogue, None, count)
    }

    /// The same for jobs of one level alone, whose draws are those of the whole pool: what a level never brings in is left
    /// out, which saves about a third.
    pub fn for_level(
        vehicle: &Arc<Vehicle>,
        catalogue: &Arc<Catalogue>,
        level: u8,
        count: usize,
    ) -> Result<Pool, RigError> {
        Pool::drawn(vehicle, catalogue, Some(level), count)
    }

    /// The pool for jobs of one level, drawn once and kept while the program runs, as marking many attempts asks for the
    /// same again and again. Keeping it changes no answer.
    pub fn shared(
        vehicle: &Arc<Vehicle>,
        catalogue: &Arc<Catalogue>,
        level: u8,
    ) -> Result<Arc<Pool>, RigError> {
        /// Pools kept; with what accounts share, one holds some tens of megabytes.
        const KEPT: usize = 6;
        static POOLS: Mutex<Vec<Arc<Pool>>> = Mutex::new(Vec::new());
        let same = |pool: &&Arc<Pool>| {
            pool.level == Some(level) && pool.vehicle == *vehicle && pool.catalogue == *catalogue
        };
        // A panic elsewhere leaves only whole pools in the list, so it can still be used.
        let lock = || POOLS.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(known) = lock().iter().find(same) {
            return Ok(Arc::clone(known));
        }
        let drawn = Arc::new(Pool::for_level(vehicle, catalogue, level, Pool::USUAL)?);
        let mut pools = lock();
        if pools.len() >= KEPT {
            pools.remove(0);
        }
        pools.push(Arc::clone(&drawn));
        Ok(drawn)
    }

    fn drawn(
        vehicle: &Arc<Vehicle>,
        catalogue: &Arc<Catalogue>,
        level: Option<u8>,
        count: usize,
    ) -> Result<Pool, RigError> {
        let mut groups = Vec::new();
        for (index, sites) in fault::sites(vehicle, catalogue).iter().enumerate() {
            let levels = &catalogue.kinds[index].levels;
            if level.is_some_and(|level| !levels.contains(&level)) {
                continue;
            }
            for &site in sites {
                groups.push(draw_group(
                    vehicle,
                    catalogue,
                    Some((KindId(index), site)),
                    (level, count),
                )?);
            }
        }
        groups.push(draw_group(vehicle, catalogue, None, (None, 2 * count))?);
        for (place, draw) in groups.iter_mut().flatten().enumerate() {
            draw.place = place;
        }
        Ok(Pool {
            vehicle: Arc::clone(vehicle),
            catalogue: Arc::clone(catalogue),
            level,
            groups,
            bank: Arc::default(),
        })
    }

    /// The vehicle all draws are of.
    #[must_use]
    pub fn vehicle(&self) -> &Arc<Vehicle> {
        &self.vehicle
    }

    pub(super) fn bank(&self) -> &Arc<Mutex<Bank>> {
        &self.bank
    }

    /// The kinds of fault.
    #[must_use]
    pub fn catalogue(&self) -> &Arc<Catalogue> {
        &self.catalogue
    }

    /// What can be wrong at a level on a vehicle of this use, when the customer has told `told`: hypotheses, their belief over draws, and the
    /// draws. Without any symptom told, every draw that shows something counts alike.
    #[must_use]
    pub fn after_complaint(
        &self,
        level: u8,
        usage: Usage,
        told: &[Symptom],
    ) -> (Vec<Hypothesis>, Belief, Vec<Draw>) {
        // An honest customer tells the two worst things, another only the worst.
        let fits = |draw: &Draw| draw.symptoms.starts_with(told);
        let mut chosen = self.weigh(level, usage);
        if !told.is_empty() {
            for (weight, draw) in &mut chosen {
                *weight *= if fits(draw) { 1.0 } else { TOLD_OTHERWISE };
            }
        }
        let faults: f64 = chosen.iter().map(|(weight, _)| weight).sum();
        let healthy = self.groups.last().map_or(&[][..], Vec::as_slice);
        // Who misreads a sound vehicle tells of nothing that a road test shows.
        let nothing = if told.is_empty() {
            ODDITIES.nothing as f64 / 1e3
        } else {
            NOTHING_WRONG
        };
        let share = if faults > 0.0 {
            nothing * faults / healthy.len().max(1) as f64
        } else {
            1.0
        };
        chosen.extend(healthy.iter().map(|draw| (share, draw)));
        let named: Vec<Hypothesis> = chosen
            .iter()
            .map(|(_, draw)| {
                draw.fault.map_or(Hypothesis::Nothing, |fault| {
                    Hypothesis::of(&self.catalogue, &fault)
                })
            })
            .collect();
        let mut hypotheses = named.clone();
        hypotheses.sort_unstable();
        hypotheses.dedup();
        // Every name is in the list it was taken from.
        let of = named
            .iter()
            .map(|name| hypotheses.binary_search(name).unwrap_or(0))
            .collect();
        let weights: Vec<f64> = chosen.iter().map(|(weight, _)| *weight).collect();
        let draws = chosen.into_iter().map(|(_, draw)| draw.clone()).collect();
        (hypotheses, Belief::weighted(of, &weights), draws)
    }

    /// Draws that a level can bring in, with the generator's frequency of each.
    fn weigh(&self, level: u8, usage: Usage) -> Vec<(f64, &Draw)> {
        let (from, to) = severity_shares(level);
        let kinds = &self.catalogue.kinds;
        let places = fault::sites(&self.vehicle, &self.catalogue);
        let weights = fault_weights(&self.vehicle, &self.catalogue, &places, level, usage);
        let mut sites = vec![0_u32; kinds.len()];
        for fault in self.groups.iter().filter_map(|group| group.first()?.fault) {
            sites[fault.kind.0] += 1;
        }
        let mut chosen = Vec::new();
        for group in &self.groups {
            let Some(fault) = group.first().and_then(|draw| draw.fault) else {
                continue;
            };
            let kind = &kinds[fault.kind.0];
            if !kind.levels.contains(&level) {
                continue;
            }
            let single = kind.severity.min == kind.severity.max || kind.effect.has_no_degrees();
            let drawn: Vec<&Draw> = group
                .iter()
                .filter(|draw| single || (draw.share >= from && draw.share <= to))
                .collect();
            let showing: Vec<&Draw> = drawn
                .iter()
                .copied()
                .filter(|draw| !draw.symptoms.is_empty())
                .collect();
            if showing.is_empty() {
                continue;
            }
            let shown = showing.len() as f64 / drawn.len() as f64;
            // The generator draws the severity again until something shows.
            let tries = if single { 1 } else { SEVERITY_DRAWS };
            let missed = (0..tries).fold(1.0, |left, _| left * (1.0 - shown));
            let weight =
                f64::from(weights[fault.kind.0]) / f64::from(sites[fault.kind.0]) * (1.0 - missed);
            let each = weight / showing.len() as f64;
            chosen.extend(showing.into_iter().map(|draw| (each, draw)));
        }
        chosen
    }
}

fn draw_group(
    vehicle: &Arc<Vehicle>,
    catalogue: &Arc<Catalogue>,
    what: Option<(KindId, Site)>,
    (level, count): (Option<u8>, usize),
) -> Result<Vec<Draw>, RigError> {
    let name = what.map_or_else(String::new, |(kind, site)| {
        let leg = site
            .element
            .map_or("", |element| vehicle.elements[element.0].leg.as_str());
        format!(
            "{} {} {leg}",
            catalogue.kinds[kind.0].id, vehicle.parts[site.part.0].id
        )
    });
    let drawn = |share: f64| {
        let (Some(level), Some((kind, _))) = (level, what) else {
            return true;
        };
        let kind = &catalogue.kinds[kind.0];
        let single = kind.severity.min == kind.severity.max || kind.effect.has_no_degrees();
        let (from, to) = severity_shares(level);
        single || (share >= from && share <= to)
    };
    (0..count)
        .filter_map(|index| {
            let mut stream =
                Stream::keyed(POOL_SEED, "pool", &[&vehicle.id, &name, &index.to_string()]);
            let seed = stream.next_u64();
            let conditions = draw_conditions(&mut stream);
            // One draw in each of as many equal parts of the range.
            let share = (index as f64 + stream.unit()) / count as f64;
            drawn(share).then_some((seed, conditions, share))
        })
        .map(|(seed, conditions, share)| {
            let fault = what.map(|(kind, site)| {
                let kind_of = &catalogue.kinds[kind.0];
                let severity = if kind_of.effect.has_no_degrees() {
                    1.0
                } else {
                    severity_at(&kind_of.severity, share)
                };
                Fault {
                    kind,
                    site,
                    severity,
                }
            });
            let faults = fault.into_iter().collect();
            let mut rig = Rig::new(
                Arc::clone(vehicle),
                Arc::clone(catalogue),
                seed,
                conditions,
                faults,
            )?;
            let report = rig.drive()?;
            let symptoms = report.symptoms(vehicle.engine.fade_fraction);
            Ok(Draw {
                fault,
                share,
                width: 1.0 / count as f64,
                seed,
                conditions,
                symptoms,
                report,
                place: 0,
            })
        })
        .collect()
}
