//! Vehicle sets, versions and themes: what a code asks for is what it gives.

use hidden_ohm::scenario::{Generator, Theme};
use hidden_ohm::seed::{GENERATOR_VERSION, ScenarioCode, VehicleSet};

use crate::floor::{certifier, code, library};

#[test]
fn every_vehicle_of_the_newest_version_is_built_in_and_can_be_asked_for_by_itself() {
    let generator = Generator::newest();
    assert_eq!(generator.version, GENERATOR_VERSION);
    assert!(generator.vehicles.len() <= VehicleSet::MOST);
    for (place, id) in generator.vehicles.iter().enumerate() {
        assert!(library().vehicle(id).is_some(), "{id} is not built in");
        let set = VehicleSet::all().with(place).expect("a place in a set");
        assert_eq!(set.places(generator.vehicles.len()), Some(vec![place]));
        for level in 1..=5 {
            let code = ScenarioCode::new(generator.version, set.bits(), level, 9).expect("a code");
            let scenario = certifier().generate(code);
            let scenario = scenario.unwrap_or_else(|error| panic!("{code}: {error}"));
            assert_eq!(scenario.vehicle().id, *id);
            assert_eq!(scenario.level(), level);
        }
    }
    assert_eq!(VehicleSet::all().with(VehicleSet::MOST), None);
}

#[test]
fn a_set_that_names_a_vehicle_beyond_the_version_is_refused() {
    let beyond = VehicleSet::from_bits(0x40);
    assert_eq!(beyond.places(6), None);
    assert_eq!(VehicleSet::from_bits(0x05).places(3), Some(vec![0, 2]));
    assert_eq!(VehicleSet::all().places(3), Some(vec![0, 1, 2]));
}

#[test]
fn a_code_without_figures_gives_none_and_its_twin_some() {
    let set = VehicleSet::all().without_figures();
    assert!(set.withholds_figures() && !VehicleSet::all().withholds_figures());
    let without = ScenarioCode::new(1, set.bits(), 1, 5).expect("a code");
    let scenario = certifier().generate(without).expect("a scenario");
    assert!(scenario.order().figures.is_empty());
    let with = certifier().generate(code(1, 5)).expect("a scenario");
    assert!(!with.order().figures.is_empty());
}

#[test]
fn every_theme_is_met_and_no_scenario_belongs_to_two() {
    let mut met = [false; Theme::ALL.len()];
    for (level, seed) in super::codes() {
        let scenario = crate::floor::drawn(level, seed);
        let fits = Theme::ALL.map(|(theme, _)| theme.fits(&scenario));
        assert!(fits.iter().filter(|fits| **fits).count() <= 1);
        for (met, fits) in met.iter_mut().zip(fits) {
            *met |= fits;
        }
    }
    assert_eq!(met, [true; Theme::ALL.len()]);
}
