//! Fuel: does what each vehicle carries suffice, and can the convoy cover what one lacks?

use super::{Finding, Gate, gate as build};
use crate::answer::Answer;
use crate::fuel::requirement::FuelInterval;
use crate::fuel::sharing::Move;
use crate::loads::LimitedLoad;
use crate::readiness::Figure;
use crate::record::{Departure, Name, Record, SupplyGate, Vehicle};
use crate::supplies::{
    DepartureFuel, ExtraFuel, ExtraLoad, FUEL_CAUTION, FUEL_FORMULA_VERSION, FuelIssue, IntervalSharing,
    VehicleFuel, fuel_issues,
};

const QUESTION: &str = "Does the fuel aboard suffice, with its reserve?";
const SHARED_QUESTION: &str = "Can the convoy cover the fuel that one of its vehicles lacks?";

/// The fuel of a vehicle.
pub(super) fn gate(departure: &Departure, all: &DepartureFuel, vehicle: &Vehicle) -> Gate {
    if let Some(finding) = super::not_asked(departure, SupplyGate::Fuel) {
        let summary = finding.text.clone();
        return build("fuel", QUESTION, vec![finding], summary);
    }
    let records = vec![vehicle.name.clone(), departure.name.clone()];
    let Some(fuel) = all.of(&vehicle.name) else {
        let text = format!("the fuel of {} is not known", vehicle.display_name);
        return build("fuel", QUESTION, vec![unknown(&[text], records)], String::new());
    };
    let mut findings: Vec<Finding> = fuel_issues(departure, all, fuel)
        .iter()
        .map(|issue| finding(issue, fuel, records.clone()))
        .collect();
    let tightest = fuel.sums.as_ref().and_then(|sums| sums.requirement.tightest());
    let met = tightest.map_or_else(String::new, enough);
    if let Some(interval) = tightest.filter(|interval| interval.balance_l >= 0.0) {
        let mut finding = Finding::new(Answer::Met, enough(interval), records).basis(FUEL_FORMULA_VERSION);
        finding.figures = figures(fuel, interval);
        findings.push(finding);
    }
    build("fuel", QUESTION, findings, met)
}

fn enough(interval: &FuelInterval) -> String {
    format!(
        "{:.1} l usable at {}, {:.1} l required to {} with reserve: {:.1} l over",
        interval.usable_at_start_l, interval.start, interval.required_l, interval.end, interval.balance_l
    )
}

fn finding(issue: &FuelIssue, fuel: &VehicleFuel, records: Vec<Name>) -> Finding {
    let mut finding = match issue {
        FuelIssue::Missing(missing) => return unknown(missing, records),
        FuelIssue::Short(interval) => Finding::new(issue.answer(), short(fuel, interval), records).remedy(
            "carry more, take on fuel under way, or have the others give some: the fuel of the convoy says \
             how much, where and in what",
        ),
        FuelIssue::CoveredByOthers { interval, moves } => {
            Finding::new(issue.answer(), short(fuel, interval), records).remedy(format!(
                "the others can give it: {}. {FUEL_CAUTION}",
                moves_in_words(moves)
            ))
        }
        FuelIssue::Likely { chance, accepted } => {
            let text = format!(
                "the chance of running out of fuel on the way is {:.1} %, more than the {:.1} % accepted",
                100.0 * chance,
                100.0 * accepted
            );
            let mut finding = Finding::new(issue.answer(), text, records)
                .remedy("carry more, or measure the consumption loaded so that it is known better");
            finding.figures = vec![Figure {
                id: "fuel_chance_of_short".to_owned(),
                value: *chance,
                limit: Some(*accepted),
                uncertainty: None,
            }];
            finding
        }
        FuelIssue::ChanceNotKnown(notes) => {
            let text = "the chance of running out of fuel on the way is asked for and not known";
            let mut finding = Finding::new(issue.answer(), text, records)
                .remedy("state spread_fraction of the consumption, or drop fuel_chance_max");
            finding.missing = notes.clone();
            finding
        }
        FuelIssue::Rate(caution) => Finding::new(issue.answer(), caution.clone(), records)
            .remedy("drive this surface loaded and measure, or accept it"),
    };
    finding.basis = FUEL_FORMULA_VERSION.to_owned();
    if let FuelIssue::Short(interval) | FuelIssue::CoveredByOthers { interval, .. } = issue {
        finding.figures = figures(fuel, interval);
    }
    finding
}

fn short(fuel: &VehicleFuel, interval: &FuelInterval) -> String {
    let percent = interval
        .balance_fraction
        .map(|fraction| format!(", {:.1} %", -100.0 * fraction))
        .unwrap_or_default();
    format!(
        "{} is {:.1} l{percent} short of fuel from {} to {}: {:.1} l required with reserve, {:.1} l usable",
        fuel.display_name,
        -interval.balance_l,
        interval.start,
        interval.end,
        interval.required_l,
        interval.usable_at_start_l
    )
}

fn figures(fuel: &VehicleFuel, interval: &FuelInterval) -> Vec<Figure> {
    let mut figures = vec![
        figure("fuel_required_l", interval.required_l, None),
        figure(
            "fuel_usable_l",
            interval.usable_at_start_l,
            Some(interval.required_l),
        ),
        figure("fuel_balance_l", interval.balance_l, None),
    ];
    if let Some(sums) = &fuel.sums {
        figures.push(figure(
            "fuel_nominal_capacity_l",
            sums.nominal_capacity_l,
            Some(interval.required_l),
        ));
        if let Some(chance) = sums.chance.as_ref().and_then(|chance| chance.route_most) {
            figures.push(figure("fuel_chance_of_short", chance, None));
        }
    }
    figures
}

fn figure(id: &str, value: f64, limit: Option<f64>) -> Figure {
    Figure {
        id: id.to_owned(),
        value,
        limit,
        uncertainty: None,
    }
}

fn unknown(missing: &[String], records: Vec<Name>) -> Finding {
    let first = missing.first().map_or("the fuel is not known", String::as_str);
    let text = match missing.len() {
        0 | 1 => first.to_owned(),
        count => format!("{first}; and {} more inputs are missing", count - 1),
    };
    let mut finding = Finding::new(Answer::NotKnown, text, records)
        .remedy("record what is missing")
        .basis(FUEL_FORMULA_VERSION);
    finding.missing = missing.to_vec();
    finding
}

/// The fuel of the convoy.
pub(super) fn shared_gate(record: &Record, departure: &Departure, all: &DepartureFuel) -> Gate {
    let records = vec![departure.name.clone()];
    let findings = if let Some(finding) = super::not_asked(departure, SupplyGate::Fuel) {
        let summary = finding.text.clone();
        return build("fuel_shared", SHARED_QUESTION, vec![finding], summary);
    } else if all.sharing_missing.is_empty() {
        let shared = |sharing| shared_finding(record, departure, all, sharing);
        all.sharing.iter().map(shared).collect()
    } else {
        vec![unknown(&all.sharing_missing, records)]
    };
    let met = "no vehicle lacks fuel".to_owned();
    build("fuel_shared", SHARED_QUESTION, findings, met)
}

fn shared_finding(
    record: &Record,
    departure: &Departure,
    all: &DepartureFuel,
    sharing: &IntervalSharing,
) -> Finding {
    let plan = &sharing.plan;
    let way = format!(
        "{} from {} to {}",
        sharing.fuel.word(),
        sharing.start,
        sharing.end
    );
    let names = plan.vehicles.iter().filter_map(|name| Name::new(name).ok());
    let records = names.chain([departure.name.clone()]).collect();
    let mut finding = if plan.shortfall_l <= 0.0 {
        let text = format!("{way}: no vehicle is short, {:.1} l over in all", plan.surplus_l);
        Finding::new(Answer::Met, text, records)
    } else if plan.covers() {
        let text = format!(
            "{way}: {:.1} l short on some, which the {:.1} l over on others cover",
            plan.shortfall_l, plan.surplus_l
        );
        Finding::new(Answer::MetWithConditions, text, records)
            .remedy(format!("move {}. {FUEL_CAUTION}", moves_in_words(&plan.moves)))
    } else {
        let text = format!(
            "{way}: {:.1} l short on some, and the {:.1} l over on others cannot cover it: {:.1} l stay short",
            plan.shortfall_l, plan.surplus_l, plan.uncovered_l
        );
        let extra = all.extra.iter().find(|extra| extra.fuel == sharing.fuel);
        Finding::new(Answer::NotMet, text, records).remedy(extra.map_or_else(
            || "carry more, or take on fuel under way".to_owned(),
            |extra| extra_in_words(record, departure, extra),
        ))
    };
    finding.basis = FUEL_FORMULA_VERSION.to_owned();
    finding.figures = vec![
        figure("fuel_shortfall_l", plan.shortfall_l, None),
        figure("fuel_surplus_l", plan.surplus_l, None),
        figure("fuel_uncovered_l", plan.uncovered_l, None),
    ];
    finding
}

fn moves_in_words(moves: &[Move]) -> String {
    let short = |name: &str| name.rsplit('/').next().unwrap_or(name).to_owned();
    let words: Vec<String> = moves
        .iter()
        .map(|one| {
            format!(
                "{:.1} l from {} to {} at {}",
                one.litres,
                short(&one.from),
                short(&one.to),
                one.stop_name
            )
        })
        .collect();
    words.join(", ")
}

fn extra_in_words(record: &Record, departure: &Departure, extra: &ExtraFuel) -> String {
    if !extra.covered {
        let why = match extra.missing.first() {
            Some(missing) => format!(" ({missing})"),
            None => format!(
                ": containers, places and margins allow for {:.1} l of the {:.1} l",
                extra.most_l, extra.shortfall_l
            ),
        };
        return format!("carry more, or take on fuel under way{why}");
    }
    let loads: Vec<String> = extra
        .loads
        .iter()
        .map(|load| load_in_words(record, departure, load))
        .collect();
    format!("the least to carry in addition: {}", loads.join("; "))
}

fn load_in_words(record: &Record, departure: &Departure, load: &ExtraLoad) -> String {
    let containers: Vec<String> = load
        .containers
        .iter()
        .map(|(id, count)| {
            let kind = departure.fuel_containers.iter().find(|kind| kind.id == *id);
            let name = kind
                .map(|kind| kind.display_name.as_str())
                .filter(|name| !name.is_empty());
            format!("{count} x {}", name.unwrap_or(id))
        })
        .collect();
    let margin = |limited: LimitedLoad| {
        let after = load.after.iter().find(|worst| worst.limited == limited);
        after.and_then(|worst| worst.load.margin_kg).map_or_else(
            || "an unknown margin".to_owned(),
            |margin_kg| format!("{margin_kg:.1} kg"),
        )
    };
    let vehicle = record
        .vehicles
        .get(&load.vehicle)
        .map_or(load.vehicle.id(), |vehicle| vehicle.display_name.as_str());
    format!(
        "{} on {vehicle}, {:.1} l usable and {:.1} kg; that leaves {} of gross mass, {} on the front and {} on \
         the rear axle",
        containers.join(" and "),
        load.usable_l,
        load.mass_kg,
        margin(LimitedLoad::Total),
        margin(LimitedLoad::FrontAxle),
        margin(LimitedLoad::RearAxle)
    )
}
