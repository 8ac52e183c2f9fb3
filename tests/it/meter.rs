//! Meter honesty: what the maker states holds, and no amount of reading again beats it.

use hidden_ohm::instrument::{
    CONVERSION_S, Can, Clamp, Function, Gauge, Interval, Meter, Recorder, Thermometer, conversions,
};
use hidden_ohm::units::System;

/// The 6 V range, or the 60 V range above it.
fn range_of(volts: f64) -> usize {
    usize::from(volts.abs() >= 5.9)
}

fn read(meter: &Meter, function: Function, seen: f64, repeat: u32) -> f64 {
    read_at(meter, function, ["X7.2", "B-"], seen, repeat)
}

fn read_at(meter: &Meter, function: Function, at: [&str; 2], seen: f64, repeat: u32) -> f64 {
    let noise = meter.noise(function, at[0], at[1], repeat);
    meter
        .display(function, 0, Some(seen), noise)
        .value
        .expect("in range")
}

#[test]
fn ten_thousand_readings_stay_inside_the_stated_accuracy() {
    // Accuracy notation: percent of reading plus counts of the last digit; +-(1 % + 2 counts) of 100.0 V is 98.8 to
    // 101.2 V (a maker's measurement primer). Here +-(0.5 % + 2), and +-(1 % + 3) at low impedance.
    for function in [Function::Volts, Function::LowVolts] {
        let (mut worst, mut readings): (f64, u32) = (0.0, 0);
        for seed in 0..100_u64 {
            let meter = Meter::new(seed);
            for repeat in 0..50 {
                let seen = 0.001 + 13.9 * f64::from(repeat) / 50.0;
                let error = read(&meter, function, seen, repeat) - seen;
                worst = worst.max(error.abs() / function.stated_error(range_of(seen), seen));
                readings += 1;
            }
        }
        assert_eq!(readings, 5_000);
        assert!(worst <= 1.0, "{worst} of the stated error");
        // A meter always well inside would be a better meter than its maker says.
        assert!(worst > 0.6, "{worst} of the stated error");
    }
}

#[test]
fn the_stated_figures_are_those_of_the_notation() {
    // 0.5 % of 12.00 V and two counts of 0.01 V.
    assert!((Function::Volts.stated_error(1, 12.0) - 0.08).abs() < 1e-12);
    // 1 % of 4.000 A and three counts of 0.001 A.
    assert!((Function::Amps.stated_error(0, 4.0) - 0.043).abs() < 1e-12);
}

#[test]
fn the_systematic_part_belongs_to_the_instrument() {
    let mean = |seed: u64, at: [&str; 2]| {
        let meter = Meter::new(seed);
        (0..400)
            .map(|repeat| read_at(&meter, Function::Volts, at, 4.0, repeat) - 4.0)
            .sum::<f64>()
            / 400.0
    };
    let mut means = Vec::new();
    for seed in 0..40 {
        let (here, there) = (mean(seed, ["X7.2", "B-"]), mean(seed, ["K1.30", "G4"]));
        // Two pairs of points have noises of their own, at most half a count each: their means over 400 readings lie
        // within a fifth of a count, and what is left of the error is the instrument's.
        assert!((here - there).abs() < 2e-4, "seed {seed}: {here} {there}");
        means.push(here);
    }
    let spread = means
        .iter()
        .fold(0.0_f64, |most, mean| most.max(mean.abs()));
    // Instruments differ by a good part of 0.5 % of 4 V.
    assert!(spread > 0.006, "{spread}");
}

#[test]
fn averaging_readings_does_not_beat_the_instrument() {
    let (mut one, mut many) = (0.0, 0.0);
    for seed in 0..200_u64 {
        let meter = Meter::new(seed);
        let errors: Vec<f64> = (0..400)
            .map(|repeat| read(&meter, Function::Volts, 4.0, repeat) - 4.0)
            .collect();
        let mean = errors.iter().sum::<f64>() / 400.0;
        one += errors[0] * errors[0];
        many += mean * mean;
    }
    let ratio = f64::sqrt(many / one);
    // Independent errors would shrink by 20.
    assert!(ratio > 0.8, "400 readings err {ratio} of what one does");
}

#[test]
fn a_zero_takes_off_what_the_display_showed_with_the_instruments_own_offset_in_it() {
    let (mut zeroed, mut plain): (f64, f64) = (0.0, 0.0);
    for seed in 0..200 {
        let mut meter = Meter::new(seed);
        let noise = |meter: &Meter, repeat| meter.noise(Function::Ohms, "tips", "together", repeat);
        let tips = 0.02;
        let together = meter.leads.red.ohms + meter.leads.black.ohms + tips;
        let show = |meter: &Meter, ohms: f64, repeat| {
            let noise = noise(meter, repeat);
            let display = meter.display(Function::Ohms, 0, Some(ohms), noise);
            display.value.expect("in range")
        };
        let before = show(&meter, together, 0);
        let first = noise(&meter, 0);
        assert_eq!(meter.zero(tips, first).to_bits(), before.to_bits());
        // The same tips again: the offset has gone, the noise of two readings and the rounding are left: a quarter of
        // 2 counts each, and one step.
        zeroed = zeroed.max(show(&meter, together, 1).abs());
        plain = plain.max((before - together).abs());
    }
    assert!(zeroed < 0.1 + 0.05, "{zeroed} ohm");
    assert!(
        plain > 0.1,
        "{plain} ohm: no instrument had an offset worth a step"
    );
}

#[test]
fn noise_stays_within_the_last_digit() {
    let meter = Meter::new(3);
    let shown: Vec<f64> = (0..200)
        .map(|repeat| read(&meter, Function::Volts, 4.0, repeat))
        .collect();
    let least = shown.iter().copied().fold(f64::INFINITY, f64::min);
    let most = shown.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    assert!(most > least, "a last digit that never moves is none");
    assert!(most - least <= 0.0031, "{least} to {most}");
}

#[test]
fn every_range_of_every_function_stays_inside_its_stated_accuracy() {
    // The stated rate is all of them: ten thousand readings on every range there is, over all of it.
    let functions = [
        Function::Volts,
        Function::LowVolts,
        Function::Millivolts,
        Function::Amps,
        Function::Ohms,
        Function::Continuity,
    ];
    for function in functions {
        for (range, full) in function.full_scales().enumerate() {
            let (mut worst, mut over): (f64, u32) = (0.0, 0);
            for seed in 0..100_u64 {
                let mut meter = Meter::new(seed);
                meter.fixed_range = Some((function.quantity(), full));
                for repeat in 0..100 {
                    let seen = full * 0.99 * f64::from(repeat) / 99.0;
                    let noise = meter.noise(function, "X7.2", "B-", repeat);
                    let shown = meter.display(function, range, Some(seen), noise).value;
                    let Some(shown) = shown else {
                        over += 1;
                        continue;
                    };
                    worst = worst.max((shown - seen).abs() / function.stated_error(range, seen));
                }
            }
            assert_eq!(over, 0, "{function:?} {full}");
            assert!(
                worst <= 1.0 + 1e-9,
                "{function:?} {full}: {worst} of the stated error"
            );
            // A meter always well inside would be a better one than its maker says.
            assert!(
                worst > 0.6,
                "{function:?} {full}: {worst} of the stated error"
            );
        }
    }
}

#[test]
fn clamp_gauge_can_and_thermometer_stay_inside_what_they_state() {
    let how = String::new;
    for seed in 0..100_u64 {
        let (mut clamp, gauge) = (Clamp::new(seed), Gauge::new(seed));
        let (can, bead) = (Can::new(seed), Thermometer::new(seed));
        clamp.zero();
        for repeat in 0..100_u32 {
            let share = f64::from(repeat) / 99.0;
            // 2 % of reading, 0.02 A of zero, 0.02 A of how it hangs, half a step of 10 mA.
            let amps = 20.0 * share - 10.0;
            let read = clamp.read("W10", amps, repeat, how()).value.expect("amps");
            assert!(
                (read - amps).abs() <= 0.02 * amps.abs() + 0.045 + 1e-9,
                "{amps} {read}"
            );
            // Grade A of ASME B40.100: 1 % of span over the middle half; and half a step of 5 kPa or of 1 psi.
            let pa = 700e3 * (0.25 + 0.5 * share);
            for (system, half_pa) in [(System::Metric, 2.5e3), (System::Us, 3.45e3)] {
                let read = gauge.read(pa, system, how()).value.expect("pressure");
                assert!((read - pa).abs() <= 7e3 + half_pa, "{pa} {read}");
            }
            let caught = 1e-3 * share;
            let read = can
                .read(caught, System::Metric, repeat, how())
                .value
                .expect("volume");
            assert!(
                (read - caught).abs() <= 0.02 * caught + 5.001e-6,
                "{caught} {read}"
            );
            let celsius = -20.0 + 160.0 * share;
            let read = bead
                .read(celsius, System::Metric, how())
                .value
                .expect("degrees");
            assert!((read - celsius).abs() <= 2.5, "{celsius} {read}");
        }
    }
}

#[test]
fn a_clamps_zero_wanders_until_it_is_set_again() {
    let mut apart = 0;
    for seed in 0..100_u64 {
        let mut clamp = Clamp::new(seed);
        let read = |clamp: &Clamp, repeat| {
            let read = clamp.read("W10", 0.0, repeat, String::new());
            read.value.expect("amps")
        };
        clamp.zero();
        clamp.wait(3600.0);
        let later = read(&clamp, 0);
        assert!(later.abs() <= 0.045 + 0.05 + 1e-9, "{later}");
        apart += i32::from(later.abs() > 0.045);
        clamp.zero();
        let again = read(&clamp, 1);
        assert!(again.abs() <= 0.045 + 1e-9, "{again}");
    }
    assert!(
        apart > 10,
        "{apart} of 100 have wandered beyond a fresh zero"
    );
}

#[test]
fn a_recording_of_a_steady_state_lies_within_its_own_noise_of_it() {
    let mut apart = 0;
    for seed in 0..50_u64 {
        let meter = Meter::new(seed);
        for interval in Interval::ALL {
            let mut recorder = Recorder::new(interval);
            let mut noise = meter.noise_of_recording(Function::Volts, "X7.2", "B-", 0);
            for _ in 0..400 {
                recorder.keep(&meter, Function::Volts, 0, Some(0.5), noise());
            }
            let [least, most] = recorder
                .extremes(&meter, Function::Volts)
                .expect("something was kept")
                .map(|display| display.value.expect("in range"));
            // 0.5 % + 2 counts of 1 mV, and what a fast interval costs besides: the extremes go to the edge of the noise
            // and not beyond, on both sides of what the same meter shows at leisure.
            let allowed = Function::Volts.stated_error(0, 0.5) + 0.001 * interval.extra_counts();
            assert!((least - 0.5).abs() <= allowed && (most - 0.5).abs() <= allowed);
            apart += u32::from(most > least);
            assert!(most - least <= 0.001 * (2.0 * interval.extra_counts() + 2.0));
        }
    }
    // Noise of half a count shows where it happens to cross a step; of 150 recordings in most.
    assert!(apart > 75, "{apart} of 150");
}

#[test]
fn a_display_is_the_mean_of_its_last_whole_conversion() {
    // A ramp of 1 V/s from 0 to 2 s in steps of 5 ms: the last 0.3 s of it have the mean 1.85 V, the tenth of a second
    // from 0.3 s on the mean 0.35 V. Six whole conversions fit into two seconds.
    let ramp: Vec<(f64, Option<f64>)> = (0..=400)
        .map(|step| f64::from(step) * 0.005)
        .map(|t_s| (t_s, Some(t_s)))
        .collect();
    let means = conversions(&ramp, CONVERSION_S);
    assert_eq!(means.len(), 6);
    assert!((means[5].expect("in range") - 1.85).abs() < 0.003);
    let tenths = conversions(&ramp, 0.1);
    assert_eq!(tenths.len(), 20);
    assert!((tenths[3].expect("in range") - 0.35).abs() < 0.003);
    // An overload anywhere in it spoils a conversion.
    let mut over = ramp;
    over[399].1 = None;
    assert_eq!(conversions(&over, CONVERSION_S)[5], None);
}

#[test]
fn a_meter_left_to_itself_loses_a_conversion_for_every_range() {
    let meter = Meter::new(1);
    let on = |seen: &[f64]| {
        let seen: Vec<Option<f64>> = seen.iter().copied().map(Some).collect();
        meter.follow(Function::Volts, 0, &seen, 0.0)
    };
    assert!(on(&[12.0]).1.is_none());
    let (range, display) = on(&[12.0, 12.0]);
    assert_eq!(range, 1);
    assert!((display.expect("settled").value.expect("in range") - 12.0).abs() < 0.09);
    // Two ranges up for what no circuit of ours has, and one down again.
    assert!(on(&[120.0, 120.0]).1.is_none());
    assert!(on(&[120.0, 120.0, 120.0]).1.is_some());
    assert!(on(&[12.0, 12.0, 1.0]).1.is_none());
}
