//! Times on three clocks, which nothing turns into each other but what knows both.

use super::Seconds;
use std::ops::{Add, AddAssign, Sub};

/// A length of time in ms, and the signed difference of two instants of one clock.
pub type Span = i64;

/// Instants of one clock: their difference is a [`Span`], and only a span moves them. Sums stop at the ends of the range.
macro_rules! instant {
    ($($instant:ident),*) => {$(
        impl $instant {
            /// Before all others.
            pub const MIN: $instant = $instant(i64::MIN);
            /// After all others.
            pub const MAX: $instant = $instant(i64::MAX);

            /// So much later.
            pub const fn saturating_add(self, span: Span) -> $instant {
                $instant(self.0.saturating_add(span))
            }

            /// How long after `other` it is.
            pub const fn saturating_sub(self, other: $instant) -> Span {
                self.0.saturating_sub(other.0)
            }
        }
        impl Add<Span> for $instant {
            type Output = $instant;
            fn add(self, span: Span) -> $instant {
                self.saturating_add(span)
            }
        }
        impl AddAssign<Span> for $instant {
            fn add_assign(&mut self, span: Span) {
                *self = *self + span;
            }
        }
        impl Sub<Span> for $instant {
            type Output = $instant;
            fn sub(self, span: Span) -> $instant {
                $instant(self.0.saturating_sub(span))
            }
        }
        impl Sub for $instant {
            type Output = Span;
            fn sub(self, other: $instant) -> Span {
                self.saturating_sub(other)
            }
        }
    )*};
}

/// An instant of a wall clock: UTC, ms since 1970.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Wall(pub i64);

/// An instant of the monotonic clock of one session of a phone: ms since the session's page was opened. It may stand still while the
/// phone sleeps, and says nothing of another session.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Mono(pub i64);

/// A time on the clock of one test or profile run: ms since its heat on, before which it is negative. A sleep of the phone counts.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct TestTime(pub i64);

instant!(Wall, Mono, TestTime);

impl TestTime {
    /// The zero of that clock.
    pub const HEAT_ON: TestTime = TestTime(0);

    /// How long after heat on it is.
    pub const fn since_heat_on(self) -> Span {
        self.0
    }

    /// The same for the physics.
    pub fn seconds(self) -> Seconds {
        Seconds::from_millis(self.0)
    }
}

impl Mono {
    /// How long the page had been open.
    pub const fn since_start(self) -> Span {
        self.0
    }
}

impl Wall {
    /// The beginning of its minute.
    pub const fn whole_minute(self) -> Wall {
        Wall(self.0 / 60_000 * 60_000)
    }
}
