//! The forms of the register and of a visit's steps.

mod demo;
mod fields;
mod form;
mod resolve;

pub(in crate::ui) use demo::load_demo;
pub(in crate::ui) use form::FormScreen;
