//! Fuel: an empty tank with a wrong gauge, water, pinched lines.

use super::bench::{Job, fault, near};

#[test]
fn an_empty_tank_under_a_gauge_that_says_half() {
    let mut job = Job::seeded(11, "0 %", "[tank]\nfloat_stuck_at = \"50 %\"\n");
    job.runs(&[
        "protect",
        "access bonnet",
        "access underbody",
        "stands",
        "key on",
    ]);
    // 12 V through 220 ohm of gauge and 60 ohm of sender: the needle sees the sender, not the fuel.
    assert!(job.said("look GA").contains("4 eighths"));
    assert!(job.said("sample").contains("air"));
    assert!(job.said("listen").contains("Nothing") || job.said("pump on").contains("whine"));
    job.runs(&["key off", "fill"]);
    assert!(job.said("drive").contains("starts at once"));
}

#[test]
fn water_in_the_fuel_stands_below_it() {
    let mut job = Job::seeded(11, "40 %", "[tank]\nwater = \"20 %\"\n");
    job.runs(&["protect", "access bonnet", "access underbody", "stands"]);
    // A fifth of 200 mL.
    assert!(job.said("sample").contains("40 mL of water"));
    assert!(job.said("drive").contains("does not fire"));
    job.runs(&["access underbody", "stands", "fill drained"]);
    assert!(job.said("sample").contains("clear and bright"));
    assert!(job.said("drive").contains("starts at once"));
}

#[test]
fn a_pinched_return_parts_a_weak_pump_from_a_weak_regulator() {
    let mut good = Job::opened(&fault("tired-regulator", "REG", "60 %"));
    good.runs(&["relieve", "gauge on"]);
    good.pump_on();
    let pinch = good.run("pinch RETURN");
    // A sound pump against a shut return: dead-head is 1.5 to 2 times the 300 kPa it works at (common practice, no
    // source), below its relief valve's 650 kPa.
    near(pinch.outcome.readings[0].value.expect("gauge"), 525e3, 75e3);

    let mut weak = Job::opened(&fault("worn-pump", "PUMP", "5"));
    weak.runs(&["relieve", "gauge on"]);
    weak.pump_on();
    let pinch = weak.run("pinch RETURN");
    let pressure = pinch.outcome.readings[0].value.expect("gauge");
    assert!(pressure < 450e3, "{pressure}");
}

#[test]
fn only_lines_with_a_rubber_length_are_pinched() {
    let mut job = Job::opened("");
    assert!(job.refused("pinch X7").contains("RETURN"));
    assert!(job.refused("pinch RETURN off").contains("not squeezed"));
}

#[test]
fn a_packed_filter_is_told_by_what_runs_out_of_it() {
    let opened = |faults: &str| {
        let mut job = Job::opened(faults);
        job.runs(&["relieve", "isolate"]);
        job.said("open FILTER")
    };
    assert!(opened("").contains("clear"));
    assert!(opened(&fault("restricted-filter", "FILTER", "30")).contains("sludge"));
}

/// Caught from the feed of a vehicle without a return line, opened the careful way, with what the recorder kept beside it.
fn caught(job: &mut Job, line: &str) -> (f64, f64) {
    job.runs(&["key on", "relieve"]);
    let outcome = job.run(line).outcome;
    let value = |index: usize| outcome.readings[index].value.expect("a reading");
    (value(0), value(1))
}

#[test]
fn a_feed_into_a_can_gives_what_its_pump_moves_against_no_pressure() {
    let mut job = Job::of("mobile-library", 11, "50 %", "");
    job.runs(&[
        "protect",
        "access bonnet",
        "access skirt",
        "leads extension 8 m 1.0 mm2",
        "volts X14.1 X14.2",
        "record on 0.1 s",
    ]);
    let (volume, at_pump) = caught(&mut job, "flow 30 s");
    let flow = volume / 30.0;
    // The sum, from the volts that the recorder kept a metre of wire before the pump: filter and line behind an open end ask for the pressure,
    // D and the slip give the flow, torque gives the current, and what that leaves of the volts is the speed.
    let vehicle = job.vehicle();
    let (motor, element) = (&vehicle.pump.unit.motor, &vehicle.pump.unit.element);
    let fuel = &vehicle.hydraulics;
    let ohms = motor.winding_ohms + motor.brush_ohms;
    let (mut rad_s, mut wanted, mut rise) = (500.0, 0.0, 0.0);
    for _ in 0..200 {
        wanted = element.displacement_m3_rad * rad_s - element.leak_m3_s_pa * rise;
        rise = fuel.check_valve.crack_pa
            + fuel.filter_pa_s_m3 * wanted
            + (fuel.line_pa_s2_m6 + fuel.strainer_pa_s2_m6) * wanted * wanted;
        let torque = motor.dry_nm + motor.viscous_nm_s * rad_s + element.displacement_m3_rad * rise;
        let amps = torque / motor.ke;
        rad_s += 0.5 * ((at_pump - motor.brush_volts - ohms * amps) / motor.ke - rad_s);
    }
    // Pumps of one type differ by 2 % and by 12 % in friction; the can by 2 % and half a mark of 10 mL.
    near(flow, wanted, 0.06 * wanted + 5e-6 / 30.0);
    // Half a litre in fifteen to thirty seconds, act: common practice, no source.
    assert!(volume > 0.5e-3, "{volume}");
}

#[test]
fn a_feed_into_a_can_sees_a_packed_filter_and_nothing_of_the_regulator() {
    let flow = |fault: &str| {
        let mut job = Job::of("mobile-library", 11, "50 %", fault);
        job.runs(&["protect", "access bonnet", "key on", "relieve"]);
        job.value("flow 30 s")
    };
    // Both bring the rail low; only one of them takes from what the pump moves against no pressure.
    let sound = flow("");
    near(
        flow(&fault("tired-regulator", "REG", "60 %")),
        sound,
        0.005 * sound,
    );
    let starved = flow(&fault("restricted-filter", "FILTER", "30"));
    assert!(starved < 0.8 * sound, "{starved} of {sound}");
}

#[test]
fn a_feed_comes_off_only_with_its_pump_at_rest_and_sprays_unless_relieved() {
    let mut job = Job::of("mobile-library", 11, "50 %", "");
    job.run("access bonnet");
    assert!(job.refused("flow 15 s").contains("key on"));
    job.runs(&["key on", "pump on"]);
    assert!(job.refused("flow 15 s").contains("pump off"));
    job.run("pump off");
    // The check valve keeps what the pump brought.
    assert!(job.said("flow 15 s").contains("sprays"));
    assert!(job.said("flow 15 s").contains("few drops"));
    // The line is on again and primes as before.
    job.runs(&["key off", "wait 15 s"]);
    assert!(job.said("key run").contains("starts"));
}

#[test]
fn a_jumper_runs_the_pump_for_a_catch_past_a_relay_that_does_not() {
    let at_the_rail = |faults: &str| {
        let mut job = Job::of("mobile-library", 11, "50 %", faults);
        job.runs(&["protect", "access bonnet", "access panel", "relieve"]);
        job
    };
    let by_tool = {
        let mut job = at_the_rail("");
        job.runs(&["key on", "relieve"]);
        job.value("flow 30 s")
    };
    // Key off, relay out: of the whole circuit only the jumper's 25 mohm stand where its contacts do, 3 mohm. At 4 A that
    // is 0.1 V of 12, 1 % of the speed against no pressure; the can's own error drops out, and the pump is as warm.
    let by_jumper = |faults: &str| {
        let mut job = at_the_rail(faults);
        assert!(job.refused("flow 30 s").contains("jumper K3.30 K3.87"));
        job.runs(&[
            "unplug K3",
            "access step",
            "leads extension 5 m 1.0 mm2",
            "helper on",
            "volts F8.2 B-",
        ]);
        let reply = job.run("flow 30 s jumper K3.30 K3.87");
        let [can, fuse] = [0, 1].map(|index: usize| reply.outcome.readings[index].value);
        // What is connected saw it run on the battery alone.
        assert!((11.0..12.7).contains(&fuse.expect("volts")), "{fuse:?}");
        assert!(job.said("log").contains("K3.30 and K3.87 bridged"));
        // The bridge is taken up again: nothing runs, and the line can be opened once more.
        assert!(job.said("listen").contains("Nothing"));
        can.expect("a can")
    };
    near(by_jumper(""), by_tool, 0.02 * by_tool);
    // A relay whose coil is open moves nothing by service tool, and the jumper hides it.
    let open_coil = fault("open-relay-coil", "K3", "");
    let dead = {
        let mut job = at_the_rail(&open_coil);
        job.run("key on");
        job.value("flow 30 s")
    };
    near(dead, 0.0, 10e-6);
    near(by_jumper(&open_coil), by_tool, 0.02 * by_tool);
}

#[test]
fn a_jumper_for_a_catch_is_refused_where_it_cannot_lie_or_need_not() {
    let mut job = Job::of("mobile-library", 11, "50 %", "");
    job.runs(&["protect", "access bonnet"]);
    let hint = job.refused("flow 15 s jumper K3.30 K3.87");
    assert!(hint.contains("access panel"), "{hint}");
    job.runs(&["access panel", "unplug K3", "jumper K3.30 K3.87"]);
    // It runs now, against a closed line: off, pressure down, and on again once the end is in the can.
    let hint = job.refused("flow 15 s");
    assert!(hint.contains("key on"), "{hint}");
    job.run("key on");
    let hint = job.refused("flow 15 s");
    assert!(hint.contains("flow 15 s jumper K3.30 K3.87"), "{hint}");
    let hint = job.refused("flow 15 s jumper K3.30 K3.87");
    assert!(hint.contains("jumper off"), "{hint}");
    job.run("jumper off");
    assert!(
        job.said("flow 15 s jumper K3.30 K3.87").contains("sprays"),
        "the check valve keeps what the jumper's run brought"
    );
    // Across the source its fuse goes as ever, before anything is caught.
    job.run("access step");
    let blown = job.run("flow 15 s jumper B+ B-");
    assert!(blown.outcome.said.join(" ").contains("fuse is gone"));
    assert!(blown.outcome.readings.is_empty());

    let mut van = Job::opened("");
    let hint = van.refused("flow 15 s jumper K1.30 K1.87");
    assert!(hint.contains("`jumper K1.30 K1.87` first"), "{hint}");
}

#[test]
fn a_return_line_runs_and_does_not_spray() {
    let mut job = Job::with("");
    job.runs(&[
        "access bonnet",
        "access underbody",
        "stands",
        "key on",
        "pump on",
        "wait 10 s",
    ]);
    // Behind the regulator there is what its hose takes: 8 kPa at 100 L/h (the vehicle file).
    let said = job.said("flow 15 s");
    assert!(said.contains("runs over your bare hands"), "{said}");
    let dangers = job.facts();
    let serious = dangers.iter().any(|fact| {
        matches!(fact, hidden_ohm::bay::Fact::Hazard(hazard) if hazard.what.contains("pressure"))
    });
    assert!(!serious, "no pressure stands in a return line");
}

#[test]
fn no_fuel_line_is_opened_against_a_pump_that_runs() {
    let mut job = Job::opened("");
    job.pump_on();
    for line in [
        "gauge tee FILTER",
        "sample",
        "open FILTER",
        "replace FILTER",
    ] {
        assert!(job.refused(line).contains("pump off"), "{line}");
    }
    job.run("pump off");
    job.runs(&["relieve", "gauge tee FILTER"]);
    job.run("pump on");
    assert!(job.refused("gauge off").contains("pump off"));
    // A service port has a valve of its own.
    job.runs(&["pump off", "relieve", "gauge off", "pump on", "gauge on"]);
}
