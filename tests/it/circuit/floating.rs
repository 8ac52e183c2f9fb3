//! Open circuits are everyday input.

use hidden_ohm::circuit::{Branch, Network, NodeId, Solver, Source};

use super::netlist::assert_close;

const GROUND: NodeId = NodeId(0);

fn branch(from: NodeId, to: NodeId, ohms: f64) -> Branch {
    Branch {
        from,
        to,
        ohms,
        tag: 0,
    }
}

/// A battery and lamp at nodes 1 and 2, and four more nodes with nothing on them.
fn with_spare_nodes() -> (Network, [NodeId; 6]) {
    let mut net = Network::new(GROUND);
    let nodes = std::array::from_fn(|_| net.add_node());
    net.add_source(Source {
        from: GROUND,
        to: nodes[0],
        volts: 12.0,
        ohms: 0.1,
        tag: 0,
    });
    net.add_branch(branch(nodes[0], nodes[1], 0.9));
    net.add_branch(branch(nodes[1], GROUND, 5.0));
    (net, nodes)
}

#[test]
fn lonely_nodes_float_at_zero_and_disturb_nothing() {
    let (net, nodes) = with_spare_nodes();
    let solution = Solver::new().operate(&net).unwrap();
    assert_close("volts", solution.volts(nodes[1]), 10.0, 1e-14);
    assert!(!solution.floating(nodes[1]) && !solution.floating(GROUND));
    for &node in &nodes[2..] {
        assert!(solution.floating(node));
        assert_eq!(solution.volts(node), 0.0);
    }
    assert_eq!(solution.islands(), [0, 0, 0, 1, 2, 3, 4]);
}

#[test]
fn an_island_with_its_own_battery_is_solved_from_its_lowest_node() {
    let (mut net, nodes) = with_spare_nodes();
    net.add_source(Source {
        from: nodes[4],
        to: nodes[2],
        volts: 9.0,
        ohms: 1.0,
        tag: 0,
    });
    let load = net.add_branch(branch(nodes[2], nodes[4], 2.0));
    let solution = Solver::new().operate(&net).unwrap();
    assert!(solution.floating(nodes[2]) && solution.joined(nodes[2], nodes[4]));
    assert_eq!(solution.volts(nodes[2]), 0.0);
    assert_close("volts", solution.volts(nodes[4]), -6.0, 1e-14);
    assert_close("amps", solution.branch_amps(load), 3.0, 1e-14);
}

#[test]
fn an_island_of_ideal_sources_is_solved_too() {
    let (mut net, nodes) = with_spare_nodes();
    let first = net.add_source(Source {
        from: nodes[3],
        to: nodes[2],
        volts: 9.0,
        ohms: 0.0,
        tag: 0,
    });
    let second = net.add_source(Source {
        from: nodes[4],
        to: nodes[3],
        volts: 1.5,
        ohms: 0.0,
        tag: 0,
    });
    net.add_branch(branch(nodes[2], nodes[4], 2.1));
    let solution = Solver::new().operate(&net).unwrap();
    assert_eq!(solution.volts(nodes[2]), 0.0);
    assert_close("volts", solution.volts(nodes[4]), -10.5, 1e-14);
    assert_close("amps", solution.source_amps(first), 5.0, 1e-14);
    assert_close("amps", solution.source_amps(second), 5.0, 1e-14);
    assert!(solution.kcl_residual(&net).1.abs() < 1e-14);
}

#[test]
fn an_open_branch_carries_nothing_and_what_hangs_behind_it_floats() {
    let (mut net, nodes) = with_spare_nodes();
    net.branch_mut(0).ohms = f64::INFINITY;
    let solution = Solver::new().operate(&net).unwrap();
    assert_eq!(solution.branch_amps(0), 0.0);
    assert_eq!(solution.volts(nodes[0]), 12.0);
    // The lamp still joins its node to ground.
    assert!(!solution.floating(nodes[1]));
    assert_eq!(solution.volts(nodes[1]), 0.0);
}

#[test]
fn a_dead_end_reads_exactly_the_node_it_hangs_on() {
    let (mut net, nodes) = with_spare_nodes();
    for pair in nodes[1..].windows(2) {
        net.add_branch(branch(pair[0], pair[1], 0.037));
    }
    let solution = Solver::new().operate(&net).unwrap();
    for &node in &nodes[2..] {
        assert_eq!(solution.volts(node), solution.volts(nodes[1]));
    }
}

#[test]
fn between_islands_a_meter_reads_nothing_and_sees_infinite_ohms() {
    let (net, nodes) = with_spare_nodes();
    let mut solver = Solver::new();
    let seen = solver.thevenin(&net, nodes[0], nodes[3]).unwrap();
    assert_eq!((seen.volts, seen.ohms), (0.0, f64::INFINITY));
    assert_eq!(seen.volts_across(10e6), 0.0);
    assert_eq!(seen.volts_across(f64::INFINITY), 0.0);
    let port = solver.port(&net, nodes[0], nodes[3]).unwrap();
    assert!(!port.joined());
    assert_eq!(port.loaded(5.0), *port.unloaded());
    let table = solver.probe_table(&net, &nodes, 10e6).unwrap();
    assert_eq!(table.reading(0, 3), 0.0);
    assert_eq!(table.thevenin(0, 3).ohms, f64::INFINITY);
}

#[test]
fn the_reference_may_be_any_node() {
    let mut net = Network::new(NodeId(2));
    net.add_source(Source {
        from: NodeId(0),
        to: NodeId(1),
        volts: 12.0,
        ohms: 1.0,
        tag: 0,
    });
    net.add_branch(branch(NodeId(1), NodeId(2), 1.0));
    net.add_branch(branch(NodeId(2), NodeId(0), 2.0));
    let solution = Solver::new().operate(&net).unwrap();
    assert_eq!(solution.volts(NodeId(2)), 0.0);
    assert_close("plus", solution.volts(NodeId(1)), 3.0, 1e-14);
    assert_close("minus", solution.volts(NodeId(0)), -6.0, 1e-14);
}
