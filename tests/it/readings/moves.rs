//! A table of canned readings would not move: change one part's value, and every reading that physics couples to it
//! moves, in the direction that physics says.

use std::sync::Arc;

use hidden_ohm::instrument::{Manner, grip_ohms};
use hidden_ohm::rig::{Conditions, Ladder, Moment, Rig};
use hidden_ohm::vehicle::{Element, Key, Law, Vehicle};

use crate::floor::{Floor, amps, fault, library, van, volts, wire};

const AT: Conditions = Conditions {
    ambient_c: 20.0,
    charge: 0.95,
    fuel: 0.5,
};

fn ladder(vehicle: Vehicle, seed: u64, key: Key) -> Ladder {
    let rig = Rig::new(
        Arc::new(vehicle),
        Arc::clone(&library().catalogue),
        seed,
        AT,
        Vec::new(),
    );
    rig.expect("a rig")
        .ladder(key, key == Key::On, Moment::Settled)
        .expect("a ladder")
}

fn sound() -> Vehicle {
    (*library().vehicles[0]).clone()
}

/// The same element with more ohms; nothing for those that are not a plain resistance.
fn with_more(law: Law, more: f64) -> Option<Law> {
    Some(match law {
        Law::Contact { ohms } => Law::Contact { ohms: ohms + more },
        Law::Copper {
            ohms_20,
            length_m,
            area_m2,
            strand_m2,
            strands,
        } => Law::Copper {
            ohms_20: ohms_20 + more,
            length_m,
            area_m2,
            strand_m2,
            strands,
        },
        Law::Fuse { ohms, rated_a } => Law::Fuse {
            ohms: ohms + more,
            rated_a,
        },
        Law::RelayContact { ohms } => Law::RelayContact { ohms: ohms + more },
        Law::Switch { ohms, closed } => Law::Switch {
            ohms: ohms + more,
            closed,
        },
        Law::Driver { ohms } => Law::Driver { ohms: ohms + more },
        Law::Load { ohms, on } => Law::Load {
            ohms: ohms + more,
            on,
        },
        Law::Metal { ohms } => Law::Metal { ohms: ohms + more },
        Law::Coil {
            ohms_20,
            operate_v,
            release_v,
        } => Law::Coil {
            ohms_20: ohms_20 + more,
            operate_v,
            release_v,
        },
        _ => return None,
    })
}

struct Ends {
    from: String,
    to: String,
}

fn ends(vehicle: &Vehicle, element: &Element) -> Ends {
    let name = |node: hidden_ohm::circuit::NodeId| vehicle.nodes[node.0 as usize].name.clone();
    Ends {
        from: name(element.from),
        to: name(element.to),
    }
}

fn drop(ladder: &Ladder, at: &Ends) -> f64 {
    (volts(ladder, &at.from) - volts(ladder, &at.to)).abs()
}

#[test]
fn more_ohms_in_any_part_drop_more_there_and_pass_less() {
    // By Thevenin: the drop across R behind (V, Rth) is V*R/(R + Rth), which grows with R, and its current falls.
    let vehicle = sound();
    let before = ladder(vehicle.clone(), 11, Key::On);
    let mut moved = 0;
    for (index, element) in vehicle.elements.iter().enumerate() {
        let at = ends(&vehicle, element);
        let carries = before
            .branches
            .iter()
            .any(|b| b.from == at.from && b.to == at.to && b.amps.abs() > 1e-3);
        // Two tenths of an ohm more, or a tenth of the part where that is more: no relay drops out from it.
        let more = (0.1 * element.law.nominal_ohms()).max(0.2);
        let Some(law) = with_more(element.law, more).filter(|_| carries) else {
            continue;
        };
        let mut changed = vehicle.clone();
        changed.elements[index].law = law;
        let after = ladder(changed, 11, Key::On);
        let what = format!("{} {}", vehicle.parts[element.part.0].id, element.leg);
        assert!(
            drop(&after, &at) > drop(&before, &at) * (1.0 + 1e-6),
            "{what}: drop does not grow"
        );
        let flow = |ladder| amps(ladder, &at.from, &at.to).abs();
        assert!(
            flow(&after) < flow(&before) * (1.0 - 1e-6),
            "{what}: current does not fall"
        );
        moved += 1;
    }
    assert!(moved >= 35, "only {moved} parts carry current");
}

#[test]
fn more_ohms_anywhere_in_the_pump_loop_move_every_drop_along_it() {
    let vehicle = sound();
    let before = ladder(vehicle.clone(), 3, Key::On);
    // The elements that carry the pump's current, found from the truth: within 3 % of it, the fuel gauge's share.
    let pump_amps = before.pumps[0].amps;
    let series: Vec<usize> = (0..vehicle.elements.len())
        .filter(|&index| {
            let at = ends(&vehicle, &vehicle.elements[index]);
            let branch = before
                .branches
                .iter()
                .find(|b| b.from == at.from && b.to == at.to);
            branch.is_some_and(|b| (b.amps.abs() - pump_amps).abs() < 0.03 * pump_amps)
        })
        .collect();
    assert!(
        series.len() >= 20,
        "only {} elements carry the pump's current",
        series.len()
    );
    for &index in &series {
        let Some(law) = with_more(vehicle.elements[index].law, 0.5) else {
            continue;
        };
        let mut changed = vehicle.clone();
        changed.elements[index].law = law;
        let after = ladder(changed, 3, Key::On);
        let what = &vehicle.parts[vehicle.elements[index].part.0].id;
        assert!(
            after.pumps[0].amps < pump_amps * 0.99,
            "{what}: pump current {}",
            after.pumps[0].amps
        );
        assert!(
            after.pumps[0].rpm < before.pumps[0].rpm * 0.99,
            "{what}: speed {}",
            after.pumps[0].rpm
        );
        assert!(
            after.pumps[0].lph < before.pumps[0].lph * 0.99,
            "{what}: delivery {}",
            after.pumps[0].lph
        );
        for &other in series.iter().filter(|&&other| other != index) {
            let element = &vehicle.elements[other];
            if matches!(element.law, Law::Winding) {
                continue;
            }
            let at = ends(&vehicle, element);
            let name = &vehicle.parts[element.part.0].id;
            assert!(
                drop(&after, &at) < drop(&before, &at),
                "{what} changed, and the drop across {name} did not fall"
            );
        }
    }
}

#[test]
fn source_pump_and_fuel_side_move_the_readings_they_feed() {
    let before = ladder(sound(), 5, Key::On);
    let with = |change: &dyn Fn(&mut Vehicle)| {
        let mut vehicle = sound();
        change(&mut vehicle);
        ladder(vehicle, 5, Key::On)
    };
    let (amps_before, kpa, lph) = (
        before.pumps[0].amps,
        before.pumps[0].kpa,
        before.pumps[0].lph,
    );

    let stiff = with(&|v| v.pump.unit.motor.dry_nm *= 1.3);
    assert!(
        stiff.pumps[0].amps > amps_before * 1.02,
        "friction costs current"
    );
    assert!(
        volts(&stiff, "X7.2") > volts(&before, "X7.2"),
        "more current raises the ground side"
    );
    assert!(
        volts(&stiff, "X7.1") < volts(&before, "X7.1"),
        "and lowers the feed"
    );

    let brushes = with(&|v| v.pump.unit.motor.brush_ohms += 0.5);
    assert!(
        brushes.pumps[0].rpm < before.pumps[0].rpm * 0.99,
        "worn brushes cost speed"
    );

    let worn = with(&|v| v.pump.unit.element.leak_m3_s_pa *= 3.0);
    assert!(
        worn.pumps[0].lph < lph * 0.9,
        "a worn element delivers less: {} of {lph}",
        worn.pumps[0].lph
    );

    let low = with(&|v| v.hydraulics.regulator.set_pa *= 0.8);
    assert!(
        (low.pumps[0].kpa / kpa - 0.8).abs() < 0.03,
        "{} of {kpa} kPa",
        low.pumps[0].kpa
    );
    assert!(
        low.pumps[0].amps < amps_before,
        "less pressure takes less torque, T = Kt*I"
    );

    let blocked = with(&|v| v.hydraulics.filter_pa_s_m3 *= 10.0);
    assert!(
        blocked.pumps[0].amps > amps_before * 1.02,
        "the pump works against the filter"
    );
    assert!(blocked.pumps[0].lph < lph, "and delivers less");
}

#[test]
fn the_meter_moves_with_the_part_it_is_put_across() {
    // Through the bay: 0.5 ohm more in one joint, and the display across it grows by about 4.5 A * 0.5 ohm; more at the
    // link, which also carries the control unit.
    let pairs = [
        ("corroded-ground", "G4", "", "G4", "BODYR"),
        ("burnt-pin", "X7", "leg = \"1\"", "X7.1", "X8.1"),
        ("burnt-pin", "X7", "leg = \"2\"", "X8.2", "X7.2"),
        ("bad-splice", "SP2", "", "SP2.a", "SP2.b"),
        ("bad-splice", "SP3", "", "SP3.a", "SP3.b"),
        ("burnt-relay-contacts", "K1", "", "K1.30", "K1.87"),
        ("spread-socket", "K1", "leg = \"87\"", "K1.30", "K1.87"),
        ("burnt-flange-pin", "X8", "leg = \"1\"", "X8.1", "M.1"),
        ("burnt-flange-pin", "X8", "leg = \"2\"", "M.2", "X8.2"),
        ("corroded-clamp", "CLP", "", "B+", "B+c"),
        ("corroded-clamp", "CLN", "", "B-c", "B-"),
        ("thin-repair", "W12", "", "X2.1", "SP2.a"),
        ("poor-link-joint", "FL1", "", "FB.1", "FB.2"),
    ];
    // A seed whose tips all touch at the first try: bad contacts have tests of their own.
    let points = pairs
        .iter()
        .flat_map(|&(_, _, _, red, black)| [red, black])
        .collect::<Vec<_>>();
    let tip = |point: &str| {
        let vehicle = &library().vehicles[0];
        let node = vehicle.node(point).expect("a point");
        vehicle.nodes[node.0 as usize]
            .touch
            .expect("a point to touch")
            .tip
    };
    let all_touch = |&seed: &u32| {
        points
            .iter()
            .all(|point| grip_ohms(u64::from(seed), point, 1, Manner::Plain(tip(point))).ohms < 1.0)
    };
    let seed = (1..1000).find(all_touch).expect("a seed");
    for (kind, part, leg, red, black) in pairs {
        let read = |faults: &str| {
            let mut floor = Floor::new(van(seed, faults));
            floor.open_all();
            floor.black_lead(wire(5.0, 1.0));
            floor.run_pump();
            floor.volts(red, black)
        };
        let (sound, bad) = (
            read(""),
            read(&fault(
                kind,
                part,
                &format!("{leg}\nseverity = \"0.5 ohm\""),
            )),
        );
        assert!(
            bad - sound > 1.2 && bad - sound < 5.0,
            "{kind} on {part}: {sound} V, then {bad} V"
        );
    }
}
