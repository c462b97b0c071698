//! Three years of the invented works, told through the rules: what two invented technicians recorded on two phones before today.
//!
//! A story is told deed by deed, so that whoever has it told can draw in between. Nothing of it is stored until it is told whole.

use super::figures::{AMBIENT, COOLED, HEAT_UPS, SHUTS_OFF, fahrenheit, fahrenheit_of, heats_to, scatter};
use super::past::{BLOCKED, DRIFTING, Did, FLAGGED, LEFT, REPAIRED, REPLACED, VISITS, reached};
use super::record::{Record, Teller};
use super::small::{Demo, cycling_heater, profile_runs};
use super::works::works;
use crate::book::Id;
use crate::book::body::{
    Ending, ItemClosed, NotTested, NotTestedWhy, Notice, NotifyAnswer, NotifyWhen, PanelState, PanelWhen, Permit,
    Person, Point, RemovedWhy, RetestWhy, Secured, VisitPlan, VisitType, What, Who, Whom, Work,
};
use crate::book::command::{Command, PutPosition, ReplaceDetector, StartTest};
use crate::book::entries::Attachment;
use crate::book::entry::{Entry, Hash};
use crate::book::refusal::Refusal;
use crate::trade::classified::{Gas, GasReading};
use crate::trade::conditions::{IndicatedBy, Indication, ItemClass, Restores, Visual, Warmth};
use crate::trade::detector::Make;
use crate::trade::detector_type::DetectorType;
use crate::units::{Decimal, Wall};

const SECOND: i64 = 1_000;
const MINUTE: i64 = 60 * SECOND;
const DAY: i64 = 24 * 60 * MINUTE;

#[derive(Debug)]
enum Deed {
    /// A command of a phone at a time.
    Give(usize, Wall, Box<Command>),
    /// A visit is opened: its number, its morning, the visit, the sessions of both phones.
    Open(usize, Wall, [Id; 3]),
    /// Something is done at a position, by a phone: the position's number, and ids for what comes of it.
    Position(usize, usize, [Id; 3]),
    /// A position is not reached, as a phone says.
    Missed(usize, usize),
    /// The visit is closed.
    Close,
}

/// What was told.
#[derive(Debug)]
pub struct Told {
    /// In the order in which they were recorded.
    pub entries: Vec<Entry>,
    /// The names of its people and phones.
    pub attachments: Vec<Attachment>,
    /// Opens today's visit; to be given by whoever is there.
    pub open: Command,
    /// Today's visit.
    pub visit: Id,
}

/// A story while it is told.
#[derive(Debug)]
pub struct Story {
    record: Record,
    deeds: std::vec::IntoIter<Deed>,
    of: usize,
    positions: Vec<PutPosition>,
    /// The heater that cycles, the one for the hazardous area, the set-point procedure.
    kit: [Id; 3],
    site: Id,
    open: Command,
    today: Id,
    /// The one under way: its number, and its id.
    visit: (usize, Id),
    secured: Vec<(String, Hash)>,
    permits: Vec<Hash>,
    /// The name of who hears of what was found.
    owner: Hash,
}

impl Story {
    /// A story that ends now, at wall clock `wall_ms`, UTC ms, at a place `offset_min` ahead of UTC.
    pub fn new(mut new_id: impl FnMut() -> Id, wall_ms: Wall, offset_min: i64, zone: String) -> Story {
        let new_id = &mut new_id;
        let Demo { mut commands, profile_runs: runs, visit: today, site } = works(new_id, wall_ms);
        let open = commands.pop().unwrap_or(Command::CloseVisit { visit: today });
        let morning = |days_ago: i64| {
            let local = wall_ms.saturating_add(offset_min * MINUTE);
            Wall(local.0.div_euclid(DAY) * DAY) - days_ago * DAY + 480 * MINUTE - offset_min * MINUTE
        };
        let set_up = morning(VISITS[0].0 + 1);
        let tellers = [new_id(), new_id()].map(|phone| Teller {
            phone,
            person: new_id(),
            session: new_id(),
            began: set_up,
            now: set_up,
        });
        let mut story = Story {
            record: Record::new(tellers, offset_min, zone),
            deeds: Vec::new().into_iter(),
            of: 0,
            positions: Vec::new(),
            kit: [new_id(), Id::nil(), Id::nil()],
            site,
            open,
            today,
            visit: (0, Id::nil()),
            secured: Vec::new(),
            permits: Vec::new(),
            owner: Hash::of(b""),
        };
        story.owner = story.record.named(new_id(), "Site manager (invented)");
        let mut deeds = Vec::new();
        for (by, name) in ["B. Sample (invented)", "R. Example (invented)"].into_iter().enumerate() {
            deeds.extend(story.who(new_id, by, name).map(|command| Deed::Give(by, set_up, Box::new(command))));
        }
        let mut later = Vec::new();
        for command in commands {
            match &command {
                Command::PutPosition(put) => story.positions.push((**put).clone()),
                Command::PutProcedure { procedure, .. } => story.kit[2] = *procedure,
                // Its own is that of today's phone: it comes with its profile.
                Command::PutHeater { heater, name, .. } if name.approval.is_some() => story.kit[1] = *heater,
                Command::PutHeater { .. } => {
                    later.push(Deed::Give(0, wall_ms - 51 * 60 * MINUTE, Box::new(command)));
                    continue;
                }
                _ => {}
            }
            deeds.push(Deed::Give(0, set_up + 60 * MINUTE, Box::new(command)));
        }
        later.extend(runs.into_iter().map(|(ago, command)| Deed::Give(0, wall_ms - ago, Box::new(command))));
        let heater = story.kit[0];
        let calibrated = |certificate, visit: usize| {
            let (from, due) = (morning(VISITS[visit].0 + 1), morning(VISITS[visit].0 - 800));
            Deed::Give(0, from + 90 * MINUTE, Box::new(cycling_heater(heater, "C", certificate, due)))
        };
        deeds.push(calibrated("Invented 3", 0));
        // As those of the other heater, which were taken within a day.
        for (ago, command) in profile_runs(new_id, heater) {
            deeds.push(Deed::Give(0, set_up + 52 * 60 * MINUTE - ago, Box::new(command)));
        }
        for (number, (days_ago, did)) in VISITS.into_iter().enumerate() {
            if number == 4 {
                deeds.push(calibrated("Invented 11", number));
            }
            deeds.push(Deed::Open(number, morning(days_ago), [new_id(), new_id(), new_id()]));
            for (index, put) in story.positions.iter().enumerate() {
                // The two technicians share the areas.
                let by = usize::from(put.place.tag.starts_with(['J', 'L', 'D', 'R', 'S']));
                match reached(number, did, index, &put.place.tag) {
                    Some(true) => deeds.push(Deed::Position(index, by, [new_id(), new_id(), new_id()])),
                    Some(false) => deeds.push(Deed::Missed(index, by)),
                    None => {}
                }
            }
            deeds.push(Deed::Close);
        }
        deeds.extend(later);
        story.of = deeds.len();
        story.deeds = deeds.into_iter();
        story
    }

    /// What puts the site into the register: whoever has it already would have it twice.
    pub fn site(&self) -> Option<Command> {
        self.deeds.as_slice().iter().find_map(|deed| match deed {
            Deed::Give(_, _, command) if matches!(**command, Command::PutSite { .. }) => Some((**command).clone()),
            _ => None,
        })
    }

    /// How much of it is told, of a hundred.
    pub fn percent(&self) -> usize {
        100 - 100 * self.deeds.len() / self.of.max(1)
    }

    /// Tells the next deed; false when there is none.
    ///
    /// # Errors
    /// When a rule says no.
    pub fn tell(&mut self) -> Result<bool, Refusal> {
        let Some(deed) = self.deeds.next() else { return Ok(false) };
        match deed {
            Deed::Give(by, at, command) => {
                self.record.tellers[by].now = at;
                self.record.give(by, *command)?;
            }
            Deed::Open(number, morning, [visit, one, other]) => self.open(number, morning, visit, [one, other])?,
            Deed::Position(index, by, ids) => self.position(index, by, ids)?,
            Deed::Missed(index, by) => self.missed(index, by)?,
            Deed::Close => self.close()?,
        }
        Ok(true)
    }

    /// What was told.
    pub fn told(self) -> Told {
        Told { entries: self.record.entries, attachments: self.record.attachments, open: self.open, visit: self.today }
    }

    /// A technician, and the phone that is theirs.
    fn who(&mut self, new_id: &mut impl FnMut() -> Id, by: usize, name: &str) -> [Command; 3] {
        let (person, phone) = (self.record.tellers[by].person, format!("Phone of {name}"));
        let (name, phone) = (self.record.named(new_id(), name), self.record.named(new_id(), &phone));
        let now = Person { name, firm: None, license: None, contact: None, retired: false };
        [Command::PutPerson { person, now }, Command::HandPhone { to: person }, Command::NamePhone { name: phone }]
    }

    fn open(&mut self, number: usize, morning: Wall, visit: Id, sessions: [Id; 2]) -> Result<(), Refusal> {
        self.visit = (number, visit);
        for (teller, session) in self.record.tellers.iter_mut().zip(sessions) {
            (teller.session, teller.began, teller.now) = (session, morning, morning + MINUTE);
        }
        let visit_type = if VISITS[number].1 == Did::Looked { VisitType::VisualOnly } else { VisitType::Functional };
        self.record.give(0, Command::OpenVisit { visit, site: self.site, plan: VisitPlan::of(visit_type) })?;
        self.notify(NotifyWhen::Before, NotifyAnswer::NotMonitored, Whom::SupervisingStation)?;
        self.notify(NotifyWhen::Before, NotifyAnswer::Notified, Whom::Owner)?;
        self.see_panel(PanelWhen::Found)?;
        self.record.tellers[1].now += 10 * MINUTE;
        Ok(())
    }

    fn notify(&mut self, when: NotifyWhen, answer: NotifyAnswer, whom: Whom) -> Result<(), Refusal> {
        self.record.tellers[0].now += 2 * MINUTE;
        let notice = Notice {
            whom,
            label: None,
            when,
            answer,
            by: self.record.who(0),
            contact: None,
            account: None,
            test_until: None,
            happened: self.record.happened(0),
            note: None,
        };
        self.record.give(0, Command::Notify { visit: self.visit.1, notice: notice.into() }).map(drop)
    }

    /// Nothing but normal is seen at the panel.
    fn see_panel(&mut self, when: PanelWhen) -> Result<(), Refusal> {
        self.record.tellers[0].now += MINUTE;
        let panel = PanelState {
            when,
            label: None,
            normal: true,
            alarms: Vec::new(),
            supervisories: Vec::new(),
            troubles: Vec::new(),
            disabled: Vec::new(),
            photo: None,
            by: self.record.who(0),
            happened: self.record.happened(0),
        };
        self.record.give(0, Command::SeePanel { visit: self.visit.1, panel: panel.into() }).map(drop)
    }

    /// Why a position is not tested.
    fn missed(&mut self, index: usize, by: usize) -> Result<(), Refusal> {
        use NotTestedWhy::{NotAccessible, Obstructed, OutOfTime, ProcessRunning};
        self.record.tellers[by].now += MINUTE;
        let not_tested = NotTested {
            position: self.positions[index].position,
            why: [NotAccessible, Obstructed, OutOfTime, ProcessRunning][(index + self.visit.0) % 4],
            not_allowed_by: None,
            note: None,
            photo: None,
            by: self.record.who(by),
            happened: self.record.happened(by),
        };
        self.record.give(by, Command::NotTested { visit: self.visit.1, not_tested: not_tested.into() }).map(drop)
    }

    /// What is off is put back, the owner hears of it, and the visit is closed.
    fn close(&mut self) -> Result<(), Refusal> {
        self.record.tellers[0].now = self.record.tellers[0].now.max(self.record.tellers[1].now) + 10 * MINUTE;
        let secured = std::mem::take(&mut self.secured).into_iter().map(|(_, off)| off);
        for ends in secured.chain(std::mem::take(&mut self.permits)) {
            let (by, happened) = (self.record.who(0), self.record.happened(0));
            self.record.then(0, MINUTE, Command::Restore { ends, by, happened })?;
        }
        self.see_panel(PanelWhen::Left)?;
        self.notify(NotifyWhen::After, NotifyAnswer::Notified, Whom::Owner)?;
        self.record.then(0, MINUTE, Command::CloseVisit { visit: self.visit.1 }).map(drop)
    }

    /// One position's turn.
    fn position(&mut self, index: usize, by: usize, [test, other, detector]: [Id; 3]) -> Result<(), Refusal> {
        let put = &self.positions[index];
        let (position, of, tag) = (put.position, put.marking.detector_type, put.place.tag.clone());
        let (number, visit) = self.visit;
        let here = |event: (usize, &str)| event == (number, tag.as_str());
        let never = matches!(of, DetectorType::FixedNonrestorable | DetectorType::Unknown);
        self.record.tellers[by].now += 3 * MINUTE;
        if VISITS[number].1 == Did::Looked || never {
            let found = if here(BLOCKED) { vec![Visual::Obstructed] } else { Vec::new() };
            let item = self.record.give(by, Command::CheckVisual { visit, position, found })?;
            // What was in the way was taken away.
            return if here(BLOCKED) { self.close_item(by, item, ItemClosed::Accepted) } else { Ok(()) };
        }
        self.make_safe(by, index)?;
        if here(LEFT) || here(REPLACED) {
            let item = self.no_trip(by, index, test)?;
            return if here(LEFT) {
                self.tell_owner(by, item)
            } else {
                self.replace(by, index, item, [other, detector])
            };
        }
        if tag.starts_with('L') {
            return self.set_point(by, index, test);
        }
        if here(REPAIRED) {
            let item = self.functional(by, index, test, Point::Wrong)?;
            let happened = self.record.happened(by);
            let work = Work::Programming;
            self.record.then(
                by,
                MINUTE,
                Command::Repair { visit, position, work, item: Some(item), note: None, happened },
            )?;
            self.functional(by, index, other, Point::Right)?;
            return self.close_item(by, item, ItemClosed::RepairedAndTested);
        }
        self.functional(by, index, test, Point::Right).map(drop)
    }

    /// Secures what the alarm releases, and takes the permit of a hazardous area, once a visit.
    fn make_safe(&mut self, by: usize, index: usize) -> Result<(), Refusal> {
        let (visit, put) = (self.visit.1, &self.positions[index]);
        let (area, classified, releases) = (put.place.area, put.duty.classified, put.duty.releases.clone());
        let open = |release: &String| !self.secured.iter().any(|(secured, _)| secured == release);
        let open: Vec<String> = releases.into_iter().flatten().filter(open).collect();
        for release in open {
            let secured = Secured {
                release: release.clone(),
                method: Some("Locked out (invented)".to_string()),
                tag: None,
                by: self.record.who(by),
                verified_by: Some(self.record.who(1 - by)),
                happened: self.record.happened(by),
            };
            let hash = self.record.then(by, MINUTE, Command::Secure { visit, secured: secured.into() })?;
            self.secured.push((release, hash));
        }
        if classified {
            let now = self.record.tellers[by].now;
            let reading = |gas, value| GasReading { gas, percent: Decimal { value, scale: -1 } };
            let permit = Permit {
                area: Some(area),
                number: "Invented 5".to_string(),
                valid_from: now,
                valid_until: now + DAY / 4,
                gas_tested_at: Some(now),
                readings: vec![reading(Gas::Lel, 0), reading(Gas::Oxygen, 209)],
                instrument: None,
                interval_min: None,
                lel_limit: None,
                phone_allowed: true,
                by: self.record.who(by),
                happened: self.record.happened(by),
            };
            let permit = self.record.then(by, MINUTE, Command::TakePermit { visit, permit: permit.into() })?;
            self.permits.push(permit);
            self.record.then(by, MINUTE, Command::HoldApproval { visit, heater: self.kit[1], area, fits: true })?;
        }
        Ok(())
    }

    fn start(&mut self, by: usize, index: usize, test: Id, set_point: bool, ambient: bool) -> Result<(), Refusal> {
        let put = &self.positions[index];
        let rate = put.marking.detector_type.has_rate_element();
        let (heater, setting) = match (put.duty.classified, rate) {
            (true, _) => (self.kit[1], 184),
            (false, true) => (self.kit[0], 143),
            (false, false) => (self.kit[0], 201),
        };
        let seen = IndicatedBy::OwnLamp;
        let (lag_ms, lag_u_ms) = seen.usual_lag_ms();
        let start = StartTest {
            visit: self.visit.1,
            test,
            position: put.position,
            heater,
            setting: fahrenheit(setting),
            mode: None,
            procedure: set_point.then_some(self.kit[2]),
            indication: Indication {
                by: seen,
                latching: false,
                verification: false,
                lag_ms,
                lag_u_ms,
                restores: Restores::Watched,
            },
            display_read: set_point,
            ambient: ambient.then(|| fahrenheit(AMBIENT)),
            air: None,
            heater_warmth: Warmth::Cold,
            detector_warmth: Warmth::Cold,
            visual: Some(Vec::new()),
            rate_answer: None,
        };
        self.record.then(by, 2 * MINUTE, Command::Start(start.into())).map(drop)
    }

    /// A functional test with its three results; the item, where the panel showed another point.
    fn functional(&mut self, by: usize, index: usize, test: Id, point: Point) -> Result<Hash, Refusal> {
        let rating = self.positions[index].marking.rating;
        let rate = self.positions[index].marking.detector_type.has_rate_element();
        let chance = scatter(self.visit.0, index, 0);
        // A rate element trips while the heater has hardly begun.
        let reads = if rate { 104.0 } else { rating.map_or(150.0, fahrenheit_of) };
        self.start(by, index, test, false, false)?;
        let trip = self.record.mark(by, heats_to(AMBIENT as f64, reads) + 2 * chance * SECOND, test, What::Tripped)?;
        let item = self.record.then(by, 7 * SECOND, Command::SayPanel { trip, point, said: None })?;
        self.record.mark(by, 4 * SECOND, test, What::Lowered)?;
        self.record.mark(by, (31 + 3 * chance) * SECOND, test, What::Restored)?;
        Ok(item)
    }

    /// A set-point test of four trips, with a reading at each.
    fn set_point(&mut self, by: usize, index: usize, test: Id) -> Result<(), Refusal> {
        let (number, tag) = (self.visit.0, &self.positions[index].place.tag);
        let flagged = FLAGGED == (number, tag.as_str());
        let years = i64::try_from(number / 2).unwrap_or_default();
        let drift = if tag == DRIFTING { years } else { 0 };
        let level = 194 + drift + scatter(9, index, 0) / 2 + if flagged { 8 } else { 0 };
        self.start(by, index, test, true, true)?;
        let on = self.record.tellers[by].now;
        for (heat_up, begins) in HEAT_UPS.into_iter().enumerate() {
            let reads = level - i64::from(heat_up == 0) + scatter(number, index, heat_up + 1) / 2;
            let from = if heat_up == 0 { AMBIENT as f64 } else { COOLED };
            self.record.tellers[by].now = on + begins * SECOND;
            let trip = self.record.mark(by, heats_to(from, reads as f64), test, What::Tripped)?;
            let (of, reading) = (test, fahrenheit(reads));
            self.record.then(by, 3 * SECOND, Command::Read { of, reading, trip: Some(trip) })?;
            if heat_up == 0 {
                self.record.then(by, 3 * SECOND, Command::SayPanel { trip, point: Point::Right, said: None })?;
            }
            if let Some(off) = SHUTS_OFF.get(heat_up) {
                self.record.tellers[by].now = on + off * SECOND;
                let cools = if flagged { 17 } else { 31 };
                self.record.mark(by, (cools + scatter(number, index, heat_up)) * SECOND, test, What::Restored)?;
            }
        }
        self.record.mark(by, 5 * SECOND, test, What::Lowered)?;
        self.record.mark(by, 24 * SECOND, test, What::Restored)?;
        self.record.then(by, 2 * SECOND, Command::End { test, how: Ending::Done })?;
        if flagged {
            self.record.then(by, MINUTE, Command::ListRetest { test, why: RetestWhy::UnlikeArea })?;
        }
        Ok(())
    }

    /// A test without a trip: the item it leaves.
    fn no_trip(&mut self, by: usize, index: usize, test: Id) -> Result<Hash, Refusal> {
        self.start(by, index, test, false, true)?;
        self.record.mark(by, 212 * SECOND, test, What::AtTop)?;
        self.record.then(by, 179 * SECOND, Command::End { test, how: Ending::NoTrip })
    }

    fn replace(&mut self, by: usize, index: usize, item: Hash, [test, new]: [Id; 2]) -> Result<(), Refusal> {
        let put = &self.positions[index];
        let replace = ReplaceDetector {
            visit: Some(self.visit.1),
            position: put.position,
            new: Some((new, put.marking.clone(), Make::default())),
            why: RemovedWhy::Failed,
            item: Some(item),
            note: None,
            by: self.record.who(by),
            happened: self.record.happened(by),
        };
        self.record.then(by, 20 * MINUTE, Command::Replace(replace.into()))?;
        // That closes the item by itself.
        self.functional(by, index, test, Point::Right).map(drop)
    }

    fn tell_owner(&mut self, by: usize, item: Hash) -> Result<(), Refusal> {
        self.record.then(by, MINUTE, Command::ClassItem { item, class: ItemClass::Impairment })?;
        let (to, happened) = (Who::Named(self.owner), self.record.happened(by));
        self.record.then(by, MINUTE, Command::TellItem { item, to, in_writing: true, happened }).map(drop)
    }

    fn close_item(&mut self, by: usize, item: Hash, how: ItemClosed) -> Result<(), Refusal> {
        let (who, happened) = (self.record.who(by), self.record.happened(by));
        self.record.then(by, MINUTE, Command::CloseItem { item, how, by: who, note: None, happened }).map(drop)
    }
}
