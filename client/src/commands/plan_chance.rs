//! `ostler plan --chance`: the chance of being ready, what it hangs on, and what would win time.

use std::io::{self, Write};

use ostler_proto::v1::plan_service_client::PlanServiceClient;
use ostler_proto::v1::{ChanceOutcome, ComputeChanceRequest, PlanChance};

use super::Outcome;
use super::plan::{below, people, without_jobs};
use crate::cli::PlanArgs;
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::CliError;
use crate::output::{Block, Cell, Document, Records, Tone};
use crate::session::{Session, id_of};

/// Jobs, parts and changes listed for people.
const LISTED_MAX: usize = 10;

/// Asks for the chance.
pub(super) async fn run(session: &Session, departure: String, args: &PlanArgs) -> Result<Outcome, CliError> {
    let request = ComputeChanceRequest {
        departure,
        start_date: args.from.clone().unwrap_or_default(),
        sample_count: i64::from(args.samples),
        seed: args.seed,
        gains: args.gains,
        arrival_chance: None,
    };
    let mut stream = session
        .connection
        .call(request, async |service, request| {
            PlanServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .compute_chance(request)
                .await
        })
        .await?;
    let mut last = None;
    while let Some(message) = session.connection.next(&mut stream).await? {
        match (message.chance, message.last) {
            (chance, true) => last = chance,
            (Some(chance), false) => tell(&chance),
            (None, false) => {}
        }
    }
    let chance = last.ok_or_else(|| CliError::Answer {
        problem: "the sampling ended without a result".to_owned(),
    })?;
    Ok(Outcome::document(Document::of(
        &chance,
        blocks(&chance),
        records(&chance),
    )))
}

fn tell(chance: &PlanChance) {
    let share = chance.convoy.as_ref().map_or(0.0, |convoy| convoy.ready_chance);
    // Progress is a courtesy: a closed standard error does not stop the sampling.
    let _ = writeln!(
        io::stderr().lock(),
        "chance: {} samples, all ready in {:.1} %",
        chance.sample_count,
        100.0 * share
    );
}

fn percent(share: f64) -> String {
    format!("{:.1} %", 100.0 * share)
}

fn blocks(chance: &PlanChance) -> Vec<Block> {
    let head = format!("Chance of {} being ready", id_of(&chance.departure));
    let mut blocks = vec![Block::toned(0, Tone::Heading, head)];
    blocks.extend(without_jobs(&chance.missing, chance.all_done));
    if chance.convoy.is_some() {
        let text = format!(
            "From {}, ready by {}, {} samples.",
            people(&chance.start_civil_time),
            people(&chance.ready_by_civil_time),
            chance.sample_count
        );
        blocks.extend([Block::line(0, text), Block::Gap, Block::Table(outcomes(chance))]);
        blocks.extend([Block::Gap, Block::line(0, "What the last finish hangs on:")]);
        blocks.push(Block::Table(critical(chance)));
        if chance
            .awaited_parts
            .iter()
            .any(|part| !part.order_by_date.is_empty())
        {
            blocks.extend([Block::Gap, Block::line(0, "To be ordered by:")]);
            blocks.push(Block::Table(orders(chance)));
        }
        if !chance.gains.is_empty() {
            blocks.extend([
                Block::Gap,
                Block::line(0, "What wins time:"),
                Block::Table(gains(chance)),
            ]);
        }
    }
    blocks.extend(below(&chance.notes, &chance.caution));
    blocks
}

/// The convoy and each vehicle.
fn rows(chance: &PlanChance) -> impl Iterator<Item = (&str, &ChanceOutcome)> {
    let convoy = chance.convoy.iter().map(|convoy| ("convoy", convoy));
    let vehicles = chance.vehicles.iter();
    convoy.chain(vehicles.filter_map(|own| Some((own.vehicle.as_str(), own.outcome.as_ref()?))))
}

fn outcomes(chance: &PlanChance) -> Records {
    let mut table = Records::new(["", "ready", "95 % by samples", "half by", "80 % by", "95 % by"]);
    for (who, outcome) in rows(chance) {
        let quantile = |share: f64| {
            let found = outcome.quantiles.iter().find(|quantile| quantile.share == share);
            let time = found
                .map(|quantile| people(&quantile.civil_time))
                .unwrap_or_default();
            Cell::text(time.get(5..).unwrap_or_default())
        };
        let (low, high) = (
            percent(outcome.ready_chance_low),
            percent(outcome.ready_chance_high),
        );
        table.push([
            Cell::text(id_of(who)),
            Cell::text(percent(outcome.ready_chance)),
            Cell::text(format!("{low} to {high}")),
            quantile(0.5),
            quantile(0.8),
            quantile(0.95),
        ]);
    }
    table
}

fn critical(chance: &PlanChance) -> Records {
    let mut table = Records::new(["", "what", "share of samples"]);
    let jobs = chance
        .jobs
        .iter()
        .map(|job| (id_of(&job.job), &job.display_name, job.criticality));
    let parts = chance
        .awaited_parts
        .iter()
        .map(|part| (id_of(&part.awaited_part), &part.display_name, part.criticality));
    let mut all: Vec<_> = jobs.chain(parts).filter(|(.., share)| *share > 0.0).collect();
    all.sort_by(|left, right| right.2.total_cmp(&left.2));
    for (id, title, share) in all.into_iter().take(LISTED_MAX) {
        table.push([
            Cell::text(id),
            Cell::text(title.as_str()),
            Cell::text(percent(share)),
        ]);
    }
    table
}

fn orders(chance: &PlanChance) -> Records {
    let mut table = Records::new(["", "what", "order by"]);
    let mut open: Vec<_> = chance
        .awaited_parts
        .iter()
        .filter(|part| !part.order_by_date.is_empty())
        .collect();
    open.sort_by(|left, right| left.order_by_date.cmp(&right.order_by_date));
    for part in open {
        table.push([
            Cell::text(id_of(&part.awaited_part)),
            Cell::text(part.display_name.as_str()),
            Cell::text(part.order_by_date.as_str()),
        ]);
    }
    table
}

fn gains(chance: &PlanChance) -> Records {
    let mut table = Records::new(["change", "wins h", "+- h", "all ready"]);
    for gain in chance.gains.iter().take(LISTED_MAX) {
        table.push([
            Cell::text(gain.change.as_str()),
            Cell::Number(gain.mean_gain_hours),
            Cell::Number(gain.standard_error_hours),
            Cell::text(percent(gain.ready_chance)),
        ]);
    }
    table
}

fn records(chance: &PlanChance) -> Records {
    let mut records = Records::new([
        "departure",
        "who",
        "sample_count",
        "ready_chance",
        "ready_chance_low",
        "ready_chance_high",
        "mean_civil_time",
        "standard_deviation_hours",
    ]);
    for (who, outcome) in rows(chance) {
        records.push([
            Cell::text(chance.departure.as_str()),
            Cell::text(who),
            Cell::Count(chance.sample_count),
            Cell::Number(outcome.ready_chance),
            Cell::Number(outcome.ready_chance_low),
            Cell::Number(outcome.ready_chance_high),
            Cell::text(outcome.mean_civil_time.as_str()),
            Cell::Number(outcome.standard_deviation_hours),
        ]);
    }
    records
}
