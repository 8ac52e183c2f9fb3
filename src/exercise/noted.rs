//! Receipts that were noted at the hand-in.

use std::collections::BTreeMap;

use super::rules::folded;
use crate::record::{Likeness, Receipt};

/// One receipt as it was noted.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Noted {
    /// Whose it is.
    pub learner: String,
    /// For which vehicle, from one; nothing if that was not noted.
    pub vehicle: Option<u32>,
    /// The receipt.
    pub receipt: Receipt,
}

/// All receipts that were noted, by learner.
#[derive(Clone, Default, Debug)]
pub struct Notes(BTreeMap<String, Vec<(Option<u32>, Receipt)>>);

impl FromIterator<Noted> for Notes {
    fn from_iter<T: IntoIterator<Item = Noted>>(all: T) -> Notes {
        let mut notes: BTreeMap<String, Vec<(Option<u32>, Receipt)>> = BTreeMap::new();
        for noted in all {
            let own = notes.entry(folded(&noted.learner)).or_default();
            own.push((noted.vehicle, noted.receipt));
        }
        Notes(notes)
    }
}

impl Notes {
    /// Nothing was noted of anybody.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// How the receipts noted of a learner for a vehicle stand to that of a file, the likest of them; nothing if none was
    /// noted.
    #[must_use]
    pub fn likeness(&self, learner: &str, vehicle: u32, file: &Receipt) -> Option<Likeness> {
        let own = self.0.get(&folded(learner))?;
        own.iter()
            .filter(|(noted, _)| noted.is_none_or(|noted| noted == vehicle))
            .map(|(_, receipt)| receipt.likeness(file))
            .min()
    }
}
