//! JSON Schemas of the files people write, for editors that check and complete while one types.
//!
//! Keys of vehicles and faults are those that the readers of these files ask for, told by reading the built-in ones; names
//! come from the library. A schema knows which keys there are and what a quantity looks like; what refers to what is told by
//! `scenario check`, which reads the file as the program does.

use serde_json::{Map, Value, json};

use super::Library;
use crate::fault;
use crate::vehicle::{self, Keys, Kind, Section, Shape, path_of};

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

/// What a key holds, where the reader knows more of it than its shape.
type Told = fn(&str) -> Option<Value>;

/// The table of a path with the keys its reader asks for and no others.
fn asked(keys: &Keys, path: &str, told: Told) -> Value {
    let known = keys.0.get(path).map_or(&[][..], Vec::as_slice);
    let entries: Vec<(&str, bool, Value)> = known
        .iter()
        .map(|one| {
            let inner = path_of(one.key, path);
            let holds = told(&inner).unwrap_or_else(|| match &one.shape {
                Shape::Format => json!({ "const": 1 }),
                Shape::Text => text(),
                Shape::Quantity => quantity("0.35 ohm"),
                Shape::Number => json!({ "type": "number" }),
                Shape::Count => json!({ "type": "integer", "minimum": 0 }),
                Shape::Flag => json!({ "type": "boolean" }),
                Shape::Texts => texts(),
                Shape::Counts => {
                    tables(&json!({ "type": "integer", "minimum": 0, "maximum": 255 }))
                }
                Shape::Word(words) => one_of(words.iter().copied()),
                Shape::Table => asked(keys, &inner, told),
                Shape::Tables => tables(&asked(keys, &inner, told)),
            });
            (one.key, one.needed, holds)
        })
        .collect();
    table(&entries)
}

/// Pieces of the fault catalogue.
#[must_use]
pub fn faults() -> Value {
    let told = |path: &str| {
        let level = json!({ "type": "integer", "minimum": 1, "maximum": 5 });
        Some(match path {
            "fault.on" | "sign.on" => tables(&one_of(Kind::NAMES.map(|(_, name)| name))),
            "fault.sections" => tables(&one_of(Section::NAMES.map(|(_, name)| name))),
            "fault.levels" => tables(&level),
            _ => return None,
        })
    };
    let mut top = asked(&fault::keys(&fault::FILES), "", told);
    need(
        &mut top["properties"]["fault"]["items"],
        &["on", "cures", "levels"],
    );
    need(&mut top["properties"]["sign"]["items"], &["on"]);
    whole("A piece of the fault catalogue of Hidden Ohm", top)
}

/// Vehicles.
#[must_use]
pub fn vehicle() -> Value {
    let mut top = asked(&vehicle::keys(&vehicle::FILES), "", |_| None);
    need(&mut top, &["fleet", "cautions", "place", "point"]);
    whole("A vehicle of Hidden Ohm", top)
}

/// Makes keys required of which the reader wants one entry at least.
fn need(table: &mut Value, keys: &[&str]) {
    if let Some(required) = table["required"].as_array_mut() {
        required.extend(keys.iter().map(|key| json!(key)));
    }
}
