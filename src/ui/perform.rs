//! What a tap on a page does: every action in one match.

use crate::book::body::{Answer, VisitPlan, VisitType};
use crate::book::command::Command;
use crate::book::refusal::Refusal;
use crate::browser::clock;
use crate::ui::app::App;
use crate::ui::cue_player::{Cueing, use_cueing};
use crate::ui::paper::Paper;
use crate::ui::photos::Photos;
use crate::ui::screens::load_demo;
use crate::ui::sheet::Sheets;
use crate::ui::transfer::Transfers;
use crate::view::page::{Action, Page, Request, Words};
use crate::view::route::Route;
use crate::view::{at_panel, walk};
use leptos::prelude::*;

/// Performs the actions of one page.
#[derive(Clone, Copy, Debug)]
pub(super) struct Performer {
    app: App,
    cueing: Cueing,
    transfers: Transfers,
    photos: Photos,
    pub(super) sheets: Sheets,
    pub(super) paper: Paper,
    /// The sheet of the page that is open, by its name.
    pub(super) open: RwSignal<Option<Words>>,
    /// The page that is drawn; none for blocks on a screen of its own.
    pub(super) page: Option<Memo<Page>>,
}

impl Performer {
    /// For a page of the app, or for blocks on a screen of its own.
    pub(super) fn new(app: App, page: Option<Memo<Page>>) -> Performer {
        Performer {
            app,
            cueing: use_cueing(),
            transfers: expect_context(),
            photos: expect_context(),
            sheets: expect_context(),
            paper: expect_context(),
            open: RwSignal::new(None),
            page,
        }
    }

    /// Where one is.
    pub(super) fn place(self) -> ReadSignal<Route> {
        self.app.place
    }

    /// Performs an action.
    pub(super) fn perform(self, action: &Action) {
        self.went_well(action);
    }

    /// Performs an action; false where it was refused, which is shown.
    fn went_well(self, action: &Action) -> bool {
        let app = self.app;
        match action {
            Action::Give(command) => return app.act(clock::now(), (**command).clone()).is_ok(),
            Action::Undo(entry, name) => return app.try_undo(*entry, name.to_string()).is_ok(),
            Action::Then(first, second) => return self.went_well(first) && self.went_well(second),
            Action::Go(place) => app.go(*place),
            Action::Back(place) => app.go_back(*place),
            Action::Set(setting, value) => app.prefer(|prefs| prefs.set(*setting, value)),
            Action::Open(sheet) => self.open.set(Some(sheet.clone())),
            Action::Close => self.open.set(None),
            Action::Do(request) => return self.ask(*request),
        }
        true
    }

    fn ask(self, request: Request) -> bool {
        let app = self.app;
        match request {
            Request::Persist => app.ask_to_keep(),
            Request::TryCue(kind) => {
                self.cueing.wake();
                self.cueing.play(kind, "");
            }
            Request::OpenVisit(site) => {
                let visit = app.new_id();
                let plan = VisitPlan::of(VisitType::Functional);
                if app.act(clock::now(), Command::OpenVisit { visit, site, plan }).is_err() {
                    return false;
                }
                app.prefer(|prefs| prefs.visit = Some(visit));
            }
            Request::Restored(test) => {
                let now = clock::now();
                let happened = app.at(now).happened();
                let said = Command::SayRestore { test, restored: Answer::Yes, happened };
                return app.act(now, said).is_ok();
            }
            other => match app.later.get_untracked().table() {
                Some(later) => return (later.ask)(self, other),
                None => {
                    app.change(|session| session.refuse_by(&Refusal::NotHereYet));
                    return false;
                }
            },
        }
        true
    }

    /// Does what the first screen and a test do not ask for.
    pub(super) fn ask_later(self, request: Request) -> bool {
        let app = self.app;
        match request {
            Request::LoadDemo => load_demo(app, self.transfers),
            Request::PlanDue(site) => return app.plan_due(site),
            Request::Check => self.transfers.check(),
            Request::ShareVisit | Request::SaveVisit | Request::ShareAll => self.transfers.send(request),
            Request::Deliver => self.transfers.deliver(),
            Request::Fetch => self.transfers.fetch(),
            Request::Load => self.transfers.choose(),
            Request::Sheet(ask) => self.sheets.ask(ask),
            Request::StopLoading => self.transfers.stop(),
            Request::CameIn(visit) => {
                let now = clock::now();
                return app.act(now, at_panel::came_in(visit, app.at(now))).is_ok();
            }
            Request::PanelRestored(saw) => {
                let now = clock::now();
                let said = app.book.with_untracked(|book| at_panel::restored(book, saw, app.at(now)));
                return said.is_some_and(|said| app.act(now, said).is_ok());
            }
            Request::WalkTo(area, position) => app.walk(area, |draft| Some(walk::next(draft, position))),
            Request::WalkBack(area) => app.walk(area, walk::back),
            Request::WalkAfresh(area) => app.walk(area, |_| None),
            Request::TakePhoto(about) => self.photos.take(about),
            Request::ErasePhoto(photo) => app.change(|session| session.erase(photo)),
            Request::Office(ask) => self.transfers.ask(ask),
            Request::Print => self.paper.print(self.page),
            Request::PaperFile(with) => self.paper.make_file(self.page, with),
            Request::SharePaper => self.paper.send_file(true),
            Request::SavePaper => self.paper.send_file(false),
            // Done by `ask`.
            Request::Persist | Request::TryCue(_) | Request::OpenVisit(_) | Request::Restored(_) => return false,
        }
        true
    }
}
