//! A load sheet as comma-separated values: one table of `section,item,figure,value,unit`, so that a
//! script finds any number by three keys and a spreadsheet shows the rest.

use ostler_proto::v1::{LoadAgainstLimit, LoadResult, LoadSheet};

use crate::SheetError;
use crate::words::{self, decimal};

/// Columns of the table.
const COLUMNS: [&str; 5] = ["section", "item", "figure", "value", "unit"];

/// Writes `sheet`; UTF-8, a header line, lines end in CR LF as RFC 4180 says.
///
/// # Errors
/// When memory fails.
pub fn comma_separated(sheet: &LoadSheet) -> Result<Vec<u8>, SheetError> {
    let mut table = Table::new()?;
    table.text("sheet", "departure", "name", &sheet.departure)?;
    table.text("sheet", "departure", "departure_date", &sheet.departure_date)?;
    table.text("sheet", "departure", "return_date", &sheet.return_date)?;
    let departure_verdict = words::verdict(sheet.departure_verdict());
    table.text("sheet", "departure", "verdict", departure_verdict)?;
    table.text("sheet", "vehicle", "name", &sheet.vehicle)?;
    table.text("sheet", "vehicle", "display_name", &sheet.vehicle_display_name)?;
    table.text("sheet", "vehicle", "role", &sheet.role)?;
    table.text("sheet", "vehicle", "verdict", words::verdict(sheet.verdict()))?;
    if !sheet.draft {
        issue(&mut table, sheet)?;
    }
    for load in &sheet.loads {
        loads(&mut table, load)?;
    }
    way_and_wheels(&mut table, sheet)?;
    tyres(&mut table, sheet)?;
    cargo(&mut table, sheet)?;
    fills(&mut table, sheet)?;
    people_and_papers(&mut table, sheet)?;
    for (section, gates) in [("gate", &sheet.open_gates), ("convoy gate", &sheet.convoy_gates)] {
        for gate in gates {
            table.text(section, &gate.id, "answer", words::answer(gate.answer()))?;
            table.text(section, &gate.id, "summary", &gate.summary)?;
        }
    }
    for (index, caution) in sheet.cautions.iter().enumerate() {
        table.text("caution", &(index + 1).to_string(), "text", caution)?;
    }
    table.finish()
}

/// Number, signatures and the rest of what issuing adds.
fn issue(table: &mut Table, sheet: &LoadSheet) -> Result<(), SheetError> {
    table.text("issue", "sheet", "name", &sheet.name)?;
    table.number("issue", "sheet", "number", f64::from(sheet.number), "1")?;
    table.text("issue", "sheet", "supersedes", &sheet.supersedes)?;
    table.text("issue", "sheet", "reason", &sheet.reason)?;
    if let Some(time) = sheet.issue_time {
        table.text("issue", "sheet", "issue_time", &time.to_string())?;
    }
    for signature in &sheet.signatures {
        table.text(
            "signature",
            &signature.role,
            "display_name",
            &signature.display_name,
        )?;
        table.text("signature", &signature.role, "token", &signature.token)?;
    }
    for pack in &sheet.rule_packs {
        table.text("rule pack", &pack.rule_pack, "version", &pack.version)?;
    }
    Ok(())
}

fn loads(table: &mut Table, load: &LoadResult) -> Result<(), SheetError> {
    let section = format!("loads at {}", load.load_state);
    for (item, mass_kg) in [
        ("baseline", load.baseline_mass_kg),
        ("fitment_change", load.fitment_change_kg),
        ("crew", load.crew_mass_kg),
        ("fuel", load.fuel_mass_kg),
        ("water", load.water_mass_kg),
        ("cargo", load.cargo_mass_kg),
    ] {
        table.number(&section, item, "mass", mass_kg, "kg")?;
    }
    against_limit(table, &section, "total", load.total.as_ref())?;
    against_limit(table, &section, "front_axle", load.front_axle.as_ref())?;
    against_limit(table, &section, "rear_axle", load.rear_axle.as_ref())?;
    against_limit(table, &section, "roof", load.roof.as_ref())?;
    for zone in &load.zones {
        against_limit(
            table,
            &section,
            &format!("zone {}", zone.zone),
            zone.load.as_ref(),
        )?;
    }
    for missing in &load.missing {
        table.text(&section, "missing", "text", missing)?;
    }
    Ok(())
}

fn against_limit(
    table: &mut Table,
    section: &str,
    item: &str,
    load: Option<&LoadAgainstLimit>,
) -> Result<(), SheetError> {
    let Some(load) = load else {
        return table.text(section, item, "answer", "not known");
    };
    table.number(section, item, "load", load.load_kg, "kg")?;
    table.number(section, item, "uncertainty", load.uncertainty_kg, "kg")?;
    table.optional(section, item, "limit", load.limit_kg, "kg")?;
    table.optional(section, item, "margin", load.margin_kg, "kg")?;
    table.text(section, item, "answer", words::answer(load.answer()))
}

fn way_and_wheels(table: &mut Table, sheet: &LoadSheet) -> Result<(), SheetError> {
    for leg in &sheet.legs {
        table.text("way", &leg.leg, "start_place", &leg.start_place)?;
        table.text("way", &leg.leg, "end_place", &leg.end_place)?;
        table.number("way", &leg.leg, "map_distance", leg.map_distance_km, "km")?;
        table.number("way", &leg.leg, "planned", leg.planned_days, "d")?;
    }
    for wheels in &sheet.wheels {
        let section = format!("wheels at {}", wheels.load_state);
        let basis = if wheels.from_stance {
            "on its springs"
        } else {
            "half of the axle"
        };
        table.text(&section, "all", "basis", basis)?;
        for (wheel, load_kg) in [
            ("front_left", wheels.front_left_kg),
            ("front_right", wheels.front_right_kg),
            ("rear_left", wheels.rear_left_kg),
            ("rear_right", wheels.rear_right_kg),
        ] {
            table.optional(&section, wheel, "load", load_kg, "kg")?;
        }
    }
    Ok(())
}

fn tyres(table: &mut Table, sheet: &LoadSheet) -> Result<(), SheetError> {
    for axle in &sheet.tyres {
        table.optional("tyres", &axle.axle, "heaviest_wheel", axle.wheel_load_kg, "kg")?;
        table.optional("tyres", &axle.axle, "capacity", axle.capacity_kg, "kg")?;
        table.optional("tyres", &axle.axle, "needed_pressure", axle.needed_kpa, "kPa")?;
        for planned in &axle.planned {
            let item = format!("{} on {}", axle.axle, planned.surfaces.join(", "));
            table.number("pressures", &item, "pressure", planned.pressure_kpa, "kPa")?;
            table.number(
                "pressures",
                &item,
                "speed_max",
                planned.speed_max_km_per_h,
                "km/h",
            )?;
        }
    }
    Ok(())
}

fn cargo(table: &mut Table, sheet: &LoadSheet) -> Result<(), SheetError> {
    for zone in &sheet.zones {
        let section = format!("zone {}", zone.display_name);
        table.number(&section, "all", "mass", zone.mass_kg, "kg")?;
        for item in &zone.items {
            let id = words::id(&item.cargo_item);
            table.text(&section, id, "display_name", &item.display_name)?;
            table.number(&section, id, "quantity", f64::from(item.quantity), "1")?;
            table.optional(&section, id, "mass", item.mass_kg, "kg")?;
            table.text(&section, id, "restraint", &item.restraint)?;
            table.text(&section, id, "held", words::answer(item.held()))?;
            if !item.hazard.is_empty() {
                table.text(&section, id, "hazard", &item.hazard)?;
            }
            if item.critical {
                table.text(&section, id, "critical", "yes")?;
            }
        }
    }
    Ok(())
}

fn fills(table: &mut Table, sheet: &LoadSheet) -> Result<(), SheetError> {
    for fill in &sheet.fills {
        table.text("fluids", &fill.tank, "fluid", words::fluid(fill.fluid()))?;
        table.text("fluids", &fill.tank, "display_name", &fill.display_name)?;
        table.optional("fluids", &fill.tank, "aboard", fill.volume_l, "l")?;
        table.optional("fluids", &fill.tank, "usable", fill.usable_l, "l")?;
        table.optional("fluids", &fill.tank, "mass", fill.mass_kg, "kg")?;
        table.number("fluids", &fill.tank, "capacity", fill.capacity_l, "l")?;
        table.number("fluids", &fill.tank, "drawdown", f64::from(fill.drawdown), "1")?;
    }
    Ok(())
}

fn people_and_papers(table: &mut Table, sheet: &LoadSheet) -> Result<(), SheetError> {
    for member in &sheet.crew {
        table.text(
            "crew",
            &member.role,
            "drives",
            if member.driver { "yes" } else { "no" },
        )?;
    }
    for condition in &sheet.conditions {
        let id = words::id(&condition.record);
        let accepted = condition.condition.clone().unwrap_or_default();
        table.text("condition", id, "subject", &condition.subject)?;
        table.text("condition", id, "condition", &accepted.condition)?;
        table.text("condition", id, "owner", &accepted.owner)?;
        table.text("condition", id, "check_interval", &accepted.check_interval)?;
        table.text("condition", id, "accepted_by", &accepted.accepted_by)?;
        table.text("condition", id, "gate", &condition.gate)?;
        table.text("condition", id, "signed_by", &condition.signed_by)?;
    }
    for paper in &sheet.papers {
        let id = words::id(&paper.evidence);
        table.text("paper", id, "display_name", &paper.display_name)?;
        table.text("paper", id, "reference", &paper.reference)?;
        if !paper.valid_until_date.is_empty() {
            table.text("paper", id, "valid_until_date", &paper.valid_until_date)?;
        }
        table.text("paper", id, "valid", words::answer(paper.valid()))?;
    }
    Ok(())
}

struct Table {
    writer: csv::Writer<Vec<u8>>,
}

impl Table {
    fn new() -> Result<Self, SheetError> {
        let mut writer = csv::WriterBuilder::new()
            .terminator(csv::Terminator::CRLF)
            .from_writer(Vec::new());
        writer
            .write_record(COLUMNS)
            .map_err(|error| SheetError::Table(Box::new(error)))?;
        Ok(Self { writer })
    }

    fn row(
        &mut self,
        section: &str,
        item: &str,
        figure: &str,
        value: &str,
        unit: &str,
    ) -> Result<(), SheetError> {
        self.writer
            .write_record([&disarm(section), &disarm(item), figure, value, unit])
            .map_err(|error| SheetError::Table(Box::new(error)))
    }

    fn text(&mut self, section: &str, item: &str, figure: &str, value: &str) -> Result<(), SheetError> {
        self.row(section, item, figure, &disarm(value), "")
    }

    fn number(
        &mut self,
        section: &str,
        item: &str,
        figure: &str,
        value: f64,
        unit: &str,
    ) -> Result<(), SheetError> {
        self.row(section, item, figure, &decimal(value), unit)
    }

    fn optional(
        &mut self,
        section: &str,
        item: &str,
        figure: &str,
        value: Option<f64>,
        unit: &str,
    ) -> Result<(), SheetError> {
        match value {
            Some(value) => self.number(section, item, figure, value, unit),
            None => self.text(section, item, figure, "not known"),
        }
    }

    fn finish(self) -> Result<Vec<u8>, SheetError> {
        self.writer
            .into_inner()
            .map_err(|error| SheetError::Table(Box::new(error.into_error())))
    }
}

/// Keeps a spreadsheet from taking a text for a formula.
pub(crate) fn disarm(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_text_reads_as_a_formula() {
        for text in ["=1+1", "+1", "-1", "@x", "\tx"] {
            assert!(disarm(text).starts_with('\''), "{text}");
        }
        assert_eq!(disarm("strap 50 mm"), "strap 50 mm");
    }

    #[test]
    fn numbers_have_no_noise() {
        assert_eq!(decimal(0.1 + 0.2), "0.3");
        assert_eq!(decimal(-0.0001), "0");
        assert_eq!(decimal(-37.8), "-37.8");
    }
}
