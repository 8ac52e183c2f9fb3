//! Proper scores and calibration.
use super::assert_near;
use hidden_ohm::evidence::Calibration;
use hidden_ohm::evidence::rules::Rule;

#[test]
fn a_forecast_scores_by_each_rule_as_tabulated() {
    // Derived.
    let q = [0.6, 0.3, 0.1];
    for (truth, log, brier, spherical) in [
        (0, -0.737, 0.26, 0.8847),
        (1, -1.737, 0.86, 0.4423),
        (2, -3.322, 1.26, 0.1474),
    ] {
        assert_near(Rule::Logarithmic.score(&q, truth), log, 5e-4, "logarithmic");
        assert_near(Rule::Brier.score(&q, truth), brier, 1e-9, "Brier");
        assert_near(
            Rule::Spherical.score(&q, truth),
            spherical,
            5e-5,
            "spherical",
        );
        assert_eq!(Rule::Linear.score(&q, truth), q[truth]);
    }
    assert_near(
        Rule::Logarithmic.score(&[0.0, 1.0], 0),
        -9.965_784,
        1e-6,
        "clipped at one in a thousand",
    );
}

#[test]
fn known_sets_of_forecasts_have_their_known_mean_scores() {
    // The documentation examples of scikit-learn's brier_score_loss and log_loss (from memory, recomputed).
    let two = [(0, 0.1), (1, 0.9), (1, 0.8), (0, 0.3)];
    let mean = |rule: Rule, cases: &[(usize, f64)]| -> f64 {
        cases
            .iter()
            .map(|&(truth, p)| rule.score(&[1.0 - p, p], truth))
            .sum::<f64>()
            / cases.len() as f64
    };
    // Over both classes the Brier score is twice the one for a single event.
    assert_near(mean(Rule::Brier, &two) / 2.0, 0.0375, 1e-12, "Brier");
    let nats = |bits: f64| -bits * 2.0_f64.ln();
    assert_near(
        nats(mean(Rule::Logarithmic, &two)),
        0.197_635,
        1e-6,
        "log loss",
    );
    let other = [(1, 0.9), (0, 0.1), (0, 0.2), (1, 0.65)];
    assert_near(
        nats(mean(Rule::Logarithmic, &other)),
        0.216_162,
        1e-6,
        "log loss of spam and ham",
    );
}

#[test]
fn honesty_pays_by_every_proper_rule_and_not_by_the_linear_one() {
    // Derived: belief 0.7.
    let believed = [0.7, 0.3];
    let best = |rule: Rule| {
        let stated = (0..=1000).map(|thousandths| f64::from(thousandths) / 1000.0);
        stated.reduce(|best, s| {
            let of = |s: f64| rule.expected(&believed, &[s, 1.0 - s]);
            if rule.is_better(of(best), of(s)) {
                s
            } else {
                best
            }
        })
    };
    for rule in [Rule::Logarithmic, Rule::Brier, Rule::Spherical] {
        assert_near(
            best(rule).expect("some statement is best"),
            0.7,
            1e-9,
            "best statement",
        );
    }
    assert_eq!(
        best(Rule::Linear),
        Some(1.0),
        "the linear rule pays for overstating"
    );
    assert_near(
        Rule::Linear.expected(&believed, &believed),
        0.58,
        1e-12,
        "linear, honest",
    );
    assert_near(
        Rule::Linear.expected(&believed, &[1.0, 0.0]),
        0.70,
        1e-12,
        "linear, overstated",
    );
    let squares: f64 = believed.iter().map(|p| p * p).sum();
    assert_near(
        Rule::Brier.expected(&believed, &believed),
        1.0 - squares,
        1e-12,
        "Brier, honest",
    );
}

#[test]
fn murphy_s_partition_adds_up() {
    // Derived: five forecasts of 0.3 and five of 0.9 with outcomes 0010011101.
    let mut calibration = Calibration::default();
    for (index, outcome) in "0010011101".bytes().enumerate() {
        calibration.add(if index < 5 { 0.3 } else { 0.9 }, outcome == b'1');
    }
    let murphy = calibration.murphy();
    assert_near(murphy.score, 0.17, 1e-12, "score");
    assert_near(murphy.reliability, 0.01, 1e-12, "reliability");
    assert_near(murphy.resolution, 0.09, 1e-12, "resolution");
    assert_near(murphy.uncertainty, 0.25, 1e-12, "uncertainty");
    // Each group is off by 0.1.
    assert_near(
        calibration.expected_error(10),
        0.1,
        1e-12,
        "expected calibration error",
    );
    let table = calibration.table(10);
    assert_eq!(table.len(), 2);
    assert_eq!((table[0].count, table[1].count), (5, 5));
    assert_near(
        table[0].came_true,
        0.2,
        1e-12,
        "true of those stated at 0.3",
    );
    assert_near(
        table[1].came_true,
        0.8,
        1e-12,
        "true of those stated at 0.9",
    );
}

#[test]
fn certainty_belongs_to_the_last_bin() {
    let mut calibration = Calibration::default();
    assert!(calibration.is_empty());
    calibration.add(1.0, true);
    calibration.add(0.0, false);
    assert_eq!(calibration.len(), 2);
    assert_eq!(calibration.expected_error(10), 0.0);
    assert_eq!(
        calibration
            .table(10)
            .iter()
            .map(|row| row.count)
            .sum::<usize>(),
        2
    );
}
