//! Results, each with what it was computed from: it holds for as long as all of that does.
//!
//! What a computation looks at is noted while it runs ([`Shared`]), so nothing has to be declared, and nothing that was
//! looked at can be left out: a computation is a function pointer, which holds nothing, and what it is given is a copy of
//! the inputs that no other computation looks at ([`Inputs::own`]).

use std::any::Any;
use std::collections::BTreeMap;
use std::fmt;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use crate::loads::ConvoyLoads;
use crate::record::{Name, Record, Shared};
use crate::stance::recorded_heights::Diagnoses;

/// The vehicle that a result is about, none for the convoy, and the question.
pub(super) type Key<'a> = (Option<&'a Name>, &'static str);
type OwnedKey = (Option<Name>, &'static str);

/// A question by a word of its own, and what answers it.
pub(super) type Question<I, V> = (&'static str, fn(&<I as Inputs>::Own) -> V);

/// Something that a computation may look at.
pub(super) trait Input: Any + Send + Sync {
    fn was_read(&self) -> bool;
    /// A copy to compare with later.
    fn copy(&self) -> Box<dyn Input>;
    /// Whether `now` is equal.
    fn holds(&self, now: &dyn Input) -> bool;
    /// Whether `now` is the same value, which nobody had to compare.
    fn is_shared_with(&self, now: &dyn Input) -> bool;
}

impl<T: PartialEq + Send + Sync + 'static> Input for Shared<T> {
    fn was_read(&self) -> bool {
        Self::was_read(self)
    }

    fn copy(&self) -> Box<dyn Input> {
        Box::new(self.share())
    }

    fn holds(&self, now: &dyn Input) -> bool {
        let now: &dyn Any = now;
        now.downcast_ref::<Self>()
            .is_some_and(|now| self.is_equal_to(now))
    }

    fn is_shared_with(&self, now: &dyn Input) -> bool {
        let now: &dyn Any = now;
        now.downcast_ref::<Self>()
            .is_some_and(|now| Self::is_shared_with(self, now))
    }
}

/// All that a computation may look at.
pub(super) trait Inputs {
    /// These inputs, of which only one computation notes what it reads.
    type Own: Inputs;
    fn own(&self) -> Self::Own;
    /// Each, always in the same order.
    fn list<'a>(&'a self, all: &mut Vec<&'a dyn Input>);
}

impl<T: PartialEq + Send + Sync + 'static> Inputs for Shared<T> {
    type Own = Self;

    fn own(&self) -> Self {
        self.share()
    }

    fn list<'a>(&'a self, all: &mut Vec<&'a dyn Input>) {
        all.push(self);
    }
}

/// What is kept by all that it starts from: whether a diagnosis is made anew changes nothing.
impl Inputs for Arc<Diagnoses> {
    type Own = Self;

    fn own(&self) -> Self {
        self.clone()
    }

    fn list<'a>(&'a self, _: &mut Vec<&'a dyn Input>) {}
}

impl<I: Inputs> Inputs for &I {
    type Own = I::Own;

    fn own(&self) -> I::Own {
        (**self).own()
    }

    fn list<'a>(&'a self, all: &mut Vec<&'a dyn Input>) {
        (**self).list(all);
    }
}

impl<I: Inputs> Inputs for Option<I> {
    type Own = Option<I::Own>;

    fn own(&self) -> Self::Own {
        self.as_ref().map(I::own)
    }

    fn list<'a>(&'a self, all: &mut Vec<&'a dyn Input>) {
        self.iter().for_each(|input| input.list(all));
    }
}

impl<I: Inputs> Inputs for Vec<I> {
    type Own = Vec<I::Own>;

    fn own(&self) -> Self::Own {
        self.iter().map(I::own).collect()
    }

    fn list<'a>(&'a self, all: &mut Vec<&'a dyn Input>) {
        self.iter().for_each(|input| input.list(all));
    }
}

impl<A: Inputs, B: Inputs> Inputs for (A, B) {
    type Own = (A::Own, B::Own);

    fn own(&self) -> Self::Own {
        (self.0.own(), self.1.own())
    }

    fn list<'a>(&'a self, all: &mut Vec<&'a dyn Input>) {
        self.0.list(all);
        self.1.list(all);
    }
}

impl<A: Inputs, B: Inputs, C: Inputs> Inputs for (A, B, C) {
    type Own = (A::Own, B::Own, C::Own);

    fn own(&self) -> Self::Own {
        (self.0.own(), self.1.own(), self.2.own())
    }

    fn list<'a>(&'a self, all: &mut Vec<&'a dyn Input>) {
        self.0.list(all);
        self.1.list(all);
        self.2.list(all);
    }
}

impl<A: Inputs, B: Inputs, C: Inputs, D: Inputs> Inputs for (A, B, C, D) {
    type Own = (A::Own, B::Own, C::Own, D::Own);

    fn own(&self) -> Self::Own {
        (self.0.own(), self.1.own(), self.2.own(), self.3.own())
    }

    fn list<'a>(&'a self, all: &mut Vec<&'a dyn Input>) {
        self.0.list(all);
        self.1.list(all);
        self.2.list(all);
        self.3.list(all);
    }
}

impl Inputs for Record {
    type Own = Self;

    fn own(&self) -> Self {
        self.share()
    }

    fn list<'a>(&'a self, all: &mut Vec<&'a dyn Input>) {
        let Self {
            fleet,
            vehicles,
            parts,
            compatibility_notes,
            substitutions,
            defects,
            cargo_items,
            weighings,
            evidence,
            regulated_items,
            rule_packs,
            workshops,
            awaited_parts,
            jobs,
            departures,
            acceptances,
        } = self;
        all.extend::<[&dyn Input; 16]>([
            fleet,
            vehicles,
            parts,
            compatibility_notes,
            substitutions,
            defects,
            cargo_items,
            weighings,
            evidence,
            regulated_items,
            rule_packs,
            workshops,
            awaited_parts,
            jobs,
            departures,
            acceptances,
        ]);
    }
}

impl Inputs for ConvoyLoads {
    type Own = Self;

    fn own(&self) -> Self {
        self.share()
    }

    fn list<'a>(&'a self, all: &mut Vec<&'a dyn Input>) {
        self.record.list(all);
        self.departure.list(all);
        for (_, before_cargo, states) in self.known_loads() {
            before_cargo.list(all);
            states.list(all);
        }
    }
}

/// The latest of what comes anew with every assessment, so that an equal one need not be compared again and again.
#[derive(Debug)]
pub(super) struct Latest<T>(Mutex<Option<Shared<T>>>);

impl<T> Default for Latest<T> {
    fn default() -> Self {
        Self(Mutex::default())
    }
}

impl<T: Clone + PartialEq> Latest<T> {
    pub(super) fn of(&self, value: &T) -> Shared<T> {
        let mut latest = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        match &*latest {
            Some(known) if known.is_equal_to_value(value) => known.share(),
            _ => latest.insert(value.clone().into()).share(),
        }
    }
}

/// Results of one sort.
#[derive(Debug)]
pub(super) struct Results<V>(Mutex<BTreeMap<OwnedKey, Arc<Known<V>>>>);

impl<V> Default for Results<V> {
    fn default() -> Self {
        Self(Mutex::default())
    }
}

/// A result, and what it was computed from: each with its place among the inputs.
struct Known<V> {
    from: Vec<(usize, Box<dyn Input>)>,
    value: Shared<V>,
}

impl<V> fmt::Debug for Known<V> {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let places: Vec<usize> = self.from.iter().map(|(place, _)| *place).collect();
        formatter
            .debug_struct("Known")
            .field("from", &places)
            .finish_non_exhaustive()
    }
}

impl<V> Known<V> {
    /// A result of a computation that has looked at `inputs`.
    fn of(value: Shared<V>, inputs: &impl Inputs) -> Self {
        let all = list(inputs);
        let read = all.iter().enumerate().filter(|(_, input)| input.was_read());
        Self {
            from: read.map(|(place, input)| (place, input.copy())).collect(),
            value,
        }
    }

    fn holds(&self, inputs: &[&dyn Input]) -> bool {
        self.from
            .iter()
            .all(|(place, then)| inputs.get(*place).is_some_and(|now| then.holds(*now)))
    }

    /// This result, with the copies that `inputs` share with others in place of equal ones: so that no record of before is kept for
    /// it, and the next to ask need not compare. `None`: it has them.
    fn renewed(&self, inputs: &[&dyn Input]) -> Option<Self> {
        let now = |place: &usize| inputs.get(*place).map(|now| (*place, now.copy()));
        let is_shared = |(place, then): &(usize, Box<dyn Input>)| {
            inputs.get(*place).is_some_and(|now| then.is_shared_with(*now))
        };
        let stays = self.from.iter().all(is_shared);
        (!stays).then(|| Self {
            from: self.from.iter().filter_map(|(place, _)| now(place)).collect(),
            value: self.value.share(),
        })
    }
}

fn list(inputs: &impl Inputs) -> Vec<&dyn Input> {
    // Most have about as many: two records and a little more.
    let mut all = Vec::with_capacity(64);
    inputs.list(&mut all);
    all
}

impl<V: PartialEq> Results<V> {
    /// What `compute` makes of `inputs`, or what it made of them before. It must give the same for the same inputs and key,
    /// which a function pointer does: it has nothing else to look at.
    ///
    /// A result that comes out equal is the earlier one, so that what was computed from it holds as well.
    pub(super) fn of<I: Inputs>(&self, key: Key<'_>, inputs: &I, compute: fn(&I::Own) -> V) -> Shared<V> {
        self.of_listed(key, inputs, &list(inputs), |own, _| compute(own))
    }

    /// The same, where `compute` is given what it made before, to take from it what is as it was. It must give the same as
    /// without.
    pub(super) fn of_again<I: Inputs>(
        &self,
        key: Key<'_>,
        inputs: &I,
        compute: fn(&I::Own, Option<&V>) -> V,
    ) -> Shared<V> {
        self.of_listed(key, inputs, &list(inputs), compute)
    }

    /// The same for `questions` about one vehicle, or the convoy, that have the same inputs.
    pub(super) fn of_each<I: Inputs>(
        &self,
        vehicle: Option<&Name>,
        inputs: &I,
        questions: &[Question<I, V>],
    ) -> Vec<Shared<V>> {
        let now = list(inputs);
        let of = |(word, compute): &Question<I, V>| {
            self.of_listed((vehicle, *word), inputs, &now, |own, _| compute(own))
        };
        questions.iter().map(of).collect()
    }

    fn of_listed<I: Inputs>(
        &self,
        key: Key<'_>,
        inputs: &I,
        now: &[&dyn Input],
        compute: impl FnOnce(&I::Own, Option<&V>) -> V,
    ) -> Shared<V> {
        let key = (key.0.cloned(), key.1);
        let known = self.lock().get(&key).cloned();
        let (value, result) = match known {
            Some(known) if known.holds(now) => (known.value.share(), known.renewed(now)),
            known => {
                let own = inputs.own();
                let before = known.as_ref().map(|known| &*known.value);
                let value = compute(&own, before);
                let value = match known {
                    Some(known) if known.value.is_equal_to_value(&value) => known.value.share(),
                    _ => value.into(),
                };
                (value.share(), Some(Known::of(value, &own)))
            }
        };
        if let Some(result) = result {
            self.lock().insert(key, Arc::new(result));
        }
        value
    }

    /// Whether there is one.
    pub(super) fn has(&self, key: Key<'_>) -> bool {
        self.lock().contains_key(&(key.0.cloned(), key.1))
    }

    fn lock(&self) -> MutexGuard<'_, BTreeMap<OwnedKey, Arc<Known<V>>>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicU32, Ordering};

    use super::*;

    static COMPUTED: AtomicU32 = AtomicU32::new(0);

    /// The second number, unless the first is none; the third is nobody's business.
    fn second(inputs: &(Shared<i32>, Shared<i32>, Shared<i32>)) -> i32 {
        COMPUTED.fetch_add(1, Ordering::SeqCst);
        match *inputs.0 {
            0 => 0,
            _ => *inputs.1,
        }
    }

    #[test]
    fn a_result_holds_for_as_long_as_what_it_looked_at() {
        let results = Results::default();
        let mut times = 0;
        let mut ask = |one: i32, two: i32, three: i32, is_computed: bool| {
            let inputs = (Shared::from(one), Shared::from(two), Shared::from(three));
            let value = results.of((None, "second"), &inputs, second);
            times += u32::from(is_computed);
            assert_eq!(COMPUTED.load(Ordering::SeqCst), times, "{one} {two} {three}");
            value
        };
        assert_eq!(*ask(1, 5, 0, true), 5);
        // Equal is enough, and what was not looked at may be anything.
        assert_eq!(*ask(1, 5, 9, false), 5);
        assert_eq!(*ask(1, 6, 9, true), 6);
        // On this way the second is not looked at.
        assert_eq!(*ask(0, 6, 9, true), 0);
        assert_eq!(*ask(0, 7, 9, false), 0);
        assert_eq!(*ask(1, 7, 9, true), 7);
        // What comes out equal is the earlier one.
        let (before, after) = (ask(2, 7, 9, true), ask(3, 7, 9, true));
        assert!(after.is_shared_with(&before));
    }

    /// What was made before is there to take from, and only when something has changed.
    #[test]
    fn what_was_made_before_is_handed_on() {
        let results: Results<Vec<i32>> = Results::default();
        let ask = |upto: i32| {
            results.of_again((None, "up to"), &Shared::from(upto), |upto, before| {
                let mut numbers = before.cloned().unwrap_or_default();
                numbers.truncate(usize::try_from(**upto).unwrap());
                numbers.extend(i32::try_from(numbers.len()).unwrap() + 1..=**upto);
                numbers
            })
        };
        for upto in [2, 2, 4, 3] {
            assert_eq!(*ask(upto), (1..=upto).collect::<Vec<_>>());
        }
        assert!(ask(3).is_shared_with(&ask(3)));
    }

    #[test]
    fn one_question_has_nothing_to_do_with_another() {
        let results = Results::default();
        let vehicles = ["fleets/f/vehicles/a", "fleets/f/vehicles/b"].map(|name| Name::new(name).ok());
        for (number, vehicle) in vehicles.iter().enumerate() {
            for question in ["one", "other"] {
                let input = Shared::from(number + question.len());
                let value = results.of((vehicle.as_ref(), question), &input, |number| **number);
                assert_eq!(*value, number + question.len());
            }
        }
        assert!(results.has((vehicles[1].as_ref(), "one")) && !results.has((None, "one")));
    }

    /// Records of before are let go of when an equal one has come in their place.
    #[test]
    fn what_holds_is_kept_with_what_is_there_now() {
        let results = Results::default();
        let before = Arc::new(4);
        results.of((None, "one"), &Shared::<i32>::from(before.clone()), |number| {
            **number
        });
        assert_eq!(Arc::strong_count(&before), 2);
        let now = Shared::<i32>::from(4);
        results.of((None, "one"), &now, |_| unreachable!("it holds"));
        assert_eq!(Arc::strong_count(&before), 1);
    }
}
