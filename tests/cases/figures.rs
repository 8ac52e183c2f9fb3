//! Draws the figures of `docs/physics.md` from the program: `figures FOLDER`.

#![allow(missing_docs)]

use std::fmt::Write;
use std::sync::Arc;

use hidden_ohm::fault::{Fault, KindId, Site};
use hidden_ohm::rig::{Attachments, Conditions, Rig, Tap, fuse_opens_after};
use hidden_ohm::scenario::Library;
use hidden_ohm::vehicle::Key;

fn main() {
    let folder = std::env::args().nth(1).expect("usage: figures FOLDER");
    std::fs::create_dir_all(&folder).expect("a folder");
    let save = |name: &str, text: String| {
        std::fs::write(format!("{folder}/{name}.svg"), text).expect("a figure written");
    };
    save(
        "warming",
        chart("Poor pin of 0.5 ohm, pump on", "minutes", "ohm", &warming()),
    );
    save(
        "fuse",
        chart(
            "Blade fuse",
            "log10 of current over rating",
            "log10 of seconds",
            &fuse(),
        ),
    );
    save(
        "crank",
        chart(
            "Battery posts: at rest, cranking 1.5 s, at rest",
            "seconds",
            "volts",
            &crank(),
        ),
    );
    save(
        "start",
        chart(
            "Start of a healthy pump",
            "milliseconds",
            "amperes",
            &start(),
        ),
    );
}

fn rig(faults: Vec<Fault>) -> Rig {
    let library = Library::built_in().unwrap_or_else(|found| panic!("{} mistakes", found.len()));
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
    let library = Library::built_in().unwrap_or_else(|found| panic!("{} mistakes", found.len()));
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
        .map(|ratio| (libm::log10(ratio), libm::log10(fuse_opens_after(ratio))))
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

/// A line through points in a frame with its ends labelled.
fn chart(title: &str, x: &str, y: &str, points: &[(f64, f64)]) -> String {
    const SIZE: (f64, f64) = (560.0, 240.0);
    const LEFT: f64 = 60.0;
    const TOP: f64 = 30.0;
    let ends = |values: &mut dyn Iterator<Item = f64>| {
        values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| {
            (low.min(v), high.max(v))
        })
    };
    let (x0, x1) = ends(&mut points.iter().map(|point| point.0));
    let (y0, y1) = ends(&mut points.iter().map(|point| point.1));
    let at = |point: &(f64, f64)| {
        let across = LEFT + SIZE.0 * (point.0 - x0) / (x1 - x0);
        let down = TOP + SIZE.1 * (1.0 - (point.1 - y0) / (y1 - y0));
        format!("{across:.1},{down:.1}")
    };
    let line: Vec<String> = points.iter().map(at).collect();
    let mut svg = String::new();
    let (right, bottom) = (LEFT + SIZE.0, TOP + SIZE.1);
    let text = |at: (f64, f64), anchor: &str, words: &str| {
        format!(
            "<text x=\"{}\" y=\"{}\" text-anchor=\"{anchor}\">{words}</text>\n",
            at.0, at.1
        )
    };
    let _ = write!(
        svg,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {} {}\" font-family=\"sans-serif\" font-size=\"12\">\n\
         <rect x=\"{LEFT}\" y=\"{TOP}\" width=\"{}\" height=\"{}\" fill=\"none\" stroke=\"black\"/>\n\
         <polyline points=\"{}\" fill=\"none\" stroke=\"black\" stroke-width=\"1.5\"/>\n{}{}{}{}{}{}{}</svg>\n",
        right + 20.0,
        bottom + 40.0,
        SIZE.0,
        SIZE.1,
        line.join(" "),
        text((LEFT, TOP - 10.0), "start", title),
        text((LEFT - 6.0, TOP + 12.0), "end", &format!("{y1:.3}")),
        text((LEFT - 6.0, bottom), "end", &format!("{y0:.3}")),
        text((LEFT - 6.0, TOP + SIZE.1 / 2.0), "end", y),
        text((LEFT, bottom + 16.0), "start", &format!("{x0:.2}")),
        text((right, bottom + 16.0), "end", &format!("{x1:.2}")),
        text((LEFT + SIZE.0 / 2.0, bottom + 16.0), "middle", x),
    );
    svg
}
