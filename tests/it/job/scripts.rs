//! Every vehicle worked once from work order to verified repair, by prompt lines as a learner types them.
//!
//! Each `tests/data/jobs/NAME.txt` belongs to `scenarios/jobs/NAME.toml`. No line may be refused, the road test after the
//! work must be clean, and the scorecard must say that it is fixed and verified without a danger on the way.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::Value;

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

fn scripts() -> Vec<PathBuf> {
    let folder = Path::new(ROOT).join("tests/data/jobs");
    let entries = std::fs::read_dir(&folder).expect("the folder of scripts");
    let mut found: Vec<PathBuf> = entries.map(|entry| entry.expect("a file").path()).collect();
    found.sort();
    found
}

fn job_of(script: &Path) -> PathBuf {
    let name = script.file_stem().expect("a name");
    Path::new(ROOT)
        .join("scenarios/jobs")
        .join(name)
        .with_extension("toml")
}

/// What the program answers to a script, object by object.
fn answers(script: &Path) -> Vec<Value> {
    let done = Command::new(env!("CARGO_BIN_EXE_hidden-ohm"))
        .arg("practice")
        .arg(job_of(script))
        .arg("--script")
        .arg(script)
        .arg("--json")
        .output()
        .expect("the program starts");
    let text = String::from_utf8(done.stdout).expect("text");
    let told = String::from_utf8_lossy(&done.stderr);
    assert!(done.status.success(), "{}: {told}", script.display());
    text.lines()
        .map(|line| serde_json::from_str(line).expect("an object a line"))
        .collect()
}

#[test]
fn every_job_worked_by_its_script_ends_fixed_and_verified() {
    let mut vehicles = BTreeSet::new();
    for script in scripts() {
        let name = script.display();
        let text = std::fs::read_to_string(job_of(&script)).expect("the job");
        let vehicle = text
            .lines()
            .find_map(|line| line.strip_prefix("vehicle = "));
        vehicles.insert(vehicle.expect("a vehicle").to_owned());
        let answers = answers(&script);
        for answer in &answers {
            assert_ne!(answer["ok"], false, "{name}: {answer}");
        }
        let card = &answers.last().expect("a scorecard")["scorecard"];
        let drive = answers
            .iter()
            .rev()
            .find(|answer| answer["line"] == "drive")
            .expect("a road test");
        let said = drive["said"].as_array().expect("words");
        let last = said.last().and_then(Value::as_str).unwrap_or_default();
        assert!(last.starts_with("It starts at once"), "{name}: {said:?}");
        let part = |wanted: &str| {
            let parts = card["parts"].as_array().expect("parts");
            let found = parts.iter().find(|part| part["part"] == wanted);
            let found = found.expect("a part of the marks");
            (found["points"].clone(), found["of"].clone())
        };
        for whole in ["outcome", "safety"] {
            let (points, of) = part(whole);
            assert_eq!(points, of, "{name}: {whole} of {card}");
        }
        assert!(card["total"].as_f64().expect("a total") > 70.0, "{name}");
    }
    assert!(vehicles.len() >= 5, "{vehicles:?}");
}
