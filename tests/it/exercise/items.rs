//! Item statistics through the command, against published examples. No value here was made with this program.

use hidden_ohm::exercise::items::chi_square::upper_tail;
use hidden_ohm::exercise::items::classical::{lengths_for, spearman_brown};
use hidden_ohm::exercise::items::quadrature;
use serde_json::Value;

use crate::cli::run;

fn command(verb: &str, table: &str) -> Value {
    let ran = run(["exercise", verb, "table.csv", "--json"])
        .file("table.csv", table)
        .go();
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    serde_json::from_str(&ran.out).expect("one JSON object")
}

#[track_caller]
fn near(value: &Value, wanted: f64, tolerance: f64) {
    let found = value
        .as_f64()
        .unwrap_or_else(|| panic!("no number: {value}"));
    assert!(
        (found - wanted).abs() <= tolerance,
        "{found} is not {wanted} within {tolerance}"
    );
}

/// LSAT section 6: Bock and Lieberman, Psychometrika 35, 1970; the table of patterns is in many textbooks.
const LSAT6: &str = include_str!("../../data/exercise/lsat6.csv");

#[test]
fn lsat6_has_its_published_reliability() {
    let found = command("items", LSAT6);
    assert_eq!(found["learners"], 1000);
    // KR-20 and KR-21 as derived from the published pattern counts.
    near(&found["reliability"]["alpha"], 0.294_997, 1e-6);
    near(&found["reliability"]["kr21"], 0.196_441, 1e-6);
    assert_eq!(found["withheld"], Value::Array(Vec::new()));
}

#[test]
fn lsat6_has_its_published_latent_trait_estimates() {
    let found = command("items", LSAT6);
    let model = |at: usize| &found["models"][at];
    // Rasch with slope 1: log likelihood and difficulties as published for marginal maximum likelihood.
    near(&model(0)["log_likelihood"], -2473.0539, 0.002);
    for (item, b) in [-2.8720, -1.0630, -0.2576, -1.3881, -2.2188]
        .iter()
        .enumerate()
    {
        near(&model(0)["items"][item]["difficulty"], *b, 0.01);
    }
    // One slope, and a slope for each: Rizopoulos, Journal of Statistical Software 17(5), 2006.
    near(&model(1)["log_likelihood"], -2466.938, 0.002);
    near(&model(1)["aic"], 4945.875, 0.005);
    near(&model(1)["bic"], 4975.322, 0.005);
    near(&model(1)["items"][0]["slope"], 0.7551, 0.003);
    for (item, b) in [-3.6153, -1.3224, -0.3176, -1.7301, -2.7802]
        .iter()
        .enumerate()
    {
        near(&model(1)["items"][item]["difficulty"], *b, 0.01);
    }
    near(&model(2)["log_likelihood"], -2466.653, 0.002);
    near(&model(2)["aic"], 4953.307, 0.005);
    near(&model(2)["bic"], 5002.384, 0.005);
    let published = [
        (-3.3597, 0.8254, 0.867),
        (-1.3696, 0.7229, 0.307),
        (-0.2799, 0.8905, 0.100),
        (-1.8659, 0.6886, 0.434),
        (-3.1236, 0.6575, 0.870),
    ];
    for (item, (b, a, error)) in published.iter().enumerate() {
        let estimate = &model(2)["items"][item];
        near(&estimate["difficulty"], *b, 0.01);
        near(&estimate["slope"], *a, 0.003);
        near(&estimate["difficulty_error"], *error, 0.005);
    }
    near(&model(2)["against"]["ratio"], 0.57, 0.005);
    assert_eq!(model(2)["against"]["freedom"], 4);
    near(&model(2)["against"]["p"], 0.967, 0.001);
}

#[test]
fn lsat6_scores_of_all_wrong_and_all_right_are_the_published_ones() {
    let found = command("items", LSAT6);
    let abilities = found["models"][2]["abilities"]
        .as_array()
        .expect("patterns")
        .clone();
    // Posterior means at the published two-parameter solution.
    for (answers, wanted) in [("00000", -1.8968), ("11011", 0.0082), ("11111", 0.6456)] {
        let ability = abilities
            .iter()
            .find(|ability| ability["answers"] == answers)
            .expect("the pattern");
        near(&ability["ability"], wanted, 0.003);
    }
}

#[test]
fn the_fit_of_lsat6_shows_that_a_slope_of_one_is_too_steep() {
    let found = command("items", LSAT6);
    for item in 0..5 {
        // Under the better model the residuals are as large as they should be, under slope 1 larger.
        near(&found["models"][2]["items"][item]["outfit"], 1.0, 0.01);
        assert!(
            found["models"][0]["items"][item]["outfit"]
                .as_f64()
                .unwrap()
                > 1.02
        );
    }
}

#[test]
fn five_people_and_three_items_have_the_textbooks_alpha_and_no_more() {
    let found = command(
        "items",
        include_str!("../../data/exercise/five-by-three.csv"),
    );
    // A textbook example: s2 = .7, .8, .7 and 4.3 of the sum.
    near(&found["reliability"]["alpha"], 0.732_558, 1e-6);
    near(&found["reliability"]["deviation"], 4.3_f64.sqrt(), 1e-9);
    assert_eq!(found["reliability"]["kr21"], Value::Null);
    assert_eq!(found["items"][0]["discrimination"], Value::Null);
    assert_eq!(found["models"], Value::Array(Vec::new()));
    let withheld = found["withheld"].to_string();
    assert!(withheld.contains("5 learners: no estimate"), "{withheld}");
}

#[test]
fn a_class_of_twelve_gets_no_estimate() {
    let mut table = "learner,a,b\n".to_owned();
    for learner in 0..12 {
        let (a, b) = (learner % 2, u8::from(learner > 3));
        table = format!("{table}L{learner},{a},{b}\n");
    }
    let ran = run(["exercise", "items", "-"]).input(&table).go();
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    assert!(
        ran.out.contains("12 learners: no estimate of difficulties"),
        "{}",
        ran.out
    );
    assert!(!ran.out.contains("log likelihood"), "{}", ran.out);
}

#[test]
fn the_six_intraclass_correlations_of_shrout_and_fleiss_come_out() {
    let found = command(
        "raters",
        include_str!("../../data/exercise/shrout-fleiss.csv"),
    );
    let icc = &found["intraclass"];
    // Shrout and Fleiss, 1979, tables 2 to 4.
    near(&icc["ms_targets"], 11.241_667, 1e-6);
    near(&icc["ms_within"], 6.263_889, 1e-6);
    near(&icc["ms_raters"], 32.486_111, 1e-6);
    near(&icc["ms_error"], 1.019_444, 1e-6);
    for (name, wanted) in [
        ("icc_1_1", 0.1657),
        ("icc_2_1", 0.2898),
        ("icc_3_1", 0.7148),
        ("icc_1_k", 0.4428),
        ("icc_2_k", 0.6201),
        ("icc_3_k", 0.9093),
    ] {
        near(&icc[name], wanted, 5e-5);
    }
}

#[test]
fn kappa_of_the_usual_examples_comes_out_plain_linear_and_quadratic() {
    let found = command("raters", include_str!("../../data/exercise/two-by-two.csv"));
    near(&found["kappa"][0]["plain"], 0.4, 1e-12);
    near(&found["kappa"][0]["agree"], 0.7, 1e-12);
    near(&found["kappa"][0]["by_chance"], 0.5, 1e-12);
    let found = command(
        "raters",
        include_str!("../../data/exercise/four-levels.csv"),
    );
    near(&found["kappa"][0]["plain"], 0.652_963, 1e-6);
    near(&found["kappa"][0]["linear"], 0.755_700, 1e-6);
    near(&found["kappa"][0]["quadratic"], 0.842_559, 1e-6);
}

#[test]
fn lengths_and_tails_follow_the_textbook() {
    assert!((spearman_brown(0.3, 4.0) - 0.631_579).abs() < 1e-6);
    for (reliability, times) in [(0.1, 36.0), (0.2, 16.0), (0.3, 9.333_333)] {
        assert!((lengths_for(reliability, 0.8).unwrap() - times).abs() < 1e-6);
    }
    // Percentage points of chi-square: 3.841459 (1), 9.487729 (4), 124.342113 (100), all 5 %.
    for (x, freedom) in [(3.841_459, 1.0), (9.487_729, 4.0), (124.342_113, 100.0)] {
        assert!(
            (upper_tail(x, freedom) - 0.05).abs() < 1e-6,
            "{}",
            upper_tail(x, freedom)
        );
    }
}

#[test]
fn the_quadrature_has_the_moments_of_the_normal_distribution() {
    for count in [5, 20, 61] {
        let nodes = quadrature::normal(count);
        assert_eq!(nodes.len(), count);
        for (power, moment) in [
            (0, 1.0),
            (1, 0.0),
            (2, 1.0),
            (3, 0.0),
            (4, 3.0),
            (6, 15.0),
            (8, 105.0),
        ] {
            let found: f64 = nodes.iter().map(|(x, w)| w * x.powi(power)).sum();
            assert!(
                (found - moment).abs() < 1e-9,
                "{count} nodes, power {power}: {found}"
            );
        }
    }
}

#[test]
fn what_is_wrong_with_a_table_is_said_with_line_and_column() {
    for (table, part) in [
        (
            "a,b\n1,0\n0,x\n",
            "line 3, column 2 (`b`): `x` is no number",
        ),
        (
            "a,b\n1,0\n0\n",
            "line 3: it has 1 cells and the first line has 2",
        ),
        ("a,b,count\n1,0,0\n", "line 2, column 3: the count `0`"),
        ("a,a\n1,0\n", "two columns are called `a`"),
        ("a,b\n1,0\n", "1 rows of responses and 2 items"),
        ("", "0 rows"),
    ] {
        run(["exercise", "items", "t.csv"])
            .file("t.csv", table)
            .go()
            .assert_fails(3, &[part]);
    }
}

#[test]
fn tables_of_any_spreadsheet_are_read_and_no_table_takes_the_machine() {
    let plain = command("items", "learner,a,b\nX,1,0\nY,0,1\nZ,1,1\n");
    for other in [
        "learner;a;b\nX;1;0\nY;0;1\nZ;1;1\n",
        "\u{feff}learner,a,b\r\nX,1,0\r\nY,0,1\r\nZ,1,1\r\n",
    ] {
        assert_eq!(command("items", other), plain);
    }
    let names: Vec<String> = (0..501).map(|n| format!("i{n}")).collect();
    let ones = vec!["1"; 501].join(",");
    let wide = format!("{}\n{ones}\n{ones}\n", names.join(","));
    for (table, part) in [
        (wide.as_str(), "the table has 501 items; at most 500"),
        (
            "a,b\n1e308,1\n0,1\n",
            "`1e308` is no number up to a million",
        ),
        ("a,b\nNaN,1\n0,1\n", "`NaN` is no number"),
    ] {
        let ran = run(["exercise", "items", "t.csv"])
            .file("t.csv", table)
            .go();
        ran.assert_fails(3, &[part]);
    }
    // Ratings without categories have a correlation and no kappa.
    let rows: Vec<String> = (0..300).map(|n| format!("{n}.5,{n}.25")).collect();
    let found = command("raters", &format!("a,b\n{}\n", rows.join("\n")));
    assert_eq!(found["kappa"], Value::Array(Vec::new()));
    assert!(found["intraclass"]["icc_3_1"].as_f64().unwrap() > 0.99);
}

#[test]
fn an_item_everybody_got_right_is_named() {
    let table = "a,b,count\n1,0,20\n1,1,20\n";
    let found = command("items", table);
    assert!(
        found["withheld"]
            .to_string()
            .contains("everybody answered `a` alike")
    );
}
