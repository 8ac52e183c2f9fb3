//! Instructor and learners from files alone, through the program, as the manual for instructors tells it.

use std::fs;

use serde_json::Value;

use super::marking::LINES;
use crate::cli::{Ran, run};

const GROUND: &str = include_str!("../../data/scenarios/corroded-ground.toml");

const EXERCISE: &str = r#"format = 1
title = "Grounds"
tries = 1
time = "240 min"
feedback = "never"
class = ["Ada Quay", "Ben Slip", "Cleo Ford"]
[marking]
pass = "30 %"
[[vehicle]]
file = "ground.toml"
"#;

/// The hand-out and the folder it was made in.
fn handed_out() -> Ran {
    let ran = run(["exercise", "key", "secret.key"]).go();
    assert_eq!((ran.status, ran.out.len()), (0, 65), "{}", ran.err);
    let public = ran.out.trim().to_owned();
    let ran = run([
        "exercise",
        "handout",
        "ex.toml",
        "--to",
        "week.handout",
        "--key",
        "secret.key",
        "--passphrase-file",
        "pass",
    ])
    .after(ran)
    .file("ex.toml", EXERCISE)
    .file("ground.toml", GROUND)
    .file("pass", "quay lantern\n")
    .go();
    assert_eq!((ran.status, ran.out.as_str()), (0, ""), "{}", ran.err);
    assert!(ran.err.contains("the reference does it in"), "{}", ran.err);
    let text = fs::read_to_string(ran.folder.path().join("week.handout")).unwrap();
    assert!(
        text.contains(&public) && !text.contains("corroded-ground"),
        "signed, and the truth is not in it"
    );
    ran
}

fn work(before: Ran, name: &str, file: &str, lines: &[&str]) -> Ran {
    let script = lines.join("\n");
    run([
        "exercise",
        "start",
        "week.handout",
        "--as",
        name,
        "--script",
        "-",
        "--attempt",
        file,
        "--passphrase-file",
        "pass",
    ])
    .after(before)
    .input(&script)
    .go()
}

/// Ben goes on with a copy of his attempt to its end: what the program keeps is enough, but for the passphrase.
fn gone_on_with(before: Ran) -> Ran {
    let folder = before.folder.path();
    fs::copy(folder.join("in/ben.jsonl"), folder.join("ben.jsonl")).unwrap();
    let ran = run(["resume", "ben.jsonl"])
        .after(before)
        .variable("HIDDEN_OHM_PASSPHRASE", "quay lantern")
        .input(&LINES[8..].join("\n"))
        .go();
    assert_eq!(ran.status, 0, "{}", ran.err);
    for part in [
        "Exercise \"Grounds\", vehicle 1, try 1.",
        "8 actions done so far",
    ] {
        assert!(ran.err.contains(part), "{}", ran.err);
    }
    assert!(ran.out.contains("Hand in this file"), "{}", ran.out);
    ran
}

/// What marking Ada's, Ben's, Cleo's and the edited attempt left behind.
#[track_caller]
fn assert_results(ran: &Ran) {
    let out = |name: &str| {
        fs::read_to_string(ran.folder.path().join("out").join(name))
            .unwrap_or_else(|error| panic!("{name}: {error}"))
    };
    assert!(
        ran.out.contains("Ada Quay")
            && ran.out.contains("verified")
            && ran.out.contains("unfinished"),
        "{}",
        ran.out
    );
    assert!(ran.out.contains("damaged"), "{}", ran.out);
    let marks = out("marks.csv");
    assert!(
        marks.starts_with("learner,vehicle,try,percent,passed,outcome"),
        "{marks}"
    );
    assert!(marks.contains("Ada Quay,1,1,"), "{marks}");
    let page = out("class.html");
    assert!(
        page.contains("Ada Quay and Cleo Ford")
            && page.contains("Equal paths are no proof of anything: ask."),
        "{page}"
    );
    assert!(out("oneroster/results.csv").contains("fully graded"));
    let statements: Value = serde_json::from_str(&out("statements-2.0.json")).unwrap();
    assert_eq!(statements.as_array().map(Vec::len), Some(3));
    assert!(out("feedback/Ada-Quay-1-1.html").contains("Ada-Quay-1-1-debrief.html"));
    assert!(out("feedback/Ada-Quay-1-1-debrief.html").contains("<svg"));
}

#[test]
fn a_class_is_handed_an_exercise_works_it_and_is_marked() {
    let ran = handed_out();
    fs::create_dir(ran.folder.path().join("in")).unwrap();
    // Ada works it through.
    let ran = work(ran, "ada quay", "in/ada.jsonl", &LINES);
    assert_eq!(ran.status, 0, "{}", ran.err);
    for part in [
        "EXERCISE    Grounds",
        "240 min of simulated time",
        "a friend's copy",
        "Hand in this file",
        "in/ada.jsonl",
    ] {
        assert!(
            ran.out.replace("\n  ", " ").contains(part),
            "`{part}` is not in: {}",
            ran.out
        );
    }
    assert!(
        !ran.out.contains("SCORECARD") && ran.err.contains("come from your instructor"),
        "{}",
        ran.err
    );
    let receipt = ran
        .out
        .lines()
        .rev()
        .find(|line| line.trim().len() == 19)
        .expect("a receipt")
        .trim()
        .to_owned();
    // Ben stops in the middle, Cleo does what Ada did, and somebody edits a copy of Ada's.
    let ran = work(ran, "Ben Slip", "in/ben.jsonl", &LINES[..8]);
    assert!(ran.err.contains("hidden-ohm resume"), "{}", ran.err);
    let ran = work(ran, "Cleo Ford", "in/cleo.jsonl", &LINES);
    let ran = gone_on_with(ran);
    let folder = ran.folder.path();
    let ada = fs::read_to_string(folder.join("in/ada.jsonl")).unwrap();
    assert!(
        !ada.contains("corroded-ground"),
        "the learner's file does not tell the truth either"
    );
    fs::write(folder.join("in/edited.jsonl"), ada.replacen("0.", "1.", 1)).unwrap();
    fs::write(
        folder.join("receipts.csv"),
        format!("learner,receipt\nAda Quay,{receipt}\nCleo Ford,{receipt}\n"),
    )
    .unwrap();
    // The instructor marks the folder.
    let ran = run([
        "exercise",
        "mark",
        "in",
        "--exercise",
        "week.handout",
        "--passphrase-file",
        "pass",
        "--into",
        "out",
    ])
    .after(ran)
    .go();
    assert_eq!(ran.status, 1, "one file cannot be marked: {}", ran.err);
    assert_results(&ran);
    // Receipts tell that Cleo's file is not the one she read the receipt from.
    let ran = run([
        "exercise",
        "mark",
        "in/ada.jsonl",
        "in/cleo.jsonl",
        "--exercise",
        "week.handout",
        "--passphrase-file",
        "pass",
        "--receipts",
        "receipts.csv",
        "--json",
    ])
    .after(ran)
    .go();
    let lines: Vec<Value> = ran
        .out
        .lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect();
    assert_eq!(
        (&lines[0]["verdict"], &lines[1]["verdict"]),
        (&"verified".into(), &"other-receipt".into())
    );
}

#[test]
fn the_filter_gives_the_same_lines_with_one_thread_with_two_and_without_sharing() {
    let ran = handed_out();
    let ran = work(ran, "Ada Quay", "ada.jsonl", &LINES);
    let ran = work(ran, "Ben Slip", "ben.jsonl", &LINES[..9]);
    let ran = work(ran, "Cleo Ford", "cleo.jsonl", &LINES);
    let ran = run(["exercise", "pack", "ada.jsonl", "ben.jsonl", "cleo.jsonl"])
        .after(ran)
        .go();
    let packed = format!("{}not an attempt\n\n{}", ran.out, ran.out);
    let mut ran = ran;
    let mut outputs = Vec::new();
    for more in [
        ["--threads", "1"],
        ["--threads", "2"],
        ["--threads=2", "--unshared"],
    ] {
        ran = run([
            "exercise",
            "mark",
            "-",
            "--exercise",
            "week.handout",
            "--passphrase-file",
            "pass",
            more[0],
            more[1],
        ])
        .after(ran)
        .input(&packed)
        .go();
        assert_eq!(
            (ran.status, ran.err.as_str()),
            (0, ""),
            "a filter reports in its output"
        );
        outputs.push(ran.out.clone());
    }
    assert_eq!(outputs[0].lines().count(), 7);
    assert!(
        outputs[0]
            .lines()
            .nth(3)
            .unwrap()
            .contains("this is no packed attempt")
    );
    assert_eq!(outputs[0], outputs[1]);
    assert_eq!(outputs[0], outputs[2]);
}

#[test]
fn a_learner_is_held_to_the_list_the_tries_the_dates_and_the_tools() {
    let limited = EXERCISE
        .replace(
            "tries = 1\n",
            "tries = 1\ninstruments = [\"volts\"]\nservice_data = false\n",
        )
        .replace("240 min", "20 min");
    let start = |before: Option<Ran>, more: &[&str], text: &str| {
        let mut asked = run(["exercise", "start", "ex.toml"])
            .file("ex.toml", text)
            .file("ground.toml", GROUND);
        if let Some(before) = before {
            asked = run(["exercise", "start", "ex.toml"])
                .after(before)
                .file("ex.toml", text);
        }
        asked
            .with(more)
            .input(
                "data\nlamp B+ B-\nvolts B+ B-\naccess underbody\naccess bonnet\nclock\nhandover\n",
            )
            .go()
    };
    start(None, &["--as", "Ada Quai", "--script", "-"], &limited)
        .assert_fails(3, &["did you mean \"Ada Quay\"?"]);
    start(None, &[], &limited).assert_fails(2, &["add --as"]);
    let ran = start(None, &["--as", "Ada Quay", "--script", "-"], &limited);
    for part in [
        "withholds the service figures",
        "`lamp` may not be used in this exercise",
        "Allowed are: volts",
        "of 20 min are left",
        "0 of 20 min  0.00 cr spent",
        "none to be had",
        "by nobody",
    ] {
        assert!(ran.out.contains(part), "`{part}` is not in: {}", ran.out);
    }
    let ran = start(Some(ran), &["--as", "Ada Quay", "--script", "-"], &limited);
    ran.assert_fails(1, &["every vehicle of the exercise is finished"]);
    let ran = start(
        Some(ran),
        &["--as", "Ada Quay", "--script", "-", "--vehicle", "1"],
        &limited,
    );
    ran.assert_fails(1, &["may be tried 1 time"]);
    let over =
        format!("opens = \"2020-01-01T00:00:00Z\"\ncloses = \"2020-01-02T00:00:00Z\"\n{limited}");
    start(None, &["--as", "Ada Quay"], &over)
        .assert_fails(1, &["the exercise closed at 2020-01-02"]);
    let early = format!("opens = \"2999-01-01T00:00:00Z\"\n{limited}");
    start(None, &["--as", "Ada Quay"], &early).assert_fails(1, &["opens at 2999-01-01"]);
}

#[test]
fn the_truth_of_an_exercise_is_refused_until_it_has_closed() {
    for command in [["scenario", "show"], ["scenario", "ladder"]] {
        let ran = run([command[0], command[1], "ex.toml"])
            .file("ex.toml", EXERCISE)
            .file("ground.toml", GROUND);
        let ran = if command[1] == "ladder" {
            ran.with(&["--key", "on"]).go()
        } else {
            ran.with(&["--reveal"]).go()
        };
        ran.assert_fails(1, &["is an exercise, and its vehicles are not shown"]);
    }
    let reveal = |text: &str| {
        run(["exercise", "reveal", "ex.toml"])
            .file("ex.toml", text)
            .file("ground.toml", GROUND)
            .go()
    };
    reveal(&format!("closes = \"2999-01-01T00:00:00Z\"\n{EXERCISE}"))
        .assert_fails(1, &["is open until 2999"]);
    reveal(EXERCISE).assert_fails(1, &["has no closing date"]);
    let ran = reveal(&format!("closes = \"2020-01-01T00:00:00Z\"\n{EXERCISE}"));
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert!(ran.out.contains("repair G4"), "{}", ran.out);
}

#[test]
fn a_wrong_passphrase_and_a_changed_hand_out_are_told_apart() {
    let ran = handed_out();
    let ran = run([
        "exercise",
        "start",
        "week.handout",
        "--as",
        "Ada Quay",
        "--script",
        "-",
        "--passphrase-file",
        "wrong",
    ])
    .after(ran)
    .file("wrong", "quay lanterns\n")
    .go();
    ran.assert_fails(3, &["the passphrase does not open the vehicles"]);
    let path = ran.folder.path().join("week.handout");
    let text = fs::read_to_string(&path).unwrap();
    fs::write(&path, text.replace("\"pass\":30", "\"pass\":10")).unwrap();
    let ran = run(["exercise", "start", "week.handout", "--as", "Ada Quay"])
        .after(ran)
        .go();
    ran.assert_fails(1, &["was changed after it was handed out"]);
}

#[test]
fn a_new_exercise_is_written_whole_by_flags() {
    let ran = run([
        "exercise",
        "new",
        "ex.toml",
        "--title",
        "Say \"ah\"",
        "--vehicles",
        "2",
        "--level",
        "1",
        "--closes",
        "2030-03-06T18:00:00+01:00",
        "--class",
        "names",
    ])
    .file("names", "Ada Quay\n\nBen Slip\n")
    .go();
    assert_eq!((ran.status, ran.out.as_str()), (0, ""), "{}", ran.err);
    let ran = run(["exercise", "check", "--quick", "ex.toml"])
        .after(ran)
        .go();
    ran.assert(0, "", "");
    let ran = run(["exercise", "new", "ex.toml", "--title", "B"])
        .after(ran)
        .go();
    ran.assert_fails(4, &["cannot write ex.toml", "not there yet"]);
}

#[test]
fn a_second_try_after_the_explanation_is_cautioned_against() {
    let text = EXERCISE
        .replace("tries = 1", "tries = 2")
        .replace("\"never\"", "\"at-once\"");
    let ran = run(["exercise", "check", "--quick", "ex.toml"])
        .file("ex.toml", &text)
        .file("ground.toml", GROUND)
        .go();
    assert_eq!((ran.status, ran.out.as_str()), (0, ""));
    assert!(ran.err.contains("whoever tries a vehicle"), "{}", ran.err);
}

#[test]
fn codes_of_their_own_that_nobody_could_do_are_not_handed_out() {
    let text = "format = 1\ntitle = \"Own\"\ntime = \"1 min\"\n[[vehicle]]\nown = { level = 1, codes = 2 }\n";
    let ran = run(["exercise", "handout", "ex.toml", "--to", "out", "--open"])
        .file("ex.toml", text)
        .go();
    ran.assert_fails(1, &["no 2 codes of equal difficulty", "allow more time"]);
    assert!(!ran.folder.path().join("out").exists());
}
