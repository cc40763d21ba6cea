//! What is found about a tyre: its capacity and speed, and the placard.

use super::recorded::{AtWheel, capacity_of, diameter_mm, placard_diameter_mm};
use super::service::{Fitting, LOAD_INDEX_READ_MOST, SpeedSymbol};
use super::size::diameter_change;
use super::trip::Asked;
use super::wheel_loads::WheelLoad;
use crate::answer::Answer;
use crate::loads::DEPARTURE_STATE;
use crate::readiness::{Figure, Finding};
use crate::record::{Part, TyreMarking};

/// The largest load against the capacity, at the highest speed planned.
pub(super) fn capacity(asked: &Asked<'_>, end: &AtWheel<'_>, load: Option<&WheelLoad>) -> Vec<Finding> {
    let Some((tyre, marking)) = end.tyre.and_then(|tyre| Some((tyre, tyre.tyre.as_ref()?))) else {
        // `fitted` says what is not on record.
        return Vec::new();
    };
    let mut findings = Vec::new();
    let symbol = marking.designation.service.map(|service| service.speed_symbol);
    let fraction = match (symbol, asked.fastest_km_per_h()) {
        (None, _) => {
            let missing = format!("the speed symbol of {}", tyre.display_name);
            findings.push(asked.unknown(missing, end.records()));
            None
        }
        // `pressures` says that no speed is planned.
        (_, None) => None,
        (Some(symbol), Some(speed_km_per_h)) => match speed(asked, end, symbol, speed_km_per_h) {
            Ok(fraction) => Some(fraction),
            Err(finding) => {
                findings.push(*finding);
                None
            }
        },
    };
    match (capacity_of(tyre, end.fitting), load) {
        (Err(missing), _) => findings.push(asked.unknown(missing, end.records())),
        // The missing loads are said once for the vehicle.
        (Ok(_), None) => {}
        (Ok(capacity), Some(load)) => {
            let capacity_kg = capacity.capacity_kg * fraction.unwrap_or(1.0);
            findings.push(against(asked, end, tyre, marking, capacity_kg, load));
        }
    }
    findings
}

/// The part of its capacity that a tyre carries at a speed.
fn speed(
    asked: &Asked<'_>,
    end: &AtWheel<'_>,
    symbol: SpeedSymbol,
    speed_km_per_h: f64,
) -> Result<f64, Box<Finding>> {
    match symbol.load_fraction_at(speed_km_per_h) {
        Ok(Some(fraction)) => Ok(fraction),
        Ok(None) => {
            let limit = symbol.speed_km_per_h();
            let text = format!(
                "{}: speed symbol {} allows {limit:.0} km/h, planned {speed_km_per_h:.0} km/h",
                end.wheel.words(),
                symbol.letter()
            );
            let mut finding = asked
                .finding(Answer::NotMet, text, end.records())
                .remedy("plan no more speed than the tyre is made for");
            finding.figures.push(Figure {
                id: "planned_speed_km_per_h".to_owned(),
                value: speed_km_per_h,
                limit: Some(limit),
                uncertainty: None,
            });
            Err(Box::new(finding))
        }
        Err(error) => {
            let missing = format!("a planned speed that can be computed with: {error}");
            Err(Box::new(asked.unknown(missing, Vec::new())))
        }
    }
}

fn against(
    asked: &Asked<'_>,
    end: &AtWheel<'_>,
    tyre: &Part,
    marking: &TyreMarking,
    capacity_kg: f64,
    load: &WheelLoad,
) -> Finding {
    let margin_kg = capacity_kg - load.load_kg;
    let warn_kg = asked.departure.policy.margin_warn_fraction.unwrap_or(0.0) * capacity_kg;
    let doubt_kg = asked.deviations() * load.uncertainty_kg;
    let (answer, remedy) = if margin_kg < 0.0 {
        (
            Answer::NotMet,
            "take load off this axle, or fit tyres of a higher load index",
        )
    } else if margin_kg < warn_kg.max(doubt_kg) {
        (
            Answer::MetWithConditions,
            "weigh the loaded vehicle wheel by wheel before departure",
        )
    } else {
        (Answer::Met, "")
    };
    let how = match (load.from_stance, end.fitting) {
        (true, Fitting::Single) => "on its springs",
        (true, Fitting::Dual) => "on its springs, two share evenly",
        (false, Fitting::Single) => "half of the axle",
        (false, Fitting::Dual) => "a quarter of the axle",
    };
    let when = match load.load_state.as_str() {
        DEPARTURE_STATE => "at departure".to_owned(),
        moment => format!("at the {moment}"),
    };
    let unread = marking.designation.service.is_some_and(|service| {
        let index = match end.fitting {
            Fitting::Single => Some(service.load_index_single),
            Fitting::Dual => service.load_index_dual,
        };
        index.is_some_and(|index| index > LOAD_INDEX_READ_MOST)
    });
    let source = if unread {
        " (load index above 130: from memory, not verified)"
    } else {
        ""
    };
    let text = format!(
        "{} tyres: {:.0} kg on one ({how}), {} carries {capacity_kg:.0} kg{source}, {when}",
        end.wheel.axle().words(),
        load.load_kg,
        tyre.display_name
    );
    let mut finding = asked.finding(answer, text, end.records()).remedy(remedy);
    finding.figures.push(Figure {
        id: format!("{}_wheel_load_kg", end.wheel.axle().words()),
        value: load.load_kg,
        limit: Some(capacity_kg),
        uncertainty: Some(load.uncertainty_kg),
    });
    finding
}

/// Diameter and service against the placard.
pub(super) fn placard(asked: &Asked<'_>, end: &AtWheel<'_>) -> Vec<Finding> {
    let Some((tyre, marking)) = end.tyre.and_then(|tyre| Some((tyre, tyre.tyre.as_ref()?))) else {
        return Vec::new();
    };
    let Some(placard) = &asked.vehicle.specification.tyre_placard else {
        return vec![asked.unknown("the tyre of the placard", Vec::new())];
    };
    let Some(most_percent) = asked.policy.diameter_change_max_percent else {
        return vec![asked.unknown("the policy's tyres.diameter_change_max_percent", Vec::new())];
    };
    let mut findings = Vec::new();
    match (placard_diameter_mm(placard), diameter_mm(tyre)) {
        (Some(placard_mm), Some(fitted_mm)) => {
            findings.push(diameter(asked, end, placard_mm, fitted_mm, most_percent));
        }
        (None, _) => findings.push(asked.unknown("the diameter of the placard's tyre", Vec::new())),
        (_, None) => {
            let missing = format!("the diameter of {}", tyre.display_name);
            findings.push(asked.unknown(missing, end.records()));
        }
    }
    if let Some((fitted, named)) = marking.designation.service.zip(placard.designation.service)
        && !fitted.at_least(&named)
    {
        let text = format!(
            "{}: {} is of less service than the placard's {}",
            end.wheel.words(),
            marking.designation,
            placard.designation
        );
        findings.push(
            asked
                .finding(Answer::MetWithConditions, text, end.records())
                .remedy("have it agreed: a rule of the trade, local law may refuse it"),
        );
    }
    findings
}

fn diameter(
    asked: &Asked<'_>,
    end: &AtWheel<'_>,
    placard_mm: f64,
    fitted_mm: f64,
    most_percent: f64,
) -> Finding {
    let change = match diameter_change(placard_mm, fitted_mm) {
        Ok(change) => change,
        Err(error) => {
            return asked.unknown(
                format!("diameters that can be computed with: {error}"),
                end.records(),
            );
        }
    };
    let held = change.change_percent.abs() <= most_percent;
    let text = format!(
        "{}: diameter {fitted_mm:.0} mm, {:+.1} % against the placard's {placard_mm:.0} mm, asked at most {most_percent} %; \
         at indicated 100 the vehicle does {:.1} km/h",
        end.wheel.words(),
        change.change_percent,
        change.true_speed_km_per_h(100.0)
    );
    let answer = if held { Answer::Met } else { Answer::NotMet };
    let mut finding = asked.finding(answer, text, end.records());
    if !held {
        finding =
            finding.remedy("fit a tyre nearer to the placard's, or correct the speedometer and agree it");
    }
    finding.figures.push(Figure {
        id: format!("{}_diameter_change_percent", end.wheel.words().replace(' ', "_")),
        value: change.change_percent.abs(),
        limit: Some(most_percent),
        uncertainty: None,
    });
    finding
}
