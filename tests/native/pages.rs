//! Pages as values: what they read as, what goes on paper, and where their keys lead.

use crate::demo::{at, demo_book, give};
use crate::sample::{PHONE, Phone, VISIT, id, read, started};
use soakbook::book::Id;
use soakbook::book::body::{Ending, NotifyAnswer, Who, Whom};
use soakbook::book::command::Command;
use soakbook::book::decide::decide;
use soakbook::book::entries::Book;
use soakbook::book::kit::Kit;
use soakbook::book::register::Register;
use soakbook::book::test::Test;
use soakbook::book::visit::{Visit, headings};
use soakbook::findings::{Estimates, history};
use soakbook::handover::delivery::Outbox;
use soakbook::units::{Degree, Wall};
use soakbook::view::computed;
use soakbook::view::due::{self, SiteDue};
use soakbook::view::findings::FindingsScreen;
use soakbook::view::findings::one::OneTest;
use soakbook::view::findings::page as results;
use soakbook::view::forms::Known;
use soakbook::view::handover::{self, Loading, Outcome, Sending, Transfer, unread};
use soakbook::view::leaving::{Leaving, closing_without_visit, off_without_visit};
use soakbook::view::page::html::html;
use soakbook::view::page::text::text;
use soakbook::view::page::{Action, Block, Button, Kind, Page, Row};
use soakbook::view::position::{self, Shown};
use soakbook::view::prefs::Prefs;
use soakbook::view::profile::HeaterProfiles;
use soakbook::view::route::{Form, Route};
use soakbook::view::sheet::page as sheet;
use soakbook::view::visit::VisitScreen;
use soakbook::view::visit::page as visits;
use soakbook::view::{people, register, settings, walk};
use std::collections::BTreeMap;
use std::sync::Arc;

/// 2026-03-01T09:00:00Z by `date -u -d 2026-03-01T09:00:00Z +%s`, when the demonstration is loaded.
const NOW: Wall = Wall(1_772_355_600_000);

fn visit_page(book: &Book, id: Id) -> Page {
    let visit = Visit::of(book, id).expect("a visit");
    let register = Register::of(book);
    VisitScreen::of(book, &register, &visit, None, Degree::F, 0, NOW).page(NOW)
}

fn known<T>(book: &Book, visit: Id, with: impl FnOnce(Known<'_>) -> T) -> T {
    let (register, kit) = (Register::of(book), Kit::of(book));
    with(Known { register: &register, kit: &kit, book, visit: Some(visit), at: at(NOW) })
}

fn sending(book: &Book, transfer: &Transfer, whole: bool) -> Page {
    let register = Register::of(book);
    let all_of_it = &handover::all_of_it(book, &register);
    let not_sent = handover::not_handed_over(book, &transfer.handed, id(PHONE), None);
    let (register, outbox) = (&register, &Outbox::default());
    let (any, visit, day, folder, offset) = (true, None, None, "", 0);
    handover::page(Sending { any, register, visit, day, whole, not_sent, all_of_it, folder, outbox, offset, transfer })
}

/// Every page of the app over the demonstration, and one with results.
fn all() -> Vec<Page> {
    let (book, made) = demo_book();
    let drafts = BTreeMap::from([(Route::Form(Form::Site(None)).address(), String::new())]);
    let list = known(&book, made.visit, |known| register::list(known, &drafts, Some(false), Degree::F));
    let heater = *Kit::of(&book).heaters.keys().next().expect("a heater");
    let phone = id(1);
    let profiles = HeaterProfiles::of(&book, heater, phone, Degree::F, &|_| 0, &mut Estimates::default());
    let mut tested = Phone::new();
    tested.test(started(1), &read(&["80.0", "88.1", "87.6", "88.4", "87.9"]), Ending::Done);
    let (found, visit) = (Arc::new(tested.visit()), Visit::of(&tested.book, id(VISIT)).expect("a visit"));
    let headed: Vec<_> = headings(&book).into_iter().map(|of| (of, of.state(&book, NOW))).collect();
    let screen = FindingsScreen::of(&Register::of(&tested.book), &visit, &found);
    let test = Test::of(&tested.book, id(1)).expect("a test");
    let one = OneTest::of(&tested.book, &visit, &test, &found.tests[0], Degree::F, 0);
    let demo = Register::of(&book);
    let (site, area) = (*demo.sites.keys().next().expect("a site"), *demo.areas.keys().next().expect("an area"));
    let position = *demo.positions.keys().next().expect("a position");
    let shown = Visit::of(&book, made.visit).expect("a visit");
    let due = Arc::new(SiteDue::of(&book, &demo, site, history::of_site(&book, site), Some(&shown), NOW, 0));
    let leaving = || Leaving { book: &book, register: &demo, visit: &shown, offset_min: 0, now: NOW };
    let past = known(&book, made.visit, |known| {
        let (from, offset, due) = (Route::Register, &|_| 0, Some("today"));
        position::page(Shown { known, id: position, done: &[], whole: true, due, from, unit: Degree::F, offset })
    });
    vec![
        due.page(),
        due.coverage_page(),
        due.truck_page(&demo, Degree::F),
        due::rules_page(&demo, site),
        due::working(),
        known(&book, made.visit, |known| sheet::page(known, site, &sheet::State::default())),
        known(&book, made.visit, |known| walk::page(known, area, "", Route::Register, Degree::F)),
        past,
        leaving().page(),
        leaving().closing(),
        off_without_visit(true),
        closing_without_visit(),
        visits::first(false, false),
        visits::first(true, true),
        visits::choose(&Register::of(&book), &headed, false, |_| 0),
        visit_page(&book, made.visit),
        register::page(&Register::of(&book), list),
        profiles.expect("profiles").page(heater),
        known(&book, made.visit, people::page),
        settings::page(&Prefs::default(), None, "0"),
        sending(&book, &Transfer::default(), true),
        computed::page(Some(2), Degree::C),
        screen.page(&found, Degree::F),
        one.page(None),
        results::nothing(),
        results::working("findings"),
    ]
}

/// Every block below these, those that are shaped later too.
fn every(blocks: &[Block]) -> Vec<Block> {
    let within = |block: &Block| match &block.kind {
        Kind::Section(of) | Kind::Sheet(of) => of.blocks.clone(),
        Kind::Fold(of) => of.blocks.clone(),
        Kind::Later(of) => of.blocks(),
        _ => Vec::new(),
    };
    blocks.iter().flat_map(|block| [vec![block.clone()], every(&within(block))].concat()).collect()
}

fn rows(page: &Page) -> Vec<Row> {
    let rows = every(&page.blocks).into_iter().filter_map(|block| match block.kind {
        Kind::Rows(of) => Some(of.rows),
        _ => None,
    });
    rows.flatten().collect()
}

fn buttons(page: &Page) -> Vec<Button> {
    let below = every(&page.blocks).into_iter().flat_map(|block| match block.kind {
        Kind::Buttons(of) => of,
        Kind::Notice(of) => of.buttons,
        Kind::Empty(of) => of.buttons,
        _ => Vec::new(),
    });
    let of_rows = rows(page).into_iter().flat_map(|row| row.buttons.into_iter().chain(row.aside.map(|aside| *aside)));
    page.back.iter().chain(&page.menu).chain(&page.foot).cloned().chain(below).chain(of_rows).collect()
}

fn button(page: &Page, key: &str) -> Button {
    buttons(page).into_iter().find(|button| button.key == key).unwrap_or_else(|| panic!("no {key} on {}", text(page)))
}

fn says(page: &Page, words: &[&str]) {
    let text = text(page);
    words.iter().for_each(|words| assert!(text.contains(words), "{words:?} is not in\n{text}"));
}

/// The single actions of an action.
fn singles(action: &Action) -> Vec<Action> {
    match action {
        Action::Then(first, second) => [singles(first), singles(second)].concat(),
        single => vec![single.clone()],
    }
}

#[test]
fn every_page_has_a_title_or_a_first_act_and_reads_the_same_on_paper() {
    for page in all() {
        let first_act = || matches!(page.blocks.first().map(|block| &block.kind), Some(Kind::Empty(_)));
        assert!(!page.title.is_empty() || first_act(), "{}", page.name);
        let paper = html(&page);
        for block in every(&page.blocks) {
            if let Kind::Section(of) = &block.kind {
                assert!(paper.contains(&of.title.replace('&', "&amp;").replace('\'', "&#39;")), "{}", of.title);
            }
        }
        // What can only be pressed is not on paper.
        assert!(!paper.contains("<button") && !paper.contains("<script") && !paper.contains("style="), "{}", page.name);
    }
}

#[test]
fn every_way_leads_to_a_place_that_its_address_finds_again() {
    for page in all() {
        let of_rows = rows(&page).into_iter().filter_map(|row| row.action);
        let actions = buttons(&page).into_iter().map(|button| button.action).chain(of_rows);
        for action in actions.flat_map(|action| singles(&action)) {
            if let Action::Go(place) | Action::Back(place) = action {
                assert_eq!(Route::read(&place.address()), place);
            }
        }
    }
}

#[test]
fn a_sheet_is_opened_by_its_name_and_what_is_opened_is_there() {
    for page in all() {
        let blocks = every(&page.blocks);
        let opens = buttons(&page).into_iter().map(|button| button.action);
        let opens = opens.chain(rows(&page).into_iter().filter_map(|row| row.action));
        for action in opens.flat_map(|action| singles(&action)) {
            let Action::Open(name) = action else { continue };
            let named = blocks.iter().filter(|block| block.key == name && matches!(block.kind, Kind::Sheet(_)));
            assert_eq!(named.count(), 1, "{name} on {}", page.name);
        }
    }
}

#[test]
fn the_text_of_people_cannot_become_markup() {
    let (mut book, made) = demo_book();
    let site = *Register::of(&book).sites.keys().next().expect("a site");
    let mut now = Register::of(&book).sites[&site].now().expect("a site").clone();
    now.name = "<img src=x onerror=\"a\"> & 'Sons'".into();
    give(&mut book, at(NOW), Command::PutSite { site, now }).expect("a name");
    let page = visit_page(&book, made.visit);
    let paper = html(&page);
    assert!(paper.contains("&lt;img src=x onerror=&quot;a&quot;&gt; &amp; &#39;Sons&#39;") && !paper.contains("<img"));
    let transfer = Transfer { outcomes: vec![unread("</p><b>x", "why".into())], ..Transfer::default() };
    assert!(!html(&sending(&book, &transfer, true)).contains("<b>"));
}

#[test]
fn a_visit_says_what_is_due_before_and_after_and_closes_only_by_a_question() {
    let (book, made) = demo_book();
    let page = visit_page(&book, made.visit);
    says(
        &page,
        &[
            "## Before you go up",
            "- Supervising station",
            "[Test plan]",
            "- J-01: ",
            "<Not tested>",
            "- Panel as found",
        ],
    );
    // Closing is a page of its own, which says what it waits for.
    assert_eq!(button(&page, "to-closing").action, Action::Go(Route::Closing));
    assert!(text(&visits::first(false, false)).contains("[Start: enter your name]"));
}

#[test]
fn a_notice_given_can_be_taken_back_from_the_page() {
    let (mut book, made) = demo_book();
    let given = crate::kit::notify(Whom::Occupants, NotifyAnswer::Notified, |notice| {
        (notice.by, notice.happened) = (Who::Person(Id::from_u128(3)), crate::kit::happened(NOW));
    });
    let Command::Notify { notice, .. } = given else { unreachable!() };
    give(&mut book, at(NOW), Command::Notify { visit: made.visit, notice }).expect("a notice");
    let undo = button(&visit_page(&book, made.visit), "undo-notify-occupants");
    let Action::Undo(entry, _) = undo.action else { panic!("{undo:?}") };
    decide(&book, at(NOW), Command::Undo { target: entry }).expect("an undo");
}

#[test]
fn what_is_not_read_yet_cannot_be_sent_or_checked() {
    let (book, _) = demo_book();
    for (whole, off) in [(true, false), (false, true)] {
        let page = sending(&book, &Transfer::default(), whole);
        for key in ["export", "export-file", "export-all", "import", "check"] {
            assert_eq!(button(&page, key).off, off, "{key}");
        }
        assert!(button(&page, "results").off, "without a visit there are none");
    }
    let loading = Transfer { loading: Some(Loading::default()), ..Transfer::default() };
    assert!(button(&sending(&book, &loading, true), "import").off);
}

#[test]
fn a_refused_file_is_said_with_every_reason() {
    let (book, _) = demo_book();
    let refused = Outcome { lines: vec!["First.".into(), "Second.".into()], ..unread("day.json", String::new()) };
    let page = sending(&book, &Transfer { outcomes: vec![refused], ..Transfer::default() }, true);
    says(&page, &["! Refused, nothing changed: day.json", "- First.", "- Second."]);
}

#[test]
fn a_setting_is_what_its_key_says_and_nonsense_changes_nothing() {
    let mut prefs = Prefs::default();
    let page = settings::page(&prefs, Some(true), "0");
    says(&page, &["Temperatures in: (x) °F ( ) °C", "[Sound: on]", "[Speech: off]", "<Kept>"]);
    let Action::Set(setting, value) = button(&page, "cue-speech").action else { panic!("no setting") };
    prefs.set(setting, &value);
    assert!(prefs.speech);
    let before = prefs.clone();
    prefs.set(setting, "loud");
    prefs.set(soakbook::view::page::Setting::Unit, "K");
    assert_eq!(prefs, before);
}

#[test]
fn a_result_reads_from_its_headline_down() {
    let mut phone = Phone::new();
    phone.test(started(1), &read(&["80.0", "88.1", "87.6", "88.4", "87.9"]), Ending::Done);
    let (found, visit) = (Arc::new(phone.visit()), Visit::of(&phone.book, id(VISIT)).expect("a visit"));
    let screen = FindingsScreen::of(&Register::of(&phone.book), &visit, &found);
    let list = screen.page(&found, Degree::C);
    assert!(rows(&list).iter().any(|row| row.action == Some(Action::Go(Route::Finding(id(1))))), "{}", text(&list));
    let test = Test::of(&phone.book, id(1)).expect("a test");
    let page = OneTest::of(&phone.book, &visit, &test, &found.tests[0], Degree::C, 0).page(None);
    let read = text(&page);
    // Mean 88.0 °C by GTC 1.5.1, as in the tests of the findings.
    let order = [
        "* ",
        "88.0 °C ± ",
        "- Tripped: ",
        "- Alarm at panel",
        "[Retest now]",
        "[Trace of",
        "## Trips",
        "= Trip 2",
        "## Operating temperature",
        "88.0 °C",
    ];
    let mut from = 0;
    for words in order {
        let found = read.get(from..).and_then(|rest| rest.find(words));
        from += found.unwrap_or_else(|| panic!("{words:?} is not in its place in\n{read}"));
    }
}
