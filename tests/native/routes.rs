//! Every place has an address by which it is found again.

use soakbook::book::Id;
use soakbook::book::entry::Hash;
use soakbook::trade::heater_gaps::Gap;
use soakbook::view::route::{Form, Route};
use std::collections::HashSet;
use std::mem::discriminant;

#[test]
fn every_place_is_found_again_by_its_address() {
    let (id, hash) = (Id::from_u128(7), Hash::of(b"a"));
    let of_an_entry = [
        "leave-off",
        "panel-point",
        "panel-showed",
        "excuse",
        "secure",
        "restore",
        "clear-alarm",
        "item",
        "reading",
        "strike",
        "caption",
    ]
    .map(|name| Route::read(&format!("#/{name}/{hash}")));
    let forms = [
        Form::Site(None),
        Form::Area(Some(id)),
        Form::Circuit(None),
        Form::Position(Some(id)),
        Form::PositionLike(id),
        Form::Unlisted(id),
        Form::Heater(None),
        Form::HeaterAsks(id, Gap::FitFrom),
        Form::Procedure(Some(id)),
        Form::Marking(id),
        Form::Person(None),
        Form::PhoneName,
        Form::Plan,
        Form::Notify(11),
        Form::Reopen,
        Form::Sign(1),
        Form::Impair,
        Form::Programming,
        Form::Panel(2),
        Form::NotTested(id),
        Form::OtherMethod(id),
        Form::Break,
        Form::OpenPair(None),
        Form::OpenPair(Some(id)),
        Form::ProveCircuit(id),
        Form::Lift,
        Form::Invite,
        Form::Permit(None),
        Form::Approval(id),
        Form::Visual(id),
        Form::Repair(id),
        Form::Replace(id),
        Form::Judge(id),
        Form::Restored(id),
        Form::SiteRules(id),
        Form::Rule(id, 2),
        Form::NotifyStep(id, 3),
        Form::PlanPosition(id),
    ];
    let places = [
        Route::Visit,
        Route::StillOff,
        Route::Closing,
        Route::AtPanel,
        Route::Before(id),
        Route::Test(None),
        Route::Test(Some(id)),
        Route::Findings,
        Route::Finding(id),
        Route::Play(id),
        Route::Register,
        Route::Position(id),
        Route::InArea(id),
        Route::Walk(id),
        Route::Sheet(id),
        Route::Profile(id),
        Route::ProfileRun(id),
        Route::People,
        Route::Settings,
        Route::Handover,
        Route::CheckFile,
        Route::Day(id, 20_514),
        Route::Due(id),
        Route::Coverage(id),
        Route::Truck(id),
        Route::Rules(id),
        Route::Folder,
        Route::Passphrase,
        Route::Record,
        Route::Notice,
        Route::Computed(None),
        Route::Computed(Some(3)),
    ];
    // A place that is not listed would not be tried.
    let declared = |of: &str| {
        let code =
            include_str!("../../src/view/route.rs").split(&format!("pub enum {of} {{")).nth(1).expect("the enum");
        let code = code.split("\n}").next().unwrap_or_default();
        code.lines().filter(|line| line.trim_start().starts_with(|sign: char| sign.is_ascii_uppercase())).count()
    };
    let kinds = |of: &[Route]| of.iter().map(discriminant).collect::<HashSet<_>>().len();
    assert_eq!(kinds(&places) + 1, declared("Route"), "list it in `places` above");
    let entries = of_an_entry.iter().filter_map(|place| if let Route::Form(form) = place { Some(*form) } else { None });
    let kinds = forms.into_iter().chain(entries).map(|form| discriminant(&form)).collect::<HashSet<_>>();
    assert_eq!(kinds.len(), declared("Form"), "list it in `forms` above");
    for place in places.into_iter().chain(forms.map(Route::Form)).chain(of_an_entry) {
        assert_eq!(Route::read(&place.address()), place, "`Route::read` reads what `address` writes");
    }
    assert!(!of_an_entry.contains(&Route::Visit));
    assert_eq!(Route::read("#/nonsense/xyz"), Route::Visit);
    assert_eq!(Route::read(""), Route::Visit);
}
