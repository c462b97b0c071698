//! One line: frame, canonical text, what is refused, what a newer app wrote.

use crate::kit::*;
use soakbook::book::body::{Body, Edit, Ending, What};
use soakbook::book::command::Command;
use soakbook::book::entries::Book;
use soakbook::book::entry::{
    Chain, DecisionId, Entry, FRAME, Frame, Hash, MAX_INTEGER, Opens, Scope, Stamp, Unreadable,
};
use soakbook::book::integrity::{Anomaly, anomalies};
use soakbook::encoding::stored::Stored;
use soakbook::trade::detector::Status;
use soakbook::units::{Mono, Wall};

fn chain() -> Chain {
    Chain { scope: Scope::Site(id(SITE)), phone: id(100) }
}

fn first() -> Entry {
    let status = Status { retired: true, provisional: false };
    let body = Body::PositionStatus(Edit::new(id(POSITION), vec![Hash::of(b"x")], status));
    let stamp = Stamp { session: id(101), mono: Mono(5_000), wall: MORNING };
    let opens = Some(Opens { app: "0.1.0".into(), zone: String::new(), offset: 60, who: None });
    Entry::seal(Frame { chain: chain(), seq: 0, prev: None, stamp, decision: 7, scopes: Vec::new(), opens }, body)
}

#[track_caller]
fn check(text: &str, then: Result<(), Unreadable>) {
    assert_eq!(Entry::read(text).map(|_| ()), then, "{text}");
}

#[test]
fn an_entry_is_canonical_json_and_reads_back_as_it_was() {
    let entry = first();
    // RFC 8785: members sorted, no white space. Written by hand.
    let text = format!(
        r#"{{"at":1772438400000,"decision":7,"mono":5000,"now":{{"retired":true}},"of":"{of}","opens":{{"app":"0.1.0","offset":60,"zone":""}},"phone":"{phone}","prev":null,"replaces":["{x}"],"scope":"site:{site}","seq":0,"session":"{session}","type":"position_status","v":2}}"#,
        of = id(POSITION),
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
fn an_entry_laid_out_by_another_program_is_the_same_entry() {
    let entry = first();
    // RFC 8785 3.2.2.3: 0, 0.0 and 0e1 are one number, and order and white space are none of the value's.
    for zero in ["0", "0.0", "0e1"] {
        let loose = entry.text.replace("\"seq\":0", &format!(" \"seq\" : {zero} "));
        let value = soakbook::encoding::parse_strict(&loose).unwrap();
        assert_eq!(Entry::from_value(&value), Ok(entry.clone()), "{zero}");
    }
}

#[test]
fn no_body_uses_a_name_of_the_frame_or_a_float() {
    for entry in super::properties::said() {
        let value = entry.body.to_value();
        let names = value.as_object().unwrap().keys().filter(|name| *name != "type" && FRAME.contains(&name.as_str()));
        assert_eq!(names.collect::<Vec<_>>(), Vec::<&String>::new(), "{}", entry.body.name());
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
    let text = first().text;
    check(&format!(" {text}"), Err(Unreadable::NotCanonical));
    check(&text.replace("\"seq\":0", "\"seq\":0.0"), Err(Unreadable::NotCanonical));
    check(&text.replace("true", "true "), Err(Unreadable::NotCanonical));
    check(
        &text.replace("\"v\":2", "\"v\":2,\"v\":2"),
        Err(Unreadable::NotJson(
            Entry::read(&text.replace("\"v\":2", "\"v\":2,\"v\":2"))
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
        ("\"v\":2", "\"v\":0", "v"),
        ("\"decision\":7", "\"decision\":-1", "decision"),
        ("\"decision\":7,", "", "decision"),
        ("\"seq\":", "\"scopes\":[\"farm\"],\"seq\":", "scopes"),
        ("\"prev\":null", "\"prev\":\"00\"", "prev"),
        ("\"scope\":\"site:", "\"scope\":\"farm:", "scope"),
        ("\"opens\":{", "\"opens\":{\"a\":1,", "nothing"),
        ("\"app\":\"0.1.0\",", "", "opens"),
        ("\"type\":\"position_status\"", "\"type\":7", "type"),
    ] {
        let altered = text.replace(from, to);
        assert_ne!(altered, text);
        let then = if field == "nothing" { Ok(()) } else { Err(Unreadable::Frame(field)) };
        check(&altered, then);
    }
    // What called itself 1 was never released, and is refused as such.
    check(&text.replace("\"v\":2", "\"v\":1"), Err(Unreadable::Unreleased));
    let top = text.replace(&id(100).to_string(), &id(100).to_string().to_uppercase());
    check(&top, Err(Unreadable::Frame("phone")));
    for broken in ["", "7", "[]", "null", "{", "{}", "\u{0}", "\"\""] {
        assert!(Entry::read(broken).is_err(), "{broken}");
    }
    // Another content is another identity.
    let other = Entry::read(&text.replace("true", "false")).unwrap();
    assert_ne!(other.hash, first().hash);
}

#[test]
fn what_a_newer_app_wrote_is_kept_passed_on_and_shown() {
    let text = first().text;
    let newer = [
        (text.replace("position_status", "weather"), "weather"),
        (text.replace("\"v\":2", "\"v\":3"), "position_status"),
        (text.replace("\"retired\":true", "\"colour\":\"red\",\"retired\":true"), "position_status.now.colour"),
        (text.replace("\"replaces\"", "\"reason\":1.5,\"replaces\""), "position_status.reason"),
        (text.replace("\"offset\":60", "\"lamp\":[],\"offset\":60"), "position_status.opens.lamp"),
        // A field that is absent is left out; null is something else.
        (text.replace("\"now\":", "\"note\":null,\"now\":"), "position_status.note"),
        // An id in another form than the one this app would pass on.
        (
            text.replace(
                &format!("\"of\":\"{}", id(POSITION)),
                &format!("\"of\":\"{}", id(POSITION).to_string().to_uppercase()),
            ),
            "position_status",
        ),
    ];
    for (text, name) in newer {
        let entry = Entry::read(&text).unwrap();
        let hash = entry.hash;
        assert_eq!(entry.text, text);
        let mut book = Book::default();
        book.apply(entry);
        let shown: Vec<Anomaly> =
            anomalies(&book).into_iter().filter(|m| matches!(m, Anomaly::NeedsNewerApp { .. })).collect();
        assert_eq!(shown, [Anomaly::NeedsNewerApp { hash, name: name.into() }]);
    }
    assert_eq!(first().not_understood(), Vec::<String>::new());
}

#[test]
fn a_clock_that_shows_nonsense_makes_no_entry_that_nobody_can_read() {
    for (mono, wall) in [(Mono::MAX, Wall::MIN), (Mono::MIN, Wall::MAX)] {
        let stamp = Stamp { session: id(101), mono, wall };
        let entry = sealed(chain(), 0, None, stamp, Body::VisitClosed { covers: Vec::new() });
        assert_eq!(Entry::read(&entry.text), Ok(entry.clone()));
        assert_eq!(entry.stamp.mono.0.abs(), MAX_INTEGER);
    }
}

#[test]
fn a_chain_with_a_hole_a_fork_or_a_broken_link_shows_it() {
    let stamp = |mono| Stamp { session: id(101), mono: Mono(mono), wall: MORNING };
    let body = |n| Body::VisitOpened { site: id(n) };
    let visit = Chain { scope: Scope::Visit(id(VISIT)), phone: id(100) };
    let make = |seq, prev, n| sealed(visit, seq, prev, stamp(seq), body(n));
    let first = make(0, None, SITE);
    let second = make(1, Some(first.hash), SITE);
    let fork = make(1, Some(first.hash), STORE);
    let third = make(2, Some(second.hash), SITE);
    let stray = make(2, Some(first.hash), SITE);
    let of = |entries: &[&Entry]| {
        let mut book = Book::default();
        entries.iter().for_each(|entry| book.apply((*entry).clone()));
        anomalies(&book)
    };
    assert_eq!(of(&[&first, &second, &third]), []);
    assert_eq!(of(&[&second]), [Anomaly::Missing { chain: visit, from: 0, to: 0 }]);
    assert_eq!(of(&[&first, &third]), [Anomaly::Missing { chain: visit, from: 1, to: 1 }]);
    assert_eq!(of(&[&first, &second, &fork, &third]), [Anomaly::Fork { chain: visit, seq: 1 }]);
    assert_eq!(of(&[&first, &second, &stray]), [Anomaly::BrokenLink { hash: stray.hash }]);
    let misplaced = sealed(chain(), 0, None, stamp(0), body(SITE));
    assert_eq!(of(&[&misplaced]), [Anomaly::WrongScope { hash: misplaced.hash }]);
    let undoes = DecisionId { phone: id(100), session: id(101), decision: 9 };
    let lost = sealed(visit, 0, None, stamp(0), Body::Undone { undoes });
    assert_eq!(of(&[&lost]), [Anomaly::NamesUnknown { hash: lost.hash }]);
}

#[test]
fn a_session_opens_every_chain_it_writes_to_once_and_again_when_the_phone_changes_hands() {
    let mut world = World::given();
    let opening = |world: &World| world.book.entries().filter(|entry| entry.opens.is_some()).count();
    // Kit, site and visit.
    assert_eq!(opening(&world), 3);
    world.restart(SECOND).act(start_with(|_| {}));
    world.wait(SECOND).mark(What::Tripped);
    assert_eq!(opening(&world), 4);
    world.phone.who = Some(id(PARTNER));
    let mark = world.wait(SECOND).mark(What::AtTop);
    assert_eq!(opening(&world), 5);
    // Who it is stands before it in the same decision.
    let opened = world.book.entries().filter(|entry| entry.decision() == world.entry(mark).decision());
    let who: Vec<_> = opened.filter_map(|entry| entry.opens.as_ref().map(|opens| opens.who)).collect();
    assert_eq!(who, [Some(id(PARTNER))]);
}

#[test]
fn the_entries_of_one_decision_share_its_number_and_one_over_several_chains_lists_them() {
    let mut world = World::given();
    let started = world.try_act(start_with(|_| {})).expect("allowed");
    let decision = world.entry(started[0]).decision();
    assert!(started.iter().all(|hash| world.entry(*hash).decision() == decision));
    assert!(started.iter().all(|hash| world.entry(*hash).scopes.is_empty()), "one chain");
    world.wait(SECOND).mark(What::Tripped);
    world.wait(SECOND).act(Command::End { test: id(TEST), how: Ending::StoppedEarly });
    let replaced = world.wait(SECOND).try_act(replace(POSITION)).expect("allowed");
    let scopes = [Scope::Site(id(SITE)), Scope::Visit(id(VISIT))];
    for hash in &replaced {
        assert_eq!(&world.entry(*hash).scopes[..], scopes);
        assert_eq!(world.entry(*hash).decision(), world.entry(replaced[0]).decision());
    }
    // One undo takes it back in both, and its undo brings it back in both.
    let hangs = |world: &World| world.register().positions[&id(POSITION)].detector();
    let new = hangs(&world);
    assert_ne!(new, Some(detector(POSITION)));
    let undone = world.wait(SECOND).try_act(Command::Undo { target: replaced[0] });
    assert_eq!(undone.as_ref().map(Vec::len), Ok(2));
    assert_eq!((hangs(&world), world.visit().work.len()), (Some(detector(POSITION)), 0));
    world.wait(SECOND).act(Command::Undo { target: undone.unwrap()[1] });
    assert_eq!((hangs(&world), world.visit().work.len()), (new, 1));
}
