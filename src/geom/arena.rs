//! Ids typed by what they point to, and the lists they point into.

use std::cmp::Ordering;
use std::fmt;
use std::hash::{Hash, Hasher};
use std::marker::PhantomData;
use std::ops::{Index, IndexMut};

/// A place in an [`Arena`] of `T`.
pub(crate) struct Id<T>(u32, PhantomData<fn() -> T>);

impl<T> Id<T> {
    /// The id of place `index`.
    ///
    /// # Panics
    /// If there are more than `u32::MAX` things, which the size limits of the readers rule out.
    pub(crate) fn new(index: usize) -> Self {
        Id(
            u32::try_from(index).expect("fewer than 2^32 things of a kind"),
            PhantomData,
        )
    }

    /// The place as an index into side tables.
    pub(crate) fn ix(self) -> usize {
        self.0 as usize
    }

    /// The place as a bare number, for use in keys.
    pub(crate) fn raw(self) -> u32 {
        self.0
    }
}

impl<T> Clone for Id<T> {
    fn clone(&self) -> Self {
        *self
    }
}
impl<T> Copy for Id<T> {}
impl<T> PartialEq for Id<T> {
    fn eq(&self, other: &Self) -> bool {
        self.0 == other.0
    }
}
impl<T> Eq for Id<T> {}
impl<T> PartialOrd for Id<T> {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl<T> Ord for Id<T> {
    fn cmp(&self, other: &Self) -> Ordering {
        self.0.cmp(&other.0)
    }
}
impl<T> Hash for Id<T> {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.0.hash(state);
    }
}
impl<T> fmt::Debug for Id<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "#{}", self.0)
    }
}

/// A growing list whose places are [`Id`]s of its own kind.
#[derive(Clone, Debug)]
pub(crate) struct Arena<T>(Vec<T>);

impl<T> Default for Arena<T> {
    fn default() -> Self {
        Arena(Vec::new())
    }
}

impl<T> Arena<T> {
    /// Adds a thing and gives its id.
    pub(crate) fn push(&mut self, value: T) -> Id<T> {
        let id = Id::new(self.0.len());
        self.0.push(value);
        id
    }

    /// How many things there are.
    pub(crate) fn len(&self) -> usize {
        self.0.len()
    }

    /// All things in order of their ids.
    pub(crate) fn iter(&self) -> impl ExactSizeIterator<Item = &T> + DoubleEndedIterator {
        self.0.iter()
    }

    /// All ids in order.
    pub(crate) fn ids(
        &self,
    ) -> impl ExactSizeIterator<Item = Id<T>> + DoubleEndedIterator + use<T> {
        (0..self.0.len()).map(Id::new)
    }

    /// All things with their ids, in order.
    pub(crate) fn enumerate(&self) -> impl ExactSizeIterator<Item = (Id<T>, &T)> {
        self.0.iter().enumerate().map(|(i, v)| (Id::new(i), v))
    }
}

impl<T> FromIterator<T> for Arena<T> {
    fn from_iter<I: IntoIterator<Item = T>>(iter: I) -> Self {
        Arena(iter.into_iter().collect())
    }
}

impl<T> Index<Id<T>> for Arena<T> {
    type Output = T;
    fn index(&self, id: Id<T>) -> &T {
        &self.0[id.ix()]
    }
}

impl<T> IndexMut<Id<T>> for Arena<T> {
    fn index_mut(&mut self, id: Id<T>) -> &mut T {
        &mut self.0[id.ix()]
    }
}
