//! The README shows a real run: what it prints is what the program prints today.

use std::io::Write;
use std::process::{Command, Stdio};

const README: &str = include_str!("../../README.md");

/// The code block of the run, with the prompt lines that led to it.
fn extract() -> (&'static str, Vec<&'static str>) {
    let after = README
        .split_once("lines after `>` were typed")
        .expect("the run")
        .1;
    let block = after
        .split("```")
        .nth(1)
        .expect("its code block")
        .trim_start_matches('\n');
    let code = README
        .split_once("`hidden-ohm practice ")
        .and_then(|(_, rest)| rest.split_once('`'))
        .expect("the code of the run")
        .0;
    (code, block.split("...\n").collect())
}

#[test]
fn the_run_in_the_readme_is_what_the_program_prints() {
    let (code, pieces) = extract();
    assert_eq!(pieces.len(), 2, "the beginning and the end of the run");
    let mut child = Command::new(env!("CARGO_BIN_EXE_hidden-ohm"))
        .args(["practice", code, "--script", "-"])
        .env("COLUMNS", "80")
        .env("NO_COLOR", "1")
        .env_remove("RUST_BACKTRACE")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .expect("the program starts");
    let before = "protect\naccess bonnet\naccess underbody\nstands\naccess shield\n";
    let typed: Vec<&str> = pieces[1]
        .lines()
        .filter_map(|line| line.split_once(" > "))
        .map(|(_, line)| line)
        .collect();
    assert!(typed.len() >= 5, "the run shows what was typed: {typed:?}");
    let mut stdin = child.stdin.take().expect("a pipe");
    writeln!(stdin, "{before}{}", typed.join("\n")).expect("the program reads");
    drop(stdin);
    let done = child.wait_with_output().expect("the program ends");
    let printed = String::from_utf8(done.stdout).expect("text");
    for piece in pieces {
        assert!(
            printed.contains(piece.trim_end()),
            "README shows\n{piece}\nthe program prints\n{printed}"
        );
    }
}
