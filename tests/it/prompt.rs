//! A real prompt under a pseudo-terminal.

use std::process::Command;

use rexpect::session::PtySession;
use tempfile::TempDir;

/// A practice in a pseudo-terminal. The program must answer within this time; nothing depends on how fast it is.
const PATIENCE_MS: u64 = 20_000;

fn code() -> String {
    crate::floor::code(1, 7).to_string()
}

fn begin(home: &TempDir, arguments: &[&str], variables: &[(&str, &str)]) -> PtySession {
    let mut command = Command::new(env!("CARGO_BIN_EXE_hidden-ohm"));
    command.args(arguments).current_dir(home.path()).env_clear();
    command
        .env("HOME", home.path())
        .env("HIDDEN_OHM_HOME", home.path())
        .env("TERM", "xterm")
        .env("NO_COLOR", "1");
    command.envs(variables.iter().copied());
    rexpect::session::spawn_command(command, Some(PATIENCE_MS)).expect("a pseudo-terminal")
}

fn practice(home: &TempDir) -> PtySession {
    let mut session = begin(home, &["practice", &code()], &[]);
    session.exp_string("key off > ").expect("the prompt");
    session
}

/// Types without ending the line.
fn type_in(session: &mut PtySession, text: &str) {
    session.send(text).unwrap();
    session.flush().unwrap();
}

#[test]
fn tab_completes_words_and_the_vehicles_own_points() {
    let home = TempDir::new().unwrap();
    let mut session = practice(&home);
    type_in(&mut session, "milli\t");
    session.exp_string("millivolts").unwrap();
    type_in(&mut session, "x7.2\tb-");
    session.send_line("").unwrap();
    session
        .exp_string("X7")
        .expect("an answer that names the connector");
    type_in(&mut session, "vol\tnowhere b-");
    session.send_line("").unwrap();
    session
        .exp_string("there is no point `nowhere`")
        .expect("`volts` was completed");
}

#[test]
fn lines_typed_ahead_or_pasted_are_done_one_after_the_other() {
    let home = TempDir::new().unwrap();
    let mut session = practice(&home);
    type_in(&mut session, "key on\rclock\rlog\rdata\r");
    session
        .exp_string("spent, key on.")
        .expect("the second line");
    session.exp_string("1  key on").expect("the third line");
    session.exp_string("is to be had").expect("the fourth line");
    session.exp_string("5.  ").expect("the next prompt");
}

#[test]
fn ctrl_c_drops_the_line_and_stays() {
    let home = TempDir::new().unwrap();
    let mut session = practice(&home);
    type_in(&mut session, "handover");
    session.send_control('c').unwrap();
    session.exp_string("Line dropped").unwrap();
    session.send_line("clock").unwrap();
    session
        .exp_string("spent, key off.")
        .expect("the work goes on");
    session.send_line("quit").unwrap();
    session.exp_string("hidden-ohm resume").unwrap();
    session.exp_eof().unwrap();
}

#[test]
fn ctrl_d_keeps_the_work_and_says_how_to_go_on() {
    let home = TempDir::new().unwrap();
    let mut session = practice(&home);
    session.send_line("order").unwrap();
    session.exp_string("Customer").unwrap();
    session.exp_string("key off > ").unwrap();
    session.send_control('d').unwrap();
    session.exp_string("hidden-ohm resume").unwrap();
    session.exp_eof().unwrap();

    let mut again = begin(&home, &["resume"], &[]);
    again.exp_string("1 action done so far").unwrap();
    again.exp_string("key off > ").unwrap();
    // The arrow brings back what was typed in the session before.
    type_in(&mut again, "\u{1b}[A");
    again.send_line("").unwrap();
    again
        .exp_string("Customer")
        .expect("the line from the history");
}

#[test]
fn a_narrow_window_and_a_dumb_terminal_work() {
    for variables in [
        [("COLUMNS", "40"), ("TERM", "xterm")],
        // Beside the prompt there would be room for half a line.
        [("COLUMNS", "60"), ("TERM", "xterm")],
        [("COLUMNS", "80"), ("TERM", "dumb")],
    ] {
        let home = TempDir::new().unwrap();
        let mut session = begin(&home, &["practice", &code()], &variables);
        let prompt = if variables[0].1 == "80" {
            "1.  0 min  0.00 cr spent  key off > "
        } else {
            "1 > "
        };
        session.exp_string(prompt).unwrap();
        session.send_line("help volts").unwrap();
        session.exp_string("For example").unwrap();
        session.send_line("quit").unwrap();
        session.exp_eof().unwrap();
    }
}

#[test]
fn a_list_of_completions_stays_on_the_screen_in_a_narrow_window() {
    let home = TempDir::new().unwrap();
    let mut session = begin(&home, &["practice", &code()], &[("COLUMNS", "40")]);
    session.exp_string("1 > ").unwrap();
    type_in(&mut session, "volts X7.");
    type_in(&mut session, "\t\t");
    session.exp_string("X7.2").expect("the list");
    // The editor goes up over its own rows only, so that the list above them is not wiped out again.
    let redrawn = session.exp_string("1 > ").expect("the line again");
    assert!(
        !redrawn.contains("\u{1b}[1A") && !redrawn.contains("\u{1b}[A"),
        "{redrawn:?}"
    );
    session.send_control('c').unwrap();
    session.exp_string("1 > ").unwrap();
    session.send_line("quit").unwrap();
    session.exp_eof().unwrap();
}
