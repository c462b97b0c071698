//! Where a form leads: back, and on once it was saved.

use crate::book::Id;
use crate::book::acts::About;
use crate::book::body::Body;
use crate::book::entries::Book;
use crate::book::entry::Hash;
use crate::book::kit::Kit;
use crate::book::register::Register;
use crate::book::test::Test;
use crate::view::route::{Form, Route};

/// Where the way back of a form leads.
pub fn back(form: Form) -> Route {
    match form {
        Form::Marking(test) | Form::Judge(test) => Route::Finding(test),
        Form::Break => Route::StillOff,
        Form::Sign(_) => Route::Record,
        Form::PanelPoint(_) => Route::AtPanel,
        Form::LeaveOff(_) | Form::Excuse(_) | Form::Panel(2) => Route::Closing,
        Form::NotTested(position) | Form::OtherMethod(position) | Form::OpenPair(Some(position)) => {
            Route::Before(position)
        }
        Form::Plan
        | Form::Panel(_)
        | Form::OpenPair(None)
        | Form::ProveCircuit(_)
        | Form::Lift
        | Form::Invite
        | Form::Programming
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
        | Form::PanelShowed(_)
        | Form::Item(_)
        | Form::Repair(_)
        | Form::Unlisted(_) => Route::Visit,
        Form::Position(Some(position)) | Form::PositionLike(position) | Form::Replace(position) => {
            Route::Position(position)
        }
        Form::Reading(_) | Form::Strike(_) => Route::Test(None),
        Form::Person(_) | Form::PhoneName => Route::People,
        Form::SiteRules(site) | Form::Rule(site, _) | Form::NotifyStep(site, _) => Route::Rules(site),
        Form::PlanPosition(_) => Route::Visit,
        _ => Route::Register,
    }
}

/// The same for a form about an entry of a test: back to the test while it is in progress, else to its result.
pub fn leads_back(form: Form, book: &Book) -> Route {
    if let Form::Caption(photo) = form {
        return photo_of(photo, book);
    }
    if let Form::PlanPosition(position) = form {
        return Register::of(book).site_of(position).map_or(Route::Visit, Route::Due);
    }
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

/// Where the thing or act is shown that a photo is of.
fn photo_of(photo: Hash, book: &Book) -> Route {
    let Some(Body::Photo(photo)) = book.get(photo).map(|entry| &entry.body) else { return Route::Register };
    let register = Register::of(book);
    match photo.about {
        About::Act(act) => Route::Form(Form::Item(act)),
        About::Thing(id) if register.positions.contains_key(&id) => Route::Form(Form::Position(Some(id))),
        About::Thing(id) if register.areas.contains_key(&id) => Route::Form(Form::Area(Some(id))),
        About::Thing(id) if Kit::of(book).heaters.contains_key(&id) => Route::Form(Form::Heater(Some(id))),
        About::Thing(_) => Route::Visit,
    }
}

/// Where to go when a form was saved: a new site wants an area, a new area a position, a new person goes to work.
pub fn next(form: Form, id: Id, new: bool, book: &Book) -> Route {
    match form {
        Form::Site(_) if new => Route::Form(Form::Area(Some(id))),
        Form::Area(_) if new => Route::Form(Form::Position(Some(id))),
        Form::Person(_) if new => Route::Visit,
        // Done with here; the list is where the next one is.
        Form::NotTested(_) | Form::OtherMethod(_) => Route::Visit,
        Form::Invite => Route::Handover,
        Form::Unlisted(_) => Route::Position(id),
        Form::Position(_) | Form::PositionLike(_) if new => Route::Register,
        _ => leads_back(form, book),
    }
}
