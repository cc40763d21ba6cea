//! Load sheets that were issued: frozen bytes under a number, and how they stand against the record of today.

use std::collections::{BTreeMap, BTreeSet};

use ostler_core::record::{Id, Name};
use ostler_proto::v1;
use ostler_store::{HistoryQuery, Row};

use super::kinds::{Departures, Kind, LoadSheets, Vehicles, name_of};
use super::record::{assemble, scopes_of, version};
use super::sheets::{draft, from_json, json, sha256};
use super::standard::{ListCall, Page};
use super::stored::{Stored, decode, etag_of, timestamp};
use super::unit::Unit;
use super::{App, AppError, Call};
use crate::json_differences::differences;

/// Most changes that a sheet says it was overtaken by.
const CHANGES_MAX: usize = 100;

/// Most differences that a verification lists.
const DIFFERENCES_MAX: usize = 50;

impl App {
    /// Issues the load sheet of one vehicle.
    ///
    /// # Errors
    /// When the vehicle does not go, or it is no-go and no reason is given.
    pub async fn issue_load_sheet(
        &self,
        call: &Call,
        request: v1::IssueLoadSheetRequest,
    ) -> Result<v1::IssuedLoadSheet, AppError> {
        self.foresee(&request.parent).await;
        self.write(call, async |unit: &mut Unit| issue(unit, request).await)
            .await
    }

    /// An issued sheet with its content as a message and what overtook it.
    ///
    /// # Errors
    /// When there is none of that name or its bytes cannot be read.
    pub async fn get_load_sheet(&self, name: &str) -> Result<v1::IssuedLoadSheet, AppError> {
        let mut issued = self.get::<LoadSheets>(name).await?;
        let changed = changed_since(&issued, &self.now_of(&issued).await?);
        issued.overtaken = !changed.is_empty();
        issued.overtaken_by = self.changes(&changed).await?;
        issued.sheet = Some(from_json(&issued.name, &issued.content)?);
        Ok(issued)
    }

    /// Lists the issued sheets of a departure.
    ///
    /// # Errors
    /// When the departure does not exist, or the token or the filter is not valid.
    pub async fn list_load_sheets(&self, call: ListCall<'_>) -> Result<Page<v1::IssuedLoadSheet>, AppError> {
        // Found out after the filter has passed: a condition on it would leave out what it asks for.
        let names_overtaken = |condition: &str| {
            condition
                .split('=')
                .next()
                .is_some_and(|field| field.trim() == "overtaken")
        };
        if call.filter.split(" AND ").any(names_overtaken) {
            return Err(AppError::field(
                "filter",
                "names `overtaken`, which is no stored field",
            ));
        }
        let mut page = self.list::<LoadSheets>(call).await?;
        let mut known: BTreeMap<Vec<String>, BTreeMap<String, String>> = BTreeMap::new();
        for issued in &mut page.items {
            let scopes = scopes_in(issued);
            if !known.contains_key(&scopes) {
                known.insert(scopes.clone(), self.now_of(issued).await?);
            }
            let now = known.get(&scopes);
            issued.overtaken = now.is_some_and(|now| !changed_since(issued, now).is_empty());
            issued.content.clear();
            issued.sources.clear();
        }
        Ok(page)
    }

    /// Holds an issued sheet against its hash, and a given file against it.
    ///
    /// # Errors
    /// When there is no issued sheet of that name.
    pub async fn verify_load_sheet(
        &self,
        request: v1::VerifyLoadSheetRequest,
    ) -> Result<v1::VerifyLoadSheetResponse, AppError> {
        let v1::VerifyLoadSheetRequest { name, content } = request;
        let name = name_of::<LoadSheets>("name", &name)?;
        let stored = self.stored::<LoadSheets>(&name).await?.message;
        let issued_hash = self.hash_at_issue(&name).await?;
        let stored_hash = sha256(&stored.content);
        let given = !content.is_empty();
        let given_hash = if given { sha256(&content) } else { String::new() };
        let given_matches = given && given_hash == issued_hash;
        let differences = if given && !given_matches {
            differences(&stored.content, &content, DIFFERENCES_MAX)
        } else {
            Vec::new()
        };
        Ok(v1::VerifyLoadSheetResponse {
            load_sheet: name.to_string(),
            intact: stored_hash == issued_hash && stored.content_hash == issued_hash,
            issued_hash,
            stored_hash,
            given_hash,
            given_matches,
            differences,
        })
    }

    /// Whether something that a sheet was issued from has changed since.
    ///
    /// # Errors
    /// When the database fails.
    pub(super) async fn is_overtaken(&self, issued: &v1::IssuedLoadSheet) -> Result<bool, AppError> {
        Ok(!changed_since(issued, &self.now_of(issued).await?).is_empty())
    }

    /// Every issued sheet of a departure, in order of names.
    ///
    /// # Errors
    /// When the departure does not exist or a body cannot be read.
    pub(super) async fn issued_of(&self, departure: &Name) -> Result<Vec<Stored<LoadSheets>>, AppError> {
        self.stored::<Departures>(departure).await?;
        sheets_among(self.store().descendants(departure).await?)
    }

    /// The hash in the first entry of a sheet's history, which nothing can change afterwards.
    async fn hash_at_issue(&self, name: &Name) -> Result<String, AppError> {
        let corrupt = |source: Box<dyn std::error::Error + Send + Sync>| AppError::Corrupt {
            name: format!("the history of {name}"),
            source,
        };
        let fleet = name.fleet();
        let query = HistoryQuery::newest(&fleet, Some(name), 1_000);
        // Newest first. A departure that was deleted and made again may have had a sheet of this name before.
        let entries = self.store().history(&query).await?;
        let issued = entries.into_iter().find(|entry| entry.action == "issue");
        let body = issued
            .and_then(|entry| entry.after)
            .ok_or_else(|| corrupt("it has no entry of the issue".into()))?;
        let message: v1::IssuedLoadSheet =
            prost::Message::decode(body.as_slice()).map_err(|error| corrupt(Box::new(error)))?;
        Ok(message.content_hash)
    }

    /// The versions that the resources have now in the scopes that a sheet was computed from.
    async fn now_of(&self, issued: &v1::IssuedLoadSheet) -> Result<BTreeMap<String, String>, AppError> {
        let loaded = self.store().load(&scopes_in(issued)).await?;
        Ok(loaded
            .rows
            .iter()
            .map(|row| (row.name.clone(), etag_of(row)))
            .collect())
    }

    /// What was done last to each of `resources`, latest first.
    async fn changes(&self, resources: &[String]) -> Result<Vec<v1::SheetChange>, AppError> {
        let told = &resources[..resources.len().min(CHANGES_MAX)];
        let entries = self.store().last_changes(told).await?;
        Ok(entries
            .into_iter()
            .map(|entry| v1::SheetChange {
                resource: entry.resource,
                action: entry.action,
                actor: entry.actor,
                change_time: Some(timestamp(entry.time)),
            })
            .collect())
    }
}

async fn issue(unit: &mut Unit, request: v1::IssueLoadSheetRequest) -> Result<v1::IssuedLoadSheet, AppError> {
    let departure = name_of::<Departures>("parent", &request.parent)?;
    let vehicle = name_of::<Vehicles>("vehicle", &request.vehicle)?;
    let before = last_of(unit, &departure, &vehicle).await?;
    let stored = unit.get::<Departures>(&departure).await?;
    let known = Departures::record(stored.name, stored.message)?;
    let loaded = unit.backing().load(&scopes_of(&known)).await?;
    let sources = sources(&loaded.rows);
    let record = assemble(&departure.fleet(), loaded.rows)?;
    let readiness = unit.readiness(&record, &known, None);
    let mut sheet = draft(&record, version(&loaded.revisions), &known, &vehicle, &readiness)?;
    check_reason(sheet.verdict(), &request.reason)?;
    let number = before.as_ref().map_or(0, |before| before.message.number) + 1;
    let id = Id::new(format!("{}-{number}", vehicle.id())).map_err(|refused| refused.within("vehicle"))?;
    let name = departure.child(LoadSheets::COLLECTION, &id);
    let time = timestamp(unit.time());
    sheet.draft = false;
    sheet.name = name.to_string();
    sheet.number = number;
    sheet.issue_time = Some(time);
    sheet.signatures = vec![v1::SheetSignature {
        role: request.signer_role,
        display_name: request.signer_display_name,
        token: unit.actor().id.clone(),
        sign_time: Some(time),
    }];
    sheet.reason = request.reason;
    sheet.supersedes = before
        .as_ref()
        .map(|before| before.name.to_string())
        .unwrap_or_default();
    let content = json(&sheet)?;
    let issued = v1::IssuedLoadSheet {
        vehicle: vehicle.to_string(),
        number,
        state: v1::LoadSheetState::Issued.into(),
        content_hash: sha256(&content),
        content,
        verdict: sheet.verdict,
        sources,
        ..v1::IssuedLoadSheet::default()
    };
    let mut issued = unit.create::<LoadSheets>(&name, issued, "issue").await?;
    if let Some(before) = before {
        let superseded = v1::IssuedLoadSheet {
            state: v1::LoadSheetState::Superseded.into(),
            superseded_by: name.to_string(),
            ..before.message.clone()
        };
        unit.update(&before, superseded, "supersede").await?;
    }
    issued.sheet = Some(sheet);
    Ok(issued)
}

/// A no-go vehicle gets a sheet only with a stated reason: it may have to be moved, and then its driver needs the paper
/// more than any other. What is not no-go needs none, and one would read as if something were wrong.
fn check_reason(verdict: v1::Verdict, reason: &str) -> Result<(), AppError> {
    match (verdict == v1::Verdict::NoGo, reason.trim().is_empty()) {
        (true, true) => Err(AppError::field(
            "reason",
            "must say why the sheet is issued although the vehicle is no-go",
        )),
        (false, false) => Err(AppError::field(
            "reason",
            "must be empty: the vehicle is not no-go",
        )),
        _ => Ok(()),
    }
}

/// The sheet issued last for a vehicle.
async fn last_of(
    unit: &mut Unit,
    departure: &Name,
    vehicle: &Name,
) -> Result<Option<Stored<LoadSheets>>, AppError> {
    let sheets = sheets_among(unit.backing().descendants(departure).await?)?;
    Ok(sheets
        .into_iter()
        .filter(|sheet| sheet.message.vehicle == **vehicle)
        .max_by_key(|sheet| sheet.message.number))
}

fn sheets_among(rows: Vec<Row>) -> Result<Vec<Stored<LoadSheets>>, AppError> {
    let mut sheets: Vec<Stored<LoadSheets>> = rows
        .into_iter()
        .filter(|row| row.kind == LoadSheets::WORD)
        .map(decode)
        .collect::<Result<_, _>>()?;
    sheets.sort_by(|left, right| left.name.cmp(&right.name));
    Ok(sheets)
}

fn sources(rows: &[Row]) -> Vec<v1::SheetSource> {
    rows.iter()
        .map(|row| v1::SheetSource {
            resource: row.name.clone(),
            etag: etag_of(row),
        })
        .collect()
}

/// The scopes that a sheet was computed from: the fleet, the departure and the vehicles among its sources.
fn scopes_in(issued: &v1::IssuedLoadSheet) -> Vec<String> {
    let is_scope = |name: &&str| {
        let levels: Vec<&str> = name.split('/').collect();
        matches!(
            levels.as_slice(),
            ["fleets", _] | ["fleets", _, "departures" | "vehicles", _]
        )
    };
    let names = issued.sources.iter().map(|source| source.resource.as_str());
    names.filter(is_scope).map(str::to_owned).collect()
}

/// The resources that were changed, deleted or added since a sheet was issued.
fn changed_since(issued: &v1::IssuedLoadSheet, now: &BTreeMap<String, String>) -> Vec<String> {
    let then: BTreeMap<&str, &str> = issued
        .sources
        .iter()
        .map(|source| (source.resource.as_str(), source.etag.as_str()))
        .collect();
    let names: BTreeSet<&str> = then
        .keys()
        .copied()
        .chain(now.keys().map(String::as_str))
        .collect();
    names
        .into_iter()
        .filter(|name| then.get(name).copied() != now.get(*name).map(String::as_str))
        .map(str::to_owned)
        .collect()
}
