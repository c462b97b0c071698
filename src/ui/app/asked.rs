//! What the screens ask of the app beside its state.

use super::App;
use crate::book::body::Person;
use crate::book::command::Command;
use crate::book::log::Book;
use crate::book::phase::{Phase, Timeline};
use crate::book::ramp::{self, Ramp};
use crate::book::refusal::{Field, Refusal};
use crate::book::register::Register;
use crate::book::round::Round;
use crate::book::{Id, run::Run};
use crate::browser::clock::{self, Now};
use crate::browser::settings;
use crate::encoding::stored;
use crate::view::before::Answers;
use crate::view::curve::HeadCurves;
use crate::view::place::Place;
use crate::view::ramp::RampScreen;
use crate::view::run::{Big, RunScreen, big};
use crate::view::words;
use leptos::prelude::*;

/// What the screens of ramps need.
impl App {
    /// Whether a run or a ramp goes on.
    pub fn active(self) -> bool {
        let running = self.round.with(|round| round.as_ref().is_some_and(|round| round.active().next().is_some()));
        running || self.ramping.with(Option::is_some)
    }

    /// The head whose ramp is on screen: the place is there and this phone takes it.
    pub fn shows_ramp(self) -> Option<Id> {
        match self.place.get() {
            Place::Ramp(head) => self.ramp_of(head).map(|_| head),
            _ => None,
        }
    }

    fn ramp_of(self, head: Id) -> Option<Ramp> {
        self.track_kit();
        let phone = self.phone();
        self.book
            .with_untracked(|book| ramp::going_on(book, phone).into_iter().find(|ramp| ramp.frozen.head.of == head))
    }

    /// The ramp of a head that goes on, as a screen, at the last look at the clocks.
    pub fn ramp_screen(self, head: Id) -> Option<RampScreen> {
        let (now, unit) = (self.now.get(), self.unit());
        let ramp = self.ramp_of(head)?;
        let at = ramp.time_on(self.phone(), self.stamp(now));
        Some(self.book.with_untracked(|book| RampScreen::of(book, &ramp, at, unit)))
    }

    /// The heat curves of a head.
    pub fn curves(self, head: Id) -> Option<HeadCurves> {
        self.track_kit();
        self.track_rounds();
        let (phone, unit, mut found) = (self.phone(), self.unit(), None);
        let offset = |wall| clock::offset_minutes(wall).into();
        self.estimates.update_value(|estimates| {
            let shape = |book: &Book| HeadCurves::of(book, head, phone, unit, &offset, estimates);
            found = self.book.with_untracked(shape);
        });
        found
    }
}

/// What the Run screen needs.
impl App {
    /// Whether the Run screen is on: the place is there and a run goes on.
    pub fn shows_run(self) -> bool {
        matches!(self.place.get(), Place::Run(_))
            && self.round.with(|round| round.as_ref().is_some_and(|round| round.active().next().is_some()))
    }

    /// The runs that go on, as screens, at the last look at the clocks.
    pub fn run_screens(self) -> Vec<RunScreen> {
        let now = self.now.get();
        let unit = self.unit();
        self.round.with(|round| {
            let shape = |run: &Run| {
                let (mut screen, at, phone) = (None, self.run_time(run, now), self.phone());
                self.estimates.update_value(|estimates| {
                    let shape = |book: &Book| RunScreen::of(book, run, at, phone, unit, estimates);
                    screen = Some(self.book.with_untracked(shape));
                });
                screen
            };
            round.iter().flat_map(Round::active).filter_map(shape).collect()
        })
    }

    /// What the big mark of a run does at a look at the clocks, and the phase it would be pressed in.
    pub fn run_now(self, id: Id, now: Now) -> Option<(Big, Phase)> {
        let run = self.book.with_untracked(|book| Run::of(book, id))?;
        let at = self.run_time(&run, now);
        let timeline = Timeline::of(&run, at);
        Some((big(&run, &timeline).0, timeline.phase))
    }

    /// Whether the round on screen is on an invented site.
    pub fn is_demo(self) -> bool {
        let site = self.round.with(|round| round.as_ref().map(|round| round.site));
        let invented = |register: &Register| Some(register.sites.get(&site?)?.now()?.invented);
        self.register.with(invented).unwrap_or(false)
    }

    /// What to do about the writes that failed, if any did.
    pub fn failed(self) -> Option<String> {
        self.unrecorded.with(|unrecorded| {
            let why = unrecorded.values().flatten().next()?;
            Some(words::failed(unrecorded.values().flatten().count(), why))
        })
    }

    /// The name of a person.
    pub fn person(self, id: Id) -> String {
        let name = self.kit.with(|kit| kit.people.get(&id).and_then(|group| group.now().map(|person| person.name)));
        name.map_or_else(|| words::SOMEBODY.to_string(), |name| self.words_of(name))
    }

    /// The person of this name, made when there is none.
    ///
    /// # Errors
    /// When the name cannot be stored.
    pub fn person_named(self, now: Now, name: &str) -> Result<Id, Refusal> {
        let name = crate::browser::text::nfc(name.trim());
        let known = self.kit.with_untracked(|kit| {
            self.book.with_untracked(|book| {
                let is = |person: &Person| book.words(person.name) == Some(name.as_str());
                kit.people.iter().find(|(_, group)| group.now().is_some_and(is)).map(|(id, _)| *id)
            })
        });
        if let Some(id) = known {
            return Ok(id);
        }
        if name.is_empty() {
            let refusal = Refusal::Field(Field::Empty { name: words::BY_WHOM });
            self.refused.set(Some(words::refusal(&refusal, self.prefs.with_untracked(|prefs| prefs.unit))));
            return Err(refusal);
        }
        let (id, attachment) = (self.new_id(), self.text(&name));
        self.act_with(now, Command::PutPerson { person: id, name: attachment.hash() }, vec![attachment])?;
        Ok(id)
    }

    /// Last time's answers before a run of this detector.
    pub fn last_answers(self, detector: Id) -> Answers {
        let kept = settings::get(ANSWERS).ok().flatten();
        let answers: Option<Answers> = kept.and_then(|text| stored::read(&text));
        let unit = self.prefs.with_untracked(|prefs| prefs.unit);
        let answers = answers.unwrap_or_else(|| Answers { ambient_unit: unit, ..Answers::default() });
        self.offer(answers, detector)
    }

    /// Answers mended where they do not fit the kit or the detector.
    pub fn offer(self, answers: Answers, detector: Id) -> Answers {
        let marking = self.register.with_untracked(|register| {
            register.detectors.get(&detector).and_then(|detector| detector.marking.now().cloned())
        });
        self.kit.with_untracked(|kit| answers.offered(kit, marking.as_ref()))
    }

    /// Keeps the answers for next time.
    pub fn keep_answers(self, answers: &Answers) {
        let text = stored::write(answers);
        if let Err(why) = settings::set(ANSWERS, &text) {
            self.trouble.set(Some(format!("The answers could not be kept: {why}.")));
        }
    }
}

const ANSWERS: &str = "answers";
