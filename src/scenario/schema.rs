//! JSON Schemas of the files people write, for editors that check and complete while one types.
//!
//! Names come from the types and from the library: kinds of part, sections, effects, vehicles, faults. A schema knows
//! which keys there are and what a quantity looks like; what refers to what is told by `scenario check`, which reads the
//! file as the program does.

use serde_json::{Map, Value, json};

use super::Library;
use crate::fault::Effect;
use crate::vehicle::{Kind, Medium, Section};

const DIALECT: &str = "https://json-schema.org/draft/2020-12/schema";

/// A number with its unit, such as "0.35 ohm"; or one that needs none.
fn quantity(example: &str) -> Value {
    json!({
        "type": ["string", "number"],
        "pattern": r"^\s*[-+]?\d+(\.\d+)?([eE][-+]?\d+)?\s*\S.*$|^\s*[-+]?\d+(\.\d+)?\s*$",
        "description": format!("a number with its unit, such as \"{example}\""),
    })
}

fn text() -> Value {
    json!({ "type": "string" })
}

fn texts() -> Value {
    json!({ "type": "array", "items": text() })
}

fn one_of(names: impl IntoIterator<Item = impl Into<String>>) -> Value {
    let names: Vec<String> = names.into_iter().map(Into::into).collect();
    json!({ "enum": names })
}

/// A table with these keys and no others; those marked must be there.
fn table(keys: &[(&str, bool, Value)]) -> Value {
    let required: Vec<&str> = keys
        .iter()
        .filter(|(_, required, _)| *required)
        .map(|(key, _, _)| *key)
        .collect();
    let properties: Map<String, Value> = keys
        .iter()
        .map(|(key, _, value)| ((*key).to_owned(), value.clone()))
        .collect();
    json!({
        "type": "object",
        "properties": properties,
        "required": required,
        "additionalProperties": false,
    })
}

fn tables(item: &Value) -> Value {
    json!({ "type": "array", "items": item })
}

fn whole(title: &str, mut schema: Value) -> Value {
    if let Some(map) = schema.as_object_mut() {
        map.insert("$schema".into(), json!(DIALECT));
        map.insert("title".into(), json!(title));
    }
    schema
}

fn format() -> (&'static str, bool, Value) {
    ("format", true, json!({ "const": 1 }))
}

/// Scenarios written by hand.
#[must_use]
pub fn scenario(library: &Library) -> Value {
    let vehicles = library.vehicles.iter().map(|vehicle| vehicle.id.as_str());
    let kinds = library.catalogue.kinds.iter().map(|kind| kind.id.as_str());
    let conditions = table(&[
        ("ambient", true, quantity("12 C")),
        ("charge", true, quantity("90 %")),
        ("fuel", false, quantity("40 %")),
    ]);
    let tank = table(&[
        ("float_stuck_at", false, quantity("60 %")),
        ("water", false, quantity("10 %")),
    ]);
    let fault = table(&[
        ("kind", true, one_of(kinds)),
        ("part", true, text()),
        ("leg", false, text()),
        ("severity", false, quantity("0.35 ohm")),
    ]);
    let top = table(&[
        format(),
        ("vehicle", true, one_of(vehicles)),
        ("name", false, text()),
        (
            "level",
            true,
            json!({ "type": "integer", "minimum": 1, "maximum": 5 }),
        ),
        (
            "seed",
            true,
            json!({ "type": "integer", "minimum": 0, "maximum": u32::MAX }),
        ),
        ("customer", true, text()),
        ("known", false, texts()),
        ("withheld", false, texts()),
        ("allowed", false, texts()),
        ("conditions", true, conditions),
        ("tank", false, tank),
        ("fault", false, tables(&fault)),
    ]);
    whole("A scenario of Hidden Ohm", top)
}

/// Pieces of the fault catalogue.
#[must_use]
pub fn faults() -> Value {
    let kind = one_of(Kind::NAMES.map(|(_, name)| name));
    let section = one_of(Section::NAMES.map(|(_, name)| name));
    let effect = one_of(Effect::NAMES.map(|(_, name)| name));
    let share = json!({ "type": ["number", "string"] });
    let sign = json!({
        "type": "object",
        "properties": { "id": text(), "on": tables(&kind), "text": text(), "share": share },
        "required": ["id", "on", "text", "share"],
    });
    let fault = json!({
        "type": "object",
        "properties": {
            "id": text(),
            "title": text(),
            "on": tables(&kind),
            "medium": one_of(Medium::NAMES.map(|(_, name)| name)),
            "sections": tables(&section),
            "legs": texts(),
            "effect": effect,
            "severity": { "type": "object", "required": ["mild", "worst"] },
            "weight": { "type": "integer", "minimum": 0 },
            "grows": one_of(["distance", "years"]),
            "when": one_of(["always", "hot", "wiggle", "wet"]),
            "above": quantity("2 A"),
            "cures": texts(),
            "levels": { "type": "array", "items": { "type": "integer", "minimum": 1, "maximum": 5 } },
            "teaching": text(),
            "clue": { "type": "array", "items": { "type": "object" } },
        },
        "required": ["id", "title", "on", "effect", "weight", "cures", "levels", "teaching"],
    });
    let consequence = table(&[
        ("of", true, text()),
        ("brings", true, text()),
        ("weight", true, json!({ "type": "integer", "minimum": 1 })),
        ("why", true, text()),
    ]);
    let top = table(&[
        format(),
        ("fault", false, tables(&fault)),
        ("sign", false, tables(&sign)),
        ("consequence", false, tables(&consequence)),
    ]);
    whole("A piece of the fault catalogue of Hidden Ohm", top)
}

/// Vehicles.
#[must_use]
pub fn vehicle() -> Value {
    let section = one_of(Section::NAMES.map(|(_, name)| name));
    let access = table(&[
        ("id", true, text()),
        ("name", true, text()),
        ("done", true, text()),
        ("time", true, quantity("10 min")),
        (
            "hazard",
            false,
            one_of(["none", "raises-vehicle", "opens-tank"]),
        ),
        ("needs", false, texts()),
    ]);
    let point = table(&[
        ("name", true, text()),
        ("spoken", true, text()),
        ("place", true, text()),
        (
            "tip",
            true,
            one_of(["clip", "probe", "painted", "back-probe"]),
        ),
        ("only_unplugged", false, text()),
    ]);
    let figure = table(&[("id", true, text()), ("text", true, text())]);
    let part = json!({
        "type": "object",
        "properties": {
            "id": text(),
            "title": text(),
            "section": section,
            "place": text(),
            "looks": text(),
            "price": text(),
            "repair": { "type": "object", "required": ["time", "does"] },
            "replace": { "type": "object", "required": ["time", "does"] },
        },
        "required": ["id", "title", "section", "place", "looks"],
    });
    let mut properties = Map::new();
    let mut add = |key: &str, value: Value| properties.insert(key.to_owned(), value);
    add("format", json!({ "const": 1 }));
    for key in [
        "id",
        "name",
        "about",
        "currency",
        "labour",
        "reference",
        "seat",
        "diagram",
    ] {
        add(key, text());
    }
    for key in ["fleet", "body_metal", "hidden", "cautions"] {
        add(key, texts());
    }
    add("prime", quantity("2 s"));
    add("engine", json!({ "type": "object" }));
    add("hydraulics", json!({ "type": "object" }));
    add("cooling", json!({ "type": "object" }));
    add("lift", json!({ "type": "object" }));
    add("customer", json!({ "type": "object" }));
    add("pump_code", text());
    add("access", tables(&access));
    add(
        "place",
        json!({ "type": "array", "items": { "type": "object", "required": ["id", "back", "up"] } }),
    );
    add("point", tables(&point));
    add("figure", tables(&figure));
    for (_, name) in Kind::NAMES {
        add(name, tables(&part));
    }
    whole(
        "A vehicle of Hidden Ohm",
        json!({
            "type": "object",
            "properties": properties,
            "required": ["format", "id", "name", "about", "fleet", "reference", "place", "point"],
            "additionalProperties": false,
        }),
    )
}
