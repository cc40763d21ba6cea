//! `ostler rules`: what the rule packs make of a regulated item.

use ostler_proto::v1::fact::Value;
use ostler_proto::v1::regulated_item_service_client::RegulatedItemServiceClient;
use ostler_proto::v1::{AssessRegulatedItemRequest, Fact, FactOrigin, RegulatedItemAssessment};

use super::Outcome;
use super::verdict::{answer_tone, answer_words};
use crate::cli::RulesArgs;
use crate::connection::ANSWER_BYTES_MAX;
use crate::errors::CliError;
use crate::input;
use crate::kinds::Kind;
use crate::output::{Block, Cell, Document, Records, Tone, number};
use crate::session::{Session, id_of, short};

/// Asks the rule packs.
pub(super) async fn run(session: &Session, args: &RulesArgs) -> Result<Outcome, CliError> {
    let mut request = AssessRegulatedItemRequest::default();
    for assumption in &args.assume {
        let (fact, value) = assumption.split_once('=').ok_or_else(|| CliError::Usage {
            problem: format!("{assumption:?} does not assume anything"),
            hint: "give a fact and its value, for example --assume tool_free=yes".to_owned(),
        })?;
        request
            .assumed_facts
            .insert(fact.trim().to_owned(), input::fact(value));
    }
    request.departure = session.name(Kind::Departure, &args.departure).await?;
    request.name = session.name_beside(&request.departure, Kind::RegulatedItem, &args.item)?;
    let assessment = session
        .connection
        .call(request, async |service, request| {
            RegulatedItemServiceClient::new(service)
                .max_decoding_message_size(ANSWER_BYTES_MAX)
                .assess_regulated_item(request)
                .await
        })
        .await?;
    let outcome = Outcome::document(Document::of(
        &assessment,
        blocks(&assessment),
        records(&assessment),
    ));
    Ok(if args.assume.is_empty() {
        outcome
    } else {
        outcome.with_note("facts were assumed; nothing was written")
    })
}

fn blocks(assessment: &RegulatedItemAssessment) -> Vec<Block> {
    let category = match assessment.category.as_str() {
        "" => "UNDETERMINED",
        id if assessment.category_display_name.is_empty() => id,
        _ => &assessment.category_display_name,
    };
    let head = format!("{}: {category}", id_of(&assessment.regulated_item));
    let tone = if assessment.category.is_empty() {
        Tone::Bad
    } else {
        Tone::Heading
    };
    let mut blocks = vec![Block::toned(0, tone, head)];
    if !assessment.missing_facts.is_empty() {
        blocks.push(Block::toned(0, Tone::Bad, "Not known, and would decide it:"));
        for missing in &assessment.missing_facts {
            blocks.push(Block::line(2, format!("{}: {}", missing.fact, missing.question)));
        }
    }
    blocks.extend(fact_blocks(assessment));
    if !assessment.possible_categories.is_empty() {
        let text = format!("Still possible: {}", assessment.possible_categories.join(", "));
        blocks.push(Block::line(0, text));
    }
    let answer = assessment.answer();
    blocks.push(Block::toned(
        0,
        answer_tone(answer),
        format!("What it demands: {}", answer_words(answer)),
    ));
    for demand in &assessment.demands {
        let name = if demand.display_name.is_empty() {
            &demand.demand
        } else {
            &demand.display_name
        };
        let head = format!("- {}: {name}", answer_words(demand.answer()));
        blocks.push(Block::toned(2, answer_tone(demand.answer()), head));
        if !demand.reason.is_empty() {
            blocks.push(Block::line(4, demand.reason.as_str()));
        }
        if !demand.evidence.is_empty() {
            blocks.push(Block::line(4, format!("evidence: {}", short(&demand.evidence))));
        }
        if !demand.source.is_empty() {
            blocks.push(Block::toned(4, Tone::Dim, format!("rule: {}", demand.source)));
        }
    }
    blocks.extend(change_blocks(assessment));
    let text = format!(
        "By {}, version {}.",
        short(&assessment.rule_pack),
        assessment.rule_pack_version
    );
    blocks.push(Block::toned(0, Tone::Dim, text));
    blocks
}

/// The facts it went by, and where each comes from.
fn fact_blocks(assessment: &RegulatedItemAssessment) -> Vec<Block> {
    let known = assessment
        .facts_used
        .iter()
        .filter(|used| used.origin() != FactOrigin::Unspecified);
    let mut blocks: Vec<Block> = known
        .map(|used| {
            let from = match used.origin() {
                FactOrigin::Record => format!("by the record: {}", used.description),
                FactOrigin::Assumed => "assumed".to_owned(),
                FactOrigin::Stated | FactOrigin::Unspecified => "stated".to_owned(),
            };
            let line = format!("{}: {} ({from})", used.fact, fact_words(used.value.as_ref()));
            match &used.stated {
                None => Block::line(2, line),
                stated => Block::toned(
                    2,
                    Tone::Bad,
                    format!("{line}; the item states {}", fact_words(stated.as_ref())),
                ),
            }
        })
        .collect();
    if !blocks.is_empty() {
        blocks.insert(0, Block::line(0, "By these facts:"));
    }
    blocks
}

/// What would have to be otherwise for each other category.
fn change_blocks(assessment: &RegulatedItemAssessment) -> Vec<Block> {
    if assessment.category_changes.is_empty() {
        return Vec::new();
    }
    let heading = "The smallest change of facts to each other category";
    let mut blocks = vec![Block::toned(0, Tone::Heading, heading)];
    for change in &assessment.category_changes {
        let steps: Vec<String> = change
            .changes
            .iter()
            .map(|step| {
                let (from, to) = (fact_words(step.from.as_ref()), fact_words(step.to.as_ref()));
                format!("{} from {from} to {to}", step.fact)
            })
            .collect();
        let steps = match (steps.is_empty(), change.cut_off) {
            (true, true) => "none was found before the search was cut off".to_owned(),
            (true, false) => "none".to_owned(),
            (false, true) => format!("{}; a smaller one may exist", steps.join(", ")),
            (false, false) => steps.join(", "),
        };
        blocks.push(Block::line(2, format!("- {}: {steps}", change.category)));
    }
    blocks
}

fn fact_words(fact: Option<&Fact>) -> String {
    match fact.and_then(|fact| fact.value.as_ref()) {
        None => "not known".to_owned(),
        Some(Value::Yes(true)) => "yes".to_owned(),
        Some(Value::Yes(false)) => "no".to_owned(),
        Some(Value::Number(value)) => number(*value),
        Some(Value::Text(text)) => text.clone(),
    }
}

/// A row per demand, and at least one.
fn records(assessment: &RegulatedItemAssessment) -> Records {
    let mut records = Records::new([
        "regulated_item",
        "rule_pack",
        "rule_pack_version",
        "category",
        "answer",
        "possible_categories",
        "missing_facts",
        "demand",
        "demand_answer",
        "reason",
        "evidence",
        "source",
    ]);
    let missing_facts: Vec<String> = assessment
        .missing_facts
        .iter()
        .map(|missing| missing.fact.clone())
        .collect();
    let start = || {
        vec![
            Cell::text(assessment.regulated_item.as_str()),
            Cell::text(assessment.rule_pack.as_str()),
            Cell::text(assessment.rule_pack_version.as_str()),
            Cell::text(assessment.category.as_str()),
            Cell::text(answer_words(assessment.answer())),
            Cell::list(&assessment.possible_categories),
            Cell::list(&missing_facts),
        ]
    };
    if assessment.demands.is_empty() {
        records.push(start().into_iter().chain([const { Cell::None("") }; 5]));
    }
    for demand in &assessment.demands {
        let cells = [
            Cell::text(demand.demand.as_str()),
            Cell::text(answer_words(demand.answer())),
            Cell::text(demand.reason.as_str()),
            Cell::text(demand.evidence.as_str()),
            Cell::text(demand.source.as_str()),
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
    use ostler_proto::v1::{Answer, DemandAssessment};

    #[test]
    fn an_undetermined_item_names_the_facts() {
        let assessment = RegulatedItemAssessment {
            regulated_item: "fleets/orrin/regulatedItems/tank".to_owned(),
            rule_pack: "fleets/orrin/rulePacks/basin".to_owned(),
            rule_pack_version: "3".to_owned(),
            possible_categories: vec!["container".to_owned(), "fixed-tank".to_owned()],
            missing_facts: vec![ostler_proto::v1::MissingFact {
                fact: "tool_free".to_owned(),
                question: "Can it be taken out without tools?".to_owned(),
            }],
            answer: Answer::NotKnown.into(),
            ..Default::default()
        };
        let document = Document::of(&assessment, blocks(&assessment), records(&assessment));
        insta::assert_snapshot!(document.render(Format::Table, Style::plain()).unwrap());
        assert_eq!(document.records.rows.len(), 1);
        assert_eq!(document.records.rows[0].len(), document.records.headers.len());
    }

    #[test]
    fn demands_say_what_meets_them() {
        let assessment = RegulatedItemAssessment {
            regulated_item: "fleets/orrin/regulatedItems/tank".to_owned(),
            rule_pack: "fleets/orrin/rulePacks/basin".to_owned(),
            rule_pack_version: "3".to_owned(),
            category: "fixed-tank".to_owned(),
            category_display_name: "Fixed fuel tank".to_owned(),
            answer: Answer::NotMet.into(),
            demands: vec![DemandAssessment {
                demand: "engineer-certificate".to_owned(),
                display_name: "Engineer's certificate".to_owned(),
                answer: Answer::NotMet.into(),
                reason: "no evidence of this topic".to_owned(),
                evidence: String::new(),
                source: "invented".to_owned(),
            }],
            ..Default::default()
        };
        let document = Document::of(&assessment, blocks(&assessment), records(&assessment));
        insta::assert_snapshot!(document.render(Format::Table, Style::plain()).unwrap());
    }
}
