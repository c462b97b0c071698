//! The connection to the database: opened when it is needed, let go when it is asked for, opened again when it was lost.

use std::cell::{Cell, RefCell};
use std::rc::{Rc, Weak};

use wasm_bindgen::prelude::*;
use web_sys::{Event, IdbDatabase};

use super::idb;
use crate::browser::js::{After, first, member};
use crate::storage::Trouble;

/// How long an answer of the database is waited for before that is said, ms. Common practice, no published source.
pub(super) const PATIENCE_MS: i32 = 5_000;

#[derive(Debug)]
pub(super) struct Connection {
    name: String,
    db: RefCell<Option<IdbDatabase>>,
    opening: RefCell<Option<Rc<idb::Opening>>>,
    // Whether the last try to open failed.
    unopened: Cell<bool>,
    opened_before: Cell<bool>,
    /// Set when the database was there in this session and then had to be made anew.
    pub(super) erased: Cell<bool>,
    lost: Closure<dyn FnMut(Event)>,
}

impl Connection {
    pub(super) fn new(name: &str) -> Rc<Connection> {
        Rc::new_cyclic(|weak: &Weak<Connection>| {
            let weak = weak.clone();
            Connection {
                name: name.into(),
                db: RefCell::default(),
                opening: RefCell::default(),
                unopened: Cell::new(false),
                opened_before: Cell::new(false),
                erased: Cell::new(false),
                // The browser closed the database, or a newer version in another tab asks for it: let go at once, so that
                // nobody waits for this page.
                lost: Closure::new(move |_| {
                    if let Some(connection) = weak.upgrade() {
                        connection.close();
                    }
                }),
            }
        })
    }

    /// Closes the database and removes it.
    ///
    /// # Errors
    /// What the browser said.
    pub(super) async fn delete(&self) -> Result<(), Trouble> {
        self.close();
        let gone = wasm_bindgen_futures::JsFuture::from(idb::delete(&self.name)?).await;
        gone.map(drop).map_err(|error| Trouble::from_js(&error))
    }

    /// The database, if it is open now.
    pub(super) fn now(&self) -> Option<IdbDatabase> {
        self.db.borrow().clone()
    }

    /// Whether the database could be opened when it was last needed.
    pub(super) fn can_open(&self) -> bool {
        !self.unopened.get()
    }

    pub(super) fn close(&self) {
        if let Some(db) = self.db.take() {
            // The closure may go with this connection, so the database must not call it any more.
            db.set_onclose(None);
            db.set_onversionchange(None);
            db.close();
        }
    }

    /// The open database, opened when it is not.
    pub(super) async fn get(&self) -> Result<IdbDatabase, Trouble> {
        if let Some(db) = self.now() {
            return Ok(db);
        }
        let opened = self.take_up().await;
        self.unopened.set(opened.is_err());
        opened
    }

    /// Waits for the database to open. One request at a time: one that was blocked or slow may still be answered, so the next
    /// to need the database takes it up again.
    async fn take_up(&self) -> Result<IdbDatabase, Trouble> {
        let under_way = self.opening.borrow().clone();
        let opening = match under_way {
            Some(opening) => opening,
            None => self.opening.borrow_mut().insert(Rc::new(idb::open(&self.name)?)).clone(),
        };
        let patience = After::ms(PATIENCE_MS);
        match first(&[&opening.done, &opening.blocked, patience.promise()]).await {
            Ok(value) if value.is_undefined() => Err(Trouble::Wait),
            Ok(event) if member(&event, "type").is_some_and(|name| name == "blocked") => Err(Trouble::CloseOtherTab),
            Ok(_) => {
                self.opening.take();
                if self.opened_before.replace(true) && opening.created.get() {
                    self.erased.set(true);
                }
                let db: IdbDatabase =
                    opening.request.result().map_err(|error| Trouble::from_js(&error))?.unchecked_into();
                let lost = Some(self.lost.as_ref().unchecked_ref());
                db.set_onclose(lost);
                db.set_onversionchange(lost);
                Ok(self.db.borrow_mut().insert(db).clone())
            }
            Err(event) => {
                self.opening.take();
                let error = opening.request.error().ok().flatten().map_or(event, JsValue::from);
                Err(Trouble::from_js(&error))
            }
        }
    }
}

impl Drop for Connection {
    fn drop(&mut self) {
        self.close();
    }
}
