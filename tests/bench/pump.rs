//! How long the pump's physics takes: an operating point, and a prime of two seconds.

#[path = "../it/pump/van.rs"]
mod van;

use divan::{Bencher, black_box};
use hidden_ohm::pump::{Demand, Hydraulics, PumpUnit, Rest, operating_point, prime};

fn main() {
    divan::main();
}

/// Healthy, and the faults that take the solver furthest from home.
fn vehicle(name: &str) -> (PumpUnit, Hydraulics) {
    let (mut unit, mut circuit) = (van::van(), van::fuel_circuit());
    match name {
        "worn" => unit.element.leak_m3_s_pa *= 4.0,
        "starved" => circuit.strainer_pa_s2_m6 = 4e14,
        "split hose" => circuit.in_tank_leak_m2 = 3e-6,
        _ => {}
    }
    (unit, circuit)
}

const VEHICLES: [&str; 4] = ["healthy", "worn", "starved", "split hose"];

#[divan::bench(args = VEHICLES)]
fn settled(bencher: Bencher, name: &str) {
    let (unit, circuit) = vehicle(name);
    bencher.bench_local(|| {
        operating_point(black_box(&unit), &circuit, &van::key_on(), &Demand::none())
    });
}

#[divan::bench]
fn idling(bencher: Bencher) {
    let (unit, circuit) = vehicle("healthy");
    let (supply, demand) = van::idle();
    bencher.bench_local(|| operating_point(black_box(&unit), &circuit, &supply, &demand));
}

#[divan::bench(args = VEHICLES)]
fn two_second_prime(bencher: Bencher, name: &str) {
    let (unit, circuit) = vehicle(name);
    bencher.bench_local(|| {
        prime(
            black_box(&unit),
            &circuit,
            &van::key_on(),
            &Demand::none(),
            Rest::default(),
            2.0,
            0.1,
        )
    });
}
