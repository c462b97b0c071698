//! The pages of what is due, and the commands behind them, over the demonstration.

use crate::demo::{at, demo_book, give};
use crate::sample::id as sampled;
use soakbook::book::Id;
use soakbook::book::body::{
    Answer, Body, Happened, Method, OtherMethod, Point, Precision, RuleSet, SiteRules, VisitType, Who,
};
use soakbook::book::command::Command;
use soakbook::book::decide::decide;
use soakbook::book::entries::Book;
use soakbook::book::entry::{Hash, Opens, Scope};
use soakbook::book::kit::Kit;
use soakbook::book::refusal::{Fault, Refusal};
use soakbook::book::register::Register;
use soakbook::book::seal::{Draft, seal};
use soakbook::book::visit::Visit;
use soakbook::findings::due::{SHIPPED, subjects};
use soakbook::findings::history;
use soakbook::units::{Degree, Wall};
use soakbook::view::conflicts::{clashes, settle};
use soakbook::view::due::{SiteDue, plans, rules_page, visit_plan, working};
use soakbook::view::forms::{self, Attached, Known, Making};
use soakbook::view::leaving::Leaving;
use soakbook::view::page::html::html;
use soakbook::view::page::text::text;
use soakbook::view::page::{Action, Block, Button, Kind, Page, Table};
use soakbook::view::route::Form;
use soakbook::view::visit::VisitScreen;
use std::collections::BTreeSet;
use std::sync::Arc;

/// 2026-03-01T09:00:00Z by `date -u -d 2026-03-01T09:00:00Z +%s`, when the demonstration is loaded.
pub(crate) const NOW: Wall = Wall(1_772_355_600_000);

pub(crate) fn site(book: &Book) -> Id {
    *Register::of(book).sites.keys().next().expect("a site")
}

pub(crate) fn site_due(book: &Book, visit: Option<Id>) -> Arc<SiteDue> {
    let (register, site) = (Register::of(book), site(book));
    let visit = visit.and_then(|id| Visit::of(book, id));
    Arc::new(SiteDue::of(book, &register, site, history::of_site(book, site), visit.as_ref(), NOW, 0))
}

pub(crate) fn position(book: &Book, tag: &str) -> Id {
    *Register::of(book).positions.iter().find(|(_, position)| position.tag() == tag).expect("a position").0
}

/// Something said on the phone of A. Technician that no command says.
pub(crate) fn say(book: &mut Book, scope: Scope, body: Body) {
    say_at(book, NOW, scope, body);
}

fn say_at(book: &mut Book, wall: Wall, scope: Scope, body: Body) {
    let at = at(wall);
    let opens = Opens { app: "test".into(), zone: "UTC".into(), offset: 0, who: at.who };
    let (drafts, decision) = (vec![Draft { scope, body }], book.len() as i64);
    seal(book, at.phone, at.stamp, decision, &opens, drafts).into_iter().for_each(|entry| book.apply(entry));
}

/// A passed test of a position by warm air at a time, or something like it.
pub(crate) fn other(book: &mut Book, visit: Id, tag: &str, wall: Wall, change: impl FnOnce(&mut OtherMethod)) {
    let of = position(book, tag);
    let mut body = OtherMethod {
        test: sampled(7_000 + book.len() as u128),
        position: of,
        detector: Register::of(book).positions[&of].detector(),
        method: Method::WarmAir,
        basis: None,
        tripped: Answer::Yes,
        point: Point::Right,
        said: None,
        restored: Answer::Yes,
        by: Who::Person(sampled(1)),
        note: None,
        happened: Happened { at: wall, offset: 0, precision: Precision::Minute },
    };
    change(&mut body);
    say_at(book, wall, Scope::Visit(visit), Body::OtherMethod(body.into()));
}

fn pass(book: &mut Book, visit: Id, tag: &str, wall: Wall) {
    other(book, visit, tag, wall, |_| ());
}

fn every(blocks: &[Block]) -> Vec<Block> {
    let within = |block: &Block| match &block.kind {
        Kind::Section(of) | Kind::Sheet(of) => of.blocks.clone(),
        Kind::Fold(of) => of.blocks.clone(),
        Kind::Later(of) => of.blocks(),
        _ => Vec::new(),
    };
    blocks.iter().flat_map(|block| [vec![block.clone()], every(&within(block))].concat()).collect()
}

fn buttons(page: &Page) -> Vec<Button> {
    let of = |block: Block| match block.kind {
        Kind::Buttons(of) => of,
        _ => Vec::new(),
    };
    every(&page.blocks).into_iter().flat_map(of).collect()
}

#[track_caller]
pub(super) fn says(page: &Page, words: &[&str]) {
    let text = text(page);
    words.iter().for_each(|words| assert!(text.contains(words), "{words:?} is not in\n{text}"));
}

#[test]
fn the_list_says_state_reason_and_rule_and_proposes_everything_that_is_due() {
    let (mut book, made) = demo_book();
    pass(&mut book, made.visit, "J-01", NOW);
    let due = site_due(&book, Some(made.visit));
    let page = due.page();
    // The nine positions of the demonstration are J-01 to J-05, P-01 to P-03 and S-01. None was ever tested but J-01, today.
    says(
        &page,
        &[
            "# Due",
            "Overdue: 0",
            "Due now or by the next visit: 8",
            "Test not due: 1",
            "Visual check due: 9",
            "8 positions of 9: all that is due, and each circuit's minimum.",
            "[Plan these for the visit]",
            "No passed test of this detector on record · Every position every year",
            "<Due now> >",
            "- J-01: Last 2026-03-01 · Every position every year · visual check due <Test not due until 2027-03-01> >",
            "## Test not due: 1",
            "## Proposal for this visit (8)",
        ],
    );
    let paper = html(&page);
    assert!(
        paper.contains("<tr><th class=\"whole\">J-01</th><td>Last 2026-03-01 · "),
        "a tag stays on one line: {paper}"
    );
    assert!(paper.contains("<td class=\"whole\">Test not due until 2027-03-01</td></tr>"), "and a day: {paper}");
    let commands = plans(&due, made.visit);
    let [Command::PlanPositions { positions, .. }, Command::PlanVisit { plan, .. }] = &commands[..] else {
        panic!("{commands:?}")
    };
    assert_eq!(plan.rule_set.as_deref(), Some("Every position every year"), "the record says which rule proposed them");
    let others = ["J-02", "J-03", "J-04", "J-05", "P-01", "P-02", "P-03", "S-01"];
    let others: BTreeSet<Id> = others.into_iter().map(|tag| position(&book, tag)).collect();
    assert_eq!(positions.iter().copied().collect::<BTreeSet<_>>(), others, "J-01 passed today");
    assert_eq!(visit_plan(&due, VisitType::Functional).rule_set.as_deref(), Some("Every position every year"));
}

#[test]
fn what_is_planned_comes_first_in_the_visit_and_can_be_taken_back() {
    let (mut book, made) = demo_book();
    let planned = position(&book, "J-01");
    let command = Command::PlanPositions { visit: made.visit, positions: vec![planned], planned: true, why: None };
    give(&mut book, at(NOW), command.clone()).expect("a plan");
    let screen = |book: &Book| {
        let (register, visit) = (Register::of(book), Visit::of(book, made.visit).expect("a visit"));
        VisitScreen::of(book, &register, &visit, None, Degree::F, 0, NOW).page(NOW)
    };
    let page = text(&screen(&book));
    let (first, rest) = page.split_once("## Not planned: ").expect("the rest is folded");
    assert!(first.contains("- J-01: ") && !first.contains("- J-02: ") && rest.contains("- J-02: "), "{page}");
    let of = Visit::of(&book, made.visit).expect("a visit");
    let leaving = Leaving { book: &book, register: &Register::of(&book), visit: &of, offset_min: 0, now: NOW };
    says(&leaving.closing(), &["J-01: no result, no reason"]);
    assert_eq!(of.planned().into_iter().collect::<Vec<_>>(), [planned]);
    assert_eq!(decide(&book, at(NOW), command), Ok(Vec::new()), "it stands so already");
    give(&mut book, at(NOW), Command::Undo { target: of.planned[0].hash }).expect("an undo");
    assert!(Visit::of(&book, made.visit).expect("a visit").planned().is_empty());
    assert!(!text(&screen(&book)).contains("Not planned"));
}

#[test]
fn a_plan_is_refused_for_strangers_without_a_reason_and_in_a_closed_visit() {
    let (mut book, made) = demo_book();
    let planned = position(&book, "J-01");
    let plan = |visit, positions, planned, why| Command::PlanPositions { visit, positions, planned, why };
    let refused = |book: &Book, command| decide(book, at(NOW), command).expect_err("a refusal");
    assert_eq!(refused(&book, plan(made.visit, vec![sampled(1)], true, None)), Refusal::UnknownPosition);
    assert_eq!(refused(&book, plan(sampled(1), vec![planned], true, None)), Refusal::NoOpenVisit);
    let off = plan(made.visit, vec![planned], false, None);
    assert_eq!(refused(&book, off), Refusal::Field("PlannedPositions.why", Fault::Empty));
    let retire = Command::RetirePosition { position: planned, retired: true };
    give(&mut book, at(NOW), retire).expect("retired");
    assert_eq!(refused(&book, plan(made.visit, vec![planned], true, None)), Refusal::UnknownPosition);
    give(&mut book, at(NOW), Command::CloseVisit { visit: made.visit }).expect("closed");
    assert_eq!(refused(&book, plan(made.visit, Vec::new(), true, None)), Refusal::NoOpenVisit);
}

/// The commands of a form as it opens, with these texts typed into it.
pub(super) fn fill(
    book: &Book,
    visit: Id,
    form: Form,
    texts: &[(&str, &str)],
) -> Result<Vec<Command>, Vec<&'static str>> {
    let (register, kit) = (Register::of(book), Kit::of(book));
    let known = Known { register: &register, kit: &kit, book, visit: Some(visit), at: at(NOW) };
    let mut typed = forms::open(form, known, Degree::F);
    texts.iter().for_each(|(key, text)| typed.set(key, text));
    let attached: Attached =
        forms::texts(form, &typed, known).into_iter().map(|(key, text)| (key, Hash::of(text.as_bytes()))).collect();
    let making = Making { id: sampled(1), other: sampled(2), attached: &attached };
    forms::command(form, &typed, making, known).map_err(|wrongs| wrongs.into_keys().collect())
}

#[test]
fn a_position_goes_on_the_list_and_off_it_by_hand_with_a_reason() {
    let (mut book, made) = demo_book();
    let form = Form::PlanPosition(position(&book, "J-02"));
    assert_eq!(fill(&book, made.visit, form, &[]), Err(vec!["reason"]));
    for (expected, reason) in [(true, "Owner asks for it"), (false, "Roof is wet")] {
        let commands = fill(&book, made.visit, form, &[("reason", reason)]).expect("filled in");
        for command in commands {
            give(&mut book, at(NOW), command).expect("allowed");
        }
        let visit = Visit::of(&book, made.visit).expect("a visit");
        assert_eq!(visit.planned().contains(&position(&book, "J-02")), expected);
        assert_eq!(visit.planned.last().and_then(|of| of.change.why), Some(Hash::of(reason.as_bytes())));
    }
    // The texts of this test are no attachments, as if they had been erased.
    let due = site_due(&book, Some(made.visit));
    says(&due.page(), &["### Changed by hand", "- J-02: off the list: reason erased", "<Due now> <Off the list> >"]);
    // What somebody took off is not put on again with the rest.
    let Command::PlanPositions { positions, .. } = &plans(&due, made.visit)[0] else { panic!("a plan") };
    assert!(!positions.contains(&position(&book, "J-02")) && positions.contains(&position(&book, "J-01")));
}

fn put_rules(book: &Book, rules: Vec<RuleSet>) -> Command {
    Command::PutSiteRules { site: site(book), now: Box::new(SiteRules { rules, ..SiteRules::default() }) }
}

#[test]
fn rules_are_chosen_shown_with_their_source_and_taken_back() {
    let (mut book, made) = demo_book();
    let page = |book: &Book| rules_page(&Register::of(book), site(book));
    says(
        &page(&book),
        &[
            "Not set: a visit every year.",
            "### Every position every year",
            "Applies where no rule of the site does.",
            "### Visual check every half year",
            "[Use this rule]",
            "! Check with the AHJ: Rule not checked against the standard's text.",
            "2 or more per circuit every year · all within 5 years",
            "Every 5 years · starting 15 years after installation · sample 2 of 100",
        ],
    );
    let choose = buttons(&page(&book)).into_iter().find(|key| key.key.starts_with("use-restorable")).expect("a key");
    let Action::Give(command) = choose.action else { panic!("a command") };
    give(&mut book, at(NOW), *command).expect("chosen");
    says(&page(&book), &["### Restorable fixed-temperature: two or more per circuit a year", "[Stop using it]"]);
    says(&site_due(&book, None).page(), &["! Check with the AHJ: "]);
    let rules = Register::of(&book).rules_of(site(&book));
    assert_eq!(rules.rules, [SHIPPED[1].rule()]);
    let entry = Register::of(&book).site_rules[&site(&book)].edit().expect("an edit");
    give(&mut book, at(NOW), Command::Undo { target: entry }).expect("an undo");
    assert!(Register::of(&book).rules_of(site(&book)).rules.is_empty());
    let _ = made;
}

#[test]
fn an_owners_copy_of_a_rule_is_the_owners_and_needs_a_source_of_its_own() {
    let (mut book, made) = demo_book();
    let command = put_rules(&book, vec![SHIPPED[1].rule()]);
    give(&mut book, at(NOW), command).expect("chosen");
    let form = Form::Rule(site(&book), 0);
    assert_eq!(fill(&book, made.visit, form, &[]), Err(vec!["rule-source"]));
    let commands = fill(&book, made.visit, form, &[("rule-source", "Owner's procedure 7"), ("rule-least", "4")]);
    commands.expect("filled in").into_iter().for_each(|command| give(&mut book, at(NOW), command).expect("allowed"));
    let rules = Register::of(&book).rules_of(site(&book)).rules;
    assert_eq!((rules.len(), rules[0].least_per_circuit, &rules[0].source[..]), (1, Some(4), "Owner's procedure 7"));
    assert!(rules[0].name.ends_with("(changed)"));
    // A new one starts as every year.
    let new = fill(
        &book,
        made.visit,
        Form::Rule(site(&book), 1),
        &[
            ("rule-name", "Insurer"),
            ("rule-sentence", "Twice a year"),
            ("rule-source", "Policy, 2026"),
            ("rule-every", "6"),
        ],
    );
    new.expect("filled in").into_iter().for_each(|command| give(&mut book, at(NOW), command).expect("allowed"));
    assert_eq!(Register::of(&book).rules_of(site(&book)).rules[1].every_months, 6);
    let interval = fill(&book, made.visit, Form::SiteRules(site(&book)), &[("visit-interval", "6")]).expect("months");
    interval.into_iter().for_each(|command| give(&mut book, at(NOW), command).expect("allowed"));
    let now = Register::of(&book).rules_of(site(&book));
    assert_eq!((now.visit_interval_months, now.rules.len()), (Some(6), 2), "the rules stay");
}

#[test]
fn rules_that_could_let_a_position_wait_for_ever_are_refused() {
    let (book, _) = demo_book();
    let changed = |change: fn(&mut RuleSet)| {
        let mut rule = SHIPPED[1].rule();
        change(&mut rule);
        decide(&book, at(NOW), put_rules(&book, vec![rule])).expect_err("a refusal")
    };
    let months = Fault::Number { from: 1, to: 600, unit: "months" };
    assert_eq!(changed(|of| of.all_within_months = None), Refusal::Field("RuleSet.all_within_months", Fault::Empty));
    assert_eq!(changed(|of| of.least_per_circuit = None), Refusal::Field("RuleSet.least_per_circuit", Fault::Empty));
    assert_eq!(changed(|of| of.every_months = 0), Refusal::Field("RuleSet.every_months", months));
    assert_eq!(changed(|of| of.every_months = 601), Refusal::Field("RuleSet.every_months", months));
    assert_eq!(changed(|of| of.name = " ".into()), Refusal::Field("RuleSet.name", Fault::Empty));
    assert_eq!(changed(|of| of.sentence = String::new()), Refusal::Field("RuleSet.sentence", Fault::Empty));
    assert_eq!(changed(|of| of.source = String::new()), Refusal::Field("RuleSet.source", Fault::Empty));
    let nothing = RuleSet { types: Vec::new(), ..SHIPPED[2].rule() };
    assert_eq!(
        decide(&book, at(NOW), put_rules(&book, vec![nothing])),
        Err(Refusal::Field("RuleSet.types", Fault::Choose))
    );
    let twice = put_rules(&book, vec![SHIPPED[1].rule(), SHIPPED[1].rule()]);
    assert_eq!(decide(&book, at(NOW), twice), Err(Refusal::Field("RuleSet.name", Fault::Taken)));
    let nowhere = Command::PutSiteRules { site: sampled(1), now: Box::default() };
    assert_eq!(decide(&book, at(NOW), nowhere), Err(Refusal::UnknownSite));
    let interval = SiteRules { visit_interval_months: Some(0), ..SiteRules::default() };
    let none = Command::PutSiteRules { site: site(&book), now: Box::new(interval) };
    assert_eq!(decide(&book, at(NOW), none), Err(Refusal::Field("SiteRules.visit_interval_months", months)));
}

#[test]
fn the_years_are_a_table_whose_head_and_lines_go_on_paper() {
    let (mut book, made) = demo_book();
    pass(&mut book, made.visit, "J-01", NOW);
    // 731 days before: in 2024.
    pass(&mut book, made.visit, "J-02", NOW - 731 * 86_400_000);
    let due = site_due(&book, None);
    let page = due.coverage_page();
    says(
        &page,
        &[
            "Outside its period: 1",
            "| Position | 2024 | 2025 | 2026",
            "| J-01 | – | – | passed",
            "| J-02 | passed | – | –",
            "Tests by others aren't in this list.",
        ],
    );
    // Nine positions, and two of them were ever tested.
    says(&page, &["No known date: 7", "Positions: 9"]);
    let paper = html(&page);
    assert!(paper.contains("<thead><tr><th scope=\"col\">Position</th><th scope=\"col\">2024</th>"), "{paper}");
    assert!(paper.contains("<tr><th scope=\"row\">J-02</th><td>passed</td><td>–</td><td>–</td></tr>"), "{paper}");
}

#[test]
fn a_table_escapes_what_people_wrote_and_fills_short_lines() {
    let table =
        Table { label: "A".into(), head: vec!["a".into(), "b".into()], rows: vec![vec!["<b>".into()]], later: false };
    let page = Page { blocks: vec![Block::new("t", Kind::Table(table.into()))], ..Page::default() };
    assert!(html(&page).contains("<th scope=\"row\">&lt;b&gt;</th><td></td>"), "{}", html(&page));
}

#[test]
fn the_truck_list_names_spares_what_is_old_and_how_to_get_up() {
    let (book, made) = demo_book();
    let due = site_due(&book, Some(made.visit));
    let page = due.truck_page(&Register::of(&book), Degree::F);
    says(
        &page,
        &[
            "## Spares by type and rating",
            "Rate-compensated, ",
            " due",
            "## End of service life within a year",
            "## Access",
        ],
    );
    assert!(text(&working()).contains("Calculating"));
}

#[test]
fn while_two_phones_rules_stand_side_by_side_the_strictest_of_both_applies() {
    use soakbook::book::body::Edit;
    let (mut book, made) = demo_book();
    let site = site(&book);
    let (mut one, mut other) = (SHIPPED[0].rule(), SHIPPED[0].rule());
    (one.every_months, one.name) = (24, "Two years".into());
    (other.every_months, other.name) = (6, "Half a year".into());
    // Neither knows of the other: both replace nothing.
    for (rule, months) in [(one, 6), (other, 18)] {
        let now = SiteRules { rules: vec![rule], visit_interval_months: Some(months), ..SiteRules::default() };
        say(&mut book, Scope::Site(site), Body::SiteRules(Edit::new(site, vec![], now)));
    }
    let due = site_due(&book, None);
    let functional = due.due.positions.iter().map(|of| &due.due.rules[of.functional.rule].name);
    assert!(
        functional.clone().any(|name| name == "Half a year") && !functional.clone().any(|name| name == "Two years")
    );
    // 18 months after 2026-03-01.
    assert_eq!(due.due.next_visit, crate::due::day(2027, 9, 1));
    says(&due.page(), &["! Two phones, two versions: Two phones chose different rules"]);
    says(&rules_page(&Register::of(&book), site), &["[Pick the right one]"]);
    let (register, kit) = (Register::of(&book), Kit::of(&book));
    let known = Known { register: &register, kit: &kit, book: &book, visit: Some(made.visit), at: at(NOW) };
    let clash = &clashes(Form::SiteRules(site), known)[0];
    assert_eq!(clash.versions.len(), 2);
    // Nothing is changed on top of one of them, as if the other were not there.
    let more = put_rules(&book, vec![SHIPPED[1].rule()]);
    assert_eq!(decide(&book, at(NOW), more), Err(Refusal::RulesConflict));
    let interval = fill(&book, made.visit, Form::SiteRules(site), &[("visit-interval", "3")]).expect("filled in");
    assert_eq!(decide(&book, at(NOW), interval[0].clone()), Err(Refusal::RulesConflict));
    assert!(
        buttons(&rules_page(&Register::of(&book), site))
            .iter()
            .all(|key| key.key == "settle-rules" || key.key == "print")
    );
    let picked = clash.versions.iter().position(|said| said == "Half a year · 18 months between visits").expect("one");
    let command = settle(Form::SiteRules(site), &[picked], known).expect("settled");
    let mut settled = book.clone();
    give(&mut settled, at(NOW), command).expect("allowed");
    assert!(Register::of(&settled).all_rules_of(site).is_none());
}

#[test]
fn positions_come_by_area_and_walking_order() {
    let (book, _) = demo_book();
    let (register, site) = (Register::of(&book), site(&book));
    let areas = register.areas_of(site).into_iter();
    let expected: Vec<Id> = areas.flat_map(|(area, _)| register.positions_of(area)).map(|(id, _)| id).collect();
    let found = subjects(&register, site, &history::of_site(&book, site), 0);
    assert_eq!(found.into_iter().map(|of| of.position).collect::<Vec<_>>(), expected);
}
