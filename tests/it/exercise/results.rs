//! What marking makes of a class: tables, statements, the picture.

use hidden_ohm::exercise::xapi::{Version, statement};
use hidden_ohm::exercise::{Marked, Marks, PartMarks, Verdict, Went, class, gradebook};

use super::handout::rules;

fn marked(learner: &str, permille: u32, slips: &[&str], lines: &[&str]) -> Marked {
    let part = |name: &str, permille: u32| PartMarks {
        part: name.into(),
        permille,
        marks: vec![(permille.into(), 1000)],
    };
    Marked {
        learner: Some(learner.into()),
        vehicle: Some(1),
        attempt: Some(1),
        started: Some("2026-03-02T09:00:00Z".into()),
        reason: None,
        clock_ms: u64::from(permille) * 6_000,
        spent: 1234,
        actions: lines.len(),
        marks: Some(Marks {
            permille,
            passed: Some(permille >= 600),
            parts: vec![part("outcome", permille), part("calls", 1000 - permille)],
            slips: slips.iter().map(|slip| (*slip).to_owned()).collect(),
            hints: 0,
            misconceptions: vec!["ohms read under power".into()],
            dangers: Vec::new(),
            went: vec![Went {
                what: "measuring".into(),
                ms: u64::from(permille) * 6_000,
                cost: 1234,
            }],
            capped: false,
        }),
        lines: lines.iter().map(|line| (*line).to_owned()).collect(),
        ..Marked::refused("a.jsonl", Verdict::Verified, None, "")
    }
}

#[test]
fn the_picture_counts_marks_slips_and_quarters() {
    let all: Vec<Marked> = [
        (100, &["You read 0.41 V at G4."][..]),
        (500, &["You read 0.39 V at G4.", "You read 1,2 V at G4."]),
        (700, &[]),
        (900, &[]),
    ]
    .iter()
    .enumerate()
    .map(|(n, (permille, slips))| marked(&format!("L{n}"), *permille, slips, &[]))
    .collect();
    let picture = class::picture(&all);
    assert_eq!(picture.distribution, [0, 1, 0, 0, 0, 1, 0, 1, 0, 1]);
    assert_eq!(
        (picture.passed, picture.marked, picture.verdicts["verified"]),
        (Some(2), 4, 4)
    );
    // The same slip at another reading is one slip, and counts once for each attempt.
    assert_eq!(picture.slips.len(), 1);
    assert_eq!(
        (picture.slips[0].what.as_str(), picture.slips[0].attempts),
        ("You read # V at G#.", 2)
    );
    assert_eq!(
        (
            picture.misconceptions[0].attempts,
            picture.dangers.is_empty()
        ),
        (4, true)
    );
    let went = &picture.went[0];
    assert_eq!((went.what.as_str(), went.minutes), ("measuring", 55.0));
    assert_eq!(
        (went.money, went.of_time, went.of_money),
        (1234.0, 1.0, 1.0)
    );
    let minutes = picture.minutes.expect("four attempts");
    assert_eq!(
        (
            minutes.least,
            minutes.lower,
            minutes.middle,
            minutes.upper,
            minutes.most
        ),
        (10.0, 40.0, 60.0, 75.0, 90.0)
    );
    let items = picture.items.expect("a table");
    assert!(
        items.withheld[0].contains("4 learners: no estimate"),
        "{:?}",
        items.withheld
    );
}

#[test]
fn paths_that_are_alike_are_found_and_short_ones_left_alone() {
    let path = [
        "a", "b", "c", "d", "e", "f", "g", "h", "i", "j", "k", "l", "m",
    ];
    let mut other = path;
    other[5] = "x";
    let all = [
        marked("Ada", 500, &[], &path),
        marked("Ben", 500, &[], &other),
        marked(
            "Cleo",
            500,
            &[],
            &[
                "q", "r", "s", "t", "u", "v", "w", "z", "a", "c", "e", "g", "i",
            ],
        ),
        marked("Short", 500, &[], &path[..5]),
        marked("Shorter", 500, &[], &path[..5]),
    ];
    let pairs = class::picture(&all).pairs;
    assert_eq!(pairs.len(), 1, "{pairs:?}");
    assert_eq!(
        (pairs[0].one.as_str(), pairs[0].other.as_str()),
        ("Ada", "Ben")
    );
    // Twelve neighbouring pairs each, two of which the changed line breaks.
    assert!((pairs[0].alike - 10.0 / 12.0).abs() < 1e-12);
}

#[test]
fn tables_guard_against_formulas_and_say_per_cent() {
    let text = gradebook::marks(&[marked("=HYPERLINK(1)", 735, &[], &[])]);
    assert!(
        text.contains("'=HYPERLINK(1),1,1,73.5,true,73.5,26.5,"),
        "{text}"
    );
    assert_eq!(
        gradebook::csv(&[vec!["-1.5".into(), "a,b".into(), "-x".into()]]),
        "-1.5,\"a,b\",'-x\r\n"
    );
}

#[test]
fn identifiers_are_the_same_in_every_export_and_differ_from_each_other() {
    let ada = marked("Ada", 735, &[], &[]);
    let one = statement(&rules(), "h", &ada, Version::Two).expect("a statement");
    assert_eq!(
        Some(&one),
        statement(&rules(), "h", &ada, Version::Two).as_ref()
    );
    let ben = statement(&rules(), "h", &marked("Ben", 735, &[], &[]), Version::Two).unwrap();
    assert_ne!(one["id"], ben["id"]);
    assert_ne!(one["id"], one["context"]["registration"]);
    // RFC 9562: version 8 and the usual variant.
    let id = one["id"].as_str().unwrap();
    assert_eq!((id.len(), &id[14..15]), (36, "8"));
    assert!("89ab".contains(&id[19..20]), "{id}");
    assert_eq!(one["result"]["duration"], "PT4410.00S");
    assert_eq!(one["result"]["score"]["scaled"], 0.735);
    assert_eq!(one["verb"]["display"]["en"], "passed");
}

#[test]
fn nothing_is_stated_of_what_does_not_stand() {
    let mut altered = marked("Ada", 735, &[], &[]);
    altered.verdict = Verdict::Altered;
    assert_eq!(statement(&rules(), "h", &altered, Version::One), None);
    let mut unfinished = marked("Ada", 735, &[], &[]);
    unfinished.verdict = Verdict::Unfinished;
    unfinished.marks = None;
    let statement = statement(&rules(), "h", &unfinished, Version::One).expect("it was begun");
    assert_eq!(
        (
            &statement["verb"]["display"]["en"],
            &statement["result"]["completion"]
        ),
        (&"attempted".into(), &false.into())
    );
}
