//! Positions and the detectors in them: the rules, finding one, its page, its past.

mod page;
mod rules;
mod search;
pub(crate) mod years;

use crate::kit::World;
use soakbook::book::Id;
use soakbook::book::kit::Kit;
use soakbook::book::register::Register;
use soakbook::findings::history::of_position;
use soakbook::units::Degree;
use soakbook::view::forms::Known;
use soakbook::view::page::Page;
use soakbook::view::position::{self, Shown};
use soakbook::view::route::Route;

/// What forms and pages are made from.
fn known<T>(world: &World, visit: Option<Id>, with: impl FnOnce(Known<'_>) -> T) -> T {
    let (register, kit) = (Register::of(&world.book), Kit::of(&world.book));
    with(Known { register: &register, kit: &kit, book: &world.book, visit, at: world.phone.at() })
}

/// The page of a position.
fn page(world: &World, visit: Option<Id>, id: Id) -> Page {
    page_of(world, visit, id, true)
}

/// The same; `whole` once everything has been read.
fn page_of(world: &World, visit: Option<Id>, id: Id, whole: bool) -> Page {
    let done = of_position(&world.book, id);
    known(world, visit, |known| {
        position::page(Shown {
            known,
            id,
            done: &done,
            whole,
            due: None,
            from: Route::Register,
            unit: Degree::F,
            offset: &|_| 0,
        })
    })
}
