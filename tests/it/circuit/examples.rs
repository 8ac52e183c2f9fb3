//! Published worked examples.

use hidden_ohm::circuit::{Branch, Network, NodeId, Solver, Source, Thevenin};
use hidden_ohm::numeric::{RootTolerance, bracketed_root};

use super::netlist::{Named, assert_close, cases};

#[test]
fn worked_examples_come_out_as_printed() {
    let mut solver = Solver::new();
    for case in cases() {
        let named = Named::parse(&case.netlist);
        let solution = solver
            .operate(&named.net)
            .unwrap_or_else(|e| panic!("{}: {e}", case.name));
        assert!(
            !case.volts.is_empty() || !case.amps.is_empty(),
            "{} checks nothing",
            case.name
        );
        for (node, &volts) in &case.volts {
            let what = format!("{} ({}): volts of {node}", case.name, case.source);
            assert_close(
                &what,
                solution.volts(named.node(node)),
                volts,
                case.tolerance,
            );
        }
        for (part, &amps) in &case.amps {
            let what = format!("{} ({}): amps of {part}", case.name, case.source);
            assert_close(&what, named.amps(&solution, part), amps, case.tolerance);
        }
    }
}

/// Scilab Textbook Companion 3905, Example 2.2, recomputed: 3 V, 10 kohm, a diode with a saturation
/// current of 0.5e-16 A at 26 mV carries 0.2242573 mA at 0.7574266 V.
#[test]
fn a_diode_is_solved_against_the_thevenin_equivalent() {
    let named = Named::parse("V V1 a 0 3\nR R1 a d 10e3");
    let Thevenin { volts, ohms } = Solver::new()
        .thevenin(&named.net, named.node("d"), named.net.reference())
        .unwrap();
    let diode = |v: f64| 0.5e-16 * (libm::exp(v / 0.026) - 1.0);
    let root = bracketed_root(
        |v| volts - ohms * diode(v) - v,
        0.0,
        1.0,
        &RootTolerance::default(),
    )
    .unwrap();
    assert_close("volts across the diode", root.x, 0.757_426_6, 1e-7);
    assert_close(
        "amps through the diode",
        diode(root.x),
        0.224_257_3e-3,
        1e-6,
    );
}

/// Kuphaldt's unbalanced bridge: without its middle resistor the pair it joined is 18 - 20 V behind
/// 150||300 + 50||250 ohm, by Thevenin's theorem on paper.
#[test]
fn thevenin_of_a_bridge_is_what_it_is_on_paper() {
    let named = Named::parse("V V1 t 0 24\nR a t l 150\nR b t r 50\nR c l 0 300\nR d r 0 250");
    let seen = Solver::new()
        .thevenin(&named.net, named.node("l"), named.node("r"))
        .unwrap();
    assert_close("volts", seen.volts, 16.0 - 20.0, 1e-13);
    assert_close("ohms", seen.ohms, 100.0 + 125.0 / 3.0, 1e-13);
}

/// A battery of 12.65 V and 6 mohm: Thevenin's equivalent of a source is the source.
#[test]
fn a_battery_looks_like_itself() {
    let mut net = Network::new(NodeId(0));
    let post = net.add_node();
    net.add_source(Source {
        from: NodeId(0),
        to: post,
        volts: 12.65,
        ohms: 6e-3,
        tag: 0,
    });
    let seen = Solver::new().thevenin(&net, post, NodeId(0)).unwrap();
    assert_close("volts", seen.volts, 12.65, 1e-15);
    assert_close("ohms", seen.ohms, 6e-3, 1e-15);
}

/// Calculated: a 0.15 ohm joint drops 0.75 V at 5 A, and an unplugged connector shows battery volts
/// behind the same joint because nothing flows through it.
#[test]
fn a_bad_joint_shows_only_under_load() {
    let netlist = "V battery p 0 12.6\nR joint p q 0.15";
    let named = Named::parse(netlist);
    let mut solver = Solver::new();
    let unplugged = solver.operate(&named.net).unwrap();
    assert_eq!(unplugged.volts(named.node("q")), 12.6);
    let port = solver.port(&named.net, named.node("q"), NodeId(0)).unwrap();
    let loaded = port.loaded(5.0);
    assert_close(
        "drop",
        loaded.between(named.node("p"), named.node("q")),
        0.75,
        1e-14,
    );
}

/// A short of 0 ohm is solved as a micro-ohm, and its current still obeys Kirchhoff's law.
#[test]
fn a_short_carries_exactly_what_its_neighbours_bring() {
    let mut net = Network::new(NodeId(0));
    let (post, far) = (net.add_node(), net.add_node());
    net.add_source(Source {
        from: NodeId(0),
        to: post,
        volts: 12.6,
        ohms: 0.01,
        tag: 0,
    });
    net.add_branch(Branch {
        from: post,
        to: far,
        ohms: 0.0,
        tag: 1,
    });
    net.add_branch(Branch {
        from: far,
        to: NodeId(0),
        ohms: 0.09,
        tag: 2,
    });
    let solution = Solver::new().operate(&net).unwrap();
    assert_close("amps", solution.branch_amps(0), 12.6 / 0.100_001, 1e-14);
    assert!(solution.kcl_residual(&net).1.abs() < 1e-12);
}
