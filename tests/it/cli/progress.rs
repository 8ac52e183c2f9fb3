//! Progress over the attempts in the learner's folder.

use std::fs;

use super::{code, run};

fn told(out: &str) -> serde_json::Value {
    serde_json::from_str(out).expect("one object")
}

#[test]
fn finished_attempts_are_replayed_and_counted_and_others_are_named() {
    let none = run(["progress"]).go();
    assert_eq!((none.status, none.err.as_str()), (0, ""));
    assert!(
        none.out
            .contains("Nothing to go by yet: `hidden-ohm practice`"),
        "{}",
        none.out
    );

    let done = run(["practice", &code()])
        .input("key on\nhandover\n")
        .after(none)
        .go();
    assert_eq!(done.status, 0, "{}", done.err);
    let first = done.attempt();
    let left = run(["practice", &code()])
        .input("key on\n")
        .after(done)
        .go();
    let shown = run(["progress", "--json"]).after(left).go();
    assert_eq!(shown.status, 0, "{}", shown.err);
    assert!(
        shown.err.contains("Attempts left out: 1 unfinished."),
        "{}",
        shown.err
    );
    let once = told(&shown.out);
    assert_eq!(
        (once["jobs"].as_array().unwrap().len(), &once["rated"]),
        (1, &1.into())
    );
    assert_eq!(once["standing"]["practice_only"], true);
    assert!(once["next"]["level"].as_u64().unwrap() >= 1);

    let kept = shown.folder.path().join("state/progress.json");
    assert!(kept.exists(), "what was replayed is kept");
    let again = run(["progress", "--json"]).after(shown).go();
    assert_eq!(told(&again.out), once);
    fs::remove_file(&kept).unwrap();
    let anew = run(["progress", "--json"]).after(again).go();
    assert_eq!(told(&anew.out), once, "and can be made again");

    let words = run(["progress"]).after(anew).go();
    for piece in [
        "PROGRESS  1 job",
        "Practice only",
        "levels are ordered, not calibrated",
        "% [",
        "Practise next",
    ] {
        assert!(
            words.out.contains(piece),
            "`{piece}` is not in: {}",
            words.out
        );
    }
    let plain = run(["progress", "--plain"]).after(words).go();
    assert!(!plain.out.contains("% ["), "{}", plain.out);

    let changed = fs::read_to_string(&first)
        .unwrap()
        .replace("\"key on\"", "\"key run\"");
    fs::write(&first, changed).unwrap();
    let ran = run(["progress", "--json"]).after(plain).go();
    assert!(ran.err.contains("1 that cannot be trusted"), "{}", ran.err);
    assert!(told(&ran.out)["jobs"].as_array().unwrap().is_empty());
}

#[test]
fn practice_without_a_code_picks_a_job_that_suits() {
    let ran = run(["practice"]).input("quit\n").go();
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert!(
        ran.out.contains("level 1"),
        "a newcomer begins at level 1: {}",
        ran.out
    );
    let asked = run([
        "practice",
        "--level",
        "2",
        "--vehicle",
        "harbour-van",
        "--script",
        "-",
    ])
    .go();
    assert!(asked.out.contains("level 2"), "{}", asked.out);
}
