//! The lift pump of a vehicle with two pumps: a table `[lift]`.

use crate::pump::{CheckValve, Hydraulics, Regulator, RegulatorPlace, RegulatorStuck};
use crate::units::Pascal;

use super::file::Draft;
use super::hydraulic::{PETROL, flow_at_drop, swell};
use super::model::LiftPump;
use super::reader::{Reader, Table};

/// Reads the table `[lift]`, the pumps being known.
pub(super) fn read(reader: &mut Reader, mut table: Table, draft: &Draft) -> Option<LiftPump> {
    let name = table.text(reader, "pump");
    let strainer = flow_at_drop(reader, &mut table, "strainer");
    let line = flow_at_drop(reader, &mut table, "line");
    let past = flow_at_drop(reader, &mut table, "past_it");
    let vapour = table.positive::<Pascal>(reader, "vapour_below");
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
    let per_square = |(drop, flow): (f64, f64)| drop / (flow * flow);
    Some(LiftPump {
        pump,
        past_pa_s2_m6: per_square(past?),
        hydraulics: Hydraulics {
            density: PETROL.density,
            discharge: PETROL.discharge,
            strainer_pa_s2_m6: per_square(strainer?),
            vapour_limit_pa: vapour?,
            brought_m3_s: f64::INFINITY,
            tank_empty: false,
            closed_loop: false,
            relief_pa: relief?,
            relief_slope_pa_s_m3: rise.map(|(drop, flow)| drop / flow)?,
            // What stands in its line may drain back.
            check_valve: CheckValve {
                crack_pa: 0.0,
                leak_m2: 0.0,
            },
            in_tank_leak_m2: 0.0,
            filter_pa_s_m3: 0.0,
            line_pa_s2_m6: per_square(line?),
            regulator: Regulator {
                set_pa: 0.0,
                slope_pa_s_m3: 0.0,
                full_area_m2: 0.0,
                place: RegulatorPlace::Rail,
                stuck: Some(RegulatorStuck::Shut),
            },
            return_pa_s2_m6: 0.0,
            injector_leak_m2: 0.0,
            injector_rated_pa: 0.0,
            hose_compliance_m3_pa: hose?,
            compliance_m3_pa: hose?,
        },
    })
}
