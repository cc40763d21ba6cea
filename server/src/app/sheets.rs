//! Load sheets: drafts, and sheets as files.

use std::collections::BTreeMap;

use ostler_core::readiness::Readiness;
use ostler_core::record::{Date, Departure, Name, Record};
use ostler_core::sheet;
use ostler_proto::v1;
use ostler_sheet::{ConvoySheet, Fonts, PageSize};
use prost_reflect::{DeserializeOptions, DynamicMessage, ReflectMessage};
use sha2::{Digest, Sha256};

use super::kinds::{Departures, Vehicles, name_of};
use super::long_work::apart;
use super::readiness::Assessed;
use super::revisions::{Revisions, Seen};
use super::{App, AppError, Encoded};
use crate::{contract, convert};

/// What was asked: the departure, the vehicle of it or nothing, the form, and the day.
pub(super) type Asked = (String, String, Form, Date);

/// In what form sheets are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) struct Form {
    format: v1::SheetFormat,
    letter: bool,
    summary: bool,
}

impl Form {
    fn of(request: &v1::RenderLoadSheetsRequest) -> Self {
        Self {
            format: request.format(),
            letter: request.page_size() == v1::PageSize::Letter,
            summary: request.summary,
        }
    }

    fn pages(self) -> PageSize {
        page_size(self.letter)
    }
}

/// The size of printed pages.
pub(super) fn page_size(letter: bool) -> PageSize {
    if letter { PageSize::LETTER } else { PageSize::A4 }
}

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
        let assessed = self
            .assessed(&name_of::<Departures>("departure", &departure)?, None)
            .await?;
        let vehicle = name_of::<Vehicles>("vehicle", &vehicle)?;
        self.compute("load sheet", move || assessed.draft(&vehicle)).await
    }

    /// Writes the load sheets of a departure as files: drafts, or those issued last.
    ///
    /// # Errors
    /// As [`App::draft_load_sheet`]; when issued sheets are asked for and there is none.
    pub async fn render_load_sheets(
        &self,
        request: v1::RenderLoadSheetsRequest,
    ) -> Result<Vec<Encoded<v1::RenderedLoadSheet>>, AppError> {
        if request.summary && !(request.vehicle.is_empty() && request.format() == v1::SheetFormat::Pdf) {
            return Err(AppError::field(
                "summary",
                "is written as PDF only, and of a whole departure",
            ));
        }
        if request.issued {
            return self.render_issued(request).await;
        }
        let form = Form::of(&request);
        let asked = (request.departure, request.vehicle, form, self.today());
        let compute = |seen| self.drafts(&asked, seen);
        self.load_sheets
            .get_or(&asked, &self.revisions, None, compute)
            .await
    }

    async fn drafts(
        &self,
        asked: &Asked,
        seen: Option<Seen>,
    ) -> Result<(Revisions, Vec<Encoded<v1::RenderedLoadSheet>>), AppError> {
        let (departure, vehicle, form, _) = asked;
        let assessed = self
            .assessed(&name_of::<Departures>("departure", departure)?, seen)
            .await?;
        let vehicles: Vec<Name> = match vehicle.as_str() {
            "" => assessed
                .departure
                .vehicles
                .iter()
                .map(|going| going.vehicle.clone())
                .collect(),
            one => vec![name_of::<Vehicles>("vehicle", one)?],
        };
        let revisions = assessed.read.revisions.clone();
        let (form, fonts) = (*form, self.fonts.clone());
        let drafts = self.compute("load sheets", move || {
            let drafts = vehicles.iter().map(|vehicle| assessed.draft(vehicle));
            drafts.collect::<Result<_, _>>()
        });
        let drafts = drafts.await?;
        // Setting pages takes long: no turn of computing is held for it.
        let write = move || encoded(&written(drafts, form, &fonts)?);
        Ok((revisions, apart("pages", write).await?))
    }

    /// The sheets issued last, one per vehicle, as files.
    async fn render_issued(
        &self,
        request: v1::RenderLoadSheetsRequest,
    ) -> Result<Vec<Encoded<v1::RenderedLoadSheet>>, AppError> {
        let departure = name_of::<Departures>("departure", &request.departure)?;
        let form = Form::of(&request);
        let mut last: BTreeMap<String, v1::IssuedLoadSheet> = BTreeMap::new();
        for stored in self.issued_of(&departure).await? {
            let wanted = request.vehicle.is_empty() || request.vehicle == stored.message.vehicle;
            if wanted && stored.message.superseded_by.is_empty() {
                last.insert(stored.message.vehicle.clone(), stored.message);
            }
        }
        if last.is_empty() {
            return Err(AppError::WrongState {
                name: departure.to_string(),
                problem: "has no issued load sheet of what was asked for".to_owned(),
            });
        }
        let mut issued = Vec::new();
        for sheet in last.into_values() {
            // Only a summary says it; a sheet by itself is what was issued.
            let overtaken = form.summary && self.is_overtaken(&sheet).await?;
            issued.push((sheet, overtaken));
        }
        let without = match form.summary {
            true => self.vehicles_without(&departure, &issued).await?,
            false => Vec::new(),
        };
        let fonts = self.fonts.clone();
        apart("issued sheets", move || {
            encoded(&issued_files(issued, &without, form, &fonts)?)
        })
        .await
    }

    /// The vehicles that go and are not among `issued`.
    async fn vehicles_without(
        &self,
        departure: &Name,
        issued: &[(v1::IssuedLoadSheet, bool)],
    ) -> Result<Vec<String>, AppError> {
        let stored = self.stored::<Departures>(departure).await?;
        let going = stored.message.vehicles.into_iter().map(|going| going.vehicle);
        let has_none = |vehicle: &String| !issued.iter().any(|(sheet, _)| sheet.vehicle == *vehicle);
        Ok(going.filter(has_none).collect())
    }
}

/// Files as they are sent.
fn encoded(files: &[v1::RenderedLoadSheet]) -> Result<Vec<Encoded<v1::RenderedLoadSheet>>, AppError> {
    files.iter().map(Encoded::of).collect()
}

/// Issued sheets as files, from their bytes.
fn issued_files(
    issued: Vec<(v1::IssuedLoadSheet, bool)>,
    without: &[String],
    form: Form,
    fonts: &Fonts,
) -> Result<Vec<v1::RenderedLoadSheet>, AppError> {
    let mut sheets = Vec::new();
    let mut files = Vec::new();
    for (issued, overtaken) in issued {
        let sheet = from_json(&issued.name, &issued.content)?;
        files.push(render(&sheet, issued.content, issued.content_hash, form, fonts)?);
        sheets.push((sheet, overtaken));
    }
    if form.summary {
        files.extend(summary(&sheets, without, form, fonts)?);
    }
    Ok(files)
}

impl Assessed {
    /// The draft of the sheet of a vehicle.
    ///
    /// # Errors
    /// When the vehicle does not go or does not exist.
    fn draft(&self, vehicle: &Name) -> Result<v1::LoadSheet, AppError> {
        let (record, version) = (&self.read.record, self.read.version());
        let mut sheet = draft(record, version, &self.departure, vehicle, &self.readiness)?;
        sheet.content_hash = content_hash(&sheet)?;
        Ok(sheet)
    }
}

/// The draft of a sheet as a message, its hash not yet set.
///
/// # Errors
/// When the vehicle does not go or does not exist.
pub(super) fn draft(
    record: &Record,
    version: String,
    departure: &Departure,
    vehicle: &Name,
    readiness: &Readiness,
) -> Result<v1::LoadSheet, AppError> {
    if !departure.vehicles.iter().any(|going| going.vehicle == *vehicle) {
        return Err(AppError::field(
            "vehicle",
            format!("{vehicle} does not go on this departure"),
        ));
    }
    let Some(known) = record.vehicles.get(vehicle) else {
        return Err(AppError::NotFound {
            name: vehicle.to_string(),
        });
    };
    let rule_packs = departure
        .rule_packs
        .iter()
        .filter_map(|pack| record.rule_packs.get(pack))
        .map(convert::sheet::sheet_rule_pack_message)
        .collect();
    let sheet = sheet::draft(record, departure, known, readiness);
    Ok(convert::sheet::load_sheet_message(
        departure, sheet, version, rule_packs,
    ))
}

/// Drafts as files. Setting pages takes its time.
fn written(
    drafts: Vec<v1::LoadSheet>,
    form: Form,
    fonts: &Fonts,
) -> Result<Vec<v1::RenderedLoadSheet>, AppError> {
    let mut files = Vec::new();
    for sheet in &drafts {
        files.push(render(
            sheet,
            json(sheet)?,
            sheet.content_hash.clone(),
            form,
            fonts,
        )?);
    }
    if form.summary {
        let drafts: Vec<(v1::LoadSheet, bool)> = drafts.into_iter().map(|sheet| (sheet, false)).collect();
        files.extend(summary(&drafts, &[], form, fonts)?);
    }
    Ok(files)
}

/// The summary of the convoy from its sheets, each with whether it was overtaken, and the vehicles that have none. `None`: no
/// vehicle goes.
fn summary(
    sheets: &[(v1::LoadSheet, bool)],
    without: &[String],
    form: Form,
    fonts: &Fonts,
) -> Result<Option<v1::RenderedLoadSheet>, AppError> {
    let Some((first, _)) = sheets.first() else {
        return Ok(None);
    };
    let of_convoy: Vec<ConvoySheet<'_>> = sheets
        .iter()
        .map(|(sheet, overtaken)| ConvoySheet {
            sheet,
            overtaken: *overtaken,
        })
        .collect();
    let content =
        ostler_sheet::convoy_pages(&of_convoy, without, form.pages(), fonts).map_err(unwritable(first))?;
    Ok(Some(v1::RenderedLoadSheet {
        file_name: format!("{}-convoy.pdf", id(&first.departure)),
        content_hash: sha256(&content),
        content,
        ..v1::RenderedLoadSheet::default()
    }))
}

/// `sheet`, whose JSON form is `bytes`, as a file.
fn render(
    sheet: &v1::LoadSheet,
    bytes: Vec<u8>,
    content_hash: String,
    form: Form,
    fonts: &Fonts,
) -> Result<v1::RenderedLoadSheet, AppError> {
    let refused = unwritable(sheet);
    let (ending, content) = match form.format {
        v1::SheetFormat::Csv => ("csv", ostler_sheet::comma_separated(sheet).map_err(refused)?),
        v1::SheetFormat::Xlsx => (
            "xlsx",
            ostler_sheet::workbook(sheet, &content_hash).map_err(refused)?,
        ),
        v1::SheetFormat::Pdf => (
            "pdf",
            ostler_sheet::sheet_pages(sheet, &content_hash, form.pages(), fonts).map_err(refused)?,
        ),
        v1::SheetFormat::Json | v1::SheetFormat::Unspecified => ("json", bytes),
    };
    let own = match sheet.name.as_str() {
        "" => id(&sheet.vehicle),
        issued => id(issued),
    };
    Ok(v1::RenderedLoadSheet {
        vehicle: sheet.vehicle.clone(),
        file_name: format!("{}-{own}.{ending}", id(&sheet.departure)),
        content,
        content_hash,
        load_sheet: sheet.name.clone(),
    })
}

/// The last part of a name.
pub(super) fn id(name: &str) -> &str {
    name.rsplit('/').next().unwrap_or_default()
}

fn unwritable<E: std::error::Error + Send + Sync + 'static>(
    sheet: &v1::LoadSheet,
) -> impl FnOnce(E) -> AppError {
    let name = sheet.vehicle.clone();
    move |source| AppError::Corrupt {
        name,
        source: Box::new(source),
    }
}

/// SHA-256 over the sheet's JSON form without its hash, in hexadecimal.
fn content_hash(message: &v1::LoadSheet) -> Result<String, AppError> {
    let mut bare = message.clone();
    bare.content_hash.clear();
    Ok(sha256(&json(&bare)?))
}

/// SHA-256 in hexadecimal.
pub(super) fn sha256(bytes: &[u8]) -> String {
    Sha256::digest(bytes)
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

/// The canonical JSON form of a sheet: keys in field order, fields that are not set left out, no spaces.
pub(super) fn json(message: &v1::LoadSheet) -> Result<Vec<u8>, AppError> {
    serde_json::to_vec(&contract::dynamic(message)).map_err(|source| AppError::Corrupt {
        name: message.vehicle.clone(),
        source: Box::new(source),
    })
}

/// A sheet from its JSON form. Fields that this server does not know are passed over: they are in the bytes.
pub(super) fn from_json(name: &str, bytes: &[u8]) -> Result<v1::LoadSheet, AppError> {
    let corrupt = |source: Box<dyn std::error::Error + Send + Sync>| AppError::Corrupt {
        name: name.to_owned(),
        source,
    };
    let mut reader = serde_json::Deserializer::from_slice(bytes);
    let options = DeserializeOptions::new().deny_unknown_fields(false);
    DynamicMessage::deserialize_with_options(v1::LoadSheet::default().descriptor(), &mut reader, &options)
        .map_err(|error| corrupt(Box::new(error)))?
        .transcode_to()
        .map_err(|error| corrupt(Box::new(error)))
}
