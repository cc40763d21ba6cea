//! What stands against the spares sufficing: the gate and the service say the same.

use super::convoy::{CAUTIOUS_CONFIDENCE, ConvoyCover, PoolCover, SparesInput};
use crate::answer::Answer;

/// Something that stands against it, or is not known.
#[derive(Debug, Clone, PartialEq)]
pub struct SparesIssue {
    /// What it means.
    pub answer: Answer,
    /// What was found.
    pub text: String,
    /// What would clear it.
    pub remedy: String,
    /// Inputs that are missing.
    pub missing: Vec<String>,
    /// Value and limit, where it is about them.
    pub figure: Option<(&'static str, f64, f64)>,
}

impl SparesIssue {
    fn new(answer: Answer, text: String, remedy: impl Into<String>) -> Self {
        Self {
            answer,
            text,
            remedy: remedy.into(),
            missing: Vec::new(),
            figure: None,
        }
    }
}

/// What stands against the spares, worst first. `cover` is `None` where it cannot be computed at all, and then
/// something is missing.
pub fn spares_issues(
    input: &SparesInput,
    cover: Option<&ConvoyCover>,
    missing: &[String],
) -> Vec<SparesIssue> {
    let mut issues = Vec::new();
    if let Some(first) = missing.first() {
        let text = match missing.len() {
            1 => first.clone(),
            count => format!("{first}; and {} more inputs are missing", count - 1),
        };
        let mut issue = SparesIssue::new(Answer::NotKnown, text, "record what is missing");
        issue.missing = missing.to_vec();
        issues.push(issue);
    }
    let Some(cover) = cover else { return issues };
    issues.extend(short(input, cover));
    issues.extend(over_budget(input, cover));
    issues.extend(judged(&cover.pools));
    issues.sort_by_key(|issue| std::cmp::Reverse(issue.answer));
    issues
}

/// The cover is below what is asked for, or is so at the cautious rates.
fn short(input: &SparesInput, cover: &ConvoyCover) -> Option<SparesIssue> {
    let (cover_min, kit) = (input.cover_min?, cover.cover.as_ref()?);
    if kit.no_stock_out < cover_min {
        let weakest = kit.weakest.and_then(|weakest| cover.pools.get(weakest));
        let weakest = weakest.map_or_else(String::new, |pool| {
            format!("; likeliest to run out: {}", need_in_words(pool))
        });
        let text = format!(
            "the spares aboard last with a chance of {:.3}, {cover_min} is asked for{weakest}",
            kit.no_stock_out
        );
        let mut issue = SparesIssue::new(Answer::NotMet, text, in_words(input, cover));
        issue.figure = Some(("spares_cover", kit.no_stock_out, cover_min));
        return Some(issue);
    }
    let cautious = cover.cautious_no_stock_out?;
    (cautious < cover_min).then(|| {
        let text = format!(
            "the spares aboard last with a chance of {:.3}, but of {cautious:.3} only at the upper ends of the \
             {:.0} % intervals of the counted rates; {cover_min} is asked for",
            kit.no_stock_out,
            CAUTIOUS_CONFIDENCE * 100.0
        );
        let mut issue = SparesIssue::new(
            Answer::MetWithConditions,
            text,
            "carry more, or count over a longer way",
        );
        issue.figure = Some(("spares_cover_cautious", cautious, cover_min));
        issue
    })
}

fn over_budget(input: &SparesInput, cover: &ConvoyCover) -> Option<SparesIssue> {
    let (budget_kg, mass_kg) = (input.mass_budget_kg?, cover.aboard_mass_kg?);
    (mass_kg > budget_kg).then(|| {
        let text = format!("the spares aboard weigh {mass_kg:.1} kg, {budget_kg:.1} kg are planned for them");
        let mut issue = SparesIssue::new(
            Answer::MetWithConditions,
            text,
            "leave some at home, or plan for more",
        );
        issue.figure = Some(("spares_mass_kg", mass_kg, budget_kg));
        issue
    })
}

fn judged(pools: &[PoolCover]) -> Option<SparesIssue> {
    let judged: Vec<&str> = pools
        .iter()
        .filter(|pool| pool.judged && pool.pool.mean.is_some())
        .map(|pool| pool.pool.need.as_str())
        .collect();
    let mut needs: Vec<&str> = Vec::new();
    for need in judged {
        if !needs.contains(&need) {
            needs.push(need);
        }
    }
    (!needs.is_empty()).then(|| {
        let text = format!(
            "rates of demand are judged or without a source: {}",
            needs.join(", ")
        );
        SparesIssue::new(
            Answer::MetWithConditions,
            text,
            "count needs over known distances, or name a source",
        )
    })
}

/// What a pool is for, with its demand and what is aboard.
pub fn need_in_words(pool: &PoolCover) -> String {
    let vehicles: Vec<&str> = pool.pool.vehicles.iter().map(|vehicle| last(vehicle)).collect();
    let mean = pool
        .pool
        .mean
        .map_or_else(|| "not known".to_owned(), |mean| format!("{mean:.3}"));
    format!(
        "{} of {}: {} aboard, {mean} expected to be needed",
        pool.pool.need,
        vehicles.join(", "),
        pool.aboard
    )
}

fn last(name: &str) -> &str {
    name.rsplit('/').next().unwrap_or(name)
}

/// The additions in words.
fn in_words(input: &SparesInput, cover: &ConvoyCover) -> String {
    let Some(end) = cover.additions.last() else {
        return "carry more; what to add cannot be said while the mass of a part is not known".to_owned();
    };
    let mut counts: Vec<(usize, u32)> = Vec::new();
    for step in &cover.additions {
        match counts.iter_mut().find(|count| count.0 == step.spare) {
            Some(count) => count.1 += 1,
            None => counts.push((step.spare, 1)),
        }
    }
    let held: f64 = cover
        .pools
        .iter()
        .map(|pool| pool.spare_mass_kg.unwrap_or(0.0) * f64::from(pool.aboard))
        .sum();
    let added: Vec<String> = counts
        .iter()
        .filter_map(|(spare, count)| Some(format!("{count} {}", last(&cover.pools.get(*spare)?.spare))))
        .collect();
    let over = input
        .mass_budget_kg
        .filter(|budget_kg| end.mass_kg > *budget_kg)
        .map_or_else(String::new, |budget_kg| {
            format!(", beyond the {budget_kg:.1} kg planned")
        });
    format!(
        "carry {} more ({:.1} kg{over}), for a chance of {:.3}",
        added.join(", "),
        end.mass_kg - held,
        end.no_stock_out
    )
}
