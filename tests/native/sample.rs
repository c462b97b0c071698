//! An invented site, heater and phone for tests: entries as a phone would write them, without asking the rules.

use crate::kit;
use soakbook::book::Id;
use soakbook::book::body::{
    Answer, Area, Attendance, Body, DetectorSnapshot, Edit, Ending, Happened, HeaterSnapshot, ItemFound, ItemWhat,
    Person, Point, PositionSnapshot, Precision, RestoreWord, Site, TestStart, What, Who,
};
use soakbook::book::entries::{Attachment, Book};
use soakbook::book::entry::{Hash, Opens, Scope, Stamp};
use soakbook::book::seal::{Draft, seal};
use soakbook::book::test::Test;
use soakbook::book::visit::Visit;
use soakbook::findings::{TestFindings, VisitFindings, visit};
use soakbook::trade::conditions::{IndicatedBy, Indication, Restores, Warmth};
use soakbook::trade::detector::{Duty, LimitsFrom, Make, Marking, Place};
use soakbook::trade::detector_type::DetectorType;
use soakbook::trade::heater::{Basis, Cycle, HeaterName, Heating, Metrology};
use soakbook::units::{Degree, Difference, Mono, Reading, Wall};
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
pub(crate) const PERSON: u128 = 50;
pub(crate) const VISIT: u128 = 60;

pub(crate) fn c(text: &str) -> Reading {
    Reading::parse(text, Degree::C).expect("a reading")
}

pub(crate) fn k(text: &str) -> Difference {
    Difference::parse(text, Degree::C).expect("a difference")
}

/// What a test is made of; a test changes what it is about. A heater that heat-ups to 94 °C, calibrated to 0.3 K, coupled to 0.4 K,
/// shows tenths; a detector rated 88 °C, −3 K / +4 K; five trips, the first one left out.
pub(crate) fn started(test: u128) -> TestStart {
    let marking = Marking {
        detector_type: DetectorType::RateCompensated,
        rating: Some(c("88")),
        minus: Some(k("-3")),
        plus: Some(k("4")),
        limits_from: Some(LimitsFrom::Owner),
        agreed: None,
        class: None,
        suffix: None,
        rate_function: None,
    };
    let place = Place { tag: format!("D-{test}"), area: id(AREA), ..Place::default() };
    let duty = Duty { releases: Some(Vec::new()), ..Duty::default() };
    TestStart {
        test: id(test),
        by: id(PERSON),
        follows: None,
        after: None,
        position: PositionSnapshot { of: id(1000 + test), place, duty },
        detector: DetectorSnapshot {
            of: id(2000 + test),
            marking,
            marked_by: Hash::of(b"marking"),
            make: Make::default(),
        },
        heater: HeaterSnapshot {
            of: id(HEATER),
            name: heater_name(),
            heating: heating(),
            metrology: metrology(),
            setting: c("90"),
            mode: None,
            profile: Vec::new(),
        },
        procedure: kit::set_point(),
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
        visual: None,
        rate_answer: None,
    }
}

/// A test whose silence means something: 94 °C less 2 · 0.3 K and 2 · 0.4 K is 8.6 K above 80 °C + 4 K. From 20 °C the element lags at
/// most 74 K, and by 8.6 K after 120 s · ln(74/8.6) = 258.3 s, less than the soak of 300 s.
pub(crate) fn silent(test: u128) -> TestStart {
    let mut start = started(test);
    start.detector.marking.rating = Some(c("80"));
    start.ambient = Some(c("20"));
    start
}

fn heater_name() -> HeaterName {
    HeaterName { name: "Heater one".into(), serial: None, basis: Basis::Neither, approval: None }
}

fn heating() -> Heating {
    Heating {
        settings: vec![c("90")],
        overshoot: Some(k("4")),
        modes: Vec::new(),
        cycle: Cycle::Auto {
            heat_up_cold_ms: Some(120_000),
            heat_up_again_ms: Some(40_000),
            hold_first_ms: Some(300_000),
            hold_again_ms: Some(10_000),
            off_ms: Some(45_000),
        },
        resolution: Some(k("0.1")),
        lamp: None,
        timeout_ms: None,
    }
}

fn metrology() -> Metrology {
    let (calibration_u, fit_u, fit_from) = (Some(k("0.3")), Some(k("0.4")), Some("own comparison".into()));
    Metrology { calibration_u, certificate: None, due: None, fit_u, fit_from }
}

/// One phone writing a book.
pub(crate) struct Phone {
    pub(crate) book: Book,
    /// Which phone.
    pub(crate) phone: u128,
    /// The visit that is written to.
    pub(crate) visit: u128,
    pub(crate) mono: Mono,
    decision: i64,
}

impl Phone {
    /// A phone with its site, its heater, its user and an open visit.
    pub(crate) fn new() -> Phone {
        let mut phone = Phone { book: Book::default(), phone: PHONE, visit: VISIT, mono: Mono(0), decision: 0 };
        let site = |n, name: &str| {
            Body::Site(Edit::new(id(n), vec![], Site { name: name.into(), address: None, invented: true }))
        };
        phone.say(Scope::Site(id(SITE)), site(SITE, "Invented works"));
        let area = Area { site: id(SITE), name: "Hall".into() };
        phone.say(Scope::Site(id(SITE)), Body::Area(Edit::new(id(AREA), vec![], area)));
        phone.say(Scope::Site(id(OTHER_SITE)), site(OTHER_SITE, "Another customer"));
        let name = Attachment::text([7; 16], "A. Technician");
        let named = name.hash();
        let person = Person { name: named, firm: None, license: None, contact: None, retired: false };
        phone.book.attach(name);
        phone.say(Scope::Kit, Body::Person(Edit::new(id(PERSON), vec![], person)));
        phone.say(Scope::Kit, Body::HeaterName(Edit::new(id(HEATER), vec![], heater_name())));
        phone.in_visit(Body::VisitOpened { site: id(SITE) });
        phone.in_visit(Body::Attended(
            Attendance { person: id(PERSON), name: named, firm: None, license: None, contact: None }.into(),
        ));
        phone
    }

    pub(crate) fn say(&mut self, scope: Scope, body: Body) -> Hash {
        let stamp =
            Stamp { session: id(SESSION), mono: self.mono, wall: Wall(1_750_000_000_000) + self.mono.since_start() };
        let opens = Opens { app: "0.1.0".into(), zone: "Europe/Berlin".into(), offset: 120, who: Some(id(PERSON)) };
        let entries = seal(&self.book, id(self.phone), stamp, self.decision, &opens, vec![Draft { scope, body }]);
        self.decision += 1;
        let hash = entries[0].hash;
        entries.into_iter().for_each(|entry| self.book.apply(entry));
        hash
    }

    pub(crate) fn in_visit(&mut self, body: Body) -> Hash {
        self.say(Scope::Visit(id(self.visit)), body)
    }

    /// The marks of a test, by time.
    pub(crate) fn test_marks(&self, test: u128) -> Vec<Hash> {
        Test::of(&self.book, id(test)).expect("the test").marks.iter().map(|mark| mark.hash).collect()
    }

    /// A whole test: heat-up by heat-up a trip with what was read, a trip without a reading, or no trip. What tripped showed the right
    /// point and restored. Of a test that ends without a trip the top temperature was seen at 120 s and held for 300 s.
    pub(crate) fn test(&mut self, started: TestStart, heat_ups: &[HeatUp], how: Ending) -> Id {
        self.test_with_top(started, heat_ups, how, None)
    }

    /// The same with the top temperature seen so long after heat on, ms, between the first two trips.
    pub(crate) fn test_with_top(
        &mut self,
        started: TestStart,
        heat_ups: &[HeatUp],
        how: Ending,
        at_top: Option<i64>,
    ) -> Id {
        let test = started.test;
        let from = self.mono + 1000;
        let time = |index: usize| match index {
            0 => from + 100_000,
            // First heat-up and hold to 420 s, then 45 s off, 40 s heat-up and 10 s hold.
            _ => from + 465_000 + 95_000 * (index as i64 - 1) + 30_000,
        };
        self.mono = from;
        self.in_visit(Body::TestStarted(Arc::new(started)));
        self.in_visit(Body::Mark { of: test, what: What::HeatOn });
        for (index, heat_up) in heat_ups.iter().enumerate() {
            if let Some(at_top) = at_top.filter(|_| index == 1) {
                self.mono = from + at_top;
                self.in_visit(Body::Mark { of: test, what: What::AtTop });
            }
            self.mono = time(index);
            if matches!(heat_up, HeatUp::NoTrip) {
                continue;
            }
            let trip = self.in_visit(Body::Mark { of: test, what: What::Tripped });
            if let HeatUp::Read(reading) = heat_up {
                self.in_visit(Body::ReadingTaken { of: test, reading: *reading, trip: Some(trip) });
            }
            self.in_visit(Body::PanelPoint { trip, point: Point::Right, said: None });
        }
        self.mono = match how {
            Ending::NoTrip => {
                self.mono = from + 120_000;
                self.in_visit(Body::Mark { of: test, what: What::AtTop });
                from + 421_000
            }
            _ => time(heat_ups.len() - 1) + 60_000,
        };
        if heat_ups.iter().any(|heat_up| !matches!(heat_up, HeatUp::NoTrip)) {
            let (restored, by, happened) = (Answer::Yes, Who::Person(id(PERSON)), self.happened());
            self.in_visit(Body::RestoreSaid(RestoreWord { test, restored, by, happened }.into()));
        }
        self.in_visit(Body::TestEnded { test, how });
        test
    }

    /// Now, as a person says it.
    pub(crate) fn happened(&self) -> Happened {
        Happened { at: Wall(1_750_000_000_000) + self.mono.since_start(), offset: 120, precision: Precision::Minute }
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
pub(crate) fn found(started: TestStart, heat_ups: &[HeatUp], how: Ending) -> TestFindings {
    let mut phone = Phone::new();
    phone.test(started, heat_ups, how);
    phone.visit().tests.remove(0)
}

/// An item of a test, as somebody finds it.
pub(crate) fn item(test: u128, what: ItemWhat) -> ItemFound {
    ItemFound {
        what,
        class: None,
        position: Some(id(1000 + test)),
        other_position: None,
        circuit: None,
        test: Some(id(test)),
        visual: Vec::new(),
        note: None,
        remedy: None,
        photo: None,
        by: Some(Who::Person(id(PERSON))),
        happened: Happened { at: Wall(1_750_000_000_000), offset: 120, precision: Precision::Minute },
    }
}
