//! The fault catalogue and what faults do to a built vehicle.

use hidden_ohm::fault::{
    self, Catalogue, Effect, Fault, KindId, Remedy, Sense, Severity, Site, Spread,
};
use hidden_ohm::pump::RegulatorStuck;
use hidden_ohm::vehicle::{self, Build, Kind, Section, ThermostatState, Vehicle};

use crate::vehicle::harbour_van;

fn catalogue() -> Catalogue {
    fault::built_in().expect("the built-in files are right")
}

fn kind(catalogue: &Catalogue, id: &str) -> KindId {
    KindId(
        catalogue
            .kinds
            .iter()
            .position(|kind| kind.id == id)
            .unwrap_or_else(|| panic!("no fault {id}")),
    )
}

/// The fault of this kind on this part, at a severity.
fn on_part(van: &Vehicle, catalogue: &Catalogue, id: &str, part: &str, severity: f64) -> Fault {
    let kind = kind(catalogue, id);
    let part = van.part(part).expect("a part of the van");
    let sites = &fault::sites(van, catalogue)[kind.0];
    let site = *sites
        .iter()
        .find(|site| site.part == part)
        .expect("the kind fits the part");
    Fault {
        kind,
        site,
        severity,
    }
}

fn faulty(van: &Vehicle, catalogue: &Catalogue, fault: Fault) -> Build {
    let mut build = van.nominal();
    fault::apply(van, catalogue, &[fault], &mut build);
    build
}

#[test]
fn the_catalogue_covers_every_stretch_of_the_circuit() {
    let (van, catalogue) = (harbour_van(), catalogue());
    assert!(
        catalogue.kinds.len() >= 16,
        "{} kinds",
        catalogue.kinds.len()
    );
    let sites = fault::sites(&van, &catalogue);
    for (kind, sites) in catalogue.kinds.iter().zip(&sites) {
        // Parts that the van does not have, or that carry something else on it.
        let elsewhere = |on: &Kind| !van.parts.iter().any(|part| part.kind == *on);
        assert!(
            !sites.is_empty()
                || kind.on.iter().all(elsewhere)
                || kind.medium.is_some_and(|only| only != van.medium()),
            "{} fits nothing on the van",
            kind.id
        );
    }
    // What nobody notices by itself: causes of something else, and two contacts that only hand-written jobs have.
    let unnoticed: Vec<&str> = catalogue
        .kinds
        .iter()
        .filter(|kind| kind.weight == 0)
        .map(|kind| kind.id.as_str())
        .collect();
    assert_eq!(
        unnoticed,
        [
            "low-charging",
            "frayed-strap",
            "open-back-up-switch",
            "poor-back-up-contact"
        ]
    );
    for section in Section::ALL {
        let covered =
            catalogue
                .kinds
                .iter()
                .zip(&sites)
                .enumerate()
                .any(|(index, (kind, sites))| {
                    sites.iter().any(|&site| {
                        let fault = Fault {
                            kind: KindId(index),
                            site,
                            severity: kind.severity.min,
                        };
                        fault::section(&van, &fault) == section
                    })
                });
        assert!(covered, "no fault in the section {section}");
    }
}

/// What each effect must do, told from the two builds alone.
fn moves_as_it_says(effect: Effect, site: Site, healthy: &Build, faulty: &Build) -> bool {
    let element = site
        .element
        .map(|element| (healthy.ohms[element.0], faulty.ohms[element.0]));
    let more_ohms = element.is_some_and(|(before, after)| after > before && after.is_finite());
    let (motor, was_motor) = (&faulty.unit.motor, &healthy.unit.motor);
    let (fuel, was_fuel) = (&faulty.hydraulics, &healthy.hydraulics);
    match effect {
        Effect::AddOhms | Effect::StrandsLost => more_ohms,
        Effect::Open | Effect::CoilOpen => {
            element.is_some_and(|(before, after)| before.is_finite() && after == f64::INFINITY)
        }
        Effect::ChafedShort => faulty.shorts.len() == healthy.shorts.len() + 1,
        Effect::FuseBlown => site
            .element
            .is_some_and(|element| faulty.fuse_blown.contains(&element)),
        Effect::LowCharge => faulty.battery.emf_v < healthy.battery.emf_v && more_ohms,
        Effect::InternalOhms => faulty.battery.ohms > healthy.battery.ohms && more_ohms,
        Effect::LowCharging => faulty.alternator_v < healthy.alternator_v,
        Effect::DriverDead => faulty.driver_dead && !healthy.driver_dead,
        Effect::BrushOhms => motor.brush_ohms > was_motor.brush_ohms,
        Effect::DeadSegments => {
            motor.dead_segments > 0 && motor.live_fraction() < was_motor.live_fraction()
        }
        Effect::LeakFactor => faulty.unit.element.leak_m3_s_pa > healthy.unit.element.leak_m3_s_pa,
        Effect::DragTorque => motor.dry_nm > was_motor.dry_nm,
        Effect::Seized => motor.seized,
        Effect::StrainerFactor => fuel.strainer_pa_s2_m6 > was_fuel.strainer_pa_s2_m6,
        Effect::FilterFactor => fuel.filter_pa_s_m3 > was_fuel.filter_pa_s_m3,
        Effect::LineFactor => fuel.line_pa_s2_m6 > was_fuel.line_pa_s2_m6,
        Effect::InTankLeak => fuel.in_tank_leak_m2 > was_fuel.in_tank_leak_m2,
        Effect::RegulatorSet => fuel.regulator.set_pa < was_fuel.regulator.set_pa,
        Effect::CheckLeak => fuel.check_valve.leak_m2 > was_fuel.check_valve.leak_m2,
        Effect::StuckClosed => site
            .element
            .is_some_and(|element| faulty.stuck_closed.contains(&element)),
        Effect::RegulatorOpen => {
            matches!(fuel.regulator.stuck, Some(RegulatorStuck::Open { area_m2 }) if area_m2 > 0.0)
        }
        Effect::RegulatorShut => fuel.regulator.stuck == Some(RegulatorStuck::Shut),
        Effect::ReturnFactor => fuel.return_pa_s2_m6 > was_fuel.return_pa_s2_m6,
        Effect::PrimeOnly => faulty.prime_only && !healthy.prime_only,
        Effect::SensorFactor => faulty.sensor_factor > healthy.sensor_factor,
        Effect::InjectorLeak => fuel.injector_leak_m2 > was_fuel.injector_leak_m2,
        Effect::RunsDry => fuel.tank_empty && !was_fuel.tank_empty,
        Effect::ThermostatShut => faulty.thermostat == ThermostatState::Shut,
        Effect::ThermostatOpen => faulty.thermostat == ThermostatState::Open,
    }
}

#[test]
fn every_fault_alters_the_build_the_way_it_says_and_nothing_else() {
    let (van, catalogue) = (harbour_van(), catalogue());
    let healthy = van.nominal();
    for (index, sites) in fault::sites(&van, &catalogue).iter().enumerate() {
        let kind = &catalogue.kinds[index];
        for &site in sites {
            for severity in [kind.severity.min, kind.severity.max] {
                let build = faulty(
                    &van,
                    &catalogue,
                    Fault {
                        kind: KindId(index),
                        site,
                        severity,
                    },
                );
                assert!(
                    moves_as_it_says(kind.effect, site, &healthy, &build),
                    "{} on {} at {severity}",
                    kind.id,
                    van.parts[site.part.0].id
                );
                let others = build.ohms.iter().zip(&healthy.ohms).enumerate().filter(
                    |(element, (after, before))| {
                        after != before && site.element.is_none_or(|site| site.0 != *element)
                    },
                );
                assert_eq!(others.count(), 0, "{} changes another element", kind.id);
            }
        }
    }
}

#[test]
fn ten_millimetres_on_the_last_strand_cost_three_milliohms() {
    // calc: one 0.26 mm strand is 0.05309 mm2; 0.017241 ohm mm2/m over 10 mm gives 3.247 mohm,
    // of which the whole wire had 0.127 already (ISO 6722: 12.7 mohm/m).
    let (van, catalogue) = (harbour_van(), catalogue());
    let fault = on_part(&van, &catalogue, "chafed-strands", "W12", 0.01);
    let build = faulty(&van, &catalogue, fault);
    let element = fault.site.element.expect("a wire is electrical").0;
    let added = build.ohms[element] - van.nominal().ohms[element];
    assert!((added - (3.247e-3 - 0.127e-3)).abs() < 1e-6, "{added}");
}

#[test]
fn a_chafe_is_never_longer_than_its_wire() {
    let (van, catalogue) = (harbour_van(), catalogue());
    let build = |metres| {
        faulty(
            &van,
            &catalogue,
            on_part(&van, &catalogue, "chafed-strands", "W13", metres),
        )
    };
    assert_eq!(build(0.4).ohms, build(3.0).ohms);
}

#[test]
fn a_leak_passes_its_stated_flow_at_300_kpa() {
    let (van, catalogue) = (harbour_van(), catalogue());
    let litres_an_hour = 60.0 / 3.6e6;
    let build = faulty(
        &van,
        &catalogue,
        on_part(&van, &catalogue, "split-hose", "HOSE", litres_an_hour),
    );
    let flow = build
        .hydraulics
        .orifice_m3_s(build.hydraulics.in_tank_leak_m2, 300e3);
    assert!((flow / litres_an_hour - 1.0).abs() < 1e-12);
}

#[test]
fn a_short_at_the_tank_touches_the_metal_beside_the_tank() {
    let (van, catalogue) = (harbour_van(), catalogue());
    let touched = |part: &str| {
        let build = faulty(
            &van,
            &catalogue,
            on_part(&van, &catalogue, "chafed-to-body", part, 0.1),
        );
        build.shorts[0].to_body_node
    };
    assert_eq!(
        touched("W13"),
        van.node("BODYR").expect("a point of the van")
    );
    assert_eq!(
        touched("W10"),
        van.node("BODY").expect("a point of the van")
    );
}

#[test]
fn cleaning_the_ground_point_cures_it_and_a_new_pump_does_not() {
    let (van, catalogue) = (harbour_van(), catalogue());
    let fault = on_part(&van, &catalogue, "corroded-ground", "G4", 0.5);
    let cured = |part: &str, remedy| {
        let part = van.part(part).expect("a part of the van");
        fault::cured_by(&van, &catalogue, &fault, part, None, remedy)
    };
    assert!(cured("G4", Remedy::Repair));
    assert!(cured("G4", Remedy::Replace));
    assert!(!cured("G1", Remedy::Repair));
    assert!(!cured("PUMP", Remedy::Replace));
}

#[test]
fn a_new_relay_does_not_mend_its_socket_and_a_new_pump_brings_its_check_valve() {
    let (van, catalogue) = (harbour_van(), catalogue());
    let relay = van.part("K1").expect("the relay");
    let socket = on_part(&van, &catalogue, "spread-socket", "K1", 1.0);
    assert!(!fault::cured_by(
        &van,
        &catalogue,
        &socket,
        relay,
        None,
        Remedy::Replace
    ));
    assert!(fault::cured_by(
        &van,
        &catalogue,
        &socket,
        relay,
        None,
        Remedy::Repair
    ));
    let valve = on_part(&van, &catalogue, "leaking-check-valve", "CHECK", 1e-7);
    let pump = van.part("PUMP").expect("the pump");
    assert!(fault::cured_by(
        &van,
        &catalogue,
        &valve,
        pump,
        None,
        Remedy::Replace
    ));
}

#[test]
fn repairing_one_pin_leaves_the_others_as_they_are() {
    let (van, catalogue) = (harbour_van(), catalogue());
    let fault = on_part(&van, &catalogue, "burnt-pin", "X7", 1.0);
    let x7 = van.part("X7").expect("the tank connector");
    let other = van.element(x7, "4").expect("pin 4");
    let cured = |element| fault::cured_by(&van, &catalogue, &fault, x7, element, Remedy::Repair);
    assert!(cured(fault.site.element));
    assert!(cured(None));
    assert!(!cured(Some(other)));
}

#[test]
fn every_fault_can_be_cured_by_work_the_van_offers() {
    let (van, catalogue) = (harbour_van(), catalogue());
    for (index, sites) in fault::sites(&van, &catalogue).iter().enumerate() {
        for &site in sites {
            let fault = Fault {
                kind: KindId(index),
                site,
                severity: catalogue.kinds[index].severity.max,
            };
            let curable = van.parts.iter().enumerate().any(|(part, offered)| {
                let part = hidden_ohm::vehicle::PartId(part);
                (offered.repair.is_some()
                    && fault::cured_by(&van, &catalogue, &fault, part, None, Remedy::Repair))
                    || (offered.replace.is_some()
                        && fault::cured_by(&van, &catalogue, &fault, part, None, Remedy::Replace))
            });
            assert!(
                curable,
                "{} on {}",
                catalogue.kinds[index].id, van.parts[site.part.0].id
            );
        }
    }
}

#[test]
fn clues_and_signs_never_name_the_fault() {
    const GIVEAWAYS: [&str; 12] = [
        "corro", "burnt", "worn", "seized", "fault", "defect", "resist", "blown", "dead", "bad ",
        "loose", "short",
    ];
    let catalogue = catalogue();
    let texts = catalogue
        .kinds
        .iter()
        .flat_map(|kind| kind.clues.iter().map(|clue| &clue.text));
    for text in texts.chain(catalogue.signs.iter().map(|sign| &sign.text)) {
        let lower = text.to_lowercase();
        let told = GIVEAWAYS.iter().find(|word| lower.contains(**word));
        assert_eq!(told, None, "{text}");
        assert!(text.ends_with('.'), "{text}");
    }
}

#[test]
fn a_mild_ground_fault_shows_nothing_and_a_bad_one_looks_like_plain_age() {
    let (van, catalogue) = (harbour_van(), catalogue());
    let mild = on_part(&van, &catalogue, "corroded-ground", "G4", 0.3);
    let bad = Fault {
        severity: 3.0,
        ..mild
    };
    assert_eq!(fault::clue(&catalogue, &mild, Sense::Look), None);
    let seen = fault::clue(&catalogue, &bad, Sense::Look).expect("a bad one shows");
    let g4 = mild.site.part;
    let healthy_ones = (0..200)
        .filter(|&seed| fault::signs(&van, &catalogue, g4, Sense::Look, seed).contains(&seen));
    let share = healthy_ones.count();
    assert!(
        (40..100).contains(&share),
        "{share} of 200 healthy grounds show it"
    );
}

#[test]
fn only_joints_a_hand_can_move_are_wiped_by_handling() {
    let catalogue = catalogue();
    let wiped = |id: &str| fault::is_contact(&catalogue.kinds[kind(&catalogue, id).0]);
    assert!(wiped("burnt-pin") && wiped("corroded-ground") && wiped("spread-socket"));
    assert!(!wiped("burnt-relay-contacts") && !wiped("bad-splice") && !wiped("thin-repair"));
}

#[test]
fn contact_films_are_spread_evenly_in_the_logarithm() {
    let catalogue = catalogue();
    let ground = &catalogue.kinds[kind(&catalogue, "corroded-ground").0];
    assert_eq!(
        ground.severity,
        Severity {
            min: 0.2,
            max: 4.0,
            spread: Spread::Log
        }
    );
    assert_eq!(ground.on, [Kind::Ground]);
}

#[test]
fn a_consequence_names_two_kinds_that_are_there() {
    let kind = |id: &str| {
        format!(
            "[[fault]]\nid = \"{id}\"\ntitle = \"x\"\non = [\"ground\"]\neffect = \"open\"\nweight = 1\n\
             when = \"always\"\ncures = [\"repair\"]\nteaching = \"x\"\nlevels = [5]\n"
        )
    };
    let pair = |of: &str, brings: &str| {
        format!("[[consequence]]\nof = \"{of}\"\nbrings = \"{brings}\"\nweight = 1\nwhy = \"x\"\n")
    };
    let text = |pair: &str| format!("format = 1\n{}{}{pair}", kind("first"), kind("second"));
    let right = text(&pair("first", "second"));
    let read = fault::load(&[("mine.toml", &right)]).expect("two kinds and a pair");
    assert_eq!(
        (read.consequences[0].of, read.consequences[0].brings),
        (KindId(0), KindId(1))
    );
    for (of, brings, wanted) in [
        (
            "frist",
            "second",
            "mine.toml:23:6: no fault is called `frist`; did you mean `first`?",
        ),
        (
            "first",
            "first",
            "mine.toml:22:1: consequence `first` brings itself about",
        ),
    ] {
        let wrong = text(&pair(of, brings));
        let found = fault::load(&[("mine.toml", &wrong)]).expect_err("a mistake");
        assert_eq!(
            found.iter().map(ToString::to_string).collect::<Vec<_>>(),
            [wanted]
        );
    }
}

#[test]
fn mistakes_in_a_catalogue_are_told_with_their_places() {
    let text = "format = 1\n[[fault]]\nid = \"x\"\ntitle = \"x\"\non = [\"grund\"]\neffect = \"add-ohm\"\nweight = 1\n\
                when = \"always\"\ncures = [\"repaint\"]\nteaching = \"x\"\nlevels = [9]\nzzz = 3\n";
    let found = fault::load(&[("mine.toml", text)]).expect_err("five mistakes");
    let lines: Vec<String> = found.iter().map(ToString::to_string).collect();
    assert_eq!(
        lines,
        [
            "mine.toml:2:1: fault `x` needs levels from 1 to 5; write `levels = [1, 2, 3, 4, 5]` or fewer",
            "mine.toml:5:7: `grund` is not known here; did you mean `ground`?",
            "mine.toml:6:10: `add-ohm` is not known here; did you mean `add-ohms`?",
            "mine.toml:9:10: `repaint` is not known here; did you mean `repair`?",
            "mine.toml:12:1: fault `x` has an unknown key `zzz`; known keys: id, title, on, medium, legs, sections, effect, \
             weight, grows, above, when, cures, teaching, levels, severity, clue",
        ]
    );
}

/// What is said of one kind with lines changed.
fn said_of(changes: &[(&str, &str)]) -> Vec<String> {
    let mut text = "format = 1\n[[fault]]\nid = \"x\"\ntitle = \"x\"\non = [\"relay\", \"fuse\"]\nlegs = [\"in\", \"contact\"]\n\
                    effect = \"add-ohms\"\nseverity = { mild = \"1 ohm\", worst = \"3 ohm\", spread = \"log\" }\nweight = 1\n\
                    when = \"always\"\ncures = [\"repair\"]\nteaching = \"x\"\nlevels = [3]\n\
                    [[fault.clue]]\nsense = \"look\"\ntext = \"x\"\n"
        .to_owned();
    for (old, new) in changes {
        assert!(text.contains(old), "{old}");
        text = text.replace(old, new);
    }
    let found = fault::load(&[("mine.toml", &text)]).err();
    let found = found.unwrap_or_default();
    found.iter().map(ToString::to_string).collect()
}

#[test]
fn one_mistake_in_a_kind_is_told_as_one() {
    assert_eq!(said_of(&[]), Vec::<String>::new());
    let cases: [(&[(&str, &str)], &str); 7] = [
        (
            &[("add-ohms", "add-ohm")],
            "mine.toml:7:10: `add-ohm` is not known here; did you mean `add-ohms`?",
        ),
        (
            &[("weight", "above = \"2 A\"\nweight")],
            "mine.toml:11:8: fault `x` has both `when` and `above`; take one of them away: `above` says when it shows",
        ),
        (
            &[("\"contact\"", "\"contakt\"")],
            "mine.toml:6:15: no relay or fuse has a place `contakt`; places there are: 30, 87, 86, 85, contact, coil, in, element, out",
        ),
        (
            &[
                ("\"relay\", \"fuse\"", "\"connector\""),
                ("[\"in\", \"contact\"]", "[\"1\", \"a\"]"),
            ],
            "mine.toml:6:14: no connector has a place `a`; write the number of a pin",
        ),
        (
            &[("\"relay\", \"fuse\"", "\"wire\""), ("\"in\", ", "")],
            "mine.toml:6:9: no wire has a place `contact`; such a part has one place, without a name: take `legs` away",
        ),
        (
            &[("3 ohm", "0.3 ohm")],
            "mine.toml:8:12: `worst` of fault `x` is milder than its `mild`; of this effect more is worse: exchange the two",
        ),
        (
            &[
                ("\"relay\", \"fuse\"", "\"wire\""),
                ("legs = [\"in\", \"contact\"]\n", ""),
                ("add-ohms", "chafed-short"),
            ],
            "mine.toml:7:12: `worst` of fault `x` is milder than its `mild`; of this effect less is worse: exchange the two",
        ),
    ];
    for (changes, wanted) in cases {
        assert_eq!(said_of(changes), [wanted]);
    }
}

#[test]
fn every_named_place_of_a_vehicle_is_one_of_its_kind_of_part() {
    for van in vehicle::built_in().expect("the built-in files are right") {
        for element in van.elements.iter().filter(|one| !one.leg.is_empty()) {
            let part = &van.parts[element.part.0];
            assert!(
                part.kind.has_leg(&element.leg),
                "{} {}",
                part.id,
                element.leg
            );
        }
    }
}
