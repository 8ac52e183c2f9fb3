//! More resistance anywhere in the one path of the pump's current leaves fewer volts at the pump.
//!
//! Does not apply beside that path: resistance in the relay's coil circuit changes nothing until the relay lets go, and
//! resistance in a parallel consumer raises the pump's volts. Nor where a closed loop holds the flow, nor for a joint that
//! gives way above a current: with kilo-ohms in it, its own current lets it heal.

use std::sync::Arc;

use hidden_ohm::fault::{Activation, Effect, Fault, KindId, sites};
use hidden_ohm::rig::{Attachments, Conditions, Rig, Tap};
use hidden_ohm::seed::Stream;
use hidden_ohm::vehicle::Key;

use super::{cases, library};

#[test]
fn more_series_resistance_means_fewer_volts_at_the_pump() {
    let library = library();
    let vehicle = &library.vehicles[0];
    let places = sites(vehicle, &library.catalogue);
    let in_loop = vehicle.pump_loop();
    let mut choices = Vec::new();
    for (kind, places) in library
        .catalogue
        .kinds
        .iter()
        .zip(&places)
        .enumerate()
        .map(|(i, (k, s))| ((i, k), s))
    {
        let stays = !matches!(kind.1.activation, Activation::AboveAmps(_));
        if kind.1.effect == Effect::AddOhms && stays {
            let on_the_way = places.iter().filter(|site| {
                let element = &vehicle.elements[site.element.expect("an element").0];
                in_loop.contains(&site.part) && !["85", "86"].contains(&element.leg.as_str())
            });
            choices.extend(on_the_way.map(|site| (kind.0, *site)));
        }
    }
    for number in cases(300) {
        let mut draw = Stream::named(number, "monotone");
        let &(kind, site) = draw.pick(&choices).expect("sites");
        let conditions = Conditions {
            ambient_c: draw.between(-10.0, 35.0),
            charge: draw.between(0.3, 1.0),
            fuel: 0.5,
        };
        let mut ohms = [draw.log_between(1e-3, 1e4), draw.log_between(1e-3, 1e4)];
        ohms.sort_by(f64::total_cmp);
        let volts = ohms.map(|severity| {
            let fault = Fault {
                kind: KindId(kind),
                site,
                severity,
            };
            let (vehicle, catalogue) = (Arc::clone(vehicle), Arc::clone(&library.catalogue));
            let mut rig =
                Rig::new(vehicle, catalogue, number, conditions, vec![fault]).expect("a rig");
            rig.turn_key(Key::On, &Attachments::none())
                .expect("a prime");
            rig.command_pump(true);
            let instant = rig.now(&Attachments::none()).expect("a state");
            let pump = &rig.vehicle().pump;
            instant
                .across(Tap::Node(pump.plus), Tap::Node(pump.minus))
                .expect("a motor joins its terminals")
        });
        let part = &vehicle.parts[site.part.0].id;
        // A hair of slack: a prime through more resistance leaves less heat behind.
        assert!(
            volts[1] <= volts[0] + 5e-3,
            "case {number}: {part} {ohms:?} ohm gives {volts:?} V"
        );
    }
}
