//! What a start can leave for later: stretches of scopes, in the order of the database, of which nothing is needed at once.

use std::collections::BTreeSet;
use std::fmt;
use std::ops::Bound::{Excluded, Included};

/// Stretches from one scope to another, both among them, in order and apart from each other.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Settled(Vec<(String, String)>);

impl Settled {
    /// The longest stretches of settled scopes; `all` are the scopes there are, each with whether it is settled.
    pub fn of(all: impl IntoIterator<Item = (String, bool)>) -> Settled {
        let mut stretches: Vec<(String, String)> = Vec::new();
        let mut goes_on = false;
        for (scope, settled) in all {
            match stretches.last_mut().filter(|_| goes_on && settled) {
                Some(stretch) => stretch.1 = scope,
                None if settled => stretches.push((scope.clone(), scope)),
                None => {}
            }
            goes_on = settled;
        }
        Settled(stretches)
    }

    /// Reads what [`fmt::Display`] wrote. A line that is none is left out: that only means that more is read at once.
    pub fn read(text: &str) -> Settled {
        let mut stretches: Vec<(String, String)> = Vec::new();
        for (first, last) in text.lines().filter_map(|line| line.split_once(' ')) {
            if first <= last && stretches.last().is_none_or(|(_, before)| before.as_str() < first) {
                stretches.push((first.into(), last.into()));
            }
        }
        Settled(stretches)
    }

    /// Every stretch: its first and its last scope.
    pub fn stretches(&self) -> impl Iterator<Item = (&str, &str)> {
        self.0.iter().map(|(first, last)| (first.as_str(), last.as_str()))
    }

    /// Whether a scope lies in a stretch.
    pub fn has(&self, scope: &str) -> bool {
        self.stretches().any(|(first, last)| (first..=last).contains(&scope))
    }

    /// Takes a scope out of its stretch, which becomes two; `all` are the scopes there are, and without them the whole stretch goes.
    #[must_use]
    pub fn without(self, scope: &str, all: Option<&BTreeSet<String>>) -> Settled {
        let mut stretches = Vec::new();
        for (first, last) in self.0 {
            if !(first.as_str()..=last.as_str()).contains(&scope) {
                stretches.push((first, last));
            } else if let Some(all) = all {
                let here = (Included(first.as_str()), Excluded(scope));
                let before = if first.as_str() < scope { all.range::<str, _>(here).next_back() } else { None };
                let behind = all.range::<str, _>((Excluded(scope), Included(last.as_str()))).next();
                stretches.extend(before.map(|before| (first.clone(), before.clone())));
                stretches.extend(behind.map(|behind| (behind.clone(), last.clone())));
            }
        }
        Settled(stretches)
    }
}

impl fmt::Display for Settled {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|(first, last)| writeln!(f, "{first} {last}"))
    }
}
