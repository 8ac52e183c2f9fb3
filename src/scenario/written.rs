//! Scenarios written by hand, in TOML.

use std::sync::Arc;

use super::library::Library;
use super::order::WorkOrder;
use super::{PAIRED_LEVEL, Revealed, Scenario};
use crate::fault::{self, Catalogue, Fault, KindId, Site};
use crate::rig::{Conditions, Tank};
use crate::vehicle::diagnostic::{Source, did_you_mean};
use crate::vehicle::reader::{Reader, Table};
use crate::vehicle::{Diagnostic, Medium, Vehicle};

/// Reads a scenario; everything wrong in it comes back at once, in the order of the text.
pub fn written(library: &Library, file: &str, text: &str) -> Result<Scenario, Vec<Diagnostic>> {
    let mut reader = Reader::new(Source { file, text });
    let scenario = reader.parse().and_then(|tree| {
        let mut top = Table::new("the scenario", 0..0, tree.get_ref());
        top.format(&mut reader);
        let scenario = read(library, &mut reader, &mut top);
        top.finish(&mut reader);
        scenario
    });
    match scenario {
        Some(scenario) if reader.is_clean() => Ok(scenario),
        _ => Err(reader.into_diagnostics()),
    }
}

/// The level in the tank, which a circuit without one does not ask for.
fn read_fuel(
    vehicle: Option<&Arc<Vehicle>>,
    reader: &mut Reader,
    table: &mut Table,
) -> Option<f64> {
    let tankless = vehicle.is_some_and(|vehicle| vehicle.medium() == Medium::Coolant);
    if tankless && !table.has("fuel") {
        return Some(1.0);
    }
    table.fraction(reader, "fuel")
}

fn read(library: &Library, reader: &mut Reader, top: &mut Table) -> Option<Scenario> {
    let vehicle = read_vehicle(library, reader, top);
    let name = top.text_if_any(reader, "name");
    let level = read_level(reader, top);
    let seed = top.count(reader, "seed");
    let customer = top.text(reader, "customer");
    let known = top.texts(reader, "known");
    let withheld = top.texts(reader, "withheld");
    let allowed = top.has("allowed").then(|| top.texts(reader, "allowed"));
    let conditions = top.table(reader, "conditions").and_then(|mut table| {
        let ambient = table.number_with_unit(reader, "ambient", "C", "12 C");
        let charge = table.fraction(reader, "charge");
        let fuel = read_fuel(vehicle, reader, &mut table);
        table.finish(reader);
        let ambient = ambient.filter(|ambient| {
            let livable = (-40.0..=60.0).contains(ambient.get_ref());
            if !livable {
                reader.report(
                    ambient.span(),
                    "the ambient temperature must be from -40 to 60 C".to_owned(),
                    None,
                );
            }
            livable
        });
        Some(Conditions {
            ambient_c: *ambient?.get_ref(),
            charge: charge?,
            fuel: fuel?,
        })
    });
    let tank = read_tank(reader, top);
    // Asked for before anything can end the reading, or a file with an unknown vehicle would have an unknown key too.
    let tables = top.tables(reader, "fault", "kind");
    let level = check_pair(reader, level, tables.len());
    let vehicle = vehicle?;
    let faults: Vec<Option<Fault>> = tables
        .into_iter()
        .map(|mut table| {
            let fault = read_fault(vehicle, &library.catalogue, reader, &mut table);
            table.finish(reader);
            fault
        })
        .collect();
    for id in &withheld {
        if !vehicle
            .figures
            .iter()
            .any(|figure| &figure.id == id.get_ref())
        {
            let hint = did_you_mean(
                id.get_ref(),
                vehicle.figures.iter().map(|figure| figure.id.as_str()),
            );
            reader.report(
                id.span(),
                format!("{} has no figure `{}`", vehicle.id, id.get_ref()),
                hint,
            );
        }
    }
    for name in allowed.iter().flatten() {
        let known = name.get_ref();
        if vehicle.node(known).is_none() && vehicle.part(known).is_none() {
            let points = vehicle.nodes.iter().map(|node| node.name.as_str());
            let parts = vehicle.parts.iter().map(|part| part.id.as_str());
            let hint = did_you_mean(known, points.chain(parts));
            let message = format!("{} has no point and no part `{known}`", vehicle.id);
            reader.report(name.span(), message, hint);
        }
    }
    let is_withheld = |id: &str| withheld.iter().any(|word| word.get_ref() == id);
    let figures = vehicle
        .figures
        .iter()
        .filter(|figure| !is_withheld(&figure.id));
    let order = WorkOrder {
        vehicle: vehicle.name.clone(),
        name: name.map_or_else(
            || vehicle.fleet.first().cloned().unwrap_or_default(),
            toml::Spanned::into_inner,
        ),
        customer: customer?.into_inner(),
        known: known.into_iter().map(toml::Spanned::into_inner).collect(),
        figures: figures.map(|figure| figure.text.clone()).collect(),
        cautions: vehicle.cautions.clone(),
    };
    let revealed = Revealed {
        vehicle: Arc::clone(vehicle),
        catalogue: Arc::clone(&library.catalogue),
        code: None,
        seed: u64::from(seed?.into_inner()),
        level: level?,
        conditions: conditions?,
        order,
        redraws: 0,
        tank,
        faults: faults.into_iter().collect::<Option<Vec<Fault>>>()?,
        allowed: allowed.map(|names| names.into_iter().map(toml::Spanned::into_inner).collect()),
    };
    Some(revealed.seal())
}

/// What else is the matter with the tank; all of it may be absent.
fn read_tank(reader: &mut Reader, top: &mut Table) -> Tank {
    let Some(mut table) = top.table_if_any(reader, "tank") else {
        return Tank::default();
    };
    let mut share = |key| {
        table
            .has(key)
            .then(|| table.fraction(reader, key))
            .flatten()
    };
    let tank = Tank {
        stuck_float: share("float_stuck_at"),
        water: share("water").unwrap_or(0.0),
    };
    table.finish(reader);
    tank
}

fn read_vehicle<'l>(
    library: &'l Library,
    reader: &mut Reader,
    top: &mut Table,
) -> Option<&'l Arc<Vehicle>> {
    top.text(reader, "vehicle").and_then(|name| {
        let found = library.vehicle(name.get_ref());
        if found.is_none() {
            let known = library.vehicles.iter().map(|vehicle| vehicle.id.as_str());
            let hint = did_you_mean(name.get_ref(), known);
            reader.report(
                name.span(),
                format!("no vehicle is called `{}`", name.get_ref()),
                hint,
            );
        }
        found
    })
}

fn read_level(reader: &mut Reader, top: &mut Table) -> Option<toml::Spanned<u8>> {
    top.count(reader, "level").and_then(|level| {
        let fits = u8::try_from(*level.get_ref())
            .ok()
            .filter(|level| (1..=5).contains(level));
        if fits.is_none() {
            let hint = Some("write `level = 1` to `level = 5`".to_owned());
            reader.report(level.span(), "there is no such level".to_owned(), hint);
        }
        Some(toml::Spanned::new(level.span(), fits?))
    })
}

/// The level, once it is one that so many faults can have: at [`PAIRED_LEVEL`] the work order and all that is believed
/// speak of two.
fn check_pair(reader: &mut Reader, level: Option<toml::Spanned<u8>>, faults: usize) -> Option<u8> {
    let level = level?;
    if *level.get_ref() == PAIRED_LEVEL && faults != 2 {
        let message = format!("level {PAIRED_LEVEL} is of two faults, and here is {faults}");
        let hint = "write a lower level, or two [[fault]]".to_owned();
        reader.report(level.span(), message, Some(hint));
    }
    Some(level.into_inner())
}

fn read_fault(
    vehicle: &Vehicle,
    catalogue: &Catalogue,
    reader: &mut Reader,
    table: &mut Table,
) -> Option<Fault> {
    let kind = table.text(reader, "kind");
    let part = table.text(reader, "part");
    let leg = table.text_if_any(reader, "leg");
    let index = kind.as_ref().and_then(|kind| {
        let index = catalogue
            .kinds
            .iter()
            .position(|known| &known.id == kind.get_ref());
        if index.is_none() {
            let hint = did_you_mean(
                kind.get_ref(),
                catalogue.kinds.iter().map(|known| known.id.as_str()),
            );
            reader.report(
                kind.span(),
                format!("no fault is called `{}`", kind.get_ref()),
                hint,
            );
        }
        index
    });
    let part_id = part.as_ref().and_then(|part| {
        let id = vehicle.part(part.get_ref());
        if id.is_none() {
            let hint = did_you_mean(
                part.get_ref(),
                vehicle.parts.iter().map(|known| known.id.as_str()),
            );
            reader.report(
                part.span(),
                format!("{} has no part `{}`", vehicle.id, part.get_ref()),
                hint,
            );
        }
        id
    });
    if index.is_none() {
        // Nobody knows what a severity of an unknown kind is; the key itself is no mistake.
        let _ = table.text_if_any(reader, "severity");
    }
    let effect = catalogue.kinds[index?].effect;
    let severity = if effect.has_no_degrees() {
        Some(1.0)
    } else {
        fault::read_value(reader, table, "severity", effect)
    };
    let (part, part_id) = (part?, part_id?);
    let sites = &fault::sites(vehicle, catalogue)[index?];
    let here: Vec<&Site> = sites.iter().filter(|site| site.part == part_id).collect();
    let leg_of = |site: &Site| {
        site.element
            .map_or("", |id| vehicle.elements[id.0].leg.as_str())
    };
    let site = match &leg {
        Some(leg) => here
            .iter()
            .find(|site| leg_of(site) == leg.get_ref())
            .copied(),
        None if here.len() <= 1 => here.first().copied(),
        None => None,
    };
    if site.is_none() {
        let kind = kind.map(toml::Spanned::into_inner).unwrap_or_default();
        let (span, message) = match &leg {
            Some(leg) => (
                leg.span(),
                format!(
                    "`{kind}` cannot sit on {} {}",
                    part.get_ref(),
                    leg.get_ref()
                ),
            ),
            None if here.is_empty() => (
                part.span(),
                format!("`{kind}` cannot sit on {}", part.get_ref()),
            ),
            None => (
                part.span(),
                format!("{} has several places for `{kind}`", part.get_ref()),
            ),
        };
        let legs: Vec<&str> = here.iter().map(|site| leg_of(site)).collect();
        let parts: Vec<&str> = sites
            .iter()
            .map(|site| vehicle.parts[site.part.0].id.as_str())
            .collect();
        let hint = if here.is_empty() {
            format!("it can sit on {}", parts.join(", "))
        } else {
            format!("write `leg = ` one of {}", legs.join(", "))
        };
        reader.report(span, message, Some(hint));
    }
    Some(Fault {
        kind: KindId(index?),
        site: *site?,
        severity: severity?,
    })
}
