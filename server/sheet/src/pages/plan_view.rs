//! The vehicle from above on a load sheet: the drawing of the picture of loads, from what was frozen in the sheet.

use ostler_paper::{Block, Ruler, Text};
use ostler_proto::v1::{LoadAgainstLimit, LoadSheet, SheetWheels};

use crate::from_above::from_above;
use crate::plan_data::{HeldLoad, PlanMass, PlanView};

/// The drawing under its heading; a sentence where there is nothing to draw from.
pub(super) fn section(sheet: &LoadSheet, ruler: &mut Ruler<'_>) -> Vec<Block> {
    let heading = Block::Heading("Wheels and places at departure, from above".to_owned());
    let wheelbase_mm = sheet.outline.unwrap_or_default().wheelbase_mm;
    let Some(wheelbase_mm) = wheelbase_mm.filter(|length| *length > 0.0) else {
        let text = "No drawing: the distance of the axles is not known.";
        return vec![heading, Block::Text(Text::new(text).bold())];
    };
    let basis = if sheet.wheels.first().is_some_and(|wheels| wheels.from_stance) {
        "Wheel loads: the vehicle on its springs."
    } else {
        "Wheel loads: half of each axle; the sides are not known."
    };
    let said = format!("{basis} Numbers are those of the list below; the cross is the centre of mass.");
    let drawing = from_above(&view(sheet, wheelbase_mm), sheet.zones.len(), &[said], ruler);
    vec![Block::Together(vec![
        heading,
        Block::Gap(3.0),
        Block::Drawing(drawing),
    ])]
}

/// What the drawing shows of the sheet: its zones are the masses, numbered as in their list.
fn view(sheet: &LoadSheet, wheelbase_mm: f64) -> PlanView {
    let outline = sheet.outline.unwrap_or_default();
    let empty = SheetWheels::default();
    let wheels = sheet.wheels.first().unwrap_or(&empty);
    let tyres_at_an_end = [outline.front_tyres_at_an_end, outline.rear_tyres_at_an_end]
        .map(|count| u32::try_from(count).unwrap_or(1).max(1));
    let carried_kg = [0, 1].map(|axle: usize| {
        let one_kg = sheet.tyres.get(axle)?.capacity_kg?;
        Some(one_kg * f64::from(tyres_at_an_end[axle]))
    });
    let wheel = |load_kg, axle: usize| HeldLoad {
        load_kg,
        limit_kg: carried_kg[axle],
    };
    let load = sheet.loads.first();
    let held = |of: Option<&LoadAgainstLimit>| HeldLoad {
        load_kg: of.map(|load| load.load_kg),
        limit_kg: of.and_then(|load| load.limit_kg),
    };
    PlanView {
        title: String::new(),
        state: String::new(),
        wheelbase_mm,
        tracks_mm: [outline.front_track_mm, outline.rear_track_mm].map(|track| track.unwrap_or(f64::NAN)),
        wheels: [
            wheel(wheels.front_left_kg, 0),
            wheel(wheels.front_right_kg, 0),
            wheel(wheels.rear_left_kg, 1),
            wheel(wheels.rear_right_kg, 1),
        ],
        tyres_at_an_end,
        axles: [
            held(load.and_then(|load| load.front_axle.as_ref())),
            held(load.and_then(|load| load.rear_axle.as_ref())),
        ],
        total: held(load.and_then(|load| load.total.as_ref())),
        centre_mm: load.and_then(|load| load.centre_x_mm).map(|x_mm| (x_mm, None)),
        masses: sheet
            .zones
            .iter()
            .map(|zone| {
                // A zone without a place has its number in the list, and no mark.
                let place = zone
                    .position
                    .map_or((f64::NAN, f64::NAN), |place| (place.x_mm, place.y_mm));
                PlanMass {
                    name: zone.display_name.clone(),
                    mass_kg: zone.mass_kg,
                    limit_kg: zone.limit_kg,
                    x_mm: place.0,
                    y_mm: place.1,
                }
            })
            .collect(),
        remarks: Vec::new(),
    }
}
