//! Scripts and the machine surface.

use std::io::{BufRead, BufReader, Write};
use std::process::{Command, Stdio};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::thread;
use std::time::Duration;

use super::{code, run};

#[test]
fn a_script_answers_one_json_object_a_line() {
    let script = "# a remark\n\naccess bonnet\nvolts nowhere B-\nvolts B+ B-\nquit\nclock\n";
    let ran = run(["practice", &code(), "--script", "lines", "--json"])
        .file("lines", script)
        .go();
    assert_eq!(ran.status, 0, "{}", ran.err);
    let rows: Vec<serde_json::Value> = ran
        .out
        .lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect();
    assert_eq!(rows.len(), 3, "{}", ran.out);
    let keys = |row: &serde_json::Value| {
        row.as_object()
            .unwrap()
            .keys()
            .cloned()
            .collect::<Vec<String>>()
    };
    assert_eq!(
        keys(&rows[0]),
        [
            "action", "line", "clock_s", "spent", "ok", "readings", "said"
        ]
    );
    assert_eq!(
        keys(&rows[1]),
        ["action", "line", "clock_s", "spent", "ok", "error", "hint"]
    );
    assert_eq!(
        (&rows[0]["action"], &rows[0]["ok"]),
        (&1.into(), &true.into())
    );
    assert_eq!(
        (&rows[1]["action"], &rows[1]["ok"]),
        (&serde_json::Value::Null, &false.into())
    );
    assert_eq!(rows[2]["action"], 2, "a refused line is no action");
    let reading = &rows[2]["readings"][0];
    assert_eq!(keys(reading), ["quantity", "value", "unit", "shown"]);
    assert_eq!(
        (reading["quantity"].as_str(), reading["unit"].as_str()),
        (Some("voltage"), Some("V"))
    );
    assert!((11.0..13.5).contains(&reading["value"].as_f64().unwrap()));
    assert!(
        ran.err.contains("1 more line of the script not run"),
        "{}",
        ran.err
    );
    assert!(
        !ran.folder.path().join("state").exists(),
        "a script leaves nothing behind"
    );
}

#[test]
fn a_line_from_another_program_is_answered_before_the_next_comes_and_the_last_ends_it() {
    let mut practice = Command::new(env!("CARGO_BIN_EXE_hidden-ohm"))
        .args(["practice", &code(), "--script", "-", "--json"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("the program");
    let mut lines = practice.stdin.take().expect("its input");
    let answers = practice.stdout.take().expect("its output");
    let (told, heard) = channel();
    thread::spawn(move || {
        for answer in BufReader::new(answers).lines() {
            told.send(answer.expect("text"))
                .expect("somebody who listens");
        }
    });
    let patience = Duration::from_mins(2);
    writeln!(lines, "access bonnet").expect("a line goes in");
    let answer = heard.recv_timeout(patience);
    assert!(
        answer
            .expect("an answer while the input is open")
            .contains("bonnet")
    );
    writeln!(lines, "handover").expect("a line goes in");
    let closing = [heard.recv_timeout(patience), heard.recv_timeout(patience)];
    let [_, marks] = closing.map(|line| line.expect("marks while the input is open"));
    assert!(marks.contains("scorecard"), "{marks}");
    assert_eq!(
        heard.recv_timeout(patience),
        Err(RecvTimeoutError::Disconnected),
        "it ends with the job, not with its input"
    );
    drop(lines);
    assert!(practice.wait().expect("it has ended").success());
}

#[test]
fn the_same_code_and_script_give_the_same_bytes() {
    let script = "access bonnet\nvolts B+ B-\nkey on\nvolts B+ B-\nlisten\nlook G4\nhandover\n";
    let once = run(["practice", &code(), "--script", "-", "--json"])
        .input(script)
        .go();
    let twice = run(["practice", &code(), "--script", "-", "--json"])
        .input(script)
        .go();
    assert_eq!(once.out, twice.out);
    let last: serde_json::Value = serde_json::from_str(once.out.lines().last().unwrap()).unwrap();
    assert_eq!(last["scorecard"]["of"], 100, "{last}");
}

#[test]
fn machine_output_is_in_si_whatever_the_units() {
    let script = "access bonnet\nvolts B+ B-\nkey on\nvolts B+ B-\n";
    let values = |units: &str| {
        let ran = run([
            "practice",
            &code(),
            "--script",
            "-",
            "--json",
            "--units",
            units,
        ])
        .input(script)
        .go();
        let rows = ran
            .out
            .lines()
            .map(|line| serde_json::from_str::<serde_json::Value>(line).unwrap());
        rows.map(|row| row["readings"][0]["value"].clone())
            .collect::<Vec<_>>()
    };
    assert_eq!(values("metric"), values("us"));
}

#[test]
fn what_leaves_nothing_to_see_or_hear_is_still_answered() {
    let ran = run(["practice", &code(), "--script", "-"])
        .input("key on\nkey off\n")
        .go();
    assert!(ran.out.ends_with("> key off\n  Done.\n"), "{}", ran.out);
}

/// The last answer of a script, without its prompt.
fn told(arguments: [&str; 5], columns: &str, script: &str) -> String {
    let ran = run(arguments)
        .variable("COLUMNS", columns)
        .input(script)
        .go();
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    let last = script.lines().last().unwrap();
    let (_, answer) = ran.out.rsplit_once(&format!("> {last}\n")).unwrap();
    answer.to_owned()
}

#[test]
fn the_diagram_is_drawn_where_it_fits_and_spelt_out_where_it_does_not() {
    let code = code();
    let rich = ["practice", &code, "--script", "-", "--units=metric"];
    let plain = ["practice", &code, "--script", "-", "--plain"];
    assert!(told(rich, "80", "diagram\n").contains("-[W11 "));
    for told in [
        told(rich, "40", "diagram\n"),
        told(plain, "80", "diagram\n"),
    ] {
        assert!(!told.contains("-["), "{told}");
        let flat = told.split_whitespace().collect::<Vec<_>>().join(" ");
        for piece in [
            "feed: FB.2 to",
            "K1.87 to X2.1: wire W11, relay to bulkhead",
            "tank connector X7, 2",
            "pump relay K1, coil",
        ] {
            assert!(flat.contains(piece), "`{piece}` is not in: {flat}");
        }
    }
}

#[test]
fn a_waveform_has_words_for_whoever_does_not_see_the_drawing() {
    let code = hidden_ohm::seed::ScenarioCode::new(hidden_ohm::seed::GENERATOR_VERSION, 1, 2, 77)
        .unwrap()
        .to_string();
    let script = "access bonnet\nclamp W11\nkey on\npump on\nwaveform\n";
    let rich = told(
        ["practice", &code, "--script", "-", "--units=metric"],
        "80",
        script,
    );
    let plain = told(
        ["practice", &code, "--script", "-", "--plain"],
        "80",
        script,
    );
    assert!(
        rich.contains("A |") && !plain.contains("A |"),
        "{rich}{plain}"
    );
    for told in [rich, plain] {
        let flat = told.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains("Over the first 13.2 ms"), "{flat}");
    }
}
