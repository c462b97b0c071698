//! Values that follow others. Leptos compiles its machinery anew for every closure; a boxed closure needs it once per type of value.

use leptos::prelude::*;

/// What `of` says, worked out again when something it has read changes, and passed on when it differs.
pub fn memo<T: PartialEq + Send + Sync + 'static>(of: impl Fn() -> T + Send + Sync + 'static) -> Memo<T> {
    boxed(Box::new(of))
}

fn boxed<T: PartialEq + Send + Sync + 'static>(of: Box<dyn Fn() -> T + Send + Sync>) -> Memo<T> {
    Memo::new(move |_| of())
}
