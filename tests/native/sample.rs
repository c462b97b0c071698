//! An invented site, head and phone for tests: entries as a phone would write them, without asking the rules.

use soakbook::book::Id;
use soakbook::book::body::{Area, Body, Edit, Ending, FrozenDetector, FrozenHead, Person, Point, Site, Started, What};
use soakbook::book::entry::{Hash, Opens, Scope, Stamp};
use soakbook::book::log::{Attachment, Book};
use soakbook::book::round::Round;
use soakbook::book::seal::{Draft, seal};
use soakbook::findings::{RoundFindings, RunFindings, round};
use soakbook::trade::detector::{Duty, LimitsFrom, Marking, Place};
use soakbook::trade::head::{Basis, Cycle, HeadName, Heating, Metrology};
use soakbook::trade::kind::Kind;
use soakbook::trade::procedure::Procedure;
use soakbook::trade::seen::{Resets, SeenBy, Sign, Visual, Warmth};
use soakbook::units::{Degree, Difference, Reading};
use std::sync::Arc;

pub(crate) fn id(n: u128) -> Id {
    Id::from_u128(0x0190_0000_0000_7000_8000_0000_0000_0000 | n)
}

pub(crate) const PHONE: u128 = 1;
const SESSION: u128 = 2;
pub(crate) const SITE: u128 = 10;
pub(crate) const OTHER_SITE: u128 = 11;
const AREA: u128 = 20;
const HEAD: u128 = 40;
const PERSON: u128 = 50;
pub(crate) const ROUND: u128 = 60;

pub(crate) fn c(text: &str) -> Reading {
    Reading::parse(text, Degree::C).expect("a reading")
}

pub(crate) fn k(text: &str) -> Difference {
    Difference::parse(text, Degree::C).expect("a difference")
}

/// What a run is made of; a test changes what it is about. A head that climbs to 94 °C, calibrated to 0.3 K, coupled to 0.4 K,
/// shows tenths; a detector rated 88 °C, −3 K / +4 K; five trips, the first one left out.
pub(crate) fn started(run: u128) -> Started {
    let marking = Marking {
        kind: Kind::RateCompensated,
        rating: Some(c("88")),
        minus: Some(k("-3")),
        plus: Some(k("4")),
        limits_from: Some(LimitsFrom::Owner),
        class: None,
        suffix: None,
    };
    let place = Place { tag: format!("D-{run}"), area: id(AREA), circuit: None, address: None, label: None };
    Started {
        run: id(run),
        follows: None,
        detector: FrozenDetector {
            of: id(1000 + run),
            place,
            marking,
            duty: Duty::default(),
            marked_by: Hash::of(b"marking"),
        },
        head: FrozenHead {
            of: id(HEAD),
            name: head_name(),
            heating: heating(),
            metrology: metrology(),
            setting: c("90"),
            mode: None,
            curve: Vec::new(),
        },
        procedure: Procedure { confirmed: true, ..Procedure::set_point_template() },
        seen_by: SeenBy {
            sign: Sign::OwnLamp,
            latching: false,
            verification: false,
            delay_ms: 0,
            delay_u_ms: 0,
            resets: Resets::NotWatched,
        },
        display_read: true,
        ambient: None,
        air: None,
        head_warmth: Warmth::Cold,
        detector_warmth: Warmth::Cold,
        visual: Visual::Good,
    }
}

fn head_name() -> HeadName {
    HeadName { name: "Head one".into(), serial: None, basis: Basis::Neither, hazardous_approval: None }
}

fn heating() -> Heating {
    Heating {
        settings: vec![c("90")],
        above: k("4"),
        modes: Vec::new(),
        cycle: Cycle::ByItself {
            climb_cold_ms: Some(120_000),
            climb_again_ms: Some(40_000),
            hold_first_ms: 300_000,
            hold_again_ms: 10_000,
            off_ms: 45_000,
        },
        resolution: Some(k("0.1")),
        lamp: None,
        timeout_ms: None,
    }
}

fn metrology() -> Metrology {
    Metrology { calibration_u: Some(k("0.3")), certificate: None, due: None, coupling_u: Some(k("0.4")) }
}

/// One phone writing a book.
pub(crate) struct Phone {
    pub(crate) book: Book,
    /// Which phone.
    pub(crate) phone: u128,
    /// The round that is written to.
    pub(crate) round: u128,
    pub(crate) mono: i64,
}

impl Phone {
    /// A phone with its site, its head, its user and an open round.
    pub(crate) fn new() -> Phone {
        let mut phone = Phone { book: Book::default(), phone: PHONE, round: ROUND, mono: 0 };
        let site = |n, name: &str| {
            Body::Site(Edit::new(id(n), vec![], Site { name: name.into(), address: None, invented: true }))
        };
        phone.say(Scope::Site(id(SITE)), site(SITE, "Invented works"));
        let area = Area { site: id(SITE), name: "Hall".into() };
        phone.say(Scope::Site(id(SITE)), Body::Area(Edit::new(id(AREA), vec![], area)));
        phone.say(Scope::Site(id(OTHER_SITE)), site(OTHER_SITE, "Another customer"));
        let name = Attachment::text([7; 16], "A. Technician");
        let person = Person { name: name.hash() };
        phone.book.attach(name);
        phone.say(Scope::Kit, Body::Person(Edit::new(id(PERSON), vec![], person)));
        phone.say(Scope::Kit, Body::HeadName(Edit::new(id(HEAD), vec![], head_name())));
        phone.say(Scope::Round(id(ROUND)), Body::RoundOpened { site: id(SITE) });
        phone
    }

    pub(crate) fn say(&mut self, scope: Scope, body: Body) -> Hash {
        let stamp = Stamp { session: id(SESSION), mono: self.mono, wall: 1_750_000_000_000 + self.mono };
        let opens = Opens { app: "0.1.0".into(), zone: "Europe/Berlin".into(), offset: 120, who: Some(id(PERSON)) };
        let entries = seal(&self.book, id(self.phone), stamp, &opens, vec![Draft { scope, body }]);
        let hash = entries[0].hash;
        entries.into_iter().for_each(|entry| self.book.apply(entry));
        hash
    }

    pub(crate) fn in_round(&mut self, body: Body) -> Hash {
        self.say(Scope::Round(id(self.round)), body)
    }

    /// A whole run: climb by climb a trip with what was read, a trip without a reading, or no trip.
    pub(crate) fn run(&mut self, started: Started, climbs: &[Climb], how: Ending) -> Id {
        let run = started.run;
        let from = self.mono + 1000;
        let time = |index: usize| match index {
            0 => from + 100_000,
            // First climb and hold to 420 s, then 45 s off, 40 s climb and 10 s hold.
            _ => from + 465_000 + 95_000 * (index as i64 - 1) + 30_000,
        };
        self.mono = from;
        self.in_round(Body::RunStarted(Arc::new(started)));
        self.in_round(Body::Mark { run, what: What::HeatOn });
        for (index, climb) in climbs.iter().enumerate() {
            self.mono = time(index);
            if matches!(climb, Climb::NoTrip) {
                continue;
            }
            let trip = self.in_round(Body::Mark { run, what: What::Tripped });
            if let Climb::Read(reading) = climb {
                self.in_round(Body::ReadingTaken { run, reading: *reading, trip: Some(trip) });
            }
            self.in_round(Body::PanelPoint { trip, point: Point::Right, said: None });
        }
        self.mono = match how {
            Ending::DidNotOperate => from + 421_000,
            _ => time(climbs.len() - 1) + 60_000,
        };
        self.in_round(Body::RunEnded { run, how });
        run
    }

    pub(crate) fn round(&self) -> RoundFindings {
        round(&self.book, &Round::of(&self.book, id(ROUND)).expect("a round"))
    }
}

#[derive(Clone, Copy, Debug)]
pub(crate) enum Climb {
    Read(Reading),
    NotRead,
    NoTrip,
}

/// Trips read as the texts say, in °C; the first one is the uncounted one.
pub(crate) fn read(texts: &[&str]) -> Vec<Climb> {
    texts.iter().map(|text| Climb::Read(c(text))).collect()
}

/// The findings of one run.
pub(crate) fn found(started: Started, climbs: &[Climb], how: Ending) -> RunFindings {
    let mut phone = Phone::new();
    phone.run(started, climbs, how);
    phone.round().runs.remove(0)
}
