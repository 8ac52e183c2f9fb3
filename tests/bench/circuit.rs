//! How long the solver takes. `cargo bench --bench circuit`.
//!
//! For `tests/bench/ngspice_ratio.py`, one figure at a time: `-- deck NODES SEED` prints a network as a SPICE deck, `-- seconds
//! NODES SEED SOLVES` the seconds that so many operating points take, `-- vehicle NUMBER` and `-- vehicle NUMBER SOLVES` the same
//! of a built-in vehicle with its pump running, `-- table NODES SEED TIMES` those of so many tables of all pairs under a meter, `-- peak` the multiply-adds in a second of one core, `-- dense N TIMES` the seconds of so many
//! dense factorisations, and `-- prime CASE TIMES` those of so many primes of the random vehicle with that number.

#[path = "../cases/mod.rs"]
#[allow(dead_code)]
mod cases;
#[path = "../it/circuit/vehicle_like.rs"]
mod vehicle_like;

use std::hint::black_box;
use std::io::Write;
use std::sync::Arc;
use std::time::Instant;

use divan::Bencher;
use hidden_ohm::circuit::{Branch, Network, NodeId, Solver, spice_deck};
use hidden_ohm::numeric::Lu;
use hidden_ohm::rig::{Attachments, Conditions, Moment, Rig};
use hidden_ohm::scenario::Library;
use hidden_ohm::vehicle::Key;

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
            tell(seconds(net, solves.parse().expect("solves")));
        }
        ["vehicle", number] => {
            let net = vehicle(number.parse().expect("a number"));
            let deck = spice_deck(&net, "timing", &|n| format!("n{}", n.0));
            std::io::stdout()
                .write_all(deck.as_bytes())
                .expect("stdout");
        }
        ["vehicle", number, solves] => {
            let net = vehicle(number.parse().expect("a number"));
            tell(seconds(net, solves.parse().expect("solves")));
        }
        ["table", nodes, seed, times] => {
            let net = vehicle_like(nodes.parse().expect("nodes"), seed.parse().expect("seed"));
            tell(table_seconds(&net, times.parse().expect("times")));
        }
        ["peak"] => tell(multiply_adds_per_second()),
        ["dense", size, times] => {
            tell(dense_seconds(
                size.parse().expect("size"),
                times.parse().expect("times"),
            ));
        }
        ["prime", number, times] => {
            tell(prime_seconds(
                number.parse().expect("case"),
                times.parse().expect("times"),
            ));
        }
        _ => divan::main(),
    }
}

fn tell(figure: f64) {
    writeln!(std::io::stdout(), "{figure:e}").expect("stdout");
}

/// Every reading between any two nodes under a 10 Mohm meter.
fn all_readings(solver: &mut Solver, net: &Network) -> f64 {
    let count = u32::try_from(net.node_count()).expect("few nodes");
    let points: Vec<NodeId> = (0..count).map(NodeId).collect();
    let table = solver
        .probe_table(black_box(net), &points, 1e7)
        .expect("a sound network");
    let mut sum = 0.0;
    for plus in 0..points.len() {
        for minus in 0..points.len() {
            sum += table.reading(plus, minus);
        }
    }
    sum
}

fn table_seconds(net: &Network, times: u32) -> f64 {
    let mut solver = Solver::new();
    let mut nudged = Nudged::new(net.clone());
    let start = Instant::now();
    for _ in 0..times {
        black_box(all_readings(&mut solver, nudged.next()));
    }
    start.elapsed().as_secs_f64()
}

/// Sixteen independent chains of x = x a + b, enough to keep the multiplier and the adder of a core busy.
fn multiply_adds_per_second() -> f64 {
    const CHAINS: usize = 16;
    const ROUNDS: u32 = 20_000_000;
    let mut x = [0.1_f64; CHAINS];
    let (a, b) = (black_box(0.999), black_box(0.001));
    let start = Instant::now();
    for _ in 0..ROUNDS {
        for value in &mut x {
            *value = *value * a + b;
        }
    }
    black_box(x);
    f64::from(ROUNDS) * CHAINS as f64 / start.elapsed().as_secs_f64()
}

/// The program's own dense elimination, which the transient uses for four unknowns.
fn dense_seconds(size: usize, times: u32) -> f64 {
    let mut lu = Lu::default();
    let start = Instant::now();
    for _ in 0..times {
        let matrix = lu.begin(size);
        for row in 0..size {
            for column in 0..size {
                matrix[row * size + column] = if row == column {
                    size as f64
                } else {
                    1.0 / (1 + row + column) as f64
                };
            }
        }
        lu.factor().expect("diagonally dominant");
    }
    start.elapsed().as_secs_f64()
}

/// The key turned on from rest: relay, circuit, motor and fuel through the whole prime.
fn prime_seconds(number: u64, times: usize) -> f64 {
    let library = Library::built_in().expect("the built-in files are right");
    let mut rigs: Vec<_> = (0..times)
        .map(|_| cases::case(&library, cases::Spread::Damaged, number).rig)
        .collect();
    let start = Instant::now();
    for rig in &mut rigs {
        black_box(
            rig.turn_key(Key::On, &Attachments::none())
                .expect("a prime"),
        );
    }
    start.elapsed().as_secs_f64()
}

/// A built-in vehicle, sound, with its pump running.
fn vehicle(number: usize) -> Network {
    let library = Library::built_in().expect("the built-in files are right");
    let conditions = Conditions {
        ambient_c: 20.0,
        charge: 1.0,
        fuel: 0.5,
    };
    let vehicle = Arc::clone(&library.vehicles[number]);
    let rig = Rig::new(vehicle, library.catalogue, 7, conditions, Vec::new()).expect("a rig");
    let ladder = rig.ladder(Key::Run, false, Moment::Settled);
    ladder.expect("a truth").network().clone()
}

/// A network that is never twice the same, as the solver keeps the factors of one that is: each time with another value
/// of the last branch that conducts.
struct Nudged {
    net: Network,
    last: usize,
    ohms: f64,
    turn: u32,
}

impl Nudged {
    fn new(net: Network) -> Nudged {
        let conducts = |branch: &Branch| branch.ohms.is_finite();
        let last = net.branches().iter().rposition(conducts);
        let last = last.expect("a branch that conducts");
        let ohms = net.branches()[last].ohms;
        Nudged {
            net,
            last,
            ohms,
            turn: 0,
        }
    }

    fn next(&mut self) -> &Network {
        self.turn += 1;
        self.net.branch_mut(self.last).ohms =
            self.ohms * (1.0 + 1e-6 * f64::from(self.turn % 1000));
        &self.net
    }
}

fn seconds(net: Network, solves: u32) -> f64 {
    let mut solver = Solver::new();
    let mut nudged = Nudged::new(net);
    let start = Instant::now();
    for _ in 0..solves {
        let solution = solver.operate(nudged.next()).expect("a sound network");
        black_box(solution.volts(NodeId(1)));
    }
    start.elapsed().as_secs_f64()
}

#[divan::bench(args = [20, 55, 100, 200])]
fn operate(bencher: Bencher, nodes: u32) {
    let mut nudged = Nudged::new(vehicle_like(nodes, 1));
    let mut solver = Solver::new();
    bencher.bench_local(|| solver.operate(black_box(nudged.next())));
}

/// Connections change between any two solves and come again only after more of them than the solver keeps orders of
/// elimination of.
#[divan::bench(args = [20, 55, 100, 200])]
fn operate_with_connections_changing(bencher: Bencher, nodes: u32) {
    let nets: Vec<Network> = (0..12)
        .map(|open| {
            let mut net = vehicle_like(nodes, 1);
            net.branch_mut(open).ohms = f64::INFINITY;
            net
        })
        .collect();
    let mut solver = Solver::new();
    let mut turn = 0;
    bencher.bench_local(|| {
        turn = (turn + 1) % nets.len();
        solver.operate(black_box(&nets[turn]))
    });
}

#[divan::bench]
fn thevenin(bencher: Bencher) {
    let mut nudged = Nudged::new(vehicle_like(VEHICLE, 1));
    let mut solver = Solver::new();
    bencher.bench_local(|| solver.thevenin(black_box(nudged.next()), NodeId(1), NodeId(0)));
}

#[divan::bench]
fn port(bencher: Bencher) {
    let mut nudged = Nudged::new(vehicle_like(VEHICLE, 1));
    let mut solver = Solver::new();
    bencher.bench_local(|| solver.port(black_box(nudged.next()), NodeId(1), NodeId(0)));
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
    let mut nudged = Nudged::new(vehicle_like(VEHICLE, 1));
    let mut solver = Solver::new();
    bencher.bench_local(|| all_readings(&mut solver, nudged.next()));
}
