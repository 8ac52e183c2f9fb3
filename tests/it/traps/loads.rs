//! Currents: amps in line, clamp, lamp, bulb, jumper, waveform.

use super::bench::{Job, Truth, bad_feed, burnt_contacts, fault, near, volts_error};
use hidden_ohm::bay::Fact;

#[test]
fn an_ammeter_in_line_takes_its_own_share() {
    let mut job = Job::opened("");
    let truth = job.truth();
    job.runs(&["leads standard", "unplug F12"]);
    job.pump_on();
    let amps = job.value("amps F12.1 F12.2");
    // Burden: 0.03 V/A of shunt and fuse (`meter-amps-burden` of the sheet) and 0.2 to 0.5 ohm of leads in place of a fuse of
    // 3.4 mohm. A pump on a regulated line draws a little less on fewer volts.
    assert!(
        amps < truth.amps() && amps > 0.85 * truth.amps(),
        "{amps} {}",
        truth.amps()
    );
    job.run("clamp zero");
    // Kirchhoff: the wire that follows carries the same current.
    near(
        job.value("clamp W10"),
        amps,
        0.02 * amps + 0.05 + 0.01 * amps + 0.01,
    );
    // What the meter took shows at the pump, and is not the vehicle's fault.
    job.runs(&[
        "helper on",
        "amps off",
        "plug F12",
        "leads extension 8 m 1.0 mm2",
    ]);
    near(
        job.value("volts X7.1 B-"),
        truth.volts("X7.1"),
        volts_error(12.0) + 0.03,
    );
}

#[test]
fn amps_across_a_source_blows_the_meters_fuse_and_then_reads_nothing() {
    let mut job = Job::opened("");
    let reply = job.run("amps B+ B-");
    // 12.65 V over 0.2 to 0.5 ohm of leads, 0.03 ohm of shunt and 6 mohm of battery: over twice the fuse's 10 A, which
    // takes it for well under the second (ISO 8820-3 gates: 200 % at most 5 s).
    near(
        reply.outcome.readings[0].value.expect("a display"),
        0.0,
        0.003,
    );
    job.runs(&["amps off", "unplug F12"]);
    job.pump_on();
    job.run("leads standard");
    // The pump stands, and the meter says 0.000 A: an open fuse in series.
    near(job.value("amps F12.1 F12.2"), 0.0, 0.003);
    assert!(job.said("listen").contains("Nothing is heard"));
    job.run("amps off");
    let before = job.money();
    job.run("fuse");
    assert!(job.money() > before);
    assert!(job.value("amps F12.1 F12.2") > 2.0);
    job.runs(&["amps off", "plug F12"]);
    assert!(
        job.facts().iter().any(
            |fact| matches!(fact, Fact::Hazard(hazard) if hazard.what.contains("amps across"))
        )
    );
}

#[test]
fn a_clamp_that_was_not_zeroed_shows_a_current_that_is_not_there() {
    let mut job = Job::opened("");
    let resting = job.value("clamp W10");
    // Key off: no current at all. What it shows is offset, 0.15 to 0.6 A either way.
    assert!((0.1..=0.65).contains(&resting.abs()), "{resting}");
    job.run("clamp zero");
    near(job.value("clamp W10"), 0.0, 0.05);
    job.pump_on();
    let truth = job.truth();
    near(
        job.value("clamp W10"),
        truth.amps(),
        0.02 * truth.amps() + 0.05,
    );
}

#[test]
fn the_lamp_stays_dark_on_a_kilohm_while_the_meter_shows_the_battery() {
    let mut job = Job::opened(&bad_feed("1000 ohm"));
    job.pump_on();
    job.run("unplug X7");
    let volts = job.value("volts X7.1 B-");
    assert!(volts > 12.0, "{volts}");
    // Cold, a 5 W lamp is 2.9 ohm: 12.6 V x 2.9/1003 leave it 0.04 V.
    assert!(job.said("lamp X7.1 G4").contains("dark"));
    // And with it on, the meter agrees with the lamp.
    near(job.value("volts"), 12.6 * 3.1 / 1003.0, 0.02);
}

#[test]
fn a_bulb_of_known_watts_proves_a_feed_without_its_pump() {
    let mut sound = Job::opened("");
    sound.pump_on();
    sound.run("unplug X7");
    assert!(sound.said("load X7.1 G4 55 W").contains("fully"));
    let (post, volts) = (sound.value("volts B+ B-"), sound.value("volts X7.1 B-"));

    let mut bad = Job::opened(&bad_feed("2 ohm"));
    bad.pump_on();
    bad.run("unplug X7");
    let said = bad.said("load X7.1 G4 55 W");
    assert!(!said.contains("fully"), "{said}");
    let under_load = bad.value("volts X7.1 B-");
    // 55 W at 12 V are 4.6 A and hot 2.6 ohm; the current follows the 0.55th power of the volts, so that the
    // lamp's volts V stand for a current of (55/12) (V/12)^0.55.
    // Ohm's law turned round gives what stands before it; the lamp's leads have 0.2 ohm, so its own volts come from two
    // rounds of the same law.
    let before = |volts: f64| {
        let law = |lamp: f64| 55.0 / 12.0 * (lamp / 12.0).powf(0.55);
        let amps = law(volts - 0.2 * law(volts - 0.2 * law(volts)));
        (post - volts) / amps
    };
    // A sound feed has 0.1 to 0.3 ohm. In the bad joint 15 W are lost: it is hot, and hot metal has more ohms.
    near(before(volts), 0.2, 0.15);
    assert!(
        (2.0..3.5).contains(&before(under_load)),
        "{}",
        before(under_load)
    );
}

#[test]
fn a_jumper_at_the_relay_socket_hides_the_relays_contacts() {
    let (mut job, truth) = burnt_contacts();
    assert!(truth.across("K1.30", "K1.87") > 0.9 * truth.amps());
    job.runs(&["pump off", "volts off", "unplug K1", "jumper K1.30 K1.87"]);
    // 1 m of 1.5 mm2 at 12.7 mohm/m, clips and fuse 12 mohm: 25 mohm in place of the contacts, at 3 to 5 A 0.1 V.
    let bridged = job.value("volts K1.30 K1.87");
    near(bridged, 0.0247 * 4.0, 0.04);
}

#[test]
fn an_ammeter_between_a_connectors_halves_wants_its_other_pin_bridged() {
    let mut job = Job::opened("");
    job.runs(&["leads standard", "unplug X7"]);
    job.pump_on();
    near(job.value("amps X7.1 X7.1t"), 0.0, 0.003);
    job.runs(&["jumper X7.2 X7.2t", "wait 45 s"]);
    // Meter, leads and jumper, 0.03, at most 0.5 and 0.025 ohm, take at most 2.8 V of 12 at 5 A; of a pump on a regulated line,
    // whose dynamic resistance is over 2 ohm, that takes half of its share of the current at most.
    let amps = job.truth().amps();
    let read = job.value("amps");
    assert!(read > 0.88 * amps && read < 1.02 * amps, "{read} {amps}");
}

#[test]
fn a_lamp_on_a_computers_output_kills_it() {
    let mut job = Job::opened("");
    job.run("access dash-trim");
    job.pump_on();
    job.run("lamp B+ X1.18");
    // Cold, the 5 W filament is a tenth of its 28.8 ohm: 12 V over 2.9 + 0.5 + leads are over 3 A through an output
    // made for the relay's 12.6/85 = 0.15 A.
    job.runs(&["lamp off", "pump off", "key off", "wait 15 s"]);
    assert!(job.said("key on").contains("No click"));
    assert!(job.said("pump on").contains("Nothing is heard"));
    assert!(job.said("scan").contains("P0230"));
    job.run("key off");
    let before = job.money();
    job.run("handover");
    // The unit's 640.00 are on the bill.
    assert!(job.money() - before > 64_000, "{}", job.money() - before);
}

#[test]
fn an_output_that_only_gives_a_signal_has_less_to_spare() {
    // Two ohms and more, to pull some milliamperes: the cold lamp's 12.6 V over 2.9 + 0.2 + 3.4 ohm are under 2 A, and 13 W.
    let mut job = Job::of("rescue-4x4", 11, "50 %", "");
    job.runs(&[
        "protect",
        "access bonnet",
        "access dash-side",
        "key on",
        "pump on",
    ]);
    let said = job.said("lamp B+ X1.18");
    assert!(said.contains("flash"), "{said}");
    // What it commands is a module, which makes no sound; the main relay stays in.
    assert!(!said.contains("relay"), "{said}");
    assert!(said.contains("Nothing is heard of the pump"), "{said}");
    assert!(job.said("scan").contains("P0230"));
}

#[test]
fn a_lamp_on_the_same_output_at_rest_does_no_harm() {
    let mut job = Job::opened("");
    job.runs(&["access dash-trim", "lamp B+ X1.18", "lamp off"]);
    assert!(job.said("key on").contains("The pump runs"));
}

#[test]
fn the_waveform_tells_the_speed() {
    let mut job = Job::opened("");
    job.pump_on();
    job.runs(&["clamp zero", "clamp W10"]);
    let outcome = job.run("waveform").outcome;
    let readings = outcome.readings;
    let hertz = readings[1].value.expect("a frequency");
    // rpm = 60 f / segments, whose number the maker tells: 6000 rpm at 800 Hz of eight.
    let said = outcome.said.join(" ");
    let told = said.split("PUMP has ").nth(1).expect("a number");
    let segments: f64 = told.trim_end_matches('.').parse().expect("a number");
    near(
        60.0 * hertz / segments,
        job.truth().rpm(),
        0.02 * job.truth().rpm(),
    );
    near(readings[0].value.expect("a mean"), job.truth().amps(), 0.15);
}

#[test]
fn a_dead_segment_leaves_a_gap_in_every_turn() {
    let mut job = Job::opened(&fault("dead-segment", "PUMP", "1"));
    job.pump_on();
    job.runs(&["clamp zero", "clamp W10"]);
    let trace = job.run("waveform").outcome.trace.expect("a trace");
    // One gap a turn: rpm = 60 times the gaps a second.
    let gaps = trace
        .amps
        .windows(2)
        .filter(|pair| pair[0] > 0.3 && pair[1] <= 0.3)
        .count();
    let turns = job.truth().rpm() / 60.0 * 0.2;
    near(gaps as f64, turns, 1.5);
    // The mean alone looks merely low.
    assert!(trace.mean() > 1.0);
}

#[test]
fn readings_change_for_what_loads_and_not_for_what_is_carried() {
    let fresh = |lines: &[&str]| {
        let mut job = Job::opened(&bad_feed("2 ohm"));
        job.pump_on();
        job.runs(lines);
        job.value("volts X7.1 B-")
    };
    let alone = fresh(&[]);
    // Held in the hand, zeroed, closed around a wire, watched by somebody: nothing that a wire would notice. The same
    // seconds pass in the other job, in which the pump goes on warming: not a digit may differ.
    for carried in [
        &["clamp zero", "clamp W10", "waveform"][..],
        &["temperature F12"],
        &["record on"],
        &["range 60 V", "range auto"],
        &["helper on"],
        &["leads standard", "leads extension 8 m 1.0 mm2"],
        &["scan"],
        &["gauge on", "gauge"],
    ] {
        let mut job = Job::opened(&bad_feed("2 ohm"));
        job.pump_on();
        let mut waited = Vec::new();
        for line in carried {
            let before = job.clock();
            job.run(line);
            waited.push(format!("wait {:.0} s", job.clock() - before));
        }
        let here = job.value("volts X7.1 B-");
        let waited: Vec<&str> = waited.iter().map(String::as_str).collect();
        let there = fresh(&waited);
        assert_eq!(
            here.to_bits(),
            there.to_bits(),
            "{carried:?}: {here} {there}"
        );
    }
    // A 5 W lamp takes 5/12 A by the 0.55th power of its volts. Those amperes come from the feed and from the pump, whose
    // own current falls with its volts: from the two in parallel. The pump's ohms for a small change follow from a feed
    // that is a little worse, as it runs at fewer volts then.
    let lit = fresh(&["lamp X7.1 G4"]);
    let [truth, worse] = ["2 ohm", "2.2 ohm"].map(|ohms| Job::opened(&bad_feed(ohms)).truth());
    let pump = (truth.across("X7.1", "X7.2") - worse.across("X7.1", "X7.2"))
        / (truth.amps() - worse.amps());
    let way = |truth: &Truth| truth.lost("B+", "X7.1") / truth.amps();
    // The joint's ohms R grow with the heat in it, R = R0 (1 + k I^2 R), so that a small change of the current counts
    // with R + 2 R x/(1 - x), x = 1 - R0/R.
    let joint = way(&truth) - way(&Job::opened("").truth());
    let grown = 1.0 - 2.0 / joint;
    let feed = way(&truth) + 2.0 * joint * grown / (1.0 - grown);
    let lamp_amps = 5.0 / 12.0 * (lit / 12.0).powf(0.55);
    let drop = lamp_amps * feed * pump / (feed + pump);
    near(alone - lit, drop, 0.1 * drop);
    // A 21 W bulb takes 1.75 A through the same 2 ohm.
    let loaded = fresh(&["load X7.1 G4 21 W"]);
    assert!(alone - loaded > 1.0, "{alone} {loaded}");
}

#[test]
fn a_seized_pump_takes_its_stall_current_as_far_as_the_fuse_allows() {
    let mut job = Job::opened(&fault("seized-pump", "PUMP", ""));
    job.runs(&["leads standard", "unplug F12"]);
    job.pump_on();
    // No back-EMF: 12.6 V less 0.4 V of brush drop over 0.65 ohm of motor, 0.12 ohm of loop and 0.3 ohm of meter.
    let first = job.value("amps F12.1 F12.2");
    near(first, 12.2 / (0.65 + 0.12 + 0.3), 2.0);
    // A fuse holds its rating for 100 hours and 135 % for ten minutes at most (ISO 8820-3): a few per cent over the
    // meter's 10 A do nothing in a minute or two, in which the winding warms, gains ohms and takes less.
    job.run("wait 10 min");
    let later = job.value("amps");
    assert!(later > 5.0 && later < first, "{first} {later}");
}
