//! A network as a deck that any SPICE reads.

use std::collections::BTreeSet;

use super::network::{MAX_OHMS, MIN_OHMS, Network, NodeId};
use super::topology::Islands;

/// Commands for ngspice after the parts. Batch mode leaves with status 0 on several failures, so
/// the deck asks whether the operating point was found and leaves with 3 if not.
const CONTROL_HEAD: &str = ".control\nset numdgt=15\nop\nif $sim_status ne 0\n  quit 3\nend\n";

/// Tight enough that a linear network is printed to some twelve digits. `gmin` and the tolerances
/// matter to devices only, but the deck should not depend on a reader's defaults.
const OPTIONS: &str = ".options reltol=1e-9 abstol=1e-15 vntol=1e-12 gmin=1e-15\n";

/// Writes a network as a SPICE deck whose node names map one to one to those of the caller.
///
/// The reference is node 0. A name that SPICE would not take (or would take for ground) is changed,
/// and a comment line `* node <deck name> = <name>` says so. Floating islands and open
/// branches have no place in an operating point: they are left out, each named in a
/// comment. Every node in the deck is printed with 16 digits. A deck of a network that
/// [`Solver::operate`](super::Solver::operate) refuses is not worth running.
#[must_use]
pub fn spice_deck(net: &Network, title: &str, name_of: &dyn Fn(NodeId) -> String) -> String {
    let Some(mut deck) = Deck::of(net, title, name_of) else {
        return format!(
            "* {}\n* a part names a node that does not exist\n.end\n",
            one_line(title)
        );
    };
    deck.text.push_str(OPTIONS);
    deck.text.push_str(CONTROL_HEAD);
    for node in deck.used().collect::<Vec<_>>() {
        if node != net.reference() {
            deck.line(&format!("print v({})", deck.names[node.at()]));
        }
    }
    deck.text.push_str("quit 0\n.endc\n.end\n");
    deck.text
}

/// The parts of a network as lines of a deck, for a caller that adds parts and commands of its own.
#[derive(Clone, Debug, PartialEq)]
pub struct SpiceParts {
    /// Title and parts, without options, commands and end.
    pub text: String,
    /// Deck name of each node, by number; meaningless for a floating one.
    pub names: Vec<String>,
}

/// Writes only the parts of a network; `None` if one of them names a node that does not exist.
#[must_use]
pub fn spice_parts(
    net: &Network,
    title: &str,
    name_of: &dyn Fn(NodeId) -> String,
) -> Option<SpiceParts> {
    let deck = Deck::of(net, title, name_of)?;
    Some(SpiceParts {
        text: deck.text,
        names: deck.names,
    })
}

struct Deck<'a> {
    net: &'a Network,
    islands: Islands,
    /// Deck name of each node.
    names: Vec<String>,
    taken: BTreeSet<String>,
    text: String,
}

impl<'a> Deck<'a> {
    /// The title and all parts.
    fn of(net: &'a Network, title: &str, name_of: &dyn Fn(NodeId) -> String) -> Option<Self> {
        let mut deck = Deck {
            net,
            islands: Islands::find(net).ok()?,
            names: Vec::new(),
            taken: BTreeSet::new(),
            text: String::new(),
        };
        deck.line(&format!("* {}", one_line(title)));
        deck.name_nodes(name_of);
        deck.branches();
        deck.sources();
        Some(deck)
    }

    fn line(&mut self, text: &str) {
        self.text.push_str(text);
        self.text.push('\n');
    }

    fn used(&self) -> impl Iterator<Item = NodeId> + use<> {
        let islands = self.islands.clone();
        (0..)
            .map(NodeId)
            .take(self.net.node_count())
            .filter(move |&node| !islands.floating(node))
    }

    /// Names that are safe as they are keep themselves; the others are changed to something free.
    fn name_nodes(&mut self, name_of: &dyn Fn(NodeId) -> String) {
        let given: Vec<String> = (0..)
            .map(NodeId)
            .take(self.net.node_count())
            .map(name_of)
            .collect();
        self.names = vec![String::new(); given.len()];
        let reference = self.net.reference();
        "0".clone_into(&mut self.names[reference.at()]);
        let used: Vec<NodeId> = self.used().filter(|&n| n != reference).collect();
        for &node in &used {
            let name = &given[node.at()];
            if is_safe(name) && self.taken.insert(name.clone()) {
                self.names[node.at()].clone_from(name);
            }
        }
        self.line(&format!("* node 0 = {}", one_line(&given[reference.at()])));
        for &node in &used {
            if self.names[node.at()].is_empty() {
                self.names[node.at()] = self.free_name(&made_safe(&given[node.at()]));
                let (mine, given) = (self.names[node.at()].clone(), one_line(&given[node.at()]));
                self.line(&format!("* node {mine} = {given}"));
            }
        }
        for node in (0..)
            .map(NodeId)
            .take(given.len())
            .filter(|&n| self.islands.floating(n))
            .collect::<Vec<_>>()
        {
            self.line(&format!(
                "* left out: floating node {}",
                one_line(&given[node.at()])
            ));
            self.names[node.at()] = one_line(&given[node.at()]);
        }
    }

    fn free_name(&mut self, wanted: &str) -> String {
        let mut name = wanted.to_owned();
        let mut suffix = 2;
        while !self.taken.insert(name.clone()) {
            name = format!("{wanted}_{suffix}");
            suffix += 1;
        }
        name
    }

    /// Why a part is not in the deck, if it is not.
    fn absent(&self, from: NodeId, to: NodeId, ohms: f64) -> Option<&'static str> {
        if ohms > MAX_OHMS {
            Some("open")
        } else if self.islands.floating(from) {
            Some("floating")
        } else if from == to {
            Some("both ends on one node")
        } else {
            None
        }
    }

    fn ends(&self, from: NodeId, to: NodeId) -> (String, String) {
        (self.names[from.at()].clone(), self.names[to.at()].clone())
    }

    fn part(&mut self, kind: char, index: usize, ends: (&str, &str), value: f64) {
        self.line(&format!("{kind}{index} {} {} {value:e}", ends.0, ends.1));
    }

    fn leave_out(&mut self, what: &str, index: usize, from: NodeId, to: NodeId, why: &str) {
        let (from, to) = self.ends(from, to);
        self.line(&format!(
            "* left out: {what} {index} from {from} to {to}, {why}"
        ));
    }

    fn branches(&mut self) {
        for (index, branch) in self.net.branches().iter().enumerate() {
            if let Some(why) = self.absent(branch.from, branch.to, branch.ohms) {
                self.leave_out("branch", index, branch.from, branch.to, why);
            } else {
                let (from, to) = self.ends(branch.from, branch.to);
                self.part('r', index, (&from, &to), branch.ohms.max(MIN_OHMS));
            }
        }
    }

    fn sources(&mut self) {
        for (index, source) in self.net.sources().iter().enumerate() {
            if let Some(why) = self.absent(source.from, source.to, source.ohms) {
                self.leave_out("source", index, source.from, source.to, why);
                continue;
            }
            let (from, to) = self.ends(source.from, source.to);
            if source.ohms > 0.0 {
                let inside = self.free_name(&format!("inside_v{index}"));
                self.line(&format!(
                    "* node {inside} = inside source {index}, before its resistance"
                ));
                self.part('v', index, (&inside, &from), source.volts);
                self.line(&format!(
                    "rv{index} {inside} {to} {:e}",
                    source.ohms.max(MIN_OHMS)
                ));
            } else {
                self.part('v', index, (&to, &from), source.volts);
            }
        }
    }
}

/// Words that `print v(...)` of ngspice 39 takes for something else (`all` even silently), and the
/// other name of node 0.
const RESERVED: [&str; 14] = [
    "all", "alli", "allv", "ally", "and", "eq", "ge", "gnd", "gt", "le", "lt", "ne", "not", "or",
];

/// Whether SPICE reads a node name as it stands: it folds case, and may take a name that begins
/// with a digit for a number.
fn is_safe(name: &str) -> bool {
    name.starts_with(|c: char| c.is_ascii_lowercase())
        && name
            .chars()
            .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_')
        && !RESERVED.contains(&name)
}

fn made_safe(name: &str) -> String {
    let mut safe = String::with_capacity(name.len() + 2);
    for c in name.chars() {
        match c {
            '+' => safe.push_str("_pos"),
            '-' if safe.ends_with(|c: char| c.is_ascii_alphanumeric()) && name.ends_with('-') => {
                safe.push_str("_neg");
            }
            c if c.is_ascii_alphanumeric() => safe.push(c.to_ascii_lowercase()),
            _ => safe.push('_'),
        }
    }
    if is_safe(&safe) {
        safe
    } else {
        format!("n_{safe}")
    }
}

/// A name as it may stand in a comment: SPICE decks are lines.
fn one_line(text: &str) -> String {
    text.chars()
        .map(|c| if c.is_control() { '?' } else { c })
        .collect()
}
