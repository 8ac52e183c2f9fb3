//! The parts of a vehicle file: one array of tables for each kind of part.

use std::ops::Range;

use toml::Spanned;

use crate::circuit::NodeId;
use crate::units::{Amp, Area, Metre, Money, Ohm, Seconds, Volt};

use super::file::Draft;
use super::harness::Conductor;
use super::hydraulic;
use super::model::{
    Element, Key, KeySet, Kind, Law, Part, PartId, PlaceId, PumpPart, Section, Work, node_at,
    node_index,
};
use super::reader::{Reader, Table};

/// Section names as written in files.
pub const SECTIONS: [(Section, &str); 9] = [
    (Section::Supply, "supply"),
    (Section::Feed, "feed"),
    (Section::InTankFeed, "in-tank feed"),
    (Section::Pump, "pump"),
    (Section::InTankGround, "in-tank ground"),
    (Section::GroundSide, "ground side"),
    (Section::BodyGround, "body ground"),
    (Section::Control, "control"),
    (Section::Hydraulic, "hydraulic"),
];

/// Wire colours of IEC 60757.
const COLOURS: [&str; 14] = [
    "BK", "BN", "RD", "OG", "YE", "GN", "BU", "VT", "GY", "WH", "PK", "TQ", "SR", "GD",
];

/// Reads all parts, in the order of the file.
pub(super) fn read(reader: &mut Reader, top: &mut Table, draft: &mut Draft) {
    let mut tables: Vec<(Kind, Table)> = Vec::new();
    for (kind, name) in Kind::NAMES {
        tables.extend(
            top.tables(reader, name, "id")
                .into_iter()
                .map(|table| (kind, table)),
        );
    }
    tables.sort_by_key(|(_, table)| table.span.start);
    for (kind, mut table) in tables {
        if let Some(part) = read_part(reader, kind, &mut table, draft) {
            read_elements(
                &mut Build {
                    reader,
                    draft,
                    part,
                },
                kind,
                &mut table,
            );
        }
        table.finish(reader);
    }
}

fn read_part(
    reader: &mut Reader,
    kind: Kind,
    table: &mut Table,
    draft: &mut Draft,
) -> Option<PartId> {
    let id = table.text(reader, "id");
    let title = table.text(reader, "title");
    let section = table
        .choice(reader, "section", &SECTIONS)
        .unwrap_or(Section::Supply);
    let place = draft.place(reader, table);
    let looks = table.text(reader, "looks");
    let price = table.money_if_any(reader, "price");
    let at = place.unwrap_or(PlaceId(0));
    let repair = table
        .table_if_any(reader, "repair")
        .and_then(|work| read_work(reader, work, at, None, draft));
    let replace = table
        .table_if_any(reader, "replace")
        .and_then(|work| read_work(reader, work, at, price, draft));
    let colour = if kind == Kind::Wire {
        read_colour(reader, table)
    } else {
        None
    };
    let relay_type = if kind == Kind::Relay {
        table.text(reader, "type")
    } else {
        None
    };
    let id = id?;
    let index = draft.part_names.define(reader, &id);
    if replace.is_some() && !table.has("price") {
        let message = format!("{} can be replaced but has no `price`", table.what);
        reader.report(
            table.span.clone(),
            message,
            Some("write `price = \"14.00\"`".to_owned()),
        );
    }
    draft.parts.push(Part {
        title: title.map_or_else(|| id.get_ref().clone(), Spanned::into_inner),
        id: id.into_inner(),
        kind,
        section,
        place: at,
        looks: looks.map_or_else(String::new, Spanned::into_inner),
        price,
        repair,
        replace,
        colour,
        relay_type: relay_type.map(Spanned::into_inner),
    });
    Some(PartId(index))
}

fn read_work(
    reader: &mut Reader,
    mut table: Table,
    at: PlaceId,
    price: Option<Money>,
    draft: &Draft,
) -> Option<Work> {
    let time = table.quantity::<Seconds>(reader, "time");
    let does = table.text(reader, "does");
    let extra = table.texts(reader, "needs");
    let opens_fuel = table.flag(reader, "opens_fuel");
    let price = match price {
        Some(price) => price,
        None => table.money_if_any(reader, "price").unwrap_or_default(),
    };
    table.finish(reader);
    let mut needs = draft
        .place_list
        .get(at.0)
        .map_or_else(Vec::new, |place| place.needs.clone());
    for access in draft.needs(reader, &extra) {
        if !needs.contains(&access) {
            needs.push(access);
        }
    }
    Some(Work {
        seconds: time?.into_inner().0,
        needs,
        does: does?.into_inner(),
        opens_fuel,
        price,
    })
}

fn read_colour(reader: &mut Reader, table: &mut Table) -> Option<String> {
    let colour = table.text(reader, "colour")?;
    let codes: Vec<&str> = colour.get_ref().split('-').collect();
    if codes.len() > 2 || codes.iter().any(|code| !COLOURS.contains(code)) {
        let hint = format!("one or two of {}, such as `RD-WH`", COLOURS.join(" "));
        reader.report(
            colour.span(),
            format!("`{}` is no wire colour of IEC 60757", colour.get_ref()),
            Some(hint),
        );
        return None;
    }
    Some(colour.into_inner())
}

/// Adds elements to one part.
struct Build<'a, 's> {
    reader: &'a mut Reader<'s>,
    draft: &'a mut Draft,
    part: PartId,
}

impl Build<'_, '_> {
    fn node(&mut self, table: &mut Table, key: &'static str) -> Option<NodeId> {
        let name = table.text(self.reader, key)?;
        self.draft.points.resolve(self.reader, &name).map(node_at)
    }

    /// A resistance above zero; a perfect conductor would be two names for one node, and two
    /// perfect sources in a loop would have no solution.
    fn ohms(&mut self, table: &mut Table, key: &'static str) -> Option<f64> {
        table.positive::<Ohm>(self.reader, key)
    }

    fn volts(&mut self, table: &mut Table, key: &'static str) -> Option<f64> {
        table.positive::<Volt>(self.reader, key)
    }

    fn push(
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
            super::reader::choose(self.reader, word, &KEYS).map_or(set, |key| set.with(key))
        })
    }
}

type Ends = (Option<NodeId>, Option<NodeId>);

fn read_elements(build: &mut Build, kind: Kind, table: &mut Table) {
    match kind {
        Kind::Battery => battery(build, table),
        Kind::Clamp | Kind::Splice | Kind::Ground => {
            let law = build
                .ohms(table, "resistance")
                .map(|ohms| Law::Contact { ohms });
            build.between(table, "", law);
        }
        Kind::FusibleLink => {
            let law = fuse_element(build, table);
            build.between(table, "element", law);
        }
        Kind::Fuse => fuse(build, table),
        Kind::Relay => relay(build, table),
        Kind::IgnitionSwitch => {
            let closed = build.keys(table, "closed");
            let law = build
                .ohms(table, "resistance")
                .map(|ohms| Law::Switch { ohms, closed });
            build.between(table, "", law);
        }
        Kind::ControlUnit => control_unit(build, table),
        Kind::Wire => wire(build, table),
        Kind::Connector => connector(build, table),
        Kind::Body => {
            let law = build
                .ohms(table, "resistance")
                .map(|ohms| Law::Metal { ohms });
            build.between(table, "", law);
        }
        Kind::Load => {
            let on = build.keys(table, "on");
            let law = build
                .ohms(table, "resistance")
                .map(|ohms| Law::Load { ohms, on });
            build.between(table, "", law);
        }
        Kind::Starter => {
            let law = build
                .ohms(table, "resistance")
                .map(|ohms| Law::Starter { ohms });
            build.between(table, "", law);
        }
        Kind::Alternator => {
            let volts = build.volts(table, "regulated");
            let ohms = build.ohms(table, "resistance");
            let law = volts
                .zip(ohms)
                .map(|(volts, ohms)| Law::Alternator { volts, ohms });
            build.between(table, "", law);
        }
        Kind::Pump => pump(build, table),
        Kind::Strainer
        | Kind::Hose
        | Kind::CheckValve
        | Kind::Filter
        | Kind::Line
        | Kind::Regulator
        | Kind::ReturnLine
        | Kind::Injectors
        | Kind::Tank => {}
    }
}

fn battery(build: &mut Build, table: &mut Table) {
    let ends = (build.node(table, "negative"), build.node(table, "positive"));
    let amp_hours = table.positive_in(build.reader, "capacity", "Ah", "65 Ah");
    let ohms = build.ohms(table, "resistance");
    if let Some((amp_hours, ohms)) = amp_hours.zip(ohms) {
        build.push(
            "",
            None,
            ends,
            Law::Battery { amp_hours, ohms },
            table.span.clone(),
        );
    }
}

fn fuse_element(build: &mut Build, table: &mut Table) -> Option<Law> {
    let rated_a = table.positive::<Amp>(build.reader, "rating");
    let ohms = build.ohms(table, "resistance");
    Some(Law::Fuse {
        ohms: ohms?,
        rated_a: rated_a?,
    })
}

/// A blade fuse: a contact at either side, and the element between its two test tabs.
fn fuse(build: &mut Build, table: &mut Table) {
    let supply = build.node(table, "supply");
    let tab_in = build.node(table, "tab_in");
    let tab_out = build.node(table, "tab_out");
    let load = build.node(table, "load");
    let law = fuse_element(build, table);
    let terminal = build.ohms(table, "terminals");
    let span = table.span.clone();
    if let Some(ohms) = terminal {
        build.push(
            "in",
            None,
            (supply, tab_in),
            Law::Contact { ohms },
            span.clone(),
        );
    }
    if let Some(law) = law {
        build.push("element", None, (tab_in, tab_out), law, span.clone());
    }
    if let Some(ohms) = terminal {
        build.push("out", None, (tab_out, load), Law::Contact { ohms }, span);
    }
}

/// A four-pin relay: a contact between each socket terminal and the blade in it, the make contact
/// and the coil between the blades. The legs are the terminals of DIN 72552.
fn relay(build: &mut Build, table: &mut Table) {
    let socket = build.ohms(table, "socket");
    let contact = build.ohms(table, "contact");
    let coil = build.ohms(table, "coil");
    let operate_v = build.volts(table, "operate");
    let release_v = build.volts(table, "release");
    let span = table.span.clone();
    let mut blade = |terminal: &'static str| {
        let name = table.text(build.reader, terminal)?;
        let outside = build
            .draft
            .points
            .resolve(build.reader, &name)
            .map(node_at)?;
        let inside = Spanned::new(name.span(), format!("{}.blade", name.get_ref()));
        let inside = build.draft.hidden_node(build.reader, &inside);
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
        build.push(
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
        build.push(
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
            build.reader.report(span.clone(), message, None);
        }
        let law = Law::Coil {
            ohms_20,
            operate_v,
            release_v,
        };
        build.push("coil", Some(Section::Control), (t86, t85), law, span);
    }
}

/// The control unit: what it consumes itself, and its low-side driver for the pump relay.
fn control_unit(build: &mut Build, table: &mut Table) {
    let supply = build.node(table, "supply");
    let ground = build.node(table, "ground");
    let driver = build.node(table, "driver");
    let own = build.ohms(table, "own_load");
    let driver_ohms = build.ohms(table, "driver_resistance");
    let span = table.span.clone();
    if let Some(ohms) = own {
        let law = Law::Load {
            ohms,
            on: KeySet::IGNITION,
        };
        build.push("own", None, (supply, ground), law, span.clone());
    }
    if let Some(ohms) = driver_ohms {
        build.push("driver", None, (driver, ground), Law::Driver { ohms }, span);
    }
}

fn wire(build: &mut Build, table: &mut Table) {
    let length_m = table.positive::<Metre>(build.reader, "length");
    let size = table.quantity::<Area>(build.reader, "size");
    let conductor = size.and_then(|size| match Conductor::of_area(*size.get_ref()) {
        Ok(conductor) => Some((size.get_ref().0, conductor)),
        Err(error) => {
            build.reader.report(size.span(), error.to_string(), None);
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
    build.between(table, "", law);
}

fn connector(build: &mut Build, table: &mut Table) {
    let count = table.count(build.reader, "pins");
    let usual = table.quantity_if_any::<Ohm>(build.reader, "resistance");
    let pins = table.tables(build.reader, "pin", "pin");
    if pins.is_empty() {
        let hint = Some("describe each under `[[connector.pin]]`".to_owned());
        build.reader.report(
            table.span.clone(),
            format!("{} has no pins", table.what),
            hint,
        );
    }
    let mut seen: Vec<u32> = Vec::new();
    for mut pin in pins {
        let number = pin.count(build.reader, "number");
        let from = build.node(&mut pin, "from");
        let to = build.node(&mut pin, "to");
        let section = pin.choice_if_any(build.reader, "section", &SECTIONS);
        let own = pin.quantity_if_any::<Ohm>(build.reader, "resistance");
        let ohms = own.as_ref().or(usual.as_ref());
        if ohms.is_none() {
            let message = format!("a pin of {} has no `resistance`", table.what);
            let hint = "give one for the connector or for the pin".to_owned();
            build.reader.report(pin.span.clone(), message, Some(hint));
        }
        let ohms = ohms.and_then(|ohms| {
            pin.above_zero(build.reader, "resistance", ohms.span(), ohms.get_ref().0)
        });
        let span = pin.span.clone();
        pin.finish(build.reader);
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
            build.reader.report(number.span(), message, None);
        }
        if seen.contains(&value) {
            build.reader.report(
                number.span(),
                format!("{} has pin {value} twice", table.what),
                None,
            );
        }
        seen.push(value);
        if let Some(ohms) = ohms {
            build.push(
                &value.to_string(),
                section,
                (from, to),
                Law::Contact { ohms },
                span,
            );
        }
    }
}

fn pump(build: &mut Build, table: &mut Table) {
    let plus = build.node(table, "plus");
    let minus = build.node(table, "minus");
    let unit = hydraulic::read_unit(build.reader, table);
    let span = table.span.clone();
    if build.draft.pump.is_some() {
        let message = "the vehicle has a second pump; this program knows one".to_owned();
        build.reader.report(span, message, None);
        return;
    }
    let id = build.draft.parts[build.part.0].id.clone();
    let inner = build.draft.hidden_node(
        build.reader,
        &Spanned::new(span.clone(), format!("{id}.emf")),
    );
    build.push("winding", None, (plus, Some(inner)), Law::Winding, span);
    if let (Some(plus), Some(minus), Some(unit)) = (plus, minus, unit) {
        build.draft.pump = Some(PumpPart {
            part: build.part,
            plus,
            minus,
            inner,
            unit,
        });
    }
}
