//! The words of a sheet for what the API says in enums and names.

use ostler_proto::v1::{Answer, Fluid, Verdict};

/// The words for a verdict.
pub(crate) fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Go => "go",
        Verdict::GoWithConditions => "go with conditions",
        Verdict::NoGo => "no-go",
        Verdict::Unspecified => "not known",
    }
}

/// The words for an answer.
pub(crate) fn answer(answer: Answer) -> &'static str {
    match answer {
        Answer::Met => "met",
        Answer::MetWithConditions => "met with conditions",
        Answer::NotMet => "not met",
        Answer::NotKnown | Answer::Unspecified => "not known",
    }
}

/// The word for a fluid.
pub(crate) fn fluid(fluid: Fluid) -> &'static str {
    match fluid {
        Fluid::Diesel => "diesel",
        Fluid::Petrol => "petrol",
        Fluid::Water => "water",
        Fluid::Unspecified => "not known",
    }
}

/// The last part of a name.
pub(crate) fn id(name: &str) -> &str {
    name.rsplit('/').next().unwrap_or(name)
}
