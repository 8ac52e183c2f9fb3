//! Every row of `tests/data/physics/sheet.toml`: what is published is measured here on the built-in vehicles and instruments,
//! or held by the test that the row names.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use hidden_ohm::circuit::NodeId;
use hidden_ohm::fault::Catalogue;
use hidden_ohm::instrument::{Clamp, Connection, Function, Gauge, Grade, Grip, LeadSet, Meter};
use hidden_ohm::pump::{Demand, hold_pressure};
use hidden_ohm::rig::{Attachments, Conditions, Ladder, Moment, Rig};
use hidden_ohm::units::System;
use hidden_ohm::vehicle::{Key, Kind, Law, Medium, Vehicle};
use serde::Deserialize;

use super::library;

#[derive(Deserialize)]
struct Sheet {
    row: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    id: String,
    low: Option<f64>,
    high: Option<f64>,
    unit: Option<String>,
    source: String,
    label: String,
    #[serde(default)]
    measured: bool,
    held_by: Option<String>,
}

fn sheet() -> Vec<Row> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/physics/sheet.toml");
    let text = std::fs::read_to_string(path).expect("the sheet");
    toml::from_str::<Sheet>(&text).expect("rows").row
}

/// Every value measured for a row, by the row's id.
#[derive(Default)]
struct Measured(BTreeMap<&'static str, Vec<f64>>);

impl Measured {
    fn add(&mut self, id: &'static str, values: impl IntoIterator<Item = f64>) {
        self.0.entry(id).or_default().extend(values);
    }
}

#[test]
fn every_published_figure_is_kept() {
    let mut measured = Measured::default();
    let library = library();
    for vehicle in &library.vehicles {
        described(vehicle, &mut measured);
        cranked(vehicle, &library.catalogue, &mut measured);
    }
    for (id, service) in [
        ("workshop-truck", "pressure-single-point"),
        ("mobile-library", "pressure-returnless"),
    ] {
        let vehicle = library.vehicle(id).expect("a built-in vehicle");
        let on = rig(vehicle, &library.catalogue, 20.0, 1.0)
            .ladder(Key::On, true, Moment::Settled)
            .expect("a truth");
        measured.add(service, [on.point.rail_pa]);
    }
    // Figures of return-type port injection are those of the van.
    van(&library.vehicles[0], &library.catalogue, &mut measured);
    instruments(&library.vehicles[0], &library.catalogue, &mut measured);
    let rows = sheet();
    let expected: Vec<&str> = rows
        .iter()
        .filter(|row| row.measured)
        .map(|row| row.id.as_str())
        .collect();
    for id in measured.0.keys() {
        assert!(expected.contains(id), "no row for the measured {id}");
    }
    let mut wrong = Vec::new();
    for row in rows.iter().filter(|row| row.measured) {
        let (Some(low), Some(high), Some(unit)) = (row.low, row.high, &row.unit) else {
            panic!("{}: no bounds or no unit", row.id);
        };
        let values = measured.0.get(row.id.as_str());
        let values = values.unwrap_or_else(|| panic!("nothing measured for {}", row.id));
        assert!(!values.is_empty(), "{}: nothing measured", row.id);
        for value in values.iter().filter(|value| !(low..=high).contains(*value)) {
            wrong.push(format!(
                "{}: {value} {unit} is not within {low} to {high} ({}; {})",
                row.id, row.source, row.label
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A row that names a test means it: the function stands in the sources of this test program.
#[test]
fn every_row_is_measured_or_names_a_test_that_exists() {
    let mut sources = String::new();
    let mut folders = vec![Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/it")];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).expect("a folder") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|extension| extension == "rs") {
                sources.push_str(&std::fs::read_to_string(path).expect("a source"));
            }
        }
    }
    for row in sheet() {
        assert!(
            !row.source.is_empty() && !row.label.is_empty(),
            "{}",
            row.id
        );
        match row.held_by {
            Some(name) => assert!(
                !row.measured && sources.contains(&format!("#[test]\nfn {name}()")),
                "{}: there is no test {name}",
                row.id
            ),
            None => assert!(row.measured, "{}: neither measured nor held", row.id),
        }
    }
}

/// What a vehicle's file states of its parts.
fn described(vehicle: &Vehicle, measured: &mut Measured) {
    for element in &vehicle.elements {
        match element.law {
            Law::Fuse { ohms, rated_a } => {
                for (rating, id) in [
                    (10.0, "blade-fuse-10-a-cold"),
                    (15.0, "blade-fuse-15-a-cold"),
                    (20.0, "blade-fuse-20-a-cold"),
                ] {
                    let blade = vehicle.parts[element.part.0].kind == Kind::Fuse;
                    measured.add(id, (blade && rated_a == rating).then_some(ohms));
                }
            }
            Law::Coil {
                ohms_20,
                operate_v,
                release_v,
            } if vehicle.parts[element.part.0].kind == Kind::Relay => {
                measured.add("relay-coil", [ohms_20]);
                measured.add("relay-operates", [operate_v]);
                measured.add("relay-releases", [release_v]);
                let has = |leg: &str| vehicle.element(element.part, leg).is_some();
                let all = ["30", "85", "86", "87"].into_iter().all(has);
                measured.add("relay-terminals", [f64::from(u8::from(all))]);
            }
            Law::Switch { closed, .. }
                if !closed.contains(Key::Off) && closed.contains(Key::On) =>
            {
                let name = |node: NodeId| vehicle.nodes[node.0 as usize].name.as_str();
                let ends = name(element.from).ends_with(".30") && name(element.to).ends_with(".15");
                measured.add("ignition-terminals", [f64::from(u8::from(ends))]);
            }
            Law::RelayContact { ohms } => measured.add("relay-contact-at-10-a", [10.0 * ohms]),
            Law::Battery { ohms, .. } => measured.add("battery-inside", [ohms]),
            _ => {}
        }
    }
    if vehicle.medium() == Medium::Fuel {
        measured.add("petrol-density", [vehicle.hydraulics.density]);
    }
    measured.add("prime", [vehicle.prime_seconds]);
}

fn rig(vehicle: &Arc<Vehicle>, catalogue: &Arc<Catalogue>, ambient_c: f64, charge: f64) -> Rig {
    let conditions = Conditions {
        ambient_c,
        charge,
        fuel: 0.5,
    };
    Rig::new(
        Arc::clone(vehicle),
        Arc::clone(catalogue),
        7,
        conditions,
        Vec::new(),
    )
    .expect("a rig")
}

fn volts(ladder: &Ladder, node: &str) -> f64 {
    let found = ladder.nodes.iter().find(|(name, _)| name == node);
    found.unwrap_or_else(|| panic!("{node} floats")).1
}

/// What the starter's current drops, and what the running engine's alternator holds.
fn cranked(vehicle: &Arc<Vehicle>, catalogue: &Arc<Catalogue>, measured: &mut Measured) {
    let cranking = rig(vehicle, catalogue, 20.0, 1.0)
        .ladder(Key::Crank, false, Moment::Settled)
        .expect("a truth");
    for branch in cranking.branches.iter().filter(|b| b.amps.abs() > 50.0) {
        let id = match branch.kind {
            "contact" => "drop-high-current-connection",
            "wire" => "drop-cable",
            _ => continue,
        };
        measured.add(id, [(branch.amps * branch.ohms).abs()]);
    }
    let battery = vehicle
        .elements
        .iter()
        .find(|element| matches!(element.law, Law::Battery { .. }))
        .expect("a battery");
    for charge in [0.7, 1.0] {
        let running = rig(vehicle, catalogue, 20.0, charge)
            .ladder(Key::Run, false, Moment::Settled)
            .expect("a truth");
        let post = &vehicle.nodes[battery.to.0 as usize].name;
        measured.add("charging", [volts(&running, post)]);
        let part = &vehicle.parts[battery.part.0].id;
        let source = running.sources.iter().find(|s| s.part == *part);
        measured.add("charging-current", [-source.expect("a battery").amps]);
    }
}

/// What a healthy van does.
fn van(vehicle: &Arc<Vehicle>, catalogue: &Arc<Catalogue>, measured: &mut Measured) {
    let battery = vehicle
        .elements
        .iter()
        .find(|element| matches!(element.law, Law::Battery { .. }))
        .expect("a battery");
    let post = &vehicle.nodes[battery.to.0 as usize].name;
    for (charge, id) in [
        (1.0, "rest-volts-full"),
        (0.75, "rest-volts-three-quarters"),
        (0.5, "rest-volts-half"),
        (0.25, "rest-volts-quarter"),
        (0.0, "rest-volts-empty"),
    ] {
        let rest = rig(vehicle, catalogue, 26.7, charge).ladder(Key::Off, false, Moment::Settled);
        measured.add(id, [volts(&rest.expect("a truth"), post)]);
    }
    let running = rig(vehicle, catalogue, 20.0, 0.8)
        .ladder(Key::Run, false, Moment::Settled)
        .expect("a truth");
    measured.add("charging", [volts(&running, post)]);
    measured.add("pump-current", [running.pumps[0].amps]);
    measured.add("pressure-with-vacuum", [running.point.rail_pa]);
    let on = rig(vehicle, catalogue, 20.0, 1.0)
        .ladder(Key::On, true, Moment::Settled)
        .expect("a truth");
    measured.add("pump-current", [on.pumps[0].amps]);
    measured.add("pressure-without-vacuum", [on.point.rail_pa]);
    measured.add("half-a-litre", [0.5e-3 / on.point.return_m3_s]);
    let held = hold_pressure(&on.solved.hydraulics, on.point.rail_pa, 300.0);
    let shut = on.solved.hydraulics.regulator.set_pa + Demand::none().manifold_pa;
    measured.add("hold-five-minutes", [on.point.rail_pa.min(shut) - held]);
    measured.add("hold-twenty-psi", [held]);
    for branch in &on.branches {
        let id = match branch.kind {
            "contact" => "drop-small-connection",
            "wire" => "drop-cable",
            "relay-contact" | "switch" => "drop-switch",
            _ => continue,
        };
        measured.add(id, [(branch.amps * branch.ohms).abs()]);
    }
    let pump = &vehicle.pump;
    let name = |node: NodeId| vehicle.nodes[node.0 as usize].name.as_str();
    let feed = volts(&on, post) - volts(&on, name(pump.plus));
    measured.add("drop-supply-side", [feed]);
    let ground = volts(&on, name(pump.minus));
    measured.add("drop-ground-side", [ground]);
    measured.add("drop-whole-circuit", [feed + ground]);
}

/// What the instruments in the tool box do.
fn instruments(vehicle: &Arc<Vehicle>, catalogue: &Arc<Catalogue>, measured: &mut Measured) {
    measured.add(
        "meter-volts-input",
        [Function::Volts, Function::Millivolts].map(Function::input_ohms),
    );
    measured.add(
        "meter-low-impedance-input",
        [Function::LowVolts.input_ohms()],
    );
    measured.add("meter-amps-burden", [Function::Amps.input_ohms()]);
    // The ohms function on a resistor of its own, apart from the vehicle, on each range.
    let mut still = rig(vehicle, catalogue, 20.0, 1.0);
    let mut across = |range: usize, ohms: f64| {
        let mut attached = Attachments::none();
        let (red, black) = (attached.node(), attached.node());
        attached.resistor(red, black, ohms);
        let touch = Grip { ohms: 1e-3 };
        let connection = Connection {
            function: Function::Ohms,
            red,
            black,
            red_grip: touch,
            black_grip: touch,
        };
        let _ = Meter::new(7).attach(&connection, range, &mut attached);
        let now = still.now(&attached).expect("a state");
        now.across(red, black).expect("joined").abs()
    };
    for (range, full) in Function::Ohms.full_scales().enumerate() {
        measured.add("meter-ohms-open", [across(range, 1e12)]);
        // Ranges above a megohm have too small a current to tell from the source's own volts.
        measured.add(
            "meter-ohms-full-scale",
            (full <= 600e3).then(|| across(range, full)),
        );
    }
    measured.add("meter-ohms-short", [across(0, 1.0)]);
    for seed in 0..200 {
        let leads = LeadSet::standard(seed);
        measured.add("leads-pair", [leads.red.ohms + leads.black.ohms]);
        let clamp = Clamp::new(seed);
        let gain = (clamp.passes(100.0) - clamp.passes(0.0)) / 100.0 - 1.0;
        measured.add("clamp-gain", [gain]);
        for (id, ends, grade) in [
            ("gauge-grade-a", "gauge-grade-a-ends", Grade::A),
            ("gauge-grade-b", "gauge-grade-b-ends", Grade::B),
            ("gauge-grade-c", "gauge-grade-c-ends", Grade::C),
            ("gauge-grade-d", "gauge-grade-d-ends", Grade::D),
        ] {
            let gauge = Gauge::of_grade(seed, grade);
            for applied in [60e3, 120e3, 200e3, 350e3, 500e3, 600e3, 680e3] {
                let shown = gauge.read(applied, System::Metric, String::new());
                // Read to 5 kPa: half of that may go to rounding.
                let off = shown.value.expect("a needle") - applied;
                let beyond = (off.abs() - 2.5e3).max(0.0);
                let middle = (0.25..=0.75).contains(&(applied / Gauge::SPAN_PA));
                let row = if middle { id } else { ends };
                measured.add(row, [beyond.copysign(off) / Gauge::SPAN_PA]);
            }
        }
    }
}

/// `cargo run --example figures -- docs/figures` draws them anew.
#[test]
fn the_figures_of_the_sheet_are_what_the_program_draws() {
    for (name, drawn) in super::figures::all() {
        let path = format!("{}/docs/figures/{name}", env!("CARGO_MANIFEST_DIR"));
        let kept = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{path}: {error}"));
        assert!(kept == drawn, "{path} is not what the program draws");
    }
}
