//! `ostler plan`: when each job of a departure runs, and the chance of being ready.

use std::io::{self, Write};
use std::path::Path;

use ostler_proto::v1::compute_plan_response::Step;
use ostler_proto::v1::departure_service_client::DepartureServiceClient;
use ostler_proto::v1::plan_service_client::PlanServiceClient;
use ostler_proto::v1::{
    BuildPlan, ComputePlanRequest, Departure, PlanFile, PlanFormat, PlanProgress, PlannedJob,
    UpdateDepartureRequest,
};
use prost_reflect::prost_types::FieldMask;

use super::sheet::page_size;
use super::{Outcome, make_folder, plan_chance, write_file};
use crate::cli::PlanArgs;
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::CliError;
use crate::kinds::Kind;
use crate::output::{Block, Cell, Document, Records, Tone, clean};
use crate::session::{Session, id_of};

/// Asks for the plan or its chance.
pub(super) async fn run(session: &Session, args: &PlanArgs) -> Result<Outcome, CliError> {
    let departure = session.name(Kind::Departure, &args.departure).await?;
    if args.chance || args.gains {
        return plan_chance::run(session, departure, args).await;
    }
    let request = ComputePlanRequest {
        departure: departure.clone(),
        start_date: args.from.clone().unwrap_or_default(),
        time_limit_s: args.seconds,
        schedules_max: 0,
        seed: args.seed,
        replan_freely: args.freely,
        formats: wanted(args).map(|(format, _)| format.into()).collect(),
        page_size: page_size(args.paper).into(),
    };
    let mut stream = session
        .connection
        .call(request, async |service, request| {
            PlanServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .compute_plan(request)
                .await
        })
        .await?;
    let mut plan = None;
    while let Some(message) = session.connection.next(&mut stream).await? {
        match message.step {
            Some(Step::Progress(progress)) => tell(&progress),
            Some(Step::Plan(found)) => plan = Some(found),
            None => {}
        }
    }
    let mut plan: BuildPlan = plan.ok_or_else(|| CliError::Answer {
        problem: "the search ended without a plan".to_owned(),
    })?;
    let files = std::mem::take(&mut plan.files);
    let mut outcome = Outcome::document(Document::of(&plan, blocks(&plan), records(&plan)));
    for note in write_files(args, files)? {
        outcome = outcome.with_note(note);
    }
    if !args.adopt {
        return Ok(outcome);
    }
    adopt(session, departure, &plan, args).await?;
    Ok(outcome
        .with_note(format!("adopted: {} jobs go in this order", plan.job_order.len()))
        .after_writing(&args.write))
}

/// The forms that are asked for, and where they go.
fn wanted(args: &PlanArgs) -> impl Iterator<Item = (PlanFormat, &Path)> {
    [
        (PlanFormat::Csv, &args.csv),
        (PlanFormat::Icalendar, &args.ics),
        (PlanFormat::Svg, &args.svg),
        (PlanFormat::Pdf, &args.pdf),
    ]
    .into_iter()
    .filter_map(|(format, path)| Some((format, path.as_deref()?)))
}

/// Writes the files and says what was written.
fn write_files(args: &PlanArgs, files: Vec<PlanFile>) -> Result<Vec<String>, CliError> {
    let mut notes = Vec::new();
    for (format, path) in wanted(args) {
        let of_format: Vec<&PlanFile> = files.iter().filter(|file| file.format() == format).collect();
        if of_format.is_empty() {
            notes.push(format!(
                "nothing to write to {}: there is no plan",
                path.display()
            ));
        }
        if format == PlanFormat::Icalendar && !of_format.is_empty() {
            make_folder(path)?;
        }
        for file in of_format {
            let path = match format {
                PlanFormat::Icalendar => path.join(file_name(file)?),
                _ => path.to_owned(),
            };
            write_file(&path, &file.content)?;
            notes.push(format!("wrote {}", path.display()));
        }
    }
    Ok(notes)
}

/// The name of a file of the server's, which must not lead out of its folder.
fn file_name(file: &PlanFile) -> Result<&str, CliError> {
    let name = file.file_name.as_str();
    let plain = !name.starts_with('.') && !name.is_empty() && !name.contains(['/', '\\', ':', '\0']);
    plain.then_some(name).ok_or_else(|| CliError::Answer {
        problem: format!("the file name {name:?} is none"),
    })
}

/// Makes the order of the plan the one that people work by.
async fn adopt(session: &Session, name: String, plan: &BuildPlan, args: &PlanArgs) -> Result<(), CliError> {
    if plan.job_order.is_empty() {
        return Err(CliError::Usage {
            problem: "there is no plan to adopt".to_owned(),
            hint: "record what is missing: `ostler plan` without --adopt says what".to_owned(),
        });
    }
    let request = UpdateDepartureRequest {
        departure: Some(Departure {
            name,
            job_order: plan.job_order.clone(),
            ..Default::default()
        }),
        update_mask: Some(FieldMask {
            paths: vec!["job_order".to_owned()],
        }),
        request_id: args.write.request_id(),
        validate_only: args.write.dry_run,
    };
    session
        .connection
        .call(request, async |service, request| {
            DepartureServiceClient::new(service)
                .update_departure(request)
                .await
        })
        .await?;
    Ok(())
}

fn tell(progress: &PlanProgress) {
    let PlanProgress {
        finish_civil_time,
        bound_civil_time,
        late_hours: _,
        schedules_count,
    } = progress;
    let (finish, bound) = (people(finish_civil_time), people(bound_civil_time));
    // Progress is a courtesy: a closed standard error does not stop the plan.
    let _ = writeln!(
        io::stderr().lock(),
        "plan: {schedules_count} schedules, ready {finish}, none before {bound}"
    );
}

/// A moment for people: `2027-05-24 08:00`.
pub(super) fn people(civil_time: &str) -> String {
    clean(&civil_time.replace('T', " "))
}

/// What stands instead of a plan when there is none, or nothing.
pub(super) fn without_jobs(missing: &[String], all_done: bool) -> Vec<Block> {
    let mut blocks = Vec::new();
    if all_done {
        blocks.push(Block::toned(0, Tone::Good, "Every job is done."));
    }
    if !missing.is_empty() {
        blocks.push(Block::toned(0, Tone::Bad, "NOT KNOWN: there is no plan without"));
        blocks.extend(
            missing
                .iter()
                .map(|missing| Block::line(2, format!("- {missing}"))),
        );
    }
    blocks
}

/// Notes and the caution, as they stand below plans.
pub(super) fn below(notes: &[String], caution: &str) -> Vec<Block> {
    let mut blocks = vec![Block::Gap];
    blocks.extend(notes.iter().map(|note| Block::line(0, format!("- {note}"))));
    blocks.push(Block::toned(0, Tone::Dim, caution));
    blocks
}

fn blocks(plan: &BuildPlan) -> Vec<Block> {
    let head = format!("Plan of {}", id_of(&plan.departure));
    let mut blocks = vec![Block::toned(0, Tone::Heading, head)];
    blocks.extend(without_jobs(&plan.missing, plan.all_done));
    if !plan.jobs.is_empty() {
        blocks.extend(summary(plan));
        blocks.extend([Block::Gap, Block::Table(table(plan))]);
        blocks.push(Block::line(0, "* a delay delays the last finish; > under way"));
    }
    blocks.extend(below(&plan.notes, &plan.caution));
    blocks
}

fn summary(plan: &BuildPlan) -> Vec<Block> {
    let in_time = plan.finish_civil_time <= plan.ready_by_civil_time;
    let (tone, word) = match in_time {
        true => (Tone::Good, "before"),
        false => (Tone::Bad, "AFTER"),
    };
    let (finish, ready_by) = (people(&plan.finish_civil_time), people(&plan.ready_by_civil_time));
    let mut blocks = vec![
        Block::line(0, format!("From {}.", people(&plan.start_civil_time))),
        Block::toned(
            0,
            tone,
            format!("Everything done {finish}, {word} the departure {ready_by}."),
        ),
    ];
    blocks.push(match plan.proven_optimal {
        true => Block::line(0, "No plan of these jobs is shorter."),
        false => Block::line(
            0,
            format!(
                "No plan of these jobs ends before {}; at most {:.1} % shorter.",
                people(&plan.bound_civil_time),
                100.0 * plan.gap_fraction
            ),
        ),
    });
    if plan.late_hours > 0.0 {
        let text = format!(
            "Jobs are later than their latest dates by {:.1} h in all.",
            plan.late_hours
        );
        blocks.push(Block::toned(0, Tone::Bad, text));
    }
    if let Some(pairs) = plan.exchanged_pairs_count {
        blocks.push(Block::line(
            0,
            format!("Against the adopted plan {pairs} pairs of jobs change places."),
        ));
    }
    blocks
}

fn table(plan: &BuildPlan) -> Records {
    let mut table = Records::new(["job", "what", "on", "where", "start", "finish"]);
    for job in &plan.jobs {
        let mark = match (job.critical, job.under_way) {
            (true, true) => " *>",
            (true, false) => " *",
            (false, true) => " >",
            (false, false) => "",
        };
        let short = |time: &str| people(time).get(5..).unwrap_or_default().to_owned();
        table.push([
            Cell::text(format!("{}{mark}", id_of(&job.job))),
            Cell::text(job.display_name.as_str()),
            Cell::text(vehicles(job, plan)),
            Cell::text(id_of(&job.workshop)),
            Cell::text(short(&job.start_civil_time)),
            Cell::text(short(&job.finish_civil_time)),
        ]);
    }
    table
}

/// The vehicles of a job; `all` when they are all that any job is on.
fn vehicles(job: &PlannedJob, plan: &BuildPlan) -> String {
    let most = plan.jobs.iter().map(|job| job.vehicles.len()).max().unwrap_or(0);
    if job.vehicles.len() > 1 && job.vehicles.len() == most {
        return "all".to_owned();
    }
    let ids: Vec<&str> = job.vehicles.iter().map(|vehicle| id_of(vehicle)).collect();
    ids.join(", ")
}

fn records(plan: &BuildPlan) -> Records {
    let mut records = Records::new([
        "departure",
        "job",
        "display_name",
        "vehicles",
        "workshop",
        "start_civil_time",
        "finish_civil_time",
        "slack_hours",
        "critical",
        "under_way",
    ]);
    for job in &plan.jobs {
        records.push([
            Cell::text(plan.departure.as_str()),
            Cell::text(job.job.as_str()),
            Cell::text(job.display_name.as_str()),
            Cell::list(&job.vehicles),
            Cell::text(job.workshop.as_str()),
            Cell::text(job.start_civil_time.as_str()),
            Cell::text(job.finish_civil_time.as_str()),
            Cell::Number(job.slack_hours),
            Cell::yes_no(job.critical),
            Cell::yes_no(job.under_way),
        ]);
    }
    records
}
