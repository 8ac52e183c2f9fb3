//! Files that nobody vouches for: whatever they hold, marking says what is wrong with each and marks the others.

use std::fs;
use std::path::Path;

use hidden_ohm::exercise::{Given, Handout, Vehicles};
use serde_json::Value;

use super::handout::rules;
use super::marking::LINES;
use crate::cli::{Ran, run};

const GROUND: &str = include_str!("../../data/scenarios/corroded-ground.toml");

const EXERCISE: &str =
    "format = 1\ntitle = \"Grounds\"\nfeedback = \"never\"\n[[vehicle]]\nfile = \"ground.toml\"\n";

fn worked(before: Option<Ran>, name: &str, file: &str) -> Ran {
    let asked = run([
        "exercise",
        "start",
        "ex.toml",
        "--script",
        "-",
        "--as",
        name,
        "--attempt",
        file,
    ]);
    let asked = match before {
        Some(before) => asked.after(before),
        None => asked.file("ex.toml", EXERCISE).file("ground.toml", GROUND),
    };
    let ran = asked.input(&LINES.join("\n")).go();
    assert_eq!(ran.status, 0, "{}", ran.err);
    ran
}

fn put(folder: &Path, name: &str, bytes: impl AsRef<[u8]>) {
    let path = folder.join(name);
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    fs::write(path, bytes).unwrap();
}

/// File, verdict, line and reason.
type Told = (String, String, Option<u64>, String);

/// Marks the folder `in` and gives back verdict, line and reason of each file.
fn marked(before: Ran) -> (Ran, Vec<Told>) {
    let ran = run(["exercise", "mark", "in", "--exercise", "ex.toml", "--json"])
        .after(before)
        .go();
    assert!(!ran.err.contains("panicked"), "{}", ran.err);
    let told = |line: &str| {
        let value: Value = serde_json::from_str(line).expect("JSON");
        let text = |name: &str| value[name].as_str().unwrap_or("").to_owned();
        let line = value["line"].as_u64();
        (text("file"), text("verdict"), line, text("reason"))
    };
    let all = ran.out.lines().map(told).collect();
    (ran, all)
}

#[test]
fn every_kind_of_file_in_a_folder_is_named_with_what_is_wrong_and_the_good_one_is_marked() {
    let ran = worked(None, "Ada", "ada.jsonl");
    let folder = ran.folder.path();
    let good = fs::read_to_string(folder.join("ada.jsonl")).unwrap();
    let inside = folder.join("in");
    fs::create_dir(&inside).unwrap();
    let deep = "[".repeat(100_000) + "\n";
    let first = good.lines().next().unwrap();
    let twice = good.replacen("\"format\":1,", "\"format\":1,\"format\":1,", 1);
    let not_a_number = good.replacen("\"clock_ms\":", "\"clock_ms\":NaN,\"x\":", 1);
    let files: [(&str, Vec<u8>, &str, &str); 12] = [
        // What a learner calls the file, and which folder a learning platform puts it in, is nobody's choice.
        ("Ada Quay/hand in.txt", good.clone().into(), "verified", ""),
        (
            "bom.jsonl",
            format!("\u{feff}{good}").into(),
            "not-a-record",
            "an editor put a mark",
        ),
        (
            "crlf.jsonl",
            good.replace('\n', "\r\n").into(),
            "not-a-record",
            "its line end was changed",
        ),
        (
            "cut.jsonl",
            good.as_bytes()[..good.len() / 2].into(),
            "unfinished",
            "not handed back",
        ),
        ("deep.jsonl", deep.into(), "not-a-record", "recursion limit"),
        ("empty.jsonl", Vec::new(), "not-a-record", "no whole line"),
        (
            "header.jsonl",
            first.replace("\"format\":1", "\"format\":7").into_bytes(),
            "not-a-record",
            "no whole line",
        ),
        (
            "later.jsonl",
            (first.replace("\"format\":1", "\"format\":7") + "\n").into(),
            "other-engine",
            "format 7",
        ),
        (
            "long.jsonl",
            vec![b'x'; 17 << 20],
            "not-a-record",
            "longer than 16 MiB",
        ),
        ("nan.jsonl", not_a_number.into(), "damaged", "line 2"),
        (
            "nought.jsonl",
            vec![0; 100_000],
            "not-a-record",
            "no whole line",
        ),
        ("twice.jsonl", twice.into(), "damaged", "line 1"),
    ];
    for (name, bytes, _, _) in &files {
        put(&inside, name, bytes);
    }
    put(&inside, ".hidden", "what a system keeps for itself");
    let (ran, all) = marked(ran);
    assert_eq!(ran.status, 1, "{}", ran.err);
    assert_eq!(all.len(), files.len(), "{all:?}");
    for ((name, _, verdict, part), (file, found, line, reason)) in files.iter().zip(&all) {
        assert!(file.ends_with(name), "{name} is not {file}");
        assert_eq!(verdict, found, "{name}: {reason}");
        assert!(
            reason.contains(part),
            "{name}: `{part}` is not in `{reason}`"
        );
        assert!(
            line.is_some() || ["long.jsonl", "cut.jsonl"].contains(name) || *verdict == "verified"
        );
    }
}

#[cfg(unix)]
#[test]
fn a_folder_called_like_an_attempt_and_a_pipe_do_not_hold_marking_up() {
    let ran = worked(None, "Ada", "ada.jsonl");
    let inside = ran.folder.path().join("in");
    fs::create_dir_all(inside.join("folder.jsonl")).unwrap();
    let made = std::process::Command::new("mkfifo")
        .arg(inside.join("pipe.jsonl"))
        .status();
    assert!(made.expect("mkfifo runs").success());
    std::os::unix::fs::symlink("/dev/zero", inside.join("zero.jsonl")).unwrap();
    std::os::unix::fs::symlink("nowhere", inside.join("gone.jsonl")).unwrap();
    let (_, all) = marked(ran);
    let reasons: Vec<&str> = all
        .iter()
        .map(|(_, _, _, reason)| reason.as_str())
        .collect();
    assert_eq!(reasons.len(), 3, "{all:?}");
    assert!(reasons[0].contains("No such file"), "{reasons:?}");
    assert_eq!(reasons[1..], ["it is no ordinary file"; 2]);
}

#[test]
fn a_stream_survives_a_line_of_any_length_and_goes_on_after_it() {
    let ran = worked(None, "Ada", "ada.jsonl");
    let ran = run(["exercise", "pack", "ada.jsonl"]).after(ran).go();
    let packed = ran.out.clone();
    let endless = "x".repeat(40 << 20);
    let deep = "[".repeat(1 << 20);
    let input = format!(
        "{endless}\n{packed}{deep}\n{{\"file\":1}}\n{{\"file\":\"a\",\"file\":\"b\",\"text\":\"\"}}\n{packed}"
    );
    let ran = run(["exercise", "mark", "-", "--exercise", "ex.toml", "--verify"])
        .after(ran)
        .input(&input)
        .go();
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    let verdicts: Vec<bool> = ran
        .out
        .lines()
        .map(|line| line.contains("\"verdict\":\"verified\""))
        .collect();
    assert_eq!(verdicts, [false, true, false, false, false, true]);
    let first = ran.out.lines().next().unwrap();
    assert!(
        first.contains("input line 1") && first.contains("longer than 32 MiB"),
        "{first}"
    );
}

#[test]
fn an_exercise_that_names_a_file_for_a_code_reads_no_file() {
    let open = |code: &str| {
        let vehicles = Vehicles {
            key: String::new(),
            given: vec![Given::Code(code.into())],
        };
        let handout = Handout::new(rules(), &vehicles, None, None).unwrap();
        run([
            "exercise", "start", "made.up", "--as", "Ada Quay", "--script", "-",
        ])
        .file("made.up", &handout.text())
        .file("secret.toml", "format = \"private\"\n")
        .input("format = 1\n")
        .go()
    };
    for code in ["secret.toml", "-", "/etc/passwd"] {
        let ran = open(code);
        assert!(!ran.err.contains("private"), "{}", ran.err);
        ran.assert_fails(3, &["was not made by this program"]);
    }
}

#[test]
fn what_a_file_says_does_not_steer_the_terminal() {
    let ran = worked(None, "\u{1b}[2JAda", "ada.jsonl");
    let ran = run(["exercise", "mark", "ada.jsonl", "--exercise", "ex.toml"])
        .after(ran)
        .with(&["--color", "always"])
        .go();
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert!(ran.out.contains("\u{fffd}[2JAda"), "{:?}", ran.out);
    assert!(!ran.out.contains("\u{1b}[2J"), "{:?}", ran.out);
}
