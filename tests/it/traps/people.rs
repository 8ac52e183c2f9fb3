//! One pair of hands, eyes, and what is written down.

use super::bench::{Job, SEED, fault, near};
use hidden_ohm::bay::Fact;
use hidden_ohm::instrument::{LeadSet, Quantity};

#[test]
fn who_turns_the_key_cannot_read_a_meter_at_the_tank() {
    let mut job = Job::opened("");
    job.runs(&["leads standard", "volts G4 BODYR"]);
    let reply = job.run("key on");
    assert!(reply.outcome.readings.is_empty());
    let said = reply.outcome.said.join(" ");
    for way in ["record on", "helper on", "longer leads"] {
        assert!(said.contains(way), "{said}");
    }
    job.runs(&["key off", "wait 15 s", "helper on"]);
    assert_eq!(job.run("key on").outcome.readings.len(), 1);
}

#[test]
fn who_turns_the_key_cannot_see_a_lamp_under_the_floor() {
    let mut job = Job::opened("");
    job.run("lamp X7.1 G4");
    assert!(job.said("key on").contains("cannot be seen from the seat"));
    job.runs(&["key off", "wait 15 s", "helper on"]);
    assert!(job.said("key on").contains("lights"));
}

#[test]
fn the_log_tells_how_every_reading_was_taken() {
    let mut job = Job::opened("");
    job.runs(&["volts B+ B-", "lamp B+ G4", "sample"]);
    let log = job.said("log");
    assert!(
        log.contains("red B+ (battery, positive post) clip"),
        "{log}"
    );
    assert!(log.contains("lamp B+ G4"), "{log}");
    // What the meter was set to, and what the vehicle was doing.
    job.runs(&["key on", "lowz B+ B-", "unplug K1"]);
    let log = job.said("log");
    for told in ["low impedance, red B+", "key on", "K1 unplugged"] {
        assert!(log.contains(told), "{told}: {log}");
    }
    assert!(log.contains("clear and bright"), "{log}");
}

#[test]
fn an_imagined_lead_drop_is_recognised() {
    // 8 m of 1 mm2 have 8 x 18.5 mohm (ISO 6722), the joint 10 mohm: what they and the leads would drop if they carried
    // what the pump takes. Half an ohm of ground loses more than that, so that something is left to state.
    let leads = LeadSet::standard(u64::from(SEED));
    let ohms = leads.red.ohms + leads.black.ohms + 8.0 * 0.0185 + 0.01;
    let called = |taken_off: f64| {
        let mut job = Job::opened(&fault("corroded-ground", "G4", "0.5 ohm"));
        job.pump_on();
        let volts = job.value("volts X7.2 B-");
        let drop = ohms * job.truth().amps();
        assert!(drop > 0.5 && drop < volts - 0.3, "{drop} of {volts}");
        let said = job.said(&format!(
            "call ground side bad {:.3}",
            volts - taken_off * drop
        ));
        job.runs(&["pump off", "relieve"]);
        let found = job.facts().into_iter().find_map(|fact| match fact {
            Fact::Called(call) => Some(call),
            _ => None,
        });
        (found.expect("a call").imagined_drop_v, drop, said)
    };
    let (imagined, drop, said) = called(1.0);
    near(imagined.expect("recognised"), drop, 0.05 * drop);
    assert!(said.contains("no reading in the log"), "{said}");
    // What was read is stated as it was read, or as nobody's figure at all.
    let (none, _, said) = called(0.0);
    assert_eq!(none, None);
    assert!(said.contains("(action "), "{said}");
    // Less than the added wire alone would drop, and more than that.
    for nobodys in [0.15, 0.6] {
        assert_eq!(called(nobodys).0, None, "{nobodys}");
    }
}

#[test]
fn an_imagined_drop_is_recognised_of_whatever_wire_was_added() {
    // The wire tables give 18.5 and 37.1 mohm a metre for 1 and 0.5 mm2 (ISO 6722), 4.71 for 4 mm2. 20 m of 0.5 mm2 are
    // imagined to drop more than half an ohm of ground loses: then nothing is left to state, or less.
    for (wire, ohms, enough) in [
        ("8 m 1.0 mm2", 8.0 * 0.0185, true),
        ("12 m 4.0 mm2", 12.0 * 0.00471, true),
        ("20 m 0.5 mm2", 20.0 * 0.0371, false),
    ] {
        let called = |stated: fn(f64) -> f64| {
            let mut job = Job::opened(&fault("corroded-ground", "G4", "0.5 ohm"));
            job.run(&format!("leads extension {wire}"));
            job.pump_on();
            let volts = job.value("volts X7.2 B-");
            let left = volts - ohms * job.truth().amps();
            assert_eq!(left > 0.0, enough, "{volts} V with {wire}");
            job.run(&format!("call ground side bad {:.3}", stated(left)));
            job.runs(&["pump off", "relieve"]);
            let mut facts = job.facts().into_iter();
            let imagined = facts.find_map(|fact| match fact {
                Fact::Called(call) => Some(call.imagined_drop_v),
                _ => None,
            });
            (imagined.expect("a call"), volts, left)
        };
        let (imagined, volts, left) = called(|left| left);
        near(
            imagined.unwrap_or_else(|| panic!("{wire}")),
            volts - left,
            1e-3,
        );
        if !enough {
            let (imagined, volts, _) = called(|_| 0.0);
            assert_eq!(imagined, Some(volts));
        }
    }
}

#[test]
fn a_figure_without_a_unit_is_what_showed_it() {
    let mut job = Job::opened("");
    job.runs(&["relieve", "gauge on"]);
    job.pump_on();
    let shown = job.shown("gauge");
    let number = shown.trim_end_matches(" kPa");
    assert_ne!(number, shown);
    for section in ["pump", "hydraulic"] {
        let said = job.said(&format!("call {section} good {number}"));
        assert!(
            said.contains(&format!("relying on {shown} (action ")),
            "{said}"
        );
    }
    // Volts are meant as long as volts have shown it, or nothing has.
    let volts = job.shown("volts B+ B-");
    let number = volts.trim_end_matches(" V");
    let said = job.said(&format!("call pump good {number}"));
    assert!(said.contains(&format!("{number} V (action ")), "{said}");
    // The engine's speed, which the scan told, is nothing to judge a pump by.
    job.run("key run");
    let scan = job.run("scan").outcome;
    let mut speeds = scan.readings.iter();
    let speed = speeds.find(|reading| reading.quantity == Quantity::Speed);
    let shown = &speed.expect("the engine's speed").shown;
    let number = shown.trim_end_matches(" rpm engine");
    assert!(
        number.parse::<f64>().is_ok_and(|rpm| rpm > 500.0),
        "{shown}"
    );
    let said = job.said(&format!("call pump bad {number}"));
    assert!(said.contains(&format!("{number} V (no reading")), "{said}");
}

#[test]
fn the_codes_are_what_the_unit_finds_at_its_own_pins() {
    let mut sound = Job::opened("");
    sound.run("key on");
    let reply = sound.run("scan");
    assert!(reply.outcome.said.join(" ").contains("No codes stored"));
    // Its own supply volts are below the battery's by what its feed and ground take.
    let volts = reply.outcome.readings[0].value.expect("live data");
    assert!((11.5..12.7).contains(&volts), "{volts}");

    let mut open = Job::opened(&fault("open-relay-coil", "K1", ""));
    open.run("key on");
    assert!(open.said("scan").contains("P0230"));
    // The learner cannot read a sleeping unit.
    open.run("key off");
    assert!(open.refused("scan").contains("key on"));
}

#[test]
fn a_point_beyond_the_leads_says_what_would_reach() {
    let mut job = Job::opened("");
    job.run("leads standard");
    assert!(job.refused("volts X7.1 B-").contains("leads extension"));
}

#[test]
fn the_screen_needs_a_clamp() {
    let mut job = Job::opened("");
    assert!(job.refused("waveform").contains("clamp"));
}

#[test]
fn a_pump_that_stops_because_something_was_pulled_is_heard_to_stop() {
    let mut job = Job::opened("");
    job.pump_on();
    assert!(job.said("unplug X7").contains("Nothing is heard"));
    assert!(!job.said("unplug K2").contains("heard"));
    assert!(job.said("plug X7").contains("The pump runs"));
}

#[test]
fn what_is_unplugged_is_not_told_to_be_locked() {
    let mut job = Job::opened("");
    assert!(job.said("look X7").contains("locked"));
    job.run("unplug X7");
    let said = job.said("look X7");
    assert!(
        !said.contains("locked") && said.contains("open X7"),
        "{said}"
    );
    for part in ["K1", "F12"] {
        assert!(job.said(&format!("look {part}")).contains("seated"));
        job.run(&format!("unplug {part}"));
        let said = job.said(&format!("look {part}"));
        assert!(!said.contains("seated"), "{said}");
        assert!(said.contains(&format!("{part} is unplugged")), "{said}");
    }
    assert!(job.said("look CLN").contains("on the negative post"));
    job.run("isolate");
    let said = job.said("look CLN");
    assert!(
        !said.contains("on the negative post") && said.contains("`isolate off`"),
        "{said}"
    );
}
