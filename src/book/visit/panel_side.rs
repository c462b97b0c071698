//! What somebody saw at the panel against the trips of the visit: which may belong together, and how far apart they are.

use super::Visit;
use crate::book::Id;
use crate::book::body::{ClockOf, Ending, OtherClock, Point, Precision, What};
use crate::book::entry::Hash;
use crate::book::register::Register;
use crate::book::sighting::Sighting;
use crate::book::test::{MarkAt, Test};
use crate::order;
use crate::units::Wall;

/// How far apart trip and panel may be where the clocks are compared, beside twice the uncertainty of that, ms. Own figure: alarm
/// verification may hold an alarm back for up to a minute.
const APART_MS: i64 = 60_000;

/// The same of two phones whose clocks nobody compared, ms. Own figure: phones are set over the network.
const APART_UNCOMPARED_MS: i64 = 120_000;

/// Standard uncertainty of a tap at the panel, ms. Own figure: a reaction, as for a lamp in view.
const TAP_U_MS: i64 = 500;

/// A time read to the minute lies anywhere within it: its middle is taken, and 60 s/√12 for its standard uncertainty (GUM 4.3.7).
const MINUTE_MS: i64 = 60_000;
const MINUTE_U_MS: i64 = 17_321;

/// How long after the tap at the detector a point came in at the panel; negative is before.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Lag {
    /// By the clock of the test's phone, ms.
    pub after_ms: i64,
    /// Its standard uncertainty, ms: of the offset between the clocks and of the time at the panel.
    pub u_ms: i64,
}

/// A point that came in at the panel, and a trip that it may be of.
#[derive(Clone, Debug, PartialEq)]
pub struct Match {
    /// The sighting.
    pub saw: Hash,
    /// The test.
    pub test: Id,
    /// The phone that may take it.
    pub keeper: Id,
    /// Its position.
    pub position: Id,
    /// The trip's mark.
    pub trip: Hash,
    /// How long after the trip; none where the clocks' offset is not known.
    pub lag: Option<Lag>,
    /// How far apart they are by what is known of the clocks, ms.
    pub apart_ms: i64,
    /// The entry that takes it for that trip; none while it is proposed.
    pub taken: Option<Hash>,
    /// What was answered at the test: it stands.
    pub answered: Option<(Point, Option<String>)>,
}

impl Match {
    /// Whether the answer at the test says that this point did not come.
    pub fn contradicts(&self) -> bool {
        matches!(self.answered, Some((Point::Wrong | Point::NotThere, _)))
    }
}

/// A clock: a phone's, or that of a panel by its label.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Clock {
    Phone(Id),
    Panel(String),
}

fn panel_clock(label: Option<&str>) -> Clock {
    Clock::Panel(label.unwrap_or_default().trim().to_ascii_lowercase())
}

/// One clock less another one, ms, and its standard uncertainty.
#[derive(Clone, Copy)]
struct Offset {
    ahead_ms: i64,
    u_ms: i64,
}

impl Offset {
    fn and(self, other: Offset) -> Offset {
        let u = (self.u_ms as f64).hypot(other.u_ms as f64).ceil() as i64;
        Offset { ahead_ms: self.ahead_ms.saturating_add(other.ahead_ms), u_ms: u }
    }

    fn back(self) -> Offset {
        Offset { ahead_ms: self.ahead_ms.saturating_neg(), ..self }
    }
}

/// How clocks of a visit stand to each other: the last comparison of each pair.
struct Clocks(Vec<(Clock, Clock, Offset)>);

impl Clocks {
    fn of(visit: &Visit) -> Clocks {
        let mut known: Vec<(Clock, Clock, Offset)> = Vec::new();
        for said in &visit.record.clocks {
            let other = match said.what.of {
                OtherClock::Panel => panel_clock(said.what.label.as_deref()),
                OtherClock::Phone(phone) => Clock::Phone(phone),
            };
            let of = Clock::Phone(said.phone);
            known.retain(|(one, two, _)| (one, two) != (&of, &other));
            known.push((of, other, Offset { ahead_ms: said.what.ahead_ms, u_ms: said.what.u_ms }));
        }
        Clocks(known)
    }

    fn compared(&self, from: &Clock, to: &Clock) -> Option<Offset> {
        let there = self.0.iter().find(|(one, two, _)| (one, two) == (from, to)).map(|(.., offset)| *offset);
        there.or_else(|| self.0.iter().find(|(one, two, _)| (one, two) == (to, from)).map(|(.., offset)| offset.back()))
    }

    /// `to` less `from`: compared with each other, or both with a third one, of which the surest.
    fn offset(&self, from: &Clock, to: &Clock) -> Option<Offset> {
        if from == to {
            return Some(Offset { ahead_ms: 0, u_ms: 0 });
        }
        self.compared(from, to).or_else(|| {
            let thirds = self.0.iter().flat_map(|(one, two, _)| [one, two]);
            let over = |third: &Clock| Some(self.compared(from, third)?.and(self.compared(third, to)?));
            thirds.filter_map(over).min_by_key(|offset| offset.u_ms)
        })
    }
}

/// When it came in by the clock that its times are of, with the standard uncertainty of that; none where it is not known to the minute.
fn time(of: &Sighting) -> Option<(Wall, i64)> {
    match of.seen.happened.precision {
        Precision::Second => Some((of.seen.happened.at, TAP_U_MS)),
        Precision::Minute => Some((of.seen.happened.at.saturating_add(MINUTE_MS / 2), MINUTE_U_MS)),
        Precision::Hour | Precision::Day => None,
    }
}

impl Visit {
    /// What somebody saw at the panel with each trip that it may be of, or was taken for: by sighting, the nearest trip first.
    pub fn matches(&self, register: &Register) -> Vec<Match> {
        let clocks = Clocks::of(self);
        let mut matches = Vec::new();
        for sighting in self.record.sightings.iter().filter(|sighting| sighting.is_named()) {
            let tests = self.tests.iter().filter(|test| !matches!(test.ended, Some((Ending::Mistake, _))));
            let here: Vec<Match> = tests.flat_map(|test| self.of_test(register, &clocks, sighting, test)).collect();
            let taken = here.iter().any(|found| found.taken.is_some());
            let here = here.into_iter().filter(|found| found.taken.is_some() == taken).collect();
            matches.extend(order::by_number(here, |found: &Match| found.apart_ms.saturating_abs()));
        }
        matches
    }

    fn of_test(&self, register: &Register, clocks: &Clocks, sighting: &Sighting, test: &Test) -> Vec<Match> {
        if !shows(register, test, &sighting.seen.point) {
            return Vec::new();
        }
        let of = match sighting.seen.clock {
            ClockOf::Phone => Clock::Phone(sighting.phone),
            ClockOf::Panel => panel_clock(sighting.seen.label.as_deref()),
        };
        // After a take-over a mark may be of either phone's clock.
        let offset = clocks.offset(&of, &Clock::Phone(test.keeper)).filter(|_| test.keeper == test.phone);
        let found = |mark: &MarkAt| {
            let taken = sighting.taken.filter(|(_, trip)| *trip == mark.hash).map(|(entry, _)| entry);
            // A trip has one answer of the panel's.
            let others = || self.record.sightings.iter().filter(|other| other.hash != sighting.hash);
            if taken.is_none() && others().any(|other| other.taken_for(mark.hash)) {
                return None;
            }
            let (at, u) = time(sighting).or(taken.map(|_| (sighting.seen.happened.at, 0)))?;
            let trip = mark.stamp.wall.saturating_add(mark.moved_ms);
            let apart_ms = at.saturating_add(offset.map_or(0, |offset| offset.ahead_ms)).saturating_sub(trip);
            let u_ms = offset.map(|offset| offset.and(Offset { ahead_ms: 0, u_ms: u }).u_ms);
            let window = match u_ms {
                Some(u_ms) => APART_MS.saturating_add(u_ms.saturating_mul(2)),
                None if sighting.seen.clock == ClockOf::Phone => APART_UNCOMPARED_MS,
                // A panel's clock may be off by hours.
                None => -1,
            };
            let near = apart_ms.saturating_abs() <= window;
            let lag = u_ms.filter(|_| time(sighting).is_some()).map(|u_ms| Lag { after_ms: apart_ms, u_ms });
            (near || taken.is_some()).then(|| Match {
                saw: sighting.hash,
                test: test.id,
                keeper: test.keeper,
                position: test.frozen.position.of,
                trip: mark.hash,
                lag,
                apart_ms,
                taken,
                answered: test.panel_answer(mark.hash),
            })
        };
        test.marks.iter().filter(|mark| mark.what == What::Tripped).filter_map(found).collect()
    }
}

/// Whether words on the panel are those of a test's position: its own, or of a panel that shows no more than the zone, the zone's.
fn shows(register: &Register, test: &Test, words: &str) -> bool {
    let place = &test.frozen.position.place;
    let circuit = place.circuit.and_then(|circuit| register.circuits.get(&circuit)).and_then(|of| of.now());
    let zone = circuit.filter(|circuit| !circuit.shows_point);
    place.is_called(words) || zone.is_some_and(|zone| zone.name.trim().eq_ignore_ascii_case(words.trim()))
}
