//! Energy: what the sources give is heat in the circuit, friction and work on the fuel.

use hidden_ohm::rig::Moment;

use super::{cases, library};
use crate::cases::{Spread, case};
use crate::pump::wasted_w;

/// Holds in every settled state. Stored energy does not change there; a prime stores some in inertia and hose, which
/// the pump's own tests balance. Where a commutator segment is dead the pulsed current heats more than its mean, so
/// that there the heat is told by the back-EMF of the turning motor.
#[test]
fn energy_in_is_heat_and_friction_and_hydraulic_work() {
    let library = library();
    let mut turning = 0;
    for number in cases(400) {
        let case = case(&library, Spread::Damaged, number);
        if case.moment != Moment::Settled {
            continue;
        }
        let about = case.about;
        let ladder = case
            .rig
            .ladder(case.key, case.pump_on, case.moment)
            .expect("a solution");
        let heat: f64 = ladder
            .branches
            .iter()
            .map(|b| b.amps * b.amps * b.ohms)
            .sum();
        let inside: f64 = ladder
            .sources
            .iter()
            .map(|s| s.amps * s.amps * s.ohms)
            .sum();
        let is_motor = |part: &str| ladder.pumps.iter().any(|pump| pump.part == part);
        let given: f64 = ladder
            .sources
            .iter()
            .filter(|s| !is_motor(&s.part))
            .map(|s| s.amps * s.volts)
            .sum();
        let taken: f64 = ladder
            .sources
            .iter()
            .filter(|s| is_motor(&s.part))
            .map(|s| -s.amps * s.volts)
            .sum();
        let scale = 1e-9 * (1.0 + given.abs() + heat);
        assert!(
            (given - heat - inside - taken).abs() <= scale,
            "{about}: {given} W in, {heat} + {inside} + {taken}"
        );
        if ladder.chattering {
            continue;
        }
        let lifting = ladder.lift.as_ref().map(|lift| lift.point);
        let lift = ladder.lift.as_ref().map(|lift| lift.lift.pump.unit);
        let points = [(ladder.point, ladder.solved.unit)].into_iter();
        let points = points.chain(lifting.zip(lift));
        for ((point, unit), pump) in points.zip(&ladder.pumps) {
            if point.rad_s <= 0.0 {
                continue;
            }
            turning += 1;
            let motor_in = point.back_emf_v * point.amps;
            let own = ladder.sources.iter().filter(|s| s.part == pump.part);
            let taken: f64 = own.map(|s| -s.amps * s.volts).sum();
            assert!(
                taken >= motor_in - scale,
                "{about}: {taken} W into {}, {motor_in} W turned",
                pump.part
            );
            let friction = point.friction_nm * point.rad_s;
            let drawn = point.delivered_m3_s + point.relief_m3_s;
            let moved = drawn + point.slip_m3_s;
            let fuel = point.rise_pa * moved + wasted_w(&unit, &point);
            assert!(
                (motor_in - friction - fuel).abs() <= 1e-6 * motor_in,
                "{about}: {}: {motor_in} W turned, {friction} W friction, {fuel} W on the fuel",
                pump.part
            );
        }
    }
    assert!(turning > 20, "only {turning} pumps turned");
}
