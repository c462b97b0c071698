//! What each position in scope of a visit comes to, as records beside those of its tests.

use super::{ENTERED_IN, Offsets, local, shown};
use crate::book::Id;
use crate::book::body::{Body, Replaced, Who};
use crate::book::entries::Book;
use crate::book::kit::Kit;
use crate::book::register::{Position, Register};
use crate::book::test::Test;
use crate::book::versions::Versions;
use crate::book::visit::{OtherResult, Visit};
use crate::encoding::stored::{self, Stored};
use crate::findings::history::{self, Done, DoneWhat};
use crate::findings::standing::{Came, in_scope, place_key, standing};
use crate::findings::{TestFindings, VisitFindings};
use crate::handover::rounded::rounded;
use crate::order;
use serde_json::{Map, Value};

/// A visit with all that its lines say.
#[derive(Debug)]
pub struct VisitResults<'a> {
    /// Its entries.
    pub book: &'a Book,
    /// Where names are: attachments of entries stay with the whole of a book.
    pub names: &'a Book,
    /// The register.
    pub register: &'a Register,
    /// The kit, for what phones are called.
    pub kit: &'a Kit,
    /// The visit.
    pub visit: &'a Visit,
    /// What its tests say.
    pub found: &'a VisitFindings,
    /// What its clocks showed.
    pub offsets: &'a Offsets,
}

/// Members of a record.
struct Members(Map<String, Value>);

impl Members {
    fn put(&mut self, name: &str, value: impl Into<Value>) {
        self.0.insert(name.to_string(), value.into());
    }

    fn put_some<T: Into<Value>>(&mut self, name: &str, value: Option<T>) {
        if let Some(value) = value {
            self.put(name, value);
        }
    }
}

impl VisitResults<'_> {
    /// What a record of a test says beside the findings that a bundle carries: where it was, what was tested, with which heater, on which
    /// phone, by whom, and when by the clock on its wall. Names are those of the register now.
    pub fn beside(&self, test: &Test, found: &TestFindings) -> Map<String, Value> {
        let frozen = &found.frozen;
        let mut map = Members(Map::new());
        let place = &frozen.position.place;
        // What the limits beside it were made from.
        let marking = found.holding().last().map_or(&frozen.detector.marking, |judged| &judged.marking);
        self.place(&mut map, place.area, [&place.customer_id, &place.point, &place.location]);
        marked(&mut map, marking.detector_type.to_value(), marking.rating.map(|rating| rating.celsius().0));
        map.put("procedure", frozen.procedure.name.clone());
        map.put("heater", frozen.heater.of.to_string());
        map.put("heater_name", frozen.heater.name.name.clone());
        map.put(ENTERED_IN, frozen.heater.setting.unit.to_value());
        self.who(&mut map, Some(Who::Person(frozen.by)), test.phone);
        let offset = self.book.get(test.start).and_then(|start| self.offsets.at(start));
        map.put("started_local", local(found.started_wall, offset));
        map.0
    }

    /// The records of the tests, by start; `tests` are their findings as a bundle carries them.
    pub fn tests(&self, tests: &[Value]) -> Vec<Value> {
        let found = self.found.by_start();
        let record = |(value, found): (&Value, &TestFindings)| {
            let mut map = value.as_object().cloned().unwrap_or_default();
            map.extend(self.known(found.test).map(|test| self.beside(test, found)).unwrap_or_default());
            map.insert("kind".into(), "test".into());
            Value::Object(map)
        };
        tests.iter().zip(found).map(record).collect()
    }

    /// The records of the positions in scope, by area and walking order.
    pub fn positions(&self, tests: &[Value]) -> Vec<Value> {
        let done = history::by_position(history::of_visit(self.book, self.visit, &self.found.tests));
        let scope = in_scope(self.book, self.register, self.visit, done.keys().copied());
        let by_id = order::map(tests.iter().filter_map(|test| Some((test.get("test")?.as_str()?, test))));
        let found = |test: Id| self.found.tests.iter().find(|found| found.test == test);
        let record = |id: Id| {
            let done = done.get(&id).map_or(&[][..], Vec::as_slice);
            let stands = standing(self.visit, id, done);
            let deciding = stands.deciding();
            let mut map = match deciding.map(|one| &one.what) {
                Some(DoneWhat::Test(of)) => {
                    let beside = self.known(of.test).zip(found(of.test)).map(|(test, found)| self.beside(test, found));
                    let mut map = beside.unwrap_or_default();
                    let said = by_id.get(of.test.to_string().as_str());
                    for name in shown() {
                        if let Some(value) = said.and_then(|said| said.get(name)) {
                            map.insert(name.to_string(), value.clone());
                        }
                    }
                    Members(map)
                }
                _ => self.untested(id, stands.came, deciding, done),
            };
            let (outcome, reason) = named(stands.came);
            map.put("kind", "position");
            map.put("visit", self.visit.id.to_string());
            map.put("position", id.to_string());
            map.put("outcome", outcome);
            map.put_some("reason", reason);
            Value::Object(map.0)
        };
        let records = scope.into_iter().map(|id| (id, record(id))).collect();
        let key = |(id, record): &(Id, Value)| {
            let text = |name| record.get(name).and_then(Value::as_str).unwrap_or_default();
            let area = Id::try_parse(text("area")).unwrap_or_default();
            place_key(self.register, *id, area, text("tag"))
        };
        order::by(records, key).into_iter().map(|(_, record)| record).collect()
    }

    /// What is known of a position that no test decides: what decides it, else the last thing that was done there.
    fn untested(&self, id: Id, came: Came, deciding: Option<&Done>, done: &[Done]) -> Members {
        let mut map = Members(Map::new());
        let known = self.register.positions.get(&id);
        let replaced = Some(id).filter(|_| came == Came::Replaced).and_then(|id| self.replaced(id));
        let detector = match replaced {
            Some((_, of)) => of.installed,
            // A result is given to none but its own.
            None if deciding.is_some() => deciding.and_then(|one| one.detector),
            None => done.iter().rev().find_map(|one| one.detector).or_else(|| known.and_then(Position::detector)),
        };
        if let Some(place) = known.and_then(|of| of.place.now()) {
            map.put("tag", place.tag.clone());
            self.place(&mut map, place.area, [&place.customer_id, &place.point, &place.location]);
        }
        let registered = detector.and_then(|detector| self.register.detectors.get(&detector));
        if let Some(marking) = registered.and_then(|detector| detector.marking.now()) {
            marked(&mut map, marking.detector_type.to_value(), marking.rating.map(|rating| rating.celsius().0));
            map.put_some(ENTERED_IN, marking.rating.map(|rating| rating.unit.to_value()));
        }
        map.put_some("detector", detector.map(|detector| detector.to_string()));
        if let Some((phone, of)) = replaced {
            self.who(&mut map, Some(of.by), phone);
            map.put("started_local", local(of.happened.at, Some(of.happened.offset)));
            return map;
        }
        let Some(last) = deciding.or(done.last()) else { return map };
        let (who, offset) = match &last.what {
            DoneWhat::Test(of) => (Some(Who::Person(of.frozen.by)), None),
            DoneWhat::Other(of, _) => (Some(of.by), Some(of.happened.offset)),
            DoneWhat::NotTested(of) => (Some(of.by), Some(of.happened.offset)),
            DoneWhat::Visual(_) | DoneWhat::Repaired(_) => (None, None),
        };
        self.who(&mut map, who, last.phone);
        let offset = offset.or_else(|| self.offsets.at(self.book.get(last.entry)?));
        map.put("started_local", local(last.at, offset));
        if let Some(DoneWhat::Other(of, _)) = deciding.map(|one| &one.what) {
            let other = self.visit.record.other_methods.iter().find(|other| other.said.hash == last.entry);
            let restored = other.map_or(of.restored, OtherResult::restored);
            map.put("method", stored::name(&of.method));
            map.put("tripped", stored::name(&of.tripped));
            map.put("at_panel", stored::name(&of.point));
            map.put_some("panel_said", of.said.clone());
            map.put("restored", stored::name(&restored));
        }
        map
    }

    /// The last replacement at a position in the visit.
    fn replaced(&self, position: Id) -> Option<(Id, &Replaced)> {
        let work = self.visit.work.iter().rfind(|work| work.position == position && work.replaced)?;
        match &self.book.get(work.hash)?.body {
            Body::Replaced(of) => Some((work.phone, of)),
            _ => None,
        }
    }

    fn known(&self, test: Id) -> Option<&Test> {
        self.visit.tests.iter().find(|known| known.id == test)
    }

    fn place(&self, map: &mut Members, of: Id, [customer_id, point, location]: [&Option<String>; 3]) {
        let area = self.register.areas.get(&of).and_then(Versions::now);
        let site = self.register.sites.get(&area.map_or(self.visit.site, |area| area.site)).and_then(Versions::now);
        map.put_some("site_name", site.map(|site| site.name.clone()));
        map.put("area", of.to_string());
        map.put_some("area_name", area.map(|area| area.name.clone()));
        map.put_some("customer_id", customer_id.clone());
        map.put_some("panel_point", point.clone());
        map.put_some("location", location.clone());
    }

    fn who(&self, map: &mut Members, who: Option<Who>, phone: Id) {
        map.put_some("by_name", who.and_then(|who| self.visit.name_of(self.names, who)));
        map.put("phone", phone.to_string());
        let named = self.kit.phones.get(&phone).and_then(Versions::now);
        map.put_some("phone_name", named.and_then(|phone| self.names.words(phone.name)));
    }
}

fn marked(map: &mut Members, detector_type: Value, rating_c: Option<f64>) {
    map.put("detector_type", detector_type);
    map.put_some("marked_c", rating_c.map(rounded));
}

/// What a visit comes to at a position, by the name it has in files, and why, where that says it.
fn named(came: Came) -> (&'static str, Option<String>) {
    match came {
        Came::Result(outcome) => (outcome.name(), None),
        Came::Electrical(_) => ("electrical_only", None),
        Came::Repaired => ("repaired_not_tested", None),
        Came::Replaced => ("replaced_not_tested", None),
        Came::Found(found) => ("failed_visual", Some(stored::name(&found))),
        Came::NotTested(why) => ("not_tested", Some(stored::name(&why))),
        Came::Looked(found) => ("visual_only", found.map(|found| stored::name(&found))),
        Came::Nothing => ("not_tested", None),
    }
}
