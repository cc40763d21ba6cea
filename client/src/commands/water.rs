//! `ostler water`: drinking water between confirmed points, and food.

use ostler_proto::v1::water_service_client::WaterServiceClient;
use ostler_proto::v1::{ComputeWaterRequest, WaterResult};

use super::Outcome;
use super::verdict::{answer_tone, answer_words};
use crate::cli::WaterArgs;
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::CliError;
use crate::kinds::Kind;
use crate::output::{Block, Cell, Document, Records, Tone, number, word};
use crate::session::{Session, id_of};

/// Asks for the water.
pub(super) async fn run(session: &Session, args: &WaterArgs) -> Result<Outcome, CliError> {
    let departure = session.name(Kind::Departure, &args.departure).await?;
    let water = session
        .connection
        .call(ComputeWaterRequest { departure }, async |service, request| {
            WaterServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .compute_water(request)
                .await
        })
        .await?;
    Ok(Outcome::document(Document::of(
        &water,
        blocks(&water),
        records(&water),
    )))
}

fn blocks(water: &WaterResult) -> Vec<Block> {
    let head = format!(
        "Water of {} for {} people",
        id_of(&water.departure),
        water.people_count
    );
    let answer = format!("Answer: {}", answer_words(water.answer()));
    let mut blocks = vec![
        Block::toned(0, Tone::Heading, head),
        Block::toned(0, answer_tone(water.answer()), answer),
    ];
    for (what, missing) in [("water", &water.missing), ("food", &water.food_missing)] {
        if !missing.is_empty() {
            blocks.push(Block::toned(
                0,
                Tone::Bad,
                format!("The {what} is NOT KNOWN, missing:"),
            ));
            let missing = missing.iter();
            blocks.extend(missing.map(|missing| Block::line(2, format!("- {missing}"))));
        }
    }
    if !water.intervals.is_empty() {
        blocks.extend([Block::Gap, Block::Table(interval_table(water)), Block::Gap]);
        let text = "Were the largest container lost at the start:";
        blocks.extend([Block::line(0, text), Block::Table(loss_table(water))]);
    }
    if !water.alone.is_empty() {
        let text = "A vehicle parted from the others, with what the departure fills:";
        blocks.extend([Block::Gap, Block::line(0, text), Block::Table(alone_table(water))]);
    }
    if let Some(food) = &water.food {
        let text = format!(
            "Food: {} person-days aboard, {} required: {} days for everybody.",
            number(food.aboard_person_days),
            number(food.required_person_days),
            number(food.days)
        );
        blocks.extend([Block::Gap, Block::line(0, text)]);
    }
    let points = water.points_not_counted.iter();
    let sentences = points
        .map(|point| format!("not counted: {point}"))
        .chain(water.cautions.iter().cloned());
    blocks.push(Block::Gap);
    blocks.extend(sentences.map(|sentence| Block::line(0, format!("- {sentence}"))));
    blocks.extend([
        Block::line(0, water.caution.as_str()),
        Block::toned(0, Tone::Dim, format!("Formula: {}.", water.formula_version)),
    ]);
    blocks
}

fn interval_table(water: &WaterResult) -> Records {
    let mut table = Records::new(["from", "to", "days", "required l", "carried l", "balance l"]);
    for interval in &water.intervals {
        table.push([
            Cell::text(interval.start_place.as_str()),
            Cell::text(interval.end_place.as_str()),
            Cell::Number(interval.days_counted),
            Cell::Number(interval.required_l),
            Cell::Number(interval.carried_l),
            Cell::Number(interval.balance_l),
        ]);
    }
    table
}

fn loss_table(water: &WaterResult) -> Records {
    let mut table = Records::new([
        "to",
        "container",
        "left l",
        "suffices for",
        "days at minimum",
        "survived",
    ]);
    for interval in &water.intervals {
        let Some(loss) = &interval.largest_loss else {
            continue;
        };
        table.push([
            Cell::text(interval.end_place.as_str()),
            Cell::text(loss.container.as_str()),
            Cell::Number(loss.left_l),
            Cell::text(word("WaterCover", loss.cover().as_str_name())),
            Cell::Number(loss.days_at_minimum),
            Cell::yes_no(loss.survived),
        ]);
    }
    table
}

fn alone_table(water: &WaterResult) -> Records {
    let mut table = Records::new([
        "vehicle",
        "people",
        "litres",
        "days at minimum",
        "reserve covered",
    ]);
    for alone in &water.alone {
        table.push([
            Cell::text(id_of(&alone.vehicle)),
            Cell::Count(alone.people_count.into()),
            Cell::Number(alone.litres),
            Cell::maybe(alone.days_at_minimum),
            Cell::yes_no(alone.covers_reserve),
        ]);
    }
    table
}

/// One row per interval; one without numbers when the water is not known.
fn records(water: &WaterResult) -> Records {
    let mut records = Records::new([
        "departure",
        "answer",
        "missing_count",
        "start_place",
        "end_place",
        "planned_days",
        "days_counted",
        "rate_l_per_person_day",
        "reserve_l",
        "required_l",
        "carried_l",
        "balance_l",
        "largest_lost_l",
        "largest_loss_survived",
    ]);
    let start = || {
        let missing = water.missing.len().to_string();
        [
            water.departure.as_str(),
            answer_words(water.answer()),
            missing.as_str(),
        ]
        .map(Cell::text)
    };
    if water.intervals.is_empty() {
        let none = [const { Cell::None("") }; 11];
        records.push(start().into_iter().chain(none));
    }
    for interval in &water.intervals {
        let loss = interval.largest_loss.as_ref();
        let cells = [
            Cell::text(interval.start_place.as_str()),
            Cell::text(interval.end_place.as_str()),
            Cell::Number(interval.planned_days),
            Cell::Number(interval.days_counted),
            Cell::Number(interval.rate_l_per_person_day),
            Cell::Number(interval.reserve_l),
            Cell::Number(interval.required_l),
            Cell::Number(interval.carried_l),
            Cell::Number(interval.balance_l),
            Cell::maybe(loss.map(|loss| loss.lost_l)),
            loss.map_or(Cell::None(""), |loss| Cell::yes_no(loss.survived)),
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
    use ostler_proto::v1::{Answer, WaterCover, WaterInterval, WaterLoss};

    fn water() -> WaterResult {
        WaterResult {
            departure: "fleets/orrin/departures/north".to_owned(),
            answer: Answer::Met.into(),
            people_count: 9,
            intervals: vec![WaterInterval {
                start_place: "Hollow Well".to_owned(),
                end_place: "Corrow Airstrip".to_owned(),
                days_counted: 7.0,
                required_l: 549.0,
                carried_l: 560.0,
                balance_l: 11.0,
                largest_loss: Some(WaterLoss {
                    container: "v4/w4a".to_owned(),
                    left_l: 280.0,
                    cover: WaterCover::ReserveRate.into(),
                    ..Default::default()
                }),
                ..Default::default()
            }],
            points_not_counted: vec!["Teal Soak has water for washing only".to_owned()],
            formula_version: "water/1".to_owned(),
            ..Default::default()
        }
    }

    #[test]
    fn water_for_people_shows_balance_and_loss() {
        let water = water();
        let document = Document::of(&water, blocks(&water), records(&water));
        let text = document.render(Format::Table, Style::plain()).unwrap();
        for said in [
            "Water of north for 9 people",
            "549",
            "v4/w4a",
            "reserve rate",
            "not counted: Teal Soak",
        ] {
            assert!(text.contains(said), "{said}\n{text}");
        }
        assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    }

    #[test]
    fn unknown_water_has_one_row_that_says_so() {
        let water = WaterResult {
            missing: vec!["the policy's water.buffer_days is not known".to_owned()],
            answer: Answer::NotKnown.into(),
            intervals: Vec::new(),
            ..water()
        };
        let document = Document::of(&water, blocks(&water), records(&water));
        let text = document.render(Format::Csv, Style::plain()).unwrap();
        assert!(text.contains("not known,1,"), "{text}");
        let text = document.render(Format::Table, Style::plain()).unwrap();
        assert!(text.contains("water.buffer_days"), "{text}");
    }
}
