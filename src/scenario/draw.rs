//! One draw of generator version 1: what is wrong, how badly, in what surroundings, and what the customer says.
//!
//! Everything comes from streams named by the number of the draw, so that a draw thrown away shifts nothing in the next.

use std::sync::Arc;

use super::complaint::{Customer, complaint};
use super::library::Library;
use super::occasion::Occasion;
use super::order::{WorkOrder, write_order};
use super::severity::draw_tank;
use super::severity::{SEVERITY_DRAWS, draw_conditions, draw_severity};
use super::{Revealed, TankTrouble, Usage};
use crate::fault::{self, Activation, Catalogue, Consequence, Fault, KindId, Remedy, Site};
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
    /// Nothing to offer, and which kinds of fault had been drawn.
    Refused(Redraw, Vec<KindId>),
}

/// How often something other than a fault of the vehicle is the matter, per mille of all draws of levels 2 to 4; ours.
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
    nothing: 20,
    empty: 30,
    water: 30,
};

/// Most of the weight that faults cured by any one new part may have, as a share: always buying the same
/// part must not pay, the pump least of all.
const MOST_BY_ONE_PART: f64 = 0.11;
/// The level that hides two faults.
pub const PAIRED_LEVEL: u8 = 5;
/// How often the two faults of level 5 are one and what it brought about; ours.
const CONSEQUENCES: f64 = 0.4;

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
    let usage = Usage::drawn(vehicle, &mut Stream::named(seed, "use"));
    let matter = draw_matter(vehicle, catalogue, (level, usage), seed);
    let nothing = matches!(matter, Some(Matter::Nothing));
    match matter {
        None => return Ok(Drawn::Refused(Redraw::NoFault, Vec::new())),
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
        return Ok(Drawn::Refused(Redraw::Silent, kinds(&revealed)));
    };
    let mut words = Stream::named(seed, "work order");
    let customer = Customer::drawn(level, &mut words);
    // Two faults that come and go each in their own way are past anybody's telling.
    let occasion = match &revealed.faults[..] {
        [fault] => Occasion::of(&catalogue.kinds[fault.kind.0]),
        _ => None,
    };
    let told = complaint(customer, &symptoms, occasion, nothing, vehicle, &mut words);
    let Some(told) = told else {
        return Ok(Drawn::Refused(Redraw::Silent, kinds(&revealed)));
    };
    let figures = !VehicleSet::from_bits(code.set()).withholds_figures();
    revealed.order = write_order(vehicle, told, usage, level, figures, &mut words);
    Ok(Drawn::Kept(Box::new(revealed)))
}

fn kinds(revealed: &Revealed) -> Vec<KindId> {
    revealed.faults.iter().map(|fault| fault.kind).collect()
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
    let pair = revealed.faults.len() > 1;
    let (mut last, mut unseen) = (None, false);
    for place in 0..revealed.faults.len() {
        let range = &catalogue.kinds[revealed.faults[place].kind.0].severity;
        let tries = if range.min == range.max {
            1
        } else {
            SEVERITY_DRAWS
        };
        let activation = catalogue.kinds[revealed.faults[place].kind.0].activation;
        let provoked = !matches!(activation, Activation::Always | Activation::Wiggle);
        let mut shown = None;
        for _ in 0..tries {
            let severity = draw_severity(range, revealed.level, &mut stream);
            revealed.faults[place].severity = severity;
            let alone = || vec![revealed.faults[place]];
            // A glance is quick and sees what needs no provoking; what is told of a lone fault is the road test's.
            let mut symptoms = Vec::new();
            if !provoked {
                symptoms = revealed.rig(alone())?.glance()?.symptoms(fade);
            }
            if provoked || !pair && !symptoms.is_empty() {
                symptoms = notices(revealed.rig(alone()))?;
            }
            if !symptoms.is_empty() {
                shown = Some(symptoms);
                break;
            }
        }
        // Each fault must matter by itself, or it could not be asked for: nobody brings in what does not show. Only what
        // has brought something else about is found by asking why; and what it brought about may show only with it, such
        // as one of two paths that stand in for each other.
        let follows = revealed.consequence().is_some();
        if place == 1 && follows && shown.is_none() {
            let first = if unseen {
                Vec::new()
            } else {
                notices(revealed.rig(vec![revealed.faults[0]]))?
            };
            for _ in 0..SEVERITY_DRAWS {
                let both = notices(revealed.rig(revealed.faults.clone()))?;
                shown = Some(both).filter(|both| !both.is_empty() && *both != first);
                if shown.is_some() {
                    break;
                }
                for fault in &mut revealed.faults[usize::from(!unseen)..] {
                    let range = &catalogue.kinds[fault.kind.0].severity;
                    fault.severity = draw_severity(range, revealed.level, &mut stream);
                }
            }
        }
        let hidden_cause = place == 0 && follows;
        unseen = hidden_cause && shown.is_none();
        if shown.is_none() && !hidden_cause {
            return Ok(None);
        }
        last = shown;
    }
    match last {
        Some(symptoms) if !pair => Ok(Some(symptoms)),
        _ => notices(revealed.rig(revealed.faults.clone())).map(Some),
    }
}

fn draw_matter(
    vehicle: &Vehicle,
    catalogue: &Catalogue,
    (level, usage): (u8, Usage),
    seed: u64,
) -> Option<Matter> {
    let mut stream = Stream::named(seed, "matter");
    if (2..=4).contains(&level) {
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
    let sites = fault::sites(vehicle, catalogue);
    let weights = fault_weights(vehicle, catalogue, &sites, level, usage);
    let mut stream = Stream::named(seed, "faults");
    let kinds = match level {
        PAIRED_LEVEL => draw_pair(catalogue, &sites, &weights, &mut stream)?.to_vec(),
        _ => vec![stream.weighted(&weights)?],
    };
    draw_faults(catalogue, &sites, &kinds, &mut stream).map(Matter::Faults)
}

/// Two kinds of fault: one and what it brought about, or two that have nothing to do with each other.
fn draw_pair(
    catalogue: &Catalogue,
    sites: &[Vec<Site>],
    weights: &[u32],
    stream: &mut Stream,
) -> Option<[usize; 2]> {
    let pairs = pair_weights(catalogue, sites);
    // Drawn always, so that a vehicle without such pairs shifts nothing.
    let follows = stream.chance(CONSEQUENCES);
    let pair = stream.weighted(&pairs).filter(|_| follows);
    Some(match pair {
        Some(pair) => {
            let pair = &catalogue.consequences[pair];
            [pair.of.0, pair.brings.0]
        }
        None => [stream.weighted(weights)?, stream.weighted(weights)?],
    })
}

/// How often each consequence of the catalogue is drawn, against the others.
fn pair_weights(catalogue: &Catalogue, sites: &[Vec<Site>]) -> Vec<u32> {
    let drawn = |kind: KindId| {
        catalogue.kinds[kind.0].levels.contains(&PAIRED_LEVEL) && !sites[kind.0].is_empty()
    };
    let possible = |pair: &Consequence| drawn(pair.of) && drawn(pair.brings);
    catalogue
        .consequences
        .iter()
        .map(|pair| if possible(pair) { pair.weight } else { 0 })
        .collect()
}

/// Whether the catalogue has one kind bring another about.
#[must_use]
pub fn follows(catalogue: &Catalogue, of: KindId, brings: KindId) -> bool {
    let mut pairs = catalogue.consequences.iter();
    pairs.any(|pair| (pair.of, pair.brings) == (of, brings))
}

/// How often each kind is drawn as the other of two faults where one is `known`; `weights` as [`fault_weights`] gives them
/// for [`PAIRED_LEVEL`]. All zero for a kind that is not drawn.
#[must_use]
pub fn other_kinds(
    catalogue: &Catalogue,
    sites: &[Vec<Site>],
    weights: &[u32],
    known: KindId,
) -> Vec<f64> {
    let whole: f64 = weights.iter().map(|&weight| f64::from(weight)).sum();
    let share = |kind: usize| f64::from(weights[kind]) / whole.max(1.0);
    let pairs = pair_weights(catalogue, sites);
    let all: f64 = pairs.iter().map(|&weight| f64::from(weight)).sum();
    let linked = if all > 0.0 { CONSEQUENCES } else { 0.0 };
    // Two drawn apart come in either order.
    let apart = 2.0 * (1.0 - linked) * share(known.0);
    let mut others: Vec<f64> = (0..weights.len()).map(|kind| apart * share(kind)).collect();
    for (pair, &weight) in catalogue.consequences.iter().zip(&pairs) {
        let chance = linked * f64::from(weight) / all.max(1.0);
        if pair.of == known {
            others[pair.brings.0] += chance;
        } else if pair.brings == known {
            others[pair.of.0] += chance;
        }
    }
    let sum: f64 = others.iter().sum();
    if sum > 0.0 {
        for chance in &mut others {
            *chance /= sum;
        }
    }
    others
}

/// A place for each kind, on different parts.
fn draw_faults(
    catalogue: &Catalogue,
    sites: &[Vec<Site>],
    kinds: &[usize],
    stream: &mut Stream,
) -> Option<Vec<Fault>> {
    let mut faults: Vec<Fault> = Vec::new();
    for &kind in kinds {
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

/// How often a level draws each kind of fault on a vehicle of this use, against the other kinds; `sites` as [`fault::sites`] gives
/// them.
#[must_use]
pub fn fault_weights(
    vehicle: &Vehicle,
    catalogue: &Catalogue,
    sites: &[Vec<Site>],
    level: u8,
    usage: Usage,
) -> Vec<u32> {
    /// So that weights can be scaled and stay whole numbers.
    const FINENESS: f64 = 1000.0;
    let mut weights: Vec<u32> = catalogue
        .kinds
        .iter()
        .zip(sites)
        .map(|(kind, sites)| {
            let usable = kind.weight > 0 && kind.levels.contains(&level) && !sites.is_empty();
            let weight = f64::from(kind.weight) * usage.factor(vehicle, kind.grows);
            if usable { whole(FINENESS * weight) } else { 0 }
        })
        .collect();
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
fn scaled(weight: u32, share: f64) -> u32 {
    if weight == 0 {
        return 0;
    }
    whole(f64::from(weight) * share.clamp(0.0, 1.0))
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the clamp keeps the number within the integer's range"
)]
fn whole(weight: f64) -> u32 {
    libm::floor(weight).clamp(1.0, f64::from(u32::MAX)) as u32
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
