//! The words of verdicts and answers, and the lines of gates: shared by readiness and load sheets.

use ostler_proto::v1::{Answer, ClearingJob, Figure, Finding, Gate, GateChange, Verdict};

use crate::errors::CliError;
use crate::output::{Block, Cell, Records, Tone, number};
use crate::session::{id_of, short};

/// The words of a verdict.
pub(super) fn verdict_words(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Unspecified => "NOT STATED",
        Verdict::Go => "GO",
        Verdict::GoWithConditions => "GO WITH CONDITIONS",
        Verdict::NoGo => "NO-GO",
    }
}

/// What a verdict is like.
pub(super) fn verdict_tone(verdict: Verdict) -> Tone {
    match verdict {
        Verdict::Go => Tone::Good,
        Verdict::GoWithConditions => Tone::Caution,
        Verdict::Unspecified | Verdict::NoGo => Tone::Bad,
    }
}

/// The words of an answer.
pub(super) fn answer_words(answer: Answer) -> &'static str {
    match answer {
        Answer::Unspecified => "not stated",
        Answer::Met => "met",
        Answer::MetWithConditions => "met with conditions",
        Answer::NotKnown => "not known",
        Answer::NotMet => "not met",
    }
}

/// What an answer is like.
pub(super) fn answer_tone(answer: Answer) -> Tone {
    match answer {
        Answer::Met => Tone::Good,
        Answer::MetWithConditions => Tone::Caution,
        Answer::Unspecified | Answer::NotKnown | Answer::NotMet => Tone::Bad,
    }
}

/// A gate with its findings, those that are met only when `full`.
pub(super) fn gate_blocks(gate: &Gate, full: bool) -> Vec<Block> {
    let name = if gate.display_name.is_empty() {
        &gate.id
    } else {
        &gate.display_name
    };
    let binding = if gate.not_binding { " (does not bind)" } else { "" };
    let head = format!("{}: {name}{binding}", answer_words(gate.answer()));
    let mut blocks = vec![Block::toned(2, answer_tone(gate.answer()), head)];
    let shown = |finding: &&Finding| full || finding.answer() != Answer::Met;
    let mut findings = gate.findings.iter().filter(shown).peekable();
    if !gate.summary.is_empty() && !findings.peek().is_some_and(|first| repeats(&gate.summary, first)) {
        blocks.push(Block::line(4, gate.summary.as_str()));
    }
    for finding in findings {
        blocks.extend(finding_blocks(finding));
    }
    blocks
}

/// Whether a summary says no more than the finding shown right below it, or only counts what follows.
fn repeats(summary: &str, first: &Finding) -> bool {
    summary
        .strip_prefix(first.text.as_str())
        .is_some_and(|rest| rest.is_empty() || rest.starts_with("; and "))
}

/// The number to end with.
///
/// # Errors
/// When there is no verdict that this program knows: that must never pass for a go.
pub(super) fn exit_code(verdict: Verdict) -> Result<u8, CliError> {
    match verdict {
        Verdict::Go => Ok(0),
        Verdict::GoWithConditions => Ok(3),
        Verdict::NoGo => Ok(4),
        Verdict::Unspecified => Err(CliError::Answer {
            problem: "it states no known verdict".to_owned(),
        }),
    }
}

/// A gate that differs between two states, with what stands against it in the later one.
pub(super) fn change_blocks(change: &GateChange) -> Vec<Block> {
    let answer = |gate: &Option<Gate>| gate.as_ref().map_or(Answer::Unspecified, Gate::answer);
    let (before, after) = (answer(&change.before), answer(&change.after));
    let answers = if before == after {
        format!("{}, as before", answer_words(after))
    } else {
        format!("{} -> {}", answer_words(before), answer_words(after))
    };
    let head = format!("{} {}: {answers}", of_whom(&change.vehicle), change.gate);
    let mut blocks = vec![Block::toned(0, answer_tone(after), head)];
    let shown = |finding: &&Finding| finding.answer() != Answer::Met;
    let known: Vec<&str> = texts(change.before.as_ref()).collect();
    if let Some(gate) = &change.after {
        let findings: Vec<&Finding> = gate.findings.iter().filter(shown).collect();
        if findings.is_empty() {
            blocks.push(Block::line(2, gate.summary.as_str()));
        }
        let new = findings
            .iter()
            .filter(|finding| !known.contains(&finding.text.as_str()));
        blocks.extend(new.map(|finding| {
            let text = format!("+ {}: {}", answer_words(finding.answer()), finding.text);
            Block::toned(2, answer_tone(finding.answer()), text)
        }));
    }
    let now: Vec<&str> = texts(change.after.as_ref()).collect();
    let gone = known.iter().filter(|text| !now.contains(text));
    blocks.extend(gone.map(|text| Block::toned(2, Tone::Dim, format!("- no longer: {text}"))));
    blocks
}

/// What stands against a gate.
fn texts(gate: Option<&Gate>) -> impl Iterator<Item = &str> {
    let findings = gate.map_or(&[][..], |gate| gate.findings.as_slice());
    findings
        .iter()
        .filter(|finding| finding.answer() != Answer::Met)
        .map(|finding| finding.text.as_str())
}

/// The vehicle, or the convoy.
pub(super) fn of_whom(vehicle: &str) -> &str {
    if vehicle.is_empty() {
        "convoy"
    } else {
        id_of(vehicle)
    }
}

/// Changed gates for scripts.
pub(super) fn change_records(gates: &[GateChange]) -> Records {
    let mut records = Records::new([
        "vehicle",
        "gate",
        "answer_before",
        "answer_after",
        "summary_before",
        "summary_after",
    ]);
    for change in gates {
        let answer = |gate: &Option<Gate>| match gate {
            Some(gate) => Cell::text(answer_words(gate.answer())),
            None => Cell::None(""),
        };
        let summary = |gate: &Option<Gate>| match gate {
            Some(gate) => Cell::text(gate.summary.as_str()),
            None => Cell::None(""),
        };
        records.push([
            Cell::text(change.vehicle.as_str()),
            Cell::text(change.gate.as_str()),
            answer(&change.before),
            answer(&change.after),
            summary(&change.before),
            summary(&change.after),
        ]);
    }
    records
}

fn finding_blocks(finding: &Finding) -> Vec<Block> {
    let signed = if finding.acceptance.is_empty() {
        ""
    } else {
        ", signed for"
    };
    let head = format!("- {}{signed}: {}", answer_words(finding.answer()), finding.text);
    let mut blocks = vec![Block::toned(4, answer_tone(finding.answer()), head)];
    if !finding.figures.is_empty() {
        let figures: Vec<_> = finding.figures.iter().map(figure_words).collect();
        blocks.push(Block::line(6, figures.join("; ")));
    }
    if !finding.missing.is_empty() {
        blocks.push(Block::line(6, format!("missing: {}", finding.missing.join(", "))));
    }
    if !finding.remedy.is_empty() {
        blocks.push(Block::line(6, format!("to clear it: {}", finding.remedy)));
    }
    if !finding.clearing_jobs.is_empty() {
        let jobs: Vec<_> = finding.clearing_jobs.iter().map(job_words).collect();
        blocks.push(Block::line(
            6,
            format!("work that clears it: {}", jobs.join(", ")),
        ));
    }
    if !finding.acceptance.is_empty() {
        blocks.push(Block::line(
            6,
            format!("signed for: {}", short(&finding.acceptance)),
        ));
    } else if finding.answer() == Answer::MetWithConditions && !finding.key.is_empty() {
        blocks.push(Block::line(6, format!("key to sign for it: {}", finding.key)));
    }
    if !finding.records.is_empty() {
        let records: Vec<_> = finding.records.iter().map(|name| short(name)).collect();
        blocks.push(Block::toned(
            6,
            Tone::Dim,
            format!("from: {}", records.join(", ")),
        ));
    }
    if !finding.basis.is_empty() {
        blocks.push(Block::toned(6, Tone::Dim, format!("by: {}", finding.basis)));
    }
    blocks
}

/// `j11 (3.2 h, by 2027-05-03)`.
pub(super) fn job_words(clearing: &ClearingJob) -> String {
    let ClearingJob {
        job,
        display_name: _,
        hours_left,
        finish_date,
    } = clearing;
    let hours = hours_left.map(|hours| format!("{hours:.1} h"));
    let date = (!finish_date.is_empty()).then(|| format!("by {finish_date}"));
    let details: Vec<String> = hours.into_iter().chain(date).collect();
    match details.is_empty() {
        true => id_of(job).to_owned(),
        false => format!("{} ({})", id_of(job), details.join(", ")),
    }
}

fn figure_words(figure: &Figure) -> String {
    let mut words = format!("{} {}", figure.id, number(figure.value));
    let uncertainty = figure
        .uncertainty
        .map(|value| format!("uncertainty {}", number(value)));
    let limit = figure.limit.map(|value| format!("limit {}", number(value)));
    let details: Vec<_> = limit.into_iter().chain(uncertainty).collect();
    if !details.is_empty() {
        words.push_str(&format!(" ({})", details.join(", ")));
    }
    words
}
