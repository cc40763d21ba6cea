//! Circuits as recorded: drop, ampacity and fuse of a cable that is laid.

use super::cable::{CableRun, DROP_SHARE_CRITICAL, DROP_SHARE_OTHER, VoltageDrop, size_cable, voltage_drop};
use super::fuse::{FuseChoice, FuseReason, RATINGS_COMMON_PRACTICE_A, choose_fuse};
use crate::answer::Answer;
use crate::check::InvalidInput;
use crate::record::Circuit;

/// One circuit judged.
#[derive(Debug, Clone, PartialEq)]
pub struct CircuitVerdict {
    /// Its name for people.
    pub name: String,
    /// Its voltage drop.
    pub drop: VoltageDrop,
    /// Share of the voltage that is allowed.
    pub drop_max_share: f64,
    /// Smallest area whose drop is within it, mm2. `None`: none of the table is.
    pub smallest_by_drop_mm2: Option<f64>,
    /// The fuses that fit.
    pub fuse: FuseChoice,
    /// The fuse that is fitted, A. `None`: not known.
    pub fuse_a: Option<f64>,
    /// What stands against it, and what is not known: nothing when it is right.
    pub problems: Vec<CircuitProblem>,
}

/// Something about a circuit.
#[derive(Debug, Clone, PartialEq)]
pub struct CircuitProblem {
    /// What it means.
    pub answer: Answer,
    /// What it is.
    pub text: String,
    /// What would clear it.
    pub remedy: String,
}

impl CircuitVerdict {
    /// The worst of its problems.
    pub fn answer(&self) -> Answer {
        let answers = self.problems.iter().map(|problem| problem.answer);
        answers.max().unwrap_or(Answer::Met)
    }
}

/// A circuit on a bank of `system_voltage_v`. A fuse must lie above the load and at or below the ampacity; a
/// critical circuit that drops too much is not met, another is a condition.
///
/// # Errors
/// Values outside the ranges of their fields.
pub fn judge_circuit(circuit: &Circuit, system_voltage_v: f64) -> Result<CircuitVerdict, InvalidInput> {
    let run = CableRun {
        current_a: circuit.current_a,
        length_one_way_m: circuit.length_one_way_m,
        system_voltage_v,
        class: circuit.class,
        temperature_c: circuit.conductor_temperature_c,
    };
    let drop_max_share = if circuit.critical {
        DROP_SHARE_CRITICAL
    } else {
        DROP_SHARE_OTHER
    };
    let drop = voltage_drop(&run, circuit.size_mm2)?;
    let sizing = size_cable(&run, drop_max_share, &[])?;
    let fuse = choose_fuse(circuit.current_a, circuit.ampacity_a, &RATINGS_COMMON_PRACTICE_A)?;
    let mut verdict = CircuitVerdict {
        name: match circuit.display_name.as_str() {
            "" => circuit.id.to_string(),
            name => name.to_owned(),
        },
        drop,
        drop_max_share,
        smallest_by_drop_mm2: sizing.smallest_by_drop_mm2,
        fuse,
        fuse_a: circuit.fuse_a,
        problems: Vec::new(),
    };
    verdict.problems = problems(circuit, &verdict);
    Ok(verdict)
}

fn problems(circuit: &Circuit, verdict: &CircuitVerdict) -> Vec<CircuitProblem> {
    let name = &verdict.name;
    let mut problems = Vec::new();
    let mut say = |answer, text: String, remedy: String| {
        problems.push(CircuitProblem { answer, text, remedy });
    };
    let share = verdict.drop.drop_share;
    if share > verdict.drop_max_share {
        let answer = if circuit.critical {
            Answer::NotMet
        } else {
            Answer::MetWithConditions
        };
        let remedy = match verdict.smallest_by_drop_mm2 {
            Some(size_mm2) => format!("lay {size_mm2} mm2 or shorten the run"),
            None => "shorten the run".to_owned(),
        };
        say(
            answer,
            format!(
                "{name}: {:.1} % of the voltage is lost, {:.0} % allowed",
                share * 100.0,
                verdict.drop_max_share * 100.0
            ),
            remedy,
        );
    }
    let Some(ampacity_a) = circuit.ampacity_a else {
        say(
            Answer::NotKnown,
            format!("{name}: what its cable carries is not known"),
            "record the ampacity by the cable's maker".to_owned(),
        );
        return problems;
    };
    if verdict.fuse.reason == FuseReason::CableTooSmall {
        let text = format!(
            "{name}: {:.1} A through a cable for {ampacity_a:.1} A",
            circuit.current_a
        );
        say(Answer::NotMet, text, "lay a larger cable".to_owned());
        return problems;
    }
    let range = format!("above {:.1} A, at most {ampacity_a:.1} A", circuit.current_a);
    match circuit.fuse_a {
        None => say(
            Answer::NotKnown,
            format!("{name}: its fuse is not known"),
            format!("record the fuse; it must be {range}"),
        ),
        Some(fuse_a) if fuse_a <= circuit.current_a || fuse_a > ampacity_a => say(
            Answer::NotMet,
            format!("{name}: a fuse of {fuse_a} A where it must be {range}"),
            match verdict.fuse.chosen_a {
                Some(chosen_a) => format!("fit a fuse of {chosen_a} A"),
                None => "lay a larger cable".to_owned(),
            },
        ),
        Some(_) => {}
    }
    problems
}
