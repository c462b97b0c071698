//! Which page stands at which place: each follows what it is made from.

use crate::book::Id;
use crate::book::entries::Book;
use crate::book::test::Test;
use crate::book::visit::{Heading, State, Station, Visit, headings, open_items};
use crate::browser::clock;
use crate::order;
use crate::ui::app::App;
use crate::ui::finding::Finding;
use crate::ui::memo::memo;
use crate::ui::paper::Paper;
use crate::ui::sheet::Sheets;
use crate::ui::transfer::Transfers;
use crate::units::Wall;
use crate::view::find::{Filter, Seek};
use crate::view::findings::one::{self, OneTest};
use crate::view::findings::page as results;
use crate::view::findings::{FindingsScreen, failed};
use crate::view::forms::Known;
use crate::view::handover::{self, Sending};
use crate::view::leaving::{Leaving, closing_without_visit, off_without_visit};
use crate::view::page::{List, Page};
use crate::view::position::{self, Shown};
use crate::view::route::Route;
use crate::view::sheet::page as sheet;
use crate::view::test::last_end;
use crate::view::visit::VisitScreen;
use crate::view::visit::page as visits;
use crate::view::{at_panel, check_file, computed, due, office, people, profile, record, register, settings, walk};
use leptos::prelude::*;
use std::collections::BTreeSet;

/// The page of a place; none where a screen of its own stands.
pub(super) fn page_at(app: App, place: Route) -> Option<Memo<Page>> {
    Some(match place {
        Route::StillOff => {
            leaving(app, |of| of.page(), |app| off_without_visit(app.off_elsewhere.with(Option::is_some)))
        }
        Route::Closing => leaving(app, |of| of.closing(), |_| closing_without_visit()),
        Route::AtPanel => memo(move || {
            app.visit.track();
            app.known_now(at_panel::page)
        }),
        Route::Settings => {
            memo(move || app.prefs.with(|prefs| settings::page(prefs, app.persisted.get(), env!("CARGO_PKG_VERSION"))))
        }
        Route::People => memo(move || app.known_now(people::page)),
        Route::Computed(topic) => memo(move || computed::page(topic, app.unit())),
        Route::Handover => sending(app),
        Route::CheckFile => {
            let transfers = expect_context::<Transfers>();
            memo(move || {
                let loading = transfers.state.with(|state| state.loading.clone());
                transfers.asked.with(|asked| check_file::page(asked, loading.as_ref()))
            })
        }
        Route::Record => recorded(app, record::record, "record"),
        Route::Notice => recorded(app, record::notice, "notice"),
        Route::Day(site, day) => of_day(app, site, day),
        Route::Sheet(site) => {
            let state = expect_context::<Sheets>().state;
            memo(move || app.known_now(|known| state.with(|state| sheet::page(known, site, state))))
        }
        Route::Due(site) => memo(move || app.due(site).map_or_else(due::working, |due| due.page())),
        Route::Coverage(site) => memo(move || app.due(site).map_or_else(due::working, |due| due.coverage_page())),
        Route::Truck(site) => memo(move || {
            let unit = app.unit();
            let page = |due: std::sync::Arc<due::SiteDue>| app.register.with(|register| due.truck_page(register, unit));
            app.due(site).map_or_else(due::working, page)
        }),
        Route::Rules(site) => memo(move || app.register.with(|register| due::rules_page(register, site))),
        _ => return None,
    })
}

fn offset(wall: Wall) -> i64 {
    clock::offset_minutes(wall).into()
}

/// The visit on screen.
pub(super) fn visit(app: App) -> Memo<Page> {
    let finding = expect_context::<Finding>();
    let seek = finding.of(List::Visit);
    // Minutes are all that a page shows of a clock.
    let minute = memo(move || if app.anything_off() { app.now.get().wall_ms.whole_minute() } else { Wall(0) });
    // That it has ended is said when it does, not when somebody taps next.
    let lapsed = memo(move || {
        let now = minute.get();
        let over = |visit: &Visit| matches!(visit.station(now), Station::Lapsed { .. });
        app.visit.with(|visit| visit.as_ref().is_some_and(over))
    });
    let screen = memo(move || {
        let unit = app.unit();
        // Read, not only tracked: a memo that nobody has read follows nothing.
        lapsed.with(|_| ());
        app.visit.with(|visit| {
            let visit = visit.as_ref()?;
            let found = app.found(visit.id);
            // What is left off may be accepted until now.
            if !visit.closed.is_empty() {
                minute.track();
            }
            let (offset, now) = (offset(visit.opened), clock::now().wall_ms);
            Some(app.register.with(|register| {
                app.book
                    .with_untracked(|book| VisitScreen::of(book, register, visit, found.as_deref(), unit, offset, now))
            }))
        })
    });
    let named = memo(move || app.who.with(Option::is_some));
    memo(move || {
        let nothing = app.register.with(|register| register.sites.is_empty());
        if !named.get() || nothing {
            return visits::first(named.get(), app.kit.with(|kit| !kit.people.is_empty()));
        }
        screen.with(|screen| match screen {
            Some(screen) if !seek.with(Seek::is_empty) => {
                finding.index.with(|index| seek.with(|seek| screen.found(index, seek)))
            }
            Some(screen) => screen.page(minute.get()),
            None => {
                app.track_visits();
                let now = minute.get().max(clock::now().wall_ms);
                let whole = app.all_here.get();
                // While visits are still read they come by the hundred, and each is looked through for what is off. In one that is over
                // nothing is.
                let state = |of: &Heading, book: &Book| match of.closed && (!whole || app.is_over(of.id)) {
                    true => State::Closed,
                    false => of.state(book, now),
                };
                let known = app.book.with_untracked(|book| {
                    headings(book).into_iter().map(|of| (of, state(&of, book))).collect::<Vec<_>>()
                });
                app.register.with(|register| visits::choose(register, &known, whole, offset))
            }
        })
    })
}

/// What is still off, or what closing waits for.
fn leaving(app: App, page: fn(&Leaving<'_>) -> Page, without: fn(App) -> Page) -> Memo<Page> {
    let minute = memo(move || app.now.get().wall_ms.whole_minute());
    memo(move || {
        let now = minute.get().max(clock::now().wall_ms);
        app.leaving(now, page).unwrap_or_else(|| without(app))
    })
}

/// The record of the visit on screen, or its notice of deficiencies.
fn recorded(app: App, page: record::Make, name: &'static str) -> Memo<Page> {
    let paper = expect_context::<Paper>();
    paper.forget_file();
    let page = memo(move || {
        app.visit.with(|visit| {
            let Some(visit) = visit else { return record::none(name) };
            let Some(found) = app.found(visit.id) else { return results::working(name) };
            app.known_now(|known| page(known.book, known.register, visit, &found))
        })
    });
    memo(move || paper.file.with(|file| record::with_file(page.get(), file.as_ref())))
}

/// What was done at a site on a day.
fn of_day(app: App, site: Id, day: i64) -> Memo<Page> {
    let transfers = expect_context::<Transfers>();
    transfers.forget();
    let known = memo(move || {
        app.track_visits();
        app.book.with_untracked(|book| office::visits_on(book, site, day, offset(clock::now().wall_ms)))
    });
    memo(move || {
        let visit = |id: &Id| Some((app.book.with_untracked(|book| Visit::shared(book, *id))?, app.found(*id)?));
        let Some(visits) = known.with(|known| known.iter().map(visit).collect::<Option<Vec<_>>>()) else {
            return results::working("day");
        };
        let unit = app.unit();
        transfers.state.with(|transfer| {
            let (handed, said, order) = (&transfer.handed, transfer.said.as_ref(), transfer.order);
            app.outbox(|outbox| {
                app.known_now(|known| {
                    office::Day { known, site, day, visits: &visits, unit, handed, outbox, order, said }.page()
                })
            })
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
    let day = memo(move || {
        app.visit.with(|visit| {
            let offset = offset(clock::now().wall_ms);
            visit.as_ref().map(|visit| app.book.with_untracked(|book| office::last_day(book, visit, offset)))
        })
    });
    memo(move || {
        let (whole, not_sent, day) = (app.all_here.get(), not_sent.get(), day.get());
        let any = not_sent.1 > 0 || app.book.with_untracked(|book| book.chains().next().is_some());
        app.register.with(|register| {
            app.visit.with(|visit| {
                all_of_it.with(|all_of_it| {
                    transfers.state.with(|transfer| {
                        let visit = visit.as_ref();
                        app.prefs.with(|prefs| {
                            app.outbox(|outbox| {
                                let folder = prefs.folder.as_str();
                                let offset = offset(clock::now().wall_ms);
                                handover::page(Sending {
                                    any,
                                    register,
                                    visit,
                                    day,
                                    whole,
                                    not_sent,
                                    all_of_it,
                                    folder,
                                    outbox,
                                    offset,
                                    transfer,
                                })
                            })
                        })
                    })
                })
            })
        })
    })
}

/// The list of everything in the register, or what is looked for in it.
pub(super) fn devices(app: App) -> Memo<Page> {
    let finding = expect_context::<Finding>();
    let seek = finding.of(List::Devices);
    // Worked out when it is asked for, and not with every key.
    let asked = memo(move || seek.with(|seek| seek.filter == Some(Filter::Open)));
    let open = memo(move || {
        if !asked.get() {
            return BTreeSet::new();
        }
        app.track_visits();
        let items = app.book.with_untracked(open_items);
        let visit = app.visit.with(|visit| visit.as_ref().map(|visit| visit.id));
        let failed = visit.and_then(|visit| app.found(visit)).map(|found| failed(&found)).unwrap_or_default();
        order::set(items.into_iter().map(|(position, _)| position).chain(failed))
    });
    memo(move || {
        let (unit, persisted) = (app.unit(), app.persisted.get());
        let list = |known: Known<'_>| {
            app.drafts.with(|drafts| register::page(known.register, register::list(known, drafts, persisted, unit)))
        };
        let hits = |known: Known<'_>| {
            let hits = |seek: &Seek| {
                finding.index.with(|index| open.with(|open| register::found(known, index, seek, open, unit)))
            };
            register::page(known.register, seek.with(hits))
        };
        app.known_now(|known| if seek.with(Seek::is_empty) { list(known) } else { hits(known) })
    })
}

/// One position, with its past.
pub(super) fn position(app: App, id: Id) -> Memo<Page> {
    let from = app.came_from();
    // Of its own: it is looked at again as often as a visit of the site is worked out.
    let due = memo(move || due_line(app, id));
    memo(move || {
        let (unit, done, whole, due) = (app.unit(), app.past(id), app.all_here.get(), due.get());
        app.known_now(|known| {
            position::page(Shown { known, id, done: &done, whole, due: due.as_deref(), from, unit, offset: &offset })
        })
    })
}

/// When a position is due and by which rule; nothing while that is not worked out.
fn due_line(app: App, position: Id) -> Option<String> {
    let site = app.register.with(|register| register.site_of(position))?;
    app.due(site)?.line(position)
}

/// The walking order of an area, as far as it was tapped.
pub(super) fn walk(app: App, area: Id) -> Memo<Page> {
    let from = app.came_from();
    memo(move || {
        let draft = app.drafts.with(|drafts| drafts.get(&Route::Walk(area).address()).cloned()).unwrap_or_default();
        let unit = app.unit();
        app.known_now(|known| walk::page(known, area, &draft, from, unit))
    })
}

/// The positions of an area.
pub(super) fn in_area(app: App, area: Id) -> Memo<Page> {
    memo(move || {
        let unit = app.unit();
        app.known_now(|known| register::in_area(known, area, unit))
    })
}
