//! Which blocks and lines of a page are still the same: what did not change is not drawn again, and what has blocks of its own keeps its
//! place, its scroll and whether it is open.

use crate::view::page::{Block, Row};
use leptos::prelude::*;
use std::collections::HashMap;

/// Something with a stable name.
pub(super) trait Keyed: Clone + PartialEq + Send + Sync + 'static {
    /// The name.
    fn key(&self) -> &str;
    /// Whether it is changed in place.
    fn holds(&self) -> bool;
    /// Whether the other one is drawn in the same way.
    fn is_like(&self, other: &Self) -> bool;
}

impl Keyed for Block {
    fn key(&self) -> &str {
        &self.key
    }

    fn holds(&self) -> bool {
        self.kind.holds()
    }

    fn is_like(&self, other: &Block) -> bool {
        std::mem::discriminant(&self.kind) == std::mem::discriminant(&other.kind)
    }
}

impl Keyed for Row {
    fn key(&self) -> &str {
        &self.key
    }

    fn holds(&self) -> bool {
        false
    }

    fn is_like(&self, _: &Row) -> bool {
        true
    }
}

/// Name, place among those of one name, version.
pub(super) type Id = (String, usize, u32);

/// One to be drawn.
pub(super) struct Item<T> {
    /// What tells it from the others and from its own former versions.
    pub(super) id: Id,
    /// What is drawn.
    pub(super) value: T,
    /// The same where it is changed in place.
    pub(super) live: Option<ArcRwSignal<T>>,
}

/// Name, and place among those of one name.
type Place = (String, usize);
/// What was drawn there, its version, and the same where it is changed in place.
type Last<T> = (T, u32, Option<ArcRwSignal<T>>);

/// What was drawn last.
pub(super) struct Drawn<T>(HashMap<Place, Last<T>>);

impl<T> Default for Drawn<T> {
    fn default() -> Drawn<T> {
        Drawn(HashMap::new())
    }
}

impl<T: Keyed> Drawn<T> {
    /// Compares with what was drawn last and remembers this.
    pub(super) fn next(&mut self, now: &[T]) -> Vec<Item<T>> {
        let mut last = std::mem::take(&mut self.0);
        let mut met: HashMap<&str, usize> = HashMap::new();
        now.iter()
            .map(|value| {
                let nth = met.entry(value.key()).and_modify(|nth| *nth += 1).or_insert(0);
                let key = (value.key().to_string(), *nth);
                let (version, live) = match last.remove(&key) {
                    Some((before, version, live)) if before == *value => (version, live),
                    Some((before, version, Some(live))) if before.is_like(value) => {
                        live.set(value.clone());
                        (version, Some(live))
                    }
                    Some((_, version, _)) => (version + 1, None),
                    None => (0, None),
                };
                let live = live.or_else(|| value.holds().then(|| ArcRwSignal::new(value.clone())));
                self.0.insert(key.clone(), (value.clone(), version, live.clone()));
                Item { id: (key.0, key.1, version), value: value.clone(), live }
            })
            .collect()
    }
}
