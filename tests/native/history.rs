//! What was done at a position over the years.

use crate::sample::*;
use soakbook::book::Id;
use soakbook::book::body::{
    Answer, Body, Ending, Method, NotTested, NotTestedWhy, OtherMethod, Point, RestoreWord, VisualCheck, Who,
};
use soakbook::book::entries::Book;
use soakbook::findings::history::{Done, DoneWhat, of_position, of_site};
use soakbook::findings::{AsRead, Failed, Outcome};
use soakbook::trade::conditions::Visual;

/// The position of test 1, and one that is in no register: provisional, and never settled.
const POSITION: u128 = 1001;
const OTHER: u128 = 1002;

fn other(phone: &Phone, test: u128, position: u128, results: (Answer, Point, Answer)) -> Body {
    let (tripped, point, restored) = results;
    let of = OtherMethod {
        test: id(test),
        position: id(position),
        detector: Some(id(position + 1000)),
        method: Method::WarmAir,
        basis: None,
        tripped,
        point,
        said: None,
        restored,
        by: Who::Person(id(PERSON)),
        note: None,
        happened: phone.happened(),
    };
    Body::OtherMethod(of.into())
}

fn visual(phone: &Phone, position: u128, found: Vec<Visual>) -> Body {
    let (by, happened) = (Who::Person(id(PERSON)), phone.happened());
    let (position, detector) = (id(position), None);
    Body::VisualCheck(VisualCheck { position, detector, found, by, note: None, photo: None, happened }.into())
}

fn not_tested(phone: &Phone, position: u128) -> Body {
    let of = NotTested {
        position: id(position),
        why: NotTestedWhy::NotAccessible,
        not_allowed_by: None,
        note: None,
        photo: None,
        by: Who::Person(id(PERSON)),
        happened: phone.happened(),
    };
    Body::NotTested(of.into())
}

/// Two visits, a year apart: tested and passed, looked at, not reached; then warm air without a sign at the panel.
fn two_visits() -> Phone {
    let mut phone = Phone::new();
    phone.test(started(1), &read(&["87", "88", "88", "88", "88"]), Ending::Done);
    phone.mono += 60_000;
    phone.in_visit(visual(&phone, POSITION, vec![Visual::Dirty]));
    phone.mono += 60_000;
    phone.in_visit(not_tested(&phone, OTHER));
    phone.visit = VISIT + 1;
    // 365 days later.
    phone.mono += 31_536_000_000;
    phone.in_visit(Body::VisitOpened { site: id(SITE) });
    phone.in_visit(other(&phone, 900, POSITION, (Answer::Yes, Point::NotThere, Answer::Yes)));
    phone.in_visit(Body::VisitClosed { covers: Vec::new() });
    phone
}

fn outcomes(history: &[Done]) -> Vec<Option<Outcome>> {
    history.iter().map(Done::outcome).collect()
}

#[test]
fn a_position_tells_what_was_done_to_it_in_the_order_of_time() {
    let phone = two_visits();
    let history = of_position(&phone.book, id(POSITION));
    assert_eq!(
        outcomes(&history),
        [Some(Outcome::Passed), None, Some(Outcome::Failed(Failed::NotAtPanel))],
        "a test, a look, warm air"
    );
    assert_eq!(history.iter().map(Done::passed).collect::<Vec<_>>(), [true, false, false]);
    assert_eq!(history.iter().map(|done| done.visit).collect::<Vec<_>>(), [VISIT, VISIT, VISIT + 1].map(id));
    assert_eq!(history.iter().map(|done| done.closed).collect::<Vec<_>>(), [false, false, true]);
    assert_eq!(history[0].detector, Some(id(2001)), "the detector of the time");
    assert_eq!(history[1].what, DoneWhat::Visual(vec![Visual::Dirty]));
    let DoneWhat::Test(test) = &history[0].what else { panic!("a test") };
    // The first of five trips is not averaged, the others read 88 °C, the rating; limits −3 K and +4 K.
    assert_eq!(test.operating.map(|(mean, _)| mean.0), Some(88.0));
    assert_eq!(test.as_read, Some(AsRead::Within));
    assert_eq!(test.frozen.heater.name.name, "Heater one");
}

#[test]
fn what_was_not_tested_says_why_and_has_not_passed() {
    let phone = two_visits();
    let history = of_position(&phone.book, id(OTHER));
    let [done] = &history[..] else { panic!("one fact") };
    let DoneWhat::NotTested(of) = &done.what else { panic!("not tested") };
    assert_eq!((of.why, done.outcome(), done.passed()), (NotTestedWhy::NotAccessible, None, false));
}

#[test]
fn another_method_passes_with_all_three_results_and_not_with_two() {
    use Answer::{No, NotChecked, Yes};
    let expected = [
        ((Yes, Point::Right, Yes), Outcome::Passed),
        ((Yes, Point::NotChecked, Yes), Outcome::NotVerified { panel: false, restore: true }),
        ((Yes, Point::Right, NotChecked), Outcome::NotVerified { panel: true, restore: false }),
        ((Yes, Point::Wrong, Yes), Outcome::Failed(Failed::WrongPoint)),
        ((Yes, Point::Right, No), Outcome::Failed(Failed::StaysInAlarm)),
        ((No, Point::Right, Yes), Outcome::Failed(Failed::NoAlarm)),
        ((NotChecked, Point::Right, Yes), Outcome::NotDecided),
    ];
    for (results, outcome) in expected {
        let mut phone = Phone::new();
        phone.in_visit(other(&phone, 900, POSITION, results));
        assert_eq!(outcomes(&of_position(&phone.book, id(POSITION))), [Some(outcome)], "{results:?}");
    }
}

#[test]
fn of_another_method_the_last_word_on_its_restore_counts() {
    use Answer::{No, NotChecked, Yes};
    let expected = [(Yes, Outcome::Passed), (No, Outcome::Failed(Failed::StaysInAlarm))];
    for (restored, outcome) in expected {
        let mut phone = Phone::new();
        phone.in_visit(other(&phone, 900, POSITION, (Yes, Point::Right, NotChecked)));
        let (by, happened) = (Who::Person(id(PERSON)), phone.happened());
        phone.in_visit(Body::RestoreSaid(RestoreWord { test: id(900), restored, by, happened }.into()));
        assert_eq!(outcomes(&of_position(&phone.book, id(POSITION))), [Some(outcome)], "{restored:?}");
    }
}

#[test]
fn what_was_undone_counts_for_nothing() {
    let mut phone = Phone::new();
    let test = phone.test(started(1), &read(&["87", "88", "88", "88", "88"]), Ending::Done);
    let look = phone.in_visit(visual(&phone, POSITION, Vec::new()));
    let start = phone.book.test_origins(test).next().expect("a start").hash;
    for entry in [look, start] {
        let undoes = phone.book.get(entry).expect("the entry").decision();
        phone.in_visit(Body::Undone { undoes });
    }
    assert_eq!(of_position(&phone.book, id(POSITION)), []);
    assert!(of_site(&phone.book, id(SITE)).is_empty());
}

#[test]
fn a_site_says_of_each_position_what_the_position_says_by_itself() {
    let phone = two_visits();
    let site = of_site(&phone.book, id(SITE));
    assert_eq!(site.keys().copied().collect::<Vec<Id>>(), [POSITION, OTHER].map(id));
    for (position, history) in &site {
        assert_eq!(*history, of_position(&phone.book, *position));
    }
    assert!(of_site(&phone.book, id(OTHER_SITE)).is_empty(), "another customer's");
}

#[test]
fn the_order_in_which_entries_arrive_does_not_matter() {
    let phone = two_visits();
    let mut entries: Vec<_> = phone.book.entries().cloned().collect();
    entries.reverse();
    let mut book = Book::default();
    entries.into_iter().for_each(|entry| book.apply(entry));
    assert_eq!(of_site(&book, id(SITE)), of_site(&phone.book, id(SITE)));
}

#[test]
fn a_test_that_has_not_ended_has_not_passed() {
    let mut phone = Phone::new();
    phone.in_visit(Body::TestStarted(started(1).into()));
    assert_eq!(outcomes(&of_position(&phone.book, id(POSITION))), [Some(Outcome::InProgress)]);
}
