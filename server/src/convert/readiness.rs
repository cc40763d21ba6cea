//! Readiness.

use ostler_core::answer::Answer;
use ostler_core::readiness::{
    self, ClearingJob, Figure, Finding, FirstStep, Gate, GateDifference, Readiness, VehicleReadiness, Verdict,
};
use ostler_core::record::Shared;
use ostler_proto::v1;

pub(crate) fn answer_message(answer: Answer) -> v1::Answer {
    match answer {
        Answer::Met => v1::Answer::Met,
        Answer::MetWithConditions => v1::Answer::MetWithConditions,
        Answer::NotKnown => v1::Answer::NotKnown,
        Answer::NotMet => v1::Answer::NotMet,
    }
}

pub(crate) fn verdict_message(verdict: Verdict) -> v1::Verdict {
    match verdict {
        Verdict::Go => v1::Verdict::Go,
        Verdict::GoWithConditions => v1::Verdict::GoWithConditions,
        Verdict::NoGo => v1::Verdict::NoGo,
    }
}

/// How much of a readiness a message tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Detail {
    /// The verdict alone.
    Verdict,
    /// The verdicts of the vehicles besides.
    Verdicts,
    /// The gates besides, without what their answers come from.
    Answers,
    /// Everything.
    Whole,
}

/// A readiness as a message.
pub(crate) fn readiness_message(result: &Readiness, record_version: String, detail: Detail) -> v1::Readiness {
    let Readiness {
        departure,
        verdict,
        vehicles,
        gates: convoy,
    } = result;
    let gates = |gates: &[Gate]| match detail {
        Detail::Verdict | Detail::Verdicts => Vec::new(),
        Detail::Answers => gates.iter().map(gate_answer).collect(),
        Detail::Whole => gates.iter().map(gate_message).collect(),
    };
    let vehicle = |vehicle: &Shared<VehicleReadiness>| v1::VehicleReadiness {
        vehicle: vehicle.vehicle.to_string(),
        display_name: vehicle.display_name.clone(),
        verdict: verdict_message(vehicle.verdict).into(),
        gates: gates(&vehicle.gates),
    };
    v1::Readiness {
        departure: departure.to_string(),
        verdict: verdict_message(*verdict).into(),
        vehicles: match detail {
            Detail::Verdict => Vec::new(),
            _ => vehicles.iter().map(vehicle).collect(),
        },
        gates: gates(convoy),
        record_version,
        caution: readiness::CAUTION.to_owned(),
        unchanged: false,
        first_steps: match detail {
            Detail::Whole => result.first_steps().into_iter().map(first_step_message).collect(),
            _ => Vec::new(),
        },
    }
}

fn first_step_message(step: FirstStep<'_>) -> v1::FirstStep {
    let FirstStep {
        vehicle,
        gate,
        finding,
    } = step;
    v1::FirstStep {
        vehicle: vehicle.map(ToString::to_string).unwrap_or_default(),
        gate: gate.to_owned(),
        finding: Some(finding_message(finding.clone())),
    }
}

pub(crate) fn gate_message(gate: &Gate) -> v1::Gate {
    v1::Gate {
        findings: gate.findings.iter().cloned().map(finding_message).collect(),
        ..gate_answer(gate)
    }
}

/// A gate without what its answer comes from.
fn gate_answer(gate: &Gate) -> v1::Gate {
    let Gate {
        id,
        display_name,
        answer,
        summary,
        findings: _,
        not_binding,
    } = gate;
    v1::Gate {
        id: (*id).to_owned(),
        display_name: (*display_name).to_owned(),
        answer: answer_message(*answer).into(),
        summary: summary.clone(),
        findings: Vec::new(),
        not_binding: *not_binding,
    }
}

pub(crate) fn gate_change_message(difference: GateDifference) -> v1::GateChange {
    let gate = difference.gate().to_owned();
    let GateDifference {
        vehicle,
        before,
        after,
    } = difference;
    v1::GateChange {
        vehicle: vehicle.map_or_else(String::new, String::from),
        gate,
        before: before.as_ref().map(gate_message),
        after: after.as_ref().map(gate_message),
    }
}

pub(crate) fn finding_message(finding: Finding) -> v1::Finding {
    let Finding {
        answer,
        text,
        remedy,
        figures,
        records,
        missing,
        basis,
        key,
        acceptance,
        clearing_jobs,
    } = finding;
    v1::Finding {
        answer: answer_message(answer).into(),
        text,
        remedy,
        figures: figures.into_iter().map(figure_message).collect(),
        records: records.into_iter().map(String::from).collect(),
        missing,
        basis,
        key,
        acceptance: acceptance.map_or_else(String::new, String::from),
        clearing_jobs: clearing_jobs.into_iter().map(clearing_job_message).collect(),
    }
}

fn clearing_job_message(clearing: ClearingJob) -> v1::ClearingJob {
    let ClearingJob {
        job,
        display_name,
        hours_left,
        finish_date,
    } = clearing;
    v1::ClearingJob {
        job: job.into(),
        display_name,
        hours_left,
        finish_date: finish_date.map(|date| date.to_string()).unwrap_or_default(),
    }
}

fn figure_message(figure: Figure) -> v1::Figure {
    let Figure {
        id,
        value,
        limit,
        uncertainty,
    } = figure;
    v1::Figure {
        id,
        value,
        limit,
        uncertainty,
    }
}
