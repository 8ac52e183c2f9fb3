//! The vehicle file: header, places, access work, points, engine and figures.

use std::ops::Range;

use toml::Spanned;

use crate::circuit::NodeId;
use crate::pump::Hydraulics;
use crate::units::{Flow, Metre, Money, Pascal, Seconds};

use super::diagnostic::{Diagnostic, Source};
use super::keys::Keys;
use super::kinds::{Kind, Medium};
use super::model::{
    Access, AccessHazard, AccessId, CustomerWords, Engine, Figure, LiftPump, Node, PartId, Place,
    PlaceId, PumpPart, Service, Tip, Touch, Vehicle, node_at,
};
use super::names::Names;
use super::reader::{Reader, Table};
use super::{cooling, hydraulic, lift, parts, validate};

/// What has been read so far, with the names that references are resolved by.
#[derive(Debug)]
pub(super) struct Draft {
    pub places: Names,
    pub accesses: Names,
    pub points: Names,
    pub part_names: Names,
    pub place_list: Vec<Place>,
    pub access_list: Vec<Access>,
    pub nodes: Vec<Node>,
    pub parts: Vec<super::model::Part>,
    pub elements: Vec<super::model::Element>,
    /// Where each element was described, for messages.
    pub element_spans: Vec<Range<usize>>,
    pub pumps: Vec<PumpPart>,
    /// What the tank holds, in cubic metres.
    pub tank_m3: Option<f64>,
    /// Pressure the control unit holds, in pascals.
    pub holds_pa: Option<f64>,
    /// Terminals that are bare only with a connector unplugged.
    only_unplugged: Vec<(usize, Spanned<String>)>,
}

impl Draft {
    fn new() -> Self {
        Self {
            places: Names::new("place"),
            accesses: Names::new("access"),
            points: Names::new("point"),
            part_names: Names::new("part"),
            place_list: Vec::new(),
            access_list: Vec::new(),
            nodes: Vec::new(),
            parts: Vec::new(),
            elements: Vec::new(),
            element_spans: Vec::new(),
            pumps: Vec::new(),
            tank_m3: None,
            holds_pa: None,
            only_unplugged: Vec::new(),
        }
    }

    /// Adds a node that no tip can touch.
    pub fn hidden_node(&mut self, reader: &mut Reader, name: &Spanned<String>) -> NodeId {
        let index = self.points.define(reader, name);
        let name = name.get_ref().clone();
        self.nodes.push(Node {
            spoken: name.clone(),
            name,
            touch: None,
        });
        node_at(index)
    }

    /// The accesses a list of names stands for.
    pub fn needs(&self, reader: &mut Reader, names: &[Spanned<String>]) -> Vec<AccessId> {
        names
            .iter()
            .filter_map(|name| self.accesses.resolve(reader, name))
            .map(AccessId)
            .collect()
    }

    /// The place a name stands for.
    pub fn place(&self, reader: &mut Reader, table: &mut Table) -> Option<PlaceId> {
        let name = table.text(reader, "place")?;
        self.places.resolve(reader, &name).map(PlaceId)
    }
}

/// Reads a vehicle file.
///
/// # Errors
/// Everything that is wrong in the text, in the order of the text.
pub fn load(file: &str, text: &str) -> Result<Vehicle, Vec<Diagnostic>> {
    let mut reader = Reader::new(Source { file, text });
    let vehicle = reader.parse().and_then(|tree| read(&mut reader, &tree));
    match vehicle {
        Some(vehicle) if reader.is_clean() => Ok(vehicle),
        _ => Err(reader.into_diagnostics()),
    }
}

/// The keys that the tables of these files are asked for.
#[must_use]
pub fn keys(files: &[(&str, &str)]) -> Keys {
    let mut keys = Keys::default();
    for &(file, text) in files {
        let mut reader = Reader::learning(Source { file, text });
        if let Some(tree) = reader.parse() {
            read(&mut reader, &tree);
        }
        keys.join(&reader.into_keys());
    }
    keys
}

fn read(reader: &mut Reader, tree: &Spanned<toml::de::DeTable>) -> Option<Vehicle> {
    let mut top = Table::new("the vehicle", 0..0, tree.get_ref());
    let mut draft = Draft::new();
    top.format(reader);
    read_accesses(reader, &mut top, &mut draft);
    read_places(reader, &mut top, &mut draft);
    read_points(reader, &mut top, &mut draft);
    // A circuit with a `[cooling]` table carries coolant round a loop; any other brings fuel to an engine.
    let cooling = top.table_if_any(reader, "cooling");
    let medium = if cooling.is_some() {
        Medium::Coolant
    } else {
        Medium::Fuel
    };
    let hydraulics = hydraulic::read(reader, &mut top, medium);
    parts::read(reader, &mut top, &mut draft);
    resolve_unplugged(reader, &mut draft);
    let lifts = top.table_if_any(reader, "lift");
    let lift = lifts.and_then(|table| lift::read(reader, table, &draft));
    let cools = cooling.is_some();
    let cooling = cooling.and_then(|table| cooling::read(reader, table, &draft.part_names));

    let reference_name = top.text(reader, "reference");
    let reference = reference_name
        .as_ref()
        .and_then(|name| draft.points.resolve(reader, name))
        .map(node_at);
    let body_names = top.texts(reader, "body_metal");
    let body = body_names
        .iter()
        .filter_map(|name| draft.points.resolve(reader, name))
        .map(node_at)
        .collect();
    let seat_name = top.text(reader, "seat");
    let seat = seat_name
        .as_ref()
        .and_then(|name| draft.places.resolve(reader, name))
        .map(PlaceId);
    let header = read_header(reader, &mut top);
    let engine = top
        .table(reader, "engine")
        .and_then(|table| read_engine(reader, table, medium));
    let figures = read_figures(reader, &mut top);
    let customer = read_customer(reader, &mut top);
    let service = read_service(reader, &mut top);
    let pump_code = top.text_if_any(reader, "pump_code");
    top.finish(reader);

    let spans = validate::Spans {
        reference: reference_name.map_or(0..0, |name| name.span()),
        accesses: &draft.accesses,
        points: &draft.points,
        parts: &draft.part_names,
        elements: &draft.element_spans,
    };
    let pump = main_pump(reader, &draft, lift.as_ref())?;
    let header = header?;
    let vehicle = Vehicle {
        id: header.id,
        name: header.name,
        about: header.about,
        fleet: header.fleet,
        currency: header.currency,
        labour_per_hour: header.labour_per_hour,
        places: draft.place_list,
        accesses: draft.access_list,
        nodes: draft.nodes,
        reference: reference?,
        body,
        parts: draft.parts,
        elements: draft.elements,
        pump,
        lift,
        hydraulics: Hydraulics {
            // Injectors are rated at the pressure they work at, which a driver module may hold.
            injector_rated_pa: draft.holds_pa.unwrap_or(hydraulics?.injector_rated_pa),
            ..hydraulics?
        },
        // A table with mistakes was reported.
        cooling: if cools { Some(cooling?) } else { None },
        customer,
        // A table with mistakes was reported.
        service: service?,
        pump_code: pump_code.map_or_else(|| USUAL_CODE.to_owned(), Spanned::into_inner),
        engine: engine?,
        // The table was reported if it has no capacity, so the vehicle is refused anyway.
        tank_m3: draft.tank_m3.unwrap_or(0.0),
        holds_pa: draft.holds_pa,
        prime_seconds: header.prime_seconds,
        figures,
        diagram: header.diagram,
        cautions: header.cautions,
        seat: seat?,
    };
    validate::check(reader, &vehicle, &spans);
    Some(vehicle)
}

/// Of the pumps read the one that is not the lift pump; what there is too few or too many of is reported.
fn main_pump(reader: &mut Reader, draft: &Draft, lift: Option<&LiftPump>) -> Option<PumpPart> {
    let lifting = lift.map(|lift| lift.pump.part);
    let mut mains = draft.pumps.iter().filter(|pump| Some(pump.part) != lifting);
    let Some(&pump) = mains.next() else {
        if !draft.parts.iter().any(|part| part.kind == Kind::Pump) {
            let hint = Some("describe one under `[[pump]]`".to_owned());
            reader.report(0..0, "the vehicle has no pump".to_owned(), hint);
        } else if lift.is_some() {
            let hint = Some("describe the main pump under another `[[pump]]`".to_owned());
            let message = "the vehicle has a lift pump and no pump behind it".to_owned();
            reader.report(0..0, message, hint);
        }
        return None;
    };
    if let Some(other) = mains.next() {
        let id = &draft.parts[other.part.0].id;
        let hint = Some(format!(
            "a table `[lift]` with `pump = \"{id}\"` makes it the lift pump"
        ));
        reader.report(
            draft.part_names.span(other.part.0),
            "the vehicle has a second pump, and nothing says which lifts".to_owned(),
            hint,
        );
    }
    Some(pump)
}

struct Header {
    id: String,
    name: String,
    about: String,
    fleet: Vec<String>,
    currency: String,
    labour_per_hour: Money,
    prime_seconds: f64,
    diagram: String,
    cautions: Vec<String>,
}

fn read_header(reader: &mut Reader, top: &mut Table) -> Option<Header> {
    let id = top.text(reader, "id");
    let name = top.text(reader, "name");
    let about = top.text(reader, "about");
    let currency = top.text(reader, "currency");
    let labour = top.money(reader, "labour");
    let prime = top.quantity::<Seconds>(reader, "prime");
    let diagram = top.text(reader, "diagram");
    let fleet = plain(top.texts(reader, "fleet"));
    let cautions = plain(top.texts(reader, "cautions"));
    if fleet.is_empty() {
        let hint = Some("write `fleet = [\"Petrel\"]`, one name at least".to_owned());
        reader.report(0..0, "the vehicle has no `fleet` names".to_owned(), hint);
    }
    if cautions.is_empty() {
        let hint = Some("every work order prints them".to_owned());
        reader.report(0..0, "the vehicle has no `cautions`".to_owned(), hint);
    }
    let diagram = diagram?;
    check_diagram(reader, &diagram);
    Some(Header {
        id: id?.into_inner(),
        name: name?.into_inner(),
        about: about?.into_inner(),
        fleet,
        currency: currency?.into_inner(),
        labour_per_hour: labour?,
        prime_seconds: prime?.into_inner().0,
        diagram: diagram.into_inner(),
        cautions,
    })
}

fn plain(texts: Vec<Spanned<String>>) -> Vec<String> {
    texts.into_iter().map(Spanned::into_inner).collect()
}

fn check_diagram(reader: &mut Reader, diagram: &Spanned<String>) {
    /// Fits a terminal of 80 columns with a margin on either side.
    const COLUMNS: usize = 78;
    for line in diagram.get_ref().lines() {
        if line.chars().count() > COLUMNS || !line.is_ascii() {
            let message = format!(
                "this line of the diagram is wider than {COLUMNS} columns or not ASCII: `{line}`"
            );
            reader.report(reader.find_in(diagram.span(), line), message, None);
        }
    }
}

fn read_accesses(reader: &mut Reader, top: &mut Table, draft: &mut Draft) {
    const HAZARDS: [(AccessHazard, &str); 3] = [
        (AccessHazard::None, "none"),
        (AccessHazard::RaisesVehicle, "raises-vehicle"),
        (AccessHazard::OpensTank, "opens-tank"),
    ];
    let mut needs = Vec::new();
    for mut table in top.tables(reader, "access", "id") {
        let id = table.text(reader, "id");
        let name = table.text(reader, "name");
        let done = table.text(reader, "done");
        let time = table.quantity::<Seconds>(reader, "time");
        let hazard = table
            .choice_if_any(reader, "hazard", &HAZARDS)
            .unwrap_or(AccessHazard::None);
        let needed = table.texts(reader, "needs");
        table.finish(reader);
        // An access with a mistake in it still takes its name, so that references to it do not fail too.
        let Some(id) = id else { continue };
        draft.accesses.define(reader, &id);
        needs.push(needed);
        draft.access_list.push(Access {
            name: name.map_or_else(|| id.get_ref().clone(), Spanned::into_inner),
            id: id.into_inner(),
            done: done.map_or_else(String::new, Spanned::into_inner),
            seconds: time.map_or(0.0, |time| time.into_inner().0),
            needs: Vec::new(),
            hazard,
        });
    }
    for (index, needed) in needs.iter().enumerate() {
        draft.access_list[index].needs = draft.needs(reader, needed);
    }
}

fn read_places(reader: &mut Reader, top: &mut Table, draft: &mut Draft) {
    for mut table in top.tables(reader, "place", "id") {
        let id = table.text(reader, "id");
        let name = table.text(reader, "name");
        let back = table.quantity::<Metre>(reader, "back");
        // Right of the centre line is written with `right`, since a length is never negative.
        let left = table.quantity_if_any::<Metre>(reader, "left");
        let right = table.quantity_if_any::<Metre>(reader, "right");
        let up = table.quantity::<Metre>(reader, "up");
        let needed = table.texts(reader, "needs");
        let warms_k = table.positive_in_if_any(reader, "warms", "K", "30 K");
        let span = table.span.clone();
        table.finish(reader);
        if left.is_some() == right.is_some() {
            reader.report(
                span,
                "a place needs either `left` or `right`".to_owned(),
                None,
            );
        }
        let Some(id) = id else { continue };
        draft.places.define(reader, &id);
        let metres =
            |length: Option<Spanned<Metre>>| length.map_or(0.0, |length| length.into_inner().0);
        let needs = draft.needs(reader, &needed);
        draft.place_list.push(Place {
            name: name.map_or_else(|| id.get_ref().clone(), Spanned::into_inner),
            id: id.into_inner(),
            at_m: [metres(back), metres(left) - metres(right), metres(up)],
            needs,
            warms_k: warms_k.unwrap_or(0.0),
        });
    }
}

fn read_points(reader: &mut Reader, top: &mut Table, draft: &mut Draft) {
    const TIPS: [(Tip, &str); 4] = [
        (Tip::Clip, "clip"),
        (Tip::Probe, "probe"),
        (Tip::Painted, "painted"),
        (Tip::BackProbe, "back-probe"),
    ];
    for mut table in top.tables(reader, "point", "name") {
        let name = table.text(reader, "name");
        let spoken = table.text(reader, "spoken");
        let place = draft.place(reader, &mut table);
        let tip = table.choice(reader, "tip", &TIPS);
        let unplugged = table.text_if_any(reader, "only_unplugged");
        table.finish(reader);
        let Some(name) = name else { continue };
        let index = draft.points.define(reader, &name);
        if let Some(part) = unplugged {
            draft.only_unplugged.push((index, part));
        }
        draft.nodes.push(Node {
            spoken: spoken.map_or_else(|| name.get_ref().clone(), Spanned::into_inner),
            name: name.into_inner(),
            touch: place.zip(tip).map(|(place, tip)| Touch {
                place,
                tip,
                only_unplugged: None,
            }),
        });
    }
    for name in top.texts(reader, "hidden") {
        draft.hidden_node(reader, &name);
    }
}

fn resolve_unplugged(reader: &mut Reader, draft: &mut Draft) {
    for (index, name) in std::mem::take(&mut draft.only_unplugged) {
        let Some(part) = draft.part_names.resolve(reader, &name) else {
            continue;
        };
        if let Some(touch) = draft
            .nodes
            .get_mut(index)
            .and_then(|node| node.touch.as_mut())
        {
            touch.only_unplugged = Some(PartId(part));
        }
    }
}

/// What a control unit stores for the output of a fuel pump, numbered as in SAE J2012 (from memory).
const USUAL_CODE: &str = "P0230 fuel pump primary circuit";

/// Reads the table `[customer]`, which may be absent.
fn read_customer(reader: &mut Reader, top: &mut Table) -> CustomerWords {
    let Some(mut table) = top.table_if_any(reader, "customer") else {
        return CustomerWords::default();
    };
    let words = CustomerWords {
        whines: plain(table.texts(reader, "whines")),
        runs_on: plain(table.texts(reader, "runs_on")),
        misread: plain(table.texts(reader, "misread")),
    };
    table.finish(reader);
    words
}

/// Reads the table `[use]`, which may be absent.
fn read_service(reader: &mut Reader, top: &mut Table) -> Option<Service> {
    const KEY: &str = "km_a_year";
    let Some(mut table) = top.table_if_any(reader, "use") else {
        return Some(Service::default());
    };
    let km = table.number(reader, KEY);
    let past = plain(table.texts(reader, "past"));
    table.finish(reader);
    let km = km?;
    if !(1e3..=1e5).contains(km.get_ref()) {
        let message = format!("`{KEY}` must be from 1000 to 100000");
        reader.report(
            km.span(),
            message,
            Some("write `km_a_year = 9000`".to_owned()),
        );
        return None;
    }
    Some(Service {
        km_a_year: km.into_inner(),
        past,
    })
}

/// What a vehicle file need not say of its engine (common practice, no source).
struct Usual {
    /// Seconds of cranking until oil pressure comes up.
    oil_pressure_s: f64,
    /// Speed at idle, cruise and full load, revolutions a minute.
    rpm: [f64; 3],
}

const USUAL: Usual = Usual {
    oil_pressure_s: 4.0,
    rpm: [820.0, 2400.0, 3200.0],
};

/// What the engine asks of a fuel circuit; a cooling circuit's engine asks nothing of this kind.
struct Fed {
    flow_m3_s: [f64; 3],
    manifold_pa: [f64; 3],
    start_pa: f64,
    fade_fraction: f64,
}

impl Fed {
    fn read(reader: &mut Reader, table: &mut Table) -> Option<Fed> {
        let flow = ["idle", "cruise", "hill"].map(|key| table.quantity::<Flow>(reader, key));
        let manifold = ["idle_manifold", "cruise_manifold", "hill_manifold"]
            .map(|key| table.quantity::<Pascal>(reader, key));
        let start = table.quantity::<Pascal>(reader, "starts_above");
        let fade = table.fraction(reader, "fades_below");
        let [idle, cruise, hill] = flow.map(|flow| flow.map(|flow| flow.into_inner().0));
        let [low, middle, high] = manifold.map(|pa| pa.map(|pa| pa.into_inner().0));
        Some(Fed {
            flow_m3_s: [idle?, cruise?, hill?],
            manifold_pa: [low?, middle?, high?],
            start_pa: start?.into_inner().0,
            fade_fraction: fade?,
        })
    }

    /// Of an engine whose fuel is not the circuit's.
    const ELSEWHERE: Fed = Fed {
        flow_m3_s: [0.0; 3],
        manifold_pa: [0.0; 3],
        start_pa: 0.0,
        fade_fraction: 0.0,
    };
}

fn read_engine(reader: &mut Reader, mut table: Table, medium: Medium) -> Option<Engine> {
    let fed = match medium {
        Medium::Fuel => Fed::read(reader, &mut table),
        Medium::Coolant => Some(Fed::ELSEWHERE),
    };
    let crank = table.quantity::<Seconds>(reader, "crank");
    let longest = table.positive_if_any::<Seconds>(reader, "longest_crank");
    let oil = table.positive_if_any::<Seconds>(reader, "oil_pressure_after");
    let rpm = ["idle_speed", "cruise_speed", "hill_speed"]
        .map(|key| table.positive_in_if_any(reader, key, "rpm", "820 rpm"));
    table.finish(reader);
    let fed = fed?;
    let [idle_m3_s, cruise_m3_s, hill_m3_s] = fed.flow_m3_s;
    let [idle_manifold_pa, cruise_manifold_pa, hill_manifold_pa] = fed.manifold_pa;
    Some(Engine {
        idle_m3_s,
        cruise_m3_s,
        hill_m3_s,
        idle_manifold_pa,
        cruise_manifold_pa,
        hill_manifold_pa,
        start_pa: fed.start_pa,
        fade_fraction: fed.fade_fraction,
        crank_seconds: crank?.into_inner().0,
        longest_crank_s: longest.unwrap_or(0.0),
        oil_pressure_s: oil.unwrap_or(USUAL.oil_pressure_s),
        rpm: core::array::from_fn(|load| rpm[load].unwrap_or(USUAL.rpm[load])),
    })
}

fn read_figures(reader: &mut Reader, top: &mut Table) -> Vec<Figure> {
    let mut figures: Vec<Figure> = Vec::new();
    let mut names = Names::new("figure");
    for mut table in top.tables(reader, "figure", "id") {
        let id = table.text(reader, "id");
        let text = table.text(reader, "text");
        table.finish(reader);
        if let Some(id) = &id {
            names.define(reader, id);
        }
        if let Some((id, text)) = id.zip(text) {
            figures.push(Figure {
                id: id.into_inner(),
                text: text.into_inner(),
            });
        }
    }
    figures
}
