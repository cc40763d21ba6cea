//! A checked condition, lowered from its expression to the few forms that can be decided exactly.

use std::collections::BTreeMap;

/// Index of a fact in its pack's declarations.
pub(super) type FactIndex = usize;

/// How a number must stand to a threshold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Relation {
    Equal,
    Less,
    AtMost,
    Greater,
    AtLeast,
}

impl Relation {
    pub(super) fn holds(self, value: f64, threshold: f64) -> bool {
        match self {
            Self::Equal => value == threshold,
            Self::Less => value < threshold,
            Self::AtMost => value <= threshold,
            Self::Greater => value > threshold,
            Self::AtLeast => value >= threshold,
        }
    }

    /// The relation after both sides were multiplied by a negative number.
    fn turned(self) -> Self {
        match self {
            Self::Equal => Self::Equal,
            Self::Less => Self::Greater,
            Self::AtMost => Self::AtLeast,
            Self::Greater => Self::Less,
            Self::AtLeast => Self::AtMost,
        }
    }
}

/// A sum of facts times coefficients, and a constant.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Linear {
    pub(super) coefficients: BTreeMap<FactIndex, f64>,
    pub(super) constant: f64,
}

impl Linear {
    pub(super) fn constant(constant: f64) -> Self {
        Self {
            coefficients: BTreeMap::new(),
            constant,
        }
    }

    pub(super) fn fact(fact: FactIndex) -> Self {
        Self {
            coefficients: BTreeMap::from([(fact, 1.0)]),
            constant: 0.0,
        }
    }

    pub(super) fn scaled(mut self, factor: f64) -> Self {
        self.constant *= factor;
        for coefficient in self.coefficients.values_mut() {
            *coefficient *= factor;
        }
        self.coefficients.retain(|_, coefficient| *coefficient != 0.0);
        self
    }

    /// Divided by `divisor`, which is not 0.
    pub(super) fn divided(mut self, divisor: f64) -> Self {
        self.constant /= divisor;
        for coefficient in self.coefficients.values_mut() {
            *coefficient /= divisor;
        }
        self
    }

    pub(super) fn plus(mut self, other: Self) -> Self {
        self.constant += other.constant;
        for (fact, coefficient) in other.coefficients {
            *self.coefficients.entry(fact).or_insert(0.0) += coefficient;
        }
        self.coefficients.retain(|_, coefficient| *coefficient != 0.0);
        self
    }

    pub(super) fn is_finite(&self) -> bool {
        self.constant.is_finite() && self.coefficients.values().all(|value| value.is_finite())
    }
}

/// What a fact is known to be.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Value {
    YesNo(bool),
    Number(f64),
    Text(String),
}

/// Facts of a pack by index; `None` where not known.
pub(super) type Values = [Option<Value>];

/// A condition over facts.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Formula {
    Constant(bool),
    YesNo(FactIndex),
    /// The sum stands in the relation to the threshold; its constant is 0.
    Compare(Linear, Relation, f64),
    /// The text is one of these.
    TextIn(FactIndex, Vec<String>),
    Not(Box<Formula>),
    All(Vec<Formula>),
    Any(Vec<Formula>),
    Same(Box<Formula>, Box<Formula>),
}

impl Formula {
    /// `left relation right`.
    pub(super) fn compare(left: Linear, relation: Relation, right: Linear) -> Self {
        let mut sum = left.plus(right.scaled(-1.0));
        let threshold = 0.0 - sum.constant;
        sum.constant = 0.0;
        Self::normal(sum, relation, threshold)
    }

    /// A comparison whose first coefficient is 1, so that comparisons of one sum can be told to be so.
    fn normal(sum: Linear, relation: Relation, threshold: f64) -> Self {
        match sum.coefficients.values().next().copied() {
            None => Self::Constant(relation.holds(0.0, threshold)),
            Some(1.0) => Self::Compare(sum, relation, threshold),
            Some(first) => {
                let coefficients = sum
                    .coefficients
                    .into_iter()
                    .map(|(fact, value)| (fact, value / first))
                    .collect();
                let relation = if first < 0.0 { relation.turned() } else { relation };
                let sum = Linear {
                    coefficients,
                    constant: 0.0,
                };
                Self::Compare(sum, relation, threshold / first)
            }
        }
    }

    pub(super) fn negate(self) -> Self {
        match self {
            Self::Constant(value) => Self::Constant(!value),
            Self::Not(inner) => *inner,
            other => Self::Not(Box::new(other)),
        }
    }

    pub(super) fn all(parts: Vec<Self>) -> Self {
        Self::junction(parts, false)
    }

    pub(super) fn any(parts: Vec<Self>) -> Self {
        Self::junction(parts, true)
    }

    /// Joins `parts`; one that equals `absorbing` decides the whole.
    fn junction(parts: Vec<Self>, absorbing: bool) -> Self {
        let mut kept = Vec::new();
        for part in parts {
            match part {
                Self::Constant(value) if value == absorbing => return Self::Constant(absorbing),
                Self::Constant(_) => {}
                other => kept.push(other),
            }
        }
        match (kept.len(), kept.pop()) {
            (_, None) => Self::Constant(!absorbing),
            (1, Some(only)) => only,
            (_, Some(last)) => {
                kept.push(last);
                if absorbing {
                    Self::Any(kept)
                } else {
                    Self::All(kept)
                }
            }
        }
    }

    pub(super) fn same(left: Self, right: Self) -> Self {
        match (left, right) {
            (Self::Constant(true), other) | (other, Self::Constant(true)) => other,
            (Self::Constant(false), other) | (other, Self::Constant(false)) => other.negate(),
            (left, right) => Self::Same(Box::new(left), Box::new(right)),
        }
    }

    /// The condition with what is known put in; a constant when that decides it.
    pub(super) fn with(&self, values: &Values) -> Self {
        match self {
            Self::Constant(value) => Self::Constant(*value),
            Self::YesNo(fact) => match values.get(*fact) {
                Some(Some(Value::YesNo(value))) => Self::Constant(*value),
                _ => self.clone(),
            },
            Self::TextIn(fact, texts) => match values.get(*fact) {
                Some(Some(Value::Text(text))) => Self::Constant(texts.contains(text)),
                _ => self.clone(),
            },
            Self::Compare(sum, relation, threshold) => compare_with(sum, *relation, *threshold, values),
            Self::Not(inner) => inner.with(values).negate(),
            Self::All(parts) => Self::all(parts.iter().map(|part| part.with(values)).collect()),
            Self::Any(parts) => Self::any(parts.iter().map(|part| part.with(values)).collect()),
            Self::Same(left, right) => Self::same(left.with(values), right.with(values)),
        }
    }

    /// Number of its parts.
    pub(super) fn size(&self) -> usize {
        1 + match self {
            Self::Not(inner) => inner.size(),
            Self::All(parts) | Self::Any(parts) => parts.iter().map(Self::size).sum(),
            Self::Same(left, right) => left.size() + right.size(),
            _ => 0,
        }
    }

    /// Calls `visit` with every comparison, yes-or-no fact and text in it.
    pub(super) fn for_each_atom<'formula>(&'formula self, visit: &mut impl FnMut(&'formula Self)) {
        match self {
            Self::Constant(_) => {}
            Self::YesNo(_) | Self::TextIn(..) | Self::Compare(..) => visit(self),
            Self::Not(inner) => inner.for_each_atom(visit),
            Self::All(parts) | Self::Any(parts) => parts.iter().for_each(|part| part.for_each_atom(visit)),
            Self::Same(left, right) => {
                left.for_each_atom(visit);
                right.for_each_atom(visit);
            }
        }
    }
}

fn compare_with(sum: &Linear, relation: Relation, threshold: f64, values: &Values) -> Formula {
    let mut rest = Linear::default();
    let mut known = 0.0;
    for (fact, coefficient) in &sum.coefficients {
        match values.get(*fact) {
            Some(Some(Value::Number(number))) => known += coefficient * number,
            _ => {
                rest.coefficients.insert(*fact, *coefficient);
            }
        }
    }
    if rest.coefficients.is_empty() {
        Formula::Constant(relation.holds(known, threshold))
    } else {
        Formula::normal(rest, relation, threshold - known)
    }
}
