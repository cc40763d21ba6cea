//! `ostler spares`: how long the spare parts of a departure last, what to add, and who carries what.

use ostler_proto::v1::compute_spares_request::Question;
use ostler_proto::v1::spares_service_client::SparesServiceClient;
use ostler_proto::v1::{ComputeSparesRequest, KitStep, RecordedSpares, SparePool, SparesResult};

use super::Outcome;
use super::verdict::{answer_tone, answer_words};
use crate::cli::SparesArgs;
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::CliError;
use crate::input;
use crate::kinds::Kind;
use crate::output::{Block, Cell, Document, Records, Tone, number, word};
use crate::session::{Session, id_of};

/// Longest frontier that is shown to people; JSON has all of it.
const STEPS_SHOWN: usize = 20;

/// Asks for the spares.
pub(super) async fn run(session: &Session, args: &SparesArgs) -> Result<Outcome, CliError> {
    let question = match (&args.file, &args.departure) {
        (Some(file), _) => Some(Question::Given(input::request(file, "")?)),
        (None, Some(departure)) => {
            let departure = session.name(Kind::Departure, departure).await?;
            Some(Question::Recorded(RecordedSpares { departure }))
        }
        // The command line does not let this through.
        _ => None,
    };
    let spares = session
        .connection
        .call(ComputeSparesRequest { question }, async |service, request| {
            SparesServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .compute_spares(request)
                .await
        })
        .await?;
    Ok(Outcome::document(Document::of(
        &spares,
        blocks(&spares),
        records(&spares),
    )))
}

fn blocks(spares: &SparesResult) -> Vec<Block> {
    let head = match spares.departure.as_str() {
        "" => "Spares in the file".to_owned(),
        departure => format!("Spares of {}", id_of(departure)),
    };
    let answer = format!("Answer: {}", answer_words(spares.answer()));
    let mut blocks = vec![
        Block::toned(0, Tone::Heading, head),
        Block::toned(0, answer_tone(spares.answer()), answer),
    ];
    for issue in &spares.issues {
        let text = format!("- {}: {}", answer_words(issue.answer()), issue.text);
        blocks.push(Block::toned(2, answer_tone(issue.answer()), text));
        blocks.push(Block::line(4, issue.remedy.as_str()));
        let more = issue.missing.iter().skip(1);
        blocks.extend(more.map(|missing| Block::line(4, format!("- {missing}"))));
    }
    blocks.extend(kit_lines(spares));
    if !spares.pools.is_empty() {
        blocks.extend([Block::Gap, Block::Table(pool_table(spares))]);
        if spares.pools.iter().any(|pool| pool.judged) {
            let text = "* the rate of demand is judged, or where it comes from is not stated";
            blocks.push(Block::line(0, text));
        }
    }
    for (head, steps) in [
        ("To add, first things first:", &spares.additions),
        (
            "From an empty kit, most gain per kilogram first:",
            &spares.frontier,
        ),
    ] {
        if !steps.is_empty() {
            blocks.extend([Block::Gap, Block::line(0, head), Block::Table(step_table(steps))]);
            let more = steps.len().saturating_sub(STEPS_SHOWN);
            if more > 0 {
                blocks.push(Block::line(0, format!("and {more} more steps")));
            }
        }
    }
    blocks.extend(best_kit(spares));
    blocks.extend(placements(spares));
    blocks.push(Block::Gap);
    blocks.extend(spares.not_counted.iter().map(|spare| {
        let text = format!(
            "- not counted: {} ({}): {}",
            spare.display_name,
            id_of(&spare.part),
            spare.reason
        );
        Block::line(0, text)
    }));
    blocks.extend(spares.interchange_not_known.iter().map(|pair| {
        let text = format!("- kept apart, for whether they interchange is not known: {pair}");
        Block::line(0, text)
    }));
    blocks.extend([
        Block::line(0, spares.caution.as_str()),
        Block::toned(0, Tone::Dim, format!("Formula: {}.", spares.formula_version)),
    ]);
    blocks
}

fn kit_lines(spares: &SparesResult) -> Vec<Block> {
    let mut lines = Vec::new();
    if let (Some(chance), Some(open)) = (spares.no_stock_out, spares.expected_backorders) {
        let asked = spares
            .cover_min
            .map_or_else(String::new, |least| format!(", {} asked for", number(least)));
        let cautious = spares.cautious_no_stock_out.map_or_else(String::new, |cautious| {
            format!("; {cautious:.4} at cautious rates")
        });
        let text = format!("Nothing runs out with a chance of {chance:.4}{asked}{cautious}.");
        lines.push(Block::line(0, text));
        let text = format!("Needs left open, on average: {open:.4}.");
        lines.push(Block::line(0, text));
    }
    if let Some(mass_kg) = spares.aboard_mass_kg {
        let budget = spares
            .mass_budget_kg
            .map_or_else(String::new, |budget_kg| format!(" of {}", number(budget_kg)));
        lines.push(Block::line(
            0,
            format!("The spares that count weigh {}{budget} kg.", number(mass_kg)),
        ));
    }
    lines
}

fn vehicles(pool: &SparePool) -> String {
    let ids: Vec<&str> = pool.vehicles.iter().map(|vehicle| id_of(vehicle)).collect();
    ids.join(" ")
}

fn pool_table(spares: &SparesResult) -> Records {
    let mut table = Records::new([
        "need", "vehicles", "fitted", "demand", "aboard", "lasts", "open", "spare",
    ]);
    for pool in &spares.pools {
        let mark = if pool.judged { "*" } else { "" };
        let demand = pool.mean_demand.map(|mean| format!("{mean:.4}{mark}"));
        table.push([
            Cell::text(pool.need.as_str()),
            Cell::text(vehicles(pool)),
            Cell::Count(pool.fitted_count.into()),
            demand.map_or(Cell::None("not known"), Cell::text),
            Cell::Count(pool.aboard_count.into()),
            fixed(pool.no_stock_out),
            fixed(pool.expected_backorders),
            Cell::text(id_of(&pool.spare_part)),
        ]);
    }
    table
}

/// Four decimals: chances near 1 differ there.
fn fixed(value: Option<f64>) -> Cell {
    value.map_or(Cell::None("not known"), |value| Cell::text(format!("{value:.4}")))
}

fn step_table(steps: &[KitStep]) -> Records {
    let mut table = Records::new(["part", "copies", "gain per kg", "kit kg", "open", "lasts"]);
    for step in steps.iter().take(STEPS_SHOWN) {
        table.push([
            Cell::text(id_of(&step.part)),
            Cell::Count(step.copies.into()),
            fixed(Some(step.gain_per_kg)),
            Cell::Number(step.mass_kg),
            fixed(Some(step.expected_backorders)),
            fixed(Some(step.no_stock_out)),
        ]);
    }
    table
}

fn best_kit(spares: &SparesResult) -> Vec<Block> {
    let Some(best) = &spares.best_kit else {
        return Vec::new();
    };
    let copies: Vec<String> = best
        .copies
        .iter()
        .filter(|copies| copies.count > 0)
        .map(|copies| format!("{} {}", copies.count, id_of(&copies.part)))
        .collect();
    let what = if copies.is_empty() {
        "nothing".to_owned()
    } else {
        copies.join(", ")
    };
    let text = format!(
        "Best kit within the budget ({}): {what}; {} kg, {:.4} needs left open, none leaves fewer than {:.4}; \
         nothing runs out with a chance of {:.4}.",
        word("KitMethod", best.method().as_str_name()),
        number(best.mass_kg),
        best.expected_backorders,
        best.expected_backorders_bound,
        best.no_stock_out
    );
    vec![Block::Gap, Block::line(0, text)]
}

fn placements(spares: &SparesResult) -> Vec<Block> {
    if spares.placements.is_empty() && spares.placement_notes.is_empty() {
        return Vec::new();
    }
    let mut table = Records::new(["part", "copy", "vehicle", "why"]);
    for placed in &spares.placements {
        table.push([
            Cell::text(id_of(&placed.part)),
            Cell::Count(placed.copy.into()),
            Cell::text(id_of(&placed.vehicle)),
            Cell::text(placed.reasons.join("; ")),
        ]);
    }
    let mut blocks = vec![
        Block::Gap,
        Block::line(0, "Where they ride best, what is to be added included:"),
        Block::Table(table),
    ];
    let notes = spares.placement_notes.iter();
    blocks.extend(notes.map(|note| Block::line(0, format!("- {note}"))));
    blocks
}

/// One row per pool; one without numbers when there is none.
fn records(spares: &SparesResult) -> Records {
    let mut records = Records::new([
        "departure",
        "answer",
        "need",
        "vehicles",
        "fitted_count",
        "mean_demand",
        "cautious_mean_demand",
        "aboard_count",
        "no_stock_out",
        "expected_backorders",
        "spare_part",
        "spare_mass_kg",
    ]);
    let start = || [spares.departure.as_str(), answer_words(spares.answer())].map(Cell::text);
    if spares.pools.is_empty() {
        records.push(start().into_iter().chain([const { Cell::None("") }; 10]));
    }
    for pool in &spares.pools {
        let cells = [
            Cell::text(pool.need.as_str()),
            Cell::text(vehicles(pool)),
            Cell::Count(pool.fitted_count.into()),
            Cell::maybe(pool.mean_demand),
            Cell::maybe(pool.cautious_mean_demand),
            Cell::Count(pool.aboard_count.into()),
            Cell::maybe(pool.no_stock_out),
            Cell::maybe(pool.expected_backorders),
            Cell::text(pool.spare_part.as_str()),
            Cell::maybe(pool.spare_mass_kg),
        ];
        records.push(start().into_iter().chain(cells));
    }
    records
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::Format;
    use crate::output::Style;
    use ostler_proto::v1::{Answer, BestSparesKit, KitCopies, KitMethod, SparePlacement};

    fn spares() -> SparesResult {
        SparesResult {
            departure: "fleets/orrin/departures/north".to_owned(),
            answer: Answer::Met.into(),
            no_stock_out: Some(0.9856),
            expected_backorders: Some(0.0163),
            cover_min: Some(0.9),
            pools: vec![SparePool {
                need: "alternator".to_owned(),
                vehicles: ["v1", "v2"]
                    .map(|id| format!("fleets/orrin/vehicles/{id}"))
                    .to_vec(),
                fitted_count: 2,
                mean_demand: Some(0.5),
                aboard_count: 2,
                no_stock_out: Some(0.9856),
                expected_backorders: Some(0.0163),
                spare_part: "fleets/orrin/parts/alternator-90".to_owned(),
                judged: true,
                ..Default::default()
            }],
            frontier: vec![KitStep {
                part: "fleets/orrin/parts/alternator-90".to_owned(),
                copies: 1,
                gain_per_kg: 0.049,
                mass_kg: 8.0,
                expected_backorders: 0.1065,
                no_stock_out: 0.9098,
            }],
            best_kit: Some(BestSparesKit {
                copies: vec![KitCopies {
                    part: "fleets/orrin/parts/alternator-90".to_owned(),
                    count: 1,
                }],
                mass_kg: 8.0,
                method: KitMethod::Proven.into(),
                ..Default::default()
            }),
            placements: vec![SparePlacement {
                part: "fleets/orrin/parts/alternator-90".to_owned(),
                copy: 1,
                vehicle: "fleets/orrin/vehicles/v2".to_owned(),
                reasons: vec!["it needs it itself".to_owned()],
            }],
            formula_version: "spares/1".to_owned(),
            ..Default::default()
        }
    }

    #[test]
    fn spares_for_people_show_cover_frontier_and_placement() {
        let spares = spares();
        let document = Document::of(&spares, blocks(&spares), records(&spares));
        let text = document.render(Format::Table, Style::plain()).unwrap();
        for said in [
            "Spares of north",
            "0.5000*",
            "v1 v2",
            "0.9856",
            "1 alternator-90",
            "it needs it itself",
        ] {
            assert!(text.contains(said), "{said}\n{text}");
        }
    }

    #[test]
    fn without_a_pool_one_row_says_the_answer() {
        let spares = SparesResult {
            answer: Answer::NotKnown.into(),
            pools: Vec::new(),
            ..spares()
        };
        let document = Document::of(&spares, blocks(&spares), records(&spares));
        let text = document.render(Format::Csv, Style::plain()).unwrap();
        assert!(text.contains("not known,"), "{text}");
    }
}
