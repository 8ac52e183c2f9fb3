//! The coupled vehicle through time: warmth, fuses, battery, chatter.

mod battery;
mod chatter;
mod coolant;
mod fuse;
mod lift;
mod module;
mod tank;
mod warmth;

use std::sync::Arc;

use hidden_ohm::fault::{Fault, KindId, Site, sites};
use hidden_ohm::rig::{Attachments, Conditions, Rig};
use hidden_ohm::scenario::Library;
use hidden_ohm::vehicle::{ElementId, Vehicle};

fn library() -> Library {
    Library::built_in()
        .unwrap_or_else(|found| panic!("{} mistakes in the built-in files", found.len()))
}

/// The harbour van on a mild day with a full battery.
fn van(faults: Vec<Fault>) -> Rig {
    with_vehicle(&Arc::clone(&library().vehicles[0]), faults)
}

fn with_vehicle(vehicle: &Arc<Vehicle>, faults: Vec<Fault>) -> Rig {
    let conditions = Conditions {
        ambient_c: 20.0,
        charge: 1.0,
        fuel: 0.5,
    };
    Rig::new(
        Arc::clone(vehicle),
        library().catalogue,
        7,
        conditions,
        faults,
    )
    .expect("a rig")
}

/// A fault of a kind on an element of a part.
fn fault(kind: &str, part: &str, leg: &str, severity: f64) -> Fault {
    let library = library();
    let vehicle = &library.vehicles[0];
    let kind = library
        .catalogue
        .kinds
        .iter()
        .position(|known| known.id == kind)
        .expect("a kind");
    let part = vehicle.part(part).expect("a part");
    let element = vehicle.element(part, leg).expect("an element");
    let site = Site {
        part,
        element: Some(element),
    };
    assert!(
        sites(vehicle, &library.catalogue)[kind].contains(&site),
        "no such site"
    );
    Fault {
        kind: KindId(kind),
        site,
        severity,
    }
}

fn element(rig: &Rig, part: &str, leg: &str) -> ElementId {
    let vehicle = rig.vehicle();
    vehicle
        .element(vehicle.part(part).expect("a part"), leg)
        .expect("an element")
}

/// Key on and the service tool holding the pump on.
fn running(rig: &mut Rig) {
    rig.turn_key(hidden_ohm::vehicle::Key::On, &Attachments::none())
        .expect("a prime");
    rig.command_pump(true);
}

fn wait(rig: &mut Rig, seconds: f64) {
    rig.wait(seconds, &Attachments::none())
        .expect("time passes");
}

/// A fault of a kind on a part that has one place for it.
fn placed(vehicle: &Vehicle, kind: &str, part: &str, severity: f64) -> Fault {
    let catalogue = library().catalogue;
    let index = catalogue
        .kinds
        .iter()
        .position(|known| known.id == kind)
        .expect("a kind");
    let part = vehicle.part(part).expect("a part");
    let all = sites(vehicle, &catalogue);
    let site = all[index].iter().find(|site| site.part == part);
    Fault {
        kind: KindId(index),
        site: *site.expect("no such site"),
        severity,
    }
}
