//! What is taken off and put back: impairments and secured releases.

use super::reader::Reader;
use super::who::{self, BY, HAPPENED, WhoNames};
use super::{Answer, Ask, Attached, Field, Known, Name, Page, Part, Typed, Wrongs, name};
use crate::book::Id;
use crate::book::body::{Body, FireWatch, Impaired, ImpairedWhat, Secured};
use crate::book::command::Command;
use crate::book::entry::Hash;
use crate::book::visit::Visit;
use crate::view::visit::release_names;

const WHAT: Name = name!("impaired-what", "What is impaired");
const CIRCUIT: Name = name!("circuit", "Circuit");
const LABEL: Name = name!("label", "Zone or output");
const WHY: Name = name!("why", "Why");
const TAG: Name = name!("impairment-tag", "Impairment tag");
const COORDINATOR: WhoNames = WhoNames {
    pick: name!("coordinator", "Impairment coordinator"),
    other: name!("coordinator-name", "Coordinator's name"),
};
const GO_AHEAD: WhoNames =
    WhoNames { pick: name!("go-ahead", "Owner's go-ahead from"), other: name!("go-ahead-name", "Name for the owner") };
const FIRE_WATCH: Name = name!("fire-watch", "Fire watch");
const FIRE_WATCH_BY: WhoNames =
    WhoNames { pick: name!("fire-watch-by", "Who watches"), other: name!("fire-watch-name", "Name of who watches") };

const WHATS: [(ImpairedWhat, &str, &str); 4] = [
    (ImpairedWhat::Whole, "whole", "Whole system"),
    (ImpairedWhat::Circuit, "circuit", "A circuit"),
    (ImpairedWhat::Zone, "zone", "A zone"),
    (ImpairedWhat::Output, "output", "An output"),
];
const WATCHES: [(FireWatch, &str, &str); 2] =
    [(FireWatch::Posted, "posted", "Posted"), (FireWatch::NotRequired, "not-required", "Not required")];

fn page_of(title: &str, lead: &'static str, fields: Vec<Field>, save: &'static str) -> Page {
    let parts = vec![Part { title: "", folded: false, note: "", fields }];
    Page { title: title.into(), lead, parts, offers: Vec::new(), save, first: None }
}

pub(super) fn open_impair(known: Known<'_>) -> Typed {
    let mut typed = Typed::default();
    typed.put(WHAT, "whole");
    who::open(&mut typed, BY, known);
    who::open_now(&mut typed, HAPPENED, known);
    typed
}

pub(super) fn impair(typed: &Typed, known: Known<'_>) -> Page {
    let whats = WHATS.iter().map(|(_, code, words)| Answer::new(code, words)).collect();
    let mut fields = vec![Field::new(WHAT, Ask::Choice(whats))];
    match typed.of(WHAT) {
        "circuit" => fields.push(Field::new(CIRCUIT, Ask::Choice(circuits(known)))),
        "zone" | "output" => fields.push(Field::new(LABEL, Ask::Line)),
        _ => {}
    }
    fields.push(Field::new(WHY, Ask::Line));
    fields.extend(who::fields(typed, BY, None, known));
    fields.push(who::happened_field());
    let mut more = vec![Field::new(TAG, Ask::Line).help("Its number.")];
    more.extend(who::fields(typed, GO_AHEAD, Some("Not said"), known));
    more.extend(who::fields(typed, COORDINATOR, Some("Not said"), known));
    let watches = std::iter::once(Answer::new("", "Not said"))
        .chain(WATCHES.iter().map(|(_, code, words)| Answer::new(code, words)));
    more.push(Field::new(FIRE_WATCH, Ask::Choice(watches.collect())));
    if typed.of(FIRE_WATCH) == "posted" {
        more.extend(who::fields(typed, FIRE_WATCH_BY, Some("Not said"), known));
    }
    let mut page = page_of("Start impairment", "", fields, "Save");
    page.parts.push(Part { title: "Tag, go-ahead, coordinator, fire watch", folded: true, note: "", fields: more });
    page
}

fn circuits(known: Known<'_>) -> Vec<Answer> {
    let site = known.visit.and_then(|id| Visit::of(known.book, id)).map(|visit| visit.site);
    let circuits = site.map(|site| known.register.circuits_of(site)).unwrap_or_default();
    circuits.into_iter().map(|(id, circuit)| Answer::new(id, &circuit.name)).collect()
}

pub(super) fn put_impair(typed: &Typed, attached: &Attached, known: Known<'_>) -> Result<Command, Wrongs> {
    let mut reader = Reader::new(typed);
    let what = reader.choose(WHAT, WHATS.iter().map(|(of, code, _)| (*of, *code))).unwrap_or(ImpairedWhat::Whole);
    let circuit =
        (what == ImpairedWhat::Circuit).then(|| reader.thing(CIRCUIT, |id| known.register.circuits.contains_key(&id)));
    let named = matches!(what, ImpairedWhat::Zone | ImpairedWhat::Output);
    let label = named.then(|| reader.name(LABEL));
    let fire_watch = reader.maybe(FIRE_WATCH, WATCHES.iter().map(|(of, code, _)| (*of, *code)));
    let impaired = Impaired {
        what,
        circuit,
        label,
        why: attached.get(WHY.key).copied(),
        tag: reader.line(TAG),
        coordinator: who::read(&mut reader, typed, COORDINATOR, attached),
        go_ahead: who::read(&mut reader, typed, GO_AHEAD, attached),
        fire_watch,
        fire_watch_by: who::read(&mut reader, typed, FIRE_WATCH_BY, attached),
        by: who::must(&mut reader, typed, BY, attached),
        happened: who::happened(&mut reader, HAPPENED, known),
    };
    reader.done(Command::Impair { visit: known.visit.unwrap_or(Id::nil()), impaired: Box::new(impaired) })
}

const RELEASE: Name = name!("release", "What is secured");
const METHOD: Name = name!("method", "Method");
const LOCK: Name = name!("lock", "Tag or lock");
const VERIFIED: WhoNames =
    WhoNames { pick: name!("verified", "Verified by"), other: name!("verified-name", "Name of who verified") };

fn releases(known: Known<'_>) -> Vec<String> {
    let visit = known.visit.and_then(|id| Visit::of(known.book, id));
    visit.map(|visit| release_names(known.register, &visit)).unwrap_or_default()
}

pub(super) fn open_secure(release: Hash, known: Known<'_>) -> Typed {
    let mut typed = Typed::default();
    let named = releases(known).into_iter().find(|name| Hash::of(name.as_bytes()) == release);
    typed.put(RELEASE, named.unwrap_or_default());
    who::open(&mut typed, BY, known);
    who::open_now(&mut typed, HAPPENED, known);
    typed
}

pub(super) fn secure(typed: &Typed, known: Known<'_>) -> Page {
    let names = releases(known).into_iter().map(|name| Answer::new(&name, &name)).collect();
    let mut fields = vec![
        Field::new(RELEASE, Ask::Choice(names)),
        Field::new(METHOD, Ask::Line).help("e.g. valve shut, actuator pulled, output disabled."),
        Field::new(LOCK, Ask::Line).help("Its number."),
    ];
    fields.extend(who::fields(typed, BY, None, known));
    fields.extend(who::fields(typed, VERIFIED, Some("Alone"), known));
    fields.push(who::happened_field());
    page_of("Secure", "Secured so that a test alarm releases nothing.", fields, "Secured")
}

pub(super) fn put_secure(typed: &Typed, attached: &Attached, known: Known<'_>) -> Result<Command, Wrongs> {
    let mut reader = Reader::new(typed);
    let secured = Secured {
        release: reader.name(RELEASE),
        method: reader.line(METHOD),
        tag: reader.line(LOCK),
        by: who::must(&mut reader, typed, BY, attached),
        verified_by: who::read(&mut reader, typed, VERIFIED, attached),
        happened: who::happened(&mut reader, HAPPENED, known),
    };
    reader.done(Command::Secure { visit: known.visit.unwrap_or(Id::nil()), secured: Box::new(secured) })
}

pub(super) fn open_restore(_: Hash, known: Known<'_>) -> Typed {
    let mut typed = Typed::default();
    who::open(&mut typed, BY, known);
    who::open_now(&mut typed, HAPPENED, known);
    typed
}

pub(super) fn restore(ends: Hash, typed: &Typed, known: Known<'_>) -> Page {
    let title = match known.book.get(ends).map(|entry| &entry.body) {
        Some(Body::Secured(secured)) => format!("Restore: {}", secured.release),
        Some(Body::Impaired(_)) => "Back in service".to_string(),
        _ => "Put back".to_string(),
    };
    let mut fields = who::fields(typed, BY, None, known);
    fields.push(who::happened_field());
    page_of(&title, "", fields, "Restored")
}

pub(super) fn put_restore(ends: Hash, typed: &Typed, attached: &Attached, known: Known<'_>) -> Result<Command, Wrongs> {
    let mut reader = Reader::new(typed);
    let by = who::must(&mut reader, typed, BY, attached);
    let happened = who::happened(&mut reader, HAPPENED, known);
    reader.done(Command::Restore { ends, by, happened })
}

pub(super) fn texts(typed: &Typed) -> Vec<(&'static str, String)> {
    let mut texts = super::text(typed, WHY);
    for names in [BY, VERIFIED, COORDINATOR, GO_AHEAD, FIRE_WATCH_BY] {
        texts.extend(who::texts(typed, names));
    }
    texts
}
