//! Load sheets.

use ostler_core::record::{Departure, Leg, Name, RulePack};
use ostler_core::sheet::{
    LoadSheet, SheetCondition, SheetCrew, SheetFill, SheetItem, SheetPaper, SheetWheels, SheetZone,
};
use ostler_proto::v1;

use super::Converted;
use super::common::position_message;
use super::defect::accepted_condition_message;
use super::fleet::fluid_message;
use super::loads::load_result_message;
use super::readiness::{answer_message, gate_message, verdict_message};
use super::tyres::axle_message;

/// A draft for `going_on` as a message, its hash not yet set.
pub(crate) fn load_sheet_message(
    going_on: &Departure,
    sheet: LoadSheet,
    record_version: String,
    rule_packs: Vec<v1::SheetRulePack>,
) -> v1::LoadSheet {
    let LoadSheet {
        departure,
        departure_display_name,
        departure_date,
        return_date,
        legs,
        vehicle,
        vehicle_display_name,
        role,
        loads,
        wheels,
        tyres,
        outline,
        zones,
        fills,
        crew,
        conditions,
        papers,
        open_gates,
        convoy_gates,
        verdict,
        departure_verdict,
        cautions,
    } = sheet;
    v1::LoadSheet {
        departure: departure.into(),
        departure_display_name,
        departure_date: departure_date.to_string(),
        vehicle: vehicle.to_string(),
        vehicle_display_name,
        role,
        draft: true,
        record_version,
        loads: loads.into_iter().map(load_result_message).collect(),
        zones: zones.into_iter().map(zone_message).collect(),
        fills: fills.into_iter().map(fill_message).collect(),
        crew: crew.into_iter().map(crew_message).collect(),
        conditions: conditions.into_iter().map(condition_message).collect(),
        papers: papers.into_iter().map(paper_message).collect(),
        open_gates: open_gates.iter().map(gate_message).collect(),
        verdict: verdict_message(verdict).into(),
        cautions,
        rule_packs,
        return_date: return_date.to_string(),
        legs: legs.into_iter().map(leg_message).collect(),
        wheels: wheels.into_iter().map(wheels_message).collect(),
        tyres: tyres
            .iter()
            .map(|axle| axle_message(going_on, &vehicle, axle))
            .collect(),
        outline: Some(v1::SheetOutline {
            wheelbase_mm: outline.wheelbase_mm,
            front_track_mm: outline.front_track_mm,
            rear_track_mm: outline.rear_track_mm,
            front_tyres_at_an_end: i32::try_from(outline.tyres_at_an_end[0]).unwrap_or(i32::MAX),
            rear_tyres_at_an_end: i32::try_from(outline.tyres_at_an_end[1]).unwrap_or(i32::MAX),
        }),
        convoy_gates: convoy_gates.iter().map(gate_message).collect(),
        departure_verdict: verdict_message(departure_verdict).into(),
        ..v1::LoadSheet::default()
    }
}

fn leg_message(leg: Leg) -> v1::SheetLeg {
    v1::SheetLeg {
        leg: leg.id.into(),
        start_place: leg.start_place,
        end_place: leg.end_place,
        planned_days: leg.planned_days,
        map_distance_km: leg.map_distance_km,
    }
}

fn wheels_message(wheels: SheetWheels) -> v1::SheetWheels {
    let SheetWheels {
        load_state,
        from_stance,
        loads_kg: [front_left_kg, front_right_kg, rear_left_kg, rear_right_kg],
    } = wheels;
    v1::SheetWheels {
        load_state,
        from_stance,
        front_left_kg,
        front_right_kg,
        rear_left_kg,
        rear_right_kg,
    }
}

/// An issued sheet has no form in the record: nothing is computed from it.
pub(crate) fn no_record(_name: Name, _message: v1::IssuedLoadSheet) -> Converted<()> {
    Ok(())
}

/// The rule packs of a departure, as a sheet names them.
pub(crate) fn sheet_rule_pack_message(pack: &RulePack) -> v1::SheetRulePack {
    v1::SheetRulePack {
        rule_pack: pack.name.to_string(),
        display_name: pack.display_name.clone(),
        version: pack.version.clone(),
        effective_date: pack.effective_date.to_string(),
    }
}

fn zone_message(zone: SheetZone) -> v1::SheetZone {
    let SheetZone {
        zone,
        display_name,
        items,
        mass_kg,
        position,
        limit_kg,
        on_roof,
    } = zone;
    v1::SheetZone {
        zone: zone.map(String::from).unwrap_or_default(),
        display_name,
        items: items.into_iter().map(item_message).collect(),
        mass_kg,
        position: position.map(position_message),
        limit_kg,
        on_roof,
    }
}

fn item_message(item: SheetItem) -> v1::SheetItem {
    let SheetItem {
        cargo_item,
        display_name,
        quantity,
        mass_kg,
        restraint,
        hazard,
        critical,
        held,
        consumed,
    } = item;
    v1::SheetItem {
        cargo_item: cargo_item.into(),
        display_name,
        quantity: i32::try_from(quantity).unwrap_or(i32::MAX),
        mass_kg,
        restraint,
        hazard,
        critical,
        held: answer_message(held).into(),
        consumed,
    }
}

fn fill_message(fill: SheetFill) -> v1::SheetFill {
    let SheetFill {
        tank,
        display_name,
        fluid,
        volume_l,
        usable_l,
        mass_kg,
        drawdown,
        capacity_l,
        position,
    } = fill;
    v1::SheetFill {
        tank: tank.into(),
        display_name,
        fluid: fluid_message(fluid).into(),
        volume_l,
        usable_l,
        mass_kg,
        drawdown: i32::try_from(drawdown).unwrap_or(i32::MAX),
        capacity_l,
        position: Some(position_message(position)),
    }
}

fn crew_message(member: SheetCrew) -> v1::SheetCrew {
    let SheetCrew { role, driver } = member;
    v1::SheetCrew { role, driver }
}

fn condition_message(condition: SheetCondition) -> v1::SheetCondition {
    let SheetCondition {
        record,
        subject,
        condition,
        gate,
        of_convoy,
        signed_by,
    } = condition;
    v1::SheetCondition {
        record: record.into(),
        subject,
        condition: Some(accepted_condition_message(condition)),
        gate: gate.map(String::from).unwrap_or_default(),
        of_convoy,
        signed_by,
    }
}

fn paper_message(paper: SheetPaper) -> v1::SheetPaper {
    let SheetPaper {
        evidence,
        display_name,
        reference,
        valid_until_date,
        valid,
    } = paper;
    v1::SheetPaper {
        evidence: evidence.into(),
        display_name,
        reference,
        valid_until_date: valid_until_date.map(|date| date.to_string()).unwrap_or_default(),
        valid: answer_message(valid).into(),
    }
}
