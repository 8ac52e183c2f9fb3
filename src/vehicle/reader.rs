//! Reading a data file so that every mistake is found in one go.
//!
//! The tree underneath is the `toml` crate's own spanned one, walked by [`Table`]: a derived
//! deserializer would stop at the first mistake, and an internally tagged enum would lose the
//! position.

use std::ops::Range;

use toml::Spanned;
use toml::de::DeTable;

use super::diagnostic::{Diagnostic, Source, did_you_mean};
use super::keys::{Keys, Known};

pub use super::table::{Si, Table};

/// The file being read and what was found wrong in it.
#[derive(Debug)]
pub struct Reader<'s> {
    source: Source<'s>,
    found: Vec<Diagnostic>,
    keys: Option<Keys>,
}

impl<'s> Reader<'s> {
    /// A reader that has found nothing yet.
    #[must_use]
    pub fn new(source: Source<'s>) -> Self {
        Self {
            source,
            found: Vec::new(),
            keys: None,
        }
    }

    /// A reader that also keeps which keys its tables are asked for.
    #[must_use]
    pub fn learning(source: Source<'s>) -> Self {
        Self {
            keys: Some(Keys::default()),
            ..Self::new(source)
        }
    }

    /// Keeps what a table was asked for.
    pub(super) fn learn(&mut self, path: &str, asked: &[Known]) {
        if let Some(keys) = &mut self.keys {
            keys.learn(path, asked);
        }
    }

    /// The keys that tables were asked for; none unless it is a learning one.
    #[must_use]
    pub fn into_keys(self) -> Keys {
        self.keys.unwrap_or_default()
    }

    /// Parses the text; syntax errors are kept as diagnostics and answered by `None`.
    pub fn parse(&mut self) -> Option<Spanned<DeTable<'s>>> {
        let (tree, errors) = DeTable::parse_recoverable(self.source.text);
        for error in &errors {
            let span = error.span().unwrap_or(0..0);
            let message = error.message().lines().collect::<Vec<_>>().join(", ");
            self.report(span, message, None);
        }
        errors.is_empty().then_some(tree)
    }

    /// Keeps a diagnostic.
    pub fn report(&mut self, span: Range<usize>, message: String, hint: Option<String>) {
        self.found.push(self.source.diagnostic(span, message, hint));
    }

    /// Where `part` stands literally within `span`; the whole span if it does not.
    #[must_use]
    pub fn find_in(&self, span: Range<usize>, part: &str) -> Range<usize> {
        let found = self
            .source
            .text
            .get(span.clone())
            .and_then(|text| text.find(part));
        found.map_or(span.clone(), |offset| {
            span.start + offset..span.start + offset + part.len()
        })
    }

    /// Whether nothing has been found wrong so far.
    #[must_use]
    pub fn is_clean(&self) -> bool {
        self.found.is_empty()
    }

    /// Everything found wrong, in the order of the text and each thing once.
    #[must_use]
    pub fn into_diagnostics(mut self) -> Vec<Diagnostic> {
        self.found.sort_by(|a, b| {
            (a.span.start, a.span.end, &a.message).cmp(&(b.span.start, b.span.end, &b.message))
        });
        self.found.dedup();
        self.found
    }
}

/// The value a word stands for; an unknown word is reported.
pub fn choose<T: Copy>(
    reader: &mut Reader,
    word: &Spanned<String>,
    known: &[(T, &'static str)],
) -> Option<T> {
    let found = known
        .iter()
        .find(|(_, name)| name == word.get_ref())
        .map(|(value, _)| *value);
    if found.is_none() {
        let names: Vec<&str> = known.iter().map(|(_, name)| *name).collect();
        let hint = did_you_mean(word.get_ref(), names.iter().copied())
            .unwrap_or_else(|| format!("known: {}", names.join(", ")));
        reader.report(
            word.span(),
            format!("`{}` is not known here", word.get_ref()),
            Some(hint),
        );
    }
    found
}
