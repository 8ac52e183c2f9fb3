//! How long the steps of a job take. `cargo bench --bench job`.
//!
//! Launch to first reading of the program itself, and its memory, are measured by `tests/bench/launch.py`.

use std::hint::black_box;
use std::sync::Arc;

use divan::Bencher;
use hidden_ohm::bay::{Action, Bay};
use hidden_ohm::certify::Certifier;
use hidden_ohm::instrument::Function;
use hidden_ohm::rig::{Attachments, Moment, Rig, Tap};
use hidden_ohm::scenario::Library;
use hidden_ohm::seed::{GENERATOR_VERSION, ScenarioCode};
use hidden_ohm::units::System;
use hidden_ohm::vehicle::Key;

fn main() {
    divan::main();
}

fn library() -> Library {
    Library::built_in().expect("the built-in files are sound")
}

fn code(level: u8, seed: u64) -> ScenarioCode {
    ScenarioCode::new(GENERATOR_VERSION, 0, level, seed).expect("a level")
}

fn rig(library: &Library) -> Rig {
    Certifier::new(library.clone())
        .generate(code(2, 1))
        .expect("a vehicle")
        .into_rig()
        .expect("a rig")
}

/// A 10 Mohm meter with its leads, as the bay attaches it.
fn meter(rig: &Rig, red: &str, black: &str) -> Attachments {
    let vehicle = Arc::clone(rig.vehicle());
    let at = |name: &str| Tap::Node(vehicle.node(name).expect("a point"));
    let mut attached = Attachments::none();
    let (plus, minus) = (attached.node(), attached.node());
    attached.resistor(at(red), plus, 0.15);
    attached.resistor(at(black), minus, 0.15);
    attached.resistor(plus, minus, 10e6);
    attached
}

/// The whole circuit with a meter in it: switches, motor and network brought to agree.
#[divan::bench(args = [("key on, pump on", true), ("key on", false)])]
fn operating_point(bencher: Bencher, (_, pump): (&str, bool)) {
    let mut rig = rig(&library());
    rig.turn_key(Key::On, &Attachments::none())
        .expect("a prime");
    rig.command_pump(pump);
    let attached = meter(&rig, "X7.2", "B-");
    bencher.bench_local(|| rig.now(black_box(&attached)).expect("an instant").pump.amps);
}

/// Two seconds of pump and pressure from rest, sampled every 5 ms.
#[divan::bench]
fn prime_transient(bencher: Bencher) {
    let library = library();
    bencher
        .with_inputs(|| rig(&library))
        .bench_local_values(|mut rig| {
            rig.turn_key(Key::On, &Attachments::none())
                .expect("a prime")
                .prime
                .is_some()
        });
}

/// Every point against every other: one operating point, then all readings of a 10 Mohm meter.
#[divan::bench]
fn all_pairs_probe_table(bencher: Bencher) {
    let library = library();
    let ladder = rig(&library)
        .ladder(Key::On, true, Moment::Settled)
        .expect("a ladder");
    let vehicle = &library.vehicles[0];
    let points: Vec<_> = vehicle.points().map(|(node, _, _)| node).collect();
    let mut solver = hidden_ohm::circuit::Solver::new();
    bencher.bench_local(|| {
        let table = solver
            .probe_table(black_box(ladder.network()), &points, 10e6)
            .expect("a table");
        let pairs = (0..points.len()).flat_map(|a| (0..points.len()).map(move |b| (a, b)));
        pairs.map(|(a, b)| table.reading(a, b)).sum::<f64>()
    });
}

/// From a code to a certified scenario, redraws and road tests included; another seed each time. What every code of a
/// vehicle shares is solved before.
#[divan::bench(args = [1, 3, 5])]
fn code_to_scenario(bencher: Bencher, level: u8) {
    let certifier = Certifier::new(library());
    let mut seed = 0;
    certifier.generate(code(level, seed)).expect("a vehicle");
    bencher.bench_local(|| {
        seed += 1;
        certifier
            .generate(code(level, seed))
            .expect("a vehicle")
            .level()
    });
}

/// The built-in files read and checked: what every launch begins with.
#[divan::bench]
fn built_in_library() -> usize {
    library().vehicles.len()
}

/// What the program does from launch to its first reading, in the library: files, code, bay, access, tips, reading.
#[divan::bench]
fn launch_to_first_reading() -> Option<f64> {
    let library = library();
    let mut bay = Bay::open(
        Certifier::new(library.clone())
            .generate(code(1, 7))
            .expect("a vehicle"),
        System::Metric,
    )
    .expect("a bay");
    let vehicle = Arc::clone(bay.vehicle());
    bay.act(&Action::Access(vehicle.access("bonnet").expect("a bonnet")))
        .expect("it opens");
    let node = |name| vehicle.node(name).expect("a post");
    let action = Action::Meter {
        function: Function::Volts,
        red: node("B+"),
        black: node("B-"),
    };
    bay.act(&action).expect("a reading").readings[0].value
}
