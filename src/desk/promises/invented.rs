//! A large invented book, the same one for the same seed.

use crate::book::Id;
use crate::book::body::{Area, Body, Edit, Ending, FrozenDetector, FrozenHeater, Point, Site, Started, What};
use crate::book::entry::{Chain, Entry, Hash, Opens, Scope, Stamp};
use crate::book::log::Book;
use crate::trade::conditions::{IndicatedBy, Indication, Restores, Visual, Warmth};
use crate::trade::detector::{Duty, LimitsFrom, Marking, Place};
use crate::trade::detector_type::DetectorType;
use crate::trade::heater::{Basis, Cycle, HeaterName, Heating, Metrology};
use crate::trade::procedure::Procedure;
use crate::units::{Degree, Difference, Reading};
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

/// A set-point test of every detector of an invented site, visit after visit. Trips scatter about an own temperature for
/// each detector; one in a hundred does not operate.
pub fn book(size: Size, seed: u64) -> Book {
    let mut maker = Maker { book: Book::default(), chance: Chance(seed), mono: 0, tip: None, next_id: 0 };
    let site = maker.id();
    let areas: Vec<Id> = (0..size.per_visit.div_ceil(PER_AREA)).map(|_| maker.id()).collect();
    maker.turn_to(Scope::Site(site));
    let name = "Nowhere Works (invented)".to_string();
    maker.say(Body::Site(Edit::new(site, vec![], Site { name, address: None, invented: true })));
    for (index, area) in areas.iter().enumerate() {
        let now = Area { site, name: format!("Hall {}", index + 1) };
        maker.say(Body::Area(Edit::new(*area, vec![], now)));
    }
    let detectors: Vec<Id> = (0..size.per_visit).map(|_| maker.id()).collect();
    let heater = maker.id();
    let mut left = size.tests;
    while left > 0 {
        let visit = maker.id();
        maker.turn_to(Scope::Visit(visit));
        maker.say(Body::VisitOpened { site });
        for (index, detector) in detectors.iter().enumerate().take(left) {
            let place = Place {
                tag: format!("H-{:04}", index + 1),
                area: areas[index / PER_AREA],
                circuit: None,
                address: None,
                label: None,
            };
            maker.test(*detector, place, heater);
        }
        maker.say(Body::VisitClosed {});
        left = left.saturating_sub(size.per_visit);
    }
    maker.book
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
}

/// Whose book it is.
pub(super) const PHONE: Id = Id::from_u128(0x0190_0000_0000_7000_8000_0000_0000_0001);
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
        let stamp = Stamp { session: SESSION, mono: self.mono, wall: 1_750_000_000_000 + self.mono };
        let (chain, seq, prev) = self.tip.unwrap_or((Chain { scope: Scope::Kit, phone: PHONE }, 0, None));
        let opens = Opens { app: env!("CARGO_PKG_VERSION").into(), zone: String::new(), offset: 0, who: None };
        let entry = Entry::seal(chain, seq, prev, stamp, (seq == 0).then_some(opens), body);
        let hash = entry.hash;
        self.tip = Some((chain, seq + 1, Some(hash)));
        self.book.apply(entry);
        hash
    }

    /// Five trips with a reading each and the point at the panel; or, one time in a hundred, none.
    fn test(&mut self, detector: Id, place: Place, heater: Id) {
        let test = self.id();
        self.mono += 60_000;
        let from = self.mono;
        self.say(Body::TestStarted(Arc::new(started(test, detector, place, heater))));
        self.say(Body::Mark { test, what: What::HeatOn });
        if self.chance.up_to(99) == 0 {
            self.mono = from + 425_000;
            self.say(Body::TestEnded { test, how: Ending::DidNotOperate });
            return;
        }
        let own = 882 + self.chance.about(7);
        for trip in 0..5 {
            // First heat-up and hold to 420 s, then 45 s off, 40 s heat-up and 10 s hold.
            let heat_up = if trip == 0 { 80_000 } else { 465_000 + 95_000 * (trip - 1) + 20_000 };
            self.mono = from + heat_up + self.chance.up_to(15_000);
            let mark = self.say(Body::Mark { test, what: What::Tripped });
            let early = if trip == 0 { 20 } else { 0 };
            let reading = Reading { value: own - early + self.chance.about(4), scale: -1, unit: Degree::C };
            self.mono += 2_000;
            self.say(Body::ReadingTaken { test, reading, trip: Some(mark) });
            self.say(Body::PanelPoint { trip: mark, point: Point::Right, said: None });
        }
        self.mono += 5_000;
        self.say(Body::TestEnded { test, how: Ending::Done });
    }
}

fn started(test: Id, detector: Id, place: Place, heater: Id) -> Started {
    let c = |value| Reading { value, scale: 0, unit: Degree::C };
    let k = |value, scale| Difference { value, scale, unit: Degree::C };
    let marking = Marking {
        detector_type: DetectorType::RateCompensated,
        rating: Some(c(88)),
        minus: Some(k(-3, 0)),
        plus: Some(k(4, 0)),
        limits_from: Some(LimitsFrom::Owner),
        class: None,
        suffix: None,
    };
    let name =
        HeaterName { name: "Heater A (invented)".into(), serial: None, basis: Basis::Listed, hazardous_approval: None };
    let heating = Heating {
        settings: vec![c(90)],
        above: k(4, 0),
        modes: Vec::new(),
        cycle: Cycle::ByItself {
            heat_up_cold_ms: Some(120_000),
            heat_up_again_ms: Some(40_000),
            hold_first_ms: 300_000,
            hold_again_ms: 10_000,
            off_ms: 45_000,
        },
        resolution: Some(k(1, -1)),
        lamp: None,
        timeout_ms: None,
    };
    let metrology = Metrology { calibration_u: Some(k(3, -1)), certificate: None, due: None, fit_u: Some(k(4, -1)) };
    Started {
        test,
        follows: None,
        detector: FrozenDetector {
            of: detector,
            place,
            marking,
            duty: Duty::default(),
            marked_by: Hash::of(b"marking"),
        },
        heater: FrozenHeater { of: heater, name, heating, metrology, setting: c(90), mode: None, profile: Vec::new() },
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
