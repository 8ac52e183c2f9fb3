//! The catalogue files.

use toml::Spanned;

use crate::units::{Amp, Flow, Metre, Ohm, Volt};
use crate::vehicle::diagnostic::Source;
use crate::vehicle::reader::{Reader, Si, Table, choose};
use crate::vehicle::{Diagnostic, Keys, Kind, Medium, Section};

use super::model::{
    Activation, Catalogue, Clue, Consequence, Cure, Effect, FaultKind, Grows, KindId, Remedy,
    Sense, Severity, Sign, Spread, Worse,
};

const SENSES: [(Sense, &str); 4] = [
    (Sense::Look, "look"),
    (Sense::Listen, "listen"),
    (Sense::Feel, "feel"),
    (Sense::Smell, "smell"),
];

/// Reads the catalogue from its files, given as name and text.
///
/// # Errors
/// Everything wrong in the files, file by file in the order of the text.
pub fn load(files: &[(&str, &str)]) -> Result<Catalogue, Vec<Diagnostic>> {
    let mut catalogue = Catalogue::default();
    let mut found = Vec::new();
    for &(file, text) in files {
        let mut reader = Reader::new(Source { file, text });
        read(&mut reader, &mut catalogue);
        found.extend(reader.into_diagnostics());
    }
    if found.is_empty() {
        Ok(catalogue)
    } else {
        Err(found)
    }
}

/// The keys that the tables of these files are asked for.
#[must_use]
pub fn keys(files: &[(&str, &str)]) -> Keys {
    let mut catalogue = Catalogue::default();
    let mut keys = Keys::default();
    for &(file, text) in files {
        let mut reader = Reader::learning(Source { file, text });
        read(&mut reader, &mut catalogue);
        keys.join(&reader.into_keys());
    }
    keys
}

fn read(reader: &mut Reader, catalogue: &mut Catalogue) {
    if let Some(tree) = reader.parse() {
        let mut top = Table::new("the catalogue", 0..0, tree.get_ref());
        top.format(reader);
        read_signs(reader, &mut top, catalogue);
        read_kinds(reader, &mut top, catalogue);
        read_consequences(reader, &mut top, catalogue);
        top.finish(reader);
    }
}

fn part_kinds(reader: &mut Reader, table: &mut Table) -> Vec<Kind> {
    let words = table.texts(reader, "on");
    if words.is_empty() {
        let hint = Some("write `on = [\"connector\"]`".to_owned());
        reader.report(
            table.span.clone(),
            format!("{} names no kind of part", table.what),
            hint,
        );
    }
    words
        .iter()
        .filter_map(|word| choose(reader, word, &Kind::NAMES))
        .collect()
}

fn read_signs(reader: &mut Reader, top: &mut Table, catalogue: &mut Catalogue) {
    for mut table in top.tables(reader, "sign", "id") {
        let id = table.text(reader, "id");
        let on = part_kinds(reader, &mut table);
        let sense = table.choice(reader, "sense", &SENSES);
        let text = table.text(reader, "text");
        let share = table.fraction(reader, "share");
        table.finish(reader);
        let (Some(id), Some(sense), Some(text), Some(share)) = (id, sense, text, share) else {
            continue;
        };
        if catalogue.signs.iter().any(|sign| &sign.id == id.get_ref()) {
            reader.report(
                id.span(),
                format!("the sign `{}` is defined twice", id.get_ref()),
                None,
            );
        }
        catalogue.signs.push(Sign {
            id: id.into_inner(),
            on,
            sense,
            text: text.into_inner(),
            share,
        });
    }
}

fn read_kinds(reader: &mut Reader, top: &mut Table, catalogue: &mut Catalogue) {
    for mut table in top.tables(reader, "fault", "id") {
        let kind = read_kind(reader, &mut table, &catalogue.signs);
        table.finish(reader);
        let Some((span, kind)) = kind else { continue };
        if catalogue.kinds.iter().any(|other| other.id == kind.id) {
            reader.report(
                span,
                format!("the fault `{}` is defined twice", kind.id),
                None,
            );
        }
        catalogue.kinds.push(kind);
    }
}

/// Pairs of kinds that this file or one before it defines.
fn read_consequences(reader: &mut Reader, top: &mut Table, catalogue: &mut Catalogue) {
    for mut table in top.tables(reader, "consequence", "of") {
        let of = read_known_kind(reader, &mut table, "of", &catalogue.kinds);
        let brings = read_known_kind(reader, &mut table, "brings", &catalogue.kinds);
        let weight = table.count(reader, "weight");
        let why = table.text(reader, "why");
        if of.is_some() && of == brings {
            let message = format!("{} brings itself about", table.what);
            reader.report(table.span.clone(), message, None);
        }
        table.finish(reader);
        let (Some(of), Some(brings), Some(weight), Some(why)) = (of, brings, weight, why) else {
            continue;
        };
        catalogue.consequences.push(Consequence {
            of,
            brings,
            weight: weight.into_inner(),
            why: why.into_inner(),
        });
    }
}

fn read_known_kind(
    reader: &mut Reader,
    table: &mut Table,
    key: &'static str,
    kinds: &[FaultKind],
) -> Option<KindId> {
    let id = table.text(reader, key)?;
    let found = kinds.iter().position(|kind| &kind.id == id.get_ref());
    if found.is_none() {
        let ids = kinds.iter().map(|kind| kind.id.as_str());
        let hint = crate::vehicle::diagnostic::did_you_mean(id.get_ref(), ids);
        let message = format!("no fault is called `{}`", id.get_ref());
        reader.report(id.span(), message, hint);
    }
    found.map(KindId)
}

fn read_kind(
    reader: &mut Reader,
    table: &mut Table,
    signs: &[Sign],
) -> Option<(std::ops::Range<usize>, FaultKind)> {
    let id = table.text(reader, "id");
    let title = table.text(reader, "title");
    let on = part_kinds(reader, table);
    let medium = table.choice_if_any(reader, "medium", &Medium::NAMES);
    let legs = read_legs(reader, table, &on);
    let section_words = table.texts(reader, "sections");
    let sections: Vec<Section> = section_words
        .iter()
        .filter_map(|word| choose(reader, word, &Section::NAMES))
        .collect();
    let effect = table.choice(reader, "effect", &Effect::NAMES);
    let weight = table.count(reader, "weight");
    let grows = read_grows(reader, table);
    let activation = read_activation(reader, table);
    let cures = read_cures(reader, table);
    let teaching = table.text(reader, "teaching");
    let levels = table.small_counts(reader, "levels");
    if levels.iter().any(|level| !(1..=5).contains(level)) || levels.is_empty() {
        let hint = Some("write `levels = [1, 2, 3, 4, 5]` or fewer".to_owned());
        reader.report(
            table.span.clone(),
            format!("{} needs levels from 1 to 5", table.what),
            hint,
        );
    }
    let Some(effect) = effect else {
        // Nobody knows what they hold for an unknown effect; the keys themselves are no mistake.
        let _ = table.table_if_any(reader, "severity");
        let _ = table.tables(reader, "clue", "sense");
        return None;
    };
    let severity = read_severity(reader, table, effect);
    let clues = read_clues(reader, table, effect, severity, signs);
    let id = id?;
    Some((
        id.span(),
        FaultKind {
            id: id.into_inner(),
            title: title?.into_inner(),
            on,
            medium,
            legs,
            sections,
            effect,
            severity: severity?,
            weight: weight?.into_inner(),
            grows: grows?,
            activation: activation?,
            clues,
            cures,
            teaching: teaching?.into_inner(),
            levels,
        },
    ))
}

fn plain(texts: Vec<Spanned<String>>) -> Vec<String> {
    texts.into_iter().map(Spanned::into_inner).collect()
}

fn read_activation(reader: &mut Reader, table: &mut Table) -> Option<Activation> {
    const WHEN: [(Activation, &str); 4] = [
        (Activation::Always, "always"),
        (Activation::Hot, "hot"),
        (Activation::Wiggle, "wiggle"),
        (Activation::Wet, "wet"),
    ];
    let above = table.positive_if_any::<Amp>(reader, "above");
    if !table.has("above") {
        return table.choice(reader, "when", &WHEN);
    }
    // Not asked for where it is not: the schema is made of what is asked for first, and there it is a choice.
    if table.has("when")
        && let Some(when) = table.text_if_any(reader, "when")
    {
        let message = format!("{} has both `when` and `above`", table.what);
        let hint = "take one of them away: `above` says when it shows".to_owned();
        reader.report(when.span(), message, Some(hint));
    }
    above.map(Activation::AboveAmps)
}

/// Names of places that a part has several of; each must be one that a part of these kinds may have.
fn read_legs(reader: &mut Reader, table: &mut Table, on: &[Kind]) -> Vec<String> {
    let legs = table.texts(reader, "legs");
    for leg in &legs {
        if on.is_empty() || on.iter().any(|kind| kind.has_leg(leg.get_ref())) {
            continue;
        }
        let names: Vec<&str> = on.iter().flat_map(|kind| kind.legs()).copied().collect();
        let hint = match (on.contains(&Kind::Connector), names.as_slice()) {
            (true, _) => "write the number of a pin".to_owned(),
            (false, []) => "such a part has one place, without a name: take `legs` away".to_owned(),
            (false, names) => format!("places there are: {}", names.join(", ")),
        };
        let on: Vec<&str> = on.iter().map(|kind| kind.name()).collect();
        let (leg, on) = (leg.span(), (leg.get_ref(), on.join(" or ")));
        reader.report(
            leg,
            format!("no {} has a place `{}`", on.1, on.0),
            Some(hint),
        );
    }
    plain(legs)
}

/// Without the key nothing makes it commoner.
fn read_grows(reader: &mut Reader, table: &mut Table) -> Option<Grows> {
    const WITH: [(Grows, &str); 2] = [(Grows::Distance, "distance"), (Grows::Years, "years")];
    match table.text_if_any(reader, "grows") {
        Some(word) => choose(reader, &word, &WITH),
        None => Some(Grows::Never),
    }
}

/// `repair` and `replace` mean the part itself; `replace PUMP` another one.
fn read_cures(reader: &mut Reader, table: &mut Table) -> Vec<Cure> {
    const REMEDIES: [(Remedy, &str); 2] =
        [(Remedy::Repair, "repair"), (Remedy::Replace, "replace")];
    let texts = table.texts(reader, "cures");
    if texts.is_empty() {
        let hint = Some("write `cures = [\"repair\", \"replace\"]`".to_owned());
        reader.report(
            table.span.clone(),
            format!("{} has no cure", table.what),
            hint,
        );
    }
    let mut cures = Vec::new();
    for text in texts {
        let (word, part) = match text.get_ref().split_once(' ') {
            Some((word, part)) => (word, Some(part.trim().to_owned())),
            None => (text.get_ref().as_str(), None),
        };
        let word = Spanned::new(text.span(), word.to_owned());
        cures.extend(choose(reader, &word, &REMEDIES).map(|remedy| Cure { remedy, part }));
    }
    cures
}

fn read_severity(reader: &mut Reader, table: &mut Table, effect: Effect) -> Option<Severity> {
    const SPREADS: [(Spread, &str); 2] = [(Spread::Linear, "linear"), (Spread::Log, "log")];
    if effect.has_no_degrees() {
        return Some(Severity {
            min: 1.0,
            max: 1.0,
            spread: Spread::Linear,
        });
    }
    let mut inner = table.table(reader, "severity")?;
    let min = read_value(reader, &mut inner, "mild", effect);
    let max = read_value(reader, &mut inner, "worst", effect);
    let spread = inner.choice(reader, "spread", &SPREADS);
    let span = inner.span.clone();
    inner.finish(reader);
    if let (Some(min), Some(max)) = (min, max) {
        let hint = match effect.worse() {
            Worse::More if max < min => Some("more is worse"),
            Worse::Less if max > min => Some("less is worse"),
            _ => None,
        };
        if let Some(hint) = hint {
            let message = format!("`worst` of {} is milder than its `mild`", table.what);
            let hint = format!("of this effect {hint}: exchange the two");
            reader.report(span, message, Some(hint));
        }
    }
    Some(Severity {
        min: min?,
        max: max?,
        spread: spread?,
    })
}

/// A severity under `key`, in the unit of its effect; `None` for an effect without degrees.
pub fn read_value(
    reader: &mut Reader,
    table: &mut Table,
    key: &'static str,
    effect: Effect,
) -> Option<f64> {
    match effect {
        Effect::AddOhms | Effect::ChafedShort | Effect::InternalOhms | Effect::BrushOhms => {
            value::<Ohm>(reader, table, key)
        }
        Effect::StrandsLost => value::<Metre>(reader, table, key),
        Effect::LowCharging => value::<Volt>(reader, table, key),
        Effect::InTankLeak | Effect::CheckLeak | Effect::RegulatorOpen | Effect::InjectorLeak => {
            value::<Flow>(reader, table, key)
        }
        Effect::LowCharge | Effect::RegulatorSet => table.fraction(reader, key),
        Effect::DragTorque => {
            let millis = table.positive_in(reader, key, "mN m", "20 mN m")?;
            Some(millis / 1e3)
        }
        Effect::DeadSegments
        | Effect::LeakFactor
        | Effect::StrainerFactor
        | Effect::FilterFactor
        | Effect::LineFactor
        | Effect::ReturnFactor
        | Effect::SensorFactor => {
            let number = table.number(reader, key)?;
            table.above_zero(reader, key, number.span(), *number.get_ref())
        }
        Effect::Open
        | Effect::FuseBlown
        | Effect::CoilOpen
        | Effect::DriverDead
        | Effect::Seized
        | Effect::StuckClosed
        | Effect::RegulatorShut
        | Effect::PrimeOnly
        | Effect::RunsDry
        | Effect::ThermostatShut
        | Effect::ThermostatOpen => None,
    }
}

fn value<Q: Si>(reader: &mut Reader, table: &mut Table, key: &'static str) -> Option<f64> {
    table.positive::<Q>(reader, key)
}

fn read_clues(
    reader: &mut Reader,
    table: &mut Table,
    effect: Effect,
    severity: Option<Severity>,
    signs: &[Sign],
) -> Vec<Clue> {
    let mut clues = Vec::new();
    for mut inner in table.tables(reader, "clue", "sense") {
        let from = if inner.has("from") {
            read_value(reader, &mut inner, "from", effect)
        } else {
            None
        };
        let from = from.or(severity.map(|severity| severity.min));
        let sign = inner.text_if_any(reader, "sign");
        let (sense, text) = if let Some(sign) = sign {
            let known = signs.iter().find(|known| &known.id == sign.get_ref());
            if known.is_none() {
                let ids = signs.iter().map(|sign| sign.id.as_str());
                let hint = crate::vehicle::diagnostic::did_you_mean(sign.get_ref(), ids);
                reader.report(
                    sign.span(),
                    format!("there is no sign `{}`", sign.get_ref()),
                    hint,
                );
            }
            (
                known.map(|known| known.sense),
                known.map(|known| known.text.clone()),
            )
        } else {
            let sense = inner.choice(reader, "sense", &SENSES);
            (sense, inner.text(reader, "text").map(Spanned::into_inner))
        };
        inner.finish(reader);
        if let (Some(sense), Some(from), Some(text)) = (sense, from, text) {
            clues.push(Clue { sense, from, text });
        }
    }
    clues
}
