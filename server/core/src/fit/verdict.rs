//! The verdict on one interface: values, notes, settlements.

use super::compare::{Match, compare, shown, shown_required};
use super::requirements::Asked;
use super::result::{Fit, InterfaceAssessment, Means, Remedy};
use super::vocabulary::{ValueType, Vocabulary};
use crate::record::{CompatibilityNote, Id, NoteBasis, NoteFinding, Settlement};

/// An assessed interface and what to watch with it.
pub(super) struct Judged<'record> {
    pub(super) assessment: InterfaceAssessment,
    pub(super) cautions: Vec<String>,
    /// How the values compare.
    pub(super) compared: Match,
    /// A note that decides says that the parts do not fit.
    pub(super) never_fits: bool,
    /// Notes that decide and describe work, where it is not done yet.
    pub(super) works: Vec<&'record CompatibilityNote>,
}

/// Judges one interface of `slot`.
pub(super) fn judge<'record>(
    vocabulary: &Vocabulary,
    slot: &Id,
    asked: &Asked,
    notes: &[&'record CompatibilityNote],
    settlement: Option<&Settlement>,
) -> Judged<'record> {
    let compared = match (&asked.required, &asked.offered) {
        (Some(required), Some(offered)) => compare(required, offered, asked.comparison, asked.tolerance),
        _ => Match::NotKnown,
    };
    let deciding: Vec<&'record CompatibilityNote> = notes
        .iter()
        .copied()
        .filter(|note| decides(note, compared))
        .collect();
    let by_notes = deciding.iter().map(|note| fit_of(note.finding)).max();
    let by_values = match compared {
        Match::Matches => Fit::Matches,
        Match::Mismatch | Match::Incomparable => Fit::Clashes,
        Match::NotKnown => Fit::NotKnown,
    };
    let found = by_notes.unwrap_or(by_values);
    let never_fits = deciding
        .iter()
        .any(|note| note.finding == NoteFinding::DoesNotFit);
    let (fit, remedy_done) = settled(found, never_fits, settlement);
    let notes_disagree = notes
        .iter()
        .any(|note| fit_of(note.finding) != fit_of(notes[0].finding));
    let blocks = match fit {
        Fit::Matches => false,
        Fit::Bridged => asked.essential && !remedy_done,
        Fit::NotKnown | Fit::Clashes => true,
    };
    let reason = reason(
        asked,
        compared,
        &deciding,
        notes_disagree,
        found,
        settlement.filter(|_| found != fit || remedy_done),
    );
    let name = vocabulary.display_name(&asked.kind);
    let cautions = if fit == Fit::Clashes {
        Vec::new()
    } else {
        cautions(slot, &name, &deciding, compared)
    };
    let works = deciding
        .iter()
        .copied()
        .filter(|note| note.finding == NoteFinding::FitsWithWork && fit == Fit::Bridged && !remedy_done)
        .collect();
    Judged {
        compared,
        never_fits,
        works,
        assessment: InterfaceAssessment {
            slot: slot.clone(),
            interface_kind: asked.kind.clone(),
            fit,
            blocks,
            essential: asked.essential,
            required: asked.required.as_ref().map_or_else(String::new, |value| {
                shown_required(value, asked.comparison, asked.tolerance)
            }),
            offered: asked.offered.as_ref().map_or_else(String::new, shown),
            reason,
            remedies: notes.iter().filter_map(|note| remedy(note)).collect(),
            remedy_done,
            compatibility_notes: notes.iter().map(|note| note.name.clone()).collect(),
            notes_disagree,
        },
        cautions,
    }
}

/// What a settlement makes of what was found, and whether a remedy is done.
fn settled(found: Fit, never_fits: bool, settlement: Option<&Settlement>) -> (Fit, bool) {
    match (found, settlement) {
        (Fit::NotKnown, Some(_)) => (Fit::Matches, false),
        (Fit::Bridged, Some(_)) => (Fit::Bridged, true),
        (Fit::Clashes, Some(_)) if !never_fits => (Fit::Bridged, true),
        (found, _) => (found, false),
    }
}

/// Whether a note decides: where values are missing, hearsay does not make parts fit.
fn decides(note: &CompatibilityNote, compared: Match) -> bool {
    let favourable = matches!(note.finding, NoteFinding::Fits | NoteFinding::Caution);
    !(compared == Match::NotKnown && favourable && note.basis == NoteBasis::Heard)
}

fn fit_of(finding: NoteFinding) -> Fit {
    match finding {
        NoteFinding::Fits | NoteFinding::Caution => Fit::Matches,
        NoteFinding::FitsWithWork => Fit::Bridged,
        NoteFinding::DoesNotFit => Fit::Clashes,
    }
}

fn remedy(note: &CompatibilityNote) -> Option<Remedy> {
    let offers_work = matches!(note.finding, NoteFinding::FitsWithWork | NoteFinding::DoesNotFit);
    (offers_work && !note.remedy.trim().is_empty()).then(|| Remedy {
        means: Means::Work(note.name.clone()),
        text: note.remedy.clone(),
        mass_kg: note.remedy_mass_kg,
        hours: note.remedy_hours,
        lead_days: note.remedy_lead_days,
    })
}

fn cautions(slot: &Id, name: &str, deciding: &[&CompatibilityNote], compared: Match) -> Vec<String> {
    let mut cautions = Vec::new();
    for note in deciding {
        let said = if note.remedy.is_empty() {
            &note.note
        } else {
            &note.remedy
        };
        if note.finding == NoteFinding::Caution {
            cautions.push(format!("{slot}, {name}: {said}"));
        }
        let favourable = note.finding != NoteFinding::DoesNotFit;
        if favourable && compared != Match::Matches && note.basis == NoteBasis::Heard {
            cautions.push(format!(
                "{slot}, {name}: that it can be made to fit is only heard, not measured"
            ));
        }
    }
    cautions
}

fn reason(
    asked: &Asked,
    compared: Match,
    deciding: &[&CompatibilityNote],
    notes_disagree: bool,
    found: Fit,
    settlement: Option<&Settlement>,
) -> String {
    let mut reason = match (compared, &asked.required, &asked.offered) {
        (Match::Matches, ..) => "the values match".to_owned(),
        (Match::Mismatch, ..) => "the values do not match".to_owned(),
        (Match::Incomparable, Some(required), Some(offered)) => format!(
            "{} is required and {} is offered, which cannot be compared",
            ValueType::of(required).word(),
            ValueType::of(offered).word()
        ),
        (_, None, None) => "neither what is required nor what is offered is known".to_owned(),
        (_, None, _) => "what is required is not known".to_owned(),
        (_, _, None) => "what the part offers is not known".to_owned(),
        _ => "part of a value is not known".to_owned(),
    };
    if !asked.derivation.is_empty() {
        reason.push_str(&format!(" ({})", asked.derivation));
    }
    if notes_disagree {
        reason.push_str("; notes disagree, the worst of them holds");
    }
    if !deciding.is_empty() {
        reason.push_str(match found {
            Fit::Matches => "; by note it fits",
            Fit::Bridged => "; by note it fits with work",
            _ => "; by note it does not fit",
        });
    } else if compared == Match::Mismatch {
        reason.push_str("; no note bridges it");
    }
    if let Some(settlement) = settlement {
        reason.push_str(&format!("; settled: {}", settlement.how));
    }
    reason
}
