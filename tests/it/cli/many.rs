//! Many codes at once, and what is said of files that can be read but not told.

use hidden_ohm::vehicle::Kind;
use serde_json::Value;

use super::run;

#[test]
fn the_same_seeds_give_the_same_codes_for_any_number_of_threads() {
    let codes = |threads| {
        run([
            "scenario",
            "new",
            "--count",
            "12",
            "--level",
            "2",
            "--theme",
            "ground",
            "--from",
            "70",
            "--threads",
            threads,
        ])
        .go()
    };
    let (one, two) = (codes("1"), codes("2"));
    assert_eq!((one.status, one.err.as_str()), (0, ""));
    assert_eq!(one.out, two.out);
    let lines: Vec<&str> = one.out.lines().collect();
    assert_eq!(lines.len(), 12);
    for line in &lines {
        let shown = run(["scenario", "show", line, "--json", "--reveal"]).go();
        let shown: Value = serde_json::from_str(&shown.out).expect("an object");
        let section = shown["faults"][0]["section"].as_str().expect("a section");
        assert!(
            section == "ground side" || section == "body ground",
            "{line}: {section}"
        );
        assert_eq!(shown["certificate"]["holds"], true, "{line}");
    }
}

#[test]
fn a_survey_counts_what_its_codes_give_for_any_number_of_threads() {
    let survey = |threads| {
        run([
            "scenario",
            "survey",
            "--count",
            "40",
            "--from",
            "5",
            "--threads",
            threads,
            "--json",
        ])
        .go()
    };
    let (one, two) = (survey("1"), survey("2"));
    assert_eq!((one.status, &one.out), (0, &two.out));
    let told: Value = serde_json::from_str(&one.out).expect("an object");
    let sum = |key: &str| -> u64 {
        let counts = told[key].as_object().expect("counts");
        counts.values().filter_map(Value::as_u64).sum()
    };
    assert_eq!(told["codes"], 40);
    assert_eq!(sum("vehicles"), 40);
    assert_eq!(sum("themes"), 40);
    assert_eq!(told["failed"].as_array().map(Vec::len), Some(0));
    let levels = told["levels"].as_array().expect("levels");
    assert!(levels.iter().all(|level| level["codes"] == 8), "{levels:?}");
    let words = run([
        "scenario", "survey", "--count", "5", "--from", "5", "--level", "3",
    ])
    .go();
    assert!(words.out.starts_with("5 codes, "), "{}", words.out);
    assert!(words.out.contains("rank correlation"), "{}", words.out);
}

/// A bad ground that only a few tests may be used on.
fn job(allowed: &str) -> String {
    format!(
        "format = 1\nvehicle = \"harbour-van\"\nlevel = 2\nseed = 7\ncustomer = \"Have a look.\"\n{allowed}\
         [conditions]\nambient = \"12 C\"\ncharge = \"90 %\"\nfuel = \"50 %\"\n\
         [[fault]]\nkind = \"corroded-ground\"\npart = \"G4\"\nseverity = \"0.5 ohm\"\n"
    )
}

#[test]
fn a_scenario_whose_tests_cannot_tell_its_fault_is_warned_of_and_passes() {
    let open = run(["scenario", "check", "job.toml"])
        .file("job.toml", &job(""))
        .go();
    assert_eq!((open.status, open.out.as_str()), (0, ""));
    // Without a point between splice and ground point nothing tells the one from the other.
    let allowed = "allowed = [\"B+\", \"X7.1\", \"X7.2\"]\n";
    let narrow = run(["scenario", "check", "job.toml"])
        .file("job.toml", &job(allowed))
        .go();
    assert_eq!(narrow.status, 0);
    let first = narrow.out.lines().next().expect("a warning");
    assert!(
        first.starts_with("job.toml:11:1: warning: corroded-ground on G4"),
        "{first}"
    );
    assert!(narrow.out.contains("cannot be told from"), "{}", narrow.out);
    assert!(
        narrow.out.contains("with the tests you allow"),
        "{}",
        narrow.out
    );
    let wrong = run(["scenario", "check", "job.toml"])
        .file("job.toml", &job("allowed = [\"X7.11\"]\n"))
        .go();
    assert_eq!(wrong.status, 3);
    assert!(wrong.out.starts_with("job.toml:6:12: "), "{}", wrong.out);
    assert!(wrong.out.contains("did you mean `X7.1`"), "{}", wrong.out);
}

#[test]
fn the_schemas_are_json_and_know_the_vehicles_and_the_faults() {
    let told = |of: &str| -> Value {
        let ran = run(["scenario", "schema", of]).go();
        assert_eq!(ran.status, 0, "{}", ran.err);
        serde_json::from_str(&ran.out).expect("a schema")
    };
    let scenario = told("scenario");
    let vehicles = &scenario["properties"]["vehicle"]["enum"];
    assert!(
        vehicles
            .as_array()
            .expect("names")
            .contains(&"harbour-van".into())
    );
    let kinds = &scenario["properties"]["fault"]["items"]["properties"]["kind"]["enum"];
    assert!(
        kinds
            .as_array()
            .expect("names")
            .contains(&"corroded-ground".into())
    );
    let vehicle = told("vehicle");
    for (_, kind) in Kind::NAMES {
        let part = &vehicle["properties"][kind]["items"];
        assert_eq!(part["additionalProperties"], false, "{kind}");
        assert!(part["properties"]["looks"].is_object(), "{kind}");
    }
    let pin = &vehicle["properties"]["connector"]["items"]["properties"]["pin"]["items"];
    assert_eq!(pin["required"], serde_json::json!(["number", "from", "to"]));
    let fault = &told("faults")["properties"]["fault"]["items"];
    assert_eq!(fault["additionalProperties"], false);
}
