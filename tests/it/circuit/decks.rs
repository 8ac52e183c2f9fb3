//! Decks, and what ngspice made of them.

use std::collections::BTreeMap;

use hidden_ohm::circuit::{Branch, Network, NodeId, Solver, Source, spice_deck};

use super::netlist::{Named, cases, data, read};
use super::vehicle_like::vehicle_like;

/// Set this to write the decks anew; then run `tests/outside/10-ngspice-circuit --record`.
const RECORD: &str = "HIDDEN_OHM_MINT";

/// Every network whose deck is kept with what ngspice printed for it.
fn recorded() -> Vec<(String, Named)> {
    let mut all: Vec<(String, Named)> = cases()
        .into_iter()
        .map(|case| (case.name, Named::parse(&case.netlist)))
        .collect();
    for seed in 1..=3 {
        let net = vehicle_like(55, seed);
        let nodes = (0..net.node_count())
            .map(|n| format!("X{n}.{}+", n % 4))
            .collect();
        let mut named = Named::parse("");
        (named.net, named.nodes) = (net, nodes);
        all.push((format!("vehicle-like-{seed}"), named));
    }
    all
}

fn deck_of(name: &str, named: &Named) -> String {
    spice_deck(&named.net, name, &|node| {
        named.nodes[node.0 as usize].clone()
    })
}

/// `v(name) = number` lines.
fn printed(output: &str) -> BTreeMap<String, f64> {
    let line = |l: &str| {
        let (name, value) = l.split_once(" = ")?;
        let name = name.strip_prefix("v(")?.strip_suffix(')')?;
        Some((name.to_owned(), value.trim().parse().ok()?))
    };
    output.lines().filter_map(line).collect()
}

/// Deck name of each node, read back from the deck's own comments.
fn deck_names(deck: &str, named: &Named) -> Vec<String> {
    let mut names = named.nodes.clone();
    for line in deck.lines() {
        if let Some((deck_name, original)) = line
            .strip_prefix("* node ")
            .and_then(|l| l.split_once(" = "))
            && let Some(at) = named.nodes.iter().position(|n| n == original)
        {
            deck_name.clone_into(&mut names[at]);
        }
    }
    names
}

#[test]
fn ngspice_agrees_at_every_node_of_every_recorded_deck() {
    for (name, named) in recorded() {
        let deck = deck_of(&name, &named);
        let file = format!("ngspice/{name}.cir");
        if std::env::var_os(RECORD).is_some() {
            std::fs::write(data(&file), &deck).unwrap();
            continue;
        }
        assert!(
            deck == read(&file),
            "{file} is not what `spice_deck` writes now. If the deck's form changed on purpose, run \
             {RECORD}=1 cargo test --test it circuit::decks and then tests/outside/10-ngspice-circuit --record; if a value changed, \
             find out why first."
        );
        let solution = Solver::new().operate(&named.net).unwrap();
        let printed = printed(&read(&format!("ngspice/{name}.out")));
        let names = deck_names(&deck, &named);
        let mut checked = 0;
        for (node, deck_name) in (0..).map(NodeId).zip(&names) {
            if node == named.net.reference() {
                continue;
            }
            let theirs = printed
                .get(deck_name)
                .unwrap_or_else(|| panic!("{name}: {deck_name} not printed"));
            let ours = solution.volts(node);
            assert!(
                (ours - theirs).abs() <= 1e-9,
                "{name}: {deck_name} is {ours}, ngspice says {theirs}"
            );
            checked += 1;
        }
        assert_eq!(checked, named.net.node_count() - 1, "{name}");
    }
}

#[test]
fn names_map_one_to_one_and_say_so() {
    let given = ["B-", "B+", "b_pos", "X2.1", "x2_1", "GND", "all", "87"];
    let mut net = Network::new(NodeId(0));
    for at in 1..8 {
        let node = net.add_node();
        net.add_branch(Branch {
            from: NodeId(at - 1),
            to: node,
            ohms: 1.0,
            tag: 0,
        });
    }
    let deck = spice_deck(&net, "names", &|n| given[n.0 as usize].to_owned());
    let printed: Vec<&str> = deck.lines().filter(|l| l.starts_with("print ")).collect();
    assert_eq!(
        printed,
        [
            "print v(b_pos_2)",
            "print v(b_pos)",
            "print v(x2_1_2)",
            "print v(x2_1)",
            "print v(n_gnd)",
            "print v(n_all)",
            "print v(n_87)"
        ]
    );
    for line in [
        "* node 0 = B-",
        "* node b_pos_2 = B+",
        "* node x2_1_2 = X2.1",
        "* node n_gnd = GND",
    ] {
        assert!(deck.lines().any(|l| l == line), "{line} missing in\n{deck}");
    }
    assert!(
        !deck.contains("* node x2_1 ="),
        "an unchanged name needs no comment"
    );
}

#[test]
fn what_has_no_operating_point_is_left_out_and_named() {
    let mut net = Network::new(NodeId(0));
    let nodes: [NodeId; 4] = std::array::from_fn(|_| net.add_node());
    net.add_source(Source {
        from: NodeId(0),
        to: nodes[0],
        volts: 12.0,
        ohms: 0.0,
        tag: 0,
    });
    net.add_branch(Branch {
        from: nodes[0],
        to: nodes[1],
        ohms: 0.0,
        tag: 0,
    });
    net.add_branch(Branch {
        from: nodes[1],
        to: nodes[2],
        ohms: f64::INFINITY,
        tag: 0,
    });
    net.add_branch(Branch {
        from: nodes[2],
        to: nodes[3],
        ohms: 5.0,
        tag: 0,
    });
    net.add_branch(Branch {
        from: nodes[1],
        to: nodes[1],
        ohms: 5.0,
        tag: 0,
    });
    let deck = spice_deck(&net, "open\nline", &|n| format!("N{}", n.0));
    for line in [
        "* open?line",
        "* left out: floating node N3",
        "* left out: branch 1 from n2 to N3, open",
        "* left out: branch 2 from N3 to N4, floating",
        "* left out: branch 3 from n2 to n2, both ends on one node",
        "r0 n1 n2 1e-6",
        "v0 n1 0 1.2e1",
    ] {
        assert!(deck.lines().any(|l| l == line), "{line} missing in\n{deck}");
    }
    assert!(!deck.contains("print v(n3)") && deck.contains("print v(n2)"));
}
