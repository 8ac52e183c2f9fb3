//! Names defined in a file and references to them.

use std::collections::BTreeMap;
use std::ops::Range;

use toml::Spanned;

use super::diagnostic::did_you_mean;
use super::reader::Reader;

/// The names of one sort of thing, each with its index and the place where it was defined.
#[derive(Debug)]
pub(super) struct Names {
    /// What the names stand for, such as "place".
    what: &'static str,
    index: BTreeMap<String, usize>,
    spans: Vec<Range<usize>>,
}

impl Names {
    pub(super) fn new(what: &'static str) -> Self {
        Self {
            what,
            index: BTreeMap::new(),
            spans: Vec::new(),
        }
    }

    /// Defines a name; a second definition is reported but still takes an index, so that
    /// indices stay in step with the list the caller keeps.
    pub(super) fn define(&mut self, reader: &mut Reader, name: &Spanned<String>) -> usize {
        let index = self.spans.len();
        self.spans.push(name.span());
        if self.index.contains_key(name.get_ref()) {
            let message = format!("the {} `{}` is defined twice", self.what, name.get_ref());
            reader.report(
                name.span(),
                message,
                Some("give one of them another name".to_owned()),
            );
        } else {
            self.index.insert(name.get_ref().clone(), index);
        }
        index
    }

    /// The index of a name; an unknown one is reported.
    pub(super) fn resolve(&self, reader: &mut Reader, name: &Spanned<String>) -> Option<usize> {
        let found = self.index.get(name.get_ref()).copied();
        if found.is_none() {
            let hint = did_you_mean(name.get_ref(), self.index.keys().map(String::as_str));
            reader.report(
                name.span(),
                format!("there is no {} `{}`", self.what, name.get_ref()),
                hint,
            );
        }
        found
    }

    pub(super) fn span(&self, index: usize) -> Range<usize> {
        self.spans.get(index).cloned().unwrap_or(0..0)
    }
}
