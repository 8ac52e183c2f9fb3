//! The faults of a scenario written by hand: which kind, and where on the vehicle it sits.

use toml::Spanned;

use super::listed;
use crate::fault::{self, Catalogue, Fault, KindId, Site};
use crate::vehicle::diagnostic::did_you_mean;
use crate::vehicle::reader::{Reader, Table};
use crate::vehicle::{PartId, Vehicle};

/// All faults of a file; nothing if one of them is wrong.
pub(super) fn read_all(
    vehicle: &Vehicle,
    catalogue: &Catalogue,
    reader: &mut Reader,
    tables: Vec<Table>,
) -> Option<Vec<Fault>> {
    let all = Sites {
        vehicle,
        catalogue,
        of: fault::sites(vehicle, catalogue),
    };
    let mut faults: Vec<Fault> = Vec::new();
    let mut clean = true;
    for mut table in tables {
        let read = all.read(reader, &mut table);
        let (span, what) = (table.span.clone(), table.what.clone());
        table.finish(reader);
        let Some(fault) = read else {
            clean = false;
            continue;
        };
        let same = |other: &Fault| (other.kind, other.site) == (fault.kind, fault.site);
        if faults.iter().any(same) {
            let message = format!("{what} is on that place already");
            let hint = "one of the two is enough, with the severity of both".to_owned();
            reader.report(span, message, Some(hint));
        }
        faults.push(fault);
    }
    clean.then_some(faults)
}

/// Where each kind of the catalogue can sit on a vehicle.
struct Sites<'a> {
    vehicle: &'a Vehicle,
    catalogue: &'a Catalogue,
    of: Vec<Vec<Site>>,
}

impl<'a> Sites<'a> {
    fn read(&self, reader: &mut Reader, table: &mut Table) -> Option<Fault> {
        let kind = table.text(reader, "kind");
        let part = table.text(reader, "part");
        let leg = table.text_if_any(reader, "leg");
        let on = part
            .as_ref()
            .and_then(|part| self.vehicle.part(part.get_ref()));
        let kind = kind.and_then(|kind| self.kind(reader, &kind, on));
        let part = part.and_then(|part| self.part(reader, &part, kind));
        let Some(kind) = kind else {
            // Nobody knows what a severity of an unknown kind is; the key itself is no mistake.
            let _ = table.text_if_any(reader, "severity");
            return None;
        };
        let effect = self.catalogue.kinds[kind.0].effect;
        let severity = if effect.has_no_degrees() {
            Some(1.0)
        } else {
            fault::read_value(reader, table, "severity", effect)
        };
        Some(Fault {
            kind,
            site: self.site(reader, kind, &part?, leg.as_ref())?,
            severity: severity?,
        })
    }

    /// The kind of a name; `on` is the part it is to sit on, if that is known.
    fn kind(
        &self,
        reader: &mut Reader,
        name: &Spanned<String>,
        on: Option<PartId>,
    ) -> Option<KindId> {
        let kinds = &self.catalogue.kinds;
        let found = kinds.iter().position(|known| &known.id == name.get_ref());
        if found.is_none() {
            let fits =
                |sites: &[Site]| sites.iter().any(|site| on.is_none_or(|on| site.part == on));
            let here = kinds.iter().zip(&self.of);
            let here = here.filter(|(_, sites)| fits(sites));
            let here = here.map(|(kind, _)| kind.id.as_str());
            let on = on.map_or(self.vehicle.id.as_str(), |part| {
                self.vehicle.parts[part.0].id.as_str()
            });
            let ids = kinds.iter().map(|known| known.id.as_str());
            let hint = did_you_mean(name.get_ref(), ids)
                .or_else(|| listed(&format!("what can sit on {on}:"), here));
            let message = format!("no fault is called `{}`", name.get_ref());
            reader.report(name.span(), message, hint);
        }
        found.map(KindId)
    }

    /// The part of a name; `kind` is what is to sit on it, if that is known.
    fn part(
        &self,
        reader: &mut Reader,
        name: &Spanned<String>,
        kind: Option<KindId>,
    ) -> Option<Spanned<PartId>> {
        let found = self.vehicle.part(name.get_ref());
        if found.is_none() {
            let all = self.vehicle.parts.iter().map(|known| known.id.as_str());
            let near = did_you_mean(name.get_ref(), all.clone());
            let hint = near.or_else(|| match kind {
                Some(kind) => Some(self.elsewhere(kind)),
                None => listed("its parts are", all),
            });
            let message = format!("{} has no part `{}`", self.vehicle.id, name.get_ref());
            reader.report(name.span(), message, hint);
        }
        found.map(|part| Spanned::new(name.span(), part))
    }

    /// Parts that a kind can sit on, each once, in the order of the vehicle.
    fn parts_of(&self, kind: KindId) -> Vec<&'a str> {
        let sites = self.of[kind.0].iter();
        let mut parts: Vec<&str> = sites
            .map(|site| self.vehicle.parts[site.part.0].id.as_str())
            .collect();
        parts.dedup();
        parts
    }

    fn leg(&self, site: &Site) -> &'a str {
        let element = site.element.map(|id| &self.vehicle.elements[id.0]);
        element.map_or("", |element| element.leg.as_str())
    }

    /// The place of a kind on a part.
    fn site(
        &self,
        reader: &mut Reader,
        kind: KindId,
        part: &Spanned<PartId>,
        leg: Option<&Spanned<String>>,
    ) -> Option<Site> {
        let sites = self.of[kind.0].iter();
        let here: Vec<&Site> = sites.filter(|site| site.part == *part.get_ref()).collect();
        let legs: Vec<&str> = here.iter().map(|site| self.leg(site)).collect();
        let name = &self.catalogue.kinds[kind.0].id;
        let on = &self.vehicle.parts[part.get_ref().0].id;
        let (span, message, hint) = match (here.as_slice(), leg) {
            ([], _) => (
                part.span(),
                format!("`{name}` cannot sit on {on}"),
                self.elsewhere(kind),
            ),
            (&[only], None) => return Some(*only),
            (_, None) => (
                part.span(),
                format!("{on} has several places for `{name}`"),
                format!("write `leg = ` one of {}", legs.join(", ")),
            ),
            (_, Some(leg)) => {
                let found = here.iter().find(|site| self.leg(site) == leg.get_ref());
                if let Some(&&site) = found {
                    return Some(site);
                }
                let hint = if legs == [""] {
                    format!("{on} has one place for it and that has no name: take `leg` away")
                } else {
                    format!("write `leg = ` one of {}", legs.join(", "))
                };
                let message = format!("`{name}` cannot sit on {on} {}", leg.get_ref());
                (leg.span(), message, hint)
            }
        };
        reader.report(span, message, Some(hint));
        None
    }

    /// Where a kind can sit, in words.
    fn elsewhere(&self, kind: KindId) -> String {
        let parts = self.parts_of(kind);
        let model = &self.catalogue.kinds[kind.0];
        let (id, medium) = (&self.vehicle.id, self.vehicle.medium());
        match model.medium {
            Some(only) if only != medium => format!(
                "it belongs to circuits that carry {}, and that of {id} carries {}",
                only.name(),
                medium.name()
            ),
            _ if parts.is_empty() => {
                let on: Vec<&str> = model.on.iter().map(|kind| kind.name()).collect();
                format!(
                    "{id} has no place for it: it sits on parts of the kind {}",
                    on.join(", ")
                )
            }
            _ => format!("it can sit on {}", parts.join(", ")),
        }
    }
}
