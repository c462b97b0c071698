//! An invented site, heater and phone for tests: entries as a phone would write them, without asking the rules.

use soakbook::book::Id;
use soakbook::book::body::{
    Area, Body, Edit, Ending, FrozenDetector, FrozenHeater, Person, Point, Site, Started, What,
};
use soakbook::book::entry::{Hash, Opens, Scope, Stamp};
use soakbook::book::log::{Attachment, Book};
use soakbook::book::seal::{Draft, seal};
use soakbook::book::visit::Visit;
use soakbook::findings::{TestFindings, VisitFindings, visit};
use soakbook::trade::conditions::{IndicatedBy, Indication, Restores, Visual, Warmth};
use soakbook::trade::detector::{Duty, LimitsFrom, Marking, Place};
use soakbook::trade::detector_type::DetectorType;
use soakbook::trade::heater::{Basis, Cycle, HeaterName, Heating, Metrology};
use soakbook::trade::procedure::Procedure;
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
const HEATER: u128 = 40;
const PERSON: u128 = 50;
pub(crate) const VISIT: u128 = 60;

pub(crate) fn c(text: &str) -> Reading {
    Reading::parse(text, Degree::C).expect("a reading")
}

pub(crate) fn k(text: &str) -> Difference {
    Difference::parse(text, Degree::C).expect("a difference")
}

/// What a test is made of; a test changes what it is about. A heater that heat-ups to 94 °C, calibrated to 0.3 K, coupled to 0.4 K,
/// shows tenths; a detector rated 88 °C, −3 K / +4 K; five trips, the first one left out.
pub(crate) fn started(test: u128) -> Started {
    let marking = Marking {
        detector_type: DetectorType::RateCompensated,
        rating: Some(c("88")),
        minus: Some(k("-3")),
        plus: Some(k("4")),
        limits_from: Some(LimitsFrom::Owner),
        class: None,
        suffix: None,
    };
    let place = Place { tag: format!("D-{test}"), area: id(AREA), circuit: None, address: None, label: None };
    Started {
        test: id(test),
        follows: None,
        detector: FrozenDetector {
            of: id(1000 + test),
            place,
            marking,
            duty: Duty::default(),
            marked_by: Hash::of(b"marking"),
        },
        heater: FrozenHeater {
            of: id(HEATER),
            name: heater_name(),
            heating: heating(),
            metrology: metrology(),
            setting: c("90"),
            mode: None,
            profile: Vec::new(),
        },
        procedure: Procedure { confirmed: true, ..Procedure::set_point_template() },
        indication: Indication {
            by: IndicatedBy::OwnLamp,
            latching: false,
            verification: false,
            lag_ms: 0,
            lag_u_ms: 0,
            restores: Restores::NotWatched,
        },
        display_read: true,
        ambient: None,
        air: None,
        heater_warmth: Warmth::Cold,
        detector_warmth: Warmth::Cold,
        visual: Visual::Good,
    }
}

fn heater_name() -> HeaterName {
    HeaterName { name: "Heater one".into(), serial: None, basis: Basis::Neither, hazardous_approval: None }
}

fn heating() -> Heating {
    Heating {
        settings: vec![c("90")],
        above: k("4"),
        modes: Vec::new(),
        cycle: Cycle::ByItself {
            heat_up_cold_ms: Some(120_000),
            heat_up_again_ms: Some(40_000),
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
    Metrology { calibration_u: Some(k("0.3")), certificate: None, due: None, fit_u: Some(k("0.4")) }
}

/// One phone writing a book.
pub(crate) struct Phone {
    pub(crate) book: Book,
    /// Which phone.
    pub(crate) phone: u128,
    /// The visit that is written to.
    pub(crate) visit: u128,
    pub(crate) mono: i64,
}

impl Phone {
    /// A phone with its site, its heater, its user and an open visit.
    pub(crate) fn new() -> Phone {
        let mut phone = Phone { book: Book::default(), phone: PHONE, visit: VISIT, mono: 0 };
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
        phone.say(Scope::Kit, Body::HeaterName(Edit::new(id(HEATER), vec![], heater_name())));
        phone.say(Scope::Visit(id(VISIT)), Body::VisitOpened { site: id(SITE) });
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

    pub(crate) fn in_visit(&mut self, body: Body) -> Hash {
        self.say(Scope::Visit(id(self.visit)), body)
    }

    /// A whole test: heat-up by heat-up a trip with what was read, a trip without a reading, or no trip.
    pub(crate) fn test(&mut self, started: Started, heat_ups: &[HeatUp], how: Ending) -> Id {
        let test = started.test;
        let from = self.mono + 1000;
        let time = |index: usize| match index {
            0 => from + 100_000,
            // First heat-up and hold to 420 s, then 45 s off, 40 s heat-up and 10 s hold.
            _ => from + 465_000 + 95_000 * (index as i64 - 1) + 30_000,
        };
        self.mono = from;
        self.in_visit(Body::TestStarted(Arc::new(started)));
        self.in_visit(Body::Mark { test, what: What::HeatOn });
        for (index, heat_up) in heat_ups.iter().enumerate() {
            self.mono = time(index);
            if matches!(heat_up, HeatUp::NoTrip) {
                continue;
            }
            let trip = self.in_visit(Body::Mark { test, what: What::Tripped });
            if let HeatUp::Read(reading) = heat_up {
                self.in_visit(Body::ReadingTaken { test, reading: *reading, trip: Some(trip) });
            }
            self.in_visit(Body::PanelPoint { trip, point: Point::Right, said: None });
        }
        self.mono = match how {
            Ending::DidNotOperate => from + 421_000,
            _ => time(heat_ups.len() - 1) + 60_000,
        };
        self.in_visit(Body::TestEnded { test, how });
        test
    }

    pub(crate) fn visit(&self) -> VisitFindings {
        visit(&self.book, &Visit::of(&self.book, id(VISIT)).expect("a visit"))
    }
}

#[derive(Clone, Copy, Debug)]
pub(crate) enum HeatUp {
    Read(Reading),
    NotRead,
    NoTrip,
}

/// Trips read as the texts say, in °C; the first one is the uncounted one.
pub(crate) fn read(texts: &[&str]) -> Vec<HeatUp> {
    texts.iter().map(|text| HeatUp::Read(c(text))).collect()
}

/// The findings of one test.
pub(crate) fn found(started: Started, heat_ups: &[HeatUp], how: Ending) -> TestFindings {
    let mut phone = Phone::new();
    phone.test(started, heat_ups, how);
    phone.visit().tests.remove(0)
}
