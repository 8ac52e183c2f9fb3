//! Scenario codes and streams.
//!
//! Golden values come from an independent program, `tests/outside/10-streams`, which shares no code
//! with ours and checks itself on the block printed in section 2.3.2 of RFC 8439. If one of them
//! changes, every code ever given out changes its meaning: that is a new `GENERATOR_VERSION`, with
//! the old one kept, and only then new values here (`10-streams --print` gives them).

use hidden_ohm::seed::{CodeError, GENERATOR_VERSION, ScenarioCode, Stream, fresh};
use proptest::prelude::{prop_assert, prop_assert_eq, proptest};
use rand_chacha::ChaCha8Rng;
use rand_core::{Rng, SeedableRng};
use sha2::{Digest, Sha256};

const ALPHABET: &str = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";

/// Codes spread over versions, sets, levels and seeds.
fn codes() -> Vec<ScenarioCode> {
    [
        (1, 0, 1, 0),
        (1, 0, 2, 0x0123_4567_89AB_CDEF),
        (1, 1, 1, 1),
        (7, 3, 4, 0xFEED_FACE),
        (31, 255, 5, u64::MAX),
        (1, 129, 3, 0x8F3A_51C7_22D9_604B),
    ]
    .map(|(version, set, level, seed)| ScenarioCode::new(version, set, level, seed).unwrap())
    .to_vec()
}

fn symbols(code: ScenarioCode) -> Vec<char> {
    code.to_string().chars().filter(|c| *c != '-').collect()
}

fn hex(bytes: &[u8]) -> String {
    bytes
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect::<Vec<_>>()
        .concat()
}

#[test]
fn a_code_is_laid_out_as_worked_by_hand() {
    // Version 1, set 0, level 2, seed 0123456789ABCDEF is the 80-bit number 0x08020123456789ABCDEF.
    // Times 1024 it leaves 838 modulo 1021, so the check value is 1021 - 838 = 183 = 5 * 32 + 23:
    // symbols 5 and Q.
    let code = ScenarioCode::new(1, 0, 2, 0x0123_4567_89AB_CDEF).unwrap();
    assert_eq!((0x0802_0123_4567_89AB_CDEF_u128 * 1024) % 1021, 838);
    assert_eq!(code.to_string(), "1010-28T5-CY4T-QKFF-5Q");
    let texts: Vec<String> = codes()[..5].iter().map(ToString::to_string).collect();
    assert_eq!(
        texts,
        [
            "100G-0000-0000-0000-30",
            "1010-28T5-CY4T-QKFF-5Q",
            "104G-0000-0000-0001-X4",
            "70E0-0000-03ZE-VYPE-3F",
            "ZZYZ-ZZZZ-ZZZZ-ZZZZ-8K",
        ]
    );
}

#[test]
fn a_code_is_read_in_any_case_spacing_and_with_look_alike_letters() {
    let code = ScenarioCode::new(1, 0, 2, 0x0123_4567_89AB_CDEF).unwrap();
    for text in [
        "1010-28T5-CY4T-QKFF-5Q",
        "1010-28t5-cy4t-qkff-5q",
        "101028T5CY4TQKFF5Q",
        "  10 10 28T5CY4T-QKFF5-Q ",
        "IOlo-28T5-CY4T-QKFF-5Q",
        "LoiO-28T5-CY4T-QKFF-5Q",
    ] {
        assert_eq!(text.parse(), Ok(code), "{text:?}");
    }
}

#[test]
fn every_single_wrong_symbol_is_caught() {
    for code in codes() {
        let right = symbols(code);
        let mut tried = 0;
        for place in 0..18 {
            for symbol in ALPHABET.chars().filter(|c| *c != right[place]) {
                let mut wrong = right.clone();
                wrong[place] = symbol;
                let text: String = wrong.into_iter().collect();
                assert_eq!(
                    text.parse::<ScenarioCode>(),
                    Err(CodeError::Check),
                    "{text} for {code}"
                );
                tried += 1;
            }
        }
        assert_eq!(tried, 18 * 31);
    }
}

#[test]
fn every_swap_of_two_different_symbols_is_caught_wherever_they_stand() {
    let mut tried = 0;
    for code in codes() {
        let right = symbols(code);
        for (first, second) in (0..18).flat_map(|i| (i + 1..18).map(move |j| (i, j))) {
            if right[first] == right[second] {
                continue;
            }
            let mut wrong = right.clone();
            wrong.swap(first, second);
            let text: String = wrong.into_iter().collect();
            assert_eq!(
                text.parse::<ScenarioCode>(),
                Err(CodeError::Check),
                "{text} for {code}"
            );
            tried += 1;
        }
    }
    assert!(
        tried > 300,
        "only {tried} swaps of unequal symbols in the sample"
    );
}

#[test]
fn a_refused_code_says_what_is_wrong() {
    for (text, error, message) in [
        (
            "1010-28T5-UY4T-QKFF-5Q",
            CodeError::UnknownSymbol {
                symbol: 'U',
                place: 9,
            },
            "`U` at place 9 is not used in codes; they have the digits and the letters without I, L, O, U",
        ),
        (
            "1010-28T5-CY4T-QKFF-5",
            CodeError::WrongLength { found: 17 },
            "a code has 18 symbols, this has 17; it looks like 1010-28T5-CY4T-QKFF-5Q",
        ),
        (
            "1010-28T5-CY4T-QKFF-5R",
            CodeError::Check,
            "the code does not check: one symbol is wrong or two are swapped; compare it with the original",
        ),
        (
            "1000-0000-0000-0005-B7",
            CodeError::Level { level: 0 },
            "the code asks for level 0; levels run from 1 to 5",
        ),
        (
            "1030-0000-0000-0005-PX",
            CodeError::Level { level: 6 },
            "the code asks for level 6; levels run from 1 to 5",
        ),
    ] {
        let got = text.parse::<ScenarioCode>().unwrap_err();
        assert_eq!(got, error, "{text}");
        assert_eq!(got.to_string(), message);
    }
    assert_eq!(
        "".parse::<ScenarioCode>(),
        Err(CodeError::WrongLength { found: 0 })
    );
    let long = "1".repeat(200).parse::<ScenarioCode>();
    assert_eq!(long, Err(CodeError::WrongLength { found: 200 }));
    for symbol in ['u', 'U', 'é', '_', '/', '\u{0}'] {
        let got = format!("101{symbol}").parse::<ScenarioCode>();
        assert_eq!(got, Err(CodeError::UnknownSymbol { symbol, place: 4 }));
    }
}

#[test]
fn a_check_value_above_1020_is_refused_though_it_would_divide() {
    // Adding 1021 to a check value below 3 keeps the number divisible; only the smaller form is a
    // code.
    let code = (0..10_000)
        .map(|seed| ScenarioCode::new(1, 0, 1, seed).unwrap())
        .find(|code| code.to_string().ends_with("00"))
        .expect("one code in 1021 has the check value 0");
    let text = code.to_string().replace("-00", "-ZX");
    assert_eq!(
        ALPHABET.find('Z').unwrap() * 32 + ALPHABET.find('X').unwrap(),
        1021
    );
    assert_eq!(text.parse::<ScenarioCode>(), Err(CodeError::Check));
}

#[test]
fn another_generator_version_is_read_but_not_supported() {
    let newer: ScenarioCode = "70E0-0000-03ZE-VYPE-3F".parse().unwrap();
    assert_eq!(
        (newer.version(), newer.set(), newer.level(), newer.seed()),
        (7, 3, 4, 0xFEED_FACE)
    );
    assert_eq!(
        newer.supported().unwrap_err().to_string(),
        "this code needs generator version 7; this program has version 1"
    );
    assert_eq!(
        ScenarioCode::new(GENERATOR_VERSION, 0, 1, 0)
            .unwrap()
            .supported(),
        Ok(())
    );
    assert_eq!(
        ScenarioCode::new(32, 0, 1, 0),
        Err(CodeError::Version { version: 32 })
    );
    assert_eq!(
        ScenarioCode::new(1, 0, 6, 0),
        Err(CodeError::Level { level: 6 })
    );
}

proptest! {
    #[test]
    fn a_code_comes_back_from_its_text(version in 0_u8..32, set: u8, level in 1_u8..=5, seed: u64) {
        let code = ScenarioCode::new(version, set, level, seed).unwrap();
        let text = code.to_string();
        prop_assert_eq!(text.len(), 22);
        prop_assert_eq!(text.parse::<ScenarioCode>(), Ok(code));
    }

    #[test]
    fn no_text_makes_reading_a_code_panic(text in "\\PC{0,40}") {
        let _ = text.parse::<ScenarioCode>();
    }

    #[test]
    fn draws_stay_inside_what_was_asked(seed: u64, n in 1_u64.., low in 1e-6..1.0, factor in 1.0..1e9) {
        let mut stream = Stream::named(seed, "range");
        prop_assert!(stream.below(n) < n);
        let high = low * factor;
        let x = stream.between(low, high);
        prop_assert!((low..=high).contains(&x));
        let y = stream.log_between(low, high);
        prop_assert!((low..=high).contains(&y));
    }
}

#[test]
fn sha_256_gives_the_published_digest() {
    // FIPS 180 example "abc".
    let want = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
    assert_eq!(hex(&Sha256::digest("abc")), want);
}

#[test]
fn chacha8_gives_the_independently_computed_words() {
    // Key and nonce zero. The first half also stands in draft-strombergson-chacha-test-vectors, TC1
    // with a 256-bit key and 8 rounds (from memory).
    let mut bytes = [0; 64];
    ChaCha8Rng::from_seed([0; 32]).fill_bytes(&mut bytes);
    assert_eq!(
        hex(&bytes),
        "3e00ef2f895f40d67f5bb8e81f09a5a12c840ec3ce9a7f3b181be188ef711a1e\
         984ce172b9216f419f445367456d5619314a42a3da86b001387bfdb80e0cfe42"
    );
}

#[test]
fn a_named_stream_gives_the_independently_computed_words() {
    // Ten words, so that the second ChaCha block is reached.
    let mut faults = Stream::named(1, "faults");
    let words: Vec<u64> = (0..10).map(|_| faults.next_u64()).collect();
    assert_eq!(
        words,
        [
            0xac6f_0f0e_13a4_b284,
            0xf1cb_a2a5_da7b_f8e3,
            0xb259_f305_a1db_aead,
            0x0865_ae74_483a_8449,
            0x12a6_38d9_33c8_d363,
            0xf564_0572_ed90_4a6a,
            0x5880_40ab_a9f1_8cc7,
            0x8681_ebf0_7dd2_4e6a,
            0xa33c_a11e_dbc0_b3e6,
            0x8fbe_1395_ebb3_6043,
        ]
    );
    let mut noise = Stream::keyed(
        0xDEAD_BEEF_0123_4567,
        "noise",
        &["meter", "X2.1", "B-", "3"],
    );
    assert_eq!(noise.next_u64(), 0x60e1_ccc1_eb96_4352);
    assert_eq!(noise.next_u64(), 0x7170_04b1_7596_6192);
}

#[test]
fn names_seeds_and_keys_all_tell_streams_apart() {
    let mut firsts: Vec<u64> = [
        Stream::named(1, "faults"),
        Stream::named(2, "faults"),
        Stream::named(1, "fault"),
        Stream::keyed(1, "faults", &["a"]),
        Stream::keyed(1, "faults", &["a", "b"]),
        Stream::keyed(1, "faults", &["ab"]),
        Stream::keyed(1, "faults", &["", "ab"]),
        Stream::keyed(1, "faults", &["ab", ""]),
        Stream::keyed(1, "", &["faults"]),
    ]
    .into_iter()
    .map(|mut stream| stream.next_u64())
    .collect();
    firsts.sort_unstable();
    firsts.dedup();
    assert_eq!(firsts.len(), 9);
    assert_eq!(
        Stream::named(1, "faults").next_u64(),
        Stream::keyed(1, "faults", &[]).next_u64()
    );
}

#[test]
fn a_stream_does_not_tell_its_state() {
    assert_eq!(format!("{:?}", Stream::named(1, "faults")), "Stream(..)");
}

#[test]
fn samplers_give_the_recorded_values() {
    // The independent program has these samplers too. See the head of this file before changing one.
    let mut s = Stream::named(42, "below");
    assert_eq!(
        (0..12).map(|_| s.below(10)).collect::<Vec<_>>(),
        [8, 2, 7, 6, 5, 4, 2, 0, 3, 2, 0, 2]
    );
    // Just above half of the words' range nearly every second word is rejected: words 2 to 5 and 7
    // of this stream are.
    let mut s = Stream::named(42, "below");
    assert_eq!(
        (0..4).map(|_| s.below((1 << 63) + 1)).collect::<Vec<_>>(),
        [
            7_644_999_783_068_371_676,
            3_767_460_941_380_646_607,
            754_696_979_114_958_928,
            906_375_220_879_429_932
        ]
    );
    let mut s = Stream::named(42, "unit");
    assert_eq!(
        [s.unit(), s.unit(), s.unit(), s.unit()],
        [
            0.405_905_644_913_078_8,
            0.642_131_019_375_250_2,
            0.543_070_472_665_902_7,
            0.743_760_784_696_881_8
        ]
    );
    let mut s = Stream::named(42, "between");
    assert_eq!(
        [
            s.between(-2.0, 5.0),
            s.between(-2.0, 5.0),
            s.between(-2.0, 5.0)
        ],
        [
            3.087_848_854_550_586,
            3.998_977_383_227_617_6,
            4.926_955_829_645_357
        ]
    );
    // Python's C library may round a logarithm the other way in the last digit.
    let mut s = Stream::named(42, "log");
    for want in [
        9.788_538_254_833_668,
        0.031_170_469_860_797_984,
        0.019_508_182_164_082_226,
    ] {
        let got = s.log_between(0.01, 10.0);
        assert!((got / want - 1.0).abs() < 4e-15, "got {got}, want {want}");
    }
    let mut s = Stream::named(42, "normal");
    assert_eq!(
        [s.normal(), s.normal(), s.normal()],
        [
            -0.873_376_486_885_644_8,
            -0.400_126_994_167_698_7,
            1.070_167_942_791_687
        ]
    );
    let mut s = Stream::named(42, "chance");
    let true_at: Vec<usize> = (0..16).filter(|_| s.chance(0.3)).collect();
    assert_eq!(true_at, [4, 9, 10, 15]);
    let mut s = Stream::named(42, "shuffle");
    let mut order: Vec<u8> = (0..10).collect();
    s.shuffle(&mut order);
    assert_eq!(order, [2, 8, 0, 1, 6, 7, 4, 5, 9, 3]);
    let mut s = Stream::named(42, "weighted");
    let places: Vec<usize> = (0..16).filter_map(|_| s.weighted(&[3, 0, 5, 2])).collect();
    assert_eq!(places, [0, 2, 2, 2, 0, 0, 3, 2, 2, 3, 2, 2, 2, 3, 2, 3]);
    let mut s = Stream::named(42, "pick");
    let picked: Vec<char> = (0..8)
        .filter_map(|_| s.pick(&['a', 'b', 'c', 'd']).copied())
        .collect();
    assert_eq!(picked, ['d', 'b', 'd', 'd', 'd', 'c', 'a', 'a']);
}

#[test]
fn log_between_gives_the_recorded_bits() {
    // Recorded from this program: `libm` decides the last digit, so this holds `libm` fixed as
    // well.
    let mut s = Stream::named(42, "log");
    let bits: Vec<u64> = (0..3)
        .map(|_| s.log_between(0.01, 10.0).to_bits())
        .collect();
    assert_eq!(
        bits,
        [
            4_621_700_075_209_379_744,
            4_584_641_497_661_227_329,
            4_581_280_072_091_613_465
        ]
    );
}

#[test]
fn there_is_nothing_to_choose_from_nothing() {
    let mut stream = Stream::named(9, "nothing");
    assert_eq!(stream.below(0), 0);
    assert_eq!(stream.weighted(&[]), None);
    assert_eq!(stream.weighted(&[0, 0]), None);
    assert_eq!(stream.pick::<u8>(&[]), None);
    stream.shuffle::<u8>(&mut []);
    // None of these took a word.
    assert_eq!(stream.next_u64(), Stream::named(9, "nothing").next_u64());
    assert!(!stream.chance(0.0));
    assert!(stream.chance(1.0));
    assert_eq!(stream.weighted(&[0, u32::MAX, 0]), Some(1));
}

#[test]
fn units_and_normals_have_the_moments_of_their_distributions() {
    let n = 100_000;
    let mut stream = Stream::named(7, "moments");
    let moments = |draws: &[f64]| {
        let mean = draws.iter().sum::<f64>() / f64::from(n);
        let variance = draws.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / f64::from(n);
        (mean, variance)
    };
    // Five standard errors: sqrt(variance / n) for the mean, sqrt((mu4 - variance^2) / n) for the
    // variance.
    let units: Vec<f64> = (0..n).map(|_| stream.unit()).collect();
    let (mean, variance) = moments(&units);
    assert!((mean - 0.5).abs() < 5.0 * 0.000_913, "mean {mean}");
    assert!(
        (variance - 1.0 / 12.0).abs() < 5.0 * 0.000_236,
        "variance {variance}"
    );
    // Twelve units: variance 1, fourth moment 3 - 6/(5*12) = 2.9.
    let normals: Vec<f64> = (0..n).map(|_| stream.normal()).collect();
    let (mean, variance) = moments(&normals);
    assert!(mean.abs() < 5.0 * 0.003_16, "mean {mean}");
    assert!(
        (variance - 1.0).abs() < 5.0 * 0.004_36,
        "variance {variance}"
    );
}

#[test]
fn choices_are_as_likely_as_they_should_be() {
    // Chi-squared with 2 degrees of freedom exceeds 23 once in 100 000; with 5, 31.
    let chi2 = |counts: &[u32], shares: &[f64]| -> f64 {
        let n = f64::from(counts.iter().sum::<u32>());
        let terms = counts.iter().zip(shares).map(|(count, share)| {
            let off = f64::from(*count) - n * share;
            off * off / (n * share)
        });
        terms.sum()
    };
    let mut stream = Stream::named(11, "choices");
    let (mut thirds, mut weighted, mut orders) = ([0; 3], [0; 3], [0; 6]);
    for _ in 0..60_000 {
        thirds[usize::try_from(stream.below(3)).unwrap()] += 1;
        weighted[stream.weighted(&[1, 2, 7]).unwrap()] += 1;
        let mut items = [0_usize, 1, 2];
        stream.shuffle(&mut items);
        orders[items[0] * 2 + usize::from(items[1] > items[2])] += 1;
    }
    assert!(chi2(&thirds, &[1.0 / 3.0; 3]) < 23.0, "{thirds:?}");
    assert!(chi2(&weighted, &[0.1, 0.2, 0.7]) < 23.0, "{weighted:?}");
    assert!(chi2(&orders, &[1.0 / 6.0; 6]) < 31.0, "{orders:?}");
}

#[test]
fn fresh_seeds_differ() {
    let seeds = [fresh(), fresh(), fresh()];
    assert!(seeds[0] != seeds[1] && seeds[1] != seeds[2] && seeds[0] != seeds[2]);
}
