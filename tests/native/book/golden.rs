//! The golden log of format 2: an invented log with every type of entry and every field, frozen. Later apps must still read it so.
//!
//! `golden/format-2.ndjson` and the attachments beside it were written once by [`log`] and are never written again; a change of the
//! format adds a file. `SOAKBOOK_WRITE_GOLDEN=1` writes them anew before the first release. `golden/format-2.sha256` was made from
//! them by an independent route (Python 3.11, `json` and `hashlib`): `python3 tests/tools/golden.py --write`.

mod closing;
mod kit;
mod opening;
mod register;
mod tests;
mod writer;

use soakbook::book::body::{
    Answer, Body, Ending, ItemClosed, NotifyAnswer, NotifyWhen, Point, RemovedWhy, Sample, What, Whom,
};
use soakbook::book::clock::ClockNote;
use soakbook::book::entries::Book;
use soakbook::book::entry::{ChainEnd, Entry, Scope};
use soakbook::book::integrity::anomalies;
use soakbook::book::kit::{Kit, has_phone};
use soakbook::book::profile_run::profile_of;
use soakbook::book::register::Register;
use soakbook::book::test::Test;
use soakbook::book::timeline::{NotCounted, Timeline};
use soakbook::book::visit::{StillOff, Visit, visits};
use soakbook::encoding::{Hash, base64, canonical, sha256_hex, to_hex};
use soakbook::trade::procedure::ProcedureKind;
use soakbook::units::TestTime;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use writer::{Writer, f, id};

const FROZEN: &str = include_str!("golden/format-2.ndjson");
const ATTACHED: &str = include_str!("golden/format-2.attachments.ndjson");
const HASHES: &str = include_str!("golden/format-2.sha256");

/// The log, made anew.
fn log() -> Writer {
    let mut w = Writer::new();
    let profile = kit::write(&mut w);
    register::write(&mut w);
    opening::write(&mut w);
    tests::write(&mut w, profile);
    closing::write(&mut w);
    w
}

/// The entries of the golden log.
pub(super) fn entries() -> Vec<Entry> {
    FROZEN.lines().map(|line| Entry::read(line).expect("an entry")).collect()
}

fn book() -> Book {
    let mut book = Book::default();
    entries().into_iter().for_each(|entry| book.apply(entry));
    book
}

#[test]
fn the_same_facts_make_the_same_texts_today() {
    let log = log();
    let texts: Vec<String> = log.log.into_iter().map(|entry| entry.text).collect();
    let attached = log.attachments.iter().map(|attachment| {
        canonical(&serde_json::json!({
            "hash": attachment.hash().to_string(),
            "salt": to_hex(&attachment.salt),
            "media": attachment.media,
            "bytes": base64(&attachment.bytes),
        }))
    });
    let attached: Vec<String> = attached.collect();
    if std::env::var_os("SOAKBOOK_WRITE_GOLDEN").is_some() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/native/book/golden");
        let write = |name: &str, lines: &[String]| std::fs::write(folder.join(name), lines.join("\n") + "\n").unwrap();
        write("format-2.ndjson", &texts);
        write("format-2.attachments.ndjson", &attached);
        return;
    }
    same(&texts, FROZEN);
    same(&attached, ATTACHED);
}

/// What to do when the format changed and that was meant.
const REWRITE: &str = "where that is meant, and nothing is released yet: SOAKBOOK_WRITE_GOLDEN=1 cargo test --test native the_same_facts, \
                       then python3 tests/tools/golden.py --write";

/// Names the first line that differs alone: the whole log would bury it.
#[track_caller]
fn same(lines: &[String], frozen: &str) {
    let apart = lines.iter().map(String::as_str).zip(frozen.lines()).find(|(line, frozen)| line != frozen);
    assert_eq!(apart.unzip(), (None, None), "{REWRITE}");
    assert_eq!(lines.len(), frozen.lines().count(), "{REWRITE}");
}

#[test]
fn every_text_reads_back_as_it_was() {
    for (line, entry) in FROZEN.lines().zip(entries()) {
        assert_eq!(entry.text, line);
        assert!(!matches!(entry.body, Body::Newer { .. }), "{line}");
        // What is written from what was read is the same text: nothing was lost on the way.
        assert_eq!(entry.not_understood(), Vec::<String>::new(), "{line}");
    }
}

#[test]
fn identities_links_and_attachments_hold_by_an_independent_sha_256() {
    let hashes: Vec<&str> = HASHES.lines().collect();
    let (of_entries, of_attachments) = hashes.split_at(FROZEN.lines().count());
    let mut last = BTreeMap::new();
    for (entry, hash) in entries().iter().zip(of_entries) {
        assert_eq!(entry.hash.to_string(), *hash, "{REWRITE}");
        let before = last.insert(entry.chain, (entry.seq, *hash));
        assert_eq!(entry.prev.map(|prev| prev.to_string()).as_deref(), before.map(|(_, hash)| hash));
        assert_eq!(entry.seq, before.map_or(0, |(seq, _)| seq + 1));
    }
    let attached: Vec<String> = log().attachments.iter().map(|attachment| attachment.hash().to_string()).collect();
    assert_eq!(attached, of_attachments, "{REWRITE}");
}

#[test]
fn every_attachment_that_an_entry_names_is_there_and_no_other() {
    let named: BTreeSet<Hash> = entries().iter().flat_map(|entry| entry.body.attachments()).collect();
    let there: BTreeSet<Hash> = log().attachments.iter().map(soakbook::book::entries::Attachment::hash).collect();
    assert_eq!(named, there, "{REWRITE}");
}

#[test]
fn nothing_in_it_is_a_misfit() {
    assert_eq!(anomalies(&book()), []);
}

#[test]
fn a_session_opens_each_chain_once_and_again_when_the_phone_changes_hands() {
    // By hand: the kit before and after Ada has the phone, register and visit once each; Ben's visit; after the restart the visit.
    let opens = entries().into_iter().filter_map(|entry| Some((entry.chain.scope, entry.opens?.who)));
    let (kit, site, visit) = (Scope::Kit, Scope::Site(id(writer::SITE)), Scope::Visit(id(writer::VISIT)));
    let (ada, ben) = (Some(id(writer::ADA)), Some(id(writer::BEN)));
    let expected = [(kit, None), (kit, ada), (site, ada), (visit, ada), (visit, ben), (visit, ada)];
    assert_eq!(opens.collect::<Vec<_>>(), expected);
}

#[test]
fn its_kit_is_what_was_put_in() {
    let book = book();
    let kit = Kit::of(&book);
    let heater = &kit.heaters[&id(writer::HEATER)];
    assert_eq!(heater.name.now(), Some(&kit::heater_name()));
    assert_eq!(heater.heating.now(), Some(&kit::heating()));
    assert_eq!(heater.metrology.now(), Some(&kit::metrology()));
    assert_eq!(kit.procedures[&id(writer::FUNCTIONAL)].now().map(|p| p.kind), Some(ProcedureKind::Functional));
    assert_eq!(kit.rule_sets[&id(writer::RULES)].now(), Some(&kit::rule_set()));
    assert_eq!(kit.people[&id(writer::BEN)].now().map(|ben| ben.retired), Some(true));
    assert_eq!((kit.phones.len(), has_phone(&book, id(1))), (1, Some(id(writer::ADA))));
    // The end of its one usable profile run: what a test names.
    let profile = profile_of(&book, id(writer::HEATER), Some(&"steady".to_string()));
    assert_eq!(profile, Test::of(&book, id(writer::TEST)).unwrap().frozen.heater.profile);
    assert_eq!(profile.len(), 1);
}

#[test]
fn its_register_is_what_was_put_in() {
    let register = Register::of(&book());
    let site = register.sites[&id(writer::SITE)].now().unwrap();
    assert_eq!((site.name.as_str(), site.invented), ("Invented mill, north", true));
    let rules = register.site_rules[&id(writer::SITE)].now().unwrap();
    assert_eq!((rules.rules.len(), rules.notify.len(), rules.impairment_limit_min), (2, 2, Some(240)));
    assert_eq!(register.circuits[&id(writer::ZONE)].now().map(|zone| zone.releasing), Some(None));
    let tags = |area| register.positions_of(id(area)).iter().map(|(_, p)| p.tag().to_string()).collect::<Vec<_>>();
    // Of the yard's the second comes first by its number; those of the import follow by their tags.
    assert_eq!(tags(writer::HALL), ["HD-1"]);
    assert_eq!(tags(writer::YARD), ["HD-2", "HD-3", "ROW-0", "ROW-1"]);
    // Retired, and that was undone.
    assert!(!register.positions[&id(writer::H2)].retired());
    // Replaced, undone, and that undone: the new one hangs there.
    let position = &register.positions[&id(writer::H1)];
    assert_eq!(position.detector(), Some(id(writer::D1_NEW)));
    let removed = position.installed.iter().find(|installed| installed.detector == id(writer::D1)).unwrap().removed;
    assert_eq!(removed.map(|(why, _)| why), Some(RemovedWhy::WrongType));
    assert_eq!(register.positions[&id(writer::H3)].detector(), None);
}

#[test]
fn its_visit_is_closed_and_some_of_it_is_still_off() {
    let visits = visits(&book());
    let visit: &Visit = &visits[0];
    assert_eq!((visits.len(), visit.site, visit.phones.len()), (1, id(writer::SITE), 2));
    assert_eq!((visit.closed.len(), visit.still_off(), visit.active().count(), visit.over()), (1, 3, 0, false));
    // Its station was never told that testing is over, its first permit was not handed back, and one test tripped without a restore.
    let off = visit.off_now();
    let as_said = matches!(off[0].what, StillOff::OnTest { .. })
        && matches!(off[1].what, StillOff::Unrestored { .. })
        && matches!(off[2].what, StillOff::Permit(_));
    assert!(as_said, "{off:?}");
    assert_eq!(visit.attended.len(), 2);
    assert_eq!(visit.plan.now().and_then(|plan| plan.edition.as_deref()), Some("an invented code, 2026"));
    let station = visit.notice(Whom::SupervisingStation, NotifyWhen::Before).unwrap();
    assert_eq!((station.notice.answer, station.notice.account.as_deref()), (NotifyAnswer::Notified, Some("INV-4711")));
    assert_eq!((visit.impaired.len(), visit.secured.len(), visit.pairs.len()), (2, 2, 2));
    assert_eq!((visit.permits.len(), visit.permits[1].permit.gas_tested_at), (2, None));
    assert_eq!((visit.alarms.len(), visit.alarms_not_cleared().count()), (2, 0));
    let item = visit.items.iter().find(|item| item.found.test.is_some()).unwrap();
    assert_eq!(item.told.iter().map(|told| told.in_writing).collect::<Vec<_>>(), [true]);
    assert_eq!(item.closed.iter().map(|(how, _)| *how).collect::<Vec<_>>(), [ItemClosed::ReplacedAndTested]);
    assert_eq!((visit.work.len(), visit.retests.len()), (4, 2));
}

#[test]
fn a_closing_a_signature_and_a_receipt_say_what_they_cover() {
    let entries = entries();
    let of_visit = |entry: &&Entry| matches!(entry.chain.scope, Scope::Visit(_));
    for (at, entry) in entries.iter().enumerate() {
        let covers: &[ChainEnd] = match &entry.body {
            Body::VisitClosed { covers } => covers,
            Body::Signature(signature) => &signature.covers,
            Body::Delivered(delivered) => &delivered.covers,
            _ => continue,
        };
        for end in covers {
            let before = entries[..at].iter().filter(of_visit).filter(|other| other.chain.phone == end.phone);
            let covered: Vec<&Entry> = before.take(usize::try_from(end.count).unwrap()).collect();
            assert_eq!(covered.last().map(|last| (last.seq + 1, last.hash)), Some((end.count, end.last)));
        }
        assert_eq!(covers.len(), 2, "both phones' chains");
    }
}

#[test]
fn what_was_drawn_follows_from_the_seed() {
    for entry in entries() {
        let Body::SampleDrawn(sample) = entry.body else { continue };
        let Sample { from, seed, drawn, .. } = (*sample).clone();
        let mut order: Vec<_> = from.into_iter().map(|id| (sha256_hex(format!("{seed}{id}").as_bytes()), id)).collect();
        order.sort();
        order.truncate(drawn.len());
        assert_eq!(order.into_iter().map(|(_, id)| id).collect::<Vec<_>>(), drawn);
    }
}

#[test]
fn its_first_test_says_what_happened() {
    let test = Test::of(&book(), id(writer::TEST)).unwrap();
    // By hand: tapped 80 s after heat on and moved 2 s earlier; a slip after 5 s.
    let marks: Vec<_> = test.marks.iter().map(|mark| (mark.what, mark.at, mark.moved_ms)).collect();
    assert_eq!(marks, [(What::HeatOn, TestTime(0), 0), (What::Tripped, TestTime(78_000), -2_000)]);
    assert_eq!(
        test.struck.iter().map(|mark| (mark.what, mark.at)).collect::<Vec<_>>(),
        [(What::Tripped, TestTime(5_000))]
    );
    let trip = test.marks[1].hash;
    let reading = test.reading_of(trip).unwrap();
    assert_eq!(
        (reading.reading, reading.at, reading.corrected_from),
        (f(1925, -1), TestTime(81_000), Some(f(1295, -1)))
    );
    assert_eq!((test.readings.len(), test.withdrawn.len()), (1, 1));
    assert_eq!(test.panel(trip), Some((Point::Wrong, Some("Zone 9".into()))));
    assert_eq!(test.restore_said.last().map(|said| said.restored), Some(Answer::Yes));
    // By hand: read 81, corrected 82, confirmed 83, slip 84 and 85, panel 86, move 87, proof 88, gap 89 + 119 asleep = 208,
    // answer 209, stopped 210.
    assert_eq!(test.ended, Some((Ending::StoppedEarly, TestTime(210_000))));
    let notes: Vec<_> = test.clock_notes.to_vec();
    assert!(
        matches!(notes[..], [(TestTime(208_000), ClockNote::Asleep { for_ms: 119_000, answered: true, .. })]),
        "{notes:?}"
    );
    let trips = Timeline::of(&test, TestTime(1_000_000)).trips;
    assert_eq!(trips.iter().map(|trip| trip.not_counted).collect::<Vec<_>>(), [Some(NotCounted::First)]);
    assert_eq!(test.notes.len(), 1);
}

#[test]
fn its_second_test_was_finished_by_the_other_phone() {
    let test = Test::of(&book(), id(writer::TEST_2)).unwrap();
    assert_eq!((test.phone, test.keeper), (id(1), id(2)));
    // By hand: the other phone took over 1 s, marked 2 s and 3 s and ended 4 s after heat on, by the same wall.
    let marks: Vec<_> = test.marks.iter().map(|mark| (mark.what, mark.at)).collect();
    assert_eq!(marks, [(What::HeatOn, TestTime(0)), (What::AtTop, TestTime(2_000)), (What::Lowered, TestTime(3_000))]);
    assert_eq!(test.ended, Some((Ending::NoTrip, TestTime(4_000))));
    assert_eq!(test.clock_notes, [(TestTime(0), ClockNote::OtherPhone { away_ms: 1_000 })]);
    assert_eq!(test.judged.map(|judged| judged.did_not_operate), Some(true));
    assert_eq!(test.corrections.len(), 1);
}

#[test]
fn its_third_test_is_as_left() {
    let book = book();
    let test = Test::of(&book, id(writer::TEST_3)).unwrap();
    let work = book.get(test.frozen.after.unwrap()).map(|entry| entry.body.name());
    assert_eq!((test.frozen.follows, work), (Some(id(writer::TEST)), Some("replaced")));
    // By hand: heat on, a minute and a second later the trip, each further mark 1 s and one entry between; the last was undone.
    let marks: Vec<_> = test.marks.iter().map(|mark| (mark.what, mark.at)).collect();
    let expected = [
        (What::HeatOn, TestTime(0)),
        (What::Tripped, TestTime(61_000)),
        (What::HeaterOff, TestTime(63_000)),
        (What::Restored, TestTime(64_000)),
        (What::PanelReset, TestTime(65_000)),
    ];
    assert_eq!(marks, expected);
}
