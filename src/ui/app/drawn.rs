//! Signals that follow the session. Each is set only when what it says differs: a step that changes one of them leaves what is drawn of
//! the others alone, and has nothing to look through.

use crate::session::Session;
use leptos::prelude::*;
use std::fmt;

type Follow = Box<dyn Fn(&Session) + Send + Sync>;

/// How each signal follows.
#[derive(Default)]
pub(super) struct Drawn(Vec<Follow>);

impl fmt::Debug for Drawn {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Drawn({} signals)", self.0.len())
    }
}

impl Drawn {
    /// A signal of what a session says.
    pub(super) fn value<T: PartialEq + Send + Sync + 'static>(
        &mut self,
        session: &Session,
        of: impl Fn(&Session) -> T + Send + Sync + 'static,
    ) -> ReadSignal<T> {
        let (read, write) = signal(of(session));
        self.0.push(Box::new(move |session| {
            let now = of(session);
            if read.with_untracked(|before| *before != now) {
                write.set(now);
            }
        }));
        read
    }

    /// The same of what it holds, which is copied only when it differs.
    pub(super) fn part<T: Clone + PartialEq + Send + Sync + 'static>(
        &mut self,
        session: &Session,
        of: fn(&Session) -> &T,
    ) -> ReadSignal<T> {
        let (read, write) = signal(of(session).clone());
        self.0.push(Box::new(move |session| {
            let now = of(session);
            if read.with_untracked(|before| before != now) {
                write.set(now.clone());
            }
        }));
        read
    }

    /// Sets what differs.
    pub(super) fn follow(&self, session: &Session) {
        self.0.iter().for_each(|follow| follow(session));
    }
}
