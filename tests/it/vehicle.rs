//! The vehicle file, its loader and the vehicles built from it.

use hidden_ohm::vehicle;

#[test]
fn the_harbour_van_loads() {
    let vans = vehicle::built_in().unwrap_or_else(|found| {
        panic!("{}", found.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))
    });
    assert_eq!(vans[0].id, "harbour-van");
}
