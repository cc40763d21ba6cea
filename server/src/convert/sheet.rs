//! Load sheets.

use ostler_core::record::{Name, RulePack};
use ostler_core::sheet::{LoadSheet, SheetCondition, SheetCrew, SheetFill, SheetItem, SheetPaper, SheetZone};
use ostler_proto::v1;

use super::Converted;
use super::defect::accepted_condition_message;
use super::fleet::fluid_message;
use super::loads::load_result_message;
use super::readiness::{gate_message, verdict_message};

/// A draft as a message, its hash not yet set.
pub(crate) fn load_sheet_message(
    sheet: LoadSheet,
    record_version: String,
    rule_packs: Vec<v1::SheetRulePack>,
) -> v1::LoadSheet {
    let LoadSheet {
        departure,
        departure_display_name,
        departure_date,
        vehicle,
        vehicle_display_name,
        role,
        loads,
        zones,
        fills,
        crew,
        conditions,
        papers,
        open_gates,
        verdict,
        cautions,
    } = sheet;
    v1::LoadSheet {
        departure: departure.into(),
        departure_display_name,
        departure_date: departure_date.to_string(),
        vehicle: vehicle.into(),
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
        open_gates: open_gates.into_iter().map(gate_message).collect(),
        verdict: verdict_message(verdict).into(),
        cautions,
        rule_packs,
        ..v1::LoadSheet::default()
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
    } = zone;
    v1::SheetZone {
        zone: zone.map(String::from).unwrap_or_default(),
        display_name,
        items: items.into_iter().map(item_message).collect(),
        mass_kg,
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
    } = item;
    v1::SheetItem {
        cargo_item: cargo_item.into(),
        display_name,
        quantity: i32::try_from(quantity).unwrap_or(i32::MAX),
        mass_kg,
        restraint,
        hazard,
        critical,
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
    } = fill;
    v1::SheetFill {
        tank: tank.into(),
        display_name,
        fluid: fluid_message(fluid).into(),
        volume_l,
        usable_l,
        mass_kg,
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
    } = condition;
    v1::SheetCondition {
        record: record.into(),
        subject,
        condition: Some(accepted_condition_message(condition)),
    }
}

fn paper_message(paper: SheetPaper) -> v1::SheetPaper {
    let SheetPaper {
        evidence,
        display_name,
        reference,
        valid_until_date,
    } = paper;
    v1::SheetPaper {
        evidence: evidence.into(),
        display_name,
        reference,
        valid_until_date: valid_until_date.map(|date| date.to_string()).unwrap_or_default(),
    }
}
