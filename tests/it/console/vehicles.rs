//! What the prompt proposes can be typed as it stands, on every vehicle there is.

use hidden_ohm::bay::Bay;
use hidden_ohm::console::{Console, Names, Step, help_page, parse, words};
use hidden_ohm::units::System;
use hidden_ohm::vehicle::{AccessHazard, AccessId, Handling, Kind, Medium, PartId, Tip, Vehicle};

use crate::floor::{library, read};

fn console(vehicle: &Vehicle) -> Console {
    console_in(vehicle, System::Metric)
}

fn console_in(vehicle: &Vehicle, system: System) -> Console {
    let fuel = match vehicle.medium() {
        Medium::Fuel => "fuel = \"50 %\"\n",
        Medium::Coolant => "",
    };
    let text = format!(
        "format = 1\nvehicle = \"{}\"\nlevel = 1\nseed = 5\ncustomer = \"Have a look.\"\n\
         [conditions]\nambient = \"20 C\"\ncharge = \"100 %\"\n{fuel}",
        vehicle.id
    );
    let bay = Bay::open(read("job.toml", &text), system);
    Console::new(bay.expect("the vehicle can be solved"))
}

/// Error and hint of a refused line.
fn refused(console: &mut Console, line: &str) -> Option<(String, String)> {
    match console.submit(line) {
        Step::Refused { error, hint, .. } => Some((error, hint)),
        _ => None,
    }
}

/// What stands between backticks.
fn proposed(text: &str) -> impl Iterator<Item = &str> {
    text.split('`').skip(1).step_by(2)
}

#[test]
fn every_example_in_the_table_can_be_typed_as_it_stands() {
    for vehicle in &library().vehicles {
        let names = Names::of(vehicle);
        for word in words() {
            let Some(example) = names.example(word.example) else {
                let of_type = |wanted: &str| {
                    let types = vehicle.parts.iter().filter_map(|p| p.relay_type.as_deref());
                    types.filter(|its| *its == wanted).count()
                };
                let lacks = match word.name {
                    "scrape" => vehicle.points().all(|(_, _, at)| at.tip != Tip::Painted),
                    "swap" => vehicle.parts.iter().all(|part| {
                        part.relay_type
                            .as_deref()
                            .is_none_or(|its| of_type(its) < 2)
                    }),
                    _ => false,
                };
                assert!(lacks, "{}: {}", vehicle.id, word.name);
                let page = help_page(Some(word.name), &names).join(" ");
                assert!(page.contains("has nothing to do it with"), "{page}");
                continue;
            };
            assert!(!example.contains('{'), "{example}");
            assert!(example.starts_with(word.name), "{example}");
            parse(&example, &names, None)
                .unwrap_or_else(|refusal| panic!("{}: `{example}`: {}", vehicle.id, refusal.error));
        }
    }
}

#[test]
fn examples_name_the_right_sort_of_thing() {
    for vehicle in &library().vehicles {
        let names = Names::of(vehicle);
        for (open, kind) in [
            ("{fuse-in}", Kind::Fuse),
            ("{fuse-out}", Kind::Fuse),
            ("{relay-in}", Kind::Relay),
            ("{relay-out}", Kind::Relay),
            ("{point}", Kind::Connector),
        ] {
            let name = names.fill(open);
            let owner = name.split_once('.').map_or("", |(owner, _)| owner);
            let part = vehicle
                .part(owner)
                .unwrap_or_else(|| panic!("{}: {open} {name}", vehicle.id));
            assert_eq!(
                vehicle.parts[part.0].kind, kind,
                "{}: {open} {name}",
                vehicle.id
            );
        }
        assert_ne!(names.fill("{fuse-in}"), names.fill("{fuse-out}"));
        for (open, kinds) in [
            ("{wire}", &[Kind::Wire][..]),
            ("{relay}", &[Kind::Relay]),
            ("{line}", &[Kind::Line, Kind::ReturnLine]),
            ("{filter}", &[Kind::Filter, Kind::Strainer, Kind::Radiator]),
            ("{part}", &[Kind::Ground]),
        ] {
            let part = vehicle.part(&names.fill(open)).expect("a part");
            assert!(
                kinds.contains(&vehicle.parts[part.0].kind),
                "{}: {open}",
                vehicle.id
            );
        }
    }
}

#[test]
fn every_example_is_done_on_a_vehicle_that_is_laid_open() {
    // What the state of things may stand in the way of: nothing is unplugged or painted, the key is on, the meter
    // hangs on a fuse and comes off as the leads are changed.
    let may_be_refused = [
        "open", "swap", "scrape", "flow", "isolate", "access", "key", "protect", "stands",
        "charge", "fuse", "tip",
    ];
    // These end the work, or put everything back.
    let left_out = [
        "drive", "warm", "handover", "quit", "refit", "repair", "replace",
    ];
    for vehicle in &library().vehicles {
        let mut console = console(vehicle);
        console.submit("protect");
        // The tank stays where it is: with it down there is nothing to sample or to listen to.
        let opens_tank = |id: &AccessId| vehicle.accesses[id.0].hazard == AccessHazard::OpensTank;
        let every: Vec<_> = (0..vehicle.accesses.len())
            .map(AccessId)
            .filter(|&id| !vehicle.access_order(&[id]).iter().any(opens_tank))
            .collect();
        for id in vehicle.access_order(&every) {
            console.submit(&format!("access {}", vehicle.accesses[id.0].id));
            console.submit("stands");
        }
        console.submit("leads extension 10 m 1.0 mm2");
        for word in words().filter(|word| !left_out.contains(&word.name)) {
            // A line is not opened against the pump, which an example before has switched on.
            if word.name == "sample" {
                console.submit("pump off");
            }
            let line = console.names().fill(word.example);
            let answer = refused(&mut console, &line);
            // What a tank of fuel is for has no sense where there is none.
            let no_fuel = vehicle.medium() == Medium::Coolant
                && ["fill", "sample", "gauge"].contains(&word.name);
            assert!(
                answer.is_none() || no_fuel || may_be_refused.contains(&word.name),
                "{}: `{line}`: {answer:?}",
                vehicle.id
            );
        }
    }
}

#[test]
fn every_line_that_a_refusal_proposes_is_understood_on_that_vehicle() {
    let left_out = ["drive", "warm", "handover", "quit", "charge", "fill"];
    for vehicle in &library().vehicles {
        let mut console = console(vehicle);
        let rests = [
            "", "off", "zero", "B+ B+", "9 h", "7 V", "PUMP", "TANK", "CLN", "K1 K1",
        ];
        let mut seen = 0;
        for word in words().filter(|word| !left_out.contains(&word.name)) {
            for rest in rests {
                let line = format!("{} {rest}", word.name);
                let Some((error, hint)) = refused(&mut console, &line) else {
                    continue;
                };
                for text in [&error, &hint] {
                    let capital = text.chars().next().is_some_and(char::is_lowercase);
                    assert!(!text.contains('{') && !text.is_empty(), "`{line}`: {text}");
                    // The bay speaks in sentences; the grammar goes on from the word.
                    assert!(!(capital && text.ends_with('.')), "`{line}`: {text}");
                }
                for proposal in proposed(&hint) {
                    // A word alone, or one with its open places spelt in capitals, is no line to type.
                    if !proposal.contains(' ') || proposal.contains("POINT") {
                        continue;
                    }
                    seen += 1;
                    parse(proposal, console.names(), None).unwrap_or_else(|refusal| {
                        panic!(
                            "{}: `{line}` proposes `{proposal}`: {}",
                            vehicle.id, refusal.error
                        )
                    });
                }
            }
        }
        assert!(seen > 80, "{seen}");
    }
}

#[test]
fn the_clock_tells_what_stands_connected() {
    let mut console = console(&library().vehicles[0]);
    for line in [
        "protect",
        "access bonnet",
        "volts B+ B-",
        "record on 1 s",
        "leads needle",
        "volts F12.1 B-",
        "lamp F12.2 BODY",
        "load K1.30 BODY 55 W",
        "gauge on",
        "unplug F7",
        "jumper K2.30 K2.87",
        "key on",
        "pump on",
        "helper on",
        "leads extension 5 m 1.0 mm2",
    ] {
        assert_eq!(refused(&mut console, line), None, "{line}");
    }
    let Step::Accepted(reply) = console.submit("clock") else {
        panic!("the clock costs nothing");
    };
    let said = reply.outcome.said.join(" ");
    for told in [
        "records every 1 s",
        "black lead is longer by 5.0 m",
        "Needles",
        "Test lamp on F12.2 and BODY",
        "55 W bulb on K1.30 and BODY",
        "service port",
        "Unplugged: F7",
        "Jumper between K2.30 and K2.87",
        "commands the pump on",
        "colleague",
        "Opened: bonnet.",
    ] {
        assert!(said.contains(told), "{told}: {said}");
    }
    // Changing the leads took the meter off.
    assert!(!said.contains("Meter on"), "{said}");
}

#[test]
fn figures_are_told_in_the_units_that_the_instruments_show() {
    for vehicle in &library().vehicles {
        let mut console = console_in(vehicle, System::Us);
        for line in ["data", "order"] {
            let Step::Accepted(reply) = console.submit(line) else {
                panic!("`{line}` costs nothing");
            };
            let said = reply.outcome.said.join("\n");
            let metric = |word: &str| {
                matches!(
                    word.trim_matches(&[',', ';', '.', '"'][..]),
                    "kPa" | "L" | "L/h" | "km"
                )
            };
            let left: Vec<&str> = said
                .split_whitespace()
                .filter(|word| metric(word))
                .collect();
            assert!(left.is_empty(), "{}: {said}", vehicle.id);
            let unit = match vehicle.medium() {
                Medium::Fuel => "psi",
                Medium::Coolant => "gal/h",
            };
            assert!(said.contains(unit), "{}: {said}", vehicle.id);
        }
    }
}

#[test]
fn a_clamp_closes_around_wires_and_straps_and_no_stud() {
    for vehicle in &library().vehicles {
        for (index, part) in vehicle.parts.iter().enumerate() {
            let id = PartId(index);
            if part.kind == Kind::Ground {
                assert_eq!(
                    vehicle.takes(id, Handling::Clamp),
                    part.looks.contains("strap"),
                    "{}: {}",
                    vehicle.id,
                    part.id
                );
            }
        }
    }
}

#[test]
fn help_speaks_of_what_the_vehicle_has_and_in_the_readers_units() {
    let minibus = library().vehicle("school-minibus").expect("built in");
    let names = Names::of(minibus);
    let page = |word: &str, names: &Names| help_page(Some(word), names).join(" ");
    for word in ["flow", "gauge"] {
        let page = page(word, &names);
        assert!(
            !page.contains("rail") && !page.contains("return line"),
            "{page}"
        );
    }
    for word in ["sample", "fill"] {
        let page = page(word, &names);
        assert!(
            page.contains("carries coolant") && page.contains("nothing to do it with"),
            "{page}"
        );
    }
    let us = Names::of(minibus).told_in(System::Us);
    for word in ["leads", "jumper", "reckon"] {
        let page = page(word, &us);
        assert!(page.contains("AWG") && page.contains(" ft"), "{page}");
        let example = page.split("For example: ").nth(1).expect("an example");
        parse(example, &us, None).unwrap_or_else(|refusal| panic!("{example}: {}", refusal.error));
    }
}
