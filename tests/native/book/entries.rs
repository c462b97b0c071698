//! One line: frame, canonical text, what is refused, what a newer app wrote.

use super::kit::*;
use soakbook::book::body::{Body, Edit, Presence};
use soakbook::book::entry::{Chain, Entry, FRAME, Hash, MAX_INTEGER, Opens, Scope, Stamp, Unreadable};
use soakbook::book::health::{Misfit, misfits};
use soakbook::book::log::Book;
use soakbook::encoding::stored::Stored;
use std::collections::BTreeMap;

/// One body of every type, the first of each in the golden log. That none is forgotten is seen by the compiler in [`number`].
pub(super) fn one_of_each() -> Vec<Body> {
    let mut found: BTreeMap<u32, Body> = BTreeMap::new();
    for entry in super::golden::entries() {
        found.entry(number(&entry.body)).or_insert(entry.body);
    }
    assert_eq!(found.keys().copied().collect::<Vec<_>>(), (0..TYPES).collect::<Vec<_>>());
    found.into_values().collect()
}

const TYPES: u32 = 40;

/// Whoever adds a type is stopped here by the compiler, and then by `one_of_each` until golden log and schema have it.
fn number(body: &Body) -> u32 {
    match body {
        Body::Site(_) => 0,
        Body::Area(_) => 1,
        Body::Circuit(_) => 2,
        Body::DetectorPlace(_) => 3,
        Body::DetectorMarking(_) => 4,
        Body::DetectorDuty(_) => 5,
        Body::DetectorPresence(_) => 6,
        Body::HeaterName(_) => 7,
        Body::HeaterHeating(_) => 8,
        Body::HeaterMetrology(_) => 9,
        Body::Procedure(_) => 10,
        Body::Person(_) => 11,
        Body::RuleSet(_) => 12,
        Body::ProfileRunStarted(_) => 13,
        Body::ProfileRunEnded { .. } => 14,
        Body::VisitOpened { .. } => 15,
        Body::VisitClosed {} => 16,
        Body::WatcherTold { .. } => 17,
        Body::OutOfService { .. } => 18,
        Body::BackInService { .. } => 19,
        Body::Secured { .. } => 20,
        Body::Restored { .. } => 21,
        Body::PermitTaken { .. } => 22,
        Body::LookedAt { .. } => 23,
        Body::TestStarted(_) => 24,
        Body::Mark { .. } => 25,
        Body::ReadingTaken { .. } => 26,
        Body::ReadingStands { .. } => 27,
        Body::PanelPoint { .. } => 28,
        Body::Noted { .. } => 29,
        Body::Undone { .. } => 30,
        Body::Moved { .. } => 31,
        Body::ClockGap { .. } => 32,
        Body::ClockAnswered { .. } => 33,
        Body::TestEnded { .. } => 34,
        Body::TestTakenOver { .. } => 35,
        Body::DeficiencyFound { .. } => 36,
        Body::DeficiencyDisposed { .. } => 37,
        Body::Retest { .. } => 38,
        Body::MarkingCorrected { .. } => 39,
        Body::Newer { .. } => TYPES,
    }
}

fn chain() -> Chain {
    Chain { scope: Scope::Site(id(SITE)), phone: id(100) }
}

fn sealed() -> Entry {
    let gone = Edit::new(id(DETECTOR), vec![Hash::of(b"x")], Presence { retired: true });
    let body = Body::DetectorPresence(gone);
    let stamp = Stamp { session: id(101), mono: 5_000, wall: MORNING };
    let opens = Opens { app: "0.1.0".into(), zone: String::new(), offset: 60, who: None };
    Entry::seal(chain(), 0, None, stamp, Some(opens), body)
}

#[track_caller]
fn check(text: &str, then: Result<(), Unreadable>) {
    assert_eq!(Entry::read(text).map(|_| ()), then, "{text}");
}

#[test]
fn an_entry_is_canonical_json_and_reads_back_as_it_was() {
    let entry = sealed();
    // RFC 8785: members sorted, no white space. Written by hand.
    let text = format!(
        r#"{{"at":1772438400000,"mono":5000,"now":{{"retired":true}},"of":"{of}","opens":{{"app":"0.1.0","offset":60,"zone":""}},"phone":"{phone}","prev":null,"replaces":["{x}"],"scope":"site:{site}","seq":0,"session":"{session}","type":"detector_presence","v":1}}"#,
        of = id(DETECTOR),
        phone = id(100),
        site = id(SITE),
        session = id(101),
        // printf x | sha256sum (GNU coreutils).
        x = "2d711642b726b04401627ca9fbac32f5c8530fb1903cc4db02258717921a4881",
    );
    assert_eq!(entry.text, text);
    assert_eq!(Entry::read(&text), Ok(entry));
}

#[test]
fn no_body_uses_a_name_of_the_frame_or_a_float() {
    for body in one_of_each() {
        let value = body.to_value();
        let names = value.as_object().unwrap().keys().filter(|name| *name != "type" && FRAME.contains(&name.as_str()));
        assert_eq!(names.collect::<Vec<_>>(), Vec::<&String>::new(), "{}", body.name());
        integers(&value);
    }
}

/// No number in it is anything but an integer within ±(2^53 − 1).
pub(super) fn integers(value: &serde_json::Value) {
    match value {
        serde_json::Value::Number(number) => {
            assert!(number.as_i64().is_some_and(|n| n.abs() <= MAX_INTEGER), "{number}");
        }
        serde_json::Value::Array(items) => items.iter().for_each(integers),
        serde_json::Value::Object(members) => members.values().for_each(integers),
        _ => {}
    }
}

#[test]
fn a_text_that_was_altered_is_refused() {
    let text = sealed().text;
    check(&format!(" {text}"), Err(Unreadable::NotCanonical));
    check(&text.replace("\"seq\":0", "\"seq\":0.0"), Err(Unreadable::NotCanonical));
    check(&text.replace("true", "true "), Err(Unreadable::NotCanonical));
    check(
        &text.replace("\"v\":1", "\"v\":1,\"v\":1"),
        Err(Unreadable::NotJson(
            Entry::read(&text.replace("\"v\":1", "\"v\":1,\"v\":1"))
                .unwrap_err()
                .to_string()
                .split_off("is not JSON: ".len()),
        )),
    );
    for (from, to, field) in [
        ("\"seq\":0", "\"seq\":-1", "seq"),
        ("\"seq\":0", "\"seq\":1", "prev"),
        ("\"seq\":0", "\"seq\":9007199254740992", "seq"),
        ("\"mono\":5000", "\"mono\":\"5000\"", "mono"),
        ("\"mono\":5000", "\"mono\":-9007199254740992", "mono"),
        ("\"at\":1772438400000", "\"at\":0.5", "at"),
        ("\"v\":1", "\"v\":0", "v"),
        ("\"prev\":null", "\"prev\":\"00\"", "prev"),
        ("\"scope\":\"site:", "\"scope\":\"farm:", "scope"),
        ("\"opens\":{", "\"opens\":{\"a\":1,", "nothing"),
        ("\"app\":\"0.1.0\",", "", "opens"),
        ("\"type\":\"detector_presence\"", "\"type\":7", "type"),
    ] {
        let altered = text.replace(from, to);
        assert_ne!(altered, text);
        let then = if field == "nothing" { Ok(()) } else { Err(Unreadable::Frame(field)) };
        check(&altered, then);
    }
    let top = text.replace(&id(100).to_string(), &id(100).to_string().to_uppercase());
    check(&top, Err(Unreadable::Frame("phone")));
    for broken in ["", "7", "[]", "null", "{", "{}", "\u{0}", "\"\""] {
        assert!(Entry::read(broken).is_err(), "{broken}");
    }
    // Another content is another identity.
    let other = Entry::read(&text.replace("true", "false")).unwrap();
    assert_ne!(other.hash, sealed().hash);
}

#[test]
fn what_a_newer_app_wrote_is_kept_passed_on_and_shown() {
    let text = sealed().text;
    let newer = [
        (text.replace("detector_presence", "weather"), "weather"),
        (text.replace("\"v\":1", "\"v\":2"), "detector_presence"),
        (text.replace("\"retired\":true", "\"colour\":\"red\",\"retired\":true"), "detector_presence.now.colour"),
        (text.replace("\"replaces\"", "\"reason\":1.5,\"replaces\""), "detector_presence.reason"),
        (text.replace("\"offset\":60", "\"lamp\":[],\"offset\":60"), "detector_presence.opens.lamp"),
        // A field that is absent is left out; null is something else.
        (text.replace("\"now\":", "\"note\":null,\"now\":"), "detector_presence.note"),
        // An id in another form than the one this app would pass on.
        (
            text.replace(
                &format!("\"of\":\"{}", id(DETECTOR)),
                &format!("\"of\":\"{}", id(DETECTOR).to_string().to_uppercase()),
            ),
            "detector_presence.of",
        ),
    ];
    for (text, name) in newer {
        let entry = Entry::read(&text).unwrap();
        let hash = entry.hash;
        assert_eq!(entry.text, text);
        let mut book = Book::default();
        book.apply(entry);
        let shown: Vec<Misfit> =
            misfits(&book).into_iter().filter(|m| matches!(m, Misfit::NeedsNewerApp { .. })).collect();
        assert_eq!(shown, [Misfit::NeedsNewerApp { hash, name: name.into() }]);
    }
    assert_eq!(sealed().not_understood(), Vec::<String>::new());
}

#[test]
fn a_clock_that_shows_nonsense_makes_no_entry_that_nobody_can_read() {
    for (mono, wall) in [(i64::MAX, i64::MIN), (i64::MIN, i64::MAX)] {
        let stamp = Stamp { session: id(101), mono, wall };
        let entry = Entry::seal(chain(), 0, None, stamp, None, Body::VisitClosed {});
        assert_eq!(Entry::read(&entry.text), Ok(entry.clone()));
        assert_eq!(entry.stamp.mono.abs(), MAX_INTEGER);
    }
}

#[test]
fn a_chain_with_a_hole_a_fork_or_a_broken_link_shows_it() {
    let stamp = |mono| Stamp { session: id(101), mono, wall: MORNING };
    let body = |n| Body::VisitOpened { site: id(n) };
    let visit = Chain { scope: Scope::Visit(id(VISIT)), phone: id(100) };
    let make = |seq, prev, n| Entry::seal(visit, seq, prev, stamp(seq), None, body(n));
    let first = make(0, None, SITE);
    let second = make(1, Some(first.hash), SITE);
    let fork = make(1, Some(first.hash), STORE);
    let third = make(2, Some(second.hash), SITE);
    let stray = make(2, Some(first.hash), SITE);
    let of = |entries: &[&Entry]| {
        let mut book = Book::default();
        entries.iter().for_each(|entry| book.apply((*entry).clone()));
        misfits(&book)
    };
    assert_eq!(of(&[&first, &second, &third]), []);
    assert_eq!(of(&[&second]), [Misfit::Missing { chain: visit, from: 0, to: 0 }]);
    assert_eq!(of(&[&first, &third]), [Misfit::Missing { chain: visit, from: 1, to: 1 }]);
    assert_eq!(of(&[&first, &second, &fork, &third]), [Misfit::Fork { chain: visit, seq: 1 }]);
    assert_eq!(of(&[&first, &second, &stray]), [Misfit::BrokenLink { hash: stray.hash }]);
    let misplaced = Entry::seal(chain(), 0, None, stamp(0), None, body(SITE));
    assert_eq!(of(&[&misplaced]), [Misfit::WrongScope { hash: misplaced.hash }]);
    let lost = Entry::seal(visit, 0, None, stamp(0), None, Body::Undone { target: third.hash });
    assert_eq!(of(&[&lost]), [Misfit::NamesUnknown { hash: lost.hash }]);
}

#[test]
fn a_session_opens_every_chain_it_writes_to_once() {
    let mut world = World::given();
    let opening = |world: &World| world.book.entries().filter(|entry| entry.opens.is_some()).count();
    // Site, kit and visit.
    assert_eq!(opening(&world), 3);
    world.restart(SECOND).act(start_with(|_| {}));
    world.wait(SECOND).mark(soakbook::book::body::What::Tripped);
    assert_eq!(opening(&world), 4);
}
