//! The words of verdicts and answers, and the lines of gates: shared by readiness and load sheets.

use ostler_proto::v1::{Answer, Figure, Finding, Gate, Verdict};

use crate::output::{Block, Tone, number};
use crate::session::short;

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
    let head = format!("{}: {name}", answer_words(gate.answer()));
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

fn finding_blocks(finding: &Finding) -> Vec<Block> {
    let head = format!("- {}: {}", answer_words(finding.answer()), finding.text);
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
