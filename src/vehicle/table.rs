//! One table of a data file: values by key and type.
//!
//! A [`Table`] reports what is missing or of the wrong type, and in the end the keys nobody asked
//! for.

use std::ops::Range;
use std::str::FromStr;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::units::{Amp, Area, Flow, Metre, Money, Ohm, Pascal, Seconds, UnitError, Volt, Volume};

use super::diagnostic::did_you_mean;
use super::keys::{Known, Shape, path_of};
use super::reader::{Reader, choose};

/// The format number this program reads and writes.
const FORMAT: &str = "1";

/// A quantity that is a plain number in its SI unit.
pub trait Si: FromStr<Err = UnitError> {
    /// The number.
    fn si(&self) -> f64;
}

macro_rules! si {
    ($($quantity:ident),+) => {$(
        impl Si for $quantity {
            fn si(&self) -> f64 {
                self.0
            }
        }
    )+};
}

si!(Amp, Area, Flow, Metre, Ohm, Pascal, Seconds, Volt, Volume);

/// Anything smaller is a slip of the pen: far below what any file can mean in any unit, and it
/// keeps quotients finite.
const LEAST: f64 = 1e-15;

/// One table of the file.
#[derive(Debug)]
pub struct Table<'t> {
    /// What the table describes, for messages: "wire `W12`".
    pub what: String,
    /// Where its header or its brace stands.
    pub span: Range<usize>,
    /// As [`path_of`] has it.
    path: String,
    entries: &'t DeTable<'t>,
    asked: Vec<Known>,
}

impl<'t> Table<'t> {
    /// A table described as `what` in messages.
    #[must_use]
    pub fn new(what: &str, span: Range<usize>, entries: &'t DeTable<'t>) -> Self {
        Self {
            what: what.to_owned(),
            span,
            path: String::new(),
            entries,
            asked: Vec::new(),
        }
    }

    /// A table under a key of this one.
    fn inner(
        &self,
        what: &str,
        key: &str,
        span: Range<usize>,
        entries: &'t DeTable<'t>,
    ) -> Table<'t> {
        Table {
            path: path_of(key, &self.path),
            ..Table::new(what, span, entries)
        }
    }

    /// Keeps in mind that a key is known, what it holds, and whether it must be there. What is said first stands.
    fn know(&mut self, key: &'static str, shape: Shape, needed: bool) {
        if self.asked.iter().all(|known| known.key != key) {
            self.asked.push(Known { key, shape, needed });
        }
    }

    fn get(&self, key: &str) -> Option<&'t Spanned<DeValue<'t>>> {
        self.entries.get(key)
    }

    /// Whether the key is there.
    #[must_use]
    pub fn has(&self, key: &str) -> bool {
        self.entries.contains_key(key)
    }

    fn need(&self, reader: &mut Reader, key: &'static str) -> Option<&'t Spanned<DeValue<'t>>> {
        let value = self.get(key);
        if value.is_none() {
            let hint = self
                .entries
                .keys()
                .map(|k| k.get_ref().as_ref())
                .find(|k| strsim::osa_distance(k, key) == 1)
                .map(|near| format!("`{near}` looks like it"));
            reader.report(
                self.span.clone(),
                format!("{} has no `{key}`", self.what),
                hint,
            );
        }
        value
    }

    /// The format number, which must be the one this program knows.
    pub fn format(&mut self, reader: &mut Reader) {
        self.know("format", Shape::Format, true);
        let hint = || Some(format!("write `format = {FORMAT}` as the first line"));
        match self.get("format") {
            None => reader.report(0..0, "the file does not say its format".to_owned(), hint()),
            Some(value) => {
                let known = matches!(value.get_ref(), DeValue::Integer(n) if n.radix() == 10 && n.as_str() == FORMAT);
                if !known {
                    reader.report(
                        value.span(),
                        "this program does not know the format".to_owned(),
                        hint(),
                    );
                }
            }
        }
    }

    /// A required text.
    pub fn text(&mut self, reader: &mut Reader, key: &'static str) -> Option<Spanned<String>> {
        self.know(key, Shape::Text, true);
        let value = self.need(reader, key)?;
        self.as_text(reader, key, value)
    }

    /// A text that may be absent.
    pub fn text_if_any(
        &mut self,
        reader: &mut Reader,
        key: &'static str,
    ) -> Option<Spanned<String>> {
        self.know(key, Shape::Text, false);
        let value = self.get(key)?;
        self.as_text(reader, key, value)
    }

    fn as_text(
        &self,
        reader: &mut Reader,
        key: &str,
        value: &Spanned<DeValue>,
    ) -> Option<Spanned<String>> {
        let Some(text) = value.get_ref().as_str() else {
            self.wrong_type(reader, key, value, "a text in quotes");
            return None;
        };
        if text.trim().is_empty() {
            reader.report(
                value.span(),
                format!("`{key}` of {} is empty", self.what),
                None,
            );
            return None;
        }
        Some(Spanned::new(value.span(), text.to_owned()))
    }

    fn wrong_type(&self, reader: &mut Reader, key: &str, value: &Spanned<DeValue>, wanted: &str) {
        let got = value.get_ref().type_str();
        reader.report(
            value.span(),
            format!("`{key}` of {} must be {wanted}, not {got}", self.what),
            None,
        );
    }

    /// A required quantity with its unit, such as `"0.35 ohm"`.
    pub fn quantity<Q: FromStr<Err = UnitError>>(
        &mut self,
        reader: &mut Reader,
        key: &'static str,
    ) -> Option<Spanned<Q>> {
        self.know(key, Shape::Quantity, true);
        let text = self.text(reader, key)?;
        self.as_quantity(reader, key, &text)
    }

    /// A quantity that may be absent.
    pub fn quantity_if_any<Q: FromStr<Err = UnitError>>(
        &mut self,
        reader: &mut Reader,
        key: &'static str,
    ) -> Option<Spanned<Q>> {
        self.know(key, Shape::Quantity, false);
        let text = self.text_if_any(reader, key)?;
        self.as_quantity(reader, key, &text)
    }

    fn as_quantity<Q: FromStr<Err = UnitError>>(
        &self,
        reader: &mut Reader,
        key: &str,
        text: &Spanned<String>,
    ) -> Option<Spanned<Q>> {
        match text.get_ref().parse() {
            Ok(quantity) => Some(Spanned::new(text.span(), quantity)),
            Err(error) => {
                reader.report(
                    text.span(),
                    format!("`{key}` of {}: {error}", self.what),
                    None,
                );
                None
            }
        }
    }

    /// A required quantity above zero, as a number in its SI unit.
    pub fn positive<Q: Si>(&mut self, reader: &mut Reader, key: &'static str) -> Option<f64> {
        let quantity = self.quantity::<Q>(reader, key)?;
        self.above_zero(reader, key, quantity.span(), quantity.get_ref().si())
    }

    /// A required number above zero with a unit that has no type of its own.
    pub fn positive_in(
        &mut self,
        reader: &mut Reader,
        key: &'static str,
        unit: &str,
        example: &str,
    ) -> Option<f64> {
        let number = self.number_with_unit(reader, key, unit, example)?;
        self.above_zero(reader, key, number.span(), *number.get_ref())
    }

    /// As [`Table::positive`], for a key that may be absent.
    pub fn positive_if_any<Q: Si>(
        &mut self,
        reader: &mut Reader,
        key: &'static str,
    ) -> Option<f64> {
        self.know(key, Shape::Quantity, false);
        self.has(key)
            .then(|| self.positive::<Q>(reader, key))
            .flatten()
    }

    /// As [`Table::positive_in`], for a key that may be absent.
    pub fn positive_in_if_any(
        &mut self,
        reader: &mut Reader,
        key: &'static str,
        unit: &str,
        example: &str,
    ) -> Option<f64> {
        self.know(key, Shape::Quantity, false);
        self.has(key)
            .then(|| self.positive_in(reader, key, unit, example))
            .flatten()
    }

    /// Reports a number that is not above zero.
    pub fn above_zero(
        &self,
        reader: &mut Reader,
        key: &str,
        span: Range<usize>,
        number: f64,
    ) -> Option<f64> {
        if number >= LEAST {
            return Some(number);
        }
        reader.report(
            span,
            format!("`{key}` of {} must be above zero", self.what),
            None,
        );
        None
    }

    /// A price that may be absent, such as `"14.00"`; never negative.
    pub fn money_if_any(&mut self, reader: &mut Reader, key: &'static str) -> Option<Money> {
        let text = self.text_if_any(reader, key)?;
        match text.get_ref().parse::<Money>() {
            Ok(money) if money >= Money::default() => Some(money),
            Ok(_) => {
                reader.report(
                    text.span(),
                    format!("`{key}` of {} is below zero", self.what),
                    None,
                );
                None
            }
            Err(error) => {
                reader.report(
                    text.span(),
                    format!("`{key}` of {}: {error}", self.what),
                    None,
                );
                None
            }
        }
    }

    /// A required price.
    pub fn money(&mut self, reader: &mut Reader, key: &'static str) -> Option<Money> {
        self.know(key, Shape::Text, true);
        self.need(reader, key)?;
        self.money_if_any(reader, key)
    }

    /// A required number with a unit that has no type of its own, such as `"65 Ah"` or `"30 %"`;
    /// the number comes back as written.
    pub fn number_with_unit(
        &mut self,
        reader: &mut Reader,
        key: &'static str,
        unit: &str,
        example: &str,
    ) -> Option<Spanned<f64>> {
        self.know(key, Shape::Quantity, true);
        let text = self.text(reader, key)?;
        let number = text
            .get_ref()
            .trim()
            .strip_suffix(unit)
            .and_then(|number| number.trim().parse::<f64>().ok());
        match number {
            Some(number) if number.is_finite() => Some(Spanned::new(text.span(), number)),
            _ => {
                let message = format!(
                    "`{key}` of {} must be a number in {unit}, not `{}`",
                    self.what,
                    text.get_ref()
                );
                reader.report(
                    text.span(),
                    message,
                    Some(format!("write it like `{example}`")),
                );
                None
            }
        }
    }

    /// A required share such as `"85 %"`, between 0 and 1.
    pub fn fraction(&mut self, reader: &mut Reader, key: &'static str) -> Option<f64> {
        let percent = self.number_with_unit(reader, key, "%", "85 %")?;
        let fraction = percent.get_ref() / 100.0;
        if (0.0..=1.0).contains(&fraction) {
            return Some(fraction);
        }
        reader.report(
            percent.span(),
            format!("`{key}` of {} must be from 0 % to 100 %", self.what),
            None,
        );
        None
    }

    /// A required plain number.
    pub fn number(&mut self, reader: &mut Reader, key: &'static str) -> Option<Spanned<f64>> {
        self.know(key, Shape::Number, true);
        let value = self.need(reader, key)?;
        self.as_number(reader, key, value)
    }

    fn as_number(
        &self,
        reader: &mut Reader,
        key: &str,
        value: &Spanned<DeValue>,
    ) -> Option<Spanned<f64>> {
        let digits = match value.get_ref() {
            DeValue::Integer(n) if n.radix() == 10 => n.as_str(),
            DeValue::Float(n) => n.as_str(),
            _ => "",
        };
        match digits.parse::<f64>() {
            Ok(number) if number.is_finite() => Some(Spanned::new(value.span(), number)),
            _ => {
                self.wrong_type(reader, key, value, "a finite number");
                None
            }
        }
    }

    /// A required whole number.
    pub fn count(&mut self, reader: &mut Reader, key: &'static str) -> Option<Spanned<u32>> {
        self.know(key, Shape::Count, true);
        let value = self.need(reader, key)?;
        let count = match value.get_ref() {
            DeValue::Integer(n) if n.radix() == 10 => n.as_str().parse::<u32>().ok(),
            _ => None,
        };
        if count.is_none() {
            reader.report(
                value.span(),
                format!(
                    "`{key}` of {} must be a whole number from 0 to {}",
                    self.what,
                    u32::MAX
                ),
                None,
            );
        }
        count.map(|count| Spanned::new(value.span(), count))
    }

    /// `true` or `false`; absent means `false`.
    pub fn flag(&mut self, reader: &mut Reader, key: &'static str) -> bool {
        self.know(key, Shape::Flag, false);
        match self.get(key) {
            None => false,
            Some(value) => value.get_ref().as_bool().unwrap_or_else(|| {
                self.wrong_type(reader, key, value, "true or false");
                false
            }),
        }
    }

    /// A list of texts; absent means empty.
    pub fn texts(&mut self, reader: &mut Reader, key: &'static str) -> Vec<Spanned<String>> {
        self.know(key, Shape::Texts, false);
        let Some(value) = self.get(key) else {
            return Vec::new();
        };
        let Some(array) = value.get_ref().as_array() else {
            self.wrong_type(reader, key, value, "a list of texts");
            return Vec::new();
        };
        array
            .iter()
            .filter_map(|item| self.as_text(reader, key, item))
            .collect()
    }

    /// A list of whole numbers below 256; absent means empty.
    pub fn small_counts(&mut self, reader: &mut Reader, key: &'static str) -> Vec<u8> {
        self.know(key, Shape::Counts, false);
        let Some(value) = self.get(key) else {
            return Vec::new();
        };
        let Some(array) = value.get_ref().as_array() else {
            self.wrong_type(reader, key, value, "a list of whole numbers");
            return Vec::new();
        };
        let mut counts = Vec::new();
        for item in array {
            match item.get_ref() {
                DeValue::Integer(n) if n.radix() == 10 && n.as_str().parse::<u8>().is_ok() => {
                    // The guard has parsed it already.
                    counts.extend(n.as_str().parse::<u8>().ok());
                }
                _ => self.wrong_type(reader, key, item, "a list of whole numbers from 0 to 255"),
            }
        }
        counts
    }

    /// A required word out of a list of known ones.
    pub fn choice<T: Copy>(
        &mut self,
        reader: &mut Reader,
        key: &'static str,
        known: &[(T, &'static str)],
    ) -> Option<T> {
        self.know(key, Shape::words(known), true);
        let word = self.text(reader, key)?;
        choose(reader, &word, known)
    }

    /// A word out of a list of known ones, which may be absent.
    pub fn choice_if_any<T: Copy>(
        &mut self,
        reader: &mut Reader,
        key: &'static str,
        known: &[(T, &'static str)],
    ) -> Option<T> {
        self.know(key, Shape::words(known), false);
        let word = self.text_if_any(reader, key)?;
        choose(reader, &word, known)
    }

    /// A required table inside this one.
    pub fn table(&mut self, reader: &mut Reader, key: &'static str) -> Option<Table<'t>> {
        self.know(key, Shape::Table, true);
        let value = self.need(reader, key)?;
        self.as_table(reader, key, value)
    }

    /// A table inside this one that may be absent.
    pub fn table_if_any(&mut self, reader: &mut Reader, key: &'static str) -> Option<Table<'t>> {
        self.know(key, Shape::Table, false);
        let value = self.get(key)?;
        self.as_table(reader, key, value)
    }

    fn as_table(
        &self,
        reader: &mut Reader,
        key: &str,
        value: &'t Spanned<DeValue<'t>>,
    ) -> Option<Table<'t>> {
        let Some(entries) = value.get_ref().as_table() else {
            self.wrong_type(reader, key, value, "a table");
            return None;
        };
        let what = format!("`{key}` of {}", self.what);
        Some(self.inner(&what, key, value.span(), entries))
    }

    /// The tables of an array such as `[[wire]]`, each described as `what` with its own name
    /// (the text under `name_key`) if it has one.
    pub fn tables(
        &mut self,
        reader: &mut Reader,
        key: &'static str,
        name_key: &str,
    ) -> Vec<Table<'t>> {
        self.know(key, Shape::Tables, false);
        let Some(value) = self.get(key) else {
            return Vec::new();
        };
        let Some(array) = value.get_ref().as_array() else {
            let hint = Some(format!("write `[[{key}]]`"));
            reader.report(
                value.span(),
                format!("`{key}` must be a list of tables"),
                hint,
            );
            return Vec::new();
        };
        let mut tables = Vec::new();
        for item in array {
            let Some(entries) = item.get_ref().as_table() else {
                self.wrong_type(reader, key, item, "a list of tables");
                continue;
            };
            let name = entries
                .get(name_key)
                .and_then(|name| name.get_ref().as_str());
            let what = name.map_or_else(|| format!("this {key}"), |name| format!("{key} `{name}`"));
            tables.push(self.inner(&what, key, item.span(), entries));
        }
        tables
    }

    /// Reports every key nobody asked for.
    pub fn finish(self, reader: &mut Reader) {
        reader.learn(&self.path, &self.asked);
        let asked: Vec<&str> = self.asked.iter().map(|known| known.key).collect();
        for key in self.entries.keys() {
            let name = key.get_ref().as_ref();
            if !asked.contains(&name) {
                let hint = did_you_mean(name, asked.iter().copied())
                    .unwrap_or_else(|| format!("known keys: {}", asked.join(", ")));
                reader.report(
                    key.span(),
                    format!("{} has an unknown key `{name}`", self.what),
                    Some(hint),
                );
            }
        }
    }
}
