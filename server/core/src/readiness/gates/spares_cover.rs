//! Spares cover: do the spare parts aboard last with the chance that the policy asks for?

use super::{Finding, Gate, gate as build};
use crate::answer::Answer;
use crate::readiness::Figure;
use crate::record::{Departure, Name, SupplyGate};
use crate::spares::issues::{need_in_words, spares_issues};
use crate::spares::recorded::DepartureSpares;
use crate::spares::{CAUTION, FORMULA_VERSION};

const QUESTION: &str = "Do the spare parts aboard last, with the chance asked for?";

/// Cover of the spares of the convoy.
pub(super) fn gate(departure: &Departure, spares: &DepartureSpares) -> Gate {
    if let Some(finding) = super::not_asked(departure, SupplyGate::Spares) {
        let summary = finding.text.clone();
        return build("spares_cover", QUESTION, vec![finding], summary);
    }
    let records = records(departure, spares);
    let issues = spares_issues(&spares.input, spares.cover.as_ref(), &spares.missing);
    let mut findings: Vec<Finding> = issues
        .into_iter()
        .map(|issue| {
            let mut finding = Finding::new(issue.answer, issue.text, records.clone())
                .remedy(issue.remedy)
                .basis(FORMULA_VERSION);
            if issue.answer != Answer::NotKnown {
                finding.remedy = format!("{}. {CAUTION}", finding.remedy);
            }
            finding.missing = issue.missing;
            finding.figures = issue
                .figure
                .into_iter()
                .map(|(id, value, limit)| figure(id, value, Some(limit)))
                .collect();
            finding
        })
        .collect();
    let pools = spares.cover.iter().flat_map(|cover| &cover.pools);
    findings.extend(pools.filter_map(|pool| {
        let cover = pool.cover?;
        let text = format!(
            "{}: chance of {:.3} that they last",
            need_in_words(pool),
            cover.no_stock_out
        );
        let mut finding = Finding::new(Answer::Met, text, records.clone()).basis(FORMULA_VERSION);
        finding.figures = vec![figure("spares_cover", cover.no_stock_out, None)];
        Some(finding)
    }));
    let met = spares
        .cover
        .as_ref()
        .and_then(|cover| cover.cover.as_ref())
        .map_or_else(String::new, |kit| {
            format!("the spares aboard last with a chance of {:.3}", kit.no_stock_out)
        });
    build("spares_cover", QUESTION, findings, met)
}

/// The departure and the items that count.
fn records(departure: &Departure, spares: &DepartureSpares) -> Vec<Name> {
    let mut records = vec![departure.name.clone()];
    let counted = spares.cover.iter().flat_map(|cover| &cover.allotments);
    for item in counted.filter_map(|allotment| spares.items.get(allotment.aboard)) {
        if !records.contains(item) {
            records.push(item.clone());
        }
    }
    records
}

fn figure(id: &str, value: f64, limit: Option<f64>) -> Figure {
    Figure {
        id: id.to_owned(),
        value,
        limit,
        uncertainty: None,
    }
}
