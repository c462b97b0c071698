//! Photos: taken with the camera, and drawn.

use crate::book::acts::About;
use crate::book::entries::Attachment;
use crate::book::entry::Hash;
use crate::browser::photo::{self, Address, MEDIA};
use crate::browser::{clock, ids};
use crate::ui::app::{App, use_app};
use crate::view::page::{Picture, Pictures};
use crate::view::photos::refused;
use leptos::html::Input;
use leptos::prelude::*;
use leptos::task::spawn_local;

/// Takes photos, given by context.
#[derive(Clone, Copy, Debug)]
pub(super) struct Photos {
    app: App,
    /// What the next one is of.
    about: StoredValue<Option<About>>,
    /// The browser's own button, which opens the camera.
    pub(super) input: NodeRef<Input>,
    /// Whether one is made ready.
    pub(super) working: RwSignal<bool>,
}

impl Photos {
    pub(super) fn start(app: App) {
        let (about, input, working) = (StoredValue::new(None), NodeRef::new(), RwSignal::new(false));
        provide_context(Photos { app, about, input, working });
    }

    /// Opens the camera. To be called in a tap.
    pub(super) fn take(self, about: About) {
        if self.working.get_untracked() {
            return;
        }
        self.about.set_value(Some(about));
        if let Some(input) = self.input.get_untracked() {
            input.click();
        }
    }

    /// Records what the camera has given.
    pub(super) fn taken(self) {
        let (Some(input), Some(about)) = (self.input.get_untracked(), self.about.get_value()) else { return };
        self.working.set(true);
        spawn_local(async move {
            let photo = photo::pick(&input).await;
            self.working.set(false);
            match photo {
                Some(Ok(bytes)) => {
                    let attachment = Attachment { salt: ids::random(), media: MEDIA.to_string(), bytes };
                    self.app.add_photo(clock::now(), about, attachment);
                }
                Some(Err(why)) => self.app.change(|session| session.refuse(refused(&why), None)),
                None => {}
            }
        });
    }
}

/// Photos in a row, each read when it is drawn.
pub(super) fn pictures(of: Pictures, perform: impl Fn(&crate::view::page::Action) + Copy + 'static) -> AnyView {
    let class = if of.large { "pictures large" } else { "pictures" };
    let draw = move |picture: Picture| {
        let Picture { key, photo, gone, alt, caption, action } = picture;
        let inside = if gone.is_empty() {
            image(photo, alt.to_string())
        } else {
            view! { <span class="gone">{gone}</span> }.into_any()
        };
        let caption = (!caption.is_empty()).then(|| view! { <small>{caption}</small> });
        match action {
            Some(action) => view! {
                <button type="button" class="picture" data-testid=key.into_owned() aria-label=alt.into_owned() on:click=move |_| perform(&action)>
                    {inside} {caption}
                </button>
            }
            .into_any(),
            None => view! { <figure class="picture" data-testid=key.into_owned()>{inside} {caption}</figure> }.into_any(),
        }
    };
    view! { <div class=class>{of.pictures.into_iter().map(draw).collect_view()}</div> }.into_any()
}

fn image(photo: Hash, alt: String) -> AnyView {
    let app = use_app();
    let address = RwSignal::new_local(None::<Address>);
    let missing = RwSignal::new(false);
    spawn_local(async move {
        let found = app.attachment(photo).await;
        let found = found.and_then(|found| Address::of(&found.bytes, &found.media));
        // Where it was left nobody waits for it.
        let _gone = missing.try_set(found.is_none());
        let _left = address.try_set(found);
    });
    let source = move || address.with(|address| address.as_ref().map(|address| address.text().to_string()));
    view! { <img src=source alt=alt decoding="async" class:missing=move || missing.get() on:error=move |_| missing.set(true) /> }
        .into_any()
}
