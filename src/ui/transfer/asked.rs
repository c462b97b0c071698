//! A visit file that is only checked: nothing of it is kept.

use super::{Transfers, no_seal, parameters};
use crate::browser::share::{NotRead, Picked};
use crate::browser::{clock, seal};
use crate::handover;
use crate::handover::sealed::{Seal, is_sealed, open_each};
use crate::view::check_file::{self, State};
use crate::view::handover as words;
use crate::view::route::Route;
use leptos::prelude::*;

impl Transfers {
    /// What was asked is forgotten elsewhere. The passphrase is part of asking: who comes back without it finds the files still there.
    pub(super) fn forget_asked(self) {
        let app = self.app;
        Effect::new(move |_| {
            let asks = matches!(app.place.get(), Route::CheckFile | Route::Passphrase);
            if !asks && self.asked.with_untracked(|asked| *asked != State::default()) {
                self.asked.set(State::default());
            }
        });
    }

    fn tell(self, name: String, said: Vec<crate::view::page::Block>) {
        self.asked.update(|asked| asked.said.push((name, said)));
    }

    /// Checks a file that was chosen.
    pub(super) async fn check_file(self, Picked { name, text }: Picked) {
        let refused = match text {
            Ok(text) if is_sealed(&text) => {
                return self.asked.update(|asked| asked.sealed.push((name, text)));
            }
            Ok(text) => return self.check_text(name, &text).await,
            Err(NotRead::TooLarge(_)) => words::too_large(&name),
            Err(NotRead::ChooseAgain(why)) => words::not_read(&name, &why),
        };
        self.tell(name, check_file::unread(refused.lines));
    }

    async fn check_text(self, name: String, text: &str) {
        let said = match self.read(&name, text).await {
            Ok(incoming) => check_file::read(&incoming, text, clock::offset_minutes(clock::now().wall_ms).into()),
            Err(handover::NotRead::Cancelled) => check_file::unread(words::stopped(&name).lines),
            Err(handover::NotRead::Faults(faults)) => check_file::faulty(&faults),
        };
        self.tell(name, said);
    }

    /// Opens the sealed files that were chosen to be checked.
    ///
    /// # Errors
    /// Which of them stay closed and why, as a sentence.
    pub(in crate::ui) async fn unseal_asked(self, passphrase: &str) -> Result<(), String> {
        let files = self.asked.try_update(|asked| std::mem::take(&mut asked.sealed)).unwrap_or_default();
        self.stopped.set_value(false);
        let decrypt = async |seal: &Seal, bytes: &[u8]| seal::open(passphrase, parameters(seal), bytes).await;
        let stay = open_each(files, decrypt, async |name: String, opened| {
            match opened {
                Ok(text) => self.check_text(name, &text).await,
                Err(fault) => self.tell(name, check_file::unread(vec![words::seal_words(fault)])),
            }
            self.state.update(|state| state.loading = None);
        });
        let (stay, whys): (Vec<_>, Vec<_>) = stay.await.into_iter().unzip();
        let fault = whys.into_iter().next_back().map(|why| words::not_opened(&stay, &no_seal(why)));
        self.asked.update(|asked| asked.sealed = stay);
        fault.map_or(Ok(()), Err)
    }
}
