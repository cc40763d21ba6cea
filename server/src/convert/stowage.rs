//! Stowages as messages.

use ostler_core::record::{Departure, Name, Record};
use ostler_core::stowage::{
    Binding, FromRecord, ItemLoad, LeftOut, LeftOutItem, Limit, LimitMargin, LimitRef, Move, Progress,
    Stowage, explanation,
};
use ostler_proto::v1;
use prost_types::FieldMask;

use super::common::position_message;
use super::readiness::answer_message;

/// Fields of a cargo item that a move sets.
const MOVED_FIELDS: [&str; 3] = ["vehicle", "zone", "position"];

pub(crate) fn progress_message(progress: Progress) -> v1::StowageProgress {
    let Progress {
        steps,
        smallest_margin,
        margin_bound,
        moved_mass_kg,
    } = progress;
    v1::StowageProgress {
        steps_count: count(steps),
        smallest_margin_fraction: smallest_margin,
        margin_bound_fraction: margin_bound,
        moved_mass_kg,
    }
}

/// The stowage that was found for the question `asked`.
pub(crate) fn stowage_message(
    record: &Record,
    departure: &Departure,
    record_version: String,
    asked: FromRecord,
    found: Stowage,
) -> v1::Stowage {
    let explanation = explanation(record, &found);
    let FromRecord {
        convoy: _,
        left_out,
        staying,
        missing,
    } = asked;
    let Stowage {
        answer,
        places: _,
        moves,
        moved_mass_kg,
        smallest_margin,
        smallest_margin_now,
        margin_bound,
        gap,
        margins,
        binding,
        held_by,
        without_place,
        steps,
        formula_version,
        caution,
    } = found;
    v1::Stowage {
        departure: departure.name.to_string(),
        answer: answer_message(answer).into(),
        explanation,
        smallest_margin_fraction: smallest_margin,
        smallest_margin_now_fraction: smallest_margin_now,
        margin_bound_fraction: margin_bound,
        gap_fraction: gap,
        changes: moves.iter().map(change).collect(),
        moves: moves.into_iter().map(|one| move_message(record, one)).collect(),
        moved_mass_kg,
        margins: margins.into_iter().map(margin_message).collect(),
        binding: binding.map(|binding| binding_message(record, binding)),
        held_by: held_by.into_iter().map(limit_message).collect(),
        without_place: without_place.into_iter().map(Name::into).collect(),
        left_out: left_out.into_iter().map(left_out_message).collect(),
        staying: staying
            .into_iter()
            .map(|item| staying_message(record, item))
            .collect(),
        missing,
        steps_count: count(steps),
        record_version,
        formula_version: formula_version.to_owned(),
        caution: caution.to_owned(),
    }
}

fn count(steps: u64) -> i64 {
    i64::try_from(steps).unwrap_or(i64::MAX)
}

fn display_name(record: &Record, item: &Name) -> String {
    let item = record.cargo_items.get(item);
    item.map(|item| item.display_name.clone()).unwrap_or_default()
}

/// The request that makes a move.
fn change(one: &Move) -> v1::Change {
    let cargo_item = v1::CargoItem {
        name: one.cargo_item.to_string(),
        vehicle: one.to_vehicle.to_string(),
        zone: one.to_zone.to_string(),
        position: Some(position_message(one.to_position)),
        ..v1::CargoItem::default()
    };
    let update = v1::UpdateCargoItemRequest {
        cargo_item: Some(cargo_item),
        update_mask: Some(FieldMask {
            paths: MOVED_FIELDS.map(str::to_owned).to_vec(),
        }),
        ..v1::UpdateCargoItemRequest::default()
    };
    v1::Change {
        change: Some(v1::change::Change::UpdateCargoItem(update)),
    }
}

fn move_message(record: &Record, one: Move) -> v1::StowageMove {
    let Move {
        cargo_item,
        mass_kg,
        from,
        to_vehicle,
        to_zone,
        to_position,
    } = one;
    let (from_vehicle, from_zone) = from
        .map(|(vehicle, zone)| (vehicle.into(), zone.into()))
        .unwrap_or_default();
    v1::StowageMove {
        display_name: display_name(record, &cargo_item),
        cargo_item: cargo_item.into(),
        mass_kg,
        from_vehicle,
        from_zone,
        to_vehicle: to_vehicle.into(),
        to_zone: to_zone.into(),
        to_position: Some(position_message(to_position)),
    }
}

fn limit_message(limit: LimitRef) -> v1::StowageLimit {
    let LimitRef { vehicle, limit } = limit;
    v1::StowageLimit {
        vehicle: vehicle.into(),
        limit: Limit::id(&limit),
    }
}

fn margin_message(margin: LimitMargin) -> v1::StowageMargin {
    let LimitMargin {
        vehicle,
        limit,
        load_state,
        load,
        limit_value,
        margin,
        kept,
    } = margin;
    v1::StowageMargin {
        limit: Some(limit_message(LimitRef { vehicle, limit })),
        load_state,
        load_kg: load,
        limit_kg: limit_value,
        margin_fraction: margin,
        kept,
    }
}

fn binding_message(record: &Record, binding: Binding) -> v1::StowageBinding {
    let Binding { limit, base, items } = binding;
    let items = items.into_iter().map(|item| {
        let ItemLoad { cargo_item, load } = item;
        v1::StowageItemLoad {
            display_name: display_name(record, &cargo_item),
            cargo_item: cargo_item.into(),
            load_kg: load,
        }
    });
    v1::StowageBinding {
        margin: Some(margin_message(limit)),
        base_load_kg: base,
        items: items.collect(),
    }
}

fn left_out_message(left_out: LeftOut) -> v1::StowageLeftOut {
    let LeftOut { vehicle, reasons } = left_out;
    v1::StowageLeftOut {
        vehicle: vehicle.into(),
        reasons,
    }
}

fn staying_message(record: &Record, item: LeftOutItem) -> v1::StowageStaying {
    let LeftOutItem { cargo_item, reason } = item;
    v1::StowageStaying {
        display_name: display_name(record, &cargo_item),
        cargo_item: cargo_item.into(),
        reason,
    }
}
