//! The lift pump of a vehicle with two pumps: a table `[lift]`.

use crate::pump::Hydraulics;
use crate::units::Pascal;

use super::file::Draft;
use super::hydraulic::{flow_at_drop, plain, swell, vapour_below};
use super::model::LiftPump;
use super::reader::{Reader, Table};

/// Reads the table `[lift]`, the pumps being known.
pub(super) fn read(reader: &mut Reader, mut table: Table, draft: &Draft) -> Option<LiftPump> {
    let name = table.text(reader, "pump");
    let strainer = flow_at_drop(reader, &mut table, "strainer");
    let line = flow_at_drop(reader, &mut table, "line");
    let past = flow_at_drop(reader, &mut table, "past_it");
    let vapour = vapour_below(reader, &mut table);
    let relief = table.positive::<Pascal>(reader, "relief");
    let rise = flow_at_drop(reader, &mut table, "relief_rise");
    let hose = swell(reader, &mut table, "line_swell");
    table.finish(reader);
    let name = name?;
    let part = draft.part_names.resolve(reader, &name)?;
    let Some(&pump) = draft.pumps.iter().find(|pump| pump.part.0 == part) else {
        let message = format!("`{}` is no pump", name.get_ref());
        let hint = Some("name a part described under `[[pump]]`".to_owned());
        reader.report(name.span(), message, hint);
        return None;
    };
    Some(LiftPump {
        pump,
        past_pa_s2_m6: past.map(|(drop, flow)| drop / (flow * flow))?,
        hydraulics: Hydraulics {
            relief_pa: relief?,
            relief_slope_pa_s_m3: rise.map(|(drop, flow)| drop / flow)?,
            // No check valve: what stands in its line may drain back.
            ..plain(strainer?, line?, vapour?, hose?)
        },
    })
}
