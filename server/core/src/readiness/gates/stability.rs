//! Stability: does the loaded vehicle keep to the factor, and to the ceiling sideways, that the policy asks for?
//!
//! The ceilings are those of a rigid body and never safe slopes: they compare a vehicle with what the lead asks of it.

use super::against_limit::Subject;
use super::{Finding, Gate, crew_missing, gate as build, not_asked};
use crate::answer::Answer;
use crate::loads::{CONFIDENCE_DEVIATIONS, DEPARTURE_STATE};
use crate::proof::ProofPolicy;
use crate::readiness::Figure;
use crate::record::SupplyGate;
use crate::stability::ceiling::CEILING_CAUTION;
use crate::stability::recorded::{
    BareHeight, FORMULA_VERSION, NotStable, StateStability, bare_height, stability_of,
};

/// Stability.
pub(super) fn gate(subject: &Subject<'_>) -> Gate {
    let findings = match not_asked(&subject.loads.departure, SupplyGate::Stability) {
        Some(finding) => vec![finding],
        None => findings(subject),
    };
    build(
        "stability",
        "Does the loaded vehicle keep to the stability that is asked for?",
        findings,
        "its stability is what the policy asks for at every moment; ceilings are never safe slopes"
            .to_owned(),
    )
}

fn findings(subject: &Subject<'_>) -> Vec<Finding> {
    let policy = &subject.loads.departure.policy;
    let mut findings = Vec::new();
    let mut missing: Vec<String> = crew_missing(&subject.loads.departure).into_iter().collect();
    let factor_min = policy
        .static_stability_factor_min
        .filter(|least| least.is_finite());
    if factor_min.is_none() {
        missing.push("the policy does not say which static stability factor is asked for".to_owned());
    }
    let bare = match bare_height(&subject.loads.record, subject.vehicle) {
        Ok(bare) => Some(bare),
        Err(sentences) => {
            missing.extend(sentences);
            None
        }
    };
    let mut known = Vec::new();
    for state in subject.states {
        // Without the height of the bare vehicle the rest of what is missing is still said.
        let Some(bare) = &bare else {
            missing.extend(state.missing.iter().cloned());
            continue;
        };
        match stability_of(subject.vehicle, state, bare) {
            Ok(stability) => known.push(stability),
            Err(NotStable::Outside(place)) => {
                let text = format!("{}: {place}", when(&state.load_state));
                findings.push(
                    about(subject, Answer::NotMet, text)
                        .remedy("move load until every axle and side carries"),
                );
            }
            Err(NotStable::Missing(sentences)) => missing.extend(sentences),
        }
    }
    findings.extend(not_known(subject, missing));
    if let Some(least) = factor_min {
        findings.extend(worst(&known, factor).map(|(state, held)| judge_factor(subject, state, held, least)));
    }
    if let Some(least_deg) = policy.side_ceiling_min_deg {
        findings.extend(
            worst(&known, side_ceiling).map(|(state, held)| judge_ceiling(subject, state, held, least_deg)),
        );
    }
    if let Some(bare) = &bare {
        findings.extend(in_doubt(subject, bare));
    }
    findings
}

/// A value with its standard uncertainty.
#[derive(Debug, Clone, Copy)]
struct Known {
    value: f64,
    uncertainty: f64,
}

fn factor(state: &StateStability) -> Known {
    Known {
        value: state.summary.factor.factor,
        uncertainty: state.summary.factor.uncertainty,
    }
}

fn side_ceiling(state: &StateStability) -> Known {
    let ceiling = state.summary.ceilings.sideways();
    Known {
        value: ceiling.ceiling_deg(),
        uncertainty: ceiling.ceiling_deg() - ceiling.ceiling_at_upper_height_deg(),
    }
}

/// The state in which a value is least, the earliest of equal ones.
fn worst(
    states: &[StateStability],
    of: impl Fn(&StateStability) -> Known,
) -> Option<(&StateStability, Known)> {
    states
        .iter()
        .map(|state| (state, of(state)))
        .min_by(|(_, one), (_, other)| one.value.total_cmp(&other.value))
}

fn judge_factor(subject: &Subject<'_>, state: &StateStability, held: Known, least: f64) -> Finding {
    let text = format!(
        "static stability factor {:.3} (known to ±{:.3}), asked at least {least:.3}, {}{}",
        held.value,
        deviations(subject) * held.uncertainty,
        when(&state.load_state),
        left_out(state)
    );
    judged(subject, "static_stability_factor", held, least, text)
}

fn judge_ceiling(subject: &Subject<'_>, state: &StateStability, held: Known, least_deg: f64) -> Finding {
    let ceiling = state.summary.ceilings.sideways();
    let text = format!(
        "sideways: {ceiling}; asked at least {least_deg:.1} degrees, {}",
        when(&state.load_state)
    );
    judged(subject, "side_ceiling_deg", held, least_deg, text)
}

fn judged(subject: &Subject<'_>, figure: &str, held: Known, least: f64, text: String) -> Finding {
    let margin = held.value - least;
    let warn = subject.loads.departure.policy.margin_warn_fraction.unwrap_or(0.0) * least;
    let (answer, remedy) = if margin < 0.0 {
        (
            Answer::NotMet,
            "carry less on the roof and more low down, or leave it behind",
        )
    } else if margin < deviations(subject) * held.uncertainty || margin < warn {
        (
            Answer::MetWithConditions,
            "measure the height of the loaded vehicle with an axle raised, or carry load lower",
        )
    } else {
        (Answer::Met, "")
    };
    let mut finding = about(subject, answer, text);
    if !remedy.is_empty() {
        finding = finding.remedy(format!("{remedy}. {CEILING_CAUTION}"));
    }
    finding.figures.push(Figure {
        id: figure.to_owned(),
        value: held.value,
        limit: Some(least),
        uncertainty: Some(held.uncertainty),
    });
    finding
}

/// What leaves a measured height in doubt.
fn in_doubt(subject: &Subject<'_>, bare: &BareHeight) -> Vec<Finding> {
    let mut findings = Vec::new();
    if !bare.unconfirmed.is_empty() {
        let open: Vec<&str> = bare
            .unconfirmed
            .iter()
            .map(|condition| condition.words())
            .collect();
        let text = format!("the raised-axle readings do not confirm: {}", open.join("; "));
        findings.push(about(subject, Answer::MetWithConditions, text).remedy("confirm it, or measure again"));
    }
    let baseline_kg = subject
        .states
        .first()
        .map(|state| state.baseline_mass_kg)
        .filter(|mass_kg| *mass_kg > 0.0);
    if let Some((measured_kg, baseline_kg)) = bare.mass_kg.zip(baseline_kg) {
        let most_kg = ProofPolicy::of(&subject.loads.departure.policy).weighing_mass_change_kg;
        if (measured_kg - baseline_kg).abs() > most_kg {
            let text = format!(
                "the height was measured at {measured_kg:.0} kg without fluids, the baseline has {baseline_kg:.0} kg"
            );
            let mut finding = about(subject, Answer::MetWithConditions, text)
                .remedy("raise an axle again in the state of the baseline");
            finding.figures.push(Figure {
                id: "raised_axle_mass_change_kg".to_owned(),
                value: (measured_kg - baseline_kg).abs(),
                limit: Some(most_kg),
                uncertainty: None,
            });
            findings.push(finding);
        }
    }
    findings
}

fn about(subject: &Subject<'_>, answer: Answer, text: String) -> Finding {
    let records = vec![subject.vehicle.name.clone(), subject.loads.departure.name.clone()];
    Finding::new(answer, text, records).basis(FORMULA_VERSION)
}

fn not_known(subject: &Subject<'_>, missing: Vec<String>) -> Option<Finding> {
    let mut said: Vec<String> = Vec::new();
    for sentence in missing {
        if !said.contains(&sentence) {
            said.push(sentence);
        }
    }
    let text = match said.as_slice() {
        [] => return None,
        [one] => one.clone(),
        [first, rest @ ..] => format!("{first}; and {} more inputs are missing", rest.len()),
    };
    let remedy = if subject.vehicle.specification.centre_height.is_none() {
        "raise an axle on a scale, or estimate the height with a tolerance, and record it"
    } else {
        "record what is missing"
    };
    let mut finding = about(subject, Answer::NotKnown, text).remedy(remedy);
    finding.missing = said;
    Some(finding)
}

fn deviations(subject: &Subject<'_>) -> f64 {
    let asked = subject.loads.departure.policy.confidence_deviations;
    asked.unwrap_or(CONFIDENCE_DEVIATIONS)
}

fn left_out(state: &StateStability) -> String {
    match state.untoleranced_count {
        0 => String::new(),
        count => format!("; that leaves out {count} masses without a stated tolerance"),
    }
}

fn when(load_state: &str) -> String {
    match load_state {
        DEPARTURE_STATE => "at departure".to_owned(),
        moment => format!("at the {moment}"),
    }
}
