//! What is taken off and put back: impairments and secured releases.

use super::row::{Asked, Row, by, happened, row};
use super::table::{Made, Rows, Table};
use super::{Answer, Known, Wrongs, name};
use crate::book::body::{Body, Impaired, Restoring, Secured};
use crate::book::command::Command;
use crate::book::entry::Hash;
use crate::book::visit::Visit;
use crate::view::route::Form;
use crate::view::visit::release_names;

const NOT_SAID: &[(&str, &str, &str)] = &[("", "Not stated", "")];

const WHAT: Row = row!("impaired", Impaired, "what", "impaired-what", "What is impaired")
    .words(&[
        ("whole", "Whole system", ""),
        ("circuit", "A circuit", ""),
        ("zone", "A zone", ""),
        ("output", "An output", ""),
    ])
    .needed();
const CIRCUIT: Row = row!("impaired", Impaired, "circuit", "circuit", "Circuit")
    .asked(circuits)
    .shown(|asked| asked.is(&WHAT, "circuit"))
    .needed();
const LABEL: Row = row!("impaired", Impaired, "label", "label", "Zone or output")
    .shown(|asked| asked.is(&WHAT, "zone") || asked.is(&WHAT, "output"));
const WHY: Row = row!("impaired", Impaired, "why", "why", "Why");
const IMPAIRED_BY: Row = by!("impaired", Impaired);
const IMPAIRED_AT: Row = happened!("impaired", Impaired);
const TAG: Row = row!("impaired", Impaired, "tag", "impairment-tag", "Impairment tag").help("Its number.");
const GO_AHEAD: Row = row!("impaired", Impaired, "go_ahead", "go-ahead", "Owner's go-ahead from")
    .words(NOT_SAID)
    .other(name!("go-ahead-name", "Name for the owner"));
const COORDINATOR: Row = row!("impaired", Impaired, "coordinator", "coordinator", "Impairment coordinator")
    .words(NOT_SAID)
    .other(name!("coordinator-name", "Coordinator's name"));
const FIRE_WATCH: Row = row!("impaired", Impaired, "fire_watch", "fire-watch", "Fire watch").words(&[
    ("", "Not stated", ""),
    ("posted", "Posted", ""),
    ("not-required", "Not required", ""),
]);
const FIRE_WATCH_BY: Row = row!("impaired", Impaired, "fire_watch_by", "fire-watch-by", "Who watches")
    .words(NOT_SAID)
    .other(name!("fire-watch-name", "Name of who watches"))
    .shown(|asked| asked.is(&FIRE_WATCH, "posted"));

pub(super) const IMPAIR: Table = Table {
    title: |_| "Start impairment".into(),
    parts: &[
        Rows { title: "", note: "", rows: &[&[WHAT, CIRCUIT, LABEL, WHY, IMPAIRED_BY, IMPAIRED_AT]] },
        Rows {
            title: "Tag, go-ahead, coordinator, fire watch",
            note: "",
            rows: &[&[TAG, GO_AHEAD, COORDINATOR, FIRE_WATCH, FIRE_WATCH_BY]],
        },
    ],
    opens: |typed, _, _, _| typed.put(WHAT.name, "whole"),
    make: |made| Ok(vec![Command::Impair { visit: made.visit(), impaired: Box::new(made.take("impaired")?) }]),
    ..Table::PLAIN
};

fn circuits(asked: &Asked<'_>) -> Vec<Answer> {
    let known = asked.known;
    let site = known.visit.and_then(|id| Visit::of(known.book, id)).map(|visit| visit.site);
    let circuits = site.map(|site| known.register.circuits_of(site)).unwrap_or_default();
    circuits.into_iter().map(|(id, circuit)| Answer::new(id, &circuit.name)).collect()
}

const RELEASE: Row = row!("secured", Secured, "release", "release", "What is secured")
    .asked(|asked| releases(asked.known).into_iter().map(|name| Answer::new(&name, &name)).collect());
const METHOD: Row = row!("secured", Secured, "method", "method", "Method")
    .help("e.g. valve closed, actuator removed, output disabled.");
const LOCK: Row = row!("secured", Secured, "tag", "lock", "Tag or lock").help("Its number.");
const SECURED_BY: Row = by!("secured", Secured);
const VERIFIED: Row = row!("secured", Secured, "verified_by", "verified", "Verified by")
    .words(&[("", "Alone", "")])
    .other(name!("verified-name", "Name of who verified"));
const SECURED_AT: Row = happened!("secured", Secured);

fn releases(known: Known<'_>) -> Vec<String> {
    let visit = known.visit.and_then(|id| Visit::of(known.book, id));
    visit.map(|visit| release_names(known.register, &visit)).unwrap_or_default()
}

pub(super) const SECURE: Table = Table {
    title: |_| "Secure".into(),
    lead: "Secured so that a test alarm releases nothing.",
    save: "Secured",
    parts: &[Rows { title: "", note: "", rows: &[&[RELEASE, METHOD, LOCK, SECURED_BY, VERIFIED, SECURED_AT]] }],
    opens: |typed, form, known, _| {
        let Form::Secure(release) = form else { return };
        let named = releases(known).into_iter().find(|name| Hash::of(name.as_bytes()) == release);
        typed.put(RELEASE.name, named.unwrap_or_default());
    },
    make: |made| Ok(vec![Command::Secure { visit: made.visit(), secured: Box::new(made.take("secured")?) }]),
    ..Table::PLAIN
};

pub(super) const RESTORE: Table = Table {
    title: |asked| match asked.form {
        Form::Restore(ends) => match asked.known.book.get(ends).map(|entry| &entry.body) {
            Some(Body::Secured(secured)) => format!("Restore: {}", secured.release),
            Some(Body::Impaired(_)) => "Back in service".to_string(),
            _ => "Put back".to_string(),
        },
        _ => String::new(),
    },
    save: "Restored",
    parts: &[Rows { title: "", note: "", rows: &[&[by!("restored", Restoring), happened!("restored", Restoring)]] }],
    make: restore,
    ..Table::PLAIN
};

fn restore(mut made: Made<'_>) -> Result<Vec<Command>, Wrongs> {
    let Form::Restore(ends) = made.asked.form else { return Ok(Vec::new()) };
    made.put("restored.ends", &ends);
    let Restoring { by, happened, .. } = made.take("restored")?;
    Ok(vec![Command::Restore { ends, by, happened }])
}
