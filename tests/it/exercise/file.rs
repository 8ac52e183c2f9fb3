//! The instructor's file of an exercise.

use hidden_ohm::exercise::{Draft, Feedback, Wanted, read};

/// A file that uses everything.
pub const WHOLE: &str = r#"format = 1
title = "Grounds, second week"
opens = "2026-03-02T08:00:00+01:00"
closes = "2026-03-06T18:00:00+01:00"
tries = 2
time = "90 min"
money = "400.00"
instruments = ["volts", "lamp", "ohms"]
hints = false
service_data = false
feedback = "after-closing"
class = ["Ada Quay", "Ben  Slip"]

[marking]
pass = "60 %"
weights = { outcome = 40, calls = 20 }

[[vehicle]]
code = "100G-0000-0000-0018-Z5"

[[vehicle]]
file = "hill.toml"

[[vehicle]]
own = { level = 2, theme = "ground", codes = 4 }
"#;

fn draft(text: &str) -> Result<Draft, Vec<String>> {
    read("ex.toml", text).map_err(|all| all.iter().map(ToString::to_string).collect())
}

#[test]
fn a_whole_file_is_read() {
    let draft = draft(WHOLE).expect("a sound file");
    let rules = &draft.rules;
    assert_eq!(rules.title, "Grounds, second week");
    assert_eq!(rules.opens.as_deref(), Some("2026-03-02T07:00:00Z"));
    assert_eq!(
        (rules.tries, rules.seconds, rules.money),
        (2, Some(5400), Some(40_000))
    );
    assert_eq!(
        rules.tools.as_deref(),
        Some(&["volts".to_owned(), "ohms".into(), "lamp".into()][..])
    );
    assert_eq!(
        (rules.hints, rules.service_data, rules.feedback),
        (false, false, Feedback::AfterClosing)
    );
    assert_eq!(rules.class, ["Ada Quay", "Ben Slip"]);
    assert_eq!((rules.pass, rules.weights["calls"]), (Some(60), 20));
    assert_eq!(draft.wanted.len(), 3);
    assert!(matches!(&draft.wanted[1].1, Wanted::File(file) if file == "hill.toml"));
    assert!(matches!(&draft.wanted[2].1, Wanted::Own(own) if own.codes == 4 && own.level == 2));
}

#[test]
fn what_is_left_out_has_its_usual_value() {
    let draft =
        draft("format = 1\ntitle = \"A\"\n[[vehicle]]\ncode = \"100G-0000-0000-0018-Z5\"\n")
            .expect("sound");
    let rules = &draft.rules;
    assert_eq!(
        (rules.tries, rules.seconds, rules.money, rules.pass),
        (1, None, None, None)
    );
    assert_eq!(
        (rules.hints, rules.service_data, rules.feedback),
        (true, true, Feedback::AtOnce)
    );
    assert!(rules.tools.is_none() && rules.class.is_empty() && rules.weights.is_empty());
}

#[test]
fn every_mistake_has_its_line_its_column_and_a_way_out() {
    for (from, to, told) in [
        (
            "title = ",
            "titel = ",
            "has an unknown key `titel`; did you mean `title`?",
        ),
        (
            "\"lamp\"",
            "\"lmap\"",
            "ex.toml:8:25: `lmap` is not known here; did you mean `lamp`?",
        ),
        (
            "\"after-closing\"",
            "\"after\"",
            "ex.toml:11:12: `after` is not known here",
        ),
        ("calls = 20", "cals = 20", "did you mean `calls`?"),
        (
            "0018-Z5",
            "0018-Z6",
            "ex.toml:19:8: the code does not check",
        ),
        (
            "level = 2",
            "level = 7",
            "ex.toml:25:17: levels run from 1 to 5",
        ),
        ("\"ground\"", "\"grund\"", "did you mean `ground`?"),
        ("codes = 4", "codes = 1", "`codes` must be from 2 to 60"),
        (
            "\"90 min\"",
            "\"90\"",
            "ex.toml:6:8: `time` of the exercise",
        ),
        (
            "2026-03-06",
            "2026-02-06",
            "ex.toml:4:10: the exercise closes before it opens",
        ),
        (
            "2026-03-06T18:00:00+01:00",
            "on Friday",
            "`closes` is no date with a time of day and a zone",
        ),
        (
            "\"Ben  Slip\"",
            "\"ada quay\"",
            "`ada quay` is on the class list twice",
        ),
        ("\"60 %\"", "\"160 %\"", "must be from 0 % to 100 %"),
        (
            "file = \"hill.toml\"",
            "",
            "needs one way of saying which it is, not 0",
        ),
        ("tries = 2", "tries = 0", "`tries` must be from 1 to 100"),
    ] {
        let found = draft(&WHOLE.replace(from, to)).expect_err(to);
        assert!(
            found.iter().any(|line| line.contains(told)),
            "`{told}` is not in {found:?}"
        );
        assert!(
            found.iter().all(|line| line.starts_with("ex.toml:")),
            "{found:?}"
        );
    }
    assert!(
        draft("format = 1\ntitle = \"A\"\n").expect_err("no vehicle")[0]
            .contains("no vehicle to work on")
    );
}

#[test]
fn several_mistakes_come_at_once() {
    let text = WHOLE
        .replace("\"lamp\"", "\"lmap\"")
        .replace("tries = 2", "tries = 0");
    assert_eq!(draft(&text).expect_err("two mistakes").len(), 2);
}
