//! A learner's history: rating and spacing against their published examples, weak spots, what comes next.

use hidden_ohm::progress::{Glicko, History, Job, Opponent, PartShare, Spacing};

/// A job on a day, at a level, about a theme, with its points.
fn job(day: i64, level: u8, theme: &str, total: f64) -> Job {
    Job {
        attempt: format!("{day}-{theme}-{total}"),
        day,
        scenario: format!("{day} {level} {theme} {total}"),
        level,
        vehicle: "harbour-van".into(),
        themes: if theme.is_empty() {
            Vec::new()
        } else {
            vec![theme.into()]
        },
        kinds: if theme.is_empty() {
            Vec::new()
        } else {
            vec![format!("{theme} fault")]
        },
        total,
        parts: vec![PartShare {
            part: "technique".into(),
            share: total / 100.0,
        }],
        guided: false,
        hints: 0,
    }
}

#[test]
fn the_rating_agrees_with_the_worked_example_of_its_paper() {
    // M. E. Glickman, "The Glicko system", worked example: 1500 with deviation 200 wins against 1400/30, loses against
    // 1550/100 and 1700/300; the paper rounds to 1464 and 151.4 (unrounded 1464.106 and 151.399).
    let opponent = |rating, deviation, result| Opponent {
        rating,
        deviation,
        result,
    };
    let period = [
        opponent(1400.0, 30.0, 1.0),
        opponent(1550.0, 100.0, 0.0),
        opponent(1700.0, 300.0, 0.0),
    ];
    let before = Glicko {
        rating: 1500.0,
        deviation: 200.0,
    };
    let expected = period.map(|opponent| (1000.0 * before.expected(&opponent)).round() / 1000.0);
    assert_eq!(
        expected.map(|e| format!("{e:.3}")),
        ["0.639", "0.432", "0.303"]
    );
    let after = before.after(&period);
    assert!((after.rating - 1464.106).abs() < 5e-3, "{after:?}");
    assert!((after.deviation - 151.399).abs() < 5e-3, "{after:?}");
}

#[test]
fn a_period_without_jobs_changes_nothing_and_days_make_less_sure() {
    let somebody = Glicko {
        rating: 1600.0,
        deviation: 60.0,
    };
    let same = somebody.after(&[]);
    assert!((same.rating - 1600.0).abs() < 1e-9 && (same.deviation - 60.0).abs() < 1e-9);
    let later = somebody.rested(30);
    assert!(later.deviation > 60.0 && later.deviation < 350.0);
    assert!(
        (somebody.rested(10_000).deviation - 350.0).abs() < 1e-9,
        "never less sure than of a stranger"
    );
}

#[test]
fn spacing_agrees_with_the_published_sequences() {
    // SM-2, P. A. Wozniak 1990: grade 4 four times gives 1, 6, 15 and 38 days; grade 5 gives 1, 6, 17 and 48 with an ease
    // of 2.6 to 2.9. The changes of ease for grades 3, 4 and 5 are -0.14, 0 and +0.10.
    let sequence = |grade| {
        let mut spacing = Spacing::new();
        (0..4)
            .map(|_| {
                spacing = spacing.after(grade);
                (spacing.interval, (spacing.ease * 100.0).round() / 100.0)
            })
            .collect::<Vec<_>>()
    };
    assert_eq!(sequence(4), [(1, 2.5), (6, 2.5), (15, 2.5), (38, 2.5)]);
    assert_eq!(sequence(5), [(1, 2.6), (6, 2.7), (17, 2.8), (48, 2.9)]);
    assert!((Spacing::new().after(3).ease - 2.36).abs() < 1e-9);
    let forgotten = Spacing::new().after(5).after(5).after(5).after(1);
    assert_eq!(forgotten.interval, 1, "what went wrong comes back tomorrow");
    assert_eq!(
        [0.0, 0.29, 0.31, 0.7, 1.0].map(Spacing::grade),
        [0, 1, 2, 4, 5]
    );
}

#[test]
fn a_newcomer_begins_at_level_one_with_everything_before_them() {
    let next = History::new(Vec::new(), 20_000).next();
    assert_eq!((next.level, next.themes.len()), (1, 7));
}

#[test]
fn good_work_raises_the_level_and_poor_work_lowers_it() {
    let ten = |level, total| {
        let jobs = (0..10).map(|n| {
            job(
                n,
                level,
                "ground",
                total + f64::from(u8::try_from(n).unwrap()) / 10.0,
            )
        });
        History::new(jobs.collect(), 10)
    };
    assert!(ten(3, 90.0).rating().level() > ten(3, 60.0).rating().level());
    assert_eq!(ten(1, 20.0).next().level, 1);
    assert!(ten(3, 85.0).next().level >= 3);
    let (few, many) = (History::new(vec![job(0, 2, "feed", 70.0)], 0), ten(2, 70.0));
    assert!(many.rating().level_error() < few.rating().level_error());
    assert!(few.standing().practice_only && !many.standing().practice_only);
}

#[test]
fn guided_work_and_a_second_look_are_not_rated() {
    let mut jobs = vec![
        job(1, 2, "feed", 40.0),
        job(2, 2, "feed", 95.0),
        job(3, 2, "ground", 99.0),
    ];
    jobs[1].scenario = jobs[0].scenario.clone();
    jobs[2].guided = true;
    let history = History::new(jobs.clone(), 3);
    assert_eq!(
        history.rated().map(|job| job.total).collect::<Vec<_>>(),
        [40.0]
    );
    assert_eq!(history.jobs().len(), 3);
    // The order they were found in does not matter.
    jobs.reverse();
    let again = History::new(jobs, 3);
    assert_eq!(
        again.rated().map(|job| job.total).collect::<Vec<_>>(),
        [40.0]
    );
}

#[test]
fn weak_spots_come_first_and_one_bad_day_is_not_one_yet() {
    let mut jobs: Vec<Job> = (0..6)
        .map(|day| job(day, 2, "feed", 45.0 + day as f64))
        .collect();
    jobs.push(job(7, 2, "control", 40.0));
    jobs.extend((8..12).map(|day| job(day, 2, "ground", 85.0 + day as f64)));
    jobs.push(job(12, 2, "", 70.0));
    let history = History::new(jobs, 12);
    let names: Vec<String> = history.themes().into_iter().map(|spot| spot.name).collect();
    assert_eq!(names, ["feed", "control", "ground"]);
    let kinds: Vec<String> = history.kinds().into_iter().map(|spot| spot.name).collect();
    assert!(kinds.contains(&"nothing wrong".to_owned()), "{kinds:?}");
    assert_eq!(history.parts()[0].jobs, 12);
}

#[test]
fn what_went_wrong_is_due_before_what_went_well_and_themes_are_mixed() {
    let jobs = vec![
        job(0, 2, "feed", 95.0),
        job(1, 2, "feed", 95.0),
        job(2, 2, "ground", 30.0),
        job(3, 2, "control", 30.0),
    ];
    let due = |today| History::new(jobs.clone(), today).next().themes;
    let today = due(4);
    assert!(
        !today.contains(&"feed".to_owned()),
        "six days after two good jobs, not three"
    );
    assert!(today.contains(&"ground".to_owned()));
    assert!(
        !today.contains(&"control".to_owned()),
        "just met, and there are others"
    );
    assert_eq!(
        today.first().map(String::as_str),
        Some("ground"),
        "{today:?}"
    );
    assert!(due(7).contains(&"feed".to_owned()));
}
