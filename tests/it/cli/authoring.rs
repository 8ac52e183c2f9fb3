//! The walk of docs/authoring.md, done as it is written: a vehicle, a fault and a job as data in a folder of one's own.

use std::fs;
use std::path::Path;

use super::{Run, run};

/// The blocks of the walk, each as the kind of its fence and its lines.
fn blocks() -> Vec<(String, String)> {
    let page = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/authoring.md"));
    let page = page.expect("the page");
    let walk = page.split("## A walk").nth(1).expect("the walk");
    let fenced = walk.split("```").skip(1).step_by(2);
    fenced
        .map(|block| {
            let (kind, text) = block.split_once('\n').expect("a fence of its own line");
            (kind.to_owned(), text.to_owned())
        })
        .collect()
}

/// The block whose first line says that it is this file, or this part of it.
fn block(named: &str) -> String {
    let head = format!("# {named}");
    let found = blocks()
        .into_iter()
        .find(|(_, text)| text.lines().next() == Some(&head));
    found.unwrap_or_else(|| panic!("no block `{head}`")).1
}

/// The text with its first line that begins like each line of `new` replaced by that.
fn in_place(text: &str, new: &str) -> String {
    let mut lines: Vec<&str> = text.lines().collect();
    for line in new.lines().filter(|line| !line.starts_with('#')) {
        let key = &line[..=line.find('=').expect("a key")];
        let old = lines.iter_mut().find(|old| old.starts_with(key));
        *old.unwrap_or_else(|| panic!("no line begins with `{key}`")) = line;
    }
    lines.join("\n") + "\n"
}

fn vehicle() -> String {
    let van = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/vehicles/harbour-van.toml");
    let van = fs::read_to_string(van).expect("the harbour van");
    let van = in_place(&van, &block("own/vehicles/quay-van.toml, at the top"));
    let wire = "id = \"W16\"";
    let (before, after) = van.split_once(wire).expect("W16");
    let after = in_place(after, &block("own/vehicles/quay-van.toml, W16"));
    format!("{before}{wire}{after}")
}

/// A line of the walk's last block, to be run in a folder with the three files.
fn walked(command: &str, own: &[(&str, String)]) -> Run {
    let words: Vec<&str> = command.split(' ').skip(1).collect();
    let ran = run([]).with(&words).variable("HIDDEN_OHM_SCENARIOS", "own");
    for (name, text) in own {
        let path = ran.folder().join(name);
        fs::create_dir_all(path.parent().expect("a folder")).expect("a folder");
        fs::write(path, text).expect("a file");
    }
    ran
}

#[test]
fn the_walk_of_the_authors_page_gives_a_job_that_can_be_told_and_cured() {
    let own = [
        ("own/vehicles/quay-van.toml", vehicle()),
        ("own/faults/salt.toml", block("own/faults/salt.toml")),
        (
            "own/jobs/salt-on-the-slip.toml",
            block("own/jobs/salt-on-the-slip.toml"),
        ),
    ];
    let shell = blocks().into_iter().find(|(kind, _)| kind == "sh");
    let shell = shell.expect("the commands").1;
    let commands: Vec<&str> = shell.lines().collect();
    let [check, show, practice] = commands[..] else {
        panic!("three commands, not {commands:?}");
    };
    let checked = walked(check, &own).go();
    assert_eq!(
        (checked.status, checked.err.as_str()),
        (0, "3 files: nothing to put right\n"),
        "{}",
        checked.out
    );

    let shown = walked(show, &own).with(&["--json"]).go();
    let shown: serde_json::Value = serde_json::from_str(&shown.out).expect("JSON");
    assert_eq!(shown["vehicle"], "quay-van");
    assert_eq!(shown["faults"][0]["kind"], "salted-stud");
    assert_eq!(shown["certificate"]["holds"], true, "{shown}");

    // Half as much copper as the van it was made from: 0.5 m of 1.5 mm2 by ISO 6722 (12.7 mohm/m) is 6.4 mohm.
    let ladder = [
        "scenario",
        "ladder",
        "salt-on-the-slip",
        "--key",
        "on",
        "--pump",
        "on",
        "--json",
    ];
    let ladder = walked(&format!("hidden-ohm {}", ladder.join(" ")), &own).go();
    let ladder: serde_json::Value = serde_json::from_str(&ladder.out).expect("JSON");
    let branches = ladder["branches"].as_array().expect("branches");
    let wire = branches.iter().find(|branch| branch["part"] == "W16");
    let ohms = wire.expect("W16 carries")["ohms"].as_f64().expect("ohms");
    assert!((0.0055..0.0075).contains(&ohms), "{ohms}");

    let script = "stands\nprotect\nrepair G4\ndrive\nhandover\n";
    let worked = walked(practice, &own)
        .with(&["--script", "-", "--json"])
        .input(script)
        .go();
    assert_eq!(worked.status, 0, "{}", worked.err);
    let last = worked.out.lines().last().expect("a scorecard");
    assert!(last.contains("The fault itself was put right"), "{last}");
    assert!(
        last.contains("A road test after the last repair found nothing"),
        "{last}"
    );
}
