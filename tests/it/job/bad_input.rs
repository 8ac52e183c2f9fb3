//! Bad input through the program: a clear error, the right status, nothing lost and nothing charged.

use serde_json::Value;

use crate::cli::run;

fn code() -> String {
    crate::floor::code(1, 40).to_string()
}

/// The JSON lines of a script on a fixed code.
fn lines(script: &str) -> Vec<Value> {
    let ran = run(["practice", &code(), "--script", "-", "--json"])
        .input(script)
        .go();
    assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{}", ran.out);
    ran.out
        .lines()
        .map(|line| serde_json::from_str(line).unwrap_or_else(|error| panic!("{error}: {line}")))
        .collect()
}

#[test]
fn a_line_that_cannot_be_done_says_what_to_type_and_charges_nothing() {
    let cases = [
        ("frobnicate", "no word", "help"),
        ("vols B+ B-", "no word `vols`", "volts"),
        ("volts B+ X99.9", "no point", "points"),
        ("volts B+ B+", "one point", "two points"),
        ("volts B+ B-", "out of reach", "access bonnet"),
        ("volts X7.2 G4", "out of reach", "access shield"),
        ("unplug X7", "out of reach", "access shield"),
        ("look F12", "out of reach", "access bonnet"),
        ("repair K1", "", "access bonnet"),
        ("access tank", "needs other work", "access underbody"),
        ("leads extension 5 bananas 1.0 mm2", "", "mm2"),
        ("leads extension 400 m 1.0 mm2", "400 m", "25 m"),
        ("call ground", "verdict", "call ground side good"),
        ("call ground splendid", "splendid", "ground side"),
        ("pump on", "key on", "key on"),
        ("key off", "off already", "key on"),
        ("plug X7", "not unplugged", "unplug"),
        ("jumper off", "No jumper", "jumper"),
        ("stands", "on its wheels", "access"),
        ("wait 900 h", "", "wait"),
        ("replace NOTHING", "no part", ""),
        ("wait", "", "wait"),
    ];
    let script = cases.map(|(line, _, _)| line).join("\n");
    let told = lines(&script);
    assert_eq!(told.len(), cases.len());
    for (told, (line, error, hint)) in told.iter().zip(cases) {
        assert_eq!(told["line"], line);
        assert_eq!(
            (&told["action"], &told["ok"]),
            (&Value::Null, &Value::Bool(false)),
            "{told}"
        );
        assert_eq!(
            (told["clock_s"].as_f64(), told["spent"].as_i64()),
            (Some(0.0), Some(0)),
            "{told}"
        );
        let text = |key: &str| {
            told[key]
                .as_str()
                .unwrap_or_else(|| panic!("no {key}: {told}"))
                .to_lowercase()
        };
        assert!(text("error").contains(&error.to_lowercase()), "{told}");
        assert!(text("hint").contains(&hint.to_lowercase()), "{told}");
    }
}

#[test]
fn a_terminal_inside_a_plugged_connector_is_refused_and_bared_by_unplugging() {
    let told = lines(
        "access bonnet\naccess underbody\nstands\naccess shield\nvolts X7.1t X7.2t\nunplug X7\nvolts X7.1t X7.2t\nplug X7\n\
         volts X7.1t X7.2t\n",
    );
    let ok: Vec<bool> = told
        .iter()
        .map(|line| line["ok"].as_bool().expect("ok"))
        .collect();
    assert_eq!(ok, [true, true, true, true, false, true, true, true, false]);
    assert!(
        told[4]["error"].as_str().expect("an error").contains("X7"),
        "{}",
        told[4]
    );
    assert!(
        told[4]["hint"]
            .as_str()
            .expect("a hint")
            .contains("unplug X7"),
        "{}",
        told[4]
    );
}

#[test]
fn what_was_done_before_and_after_a_bad_line_stands() {
    let plain = lines("access bonnet\nvolts B+ B-\nvolts F12.1 B-\n");
    let mixed =
        lines("access bonnet\nvolts\nvolts B+ B-\nkeyy on\nvolts B+ NOWHERE\nvolts F12.1 B-\n");
    let done: Vec<&Value> = mixed.iter().filter(|line| line["ok"] == true).collect();
    assert_eq!(done, plain.iter().collect::<Vec<_>>());
}

#[test]
fn an_ohms_reading_on_a_live_circuit_is_nonsense_and_nobody_says_so_yet() {
    let told = lines("access bonnet\nkey on\nohms F12.1 B-\nvolts F12.1 B-\n");
    let reading = &told[2]["readings"][0];
    assert!(
        told[2]["ok"] == true && told[2]["said"].as_array().expect("lines").is_empty(),
        "{}",
        told[2]
    );
    let ohms = reading["value"].as_f64();
    assert!(
        ohms.is_none_or(|ohms| !(0.0..=100.0).contains(&ohms)),
        "a fed point has no such resistance: {reading}"
    );
}

#[test]
fn a_broken_scenario_file_is_told_with_line_and_column_and_ends_with_3() {
    let broken = "format = 1\nvehicle = \"harbour-van\nlevel = 1\n";
    let ran = run(["scenario", "check", "job.toml"])
        .file("job.toml", broken)
        .go();
    assert_eq!(ran.status, 3, "{}", ran.err);
    assert!(ran.out.starts_with("job.toml:2:"), "{}", ran.out);

    let wrong = "format = 1\nvehicle = \"harbor-van\"\nlevel = 9\nseed = 1\ncustomer = \"x\"\nshade = 3\n[conditions]\n\
                 ambient = \"20\"\ncharge = \"100 %\"\nfuel = \"50 %\"\n[[fault]]\nkind = \"corroded-ground\"\npart = \"G9\"\n";
    let ran = run(["scenario", "check", "job.toml"])
        .file("job.toml", wrong)
        .go();
    assert_eq!(ran.status, 3);
    let places: Vec<&str> = ran
        .out
        .lines()
        .map(|line| line.split(": ").next().expect("a place"))
        .collect();
    assert_eq!(
        places,
        [
            "job.toml:2:11",
            "job.toml:3:9",
            "job.toml:6:1",
            "job.toml:8:11"
        ],
        "{}",
        ran.out
    );
    assert!(
        ran.out.contains("did you mean `harbour-van`"),
        "{}",
        ran.out
    );

    let misplaced = "format = 1\nvehicle = \"harbour-van\"\nlevel = 1\nseed = 1\ncustomer = \"x\"\n[conditions]\n\
                     ambient = \"20 C\"\ncharge = \"100 %\"\nfuel = \"50 %\"\n[[fault]]\nkind = \"corroded-ground\"\n\
                     part = \"PUMP\"\nseverity = \"two ohm\"\n";
    let ran = run(["scenario", "check", "job.toml"])
        .file("job.toml", misplaced)
        .go();
    assert_eq!(ran.status, 3);
    assert!(
        ran.out
            .contains("job.toml:12:8: `corroded-ground` cannot sit on PUMP"),
        "{}",
        ran.out
    );
    assert!(ran.out.contains("job.toml:13:12:"), "{}", ran.out);
    let alone = misplaced.replace("level = 1", "level = 5");
    let ran = run(["scenario", "check", "job.toml"])
        .file("job.toml", &alone)
        .go();
    let told = "job.toml:3:9: level 5 is of two faults, and here is 1";
    assert!(ran.out.contains(told), "{}", ran.out);
    // The same file is refused by whatever would work on it.
    run(["practice", "job.toml", "--script", "-"])
        .file("job.toml", misplaced)
        .go()
        .assert_fails(3, &["job.toml", "12:8"]);
    run(["scenario", "ladder", "job.toml", "--key", "on"])
        .file("job.toml", misplaced)
        .go()
        .assert_fails(3, &["12:8"]);
}

/// A job by hand: the vehicle, the fuel's line, other tables, and faults.
fn by_hand(vehicle: &str, fuel: &str, rest: &str) -> String {
    format!(
        "format = 1\nvehicle = \"{vehicle}\"\nlevel = 3\nseed = 1\ncustomer = \"x\"\n[conditions]\nambient = \"20 C\"\n\
         charge = \"100 %\"\n{fuel}{rest}"
    )
}

const FUEL: &str = "fuel = \"50 %\"\n";

fn on(kind: &str, part: &str, more: &str) -> String {
    format!("[[fault]]\nkind = \"{kind}\"\npart = \"{part}\"\n{more}")
}

#[test]
fn what_a_job_cannot_have_is_refused_with_what_it_can() {
    let ground = on("corroded-ground", "G4", "severity = \"2 ohm\"\n");
    let cases: [(String, &[&str]); 11] = [
        (
            by_hand("Zzz", FUEL, ""),
            &[
                "job.toml:2:11: no vehicle is called `Zzz`; `hidden-ohm scenario list` tells of harbour-van, ",
            ],
        ),
        (
            by_hand("harbour-van", FUEL, &on("zzz", "G4", "")),
            &["job.toml:11:8: no fault is called `zzz`; what can sit on G4: corroded-ground, "],
        ),
        (
            by_hand("harbour-van", FUEL, &on("zzz", "qqq", "")),
            &[
                "no fault is called `zzz`; what can sit on harbour-van: ",
                "has no part `qqq`; its parts are BAT, ",
            ],
        ),
        (
            by_hand(
                "harbour-van",
                FUEL,
                &on("corroded-ground", "qqq", "severity = \"2 ohm\"\n"),
            ),
            &["job.toml:12:8: harbour-van has no part `qqq`; it can sit on G"],
        ),
        (
            by_hand("harbour-van", FUEL, &on("thermostat-shut", "PUMP", "")),
            &[
                "`thermostat-shut` cannot sit on PUMP; it belongs to circuits that carry coolant, and that of harbour-van carries fuel",
            ],
        ),
        (
            by_hand(
                "harbour-van",
                FUEL,
                &on("poor-cut-off-contact", "PUMP", "severity = \"2 ohm\"\n"),
            ),
            &[
                "cannot sit on PUMP; harbour-van has no place for it: it sits on parts of the kind cut-off-switch",
            ],
        ),
        (
            by_hand(
                "harbour-van",
                FUEL,
                &on(
                    "corroded-ground",
                    "G4",
                    "leg = \"1\"\nseverity = \"2 ohm\"\n",
                ),
            ),
            &[
                "job.toml:13:7: `corroded-ground` cannot sit on G4 1; G4 has one place for it and that has no name: take `leg` away",
            ],
        ),
        (
            by_hand(
                "harbour-van",
                FUEL,
                &on("burnt-pin", "X7", "leg = \"9\"\nseverity = \"2 ohm\"\n"),
            ),
            &["`burnt-pin` cannot sit on X7 9; write `leg = ` one of 1, 2"],
        ),
        (
            by_hand("school-minibus", FUEL, "[tank]\nwater = \"10 %\"\n"),
            &[
                "job.toml:9:8: the circuit of school-minibus carries coolant; take `fuel` away",
                "job.toml:10:1: the circuit of school-minibus has no tank of fuel; take `[tank]` away",
            ],
        ),
        (
            by_hand("harbour-van", FUEL, &format!("{ground}{ground}")),
            &["job.toml:14:1: fault `corroded-ground` is on that place already; "],
        ),
        (
            by_hand("harbour-van", FUEL, &ground).replace("seed = 1", "seed = 5000000000"),
            &["job.toml:4:8: `seed` of the scenario must be a whole number from 0 to 4294967295"],
        ),
    ];
    for (text, wanted) in cases {
        let ran = run(["scenario", "check", "job.toml"])
            .file("job.toml", &text)
            .go();
        assert_eq!(ran.status, 3, "{text}\n{}", ran.out);
        assert_eq!(ran.out.lines().count(), wanted.len(), "{}", ran.out);
        for wanted in wanted {
            assert!(ran.out.contains(wanted), "{wanted}: {}", ran.out);
        }
    }
}

#[test]
fn one_kind_of_fault_may_sit_on_two_places() {
    let ground = on("corroded-ground", "G4", "severity = \"2 ohm\"\n");
    let apart = format!("{ground}{}", ground.replace("G4", "G1"));
    let ran = run(["scenario", "check", "job.toml"])
        .file("job.toml", &by_hand("harbour-van", FUEL, &apart))
        .go();
    assert_eq!(
        (ran.status, ran.err.as_str()),
        (0, "1 file: nothing to put right\n")
    );
}

#[test]
fn a_level_that_a_fault_is_not_drawn_at_is_warned_of_and_nothing_false_beside_it() {
    let job = "format = 1\nvehicle = \"mobile-library\"\nlevel = 2\nseed = 311\ncustomer = \"Empty it goes. Loaded, up to the \
               lighthouse, it has nothing left at the top.\"\nknown = [\"92 000 km.\"]\n[conditions]\nambient = \"12 C\"\n\
               charge = \"92 %\"\nfuel = \"60 %\"\n[[fault]]\nkind = \"poor-cut-off-contact\"\npart = \"S7\"\n\
               severity = \"1.5 ohm\"\n";
    let warned = run(["scenario", "check", "job.toml"])
        .file("job.toml", job)
        .go();
    assert_eq!(warned.status, 0, "{}", warned.err);
    let lines: Vec<&str> = warned.out.lines().collect();
    let wanted =
        "job.toml:3:1: warning: no vehicle comes in at level 2 with `poor-cut-off-contact`";
    assert!(
        lines.len() == 1 && lines[0].starts_with(wanted) && lines[0].ends_with("3, 4, 5"),
        "{}",
        warned.out
    );
    run(["scenario", "check", "job.toml"])
        .file("job.toml", &job.replace("level = 2", "level = 3"))
        .go()
        .assert(0, "", "1 file: nothing to put right\n");
    // Where nothing may be measured there is still nothing to tell it by.
    let blind = job.replace("level = 2", "level = 3\nallowed = []");
    let ran = run(["scenario", "check", "job.toml"])
        .file("job.toml", &blind)
        .go();
    assert!(ran.out.contains("with the tests you allow"), "{}", ran.out);
}

#[test]
fn a_code_with_one_wrong_symbol_or_two_swapped_is_refused_with_3() {
    let good = code();
    let symbols: Vec<char> = good.chars().filter(|c| *c != '-').collect();
    let mut tried = 0;
    for at in [0, 3, 8, 15, 17] {
        let mut wrong = symbols.clone();
        wrong[at] = if wrong[at] == '7' { '8' } else { '7' };
        let wrong: String = wrong.into_iter().collect();
        run(["scenario", "show", &wrong])
            .go()
            .assert_fails(3, &["does not check"]);
        tried += 1;
    }
    for at in 0..symbols.len() - 1 {
        let mut swapped = symbols.clone();
        swapped.swap(at, at + 1);
        if swapped != symbols {
            let swapped: String = swapped.into_iter().collect();
            run(["scenario", "show", &swapped])
                .go()
                .assert_fails(3, &["does not check"]);
            tried += 1;
        }
    }
    assert!(tried >= 8, "{tried}");
    run(["scenario", "show", &good[..good.len() - 1]])
        .go()
        .assert_fails(3, &["18 symbols"]);
    run(["scenario", "show", &good.replace('G', "U")])
        .go()
        .assert_fails(3, &["`U`"]);
    // Case and look-alikes are forgiven.
    let forgiven = good.to_lowercase().replace('0', "o").replace('1', "l");
    let shown = run(["scenario", "show", &forgiven]).go();
    assert_eq!((shown.status, shown.err.as_str()), (0, ""));
    assert!(shown.out.contains(&good), "{}", shown.out);
}

#[test]
fn a_code_of_a_later_generator_is_refused_by_every_command_that_takes_one() {
    let later = hidden_ohm::seed::ScenarioCode::new(30, 0, 1, 7)
        .expect("a code")
        .to_string();
    run(["practice", &later, "--script", "-"])
        .go()
        .assert_fails(3, &["version 30"]);
    run(["scenario", "show", &later])
        .go()
        .assert_fails(3, &["version 30"]);
    run(["scenario", "ladder", &later, "--key", "on"])
        .go()
        .assert_fails(3, &["version 30"]);
}
