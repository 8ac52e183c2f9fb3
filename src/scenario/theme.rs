//! Groups of sections by which exercises choose what they train.

use super::{Revealed, Scenario};
use crate::fault;
use crate::vehicle::Section;

/// Group of sections by which exercises choose what they train.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Theme {
    /// Battery to fuse box.
    Supply,
    /// Fuse to tank.
    Feed,
    /// Tank to negative post.
    Ground,
    /// Wiring inside the tank.
    InTank,
    /// The pump.
    Pump,
    /// What switches it on.
    Control,
    /// The fuel side, the return line to the tank and what is in the tank included.
    Hydraulic,
}

impl Theme {
    /// All themes with their names.
    pub const ALL: [(Theme, &'static str); 7] = [
        (Theme::Supply, "supply"),
        (Theme::Feed, "feed"),
        (Theme::Ground, "ground"),
        (Theme::InTank, "in-tank"),
        (Theme::Pump, "pump"),
        (Theme::Control, "control"),
        (Theme::Hydraulic, "hydraulic"),
    ];

    /// Its name.
    #[must_use]
    pub fn name(self) -> &'static str {
        Theme::ALL
            .iter()
            .find(|(theme, _)| *theme == self)
            .map_or("", |(_, name)| name)
    }

    /// The theme a section belongs to.
    #[must_use]
    pub fn of(section: Section) -> Theme {
        match section {
            Section::Supply => Theme::Supply,
            Section::Feed => Theme::Feed,
            Section::GroundSide | Section::BodyGround => Theme::Ground,
            Section::InTankFeed | Section::InTankGround => Theme::InTank,
            Section::Pump => Theme::Pump,
            Section::Control => Theme::Control,
            Section::Hydraulic => Theme::Hydraulic,
        }
    }

    /// Whether a scenario is about this theme; for choosing codes, not for learners.
    #[must_use]
    pub fn fits(self, scenario: &Scenario) -> bool {
        Theme::about(&scenario.hidden) == Some(self)
    }

    /// What a revealed scenario is about: the section of its first fault, or the tank; nothing where nothing is wrong.
    #[must_use]
    pub fn about(revealed: &Revealed) -> Option<Theme> {
        let first = revealed.faults.first();
        let section = first.map(|fault| fault::section(&revealed.vehicle, fault));
        let tank = revealed.tank_trouble().map(|_| Theme::Hydraulic);
        section.map(Theme::of).or(tank)
    }
}
