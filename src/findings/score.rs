//! One reading of the display against the estimate just before it.

use crate::book::body::Body;
use crate::book::entries::Book;
use crate::book::entry::Hash;
use crate::book::test::ReadingAt;
use crate::stats::binomial_tail;
use crate::thermal::{BAND, Estimate};
use crate::units::{Kelvin, Reading};

/// The 97.5 % point of the normal distribution: half a band of 95 % in standard uncertainties.
pub(super) const HALF_BAND: f64 = 1.959_963_984_540_054;

/// A reading so far from the estimate before it is asked about: in standard uncertainties. A normal deviation is that large once
/// in 1.7 million, so nearly every such reading is a slip of the finger or a heater that is not the one of the profile. The project's
/// own figure.
pub const FAR: f64 = 5.0;

/// And in steps of the display: what two neighbouring figures on the display explain is not asked about.
const FAR_STEPS: f64 = 2.0;

/// A heater whose estimates are right lets so many tests begin outside the band, or so many readings out of it, with less than this
/// probability: then its estimates are withdrawn. Looked at after every test, a heater with exactly 95 % in the band is withdrawn within
/// 200 tests with probability 1.2 % by their first readings. The project's own figure.
pub const WITHDRAWN_BELOW: f64 = 0.002;

/// One reading against the estimate before it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Score {
    /// The reading's entry.
    pub reading: Hash,
    /// The trip it was taken for.
    pub trip: Option<Hash>,
    /// As displayed.
    pub shown: Reading,
    /// The estimate with everything seen until then, this reading not among it.
    pub before: Estimate,
    /// Whether nothing that the display would show so lies in its band.
    pub outside: bool,
    /// Whether it is so far outside that it is asked about.
    pub far: bool,
}

impl Score {
    /// Holds a reading against the estimate before it; `display` is the step of the heater's display.
    pub(super) fn of(taken: &ReadingAt, before: Estimate, display: Kelvin) -> Score {
        // A display rounds: what it shows means half a step on either side.
        let step = taken.reading.resolution().0.max(display.0);
        let shown = taken.reading.celsius();
        let (lo, hi) = ((before.lo - shown).0, (shown - before.hi).0);
        let (off, side) = match (shown - before.value).0 {
            off if off < 0.0 => (-off, before.value - before.lo),
            off => (off, before.hi - before.value),
        };
        let far = FAR * before.u.0.max(side.0 / HALF_BAND);
        Score {
            reading: taken.hash,
            trip: taken.trip,
            shown: taken.reading,
            before,
            outside: lo.max(hi) > step / 2.0,
            far: off - step / 2.0 > far && off > FAR_STEPS * step,
        }
    }

    /// Whether it says that the heater is not the one of the profile: it is far from the estimate, and the technician confirmed it.
    pub fn contradicts(&self, book: &Book) -> bool {
        self.far && self.is_confirmed(book)
    }

    pub(super) fn is_confirmed(&self, book: &Book) -> bool {
        is_confirmed(book, self.reading)
    }
}

/// Whether the technician confirmed a reading that was asked about.
pub fn is_confirmed(book: &Book, reading: Hash) -> bool {
    book.naming(reading).any(|entry| matches!(entry.body, Body::ReadingConfirmed { .. }))
}

/// So many of so many.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Share {
    /// Outside the band.
    pub outside: u32,
    /// In all.
    pub of: u32,
}

impl Share {
    pub(super) fn count(&mut self, outside: bool) {
        self.of += 1;
        self.outside += u32::from(outside);
    }

    /// Whether a heater whose estimates are right would hardly let so many out.
    pub(super) fn is_improbable(self) -> bool {
        binomial_tail(self.of, self.outside, 1.0 - BAND) < WITHDRAWN_BELOW
    }
}
