//! The debrief in its three faces, and hints and guidance at the prompt.

use super::run;

/// A job with a bad ground stud, whose customer's words would do harm on a page that did not escape them.
const JOB: &str = r#"format = 1
vehicle = "harbour-van"
name = "Dunlin"
level = 2
seed = 11
customer = "It fades <script>alert('x')</script> & \"stops\"."

[conditions]
ambient = "12 C"
charge = "90 %"
fuel = "40 %"

[[fault]]
kind = "corroded-ground"
part = "G4"
severity = "0.6 ohm"
"#;

const WORK: &str = "protect\naccess bonnet\nhint\nkey on\npump on\nvolts FB.2 B-\nkey off\naccess underbody\nstands\nleads extension 5 m 1.0 mm2\nkey on\npump on\n\
    volts G4 B-\ncall ground side bad\nrepair G4\ndrive\nhandover\n";

#[test]
fn one_attempt_is_told_in_words_as_json_and_as_a_page() {
    let words = run([
        "practice",
        "job.toml",
        "--script",
        "-",
        "--attempt",
        "a.jsonl",
    ])
    .file("job.toml", JOB)
    .input(WORK)
    .go();
    assert_eq!(words.status, 0, "{}{}", words.out, words.err);
    assert!(!words.out.contains("error: "), "{}", words.out);
    for heading in [
        "SCORECARD",
        "WHAT WAS WRONG",
        "Where the volts went",
        "Outcome and method",
        "What each action told and cost",
        "What could be believed",
        "What the job should have cost",
        "Pressure at the rail at the end of the first prime",
        "Practise next",
        "Certificate",
    ] {
        assert!(
            words.out.contains(heading),
            "`{heading}` is not in: {}",
            words.out
        );
    }

    let json = run(["debrief", "a.jsonl", "--json"]).after(words).go();
    let told: serde_json::Value = serde_json::from_str(&json.out).expect("one object");
    assert_eq!(told["scorecard"]["of"], 100);
    assert_eq!(told["debrief"]["hidden"][0]["part"], "G4");
    let actions = told["review"]["actions"].as_array().unwrap().len();
    assert!(actions > 8, "{actions} actions");
    let rise = |which: &str| {
        told["pressure_rise"][which]
            .as_array()
            .unwrap()
            .last()
            .unwrap()["kpa"]
            .as_f64()
            .unwrap()
    };
    assert!(
        rise("came") < rise("healthy"),
        "0.6 ohm in the ground costs pressure"
    );

    let page = run(["debrief", "a.jsonl", "--html", "-"]).after(json).go();
    assert_eq!((page.status, page.err.as_str()), (0, ""));
    for section in [
        "hidden",
        "volts",
        "pressure",
        "belief",
        "actions",
        "certificate",
        "marks",
        "practise",
    ] {
        assert!(
            page.out.contains(&format!("<section id=\"{section}\"")),
            "{section}"
        );
    }
    assert!(
        !page.out.contains("<script"),
        "what a customer said is text"
    );
    assert!(
        page.out
            .contains("&lt;script&gt;alert('x')&lt;/script&gt; &amp; &quot;stops&quot;")
    );
    assert!(
        !page.out.contains("http://") && !page.out.contains("https://"),
        "no network"
    );
    let pictures = page
        .out
        .matches("<svg role=\"img\" aria-labelledby=")
        .count();
    assert_eq!((pictures, page.out.matches("<svg").count()), (3, 3));
    for number in 1..=actions {
        assert!(
            page.out.contains(&format!("id=\"action-{number}\"")),
            "action {number}"
        );
    }
}

#[test]
fn a_hint_says_more_each_time_until_something_is_done() {
    let ran = run(["practice", "job.toml", "--script", "-", "--json"])
        .file("job.toml", JOB)
        .input("hint\nhint\nhint\nkey on\nhint\nhint reading\n")
        .go();
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    let said: Vec<String> = ran
        .out
        .lines()
        .map(|line| serde_json::from_str::<serde_json::Value>(line).unwrap()["said"].to_string())
        .collect();
    for (said, cost) in [
        (0, "1 point"),
        (1, "2 points"),
        (2, "4 points"),
        (4, "1 point"),
        (5, "4 points"),
    ]
    .map(|(index, cost)| (&said[index], cost))
    {
        assert!(
            said.contains(&format!("This takes {cost} off the marks")),
            "{said}"
        );
    }
}

#[test]
fn guided_work_says_what_could_still_be_wrong_and_says_it_once() {
    let ran = run(["practice", "job.toml", "--guided", "--script", "-"])
        .file("job.toml", JOB)
        .input("protect\naccess bonnet\nkey on\nguide off\nkey off\n")
        .go();
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    let guided: Vec<&str> = ran
        .out
        .lines()
        .filter(|line| line.contains("Guide: trouble by now in"))
        .collect();
    assert!((2..=4).contains(&guided.len()), "{}", ran.out);
    let after = ran.out.split("guide off\n").nth(1).unwrap();
    assert!(
        after.contains("The guide is quiet.") && !after.contains("Guide:"),
        "{after}"
    );
}

#[test]
fn an_attempt_with_hints_and_guidance_replays() {
    let begun = run(["practice", "job.toml", "--guided"])
        .file("job.toml", JOB)
        .input("hint\nkey on\nhint\n")
        .go();
    assert_eq!(begun.status, 0, "{}", begun.err);
    let again = run(["resume"]).input("hint\n").after(begun).go();
    assert_eq!(again.status, 0, "{}", again.err);
    assert!(again.err.contains("4 actions done so far"), "{}", again.err);
    assert!(
        again.out.contains("which kind of test") || again.out.contains("would tell most"),
        "{}",
        again.out
    );
}
