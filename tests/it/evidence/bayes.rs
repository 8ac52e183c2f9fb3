//! Posterior, mixture, shared draws, information.
use super::assert_near;
use hidden_ohm::evidence::information::{
    Predicted, binned, capacity, expected_bits, expected_bits_of_reading, symmetric_capacity,
};
use hidden_ohm::evidence::logs::{entropy, log_add_exp, log_sum_exp, softmax};
use hidden_ohm::evidence::{Belief, Mixture, realised_bits, rectangular, resolution};

/// A ground-side drop read as 0.41 V under four hypotheses: healthy, mild, severe, open.
const PREDICTED: [(f64, f64); 4] = [(0.05, 0.02), (0.35, 0.08), (1.2, 0.25), (11.8, 0.30)];
const PRIOR: [f64; 4] = [0.70, 0.15, 0.10, 0.05];
const READ: f64 = 0.41;
const MIXTURE: Mixture = Mixture {
    chance: 0.02,
    low: 0.0,
    high: 20.0,
};

/// `±(0.5 % + 2 counts)` of 0.01 V at 0.41 V as a standard uncertainty.
fn meter() -> f64 {
    rectangular(0.005 * READ + 2.0 * 0.01)
}

fn sigma(tolerance: f64) -> f64 {
    (tolerance * tolerance + meter() * meter()).sqrt()
}

#[test]
fn logarithms_of_sums_keep_their_digits_far_below_zero() {
    // Derived.
    let logs = [-1000.0, -1001.0, -1002.0];
    assert_near(log_sum_exp(&logs), -999.592_394, 1e-6, "log-sum-exp");
    for (found, expected) in softmax(&logs)
        .into_iter()
        .zip([0.665_241, 0.244_728, 0.090_031])
    {
        assert_near(found, expected, 1e-6, "softmax");
    }
    assert_near(
        log_add_exp(-1000.0, -1001.0),
        log_sum_exp(&logs[..2]),
        1e-12,
        "of two",
    );
    assert_eq!(log_add_exp(f64::NEG_INFINITY, -3.0), -3.0);
    assert_eq!(log_sum_exp(&[]), f64::NEG_INFINITY);
}

#[test]
fn a_meter_s_limits_of_error_become_a_standard_uncertainty() {
    // JCGM 100:2008: half-width over root three, step over root twelve (textbook); the number derived.
    assert_near(meter(), 0.012_730_6, 1e-7, "0.5 % + 2 counts at 0.41 V");
    assert_near(
        resolution(0.01),
        0.01 / 12.0_f64.sqrt(),
        1e-15,
        "a step of 0.01 V",
    );
    assert_near(
        1.645,
        0.95 * 3.0_f64.sqrt(),
        5e-4,
        "95 % of a rectangle lies within 1.645 u",
    );
}

#[test]
fn one_reading_moves_belief_as_far_as_it_should() {
    // Derived.
    let logs: Vec<f64> = PREDICTED
        .iter()
        .map(|&(mean, tolerance)| MIXTURE.log_likelihood(READ, mean, sigma(tolerance)))
        .collect();
    for (found, expected) in logs
        .iter()
        .zip([-6.907_755, 1.300_052, -4.444_981, -6.907_755])
    {
        assert_near(*found, expected, 1e-6, "log-likelihood");
    }
    let mut belief = Belief::new(&PRIOR, 1);
    assert_near(belief.entropy(), 1.319_035, 1e-6, "entropy before");
    belief.update(|h| logs[h]);
    let after = belief.probabilities();
    for (found, expected) in after
        .iter()
        .zip([0.001_267, 0.996_517, 0.002_125, 0.000_091])
    {
        assert_near(*found, expected, 5e-7, "posterior");
    }
    assert_near(belief.entropy(), 0.037_295, 1e-6, "entropy after");
    assert_near(
        realised_bits(PRIOR[1], after[1]),
        2.731_932,
        1e-6,
        "bits towards the truth",
    );
    let divergence: f64 = after
        .iter()
        .zip(PRIOR)
        .map(|(p, q)| p * (p / q).log2())
        .sum();
    assert_near(divergence, 2.698_241, 1e-6, "divergence from the prior");
}

#[test]
fn without_gross_errors_one_reading_would_make_absurdly_sure() {
    // Derived: 1.8e-49 for a vehicle that is well.
    let mut belief = Belief::new(&PRIOR, 1);
    belief.update(|h| Mixture::NONE.log_likelihood(READ, PREDICTED[h].0, sigma(PREDICTED[h].1)));
    let healthy = belief.probabilities()[0];
    assert_near(healthy / 1.8e-49, 1.0, 0.03, "healthy without the mixture");
}

#[test]
fn the_mixture_caps_what_one_reading_can_do() {
    // Derived: 10^4.217, 14.0 bits for the narrowest prediction.
    let cap = MIXTURE.cap_bits(sigma(0.02));
    assert_near(
        cap * 2.0_f64.log10(),
        4.217,
        5e-4,
        "cap of the odds, decades",
    );
    assert_near(cap, 14.0, 0.05, "cap, bits");
    for thousandths in -2_000..20_000 {
        let y = f64::from(thousandths) / 1000.0;
        let moved = MIXTURE.log_likelihood(y, 0.05, sigma(0.02))
            - MIXTURE.log_likelihood(y, 11.8, sigma(0.30));
        assert!(
            moved / 2.0_f64.ln() <= cap + 1e-9,
            "{y} V moves more than the cap"
        );
    }
}

#[test]
fn a_reading_far_outside_the_display_still_rules_nothing_out() {
    let mut belief = Belief::new(&PRIOR, 1);
    belief.update(|h| MIXTURE.log_likelihood(-1e6, PREDICTED[h].0, sigma(PREDICTED[h].1)));
    for (found, prior) in belief.probabilities().iter().zip(PRIOR) {
        assert_near(*found, prior, 1e-9, "belief after nonsense");
    }
}

#[test]
fn what_a_reading_tells_on_average_is_what_quadrature_and_bins_say() {
    // Derived: 1.262373 bits continuous. In four and nine bins 1.164990 and 1.230455 with the normal distribution's
    // own areas; an integration on a grid gave 1.164996 and 1.230472.
    let predicted: Vec<Predicted> = PREDICTED
        .iter()
        .map(|&(mean, tolerance)| Predicted {
            mean,
            sigma: sigma(tolerance),
        })
        .collect();
    let continuous = expected_bits_of_reading(&PRIOR, &predicted, &MIXTURE);
    assert_near(continuous, 1.262_373, 1e-6, "continuous");
    for (edges, expected) in [
        (vec![-1.0, 0.2, 0.7, 5.0, 21.0], 1.164_990),
        (
            vec![-1.0, 0.12, 0.2, 0.3, 0.5, 0.7, 2.0, 5.0, 11.0, 21.0],
            1.230_455,
        ),
    ] {
        let bits = expected_bits(&PRIOR, &binned(&predicted, &MIXTURE, &edges));
        assert_near(bits, expected, 1e-6, "binned");
        assert!(bits < continuous, "binning adds nothing");
    }
}

#[test]
fn the_textbook_test_for_a_rare_disease_gives_its_textbook_answer() {
    // Textbook: 1 % have it, 80 % of those test positive, 9.6 % of the others do; 7.76 %.
    let mut belief = Belief::new(&[0.01, 0.99], 1);
    belief.update(|h| libm::log([0.8, 0.096][h]));
    assert_near(
        belief.probabilities()[0],
        0.077_639_8,
        1e-7,
        "ill after a positive test",
    );
}

#[test]
fn channel_capacities_are_the_published_ones() {
    // Binary input in Gaussian noise at 0 dB: 0.486 bits (textbook); the other digits derived.
    for (sigma, expected) in [(1.0, 0.485_944), (0.5, 0.912_822), (2.0, 0.160_747)] {
        let signal = [
            Predicted { mean: -1.0, sigma },
            Predicted { mean: 1.0, sigma },
        ];
        let bits = expected_bits_of_reading(&[0.5, 0.5], &signal, &Mixture::NONE);
        assert_near(bits, expected, 1e-6, "binary input in Gaussian noise");
    }
    // Binary symmetric channel, Shannon 1948 (textbook); q = 0.11 is the customary half bit.
    for (q, expected) in [(0.11, 0.500_084), (0.05, 0.713_603)] {
        assert_near(symmetric_capacity(q), expected, 1e-6, "binary symmetric");
        let found = capacity(&[vec![1.0 - q, q], vec![q, 1.0 - q]]);
        assert_near(found, expected, 1e-6, "by rounds of Blahut and Arimoto");
    }
    // Erasure channel: capacity is the share that arrives (textbook).
    let erasure = capacity(&[vec![0.7, 0.0, 0.3], vec![0.0, 0.7, 0.3]]);
    assert_near(erasure, 0.7, 1e-6, "binary erasure");
    // Z-channel with half of the ones lost: log2(5/4) (textbook).
    let z = capacity(&[vec![1.0, 0.0], vec![0.5, 0.5]]);
    assert_near(z, 1.25_f64.log2(), 1e-6, "Z-channel");
}

#[test]
fn a_repeated_reading_does_not_multiply_evidence() {
    // Derived. Two hypotheses 0.2 V apart, parts spread by 0.10 V, meter by 0.01 V, 0.15 V read each time. The
    // tolerance is the same part's in every reading, so the logarithm of the odds stays below one.
    const DRAWS: usize = 4001;
    let draws: Vec<(f64, f64)> = (0..DRAWS)
        .map(|k| {
            let z = (k as f64 / (DRAWS - 1) as f64 - 0.5) * 16.0;
            (z * 0.10, -0.5 * z * z)
        })
        .collect();
    let mut belief = Belief::new(&[0.5, 0.5], DRAWS);
    // The draws stand on a grid here; their weights make them normal.
    belief.update(|k| draws[k % DRAWS].1);
    let mut told = Vec::new();
    for _ in 0..10 {
        belief.update(|draw| {
            let (h, k) = (draw / DRAWS, draw % DRAWS);
            Mixture::NONE.log_likelihood(0.15, [0.0, 0.2][h] + draws[k].0, 0.01)
        });
        let after = belief.probabilities();
        told.push((after[1] / after[0]).ln());
    }
    for (n, expected) in [(1, 0.990_099), (2, 0.995_025), (10, 0.999_001)] {
        assert_near(
            told[n - 1],
            expected,
            1e-6,
            "log odds after so many readings",
        );
    }
    // What treating them as independent would claim.
    let alone = |mean: f64| Mixture::NONE.log_likelihood(0.15, mean, (0.01_f64 + 0.0001).sqrt());
    assert_near(
        10.0 * (alone(0.2) - alone(0.0)),
        9.901,
        5e-4,
        "ten readings taken as independent",
    );
}

#[test]
fn draws_that_differ_in_nothing_change_nothing() {
    let mut one = Belief::new(&PRIOR, 1);
    let mut many = Belief::new(&PRIOR, 7);
    for y in [0.41, 0.2, 3.0] {
        one.update(|h| MIXTURE.log_likelihood(y, PREDICTED[h].0, sigma(PREDICTED[h].1)));
        many.update(|d| MIXTURE.log_likelihood(y, PREDICTED[d / 7].0, sigma(PREDICTED[d / 7].1)));
    }
    for (a, b) in one.probabilities().iter().zip(many.probabilities()) {
        assert_near(*a, b, 1e-12, "one draw and seven");
    }
    assert_near(many.draws().iter().sum(), 1.0, 1e-12, "joint probabilities");
}

#[test]
fn repairs_are_believed_in_as_much_as_the_faults_they_cure() {
    let belief = Belief::new(&[0.4, 0.3, 0.2, 0.1], 3);
    let classes = belief.classes(&[0, 1, 1, 2]);
    for (found, expected) in classes.iter().zip([0.4, 0.5, 0.1]) {
        assert_near(*found, expected, 1e-12, "probability of a repair");
    }
}

#[test]
fn nothing_possible_means_nothing_known() {
    let mut belief = Belief::new(&[0.5, 0.5], 2);
    belief.update(|_| f64::NEG_INFINITY);
    assert_eq!(belief.probabilities(), [0.5, 0.5]);
    assert_near(
        entropy(&belief.probabilities()),
        1.0,
        1e-12,
        "one bit unknown",
    );
}
