//! A large invented book, the same one for the same seed.

use crate::book::Id;
use crate::book::body::{
    Answer, Area, Body, Circuit, DetectorSnapshot, Edit, Ending, Happened, HeaterSnapshot, Method, OtherMethod, Point,
    PositionSnapshot, Precision, RestoreWord, Site, TestStart, What, Who,
};
use crate::book::entries::Book;
use crate::book::entry::{Chain, Entry, Frame, Hash, Opens, Scope, Stamp};
use crate::trade::conditions::{IndicatedBy, Indication, Restores, Warmth};
use crate::trade::detector::{Duty, LimitsFrom, Make, Marking, Place};
use crate::trade::detector_type::DetectorType;
use crate::trade::heater::{Basis, Cycle, HeaterName, Heating, Metrology};
use crate::trade::procedure::{NumbersFrom, Procedure, ProcedureKind};
use crate::units::{Degree, Difference, Mono, Reading, Wall};
use std::sync::Arc;

/// How large a book is to be.
#[derive(Clone, Copy, Debug)]
pub struct Size {
    /// Tests in it.
    pub tests: usize,
    /// Tests of each visit; the last visit has what is left.
    pub per_visit: usize,
}

/// Where in one area: detectors of one kind and rating stand in areas of this many.
const PER_AREA: usize = 20;

/// What hangs in an area, and how it is tested.
#[derive(Clone, Copy)]
struct Kind {
    detector_type: DetectorType,
    procedure: ProcedureKind,
    limits_from: LimitsFrom,
    /// Upper limit less rating, K.
    plus: i64,
    /// From trip to tap, ms.
    lag_ms: i64,
    /// How often in a hundred it has no rating.
    unrated: i64,
    /// How often in a hundred the heater has its lower setting.
    low: i64,
}

const COMPENSATED: Kind = Kind {
    detector_type: DetectorType::RateCompensated,
    procedure: ProcedureKind::SetPoint,
    limits_from: LimitsFrom::Owner,
    plus: 4,
    lag_ms: 0,
    unrated: 0,
    low: 0,
};
const FIXED: Kind = Kind { detector_type: DetectorType::FixedRestorable, ..COMPENSATED };

/// The kinds of one area after another, and again from the first.
const KINDS: [Kind; 10] = [
    COMPENSATED,
    Kind { limits_from: LimitsFrom::Marking, ..FIXED },
    COMPENSATED,
    Kind { lag_ms: 1_000, ..COMPENSATED },
    Kind { plus: 8, unrated: 5, low: 40, ..FIXED },
    COMPENSATED,
    Kind { procedure: ProcedureKind::Functional, ..FIXED },
    COMPENSATED,
    Kind { detector_type: DetectorType::RateOfRise, procedure: ProcedureKind::Functional, ..FIXED },
    COMPENSATED,
];

/// A test of every detector of an invented site, visit after visit: mostly set-point tests that pass, their trips about an own
/// temperature for each detector; and some of every other result.
pub fn book(size: Size, seed: u64) -> Book {
    let mut maker = Maker { book: Book::default(), chance: Chance(seed), mono: 0, tip: None, next_id: 0, decision: 0 };
    let site = maker.id();
    let areas: Vec<Id> = (0..size.per_visit.div_ceil(PER_AREA)).map(|_| maker.id()).collect();
    maker.turn_to(Scope::Site(site));
    let name = "Nowhere Works (invented)".to_string();
    maker.say(Body::Site(Edit::new(site, vec![], Site { name, address: None, invented: true })));
    for (index, area) in areas.iter().enumerate() {
        let now = Area { site, name: format!("Hall {}", index + 1) };
        maker.say(Body::Area(Edit::new(*area, vec![], now)));
    }
    let positions: Vec<Id> = (0..size.per_visit).map(|_| maker.id()).collect();
    let mut left = size.tests;
    while left > 0 {
        let visit = maker.id();
        maker.turn_to(Scope::Visit(visit));
        maker.say(Body::VisitOpened { site });
        for (index, position) in positions.iter().enumerate().take(left) {
            let hall = index / PER_AREA;
            let place = Place { tag: format!("H-{:04}", index + 1), area: areas[hall], ..Place::default() };
            maker.test(*position, place, KINDS[hall % KINDS.len()]);
        }
        maker.say(Body::VisitClosed { covers: Vec::new() });
        left = left.saturating_sub(size.per_visit);
    }
    maker.book
}

/// A site of so many positions on circuits of fifty, each tested by warm air once a year, and the time of the last test, UTC ms.
pub(super) fn site(positions: usize, years: usize) -> (Book, Id, Wall) {
    const PER_CIRCUIT: usize = 50;
    const YEAR_MS: i64 = 365 * 86_400_000;
    let mut maker = Maker { book: Book::default(), chance: Chance(1), mono: 0, tip: None, next_id: 0, decision: 0 };
    let site = maker.id();
    maker.turn_to(Scope::Site(site));
    let name = "Nowhere Works (invented)".to_string();
    maker.say(Body::Site(Edit::new(site, vec![], Site { name, address: None, invented: true })));
    let mut all = Vec::new();
    let (mut area, mut circuit) = (site, site);
    for index in 0..positions {
        if index % PER_CIRCUIT == 0 {
            (area, circuit) = (maker.id(), maker.id());
            let name = format!("Hall {:03}", index / PER_CIRCUIT);
            maker.say(Body::Area(Edit::new(area, vec![], Area { site, name: name.clone() })));
            let (addressable, releasing) = (Some(false), Some(false));
            let now = Circuit { site, name, shows_point: false, addressable, releasing, verification: false };
            maker.say(Body::Circuit(Edit::new(circuit, vec![], now)));
        }
        let (position, detector) = (maker.id(), maker.id());
        let place = Place { tag: format!("H-{index:04}"), area, circuit: Some(circuit), ..Place::default() };
        maker.say(Body::PositionPlace(Edit::new(position, vec![], place)));
        let duty = Duty { releases: Some(Vec::new()), ..Duty::default() };
        maker.say(Body::PositionDuty(Edit::new(position, vec![], duty)));
        maker.say(Body::DetectorInstalled { detector, position, happened: None });
        let rating = Reading { value: 88, scale: 0, unit: Degree::C };
        let marking = Marking::new(DetectorType::FixedRestorable, Some(rating));
        maker.say(Body::DetectorMarking(Edit::new(detector, vec![], marking)));
        all.push((position, detector));
    }
    for _ in 0..years {
        let visit = maker.id();
        maker.mono += YEAR_MS;
        maker.turn_to(Scope::Visit(visit));
        maker.say(Body::VisitOpened { site });
        for (position, detector) in &all {
            maker.mono += 60_000;
            maker.warm_air(*position, *detector);
        }
        maker.say(Body::VisitClosed { covers: Vec::new() });
    }
    let now = Wall(1_750_000_000_000) + maker.mono;
    (maker.book, site, now)
}

/// A generator of numbers that look like chance and are always the same ones: SplitMix64 (Steele, Lea and Flood 2014).
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number from 0 to `most`.
    fn up_to(&mut self, most: i64) -> i64 {
        i64::try_from(self.next() >> 1).unwrap_or(0) % (most + 1)
    }

    /// A number about 0 with a bell-like spread of about `spread`: the sum of three, as 3 · spread²/3.
    fn about(&mut self, spread: i64) -> i64 {
        (0..3).map(|_| self.up_to(2 * spread) - spread).sum()
    }
}

struct Maker {
    book: Book,
    chance: Chance,
    mono: i64,
    tip: Option<(Chain, i64, Option<Hash>)>,
    next_id: u128,
    decision: i64,
}

/// Whose book it is.
pub(super) const PHONE: Id = Id::from_u128(0x0190_0000_0000_7000_8000_0000_0000_0001);
const PERSON: Id = Id::from_u128(0x0190_0000_0000_7000_8000_0000_0000_0003);
const SESSION: Id = Id::from_u128(0x0190_0000_0000_7000_8000_0000_0000_0002);

impl Maker {
    fn id(&mut self) -> Id {
        self.next_id += 1;
        Id::from_u128(0x0190_0000_0001_7000_8000_0000_0000_0000 | self.next_id)
    }

    fn turn_to(&mut self, scope: Scope) {
        self.tip = Some((Chain { scope, phone: PHONE }, 0, None));
    }

    fn say(&mut self, body: Body) -> Hash {
        let stamp = Stamp { session: SESSION, mono: Mono(self.mono), wall: Wall(1_750_000_000_000) + self.mono };
        let (chain, seq, prev) = self.tip.unwrap_or((Chain { scope: Scope::Kit, phone: PHONE }, 0, None));
        let opens = Opens { app: env!("CARGO_PKG_VERSION").into(), zone: String::new(), offset: 0, who: Some(PERSON) };
        let opens = (seq == 0).then_some(opens);
        let decision = self.decision;
        self.decision += 1;
        let entry = Entry::seal(Frame { chain, seq, prev, stamp, decision, scopes: Vec::new(), opens }, body);
        let hash = entry.hash;
        self.tip = Some((chain, seq + 1, Some(hash)));
        self.book.apply(entry);
        hash
    }

    /// Says it at a test time, ms since `from`.
    fn say_at(&mut self, from: i64, at: i64, body: Body) -> Hash {
        self.mono = from + at;
        self.say(body)
    }

    /// Something that happens `percent` times in a hundred.
    fn happens(&mut self, percent: i64) -> bool {
        self.chance.up_to(99) < percent
    }

    fn test(&mut self, position: Id, place: Place, kind: Kind) {
        let of = self.id();
        self.mono += 60_000;
        let from = self.mono;
        let start = self.started(of, position, place, kind);
        self.say(Body::TestStarted(Arc::new(start)));
        self.say(Body::Mark { of, what: What::HeatOn });
        let rate = kind.detector_type.has_rate_element();
        match (self.happens(5), rate) {
            (true, true) => self.without_rate_trip(of, from),
            (true, false) => self.without_trip(of, from),
            (false, _) => self.with_trips(of, from, kind),
        }
    }

    /// One in fifty does not pass.
    fn warm_air(&mut self, position: Id, detector: Id) {
        let (at, point) =
            (Wall(1_750_000_000_000) + self.mono, if self.happens(2) { Point::NotThere } else { Point::Right });
        let of = OtherMethod {
            test: self.id(),
            position,
            detector: Some(detector),
            method: Method::WarmAir,
            basis: None,
            tripped: Answer::Yes,
            point,
            said: None,
            restored: Answer::Yes,
            by: Who::Person(PERSON),
            note: None,
            happened: Happened { at, offset: 0, precision: Precision::Minute },
        };
        self.say(Body::OtherMethod(Arc::new(of)));
    }

    /// No trip of a fixed element: the top temperature marked, read, seen in the second heat-up only, or not at all.
    fn without_trip(&mut self, of: Id, from: i64) {
        let seen = self.chance.up_to(4);
        let mut end = SOAKED + self.chance.up_to(HOLD - 60_000);
        let mut top = 165_000 + self.chance.up_to(30_000);
        let warm = Reading { value: 1_038 - self.chance.up_to(6), scale: -1, unit: Degree::C };
        if seen <= 1 {
            self.say_at(from, top, Body::Mark { of, what: What::AtTop });
        }
        if seen == 3 {
            (top, end) = (TO_TOP + HOLD + OFF + 42_000, TO_TOP + HOLD + OFF + 60_000);
        }
        if (1..4).contains(&seen) {
            self.say_at(from, top + 1_000, Body::ReadingTaken { of, reading: warm, trip: None });
        }
        if self.happens(20) {
            self.say_at(from, end - 2_000, Body::Mark { of, what: What::Lowered });
        }
        self.say_at(from, end, Body::TestEnded { test: of, how: Ending::NoTrip });
        if self.happens(30) {
            self.say(Body::TestJudged { test: of, did_not_operate: true, by: PERSON, note: None });
        }
    }

    /// No trip of a rate element, heated faster or slower than one has to be.
    fn without_rate_trip(&mut self, of: Id, from: i64) {
        let until = 80_000 + self.chance.up_to(90_000);
        for (at, value) in [(2_000, 24), (until, 50)] {
            let reading = Reading { value, scale: 0, unit: Degree::C };
            self.say_at(from, at, Body::ReadingTaken { of, reading, trip: None });
        }
        self.say_at(from, until + 5_000, Body::TestEnded { test: of, how: Ending::NoTrip });
    }

    /// Trips with a reading each and the point at the panel, as many as the procedure asks for or fewer.
    fn with_trips(&mut self, of: Id, from: i64, kind: Kind) {
        let (functional, rate) = (kind.procedure == ProcedureKind::Functional, kind.detector_type.has_rate_element());
        let (early, far) = (self.happens(2), self.happens(5));
        let own = 882 + self.chance.about(if far { 25 } else { 7 });
        let top = self.happens(95).then(|| 165_000 + self.chance.up_to(30_000));
        let short = self.happens(3);
        let trips = match (functional, short) {
            (true, _) => 1,
            (false, true) => 1 + self.chance.up_to(3),
            (false, false) => TRIPS,
        };
        let odd = self.chance.up_to(trips - 1);
        let point = self.point();
        for trip in 0..trips {
            let heat_up = top.unwrap_or(TO_TOP) + HOLD + OFF + (trip - 1) * AGAIN;
            let at = match trip {
                0 if rate && early => 4_000,
                0 if rate => 15_000 + self.chance.up_to(45_000),
                0 => 120_000 + self.chance.up_to(40_000),
                _ => heat_up + 20_000 + self.chance.up_to(15_000),
            };
            let mark = self.say_at(from, at, Body::Mark { of, what: What::Tripped });
            let below = if trip == 0 { 20 + if early { 130 } else { 0 } } else { 0 };
            let reading = Reading { value: own - below + self.chance.about(4), scale: -1, unit: Degree::C };
            self.mono += 2_000;
            if !rate {
                self.say(Body::ReadingTaken { of, reading, trip: Some(mark) });
            }
            let (point, said) = if trip == odd { point.clone() } else { (Point::Right, None) };
            self.say(Body::PanelPoint { trip: mark, point, said });
            if trip == 0 && early && self.happens(60) {
                let this_detector = self.happens(70);
                self.say(Body::EarlyTripAnswered { trip: mark, this_detector, by: PERSON });
            }
            if let (0, Some(top), false) = (trip, top, functional) {
                self.say_at(from, top, Body::Mark { of, what: What::AtTop });
            }
        }
        self.end(of, short);
    }

    /// What the panel shows once in a test.
    fn point(&mut self) -> (Point, Option<String>) {
        match self.chance.up_to(99) {
            0 => (Point::Wrong, Some("HALL 99".into())),
            1 => (Point::NotThere, None),
            2 => (Point::NotChecked, None),
            _ => (Point::Right, None),
        }
    }

    /// The restore as far as somebody looked, and the end.
    fn end(&mut self, of: Id, short: bool) {
        let word = self.chance.up_to(99);
        self.mono += 5_000;
        let mark = match word {
            0 => None,
            1 => Some(What::PanelReset),
            _ => Some(What::Restored),
        };
        if let Some(what) = mark {
            self.say(Body::Mark { of, what });
        }
        self.mono += 1_000;
        let how = match word {
            2 => Ending::StaysInAlarm,
            3 => Ending::Mistake,
            4 => Ending::HeaterProblem,
            _ if short => Ending::StoppedEarly,
            _ => Ending::Done,
        };
        self.say(Body::TestEnded { test: of, how });
        let restored = match word {
            5 => Answer::No,
            6 => Answer::NotChecked,
            0 if self.happens(50) => Answer::Yes,
            _ => return,
        };
        let happened = Happened { at: Wall(1_750_000_000_000) + self.mono, offset: 0, precision: Precision::Second };
        self.say(Body::RestoreSaid(Arc::new(RestoreWord { test: of, restored, by: Who::Person(PERSON), happened })));
    }

    fn started(&mut self, test: Id, position: Id, place: Place, kind: Kind) -> TestStart {
        let c = |value| Reading { value, scale: 0, unit: Degree::C };
        let rated = kind.detector_type.has_set_point() && !self.happens(kind.unrated);
        let functional = kind.procedure == ProcedureKind::Functional;
        let marking = Marking {
            minus: rated.then(|| k(-3, 0)),
            plus: rated.then(|| k(kind.plus, 0)),
            limits_from: rated.then_some(kind.limits_from),
            ..Marking::new(kind.detector_type, rated.then(|| c(88)))
        };
        let procedure = Procedure {
            name: "Invented set point".into(),
            kind: ProcedureKind::SetPoint,
            trips: 5,
            not_averaged: 1,
            soak_ms: Some(200_000),
            off_ms: Some(OFF),
            extra_trips: 2,
            limits: None,
            numbers_from: Some(NumbersFrom::Owner),
        };
        let indication = Indication {
            by: IndicatedBy::OwnLamp,
            latching: false,
            verification: false,
            lag_ms: kind.lag_ms,
            lag_u_ms: kind.lag_ms / 2,
            restores: Restores::NotWatched,
        };
        TestStart {
            test,
            by: PERSON,
            follows: None,
            after: None,
            position: PositionSnapshot {
                of: position,
                place,
                duty: Duty { releases: Some(Vec::new()), ..Duty::default() },
            },
            detector: DetectorSnapshot {
                of: position,
                marking,
                marked_by: Hash::of(b"marking"),
                make: Make::default(),
            },
            heater: heater(self.chance.up_to(49), if self.happens(kind.low) { 90 } else { 100 }),
            procedure: if functional { Procedure::functional() } else { procedure },
            indication,
            display_read: true,
            ambient: Some(c(22)),
            air: None,
            heater_warmth: if self.happens(3) { Warmth::Warm } else { Warmth::Cold },
            detector_warmth: if self.happens(3) { Warmth::Warm } else { Warmth::Cold },
            visual: Some(Vec::new()),
            rate_answer: None,
        }
    }
}

/// Trips that the procedure asks for.
const TRIPS: i64 = 5;
/// Nominal time from cold to the top temperature, ms.
const TO_TOP: i64 = 180_000;
/// Hold after it, ms.
const HOLD: i64 = 300_000;
/// Time without heat, ms.
const OFF: i64 = 45_000;
/// From one later heat-up to the next, ms: heat-up, hold, off.
const AGAIN: i64 = 40_000 + 10_000 + OFF;
/// The earliest end of a test without a trip, ms.
const SOAKED: i64 = TO_TOP + 60_000;

fn k(value: i64, scale: i8) -> Difference {
    Difference { value, scale, unit: Degree::C }
}

/// One of three heaters: the second has no certificate, of the third nobody knows how it fits.
fn heater(which: i64, setting: i64) -> HeaterSnapshot {
    let c = |value| Reading { value, scale: 0, unit: Degree::C };
    let letter = ["B", "C"].get(usize::try_from(which).unwrap_or(0)).unwrap_or(&"A");
    let name =
        HeaterName { name: format!("Heater {letter} (invented)"), serial: None, basis: Basis::Listed, approval: None };
    let heating = Heating {
        settings: vec![c(90), c(100)],
        overshoot: Some(k(4, 0)),
        modes: Vec::new(),
        cycle: Cycle::Auto {
            heat_up_cold_ms: Some(TO_TOP),
            heat_up_again_ms: Some(40_000),
            hold_first_ms: Some(HOLD),
            hold_again_ms: Some(10_000),
            off_ms: Some(OFF),
        },
        resolution: Some(k(1, -1)),
        lamp: None,
        timeout_ms: None,
    };
    let fits = which != 1;
    let metrology = Metrology {
        calibration_u: (which != 0).then(|| k(3, -1)),
        certificate: None,
        due: None,
        fit_u: fits.then(|| k(4, -1)),
        fit_from: fits.then(|| "invented".into()),
    };
    let of = Id::from_u128(0x0190_0000_0000_7000_8000_0000_0000_0010 | which.min(2) as u128);
    HeaterSnapshot { of, name, heating, metrology, setting: c(setting), mode: None, profile: Vec::new() }
}
