//! Which site is on screen, so that every page and print of an invented one says that it is invented, and none of a real one does.

use super::route::{Form, Route};
use crate::book::Id;
use crate::book::entries::Book;
use crate::book::register::Register;
use crate::book::test::Test;
use crate::book::versions::Versions;

/// Whether what stands at a place is of an invented site: the one the place is about, else that of the visit on `screen`, else all there
/// is.
pub fn is_invented(place: Route, screen: Option<Id>, book: &Book, register: &Register) -> bool {
    if place == Route::CheckFile {
        // Somebody else's file, which says itself what it is.
        return false;
    }
    let invented = |site: Id| register.sites.get(&site).and_then(Versions::now).is_some_and(|site| site.invented);
    match site_of(place, book, register).or(screen) {
        Some(site) => invented(site),
        None => !register.sites.is_empty() && register.sites.keys().all(|site| invented(*site)),
    }
}

/// The site that a place is about; none where it is about the visit on screen, or about none.
fn site_of(place: Route, book: &Book, register: &Register) -> Option<Id> {
    let of_test = |test| register.site_of(Test::of(book, test)?.frozen.position.of);
    let of_area = |area| Some(register.areas.get(&area)?.now()?.site);
    match place {
        Route::Finding(test) | Route::Play(test) => of_test(test),
        Route::Position(position) | Route::Before(position) => register.site_of(position),
        Route::InArea(area) | Route::Walk(area) => of_area(area),
        Route::Day(site, _) => Some(site),
        Route::Sheet(site) | Route::Due(site) | Route::Coverage(site) | Route::Truck(site) | Route::Rules(site) => {
            Some(site)
        }
        Route::Form(Form::Position(Some(position)) | Form::PositionLike(position)) => register.site_of(position),
        Route::Form(Form::Area(Some(area))) => of_area(area),
        Route::Form(
            Form::Site(Some(site)) | Form::SiteRules(site) | Form::Rule(site, _) | Form::NotifyStep(site, _),
        ) => Some(site),
        _ => None,
    }
}
