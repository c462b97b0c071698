//! What leaves the phone by a tap: visit files, sealed or not, and tables.

use super::{Transfers, no_seal, parameters};
use crate::book::Id;
use crate::book::entries::Book;
use crate::book::visit::Visit;
use crate::browser::share::{self, NotShared, Sent};
use crate::browser::{clock, ids, seal};
use crate::encoding::csv;
use crate::handover::sealed::{Seal, sealed_name};
use crate::handover::{
    BundlePictures, Cover, InUnit, MEDIA, NothingToHandOver, Select, pictures_of, results_name, results_sheet,
};
use crate::units::Degree;
use crate::view::handover::{self as words, Left};
use crate::view::office::{self, Ask};
use crate::view::page::Request;
use leptos::prelude::*;
use leptos::task::spawn_local;

impl Transfers {
    /// Seals the visit on screen and sends it.
    ///
    /// # Errors
    /// Why not, as a sentence.
    pub(in crate::ui) async fn seal(self, passphrase: &str) -> Result<(), String> {
        let visit = self.app.visit.with_untracked(|visit| visit.as_ref().map(|visit| Select::Visit(visit.id)));
        let select = visit.ok_or_else(|| words::nothing(NothingToHandOver::Visit))?;
        let (pictures, without) = self.pictures(select, Cover::Sealed).await;
        let (bundle, name) = self.bundle(select, pictures, clock::now().wall_ms).map_err(words::nothing)?;
        let seal = Seal::new(ids::random(), ids::random());
        let encrypted = seal::seal(passphrase, parameters(&seal), bundle.text.as_bytes()).await.map_err(no_seal)?;
        let (name, sealed) = (sealed_name(&name), seal.file(&encrypted));
        let mut left = send(&name, &sealed, true).await;
        if let Left::Failed(_) = left {
            // The Send page would save it unsealed.
            left = send(&name, &sealed, false).await;
        }
        if let Left::Failed(why) = left {
            return Err(words::sealed_not_saved(&why));
        }
        if left != Left::Cancelled {
            self.note(&bundle);
        }
        self.state.update(|state| (state.said, state.without) = (Some(Ok(left)), without));
        self.fresh.set_value(true);
        Ok(())
    }

    /// How many photos of the visit on screen a sealed file has no room for.
    pub(in crate::ui) async fn left_out(self) -> usize {
        let visit = self.app.visit.with_untracked(|visit| visit.as_ref().map(|visit| Select::Visit(visit.id)));
        match visit {
            Some(select) => self.pictures(select, Cover::Sealed).await.1,
            None => 0,
        }
    }

    /// Sends what was asked for.
    pub(in crate::ui) fn send(self, request: Request) {
        let visit = self.app.visit.with_untracked(|visit| visit.as_ref().map(|visit| Select::Visit(visit.id)));
        let select = if request == Request::ShareAll { Some(Select::Everything) } else { visit };
        self.state.update(|state| state.left = Vec::new());
        let Some(select) = select else {
            let why = words::nothing(NothingToHandOver::Visit);
            return self.state.update(|state| state.said = Some(Err(why)));
        };
        if self.app.book.with_untracked(|book| pictures_of(book, select).is_empty()) {
            // In the task of the tap: a share sheet opens in no other.
            return self.send_with(select, request, BundlePictures::default(), 0);
        }
        spawn_local(async move {
            let (pictures, without) = self.pictures(select, Cover::Open).await;
            self.send_with(select, request, pictures, without);
        });
    }

    /// The pictures of what is selected, and how many had no room or are not here.
    pub(super) async fn pictures(self, select: Select, cover: Cover) -> (BundlePictures, usize) {
        let asked = |book: &Book| (pictures_of(book, select), BundlePictures::beside(book, select, cover));
        let (pictures, mut read) = self.app.book.with_untracked(asked);
        let mut without = 0;
        for picture in pictures {
            // One at a time, so that a tap has its turn between.
            let added = self.app.attachment(picture).await.is_some_and(|found| read.add(&found));
            without += usize::from(!added);
        }
        (read, without)
    }

    fn send_with(self, select: Select, request: Request, pictures: BundlePictures, without: usize) {
        // Beside the share sheet, before anything leaves.
        self.state.update(|state| (state.said, state.without) = (None, without));
        match self.bundle(select, pictures, clock::now().wall_ms) {
            Err(why) => self.state.update(|state| state.said = Some(Err(words::nothing(why)))),
            Ok((bundle, name)) => spawn_local(async move {
                let left = send(&name, &bundle.text, request != Request::SaveVisit).await;
                if matches!(left, Left::Shared(_) | Left::Saved(_)) {
                    self.note(&bundle);
                }
                self.state.update(|state| state.said = Some(Ok(left)));
            }),
        }
    }

    /// Does what an office asks for.
    pub(in crate::ui) fn ask(self, ask: Ask) {
        match ask {
            Ask::DayResults(site, day) => {
                let offset = clock::offset_minutes(clock::now().wall_ms).into();
                let visits = self.app.book.with_untracked(|book| office::visits_on(book, site, day, offset));
                self.send_results(&visits);
            }
            Ask::ChooseFile => self.choose(),
            Ask::Order(by) => self.state.update(|state| state.order = by),
            Ask::Results => {
                let visit = self.app.visit.with_untracked(|visit| visit.as_ref().map(|visit| visit.id));
                self.send_results(visit.as_slice());
            }
        }
    }

    /// Sends the results of visits as a table for a spreadsheet.
    fn send_results(self, visits: &[Id]) {
        let app = self.app;
        let unit = match app.prefs.with_untracked(|prefs| prefs.unit) {
            Degree::F => InUnit::F,
            Degree::C => InUnit::C,
        };
        self.state.update(|state| (state.said, state.without, state.left) = (None, 0, Vec::new()));
        match app.book.with_untracked(|book| results_sheet(book, visits, unit)) {
            Err(why) => self.state.update(|state| state.said = Some(Err(words::nothing(why)))),
            Ok(sheet) => {
                let visit = visits.first().and_then(|id| app.book.with_untracked(|book| Visit::shared(book, *id)));
                // As of the last record, so that the same results go by the same name.
                let at = visit.as_ref().map_or(clock::now().wall_ms, |visit| visit.record.latest);
                let site = app.register.with_untracked(|register| words::file_site(register, visit.as_deref()));
                let name = results_name(&site, at, app.phone(), clock::offset_minutes(at).into(), sheet.lines);
                spawn_local(async move {
                    let left = send(&name, &sheet.text, true).await;
                    self.state.update(|state| state.said = Some(Ok(left)));
                });
            }
        }
    }
}

/// Hands a file to the share sheet, or saves it where that is asked for or where there is none.
pub(in crate::ui) async fn send(name: &str, text: &str, share: bool) -> Left {
    // A file without a known ending is not offered where files are chosen.
    let (name, media) = match name {
        name if name.ends_with(".json") => (name.to_string(), MEDIA),
        name if name.ends_with(".csv") => (name.to_string(), csv::MEDIA),
        name if name.ends_with(".html") => (name.to_string(), "text/html"),
        name => (format!("{name}.txt"), "text/plain"),
    };
    if share {
        match share::share(&name, text, media).await {
            Ok(Sent::Shared(name)) => return Left::Shared(name),
            Ok(Sent::Cancelled) => return Left::Cancelled,
            Err(NotShared::TryAgain(why)) => return Left::Failed(why),
            Err(NotShared::Download) => {}
        }
    }
    match share::download(&name, text, media) {
        Ok(()) => Left::Saved(name),
        Err(why) => Left::Failed(why),
    }
}
