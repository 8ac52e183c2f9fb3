//! One pair of hands, eyes, and what is written down.

use super::bench::{Job, fault};
use hidden_ohm::bay::Fact;

#[test]
fn who_turns_the_key_cannot_read_a_meter_at_the_tank() {
    let mut job = Job::opened("");
    job.run("leads standard");
    job.run("volts G4 BODYR");
    let reply = job.run("key on");
    assert!(reply.outcome.readings.is_empty());
    let said = reply.outcome.said.join(" ");
    for way in ["record on", "helper on", "longer leads"] {
        assert!(said.contains(way), "{said}");
    }
    job.run("key off");
    job.run("wait 15 s");
    job.run("helper on");
    assert_eq!(job.run("key on").outcome.readings.len(), 1);
}

#[test]
fn who_turns_the_key_cannot_see_a_lamp_under_the_floor() {
    let mut job = Job::opened("");
    job.run("lamp X7.1 G4");
    assert!(job.said("key on").contains("cannot be seen from the seat"));
    job.run("key off");
    job.run("wait 15 s");
    job.run("helper on");
    assert!(job.said("key on").contains("lights"));
}

#[test]
fn the_log_tells_how_every_reading_was_taken() {
    let mut job = Job::opened("");
    job.run("volts B+ B-");
    job.run("lamp B+ G4");
    job.run("sample");
    let log = job.said("log");
    assert!(
        log.contains("red B+ (battery, positive post) clip"),
        "{log}"
    );
    assert!(log.contains("lamp B+ G4"), "{log}");
    assert!(log.contains("clear and bright"), "{log}");
}

#[test]
fn an_imagined_lead_drop_is_recognised() {
    let mut job = Job::opened(&fault("corroded-ground", "G4", "0.5 ohm"));
    job.run("leads extension 20 m 0.5 mm2");
    job.pump_on();
    let volts = job.value("volts X7.2 B-");
    // 20 m at 37.1 mohm/m and the two leads, times the pump's current: what the lead would drop if it carried it.
    let imagined = volts - (0.742 + 0.26) * job.truth().amps();
    job.run("volts off");
    job.run(&format!("call ground side good {:.3}", imagined.max(0.01)));
    job.run("pump off");
    job.run("relieve");
    let called = job.facts().into_iter().find_map(|fact| match fact {
        Fact::Called(call) => Some(call),
        _ => None,
    });
    assert!(called.expect("a call").was_bad);
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
