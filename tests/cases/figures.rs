//! Draws the figures of `docs/physics.md` from the program: `figures FOLDER`.

#![allow(missing_docs)]

use std::sync::Arc;

use hidden_ohm::fault::{Fault, KindId, Site};
use hidden_ohm::rig::{Attachments, Conditions, Rig, Tap, fuse_opens_after};
use hidden_ohm::scenario::Library;
use hidden_ohm::vehicle::Key;

#[path = "chart.rs"]
mod chart;

use chart::{Axis, chart};

fn main() {
    let folder = std::env::args().nth(1).expect("usage: figures FOLDER");
    std::fs::create_dir_all(&folder).expect("a folder");
    for (name, svg) in all() {
        std::fs::write(format!("{folder}/{name}"), svg).expect("a figure written");
    }
}

/// Every figure by the name of its file.
pub(crate) fn all() -> [(&'static str, String); 4] {
    [
        (
            "warming.svg",
            "Poor pin of 0.5 ohm with the pump on",
            [Axis::even("minutes"), Axis::even("ohm")],
            warming(),
        ),
        (
            "fuse.svg",
            "Blade fuse, time to open",
            [
                Axis::by_ratio("current over rating"),
                Axis::by_ratio("seconds"),
            ],
            fuse(),
        ),
        (
            "crank.svg",
            "Battery posts at rest, cranking for 1.5 s, at rest",
            [Axis::even("seconds"), Axis::even("volts")],
            crank(),
        ),
        (
            "start.svg",
            "Start of a healthy pump",
            [Axis::even("milliseconds"), Axis::even("amperes")],
            start(),
        ),
    ]
    .map(|(file, title, [x, y], points)| (file, chart(title, &x, &y, &points)))
}

fn library() -> Library {
    Library::built_in().expect("the built-in files are right")
}

fn rig(faults: Vec<Fault>) -> Rig {
    let library = library();
    let conditions = Conditions {
        ambient_c: 20.0,
        charge: 1.0,
        fuel: 0.5,
    };
    Rig::new(
        Arc::clone(&library.vehicles[0]),
        library.catalogue,
        7,
        conditions,
        faults,
    )
    .expect("a rig")
}

fn warming() -> Vec<(f64, f64)> {
    let library = library();
    let vehicle = &library.vehicles[0];
    let kind = library
        .catalogue
        .kinds
        .iter()
        .position(|kind| kind.id == "burnt-pin")
        .expect("a kind");
    let part = vehicle.part("X7").expect("X7");
    let pin = vehicle.element(part, "1").expect("a pin");
    let site = Site {
        part,
        element: Some(pin),
    };
    let mut rig = rig(vec![Fault {
        kind: KindId(kind),
        site,
        severity: 0.5,
    }]);
    rig.turn_key(Key::On, &Attachments::none())
        .expect("a prime");
    rig.command_pump(true);
    let ends = (vehicle.elements[pin.0].from, vehicle.elements[pin.0].to);
    (0..=60)
        .map(|step| {
            let now = rig.now(&Attachments::none()).expect("a state");
            let volts = now
                .across(Tap::Node(ends.0), Tap::Node(ends.1))
                .expect("joined");
            rig.wait(5.0, &Attachments::none()).expect("time");
            (f64::from(step) / 12.0, volts / now.amps(pin))
        })
        .collect()
}

fn fuse() -> Vec<(f64, f64)> {
    let ratios = (0..=200).map(|n| 1.1 * libm::pow(6.0 / 1.1, f64::from(n) / 200.0));
    ratios
        .map(|ratio| (ratio, fuse_opens_after(ratio)))
        .collect()
}

fn crank() -> Vec<(f64, f64)> {
    let mut rig = rig(Vec::new());
    let (plus, minus) = (rig.vehicle().node("B+").expect("B+"), rig.reference());
    rig.set_unplugged(rig.vehicle().part("F3").expect("F3"), true);
    let posts = |rig: &mut Rig| {
        let now = rig.now(&Attachments::none()).expect("a state");
        now.across(Tap::Node(plus), Tap::Node(minus))
            .expect("joined")
    };
    let mut points = vec![(-5.0, posts(&mut rig)), (0.0, posts(&mut rig))];
    let turn = rig
        .turn_key(Key::Crank, &Attachments::none())
        .expect("cranking");
    let phase = turn.crank.expect("a crank");
    for sample in &phase.samples {
        let volts = phase
            .instant(sample)
            .across(Tap::Node(plus), Tap::Node(minus));
        points.push((sample.t_s, volts.expect("joined")));
    }
    rig.turn_key(Key::Off, &Attachments::none()).expect("off");
    for second in 0..60 {
        points.push((1.5 + f64::from(second), posts(&mut rig)));
        rig.wait(1.0, &Attachments::none()).expect("time");
    }
    points
}

fn start() -> Vec<(f64, f64)> {
    let trace = rig(Vec::new()).start_up(0.12, 2e-4).expect("a start").trace;
    trace
        .samples
        .iter()
        .map(|sample| (1e3 * sample.t_s, sample.amps))
        .collect()
}
