//! Places of a chain as spans, first and last of each.

use crate::order;

/// Spans in order that do not touch.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Spans(Vec<(i64, i64)>);

impl Spans {
    /// The places that lie in any of these.
    pub fn of(spans: Vec<(i64, i64)>) -> Spans {
        let mut joined: Vec<(i64, i64)> = Vec::new();
        for (from, to) in order::by_number(spans, |(from, _)| *from) {
            match joined.last_mut() {
                Some(last) if from <= last.1.saturating_add(1) => last.1 = last.1.max(to),
                _ => joined.push((from, to)),
            }
        }
        Spans(joined)
    }

    /// What of a span lies in none of them.
    pub fn without(&self, from: i64, to: i64) -> Vec<(i64, i64)> {
        let (mut left, mut next) = (Vec::new(), from);
        for (begins, ends) in &self.0[self.0.partition_point(|(_, ends)| *ends < from)..] {
            if *begins > to {
                break;
            }
            if *begins > next {
                left.push((next, *begins - 1));
            }
            next = next.max(ends.saturating_add(1));
        }
        if next <= to {
            left.push((next, to));
        }
        left
    }
}
