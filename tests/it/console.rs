//! The grammar of the prompt, on the names of the built-in harbour van.

use hidden_ohm::bay::{Action, Fitting, PointFilter, Refusal, Tool, Verdict};
use hidden_ohm::console::{Asked, Group, Held, Names, complete, help_page, parse, words};
use hidden_ohm::instrument::{Bulb, Function, Interval, Quantity, Side};
use hidden_ohm::vehicle::{self, Key, Section};

mod vehicles;

fn names() -> Names {
    let vehicles = vehicle::built_in().expect("the built-in vehicles are right");
    Names::of(&vehicles[0])
}

fn understood(line: &str) -> Asked {
    parse(line, &names(), None)
        .unwrap_or_else(|refusal| panic!("`{line}` was refused: {}", refusal.error))
}

fn refused(line: &str) -> Refusal {
    match parse(line, &names(), None) {
        Ok(asked) => panic!("`{line}` was understood as {asked:?}"),
        Err(refusal) => refusal,
    }
}

fn completed(line: &str) -> Vec<String> {
    complete(line, line.len(), &names()).1
}

#[test]
fn no_word_of_the_table_stands_there_twice() {
    let mut all: Vec<&str> = words().map(|word| word.name).collect();
    all.sort_unstable();
    let count = all.len();
    all.dedup();
    assert_eq!(all.len(), count);
}

#[test]
fn case_does_not_matter_anywhere() {
    assert_eq!(understood("VOLTS x7.2 b-"), understood("volts X7.2 B-"));
    assert_eq!(understood("Key ON"), Asked::Act(Action::Key(Key::On)));
    assert_eq!(
        understood("CALL Ground Side BAD 0.35"),
        understood("call ground side bad 0.35")
    );
}

#[test]
fn clear_beginnings_of_words_work() {
    assert_eq!(understood("v X7.2 B-"), understood("volts X7.2 B-"));
    assert_eq!(understood("k c"), Asked::Act(Action::Key(Key::Crank)));
    assert_eq!(
        understood("plug X7"),
        Asked::Act(Action::Plug(names().part("X7").unwrap()))
    );
}

#[test]
fn an_unclear_beginning_lists_what_it_could_be() {
    let refusal = refused("l");
    for word in ["look", "listen", "log", "lowz", "leads", "lamp"] {
        assert!(refusal.error.contains(word), "{}", refusal.error);
    }
}

#[test]
fn words_that_cannot_be_undone_are_written_out() {
    for (line, whole) in [
        ("rep X7", "repa"),
        ("repa X7", "repair X7"),
        ("repl PUMP", "replace PUMP"),
        ("hand", "handover"),
    ] {
        let refusal = refused(line);
        assert!(
            (refusal.error.clone() + &refusal.hint).contains(whole),
            "{line}: {} {}",
            refusal.error,
            refusal.hint
        );
    }
    assert_eq!(understood("Handover"), Asked::Act(Action::Handover));
}

#[test]
fn a_slip_of_the_finger_is_met_with_what_was_probably_meant() {
    assert!(refused("unplg X7").hint.contains("`unplug`"));
    assert!(refused("lok G4").hint.contains("`look`"));
    assert!(refused("look G44").hint.contains("`G4`"));
    assert!(refused("volts X77.2 B-").hint.contains("`X7.2`"));
    assert!(
        refused("volts X7 B-").hint.contains("`X7.2`"),
        "a part is not a point"
    );
    assert!(refused("access underbdy").hint.contains("`underbody`"));
}

#[test]
fn every_refusal_says_what_is_wrong_and_what_to_type() {
    let lines = [
        "xyzzy",
        "p",
        "volts",
        "volts X7.2",
        "volts X7.2 nowhere",
        "volts X7.2 B- B+",
        "key",
        "key sideways",
        "pump",
        "look",
        "look nothing",
        "look X7 99",
        "unplug",
        "access",
        "access moon",
        "wait",
        "wait 3",
        "wait -3 s",
        "flow",
        "leads",
        "leads extension",
        "leads extension 5 m",
        "leads extension 5 m 1000 mm2",
        "leads extension 5 m 6 m 1 mm2",
        "tip",
        "tip green",
        "lamp B+",
        "jumper B+",
        "jumper B+ B- 5 m",
        "reckon",
        "reckon 5 m",
        "call",
        "call ground",
        "call good",
        "call moon good",
        "call in-tank good",
        "call ground maybe",
        "call ground bad loud",
        "repair",
        "replace",
        "replace X99",
        "handover now",
        "quit now",
        "help nothing",
        "order please",
        "isolate on",
        "record maybe",
        "record on 3 s",
        "gauge tee",
    ];
    for line in lines {
        let Refusal { error, hint } = refused(line);
        assert!(error.len() > 10, "{line}: {error}");
        assert!(hint.len() > 10, "{line}: {hint}");
        assert_ne!(error, hint, "{line}");
    }
}

#[test]
fn a_word_alone_asks_for_what_is_missing() {
    assert!(refused("volts").error.contains("two points"));
    assert!(refused("volts").hint.contains("volts "));
    let call = refused("call");
    assert!(
        call.error.contains("section") && call.error.contains("good"),
        "{}",
        call.error
    );
    assert!(
        call.hint.contains("ground side") && call.hint.contains("call "),
        "{}",
        call.hint
    );
}

#[test]
fn volts_alone_reads_again_where_the_tips_are() {
    let names = names();
    let (red, black) = (names.point("X7.2").unwrap(), names.point("B-").unwrap());
    let held = Some(Held {
        function: Function::Volts,
        red,
        black,
    });
    assert_eq!(
        parse("volts", &names, held),
        Ok(Asked::Act(Action::ReadMeter))
    );
    let other = Action::Meter {
        function: Function::Ohms,
        red,
        black,
    };
    assert_eq!(parse("ohms", &names, held), Ok(Asked::Act(other)));
    assert_eq!(
        parse("volts off", &names, held),
        Ok(Asked::Act(Action::MeterOff))
    );
}

#[test]
fn empty_lines_and_remarks_ask_for_nothing() {
    for line in ["", "   ", "# a remark", "  # volts X7.2 B-", "\t"] {
        assert_eq!(understood(line), Asked::Nothing, "{line:?}");
    }
}

#[test]
fn quantities_may_be_written_with_or_without_the_space() {
    assert_eq!(
        understood("leads extension 5m 1.0mm2 red"),
        understood("leads extension 5 m 1.0 mm2 red")
    );
    assert_eq!(
        understood("leads ext 1.0 mm2 5 m red"),
        understood("leads extension 5 m 1.0 mm2 red")
    );
    assert_eq!(
        understood("leads extension 16 ft 18 AWG"),
        understood("leads extension 16 ft AWG 18 black")
    );
    assert_eq!(understood("wait 2 min"), understood("wait 120 s"));
    assert_eq!(understood("flow 15"), understood("flow 15 s"));
}

#[test]
fn an_extension_goes_on_the_black_lead_unless_the_red_one_is_named() {
    let side = |line: &str| match understood(line) {
        Asked::Act(Action::Leads(Some((side, wire)))) => (side, wire.length_m),
        other => panic!("{other:?}"),
    };
    assert_eq!(side("leads extension 5 m 1 mm2"), (Side::Black, 5.0));
    assert_eq!(side("leads extension 5 m 1 mm2 red"), (Side::Red, 5.0));
    assert_eq!(
        understood("leads standard"),
        Asked::Act(Action::Leads(None))
    );
}

#[test]
fn calls_take_short_sections_and_readings_with_units() {
    let call = |line: &str| match understood(line) {
        Asked::Act(Action::Call {
            section,
            verdict,
            cites,
        }) => (
            section,
            verdict,
            cites.map(|cited| (cited.value, cited.quantity, cited.written)),
        ),
        other => panic!("{other:?}"),
    };
    assert_eq!(
        call("call ground bad 0.914"),
        (
            Section::GroundSide,
            Verdict::Bad,
            Some((0.914, Quantity::Voltage, "0.914".to_owned()))
        )
    );
    assert_eq!(
        call("call ground side good"),
        (Section::GroundSide, Verdict::Good, None)
    );
    assert_eq!(
        call("call in-tank feed unsure"),
        (Section::InTankFeed, Verdict::Unsure, None)
    );
    assert_eq!(
        call("call in tank ground g"),
        (Section::InTankGround, Verdict::Good, None)
    );
    assert_eq!(
        call("call hydr bad 250 kPa"),
        (
            Section::Hydraulic,
            Verdict::Bad,
            Some((250e3, Quantity::Pressure, "250 kPa".to_owned()))
        )
    );
    let cited = |line: &str| call(line).2.expect("a reading");
    assert_eq!(
        cited("call feed good 85 mV"),
        (0.085, Quantity::Voltage, "85 mV".to_owned())
    );
    assert_eq!(
        cited("call feed bad -0.5"),
        (-0.5, Quantity::Voltage, "-0.5".to_owned())
    );
}

#[test]
fn parts_and_their_pins_are_named_in_two_ways() {
    assert_eq!(understood("repair X7.2"), understood("repair X7 2"));
    assert!(
        matches!(understood("look G4"), Asked::Act(Action::Look(target)) if target.leg.is_none())
    );
    assert_eq!(
        understood("points"),
        Asked::Act(Action::Points(PointFilter::All))
    );
    assert_eq!(
        understood("points reach"),
        Asked::Act(Action::Points(PointFilter::Reachable))
    );
}

#[test]
fn hidden_nodes_have_no_name_at_the_prompt() {
    let vehicles = vehicle::built_in().unwrap();
    let hidden: Vec<&str> = vehicles[0]
        .nodes
        .iter()
        .filter(|node| node.touch.is_none())
        .map(|node| node.name.as_str())
        .collect();
    assert!(!hidden.is_empty());
    for name in hidden {
        assert_eq!(names().point(name), None, "{name}");
    }
}

#[test]
fn completion_offers_what_fits_the_place() {
    assert_eq!(completed("vol"), ["volts"]);
    assert!(
        completed("re").contains(&"repair".to_owned()),
        "whole words are offered even when they must be written out"
    );
    assert!(completed("volts X7.").contains(&"X7.2".to_owned()));
    assert!(completed("volts X7.2 B").contains(&"B-".to_owned()));
    assert!(completed("volts X7.2 B- ").is_empty());
    assert_eq!(completed("key c"), ["crank"]);
    assert!(completed("look g").contains(&"G4".to_owned()));
    assert!(completed("unplug X").iter().all(|name| !name.contains('.')));
    assert_eq!(completed("call gr"), ["ground side"]);
    assert!(completed("call ground ").contains(&"bad".to_owned()));
    assert_eq!(completed("call ground side b"), ["bad"]);
    assert!(completed("help to").contains(&"tools".to_owned()));
    assert!(completed("nonsense ").is_empty());
    assert!(!completed("access ").is_empty());
    // A number and its unit fill one place, written together or apart.
    for time in ["15 s", "15s"] {
        assert_eq!(completed(&format!("flow {time} ju")), ["jumper"]);
        let relay = completed(&format!("flow {time} jumper K1.30 K1."));
        assert!(relay.contains(&"K1.87".to_owned()), "{time}: {relay:?}");
    }
    assert_eq!(completed("leads extension 5 m 1 mm2 r"), ["red"]);
}

#[test]
fn completion_offers_parts_that_the_word_takes() {
    assert_eq!(completed("swap "), ["K1", "K2"]);
    let pinched = completed("pinch ");
    assert!(!pinched.is_empty());
    for part in pinched {
        assert!(part.contains("LINE") || part == "RETURN", "{part}");
    }
    assert!(completed("gauge tee ").contains(&"FILTER".to_owned()));
    assert!(!completed("gauge tee ").contains(&"X7".to_owned()));
    let clamped = completed("clamp ");
    for part in ["W10", "G3", "zero"] {
        assert!(clamped.contains(&part.to_owned()), "{part}: {clamped:?}");
    }
    for part in ["X7", "G4", "PUMP"] {
        assert!(!clamped.contains(&part.to_owned()), "{part}: {clamped:?}");
    }
    assert!(completed("tap ").contains(&"TANK".to_owned()));
    assert!(!completed("tap ").contains(&"W10".to_owned()));
    assert!(completed("unplug ").contains(&"F12".to_owned()));
    assert!(!completed("unplug ").contains(&"W10".to_owned()));
}

#[test]
fn completion_shows_how_numbers_are_typed_and_puts_nothing_in_unasked() {
    for line in [
        "range ",
        "leads extension ",
        "reckon ",
        "flow ",
        "charge ",
        "wait ",
    ] {
        let offered = completed(line);
        assert!(offered.len() > 1, "{line}");
        let whole = |piece: &String| match line {
            "reckon " | "leads extension " => understood(&format!("{line}{piece} 1.0mm2")),
            _ => understood(&format!("{line}{piece}")),
        };
        for piece in &offered {
            whole(piece);
        }
    }
    for line in [
        "fill ",
        "isolate ",
        "pinch LINE ",
        "reckon 5 ",
        "clamp off ",
        "volts off ",
        "gauge on ",
    ] {
        assert!(completed(line).is_empty(), "{line}");
    }
    assert_eq!(completed("fill d"), ["drained"]);
}

#[test]
fn watts_before_the_points_of_a_bulb_are_told_where_they_go() {
    let refusal = refused("load 55 W X7.1 X7.2");
    assert!(refusal.error.contains("points first"), "{}", refusal.error);
    assert!(
        refusal.hint.contains("`load X7.1 X7.2 55 W`"),
        "{}",
        refusal.hint
    );
}

#[test]
fn completion_says_where_the_replaced_piece_starts() {
    assert_eq!(complete("volts X7", 8, &names()).0, 6);
    assert_eq!(
        complete("call in-tank g", 14, &names()),
        (5, vec!["in-tank ground".to_owned()])
    );
    assert_eq!(
        complete("vo X7", 2, &names()).0,
        0,
        "only what stands before the cursor counts"
    );
}

#[test]
fn help_lists_every_word_under_its_group_and_explains_each() {
    let names = names();
    let page = help_page(None, &names).join("\n");
    for word in words() {
        assert!(page.contains(word.name), "{}", word.name);
        let own = help_page(Some(word.name), &names).join("\n");
        assert!(
            own.contains("For example: ") && own.contains(&names.fill(word.about)),
            "{own}"
        );
    }
    for group in Group::ALL {
        assert!(page.contains(group.heading()));
        assert!(help_page(Some(group.heading()), &names).len() > 1);
    }
}

#[test]
fn lines_of_any_characters_are_answered_without_a_panic() {
    let odd = [
        "é",
        "volts é B-",
        "key ö",
        "🔧 X7",
        "volts \u{0} \u{7f}",
        "call ä good",
        "wait 5 µ",
        ", , ,",
        "look X7.",
        "look .2",
        "x7.2",
    ];
    for line in odd {
        let _ = parse(line, &names(), None);
        for cursor in 0..=line.len() + 1 {
            let _ = complete(line, cursor, &names());
        }
    }
    assert!(parse(&"x".repeat(10_000), &names(), None).is_err());
}

#[test]
fn the_moves_of_the_trade_are_understood() {
    let names = names();
    let part = |id: &str| names.part(id).unwrap();
    for (line, action) in [
        ("tap TANK", Action::Tap(part("TANK"))),
        (
            "swap K1",
            Action::Swap {
                relay: part("K1"),
                with: None,
            },
        ),
        (
            "swap K1 K2",
            Action::Swap {
                relay: part("K1"),
                with: Some(part("K2")),
            },
        ),
        (
            "pinch RETURN",
            Action::Pinch {
                line: part("RETURN"),
                shut: true,
            },
        ),
        (
            "pinch RETURN off",
            Action::Pinch {
                line: part("RETURN"),
                shut: false,
            },
        ),
        ("fill drained", Action::Fill { drained: true }),
        (
            "charge 4 h",
            Action::Charge {
                seconds: Some(14_400.0),
            },
        ),
        ("charge", Action::Charge { seconds: None }),
        ("range 60 V", Action::Range(Some((Quantity::Voltage, 60.0)))),
        ("range auto", Action::Range(None)),
        ("record on", Action::Record(Some(Interval::Peaks))),
        ("record on 5 ms", Action::Record(Some(Interval::Peaks))),
        ("record on 0.1 s", Action::Record(Some(Interval::Tenth))),
        ("record on 1", Action::Record(Some(Interval::Second))),
        ("record off", Action::Record(None)),
        ("gauge on", Action::Gauge(Some(Fitting::Port))),
        (
            "gauge tee FILTER",
            Action::Gauge(Some(Fitting::Tee(part("FILTER")))),
        ),
        ("gauge off", Action::Gauge(None)),
        ("gauge", Action::Reread(Tool::Gauge)),
        ("clamp", Action::Reread(Tool::Clamp)),
        ("lamp", Action::Reread(Tool::Lamp)),
        ("load", Action::Reread(Tool::Load)),
        ("leads needle", Action::Needles(true)),
        ("leads probe", Action::Needles(false)),
        ("amps off", Action::MeterOff),
        ("load off", Action::LoadOff),
        ("scan", Action::Scan),
        ("waveform", Action::Waveform),
    ] {
        assert_eq!(understood(line), Asked::Act(action), "{line}");
    }
    for (line, bulb) in [
        ("load X7.1 G4", Bulb::Watts21),
        ("load X7.1 G4 55 W", Bulb::Watts55),
        ("load X7.1 G4 21", Bulb::Watts21),
    ] {
        let [a, b] = ["X7.1", "G4"].map(|name| names.point(name).unwrap());
        assert_eq!(
            understood(line),
            Asked::Act(Action::Load { a, b, bulb }),
            "{line}"
        );
    }
    assert!(refused("range").hint.contains("range 60 V"));
    assert!(refused("load X7.1 G4 60 W").error.contains("21"));
    assert_eq!(completed("load X7.1 G4 5"), ["55"]);
    for interval in completed("record on ") {
        understood(&format!("record on {interval}"));
    }
    assert_eq!(completed("record on 5"), ["5ms"]);
    assert_eq!(completed("pinch RETURN o"), ["off"]);
}
