//! Notices that a newer version of the app waits, and asks the service worker for it, which refuses while a test is active.

use std::cell::{Cell, RefCell};
use std::rc::Rc;

use gloo_events::EventListener;
use js_sys::{Array, Object, Reflect};
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::{JsFuture, spawn_local};
use web_sys::{MessageChannel, ServiceWorkerContainer, ServiceWorkerRegistration};

use super::js::{After, first, member, settle, window, words};

/// How long the worker's answer is waited for, ms. Common practice, no published source.
const PATIENCE_MS: i32 = 5_000;

/// What the worker said to an update.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Answer {
    /// It takes over; the page reloads by itself when it has.
    Ok,
    /// A test is active, here or in another tab: end it first.
    Busy,
    /// No update waits.
    Nothing,
    /// It gave no answer, or the browser refused, in its words: try again.
    TryAgain(String),
}

/// Watches for updates until it is dropped.
pub struct Updates {
    registration: Rc<RefCell<Option<ServiceWorkerRegistration>>>,
    listening: Rc<RefCell<Vec<EventListener>>>,
    asked: Rc<Cell<bool>>,
}

impl std::fmt::Debug for Updates {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Updates(asked: {})", self.asked.get())
    }
}

/// Calls `waits` whenever a newer version is ready and waits. Does nothing where there is no service worker.
pub fn watch(waits: impl Fn() + 'static) -> Updates {
    let updates = Updates { registration: Rc::default(), listening: Rc::default(), asked: Rc::default() };
    let Some(container) = container() else { return updates };
    let asked = updates.asked.clone();
    updates.listening.borrow_mut().push(EventListener::new(&container, "controllerchange", move |_| {
        // The first worker of a fresh page takes control too; only what was asked for reloads.
        if asked.get() {
            drop(window().location().reload());
        }
    }));
    let (registration, listening) = (updates.registration.clone(), Rc::downgrade(&updates.listening));
    spawn_local(async move {
        let Ok(ready) = container.ready() else { return };
        let Ok(ready) = JsFuture::from(ready).await else { return };
        // Dropped meanwhile: nobody is to be told any more.
        let Some(listening) = listening.upgrade() else { return };
        let ready: ServiceWorkerRegistration = ready.unchecked_into();
        *registration.borrow_mut() = Some(ready.clone());
        let waits = Rc::new(waits);
        if ready.waiting().is_some() {
            waits();
        }
        let (found, inner) = (ready.clone(), Rc::downgrade(&listening));
        listening.borrow_mut().push(EventListener::new(&ready, "updatefound", move |_| {
            let (Some(worker), Some(listening)) = (found.installing(), inner.upgrade()) else { return };
            let (waits, registration) = (waits.clone(), found.clone());
            listening.borrow_mut().push(EventListener::new(&worker, "statechange", move |_| {
                if registration.waiting().is_some() {
                    waits();
                }
            }));
        }));
    });
    updates
}

impl Updates {
    /// Asks the version that waits to take over.
    pub async fn ask(&self) -> Answer {
        let waiting = self.registration.borrow().as_ref().and_then(ServiceWorkerRegistration::waiting);
        let Some(worker) = waiting else { return Answer::Nothing };
        // Set before the answer: the take-over may come first.
        self.asked.set(true);
        let asked = async {
            let channel = MessageChannel::new()?;
            let port = channel.port1();
            let answer = settle(|resolve, _| port.set_onmessage(Some(&resolve)));
            let message = Object::new();
            Reflect::set(&message, &"ask".into(), &"update".into())?;
            worker.post_message_with_transferable(&message, &Array::of1(&channel.port2()))?;
            let patience = After::ms(PATIENCE_MS);
            let answer = first(&[&answer, patience.promise()]).await;
            port.close();
            answer
        };
        let answer = match asked.await {
            Ok(event) => match member(&event, "data").and_then(|data| data.as_string()).as_deref() {
                Some("ok") => Answer::Ok,
                Some("busy") => Answer::Busy,
                _ => Answer::TryAgain("no answer".into()),
            },
            Err(error) => Answer::TryAgain(words(&error)),
        };
        self.asked.set(answer == Answer::Ok);
        answer
    }
}

fn container() -> Option<ServiceWorkerContainer> {
    member(&window().navigator(), "serviceWorker").map(JsCast::unchecked_into)
}
