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
//! Pairs of faults are not in it: at a level that hides two, each is believed in by itself.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use super::belief::Belief;
use super::forecast::Bank;
use super::frequencies::Frequencies;
use super::repairs::Cure;
use crate::fault::{self, Catalogue, Fault, KindId, Site};
use crate::rig::{Conditions, DriveReport, Rig, RigError, Symptom, Tank};
use crate::scenario::{
    ODDITIES, SEVERITY_DRAWS, TankTrouble, Told, Usage, draw_conditions, draw_tank, fault_weights,
    severity_at, severity_shares,
};
use crate::seed::Stream;
use crate::vehicle::{Kind, Section, Vehicle};

/// Share of what the generator never does, such as an empty tank at level 1: one that only readings against all else
/// can raise; ours, no source.
const UNHEARD_OF: f64 = 1e-3;
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
enum Matter {
    Fault(KindId, Site),
    Tank(TankTrouble),
    Nothing,
}

/// Draws of one matter.
#[derive(Clone)]
struct Group {
    matter: Matter,
    draws: Vec<Draw>,
}

/// Vehicles of one type, with every fault the catalogue allows.
#[derive(Clone)]
pub struct Pool {
    vehicle: Arc<Vehicle>,
    catalogue: Arc<Catalogue>,
    /// The one level it serves; nothing for all.
    level: Option<u8>,
    /// Draws of each kind on each site, then those with something in the tank, then those with nothing wrong.
    groups: Vec<Group>,
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
        let mut groups = Vec::new();
        for matter in matters {
            let draws = draw_group(vehicle, catalogue, matter, (level, count))?;
            groups.push(Group { matter, draws });
        }
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

    /// What can be wrong at a level on a vehicle of this use when the customer has said this: hypotheses, their belief over
    /// draws, and the draws. Of a customer whose words are nobody's usual ones, every draw counts as it comes in.
    #[must_use]
    pub fn after_complaint(
        &self,
        level: u8,
        usage: Usage,
        told: &Told,
    ) -> (Vec<Hypothesis>, Belief, Vec<Draw>) {
        let weighed = self.weigh(level, usage);
        let says = |draw: &Draw| told.likelihood(level, &draw.symptoms);
        // How often such words are heard at all.
        let heard = weighed.iter().flat_map(|group| &group.draws);
        let usual: f64 = heard.map(|(draw, p)| p * says(draw)).sum();
        let mut chosen: Vec<(f64, &Draw)> = Vec::new();
        for group in &weighed {
            let count = group.draws.len() as f64;
            // What a handful of draws shows leaves the true share open: by Dirichlet's rule one more draw is reckoned with
            // that shows what vehicles in general do, and stands for those between the draws at hand.
            let between = group.probability * usual / count / (count + 1.0);
            let weigh = |&(draw, p): &(&'_ Draw, f64)| {
                if told.is_heard_of(&draw.symptoms) {
                    p * says(draw) * count / (count + 1.0) + between
                } else {
                    UNHEARD_OF * between
                }
            };
            chosen.extend(group.draws.iter().map(|one| (weigh(one), one.0)));
        }
        let named: Vec<Hypothesis> = chosen
            .iter()
            .map(|(_, draw)| draw.hypothesis(&self.catalogue))
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

    /// Groups of draws that a level can bring in, as often as certified jobs come with each on a vehicle of this use.
    fn weigh(&self, level: u8, usage: Usage) -> Vec<Weighed<'_>> {
        let mut groups = self.generated(level);
        let whole: f64 = groups.iter().map(|group| group.probability).sum();
        // Elements of one part are counted together; between them the generator's shares decide.
        let mut parts: BTreeMap<(&str, &str), f64> = BTreeMap::new();
        for group in &mut groups {
            group.probability /= whole;
            *parts.entry(self.named(group.matter)).or_default() += group.probability;
        }
        let counted = Frequencies::of(&self.vehicle.id, level);
        for group in &mut groups {
            let (kind, part) = self.named(group.matter);
            let share = parts[&(kind, part)];
            group.probability *= counted.probability(kind, part, share) / share;
            // Counted are vehicles of every use.
            if let Matter::Fault(kind, _) = group.matter {
                group.probability *= usage.factor(self.catalogue.kinds[kind.0].grows);
            }
            let each = 1.0 / group.draws.len() as f64;
            let mut bands = [0.0; 3];
            for (draw, _) in &group.draws {
                bands[Band::of(draw.share) as usize] += each;
            }
            for (draw, p) in &mut group.draws {
                let band = Band::of(draw.share);
                let share = bands[band as usize];
                *p = each * counted.band(kind, part, band, share) / share;
            }
            let sum: f64 = group.draws.iter().map(|(_, p)| p).sum();
            for (_, p) in &mut group.draws {
                *p *= group.probability / sum;
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

    /// The same by what the generator draws, before anything is certified.
    fn generated(&self, level: u8) -> Vec<Weighed<'_>> {
        let (from, to) = severity_shares(level);
        let kinds = &self.catalogue.kinds;
        let places = fault::sites(&self.vehicle, &self.catalogue);
        let usual = Usage::default();
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
            let showing: Vec<(&Draw, f64)> = drawn
                .iter()
                .filter(|draw| matter == Matter::Nothing || !draw.symptoms.is_empty())
                .map(|draw| (*draw, 0.0))
                .collect();
            if showing.is_empty() {
                continue;
            }
            let shown = showing.len() as f64 / drawn.len() as f64;
            let missed = (0..tries).fold(1.0, |left, _| left * (1.0 - shown));
            chosen.push(Weighed {
                matter,
                probability: share * (1.0 - missed),
                draws: showing,
            });
        }
        chosen
    }
}

/// A group of draws with how often it comes in, and each of them.
struct Weighed<'a> {
    matter: Matter,
    probability: f64,
    draws: Vec<(&'a Draw, f64)>,
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
