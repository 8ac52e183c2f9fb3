//! The `scenario` commands.

use std::fs;
use std::path::Path;

use super::{Run, code, run};

#[test]
fn new_codes_are_fresh_and_open() {
    let ran = run(["scenario", "new", "--count", "3", "--level", "2"]).go();
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    let codes: Vec<&str> = ran.out.lines().collect();
    assert_eq!(codes.len(), 3);
    for code in codes {
        let shown = run(["scenario", "show", code, "--json"]).go();
        let shown: serde_json::Value = serde_json::from_str(&shown.out).unwrap();
        assert_eq!(
            (shown["code"].as_str(), shown["level"].as_u64()),
            (Some(code), Some(2))
        );
        assert!(
            shown.get("faults").is_none(),
            "the truth is only told when it is asked for"
        );
    }
}

#[test]
fn the_truth_of_a_scenario_is_told_when_it_is_asked_for() {
    let ran = run(["scenario", "show", &code(), "--json", "--reveal"]).go();
    let shown: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    assert!(!shown["faults"].as_array().unwrap().is_empty(), "{shown}");
    assert!(!shown["cures"].as_array().unwrap().is_empty(), "{shown}");
    assert!(shown.get("certificate").is_some());
}

#[test]
fn files_are_checked_as_what_they_are() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let van = root
        .join("scenarios/vehicles/harbour-van.toml")
        .display()
        .to_string();
    let faults = root
        .join("scenarios/faults/control.toml")
        .display()
        .to_string();
    let ground = root
        .join("tests/data/score/ground.toml")
        .display()
        .to_string();
    run(["scenario", "check", &van, &ground])
        .go()
        .assert(0, "", "2 files: nothing to put right\n");
    run(["scenario", "check", &faults])
        .go()
        .assert(0, "", "1 file: nothing to put right\n");
    let folder = root.join("scenarios/faults");
    for entry in fs::read_dir(folder).unwrap() {
        let piece = entry.unwrap().path().display().to_string();
        run(["scenario", "check", &piece])
            .go()
            .assert(0, "", "1 file: nothing to put right\n");
    }
    let cure = built_in("faults/tank.toml").replacen("replace PUMP", "replace PUMPE", 1);
    let ran = run(["scenario", "check", "cure.toml"])
        .file("cure.toml", &cure.replace("id = \"", "id = \"own-"))
        .go();
    assert!(
        ran.out
            .contains("no vehicle has a part `PUMPE`; did you mean `PUMP`?"),
        "{}",
        ran.out
    );
    let ran = run(["scenario", "check", "bad.toml"])
        .file("bad.toml", "format = 1\nfoo = 2\n")
        .go();
    assert_eq!(ran.status, 3);
    assert!(
        ran.out
            .lines()
            .any(|line| line.starts_with("bad.toml:2:1: ")),
        "{}",
        ran.out
    );
    let ran = run(["practice", "bad.toml"])
        .file("bad.toml", "format = 1\nfoo = 2\n")
        .go();
    assert!(
        ran.err
            .lines()
            .any(|line| line.starts_with("bad.toml:2:1: ")),
        "{}",
        ran.err
    );
    assert_eq!(
        (ran.status, ran.folder.path().join("state").exists()),
        (3, false)
    );
    let broken = run(["scenario", "check", "-"]).input("format = \n").go();
    assert_eq!(broken.status, 3);
    assert!(
        broken.out.starts_with("standard input:1:"),
        "{}",
        broken.out
    );
}

#[test]
fn a_missing_file_does_not_hide_what_is_wrong_in_the_others() {
    let ran = run([
        "scenario",
        "check",
        "bad.toml",
        "missing.toml",
        "worse.toml",
    ])
    .file("bad.toml", "format = 1\nfoo = 2\n")
    .file("worse.toml", "format = \n")
    .go();
    assert_eq!(ran.status, 4);
    for place in ["bad.toml:2:1: ", "worse.toml:1:"] {
        let told = ran.out.lines().any(|line| line.starts_with(place));
        assert!(told, "{place} is not in: {}", ran.out);
    }
    assert!(ran.err.contains("missing.toml"), "{}", ran.err);
}

#[test]
fn every_job_and_vehicle_file_is_built_in_and_listed() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let listed = run(["scenario", "list", "--json"]).go();
    let listed: serde_json::Value = serde_json::from_str(&listed.out).unwrap();
    let ids = |key: &str, of: &dyn Fn(&serde_json::Value) -> String| {
        let mut all: Vec<String> = listed[key].as_array().unwrap().iter().map(of).collect();
        all.sort();
        all
    };
    let files = |folder: &str| {
        let mut names: Vec<String> = fs::read_dir(root.join("scenarios").join(folder))
            .unwrap()
            .map(|entry| {
                let path = entry.unwrap().path();
                path.file_stem().unwrap().to_string_lossy().into_owned()
            })
            .collect();
        names.sort();
        names
    };
    let text = |value: &serde_json::Value| value.as_str().unwrap().to_owned();
    assert_eq!(ids("jobs", &text), files("jobs"));
    assert_eq!(
        ids("vehicles", &|value| text(&value["id"])),
        files("vehicles")
    );
}

#[test]
fn a_job_is_worked_by_its_name() {
    let ran = run(["practice", "Second-Fuse", "--script", "-"]).go();
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    assert!(ran.out.contains("fish market"), "{}", ran.out);
    run(["practice", "second-fus", "--script", "-"])
        .go()
        .assert_fails(3, &["no job `second-fus`", "did you mean second-fuse?"]);
}

/// The text of a built-in file under `scenarios`.
fn built_in(path: &str) -> String {
    fs::read_to_string(
        Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("scenarios")
            .join(path),
    )
    .unwrap()
}

/// A run with a folder of own scenario files; `files` are given by their place in it.
fn with_own<const N: usize>(arguments: [&str; N], files: &[(&str, &str)]) -> Run {
    let ran = run(arguments).variable("HIDDEN_OHM_SCENARIOS", "own");
    for (path, text) in files {
        let path = ran.folder().join("own").join(path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }
    ran
}

#[test]
fn a_folder_of_ones_own_adds_vehicles_faults_and_jobs() {
    let van = built_in("vehicles/harbour-van.toml").replacen("\"harbour-van\"", "\"my-van\"", 1);
    let fault = "format = 1\n\n".to_owned()
        + built_in("faults/wiring.toml")
            .split("[[fault]]")
            .find(|kind| kind.contains("chafed-to-body"))
            .map(|kind| format!("[[fault]]{}", kind.replace("chafed-to-body", "my-chafe")))
            .unwrap()
            .as_str();
    let job = built_in("jobs/second-fuse.toml")
        .replace("\"harbour-van\"", "\"my-van\"")
        .replace("chafed-to-body", "my-chafe");
    let files = [
        ("vehicles/my-van.toml", van.as_str()),
        ("faults/mine.toml", fault.as_str()),
        ("jobs/my-job.toml", job.as_str()),
    ];
    let shown = with_own(["scenario", "show", "my-job", "--json", "--reveal"], &files).go();
    assert_eq!((shown.status, shown.err.as_str()), (0, ""));
    let shown: serde_json::Value = serde_json::from_str(&shown.out).unwrap();
    assert_eq!(
        (
            shown["vehicle"].as_str(),
            shown["faults"][0]["kind"].as_str()
        ),
        (Some("my-van"), Some("my-chafe"))
    );
    let alone = run(["scenario", "show", &code(), "--json", "--reveal"]).go();
    let beside = with_own(["scenario", "show", &code(), "--json", "--reveal"], &files).go();
    assert_eq!(
        alone.out, beside.out,
        "a code means the same whatever is in the folder"
    );
    let schema = with_own(["scenario", "schema"], &files).go().out;
    assert!(
        schema.contains("\"my-van\"") && schema.contains("\"my-chafe\""),
        "{schema}"
    );
    let listed = with_own(["scenario", "list"], &files).go();
    assert!(
        listed.out.contains("my-van") && listed.out.contains("my-job"),
        "{}",
        listed.out
    );
}

#[test]
fn what_is_wrong_in_a_folder_of_ones_own_is_told_with_its_place() {
    let job = built_in("jobs/second-fuse.toml");
    let of_bad = job.replace("\"harbour-van\"", "\"bad-van\"");
    let files = [
        ("jobs/mine.toml", of_bad.as_str()),
        ("jobs/sound.toml", job.as_str()),
        ("vehicles/bad.toml", "format = 1\nfoo = 2\n"),
        ("faults/bad.toml", "format = 1\nfoo = 2\n"),
    ];
    let ran = with_own(["practice", "mine", "--script", "-"], &files).go();
    ran.assert_fails(
        3,
        &[
            "own/vehicles/bad.toml:2:1: ",
            "no vehicle is called `bad-van`",
        ],
    );
    // What does not need the broken files is not stopped by them.
    for job in ["hill-past-the-chapel", "sound"] {
        let ran = with_own(["practice", job, "--script", "-"], &files).go();
        assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    }
    let listed = with_own(["scenario", "list"], &files).go();
    assert_eq!(listed.status, 0, "{}", listed.err);
    for told in [
        "own/vehicles/bad.toml:2:1: ",
        "own/faults/bad.toml:2:1: ",
        "it is left out until then",
    ] {
        assert!(listed.err.contains(told), "{told}: {}", listed.err);
    }
    assert!(listed.out.contains("harbour-van"), "{}", listed.out);
    let van = built_in("vehicles/harbour-van.toml");
    let line = van
        .lines()
        .position(|line| line.starts_with("id = "))
        .unwrap()
        + 1;
    let files = [
        ("jobs/mine.toml", job.as_str()),
        ("vehicles/same.toml", van.as_str()),
    ];
    let ran = with_own(["practice", "mine", "--script", "-"], &files).go();
    ran.assert_fails(
        3,
        &[&format!(
            "own/vehicles/same.toml:{line}:1: there is a vehicle `harbour-van` already"
        )],
    );
    run(["scenario", "list"])
        .variable("HIDDEN_OHM_SCENARIOS", "nowhere")
        .go()
        .assert_fails(4, &["HIDDEN_OHM_SCENARIOS names nowhere"]);
}

/// With no steady state the ladder cannot be what a meter shows, and says so.
#[test]
fn a_ladder_says_when_a_relay_chatters() {
    let ground = include_str!("../../data/scenarios/corroded-ground.toml");
    let link = ground
        .replace("corroded-ground", "poor-link-joint")
        .replace("part = \"G4\"", "part = \"FL1\"");
    for (ohms, chatters) in [("0.5 ohm", false), ("1.2 ohm", true)] {
        let job = link.replace("2 ohm", ohms);
        let told = |more: &[&str]| {
            let ran = run(["scenario", "ladder", "job.toml", "--key", "run"]);
            ran.with(more).file("job.toml", &job).go()
        };
        let text = told(&[]).out;
        assert_eq!(text.starts_with("A relay chatters"), chatters, "{text}");
        let json: serde_json::Value = serde_json::from_str(&told(&["--json"]).out).expect("JSON");
        assert_eq!(json["chattering"], chatters);
    }
}
