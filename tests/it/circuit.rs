//! Resistor networks against worked examples and laws.

use hidden_ohm::circuit::{Branch, Network, NodeId, Solver, Source};

#[test]
fn smoke() {
    let mut net = Network::new(NodeId(0));
    let n: Vec<NodeId> = (0..8).map(|_| net.add_node()).collect();
    let g = NodeId(0);
    net.add_source(Source {
        from: g,
        to: n[0],
        volts: 12.65,
        ohms: 6e-3,
        tag: 0,
    });
    for (i, r) in [4.8e-3, 3e-3, 63.5e-3, 5e-3].into_iter().enumerate() {
        net.add_branch(Branch {
            from: n[i],
            to: n[i + 1],
            ohms: r,
            tag: 0,
        });
    }
    let p = n[4];
    let q = n[5];
    net.add_source(Source {
        from: q,
        to: p,
        volts: 9.0,
        ohms: 0.6,
        tag: 0,
    });
    net.add_branch(Branch {
        from: q,
        to: n[6],
        ohms: 5e-3,
        tag: 0,
    });
    net.add_branch(Branch {
        from: n[6],
        to: n[7],
        ohms: 18.5e-3,
        tag: 0,
    });
    net.add_branch(Branch {
        from: n[7],
        to: g,
        ohms: 2e-3,
        tag: 0,
    });
    net.add_branch(Branch {
        from: p,
        to: q,
        ohms: 1e7,
        tag: 0,
    });
    let s = Solver::new().operate(&net).unwrap();
    assert!(
        (s.volts(p) - 12.225_593_303_59).abs() < 1e-10,
        "{}",
        s.volts(p)
    );
    assert!(
        (s.volts(q) - 0.131_499_037_163).abs() < 1e-11,
        "{}",
        s.volts(q)
    );
    assert!(
        s.kcl_residual(&net).1.abs() < 1e-12,
        "{:?}",
        s.kcl_residual(&net)
    );
}
