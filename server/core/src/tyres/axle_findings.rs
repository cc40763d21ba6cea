//! What is found about the wheels of an axle: alike tyres, tyre on rim, studs and nuts.

use super::interchange::UNLIKE_TYRES_CAUTION;
use super::recorded::{AtWheel, inner_tyre_slot, length_mm, seat, tyre_seat, tyre_slot, wheel_slot};
use super::service::Fitting;
use super::trip::Asked;
use super::wheel_fit::{StudEngagement, StudJoint, TubeFit, WHEEL_NUT_CAUTION, stud_engagement, tube_fit};
use crate::answer::Answer;
use crate::readiness::{Figure, Finding};
use crate::record::Part;

/// Tyres of one size and construction at both ends.
pub(super) fn alike_on_axle(asked: &Asked<'_>, left: &AtWheel<'_>, right: &AtWheel<'_>) -> Option<Finding> {
    let (one, other) = (left.marking()?.designation, right.marking()?.designation);
    let mut records = left.records();
    records.extend(right.records());
    let differ = |answer, what: &str| {
        let text = format!(
            "{} and {} on the {} axle: {what}",
            one,
            other,
            left.wheel.axle().words()
        );
        Some(
            asked
                .finding(answer, text, records.clone())
                .remedy(format!("fit a pair. {UNLIKE_TYRES_CAUTION}")),
        )
    };
    if one.size != other.size {
        differ(Answer::NotMet, "different sizes")
    } else if one.construction != other.construction {
        differ(Answer::NotMet, "different constructions")
    } else if one.tube != other.tube {
        differ(Answer::MetWithConditions, "tubeless and tube type")
    } else if one.service != other.service {
        differ(Answer::MetWithConditions, "different service descriptions")
    } else {
        None
    }
}

/// Two tyres side by side, which share their load evenly only when they are alike.
pub(super) fn side_by_side(asked: &Asked<'_>, end: &AtWheel<'_>) -> Option<Finding> {
    if end.fitting == Fitting::Single {
        return None;
    }
    let place = end.wheel.words();
    let Some(inner) = end.inner_tyre else {
        let missing = format!("what is in {}", inner_tyre_slot(end.wheel));
        return Some(asked.unknown(missing, end.records()));
    };
    let designation = |tyre: &Part| tyre.tyre.as_ref().map(|marking| marking.designation);
    match (
        end.marking().map(|marking| marking.designation),
        designation(inner),
    ) {
        (Some(outer), Some(inner)) if outer == inner => None,
        (Some(outer), Some(inner)) => {
            let text = format!("{place}: {outer} beside {inner}: they do not share the load evenly");
            Some(
                asked
                    .finding(Answer::NotMet, text, end.records())
                    .remedy("fit two alike, of one diameter and pressure"),
            )
        }
        // That the outer one is not known is said elsewhere.
        (None, _) => None,
        (_, None) => Some(asked.unknown(
            format!("the designation of {}", inner.display_name),
            end.records(),
        )),
    }
}

/// The tyre on its rim, with or without tube.
pub(super) fn fitted(asked: &Asked<'_>, end: &AtWheel<'_>) -> Option<Finding> {
    let place = end.wheel.words();
    let records = end.records();
    let (Some(tyre), Some(rim)) = (end.tyre, end.rim) else {
        let slots: Vec<String> = [(tyre_slot(end.wheel), end.tyre), (wheel_slot(end.wheel), end.rim)]
            .into_iter()
            .filter(|(_, part)| part.is_none())
            .map(|(slot, _)| format!("what is in {slot}"))
            .collect();
        return Some(asked.unknown(slots.join(", "), records));
    };
    let Some(marking) = &tyre.tyre else {
        let missing = format!("the designation of {}", tyre.display_name);
        return Some(asked.unknown(missing, records));
    };
    let Some(rim_seat) = end.rim_seat() else {
        let missing = format!("the rim diameter of {}", rim.display_name);
        return Some(asked.unknown(missing, records));
    };
    let Some(tube) = marking.tube else {
        let missing = format!("whether {} runs with a tube", tyre.display_name);
        return Some(asked.unknown(missing, records));
    };
    let on = format!("{place}: {} on {}", marking.designation, rim.display_name);
    match tube_fit(&tyre_seat(marking), &rim_seat, tube) {
        TubeFit::Fits => None,
        TubeFit::Makeshift(why) => Some(
            asked
                .finding(Answer::MetWithConditions, format!("{on}: {why}"), records)
                .remedy("fit what the rim and the tyre are made for"),
        ),
        TubeFit::Refused(why) => Some(
            asked
                .finding(Answer::NotMet, format!("{on}: {why}"), records)
                .remedy("fit what the rim and the tyre are made for"),
        ),
        TubeFit::NotKnown(missing) => Some(asked.unknown(format!("{missing} ({on})"), records)),
    }
}

/// Thread engagement and seat of the nuts.
pub(super) fn studs(asked: &Asked<'_>, end: &AtWheel<'_>) -> Vec<Finding> {
    let Some(rim) = end.rim else {
        // `fitted` says that it is not on record.
        return Vec::new();
    };
    let place = end.wheel.words();
    let mut findings = Vec::new();
    match (end.nuts(), seat(rim.interface("nut_seat"))) {
        (Some(nuts), Some(wheel)) if nuts.fits(&wheel) => {}
        (Some(nuts), Some(wheel)) => findings.push(
            asked
                .finding(
                    Answer::NotMet,
                    format!(
                        "{place}: nuts with {nuts} seat on {}, which needs {wheel}",
                        rim.display_name
                    ),
                    end.records(),
                )
                .remedy(format!("fit the nuts that the wheel needs. {WHEEL_NUT_CAUTION}")),
        ),
        (None, _) => findings.push(asked.unknown(
            format!(
                "the seat of the wheel nuts (nut_seat of {})",
                wheel_slot(end.wheel)
            ),
            end.records(),
        )),
        (_, None) => {
            findings.push(asked.unknown(format!("the nut seat of {}", rim.display_name), end.records()))
        }
    }
    findings.push(engagement(asked, end));
    findings
}

fn engagement(asked: &Asked<'_>, end: &AtWheel<'_>) -> Finding {
    let place = end.wheel.words();
    let Some(minimum) = asked.policy.stud_engagement_min_diameters else {
        return asked.unknown("the policy's tyres.stud_engagement_min_diameters", Vec::new());
    };
    let nave_mm = end.rim.and_then(|rim| length_mm(rim.interface("nave_thickness")));
    let (thread, protrusion_mm) = (end.stud_thread(), end.hub_length_mm("stud_protrusion"));
    let (Some(thread), Some(stud_protrusion_mm), Some(nave_thickness_mm)) = (thread, protrusion_mm, nave_mm)
    else {
        let missing: Vec<&str> = [
            ("stud_thread of the hub", thread.is_none()),
            ("stud_protrusion of the hub", protrusion_mm.is_none()),
            ("nave_thickness of the wheel", nave_mm.is_none()),
        ]
        .into_iter()
        .filter_map(|(what, lacks)| lacks.then_some(what))
        .collect();
        return asked.unknown(format!("{} at {place}", missing.join(", ")), end.records());
    };
    let joint = StudJoint {
        thread,
        stud_protrusion_mm,
        nave_thickness_mm,
        // The record has no nuts with a threaded shank: a plain one is the safe reading.
        nut_thread_into_nave_mm: 0.0,
        nut_thread_length_mm: None,
        engagement_min_diameters: minimum,
    };
    match stud_engagement(&joint) {
        Ok(engagement) => judge_engagement(asked, end, &joint, &engagement),
        Err(error) => asked.unknown(format!("stud engagement at {place}: {error}"), end.records()),
    }
}

fn judge_engagement(
    asked: &Asked<'_>,
    end: &AtWheel<'_>,
    joint: &StudJoint,
    engagement: &StudEngagement,
) -> Finding {
    let required_mm = end
        .hub_length_mm("thread_engagement")
        .map_or(engagement.required_mm, |asked_mm| {
            asked_mm.max(engagement.required_mm)
        });
    let held = engagement.engagement_mm >= required_mm;
    let text = format!(
        "{}: wheel nuts engage {:.1} mm or {:.1} turns of {}, asked {required_mm:.1} mm",
        end.wheel.words(),
        engagement.engagement_mm,
        engagement.turns,
        joint.thread
    );
    let answer = if held { Answer::Met } else { Answer::NotMet };
    let mut finding = asked.finding(answer, text, end.records());
    if !held {
        finding = finding.remedy(format!(
            "studs {:.1} mm longer, or nuts with a shank for this wheel. {WHEEL_NUT_CAUTION}",
            required_mm - engagement.engagement_mm
        ));
    }
    finding.figures.push(Figure {
        id: format!("{}_engagement_mm", end.wheel.words().replace(' ', "_")),
        value: engagement.engagement_mm,
        limit: Some(required_mm),
        uncertainty: None,
    });
    finding
}
