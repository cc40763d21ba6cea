//! Underside: do clearance and angles stay at what the policy asks for at every moment?
//!
//! They are those of the vehicle at rest on firm level ground ([`crate::stance::angles`]): room in hand, not what an obstacle
//! may measure.

use super::against_limit::Subject;
use super::at_rest::{not_known, problems, unknown, when};
use super::{Finding, Gate, gate as build, not_asked};
use crate::answer::Answer;
use crate::readiness::Figure;
use crate::record::{SupplyGate, UndersidePolicy};
use crate::stance::CAUTION_COMPUTED_STANCE;
use crate::stance::recorded::FORMULA_VERSION;
use crate::stance::recorded_underside::{Underside, UndersideFigure, underside};
use crate::stance::standing::Standing;

/// A figure of the underside and the least that is asked of it.
struct Asked {
    /// Figure, its unit last.
    figure: &'static str,
    /// For sentences.
    name: &'static str,
    unit: &'static str,
    /// Field of the policy.
    policy_field: &'static str,
    least: Option<f64>,
    of: fn(&Underside) -> Option<&UndersideFigure>,
    /// Where points that limit it lie.
    place: &'static str,
}

/// The underside in one load state.
struct Below<'a> {
    load_state: &'a str,
    underside: Underside,
}

/// Underside.
pub(super) fn gate(subject: &Subject<'_>, standing: &Standing) -> Gate {
    let findings = match not_asked(&subject.loads.departure, SupplyGate::Underside) {
        Some(finding) => vec![finding],
        None => findings(subject, standing),
    };
    build(
        "underside",
        "Do clearance and angles stay at what is asked for at every moment?",
        findings,
        "clearance and angles are what the policy asks for at every moment".to_owned(),
    )
}

fn findings(subject: &Subject<'_>, standing: &Standing) -> Vec<Finding> {
    let mut findings = Vec::new();
    let policy = subject.loads.departure.policy.underside;
    if policy.is_none() {
        let text = "the policy does not say which clearance and angles are asked for";
        let remedy = "set them in the departure's policy, or leave the gate out there";
        findings.push(unknown(
            subject,
            text.to_owned(),
            "the policy's underside".to_owned(),
            remedy,
        ));
    }
    let suspension = subject.vehicle.specification.suspension.as_ref();
    let points = suspension.map_or(&[][..], |suspension| &suspension.underside);
    if points.is_empty() {
        let text = format!(
            "no point of the underside of {} is on record",
            subject.vehicle.display_name
        );
        let remedy = "measure its lowest points and record them in the suspension";
        findings.push(unknown(
            subject,
            text,
            "points of the underside".to_owned(),
            remedy,
        ));
    }
    findings.extend(not_known(subject, standing));
    for (load_state, error) in problems(subject, standing) {
        let text = format!("{} it does not stand on its springs: {error}", when(load_state));
        let missing = "a suspension that can be computed with".to_owned();
        findings.push(unknown(
            subject,
            text,
            missing,
            "put springs and load right; see the gate `wheels`",
        ));
    }
    if points.is_empty() {
        return findings;
    }
    let mut below = Vec::new();
    for rest in standing.at_rest() {
        match underside(&rest.sprung, &rest.stance, points) {
            Ok(underside) => below.push(Below {
                load_state: &rest.load_state,
                underside,
            }),
            Err(refused) => {
                let text = format!("the points of the underside cannot be computed with: {refused}");
                findings.push(unknown(
                    subject,
                    text,
                    refused.to_string(),
                    "correct the recorded points",
                ));
                return findings;
            }
        }
    }
    if !below.is_empty() {
        let asked = asked(policy.unwrap_or_default());
        // Without a policy at all that is said once, and the figures still show.
        let judged = asked
            .iter()
            .map(|asked| judge(subject, &below, asked, policy.is_some()));
        findings.extend(judged.flatten());
    }
    findings
}

fn asked(policy: UndersidePolicy) -> [Asked; 4] {
    [
        Asked {
            figure: "clearance_mm",
            name: "clearance",
            unit: "mm",
            policy_field: "underside.clearance_min_mm",
            least: policy.clearance_min_mm,
            of: |below| below.clearance_mm.as_ref(),
            place: "of the underside",
        },
        Asked {
            figure: "approach_deg",
            name: "approach angle",
            unit: "°",
            policy_field: "underside.approach_min_deg",
            least: policy.approach_min_deg,
            of: |below| below.approach_deg.as_ref(),
            place: "before the front axle",
        },
        Asked {
            figure: "departure_deg",
            name: "departure angle",
            unit: "°",
            policy_field: "underside.departure_min_deg",
            least: policy.departure_min_deg,
            of: |below| below.departure_deg.as_ref(),
            place: "behind the rear axle",
        },
        Asked {
            figure: "breakover_deg",
            name: "breakover angle",
            unit: "°",
            policy_field: "underside.breakover_min_deg",
            least: policy.breakover_min_deg,
            of: |below| below.breakover_deg.as_ref(),
            place: "between the axles",
        },
    ]
}

/// The state in which a figure is least, the earliest of equal ones. `None`: some state does not have it.
fn worst<'a>(below: &'a [Below<'a>], asked: &Asked) -> Option<(&'a str, &'a UndersideFigure)> {
    let all = below
        .iter()
        .map(|state| (asked.of)(&state.underside).map(|figure| (state.load_state, figure)))
        .collect::<Option<Vec<_>>>()?;
    all.into_iter()
        .min_by(|(_, one), (_, other)| one.value.total_cmp(&other.value))
}

/// A figure held against what is asked of it. `None`: nothing is known to say that is not said already.
fn judge(subject: &Subject<'_>, below: &[Below<'_>], asked: &Asked, has_policy: bool) -> Option<Finding> {
    let Some((load_state, held)) = worst(below, asked) else {
        let text = format!(
            "the {} is not known: no point {} limits it",
            asked.name, asked.place
        );
        let missing = format!("points {}", asked.place);
        let remedy = "measure the lowest points there and record them in the suspension";
        return Some(unknown(subject, text, missing, remedy));
    };
    let Some(least) = asked.least.filter(|least| least.is_finite() && *least >= 0.0) else {
        let missing = format!("the policy's {}", asked.policy_field);
        let remedy = "set it in the departure's policy; 0 asks for nothing";
        return has_policy.then(|| unknown(subject, format!("{missing} is not set"), missing, remedy));
    };
    let margin = held.value - least;
    let warn = subject.loads.departure.policy.margin_warn_fraction.unwrap_or(0.0) * least;
    let (answer, remedy) = match margin {
        _ if margin < 0.0 => (
            Answer::NotMet,
            "raise or shorten what is lowest, put springs right or move load off the axle that sinks",
        ),
        _ if margin < warn => (
            Answer::MetWithConditions,
            "measure it on the loaded vehicle on level ground",
        ),
        _ => (Answer::Met, ""),
    };
    let (name, unit) = (asked.name, asked.unit);
    let text = format!(
        "{name} {:.1} {unit} ({}), asked at least {least:.1} {unit}, {}",
        held.value,
        held.point,
        when(load_state)
    );
    let records = vec![subject.vehicle.name.clone(), subject.loads.departure.name.clone()];
    let mut finding = Finding::new(answer, text, records)
        .remedy(match remedy {
            "" => String::new(),
            remedy => format!("{remedy}. {CAUTION_COMPUTED_STANCE}"),
        })
        .basis(FORMULA_VERSION);
    finding.figures.push(Figure {
        id: asked.figure.to_owned(),
        value: held.value,
        limit: Some(least),
        uncertainty: None,
    });
    Some(finding)
}
