//! A lift pump and the main pump on one network: both equations close, and only once.

use hidden_ohm::pump::{Demand, Hydraulics, OperatingPoint, Outlet, operating_point};
use hidden_ohm::rig::{Ladder, SolvedLift};

use super::{cases, library};
use crate::cases::{Spread, case};

/// What is left of a motor's volts behind its own ohms.
fn emf_v(solved: &SolvedLift, of: usize, other_v: f64, amps: f64) -> f64 {
    let supply = solved.pair.supply(of, other_v);
    if supply.ohms.is_finite() {
        supply.volts - amps * (supply.ohms + solved.pair.ohms[of])
    } else {
        0.0
    }
}

/// The lift pump's and the main pump's points from a guess of the main motor's EMF.
fn points(ladder: &Ladder, lift: &SolvedLift, main_v: f64) -> [OperatingPoint; 2] {
    let into_pot = Demand {
        outlet: Outlet::LineIntoCan,
        ..Demand::none()
    };
    let (unit, way) = (&lift.lift.pump.unit, &lift.lift.hydraulics);
    let supply = lift.pair.supply(1, main_v);
    let lifting = operating_point(unit, way, &supply, &into_pot).expect("a point");
    let solved = &ladder.solved;
    let past = way.drawn_past(lift.lift.past_pa_s2_m6, solved.hydraulics.vapour_limit_pa);
    let fed = Hydraulics {
        brought_m3_s: lifting.can_m3_s.max(past),
        ..solved.hydraulics
    };
    let supply = lift.pair.supply(0, emf_v(lift, 1, main_v, lifting.amps));
    let main = operating_point(&solved.unit, &fed, &supply, &solved.demand).expect("a point");
    [lifting, main]
}

#[test]
fn both_pumps_of_a_pair_stand_at_their_points_at_once_and_nowhere_else() {
    let library = library();
    let (mut compared, mut starved, mut chattered) = (0, 0, 0);
    for number in cases(400) {
        for spread in [Spread::Damaged, Spread::Anything] {
            let case = case(&library, spread, number);
            let about = case.about;
            let ladder = case.rig.ladder(case.key, case.pump_on, case.moment);
            let Ok(ladder) = ladder else { continue };
            let Some(lift) = &ladder.lift else { continue };
            // A motor at rest on a dead segment has no mean over its turns to hold the other's film to.
            if ladder.solved.unit.motor.dead_segments > 0 && ladder.point.rad_s == 0.0 {
                continue;
            }
            let main_v = if ladder.solved.supply.ohms.is_finite() {
                ladder.point.terminal_volts - ladder.point.amps * lift.pair.ohms[0]
            } else {
                0.0
            };
            let [lifting, main] = points(&ladder, lift, main_v);
            for (what, here, there) in [
                ("lift", &lifting, &lift.point),
                ("main", &main, &ladder.point),
            ] {
                assert!(
                    (here.amps - there.amps).abs() <= 1e-7 * (1e-2 + there.amps.abs())
                        && (here.rad_s - there.rad_s).abs() <= 1e-6 * (1.0 + there.rad_s.abs()),
                    "{about}: {what} {here:?}, stands at {there:?}"
                );
            }
            compared += 1;
            starved += usize::from(ladder.point.starved);
            chattered += usize::from(ladder.chattering);
            // What a guess of the EMF brings about falls short of it beyond the point, and exceeds it below.
            let left = |guess_v: f64| {
                let [lifting, main] = points(&ladder, lift, guess_v);
                emf_v(lift, 0, emf_v(lift, 1, guess_v, lifting.amps), main.amps) - guess_v
            };
            let mut changes = 0;
            let mut before = true;
            for step in 0..=120 {
                let above = left(-15.0 + 0.25 * f64::from(step)) > 0.0;
                changes += usize::from(above != before);
                before = above;
            }
            assert!(
                changes == 1 || lift.pair.siemens[0][0] < 1e-12,
                "{about}: {changes} changes of sign"
            );
        }
    }
    assert!(
        compared > 60 && starved > 3,
        "only {compared} pairs, {starved} starved, {chattered} chattering"
    );
}
