//! `ostler what-if`: what changes would make of the verdict, and making them.

use ostler_proto::v1::change::Change as Kind;
use ostler_proto::v1::change_service_client::ChangeServiceClient;
use ostler_proto::v1::departure_service_client::DepartureServiceClient;
use ostler_proto::v1::{
    ApplyChangesRequest, AssessChangesRequest, AssessChangesResponse, CargoItem, Change, CompleteJobRequest,
    DeleteCargoItemRequest, Departure, FitSubstitutionRequest, FixDefectRequest, GetDepartureRequest,
    TankFill, UpdateCargoItemRequest, UpdateDepartureRequest, WithdrawSubstitutionRequest,
};
use prost_types::FieldMask;

use super::verdict::{change_blocks, change_records, exit_code, verdict_tone, verdict_words};
use super::{Outcome, time};
use crate::cli::WhatIfArgs;
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::CliError;
use crate::input;
use crate::kinds::Kind as Record;
use crate::output::{Block, Cell, Document, Records, Tone};
use crate::session::{Session, fleet_of, id_of, short};

/// Asks, or makes the changes.
pub(super) async fn run(session: &Session, args: &WhatIfArgs) -> Result<Outcome, CliError> {
    let departure = session.name(Record::Departure, &args.departure).await?;
    let changes = changes(session, args, &departure).await?;
    if changes.is_empty() {
        return Err(CliError::Usage {
            problem: "nothing is to be changed".to_owned(),
            hint: "say what with --move, --drop, --fit and the like; see `ostler what-if --help`".to_owned(),
        });
    }
    if args.make {
        return make(session, args, &departure, changes).await;
    }
    let request = AssessChangesRequest { departure, changes };
    let answer = session
        .connection
        .call(request, async |service, request| {
            ChangeServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .assess_changes(request)
                .await
        })
        .await?;
    let exit_code = exit_code(answer.verdict_after())?;
    Ok(Outcome {
        exit_code,
        ..Outcome::document(document(&answer)?).with_note("nothing was written; --make makes these changes")
    })
}

async fn make(
    session: &Session,
    args: &WhatIfArgs,
    departure: &str,
    changes: Vec<Change>,
) -> Result<Outcome, CliError> {
    let request = ApplyChangesRequest {
        parent: fleet_of(departure).to_owned(),
        changes,
        request_id: args.write.request_id(),
        validate_only: args.write.dry_run,
    };
    let answer = session
        .connection
        .call(request, async |service, request| {
            ChangeServiceClient::new(service).apply_changes(request).await
        })
        .await?;
    let mut records = Records::new(["name"]);
    let mut blocks = vec![Block::toned(0, Tone::Heading, "Changed")];
    for name in &answer.changed {
        records.push([Cell::text(name.as_str())]);
        blocks.push(Block::line(2, short(name)));
    }
    Ok(Outcome::document(Document::of(&answer, blocks, records)).after_writing(&args.write))
}

fn document(answer: &AssessChangesResponse) -> Result<Document, CliError> {
    let (before, after) = (answer.verdict_before(), answer.verdict_after());
    let head = if before == after {
        format!("The verdict stays: {}", verdict_words(after))
    } else {
        format!("{} would become {}", verdict_words(before), verdict_words(after))
    };
    let mut blocks = vec![Block::toned(0, verdict_tone(after), head), Block::Gap];
    if answer.gates.is_empty() {
        blocks.push(Block::line(0, "No gate would change."));
    }
    blocks.extend(answer.gates.iter().flat_map(change_blocks));
    blocks.push(Block::Gap);
    blocks.push(Block::toned(
        0,
        Tone::Caution,
        format!("Caution: {}", answer.caution),
    ));
    Ok(Document::of(answer, blocks, change_records(&answer.gates)))
}

async fn changes(session: &Session, args: &WhatIfArgs, departure: &str) -> Result<Vec<Change>, CliError> {
    let name = |kind, text: &String| session.name_beside(departure, kind, text);
    let on = match &args.on {
        Some(date) => date.clone(),
        None => time::today(),
    };
    let mut changes = Vec::new();
    for file in &args.changes {
        let request: AssessChangesRequest = input::request(file, fleet_of(departure))?;
        changes.extend(request.changes);
    }
    let mut add = |kind| changes.push(Change { change: Some(kind) });
    for substitution in &args.fit {
        add(Kind::FitSubstitution(FitSubstitutionRequest {
            name: name(Record::Substitution, substitution)?,
            fitted_date: on.clone(),
            ..Default::default()
        }));
    }
    for substitution in &args.withdraw {
        add(Kind::WithdrawSubstitution(WithdrawSubstitutionRequest {
            name: name(Record::Substitution, substitution)?,
            ..Default::default()
        }));
    }
    for defect in &args.fix {
        add(Kind::FixDefect(FixDefectRequest {
            name: name(Record::Defect, defect)?,
            fix: "fixed".to_owned(),
            fixed_date: on.clone(),
            ..Default::default()
        }));
    }
    for job in &args.done {
        add(Kind::CompleteJob(CompleteJobRequest {
            name: name(Record::Job, job)?,
            done_date: on.clone(),
            ..Default::default()
        }));
    }
    for item in &args.drop {
        add(Kind::DeleteCargoItem(DeleteCargoItemRequest {
            name: name(Record::Cargo, item)?,
            ..Default::default()
        }));
    }
    for moved in &args.moved {
        add(Kind::UpdateCargoItem(stowed_elsewhere(
            session, departure, moved,
        )?));
    }
    if let Some(update) = of_departure(session, args, departure).await? {
        add(Kind::UpdateDeparture(update));
    }
    Ok(changes)
}

/// Takes `CARGO=VEHICLE[/ZONE]`. The thing lies at the centre of its new zone.
fn stowed_elsewhere(
    session: &Session,
    departure: &str,
    text: &str,
) -> Result<UpdateCargoItemRequest, CliError> {
    let (item, place) = split(text, '=', "--move", "CARGO=VEHICLE[/ZONE]")?;
    let (vehicle, zone) = place.split_once('/').unwrap_or((place, ""));
    Ok(UpdateCargoItemRequest {
        cargo_item: Some(CargoItem {
            name: session.name_beside(departure, Record::Cargo, item)?,
            vehicle: session.name_beside(departure, Record::Vehicle, vehicle)?,
            zone: zone.to_owned(),
            ..Default::default()
        }),
        update_mask: Some(mask(["vehicle", "zone", "position"])),
        ..Default::default()
    })
}

async fn of_departure(
    session: &Session,
    args: &WhatIfArgs,
    name: &str,
) -> Result<Option<UpdateDepartureRequest>, CliError> {
    let mut paths = Vec::new();
    let mut departure = Departure {
        name: name.to_owned(),
        ..Default::default()
    };
    if !args.leave.is_empty() || !args.fill.is_empty() {
        departure = vehicles_of(session, args, name).await?;
        paths.extend(["vehicles", "crew"]);
    }
    if let Some(date) = &args.depart {
        departure.departure_date.clone_from(date);
        paths.push("departure_date");
    }
    if let Some(date) = &args.return_date {
        departure.return_date.clone_from(date);
        paths.push("return_date");
    }
    Ok((!paths.is_empty()).then(|| UpdateDepartureRequest {
        departure: Some(departure),
        update_mask: Some(mask(paths)),
        ..Default::default()
    }))
}

/// The departure as it is, with its vehicles and their tanks as they would be. Crew of a vehicle that does
/// not go are left without a seat.
async fn vehicles_of(session: &Session, args: &WhatIfArgs, name: &str) -> Result<Departure, CliError> {
    let request = GetDepartureRequest {
        name: name.to_owned(),
    };
    let mut departure = session
        .connection
        .call(request, async |service, request| {
            DepartureServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .get_departure(request)
                .await
        })
        .await?;
    let does_not_go = |vehicle: &str| CliError::Usage {
        problem: format!("{} does not go on this departure", id_of(vehicle)),
        hint: format!("see who goes with `ostler show departure {}`", id_of(name)),
    };
    for text in &args.leave {
        let vehicle = session.name_beside(name, Record::Vehicle, text)?;
        let count = departure.vehicles.len();
        departure.vehicles.retain(|going| going.vehicle != vehicle);
        if departure.vehicles.len() == count {
            return Err(does_not_go(&vehicle));
        }
        for member in departure
            .crew
            .iter_mut()
            .filter(|member| member.vehicle == vehicle)
        {
            member.vehicle.clear();
            member.position = None;
        }
    }
    for text in &args.fill {
        let (place, litres) = split(text, '=', "--fill", "VEHICLE/TANK=LITRES")?;
        let (vehicle, tank) = split(place, '/', "--fill", "VEHICLE/TANK=LITRES")?;
        let volume_l: f64 = litres.parse().map_err(|_| CliError::Usage {
            problem: format!("{litres:?} is no number of litres"),
            hint: "write it as --fill v1/t1a=80".to_owned(),
        })?;
        let vehicle = session.name_beside(name, Record::Vehicle, vehicle)?;
        let going = departure
            .vehicles
            .iter_mut()
            .find(|going| going.vehicle == vehicle)
            .ok_or_else(|| does_not_go(&vehicle))?;
        match going.fills.iter_mut().find(|fill| fill.tank == tank) {
            Some(fill) => fill.volume_l = volume_l,
            None => going.fills.push(TankFill {
                tank: tank.to_owned(),
                volume_l,
            }),
        }
    }
    Ok(departure)
}

fn split<'a>(text: &'a str, at: char, option: &str, form: &str) -> Result<(&'a str, &'a str), CliError> {
    text.split_once(at).ok_or_else(|| CliError::Usage {
        problem: format!("{text:?} is not of the form {form}"),
        hint: format!("write it as {option} {form}"),
    })
}

fn mask<'a>(paths: impl IntoIterator<Item = &'a str>) -> FieldMask {
    FieldMask {
        paths: paths.into_iter().map(str::to_owned).collect(),
    }
}
