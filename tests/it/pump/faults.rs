//! Each fault is a changed parameter, and shows the way a workshop knows it.

use hidden_ohm::pump::{
    Demand, Hydraulics, OperatingPoint, PumpUnit, RegulatorStuck, Rest, Supply, hold_pressure,
    operating_point, prime,
};

use super::van::{KPA, LPH, fuel_circuit, key_on, van};

struct Faulty {
    unit: PumpUnit,
    circuit: Hydraulics,
}

impl Faulty {
    fn new(change: impl FnOnce(&mut PumpUnit, &mut Hydraulics)) -> Self {
        let (mut unit, mut circuit) = (van(), fuel_circuit());
        change(&mut unit, &mut circuit);
        Self { unit, circuit }
    }

    fn runs(&self) -> OperatingPoint {
        operating_point(&self.unit, &self.circuit, &key_on(), &Demand::none()).expect("solvable")
    }

    /// Rail pressure after so long a prime from empty.
    fn rail_after(&self, seconds: f64) -> f64 {
        prime(
            &self.unit,
            &self.circuit,
            &key_on(),
            &Demand::none(),
            Rest::default(),
            seconds,
            0.1,
        )
        .expect("steps")
        .end
        .rail_pa
    }
}

fn healthy() -> Faulty {
    Faulty::new(|_, _| ())
}

#[test]
fn a_worn_element_delivers_little_and_crawls_up() {
    let worn = Faulty::new(|unit, _| unit.element.leak_m3_s_pa *= 1.8);
    assert!(worn.runs().delivered_m3_s < 0.5 * healthy().runs().delivered_m3_s);
    assert!(worn.runs().rad_s > 0.9 * healthy().runs().rad_s);
    assert!(healthy().rail_after(0.5) > 290.0 * KPA);
    assert!(worn.rail_after(0.5) < 0.9 * healthy().rail_after(0.5));
    let badly = Faulty::new(|unit, _| unit.element.leak_m3_s_pa *= 4.0);
    assert!(badly.runs().rail_pa < 250.0 * KPA && badly.runs().return_m3_s == 0.0);
    assert!(badly.rail_after(2.0) < 250.0 * KPA);
}

#[test]
fn a_blocked_strainer_starves_the_pump_and_unloads_it() {
    let blocked = Faulty::new(|_, circuit| circuit.strainer_pa_s2_m6 = 4e14);
    let point = blocked.runs();
    assert!(point.starved && !healthy().runs().starved);
    assert!(point.amps < healthy().runs().amps && point.rad_s > healthy().runs().rad_s);
    assert!(point.delivered_m3_s < 0.5 * healthy().runs().delivered_m3_s);
    let empty = Faulty::new(|_, circuit| circuit.tank_empty = true).runs();
    assert!(
        empty.starved
            && empty.delivered_m3_s == 0.0
            && empty.rail_pa == 0.0
            && empty.amps < point.amps
    );
}

#[test]
fn a_blocked_filter_loads_the_pump_and_slows_the_rail() {
    let blocked = Faulty::new(|_, circuit| circuit.filter_pa_s_m3 = 1.2e10);
    let (sick, well) = (blocked.runs(), healthy().runs());
    assert!(
        sick.amps > well.amps
            && sick.rad_s < well.rad_s
            && sick.delivered_m3_s < 0.8 * well.delivered_m3_s
    );
    assert!(sick.outlet_pa > well.outlet_pa + 100.0 * KPA);
    assert!(blocked.rail_after(0.5) < 0.8 * healthy().rail_after(0.5));
    let shut = Faulty::new(|_, circuit| circuit.filter_pa_s_m3 = f64::INFINITY).runs();
    assert!(
        shut.rail_pa == 0.0
            && shut.delivered_m3_s == 0.0
            && shut.outlet_pa > 450.0 * KPA
            && shut.amps > sick.amps
    );
}

#[test]
fn a_dragging_pump_takes_more_current_at_less_speed() {
    let (sick, well) = (
        Faulty::new(|unit, _| unit.motor.dry_nm *= 2.0).runs(),
        healthy().runs(),
    );
    assert!(
        sick.amps > well.amps + 0.5
            && sick.rad_s < 0.95 * well.rad_s
            && sick.delivered_m3_s < well.delivered_m3_s
    );
}

#[test]
fn worn_brushes_cost_current_and_speed() {
    let (sick, well) = (
        Faulty::new(|unit, _| unit.motor.brush_ohms += 0.8).runs(),
        healthy().runs(),
    );
    assert!(
        sick.amps < well.amps
            && sick.rad_s < 0.8 * well.rad_s
            && sick.delivered_m3_s < 0.6 * well.delivered_m3_s
    );
    assert!(sick.terminal_volts > well.terminal_volts);
    let surge = |faulty: &Faulty| {
        prime(
            &faulty.unit,
            &faulty.circuit,
            &key_on(),
            &Demand::none(),
            Rest::default(),
            0.1,
            0.1,
        )
        .expect("steps")
        .peak
        .amps
    };
    assert!(surge(&Faulty::new(|unit, _| unit.motor.brush_ohms += 0.8)) < 0.7 * surge(&healthy()));
}

#[test]
fn a_seized_pump_draws_its_stall_current() {
    let seized = Faulty::new(|unit, _| unit.motor.seized = true);
    let point = seized.runs();
    let expected = (12.3 - 0.4) / (0.15 + 0.65);
    assert!((point.amps - expected).abs() < 1e-12 && point.stalled && point.rad_s == 0.0);
    let trace = prime(
        &seized.unit,
        &seized.circuit,
        &key_on(),
        &Demand::none(),
        Rest::default(),
        0.5,
        0.1,
    )
    .expect("steps");
    assert!((trace.end.amps - expected).abs() < 1e-5 * expected && trace.end.rail_pa == 0.0);
}

#[test]
fn a_split_hose_loses_pressure_and_flow_without_loading_the_pump() {
    let (sick, well) = (
        Faulty::new(|_, circuit| circuit.in_tank_leak_m2 = 3e-6).runs(),
        healthy().runs(),
    );
    assert!(sick.rail_pa < 250.0 * KPA && sick.return_m3_s == 0.0 && sick.amps < well.amps);
    assert!((sick.hose_leak_m3_s - sick.delivered_m3_s).abs() < 1e-12);
}

#[test]
fn a_regulator_stuck_open_returns_everything_at_low_pressure() {
    let open = Faulty::new(|_, circuit| {
        circuit.regulator.stuck = Some(RegulatorStuck::Open { area_m2: 2.5e-6 });
    })
    .runs();
    let tired = Faulty::new(|_, circuit| circuit.regulator.set_pa = 200.0 * KPA).runs();
    for sick in [open, tired] {
        assert!(
            sick.rail_pa < 220.0 * KPA && sick.return_m3_s > 1.2 * healthy().runs().return_m3_s
        );
        assert!(sick.amps < healthy().runs().amps);
    }
}

/// Before, it was an orifice and no more, so that a slight leak past the seat raised the pressure.
#[test]
fn a_regulator_that_does_not_quite_shut_never_gives_more_pressure_than_a_sound_one() {
    let well = healthy().runs();
    for area_m2 in [1e-9, 1e-7, 5e-7, 1e-6, 3e-6] {
        let sick = Faulty::new(|_, circuit| {
            circuit.regulator.stuck = Some(RegulatorStuck::Open { area_m2 });
        })
        .runs();
        assert!(
            sick.rail_pa <= well.rail_pa * (1.0 + 1e-12),
            "{area_m2}: {} Pa, a sound one {} Pa",
            sick.rail_pa,
            well.rail_pa
        );
    }
}

#[test]
fn a_regulator_stuck_shut_or_a_blocked_return_drives_the_pump_to_its_relief_valve() {
    let strong = Supply {
        volts: 14.2,
        ohms: 0.12,
    };
    let shut = Faulty::new(|_, circuit| circuit.regulator.stuck = Some(RegulatorStuck::Shut));
    let point =
        operating_point(&shut.unit, &shut.circuit, &strong, &Demand::none()).expect("solvable");
    let well =
        operating_point(&van(), &fuel_circuit(), &strong, &Demand::none()).expect("solvable");
    assert!(
        point.relief_m3_s > 0.0 && point.rail_pa > 580.0 * KPA && point.amps > well.amps + 1.0,
        "{point:?}"
    );
    let blocked = Faulty::new(|_, circuit| circuit.return_pa_s2_m6 = f64::INFINITY).runs();
    assert!((blocked.rail_pa - shut.runs().rail_pa).abs() < 1.0 && blocked.return_m3_s == 0.0);
    let restricted = Faulty::new(|_, circuit| circuit.return_pa_s2_m6 = 1e15).runs();
    assert!(
        restricted.rail_pa > 320.0 * KPA && restricted.return_m3_s < healthy().runs().return_m3_s
    );
}

#[test]
fn a_leaking_check_valve_or_injector_runs_well_but_does_not_hold() {
    for change in [
        (|_, circuit| circuit.check_valve.leak_m2 = 1e-7) as fn(&mut PumpUnit, &mut Hydraulics),
        |_, circuit| circuit.injector_leak_m2 = 1e-7,
    ] {
        let sick = Faulty::new(change);
        assert!((sick.runs().rail_pa - healthy().runs().rail_pa).abs() < KPA);
        assert!(hold_pressure(&sick.circuit, 295.0 * KPA, 60.0) < 50.0 * KPA);
    }
}

#[test]
fn volts_lost_before_the_pump_cost_flow_at_eighteen_litres_an_hour_each() {
    let weak = operating_point(
        &van(),
        &fuel_circuit(),
        &Supply {
            volts: 12.3,
            ohms: 0.65,
        },
        &Demand::none(),
    )
    .expect("solvable");
    let well = healthy().runs();
    let lost_volts = well.terminal_volts - weak.terminal_volts;
    let lost_flow = (well.delivered_m3_s - weak.delivered_m3_s) / LPH;
    assert!(
        lost_volts > 1.5 && (lost_flow / lost_volts - 17.5).abs() < 1.0,
        "{lost_flow} L/h for {lost_volts} V"
    );
}
