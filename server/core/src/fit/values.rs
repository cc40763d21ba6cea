//! Values of interfaces by numbers, so that a search compares each pair once and copies none.

use std::collections::HashMap;

use super::adapters::Gap;
use super::compare::{Match, coarse_key, compare};
use crate::record::{BoltCircle, Comparison, InterfaceValue};

/// The number of a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) struct Number(usize);

/// The number of a [`coarse_key`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) struct Coarse(usize);

/// The values that a search has met.
#[derive(Debug, Default)]
pub(super) struct Values {
    values: Vec<(InterfaceValue, Coarse)>,
    numbers: HashMap<Vec<u8>, Number>,
    coarse: HashMap<String, Coarse>,
    /// Whether the first takes up the second, as far as that was asked.
    taken_up: HashMap<(Number, Number), bool>,
    /// Whether a value closes the gap at a place, as far as that was asked.
    closing: HashMap<(usize, Number), bool>,
}

impl Values {
    /// The number of a value: one for all that are the same to the last bit.
    pub(super) fn number(&mut self, value: &InterfaceValue) -> Number {
        let key = exact_key(value);
        if let Some(number) = self.numbers.get(&key) {
            return *number;
        }
        let number = Number(self.values.len());
        let coarse = self.coarse(coarse_key(value));
        self.values.push((value.clone(), coarse));
        self.numbers.insert(key, number);
        number
    }

    /// The number of a coarse key.
    pub(super) fn coarse(&mut self, key: String) -> Coarse {
        let next = Coarse(self.coarse.len());
        *self.coarse.entry(key).or_insert(next)
    }

    /// The coarse key of a value.
    pub(super) fn coarse_of(&self, value: Number) -> Coarse {
        self.values[value.0].1
    }

    /// Whether what takes up `from` takes up `present`.
    pub(super) fn takes_up(&mut self, from: Number, present: Number) -> bool {
        let values = &self.values;
        *self.taken_up.entry((from, present)).or_insert_with(|| {
            compare(&values[from.0].0, &values[present.0].0, Comparison::Equal, 0.0) == Match::Matches
        })
    }

    /// Whether `value` closes the gap at a place.
    pub(super) fn close(&mut self, at: usize, gap: &Gap, value: Number) -> bool {
        let values = &self.values;
        *self.closing.entry((at, value)).or_insert_with(|| {
            compare(&gap.required, &values[value.0].0, gap.comparison, gap.tolerance) == Match::Matches
        })
    }

    /// A length made longer. `None`: the value is none.
    pub(super) fn lengthened(&mut self, value: Number, by_mm: f64) -> Option<Number> {
        match self.values[value.0].0 {
            InterfaceValue::LengthMm(length_mm) => {
                Some(self.number(&InterfaceValue::LengthMm(length_mm + by_mm)))
            }
            _ => None,
        }
    }
}

/// Equal for values that are the same to the last bit, and for no others.
fn exact_key(value: &InterfaceValue) -> Vec<u8> {
    fn text(key: &mut Vec<u8>, sort: u8, text: &str) {
        key.push(sort);
        key.extend(text.len().to_le_bytes());
        key.extend(text.as_bytes());
    }
    fn number(key: &mut Vec<u8>, sort: u8, number: f64) {
        key.push(sort);
        key.extend(number.to_bits().to_le_bytes());
    }
    let mut key = Vec::with_capacity(32);
    match value {
        InterfaceValue::Text(value) => text(&mut key, 0, value),
        InterfaceValue::Thread(value) => text(&mut key, 1, value),
        InterfaceValue::Connector(value) => text(&mut key, 2, value),
        InterfaceValue::Hand(hand) => text(&mut key, 3, hand.word()),
        InterfaceValue::LengthMm(value) => number(&mut key, 4, *value),
        InterfaceValue::Ratio(value) => number(&mut key, 5, *value),
        InterfaceValue::Number(value) => number(&mut key, 6, *value),
        InterfaceValue::Count(count) => {
            key.push(7);
            key.extend(count.to_le_bytes());
        }
        InterfaceValue::BoltCircle(BoltCircle {
            count,
            circle_mm,
            thread,
        }) => {
            key.push(8);
            key.extend(count.to_le_bytes());
            number(&mut key, 9, *circle_mm);
            text(&mut key, 10, thread);
        }
    }
    key
}
