//! How things are held, and whether that is enough.

use ostler_core::record::{ClosingLashing, Restraint, RestraintStandard};
use ostler_core::restraint::recorded::{Asked, standard as data_of};
use ostler_core::restraint::us_rules::{AggregateCheck, CountCheck};
use ostler_core::restraint::{
    Assessment, CAUTIONS, Closing, Direction, FORMULA_VERSION, Factors, Geometry, HeldRecord, LashingGroup,
    Lead, Ratings, Remedy, Row, Standard, VehicleRestraint,
};
use ostler_proto::v1;

use super::readiness::answer_message;
use super::{Converted, Within, each, missing};

pub(crate) fn optional_restraint(
    field: &str,
    message: Option<v1::Restraint>,
) -> Converted<Option<Restraint>> {
    message
        .map(|message| restraint(message).within(field))
        .transpose()
}

pub(crate) fn restraint(message: v1::Restraint) -> Converted<Restraint> {
    let v1::Restraint {
        method,
        capacity_forward_n,
        capacity_rearward_n,
        capacity_sideways_n,
        capacity_upward_n,
        friction,
        fully_contained,
        length_mm,
        lashings,
    } = message;
    Ok(Restraint {
        method,
        capacity_forward_n,
        capacity_rearward_n,
        capacity_sideways_n,
        capacity_upward_n,
        friction,
        fully_contained,
        length_mm,
        lashings: each("lashings", lashings, lashing)?,
    })
}

fn lashing(message: v1::Lashing) -> Converted<LashingGroup> {
    use v1::lashing::Geometry as Message;
    let v1::Lashing {
        name,
        count,
        ratings: rated,
        geometry,
    } = message;
    let geometry = match geometry {
        // Leads nowhere and holds nothing; the integrity of what is written refuses it.
        None => Geometry::Direct {
            lead: Lead {
                aft_mm: 0.0,
                right_mm: 0.0,
                down_mm: 0.0,
            },
        },
        Some(Message::TieDownAngleDeg(angle_to_deck_deg)) => Geometry::TieDown { angle_to_deck_deg },
        Some(Message::DirectBearing(v1::LashingBearing {
            angle_to_deck_deg,
            bearing_deg,
        })) => Geometry::Direct {
            lead: Lead::from_angles(angle_to_deck_deg, bearing_deg),
        },
        Some(Message::DirectLead(v1::LashingLead {
            aft_mm,
            right_mm,
            down_mm,
        })) => Geometry::Direct {
            lead: Lead {
                aft_mm,
                right_mm,
                down_mm,
            },
        },
    };
    Ok(LashingGroup {
        name,
        count: u32::try_from(count).map_err(|_| missing("count"))?,
        ratings: ratings(rated.unwrap_or_default()),
        geometry,
    })
}

fn ratings(message: v1::LashingRatings) -> Ratings {
    let v1::LashingRatings {
        lashing_capacity_n,
        tension_n,
        working_load_limit_n,
        breaking_strength_n,
    } = message;
    Ratings {
        lashing_capacity_n,
        tension_n,
        working_load_limit_n,
        breaking_strength_n,
    }
}

pub(crate) fn closing_lashing(message: v1::ClosingLashing) -> ClosingLashing {
    let v1::ClosingLashing {
        name,
        ratings: rated,
        angle_to_deck_deg,
    } = message;
    ClosingLashing {
        name,
        ratings: ratings(rated.unwrap_or_default()),
        angle_to_deck_deg,
    }
}

/// A named standard; `None` when none is named.
pub(crate) fn standard(value: i32) -> Option<RestraintStandard> {
    match v1::RestraintStandard::try_from(value) {
        Ok(v1::RestraintStandard::AuGuide2018) => Some(RestraintStandard::AustralianGuide2018),
        Ok(v1::RestraintStandard::En1219512010) => Some(RestraintStandard::En12195Part1Of2010),
        Ok(v1::RestraintStandard::Us49Cfr393) => Some(RestraintStandard::Us49Cfr393),
        Ok(v1::RestraintStandard::Unspecified) | Err(_) => None,
    }
}

/// What is asked of given data: the standard named, and own multiples.
pub(crate) fn asked(named: i32, factors: Option<v1::RestraintFactors>) -> Vec<Standard> {
    let own = factors.map(|message| {
        let v1::RestraintFactors {
            forward_g,
            rearward_g,
            sideways_g,
            upward_g,
        } = message;
        let factors = Factors {
            forward: forward_g,
            rearward: rearward_g,
            sideways: sideways_g,
            upward: upward_g,
        };
        Standard::policy(factors, "the request")
    });
    standard(named).map(data_of).into_iter().chain(own).collect()
}

/// The answer of an assessment.
pub(crate) fn response(result: VehicleRestraint) -> v1::AssessRestraintResponse {
    let VehicleRestraint { asked, mut held } = result;
    let Asked { standards, missing } = asked;
    held.sort_by_key(|held| std::cmp::Reverse(held.answer()));
    v1::AssessRestraintResponse {
        things: held.into_iter().map(held_message).collect(),
        standards: standards.into_iter().map(standard_message).collect(),
        missing,
        cautions: CAUTIONS.map(str::to_owned).to_vec(),
        formula_version: FORMULA_VERSION.to_owned(),
    }
}

fn standard_message(standard: Standard) -> v1::AskedStandard {
    let Standard {
        id,
        title,
        source,
        scope: _,
        criteria: _,
        upward: _,
        friction: _,
        aggregate_fraction: _,
    } = standard;
    v1::AskedStandard { id, title, source }
}

fn held_message(held: HeldRecord) -> v1::HeldThing {
    let answer = held.answer();
    let HeldRecord {
        record,
        tank,
        display_name,
        mass_kg,
        mass_tolerance_kg: _,
        assessments,
        missing,
    } = held;
    v1::HeldThing {
        record: record.map(String::from).unwrap_or_default(),
        tank: tank.map(String::from).unwrap_or_default(),
        display_name,
        mass_kg,
        answer: answer_message(answer).into(),
        assessments: assessments.into_iter().map(assessment_message).collect(),
        missing,
    }
}

fn assessment_message(assessment: Assessment) -> v1::RestraintAssessment {
    let Assessment {
        standard_id,
        verdict,
        rows,
        aggregate,
        count,
        scope,
    } = assessment;
    v1::RestraintAssessment {
        standard: standard_id,
        answer: answer_message(verdict.answer()).into(),
        rows: rows.into_iter().map(row_message).collect(),
        aggregate: aggregate.map(aggregate_message),
        count: count.map(count_message),
        scope: scope
            .into_iter()
            .map(|statement| v1::RestraintScope {
                text: statement.text,
                outside: statement.outside,
            })
            .collect(),
    }
}

fn row_message(row: Row) -> v1::RestraintRow {
    let Row {
        criterion,
        direction,
        required_n,
        provided_n,
        shortfall_n,
        verdict,
        missing,
        closing,
    } = row;
    v1::RestraintRow {
        criterion,
        direction: direction_message(direction).into(),
        required_n,
        provided_n,
        shortfall_n,
        answer: answer_message(verdict.answer()).into(),
        missing,
        closing: closing.into_iter().map(closing_message).collect(),
    }
}

fn direction_message(direction: Direction) -> v1::RestraintDirection {
    match direction {
        Direction::Forward => v1::RestraintDirection::Forward,
        Direction::Rearward => v1::RestraintDirection::Rearward,
        Direction::Left => v1::RestraintDirection::Left,
        Direction::Right => v1::RestraintDirection::Right,
        Direction::Upward => v1::RestraintDirection::Upward,
    }
}

fn closing_message(closing: Closing) -> v1::ClosingCount {
    let Closing { group, remedy } = closing;
    let further_count = match remedy {
        Remedy::Further(count) => i32::try_from(count).ok(),
        Remedy::CannotClose | Remedy::NotKnown => None,
    };
    v1::ClosingCount {
        lashing: group,
        further_count,
        not_known: remedy == Remedy::NotKnown,
    }
}

fn aggregate_message(check: AggregateCheck) -> v1::AggregateRestraint {
    let AggregateCheck {
        required_n,
        provided_n,
        verdict,
        missing,
        closing,
    } = check;
    v1::AggregateRestraint {
        required_n,
        provided_n,
        answer: answer_message(verdict.answer()).into(),
        missing,
        closing: closing.into_iter().map(closing_message).collect(),
    }
}

fn count_message(check: CountCheck) -> v1::LashingCount {
    let CountCheck {
        required,
        provided,
        verdict,
    } = check;
    v1::LashingCount {
        required: required.and_then(|count| i32::try_from(count).ok()),
        provided: i32::try_from(provided).unwrap_or(i32::MAX),
        answer: answer_message(verdict.answer()).into(),
    }
}
