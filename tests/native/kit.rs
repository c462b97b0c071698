//! given / when / then: a small world that taps are made in.
//!
//! Every number is invented. The clockwork of the heater that cycles on its own, so that phases can be reckoned by hand: heat-up from cold 60 s,
//! hold 300 s, off 45 s, heat-up again 20 s, no hold in later heat-ups.

use soakbook::book::Id;
use soakbook::book::body::{
    Area, Body, Circuit, Happened, Impaired, ImpairedWhat, Notice, NotifyAnswer, NotifyWhen, PanelState, PanelWhen,
    Person, Precision, RemovedWhy, Secured, Site, VisitPlan, VisitType, What, Who, Whom,
};
use soakbook::book::command::{At, Command, PutPosition, ReplaceDetector, StartTest};
use soakbook::book::decide::decide;
use soakbook::book::entries::{Attachment, Book};
use soakbook::book::entry::{Chain, Entry, Frame, Hash, Opens, Stamp};
use soakbook::book::refusal::Refusal;
use soakbook::book::register::Register;
use soakbook::book::seal::seal;
use soakbook::book::test::Test;
use soakbook::book::timeline::{Phase, Timeline};
use soakbook::book::visit::Visit;
use soakbook::encoding::uuid7;
use soakbook::trade::conditions::{Air, IndicatedBy, Indication, Restores, Warmth};
use soakbook::trade::detector::{Access, AreaConditions, Duty, LimitsFrom, Make, Marking, Place};
use soakbook::trade::detector_type::DetectorType;
use soakbook::trade::heater::{Basis, Cycle, HeaterName, Heating, Metrology};
use soakbook::trade::procedure::{NumbersFrom, Procedure, ProcedureKind};
use soakbook::units::{Degree, Difference, Mono, Reading, TestTime, Wall};

/// 2026-03-02 08:00:00 UTC: `date -u -d '2026-03-02 08:00' +%s` (GNU coreutils) gives 1772438400.
pub(crate) const MORNING: Wall = Wall(1_772_438_400_000);

pub(crate) const SECOND: i64 = 1_000;

/// Thing number `n`.
pub(crate) fn id(n: u8) -> Id {
    uuid7(1_772_438_400_000, [0, 0, 0, 0, 0, 0, 0, 0, 0, n])
}

pub(crate) const SITE: u8 = 1;
pub(crate) const HALL: u8 = 2;
pub(crate) const LOOP: u8 = 3;
pub(crate) const POSITION: u8 = 4;
pub(crate) const OTHER_POSITION: u8 = 5;
/// Cycles on its own.
pub(crate) const SELF_HEATER: u8 = 6;
/// Is switched by hand.
pub(crate) const HAND_HEATER: u8 = 7;
pub(crate) const SET_POINT: u8 = 8;
pub(crate) const FUNCTIONAL: u8 = 9;
pub(crate) const VISIT: u8 = 10;
pub(crate) const TEST: u8 = 11;
pub(crate) const OTHER_TEST: u8 = 12;
pub(crate) const PERSON: u8 = 13;
pub(crate) const LINE: u8 = 14;
pub(crate) const STORE: u8 = 15;
pub(crate) const PARTNER: u8 = 16;

/// The detector that hangs in position `n` at first.
pub(crate) fn detector(n: u8) -> Id {
    id(n + 50)
}

/// The name of somebody who uses no phone.
pub(crate) fn named(name: &str) -> Who {
    Who::Named(Hash::of(name.as_bytes()))
}

/// `value` °C.
pub(crate) fn c(value: i64) -> Reading {
    Reading { value, scale: 0, unit: Degree::C }
}

/// `value` K.
pub(crate) fn k(value: i64) -> Difference {
    Difference { value, scale: 0, unit: Degree::C }
}

/// One phone with its two clocks.
#[derive(Clone, Debug)]
pub(crate) struct Phone {
    pub(crate) id: Id,
    pub(crate) session: Id,
    pub(crate) mono: Mono,
    pub(crate) wall: Wall,
    pub(crate) offset_min: i64,
    pub(crate) who: Option<Id>,
    pub(crate) durable: bool,
    /// Number of the next decision of the session.
    pub(crate) decision: i64,
}

impl Phone {
    pub(crate) fn new(n: u8) -> Phone {
        Phone {
            id: id(n),
            session: id(n + 1),
            mono: Mono(5_000),
            wall: MORNING,
            offset_min: 60,
            who: Some(id(PERSON)),
            durable: true,
            decision: 0,
        }
    }

    pub(crate) fn stamp(&self) -> Stamp {
        Stamp { session: self.session, mono: self.mono, wall: self.wall }
    }

    pub(crate) fn at(&self) -> At {
        At { phone: self.id, stamp: self.stamp(), offset_min: self.offset_min, who: self.who, durable: self.durable }
    }

    pub(crate) fn opens(&self) -> Opens {
        Opens { app: "0.1.0".into(), zone: "Europe/Berlin".into(), offset: self.offset_min, who: self.who }
    }
}

/// A book, and the phone in somebody's hand.
#[derive(Clone, Debug)]
pub(crate) struct World {
    pub(crate) book: Book,
    pub(crate) phone: Phone,
}

impl World {
    /// Nothing yet.
    pub(crate) fn empty() -> World {
        World { book: Book::default(), phone: Phone::new(100) }
    }

    /// A site with a hall, a store, a zone of which the panel shows no point and a loop of which it does, two positions, two heaters,
    /// two procedures, two people and an open visit in which the supervising station is notified. Nothing releases anything.
    pub(crate) fn given() -> World {
        let mut world = World::not_notified();
        world.act(notify(Whom::SupervisingStation, NotifyAnswer::Notified, |_| {}));
        world
    }

    /// The same before anybody notified the supervising station.
    pub(crate) fn not_notified() -> World {
        let mut world = World::empty();
        for person in [PERSON, PARTNER] {
            world.act(put_person(person));
        }
        world.act(Command::PutSite {
            site: id(SITE),
            now: Site { name: "Invented mill".into(), address: None, invented: true },
        });
        for (area, name) in [(HALL, "Hall"), (STORE, "Store")] {
            world.act(put_area(area, name, AreaConditions::default()));
        }
        for (circuit, name, shows_point) in [(LOOP, "Zone 1", false), (LINE, "Loop 2", true)] {
            world.act(Command::PutCircuit { circuit: id(circuit), now: self::circuit(name, shows_point) });
        }
        world.act(put_position(POSITION, "HD-1", marking(), no_duty()));
        world.act(put_position(OTHER_POSITION, "HD-2", marking(), no_duty()));
        world.act(put_heater(SELF_HEATER, auto()));
        world.act(put_heater(HAND_HEATER, manual()));
        world.act(put_procedure(SET_POINT, set_point()));
        world.act(put_procedure(FUNCTIONAL, Procedure::functional()));
        world.act(Command::OpenVisit { visit: id(VISIT), site: id(SITE), plan: plan() });
        world
    }

    /// The same book in the hand of another phone, which takes part from its first word on.
    pub(crate) fn other_phone(&self) -> World {
        World { book: self.book.clone(), phone: Phone { wall: self.phone.wall, ..Phone::new(110) } }
    }

    /// Testing is over for the supervising station, and the panel is normal: what a visit needs before it is closed.
    pub(crate) fn leave(&mut self) -> &mut World {
        self.wait(SECOND);
        self.act(notify(Whom::SupervisingStation, NotifyAnswer::Notified, |notice| notice.when = NotifyWhen::After));
        self.wait(SECOND);
        self.act(see_panel(PanelWhen::Left, |_| {}));
        self.wait(SECOND)
    }

    /// With a test going on, heat on at this moment.
    pub(crate) fn running(heater: u8, procedure: u8, restores: Restores) -> World {
        let mut world = World::given();
        let mut start = start_test();
        (start.heater, start.procedure, start.indication.restores) = (id(heater), Some(id(procedure)), restores);
        world.wait(SECOND);
        world.act(Command::Start(Box::new(start)));
        world
    }

    /// Both clocks go on.
    pub(crate) fn wait(&mut self, ms: i64) -> &mut World {
        self.phone.mono += ms;
        self.phone.wall += ms;
        self
    }

    /// The phone sleeps: only the wall goes on.
    pub(crate) fn sleep(&mut self, ms: i64) -> &mut World {
        self.phone.wall += ms;
        self
    }

    /// Somebody sets the wall clock; negative is back.
    pub(crate) fn set_clock(&mut self, by_ms: i64) -> &mut World {
        self.phone.wall += by_ms;
        self
    }

    /// The app is killed and started again after `away_ms` by the wall clock.
    pub(crate) fn restart(&mut self, away_ms: i64) -> &mut World {
        let session = self.phone.session.as_u128() + 1;
        self.phone.session = Id::from_u128(session);
        self.phone.mono = Mono(0);
        self.phone.decision = 0;
        self.phone.wall += away_ms;
        self
    }

    pub(crate) fn decide(&self, command: Command) -> Result<Vec<&'static str>, Refusal> {
        let drafts = decide(&self.book, self.phone.at(), command)?;
        Ok(drafts.into_iter().map(|draft| &*draft.body.name().to_string().leak()).collect())
    }

    pub(crate) fn try_act(&mut self, command: Command) -> Result<Vec<Hash>, Refusal> {
        let drafts = decide(&self.book, self.phone.at(), command)?;
        let Phone { id, decision, .. } = self.phone;
        let sealed = seal(&self.book, id, self.phone.stamp(), decision, &self.phone.opens(), drafts);
        self.phone.decision += 1;
        let hashes = sealed.iter().map(|entry| entry.hash).collect();
        sealed.into_iter().for_each(|entry| self.book.apply(entry));
        Ok(hashes)
    }

    #[track_caller]
    pub(crate) fn act(&mut self, command: Command) -> Hash {
        let shown = format!("{command:?}");
        let hashes = self.try_act(command).unwrap_or_else(|refusal| panic!("{shown}: {refusal:?}"));
        // A command that finds everything as it should be writes nothing.
        hashes.first().copied().unwrap_or(Hash::of(b""))
    }

    #[track_caller]
    pub(crate) fn mark(&mut self, what: What) -> Hash {
        self.act(Command::Mark { of: id(TEST), what })
    }

    #[track_caller]
    pub(crate) fn test(&self) -> Test {
        Test::of(&self.book, id(TEST)).expect("a test")
    }

    pub(crate) fn visit(&self) -> Visit {
        Visit::of(&self.book, id(VISIT)).expect("a visit")
    }

    pub(crate) fn register(&self) -> Register {
        Register::of(&self.book)
    }

    /// Milliseconds since heat on, now.
    pub(crate) fn now(&self) -> TestTime {
        self.test().time_on(self.phone.id, self.phone.stamp())
    }

    pub(crate) fn timeline(&self) -> Timeline {
        let test = self.test();
        Timeline::of(&test, self.now())
    }

    pub(crate) fn phase(&self) -> Phase {
        self.timeline().phase
    }

    /// Taps at times since heat on, in seconds; the clocks run straight.
    #[track_caller]
    pub(crate) fn taps(&mut self, taps: &[(i64, What)]) -> Vec<Hash> {
        taps.iter()
            .map(|(second, what)| {
                self.wait_until(*second);
                self.mark(*what)
            })
            .collect()
    }

    /// Lets the clocks run straight up to so many seconds after heat on.
    #[track_caller]
    pub(crate) fn wait_until(&mut self, second: i64) -> &mut World {
        let ms = second * SECOND - self.now().since_heat_on();
        assert!(ms >= 0, "{second} s is over");
        self.wait(ms)
    }

    pub(crate) fn merged(&self, other: &World) -> World {
        let mut world = self.clone();
        world.book.merge(other.book.clone());
        world
    }

    pub(crate) fn entry(&self, hash: Hash) -> &Entry {
        self.book.get(hash).expect("an entry")
    }
}

/// The rules' answer to one command: the types of what is written, or the refusal.
#[track_caller]
pub(crate) fn check(given: World, when: Command, then: Result<&[&'static str], Refusal>) {
    let shown = format!("{when:?}");
    assert_eq!(given.decide(when), then.map(<[_]>::to_vec), "{shown}");
}

pub(crate) fn marking() -> Marking {
    Marking {
        detector_type: DetectorType::RateCompensated,
        rating: Some(c(88)),
        minus: Some(k(-4)),
        plus: Some(k(4)),
        limits_from: Some(LimitsFrom::Marking),
        agreed: None,
        class: None,
        suffix: None,
        rate_function: None,
    }
}

pub(crate) fn place(tag: &str) -> Place {
    Place { tag: tag.into(), area: id(HALL), circuit: Some(id(LOOP)), ..Place::default() }
}

/// Somebody looked: it releases nothing.
pub(crate) fn no_duty() -> Duty {
    releases(&[])
}

/// It releases these.
pub(crate) fn releases(names: &[&str]) -> Duty {
    Duty { releases: Some(names.iter().map(ToString::to_string).collect()), ..Duty::default() }
}

pub(crate) fn put_position(n: u8, tag: &str, marking: Marking, duty: Duty) -> Command {
    put_position_with(n, tag, |put| (put.marking, put.duty) = (marking, duty))
}

/// A position with one thing changed.
pub(crate) fn put_position_with(n: u8, tag: &str, change: impl FnOnce(&mut PutPosition)) -> Command {
    let mut put = PutPosition {
        position: id(n),
        detector: detector(n),
        place: place(tag),
        access: Access::default(),
        duty: no_duty(),
        marking: marking(),
        make: Make::default(),
    };
    change(&mut put);
    Command::PutPosition(Box::new(put))
}

pub(crate) fn put_area(n: u8, name: &str, conditions: AreaConditions) -> Command {
    Command::PutArea { area: id(n), now: Area { site: id(SITE), name: name.into() }, conditions }
}

pub(crate) fn circuit(name: &str, shows_point: bool) -> Circuit {
    Circuit {
        site: id(SITE),
        name: name.into(),
        shows_point,
        addressable: Some(shows_point),
        releasing: Some(false),
        verification: false,
    }
}

/// What is said of a person, as an attachment that the world does not have.
pub(crate) fn of_person(what: &str, n: u8) -> Attachment {
    Attachment::text([n; 16], &format!("{what} {n}"))
}

pub(crate) fn put_person(n: u8) -> Command {
    let named = |what: &str| of_person(what, n).hash();
    let now = Person {
        name: named("name"),
        firm: Some(named("firm")),
        license: Some(named("license")),
        contact: None,
        retired: false,
    };
    Command::PutPerson { person: id(n), now }
}

pub(crate) fn plan() -> VisitPlan {
    VisitPlan {
        visit_type: VisitType::SetPoint,
        scope_of_work: None,
        edition: None,
        rule_set: None,
        not_in_scope: None,
    }
}

/// This morning, as a person gave it.
pub(crate) fn happened(at: Wall) -> Happened {
    Happened { at, offset: 60, precision: Precision::Minute }
}

/// Notice before the tests, with one thing changed.
pub(crate) fn notify(whom: Whom, answer: NotifyAnswer, change: impl FnOnce(&mut Notice)) -> Command {
    let mut notice = Notice {
        whom,
        label: None,
        when: NotifyWhen::Before,
        answer,
        by: Who::Person(id(PERSON)),
        contact: None,
        account: None,
        test_until: None,
        happened: happened(MORNING),
        note: None,
    };
    change(&mut notice);
    Command::Notify { visit: id(VISIT), notice: Box::new(notice) }
}

pub(crate) fn secure(release: &str) -> Command {
    let secured = Secured {
        release: release.into(),
        method: None,
        tag: None,
        by: Who::Person(id(PERSON)),
        verified_by: None,
        happened: happened(MORNING),
    };
    Command::Secure { visit: id(VISIT), secured: Box::new(secured) }
}

/// Takes out a circuit, or everything.
pub(crate) fn impair(circuit: Option<u8>) -> Command {
    let impaired = Impaired {
        what: if circuit.is_some() { ImpairedWhat::Circuit } else { ImpairedWhat::Whole },
        circuit: circuit.map(id),
        label: None,
        why: None,
        tag: None,
        coordinator: None,
        go_ahead: None,
        fire_watch: None,
        fire_watch_by: None,
        by: Who::Person(id(PERSON)),
        happened: happened(MORNING),
    };
    Command::Impair { visit: id(VISIT), impaired: Box::new(impaired) }
}

/// The panel, normal, with one thing changed.
pub(crate) fn see_panel(when: PanelWhen, change: impl FnOnce(&mut PanelState)) -> Command {
    let mut panel = PanelState {
        when,
        label: None,
        normal: true,
        alarms: Vec::new(),
        supervisories: Vec::new(),
        troubles: Vec::new(),
        disabled: Vec::new(),
        photo: None,
        by: Who::Person(id(PERSON)),
        happened: happened(MORNING),
    };
    change(&mut panel);
    Command::SeePanel { visit: id(VISIT), panel: Box::new(panel) }
}

pub(crate) fn restore(ends: Hash) -> Command {
    Command::Restore { ends, by: Who::Person(id(PERSON)), happened: happened(MORNING) }
}

pub(crate) fn auto() -> Heating {
    Heating {
        settings: vec![c(90), c(60)],
        overshoot: Some(k(5)),
        modes: Vec::new(),
        cycle: Cycle::Auto {
            heat_up_cold_ms: Some(60_000),
            heat_up_again_ms: Some(20_000),
            hold_first_ms: Some(300_000),
            hold_again_ms: Some(0),
            off_ms: Some(45_000),
        },
        resolution: None,
        lamp: None,
        timeout_ms: None,
    }
}

pub(crate) fn manual() -> Heating {
    Heating { cycle: Cycle::Manual { heat_up_cold_ms: Some(60_000), heat_up_again_ms: Some(20_000) }, ..auto() }
}

pub(crate) fn put_heater(n: u8, heating: Heating) -> Command {
    put_heater_with(n, heating, |_, _| {})
}

/// A heater with one thing changed.
pub(crate) fn put_heater_with(
    n: u8,
    heating: Heating,
    change: impl FnOnce(&mut HeaterName, &mut Metrology),
) -> Command {
    let mut name =
        HeaterName { name: format!("Heater {n}"), serial: None, basis: Basis::DetectorInstructions, approval: None };
    let mut metrology = Metrology::default();
    change(&mut name, &mut metrology);
    Command::PutHeater { heater: id(n), name, heating: Box::new(heating), metrology }
}

pub(crate) fn put_procedure(n: u8, now: Procedure) -> Command {
    Command::PutProcedure { procedure: id(n), now: Box::new(now) }
}

/// Five trips, four of them averaged, after five minutes of soak; 45 s without heat.
///
/// Source: common practice, no published source.
pub(crate) fn set_point() -> Procedure {
    Procedure {
        name: "Set-point test".into(),
        kind: ProcedureKind::SetPoint,
        trips: 5,
        not_averaged: 1,
        soak_ms: Some(300_000),
        off_ms: Some(45_000),
        extra_trips: 2,
        limits: None,
        numbers_from: Some(NumbersFrom::Owner),
    }
}

pub(crate) fn start_test() -> StartTest {
    StartTest {
        visit: id(VISIT),
        test: id(TEST),
        position: id(POSITION),
        heater: id(SELF_HEATER),
        setting: c(90),
        mode: None,
        procedure: Some(id(SET_POINT)),
        indication: indication(IndicatedBy::OwnLamp),
        display_read: false,
        ambient: Some(c(20)),
        air: Some(Air::Still),
        heater_warmth: Warmth::Cold,
        detector_warmth: Warmth::Cold,
        visual: None,
        rate_answer: None,
    }
}

/// With its usual lag; restores are not watched.
pub(crate) fn indication(by: IndicatedBy) -> Indication {
    let (lag_ms, lag_u_ms) = by.usual_lag_ms();
    Indication { by, latching: false, verification: false, lag_ms, lag_u_ms, restores: Restores::NotWatched }
}

/// The start with one thing changed.
pub(crate) fn start_with(change: impl FnOnce(&mut StartTest)) -> Command {
    let mut start = start_test();
    change(&mut start);
    Command::Start(Box::new(start))
}

/// An entry at a place of its own choosing, as a broken or hostile file might have it; a decision by itself.
pub(crate) fn sealed(chain: Chain, seq: i64, prev: Option<Hash>, stamp: Stamp, body: Body) -> Entry {
    Entry::seal(Frame { chain, seq, prev, stamp, decision: seq, scopes: Vec::new(), opens: None }, body)
}

/// The detector in position `n` replaced by one just like it.
pub(crate) fn replace(n: u8) -> Command {
    Command::Replace(Box::new(ReplaceDetector {
        visit: Some(id(VISIT)),
        position: id(n),
        new: Some((id(n + 100), marking(), Make::default())),
        why: RemovedWhy::Failed,
        item: None,
        note: None,
        by: Who::Person(id(PERSON)),
        happened: happened(MORNING),
    }))
}
