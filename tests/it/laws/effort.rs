//! How much work the answers take, held where it is: a change that makes the program solve more often must say so here.
//!
//! Counts are the same on every machine, which times are not. Those of the linear solver are exact; steps of the transient and
//! evaluations of the pump's balance may wander a little with a vehicle's figures, so they have a ceiling.

use std::sync::Arc;

use hidden_ohm::circuit::{NodeId, Solver, Work};
use hidden_ohm::pump::{Demand, Rest, operating_point, prime};
use hidden_ohm::rig::{Attachments, Conditions, Moment, Rig};
use hidden_ohm::vehicle::Key;

use super::library;

fn rig() -> Rig {
    let library = library();
    let conditions = Conditions {
        ambient_c: 20.0,
        charge: 1.0,
        fuel: 0.5,
    };
    let vehicle = Arc::clone(&library.vehicles[0]);
    Rig::new(vehicle, library.catalogue, 7, conditions, Vec::new()).expect("a rig")
}

/// What one thing costs.
fn cost(rig: &mut Rig, what: impl FnOnce(&mut Rig)) -> Work {
    let before = rig.work();
    what(rig);
    let after = rig.work();
    Work {
        orderings: after.orderings - before.orderings,
        factorisations: after.factorisations - before.factorisations,
        solutions: after.solutions - before.solutions,
    }
}

#[test]
fn an_operating_point_takes_one_factorisation_and_a_table_of_all_readings_no_more() {
    let ladder = rig()
        .ladder(Key::On, true, Moment::Settled)
        .expect("a truth");
    let net = ladder.network();
    let mut solver = Solver::new();
    solver.operate(net).expect("a point");
    let once = Work {
        orderings: 1,
        factorisations: 1,
        solutions: 2,
    };
    assert_eq!(solver.work(), once);
    solver.operate(net).expect("a point");
    let again = Work {
        orderings: 1,
        factorisations: 2,
        solutions: 4,
    };
    assert_eq!(solver.work(), again, "the order of elimination is kept");
    let count = u32::try_from(net.node_count()).expect("some dozens");
    let points: Vec<NodeId> = (0..count).map(NodeId).collect();
    solver.probe_table(net, &points, 1e7).expect("a table");
    let table = Work {
        orderings: 1,
        factorisations: 3,
        solutions: 6 + u64::from(count),
    };
    assert_eq!(
        solver.work(),
        table,
        "one more for each point, none for each pair"
    );
}

#[test]
fn a_look_at_the_running_vehicle_takes_few_factorisations() {
    let mut rig = rig();
    let none = Attachments::none();
    let turn = cost(&mut rig, |rig| {
        rig.turn_key(Key::On, &none).expect("a prime");
    });
    rig.command_pump(true);
    rig.now(&none).expect("a state");
    let look = cost(&mut rig, |rig| {
        rig.now(&none).expect("a state");
    });
    let minute = cost(&mut rig, |rig| {
        rig.wait(60.0, &none).expect("time");
    });
    // Once with the relay at rest, once closed, once at the end of each of its two steps, and one for the look at the end.
    assert!(
        turn.factorisations <= 5 && turn.orderings <= 3,
        "a prime took {turn:?}"
    );
    let one = Work {
        orderings: 0,
        factorisations: 1,
        solutions: 4,
    };
    assert_eq!(look, one, "a look at a state that is known");
    // Nine steps, each corrected by the currents at its end, where the next begins; and one for the look at the end.
    assert!(
        minute.factorisations <= 10 && minute.orderings == 0,
        "a minute took {minute:?}"
    );
}

#[test]
fn a_prime_takes_few_steps_and_a_steady_point_few_evaluations() {
    let ladder = rig()
        .ladder(Key::On, true, Moment::Settled)
        .expect("a truth");
    let solved = ladder.solved;
    let trace = prime(
        &solved.unit,
        &solved.hydraulics,
        &solved.supply,
        &Demand::none(),
        Rest::default(),
        2.0,
        0.1,
    )
    .expect("a prime");
    let point = operating_point(
        &solved.unit,
        &solved.hydraulics,
        &solved.supply,
        &Demand::none(),
    )
    .expect("a point");
    assert!(
        trace.steps <= 250 && trace.rejected <= 10 && trace.evaluations <= 1_650,
        "{} steps, {} rejected, {} evaluations",
        trace.steps,
        trace.rejected,
        trace.evaluations
    );
    assert!(point.evaluations <= 14, "{} evaluations", point.evaluations);
}
