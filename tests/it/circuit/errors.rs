//! Networks that have no answer are refused, with the part to blame.

use hidden_ohm::circuit::{Branch, CircuitError, MAX_OHMS, Network, NodeId, Solver, Source};

const GROUND: NodeId = NodeId(0);

fn battery_and_lamp() -> (Network, NodeId) {
    let mut net = Network::new(GROUND);
    let post = net.add_node();
    net.add_source(Source {
        from: GROUND,
        to: post,
        volts: 12.0,
        ohms: 0.0,
        tag: 41,
    });
    net.add_branch(Branch {
        from: post,
        to: GROUND,
        ohms: 2.0,
        tag: 42,
    });
    (net, post)
}

fn refusal(net: &Network) -> CircuitError {
    Solver::new().operate(net).expect_err("must be refused")
}

#[test]
fn negative_and_nan_resistances_name_their_branch() {
    for ohms in [-1.0, f64::NAN, f64::NEG_INFINITY] {
        let (mut net, _) = battery_and_lamp();
        net.branch_mut(0).ohms = ohms;
        assert!(matches!(
            refusal(&net),
            CircuitError::BranchOhms {
                branch: 0,
                tag: 42,
                ..
            }
        ));
        let (mut net, _) = battery_and_lamp();
        net.source_mut(0).ohms = ohms;
        assert!(matches!(
            refusal(&net),
            CircuitError::SourceOhms {
                source_index: 0,
                tag: 41,
                ..
            }
        ));
    }
}

#[test]
fn sources_must_be_finite() {
    for value in [f64::NAN, f64::INFINITY] {
        let (mut net, _) = battery_and_lamp();
        net.source_mut(0).volts = value;
        assert!(matches!(
            refusal(&net),
            CircuitError::SourceVolts {
                source_index: 0,
                ..
            }
        ));
    }
}

#[test]
fn ideal_sources_in_parallel_name_the_one_that_closes_the_loop() {
    let (mut net, post) = battery_and_lamp();
    net.add_source(Source {
        from: GROUND,
        to: post,
        volts: 12.0,
        ohms: 0.0,
        tag: 9,
    });
    let error = refusal(&net);
    assert_eq!(
        error,
        CircuitError::IdealSourceLoop {
            source_index: 1,
            tag: 9
        }
    );
    assert!(error.to_string().contains("part 9"), "{error}");
    net.source_mut(1).ohms = 1e-3;
    assert!(Solver::new().operate(&net).is_ok());
}

#[test]
fn a_loop_of_three_ideal_sources_is_found() {
    let (mut net, post) = battery_and_lamp();
    let third = net.add_node();
    net.add_source(Source {
        from: post,
        to: third,
        volts: 1.0,
        ohms: 0.0,
        tag: 2,
    });
    net.add_source(Source {
        from: third,
        to: GROUND,
        volts: 1.0,
        ohms: 0.0,
        tag: 3,
    });
    assert_eq!(
        refusal(&net),
        CircuitError::IdealSourceLoop {
            source_index: 2,
            tag: 3
        }
    );
}

#[test]
fn unknown_nodes_are_refused_even_where_a_part_is_open() {
    let (mut net, post) = battery_and_lamp();
    let mut solver = Solver::new();
    net.add_branch(Branch {
        from: post,
        to: GROUND,
        ohms: f64::INFINITY,
        tag: 0,
    });
    assert!(solver.operate(&net).is_ok());
    net.branch_mut(1).to = NodeId(99);
    let error = CircuitError::NoSuchNode {
        node: NodeId(99),
        node_count: 2,
    };
    assert_eq!(solver.operate(&net), Err(error));
    // And the solver is none the worse for it.
    net.branch_mut(1).to = GROUND;
    assert!(solver.operate(&net).is_ok());
    assert_eq!(solver.thevenin(&net, post, NodeId(99)), Err(error));
    assert!(matches!(solver.port(&net, NodeId(99), post), Err(e) if e == error));
    assert!(matches!(solver.probe_table(&net, &[NodeId(99)], 1e7), Err(e) if e == error));
}

#[test]
fn a_current_too_large_for_any_number_is_an_error_not_a_nan() {
    let (mut net, post) = battery_and_lamp();
    let far = net.add_node();
    net.add_branch(Branch {
        from: post,
        to: far,
        ohms: MAX_OHMS,
        tag: 0,
    });
    net.add_source(Source {
        from: GROUND,
        to: far,
        volts: 1e303,
        ohms: 1e-6,
        tag: 7,
    });
    assert!(matches!(refusal(&net), CircuitError::NotFinite { .. }));
    // A current through a shorted source touches no voltage at all.
    let (mut net, post) = battery_and_lamp();
    net.add_source(Source {
        from: post,
        to: post,
        volts: 1e305,
        ohms: 1e-6,
        tag: 0,
    });
    assert!(matches!(refusal(&net), CircuitError::NotFinite { .. }));
}
