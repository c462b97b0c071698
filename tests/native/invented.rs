//! Every page of an invented site says so, and none of a real one.

use crate::demo::{at, demo_book, give};
use soakbook::book::Id;
use soakbook::book::body::{Area, Site};
use soakbook::book::command::Command;
use soakbook::book::register::Register;
use soakbook::trade::detector::AreaConditions;
use soakbook::units::Wall;
use soakbook::view::invented::is_invented;
use soakbook::view::route::{Form, Route};

/// 2026-03-01T09:00:00Z by `date -u -d 2026-03-01T09:00:00Z +%s`.
const NOW: Wall = Wall(1_772_355_600_000);
const MILL: Id = Id::from_u128(9_001);
const SHED: Id = Id::from_u128(9_002);

#[test]
fn a_page_says_what_its_own_site_is_whatever_visit_is_on_screen() {
    let (mut book, made) = demo_book();
    let site = Site { name: "Lower mill".into(), address: None, invented: false };
    give(&mut book, at(NOW), Command::PutSite { site: MILL, now: site }).expect("a site");
    let area = Area { site: MILL, name: "Shed".into() };
    let conditions = AreaConditions::default();
    give(&mut book, at(NOW), Command::PutArea { area: SHED, now: area, conditions }).expect("an area");
    let register = Register::of(&book);
    let hall = register.areas_of(made.site)[0].0;
    let position = register.positions_of(hall)[0].0;
    let of_demo = [
        Route::Position(position),
        Route::Before(position),
        Route::InArea(hall),
        Route::Walk(hall),
        Route::Sheet(made.site),
        Route::Due(made.site),
        Route::Coverage(made.site),
        Route::Truck(made.site),
        Route::Rules(made.site),
        Route::Form(Form::Position(Some(position))),
        Route::Form(Form::Area(Some(hall))),
        Route::Form(Form::Site(Some(made.site))),
        Route::Form(Form::SiteRules(made.site)),
    ];
    for place in of_demo {
        assert!(is_invented(place, Some(MILL), &book, &register), "{place:?}");
    }
    for place in [Route::InArea(SHED), Route::Sheet(MILL), Route::Due(MILL), Route::Form(Form::Site(Some(MILL)))] {
        assert!(!is_invented(place, Some(made.site), &book, &register), "{place:?}");
    }
    // What is about no site goes by the visit; without one by all there is.
    assert!(is_invented(Route::Visit, Some(made.site), &book, &register));
    assert!(!is_invented(Route::Visit, Some(MILL), &book, &register));
    assert!(!is_invented(Route::Settings, None, &book, &register));
}
