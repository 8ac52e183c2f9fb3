//! Worked examples as data: one part a line.

use std::collections::BTreeMap;
use std::path::PathBuf;

use hidden_ohm::circuit::{Branch, Network, NodeId, Solution, Source};
use serde::Deserialize;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Case {
    pub name: String,
    pub source: String,
    pub netlist: String,
    pub tolerance: f64,
    #[serde(default)]
    pub volts: BTreeMap<String, f64>,
    #[serde(default)]
    pub amps: BTreeMap<String, f64>,
}

#[derive(Deserialize)]
struct Cases {
    case: Vec<Case>,
}

pub fn data(file: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data/circuit")
        .join(file)
}

pub fn read(file: &str) -> String {
    let path = data(file);
    std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

pub fn cases() -> Vec<Case> {
    let cases: Cases = toml::from_str(&read("examples.toml")).unwrap();
    assert!(cases.case.len() >= 16, "examples went missing");
    cases.case
}

#[derive(Clone, Copy)]
enum Part {
    Branch(usize),
    Source(usize),
}

/// A network with the names it was written with.
pub struct Named {
    pub net: Network,
    pub nodes: Vec<String>,
    parts: BTreeMap<String, Part>,
}

impl Named {
    pub fn parse(netlist: &str) -> Self {
        let mut named = Self {
            net: Network::new(NodeId(0)),
            nodes: vec!["0".to_owned()],
            parts: BTreeMap::new(),
        };
        for line in netlist.lines().filter(|l| !l.trim().is_empty()) {
            named.add(&line.split_whitespace().collect::<Vec<_>>());
        }
        named
    }

    fn add(&mut self, words: &[&str]) {
        let number = |at: usize| words.get(at).map(|w| w.parse::<f64>().unwrap());
        let (first, second) = (self.node_or_new(words[2]), self.node_or_new(words[3]));
        let value = number(4).unwrap();
        let part = match words[0] {
            "R" => Part::Branch(self.net.add_branch(Branch {
                from: first,
                to: second,
                ohms: value,
                tag: 0,
            })),
            "V" => Part::Source(self.net.add_source(Source {
                from: second,
                to: first,
                volts: value,
                ohms: number(5).unwrap_or(0.0),
                tag: 0,
            })),
            "I" => Part::Source(self.net.add_source(current_source(first, second, value))),
            other => panic!("no part {other}"),
        };
        self.parts.insert(words[1].to_owned(), part);
    }

    fn node_or_new(&mut self, name: &str) -> NodeId {
        if let Some(at) = self.nodes.iter().position(|n| n == name) {
            return NodeId(u32::try_from(at).unwrap());
        }
        self.nodes.push(name.to_owned());
        self.net.add_node()
    }

    pub fn node(&self, name: &str) -> NodeId {
        let at = self
            .nodes
            .iter()
            .position(|n| n == name)
            .unwrap_or_else(|| panic!("no node {name}"));
        NodeId(u32::try_from(at).unwrap())
    }

    pub fn amps(&self, solution: &Solution, part: &str) -> f64 {
        match self.parts[part] {
            Part::Branch(i) => solution.branch_amps(i),
            Part::Source(i) => solution.source_amps(i),
        }
    }
}

/// A current drawn from one node and delivered to another: so many volts behind so many ohms that a few volts more or less
/// change it by some parts in 1e12.
fn current_source(from: NodeId, to: NodeId, amps: f64) -> Source {
    const OHMS: f64 = 1e13;
    Source {
        from,
        to,
        volts: amps * OHMS,
        ohms: OHMS,
        tag: 0,
    }
}

/// Equality within a relative tolerance.
#[track_caller]
pub fn assert_close(what: &str, got: f64, wanted: f64, tolerance: f64) {
    assert!(
        (got - wanted).abs() <= tolerance * wanted.abs(),
        "{what}: got {got}, wanted {wanted}"
    );
}
