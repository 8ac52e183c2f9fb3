//! What could be wrong with a vehicle, how likely each is once the customer has spoken, and vehicles drawn to match.
//!
//! A [`Pool`] holds, for every kind of fault on every site, a few whole vehicles with it: their own tolerances,
//! conditions and severity, drawn as the generator draws them, and what a road test of each shows. From it follow the
//! prior and the predictions: frequencies are those of the generator, in which a fault that hardly ever shows hardly
//! ever comes in, whatever its weight in the catalogue. Severities are drawn evenly over the whole range, so that one
//! pool serves every level.
//!
//! What may be in the tank, and nothing at all, are kept beside the faults, at the rates the generator has.
//!
//! Pairs of faults are not in it: what two do together is put together from what each does (`pairs`).

use std::sync::{Arc, Mutex, PoisonError};

use rayon::prelude::*;

use super::forecast::Bank;
use super::repairs::Cure;
use crate::fault::{self, Catalogue, Fault, KindId, Site};
use crate::rig::{Conditions, DriveReport, Rig, RigError, Symptom, Tank};
use crate::scenario::{TankTrouble, draw_conditions, draw_tank, severity_at, severity_shares};
use crate::seed::Stream;
use crate::vehicle::{Kind, Section, Vehicle};

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
    /// What is in the tank.
    Tank(TankTrouble),
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
        let (kind, site) = match self {
            Hypothesis::Nothing => return Vec::new(),
            Hypothesis::Tank(_) => return vec![Section::Hydraulic],
            Hypothesis::Fault { kind, site, .. } => (kind, site),
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
    pub fn cures(&self, vehicle: &Vehicle, catalogue: &Catalogue) -> Vec<Cure> {
        let (kind, site) = match self {
            Hypothesis::Nothing => return vec![Cure::HandBack],
            Hypothesis::Tank(trouble) => return Cure::of_tank(*trouble).to_vec(),
            Hypothesis::Fault { kind, site, .. } => (kind, site),
        };
        let cures = catalogue.kinds[kind.0].cures.iter().filter_map(|cure| {
            let part = match &cure.part {
                None => site.part,
                Some(id) => vehicle.part(id)?,
            };
            Some(Cure::Part(part, cure.remedy))
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
    /// What is wrong with what is in its tank.
    pub trouble: Option<TankTrouble>,
    /// The tank as it comes, besides the share of fuel in it.
    pub tank: Tank,
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
    /// Nothing is wrong with it.
    #[must_use]
    pub fn is_sound(&self) -> bool {
        self.fault.is_none() && self.trouble.is_none()
    }

    /// What it stands for.
    #[must_use]
    pub fn hypothesis(&self, catalogue: &Catalogue) -> Hypothesis {
        match (&self.fault, self.trouble) {
            (Some(fault), _) => Hypothesis::of(catalogue, fault),
            (None, Some(trouble)) => Hypothesis::Tank(trouble),
            (None, None) => Hypothesis::Nothing,
        }
    }

    /// The vehicle as it comes in.
    pub(super) fn rig(
        &self,
        vehicle: &Arc<Vehicle>,
        catalogue: &Arc<Catalogue>,
    ) -> Result<Rig, RigError> {
        let rig = Rig::new(
            Arc::clone(vehicle),
            Arc::clone(catalogue),
            self.seed,
            self.conditions,
            self.fault.into_iter().collect(),
        )?;
        Ok(rig.with_tank(self.tank))
    }

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

/// What a group of draws has in common.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) enum Matter {
    Fault(KindId, Site),
    Tank(TankTrouble),
    Nothing,
}

/// Draws of one matter.
#[derive(Clone)]
pub(super) struct Group {
    pub matter: Matter,
    pub draws: Vec<Draw>,
}

/// Vehicles of one type, with every fault the catalogue allows.
#[derive(Clone)]
pub struct Pool {
    pub(super) vehicle: Arc<Vehicle>,
    pub(super) catalogue: Arc<Catalogue>,
    /// The one level it serves; nothing for all.
    level: Option<u8>,
    /// Draws of each kind on each site, then those with something in the tank, then those with nothing wrong.
    pub(super) groups: Vec<Group>,
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
        let mut matters = Vec::new();
        for (index, sites) in fault::sites(vehicle, catalogue).iter().enumerate() {
            let levels = &catalogue.kinds[index].levels;
            if level.is_none_or(|level| levels.contains(&level)) {
                matters.extend(sites.iter().map(|&site| Matter::Fault(KindId(index), site)));
            }
        }
        if vehicle.parts.iter().any(|part| part.kind == Kind::Tank) {
            matters.push(Matter::Tank(TankTrouble::Empty));
            matters.push(Matter::Tank(TankTrouble::Water));
        }
        matters.push(Matter::Nothing);
        let group = |matter| -> Result<Group, RigError> {
            let draws = draw_group(vehicle, catalogue, matter, (level, count))?;
            Ok(Group { matter, draws })
        };
        // In their order, whichever thread draws them.
        let groups: Vec<Result<Group, RigError>> = matters.into_par_iter().map(group).collect();
        let mut groups = groups
            .into_iter()
            .collect::<Result<Vec<Group>, RigError>>()?;
        let draws = groups.iter_mut().flat_map(|group| &mut group.draws);
        for (place, draw) in draws.enumerate() {
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
}

fn draw_group(
    vehicle: &Arc<Vehicle>,
    catalogue: &Arc<Catalogue>,
    matter: Matter,
    (level, count): (Option<u8>, usize),
) -> Result<Vec<Draw>, RigError> {
    let name = match matter {
        Matter::Nothing => String::new(),
        Matter::Tank(TankTrouble::Empty) => "empty tank".to_owned(),
        Matter::Tank(TankTrouble::Water) => "water in the fuel".to_owned(),
        Matter::Fault(kind, site) => {
            let leg = site
                .element
                .map_or("", |element| vehicle.elements[element.0].leg.as_str());
            format!(
                "{} {} {leg}",
                catalogue.kinds[kind.0].id, vehicle.parts[site.part.0].id
            )
        }
    };
    let drawn = |share: f64| {
        let (Some(level), Matter::Fault(kind, _)) = (level, matter) else {
            return true;
        };
        let kind = &catalogue.kinds[kind.0];
        let single = kind.severity.min == kind.severity.max || kind.effect.has_no_degrees();
        let (from, to) = severity_shares(level);
        single || (share >= from && share <= to)
    };
    // Sound vehicles stand for the tolerance of all others.
    let count = if matter == Matter::Nothing {
        2 * count
    } else {
        count
    };
    let mut draws = Vec::with_capacity(count);
    for index in 0..count {
        let mut stream =
            Stream::keyed(POOL_SEED, "pool", &[&vehicle.id, &name, &index.to_string()]);
        let seed = stream.next_u64();
        let mut conditions = draw_conditions(&mut stream);
        // One draw in each of as many equal parts of the range.
        let share = (index as f64 + stream.unit()) / count as f64;
        if !drawn(share) {
            continue;
        }
        let (fault, trouble) = match matter {
            Matter::Nothing => (None, None),
            Matter::Tank(trouble) => (None, Some(trouble)),
            Matter::Fault(kind, site) => {
                let model = &catalogue.kinds[kind.0];
                let severity = if model.effect.has_no_degrees() {
                    1.0
                } else {
                    severity_at(&model.severity, share)
                };
                let fault = Fault {
                    kind,
                    site,
                    severity,
                };
                (Some(fault), None)
            }
        };
        let tank = trouble.map_or_else(Tank::default, |trouble| {
            draw_tank(trouble, &mut conditions, &mut stream)
        });
        let mut draw = Draw {
            fault,
            trouble,
            tank,
            share,
            width: 1.0 / count as f64,
            seed,
            conditions,
            symptoms: Vec::new(),
            report: DriveReport::default(),
            place: 0,
        };
        draw.report = draw.rig(vehicle, catalogue)?.drive()?;
        draw.symptoms = draw.report.symptoms(vehicle.engine.fade_fraction);
        draws.push(draw);
    }
    Ok(draws)
}
