//! One draw of generator version 1: what is wrong, how badly, in what surroundings, and what the customer says.
//!
//! Everything comes from streams named by the number of the draw, so that a draw thrown away shifts nothing in the next.

use std::sync::Arc;

use super::complaint::{Customer, complaint};
use super::library::Library;
use super::order::{WorkOrder, write_order};
use super::severity::draw_tank;
use super::severity::{SEVERITY_DRAWS, draw_conditions, draw_severity};
use super::{Revealed, TankTrouble};
use crate::fault::{self, Catalogue, Fault, KindId, Remedy, Site};
use crate::rig::{Rig, RigError, Symptom, Tank};
use crate::seed::{ScenarioCode, Stream, VehicleSet};
use crate::units::Money;
use crate::vehicle::{Kind, PartId, Vehicle};

/// Why a draw was thrown away.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Redraw {
    /// The vehicle's tolerances alone make it misbehave.
    Unsound,
    /// Two faults fell on one part, or the level has none for the vehicle.
    NoFault,
    /// A driver notices nothing of it, or nothing of one of two faults.
    Silent,
    /// No allowed tests tell the right repair well enough.
    Uncertain,
    /// Too easy or too hard for the level.
    OffLevel,
}

impl Redraw {
    /// All reasons with their words.
    pub const ALL: [(Redraw, &'static str); 5] = [
        (Redraw::Unsound, "unsound without its faults"),
        (Redraw::NoFault, "no fault fell"),
        (Redraw::Silent, "nothing is noticed"),
        (Redraw::Uncertain, "tests cannot tell the repair"),
        (Redraw::OffLevel, "not of this level"),
    ];

    /// The reason in words.
    #[must_use]
    pub fn words(self) -> &'static str {
        Redraw::ALL
            .iter()
            .find(|(reason, _)| *reason == self)
            .map_or("", |(_, words)| words)
    }
}

/// What one draw gave.
pub enum Drawn {
    /// A job that could be offered, once it is certified.
    Kept(Box<Revealed>),
    /// Nothing to offer.
    Refused(Redraw),
}

/// How often something other than a fault of the vehicle is the matter, per mille of all draws of levels 2 to 5; ours.
pub struct Oddities {
    /// Nothing is wrong: the customer misreads a sound vehicle.
    pub nothing: u64,
    /// The tank is empty and the gauge stuck.
    pub empty: u64,
    /// There is water in the fuel.
    pub water: u64,
}

/// The shares in force.
pub const ODDITIES: Oddities = Oddities {
    nothing: 30,
    empty: 20,
    water: 20,
};

/// Most of the weight that faults cured by any one new part may have at levels 2 to 5, as a share: always buying the same
/// part must not pay, the pump least of all.
const MOST_BY_ONE_PART: f64 = 0.16;
/// Faults at level 5.
const FAULTS_AT_FIVE: usize = 2;

/// What a draw decides to be the matter.
enum Matter {
    Faults(Vec<Fault>),
    Tank(TankTrouble),
    Nothing,
}

/// Draw `number` of a code.
pub(super) fn draw(
    vehicle: &Arc<Vehicle>,
    library: &Library,
    code: ScenarioCode,
    number: u32,
) -> Result<Drawn, RigError> {
    // The vehicle's own tolerances, instruments and contacts change with each draw as well.
    let key = [code.set(), code.level()].map(|part| part.to_string());
    let key = [vehicle.id.as_str(), &key[0], &key[1], &number.to_string()];
    let seed = Stream::keyed(code.seed(), "draw", &key).next_u64();
    let catalogue = &library.catalogue;
    let level = code.level();
    let mut conditions = draw_conditions(&mut Stream::named(seed, "conditions"));
    let mut tank = Tank::default();
    let mut faults = Vec::new();
    let matter = draw_matter(vehicle, catalogue, level, seed);
    let nothing = matches!(matter, Some(Matter::Nothing));
    match matter {
        None => return Ok(Drawn::Refused(Redraw::NoFault)),
        Some(Matter::Faults(drawn)) => faults = drawn,
        Some(Matter::Tank(trouble)) => {
            tank = draw_tank(trouble, &mut conditions, &mut Stream::named(seed, "tank"));
        }
        Some(Matter::Nothing) => {}
    }
    let mut revealed = Revealed {
        vehicle: Arc::clone(vehicle),
        catalogue: Arc::clone(catalogue),
        code: Some(code),
        seed,
        level,
        conditions,
        order: WorkOrder::default(),
        redraws: number,
        tank,
        faults,
        allowed: None,
    };
    let fade = vehicle.engine.fade_fraction;
    let notices = |rig: Result<Rig, RigError>| Ok(rig?.drive()?.symptoms(fade));
    let Some(symptoms) = settle_severities(&mut revealed, notices)? else {
        return Ok(Drawn::Refused(Redraw::Silent));
    };
    let mut words = Stream::named(seed, "work order");
    let customer = Customer::drawn(level, &mut words);
    let Some(told) = complaint(customer, &symptoms, nothing, &mut words) else {
        return Ok(Drawn::Refused(Redraw::Silent));
    };
    let figures = !VehicleSet::from_bits(code.set()).withholds_figures();
    revealed.order = write_order(vehicle, told, level, figures, &mut words);
    Ok(Drawn::Kept(Box::new(revealed)))
}

/// Draws how bad each fault is until a driver notices it; what the driver notices of all together, or nothing if one
/// stays hidden.
fn settle_severities(
    revealed: &mut Revealed,
    notices: impl Fn(Result<Rig, RigError>) -> Result<Vec<Symptom>, RigError>,
) -> Result<Option<Vec<Symptom>>, RigError> {
    let fade = revealed.vehicle.engine.fade_fraction;
    let catalogue = Arc::clone(&revealed.catalogue);
    let mut stream = Stream::named(revealed.seed, "severities");
    let mut last = None;
    for place in 0..revealed.faults.len() {
        let range = &catalogue.kinds[revealed.faults[place].kind.0].severity;
        let tries = if range.min == range.max {
            1
        } else {
            SEVERITY_DRAWS
        };
        let mut shown = None;
        for number in 1..=tries {
            let severity = draw_severity(range, revealed.level, &mut stream);
            revealed.faults[place].severity = severity;
            let alone = || vec![revealed.faults[place]];
            // A glance is quick and sees almost everything; the road test decides.
            let seen = !revealed.rig(alone())?.glance()?.symptoms(fade).is_empty();
            if seen || number == tries {
                let symptoms = notices(revealed.rig(alone()))?;
                if !symptoms.is_empty() {
                    shown = Some(symptoms);
                    break;
                }
            }
        }
        // Each fault must matter by itself, or it could not be asked for: nobody brings in what does not show.
        let Some(symptoms) = shown else {
            return Ok(None);
        };
        last = Some(symptoms);
    }
    match (revealed.faults.len(), last) {
        (1, symptoms) => Ok(symptoms),
        _ => notices(revealed.rig(revealed.faults.clone())).map(Some),
    }
}

fn draw_matter(vehicle: &Vehicle, catalogue: &Catalogue, level: u8, seed: u64) -> Option<Matter> {
    let mut stream = Stream::named(seed, "matter");
    if level >= 2 {
        let has_tank = vehicle.parts.iter().any(|part| part.kind == Kind::Tank);
        let at = stream.below(1000);
        let up_to = [
            ODDITIES.nothing,
            ODDITIES.nothing + ODDITIES.empty,
            ODDITIES.nothing + ODDITIES.empty + ODDITIES.water,
        ];
        match at {
            at if at < up_to[0] => return Some(Matter::Nothing),
            at if has_tank && at < up_to[1] => return Some(Matter::Tank(TankTrouble::Empty)),
            at if has_tank && at < up_to[2] => return Some(Matter::Tank(TankTrouble::Water)),
            _ => {}
        }
    }
    draw_faults(vehicle, catalogue, level, seed).map(Matter::Faults)
}

/// Draws as many faults as the level has, on different parts.
fn draw_faults(
    vehicle: &Vehicle,
    catalogue: &Catalogue,
    level: u8,
    seed: u64,
) -> Option<Vec<Fault>> {
    let sites = fault::sites(vehicle, catalogue);
    let weights = fault_weights(vehicle, catalogue, &sites, level);
    let mut stream = Stream::named(seed, "faults");
    let mut faults: Vec<Fault> = Vec::new();
    for _ in 0..if level == 5 { FAULTS_AT_FIVE } else { 1 } {
        let kind = stream.weighted(&weights)?;
        let site = *stream.pick(&sites[kind])?;
        if faults.iter().any(|fault| fault.site.part == site.part) {
            return None;
        }
        // How bad each is comes later, when it is known what shows.
        let severity = catalogue.kinds[kind].severity.max;
        faults.push(Fault {
            kind: KindId(kind),
            site,
            severity,
        });
    }
    Some(faults)
}

/// How often a level draws each kind of fault on a vehicle, against the other kinds; `sites` as [`fault::sites`] gives
/// them.
#[must_use]
pub fn fault_weights(
    vehicle: &Vehicle,
    catalogue: &Catalogue,
    sites: &[Vec<Site>],
    level: u8,
) -> Vec<u32> {
    /// So that weights can be scaled down and stay whole numbers.
    const FINENESS: u32 = 1000;
    let mut weights: Vec<u32> = catalogue
        .kinds
        .iter()
        .zip(sites)
        .map(|(kind, sites)| {
            let usable = kind.levels.contains(&level) && !sites.is_empty();
            if usable { kind.weight * FINENESS } else { 0 }
        })
        .collect();
    if level < 2 {
        return weights;
    }
    let shares: Vec<Vec<f64>> = (0..vehicle.parts.len())
        .filter(|&index| vehicle.parts[index].replace.is_some())
        .map(|index| cured_shares(vehicle, catalogue, sites, PartId(index)))
        .collect();
    for cured in shares {
        let of = |weights: &[u32]| -> (f64, f64) {
            let by = weights.iter().zip(&cured);
            by.fold((0.0, 0.0), |(dear, all), (&weight, share)| {
                let weight = f64::from(weight);
                (dear + weight * share, all + weight)
            })
        };
        let (dear, all) = of(&weights);
        let most = MOST_BY_ONE_PART * (all - dear) / (1.0 - MOST_BY_ONE_PART);
        if dear > most && most > 0.0 {
            for (weight, _) in weights
                .iter_mut()
                .zip(&cured)
                .filter(|(_, share)| **share > 0.5)
            {
                // Whole numbers again: weights stay below 2^32 as they only shrink.
                *weight = scaled(*weight, most / dear);
            }
        }
    }
    weights
}

/// A weight made smaller, never to nothing.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a weight times a share below one is a smaller weight"
)]
fn scaled(weight: u32, share: f64) -> u32 {
    if weight == 0 {
        return 0;
    }
    libm::floor(f64::from(weight) * share.clamp(0.0, 1.0)).max(1.0) as u32
}

/// Share of each kind's sites whose fault a new part in one place would cure.
fn cured_shares(
    vehicle: &Vehicle,
    catalogue: &Catalogue,
    sites: &[Vec<Site>],
    part: PartId,
) -> Vec<f64> {
    let cured = |kind: usize, site: &Site| {
        let fault = Fault {
            kind: KindId(kind),
            site: *site,
            severity: 1.0,
        };
        fault::cured_by(vehicle, catalogue, &fault, part, None, Remedy::Replace)
    };
    let share = |(kind, sites): (usize, &Vec<Site>)| {
        let count = sites.iter().filter(|site| cured(kind, site)).count();
        count as f64 / sites.len().max(1) as f64
    };
    sites.iter().enumerate().map(share).collect()
}

/// The part that costs most to replace: what a learner who reasons about nothing would buy.
#[must_use]
pub fn dearest_part(vehicle: &Vehicle) -> Option<PartId> {
    let price = |index: usize| vehicle.parts[index].replace.as_ref().map(|work| work.price);
    let priced = (0..vehicle.parts.len()).filter_map(|index| Some((price(index)?, index)));
    let dearest: Option<(Money, usize)> =
        priced.reduce(|best, next| if next.0.0 > best.0.0 { next } else { best });
    dearest.map(|(_, index)| PartId(index))
}
