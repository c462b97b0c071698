//! What the screens ask of the app beside its state.

use super::App;
use crate::book::entries::Book;
use crate::book::profile_run::{self, ProfileRun};
use crate::book::timeline::{Phase, Timeline};
use crate::book::visit::Visit;
use crate::book::{Id, test::Test};
use crate::browser::clock::{self, Now};
use crate::browser::settings;
use crate::encoding::stored;
use crate::session::Setting;
use crate::units::Wall;
use crate::view::before::Answers;
use crate::view::forms::Known;
use crate::view::invented::is_invented;
use crate::view::leaving::Leaving;
use crate::view::profile::HeaterProfiles;
use crate::view::profile_run::ProfileRunScreen;
use crate::view::route::Route;
use crate::view::test::{Plate, TestScreen, plates};
use leptos::prelude::*;

/// What the screens of profile runs need.
impl App {
    /// Whether a test or a profile run goes on.
    pub fn active(self) -> bool {
        let running = self.visit.with(|visit| visit.as_ref().is_some_and(|visit| visit.active().next().is_some()));
        running || self.profiling.with(Option::is_some)
    }

    /// Whether something is off in the visit on screen or in another: then minutes are on every screen.
    pub fn anything_off(self) -> bool {
        self.visit.with(|visit| visit.as_ref().is_some_and(|visit| visit.still_off() > 0))
            || self.off_elsewhere.with(Option::is_some)
    }

    /// What is said of leaving the visit on screen, at `now`, UTC ms; none without a visit.
    pub fn leaving<T>(self, now: Wall, say: impl FnOnce(&Leaving<'_>) -> T) -> Option<T> {
        self.visit.with(|visit| visit.as_ref().map(|visit| self.leaving_of(visit, now, say)))
    }

    /// The same of any visit.
    pub fn leaving_of<T>(self, visit: &Visit, now: Wall, say: impl FnOnce(&Leaving<'_>) -> T) -> T {
        let offset_min = clock::offset_minutes(now).into();
        let say = |book: &Book| self.register.with(|register| say(&Leaving { book, register, visit, offset_min, now }));
        self.book.with_untracked(say)
    }

    /// The heater whose profile run is on screen: the place is there and this phone takes it.
    pub fn shows_profile_run(self) -> Option<Id> {
        match self.place.get() {
            Route::ProfileRun(heater) => self.profile_run_of(heater).map(|_| heater),
            _ => None,
        }
    }

    fn profile_run_of(self, heater: Id) -> Option<ProfileRun> {
        self.track_kit();
        let phone = self.phone();
        self.book.with_untracked(|book| {
            profile_run::going_on(book, phone).into_iter().find(|profile_run| profile_run.frozen.heater.of == heater)
        })
    }

    /// The profile run of a heater that goes on, as a screen, at the last look at the clocks.
    pub fn profile_run_screen(self, heater: Id) -> Option<ProfileRunScreen> {
        let (now, unit) = (self.now.get(), self.unit());
        let profile_run = self.profile_run_of(heater)?;
        let at = profile_run.time_on(self.phone(), self.stamp(now));
        Some(self.book.with_untracked(|book| ProfileRunScreen::of(book, &profile_run, at, unit)))
    }

    /// The heater profiles of a heater.
    pub fn profiles(self, heater: Id) -> Option<HeaterProfiles> {
        self.track_kit();
        self.track_visits();
        let (phone, unit, mut found) = (self.phone(), self.unit(), None);
        let offset = |wall| clock::offset_minutes(wall).into();
        self.estimates.update_value(|estimates| {
            let shape = |book: &Book| HeaterProfiles::of(book, heater, phone, unit, &offset, estimates);
            found = self.book.with_untracked(shape);
        });
        found
    }
}

/// What the Test screen needs.
impl App {
    /// Whether the Test screen is on: the place is there and a test goes on.
    pub fn shows_test(self) -> bool {
        matches!(self.place.get(), Route::Test(_))
            && self.visit.with(|visit| visit.as_ref().is_some_and(|visit| visit.active().next().is_some()))
    }

    /// The tests that go on, as screens, at the last look at the clocks.
    pub fn test_screens(self) -> Vec<TestScreen> {
        let now = self.now.get();
        let unit = self.unit();
        self.visit.with(|visit| {
            let shape = |test: &Test| {
                let (mut screen, at, phone) = (None, self.test_time(test, now), self.phone());
                self.estimates.update_value(|estimates| {
                    let shape = |book: &Book| TestScreen::of(book, test, at, phone, unit, estimates);
                    screen = Some(self.book.with_untracked(shape));
                });
                screen
            };
            visit.iter().flat_map(Visit::active).filter_map(shape).collect()
        })
    }

    /// The plates of a test at a look at the clocks, and the phase one would be pressed in.
    pub fn test_now(self, id: Id, now: Now) -> Option<(Vec<Plate>, Phase)> {
        let test = self.book.with_untracked(|book| Test::of(book, id))?;
        let at = self.test_time(&test, now);
        let timeline = Timeline::of(&test, at);
        Some((plates(&test, &timeline), timeline.phase))
    }

    /// Whether a visit is over for good, as the phone noted.
    pub fn is_over(self, visit: Id) -> bool {
        self.session.with_value(|session| session.is_over(visit))
    }

    /// Whether what is on screen is of an invented site.
    pub fn is_demo(self) -> bool {
        let place = self.place.get();
        let screen = self.visit.with(|visit| visit.as_ref().map(|visit| visit.site));
        self.register.with(|register| self.book.with_untracked(|book| is_invented(place, screen, book, register)))
    }

    /// What forms are made from, at the last look at the clocks.
    pub fn known<T>(self, with: impl FnOnce(Known<'_>) -> T) -> T {
        let visit = self.prefs.with_untracked(|prefs| prefs.visit);
        let at = self.at(clock::now());
        self.register.with_untracked(|register| {
            self.kit
                .with_untracked(|kit| self.book.with_untracked(|book| with(Known { register, kit, book, visit, at })))
        })
    }

    /// The same for what follows the register, the kit and the visit.
    pub fn known_now<T>(self, with: impl FnOnce(Known<'_>) -> T) -> T {
        self.register.track();
        self.kit.track();
        self.who.track();
        self.track_visits();
        self.attachments_revision.track();
        self.prefs.track();
        self.known(with)
    }

    /// Last time's answers before a test at this position.
    pub fn last_answers(self, position: Id) -> Answers {
        let kept = settings::get(Setting::Answers.key()).ok().flatten();
        let answers: Option<Answers> = kept.and_then(|text| stored::read(&text));
        let unit = self.prefs.with_untracked(|prefs| prefs.unit);
        let answers = answers.unwrap_or_else(|| Answers { ambient_unit: unit, ..Answers::default() });
        let answers = self.visit.with_untracked(|visit| match visit {
            Some(visit) => self.kit.with_untracked(|kit| answers.with_free_heater(kit, visit)),
            None => answers,
        });
        let answers = self.offer_answers(answers, position);
        let now = clock::now().wall_ms;
        self.visit.with_untracked(|visit| match visit {
            Some(visit) => answers.after(visit, position, now),
            None => answers,
        })
    }

    /// Answers mended where they do not fit the kit or the detector.
    pub fn offer_answers(self, answers: Answers, position: Id) -> Answers {
        let marking = self.register.with_untracked(|register| {
            register.positions.get(&position).and_then(|position| register.marking_of(position).cloned())
        });
        self.kit.with_untracked(|kit| answers.offered(kit, marking.as_ref()))
    }

    /// Keeps the answers for next time.
    pub fn keep_answers(self, answers: &Answers) {
        self.change(|session| session.keep_answers(stored::write(answers)));
    }
}
