//! What is printed fits what the vehicle pumps.

use std::process::Command;

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

/// Everything the program prints while a job is worked by its script.
fn printed(job: &str) -> String {
    let done = Command::new(env!("CARGO_BIN_EXE_hidden-ohm"))
        .args(["practice", job, "--script"])
        .arg(format!("{ROOT}/tests/data/jobs/{job}.txt"))
        .output()
        .expect("the program starts");
    String::from_utf8(done.stdout).expect("text").to_lowercase()
}

fn words(text: &str) -> impl Iterator<Item = &str> {
    text.split(|letter: char| !letter.is_alphabetic())
}

#[test]
fn work_on_a_cooling_circuit_speaks_of_coolant_and_never_of_fuel() {
    let text = printed("red-below-the-upper-farm");
    for word in [
        "fuel",
        "petrol",
        "rail",
        "injector",
        "injectors",
        "regulator",
        "vapour",
    ] {
        let line = text
            .lines()
            .find(|line| words(line).any(|found| found == word));
        assert_eq!(line, None, "`{word}`");
    }
    // The one tank there is holds coolant.
    let tanks = text.matches("tank").count();
    assert_eq!(
        tanks,
        text.matches("expansion tank").count() + text.matches("expansion  tank").count()
    );
    assert!(text.contains("coolant") && text.contains("scald"), "{text}");
}
