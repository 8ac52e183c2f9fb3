//! The electrical elements each kind of part is made of.

use std::ops::Range;

use toml::Spanned;

use crate::circuit::NodeId;
use crate::units::{Amp, Area, Metre, Ohm, Volt, Volume};

use super::file::Draft;
use super::harness::Conductor;
use super::hydraulic;
use super::kinds::{Kind, Section};
use super::law::{Key, KeySet, Law};
use super::model::{Element, PartId, PumpPart, node_at, node_index};
use super::modules;
use super::reader::{Reader, Table, choose};

/// Adds elements to one part.
pub(super) struct Adder<'a, 's> {
    pub reader: &'a mut Reader<'s>,
    pub draft: &'a mut Draft,
    pub part: PartId,
}

impl Adder<'_, '_> {
    pub fn node(&mut self, table: &mut Table, key: &'static str) -> Option<NodeId> {
        let name = table.text(self.reader, key)?;
        self.draft.points.resolve(self.reader, &name).map(node_at)
    }

    /// A resistance above zero; a perfect conductor would be two names for one node, and two
    /// perfect sources in a loop would have no solution.
    pub fn ohms(&mut self, table: &mut Table, key: &'static str) -> Option<f64> {
        table.positive::<Ohm>(self.reader, key)
    }

    pub fn volts(&mut self, table: &mut Table, key: &'static str) -> Option<f64> {
        table.positive::<Volt>(self.reader, key)
    }

    pub fn push(
        &mut self,
        leg: &str,
        section: Option<Section>,
        ends: Ends,
        law: Law,
        span: Range<usize>,
    ) {
        let (Some(from), Some(to)) = ends else { return };
        if from == to {
            let name = self.draft.nodes[node_index(from)].name.clone();
            self.reader
                .report(span, format!("both ends are at `{name}`"), None);
            return;
        }
        let section = section.unwrap_or(self.draft.parts[self.part.0].section);
        self.draft.elements.push(Element {
            part: self.part,
            leg: leg.to_owned(),
            section,
            from,
            to,
            law,
        });
        self.draft.element_spans.push(span);
    }

    /// An element between the nodes `from` and `to` of the table.
    fn between(&mut self, table: &mut Table, leg: &str, law: Option<Law>) {
        let ends = (self.node(table, "from"), self.node(table, "to"));
        if let Some(law) = law {
            self.push(leg, None, ends, law, table.span.clone());
        }
    }

    fn keys(&mut self, table: &mut Table, key: &'static str) -> KeySet {
        const KEYS: [(Key, &str); 4] = [
            (Key::Off, "off"),
            (Key::On, "on"),
            (Key::Crank, "crank"),
            (Key::Run, "run"),
        ];
        let words = table.texts(self.reader, key);
        if words.is_empty() {
            let hint = Some(format!("write `{key} = [\"on\", \"crank\", \"run\"]`"));
            self.reader.report(
                table.span.clone(),
                format!("{} says no key position", table.what),
                hint,
            );
        }
        words.iter().fold(KeySet::default(), |set, word| {
            choose(self.reader, word, &KEYS).map_or(set, |key| set.with(key))
        })
    }
}

type Ends = (Option<NodeId>, Option<NodeId>);

/// Reads the elements of a part of this kind.
pub(super) fn read(add: &mut Adder, kind: Kind, table: &mut Table) {
    match kind {
        Kind::Battery => battery(add, table),
        Kind::Clamp | Kind::Splice | Kind::Ground | Kind::CutOffSwitch => {
            let law = add
                .ohms(table, "resistance")
                .map(|ohms| Law::Contact { ohms });
            add.between(table, "", law);
        }
        Kind::FusibleLink => {
            let law = fuse_element(add, table);
            add.between(table, "element", law);
        }
        Kind::Fuse => fuse(add, table),
        Kind::Relay => relay(add, table),
        Kind::IgnitionSwitch => {
            let closed = add.keys(table, "closed");
            let law = add
                .ohms(table, "resistance")
                .map(|ohms| Law::Switch { ohms, closed });
            add.between(table, "", law);
        }
        Kind::ControlUnit => modules::control_unit(add, table),
        Kind::Wire => wire(add, table),
        Kind::Connector => connector(add, table),
        Kind::Body => {
            let law = add
                .ohms(table, "resistance")
                .map(|ohms| Law::Metal { ohms });
            add.between(table, "", law);
        }
        Kind::Load => {
            let on = add.keys(table, "on");
            let law = add
                .ohms(table, "resistance")
                .map(|ohms| Law::Load { ohms, on });
            add.between(table, "", law);
        }
        Kind::DriverModule => modules::driver_module(add, table),
        Kind::PressureSensor => modules::pressure_sensor(add, table),
        Kind::PressureSwitch => {
            let law = add
                .ohms(table, "resistance")
                .map(|ohms| Law::OilSwitch { ohms });
            add.between(table, "", law);
        }
        Kind::Starter => {
            let law = add
                .ohms(table, "resistance")
                .map(|ohms| Law::Starter { ohms });
            add.between(table, "", law);
        }
        Kind::Alternator => {
            let volts = add.volts(table, "regulated");
            let ohms = add.ohms(table, "resistance");
            let law = volts
                .zip(ohms)
                .map(|(volts, ohms)| Law::Alternator { volts, ohms });
            add.between(table, "", law);
        }
        Kind::Pump => pump(add, table),
        Kind::Tank => {
            let capacity = table.positive::<Volume>(add.reader, "capacity");
            add.draft.tank_m3 = capacity.or(add.draft.tank_m3);
        }
        Kind::Strainer
        | Kind::Hose
        | Kind::CheckValve
        | Kind::Filter
        | Kind::Line
        | Kind::LiftLine
        | Kind::Regulator
        | Kind::ReturnLine
        | Kind::Injectors
        | Kind::Radiator
        | Kind::Thermostat
        | Kind::ExpansionTank => {}
    }
}

fn battery(add: &mut Adder, table: &mut Table) {
    let ends = (add.node(table, "negative"), add.node(table, "positive"));
    let amp_hours = table.positive_in(add.reader, "capacity", "Ah", "65 Ah");
    let ohms = add.ohms(table, "resistance");
    if let Some((amp_hours, ohms)) = amp_hours.zip(ohms) {
        add.push(
            "",
            None,
            ends,
            Law::Battery { amp_hours, ohms },
            table.span.clone(),
        );
    }
}

fn fuse_element(add: &mut Adder, table: &mut Table) -> Option<Law> {
    let rated_a = table.positive::<Amp>(add.reader, "rating");
    let ohms = add.ohms(table, "resistance");
    Some(Law::Fuse {
        ohms: ohms?,
        rated_a: rated_a?,
    })
}

/// A blade fuse: a contact at either side, and the element between its two test tabs.
fn fuse(add: &mut Adder, table: &mut Table) {
    let supply = add.node(table, "supply");
    let tab_in = add.node(table, "tab_in");
    let tab_out = add.node(table, "tab_out");
    let load = add.node(table, "load");
    let law = fuse_element(add, table);
    let terminal = add.ohms(table, "terminals");
    let span = table.span.clone();
    if let Some(ohms) = terminal {
        add.push(
            "in",
            None,
            (supply, tab_in),
            Law::Contact { ohms },
            span.clone(),
        );
    }
    if let Some(law) = law {
        add.push("element", None, (tab_in, tab_out), law, span.clone());
    }
    if let Some(ohms) = terminal {
        add.push("out", None, (tab_out, load), Law::Contact { ohms }, span);
    }
}

/// A four-pin relay: a contact between each socket terminal and the blade in it, the make contact
/// and the coil between the blades. The legs are the terminals of DIN 72552.
fn relay(add: &mut Adder, table: &mut Table) {
    let socket = add.ohms(table, "socket");
    let contact = add.ohms(table, "contact");
    let coil = add.ohms(table, "coil");
    let operate_v = add.volts(table, "operate");
    let release_v = add.volts(table, "release");
    let span = table.span.clone();
    let mut blade = |terminal: &'static str| {
        let name = table.text(add.reader, terminal)?;
        let outside = add.draft.points.resolve(add.reader, &name).map(node_at)?;
        let inside = Spanned::new(name.span(), format!("{}.blade", name.get_ref()));
        let inside = add.draft.hidden_node(add.reader, &inside);
        // The supply side enters by the socket, the others leave by it.
        let ends = if matches!(terminal, "30" | "86") {
            (outside, inside)
        } else {
            (inside, outside)
        };
        // A learner judges the main current under the feed and the coil under control.
        let section = if matches!(terminal, "30" | "87") {
            Section::Feed
        } else {
            Section::Control
        };
        let law = Law::Contact { ohms: socket? };
        add.push(
            terminal,
            Some(section),
            (Some(ends.0), Some(ends.1)),
            law,
            span.clone(),
        );
        Some(inside)
    };
    let [t30, t87, t86, t85] = ["30", "87", "86", "85"].map(&mut blade);
    if let Some(ohms) = contact {
        add.push(
            "contact",
            Some(Section::Feed),
            (t30, t87),
            Law::RelayContact { ohms },
            span.clone(),
        );
    }
    if let (Some(ohms_20), Some(operate_v), Some(release_v)) = (coil, operate_v, release_v) {
        if release_v >= operate_v {
            let message = format!(
                "{} releases at or above the voltage it operates at",
                table.what
            );
            add.reader.report(span.clone(), message, None);
        }
        let law = Law::Coil {
            ohms_20,
            operate_v,
            release_v,
        };
        add.push("coil", Some(Section::Control), (t86, t85), law, span);
    }
}

fn wire(add: &mut Adder, table: &mut Table) {
    let length_m = table.positive::<Metre>(add.reader, "length");
    let size = table.quantity::<Area>(add.reader, "size");
    let conductor = size.and_then(|size| match Conductor::of_area(*size.get_ref()) {
        Ok(conductor) => Some((size.get_ref().0, conductor)),
        Err(error) => {
            add.reader.report(size.span(), error.to_string(), None);
            None
        }
    });
    let law = length_m
        .zip(conductor)
        .map(|(length_m, (area_m2, conductor))| Law::Copper {
            ohms_20: conductor.ohms_per_m * length_m,
            length_m,
            area_m2,
            strand_m2: conductor.strand_area_m2(),
            strands: conductor.strands,
        });
    add.between(table, "", law);
}

fn connector(add: &mut Adder, table: &mut Table) {
    let count = table.count(add.reader, "pins");
    let usual = table.quantity_if_any::<Ohm>(add.reader, "resistance");
    let pins = table.tables(add.reader, "pin", "pin");
    if pins.is_empty() {
        let hint = Some("describe each under `[[connector.pin]]`".to_owned());
        add.reader.report(
            table.span.clone(),
            format!("{} has no pins", table.what),
            hint,
        );
    }
    let mut seen: Vec<u32> = Vec::new();
    for mut pin in pins {
        let number = pin.count(add.reader, "number");
        let from = add.node(&mut pin, "from");
        let to = add.node(&mut pin, "to");
        let section = pin.choice_if_any(add.reader, "section", &Section::NAMES);
        let own = pin.quantity_if_any::<Ohm>(add.reader, "resistance");
        let ohms = own.as_ref().or(usual.as_ref());
        if ohms.is_none() {
            let message = format!("a pin of {} has no `resistance`", table.what);
            let hint = "give one for the connector or for the pin".to_owned();
            add.reader.report(pin.span.clone(), message, Some(hint));
        }
        let ohms = ohms.and_then(|ohms| {
            pin.above_zero(add.reader, "resistance", ohms.span(), ohms.get_ref().0)
        });
        let span = pin.span.clone();
        pin.finish(add.reader);
        let Some(number) = number else { continue };
        let value = *number.get_ref();
        if let Some(count) = &count
            && !(1..=*count.get_ref()).contains(&value)
        {
            let message = format!(
                "{} has pins 1 to {}, not {value}",
                table.what,
                count.get_ref()
            );
            add.reader.report(number.span(), message, None);
        }
        if seen.contains(&value) {
            add.reader.report(
                number.span(),
                format!("{} has pin {value} twice", table.what),
                None,
            );
        }
        seen.push(value);
        if let Some(ohms) = ohms {
            add.push(
                &value.to_string(),
                section,
                (from, to),
                Law::Contact { ohms },
                span,
            );
        }
    }
}

fn pump(add: &mut Adder, table: &mut Table) {
    let plus = add.node(table, "plus");
    let minus = add.node(table, "minus");
    let unit = hydraulic::read_unit(add.reader, table);
    let span = table.span.clone();
    let id = add.draft.parts[add.part.0].id.clone();
    let inner = add
        .draft
        .hidden_node(add.reader, &Spanned::new(span.clone(), format!("{id}.emf")));
    add.push("winding", None, (plus, Some(inner)), Law::Winding, span);
    if let (Some(plus), Some(minus), Some(unit)) = (plus, minus, unit) {
        add.draft.pumps.push(PumpPart {
            part: add.part,
            plus,
            minus,
            inner,
            unit,
        });
    }
}
