//! Which page stands at which place: each follows what it is made from.

use crate::book::Id;
use crate::book::test::Test;
use crate::book::visit::{Visit, headings};
use crate::browser::clock;
use crate::ui::app::App;
use crate::ui::memo::memo;
use crate::ui::transfer::Transfers;
use crate::view::findings::FindingsScreen;
use crate::view::findings::one::{self, OneTest};
use crate::view::findings::page as results;
use crate::view::handover::{self, Sending};
use crate::view::page::{Block, Page};
use crate::view::route::Route;
use crate::view::test::last_end;
use crate::view::visit::VisitScreen;
use crate::view::visit::page as visits;
use crate::view::{computed, people, profile, register, settings};
use leptos::prelude::*;

/// The page of a place; none where a screen of its own stands.
pub(super) fn page_at(app: App, place: Route) -> Option<Memo<Page>> {
    Some(match place {
        Route::Visit => visit(app),
        Route::Settings => {
            memo(move || app.prefs.with(|prefs| settings::page(prefs, app.persisted.get(), env!("CARGO_PKG_VERSION"))))
        }
        Route::People => memo(move || app.known_now(people::page)),
        Route::Computed(topic) => memo(move || computed::page(topic, app.unit())),
        Route::Handover => sending(app),
        _ => return None,
    })
}

fn offset(wall: i64) -> i64 {
    clock::offset_minutes(wall).into()
}

fn visit(app: App) -> Memo<Page> {
    let screen = memo(move || {
        let unit = app.unit();
        app.visit.with(|visit| {
            let visit = visit.as_ref()?;
            let found = app.found(visit.id);
            let (offset, now) = (offset(visit.opened), clock::now().wall_ms);
            Some(app.register.with(|register| {
                app.book
                    .with_untracked(|book| VisitScreen::of(book, register, visit, found.as_deref(), unit, offset, now))
            }))
        })
    });
    let named = memo(move || app.who.with(Option::is_some));
    // Minutes are all that a page shows of a clock.
    let minute = memo(move || if app.impaired() { app.now.get().wall_ms / 60_000 * 60_000 } else { 0 });
    memo(move || {
        let nothing = app.register.with(|register| register.sites.is_empty());
        if !named.get() || nothing {
            return visits::first(named.get(), app.kit.with(|kit| !kit.people.is_empty()));
        }
        screen.with(|screen| match screen {
            Some(screen) => screen.page(minute.get()),
            None => {
                app.track_visits();
                let known = app.book.with_untracked(headings);
                app.register.with(|register| visits::choose(register, &known, app.all_here.get(), offset))
            }
        })
    })
}

/// The list of the results of the visit on screen.
pub(super) fn findings(app: App) -> Memo<Page> {
    let screen = memo(move || {
        app.visit.with(|visit| {
            let visit = visit.as_ref()?;
            let found = app.found(visit.id)?;
            let screen = app.register.with(|register| FindingsScreen::of(register, visit, &found));
            Some((screen, found))
        })
    });
    memo(move || match screen.get() {
        Some((screen, found)) => screen.page(&found, app.unit()),
        None if app.visit.with(Option::is_some) => results::working("findings"),
        None => results::nothing(),
    })
}

/// One test in full.
pub(super) fn finding(app: App, test: Id) -> Memo<Page> {
    // Nothing while the numbers are worked out, and nothing within where the test is not known.
    let found = memo(move || {
        app.track_visits();
        let shown = app.visit.with(|visit| {
            let visit = visit.as_ref().filter(|visit| visit.tests.iter().any(|known| known.id == test))?;
            Some(full(app, visit, test))
        });
        shown.unwrap_or_else(|| {
            let other = app.book.with_untracked(|book| Visit::of(book, Test::of(book, test)?.visit));
            other.map_or(Some(None), |visit| full(app, &visit, test))
        })
    });
    memo(move || match found.get() {
        None => results::working("finding"),
        Some(None) => one::page::unknown(),
        Some(Some(one)) => {
            let end = app.book.with_untracked(|book| {
                let test = Test::of(book, test).filter(|test| test.kept_by(app.phone()))?;
                let here = |visit: &Visit| visit.id == test.visit && visit.closed.is_empty();
                let open = app.visit.with_untracked(|visit| visit.as_ref().is_some_and(here));
                last_end(book, &test).filter(|_| open)
            });
            one.page(end)
        }
    })
}

fn full(app: App, visit: &Visit, id: Id) -> Option<Option<OneTest>> {
    // What a test says among its neighbours takes the whole visit.
    let all = app.found(visit.id)?;
    let unit = app.unit();
    let test = visit.tests.iter().find(|test| test.id == id).zip(all.tests.iter().find(|found| found.test == id));
    Some(test.map(|(test, found)| {
        let offset = offset(test.started_wall);
        let one = app.book.with_untracked(|book| OneTest::of(book, visit, test, found, unit, offset));
        one.among(found, &all.families, unit)
    }))
}

/// The heater profiles of a heater.
pub(super) fn profile(app: App, heater: Id) -> Memo<Page> {
    memo(move || app.profiles(heater).map_or_else(profile::page::unknown, |profiles| profiles.page(heater)))
}

fn sending(app: App) -> Memo<Page> {
    let transfers = expect_context::<Transfers>();
    transfers.forget();
    let handed = memo(move || transfers.state.with(|transfer| transfer.handed.clone()));
    // What counts the whole book does so when the book changes, and not while a file says how far it is.
    let not_sent = memo(move || {
        app.track_visits();
        app.register.track();
        app.kit.track();
        let visit = app.visit.with(|visit| visit.as_ref().map(|visit| visit.id));
        handed
            .with(|handed| app.book.with_untracked(|book| handover::not_handed_over(book, handed, app.phone(), visit)))
    });
    let all_of_it = memo(move || {
        app.track_visits();
        app.register.with(|register| app.book.with_untracked(|book| handover::all_of_it(book, register)))
    });
    memo(move || {
        let (whole, not_sent) = (app.all_here.get(), not_sent.get());
        let any = not_sent.1 > 0 || app.book.with_untracked(|book| book.chains().next().is_some());
        app.register.with(|register| {
            app.visit.with(|visit| {
                all_of_it.with(|all_of_it| {
                    transfers.state.with(|transfer| {
                        let visit = visit.as_ref();
                        handover::page(Sending { any, register, visit, whole, not_sent, all_of_it, transfer })
                    })
                })
            })
        })
    })
}

/// The list of everything in the register.
pub(super) fn register_list(app: App) -> Vec<Block> {
    let (unit, persisted) = (app.unit(), app.persisted.get());
    app.drafts.with(|drafts| app.known_now(|known| register::list(known, drafts, persisted, unit)))
}
