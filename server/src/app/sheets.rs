//! Load sheets: drafts, and as files.

use ostler_core::plan::outlook::PlanOutlook;
use ostler_core::record::{Date, Departure, Name};
use ostler_core::sheet;
use ostler_proto::v1;
use sha2::{Digest, Sha256};

use super::kinds::{Departures, Vehicles, name_of};
use super::record::Read;
use super::{App, AppError};
use crate::contract;
use crate::convert;

/// What was asked: the departure, the vehicle of it or nothing, the format, and the day.
pub(super) type Asked = (String, String, i32, Date);

impl App {
    /// Drafts the load sheet of one vehicle.
    ///
    /// # Errors
    /// When the departure or the vehicle does not exist, or the vehicle does not go.
    pub async fn draft_load_sheet(
        &self,
        request: v1::DraftLoadSheetRequest,
    ) -> Result<v1::LoadSheet, AppError> {
        let v1::DraftLoadSheetRequest { departure, vehicle } = request;
        let (read, departure) = self
            .read_departure(&name_of::<Departures>("departure", &departure)?)
            .await?;
        let vehicle = name_of::<Vehicles>("vehicle", &vehicle)?;
        let outlook = self.outlook(&read.record, &departure).await?;
        Ok(draft(&read, &departure, &vehicle, &outlook)?.1)
    }

    /// Writes the load sheets of a departure as files.
    ///
    /// # Errors
    /// As [`App::draft_load_sheet`].
    pub async fn render_load_sheets(
        &self,
        request: v1::RenderLoadSheetsRequest,
    ) -> Result<Vec<v1::RenderedLoadSheet>, AppError> {
        let asked = (request.departure, request.vehicle, request.format, self.today());
        if let Some(sheets) = self.load_sheets.get(&asked, &self.revisions).await? {
            return Ok(sheets);
        }
        let (read, departure) = self
            .read_departure(&name_of::<Departures>("departure", &asked.0)?)
            .await?;
        let vehicles: Vec<Name> = match asked.1.as_str() {
            "" => departure
                .vehicles
                .iter()
                .map(|going| going.vehicle.clone())
                .collect(),
            one => vec![name_of::<Vehicles>("vehicle", one)?],
        };
        let outlook = self.outlook(&read.record, &departure).await?;
        let format = v1::SheetFormat::try_from(asked.2).unwrap_or_default();
        let sheets: Vec<v1::RenderedLoadSheet> = vehicles
            .iter()
            .map(|vehicle| render(&read, &departure, vehicle, &outlook, format))
            .collect::<Result<_, _>>()?;
        self.load_sheets.keep(asked, read.revisions, sheets.clone());
        Ok(sheets)
    }
}

fn draft(
    read: &Read,
    departure: &Departure,
    vehicle: &Name,
    outlook: &PlanOutlook,
) -> Result<(sheet::LoadSheet, v1::LoadSheet), AppError> {
    if !departure.vehicles.iter().any(|going| going.vehicle == *vehicle) {
        return Err(AppError::field(
            "vehicle",
            format!("{vehicle} does not go on this departure"),
        ));
    }
    let Some(known) = read.record.vehicles.get(vehicle) else {
        return Err(AppError::NotFound {
            name: vehicle.to_string(),
        });
    };
    let sheet = sheet::draft(&read.record, departure, known, outlook);
    let mut message = convert::sheet::load_sheet_message(sheet.clone(), read.version());
    message.content_hash = content_hash(&message)?;
    Ok((sheet, message))
}

fn render(
    read: &Read,
    departure: &Departure,
    vehicle: &Name,
    outlook: &PlanOutlook,
    format: v1::SheetFormat,
) -> Result<v1::RenderedLoadSheet, AppError> {
    let (sheet, message) = draft(read, departure, vehicle, outlook)?;
    let (ending, content) = match format {
        v1::SheetFormat::Csv => {
            let content = ostler_sheet::comma_separated(&sheet).map_err(|source| AppError::Corrupt {
                name: vehicle.to_string(),
                source: Box::new(source),
            })?;
            ("csv", content)
        }
        v1::SheetFormat::Json | v1::SheetFormat::Unspecified => ("json", json(&message)?),
    };
    Ok(v1::RenderedLoadSheet {
        vehicle: vehicle.to_string(),
        file_name: format!("{}-{}.{ending}", departure.name.id(), vehicle.id()),
        content,
        content_hash: message.content_hash,
    })
}

/// SHA-256 over the sheet's JSON form without its hash, in hexadecimal.
fn content_hash(message: &v1::LoadSheet) -> Result<String, AppError> {
    let mut bare = message.clone();
    bare.content_hash.clear();
    Ok(Sha256::digest(json(&bare)?)
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect())
}

/// The JSON form of a sheet: keys in field order, fields that are not set left out, no spaces.
fn json(message: &v1::LoadSheet) -> Result<Vec<u8>, AppError> {
    serde_json::to_vec(&contract::dynamic(message)).map_err(|source| AppError::Corrupt {
        name: message.vehicle.clone(),
        source: Box::new(source),
    })
}
