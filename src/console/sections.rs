//! Names of the sections a learner can judge.

use crate::vehicle::Section;

/// Every section in the order of the circuit.
pub(super) fn all() -> impl Iterator<Item = Section> {
    Section::ALL.into_iter()
}

/// The section that `text` names or begins; hyphens and spaces are one. Otherwise the names it could begin.
pub(super) fn named(text: &str) -> Result<Section, Vec<String>> {
    if let Ok(section) = text.parse() {
        return Ok(section);
    }
    let plain = |name: &str| name.to_ascii_lowercase().replace(['-', '_'], " ");
    let text = plain(text);
    let fitting: Vec<Section> = all()
        .filter(|s| !text.is_empty() && plain(&s.to_string()).starts_with(&text))
        .collect();
    match fitting.as_slice() {
        [section] => Ok(*section),
        several => Err(several.iter().map(ToString::to_string).collect()),
    }
}
