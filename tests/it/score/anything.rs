//! Whatever is done, the marks hold together.

use super::{GROUND, card, holds_together, open};
use hidden_ohm::bay::{Action, Bay, Cited, Target, Verdict};
use hidden_ohm::circuit::conductor::ConductorSize;
use hidden_ohm::instrument::{Extension, Function, Side};
use hidden_ohm::score::debrief;
use hidden_ohm::units::System;
use hidden_ohm::vehicle::{Key, PartId, Section};
use proptest::prelude::*;

/// An action out of three numbers; many of them are refused, as a learner's are.
fn any_action(bay: &Bay, what: u8, a: usize, b: usize) -> Action {
    let vehicle = bay.vehicle();
    let points = vehicle.plugged_points();
    let (red, black) = (points[a % points.len()], points[b % points.len()]);
    let part = PartId(a % vehicle.parts.len());
    let functions = [
        Function::Volts,
        Function::LowVolts,
        Function::Ohms,
        Function::Continuity,
    ];
    let keys = [Key::Off, Key::On, Key::Crank, Key::Run];
    let verdicts = [Verdict::Good, Verdict::Bad, Verdict::Unsure];
    match what % 20 {
        0..=3 => Action::Meter {
            function: functions[usize::from(what) % 4],
            red,
            black,
        },
        4 | 5 => Action::Key(keys[a % 4]),
        6 => Action::PumpTool(!b.is_multiple_of(3)),
        7 | 8 => Action::Access(hidden_ohm::vehicle::AccessId(a % vehicle.accesses.len())),
        9 => Action::Repair(Target { part, leg: None }),
        10 => Action::Replace(part),
        11 => Action::Look(Target { part, leg: None }),
        12 => Action::Call {
            section: Section::ALL[a % 9],
            verdict: verdicts[b % 3],
            cites: (b.is_multiple_of(2)).then(|| Cited::volts(0.001 * (a % 400) as f64)),
        },
        13 => Action::Call {
            section: Section::ALL[b % 9],
            verdict: verdicts[a % 3],
            cites: Some(Cited::volts(0.0)),
        },
        14 => Action::Drive,
        15 => Action::Tip(if a.is_multiple_of(2) {
            Side::Red
        } else {
            Side::Black
        }),
        16 => {
            if a.is_multiple_of(2) {
                Action::Unplug(part)
            } else {
                Action::Plug(part)
            }
        }
        17 => Action::Clamp(part),
        18 => Action::Leads(Some((
            Side::Black,
            Extension {
                length_m: 5.0,
                size: ConductorSize::SquareMillimetres(1.0),
            },
        ))),
        _ => [
            Action::Protect,
            Action::Relieve,
            Action::Stands,
            Action::Zero,
        ][a % 4]
            .clone(),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn whatever_is_done_the_marks_hold_together(steps in prop::collection::vec((any::<u8>(), 0usize..1000, 0usize..1000), 0..40)) {
        let mut bay = open(GROUND);
        for (what, a, b) in steps {
            let action = any_action(&bay, what, a, b);
            // A refusal changes nothing.
            let _ = bay.act(&action);
        }
        if bay.act(&Action::Handover).is_err() {
            let pulled: Vec<PartId> = (0..bay.vehicle().parts.len()).map(PartId).collect();
            for part in pulled {
                let _ = bay.act(&Action::Plug(part));
            }
            prop_assume!(bay.act(&Action::Handover).is_ok());
        }
        let Ok(closed) = bay.hand_back() else { unreachable!("it was handed back") };
        holds_together(&closed, &card(&closed));
        prop_assert!(debrief(&closed, System::Metric).is_ok());
    }
}
