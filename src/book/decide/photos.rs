//! Photos: of what, and what they are called.

use super::super::body::{About, Body, Photo};
use super::super::command::At;
use super::super::entries::Book;
use super::super::entry::Hash;
use super::super::kit::Kit;
use super::super::photos::scope_of;
use super::super::refusal::Refusal;
use super::super::register::Register;
use super::{Drafts, draft};

pub(super) fn add(book: &Book, at: At, about: About, photo: Hash, caption: Option<Hash>) -> Drafts {
    // Unlike an entry it has no second copy.
    if !at.durable {
        return Err(Refusal::NotDurable);
    }
    let scope = scope_of(book, &Register::of(book), &Kit::of(book), about).ok_or(Refusal::NothingToPhotograph)?;
    Ok(vec![draft(scope, Body::Photo(Photo { about, photo, caption }.into()))])
}

/// The last entry of a photo says its caption.
pub(super) fn caption(book: &Book, of: Hash, caption: Option<Hash>) -> Drafts {
    let entry = book.get(of).filter(|entry| !book.is_void(entry)).ok_or(Refusal::NothingToPhotograph)?;
    let Body::Photo(photo) = &entry.body else { return Err(Refusal::NothingToPhotograph) };
    if photo.caption == caption {
        return Ok(Vec::new());
    }
    Ok(vec![draft(entry.chain.scope, Body::Photo(Photo { caption, ..(**photo).clone() }.into()))])
}
