//! Mistakes with the volts functions.

use super::bench::{Job, bad_feed, fault, near, volts_error};

/// Input of the volts function, ohm (makers' user manuals: at least 10 Mohm).
const INPUT: f64 = 10e6;

#[test]
fn an_unplugged_connector_reads_battery_volts_behind_a_2_ohm_feed() {
    let mut job = Job::opened(&bad_feed("2 ohm"));
    let truth = job.truth();
    job.pump_on();
    let loaded = job.value("volts X7.1 B-");
    near(loaded, truth.volts("X7.1"), volts_error(12.0));
    job.runs(&["volts off", "unplug X7"]);
    let battery = job.value("volts B+ B-");
    let unloaded = job.value("volts X7.1 B-");
    // Loading error -100 Rs/(Rs + Ri) (Keysight 34970A user's guide): 2 ohm before 10 Mohm is 0.00002 %.
    near(unloaded, battery * (1.0 - 2.0 / (2.0 + INPUT)), 0.03);
    // Ohm's law on the same 2 ohm at the pump's current.
    assert!(
        unloaded - loaded > 0.9 * 2.0 * truth.amps(),
        "{unloaded} {loaded}"
    );
}

#[test]
fn a_bad_ground_raises_both_pins_of_the_pump() {
    let mut job = Job::opened(&fault("corroded-ground", "G4", "0.5 ohm"));
    let truth = job.truth();
    job.pump_on();
    let plus = job.value("volts X7.1 B-");
    let minus = job.value("volts X7.2 B-");
    near(plus, truth.volts("X7.1"), volts_error(12.0));
    // Ten watts in the joint go on warming it between the two readings.
    near(minus, truth.volts("X7.2"), 0.08);
    // Seen from the negative post the feed looks as good as ever; the pump is short of what the ground takes.
    assert!(plus > 11.5 && minus > 1.0, "{plus} {minus}");
    near(
        job.value("volts X7.1 X7.2"),
        truth.across("X7.1", "X7.2"),
        volts_error(11.0),
    );
}

#[test]
fn painted_metal_is_no_ground() {
    let mut job = Job::opened("");
    job.pump_on();
    // The black tip rests on paint: the meter's two inputs hang together on the red point, with nothing between.
    near(job.value("volts X7.1 SILL"), 0.0, 0.003);
    // To scrape under a tip one lifts it, and sets it on what is bright.
    near(
        job.value("scrape SILL"),
        job.truth().across("X7.1", "SILL"),
        volts_error(12.0),
    );
    let mut lit = Job::opened("");
    assert!(lit.said("lamp B+ SILL").contains("stays dark"));
    assert!(lit.said("scrape SILL").contains("lights fully"));
    let comebacks = job
        .facts()
        .iter()
        .filter(|fact| matches!(fact, hidden_ohm::bay::Fact::Comeback { .. }))
        .count();
    assert_eq!(comebacks, 1);
}

#[test]
fn a_tip_that_does_not_touch_reads_a_perfect_ground() {
    let bad_ground = fault("corroded-ground", "G4", "0.5 ohm");
    let mut found = 0;
    for seed in 0..60 {
        let mut job = Job::seeded(seed, "50 %", &bad_ground);
        job.open_up();
        job.pump_on();
        let truth = job.truth();
        let first = job.value("volts X7.2 B-");
        if (first - truth.volts("X7.2")).abs() < 0.1 {
            continue;
        }
        found += 1;
        // Open: nothing arrives. A film of R ohm: the meter keeps Ri/(Ri + R) of it, so never more than the truth.
        assert!(
            first > -0.003 && first < truth.volts("X7.2"),
            "seed {seed}: {first}"
        );
        // Against the other post the same placement gives itself away: it should show nearly the battery.
        let proof = job.value("volts X7.2 B+").abs();
        let red_lies_badly = proof < 0.95 * truth.across("B+", "X7.2");
        // If not, it was the black one, which has been lifted by now.
        let again = job.value("volts X7.2 B-");
        assert!(
            red_lies_badly || (again - truth.volts("X7.2")).abs() < 0.1,
            "seed {seed}: {proof} {again}"
        );
    }
    // Eight back-probes in a hundred lie badly, and one clip.
    assert!(
        (1..=15).contains(&found),
        "{found} of 60 placements lay badly"
    );
}

#[test]
fn the_prime_is_over_before_the_reading() {
    let mut job = Job::opened("");
    job.run("key on");
    // The relay has dropped out: the feed is tied to ground through the pump itself.
    near(job.value("volts X7.1 B-"), 0.0, 0.003);
    job.runs(&["record on", "key off", "wait 15 s"]);
    let reply = job.run("key on");
    let mean = reply.outcome.readings[0].value.expect("recorded");
    near(mean, job.truth().volts("X7.1"), 0.15);
}

#[test]
fn the_highest_recorded_reading_is_the_start_surge() {
    let mut job = Job::opened(&fault("corroded-ground", "G4", "0.15 ohm"));
    let truth = job.truth();
    job.runs(&["volts X7.2 B-", "record on"]);
    let readings = job.run("key on").outcome.readings;
    let [mean, _, highest] = [0, 1, 2].map(|index: usize| readings[index].value.expect("recorded"));
    near(mean, truth.volts("X7.2"), 0.08);
    // A motor at rest has no back-EMF: it takes several times its running current for some hundredths of a second, of
    // which a tenth-of-a-second interval keeps the average.
    assert!(highest > 1.04 * mean, "{highest} {mean}");
}

#[test]
fn a_floating_wire_shows_ghost_volts_and_a_low_impedance_takes_them_away() {
    let mut job = Job::opened("");
    job.runs(&["unplug K1", "unplug X7"]);
    let battery = job.value("volts B+ B-");
    job.run("volts off");
    let ghost = job.value("volts X7.1 B-");
    // A divider: the insulation's 15 to 60 Mohm to the live wires beside it, and the meter's 10 Mohm.
    let [most, least] = [15e6, 60e6].map(|leak| battery * INPUT / (INPUT + leak));
    assert!(
        ghost > least - 0.05 && ghost < most + 0.05,
        "{ghost} not in {least}..{most}"
    );
    // The same divider with 3 kohm: below a millivolt.
    near(
        job.value("lowz X7.1 B-"),
        battery * 3e3 / (3e3 + 15e6),
        0.005,
    );
    // And with the lamp's few ohms beside the meter.
    job.run("lamp X7.1 G4");
    near(job.value("volts X7.1 B-"), 0.0, 0.003);
}

#[test]
fn a_coarse_range_hides_a_small_drop_and_a_fine_one_overloads() {
    let mut job = Job::opened(&fault("corroded-ground", "G4", "0.02 ohm"));
    let truth = job.truth();
    job.pump_on();
    let fine = job.value("millivolts X7.2 B-");
    near(
        fine,
        truth.volts("X7.2"),
        0.005 * truth.volts("X7.2") + 0.0004 + 0.002,
    );
    job.run("range 600 V");
    // One count of the 600 V range is 0.1 V.
    let coarse = job.value("volts X7.2 B-");
    assert!(
        (coarse * 10.0 - (coarse * 10.0).round()).abs() < 1e-9,
        "{coarse}"
    );
    near(coarse, truth.volts("X7.2"), 0.25);
    job.run("range 6 V");
    assert_eq!(job.shown("volts B+ B-"), "OL");
    job.run("range auto");
    assert_eq!(job.shown("millivolts B+ B-"), "OL");
}

#[test]
fn a_needle_always_touches_and_leaves_a_hole() {
    let mut job = Job::opened("");
    job.run("leads needle");
    job.pump_on();
    let truth = job.truth();
    near(
        job.value("volts X7.1 B-"),
        truth.volts("X7.1"),
        volts_error(12.0),
    );
    let facts = {
        job.runs(&["volts off", "pump off", "relieve"]);
        job.facts()
    };
    assert!(facts.iter().any(
        |fact| matches!(fact, hidden_ohm::bay::Fact::Comeback { what, .. } if what.contains("W13"))
    ));
}
