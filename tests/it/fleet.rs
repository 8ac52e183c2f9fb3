//! Every vehicle of the fleet with every fault at every place it can sit.

use std::sync::Arc;

use hidden_ohm::fault::{self, Activation, Fault, KindId, Remedy};
use hidden_ohm::rig::{Attachments, Conditions, Ladder, Moment, Rig};
use hidden_ohm::scenario::Library;
use hidden_ohm::vehicle::{Key, Kind, PartId, Vehicle};

const MILD: Conditions = Conditions {
    ambient_c: 18.0,
    charge: 0.95,
    fuel: 0.5,
};

fn library() -> Library {
    Library::built_in().expect("the built-in files are right")
}

fn rig(
    library: &Library,
    vehicle: &Arc<Vehicle>,
    seed: u64,
    conditions: Conditions,
    faults: Vec<Fault>,
) -> Rig {
    let catalogue = Arc::clone(&library.catalogue);
    Rig::new(Arc::clone(vehicle), catalogue, seed, conditions, faults).expect("a rig")
}

#[test]
fn a_sound_vehicle_never_shows_a_complaint() {
    let library = library();
    for vehicle in &library.vehicles {
        for seed in 0..12 {
            for (ambient_c, charge, fuel) in [(2.0, 0.8, 0.2), (18.0, 0.9, 0.5), (26.0, 1.0, 0.9)] {
                let conditions = Conditions {
                    ambient_c,
                    charge,
                    fuel,
                };
                let report = rig(&library, vehicle, seed, conditions, Vec::new())
                    .drive()
                    .expect("a drive");
                assert_eq!(
                    report.symptoms(vehicle.engine.fade_fraction),
                    [],
                    "{} seed {seed} {conditions:?} {report:?}",
                    vehicle.id
                );
            }
        }
    }
}

/// What can be read: volts of every node, what floats, and the pumps.
fn readings(ladder: &Ladder) -> Vec<f64> {
    let volts = ladder.nodes.iter().map(|(_, volts)| *volts);
    let pumps = ladder
        .pumps
        .iter()
        .flat_map(|pump| [pump.amps, pump.rpm, pump.kpa, pump.lph]);
    let point = &ladder.point;
    volts
        .chain(pumps)
        .chain([point.rise_pa / 1e3, point.return_m3_s * 3.6e6])
        .collect()
}

/// More than any meter's last digit: 2 mV, or two parts in a thousand.
fn differ(sound: &Ladder, faulty: &Ladder) -> bool {
    let (a, b) = (readings(sound), readings(faulty));
    sound.floating != faulty.floating
        || a.len() != b.len()
        || a.iter()
            .zip(&b)
            .any(|(a, b)| (a - b).abs() > 2e-3_f64.max(2e-3 * a.abs()))
}

/// What hands do before a reading.
#[derive(Clone, Copy)]
enum Hands {
    Nothing,
    TakeOut(PartId),
    Swap(PartId, PartId),
}

/// Whether some state of the key tells the faulty vehicle from the sound one, with a relay taken out or swapped for
/// another of its type if need be.
fn moves_a_reading(library: &Library, vehicle: &Arc<Vehicle>, faults: &[Fault]) -> bool {
    let relays: Vec<PartId> = (0..vehicle.parts.len())
        .filter(|&part| vehicle.parts[part].kind == Kind::Relay)
        .map(PartId)
        .collect();
    let mut hands = vec![Hands::Nothing];
    hands.extend(relays.iter().map(|&relay| Hands::TakeOut(relay)));
    if let [a, b] = relays[..] {
        hands.push(Hands::Swap(a, b));
    }
    let states = [
        (Key::On, true),
        (Key::Run, false),
        (Key::Off, false),
        (Key::Crank, false),
    ];
    hands.iter().any(|&hands| {
        states.iter().any(|&(key, pump)| {
            let ladder = |faults: Vec<Fault>| {
                let mut rig = rig(library, vehicle, 5, MILD, faults);
                match hands {
                    Hands::Nothing => {}
                    Hands::TakeOut(relay) => rig.set_unplugged(relay, true),
                    Hands::Swap(a, b) => rig.swap_relays(a, b),
                }
                rig.ladder(key, pump, Moment::Settled).expect("a ladder")
            };
            differ(&ladder(Vec::new()), &ladder(faults.to_vec()))
        })
    })
}

/// Whether a fault of a hot part shows at some time within twenty minutes under current; nothing if the part never
/// gets warm where it sits. A coil that parts when it is hot cools and holds again, so it is looked at again and again.
fn shows_hot(library: &Library, vehicle: &Arc<Vehicle>, fault: Fault) -> Option<bool> {
    let none = Attachments::none();
    let on = |faults: Vec<Fault>| {
        let mut rig = rig(library, vehicle, 5, MILD, faults);
        rig.turn_key(Key::On, &none).expect("on");
        rig.command_pump(true);
        rig
    };
    let (mut sound, mut faulty) = (on(Vec::new()), on(vec![fault]));
    let contact = vehicle.element(fault.site.part, "contact");
    let (mut shows, mut hottest_c) = (false, 0.0_f64);
    for _ in 0..40 {
        let carried = [&mut sound, &mut faulty].map(|rig| {
            rig.wait(30.0, &none).expect("time passes");
            let instant = rig.now(&none).expect("a state");
            contact.map_or(instant.pump.amps, |id| instant.amps(id))
        });
        shows |= (carried[0] - carried[1]).abs() > 0.01;
        hottest_c = hottest_c.max(sound.joint_celsius(fault.site.part));
    }
    (hottest_c > 46.0).then_some(shows)
}

#[test]
fn every_fault_at_every_place_on_every_vehicle_shows_in_a_complaint_or_a_reading() {
    let library = library();
    let catalogue = &library.catalogue;
    let mut sat = vec![0_u32; catalogue.kinds.len()];
    let mut nowhere = Vec::new();
    for vehicle in &library.vehicles {
        for (index, sites) in fault::sites(vehicle, catalogue).iter().enumerate() {
            let kind = &catalogue.kinds[index];
            for &site in sites {
                sat[index] += 1;
                let fault = Fault {
                    kind: KindId(index),
                    site,
                    severity: kind.severity.max,
                };
                let part = &vehicle.parts[site.part.0].id;
                let what = format!("{} on {part} of {}", kind.id, vehicle.id);
                if kind.activation == Activation::Hot {
                    assert_ne!(shows_hot(&library, vehicle, fault), Some(false), "{what}");
                    continue;
                }
                let complains = || {
                    let report = rig(&library, vehicle, 5, MILD, vec![fault]).drive();
                    !report
                        .expect("a drive")
                        .symptoms(vehicle.engine.fade_fraction)
                        .is_empty()
                };
                // A joint that never carries a current is still seen when it is opened for a look.
                let gained = |faults: Vec<Fault>| -> f64 {
                    let joints = rig(&library, vehicle, 5, MILD, faults).joints(site.part);
                    joints.iter().map(|(_, ohms)| ohms).sum()
                };
                let dull = || gained(vec![fault]) - gained(Vec::new()) > 0.1;
                let found = moves_a_reading(&library, vehicle, &[fault]) || complains() || dull();
                if !found {
                    nowhere.push(what);
                }
            }
        }
    }
    assert_eq!(nowhere, Vec::<String>::new(), "these show nowhere");
    for (kind, sat) in catalogue.kinds.iter().zip(sat) {
        assert!(sat > 0, "{} sits nowhere", kind.id);
    }
}

#[test]
fn every_fault_can_be_cured_by_work_that_its_vehicle_offers() {
    let library = library();
    let catalogue = &library.catalogue;
    for vehicle in &library.vehicles {
        for (index, sites) in fault::sites(vehicle, catalogue).iter().enumerate() {
            for &site in sites {
                let fault = Fault {
                    kind: KindId(index),
                    site,
                    severity: catalogue.kinds[index].severity.max,
                };
                let cures = |part: usize, remedy| {
                    fault::cured_by(vehicle, catalogue, &fault, PartId(part), None, remedy)
                };
                let curable = vehicle.parts.iter().enumerate().any(|(part, offered)| {
                    offered.repair.is_some() && cures(part, Remedy::Repair)
                        || offered.replace.is_some() && cures(part, Remedy::Replace)
                });
                let part = &vehicle.parts[site.part.0].id;
                assert!(
                    curable,
                    "{} on {part} of {}",
                    catalogue.kinds[index].id, vehicle.id
                );
            }
        }
    }
}

#[test]
fn every_vehicle_is_a_real_place_to_work_in() {
    for vehicle in &library().vehicles {
        let id = &vehicle.id;
        assert!(vehicle.points().count() >= 35, "{id}");
        assert!(vehicle.pump_loop().len() >= 10, "{id}");
        assert!(
            vehicle.figures.len() >= 7 && vehicle.cautions.len() >= 4,
            "{id}"
        );
        for part in &vehicle.parts {
            assert!(
                part.kind == Kind::Body || vehicle.diagram.contains(&part.id),
                "{} is not on the diagram of {id}",
                part.id
            );
        }
        // The battery and the pump are further apart than standard leads reach.
        let at = |part: PartId| vehicle.places[vehicle.parts[part.0].place.0].at_m;
        let battery = at(vehicle.part("BAT").expect("a battery"));
        let pump = at(vehicle.pump.part);
        let apart: f64 = battery
            .iter()
            .zip(pump)
            .map(|(a, b)| (a - b) * (a - b))
            .sum();
        assert!(apart.sqrt() > 1.2, "{id}");
    }
}
