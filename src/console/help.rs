//! The help pages, made from the table of words.

use super::Names;
use super::args::begins;
use super::table::words;
use super::words::{Group, Word};

/// The page for `about`: a word, a group of words, or everything.
#[must_use]
pub fn page(about: Option<&str>, names: &Names) -> Vec<String> {
    match about {
        None => every_word(),
        Some(about) => match Group::ALL
            .into_iter()
            .find(|group| group.heading() == about)
        {
            Some(group) => one_group(group, names),
            None => Word::called(about).map_or_else(every_word, |word| one_word(word, names)),
        },
    }
}

fn of(group: Group) -> impl Iterator<Item = &'static Word> {
    words().filter(move |word| word.group == group)
}

fn every_word() -> Vec<String> {
    let mut lines: Vec<String> = Group::ALL
        .into_iter()
        .map(|group| {
            let words: Vec<&str> = of(group).map(|word| word.name).collect();
            format!("{:<9}  {}", group.heading(), words.join(" "))
        })
        .collect();
    lines.push(
        "`help tools` lists one group with what each word does, `help volts` explains one word."
            .into(),
    );
    lines.push("Beginnings of words work as far as they are clear; repair, replace and handover are written out.".into());
    lines
}

/// What a word does on this vehicle.
fn about(word: &Word, names: &Names) -> String {
    let other = word.on_coolant.filter(|_| names.on_coolant());
    names.fill(other.map_or(word.about, |other| other.about))
}

fn one_group(group: Group, names: &Names) -> Vec<String> {
    let widest = of(group).map(|word| word.name.len()).max().unwrap_or(0);
    of(group)
        .map(|word| format!("{:<widest$}  {}", word.name, about(word, names)))
        .collect()
}

fn one_word(word: &Word, names: &Names) -> Vec<String> {
    let short = if word.written_out {
        "always written out, because it cannot be undone".into()
    } else {
        format!("`{}` is enough", shortest(word.name))
    };
    vec![
        format!("{} {}", word.name, word.usage)
            .trim_end()
            .to_owned(),
        format!("{}; {short}.", about(word, names)),
        word.example_with(names).map_or_else(
            || "This vehicle has nothing to do it with.".to_owned(),
            |example| format!("For example: {example}"),
        ),
    ]
}

/// The shortest beginning that means this word and no other.
fn shortest(name: &str) -> &str {
    let clear = |end: &usize| {
        words()
            .filter(|word| begins(word.name, &name[..*end]))
            .count()
            == 1
    };
    (1..name.len()).find(clear).map_or(name, |end| &name[..end])
}
