//! What is kept on disk, and what happens to it.

use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::process::{Command, Stdio};

use hidden_ohm::record::Attempt;
use tempfile::TempDir;

use super::{code, run};

#[test]
fn work_from_a_pipe_is_recorded_resumed_and_read_back() {
    let begun = run(["practice", &code()])
        .input("access bonnet\nvolts B+ B-\n")
        .go();
    assert_eq!(begun.status, 0, "{}", begun.err);
    assert!(begun.err.contains("hidden-ohm resume"), "{}", begun.err);
    let path = begun.attempt();
    let rows = fs::read_to_string(&path).unwrap();
    assert_eq!(rows.lines().count(), 3, "a header and two actions: {rows}");
    let early = run(["debrief", &path]).after(begun).go();
    early.assert_fails(1, &["has not been handed back yet", "resume"]);
    let ended = run(["resume"]).input("handover\n").after(early).go();
    assert_eq!(ended.status, 0, "{}", ended.err);
    assert!(ended.err.contains("2 actions done so far"), "{}", ended.err);
    let marked = run(["debrief", &path, "--json"]).after(ended).go();
    assert_eq!((marked.status, marked.err.as_str()), (0, ""));
    let scorecard: serde_json::Value = serde_json::from_str(&marked.out).unwrap();
    assert_eq!(scorecard["scorecard"]["of"], 100);
    assert!(
        !scorecard["debrief"]["hidden"]
            .as_array()
            .unwrap()
            .is_empty()
    );
    let again = run(["resume", &path]).after(marked).go();
    again.assert_fails(3, &["has been handed back", "debrief"]);
    run(["resume"])
        .after(again)
        .go()
        .assert_fails(1, &["no unfinished attempt", "practice"]);
}

#[test]
#[cfg(unix)]
fn a_record_belongs_to_its_owner_alone() {
    use std::os::unix::fs::PermissionsExt;
    let ran = run(["practice", &code()]).input("order\n").go();
    let mode = fs::metadata(ran.attempt()).unwrap().permissions().mode();
    assert_eq!(mode & 0o777, 0o600);
}

#[test]
fn a_torn_tail_is_done_again_if_its_line_is_there_and_dropped_if_not() {
    let begun = run(["practice", &code()])
        .input("access bonnet\nvolts B+ B-\n")
        .go();
    let path = begun.attempt();
    let whole = fs::read_to_string(&path).unwrap();
    fs::write(&path, &whole[..whole.len() - 10]).unwrap();
    let ran = run(["resume"]).after(begun).go();
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert!(
        ran.err.contains("`volts B+ B-` has been done again"),
        "{}",
        ran.err
    );
    assert_eq!(
        fs::read_to_string(&path).unwrap(),
        whole,
        "the same line gives the same record"
    );
    let second = whole.match_indices('\n').nth(1).unwrap().0 + 1;
    fs::write(&path, &whole[..second + 16]).unwrap();
    let ran = run(["resume"]).input("volts B+ B-\n").after(ran).go();
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert!(ran.err.contains("it has been dropped"), "{}", ran.err);
    assert_eq!(fs::read_to_string(&path).unwrap(), whole);
}

#[test]
fn a_stop_between_handing_back_and_the_closing_line_is_mended() {
    let begun = run(["practice", &code()])
        .input("access bonnet\nhandover\n")
        .go();
    let path = begun.attempt();
    let whole = fs::read_to_string(&path).unwrap();
    let closing = whole.trim_end().rfind('\n').unwrap() + 1;
    for end in [closing, closing + 20] {
        fs::write(&path, &whole[..end]).unwrap();
        let ran = run(["resume", &path])
            .variable("HIDDEN_OHM_HOME", "elsewhere")
            .go();
        assert_eq!(ran.status, 0, "{}", ran.err);
        assert_eq!(fs::read_to_string(&path).unwrap(), whole);
    }
}

#[test]
fn a_program_that_is_killed_loses_no_answer_it_gave() {
    let home = TempDir::new().unwrap();
    let path = home.path().join("a.jsonl");
    let mut child = Command::new(env!("CARGO_BIN_EXE_hidden-ohm"))
        .args(["practice", &code(), "--attempt"])
        .arg(&path)
        .env("HIDDEN_OHM_HOME", home.path())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    child.stdin.as_mut().unwrap().write_all(b"clock\n").unwrap();
    let answer = BufReader::new(child.stdout.take().unwrap())
        .lines()
        .map(Result::unwrap);
    let seen = answer
        .take_while(|line| !line.contains("spent, key off"))
        .count();
    assert!(seen > 3, "the work order comes first");
    child.kill().unwrap();
    child.wait().unwrap();
    let attempt = Attempt::read(&fs::read(&path).unwrap()).unwrap();
    assert_eq!((attempt.entries.len(), attempt.torn.len()), (1, 0));
}

#[test]
fn a_changed_record_is_refused_naming_the_line_and_left_alone() {
    let begun = run(["practice", &code()])
        .input("access bonnet\nvolts B+ B-\n")
        .go();
    let path = begun.attempt();
    let changed = fs::read_to_string(&path)
        .unwrap()
        .replace("volts B+ B-", "volts B- B+");
    fs::write(&path, &changed).unwrap();
    let ran = run(["resume", &path]).after(begun).go();
    ran.assert_fails(1, &["line 3:", "left as it is"]);
    assert_eq!(fs::read_to_string(&path).unwrap(), changed);
}

#[test]
fn an_attempt_is_never_written_over() {
    let first = run([
        "practice",
        &code(),
        "--script",
        "-",
        "--attempt",
        "mine.jsonl",
    ])
    .input("order\n")
    .go();
    assert_eq!(first.status, 0, "{}", first.err);
    let before = fs::read(first.folder.path().join("mine.jsonl")).unwrap();
    let second = run([
        "practice",
        &code(),
        "--script",
        "-",
        "--attempt",
        "mine.jsonl",
    ])
    .input("clock\n")
    .after(first)
    .go();
    second.assert_fails(4, &["mine.jsonl", "exists", "resume"]);
    assert_eq!(
        fs::read(second.folder.path().join("mine.jsonl")).unwrap(),
        before
    );
}

#[test]
fn a_folder_that_cannot_be_written_is_said_before_the_work_starts() {
    let ran = run(["practice", &code()])
        .file("blocked", "a file, no folder")
        .variable("HIDDEN_OHM_HOME", "blocked")
        .go();
    ran.assert_fails(4, &["blocked", "HIDDEN_OHM_HOME", "--attempt"]);
    let ran = run(["practice", &code(), "--attempt", "no/such/folder/a.jsonl"]).go();
    ran.assert_fails(4, &["no/such/folder/a.jsonl"]);
}

#[test]
fn two_programs_do_not_work_on_one_attempt() {
    let begun = run(["practice", &code()]).input("order\n").go();
    let path = begun.attempt();
    let held = fs::File::open(&path).unwrap();
    held.lock().unwrap();
    let ran = run(["resume", &path]).after(begun).go();
    ran.assert_fails(4, &["being worked on by another program"]);
}
