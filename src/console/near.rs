//! Did-you-mean.

/// How alike two words must be to be offered; below it a suggestion confuses more than it helps.
const ALIKE: f64 = 0.72;
/// How many suggestions are still a help.
const MOST: usize = 3;

/// The candidates that look like `text`, best first, at most three; ties keep the order given.
#[must_use]
pub fn closest<'a>(text: &str, candidates: impl Iterator<Item = &'a str>) -> Vec<&'a str> {
    let text = text.to_ascii_lowercase();
    let mut scored: Vec<(f64, &str)> = candidates
        .map(|candidate| {
            (
                strsim::jaro_winkler(&text, &candidate.to_ascii_lowercase()),
                candidate,
            )
        })
        .filter(|(score, _)| *score >= ALIKE)
        .collect();
    scored.sort_by(|a, b| b.0.total_cmp(&a.0));
    scored.truncate(MOST);
    scored.into_iter().map(|(_, candidate)| candidate).collect()
}

/// `a`, `b` or `c`, each in backquotes; empty for no words.
#[must_use]
pub fn alternatives<'a>(words: impl IntoIterator<Item = &'a str>) -> String {
    let quoted: Vec<String> = words.into_iter().map(|word| format!("`{word}`")).collect();
    match quoted.split_last() {
        None => String::new(),
        Some((last, [])) => last.clone(),
        Some((last, before)) => format!("{} or {last}", before.join(", ")),
    }
}
