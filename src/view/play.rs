//! A finished test played again: the Test screen as it was at any time of it. Nothing is recorded by looking at it.
//!
//! Only what had been recorded by then is in the book that the screen is made from, so it says what it said, with every mark that was
//! taken back later.

use super::test::TestScreen;
use super::{time, words};
use crate::book::Id;
use crate::book::body::{Body, What};
use crate::book::entries::Book;
use crate::book::entry::{Entry, Scope};
use crate::book::register::Register;
use crate::book::test::Test;
use crate::findings::Estimates;
use crate::order;
use crate::units::{Degree, TestTime};

/// How many times faster than it was.
pub const FASTER: i64 = 60;
/// How often it is drawn, ms.
pub const DRAWN_MS: u64 = 100;

/// Its words.
pub mod heading {
    /// On the key that leads to it.
    pub const PLAY: &str = "Play at 60×";
    /// While it runs.
    pub const PAUSE: &str = "Pause";
    /// While it does not.
    pub const GO_ON: &str = "Play";
    /// Goes to the next mark.
    pub const NEXT: &str = "Next mark";
    /// Starts anew.
    pub const AGAIN: &str = "Play again";
    /// Leads to the result.
    pub const RESULT: &str = "See the result";
    /// Above what was recorded so far.
    pub const RECORDED: &str = "Recorded so far";
    /// Where no such test can be played.
    pub const UNKNOWN: (&str, &str) = ("Not a finished test", "Only a test that is over can be played.");
    /// Says that nothing is recorded.
    pub const ONLY_PLAYED: &str = "Played at 60 times its speed. Nothing is recorded.";
}

/// What is seen at one time.
#[derive(Clone, Debug, PartialEq)]
pub struct Played {
    /// The Test screen then.
    pub screen: TestScreen,
    /// What was recorded so far, each with its time; the last one first.
    pub recorded: Vec<String>,
    /// Whether the test is over.
    pub over: bool,
}

/// One test while it is played.
#[derive(Debug)]
pub struct Playback {
    test: Id,
    /// The phone whose screen it was.
    phone: Id,
    /// What the test was started with: profile runs.
    before: Book,
    /// What was recorded in it, with its time, ms since heat on.
    entries: Vec<(TestTime, Entry)>,
    book: Book,
    taken: usize,
    /// The time that was last asked for.
    now: TestTime,
    estimates: Estimates,
    /// How long the test was, ms.
    pub length: TestTime,
    /// The detector's tag.
    pub tag: String,
    /// Whether it is of an invented site.
    pub invented: bool,
}

impl Playback {
    /// A test that is over; none where it is not, or is not known here.
    pub fn of(book: &Book, register: &Register, id: Id) -> Option<Playback> {
        let test = Test::of(book, id)?;
        let (_, length) = test.ended?;
        let scope = Scope::Visit(test.visit);
        // What another phone recorded has its place by the two wall clocks.
        let when = |entry: &Entry| match entry.chain.phone == test.phone {
            true => test.time_on(test.phone, entry.stamp),
            false => TestTime::HEAT_ON + entry.stamp.wall.saturating_sub(test.started_wall),
        };
        let entries = book.scope(scope).map(|entry| (when(entry), entry));
        let within = entries.filter(|(at, _)| (TestTime::HEAT_ON..=length).contains(at));
        let entries = within.map(|(at, entry)| (at, entry.clone())).collect();
        let site = register.site_of(test.frozen.position.of).and_then(|site| register.sites.get(&site)?.now());
        let before = book.only(&book.chains_of(Scope::Kit).collect::<Vec<_>>());
        Some(Playback {
            test: id,
            phone: test.phone,
            book: before.clone(),
            before,
            entries: order::by_number(entries, |(at, _)| at.0),
            taken: 0,
            now: TestTime::HEAT_ON,
            estimates: Estimates::default(),
            length,
            tag: test.frozen.position.place.tag.clone(),
            invented: site.is_some_and(|site| site.invented),
        })
    }

    /// What the Test screen showed at a time, ms since heat on.
    pub fn at(&mut self, at: TestTime, unit: Degree) -> Option<Played> {
        let at = at.clamp(TestTime::HEAT_ON, self.length);
        if at < std::mem::replace(&mut self.now, at) {
            (self.book, self.taken, self.estimates) = (self.before.clone(), 0, Estimates::default());
        }
        while let Some((_, entry)) = self.entries.get(self.taken).filter(|(when, _)| *when <= at) {
            self.book.apply(entry.clone());
            self.taken += 1;
        }
        let test = Test::of(&self.book, self.test)?;
        let screen = TestScreen::of(&self.book, &test, at, self.phone, unit, &mut self.estimates);
        let recorded = self.entries.iter().take(self.taken).rev();
        let recorded = recorded.filter_map(|(when, entry)| said(&test, *when, &entry.body)).collect();
        Some(Played { screen, recorded, over: test.ended.is_some() })
    }

    /// The time that is drawn after this one, ms since heat on.
    pub fn tick(&self, at: TestTime) -> TestTime {
        at.saturating_add(DRAWN_MS.cast_signed() * FASTER).min(self.length)
    }

    /// Whether there is nothing after a time.
    pub fn is_over(&self, at: TestTime) -> bool {
        at >= self.length
    }

    /// When something was next recorded after a time; the end where nothing was.
    pub fn next(&self, at: TestTime) -> TestTime {
        self.entries.iter().map(|(when, _)| *when).find(|when| *when > at).unwrap_or(self.length)
    }
}

/// What an entry of a test says, with its time; nothing of one that is no event.
fn said(test: &Test, when: TestTime, body: &Body) -> Option<String> {
    let line = match body {
        Body::Mark { of, what: What::Tripped } if *of == test.id => "Tripped".to_string(),
        Body::Mark { of, what } if *of == test.id => words::what(*what).to_string(),
        Body::ReadingTaken { of, reading, .. } if *of == test.id => {
            format!("Display read {}", words::as_displayed(reading))
        }
        Body::PanelPoint { trip, point, .. } if test.marks.iter().any(|mark| mark.hash == *trip) => {
            format!("At the panel: {}", words::point(*point).to_lowercase())
        }
        Body::TestEnded { test: of, how } if *of == test.id => words::ending(*how).to_string(),
        _ => return None,
    };
    Some(format!("{} · {line}", time::gone(when.since_heat_on())))
}
