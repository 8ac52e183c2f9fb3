//! One wire, three uses: in a volts lead it costs nothing, in an ohms lead its copper, as a jumper its I*R.

use hidden_ohm::bay::{Action, Bridge, Fact};
use hidden_ohm::instrument::{Function, LeadSet, Manner, grip_ohms, pressed_ohms};
use hidden_ohm::vehicle::Tip;

use super::{STEP_OHM, assert_near, ohms_limit, volts_limit};
use crate::floor::{Floor, amps, at_rest, fault, ohms, pump_on, touches, van, volts, wire};

/// ISO 6722 maximum at 20 C as makers' FLRY-B tables quote it, ohm/m.
const OHM_PER_M_0_35: f64 = 0.0544;
const OHM_PER_M_1_0: f64 = 0.0185;

/// The same first reading in two bays of one seed: only the leads differ.
fn with_and_without_extension(seed: u32, read: impl Fn(&mut Floor) -> f64) -> (f64, f64) {
    let bay = || {
        let mut floor = Floor::new(van(
            seed,
            &fault("corroded-ground", "G4", "severity = \"0.6 ohm\""),
        ));
        floor.open_up(&["bonnet", "underbody", "shield"]);
        floor
    };
    let (mut standard, mut extended) = (bay(), bay());
    extended.black_lead(wire(20.0, 0.35));
    (read(&mut standard), read(&mut extended))
}

#[test]
fn volts_do_not_see_the_extension_lead() {
    // 20 m of 0.35 mm2 is 1.1 ohm. A 10 Mohm meter on 2.6 V draws 0.26 uA: 0.3 uV of drop, a three-thousandth of a
    // count (loading error -100*Rs/(Rs+Ri) %, Keysight 34970A user's guide).
    let drop = 2.6 / 10e6 * 20.0 * OHM_PER_M_0_35;
    assert!(drop < 1e-3 * super::STEP_LOW_V, "{drop}");
    for seed in 1..=12 {
        let (standard, extended) = with_and_without_extension(seed, |floor| {
            floor.run_pump();
            floor.volts("X7.2", "BODYR")
        });
        assert!(
            (standard - extended).abs() < super::STEP_LOW_V,
            "seed {seed}: {standard} V and {extended} V"
        );
        if touches(seed, "X7.2", 1, Tip::BackProbe) && touches(seed, "BODYR", 1, Tip::Probe) {
            assert!(
                standard > 1.0,
                "seed {seed}: the ground fault shows, {standard} V"
            );
        }
    }
}

#[test]
fn ohms_see_all_of_the_extension_lead() {
    // 20 m * 54.4 mohm/m = 1.088 ohm at 20 C, and 0.01 ohm for the joint to the lead.
    let copper = 20.0 * OHM_PER_M_0_35 + 0.01;
    for seed in 1..=12 {
        let (standard, extended) = with_and_without_extension(seed, |floor| {
            floor.act(&Action::Isolate(true));
            floor
                .meter(Function::Ohms, "G4", "BODYR")
                .value
                .unwrap_or(f64::INFINITY)
        });
        if standard.is_finite() && standard < 10.0 {
            // Both displays carry the same error of the meter; each is rounded to a count.
            assert_near(
                "copper of the extension",
                extended - standard,
                copper,
                STEP_OHM + 0.009 * copper,
            );
        }
    }
    let touching =
        (1..=12).filter(|&s| touches(s, "G4", 1, Tip::Probe) && touches(s, "BODYR", 1, Tip::Probe));
    assert!(touching.count() >= 8, "too few seeds whose tips touch");
}

#[test]
fn zeroing_takes_the_leads_out_of_an_ohms_reading_and_new_leads_undo_it() {
    let mut floor = Floor::new(van(
        1,
        &fault("corroded-ground", "G4", "severity = \"2 ohm\""),
    ));
    floor.open_up(&["bonnet"]);
    floor.act(&Action::Isolate(true));
    floor.black_lead(wire(20.0, 0.35));
    let before = floor.ohms("G4", "BODYR");
    floor.act(&Action::Zero);
    let zeroed = floor.ohms("G4", "BODYR");
    assert_near(
        "with the leads taken off",
        zeroed,
        2.0,
        ohms_limit(2.0) + 0.06,
    );
    assert!(
        before > zeroed + 1.2,
        "a pair of leads with 20 m of thin wire: {before} and {zeroed}"
    );
    floor.black_lead(wire(10.0, 1.0));
    let other = floor.ohms("G4", "BODYR");
    assert!(
        other > zeroed + 0.2,
        "a zero holds only for the leads it was taken with: {other}"
    );
}

#[test]
fn the_same_wire_as_a_jumper_drops_the_current_times_its_ohms() {
    // The jumper bridges a 4 ohm ground from G4 to the post: nearly all of the current takes it.
    const GROUND: f64 = 4.0;
    let length = 20.0;
    let scenario = || van(1, &fault("corroded-ground", "G4", "severity = \"4 ohm\""));
    let truth = pump_on(scenario());
    let sound_way = ohms(&at_rest(scenario()), "G4", "BODYR");
    assert_near("the ground point", sound_way, GROUND, 0.001);
    let mut floor = Floor::new(scenario());
    floor.open_up(&["bonnet"]);
    floor.run_pump();
    // 20 m so that the same wire serves for all three uses; 18.5 mohm/m, two clips and a 20 A fuse 12 mohm.
    let jumper = length * OHM_PER_M_1_0 + 0.012;
    let action = Action::Jumper(Bridge {
        a: floor.node("G4"),
        b: floor.node("B-"),
        wire: wire(length, 1.0),
    });
    floor.act(&action);
    floor.black_lead(wire(length, 1.0));
    let drop = floor.volts("G4", "B-");
    let (closed, _, _) = floor.hand_back();
    let pump_amps = closed
        .ledger
        .iter()
        .flat_map(|entry| &entry.facts)
        .find_map(|fact| match fact {
            Fact::Measured(measured) => Some(measured.pump_amps),
            _ => None,
        })
        .expect("one reading");
    // The fuel gauge's 12.3 V / (220 + 60) ohm, 44 mA, comes back over the same splice.
    let current = pump_amps + amps(&truth, "SP1.b", "GA.15");
    let share = GROUND / (GROUND + jumper);
    assert!(current > 3.0, "{current} A");
    assert_near(
        "I*R of the jumper",
        drop,
        current * share * jumper,
        volts_limit(drop) + 0.01 * drop,
    );
    assert!(drop > 1.0, "as a jumper the wire costs volts: {drop}");
}

#[test]
fn series_ohms_in_the_meter_path_only_make_volts_smaller() {
    // R/(R + 10 Mohm): 1 kohm 0.01 %, 1 Mohm 9.1 %; on 3 kohm, 1 kohm costs 25 % (voltage divider, Keysight 34970A
    // user's guide). The films drawn for bad contacts lie between 20 kohm and 20 Mohm.
    let mut seen = 0;
    for seed in 1..400 {
        let film = grip_ohms(u64::from(seed), "FB.2", 1, Manner::Plain(Tip::Probe)).ohms;
        if !(film.is_finite() && film > 1e3 && touches(seed, "B-", 1, Tip::Clip)) {
            continue;
        }
        seen += 1;
        let truth = volts(&at_rest(van(seed, "")), "FB.2");
        let mut floor = Floor::new(van(seed, ""));
        floor.open_up(&["bonnet"]);
        let high = floor.volts("FB.2", "B-");
        let wanted = truth * 10e6 / (10e6 + film);
        assert_near("10 Mohm", high, wanted, volts_limit(wanted));
        let low = floor
            .meter(Function::LowVolts, "FB.2", "B-")
            .value
            .expect("in range");
        let wanted = truth * 3e3 / (3e3 + film);
        assert_near(
            "3 kohm",
            low,
            wanted,
            0.01 * wanted + 3.5 * super::STEP_HIGH_V,
        );
    }
    assert!(seen >= 2, "only {seen} seeds with a film under the tip");
}

#[test]
fn standard_leads_measure_what_a_pair_of_leads_does() {
    // 0.2 to 0.5 ohm a pair, tips included (a maker's measurement primer).
    for seed in 0..500 {
        let leads = LeadSet::standard(seed);
        let tips = pressed_ohms(seed);
        let pair = leads.red.ohms + leads.black.ohms;
        assert!((0.18..=0.5).contains(&pair), "seed {seed}: {pair}");
        assert!(
            (0.18..=0.52).contains(&(pair + tips)),
            "seed {seed}: {}",
            pair + tips
        );
    }
}
