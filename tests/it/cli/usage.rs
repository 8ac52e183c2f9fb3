//! Help, usage, exit codes, colour, width.

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};

use tempfile::TempDir;

use super::{code, run};

#[test]
fn clap_finds_nothing_wrong_with_the_command_line() {
    hidden_ohm::cli::command().debug_assert();
}

#[test]
fn help_and_version_go_to_standard_output_and_end_well() {
    let help = run(["--help"]).go();
    assert_eq!((help.status, help.err.as_str()), (0, ""));
    assert!(
        help.out.contains("Exit codes: 0 done") && help.out.contains("practice"),
        "{}",
        help.out
    );
    let version = run(["--version"]).go();
    version.assert(
        0,
        concat!("hidden-ohm ", env!("CARGO_PKG_VERSION"), "\n"),
        "",
    );
}

#[test]
fn wrong_usage_ends_with_2_and_says_what_to_do() {
    run([]).go().assert_fails(2, &["Usage:", "practice"]);
    run(["practise"])
        .go()
        .assert_fails(2, &["unrecognized subcommand", "practice"]);
    run(["practice", "--level", "6"])
        .go()
        .assert_fails(2, &["1..=5"]);
    run(["practice", "--json"])
        .go()
        .assert_fails(2, &["--script"]);
    run(["practice", "--vehicle", "harbor-van", "--script", "-"])
        .go()
        .assert_fails(2, &["harbour-van"]);
    run(["scenario", "new", "--theme", "grund"])
        .go()
        .assert_fails(2, &["similar value exists: 'ground'"]);
    run(["practice", "-", "--script", "-"])
        .go()
        .assert_fails(2, &["both"]);
    run(["wire", "--size", "1.5", "--length", "5 m"])
        .go()
        .assert_fails(2, &["1.5 mm2"]);
}

#[test]
fn a_bad_code_or_file_ends_with_3_and_a_missing_file_with_4() {
    let mut wrong = code();
    wrong.replace_range(0..1, if wrong.starts_with('2') { "3" } else { "2" });
    run(["practice", &wrong])
        .go()
        .assert_fails(3, &["one symbol is wrong or two are swapped"]);
    run(["scenario", "show", "nowhere"])
        .go()
        .assert_fails(3, &["neither a file, a job nor a scenario code"]);
    run(["scenario", "show", "nowhere.toml"])
        .go()
        .assert_fails(4, &["nowhere.toml", "no such file"]);
    let later = hidden_ohm::seed::ScenarioCode::new(9, 0, 1, 7)
        .unwrap()
        .to_string();
    run(["practice", &later])
        .go()
        .assert_fails(3, &["needs generator version 9"]);
}

#[test]
fn nothing_is_wider_than_the_window() {
    for width in [40, 60, 80] {
        let ran = run(["practice", &code(), "--script", "-"])
            .variable("COLUMNS", &width.to_string())
            .input(
                "help\nhelp volts\norder\nvolts\nreckon 5 m 1.0 mm2 4 A\nprices\ndiagram\naccess bonnet\nclamp W11\n\
                 key on\npump on\nwaveform\n",
            )
            .go();
        assert_eq!(ran.status, 0, "{}", ran.err);
        let widest = ran
            .out
            .lines()
            .max_by_key(|line| line.chars().count())
            .unwrap();
        assert!(widest.chars().count() <= width, "{width}: {widest}");
    }
}

#[test]
fn colour_comes_only_when_asked_for() {
    let plain = run(["wire", "--size", "1 mm2", "--length", "1 m"]).go();
    assert!(!plain.out.contains('\u{1b}'));
    let coloured = run([
        "wire", "--size", "1 mm2", "--length", "1 m", "--color", "always",
    ])
    .go();
    assert!(coloured.out.contains('\u{1b}'));
    let both = run([
        "wire", "--size", "1 mm2", "--length", "1 m", "--color", "always", "--plain",
    ])
    .go();
    assert_eq!(both.out, plain.out);
    let stripped: String = coloured
        .out
        .split('\u{1b}')
        .enumerate()
        .map(|(i, s)| {
            if i == 0 {
                s
            } else {
                s.split_once('m').unwrap().1
            }
        })
        .collect();
    assert_eq!(stripped, plain.out, "nothing is said by colour alone");
}

#[test]
fn completions_and_manual_pages_are_written() {
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let ran = run(["completions", shell]).go();
        assert_eq!((ran.status, ran.err.as_str()), (0, ""));
        assert!(ran.out.contains("hidden-ohm"));
    }
    let ran = run(["manual", "pages"]).go();
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    let pages = ran.folder.path().join("pages");
    assert!(
        pages.join("hidden-ohm.1").exists() && pages.join("hidden-ohm-practice.1").exists(),
        "{}",
        ran.out
    );
    assert!(ran.out.lines().all(|line| {
        Path::new(line)
            .extension()
            .is_some_and(|extension| extension == "1")
    }));
}
#[test]
fn a_reader_that_goes_away_is_no_error() {
    let home = TempDir::new().unwrap();
    let script = "help\n".repeat(2000);
    fs::write(home.path().join("script"), script).unwrap();
    let mut child = Command::new(env!("CARGO_BIN_EXE_hidden-ohm"))
        .args(["practice", &code(), "--script", "script"])
        .current_dir(home.path())
        .env("HIDDEN_OHM_HOME", home.path())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!(
        (
            output.status.code(),
            String::from_utf8_lossy(&output.stderr).as_ref()
        ),
        (Some(0), "")
    );
}

#[test]
fn a_bug_of_ours_ends_with_70_and_an_apology_without_a_stack_trace() {
    let code = hidden_ohm::cli::guarded(|| panic!("a test of the guard"));
    assert_eq!(
        format!("{code:?}"),
        format!(
            "{:?}",
            std::process::ExitCode::from(hidden_ohm::cli::OUR_BUG)
        )
    );
    let path = std::path::Path::new("kept/a.jsonl");
    let with_record = hidden_ohm::cli::apology(Some(path));
    assert!(with_record.error.contains("sorry"), "{}", with_record.error);
    assert!(
        with_record
            .hint
            .contains("`hidden-ohm resume kept/a.jsonl`")
    );
    for said in [&with_record.error, &with_record.hint] {
        assert!(!said.contains(".rs"), "no place in the source: {said}");
    }
    assert!(!hidden_ohm::cli::apology(None).hint.contains("resume"));
}
