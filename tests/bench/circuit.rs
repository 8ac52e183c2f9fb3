//! How long the solver takes. `cargo bench --bench circuit`.
//!
//! `-- deck NODES SEED` prints a network as a SPICE deck instead, and `-- seconds NODES SEED SOLVES`
//! prints the seconds that so many operating points take; `tests/bench/ngspice_ratio.py` uses both.

#[path = "../it/circuit/vehicle_like.rs"]
mod vehicle_like;

use std::hint::black_box;
use std::io::Write;
use std::time::Instant;

use divan::Bencher;
use hidden_ohm::circuit::{Network, NodeId, Solver, spice_deck};

use vehicle_like::vehicle_like;

/// Nodes of a vehicle's pump circuits.
const VEHICLE: u32 = 55;

fn main() {
    let words: Vec<String> = std::env::args()
        .skip(1)
        .filter(|w| w != "--bench")
        .collect();
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    match words.as_slice() {
        ["deck", nodes, seed] => {
            let net = vehicle_like(nodes.parse().expect("nodes"), seed.parse().expect("seed"));
            let deck = spice_deck(&net, "timing", &|n| format!("n{}", n.0));
            std::io::stdout()
                .write_all(deck.as_bytes())
                .expect("stdout");
        }
        ["seconds", nodes, seed, solves] => {
            let net = vehicle_like(nodes.parse().expect("nodes"), seed.parse().expect("seed"));
            let seconds = seconds(net, solves.parse().expect("solves"));
            writeln!(std::io::stdout(), "{seconds:e}").expect("stdout");
        }
        _ => divan::main(),
    }
}

/// Solves again and again, each time with another value of the last branch, which carries a share
/// of the motor's current.
fn seconds(mut net: Network, solves: u32) -> f64 {
    let mut solver = Solver::new();
    let last = net.branches().len() - 1;
    let ohms = net.branches()[last].ohms;
    let start = Instant::now();
    for turn in 0..solves {
        net.branch_mut(last).ohms = ohms * (1.0 + 1e-6 * f64::from(turn % 1000));
        let solution = solver.operate(&net).expect("a sound network");
        black_box(solution.volts(NodeId(1)));
    }
    start.elapsed().as_secs_f64()
}

#[divan::bench(args = [20, 55, 100, 200])]
fn operate(bencher: Bencher, nodes: u32) {
    let net = vehicle_like(nodes, 1);
    let mut solver = Solver::new();
    bencher.bench_local(|| solver.operate(black_box(&net)));
}

/// A connection changes between any two solves, so that the order of elimination is found anew.
#[divan::bench(args = [20, 55, 100, 200])]
fn operate_with_connections_changing(bencher: Bencher, nodes: u32) {
    let nets = [0.01, f64::INFINITY].map(|ohms| {
        let mut net = vehicle_like(nodes, 1);
        net.branch_mut(3).ohms = ohms;
        net
    });
    let mut solver = Solver::new();
    let mut turn = 0;
    bencher.bench_local(|| {
        turn ^= 1;
        solver.operate(black_box(&nets[turn]))
    });
}

#[divan::bench]
fn thevenin(bencher: Bencher) {
    let net = vehicle_like(VEHICLE, 1);
    let mut solver = Solver::new();
    bencher.bench_local(|| solver.thevenin(black_box(&net), NodeId(1), NodeId(0)));
}

#[divan::bench]
fn port(bencher: Bencher) {
    let net = vehicle_like(VEHICLE, 1);
    let mut solver = Solver::new();
    bencher.bench_local(|| solver.port(black_box(&net), NodeId(1), NodeId(0)));
}

#[divan::bench]
fn port_loaded(bencher: Bencher) {
    let net = vehicle_like(VEHICLE, 1);
    let port = Solver::new()
        .port(&net, NodeId(1), NodeId(0))
        .expect("a sound network");
    bencher.bench_local(|| port.loaded(black_box(5.0)));
}

/// All pairs of all nodes under a 10 Mohm meter.
#[divan::bench]
fn probe_table(bencher: Bencher) {
    let net = vehicle_like(VEHICLE, 1);
    let points: Vec<NodeId> = (0..VEHICLE).map(NodeId).collect();
    let mut solver = Solver::new();
    bencher.bench_local(|| {
        let table = solver
            .probe_table(black_box(&net), &points, 1e7)
            .expect("a sound network");
        let mut sum = 0.0;
        for plus in 0..points.len() {
            for minus in 0..points.len() {
                sum += table.reading(plus, minus);
            }
        }
        sum
    });
}
