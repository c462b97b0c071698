//! given / when / then: a small world that taps are made in.
//!
//! Every number is invented. The clockwork of the heater by itself, so that phases can be reckoned by hand: heat-up from cold 60 s,
//! hold 300 s, off 45 s, heat-up again 20 s, no hold in later heat-ups.

use soakbook::book::Id;
use soakbook::book::body::{Area, Circuit, Site, What};
use soakbook::book::command::{At, Command, StartTest};
use soakbook::book::decide::decide;
use soakbook::book::entry::{Entry, Hash, Opens, Stamp};
use soakbook::book::log::Book;
use soakbook::book::phase::{Phase, Timeline};
use soakbook::book::refusal::Refusal;
use soakbook::book::register::Register;
use soakbook::book::seal::seal;
use soakbook::book::test::Test;
use soakbook::book::visit::Visit;
use soakbook::encoding::uuid7;
use soakbook::trade::conditions::{Air, IndicatedBy, Indication, Restores, Visual, Warmth};
use soakbook::trade::detector::{Duty, LimitsFrom, Marking, Place};
use soakbook::trade::detector_type::DetectorType;
use soakbook::trade::heater::{Basis, Cycle, HeaterName, Heating, Metrology};
use soakbook::trade::procedure::{Procedure, Template};
use soakbook::units::{Degree, Difference, Reading};

/// 2026-03-02 08:00:00 UTC: `date -u -d '2026-03-02 08:00' +%s` (GNU coreutils) gives 1772438400.
pub(super) const MORNING: i64 = 1_772_438_400_000;

pub(super) const SECOND: i64 = 1_000;

/// Thing number `n`.
pub(super) fn id(n: u8) -> Id {
    uuid7(1_772_438_400_000, [0, 0, 0, 0, 0, 0, 0, 0, 0, n])
}

pub(super) const SITE: u8 = 1;
pub(super) const HALL: u8 = 2;
pub(super) const LOOP: u8 = 3;
pub(super) const DETECTOR: u8 = 4;
pub(super) const OTHER_DETECTOR: u8 = 5;
pub(super) const SELF_HEATER: u8 = 6;
pub(super) const HAND_HEATER: u8 = 7;
pub(super) const SET_POINT: u8 = 8;
pub(super) const FUNCTIONAL: u8 = 9;
pub(super) const VISIT: u8 = 10;
pub(super) const TEST: u8 = 11;
pub(super) const OTHER_TEST: u8 = 12;
pub(super) const PERSON: u8 = 13;
pub(super) const LINE: u8 = 14;
pub(super) const STORE: u8 = 15;

/// `value` °C.
pub(super) fn c(value: i64) -> Reading {
    Reading { value, scale: 0, unit: Degree::C }
}

/// `value` K.
pub(super) fn k(value: i64) -> Difference {
    Difference { value, scale: 0, unit: Degree::C }
}

/// One phone with its two clocks.
#[derive(Clone, Debug)]
pub(super) struct Phone {
    pub(super) id: Id,
    pub(super) session: Id,
    pub(super) mono: i64,
    pub(super) wall: i64,
    pub(super) offset_min: i64,
    pub(super) durable: bool,
}

impl Phone {
    pub(super) fn new(n: u8) -> Phone {
        Phone { id: id(n), session: id(n + 1), mono: 5_000, wall: MORNING, offset_min: 60, durable: true }
    }

    pub(super) fn stamp(&self) -> Stamp {
        Stamp { session: self.session, mono: self.mono, wall: self.wall }
    }

    pub(super) fn at(&self) -> At {
        At { phone: self.id, stamp: self.stamp(), offset_min: self.offset_min, durable: self.durable }
    }

    pub(super) fn opens(&self) -> Opens {
        Opens { app: "0.1.0".into(), zone: "Europe/Berlin".into(), offset: self.offset_min, who: Some(id(PERSON)) }
    }
}

/// A book, and the phone in somebody's hand.
#[derive(Clone, Debug)]
pub(super) struct World {
    pub(super) book: Book,
    pub(super) phone: Phone,
}

impl World {
    /// Nothing yet.
    pub(super) fn empty() -> World {
        World { book: Book::default(), phone: Phone::new(100) }
    }

    /// A site with a hall, a store, a loop that cannot tell its detectors apart, two detectors, two heaters, two procedures, a
    /// person and an open visit.
    pub(super) fn given() -> World {
        let mut world = World::empty();
        world.act(Command::PutSite {
            site: id(SITE),
            now: Site { name: "Invented mill".into(), address: None, invented: true },
        });
        for (area, name) in [(HALL, "Hall"), (STORE, "Store")] {
            world.act(Command::PutArea { area: id(area), now: Area { site: id(SITE), name: name.into() } });
        }
        for (circuit, name, tells_apart) in [(LOOP, "Zone 1", false), (LINE, "Loop 2", true)] {
            let now = Circuit { site: id(SITE), name: name.into(), tells_apart };
            world.act(Command::PutCircuit { circuit: id(circuit), now });
        }
        world.act(put_detector(DETECTOR, "HD-1", marking(), Duty::default()));
        world.act(put_detector(OTHER_DETECTOR, "HD-2", marking(), Duty::default()));
        world.act(put_heater(SELF_HEATER, by_itself()));
        world.act(put_heater(HAND_HEATER, by_hand()));
        world.act(Command::PutProcedure { procedure: id(SET_POINT), now: Box::new(set_point()) });
        world.act(Command::PutProcedure { procedure: id(FUNCTIONAL), now: Box::new(functional()) });
        world.act(Command::PutPerson { person: id(PERSON), name: Hash::of(b"salted name") });
        world.act(Command::OpenVisit { visit: id(VISIT), site: id(SITE) });
        world
    }

    /// The same book in the hand of another phone, which joins the visit.
    pub(super) fn other_phone(&self) -> World {
        let mut other = World { book: self.book.clone(), phone: Phone { wall: self.phone.wall, ..Phone::new(110) } };
        other.act(Command::OpenVisit { visit: id(VISIT), site: id(SITE) });
        other
    }

    /// With a test going on, heat on at this moment.
    pub(super) fn running(heater: u8, procedure: u8, restores: Restores) -> World {
        let mut world = World::given();
        let mut start = start_test();
        (start.heater, start.procedure, start.indication.restores) = (id(heater), id(procedure), restores);
        world.wait(SECOND);
        world.act(Command::Start(Box::new(start)));
        world
    }

    /// Both clocks go on.
    pub(super) fn wait(&mut self, ms: i64) -> &mut World {
        self.phone.mono += ms;
        self.phone.wall += ms;
        self
    }

    /// The phone sleeps: only the wall goes on.
    pub(super) fn sleep(&mut self, ms: i64) -> &mut World {
        self.phone.wall += ms;
        self
    }

    /// Somebody sets the wall clock; negative is back.
    pub(super) fn set_clock(&mut self, by_ms: i64) -> &mut World {
        self.phone.wall += by_ms;
        self
    }

    /// The app is killed and started again after `away_ms` by the wall clock.
    pub(super) fn restart(&mut self, away_ms: i64) -> &mut World {
        let session = self.phone.session.as_u128() + 1;
        self.phone.session = Id::from_u128(session);
        self.phone.mono = 0;
        self.phone.wall += away_ms;
        self
    }

    pub(super) fn decide(&self, command: Command) -> Result<Vec<&'static str>, Refusal> {
        let drafts = decide(&self.book, self.phone.at(), command)?;
        Ok(drafts.into_iter().map(|draft| &*draft.body.name().leak()).collect())
    }

    pub(super) fn try_act(&mut self, command: Command) -> Result<Vec<Hash>, Refusal> {
        let drafts = decide(&self.book, self.phone.at(), command)?;
        let sealed = seal(&self.book, self.phone.id, self.phone.stamp(), &self.phone.opens(), drafts);
        let hashes = sealed.iter().map(|entry| entry.hash).collect();
        sealed.into_iter().for_each(|entry| self.book.apply(entry));
        Ok(hashes)
    }

    #[track_caller]
    pub(super) fn act(&mut self, command: Command) -> Hash {
        let shown = format!("{command:?}");
        let hashes = self.try_act(command).unwrap_or_else(|refusal| panic!("{shown}: {refusal:?}"));
        // A command that finds everything as it should be writes nothing.
        hashes.first().copied().unwrap_or(Hash::of(b""))
    }

    /// Every tap a second after the one before, so that each decision has its own stamp.
    #[track_caller]
    pub(super) fn mark(&mut self, what: What) -> Hash {
        self.act(Command::Mark { test: id(TEST), what })
    }

    #[track_caller]
    pub(super) fn test(&self) -> Test {
        Test::of(&self.book, id(TEST)).expect("a test")
    }

    pub(super) fn visit(&self) -> Visit {
        Visit::of(&self.book, id(VISIT)).expect("a visit")
    }

    pub(super) fn register(&self) -> Register {
        Register::of(&self.book)
    }

    /// Milliseconds since heat on, now.
    pub(super) fn now(&self) -> i64 {
        self.test().time_on(self.phone.id, self.phone.stamp())
    }

    pub(super) fn timeline(&self) -> Timeline {
        let test = self.test();
        Timeline::of(&test, self.now())
    }

    pub(super) fn phase(&self) -> Phase {
        self.timeline().phase
    }

    /// Taps at times since heat on, in seconds; the clocks test straight.
    #[track_caller]
    pub(super) fn taps(&mut self, taps: &[(i64, What)]) -> Vec<Hash> {
        taps.iter()
            .map(|(second, what)| {
                self.wait_until(*second);
                self.mark(*what)
            })
            .collect()
    }

    /// Lets the clocks test straight up to so many seconds after heat on.
    #[track_caller]
    pub(super) fn wait_until(&mut self, second: i64) -> &mut World {
        let ms = second * SECOND - self.now();
        assert!(ms >= 0, "{second} s is over");
        self.wait(ms)
    }

    pub(super) fn merged(&self, other: &World) -> World {
        let mut world = self.clone();
        world.book.merge(other.book.clone());
        world
    }

    pub(super) fn entry(&self, hash: Hash) -> &Entry {
        self.book.get(hash).expect("an entry")
    }
}

/// The rules' answer to one command: the types of what is written, or the refusal.
#[track_caller]
pub(super) fn check(given: World, when: Command, then: Result<&[&'static str], Refusal>) {
    let shown = format!("{when:?}");
    assert_eq!(given.decide(when), then.map(<[_]>::to_vec), "{shown}");
}

pub(super) fn marking() -> Marking {
    Marking {
        detector_type: DetectorType::RateCompensated,
        rating: Some(c(88)),
        minus: Some(k(-4)),
        plus: Some(k(4)),
        limits_from: Some(LimitsFrom::Marking),
        class: None,
        suffix: None,
    }
}

pub(super) fn place(tag: &str) -> Place {
    Place { tag: tag.into(), area: id(HALL), circuit: Some(id(LOOP)), address: None, label: None }
}

pub(super) fn put_detector(n: u8, tag: &str, marking: Marking, duty: Duty) -> Command {
    Command::PutDetector { detector: id(n), place: place(tag), marking: Box::new(marking), duty }
}

pub(super) fn by_itself() -> Heating {
    Heating {
        settings: vec![c(90), c(60)],
        above: k(5),
        modes: Vec::new(),
        cycle: Cycle::ByItself {
            heat_up_cold_ms: Some(60_000),
            heat_up_again_ms: Some(20_000),
            hold_first_ms: 300_000,
            hold_again_ms: 0,
            off_ms: 45_000,
        },
        resolution: None,
        lamp: None,
        timeout_ms: None,
    }
}

pub(super) fn by_hand() -> Heating {
    Heating { cycle: Cycle::ByHand { heat_up_cold_ms: Some(60_000), heat_up_again_ms: Some(20_000) }, ..by_itself() }
}

pub(super) fn put_heater(n: u8, heating: Heating) -> Command {
    Command::PutHeater {
        heater: id(n),
        name: HeaterName {
            name: format!("Heater {n}"),
            serial: None,
            basis: Basis::DetectorInstructions,
            hazardous_approval: None,
        },
        heating: Box::new(heating),
        metrology: Metrology::default(),
    }
}

pub(super) fn set_point() -> Procedure {
    Procedure { confirmed: true, ..Procedure::set_point_template() }
}

pub(super) fn functional() -> Procedure {
    Procedure { confirmed: true, template: Template::Functional, ..Procedure::functional_template() }
}

pub(super) fn start_test() -> StartTest {
    StartTest {
        visit: id(VISIT),
        test: id(TEST),
        detector: id(DETECTOR),
        heater: id(SELF_HEATER),
        setting: c(90),
        mode: None,
        procedure: id(SET_POINT),
        indication: Indication {
            by: IndicatedBy::OwnLamp,
            latching: false,
            verification: false,
            lag_ms: 0,
            lag_u_ms: 0,
            restores: Restores::NotWatched,
        },
        display_read: false,
        ambient: Some(c(20)),
        air: Some(Air::Still),
        heater_warmth: Warmth::Cold,
        detector_warmth: Warmth::Cold,
        visual: Visual::Good,
    }
}

/// The start with one thing changed.
pub(super) fn start_with(change: impl FnOnce(&mut StartTest)) -> Command {
    let mut start = start_test();
    change(&mut start);
    Command::Start(Box::new(start))
}
