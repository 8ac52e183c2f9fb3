//! The driver module: averages over its cycle, what a lamp makes of it, and the loop over the pressure sensor.
//!
//! V(out) = D V(in) and I(in) = D I(out) for a switch with a freewheeling path in continuous conduction: the averaged buck
//! converter of textbooks (Mohan, Undeland and Robbins, *Power Electronics*, chapter 7; from memory).

use std::sync::Arc;

use hidden_ohm::fault::{Fault, KindId, Site, sites};
use hidden_ohm::rig::{Attachments, Beat, EngineLoad, Filament, Jumper, Rig, Symptom, Tap};
use hidden_ohm::vehicle::{Key, Law, Vehicle};

use super::{element, library, running, wait, with_vehicle};

fn vehicle() -> Arc<Vehicle> {
    Arc::clone(library().vehicle("rescue-4x4").expect("the rescue vehicle"))
}

fn fault(kind: &str, part: &str, leg: &str, severity: f64) -> Fault {
    let (library, vehicle) = (library(), vehicle());
    let kind = library
        .catalogue
        .kinds
        .iter()
        .position(|known| known.id == kind)
        .expect("a kind");
    let part = vehicle.part(part).expect("a part");
    let site = Site {
        part,
        element: vehicle.element(part, leg),
    };
    assert!(
        sites(&vehicle, &library.catalogue)[kind]
            .iter()
            .any(|known| known.part == part
                && (known.element == site.element || known.element.is_none())),
        "no such site"
    );
    let site = Site {
        element: site
            .element
            .filter(|_| sites(&vehicle, &library.catalogue)[kind].contains(&site)),
        ..site
    };
    Fault {
        kind: KindId(kind),
        site,
        severity,
    }
}

fn tap(rig: &Rig, name: &str) -> Tap {
    Tap::Node(rig.vehicle().node(name).expect("a point"))
}

#[test]
fn averages_over_the_cycle_follow_the_duty_on_both_sides() {
    let mut rig = with_vehicle(&vehicle(), Vec::new());
    running(&mut rig);
    let instant = rig.now(&Attachments::none()).expect("a state");
    let volts = |a: &str, b: &str| instant.across(tap(&rig, a), tap(&rig, b)).expect("joined");
    let duty = rig
        .vehicle()
        .elements
        .iter()
        .find_map(|e| match e.law {
            Law::Chopper { duty, .. } => Some(duty.prime),
            _ => None,
        })
        .expect("a module");
    let (v_in, v_out) = (volts("PDM.30", "PDM.31"), volts("PDM.M", "PDM.31"));
    let amps = instant.pump.amps;
    // The paths of the module have some tens of milliohm.
    let lost = duty * v_in - v_out;
    assert!(lost > 0.0 && lost < 0.05 * amps, "{lost} V at {amps} A");
    let module = instant.amps(element(&rig, "PDM", "output"));
    assert!(
        (module - duty * amps).abs() < 1e-9,
        "{module} against {duty} of {amps}"
    );
    let own =
        instant.amps(element(&rig, "PDM", "own")) + instant.amps(element(&rig, "PDM", "command"));
    let feed = instant.amps(element(&rig, "W12", ""));
    assert!((feed - own - module).abs() < 1e-9);
    // Nothing is gained: power in is power out and what the resistance turns to heat.
    assert!((module * v_in - v_out * amps - lost * amps).abs() < 1e-9 * v_in * module);
}

#[test]
fn a_lamp_at_the_output_glows_by_the_root_mean_square_and_a_meter_shows_the_mean() {
    let mut rig = with_vehicle(&vehicle(), Vec::new());
    running(&mut rig);
    let mut attached = Attachments::none();
    let lamp = Filament {
        volts: 12.0,
        watts: 5.0,
    };
    let (a, b) = (tap(&rig, "X20.3"), tap(&rig, "X20.2"));
    attached.filament(a, b, lamp);
    let instant = rig.now(&attached).expect("a state");
    let mean = instant.across(a, b).expect("joined");
    let felt = instant.heating_volts(a, b).expect("joined");
    let whole = instant.across(tap(&rig, "X20.1"), b).expect("joined");
    // Square wave of share D: rms = sqrt(D) V against a mean of D V.
    let duty = mean / whole;
    assert!(
        (felt / (duty.sqrt() * whole) - 1.0).abs() < 0.01,
        "{felt} against {mean} of {whole}"
    );
    assert!(felt > 1.25 * mean);
    let steady = instant
        .heating_volts(tap(&rig, "X20.1"), b)
        .expect("joined");
    assert!(
        (steady - whole).abs() < 0.02,
        "the module's own capacitor keeps its supply smooth"
    );
}

#[test]
fn the_module_does_nothing_without_its_command_its_ground_or_its_feed() {
    for (kind, part, leg) in [
        ("dead-driver", "ECU", "driver"),
        ("broken-control-wire", "W23", ""),
        ("broken-wire", "W12", ""),
        ("broken-wire", "W16", ""),
        ("dead-driver-module", "PDM", "output"),
        ("blown-fuse", "F4", "element"),
        ("open-relay-coil", "K5", "coil"),
    ] {
        let mut rig = with_vehicle(&vehicle(), vec![fault(kind, part, leg, 1.0)]);
        running(&mut rig);
        let pump = rig.now(&Attachments::none()).expect("a state").pump;
        assert!(
            pump.rad_s == 0.0 && pump.amps < 0.1,
            "{kind} at {part}: {pump:?}"
        );
    }
}

fn rail_kpa(rig: &mut Rig, load: EngineLoad) -> f64 {
    let turn = rig
        .turn_key(Key::Run, &Attachments::none())
        .expect("a start");
    assert!(turn.started || turn.crank.is_none());
    rig.set_load(load);
    wait(rig, 20.0);
    rig.now(&Attachments::none()).expect("a state").pump.rail_pa / 1e3
}

#[test]
fn the_unit_holds_the_pressure_its_sensor_shows() {
    let mut rig = with_vehicle(&vehicle(), Vec::new());
    for load in [EngineLoad::Idle, EngineLoad::Cruise, EngineLoad::Hill] {
        let kpa = rail_kpa(&mut rig, load);
        // A kilohm of the sensor against the unit's 47 costs two per cent of the signal.
        assert!((398.0..418.0).contains(&kpa), "{kpa} kPa at {load:?}");
    }
    // A loss of half an ohm is made up for, as long as there is duty left.
    let loss = fault("burnt-pin", "X20", "3", 0.3);
    let mut rig = with_vehicle(&vehicle(), vec![loss]);
    assert!(rail_kpa(&mut rig, EngineLoad::Cruise) > 398.0);
    let loss = Fault {
        severity: 1.0,
        ..loss
    };
    let mut rig = with_vehicle(&vehicle(), vec![loss]);
    let fade = rig.vehicle().engine.fade_fraction;
    assert!(
        rig.drive()
            .expect("a drive")
            .symptoms(fade)
            .contains(&Symptom::FadesUnderLoad),
        "an ohm is more than the loop can give"
    );
}

#[test]
fn a_sensor_that_shows_too_much_starves_the_engine_and_a_dead_one_leaves_the_table() {
    let drifted = fault("drifted-pressure-sensor", "PS", "own", 1.4);
    let mut rig = with_vehicle(&vehicle(), vec![drifted]);
    let kpa = rail_kpa(&mut rig, EngineLoad::Hill);
    assert!((kpa * 1.4 - 408.0).abs() < 12.0, "{kpa}");
    let dead = fault("dead-pressure-sensor", "PS", "signal", 1.0);
    let mut rig = with_vehicle(&vehicle(), vec![dead]);
    let kpa = rail_kpa(&mut rig, EngineLoad::Idle);
    assert!(
        kpa > 500.0,
        "the table's duty is more than idling needs: {kpa}"
    );
}

/// A jumper from the battery to the output of a module that runs: the freewheeling path is a diode and takes nothing in,
/// so the jumper carries the motor's current less what the module still gives, and its fuse holds.
#[test]
fn a_jumper_from_the_battery_to_a_running_output_feeds_the_pump_beside_the_module() {
    let mut rig = with_vehicle(&vehicle(), Vec::new());
    running(&mut rig);
    let alone = rig.now(&Attachments::none()).expect("a state").pump.amps;
    let node = |rig: &Rig, name: &str| rig.vehicle().node(name).expect("a point");
    let (plus, output) = (node(&rig, "B+"), node(&rig, "X20.3"));
    let ohms = 0.05;
    let jumper = Some(Jumper {
        a: plus,
        b: output,
        ohms,
    });
    rig.set_jumper(jumper);
    let instant = rig.now(&Attachments::none()).expect("a state");
    let volts = |a, b| instant.across(Tap::Node(a), Tap::Node(b)).expect("joined");
    let carried = volts(plus, output) / ohms;
    let module = instant.amps(element(&rig, "PDM", "output"));
    assert!(
        (carried + module - instant.pump.amps).abs() < 1e-6,
        "{carried} A and {module} A make {} A",
        instant.pump.amps
    );
    assert!(carried > 0.0 && module > 0.0, "{carried} A, {module} A");
    // The whole of the battery's volts, less a few tenths on the way.
    let across = volts(output, node(&rig, "X20.2"));
    let battery = volts(plus, node(&rig, "B-"));
    assert!(battery - across < 0.8, "{across} V of {battery} V");
    assert!(
        instant.pump.amps > 1.2 * alone,
        "{} A, {alone} A alone",
        instant.pump.amps
    );
    rig.set_jumper(None);
    let again = rig.now(&Attachments::none()).expect("a state").pump.amps;
    assert!((again - alone).abs() < 0.02, "{again} A, {alone} A before");
}

/// A module that locks out for want of volts and tries again is no relay: nothing clicks.
#[test]
fn a_module_starved_of_volts_cuts_out_in_bursts_and_its_relay_keeps_still() {
    let mut beats = Vec::new();
    for tenth in 1..60 {
        let slack = fault("spread-socket", "K5", "30", 0.1 * f64::from(tenth));
        let mut rig = with_vehicle(&vehicle(), vec![slack]);
        running(&mut rig);
        beats.extend(rig.now(&Attachments::none()).expect("a state").chattering);
    }
    assert!(
        !beats.is_empty() && beats.iter().all(|beat| *beat == Beat::Unit),
        "{beats:?}"
    );
}

/// Before, a stage of some nano-ohm lost all its digits against its own inverse.
#[test]
fn a_module_of_hardly_any_resistance_drives_the_pump_as_one_of_none() {
    let driven = |ohms: f64| {
        let mut changed = Vehicle::clone(&vehicle());
        for element in &mut changed.elements {
            if let Law::Chopper { ohms: own, .. } = &mut element.law {
                *own = ohms;
            }
        }
        let mut rig = with_vehicle(&Arc::new(changed), Vec::new());
        running(&mut rig);
        let instant = rig.now(&Attachments::none()).expect("a state");
        let volts = instant.across(tap(&rig, "X20.3"), tap(&rig, "X20.2"));
        (instant.pump.amps, volts.expect("joined"))
    };
    let (amps, volts) = driven(0.0);
    for ohms in [1e-12, 1e-9, 1e-6] {
        let (a, v) = driven(ohms);
        assert!((a - amps).abs() < 1e-4, "{a} A at {ohms} ohm, {amps} A");
        assert!((v - volts).abs() < 1e-4, "{v} V at {ohms} ohm, {volts} V");
    }
}
