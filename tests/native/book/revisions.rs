//! One revision for each part of the book: what follows from a part is the same while its revision is.

use super::properties::{Day, flag, hostile, step};
use crate::kit::*;
use proptest::prelude::*;
use soakbook::book::Id;
use soakbook::book::body::What;
use soakbook::book::command::Command;
use soakbook::book::entries::{Attachment, Book, Part};
use soakbook::book::entry::{Entry, Hash};
use soakbook::book::kit::Kit;
use soakbook::book::profile_run::{ProfileRun, profile_runs_of};
use soakbook::book::register::Register;
use soakbook::book::test::Test;
use soakbook::book::visit::{Heading, Visit, headings, visit_ids};
use soakbook::trade::conditions::Restores;
use std::collections::BTreeMap;

/// What screens and caches take from each part, with the revision of it. From a copy, which has kept nothing.
#[derive(Debug, PartialEq)]
struct Parts {
    sites: (u64, Register),
    kit: (u64, Kit, Vec<ProfileRun>),
    visits: (u64, Vec<Heading>),
    visit: BTreeMap<Id, (u64, Option<Visit>)>,
}

impl Parts {
    fn of(book: &Book) -> Parts {
        let copy = &book.clone();
        let profile_runs = [SELF_HEATER, SELF_HEATER + 1].map(|heater| profile_runs_of(copy, id(heater))).concat();
        let visit = |visit| (visit, (book.revision(Part::Visit(visit)), Visit::of(copy, visit)));
        Parts {
            sites: (book.revision(Part::Sites), Register::of(copy)),
            kit: (book.revision(Part::Kit), Kit::of(copy), profile_runs),
            visits: (book.revision(Part::Visits), headings(copy)),
            visit: visit_ids(copy).into_iter().map(visit).collect(),
        }
    }

    /// Whether everything is the same as before where the revision is.
    fn follow(&self, before: &Parts) -> bool {
        let visit = |(id, now): (&Id, &(u64, Option<Visit>))| {
            before.visit.get(id).is_none_or(|before| before.0 != now.0 || before == now)
        };
        (self.sites.0 != before.sites.0 || self.sites == before.sites)
            && (self.kit.0 != before.kit.0 || self.kit == before.kit)
            && (self.visits.0 != before.visits.0 || self.visits == before.visits)
            && self.visit.iter().all(visit)
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_follows_from_a_part_is_the_same_while_its_revision_is(
        steps in prop::collection::vec(step(), 1..40),
        seed in any::<u64>(),
    ) {
        let mut order: Vec<Entry> = Day::live(&steps).log;
        order.sort_by_key(|entry| Hash::of(&[&seed.to_be_bytes()[..], entry.text.as_bytes()].concat()));
        let mut book = Book::default();
        let mut before = Parts::of(&book);
        for entry in order {
            book.apply(entry.clone());
            let now = Parts::of(&book);
            prop_assert!(now.follow(&before), "{}", entry.text);
            // What is here already changes nothing.
            book.apply(entry);
            prop_assert_eq!(&Parts::of(&book), &now);
            before = now;
        }
    }

    #[test]
    fn a_visit_that_was_looked_at_before_is_the_one_that_stands_there_now(flags in prop::collection::vec(flag(), 1..60)) {
        let mut book = Book::default();
        for entry in hostile(&flags) {
            book.apply(entry);
            let copy = book.clone();
            for visit in visit_ids(&book) {
                prop_assert_eq!(Visit::of(&book, visit), Visit::of(&copy, visit));
            }
            for test in book.test_ids() {
                prop_assert_eq!(Test::of(&book, test), Test::of(&copy, test));
            }
        }
    }
}

#[test]
fn a_mark_changes_its_visit_and_no_register_and_no_kit() {
    let mut world = World::running(SELF_HEATER, SET_POINT, Restores::Watched);
    let before = Parts::of(&world.book);
    world.wait(SECOND).mark(What::Tripped);
    let now = Parts::of(&world.book);
    assert_eq!((now.sites.0, now.kit.0), (before.sites.0, before.kit.0));
    assert!(now.visits.0 > before.visits.0);
    assert!(now.visit[&id(VISIT)].0 > before.visit[&id(VISIT)].0);
}

#[test]
fn an_undo_in_one_scope_changes_what_was_decided_in_the_other() {
    // A replaced detector is written to the register and to the visit.
    let mut world = World::given();
    let replaced = world.wait(SECOND).try_act(replace(POSITION)).unwrap();
    let scopes = |hash: Hash| world.entry(hash).chain.scope;
    assert!(replaced.iter().any(|hash| scopes(*hash) != scopes(replaced[0])), "both");
    let mut here = world.book.clone();
    let undone = world.wait(SECOND).try_act(Command::Undo { target: replaced[0] }).unwrap();
    for first in undone {
        let before = Parts::of(&here);
        here.apply(world.entry(first).clone());
        assert!(Parts::of(&here).follow(&before));
    }
}

#[test]
fn a_name_changes_the_attachments_alone() {
    let mut world = World::given();
    let (parts, before) = (Parts::of(&world.book), world.book.revision(Part::Attachments));
    world.book.attach(Attachment::text([7; 16], "Deputy"));
    assert!(world.book.revision(Part::Attachments) > before);
    assert_eq!(Parts::of(&world.book), parts);
}
