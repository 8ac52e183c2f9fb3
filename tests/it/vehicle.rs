//! The vehicle file, its loader and the vehicles built from it.

use std::fs;
use std::path::Path;

use hidden_ohm::circuit::{Branch, Network, Solution, Solver, Source};
use hidden_ohm::pump::{Demand, OperatingPoint, Outlet, Supply, operating_point};
use hidden_ohm::vehicle::{self, FILES, Key, Kind, Law, PartId, Section, Vehicle, build};
use proptest::prelude::*;

/// The built-in harbour van.
pub fn harbour_van() -> Vehicle {
    let mut vehicles = vehicle::built_in().expect("the built-in files are right");
    vehicles.remove(0)
}

#[test]
fn the_harbour_van_loads_and_is_large_enough_to_get_lost_in() {
    let van = harbour_van();
    assert_eq!(van.id, "harbour-van");
    assert!(
        van.points().count() >= 20,
        "{} points",
        van.points().count()
    );
    let in_loop: Vec<&str> = van
        .pump_loop()
        .iter()
        .map(|part| van.parts[part.0].id.as_str())
        .collect();
    assert!(in_loop.len() >= 12, "{in_loop:?}");
    for part in [
        "BAT", "CLP", "W1", "FL1", "F12", "K1", "X2", "W12", "SP2", "X7", "X8", "PUMP", "SP3",
        "G4", "CLN",
    ] {
        assert!(in_loop.contains(&part), "{part} is not in {in_loop:?}");
    }
    // The engine ground runs beside the body ground, so neither alone carries the pump's current.
    for part in ["G1", "G2", "G3", "W2", "W3", "S1", "F3"] {
        assert!(!in_loop.contains(&part), "{part} is in {in_loop:?}");
    }
}

#[test]
fn the_relay_coil_circuit_is_there_with_its_switch_and_driver() {
    let van = harbour_van();
    let relay = van.part("K1").expect("the relay");
    assert!(matches!(
        van.elements[van.element(relay, "coil").expect("a coil").0].law,
        Law::Coil { .. }
    ));
    let switch = van.elements.iter().find_map(|element| match element.law {
        Law::Switch { closed, .. } => Some(closed),
        _ => None,
    });
    let switch = switch.expect("an ignition switch");
    assert!(
        !switch.contains(Key::Off)
            && switch.contains(Key::On)
            && switch.contains(Key::Crank)
            && switch.contains(Key::Run)
    );
    assert!(
        van.elements
            .iter()
            .any(|element| matches!(element.law, Law::Driver { .. }))
    );
}

#[test]
fn a_wire_measures_its_iso_6722_value_times_its_length() {
    // ISO 6722 limits at 20 C through makers' FLRY-B tables, mohm/m: 0.75 mm2 24.7; 1 18.5; 1.5 12.7; 2.5 7.60.
    let van = harbour_van();
    for (part, milliohms_per_m, metres) in [
        ("W12", 12.7, 3.2),
        ("W11", 12.7, 0.6),
        ("W16", 7.60, 0.5),
        ("W22", 18.5, 0.4),
        ("W23", 24.7, 1.5),
    ] {
        let part = van.part(part).expect("a wire of the van");
        let Law::Copper {
            ohms_20, length_m, ..
        } = van.elements[van.element(part, "").expect("its copper").0].law
        else {
            panic!("a wire is copper");
        };
        assert_eq!(length_m, metres);
        let expected = milliohms_per_m * metres / 1e3;
        assert!(
            (ohms_20 / expected - 1.0).abs() < 1e-12,
            "{ohms_20} against {expected}"
        );
    }
}

#[test]
fn the_tank_is_reached_by_way_of_underbody_and_shield() {
    let van = harbour_van();
    let touch = van.nodes[vehicle::node_index(van.node("M.1").expect("the pump terminal"))]
        .touch
        .expect("touchable");
    let order = van.access_order(&van.places[touch.place.0].needs);
    let names: Vec<&str> = order
        .iter()
        .map(|access| van.accesses[access.0].id.as_str())
        .collect();
    assert_eq!(names, ["underbody", "shield", "tank", "module"]);
    let minutes: f64 = order
        .iter()
        .map(|access| van.accesses[access.0].seconds)
        .sum::<f64>()
        / 60.0;
    assert_eq!(minutes, 75.0);
}

#[test]
fn the_far_half_of_a_connector_is_bare_only_when_unplugged() {
    let van = harbour_van();
    let x7 = van.part("X7");
    let touch = |name: &str| {
        van.nodes[vehicle::node_index(van.node(name).expect("a point"))]
            .touch
            .expect("touchable")
    };
    assert_eq!(touch("X7.2t").only_unplugged, x7);
    assert_eq!(touch("X7.2").only_unplugged, None);
}

#[test]
fn pins_of_one_connector_belong_to_their_own_sections() {
    let van = harbour_van();
    let x7 = van.part("X7").expect("the tank connector");
    let section = |pin: &str| van.elements[van.element(x7, pin).expect("a pin").0].section;
    assert_eq!(section("1"), Section::Feed);
    assert_eq!(section("2"), Section::GroundSide);
}

#[test]
fn every_part_that_can_be_bought_has_a_price_and_every_wire_a_colour() {
    let van = harbour_van();
    for part in &van.parts {
        assert_eq!(part.replace.is_some(), part.price.is_some(), "{}", part.id);
        assert_eq!(
            part.kind == Kind::Wire,
            part.colour.is_some(),
            "{}",
            part.id
        );
        assert!(
            van.diagram.contains(&part.id) || part.kind == Kind::Body,
            "{} is not on the diagram",
            part.id
        );
    }
}

#[test]
fn the_same_seed_builds_the_same_van_and_a_new_part_changes_only_itself() {
    let van = harbour_van();
    let as_new = |_: PartId| 0;
    let first = van.build(7, 1.0, &as_new);
    assert_eq!(first, van.build(7, 1.0, &as_new));
    assert_ne!(first.ohms, van.build(8, 1.0, &as_new).ohms);
    let x7 = van.part("X7").expect("the tank connector");
    let renewed = van.build(7, 1.0, &|part| u32::from(part == x7));
    for (index, (before, after)) in first.ohms.iter().zip(&renewed.ohms).enumerate() {
        assert_eq!(
            before != after,
            van.elements[index].part == x7,
            "element {index}"
        );
    }
    assert_eq!(first.unit, renewed.unit);
}

#[test]
fn built_values_stay_within_the_stated_tolerances() {
    let van = harbour_van();
    let nominal = van.nominal();
    let spread = &build::TOLERANCES;
    for seed in 0..50 {
        let built = van.build(seed, 0.9, &|_| 0);
        for (index, element) in van.elements.iter().enumerate() {
            let ratio = built.ohms[index] / nominal.ohms[index];
            let (low, high) = match element.law {
                Law::Winding => continue,
                Law::Copper { .. } => spread.copper,
                Law::Coil { .. } => spread.coil,
                Law::Battery { .. } => spread.battery,
                _ => (0.6, 1.7),
            };
            assert!(
                (low - 1e-12..=high + 1e-12).contains(&ratio),
                "seed {seed}, element {index}: {ratio}"
            );
        }
    }
}

/// Currents of the van with the relay pulled in, the pump's winding replaced by what it takes at
/// its operating point; volts at every node.
fn running(
    van: &Vehicle,
    built: &vehicle::Build,
    key: Key,
    demand: &Demand,
) -> (OperatingPoint, Solution) {
    let mut network = Network::new(van.reference);
    while network.node_count() < van.nodes.len() {
        network.add_node();
    }
    for (index, element) in van.elements.iter().enumerate() {
        let (from, to, ohms, tag) = (element.from, element.to, built.ohms[index], 0);
        match element.law {
            Law::Battery { .. } => {
                network.add_source(Source {
                    from,
                    to,
                    volts: built.battery.emf_v,
                    ohms,
                    tag,
                });
            }
            Law::Alternator { .. } if key == Key::Run => {
                network.add_source(Source {
                    from,
                    to,
                    volts: built.alternator_v,
                    ohms,
                    tag,
                });
            }
            Law::Alternator { .. } | Law::Starter { .. } | Law::Winding => {}
            _ => {
                network.add_branch(Branch {
                    from,
                    to,
                    ohms,
                    tag,
                });
            }
        }
    }
    let mut solver = Solver::new();
    let port = solver
        .port(&network, van.pump.plus, van.pump.minus)
        .expect("a solvable van");
    let seen = port.thevenin();
    let supply = Supply {
        volts: seen.volts,
        ohms: seen.ohms,
    };
    let point =
        operating_point(&built.unit, &built.hydraulics, &supply, demand).expect("a pump that runs");
    let solution = port.loaded(point.amps);
    (point, solution)
}

#[test]
fn a_healthy_van_behaves_like_a_healthy_port_injection_vehicle() {
    // Common practice, no source: 3-5 A, 0.1-0.4 V lost on the feed, under 0.1 V on the ground side.
    let van = harbour_van();
    let engine = &van.engine;
    let at = |injectors_m3_s, manifold_pa| Demand {
        injectors_m3_s,
        manifold_pa,
        outlet: Outlet::Rail,
    };
    let volts_between = |solution: &Solution, a: &str, b: &str| {
        let volts = |name: &str| solution.volts(van.node(name).expect("a point of the van"));
        volts(a) - volts(b)
    };
    for seed in 0..300 {
        let built = van.build(seed, 0.95, &|_| 0);
        for (key, demand) in [
            (Key::On, Demand::none()),
            (Key::Run, at(engine.idle_m3_s, engine.idle_manifold_pa)),
            (Key::Run, at(engine.hill_m3_s, engine.hill_manifold_pa)),
        ] {
            let (point, solution) = running(&van, &built, key, &demand);
            let amps = point.amps;
            let feed = volts_between(&solution, "B+", "X7.1t");
            let ground = volts_between(&solution, "M.2", "B-");
            assert!((3.0..5.0).contains(&amps), "seed {seed}: {amps} A");
            assert!(
                (0.1..0.4).contains(&feed),
                "seed {seed}: {feed} V on the feed"
            );
            assert!(
                (0.0..0.1).contains(&ground),
                "seed {seed}: {ground} V on the ground side"
            );
            let set_pa = built.hydraulics.regulator.set_pa + demand.manifold_pa;
            assert!(
                point.rail_pa > 0.97 * set_pa,
                "seed {seed}: {} Pa of {set_pa}",
                point.rail_pa
            );
            assert!(point.rail_pa > engine.start_pa);
        }
    }
}

#[test]
fn open_circuit_volts_follow_the_battery_makers_table() {
    // A battery maker's table for 26.7 C: 100/75/50/25/0 % charge.
    for (charge, volts) in [
        (1.0, 12.65),
        (0.75, 12.45),
        (0.5, 12.24),
        (0.25, 12.06),
        (0.0, 11.89),
    ] {
        assert!((build::open_circuit_v(charge) - volts).abs() < 1e-12);
    }
    assert!((build::open_circuit_v(0.875) - 12.55).abs() < 1e-12);
}

#[test]
fn section_names_are_understood_the_way_people_write_them() {
    for (text, section) in [
        ("ground", Section::GroundSide),
        ("Ground Side", Section::GroundSide),
        ("in-tank feed", Section::InTankFeed),
        ("tank ground", Section::InTankGround),
        ("body-ground", Section::BodyGround),
    ] {
        assert_eq!(text.parse(), Ok(section));
    }
    assert!("return".parse::<Section>().is_err());
    for section in Section::ALL {
        assert_eq!(section.to_string().parse(), Ok(section));
    }
}

/// Each file `NAME.toml` of the folder holds mistakes; `NAME.txt` beside it holds the lines that
/// must be said. `HIDDEN_OHM_MINT=1` writes the lines anew, to be read before they are kept.
#[test]
fn every_mistake_in_a_vehicle_file_is_told_with_its_place() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/vehicle-errors");
    let mut cases = 0;
    for entry in fs::read_dir(&folder).expect("the folder of cases") {
        let path = entry.expect("a readable entry").path();
        if path.extension().is_none_or(|extension| extension != "toml") {
            continue;
        }
        cases += 1;
        let name = path
            .file_name()
            .and_then(|name| name.to_str())
            .expect("a plain file name");
        let text = mistaken(&fs::read_to_string(&path).expect("a readable case"));
        let Err(found) = vehicle::load(name, &text) else {
            panic!("{name} loads")
        };
        let lines: Vec<String> = found.iter().map(ToString::to_string).collect();
        let said = lines.join("\n") + "\n";
        let expected = path.with_extension("txt");
        if std::env::var_os("HIDDEN_OHM_MINT").is_some() {
            fs::write(&expected, &said).expect("a writable folder");
        }
        assert_eq!(
            said,
            fs::read_to_string(&expected).unwrap_or_default(),
            "{name}"
        );
        let order: Vec<usize> = found
            .iter()
            .map(|diagnostic| diagnostic.span.start)
            .collect();
        assert!(order.is_sorted(), "{name} is not sorted");
    }
    assert!(cases >= 12, "only {cases} cases");
}

/// A case is the built-in van with changes: pairs of blocks `#- old` and `#+ new` name a text of
/// the van and what stands in its place. A case without such lines is taken as it is.
fn mistaken(case: &str) -> String {
    if !case.contains("#- ") {
        return case.to_owned();
    }
    let mut text = FILES[0].1.to_owned();
    let mut old: Option<String> = None;
    for line in case.lines() {
        if let Some(removed) = line.strip_prefix("#- ") {
            old = Some(removed.replace("\\n", "\n"));
        } else if let Some(added) = line.strip_prefix("#+ ") {
            let old = old.take().expect("a line to replace");
            assert_eq!(
                text.matches(&old).count(),
                1,
                "`{old}` must stand once in the van"
            );
            text = text.replace(&old, &added.replace("\\n", "\n"));
        }
    }
    text
}

#[test]
fn a_diagnostic_is_shown_with_its_line_and_a_mark() {
    let text = "format = 2\n";
    let found = vehicle::load("mine.toml", text).expect_err("a wrong format");
    let format = found
        .iter()
        .find(|diagnostic| diagnostic.message.contains("know the format"));
    let shown = format.expect("the format is refused").render(text);
    assert!(shown.contains("mine.toml:1:10"), "{shown}");
    assert!(shown.contains("format = 2"), "{shown}");
    assert!(shown.contains('^'), "{shown}");
    assert!(shown.contains("format = 1"), "{shown}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

    #[test]
    fn no_text_makes_the_loader_panic(text in "\\PC{0,200}") {
        let _ = vehicle::load("any.toml", &text);
    }

    #[test]
    fn no_change_to_the_van_makes_the_loader_panic(
        changes in prop::collection::vec((any::<prop::sample::Index>(), 0_usize..40, "[ -~\u{e9}\\n]{0,12}"), 1..6),
    ) {
        let mut text: Vec<char> = FILES[0].1.chars().collect();
        for (place, removed, added) in changes {
            let start = place.index(text.len());
            let end = (start + removed).min(text.len());
            text.splice(start..end, added.chars());
        }
        let text: String = text.into_iter().collect();
        if let Err(found) = vehicle::load("van.toml", &text) {
            prop_assert!(!found.is_empty());
            for diagnostic in found {
                prop_assert!(diagnostic.line >= 1 && diagnostic.column >= 1);
                prop_assert!(!diagnostic.render(&text).is_empty());
            }
        }
    }
}
