//! Wheels: do wheel loads, lean, rake, travel and cross weight stay within the policy at every moment?
//!
//! The vehicle of the record is put on its springs in each load state; the moment that is worst for a tolerance is
//! named. Measured heights are judged beside it, in `heights`.

use super::against_limit::Subject;
use super::at_rest::{not_known, problems, unknown, when};
use super::{Finding, Gate, gate as build};
use crate::answer::Answer;
use crate::readiness::Figure;
use crate::record::Policy;
use crate::stance::recorded::FORMULA_VERSION;
use crate::stance::standing::{AtRest, Standing};
use crate::stance::{CAUTION_COMPUTED_STANCE, Stance, StanceError, Wheel, WheelContact};
use crate::units::STANDARD_GRAVITY_M_PER_S2;

/// A tolerance of the policy.
struct Tolerance {
    /// Figure, its unit last.
    figure: &'static str,
    /// For sentences.
    name: &'static str,
    unit: &'static str,
    /// Factor from the figure to what people read.
    shown: f64,
    /// Field of the policy.
    policy_field: &'static str,
    limit: Option<f64>,
    /// The value must stay at or above the limit, not below it.
    at_least: bool,
    /// What the record must hold for the value to be known.
    needs: &'static str,
}

/// Wheels, with what was found of the `measured` heights.
pub(super) fn gate(subject: &Subject<'_>, standing: &Standing, measured: &[Finding]) -> Gate {
    let mut findings: Vec<Finding> = problems(subject, standing)
        .map(|(load_state, error)| does_not_stand(subject, load_state, error))
        .collect();
    findings.extend(not_known(subject, standing));
    let at_rest: &[&AtRest] = &standing.at_rest().collect::<Vec<_>>();
    if !at_rest.is_empty() {
        findings.extend(heaviest_wheel(subject, at_rest));
        findings.extend(
            tolerances(&subject.loads.departure.policy)
                .iter()
                .map(|tolerance| judge(subject, at_rest, tolerance)),
        );
    }
    findings.extend_from_slice(measured);
    build(
        "wheels",
        "Does it stand level enough, with travel left, at every moment?",
        findings,
        "lean, rake, travel and cross weight are within the policy at every moment".to_owned(),
    )
}

fn tolerances(policy: &Policy) -> [Tolerance; 4] {
    let tolerance = |figure, name, unit, policy_field, limit, needs| Tolerance {
        figure,
        name,
        unit,
        shown: 1.0,
        policy_field,
        limit,
        at_least: false,
        needs,
    };
    [
        tolerance(
            "lean_mm",
            "lean at the arches",
            "mm",
            "lean_max_mm",
            policy.lean_max_mm,
            "the arch width of the suspension",
        ),
        tolerance(
            "rake_change_mm",
            "change of rake",
            "mm",
            "rake_change_max_mm",
            policy.rake_change_max_mm,
            "",
        ),
        Tolerance {
            at_least: true,
            ..tolerance(
                "bump_travel_left_mm",
                "least travel left to a bump stop",
                "mm",
                "bump_travel_min_mm",
                policy.bump_travel_min_mm,
                "travel and rate of every bump stop",
            )
        },
        Tolerance {
            shown: 100.0,
            ..tolerance(
                "cross_weight_deviation",
                "cross weight away from one half",
                "%",
                "cross_weight_deviation_max",
                policy.cross_weight_deviation_max,
                "",
            )
        },
    ]
}

/// The value of a tolerance in a stance, and the word for where or which way.
fn value(subject: &Subject<'_>, stance: &Stance, figure: &str) -> Option<(f64, &'static str)> {
    match figure {
        "lean_mm" => {
            let width_mm = subject.vehicle.specification.suspension.as_ref()?.arch_width_mm?;
            let lean_mm = stance.lean_mm(width_mm);
            Some((
                lean_mm.abs(),
                if lean_mm < 0.0 {
                    "left lower"
                } else {
                    "right lower"
                },
            ))
        }
        "rake_change_mm" => {
            let rake_mm = stance.rake_mm();
            Some((
                rake_mm.abs(),
                if rake_mm < 0.0 {
                    "rear lower"
                } else {
                    "rear higher"
                },
            ))
        }
        "bump_travel_left_mm" => {
            let travels = Wheel::ALL.map(|wheel| (stance.wheel(wheel).bump_travel_left_mm, wheel));
            travels
                .into_iter()
                .map(|(left_mm, wheel)| left_mm.map(|left_mm| (left_mm, wheel.words())))
                .collect::<Option<Vec<_>>>()?
                .into_iter()
                .min_by(|a, b| a.0.total_cmp(&b.0))
        }
        _ => {
            let off = stance.cross_weight_share - 0.5;
            Some((
                off.abs(),
                if off < 0.0 {
                    "front right and rear left"
                } else {
                    "front left and rear right"
                },
            ))
        }
    }
}

/// The state in which a tolerance is tightest, its value there, and where or which way. `None`: not known in some state.
fn worst<'a>(
    subject: &Subject<'_>,
    at_rest: &[&'a AtRest],
    tolerance: &Tolerance,
    limit: f64,
) -> Option<(&'a AtRest, (f64, &'static str))> {
    let over = |held: f64| {
        if tolerance.at_least {
            limit - held
        } else {
            held - limit
        }
    };
    let all = at_rest
        .iter()
        .map(|rest| value(subject, &rest.stance, tolerance.figure).map(|held| (*rest, held)))
        .collect::<Option<Vec<_>>>()?;
    // Of equal ones the earliest counts.
    all.into_iter()
        .rev()
        .max_by(|(_, left), (_, right)| over(left.0).total_cmp(&over(right.0)))
}

fn judge(subject: &Subject<'_>, at_rest: &[&AtRest], tolerance: &Tolerance) -> Finding {
    let Some(limit) = tolerance.limit.filter(|limit| limit.is_finite() && *limit >= 0.0) else {
        let missing = format!("the policy's {}", tolerance.policy_field);
        return unknown(
            subject,
            format!("{missing} is not set"),
            missing,
            "set it in the departure's policy",
        );
    };
    let Some((rest, (held, where_or_which))) = worst(subject, at_rest, tolerance, limit) else {
        return unknown(
            subject,
            format!(
                "the {} is not known: {} is not recorded",
                tolerance.name, tolerance.needs
            ),
            tolerance.needs.to_owned(),
            "record it in the vehicle's suspension",
        );
    };
    let margin = if tolerance.at_least {
        held - limit
    } else {
        limit - held
    };
    let warn = subject.loads.departure.policy.margin_warn_fraction.unwrap_or(0.0) * limit;
    let (answer, remedy) = match margin {
        _ if margin < 0.0 => (
            Answer::NotMet,
            "put springs, sides and load right, then measure the heights on level ground",
        ),
        _ if margin < warn => (
            Answer::MetWithConditions,
            "measure heights and travel of the loaded vehicle on level ground",
        ),
        _ => (Answer::Met, ""),
    };
    let (shown, unit) = (tolerance.shown, tolerance.unit);
    let bound = if tolerance.at_least { "at least" } else { "at most" };
    let text = format!(
        "{} {:.1} {unit} ({where_or_which}), asked {bound} {:.1} {unit}, {}",
        tolerance.name,
        held * shown,
        limit * shown,
        when(&rest.load_state)
    );
    let mut finding = Finding::new(
        answer,
        text,
        vec![subject.vehicle.name.clone(), subject.loads.departure.name.clone()],
    )
    .remedy(if remedy.is_empty() {
        String::new()
    } else {
        format!("{remedy}. {CAUTION_COMPUTED_STANCE}")
    })
    .basis(FORMULA_VERSION);
    finding.figures.push(Figure {
        id: tolerance.figure.to_owned(),
        value: held,
        limit: Some(limit),
        uncertainty: None,
    });
    finding
}

/// The heaviest wheel of all moments, with the loads of all four then; a wheel without load is not met.
fn heaviest_wheel(subject: &Subject<'_>, at_rest: &[&AtRest]) -> Vec<Finding> {
    let kg = |rest: &AtRest, wheel: Wheel| rest.stance.wheel(wheel).load_n / STANDARD_GRAVITY_M_PER_S2;
    let records = || vec![subject.vehicle.name.clone(), subject.loads.departure.name.clone()];
    let mut findings = Vec::new();
    let all = || {
        at_rest
            .iter()
            .flat_map(|rest| Wheel::ALL.map(|wheel| (*rest, wheel)))
    };
    if let Some((rest, wheel)) =
        all().find(|(rest, wheel)| rest.stance.wheel(*wheel).contact == WheelContact::OffGround)
    {
        let text = format!(
            "the {} wheel carries nothing {}",
            wheel.words(),
            when(&rest.load_state)
        );
        findings.push(
            Finding::new(Answer::NotMet, text, records())
                .remedy("put springs, sides and load right")
                .basis(FORMULA_VERSION),
        );
    }
    let heaviest = all()
        .map(|(rest, wheel)| (rest, wheel, kg(rest, wheel)))
        .reduce(|most, next| if next.2 > most.2 { next } else { most });
    if let Some((rest, wheel, load_kg)) = heaviest {
        let text = format!(
            "the heaviest wheel is the {} one with {load_kg:.0} kg, {}",
            wheel.words(),
            when(&rest.load_state)
        );
        let mut finding = Finding::new(Answer::Met, text, records()).basis(FORMULA_VERSION);
        finding.figures = Wheel::ALL
            .map(|wheel| Figure {
                id: format!("{}_wheel_load_kg", wheel.words().replace(' ', "_")),
                value: kg(rest, wheel),
                limit: None,
                uncertainty: None,
            })
            .into();
        findings.push(finding);
    }
    findings
}

fn does_not_stand(subject: &Subject<'_>, load_state: &str, error: &StanceError) -> Finding {
    let text = format!("{} it does not stand on its springs: {error}", when(load_state));
    match error {
        StanceError::NoEquilibrium(_) => Finding::new(
            Answer::NotMet,
            text,
            vec![subject.vehicle.name.clone(), subject.loads.departure.name.clone()],
        )
        .remedy("put springs and load right; check the recorded suspension")
        .basis(FORMULA_VERSION),
        StanceError::Invalid(_) | StanceError::NotConverged { .. } => {
            let missing = "a suspension that can be computed with".to_owned();
            unknown(subject, text, missing, "correct the recorded suspension")
        }
    }
}
