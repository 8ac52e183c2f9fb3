//! Where to probe next.
use super::assert_near;
use hidden_ohm::evidence::information::{expected_bits, expected_class_bits};
use hidden_ohm::evidence::logs::entropy;
use hidden_ohm::evidence::{edges, probe};

/// Three multipliers and two adders: the circuit and the observation of de Kleer and Williams (1987). A=3 B=2 C=2 D=3
/// E=3; X=AC, Y=BD, Z=CE, F=X+Y, G=Y+Z; F shows 10 where 12 is due, G shows 12 as it should.
struct Candidate {
    prior: f64,
    mass: f64,
    predicts: [Option<i64>; 3],
}

/// Candidate fault sets consistent with the observation, each part faulty with probability 0.01 by itself; a set that
/// leaves an output open passes one time in 16 for each.
fn candidates(minimal: bool) -> Vec<Candidate> {
    let minimal_sets = [0b00001, 0b01000, 0b00110, 0b10010];
    (0_u32..32)
        .filter(|set| !minimal || minimal_sets.contains(set))
        .filter_map(|set| {
            let sound = |part: u32| set >> part & 1 == 0;
            let (m1, m2, m3, a1, a2) = (sound(0), sound(1), sound(2), sound(3), sound(4));
            let mut lines = [m1.then_some(6), m2.then_some(6), m3.then_some(6)];
            // Two rounds carry everything that follows from the outputs back to the lines.
            for _ in 0..2 {
                for (adder, a, b, sum) in [(a1, 0, 1, 10), (a2, 1, 2, 12)] {
                    if adder {
                        match (lines[a], lines[b]) {
                            (Some(x), Some(y)) if x + y != sum => return None,
                            (Some(x), None) => lines[b] = Some(sum - x),
                            (None, Some(y)) => lines[a] = Some(sum - y),
                            _ => {}
                        }
                    }
                }
            }
            let bad = set.count_ones().cast_signed();
            let prior = 0.01_f64.powi(bad) * 0.99_f64.powi(5 - bad);
            let mut mass = prior;
            // An output is left to chance if the parts before it do not decide it.
            let before = [m1.then_some(6), m2.then_some(6), m3.then_some(6)];
            let f = if a1 { before[0].zip(before[1]) } else { None };
            let g = if a2 { before[1].zip(before[2]) } else { None };
            for decided in [f.is_some(), g.is_some()] {
                if !decided {
                    mass /= 16.0;
                }
            }
            Some(Candidate {
                prior,
                mass,
                predicts: lines,
            })
        })
        .collect()
}

fn normalised(candidates: &[Candidate]) -> Vec<f64> {
    let whole: f64 = candidates.iter().map(|c| c.mass).sum();
    candidates.iter().map(|c| c.mass / whole).collect()
}

fn gains(candidates: &[Candidate]) -> Vec<f64> {
    let p = normalised(candidates);
    (0..3)
        .map(|line| {
            let predictions: Vec<(f64, Option<i64>)> = candidates
                .iter()
                .zip(&p)
                .map(|(c, &p)| (p, c.predicts[line]))
                .collect();
            probe::gain(&predictions, 16)
        })
        .collect()
}

#[test]
fn the_entropy_rule_probes_the_line_both_single_faults_disagree_on() {
    // Circuit and observation published, numbers derived.
    let all = candidates(false);
    assert_eq!(all.len(), 27, "consistent fault sets");
    let p = normalised(&all);
    assert_near(entropy(&p), 1.071_352, 1e-6, "entropy");
    let likeliest = p.iter().copied().fold(0.0, f64::max);
    assert_near(likeliest, 0.496_225, 1e-6, "probability of a single fault");
    for (found, expected) in gains(&all)
        .into_iter()
        .zip([1.033_015, 0.007_804, 0.004_345])
    {
        assert_near(found, expected, 1e-6, "gain at X, Y, Z");
    }
}

#[test]
fn minimal_diagnoses_alone_give_nearly_the_same_answer() {
    // Derived, by the prior alone: what a candidate leaves open at the outputs is not held against it.
    let mut four = candidates(true);
    for candidate in &mut four {
        candidate.mass = candidate.prior;
    }
    let mut p = normalised(&four);
    assert_near(entropy(&p), 1.080_793, 1e-6, "entropy");
    p.sort_by(f64::total_cmp);
    for (found, expected) in p.iter().zip([0.005, 0.005, 0.495, 0.495]) {
        assert_near(*found, expected, 1e-9, "probability of a minimal diagnosis");
    }
    for (found, expected) in gains(&four)
        .into_iter()
        .zip([0.999_928, 0.080_793, 0.045_415])
    {
        assert_near(found, expected, 1e-6, "gain at X, Y, Z");
    }
}

#[test]
fn the_rule_agrees_with_entropy_worked_out_value_by_value() {
    let all = candidates(false);
    let p = normalised(&all);
    for line in 0..3 {
        let predictions: Vec<(f64, Option<i64>)> = all
            .iter()
            .zip(&p)
            .map(|(c, &p)| (p, c.predicts[line]))
            .collect();
        // Sixteen values: those somebody predicts, the rest are all alike.
        let mut values: Vec<i64> = predictions.iter().filter_map(|(_, value)| *value).collect();
        values.sort_unstable();
        values.dedup();
        while values.len() < 16 {
            values.push(1000 + values.len().cast_signed() as i64);
        }
        let chance = |value: i64| -> f64 {
            predictions
                .iter()
                .map(|&(p, v)| {
                    if v == Some(value) {
                        p
                    } else if v.is_none() {
                        p / 16.0
                    } else {
                        0.0
                    }
                })
                .sum()
        };
        let left: f64 = values
            .iter()
            .filter(|&&value| chance(value) > 0.0)
            .map(|&value| chance(value) * entropy(&probe::after(&predictions, 16, value)))
            .sum();
        assert_near(
            entropy(&p) - left,
            probe::gain(&predictions, 16),
            1e-9,
            "brute force and formula",
        );
    }
}

#[test]
fn a_chain_is_halved_by_probability_and_not_by_count() {
    // Derived: four stages, the output wrong; stage k bad shows at every node after it.
    for (prior, expected) in [
        ([0.25; 4], [0.811_278, 1.0, 0.811_278]),
        ([0.6, 0.2, 0.1, 0.1], [0.970_951, 0.721_928, 0.468_996]),
    ] {
        for (node, expected) in (1..4).zip(expected) {
            let predictions: Vec<(f64, Option<i64>)> = (0..4)
                .map(|stage| (prior[stage], Some(i64::from(stage < node))))
                .collect();
            assert_near(
                probe::gain(&predictions, 2),
                expected,
                1e-6,
                "gain at an inner node",
            );
        }
    }
}

#[test]
fn only_what_tells_repairs_apart_is_worth_asking() {
    // Derived: eight hypotheses, the last needs a repair of its own. A test that halves them tells most about the
    // hypothesis and least about the repair; cutting edges between repairs gets it right.
    let prior = [0.125; 8];
    let class_of = [0, 0, 0, 0, 0, 0, 0, 1];
    let halving: Vec<usize> = (0..8).map(|h| h & 1).collect();
    let asking: Vec<usize> = (0..8).map(|h| usize::from(h == 7)).collect();
    let table = |outcomes: &[usize]| -> Vec<Vec<f64>> {
        outcomes
            .iter()
            .map(|&o| {
                if o == 0 {
                    vec![1.0, 0.0]
                } else {
                    vec![0.0, 1.0]
                }
            })
            .collect()
    };
    for (test, bits, class_bits, cut) in [
        (&halving, 1.0, 0.137_925, 0.085_938),
        (&asking, 0.543_564, 0.543_564, 0.109_375),
    ] {
        assert_near(
            expected_bits(&prior, &table(test)),
            bits,
            1e-6,
            "bits about the hypothesis",
        );
        assert_near(
            expected_class_bits(&prior, &class_of, &table(test)),
            class_bits,
            1e-6,
            "bits about the repair",
        );
        assert_near(edges::gain(&prior, &class_of, test), cut, 1e-6, "edges cut");
    }
    assert_near(
        edges::weight(&prior, &class_of),
        0.109_375,
        1e-9,
        "all edges",
    );
}
