//! What is solved against the network rather than in it: the motor's point and a lamp's filament.

use hidden_ohm::pump::{Demand, Supply, operating_point};
use hidden_ohm::rig::{Attachments, Filament, Tap};

use hidden_ohm::vehicle::Law;

use super::{cases, library};
use crate::cases::{Spread, case};

/// The lamp's current rises with its volts while the network's falls, so there is one crossing; bisection between no
/// volts and the open-circuit volts finds it without our iteration.
#[test]
fn a_lamp_stands_where_a_bisection_finds_it() {
    let library = library();
    let (mut lit, mut worst) = (0, 0.0_f64);
    for number in cases(200) {
        let case = case(&library, Spread::Damaged, number);
        let (mut rig, about) = (case.rig, case.about);
        let battery = rig
            .vehicle()
            .elements
            .iter()
            .find(|e| matches!(e.law, Law::Battery { .. }));
        let (a, b) = (
            Tap::Node(battery.expect("a battery").to),
            Tap::Node(rig.reference()),
        );
        rig.turn_key(case.key, &Attachments::none())
            .expect("a turn");
        rig.command_pump(case.pump_on);
        let lamp = Filament {
            volts: 12.0,
            watts: 5.0,
        };
        let mut attached = Attachments::none();
        let middle = attached.node();
        attached.resistor(a, middle, 3.0);
        attached.filament(middle, b, lamp);
        let instant = rig.now(&attached).expect("a state");
        if instant.chattering.is_some() || instant.pump.rad_s > 0.0 {
            // The motor's own point moves with the lamp; the network is linear to it only at rest.
            continue;
        }
        let Some(shown) = instant.across(middle, b) else {
            continue;
        };
        // Two linear loads give the network's Thevenin equivalent without any lamp in it.
        let mut seen = |ohms: f64| {
            let mut load = Attachments::none();
            load.resistor(a, b, ohms);
            let instant = rig.now(&load).expect("a state");
            (
                instant.across(a, b).unwrap_or(0.0),
                instant.chattering.is_some() || instant.pump.rad_s > 0.0,
            )
        };
        let ((v1, c1), (v2, c2)) = (seen(1e6), seen(30.0));
        if c1 || c2 || v1.abs() < 1.0 {
            continue;
        }
        let i = |v: f64, ohms: f64| v / ohms;
        let source = (v1 - v2) / (i(v2, 30.0) - i(v1, 1e6));
        let open = v1 + source * i(v1, 1e6);
        let surplus = |v: f64| (open - v) / (source + 3.0) - v / lamp.ohms(v);
        let (mut low, mut high) = (0.0_f64.min(open), 0.0_f64.max(open));
        let rises = surplus(low) < 0.0;
        for _ in 0..200 {
            let v = 0.5 * (low + high);
            if (surplus(v) < 0.0) == rises {
                low = v;
            } else {
                high = v;
            }
        }
        lit += 1;
        worst = worst.max((shown - low).abs());
        assert!(
            (shown - low).abs() < 1e-6,
            "{about}: {shown} V, bisection {low} V"
        );
    }
    assert!(lit >= 40, "only {lit} lamps burned (worst {worst})");
}

/// The pump's own proof of one root (see its module) seen from outside: the speed at which the motor's torque balance
/// closes is the same from every supply that leads to the same terminal volts.
#[test]
fn a_pump_on_its_own_terminal_volts_stands_at_the_same_point() {
    let library = library();
    let mut compared = 0;
    for number in cases(300) {
        let case = case(&library, Spread::Damaged, number);
        let about = case.about;
        let (unit, hydraulics) = (case.rig.vehicle().pump.unit, case.rig.vehicle().hydraulics);
        let volts = 6.0 + 0.03 * number as f64 % 9.0;
        let ohms = 0.02 * (number % 40) as f64;
        let there = operating_point(&unit, &hydraulics, &Supply { volts, ohms }, &Demand::none())
            .expect("a point");
        let stiff = Supply {
            volts: there.terminal_volts,
            ohms: 0.0,
        };
        let here = operating_point(&unit, &hydraulics, &stiff, &Demand::none()).expect("a point");
        if there.rad_s > 0.0 {
            compared += 1;
            assert!(
                (there.rad_s - here.rad_s).abs() <= 1e-6 * there.rad_s,
                "{about}: {there:?} {here:?}"
            );
            // Residuals of the two equations that define the point.
            let loop_v =
                volts - ohms * there.amps - unit.motor.ohms() * there.amps - there.back_emf_v;
            assert!(
                (loop_v - unit.motor.brush_volts).abs() < 1e-6,
                "{about}: {loop_v} V at the brushes"
            );
            let torque = there.torque_nm - there.friction_nm - there.hydraulic_nm;
            assert!(
                torque.abs() <= 1e-6 * there.torque_nm,
                "{about}: {torque} N m left over"
            );
        }
    }
    assert!(compared > 100, "only {compared} points turned");
}

/// Ohm's law of a filament at its own volts, with the pump turning or not: what comes through the resistor before the lamp
/// leaves through the lamp.
#[test]
fn a_lamp_takes_what_the_resistor_before_it_brings() {
    let library = library();
    let lamp = Filament {
        volts: 12.0,
        watts: 5.0,
    };
    let mut with_pump = 0;
    for number in cases(300) {
        let case = case(&library, Spread::Damaged, number);
        let (mut rig, about) = (case.rig, case.about);
        let minus = Tap::Node(rig.reference());
        let plus = Tap::Node(rig.vehicle().pump.plus);
        rig.turn_key(case.key, &Attachments::none())
            .expect("a turn");
        rig.command_pump(case.pump_on);
        let mut attached = Attachments::none();
        let middle = attached.node();
        attached.resistor(plus, middle, 0.5);
        attached.filament(middle, minus, lamp);
        let instant = rig.now(&attached).expect("a state");
        let (Some(before), Some(volts)) =
            (instant.across(plus, middle), instant.across(middle, minus))
        else {
            continue;
        };
        if instant.chattering.is_some() {
            continue;
        }
        with_pump += u32::from(instant.pump.rad_s > 0.0);
        // Behind a driver module that switches, the filament is as warm as the root mean square makes it.
        let heated = instant
            .heating_volts(middle, minus)
            .expect("joined, as its mean is");
        let (brought, taken) = (before / 0.5, volts / lamp.ohms(heated));
        assert!(
            (brought - taken).abs() <= 1e-6 * (1e-3 + taken.abs()),
            "{about}: {brought} A before the lamp, {taken} A in it at {volts} V"
        );
    }
    assert!(with_pump >= 30, "only {with_pump} pumps turned");
}

/// With this loose clamp the starter leaves the control unit just what it needs: a lamp's current decides, and the lamp's
/// warmth decides its current.
#[test]
fn a_lamp_that_settles_neither_with_a_relay_closed_nor_open_chatters_with_it() {
    let case = case(&library(), Spread::Damaged, 733_677);
    let mut rig = case.rig;
    rig.turn_key(case.key, &Attachments::none())
        .expect("a turn");
    rig.command_pump(case.pump_on);
    let mut attached = Attachments::none();
    let middle = attached.node();
    attached.resistor(Tap::Node(rig.vehicle().pump.plus), middle, 0.5);
    let lamp = Filament {
        volts: 12.0,
        watts: 5.0,
    };
    attached.filament(middle, Tap::Node(rig.reference()), lamp);
    assert!(rig.now(&attached).expect("a state").chattering.is_some());
}

/// A coil is a linear part, so a relay's state is one of two, and the one it stands in must hold by itself: closed only on
/// volts above release, open only on volts below operate. What holds both ways is decided by where it came from, which is
/// open; what holds neither way chatters. The figures are the vehicle's, give or take a tenth, and follow the coil's warmth.
#[test]
fn a_relay_that_does_not_chatter_stands_in_a_state_that_holds_itself() {
    let library = library();
    let (mut closed, mut open, mut chattering) = (0, 0, 0);
    for number in cases(400) {
        let case = case(&library, Spread::Damaged, number);
        let about = case.about;
        let vehicle = case.rig.vehicle().clone();
        let ladder = case
            .rig
            .ladder(case.key, case.pump_on, case.moment)
            .expect("a solution");
        if ladder.chattering {
            chattering += 1;
            continue;
        }
        if about.contains("welded") {
            // Such a contact no longer asks its coil.
            continue;
        }
        let node = |id: hidden_ohm::circuit::NodeId| {
            let name = &vehicle.nodes[id.0 as usize].name;
            let found = ladder.nodes.iter().find(|(node, _)| node == name);
            found.map(|(_, volts)| *volts)
        };
        for coil in &vehicle.elements {
            let Law::Coil {
                operate_v,
                release_v,
                ..
            } = coil.law
            else {
                continue;
            };
            let part = &vehicle.parts[coil.part.0].id;
            let wound = ladder
                .branches
                .iter()
                .any(|branch| branch.kind == "coil" && branch.part == *part);
            let volts = match (node(coil.from), node(coil.to)) {
                (Some(from), Some(to)) if wound => (from - to).abs(),
                _ => 0.0,
            };
            let contact = vehicle.elements.iter().find(|element| {
                element.part == coil.part && matches!(element.law, Law::RelayContact { .. })
            });
            // A coil without a contact is the input of a driver module.
            let Some(contact) = contact else { continue };
            if node(contact.from).is_none() || node(contact.to).is_none() {
                continue;
            }
            let made = ladder
                .branches
                .iter()
                .any(|branch| branch.kind == "relay-contact" && branch.part == *part);
            if made {
                closed += 1;
                assert!(
                    volts >= 0.9 * 0.8 * release_v,
                    "{about}: {part} holds on {volts} V"
                );
            } else {
                open += 1;
                assert!(
                    volts <= 1.1 * 1.5 * operate_v,
                    "{about}: {part} stays open on {volts} V"
                );
            }
        }
    }
    assert!(
        closed > 100 && open > 100,
        "{closed} closed, {open} open, {chattering} chattering"
    );
}
