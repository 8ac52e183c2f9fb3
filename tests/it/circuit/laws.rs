//! Laws that hold for every network, checked on random ones.

use hidden_ohm::circuit::{Branch, CircuitError, Network, NodeId, Solution, Solver, Source};
use hidden_ohm::numeric::Lu;
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

use super::vehicle_like::vehicle_like;

fn ohms(low: f64, high: f64) -> impl Strategy<Value = f64> {
    (0.0..1.0_f64).prop_map(move |x| low * libm::pow(high / low, x))
}

/// Resistances that occur in a vehicle, opens and shorts included.
fn vehicle_ohms() -> impl Strategy<Value = f64> {
    prop_oneof![
        8 => ohms(1e-4, 1e7),
        1 => Just(f64::INFINITY),
        1 => Just(0.0),
    ]
}

/// Any resistance a part may have.
fn any_ohms() -> impl Strategy<Value = f64> {
    prop_oneof![4 => vehicle_ohms(), 1 => ohms(1e-9, 1e20)]
}

/// Ends of a part among so many nodes.
fn ends(nodes: u32) -> impl Strategy<Value = (NodeId, NodeId)> {
    (0..nodes, 0..nodes).prop_map(|(a, b)| (NodeId(a), NodeId(b)))
}

/// A random network; parts may close on themselves, float, or do nothing.
fn network(
    branch_ohms: impl Strategy<Value = f64> + Clone + 'static,
    source_ohms: impl Strategy<Value = f64> + Clone + 'static,
) -> impl Strategy<Value = Network> {
    (2_u32..16).prop_flat_map(move |nodes| {
        let branches = prop::collection::vec((ends(nodes), branch_ohms.clone()), 1..40);
        let sources = prop::collection::vec((ends(nodes), -15.0..15.0, source_ohms.clone()), 0..4);
        (0..nodes, branches, sources).prop_map(move |(reference, branches, sources)| {
            let mut net = Network::new(NodeId(reference));
            while net.node_count() < nodes as usize {
                net.add_node();
            }
            for ((from, to), ohms) in branches {
                net.add_branch(Branch {
                    from,
                    to,
                    ohms,
                    tag: 0,
                });
            }
            for ((from, to), volts, ohms) in sources {
                net.add_source(Source {
                    from,
                    to,
                    volts,
                    ohms,
                    tag: 0,
                });
            }
            net
        })
    })
}

fn wild() -> impl Strategy<Value = Network> {
    network(any_ohms().boxed(), any_ohms().boxed())
}

fn broken_vehicle() -> impl Strategy<Value = Network> {
    network(vehicle_ohms().boxed(), vehicle_ohms().boxed())
}

/// Values within six decades and no ideal sources, so that a plain dense solver keeps its digits too.
fn mild() -> impl Strategy<Value = Network> {
    network(ohms(1e-2, 1e4).boxed(), ohms(1e-2, 1e2).boxed())
}

fn nodes(net: &Network) -> impl Iterator<Item = NodeId> + use<> {
    (0..).map(NodeId).take(net.node_count())
}

fn largest_amps(net: &Network, solution: &Solution) -> f64 {
    let branches = (0..net.branches().len()).map(|i| solution.branch_amps(i));
    let sources = (0..net.sources().len()).map(|i| solution.source_amps(i));
    branches
        .chain(sources)
        .fold(0.0, |most, amps| amps.abs().max(most))
}

/// The textbook form of modified nodal analysis, every source with a row of its own, by dense LU;
/// written without a look at the solver's way. Floating nodes get a ground of their own from it.
fn dense_mna(net: &Network, solution: &Solution) -> Vec<f64> {
    let (nodes, sources) = (net.node_count(), net.sources().len());
    let size = nodes + sources;
    let mut lu = Lu::default();
    let matrix = lu.begin(size);
    let mut rhs = vec![0.0; size];
    let mut island_seen = Vec::new();
    for branch in net.branches() {
        let (a, b) = (branch.from.0 as usize, branch.to.0 as usize);
        let siemens = 1.0 / branch.ohms;
        matrix[a * size + a] += siemens;
        matrix[b * size + b] += siemens;
        matrix[a * size + b] -= siemens;
        matrix[b * size + a] -= siemens;
    }
    for (i, source) in net.sources().iter().enumerate() {
        let (minus, plus, row) = (source.from.0 as usize, source.to.0 as usize, nodes + i);
        matrix[plus * size + row] -= 1.0;
        matrix[minus * size + row] += 1.0;
        matrix[row * size + plus] += 1.0;
        matrix[row * size + minus] -= 1.0;
        matrix[row * size + row] += source.ohms;
        rhs[row] = source.volts;
    }
    let pinned = std::iter::once(net.reference()).chain((0..).map(NodeId).take(nodes));
    for node in pinned {
        let island = solution.islands()[node.0 as usize];
        if !island_seen.contains(&island) {
            island_seen.push(island);
            let row = node.0 as usize;
            matrix[row * size..(row + 1) * size].fill(0.0);
            matrix[row * size + row] = 1.0;
            rhs[row] = 0.0;
        }
    }
    lu.factor().expect("every island is pinned");
    lu.solve(&mut rhs);
    rhs
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, rng_seed: RngSeed::Fixed(20), ..ProptestConfig::default() })]

    #[test]
    fn no_values_make_it_panic_or_answer_nan(net in wild()) {
        match Solver::new().operate(&net) {
            Ok(solution) => {
                prop_assert!(nodes(&net).all(|n| solution.volts(n).is_finite()));
                prop_assert!(largest_amps(&net, &solution).is_finite());
            }
            Err(error) => {
                let loop_of_sources = matches!(error, CircuitError::IdealSourceLoop { .. });
                prop_assert!(loop_of_sources, "{error}");
            }
        }
    }

    #[test]
    fn currents_meet_at_every_node(net in broken_vehicle()) {
        if let Ok(solution) = Solver::new().operate(&net) {
            let (node, amps) = solution.kcl_residual(&net);
            let allowed = 1e-12 + 1e-13 * largest_amps(&net, &solution);
            prop_assert!(amps.abs() <= allowed, "{amps} A missing at {node:?}, allowed {allowed}");
        }
    }

    #[test]
    fn sources_hold_their_volts_and_branches_obey_ohm(net in broken_vehicle()) {
        if let Ok(solution) = Solver::new().operate(&net) {
            let highest = nodes(&net).map(|n| solution.volts(n).abs()).fold(1.0, f64::max);
            for (i, source) in net.sources().iter().enumerate().filter(|(_, s)| s.ohms == 0.0) {
                let volts = solution.between(source.to, source.from);
                prop_assert!((volts - source.volts).abs() <= 1e-14 * highest, "source {i}: {volts}");
            }
            for (i, branch) in net.branches().iter().enumerate().filter(|(_, b)| b.ohms <= 1e18) {
                let drop = branch.ohms.max(1e-6) * solution.branch_amps(i);
                let volts = solution.between(branch.from, branch.to);
                prop_assert!((volts - drop).abs() <= 1e-14 * highest, "branch {i}: {volts} against {drop}");
            }
        }
    }

    #[test]
    fn a_dense_solver_with_a_row_for_every_source_agrees(net in mild()) {
        let solution = Solver::new().operate(&net).unwrap();
        let dense = dense_mna(&net, &solution);
        let highest = nodes(&net).map(|n| solution.volts(n).abs()).fold(1.0, f64::max);
        for node in nodes(&net) {
            let (ours, theirs) = (solution.volts(node), dense[node.0 as usize]);
            prop_assert!((ours - theirs).abs() <= 1e-9 * highest, "{node:?}: {ours} against {theirs}");
        }
        for i in 0..net.sources().len() {
            let (ours, theirs) = (solution.source_amps(i), dense[net.node_count() + i]);
            let allowed = 1e-9 * (1.0 + largest_amps(&net, &solution));
            prop_assert!((ours - theirs).abs() <= allowed, "source {i}: {ours} against {theirs}");
        }
    }

    /// Tellegen's theorem: what the sources give, the resistances take.
    #[test]
    fn power_in_is_power_out(net in mild()) {
        let solution = Solver::new().operate(&net).unwrap();
        let mut given = 0.0;
        let mut taken = 0.0;
        for (i, source) in net.sources().iter().enumerate() {
            let amps = solution.source_amps(i);
            given += source.volts * amps;
            taken += source.ohms * amps * amps;
        }
        for (i, branch) in net.branches().iter().enumerate() {
            taken += branch.ohms * solution.branch_amps(i) * solution.branch_amps(i);
        }
        prop_assert!((given - taken).abs() <= 1e-10 * (1.0 + taken), "{given} W against {taken} W");
    }

    /// One ampere from `a` to `b` moves the volts between `c` and `d` as one from `c` to `d` moves
    /// those between `a` and `b`.
    #[test]
    fn transfer_resistances_are_reciprocal(net in mild(), picks in prop::array::uniform4(0_u32..1000)) {
        let count = u32::try_from(net.node_count()).unwrap();
        let [a, b, c, d] = picks.map(|p| NodeId(p % count));
        let mut solver = Solver::new();
        let first = solver.port(&net, a, b).unwrap();
        let second = solver.port(&net, c, d).unwrap();
        let seen = first.volts_per_amp(c) - first.volts_per_amp(d);
        let back = second.volts_per_amp(a) - second.volts_per_amp(b);
        if first.joined() && second.joined() {
            prop_assert!((seen - back).abs() <= 1e-11 * (1.0 + seen.abs()) , "{seen} against {back}");
        }
    }

    #[test]
    fn a_loaded_port_equals_the_network_with_that_load_connected(
        net in mild(), from in 0_u32..1000, to in 0_u32..1000, load_ohms in ohms(1e-2, 1e4),
    ) {
        let count = u32::try_from(net.node_count()).unwrap();
        let (a, b) = (NodeId(from % count), NodeId(to % count));
        let mut solver = Solver::new();
        let port = solver.port(&net, a, b).unwrap();
        if !port.joined() {
            let unmoved = port.loaded(1.0) == *port.unloaded();
            prop_assert!(unmoved);
            return Ok(());
        }
        let seen = port.thevenin();
        let amps = seen.volts / (seen.ohms + load_ohms);
        let loaded = port.loaded(amps);
        let mut drawn = net.clone();
        let load = drawn.add_branch(Branch { from: a, to: b, ohms: load_ohms, tag: 0 });
        let direct = solver.operate(&drawn).unwrap();
        let scale = 1.0 + largest_amps(&drawn, &direct);
        let highest = nodes(&net).map(|n| direct.volts(n).abs()).fold(1.0, f64::max);
        prop_assert!((direct.branch_amps(load) - amps).abs() <= 1e-9 * scale);
        // A circulating current is known to about 1e-16 of itself; what is lost of it moves an
        // island that hangs on the reference by kilo-ohms.
        for node in nodes(&net) {
            prop_assert!((loaded.volts(node) - direct.volts(node)).abs() <= 1e-10 * (highest + scale));
        }
        for i in 0..net.branches().len() {
            prop_assert!((loaded.branch_amps(i) - direct.branch_amps(i)).abs() <= 1e-9 * scale);
        }
        for i in 0..net.sources().len() {
            prop_assert!((loaded.source_amps(i) - direct.source_amps(i)).abs() <= 1e-9 * scale);
        }
        prop_assert!((direct.between(a, b) - seen.volts_at(amps)).abs() <= 1e-10 * (highest + scale));
    }

    #[test]
    fn the_probe_table_equals_a_meter_really_connected(net in mild(), meter_ohms in ohms(1e2, 1e7)) {
        let mut solver = Solver::new();
        let points: Vec<NodeId> = nodes(&net).collect();
        let table = solver.probe_table(&net, &points, meter_ohms).unwrap();
        for (i, &plus) in points.iter().enumerate() {
            for (j, &minus) in points.iter().enumerate() {
                let unloaded = solver.operate(&net).unwrap();
                let mut metered = net.clone();
                metered.add_branch(Branch { from: plus, to: minus, ohms: meter_ohms, tag: 0 });
                let direct = if unloaded.joined(plus, minus) {
                    solver.operate(&metered).unwrap().between(plus, minus)
                } else {
                    0.0
                };
                let reading = table.reading(i, j);
                // Rounding of the largest loop current times the resistance to the reference.
                let allowed = 1e-10 * (1.0 + largest_amps(&net, &unloaded));
                prop_assert!((reading - direct).abs() <= allowed, "{i}-{j}: {reading} against {direct}");
            }
        }
    }

    #[test]
    fn a_solver_that_saw_other_networks_gives_the_same_bits(first in wild(), second in wild()) {
        let fresh = Solver::new().operate(&second);
        let mut used = Solver::new();
        let _ = used.operate(&first);
        prop_assert_eq!(used.operate(&second), fresh.clone());
        prop_assert_eq!(used.operate(&second), fresh);
    }
}

/// The promise for vehicle networks: 1e-9 A at every node, whatever the load.
#[test]
fn vehicle_networks_meet_at_every_node_within_a_nanoampere() {
    let mut solver = Solver::new();
    for seed in 0..500 {
        let net = vehicle_like(55, seed);
        let port = solver.port(&net, NodeId(1), NodeId(0)).unwrap();
        let (node, amps) = port.unloaded().kcl_residual(&net);
        assert!(amps.abs() < 1e-11, "seed {seed}: {amps} A at {node:?}");
        // A starter's worth of load across the posts.
        let mut cranking = net.clone();
        let starter = cranking.add_branch(Branch {
            from: NodeId(1),
            to: NodeId(0),
            ohms: 0.078,
            tag: 0,
        });
        let direct = solver.operate(&cranking).unwrap();
        assert!(direct.branch_amps(starter) > 130.0, "seed {seed}");
        assert!(
            direct.kcl_residual(&cranking).1.abs() < 1e-11,
            "seed {seed}"
        );
        let loaded = port.loaded(direct.branch_amps(starter));
        for i in 0..net.branches().len() {
            assert!(
                (loaded.branch_amps(i) - direct.branch_amps(i)).abs() < 1e-9,
                "seed {seed} branch {i}"
            );
        }
    }
}
