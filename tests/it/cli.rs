//! The program run as a whole: standard output, standard error and status, in a clean environment.

use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Command, Stdio};

use hidden_ohm::record::Attempt;
use tempfile::TempDir;

/// One run of the program, in a folder of its own.
pub struct Run {
    folder: TempDir,
    arguments: Vec<String>,
    input: String,
    variables: Vec<(String, String)>,
}

/// What a run left behind.
pub struct Ran {
    pub folder: TempDir,
    pub out: String,
    pub err: String,
    pub status: i32,
}

/// A run with these arguments; the working folder and the home folder are a new empty one.
pub fn run<const N: usize>(arguments: [&str; N]) -> Run {
    Run {
        folder: TempDir::new().expect("a folder for the test"),
        arguments: arguments.map(str::to_owned).to_vec(),
        input: String::new(),
        variables: Vec::new(),
    }
}

impl Run {
    pub fn input(mut self, input: &str) -> Run {
        input.clone_into(&mut self.input);
        self
    }

    pub fn variable(mut self, name: &str, value: &str) -> Run {
        self.variables.push((name.to_owned(), value.to_owned()));
        self
    }

    pub fn file(self, name: &str, text: &str) -> Run {
        fs::write(self.folder.path().join(name), text).expect("a file for the test");
        self
    }

    /// The same folder as an earlier run.
    pub fn after(mut self, before: Ran) -> Run {
        self.folder = before.folder;
        self
    }

    pub fn go(self) -> Ran {
        let home = self.folder.path();
        let mut command = Command::new(env!("CARGO_BIN_EXE_hidden-ohm"));
        command.args(&self.arguments).current_dir(home).env_clear();
        command
            .env("HOME", home)
            .env("HIDDEN_OHM_HOME", home.join("state"))
            .env("COLUMNS", "80")
            .env("NO_COLOR", "1");
        command.envs(self.variables.iter().map(|(name, value)| (name, value)));
        command
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped());
        let mut child = command.spawn().expect("the program starts");
        let mut stdin = child.stdin.take().expect("a pipe");
        // A program that has already ended takes no input; its status tells why.
        let _ = stdin.write_all(self.input.as_bytes());
        drop(stdin);
        let output = child.wait_with_output().expect("the program ends");
        Ran {
            folder: self.folder,
            out: String::from_utf8(output.stdout).expect("text"),
            err: String::from_utf8(output.stderr).expect("text"),
            status: output.status.code().expect("a status"),
        }
    }
}

impl Ran {
    /// The three together; whatever is not expected must be empty.
    #[track_caller]
    pub fn assert(&self, status: i32, out: &str, err: &str) {
        assert_eq!(
            (self.status, self.out.as_str(), self.err.as_str()),
            (status, out, err)
        );
    }

    /// Status, and pieces that standard error must contain; standard output stays empty.
    #[track_caller]
    pub fn assert_fails(&self, status: i32, pieces: &[&str]) {
        assert_eq!(
            (self.status, self.out.as_str()),
            (status, ""),
            "{}",
            self.err
        );
        for piece in pieces {
            assert!(
                self.err.contains(piece),
                "`{piece}` is not in: {}",
                self.err
            );
        }
    }

    /// The path of the only attempt in the state folder.
    pub fn attempt(&self) -> String {
        let folder = self.folder.path().join("state/attempts");
        let mut found: Vec<_> = fs::read_dir(folder)
            .expect("attempts")
            .map(|entry| entry.unwrap().path())
            .collect();
        assert_eq!(found.len(), 1, "{found:?}");
        found.remove(0).display().to_string()
    }
}

/// A code that every test may use.
fn code() -> String {
    hidden_ohm::seed::ScenarioCode::new(hidden_ohm::seed::GENERATOR_VERSION, 0, 1, 20_26)
        .unwrap()
        .to_string()
}

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
        .assert_fails(2, &["did you mean ground"]);
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
        .assert_fails(3, &["neither a file nor a scenario code"]);
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
fn the_wire_calculator_agrees_with_the_published_drop() {
    // A published voltage-drop example: 12 V, 4.17 A, 5 m of 1.5 mm2 at 12.7 mohm/m (ISO 6722 maximum) lose 0.265 V.
    let ran = run([
        "wire",
        "--size",
        "1.5 mm2",
        "--length",
        "5 m",
        "--current",
        "4.17 A",
        "--json",
    ])
    .go();
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    let answer: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    let number = |path: &str| {
        answer
            .pointer(path)
            .and_then(serde_json::Value::as_f64)
            .unwrap()
    };
    assert!((number("/ohms") - 0.0635).abs() < 1e-12);
    assert!((number("/drop_v") - 0.2648).abs() < 5e-5);
    // R / (R + meter): the divider of any textbook.
    assert!((number("/volts_lead/lost_v") - 12.6 * 0.0635 / (0.0635 + 10e6)).abs() < 1e-15);
    assert!((number("/lowz_lead/lost_percent") - 100.0 * 0.0635 / 3000.0635).abs() < 1e-9);
}

#[test]
fn the_wire_calculator_takes_and_shows_us_units() {
    // 16 AWG at 20 C: 4.016 ohm per 1000 ft (published copper wire table).
    let ran = run([
        "wire", "--size", "16 AWG", "--length", "1000 ft", "--units", "us", "--temp", "68 F",
    ])
    .go();
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    assert!(
        ran.out.starts_with("4.02 ohm   1000") && ran.out.contains("16 AWG"),
        "{}",
        ran.out
    );
}

#[test]
fn nothing_is_wider_than_the_window() {
    for width in [40, 60, 80] {
        let ran = run(["practice", &code(), "--script", "-"])
            .variable("COLUMNS", &width.to_string())
            .input("help\nhelp volts\norder\nvolts\nreckon 5 m 1.0 mm2 4 A\nprices\n")
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
fn a_script_answers_one_json_object_a_line() {
    let script = "# a remark\n\naccess bonnet\nvolts nowhere B-\nvolts B+ B-\nquit\nclock\n";
    let ran = run(["practice", &code(), "--script", "-", "--json"])
        .input(script)
        .go();
    assert_eq!(ran.status, 0, "{}", ran.err);
    let rows: Vec<serde_json::Value> = ran
        .out
        .lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect();
    assert_eq!(rows.len(), 3, "{}", ran.out);
    let keys = |row: &serde_json::Value| {
        row.as_object()
            .unwrap()
            .keys()
            .cloned()
            .collect::<Vec<String>>()
    };
    assert_eq!(
        keys(&rows[0]),
        [
            "action", "line", "clock_s", "spent", "ok", "readings", "said"
        ]
    );
    assert_eq!(
        keys(&rows[1]),
        ["action", "line", "clock_s", "spent", "ok", "error", "hint"]
    );
    assert_eq!(
        (&rows[0]["action"], &rows[0]["ok"]),
        (&1.into(), &true.into())
    );
    assert_eq!(
        (&rows[1]["action"], &rows[1]["ok"]),
        (&serde_json::Value::Null, &false.into())
    );
    assert_eq!(rows[2]["action"], 2, "a refused line is no action");
    let reading = &rows[2]["readings"][0];
    assert_eq!(keys(reading), ["quantity", "value", "unit", "shown"]);
    assert_eq!(
        (reading["quantity"].as_str(), reading["unit"].as_str()),
        (Some("voltage"), Some("V"))
    );
    assert!((11.0..13.5).contains(&reading["value"].as_f64().unwrap()));
    assert!(
        ran.err.contains("1 more line of the script not run"),
        "{}",
        ran.err
    );
    assert!(
        !ran.folder.path().join("state").exists(),
        "a script leaves nothing behind"
    );
}

#[test]
fn the_same_code_and_script_give_the_same_bytes() {
    let script = "access bonnet\nvolts B+ B-\nkey on\nvolts B+ B-\nlisten\nlook G4\nhandover\n";
    let once = run(["practice", &code(), "--script", "-", "--json"])
        .input(script)
        .go();
    let twice = run(["practice", &code(), "--script", "-", "--json"])
        .input(script)
        .go();
    assert_eq!(once.out, twice.out);
    let last: serde_json::Value = serde_json::from_str(once.out.lines().last().unwrap()).unwrap();
    assert_eq!(last["scorecard"]["of"], 100, "{last}");
}

#[test]
fn machine_output_is_in_si_whatever_the_units() {
    let script = "access bonnet\nvolts B+ B-\nkey on\nvolts B+ B-\n";
    let values = |units: &str| {
        let ran = run([
            "practice",
            &code(),
            "--script",
            "-",
            "--json",
            "--units",
            units,
        ])
        .input(script)
        .go();
        let rows = ran
            .out
            .lines()
            .map(|line| serde_json::from_str::<serde_json::Value>(line).unwrap());
        rows.map(|row| row["readings"][0]["value"].clone())
            .collect::<Vec<_>>()
    };
    assert_eq!(values("metric"), values("us"));
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
fn a_bug_of_ours_ends_with_70_and_one_message() {
    let code = hidden_ohm::cli::guarded(|| panic!("a test of the guard"));
    assert_eq!(
        format!("{code:?}"),
        format!(
            "{:?}",
            std::process::ExitCode::from(hidden_ohm::cli::OUR_BUG)
        )
    );
}

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
        .assert_fails(3, &["no unfinished attempt", "practice"]);
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
fn a_torn_tail_is_cut_reported_and_worked_over() {
    let begun = run(["practice", &code()])
        .input("access bonnet\nvolts B+ B-\n")
        .go();
    let path = begun.attempt();
    let whole = fs::read_to_string(&path).unwrap();
    fs::write(&path, &whole[..whole.len() - 10]).unwrap();
    let ran = run(["resume"]).input("volts B+ B-\n").after(begun).go();
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert!(
        ran.err.contains("it has been dropped") && ran.err.contains("1 action done"),
        "{}",
        ran.err
    );
    assert_eq!(
        fs::read_to_string(&path).unwrap(),
        whole,
        "the same line gives the same record"
    );
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
    assert_eq!((attempt.entries.len(), attempt.torn), (1, 0));
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

#[test]
fn new_codes_are_fresh_and_open() {
    let ran = run(["scenario", "new", "--count", "3", "--level", "2"]).go();
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    let codes: Vec<&str> = ran.out.lines().collect();
    assert_eq!(codes.len(), 3);
    for code in codes {
        let shown = run(["scenario", "show", code, "--json"]).go();
        let shown: serde_json::Value = serde_json::from_str(&shown.out).unwrap();
        assert_eq!(
            (shown["code"].as_str(), shown["level"].as_u64()),
            (Some(code), Some(2))
        );
        assert!(
            shown.get("faults").is_none(),
            "the truth is only told when it is asked for"
        );
    }
}

#[test]
fn the_truth_of_a_scenario_is_told_when_it_is_asked_for() {
    let ran = run(["scenario", "show", &code(), "--json", "--reveal"]).go();
    let shown: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    assert!(!shown["faults"].as_array().unwrap().is_empty(), "{shown}");
    assert!(!shown["cures"].as_array().unwrap().is_empty(), "{shown}");
    assert!(shown.get("certificate").is_some());
}

#[test]
fn files_are_checked_as_what_they_are() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let van = root
        .join("scenarios/vehicles/harbour-van.toml")
        .display()
        .to_string();
    let faults = root
        .join("scenarios/faults/control.toml")
        .display()
        .to_string();
    let ground = root
        .join("tests/data/score/ground.toml")
        .display()
        .to_string();
    run(["scenario", "check", &van, &ground])
        .go()
        .assert(0, "", "2 files: nothing to put right\n");
    run(["scenario", "check", &faults])
        .go()
        .assert(0, "", "1 file: nothing to put right\n");
    let ran = run(["scenario", "check", "bad.toml"])
        .file("bad.toml", "format = 1\nfoo = 2\n")
        .go();
    assert_eq!(ran.status, 3);
    assert!(
        ran.out
            .lines()
            .any(|line| line.starts_with("bad.toml:2:1: ")),
        "{}",
        ran.out
    );
    let ran = run(["practice", "bad.toml"])
        .file("bad.toml", "format = 1\nfoo = 2\n")
        .go();
    assert!(
        ran.err
            .lines()
            .any(|line| line.starts_with("bad.toml:2:1: ")),
        "{}",
        ran.err
    );
    assert_eq!(
        (ran.status, ran.folder.path().join("state").exists()),
        (3, false)
    );
    let broken = run(["scenario", "check", "-"]).input("format = \n").go();
    assert_eq!(broken.status, 3);
    assert!(
        broken.out.starts_with("standard input:1:"),
        "{}",
        broken.out
    );
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
