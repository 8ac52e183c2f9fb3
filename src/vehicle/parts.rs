//! The parts of a vehicle file: one array of tables for each kind of part.

use toml::Spanned;

use crate::units::{Money, Seconds};

use super::elements::{self, Adder};
use super::file::Draft;
use super::kinds::{Kind, Section};
use super::model::{Part, PartId, PlaceId, Work};
use super::reader::{Reader, Table};

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
            elements::read(
                &mut Adder {
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
        .choice(reader, "section", &Section::NAMES)
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
    let opens_line = table.flag(reader, "opens_fuel") | table.flag(reader, "opens_coolant");
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
        opens_line,
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
