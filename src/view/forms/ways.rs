//! Where a form leads: back, and on once it was saved.

use crate::book::Id;
use crate::book::entries::Book;
use crate::book::test::Test;
use crate::view::route::{Form, Route};

/// Where the way back of a form leads.
pub fn back(form: Form) -> Route {
    match form {
        Form::Marking(test) | Form::Judge(test) => Route::Finding(test),
        Form::Plan
        | Form::Notify(_)
        | Form::Reopen
        | Form::Impair
        | Form::Secure(_)
        | Form::Restore(_)
        | Form::Permit(_)
        | Form::Approval(_)
        | Form::ClearAlarm(_)
        | Form::Visual(_)
        | Form::Restored(_)
        | Form::Item(_)
        | Form::Repair(_)
        | Form::Replace(_) => Route::Visit,
        Form::Reading(_) | Form::Strike(_) => Route::Test(None),
        Form::Person(_) | Form::PhoneName => Route::People,
        _ => Route::Register,
    }
}

/// The same for a form about an entry of a test: back to the test while it is in progress, else to its result.
pub fn leads_back(form: Form, book: &Book) -> Route {
    let test = match form {
        Form::Reading(entry) | Form::Strike(entry) => book.get(entry).and_then(|entry| entry.body.test()),
        _ => None,
    };
    match test.and_then(|test| Test::of(book, test)) {
        Some(test) if test.ended.is_some() => Route::Finding(test.id),
        Some(test) => Route::Test(Some(test.id)),
        None => back(form),
    }
}

/// Where to go when a form was saved: a new site wants an area, a new area a position, a new person goes to work.
pub fn next(form: Form, id: Id, new: bool, book: &Book) -> Route {
    match form {
        Form::Site(_) if new => Route::Form(Form::Area(Some(id))),
        Form::Area(_) if new => Route::Form(Form::Position(Some(id))),
        Form::Person(_) if new => Route::Visit,
        _ => leads_back(form, book),
    }
}
