//! What keys the tables of a data file may have, as its reader asks for them: what a JSON Schema is made of.

use std::collections::BTreeMap;

/// What a key holds.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Shape {
    /// The number of the format.
    Format,
    /// A text.
    Text,
    /// A text of a number with its unit.
    Quantity,
    /// A plain number.
    Number,
    /// A whole number from 0.
    Count,
    /// `true` or `false`.
    Flag,
    /// A list of texts.
    Texts,
    /// A list of whole numbers from 0 to 255.
    Counts,
    /// One of these words.
    Word(Vec<&'static str>),
    /// A table.
    Table,
    /// A list of tables.
    Tables,
}

impl Shape {
    /// One of the words of a list such as [`super::Kind::NAMES`].
    #[must_use]
    pub fn words<T>(known: &[(T, &'static str)]) -> Shape {
        Shape::Word(known.iter().map(|(_, word)| *word).collect())
    }
}

/// A key that a table may have.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Known {
    /// The key.
    pub key: &'static str,
    /// What it holds.
    pub shape: Shape,
    /// The table is refused without it.
    pub needed: bool,
}

/// The path of a table: names of the tables it lies in and its own, with dots between; empty for the file's own table.
#[must_use]
pub fn path_of(key: &str, within: &str) -> String {
    match within {
        "" => key.to_owned(),
        outer => format!("{outer}.{key}"),
    }
}

/// Keys of the tables of one kind of file, by the path of [`path_of`].
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Keys(pub BTreeMap<String, Vec<Known>>);

impl Keys {
    /// Adds what one table was asked for. A key is needed only if every table of the path needs it, and may hold a
    /// quantity where some hold a plain number.
    pub(super) fn learn(&mut self, path: &str, asked: &[Known]) {
        let Some(known) = self.0.get_mut(path) else {
            self.0.insert(path.to_owned(), asked.to_vec());
            return;
        };
        for one in known.iter_mut() {
            one.needed &= asked.iter().any(|also| also.key == one.key && also.needed);
        }
        for also in asked {
            match known.iter_mut().find(|one| one.key == also.key) {
                Some(one) if one.shape != also.shape => one.shape = Shape::Quantity,
                Some(_) => {}
                None => known.push(Known {
                    needed: false,
                    ..also.clone()
                }),
            }
        }
    }

    /// Adds what another file's tables were asked for.
    pub fn join(&mut self, other: &Keys) {
        for (path, asked) in &other.0 {
            self.learn(path, asked);
        }
    }
}
