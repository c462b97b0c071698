//! Where a form leads: back, and on once it was saved.

use crate::book::Id;
use crate::book::log::Book;
use crate::book::test::Test;
use crate::view::place::{Form, Place};

/// Where the way back of a form leads.
pub fn back(form: Form) -> Place {
    match form {
        Form::Marking(test) | Form::Judge(test) => Place::Finding(test),
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
        | Form::Replace(_) => Place::Visit,
        Form::Reading(_) | Form::Strike(_) => Place::Test(None),
        Form::Person(_) | Form::PhoneName => Place::People,
        _ => Place::Register,
    }
}

/// The same for a form about an entry of a test: back to the test while it is in progress, else to its result.
pub fn leads_back(form: Form, book: &Book) -> Place {
    let test = match form {
        Form::Reading(entry) | Form::Strike(entry) => book.get(entry).and_then(|entry| entry.body.test()),
        _ => None,
    };
    match test.and_then(|test| Test::of(book, test)) {
        Some(test) if test.ended.is_some() => Place::Finding(test.id),
        Some(test) => Place::Test(Some(test.id)),
        None => back(form),
    }
}

/// Where to go when a form was saved: a new site wants an area, a new area a position, a new person goes to work.
pub fn next(form: Form, id: Id, new: bool, book: &Book) -> Place {
    match form {
        Form::Site(_) if new => Place::Form(Form::Area(Some(id))),
        Form::Area(_) if new => Place::Form(Form::Position(Some(id))),
        Form::Person(_) if new => Place::Visit,
        _ => leads_back(form, book),
    }
}
