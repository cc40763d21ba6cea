//! Electrical power of a vehicle.

use ostler_core::answer::Answer;
use ostler_core::electrical::recorded::{Power, PowerInput, power, recorded, recorded_input, vehicle_power};
use ostler_core::electrical::recorded_generator::generator_answer;
use ostler_core::electrical::recorded_issues::{PowerIssue, power_issues};
use ostler_core::record::SupplyGate;
use ostler_proto::v1;
use v1::compute_power_request::Question;

use super::loads::known;
use super::{App, AppError};
use crate::convert::Within;
use crate::convert::electrical::{electrical_system, power_plan};
use crate::convert::power::power_message;

impl App {
    /// Computes the power of a vehicle of a departure, or of the system in the request.
    ///
    /// # Errors
    /// When the departure or the vehicle does not exist, the vehicle does not go, or what is given is out of range.
    pub async fn compute_power(&self, request: v1::ComputePowerRequest) -> Result<v1::PowerResult, AppError> {
        match request.question {
            Some(Question::Recorded(recorded)) => self.recorded_power(recorded).await,
            Some(Question::Given(given)) => given_power(given),
            None => Err(AppError::field("recorded", "or `given` must be set")),
        }
    }

    async fn recorded_power(&self, request: v1::RecordedPower) -> Result<v1::PowerResult, AppError> {
        let v1::RecordedPower { departure, vehicle } = request;
        let (read, departure, vehicle) = self.read_going("recorded", &departure, &vehicle).await?;
        let vehicle = known(&read, &vehicle)?;
        let found = vehicle_power(&departure, vehicle);
        let input =
            recorded(&departure, vehicle).map(|(system, plan)| recorded_input(&departure, system, plan));
        let issues = power_issues(input.as_ref(), &found);
        let generator = match &input {
            // What is out of range there is said by the issues already.
            Some(input) => generator_answer(input, &found, Some((&read.record, vehicle))).unwrap_or_default(),
            None => None,
        };
        let answer = if departure.policy.gates_not_asked.contains(&SupplyGate::Power) {
            Answer::Met
        } else {
            worst(&issues)
        };
        let autonomy_min_days = departure.policy.power_autonomy_min_days;
        let mut message = power_message(autonomy_min_days, answer, found, issues, generator);
        message.departure = departure.name.to_string();
        message.vehicle = vehicle.name.to_string();
        Ok(message)
    }
}

fn worst(issues: &[PowerIssue]) -> Answer {
    issues
        .iter()
        .map(|issue| issue.answer)
        .max()
        .unwrap_or(Answer::Met)
}

fn given_power(given: v1::GivenPower) -> Result<v1::PowerResult, AppError> {
    let v1::GivenPower {
        system,
        plan,
        autonomy_min_days,
        days,
    } = given;
    let system = electrical_system(system.unwrap_or_default())
        .within("system")
        .within("given")?;
    let plan = power_plan(plan.unwrap_or_default())
        .within("plan")
        .within("given")?;
    if plan
        .generator_question
        .as_ref()
        .is_some_and(|question| !question.left_at_home.is_empty())
    {
        let problem = "must be empty: what is given knows no cargo; give the masses under `comes_instead`";
        return Err(AppError::field(
            "given.plan.generator_question.left_at_home[0]",
            problem,
        ));
    }
    let input = PowerInput {
        system: &system,
        plan: &plan,
        // No autonomy asked for is any autonomy.
        autonomy_min_days: Some(autonomy_min_days.unwrap_or(0.0)),
        days: days.unsigned_abs(),
    };
    let found: Power = power(&input).within("given")?;
    let issues = power_issues(Some(&input), &found);
    let generator = generator_answer(&input, &found, None).within("given")?;
    let answer = worst(&issues);
    Ok(power_message(autonomy_min_days, answer, found, issues, generator))
}
