//! What a register and what was done there say of a detector. Each expectation is the sentence of the rule, applied by hand.

use super::pages::{NOW, other, position, say, site, site_due};
use super::*;
use crate::demo::{demo_book, give};
use crate::devices::years::test as tested;
use soakbook::book::body::{Answer, Body, Edit, Method, Point};
use soakbook::book::command::Command;
use soakbook::book::entries::Book;
use soakbook::book::entry::Scope;
use soakbook::book::register::Register;
use soakbook::findings::Failed;
use soakbook::findings::due::{Coverage, Mark, coverage, failed_samples, subjects};
use soakbook::findings::history::{self, Done, DoneWhat};
use soakbook::trade::conditions::Visual;
use soakbook::trade::detector::{Make, Status};
use soakbook::units::Degree;
use soakbook::view::page::text::text;

/// 2026-03-01, when the demonstration is loaded.
fn today() -> NaiveDate {
    day(2026, 3, 1)
}

/// A position of the demonstration, with only what these things done say of it.
fn of(book: &Book, tag: &str, done: Vec<Done>) -> Subject {
    let history = [(position(book, tag), done)].into();
    let all = subjects(&Register::of(book), site(book), &history, 0);
    all.into_iter().find(|of| of.position == position(book, tag)).unwrap()
}

/// What the years say of a position by what is in the book.
fn marks(book: &Book, tag: &str) -> Vec<Mark> {
    let history = history::of_site(book, site(book));
    let Coverage { rows, .. } = coverage(&site_due(book, None).due, &history, today(), 0);
    rows.into_iter().find(|(of, _)| *of == position(book, tag)).unwrap().1
}

fn asked(book: &Book, tag: &str) -> (State, Why) {
    let due = site_due(book, None);
    let asked = due.due.positions.iter().find(|of| of.position == position(book, tag)).unwrap().functional;
    (asked.state, asked.why)
}

#[test]
fn an_electrical_check_starts_no_year_but_its_fault_is_one() {
    let (mut book, made) = demo_book();
    other(&mut book, made.visit, "J-01", NOW, |of| of.method = Method::Electrical);
    assert_eq!(asked(&book, "J-01"), (State::Now, Why::NeverPassed), "no heat reached the element");
    assert_eq!(marks(&book, "J-01"), [Mark::Nothing]);
    other(&mut book, made.visit, "J-02", NOW, |_| ());
    assert_eq!(asked(&book, "J-02").0, State::NotUntil(day(2027, 3, 1)), "warm air does");
    other(&mut book, made.visit, "J-02", NOW + 60_000, |of| {
        (of.method, of.tripped) = (Method::Electrical, Answer::No);
    });
    assert_eq!(asked(&book, "J-02"), (State::Now, Why::NotPassed(Outcome::Failed(Failed::NoAlarm))));
}

#[test]
fn a_laboratory_has_no_panel_and_what_failed_there_is_bad_where_it_hangs() {
    let (mut book, made) = demo_book();
    let laboratory = |book: &mut Book, tag: &str, wall, tripped| {
        other(book, made.visit, tag, wall, |of| {
            (of.method, of.tripped, of.point, of.restored) = (Method::Laboratory, tripped, Point::NotThere, Answer::No);
        });
    };
    // P-03 is nonrestorable: tripped in a laboratory it counts as a good sample.
    laboratory(&mut book, "P-03", NOW, Answer::Yes);
    let done = history::of_site(&book, site(&book))[&position(&book, "P-03")].clone();
    assert_eq!(done[0].outcome(), Some(Outcome::NotVerified { panel: false, restore: false }));
    assert_eq!(marks(&book, "P-03"), [Mark::Passed]);
    let facts = of(&book, "P-03", done).facts;
    assert!(matches!(facts[..], [Fact { what: FactWhat::Functional { laboratory: true, .. }, .. }]), "{facts:?}");
    // J-01 is rate-compensated: no sample, and its circuit was not tested.
    laboratory(&mut book, "J-01", NOW, Answer::Yes);
    let done = history::of_site(&book, site(&book))[&position(&book, "J-01")].clone();
    assert_eq!(of(&book, "J-01", done).facts, []);
    other(&mut book, made.visit, "J-02", NOW, |_| ());
    laboratory(&mut book, "J-02", NOW + 60_000, Answer::No);
    assert_eq!(asked(&book, "J-02"), (State::Now, Why::NotPassed(Outcome::Failed(Failed::NoAlarm))));
}

#[test]
fn a_failed_sample_of_a_position_that_is_gone_still_counts() {
    let (mut book, made) = demo_book();
    for tag in ["P-03", "J-01"] {
        other(&mut book, made.visit, tag, NOW, |of| (of.method, of.tripped) = (Method::Laboratory, Answer::No));
    }
    let failed = |book: &Book| failed_samples(&Register::of(book), &history::of_site(book, site(book)), 0).len();
    assert_eq!(failed(&book), 0, "both are in use, and speak for themselves");
    for tag in ["P-03", "J-01"] {
        let position = position(&book, tag);
        give(&mut book, at(), Command::RetirePosition { position, retired: true }).expect("retired");
    }
    assert_eq!(failed(&book), 1, "the rate-compensated one was no sample of the nonrestorable ones");
}

fn at() -> soakbook::book::command::At {
    crate::demo::at(NOW)
}

#[test]
fn a_mistake_and_a_test_under_way_are_no_visual_check_and_no_year() {
    let (book, _) = demo_book();
    let detector = Register::of(&book).positions[&position(&book, "J-01")].detector();
    let done = |outcome, found: &[Visual]| {
        let mut done = tested(1, 70.0, |start| start.visual = Some(found.to_vec()));
        (done.at, done.detector, done.position) = (NOW, detector, position(&book, "J-01"));
        let DoneWhat::Test(test) = &mut done.what else { panic!("a test") };
        test.outcome = outcome;
        done
    };
    let visual = |outcome, found: &[Visual]| {
        let subject = of(&book, "J-01", vec![done(outcome, found)]);
        due(&[subject], terms(&[], today())).positions[0].visual.why
    };
    assert_eq!(visual(Outcome::Passed, &[]), Why::Last(today()));
    for outcome in [Outcome::Mistake, Outcome::InProgress] {
        assert_eq!(visual(outcome, &[]), Why::NeverLooked, "{outcome:?}");
        assert_eq!(visual(outcome, &[Visual::Dirty]), Why::Found(Visual::Dirty), "{outcome:?}: what was seen was seen");
        let history = [(position(&book, "J-01"), vec![done(outcome, &[])])].into();
        let years = coverage(&site_due(&book, None).due, &history, today(), 0);
        assert_eq!(years.rows[0], (position(&book, "J-01"), vec![Mark::Nothing]), "{outcome:?}");
    }
}

#[test]
fn a_position_is_retired_and_settled_only_where_every_phone_says_so() {
    let (mut book, _) = demo_book();
    let (site, of) = (site(&book), position(&book, "J-01"));
    let replaced = Register::of(&book).positions[&of].status.edit();
    let mut status = |retired, provisional| {
        let edit = Edit::new(of, replaced.into_iter().collect(), Status { retired, provisional });
        say(&mut book, Scope::Site(site), Body::PositionStatus(edit));
        let register = Register::of(&book);
        let listed = subjects(&register, site, &Default::default(), 0).into_iter().find(|it| it.position == of);
        (register.positions[&of].retired(), listed.map(|of| of.provisional))
    };
    assert_eq!(status(true, false), (true, None));
    assert_eq!(status(false, true), (false, Some(true)), "one phone keeps it, and has not settled it");
}

#[test]
fn everybody_has_the_same_day_of_installation_the_earliest_one_said() {
    let (mut book, _) = demo_book();
    let site = site(&book);
    let detector = Register::of(&book).positions[&position(&book, "P-03")].detector().unwrap();
    let replaced = Register::of(&book).detectors[&detector].make.edit();
    for installed in ["2020-01-01", "2011-06-01", "2019-01-01"] {
        let make = Make { installed_on: Some(installed.into()), ..Make::default() };
        let edit = Edit::new(detector, replaced.into_iter().collect(), make);
        say(&mut book, Scope::Site(site), Body::DetectorMake(edit));
    }
    assert_eq!(of(&book, "P-03", Vec::new()).installed, Some(day(2011, 6, 1)));
    let list = text(&site_due(&book, None).truck_page(&Register::of(&book), Degree::F));
    // 15 years after 2011-06-01, within a year of 2026-03-01.
    assert!(list.contains("- P-03: 15 years old on 2026-06-01"), "{list}");
}
