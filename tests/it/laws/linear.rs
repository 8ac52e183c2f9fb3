//! Laws of the frozen linear network: Kirchhoff at every node, reciprocity of transfer resistances.

use std::collections::BTreeMap;

use hidden_ohm::circuit::{Network, NodeId, Solver, Source};
use hidden_ohm::rig::Branch;
use hidden_ohm::seed::Stream;

use super::{cases, library};
use crate::cases::{Spread, case};

#[test]
fn currents_sum_to_zero_at_every_node() {
    let library = library();
    for number in cases(300) {
        let case = case(&library, Spread::Damaged, number);
        let about = case.about;
        let ladder = case
            .rig
            .ladder(case.key, case.pump_on, case.moment)
            .expect("a solution");
        let mut sums: BTreeMap<&str, (f64, f64)> = BTreeMap::new();
        let branches = ladder.branches.iter().map(|b| (&b.from, &b.to, b.amps));
        let sources = ladder.sources.iter().map(|s| (&s.from, &s.to, s.amps));
        for (from, to, amps) in branches.chain(sources) {
            for (node, amps) in [(from, amps), (to, -amps)] {
                let sum = sums.entry(node).or_default();
                sum.0 += amps;
                sum.1 += amps.abs();
            }
        }
        for (node, (sum, size)) in sums {
            assert!(
                sum.abs() <= 1e-9 * (1.0 + size),
                "{about}: {sum} A missing at {node}"
            );
        }
        // What is told of a pump is what flows in its winding, turning or not.
        for pump in &ladder.pumps {
            let own = |branch: &&Branch| branch.part == pump.part && branch.kind == "winding";
            let amps = ladder.branches.iter().find(own).map_or(0.0, |b| b.amps);
            assert!(
                (amps - pump.amps).abs() <= 1e-6 * (1e-3 + amps.abs()),
                "{about}: {} at {} A, its winding at {amps} A",
                pump.part,
                pump.amps
            );
        }
    }
}

/// Passive linear networks only: with every source at rest, the volts at one pair for an ampere at another are the same
/// the other way round.
#[test]
fn transfer_resistances_are_reciprocal() {
    let library = library();
    let mut compared = 0;
    for number in cases(300) {
        let case = case(&library, Spread::Damaged, number);
        let about = case.about;
        let ladder = case
            .rig
            .ladder(case.key, case.pump_on, case.moment)
            .expect("a solution");
        let passive = at_rest(ladder.network());
        let mut draw = Stream::named(number, "pairs");
        let mut node = || {
            let count = passive.node_count() as u64;
            NodeId(u32::try_from(draw.below(count)).expect("small"))
        };
        let (a, b, c, d) = (node(), node(), node(), node());
        let mut solver = Solver::new();
        let one = solver.port(&passive, a, b).expect("a port");
        let other = solver.port(&passive, c, d).expect("a port");
        if !(one.joined() && other.joined() && one.unloaded().joined(a, c)) {
            continue;
        }
        let forth = one.volts_per_amp(c) - one.volts_per_amp(d);
        let back = other.volts_per_amp(a) - other.volts_per_amp(b);
        let scale = one.thevenin().ohms.max(other.thevenin().ohms);
        assert!(
            (forth - back).abs() <= 1e-9 * scale + 1e-15,
            "{about}: {forth} against {back} ohm"
        );
        compared += 1;
    }
    assert!(compared > 100, "only {compared} pairs were joined");
}

fn at_rest(net: &Network) -> Network {
    let mut passive = net.clone();
    for index in 0..passive.sources().len() {
        let source = passive.sources()[index];
        *passive.source_mut(index) = Source {
            volts: 0.0,
            ..source
        };
    }
    passive
}
