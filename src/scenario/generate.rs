//! From a code to a scenario.
//!
//! A draw is kept if the vehicle would be sound without its faults and a driver notices something with them;
//! otherwise it is drawn again, at most [`MAX_REDRAWS`] times, from streams named by the number of the draw.

use std::sync::Arc;

use super::Scenario;
use super::complaint::complaint;
use super::library::Library;
use super::order::WorkOrder;
use crate::fault::{self, Catalogue, Fault, KindId, Spread};
use crate::rig::{Conditions, Rig, RigError, Tank};
use crate::seed::{CodeError, ScenarioCode, Stream};
use crate::vehicle::{Section, Vehicle};

/// Draws after which a code is given up.
pub const MAX_REDRAWS: u32 = 64;

/// How bad a fault is gets drawn this often before another fault is drawn: without that, faults that show at any
/// severity would crowd out those that show only when they are bad.
pub const SEVERITY_DRAWS: u32 = 6;

/// Why a code gave no scenario.
#[derive(Debug, thiserror::Error)]
pub enum GenerateError {
    /// The code is of another generator.
    #[error(transparent)]
    Code(#[from] CodeError),
    /// The code names a set of vehicles this program does not have.
    #[error("the code asks for vehicle set {0}, and this program has sets 0 to {1}")]
    UnknownSet(u8, usize),
    /// No draw was fit to be offered.
    #[error("no draw of {vehicle} at level {level} was fit to be offered in {MAX_REDRAWS} tries")]
    Exhausted {
        /// Vehicle tried last.
        vehicle: String,
        /// Level asked for.
        level: u8,
    },
    /// A drawn vehicle could not be solved.
    #[error("a drawn vehicle could not be solved: {0}")]
    Rig(#[from] RigError),
}

/// Group of sections by which exercises choose what they train.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Theme {
    /// Battery to fuse box.
    Supply,
    /// Fuse to tank.
    Feed,
    /// Tank to negative post.
    Ground,
    /// Wiring inside the tank.
    InTank,
    /// The pump.
    Pump,
    /// What switches it on.
    Control,
    /// The fuel side.
    Hydraulic,
}

impl Theme {
    /// All themes with their names.
    pub const ALL: [(Theme, &'static str); 7] = [
        (Theme::Supply, "supply"),
        (Theme::Feed, "feed"),
        (Theme::Ground, "ground"),
        (Theme::InTank, "in-tank"),
        (Theme::Pump, "pump"),
        (Theme::Control, "control"),
        (Theme::Hydraulic, "hydraulic"),
    ];

    /// The theme a section belongs to.
    #[must_use]
    pub fn of(section: Section) -> Theme {
        match section {
            Section::Supply => Theme::Supply,
            Section::Feed => Theme::Feed,
            Section::GroundSide | Section::BodyGround => Theme::Ground,
            Section::InTankFeed | Section::InTankGround => Theme::InTank,
            Section::Pump => Theme::Pump,
            Section::Control => Theme::Control,
            Section::Hydraulic => Theme::Hydraulic,
        }
    }

    /// Whether the first hidden fault of a scenario belongs to this theme; for choosing codes, not for learners.
    #[must_use]
    pub fn fits(self, scenario: &Scenario) -> bool {
        let sections = scenario
            .faults
            .first()
            .map(|fault| fault::section(&scenario.vehicle, fault));
        sections.is_some_and(|section| Theme::of(section) == self)
    }
}

/// The scenario of a code: a pure function of code and library.
pub fn generate(library: &Library, code: ScenarioCode) -> Result<Scenario, GenerateError> {
    code.supported()?;
    let candidates: Vec<&Arc<Vehicle>> = match code.set() {
        0 => library.vehicles.iter().collect(),
        set => library
            .vehicles
            .get(usize::from(set) - 1)
            .into_iter()
            .collect(),
    };
    let seed = code.seed();
    let mut vehicles = Stream::named(seed, "vehicle");
    let vehicle = *vehicles.pick(&candidates).ok_or(GenerateError::UnknownSet(
        code.set(),
        library.vehicles.len(),
    ))?;
    for redraws in 0..MAX_REDRAWS {
        if let Some(scenario) = draw(vehicle, &library.catalogue, code, redraws)? {
            return Ok(scenario);
        }
    }
    Err(GenerateError::Exhausted {
        vehicle: vehicle.id.clone(),
        level: code.level(),
    })
}

fn draw(
    vehicle: &Arc<Vehicle>,
    catalogue: &Arc<Catalogue>,
    code: ScenarioCode,
    redraws: u32,
) -> Result<Option<Scenario>, GenerateError> {
    // The vehicle's own tolerances, instruments and contacts change with each draw as well.
    let key = [code.set(), code.level()].map(|part| part.to_string());
    let key = [vehicle.id.as_str(), &key[0], &key[1], &redraws.to_string()];
    let seed = Stream::keyed(code.seed(), "draw", &key).next_u64();
    let mut stream = Stream::named(seed, "conditions");
    let conditions = draw_conditions(&mut stream);
    let level = code.level();
    let Some(mut faults) = draw_faults(vehicle, catalogue, level, seed) else {
        return Ok(None);
    };
    let fade = vehicle.engine.fade_fraction;
    let rig = |faults| {
        Rig::new(
            Arc::clone(vehicle),
            Arc::clone(catalogue),
            seed,
            conditions,
            faults,
        )
    };
    if !rig(Vec::new())?.drive()?.symptoms(fade).is_empty() {
        return Ok(None);
    }
    // Each fault must matter by itself, or it could not be asked for: nobody brings in what does not show.
    let mut severities = Stream::named(seed, "severities");
    for fault in &mut faults {
        let range = &catalogue.kinds[fault.kind.0].severity;
        let mut shows = false;
        for _ in 0..SEVERITY_DRAWS {
            fault.severity = draw_severity(range, level, &mut severities);
            shows = !rig(vec![*fault])?.drive()?.symptoms(fade).is_empty();
            if shows || range.min == range.max {
                break;
            }
        }
        if !shows {
            return Ok(None);
        }
    }
    let mut words = Stream::named(seed, "work order");
    let report = rig(faults.clone())?.drive()?;
    let Some(customer) = complaint(&report, fade, &mut words) else {
        return Ok(None);
    };
    let order = write_order(vehicle, customer, level, &mut words);
    Ok(Some(Scenario {
        vehicle: Arc::clone(vehicle),
        catalogue: Arc::clone(catalogue),
        code: Some(code),
        seed,
        level,
        conditions,
        order,
        redraws,
        tank: Tank::default(),
        faults,
    }))
}

/// Draws as many faults as the level has, on different parts.
fn draw_faults(
    vehicle: &Vehicle,
    catalogue: &Catalogue,
    level: u8,
    seed: u64,
) -> Option<Vec<Fault>> {
    let sites = fault::sites(vehicle, catalogue);
    let weights: Vec<u32> = catalogue
        .kinds
        .iter()
        .zip(&sites)
        .map(|(kind, sites)| {
            let usable = kind.levels.contains(&level) && !sites.is_empty();
            if usable { kind.weight } else { 0 }
        })
        .collect();
    let mut stream = Stream::named(seed, "faults");
    let mut faults: Vec<Fault> = Vec::new();
    for _ in 0..if level == 5 { 2 } else { 1 } {
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

/// The part of a severity range that a level draws from, as shares from mildest to worst: lower levels
/// draw from the worse part, where readings speak louder.
#[must_use]
pub fn severity_shares(level: u8) -> (f64, f64) {
    match level {
        1 => (0.6, 1.0),
        2 => (0.4, 1.0),
        3 => (0.2, 0.9),
        _ => (0.0, 0.8),
    }
}

/// The severity at a share of its range.
#[must_use]
pub fn severity_at(range: &fault::Severity, share: f64) -> f64 {
    match range.spread {
        Spread::Linear => range.min + (range.max - range.min) * share,
        Spread::Log => range.min * libm::pow(range.max / range.min, share),
    }
}

/// Surroundings as scenarios have them.
#[must_use]
pub fn draw_conditions(stream: &mut Stream) -> Conditions {
    Conditions {
        ambient_c: libm::round(stream.between(2.0, 26.0)),
        charge: stream.between(0.8, 1.0),
        fuel: stream.between(0.2, 0.9),
    }
}

fn draw_severity(range: &fault::Severity, level: u8, stream: &mut Stream) -> f64 {
    let (from, to) = severity_shares(level);
    severity_at(range, stream.between(from, to))
}

fn write_order(vehicle: &Vehicle, customer: String, level: u8, stream: &mut Stream) -> WorkOrder {
    const HISTORY: [&str; 8] = [
        "Battery new in spring.",
        "Stood two winters beside the slip.",
        "Serviced by the book until last year.",
        "Towed once, from the ford.",
        "Carries ice and fish boxes most days.",
        "Had a tow bar fitted by the last owner.",
        "New fuel filter at the last service.",
        "The tank was out once, nobody knows why.",
    ];
    let kilometres = stream.between(60.0, 240.0);
    let mut history = HISTORY;
    stream.shuffle(&mut history);
    let mut known = vec![format!("{kilometres:.0} 000 km.")];
    known.extend(history.iter().take(2).map(|&line| line.to_owned()));
    let mut figures: Vec<String> = vehicle
        .figures
        .iter()
        .map(|figure| figure.text.clone())
        .collect();
    stream.shuffle(&mut figures);
    let kept = match level {
        1 => figures.len(),
        2 => figures.len().div_ceil(2),
        3 => 2,
        _ => 1,
    };
    figures.truncate(kept);
    WorkOrder {
        vehicle: vehicle.name.clone(),
        name: stream.pick(&vehicle.fleet).cloned().unwrap_or_default(),
        customer,
        known,
        figures,
        cautions: vehicle.cautions.clone(),
    }
}
