//! Scenarios written by hand, in TOML.

mod fault;

use std::sync::Arc;

use super::library::Library;
use super::order::WorkOrder;
use super::{PAIRED_LEVEL, Revealed, Scenario};
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

/// The vehicle, if what it pumps is not fuel, so that a scenario says nothing of a tank.
fn tankless(vehicle: Option<&Arc<Vehicle>>) -> Option<&Vehicle> {
    let vehicle = vehicle.map(AsRef::as_ref);
    vehicle.filter(|vehicle| vehicle.medium() == Medium::Coolant)
}

/// The level in the tank, which a circuit without one does not ask for.
fn read_fuel(
    vehicle: Option<&Arc<Vehicle>>,
    reader: &mut Reader,
    table: &mut Table,
) -> Option<f64> {
    let Some(tankless) = tankless(vehicle) else {
        return table.fraction(reader, "fuel");
    };
    if let Some(fuel) = table.text_if_any(reader, "fuel") {
        let message = format!("the circuit of {} carries coolant", tankless.id);
        reader.report(fuel.span(), message, Some("take `fuel` away".to_owned()));
    }
    Some(1.0)
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
    let tank = read_tank(vehicle, reader, top);
    // Asked for before anything can end the reading, or a file with an unknown vehicle would have an unknown key too.
    let tables = top.tables(reader, "fault", "kind");
    let level = check_pair(reader, level, tables.len());
    let vehicle = vehicle?;
    let faults = fault::read_all(vehicle, &library.catalogue, reader, tables);
    for id in &withheld {
        if !vehicle
            .figures
            .iter()
            .any(|figure| &figure.id == id.get_ref())
        {
            let figures = vehicle.figures.iter().map(|figure| figure.id.as_str());
            let hint = did_you_mean(id.get_ref(), figures.clone())
                .or_else(|| listed("its figures are", figures));
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
            let hint = did_you_mean(known, points.chain(parts)).or_else(|| {
                Some("its file names them, and `points` at the prompt does".to_owned())
            });
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
        faults: faults?,
        allowed: allowed.map(|names| names.into_iter().map(toml::Spanned::into_inner).collect()),
    };
    Some(revealed.seal())
}

/// All names there are, after some words of introduction; nothing if there are none.
fn listed<'k>(introduced: &str, names: impl Iterator<Item = &'k str>) -> Option<String> {
    let names: Vec<&str> = names.collect();
    (!names.is_empty()).then(|| format!("{introduced} {}", names.join(", ")))
}

/// What else is the matter with the tank; all of it may be absent.
fn read_tank(vehicle: Option<&Arc<Vehicle>>, reader: &mut Reader, top: &mut Table) -> Tank {
    let Some(mut table) = top.table_if_any(reader, "tank") else {
        return Tank::default();
    };
    if let Some(tankless) = tankless(vehicle) {
        let message = format!("the circuit of {} has no tank of fuel", tankless.id);
        reader.report(
            table.span.clone(),
            message,
            Some("take `[tank]` away".to_owned()),
        );
    }
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
            let hint = did_you_mean(name.get_ref(), known.clone())
                .or_else(|| listed("`hidden-ohm scenario list` tells of", known));
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
