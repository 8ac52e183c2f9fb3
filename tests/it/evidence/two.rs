//! Belief where two faults are hidden.
use super::assert_near;
use super::vehicle::{hands_back, library, opens_up, pool, reads};
use hidden_ohm::bay::{Action, Bay, Closed, Target};
use hidden_ohm::evidence::joint::{Joint, Number};
use hidden_ohm::evidence::{Account, Cure};
use hidden_ohm::scenario::{Scenario, written};
use hidden_ohm::units::System;

fn two() -> Scenario {
    written(library(), "two", include_str!("../../data/score/two.toml"))
        .unwrap_or_else(|wrong| panic!("{wrong:?}"))
}

/// Against `scipy.stats.multivariate_normal.logpdf` of `SciPy` 1.17.1, with the mean and the covariance written out: derived.
/// Off, own variance, slopes of two tolerances, under load, moves of three draws.
#[test]
fn numbers_of_two_faults_have_the_density_of_one_normal_vector() {
    type Case = (f64, f64, [f64; 2], bool, [[f64; 2]; 3]);
    const NUMBERS: [Case; 5] = [
        (
            -1.10,
            0.0004,
            [0.05, 0.02],
            true,
            [[-0.6, -0.2], [-0.5, -0.1], [0.1, 0.0]],
        ),
        (
            -0.62,
            0.0009,
            [0.04, -0.01],
            true,
            [[-0.6, -0.2], [0.0, 0.0], [0.1, 0.0]],
        ),
        (
            0.35,
            0.0016,
            [0.03, 0.03],
            false,
            [[0.0, 0.0], [0.3, 0.05], [0.0, 0.0]],
        ),
        (
            -0.48,
            0.0025,
            [0.02, 0.02],
            true,
            [[0.0, 0.0], [-0.4, -0.1], [-0.2, 0.03]],
        ),
        (
            -11.0,
            0.01,
            [0.01, 0.06],
            false,
            [[0.0, 0.0], [0.1, 0.02], [-11.5, 0.0]],
        ),
    ];
    let cases: [(&[usize], [usize; 2], f64, f64); 5] = [
        (&[0, 1, 2, 3, 4], [0, 1], 1.0, -4_980.578_463_592_987),
        (&[0, 1, 2, 3, 4], [1, 0], 0.7, -4_980.705_627_354_28),
        (&[0, 1, 2, 3, 4], [2, 1], 0.0, -223.162_646_808_798_85),
        (&[0], [0, 1], 1.0, 0.546_970_940_700_496_3),
        (&[0, 1, 3], [0, 2], 0.4, -54.235_230_126_907_5),
    ];
    let numbers: Vec<Number> = NUMBERS
        .iter()
        .map(|(off, variance, slopes, loaded, moves)| Number {
            off: *off,
            variance: *variance,
            slopes: slopes.to_vec(),
            loaded: *loaded,
            moves: moves.to_vec(),
        })
        .collect();
    for (rows, pair, share, expected) in cases {
        let rows: Vec<&Number> = rows.iter().map(|&at| &numbers[at]).collect();
        let found = Joint::of(&rows, 3).log_density(pair, share);
        assert_near(
            found,
            expected,
            1e-9 * expected.abs().max(1.0),
            "log density",
        );
    }
}

/// Reads the loop, then mends the ground point and then the relay, as many as `mended`, with a road test after each.
fn worked(mended: usize) -> Closed {
    let mut bay = Bay::open(two(), System::Metric).expect("it can be solved");
    reads(
        &mut bay,
        &["K1.30", "K1.87", "X7.1", "X7.2", "BODYR", "G4"],
        None,
    );
    let part = |id| pool().vehicle().part(id).expect("a part of the van");
    let ground = Target {
        part: part("G4"),
        leg: None,
    };
    for mends in [Action::Repair(ground), Action::Replace(part("K1"))]
        .into_iter()
        .take(mended)
    {
        opens_up(&mut bay);
        for action in [
            Action::Isolate(true),
            mends,
            Action::Isolate(false),
            Action::Drive,
        ] {
            bay.act(&action)
                .unwrap_or_else(|refused| panic!("{action:?}: {refused:?}"));
        }
    }
    hands_back(bay)
}

fn account(closed: &Closed) -> Account {
    Account::of(pool(), closed).expect("the attempt can be followed")
}

#[test]
fn before_a_reading_two_repairs_are_needed() {
    let closed = worked(0);
    let p = Account::begin(pool(), closed.level, &closed.order).repair_probabilities();
    assert!(p.iter().all(|p| (0.0..=1.0).contains(p)), "{p:?}");
    // Two faults may be cured by one repair, so the sum falls a little short.
    let sum: f64 = p.iter().sum();
    assert!((1.8..=2.0 + 1e-9).contains(&sum), "{sum}");
}

#[test]
fn volts_around_the_loop_make_both_repairs_likely() {
    let closed = worked(0);
    let account = account(&closed);
    let p = account.repair_probabilities();
    let mut order: Vec<usize> = (0..p.len()).collect();
    order.sort_by(|&a, &b| p[b].total_cmp(&p[a]));
    let rights = account.rights(&closed.truth);
    assert_eq!(rights.len(), 2);
    assert!(
        rights.iter().all(|right| order[..3].contains(right)),
        "{rights:?} among {:?}",
        order
            .iter()
            .take(5)
            .map(|&at| (at, p[at]))
            .collect::<Vec<_>>()
    );
}

#[test]
fn with_one_of_two_repaired_belief_goes_over_to_the_other_and_with_both_it_is_done() {
    let first = account(&worked(1));
    assert!(
        first.probability_done() < 0.2,
        "{}",
        first.probability_done()
    );
    let p = first.repair_probabilities();
    let best = (0..p.len()).reduce(|a, b| if p[b] > p[a] { b } else { a });
    let best = first.repairs().all()[best.expect("there are repairs")].what;
    // Whether contacts or socket of the relay are at fault is not read between its terminals.
    let relay = pool().vehicle().part("K1").expect("a part of the van");
    assert!(
        matches!(best, Cure::Part(part, _) if part == relay),
        "{best:?}"
    );
    assert_near(p.iter().sum(), 1.0, 1e-9, "one is left");
    let both = account(&worked(2));
    assert!(both.probability_done() > 0.7, "{}", both.probability_done());
}
