//! What a site settles beside its rules: who is notified, and limits; and what a visit is to do.

use super::pages::{NOW, fill, says, site};
use crate::demo::{at, demo_book, give};
use soakbook::book::Id;
use soakbook::book::body::{NotifyStep, SiteRules, VisitPlan, VisitType, Whom};
use soakbook::book::command::Command;
use soakbook::book::entries::Book;
use soakbook::book::entry::Hash;
use soakbook::book::register::Register;
use soakbook::book::visit::{Visit, impaired_limit_ms};
use soakbook::units::Degree;
use soakbook::view::due::rules_page;
use soakbook::view::page::text::text;
use soakbook::view::route::Form;
use soakbook::view::visit::VisitScreen;

/// Fills a form in and does what comes of it.
fn put(book: &mut Book, visit: Id, form: Form, texts: &[(&str, &str)]) {
    for command in fill(book, visit, form, texts).expect("filled in") {
        give(book, at(NOW), command).expect("allowed");
    }
}

fn whoms(book: &Book) -> Vec<Whom> {
    Register::of(book).rules_of(site(book)).notified().iter().map(|step| step.whom).collect()
}

#[test]
fn a_site_has_its_own_list_of_who_is_notified() {
    // rule B2. The four that a site begins with are the project's own choice.
    let (mut book, made) = demo_book();
    let usual = [Whom::Owner, Whom::SupervisingStation, Whom::Occupants, Whom::FireDepartment];
    assert_eq!(whoms(&book), usual);
    let form = |whom: Whom| {
        let number = Whom::ALL.iter().position(|other| *other == whom).and_then(|place| u8::try_from(place).ok());
        Form::NotifyStep(made.site, number.expect("of the list"))
    };
    let insurer =
        [("step-listed", "yes"), ("step-required", "yes"), ("step-label", "Loss desk"), ("step-contact", "Ext. 12")];
    put(&mut book, made.visit, form(Whom::Insurer), &insurer);
    put(&mut book, made.visit, form(Whom::Occupants), &[("step-listed", "no")]);
    assert_eq!(whoms(&book), [Whom::Owner, Whom::SupervisingStation, Whom::FireDepartment, Whom::Insurer]);
    let step = Register::of(&book).rules_of(made.site).notify[3].clone();
    assert_eq!((step.required, step.label.as_deref()), (true, Some("Loss desk")));
    assert_eq!(step.contact, Some(Hash::of(b"Ext. 12")));
    says(&rules_page(&Register::of(&book), made.site), &["Insurer: Loss desk <Required>", "Occupants <Not on it>"]);
    let visit = Visit::of(&book, made.visit).expect("a visit");
    let screen = VisitScreen::of(&book, &Register::of(&book), &visit, None, Degree::F, 0, NOW);
    assert!(text(&screen.page(NOW)).contains("Insurer: Loss desk <Required here>"), "{}", text(&screen.page(NOW)));
    // What stands is shown again, and a name that is too long is refused at its line.
    put(&mut book, made.visit, form(Whom::Insurer), &[("step-label", "")]);
    let step = Register::of(&book).rules_of(made.site).notify[3].clone();
    assert_eq!((step.required, step.label), (true, None));
    let long = "x".repeat(5_000);
    assert_eq!(fill(&book, made.visit, form(Whom::Insurer), &[("step-label", &long)]), Err(vec!["step-label"]));
}

#[test]
fn the_limit_of_impairment_is_a_setting_of_the_site() {
    // rule B5: 4 h by NFPA 101 (2009) 9.6.1.6, where a site says nothing.
    let (mut book, made) = demo_book();
    let limit = |book: &Book| impaired_limit_ms(&Register::of(book), made.site) / 60_000;
    let page = |book: &Book| rules_page(&Register::of(book), made.site);
    assert_eq!(limit(&book), 240);
    says(&page(&book), &["Impairment limit 4 h 00 min in 24 h."]);
    put(&mut book, made.visit, Form::SiteRules(made.site), &[("impairment-limit", "120"), ("written-notice", "48")]);
    assert_eq!(limit(&book), 120);
    says(&page(&book), &["Impairment limit 2 h 00 min in 24 h. Written notice within 48 h."]);
    for wrong in ["0", "1441", "soon"] {
        let refused = fill(&book, made.visit, Form::SiteRules(made.site), &[("impairment-limit", wrong)]);
        assert_eq!(refused, Err(vec!["impairment-limit"]), "{wrong}");
    }
}

#[test]
fn a_plan_says_type_scope_edition_rule_set_and_what_is_left_out() {
    // rule B1.
    let (mut book, made) = demo_book();
    let texts = [
        ("visit-type", "reacceptance"),
        ("scope", "Kettle hall"),
        ("edition", "NFPA 72, 2013"),
        ("rule-set", "Owner's own"),
        ("not-in-scope", "Sequence of operations"),
    ];
    put(&mut book, made.visit, Form::Plan, &texts);
    let visit = Visit::of(&book, made.visit).expect("a visit");
    let words = |text: &str| Some(text.to_string());
    assert_eq!(
        visit.plan.now(),
        Some(&VisitPlan {
            visit_type: VisitType::Reacceptance,
            scope_of_work: words("Kettle hall"),
            edition: words("NFPA 72, 2013"),
            rule_set: words("Owner's own"),
            not_in_scope: words("Sequence of operations"),
        })
    );
}

#[test]
fn somebody_stays_on_the_list_and_steps_of_others_are_left_alone() {
    let (mut book, made) = demo_book();
    let form = |whom: Whom| {
        let number = Whom::ALL.iter().position(|other| *other == whom).and_then(|place| u8::try_from(place).ok());
        Form::NotifyStep(made.site, number.expect("of the list"))
    };
    let off = [("step-listed", "no")];
    for whom in [Whom::Owner, Whom::SupervisingStation, Whom::Occupants] {
        put(&mut book, made.visit, form(whom), &off);
    }
    // With nobody on it the usual four would be back.
    assert_eq!(fill(&book, made.visit, form(Whom::FireDepartment), &off), Err(vec!["step-listed"]));
    assert_eq!(whoms(&book), [Whom::FireDepartment]);
    // Two steps of one party, as a file may have them.
    let step = |whom, label: &str| NotifyStep { whom, label: Some(label.into()), required: true, contact: None };
    let list = vec![step(Whom::Other, "Guard"), step(Whom::Owner, "Shift lead"), step(Whom::Other, "Tenant")];
    let now = SiteRules { notify: list, ..Register::of(&book).rules_of(made.site) };
    give(&mut book, at(NOW), Command::PutSiteRules { site: made.site, now: Box::new(now) }).expect("allowed");
    put(&mut book, made.visit, form(Whom::Insurer), &[("step-listed", "yes"), ("step-required", "no")]);
    put(&mut book, made.visit, form(Whom::Other), &[("step-label", "Gate")]);
    let labels = |book: &Book| {
        let steps = Register::of(book).rules_of(made.site).notify;
        steps.into_iter().map(|step| step.label.unwrap_or_default()).collect::<Vec<_>>()
    };
    assert_eq!(
        labels(&book).iter().filter(|label| !label.is_empty()).collect::<Vec<_>>(),
        ["Gate", "Shift lead", "Tenant"]
    );
    put(&mut book, made.visit, form(Whom::Other), &off);
    assert_eq!(labels(&book).iter().filter(|label| !label.is_empty()).collect::<Vec<_>>(), ["Shift lead", "Tenant"]);
}
