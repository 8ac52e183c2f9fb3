//! No parameter, from nothing to huge, makes the module hang, panic or answer with something that is no
//! number.

use hidden_ohm::pump::{Demand, PumpError, Rest, Supply, hold_pressure, operating_point, prime};

use super::sweep::{anything, runner};
use super::van::{fuel_circuit, key_on, van};

#[test]
fn any_parameters_give_a_finite_operating_point() {
    let outcome = runner(20_000).run(&anything(), |case| {
        let point = operating_point(&case.unit, &case.circuit, &case.supply, &case.demand)
            .unwrap_or_else(|error| panic!("{error}: {case:?}"));
        for (what, value) in [
            ("amps", point.amps),
            ("speed", point.rad_s),
            ("volts", point.terminal_volts),
            ("torque", point.torque_nm),
            ("outlet", point.outlet_pa),
            ("rail", point.rail_pa),
            ("delivered", point.delivered_m3_s),
            ("return", point.return_m3_s),
        ] {
            assert!(value.is_finite(), "{what} is {value}: {case:?}");
        }
        assert!(
            point.rail_pa >= 0.0 && point.delivered_m3_s >= 0.0 && point.evaluations < 450,
            "{point:?}"
        );
        let held = hold_pressure(&case.circuit, 3e5, 60.0);
        assert!((0.0..=3e5).contains(&held), "{held}");
        Ok(())
    });
    outcome.expect("finite");
}

#[test]
fn any_parameters_give_a_finite_transient_or_say_where_it_stopped() {
    let (stopped, worst) = (core::cell::Cell::new(0_u32), core::cell::Cell::new(0_u32));
    let outcome = runner(600).run(&anything(), |case| {
        match prime(
            &case.unit,
            &case.circuit,
            &case.supply,
            &case.demand,
            Rest::default(),
            2.0,
            0.25,
        ) {
            Ok(trace) => {
                worst.set(worst.get().max(trace.steps + trace.rejected));
                for sample in &trace.samples {
                    assert!(
                        sample.amps.is_finite()
                            && sample.rad_s.is_finite()
                            && sample.rail_pa.is_finite(),
                        "{sample:?}: {case:?}"
                    );
                }
            }
            Err(PumpError::NoTransient { .. }) => stopped.set(stopped.get() + 1),
            Err(error) => panic!("{error}: {case:?}"),
        }
        Ok(())
    });
    outcome.expect("finite");
    // Some of these are undamped oscillators at gigahertz: they may end in an error, but they end.
    assert!(
        stopped.get() < 30,
        "{} of 600 stopped early, worst {}",
        stopped.get(),
        worst.get()
    );
}

#[test]
fn meaningless_parameters_are_refused_by_name() {
    let refused = |change: &dyn Fn(
        &mut hidden_ohm::pump::PumpUnit,
        &mut hidden_ohm::pump::Hydraulics,
        &mut Supply,
    )| {
        let (mut unit, mut circuit, mut supply) = (van(), fuel_circuit(), key_on());
        change(&mut unit, &mut circuit, &mut supply);
        operating_point(&unit, &circuit, &supply, &Demand::none())
            .expect_err("meaningless")
            .to_string()
    };
    assert!(refused(&|unit, _, _| unit.motor.ke = f64::NAN).contains("ke is NaN"));
    assert!(refused(&|unit, _, _| unit.motor.winding_ohms = -1.0).contains("winding_ohms is -1"));
    assert!(refused(&|_, circuit, _| circuit.density = 0.0).contains("density is 0"));
    assert!(
        refused(&|_, circuit, _| circuit.compliance_m3_pa = f64::INFINITY)
            .contains("compliance_m3_pa is inf")
    );
    assert!(refused(&|_, _, supply| supply.volts = f64::INFINITY).contains("supply.volts is inf"));
    let error = prime(
        &van(),
        &fuel_circuit(),
        &key_on(),
        &Demand::none(),
        Rest::default(),
        2.0,
        0.0,
    )
    .expect_err("no interval");
    assert!(error.to_string().contains("sample_s is 0"), "{error}");
}
