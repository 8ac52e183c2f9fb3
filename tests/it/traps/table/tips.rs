//! Tips that do not touch.

use super::{Brings, INPUT, PUMP_ON, Trap, nothing, trap, warm};
use crate::traps::bench::fault;
use hidden_ohm::instrument::{Manner, grip_ohms};
use hidden_ohm::vehicle::Tip;

/// The first seed whose first back-probe on the pump's ground pin lies as wanted, while its second and the clips lie well.
fn back_probe(wanted: impl Fn(f64) -> bool) -> u32 {
    let ohms = |seed: u32, point, placement, tip| {
        grip_ohms(u64::from(seed), point, placement, Manner::Plain(tip)).ohms
    };
    (0..10_000)
        .find(|&seed| {
            wanted(ohms(seed, "X7.2", 1, Tip::BackProbe))
                && ohms(seed, "X7.2", 2, Tip::BackProbe) < 1.0
                && ["B-", "B+"]
                    .iter()
                    .all(|post| ohms(seed, post, 1, Tip::Clip) < 1.0)
        })
        .expect("eight placements in a hundred lie badly")
}

pub fn rows() -> Vec<Trap> {
    let ground = || fault("corroded-ground", "G4", "0.5 ohm");
    let open = back_probe(f64::is_infinite);
    let filmed = back_probe(|ohms| (1e6..20e6).contains(&ohms));
    vec![
        trap(
            "a back-probe that touches nothing reads a perfect ground behind half an ohm",
            ground(),
            &[PUMP_ON, "volts X7.2 B-"],
            // No way in: both inputs hang on the black tip. Half an ohm at the pump's current would be over a volt.
            Brings::Value(|t| {
                assert!(t.pumping.lost("X7.2", "B-") > 1.0);
                nothing(t)
            }),
        )
        .on(open),
        trap(
            "against the other post the same tip gives itself away",
            ground(),
            &[PUMP_ON, "volts X7.2 B-", "volts X7.2 B+"],
            // One that touches would show what is lost on the ground side less the battery: ten volts and more.
            Brings::Value(|t| {
                assert!(t.pumping.posts() - t.pumping.lost("X7.2", "B-") > 10.0);
                nothing(t)
            }),
        )
        .on(open),
        trap(
            "placed anew it reads what is there",
            ground(),
            &[PUMP_ON, "volts X7.2 B-", "tip red"],
            Brings::Value(|t| warm(t, t.pumping.lost("X7.2", "B-"))),
        )
        .on(open),
        trap(
            "a tip on a film makes the drop smaller, never larger",
            ground(),
            &[PUMP_ON, "volts X7.2 B-"],
            // Loading error -100 Rs/(Rs + Ri) (Keysight 34970A user's guide), with the film for Rs.
            Brings::Value(|t| {
                let film = grip_ohms(
                    u64::from(back_probe(|ohms| (1e6..20e6).contains(&ohms))),
                    "X7.2",
                    1,
                    Manner::Plain(Tip::BackProbe),
                );
                warm(
                    t,
                    t.pumping.lost("X7.2", "B-") * INPUT / (INPUT + film.ohms),
                )
            }),
        )
        .on(filmed),
    ]
}
