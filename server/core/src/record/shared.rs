//! Parts of the record that copies share.

use std::fmt;
use std::ops::{Deref, DerefMut};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// A value that its copies share until one of them is changed, and that notes whether it was looked at.
///
/// A record that differs in one item from another costs no more than what differs. The note serves what keeps
/// results ([`crate::readiness::Earlier`]): a result holds for as long as everything does that was looked at for it.
/// To copy or to compare is to look as well. A copy begins without a note.
pub struct Shared<T> {
    value: Arc<T>,
    was_read: AtomicBool,
}

impl<T> Shared<T> {
    /// Whether it was looked at since it was made.
    pub(crate) fn was_read(&self) -> bool {
        self.was_read.load(Ordering::Relaxed)
    }

    /// A copy of which nothing is noted.
    pub(crate) fn share(&self) -> Self {
        Self::from(self.value.clone())
    }

    /// Whether both share one value: they are equal then. Nothing is noted.
    pub(crate) fn is_shared_with(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.value, &other.value)
    }

    fn note(&self) {
        // Written once: threads that read the same record need not take its cache line from each other.
        if !self.was_read() {
            self.was_read.store(true, Ordering::Relaxed);
        }
    }
}

impl<T> Deref for Shared<T> {
    type Target = T;

    fn deref(&self) -> &T {
        self.note();
        &self.value
    }
}

impl<T: Clone> DerefMut for Shared<T> {
    fn deref_mut(&mut self) -> &mut T {
        self.note();
        Arc::make_mut(&mut self.value)
    }
}

impl<T> Clone for Shared<T> {
    fn clone(&self) -> Self {
        self.note();
        self.share()
    }
}

impl<T: PartialEq> Shared<T> {
    /// A copy of `before` if it is equal, else of this. Nothing is noted.
    pub(crate) fn shared_with(&self, before: &Self) -> Self {
        match before.is_equal_to(self) {
            true => before.share(),
            false => self.share(),
        }
    }

    /// Whether the values are equal. Nothing is noted.
    pub(crate) fn is_equal_to(&self, other: &Self) -> bool {
        self.is_shared_with(other) || *self.value == *other.value
    }

    /// The same for a value that is not shared.
    pub(crate) fn is_equal_to_value(&self, other: &T) -> bool {
        *self.value == *other
    }
}

impl<T: PartialEq> PartialEq for Shared<T> {
    fn eq(&self, other: &Self) -> bool {
        self.note();
        other.note();
        self.is_equal_to(other)
    }
}

impl<T: fmt::Debug> fmt::Debug for Shared<T> {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.note();
        self.value.fmt(formatter)
    }
}

impl<T: Default> Default for Shared<T> {
    fn default() -> Self {
        Self::from(T::default())
    }
}

impl<T> From<T> for Shared<T> {
    fn from(value: T) -> Self {
        Self::from(Arc::new(value))
    }
}

impl<T> From<Arc<T>> for Shared<T> {
    fn from(value: Arc<T>) -> Self {
        Self {
            value,
            was_read: AtomicBool::new(false),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every way to learn something of a value: one that is not noted lets a result outlive what it was computed from.
    #[test]
    fn every_look_is_noted() {
        let looks: [fn(&mut Shared<Vec<i32>>); 5] = [
            |value| assert_eq!(value.first(), Some(&1)),
            |value| value.push(3),
            |value| drop(value.clone()),
            |value| assert_eq!(*value, Shared::from(vec![1, 2])),
            |value| assert_eq!(format!("{value:?}"), "[1, 2]"),
        ];
        for look in looks {
            let mut value = Shared::from(vec![1, 2]);
            look(&mut value);
            assert!(value.was_read());
        }
        let (one, other) = (Shared::from(1), Shared::from(2));
        assert!(one != other && other.was_read());
    }

    #[test]
    fn a_change_leaves_copies_as_they_were_and_only_a_look_is_noted() {
        let first = Shared::from(vec![1, 2]);
        let mut second = first.share();
        assert!(second.is_shared_with(&first) && second.is_equal_to(&first));
        assert!(!first.was_read() && !second.was_read());
        second.push(3);
        assert!(!second.is_shared_with(&first) && !second.is_equal_to(&first));
        assert!(!first.was_read());
        assert_eq!((first.len(), second.len()), (2, 3));
        assert!(first.was_read() && !first.share().was_read());
    }
}
