//! What is there only while something holds.

use crate::ui::memo::memo;
use leptos::prelude::*;
use std::fmt;

/// When something is shown.
pub struct When(Box<dyn Fn() -> bool + Send + Sync>);

impl<F: Fn() -> bool + Send + Sync + 'static> From<F> for When {
    fn from(holds: F) -> Self {
        Self(Box::new(holds))
    }
}

impl fmt::Debug for When {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("When").finish_non_exhaustive()
    }
}

/// Shows what is inside while the condition holds, made anew each time. Leptos' own is compiled for every pair of condition and
/// inside.
#[component]
pub fn show(
    /// The condition.
    #[prop(into)]
    when: When,
    /// What is inside.
    children: ChildrenFn,
) -> impl IntoView {
    let holds = memo(when.0);
    move || holds.get().then(|| children())
}
