//! The cases that conditions can tell apart while some facts are not known.
//!
//! Conditions only ask whether a fact is yes, whether a text is one of some texts, and where a sum of
//! numbers lies against thresholds. So finitely many cases stand for all values: yes and no; each text
//! that is asked for and one other; each threshold, one value below, between and above. A sum of
//! several unknown numbers counts as a quantity of its own. That can admit cases that no numbers
//! produce, but never leaves one out: what holds in all cases holds for all values.

use std::collections::{BTreeMap, BTreeSet};

use super::formula::{FactIndex, Formula, Linear, Value};

/// A quantity that the conditions ask about.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Quantity {
    YesNo(FactIndex),
    Text(FactIndex),
    /// A sum of facts, its first coefficient 1.
    Sum(Linear),
}

impl Quantity {
    /// The facts it is made of.
    pub(super) fn facts(&self) -> Vec<FactIndex> {
        match self {
            Self::YesNo(fact) | Self::Text(fact) => vec![*fact],
            Self::Sum(sum) => sum.coefficients.keys().copied().collect(),
        }
    }
}

/// A quantity and values of it, one for each answer that conditions can give.
#[derive(Debug, Clone)]
pub(super) struct Axis {
    pub(super) quantity: Quantity,
    pub(super) values: Vec<Value>,
}

/// All cases of some conditions.
#[derive(Debug, Clone)]
pub(super) struct Space {
    pub(super) axes: Vec<Axis>,
    /// Number of cases; `usize::MAX` when it does not fit.
    pub(super) size: usize,
}

type SumKey = Vec<(FactIndex, u64)>;

fn key(sum: &Linear) -> SumKey {
    sum.coefficients
        .iter()
        .map(|(fact, value)| (*fact, value.to_bits()))
        .collect()
}

/// The cases that `formulas` can tell apart.
pub(super) fn space(formulas: &[Formula]) -> Space {
    let mut yes_no = BTreeSet::new();
    let mut texts: BTreeMap<FactIndex, BTreeSet<&str>> = BTreeMap::new();
    let mut sums: BTreeMap<SumKey, (&Linear, Vec<f64>)> = BTreeMap::new();
    for formula in formulas {
        formula.for_each_atom(&mut |atom| match atom {
            Formula::YesNo(fact) => {
                yes_no.insert(*fact);
            }
            Formula::TextIn(fact, asked) => {
                texts
                    .entry(*fact)
                    .or_default()
                    .extend(asked.iter().map(String::as_str));
            }
            Formula::Compare(sum, _, threshold) => {
                sums.entry(key(sum))
                    .or_insert_with(|| (sum, Vec::new()))
                    .1
                    .push(*threshold);
            }
            _ => {}
        });
    }
    let mut axes = Vec::new();
    for fact in yes_no {
        axes.push(Axis {
            quantity: Quantity::YesNo(fact),
            values: vec![Value::YesNo(false), Value::YesNo(true)],
        });
    }
    for (fact, asked) in texts {
        axes.push(Axis {
            quantity: Quantity::Text(fact),
            values: text_values(&asked),
        });
    }
    for (sum, thresholds) in sums.into_values() {
        axes.push(Axis {
            quantity: Quantity::Sum(sum.clone()),
            values: number_values(thresholds).into_iter().map(Value::Number).collect(),
        });
    }
    let size = axes
        .iter()
        .fold(1_usize, |size, axis| size.saturating_mul(axis.values.len()));
    Space { axes, size }
}

fn text_values(asked: &BTreeSet<&str>) -> Vec<Value> {
    let mut other = "other".to_owned();
    while asked.contains(other.as_str()) {
        other.push('_');
    }
    let named = asked.iter().map(|text| Value::Text((*text).to_owned()));
    named.chain([Value::Text(other)]).collect()
}

/// Each threshold, and one value below, between and above them, ascending.
pub(super) fn number_values(mut thresholds: Vec<f64>) -> Vec<f64> {
    thresholds.sort_by(f64::total_cmp);
    thresholds.dedup();
    let step = |threshold: f64| (threshold.abs() * 1e-3).max(1.0);
    let mut values = Vec::with_capacity(2 * thresholds.len() + 1);
    if let Some(first) = thresholds.first() {
        values.push(first - step(*first));
    }
    for (index, threshold) in thresholds.iter().enumerate() {
        values.push(*threshold);
        match thresholds.get(index + 1) {
            Some(next) => values.push(threshold + (next - threshold) / 2.0),
            None => values.push(threshold + step(*threshold)),
        }
    }
    values
}

impl Space {
    /// The values of case `index`, by axis. The last axis turns fastest.
    pub(super) fn case(&self, mut index: usize) -> Vec<&Value> {
        let mut values = Vec::with_capacity(self.axes.len());
        for axis in self.axes.iter().rev() {
            values.push(&axis.values[index % axis.values.len()]);
            index /= axis.values.len();
        }
        values.reverse();
        values
    }

    /// For every case, which of `formulas` hold, one bit each, lowest first. At most 64 formulas.
    ///
    /// `formulas` are those the space was made from.
    pub(super) fn outcomes(&self, formulas: &[Formula]) -> Vec<u64> {
        let numbered: Vec<Numbered> = formulas.iter().map(|formula| self.numbered(formula)).collect();
        (0..self.size)
            .map(|index| {
                let case = self.case(index);
                numbered.iter().enumerate().fold(0, |mask, (bit, formula)| {
                    mask | (u64::from(formula.holds(&case)) << bit)
                })
            })
            .collect()
    }

    /// How many parts of `formulas` a look at every case is: what it costs.
    pub(super) fn parts(&self, formulas: &[Formula]) -> usize {
        let size: usize = formulas.iter().map(Formula::size).sum();
        self.size.saturating_mul(size)
    }

    /// Distance between cases that differ by one step along an axis.
    pub(super) fn stride(&self, axis: usize) -> usize {
        self.axes[axis + 1..]
            .iter()
            .map(|axis| axis.values.len())
            .product()
    }

    fn position(&self, wanted: impl Fn(&Quantity) -> bool) -> usize {
        self.axes
            .iter()
            .position(|axis| wanted(&axis.quantity))
            .unwrap_or(usize::MAX)
    }

    fn numbered(&self, formula: &Formula) -> Numbered {
        match formula {
            Formula::Constant(value) => Numbered::Constant(*value),
            Formula::YesNo(fact) => Numbered::Is(
                self.position(|quantity| *quantity == Quantity::YesNo(*fact)),
                Test::Yes,
            ),
            Formula::TextIn(fact, texts) => Numbered::Is(
                self.position(|quantity| *quantity == Quantity::Text(*fact)),
                Test::TextIn(texts.clone()),
            ),
            Formula::Compare(sum, relation, threshold) => {
                let wanted = key(sum);
                let axis =
                    self.position(|quantity| matches!(quantity, Quantity::Sum(sum) if key(sum) == wanted));
                Numbered::Is(axis, Test::Compare(*relation, *threshold))
            }
            Formula::Not(inner) => Numbered::Not(Box::new(self.numbered(inner))),
            Formula::All(parts) => Numbered::All(parts.iter().map(|part| self.numbered(part)).collect()),
            Formula::Any(parts) => Numbered::Any(parts.iter().map(|part| self.numbered(part)).collect()),
            Formula::Same(left, right) => {
                Numbered::Same(Box::new([self.numbered(left), self.numbered(right)]))
            }
        }
    }
}

/// A formula whose atoms point at axes.
enum Numbered {
    Constant(bool),
    Is(usize, Test),
    Not(Box<Numbered>),
    All(Vec<Numbered>),
    Any(Vec<Numbered>),
    Same(Box<[Numbered; 2]>),
}

enum Test {
    Yes,
    TextIn(Vec<String>),
    Compare(super::formula::Relation, f64),
}

impl Numbered {
    fn holds(&self, case: &[&Value]) -> bool {
        match self {
            Self::Constant(value) => *value,
            Self::Is(axis, test) => match (case.get(*axis), test) {
                (Some(Value::YesNo(value)), Test::Yes) => *value,
                (Some(Value::Text(text)), Test::TextIn(texts)) => texts.contains(text),
                (Some(Value::Number(number)), Test::Compare(relation, threshold)) => {
                    relation.holds(*number, *threshold)
                }
                _ => false,
            },
            Self::Not(inner) => !inner.holds(case),
            Self::All(parts) => parts.iter().all(|part| part.holds(case)),
            Self::Any(parts) => parts.iter().any(|part| part.holds(case)),
            Self::Same(pair) => pair[0].holds(case) == pair[1].holds(case),
        }
    }
}

/// Facts that make `formulas` come out as case `index` does, when such are found: sums of several
/// facts are solved for a fact that no other quantity fixes. `None`: none found, or there are none.
pub(super) fn realise(
    space: &Space,
    formulas: &[Formula],
    index: usize,
    fact_count: usize,
    outcome: u64,
) -> Option<Vec<Option<Value>>> {
    let mut values: Vec<Option<Value>> = vec![None; fact_count];
    let case = space.case(index);
    let mut sums = Vec::new();
    for (axis, value) in space.axes.iter().zip(&case) {
        match (&axis.quantity, value) {
            (Quantity::Sum(sum), Value::Number(number)) if sum.coefficients.len() > 1 => {
                sums.push((sum, *number));
            }
            (quantity, value) => {
                let fact = *quantity.facts().first()?;
                *values.get_mut(fact)? = Some((*value).clone());
            }
        }
    }
    for (sum, target) in sums {
        let mut known = 0.0;
        let mut free = Vec::new();
        for (fact, coefficient) in &sum.coefficients {
            match values.get(*fact)? {
                Some(Value::Number(number)) => known += coefficient * number,
                _ => free.push((*fact, *coefficient)),
            }
        }
        if let Some((last, rest)) = free.split_last() {
            for (fact, coefficient) in rest {
                // 100 is as good as any number that nothing asks about.
                values[*fact] = Some(Value::Number(100.0));
                known += coefficient * 100.0;
            }
            values[last.0] = Some(Value::Number((target - known) / last.1));
        }
    }
    let found = formulas
        .iter()
        .enumerate()
        .all(|(bit, formula)| formula.with(&values) == Formula::Constant(outcome & (1 << bit) != 0));
    found.then_some(values)
}
