//! Spares of a departure by demand.

use ostler_core::answer::Answer;
use ostler_core::record::SupplyGate;
use ostler_core::spares::advice::advise;
use ostler_core::spares::convoy::convoy_cover;
use ostler_core::spares::issues::{SparesIssue, spares_issues};
use ostler_core::spares::recorded::departure_spares;
use ostler_proto::v1;
use v1::compute_spares_request::Question;

use super::kinds::{Departures, name_of};
use super::{App, AppError};
use crate::convert::Within;
use crate::convert::spares::{given_spares, spares_message};

impl App {
    /// Computes the cover of the spares of a departure, or of those in the request, and advice on them.
    ///
    /// # Errors
    /// When the departure does not exist, or what is given is out of range.
    pub async fn compute_spares(
        &self,
        request: v1::ComputeSparesRequest,
    ) -> Result<v1::SparesResult, AppError> {
        match request.question {
            Some(Question::Recorded(recorded)) => self.recorded_spares(recorded).await,
            Some(Question::Given(given)) => given_result(given),
            None => Err(AppError::field("recorded", "or `given` must be set")),
        }
    }

    async fn recorded_spares(&self, request: v1::RecordedSpares) -> Result<v1::SparesResult, AppError> {
        let v1::RecordedSpares { departure } = request;
        let departure = name_of::<Departures>("recorded.departure", &departure)?;
        let (read, departure) = self.read_departure(&departure).await?;
        let spares = departure_spares(&read.record, &departure);
        let advice = spares.advice(&read.record, &departure).within("recorded")?;
        let issues = spares_issues(&spares.input, spares.cover.as_ref(), &spares.missing);
        let answer = if departure.policy.gates_not_asked.contains(&SupplyGate::Spares) {
            Answer::Met
        } else {
            worst(&issues)
        };
        let mut message = spares_message(&spares.input, answer, issues, spares.cover, advice);
        message.departure = departure.name.to_string();
        Ok(message)
    }
}

fn given_result(given: v1::GivenSpares) -> Result<v1::SparesResult, AppError> {
    let input = given_spares(given).within("given")?;
    let cover = convoy_cover(&input).within("given")?;
    let advice = advise(&input, &cover).within("given")?;
    let missing: Vec<String> = cover
        .pools
        .iter()
        .flat_map(|pool| pool.pool.missing.clone())
        .collect();
    let issues = spares_issues(&input, Some(&cover), &missing);
    let answer = worst(&issues);
    Ok(spares_message(&input, answer, issues, Some(cover), Some(advice)))
}

fn worst(issues: &[SparesIssue]) -> Answer {
    issues
        .iter()
        .map(|issue| issue.answer)
        .max()
        .unwrap_or(Answer::Met)
}
