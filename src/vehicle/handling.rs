//! What hands and instruments can do with a part, by the sort of part it is.

use super::kinds::Kind;
use super::law::Law;
use super::model::{Element, ElementId, PartId, Vehicle, node_index};

/// Something done with one sort of part and not with another.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Handling {
    /// The jaws of a current clamp close around it.
    Clamp,
    /// It comes out or apart by hand, and goes back.
    Unplug,
    /// A relay that another of its type can take the place of.
    Swap,
    /// It has a rubber length that can be squeezed shut.
    Pinch,
    /// A tee for a pressure gauge fits at its inlet.
    Tee,
    /// It is opened for a look: blown through, heated, or taken apart at its terminals.
    Open,
    /// Something in it can stick and come free by a knock.
    Tap,
}

impl Handling {
    /// All of them.
    pub const ALL: [Handling; 7] = [
        Handling::Clamp,
        Handling::Unplug,
        Handling::Swap,
        Handling::Pinch,
        Handling::Tee,
        Handling::Open,
        Handling::Tap,
    ];
}

impl Vehicle {
    /// Whether this can be done with a part.
    #[must_use]
    pub fn takes(&self, part: PartId, what: Handling) -> bool {
        let kind = self.parts[part.0].kind;
        let comes_apart = matches!(kind, Kind::Connector | Kind::Fuse | Kind::Relay);
        match what {
            Handling::Clamp => self.clampable(part).is_some(),
            Handling::Unplug => comes_apart,
            Handling::Swap => self.has_twin(part),
            Handling::Pinch => matches!(kind, Kind::Line | Kind::ReturnLine),
            Handling::Tee => matches!(kind, Kind::Filter | Kind::Line | Kind::LiftLine),
            Handling::Open => comes_apart || kind.is_blown_through() || kind == Kind::Thermostat,
            Handling::Tap => {
                comes_apart
                    || matches!(
                        kind,
                        Kind::Pump
                            | Kind::Tank
                            | Kind::Starter
                            | Kind::ControlUnit
                            | Kind::DriverModule
                            | Kind::CutOffSwitch
                            | Kind::Thermostat
                    )
            }
        }
    }

    /// What a current clamp closes around: a wire, or a strap between two pieces of metal.
    #[must_use]
    pub fn clampable(&self, part: PartId) -> Option<(ElementId, &Element)> {
        let strap = self.is_strap(part);
        self.elements_of(part)
            .find(|(_, element)| strap || matches!(element.law, Law::Copper { .. }))
    }

    /// A strap between two pieces of metal. A ground point is a stud at one of its ends, which bears its name.
    #[must_use]
    pub fn is_strap(&self, part: PartId) -> bool {
        let found = &self.parts[part.0];
        let stud = |element: &Element| {
            let ends = [element.from, element.to];
            ends.iter()
                .any(|&end| self.nodes[node_index(end)].name == found.id)
        };
        found.kind == Kind::Ground && !self.elements_of(part).any(|(_, element)| stud(element))
    }

    /// A relay of which there is another of its type.
    fn has_twin(&self, part: PartId) -> bool {
        let kind = &self.parts[part.0].relay_type;
        let mut others = self.parts.iter().enumerate();
        kind.is_some() && others.any(|(index, other)| index != part.0 && other.relay_type == *kind)
    }
}
