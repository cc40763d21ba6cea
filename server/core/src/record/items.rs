//! Records of one kind.

use std::borrow::Borrow;
use std::collections::BTreeMap;
use std::fmt;
use std::ops::Index;
use std::sync::Arc;

use super::Name;

/// Records of one kind by their names. Copies share each of them until it is changed, so that to copy costs little and to compare
/// costs what differs.
pub struct Items<T>(BTreeMap<Name, Arc<T>>);

impl<T> Items<T> {
    /// The record of a name.
    pub fn get<Q: Ord + ?Sized>(&self, name: &Q) -> Option<&T>
    where
        Name: Borrow<Q>,
    {
        self.0.get(name).map(Arc::as_ref)
    }

    /// Whether there is one of a name.
    pub fn contains_key<Q: Ord + ?Sized>(&self, name: &Q) -> bool
    where
        Name: Borrow<Q>,
    {
        self.0.contains_key(name)
    }

    /// Puts a record in, in place of one of the same name.
    pub fn insert(&mut self, name: Name, item: impl Into<Arc<T>>) -> Option<Arc<T>> {
        self.0.insert(name, item.into())
    }

    /// Takes the record of a name out.
    pub fn remove<Q: Ord + ?Sized>(&mut self, name: &Q) -> Option<Arc<T>>
    where
        Name: Borrow<Q>,
    {
        self.0.remove(name)
    }

    /// Keeps those that `keep` says.
    pub fn retain(&mut self, mut keep: impl FnMut(&Name, &T) -> bool) {
        self.0.retain(|name, item| keep(name, item));
    }

    /// Takes all out.
    pub fn clear(&mut self) {
        self.0.clear();
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The records in the order of their names.
    pub fn values(&self) -> impl DoubleEndedIterator<Item = &T> + ExactSizeIterator + Clone {
        self.0.values().map(Arc::as_ref)
    }

    /// The names in order.
    pub fn keys(&self) -> impl DoubleEndedIterator<Item = &Name> + ExactSizeIterator + Clone {
        self.0.keys()
    }

    /// Names and records in order.
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = (&Name, &T)> + ExactSizeIterator + Clone {
        self.0.iter().map(|(name, item)| (name, item.as_ref()))
    }

    /// The records in the order of their names, to be shared.
    pub(crate) fn shared(&self) -> impl Iterator<Item = (&Name, &Arc<T>)> {
        self.0.iter()
    }
}

impl<T: Clone> Items<T> {
    /// The record of a name, to be changed here and in no copy.
    pub fn get_mut<Q: Ord + ?Sized>(&mut self, name: &Q) -> Option<&mut T>
    where
        Name: Borrow<Q>,
    {
        self.0.get_mut(name).map(Arc::make_mut)
    }

    /// The records in the order of their names, to be changed here and in no copy.
    pub fn values_mut(&mut self) -> impl Iterator<Item = &mut T> {
        self.0.values_mut().map(Arc::make_mut)
    }
}

/// The record of a name that is known to be there; as of any map, to ask for another is a mistake of the program.
impl<T, Q: Ord + ?Sized> Index<&Q> for Items<T>
where
    Name: Borrow<Q>,
{
    type Output = T;

    fn index(&self, name: &Q) -> &T {
        &self.0[name]
    }
}

impl<T> Clone for Items<T> {
    fn clone(&self) -> Self {
        Self(self.0.clone())
    }
}

/// Whether two records are equal; the same one is, without a look.
pub(crate) fn is_equal<T: PartialEq>(one: &Arc<T>, other: &Arc<T>) -> bool {
    Arc::ptr_eq(one, other) || one == other
}

impl<T: PartialEq> PartialEq for Items<T> {
    fn eq(&self, other: &Self) -> bool {
        self.0.len() == other.0.len()
            && self
                .shared()
                .zip(other.shared())
                .all(|(one, other)| one.0 == other.0 && is_equal(one.1, other.1))
    }
}

impl<T: fmt::Debug> fmt::Debug for Items<T> {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(formatter)
    }
}

impl<T> Default for Items<T> {
    fn default() -> Self {
        Self(BTreeMap::new())
    }
}

impl<T, I: Into<Arc<T>>> FromIterator<(Name, I)> for Items<T> {
    fn from_iter<Pairs: IntoIterator<Item = (Name, I)>>(pairs: Pairs) -> Self {
        let pairs = pairs.into_iter();
        Self(pairs.map(|(name, item)| (name, item.into())).collect())
    }
}

impl<T, I: Into<Arc<T>>> Extend<(Name, I)> for Items<T> {
    fn extend<Pairs: IntoIterator<Item = (Name, I)>>(&mut self, pairs: Pairs) {
        let pairs = pairs.into_iter();
        self.0.extend(pairs.map(|(name, item)| (name, item.into())));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn name(id: &str) -> Name {
        Name::new(format!("fleets/f/parts/{id}")).unwrap()
    }

    #[test]
    fn a_change_is_seen_by_no_copy_and_shares_the_rest() {
        let items: Items<i32> = [(name("a"), 1), (name("b"), 2), (name("c"), 3)]
            .into_iter()
            .collect();
        let mut other = items.clone();
        *other.get_mut(&name("b")).unwrap() = 5;
        assert_eq!(items.values().copied().collect::<Vec<_>>(), [1, 2, 3]);
        assert_eq!(other.values().copied().collect::<Vec<_>>(), [1, 5, 3]);
        let pairs = items.shared().zip(other.shared());
        let shared: Vec<bool> = pairs.map(|(one, other)| Arc::ptr_eq(one.1, other.1)).collect();
        assert_eq!(shared, [true, false, true]);
        assert_ne!(items, other);
        *other.get_mut(&name("b")).unwrap() = 2;
        assert_eq!(items, other, "equal without being one");
        assert_eq!(other.remove(&name("a")).as_deref(), Some(&1));
        assert_ne!(items, other);
        other.insert(name("d"), 1);
        assert_ne!(items, other, "as many, and under other names");
        other.retain(|_, item| *item > 1);
        other.values_mut().for_each(|item| *item *= 2);
        assert_eq!(
            other
                .iter()
                .map(|(name, item)| (name.id(), *item))
                .collect::<Vec<_>>(),
            [("b", 4), ("c", 6)]
        );
        assert_eq!((items.len(), items[&name("c")]), (3, 3));
    }
}
