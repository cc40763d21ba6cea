//! The words of a sheet for what the API says in enums, names and numbers.

use ostler_proto::v1::{Answer, Fluid, LoadSheet, Verdict};

/// The words for a verdict.
pub(crate) fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Go => "go",
        Verdict::GoWithConditions => "go with conditions",
        Verdict::NoGo => "no-go",
        Verdict::Unspecified => NOT_KNOWN,
    }
}

/// The words for an answer.
pub(crate) fn answer(answer: Answer) -> &'static str {
    match answer {
        Answer::Met => "met",
        Answer::MetWithConditions => "met with conditions",
        Answer::NotMet => "not met",
        Answer::NotKnown | Answer::Unspecified => NOT_KNOWN,
    }
}

/// The word for a fluid.
pub(crate) fn fluid(fluid: Fluid) -> &'static str {
    match fluid {
        Fluid::Diesel => "diesel",
        Fluid::Petrol => "petrol",
        Fluid::Water => "water",
        Fluid::Unspecified => NOT_KNOWN,
    }
}

/// For what is missing.
pub(crate) const NOT_KNOWN: &str = "not known";

/// The last part of a name.
pub(crate) fn id(name: &str) -> &str {
    name.rsplit('/').next().unwrap_or(name)
}

/// A name for people, else the last part of its name.
pub(crate) fn named<'a>(display_name: &'a str, name: &'a str) -> &'a str {
    if display_name.is_empty() {
        id(name)
    } else {
        display_name
    }
}

/// A number without decimals; none that reads as minus nothing.
pub(crate) fn whole(value: f64) -> String {
    let rounded = value.round();
    if rounded == 0.0 {
        "0".to_owned()
    } else {
        format!("{rounded:.0}").replace('-', "−")
    }
}

/// A number without decimals, or that it is not known.
pub(crate) fn maybe_whole(value: Option<f64>) -> String {
    value.map_or_else(|| NOT_KNOWN.to_owned(), whole)
}

/// A number with as many decimals as it has, three at the most, which is a gram or a millilitre.
pub(crate) fn decimal(value: f64) -> String {
    let rounded = (value * 1_000.0).round() / 1_000.0;
    if rounded == 0.0 {
        "0".to_owned()
    } else {
        rounded.to_string()
    }
}

/// A moment of the trip for people: with the places instead of the leg's id.
pub(crate) fn moment(sheet: &LoadSheet, load_state: &str) -> String {
    if load_state == "departure" {
        return "at departure".to_owned();
    }
    for (index, leg) in sheet.legs.iter().enumerate() {
        let number = index + 1;
        let end = &leg.end_place;
        if load_state == format!("end of {}", leg.leg) {
            return format!("end of leg {number}, {end}");
        }
        if load_state == format!("supply after {}", leg.leg) {
            return format!("filled up at {end}");
        }
    }
    load_state.to_owned()
}

/// A cold pressure in kilopascals and in bar, as gauges read.
pub(crate) fn pressure(kpa: f64) -> String {
    format!("{} kPa ({:.1} bar)", whole(kpa), kpa / 100.0)
}
