//! The card on every screen, the page of what is off, and the page that closes.

use super::*;
use soakbook::book::body::{Body, PlannedPositions};
use soakbook::book::entry::{Chain, Scope};
use soakbook::book::visit::headings;
use soakbook::units::{Degree, Wall};
use soakbook::view::find::{Filter, Index, Seek};
use soakbook::view::leaving::Leaving;
use soakbook::view::page::text::text;
use soakbook::view::page::{Action, Kind, Page, Row};
use soakbook::view::route::{Form, Route};
use soakbook::view::visit::VisitScreen;
use soakbook::view::visit::page as visits;

const MINUTE: i64 = 60 * SECOND;

fn leaving<T>(world: &World, now: Wall, with: impl FnOnce(&Leaving<'_>) -> T) -> T {
    let (register, visit) = (world.register(), world.visit());
    with(&Leaving { book: &world.book, register: &register, visit: &visit, offset_min: 0, now })
}

fn rows(page: &Page) -> Vec<Row> {
    let rows = page.blocks.iter().filter_map(|block| match &block.kind {
        Kind::Rows(rows) => Some(rows.rows.clone()),
        _ => None,
    });
    rows.flatten().collect()
}

/// The line whose title has these words, and where its keys lead.
fn leads(page: &Page, words: &str) -> Vec<Route> {
    let row = rows(page).into_iter().find(|row| row.title.contains(words));
    let row = row.unwrap_or_else(|| panic!("no {words} in\n{}", text(page)));
    let to = |action: &Action| if let Action::Go(place) = action { Some(*place) } else { None };
    row.buttons.iter().filter_map(|button| to(&button.action)).collect()
}

#[test]
fn the_card_says_everything_that_is_off_with_its_minutes() {
    // rule B19.
    let mut world = World::given();
    world.act(secure("Door 7"));
    world.act(impair(None));
    world.act(open_pair(|_| {}));
    let card = leaving(&world, MORNING + 47 * MINUTE, |of| of.card()).expect("a card");
    let lines: Vec<(&str, &str)> = card.lines.iter().map(|line| (line.what.as_str(), line.minutes.as_str())).collect();
    let expected = ["Whole system impaired", "Door 7 secured", "HD-1: wires lifted", "Station on test"];
    assert_eq!(lines, expected.map(|what| (what, "47 min")));
    assert_eq!(card.alerts, [""; 0]);
    let soon = leaving(&world, MORNING + 3 * HOUR + 31 * MINUTE, |of| of.card()).expect("a card");
    assert!(soon.alerts[0].contains("The system: impaired 3 h 31 min in 24 h, limit 4 h 00 min"), "{soon:?}");
    let over = leaving(&world, MORNING + 5 * HOUR, |of| of.card()).expect("a card");
    assert!(over.alerts[0].contains("Notify the AHJ"), "{over:?}");
    assert_eq!(leaving(&World::not_notified(), MORNING, |of| of.card()), None);
}

#[test]
fn the_card_warns_of_the_stations_window() {
    let mut world = World::not_notified();
    let until = MORNING + 2 * HOUR;
    world.act(notify(Whom::SupervisingStation, NotifyAnswer::Notified, |notice| notice.test_until = Some(until)));
    let alerts = |now| leaving(&world, now, |of| of.card()).expect("a card").alerts;
    assert_eq!(alerts(until - 16 * MINUTE), [""; 0]);
    assert!(alerts(until - 15 * MINUTE)[0].contains("in 15 min"));
    assert!(alerts(until)[0].contains("Call them before the next heat"));
}

#[test]
fn each_line_that_closing_waits_for_leads_to_what_settles_it() {
    // rule B20: each line jumps to its remedy.
    let mut world = World::given();
    let off = world.act(impair(None));
    let trip = tripped(&mut world);
    let invitation = world.act(Command::InvitePhone { visit: id(VISIT), name: Hash::of(b"salted name") });
    let chain = Chain { scope: Scope::Visit(id(VISIT)), phone: world.phone.id };
    let (seq, tip) = world.book.tip(chain).map(|tip| (tip.seq + 1, tip.hash)).unwrap();
    let plan = PlannedPositions { positions: vec![id(OTHER_POSITION)], planned: true, why: None, sample: None };
    let plan = sealed(chain, seq, Some(tip), world.phone.stamp(), Body::PositionsPlanned(plan.into()));
    world.book.apply(plan);
    let page = leaving(&world, world.phone.wall, |of| of.closing());
    assert!(!text(&page).contains("[Close visit]"));
    assert_eq!(leads(&page, "Whole system"), [Form::Restore(off), Form::LeaveOff(off)].map(Route::Form));
    assert_eq!(leads(&page, "HD-1: restore"), [Form::Restored(id(TEST)), Form::LeaveOff(trip)].map(Route::Form));
    // 9 + 1: the step that tells the supervising station that it is over.
    let notice = station(&world);
    assert_eq!(leads(&page, "Station on test"), [Form::Notify(10), Form::LeaveOff(notice)].map(Route::Form));
    assert_eq!(leads(&page, "Panel as left"), [Route::Form(Form::Panel(2))]);
    let untested = [Route::Before(id(OTHER_POSITION)), Route::Form(Form::NotTested(id(OTHER_POSITION)))];
    assert_eq!(leads(&page, "HD-2: no result"), untested);
    assert_eq!(leads(&page, "visit file"), [Route::Handover, Route::Form(Form::Excuse(invitation))]);
    world.act(leave_off(off, MORNING + 10 * HOUR, |_| {}));
    let page = leaving(&world, world.phone.wall, |of| of.closing());
    assert!(text(&page).contains("## Left off") && text(&page).contains("accepted by"), "{}", text(&page));
}

#[test]
fn a_visit_closes_from_its_page_once_nothing_is_missing() {
    let mut world = World::given();
    world.leave();
    let page = leaving(&world, world.phone.wall, |of| of.closing());
    assert!(text(&page).contains("[Close visit]"), "{}", text(&page));
    world.act(close());
    assert!(text(&leaving(&world, world.phone.wall, |of| of.closing())).contains("Visit closed"));
}

#[test]
fn a_break_shows_what_needs_its_own_tick_again() {
    // rule B17.
    let mut world = World::given();
    let door = world.act(secure("Door 7"));
    let notice = station(&world);
    world.wait(SECOND).act(start_break(&[door, notice], &[]));
    let page = leaving(&world, world.phone.wall, |of| of.page());
    assert!(text(&page).contains("[End the break]"), "{}", text(&page));
    world.wait(SECOND).act(end_break());
    let page = text(&leaving(&world, world.phone.wall, |of| of.page()));
    for words in ["## Off again after the break", "- Door 7", "[Off again]", "- Supervising station", "[Take a break"] {
        assert!(page.contains(words), "{words} is not in\n{page}");
    }
}

fn visit_page(world: &World) -> String {
    let now = world.phone.wall;
    let (register, visit) = (world.register(), world.visit());
    let unit = soakbook::units::Degree::F;
    let screen = soakbook::view::visit::VisitScreen::of(&world.book, &register, &visit, None, unit, 0, now);
    text(&screen.page(now))
}

#[test]
fn the_list_says_why_a_position_is_not_tested_and_what_another_method_gave() {
    let mut world = World::given();
    world.act(not_tested(POSITION, NotTestedWhy::Obstructed, |_| {}));
    world.act(other_method(OTHER_POSITION, |_| {}));
    let page = visit_page(&world);
    for words in ["<Obstructed>", "<Passed, other method>"] {
        assert!(page.contains(words), "{words} is not in\n{page}");
    }
    let mut open = World::given();
    open.act(other_method(OTHER_POSITION, |other| other.restored = Answer::NotChecked));
    assert!(visit_page(&open).contains("<Tripped, restore not verified>"));
}

#[test]
fn the_first_alarm_of_a_circuit_is_asked_about_until_it_is_answered() {
    // rule B7.
    let mut world = World::given();
    assert!(!visit_page(&world).contains("First alarm on Zone 1"));
    tripped(&mut world);
    assert!(visit_page(&world).contains("First alarm on Zone 1"), "{}", visit_page(&world));
    world.act(prove(Outputs::Stayed));
    assert!(!visit_page(&world).contains("First alarm on Zone 1"));
}

#[test]
fn a_closed_visit_with_something_off_says_so() {
    let mut one = World::given();
    let mut two = one.other_phone();
    two.wait(SECOND).act(impair(None));
    one.leave().act(close());
    assert!(!visit_page(&one).contains("Closed, still off"));
    let merged = one.merged(&two);
    assert!(visit_page(&merged).contains("Closed, still off"), "{}", visit_page(&merged));
    let card = leaving(&merged, merged.phone.wall, |of| of.card()).expect("a card");
    assert_eq!(card.title, "Closed, still off");
}

#[test]
fn what_another_visit_took_out_today_counts_too() {
    let mut world = World::given();
    let off = world.act(impair(None));
    world.wait(3 * HOUR);
    let back = happened(world.phone.wall);
    world.act(Command::Restore { ends: off, by: me(), happened: back });
    world.leave().act(close());
    let next = id(200);
    world.wait(SECOND).act(Command::OpenVisit { visit: next, site: id(SITE), plan: plan() });
    let Command::Impair { mut impaired, .. } = impair(None) else { unreachable!() };
    impaired.happened = happened(world.phone.wall);
    world.wait(SECOND).act(Command::Impair { visit: next, impaired });
    let visit = soakbook::book::visit::Visit::of(&world.book, next).expect("a visit");
    let now = world.phone.wall + 31 * MINUTE;
    let of = Leaving { book: &world.book, register: &world.register(), visit: &visit, offset_min: 0, now };
    // By hand: three hours this morning, and half an hour now.
    assert!(of.card().expect("a card").alerts[0].contains("impaired 3 h 31 min"), "{:?}", of.card());
}

#[test]
fn two_wrong_points_that_fit_each_other_are_said_to_look_swapped() {
    // rule B24.
    let mut world = World::given();
    let mut trip = |test: u8, position: u8, said: &str| {
        world.wait(SECOND).act(start_with(|start| {
            (start.test, start.position, start.procedure) = (id(test), id(position), Some(id(FUNCTIONAL)));
        }));
        let trip = world.wait(60 * SECOND).act(Command::Mark { of: id(test), what: What::Tripped });
        world.act(Command::SayPanel { trip, point: Point::Wrong, said: Some(said.into()) });
        world.wait(SECOND).act(Command::Mark { of: id(test), what: What::Restored });
        visit_page(&world)
    };
    assert!(!trip(TEST, POSITION, "hd-2 ").contains("look swapped"));
    let page = trip(OTHER_TEST, OTHER_POSITION, "HD-1");
    assert!(page.contains("HD-1 and HD-2 look swapped"), "{page}");
    world.act(Command::FindSwapped { visit: id(VISIT), one: id(POSITION), other: id(OTHER_POSITION) });
    assert!(!visit_page(&world).contains("HD-1 and HD-2 look swapped"));
    assert!(visit_page(&world).contains("HD-1 and HD-2: Points look swapped"), "{}", visit_page(&world));
}

#[test]
fn the_list_of_visits_says_which_is_closed_with_something_off() {
    // rule B18.
    let mut one = World::given();
    let mut two = one.other_phone();
    two.wait(SECOND).act(impair(None));
    one.leave().act(close());
    let merged = one.merged(&two);
    let list = |world: &World, whole| {
        let headed: Vec<_> =
            headings(&world.book).into_iter().map(|of| (of, of.state(&world.book, world.phone.wall))).collect();
        text(&visits::choose(&world.register(), &headed, whole, |_| 0))
    };
    let (closed, off) = (list(&one, true), list(&merged, true));
    assert!(closed.contains("· closed") && !closed.contains("still off"), "{closed}");
    assert!(off.contains("· closed, still off"), "{off}");
}

#[test]
fn what_is_not_tested_for_a_reason_is_still_found_as_not_tested() {
    let mut world = World::given();
    world.act(not_tested(POSITION, NotTestedWhy::OutOfTime, |_| {}));
    let register = world.register();
    let screen = VisitScreen::of(&world.book, &register, &world.visit(), None, Degree::F, 0, MORNING);
    let seek = Seek { filter: Some(Filter::Untested), ..Seek::default() };
    let found = text(&screen.found(&Index::of(&register), &seek));
    assert!(found.contains("- HD-1: "), "{found}");
}

#[test]
fn a_closed_visit_whose_acceptance_ran_out_says_so_and_can_be_settled_from_its_pages() {
    let mut world = World::given();
    let (notice, until) = (station(&world), MORNING + HOUR);
    world.act(leave_off(notice, until, |_| {}));
    world.wait(SECOND).act(see_panel(soakbook::book::body::PanelWhen::Left, |_| {}));
    let ready = text(&leaving(&world, world.phone.wall, |of| of.closing()));
    assert!(ready.contains("Nothing left to do. What stays off is listed below."), "{ready}");
    world.wait(SECOND).act(close());
    assert!(visit_page(&world).contains("Visit closed."), "{}", visit_page(&world));
    world.wait(HOUR);
    let page = visit_page(&world);
    assert!(page.contains("Closed, still off") && !page.contains("Visit closed."), "{page}");
    assert!(page.contains("[Reopen"), "{page}");
    let off = leaving(&world, world.phone.wall, |of| of.page());
    assert_eq!(leads(&off, "Station on test"), [Form::Notify(10), Form::LeaveOff(notice)].map(Route::Form));
}

#[test]
fn a_panel_that_a_merge_shows_not_normal_is_on_the_card() {
    let mut one = World::given();
    let mut two = one.other_phone();
    two.wait(SECOND).act(see_panel(soakbook::book::body::PanelWhen::Left, |panel| {
        (panel.normal, panel.troubles) = (false, vec!["Ground fault".into()]);
    }));
    one.leave().act(close());
    let merged = one.merged(&two);
    let card = leaving(&merged, merged.phone.wall, |of| of.card()).expect("a card");
    assert_eq!(card.lines.iter().map(|line| line.what.as_str()).collect::<Vec<_>>(), ["Panel as left not normal"]);
    let off = leaving(&merged, merged.phone.wall, |of| of.page());
    assert_eq!(leads(&off, "Panel as left")[0], Route::Form(Form::Panel(2)));
}

#[test]
fn the_list_shows_whichever_of_test_and_other_method_was_made_last() {
    let mut world = World::given();
    world.act(other_method(POSITION, |other| other.restored = Answer::No));
    assert!(visit_page(&world).contains("<Stays in alarm>"), "{}", visit_page(&world));
    // A heat test follows it.
    tripped(&mut world);
    assert!(!visit_page(&world).contains("<Stays in alarm>"), "{}", visit_page(&world));
    let now = world.wait(SECOND).phone.wall;
    let passed = |at| other_method(POSITION, |other| (other.test, other.happened) = (id(91), happened(at)));
    // One that was made before it and is recorded after it takes the place of nothing, as in the history.
    let mut before = world.clone();
    before.act(passed(MORNING));
    assert!(!visit_page(&before).contains("<Passed, other method>"), "{}", visit_page(&before));
    world.act(passed(now));
    assert!(visit_page(&world).contains("<Passed, other method>"), "{}", visit_page(&world));
    // That nobody knows whether it tripped is no result and takes the place of none.
    world.wait(SECOND).act(other_method(POSITION, |other| {
        (other.test, other.tripped) = (id(92), Answer::NotChecked);
        (other.point, other.restored) = (Point::NotChecked, Answer::NotChecked);
    }));
    assert!(visit_page(&world).contains("<Passed, other method>"), "{}", visit_page(&world));
}

#[test]
fn another_method_that_nobody_saw_trip_does_not_count_as_tested() {
    let mut world = World::given();
    let before = visit_page(&world);
    let counted = |page: &str| page.lines().find(|line| line.contains("of 2")).map(str::to_string);
    world.act(other_method(POSITION, |other| {
        (other.tripped, other.point, other.restored) = (Answer::NotChecked, Point::NotChecked, Answer::NotChecked);
    }));
    let page = visit_page(&world);
    assert!(page.contains("<Other method, not decided>"), "{page}");
    assert!(counted(&before).is_some() && counted(&before) == counted(&page), "{before}\n{page}");
}

#[test]
fn without_a_visit_the_pages_say_so_and_lead_back() {
    use soakbook::view::leaving::{closing_without_visit, off_without_visit};
    for (page, words) in [
        (off_without_visit(false), "Nothing is off in any open visit."),
        (off_without_visit(true), "Something is off in another visit."),
        (closing_without_visit(), "There is nothing to close."),
    ] {
        let said = text(&page);
        assert!(said.contains("No visit is open here") && said.contains(words), "{said}");
        assert!(said.contains("[To the Visit screen]"), "{said}");
        assert_eq!(page.back.map(|back| back.action), Some(Action::Go(Route::Visit)));
    }
}

#[test]
fn what_a_first_alarm_did_is_a_line_of_the_visit() {
    // rule B7.
    let mut world = World::given();
    let Command::ProveCircuit { visit, mut proof } = prove(Outputs::Stayed) else { unreachable!() };
    proof.station = StationSaw::Nothing;
    world.act(Command::ProveCircuit { visit, proof });
    let page = visit_page(&world);
    assert!(page.contains("right point · outputs stayed off · station received nothing"), "{page}");
    assert!(page.contains("Zone 1: Supervising station received nothing"), "{page}");
}
