//! Readiness.

use ostler_core::answer::Answer;
use ostler_core::readiness::{
    self, ClearingJob, Figure, Finding, FirstStep, Gate, GateDifference, Readiness, VehicleReadiness, Verdict,
};
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

/// A readiness as a message.
pub(crate) fn readiness_message(result: Readiness, record_version: String) -> v1::Readiness {
    let Readiness {
        departure,
        verdict,
        vehicles,
        gates,
        first_steps,
    } = result;
    v1::Readiness {
        departure: departure.into(),
        verdict: verdict_message(verdict).into(),
        vehicles: vehicles.into_iter().map(vehicle_message).collect(),
        gates: gates.into_iter().map(gate_message).collect(),
        record_version,
        caution: readiness::CAUTION.to_owned(),
        unchanged: false,
        first_steps: first_steps.into_iter().map(first_step_message).collect(),
    }
}

fn first_step_message(step: FirstStep) -> v1::FirstStep {
    let FirstStep {
        vehicle,
        gate,
        finding,
    } = step;
    v1::FirstStep {
        vehicle: vehicle.map_or_else(String::new, String::from),
        gate: gate.to_owned(),
        finding: Some(finding_message(finding)),
    }
}

fn vehicle_message(vehicle: VehicleReadiness) -> v1::VehicleReadiness {
    let VehicleReadiness {
        vehicle,
        display_name,
        verdict,
        gates,
    } = vehicle;
    v1::VehicleReadiness {
        vehicle: vehicle.into(),
        display_name,
        verdict: verdict_message(verdict).into(),
        gates: gates.into_iter().map(gate_message).collect(),
    }
}

pub(crate) fn gate_message(gate: Gate) -> v1::Gate {
    let Gate {
        id,
        display_name,
        answer,
        summary,
        findings,
        not_binding,
    } = gate;
    v1::Gate {
        id: id.to_owned(),
        display_name: display_name.to_owned(),
        answer: answer_message(answer).into(),
        summary,
        findings: findings.into_iter().map(finding_message).collect(),
        not_binding,
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
        before: before.map(gate_message),
        after: after.map(gate_message),
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
