//! The questions before a test and before a profile run, as tables: what is asked, what stands in it, what an answer changes.

use super::Answers;
use crate::book::Id;
use crate::book::entries::Book;
use crate::book::kit::{Heater, Kit};
use crate::book::register::Register;
use crate::book::visit::Visit;
use crate::encoding::stored::{self, Stored};
use crate::trade::conditions::{Air, IndicatedBy, RateAnswer, Restores, Warmth};
use crate::trade::detector::Marking;
use crate::trade::detector_type::DetectorType;
use crate::trade::heater::Heating;
use crate::trade::procedure::{Procedure, ProcedureKind};
use crate::units::{Degree, Reading};
use crate::view::forms::{Answer, Ask, Entry, Field, Name, Part, Typed, Wrong, Wrongs};
use crate::view::profile_run::{ProfileRunAnswers, positions};
use crate::view::words;

/// What the questions are made from.
#[derive(Clone, Copy, Debug)]
pub struct Asking<'a> {
    /// Heaters and procedures.
    pub kit: &'a Kit,
    /// Positions.
    pub register: &'a Register,
    /// The visit on screen.
    pub visit: Option<&'a Visit>,
    /// What is marked on the detector, where a test is about one.
    pub marking: Option<&'a Marking>,
    /// The unit of the screen.
    pub unit: Degree,
}

impl<'a> Asking<'a> {
    fn heating(&self, heater: Option<Id>) -> Option<&'a Heating> {
        self.kit.heaters.get(&heater?)?.heating.now()
    }
}

/// One question about answers of some type.
struct Question<A: 'static> {
    name: Name,
    help: &'static str,
    /// What is asked; none while it is not.
    ask: fn(&A, &Asking<'_>) -> Option<Ask>,
    get: fn(&A) -> String,
    put: fn(&mut A, &str, &Asking<'_>),
    unit: fn(&A) -> &'static str,
    /// Whether its answers stand side by side, however long they are.
    across: bool,
}

impl<A> Question<A> {
    const fn new(
        name: Name,
        ask: fn(&A, &Asking<'_>) -> Option<Ask>,
        get: fn(&A) -> String,
        put: fn(&mut A, &str, &Asking<'_>),
    ) -> Question<A> {
        Question { name, help: "", ask, get, put, unit: |_| "", across: false }
    }

    const fn help(self, help: &'static str) -> Question<A> {
        Question { help, ..self }
    }

    const fn unit(self, unit: fn(&A) -> &'static str) -> Question<A> {
        Question { unit, ..self }
    }

    const fn across(self) -> Question<A> {
        Question { across: true, ..self }
    }

    fn field(&self, answers: &A, asking: &Asking<'_>) -> Option<Field> {
        let field = Field::new(self.name, (self.ask)(answers, asking)?);
        let across = self.across || field.across;
        Some(Field { unit: (self.unit)(answers), help: self.help.to_string(), across, ..field })
    }
}

fn typed_of<A>(questions: &[&[Question<A>]], answers: &A) -> Typed {
    let mut typed = Typed::default();
    questions.iter().copied().flatten().for_each(|question| typed.set(question.name.key, &(question.get)(answers)));
    typed
}

fn parts_of<A>(questions: &[&[Question<A>]], titles: &[String], answers: &A, asking: &Asking<'_>) -> Vec<Part> {
    let fields = |of: &&[Question<A>]| of.iter().filter_map(|question| question.field(answers, asking)).collect();
    let named = questions.iter().zip(titles);
    named.map(|(of, title)| Part { title: title.clone(), fields: fields(of), ..Part::default() }).collect()
}

fn put_in<A>(questions: &[&[Question<A>]], answers: &mut A, key: &str, text: &str, asking: &Asking<'_>) {
    if let Some(question) = questions.iter().copied().flatten().find(|question| question.name.key == key) {
        (question.put)(answers, text, asking);
    }
}

const fn name(id: &'static str, label: &'static str) -> Name {
    Name { key: id, id, label }
}

fn code<T: Stored>(of: &T) -> String {
    stored::name(of).replace('_', "-")
}

fn of_code<T: Stored>(text: &str) -> Option<T> {
    T::from_value(&text.replace('-', "_").into())
}

fn yes(on: bool) -> String {
    if on { "yes".into() } else { String::new() }
}

fn line() -> Option<Ask> {
    Some(Ask::Line(Entry::Decimal))
}

/// The settings of a heater with the temperature each tops out at.
fn settings(heating: Option<&Heating>, unit: Degree) -> Option<Ask> {
    let of = |heating: &Heating| {
        let answer = |setting: &Reading| {
            let top = words::degrees(heating.top(setting), unit, 0);
            Answer::with(&setting_code(setting), &words::setting(setting, unit), &words::tops_out_at(&top))
        };
        heating.settings.iter().map(answer).collect()
    };
    Some(Ask::Choice(heating.map(of).unwrap_or_default()))
}

/// The name of a setting among those of its heater: two may have the same digits in two units.
fn setting_code(setting: &Reading) -> String {
    format!("{}-{}", setting.text(), if setting.unit == Degree::C { "C" } else { "F" })
}

fn setting_of(heating: Option<&Heating>, text: &str) -> Option<Reading> {
    heating?.settings.iter().find(|setting| setting_code(setting) == text).copied()
}

/// The modes of a heater; none where it has no more than one.
fn modes(heating: Option<&Heating>) -> Option<Ask> {
    let modes = &heating?.modes;
    (!modes.is_empty()).then(|| Ask::Choice(modes.iter().map(|mode| Answer::new(mode, mode)).collect()))
}

fn warmths() -> Option<Ask> {
    Some(Ask::Choice(Answer::each(&Warmth::ALL, Warmth::words)))
}

fn heater_name(heater: &Heater) -> &str {
    heater.name.now().map_or("", |name| &name.name)
}

const EQUIPMENT: &[Question<Answers>] = &[
    Question::<Answers>::new(
        name("heater", words::HEATER),
        |_, asking| {
            let heaters = asking.kit.heaters_by_name();
            Some(Ask::Choice(heaters.iter().map(|(id, heater)| Answer::new(id, heater_name(heater))).collect()))
        },
        |answers| answers.heater.map(|id| id.to_string()).unwrap_or_default(),
        |answers, id, asking| {
            answers.heater = Id::try_parse(id).ok();
            *answers = answers.clone().offered(asking.kit, asking.marking);
        },
    )
    .across(),
    Question::<Answers>::new(
        name("setting", words::SETTING),
        |answers, asking| settings(asking.heating(answers.heater), asking.unit),
        |answers| answers.setting.as_ref().map(setting_code).unwrap_or_default(),
        |answers, text, asking| answers.setting = setting_of(asking.heating(answers.heater), text),
    )
    .across(),
    Question::<Answers>::new(
        name("mode", words::MODE),
        |answers, asking| modes(asking.heating(answers.heater)),
        |answers| answers.mode.clone().unwrap_or_default(),
        |answers, mode, _| answers.mode = Some(mode.to_string()),
    )
    .across(),
    Question::new(
        name("procedure", words::PROCEDURE),
        |_, asking| {
            let own = asking.kit.procedures_by_name().into_iter();
            let answer = |(id, procedure): (Id, &Procedure)| {
                Answer::with(&id.to_string(), &procedure.name, &words::procedure_detail(procedure))
            };
            let plain = Answer::new("", ProcedureKind::Functional.words());
            Some(Ask::Choice(std::iter::once(plain).chain(own.map(answer)).collect()))
        },
        |answers| answers.procedure.map(|id| id.to_string()).unwrap_or_default(),
        |answers, id, _| answers.procedure = Id::try_parse(id).ok(),
    ),
];

/// Asked afresh each time: about this detector, and by eye.
const BY_EYE: &[Question<Answers>] = &[Question::new(
    name("looks-good", words::LOOKS_GOOD),
    |_, _| Some(Ask::Switch(words::YES, words::NOT_CHECKED)),
    |answers| yes(answers.looks_good),
    |answers, text, _| answers.looks_good = text == "yes",
)];

const RATE: &[Question<Answers>] = &[Question::<Answers>::new(
    name("rate-answer", words::RATE_FUNCTION),
    |_, asking| {
        let electronic = asking.marking.is_some_and(|marking| marking.detector_type == DetectorType::Electronic);
        let words = |answer| match answer {
            RateAnswer::Off => words::RATE_OFF,
            RateAnswer::HeaterSlower => words::HEATER_SLOWER,
        };
        electronic.then(|| Ask::Choice(Answer::each(&[RateAnswer::Off, RateAnswer::HeaterSlower], words)))
    },
    |answers| answers.rate_answer.as_ref().map(code).unwrap_or_default(),
    |answers, text, _| answers.rate_answer = of_code(text),
)
.across()];

const CONDITIONS: &[Question<Answers>] = &[
    Question::new(
        name("heater-warmth", words::HEATER_WARMTH),
        |_, _| warmths(),
        |answers| code(&answers.heater_warmth),
        |answers, text, _| answers.heater_warmth = of_code(text).unwrap_or(answers.heater_warmth),
    ),
    Question::new(
        name("detector-warmth", words::DETECTOR_WARMTH),
        |_, _| warmths(),
        |answers| code(&answers.detector_warmth),
        |answers, text, _| answers.detector_warmth = of_code(text).unwrap_or(answers.detector_warmth),
    ),
    Question::<Answers>::new(
        name("ambient", words::AMBIENT),
        |_, _| line(),
        |answers| answers.ambient.clone(),
        |answers, text, asking| (answers.ambient, answers.ambient_unit) = (text.to_string(), asking.unit),
    )
    .unit(|answers| answers.ambient_unit.symbol())
    .help(words::AMBIENT_HELP),
    Question::new(
        name("air", words::AIR),
        |_, _| {
            let words = |air| match air {
                Air::Still => words::STILL,
                Air::Moving => words::MOVING,
            };
            Some(Ask::Choice(Answer::each(&[Air::Still, Air::Moving], words)))
        },
        |answers| answers.air.as_ref().map(code).unwrap_or_default(),
        |answers, text, _| answers.air = of_code(text),
    ),
];

const SEEING: &[Question<Answers>] = &[
    Question::new(
        name("by", words::SIGN),
        |_, _| Some(Ask::Choice(Answer::each(&IndicatedBy::ALL, IndicatedBy::words))),
        |answers| code(&answers.by),
        |answers, text, _| {
            if let Some(by) = of_code(text) {
                answers.indicate(by);
            }
        },
    ),
    Question::<Answers>::new(
        name("restores", words::RESTORES),
        |_, _| Some(Ask::Choice(Answer::each(&Restores::ALL, Restores::words))),
        |answers| code(&answers.restores),
        |answers, text, _| answers.restores = of_code(text).unwrap_or(answers.restores),
    )
    .across(),
    Question::new(
        name("display-read", words::DISPLAY_READ),
        |_, _| Some(Ask::Switch(words::YES, words::NO)),
        |answers| yes(answers.display_read),
        |answers, text, _| answers.display_read = text == "yes",
    ),
    Question::new(
        name("latching", words::LATCHING),
        |_, _| Some(Ask::Switch(words::YES, words::NO)),
        |answers| yes(answers.latching),
        |answers, text, _| answers.latching = text == "yes",
    ),
    Question::new(
        name("verification", words::VERIFICATION),
        |_, _| Some(Ask::Switch(words::YES, words::NO)),
        |answers| yes(answers.verification),
        |answers, text, _| answers.verification = text == "yes",
    ),
    Question::<Answers>::new(
        name("lag", words::LAG),
        |_, _| line(),
        |answers| answers.lag.clone(),
        |answers, text, _| answers.lag = text.to_string(),
    )
    .unit(|_| "s")
    .help(words::LAG_HELP),
    Question::<Answers>::new(
        name("lag-u", words::LAG_U),
        |_, _| line(),
        |answers| answers.lag_u.clone(),
        |answers, text, _| answers.lag_u = text.to_string(),
    )
    .unit(|_| "s")
    .help(words::LAG_U_HELP),
];

const OF_A_TEST: &[&[Question<Answers>]] = &[EQUIPMENT, BY_EYE, RATE, CONDITIONS, SEEING];

impl Answers {
    /// The questions before a test: equipment, by eye, rate function, conditions, how trips are seen.
    pub fn questions(&self, asking: &Asking<'_>) -> Vec<Part> {
        let (conditions, seeing) = (super::conditions(self), super::seeing(self));
        let [equipment, by_eye, rate] = [words::BEFORE, words::VISUAL, words::RATE_FUNCTION].map(String::from);
        parts_of(OF_A_TEST, &[equipment, by_eye, rate, conditions, seeing], self, asking)
    }

    /// What stands in them.
    pub fn typed(&self) -> Typed {
        typed_of(OF_A_TEST, self)
    }

    /// Puts an answer in, with what follows from it.
    pub fn put(&mut self, key: &str, text: &str, asking: &Asking<'_>) {
        put_in(OF_A_TEST, self, key, text, asking);
    }

    /// What is wrong with what was typed.
    pub fn wrongs(&self) -> Wrongs {
        let wrong = |say: &str| Wrong { say: say.to_string(), offer: None };
        let ambient = self.ambient_reading().is_err().then(|| ("ambient", wrong(words::NOT_A_NUMBER)));
        let lag = self.lag_ms().is_none().then(|| ("lag", wrong(words::NOT_A_LAG)));
        crate::order::map(ambient.into_iter().chain(lag))
    }
}

const HEAT: &[Question<OfHeater>] = &[
    Question::<OfHeater>::new(
        name("setting", words::SETTING),
        |of, asking| settings(asking.heating(Some(of.heater)), asking.unit),
        |of| of.answers.setting.as_ref().map(setting_code).unwrap_or_default(),
        |of, text, asking| of.answers.setting = setting_of(asking.heating(Some(of.heater)), text),
    )
    .across(),
    Question::<OfHeater>::new(
        name("mode", words::MODE),
        |of, asking| modes(asking.heating(Some(of.heater))),
        |of| of.answers.mode.clone().unwrap_or_default(),
        |of, mode, _| of.answers.mode = Some(mode.to_string()),
    )
    .across(),
    Question::new(
        name("heater-warmth", words::HEATER_WARMTH),
        |_, _| warmths(),
        |of| code(&of.answers.heater_warmth),
        |of, text, _| of.answers.heater_warmth = of_code(text).unwrap_or(of.answers.heater_warmth),
    ),
];

const IN_PLACE: &[Question<OfHeater>] = &[Question::<OfHeater>::new(
    name("in-place", words::DETECTOR_IN_PLACE),
    |_, asking| {
        let found = positions(asking.register, asking.visit).into_iter();
        let none = Answer::new("", words::DETECTOR_NONE);
        Some(Ask::Choice(std::iter::once(none).chain(found.map(|(id, tag)| Answer::new(id, tag))).collect()))
    },
    |of| of.answers.position.map(|id| id.to_string()).unwrap_or_default(),
    |of, id, _| of.answers.position = Id::try_parse(id).ok(),
)
.across()
.help(words::DETECTOR_NONE_HELP)];

const OF_A_PROFILE_RUN: &[&[Question<OfHeater>]] = &[HEAT, IN_PLACE];

/// What is answered before a profile run of a heater.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OfHeater {
    /// The heater.
    pub heater: Id,
    /// The answers.
    pub answers: ProfileRunAnswers,
}

impl OfHeater {
    /// What is offered.
    pub fn offered(book: &Book, heater: Id) -> OfHeater {
        OfHeater { heater, answers: ProfileRunAnswers::offered(book, heater) }
    }

    /// The questions before a profile run: heat, and the detector in place. The ambient temperature is dialled.
    pub fn questions(&self, asking: &Asking<'_>) -> Vec<Part> {
        parts_of(OF_A_PROFILE_RUN, &[words::HEATER, words::DETECTOR].map(String::from), self, asking)
    }

    /// What stands in them.
    pub fn typed(&self) -> Typed {
        typed_of(OF_A_PROFILE_RUN, self)
    }

    /// Puts an answer in.
    pub fn put(&mut self, key: &str, text: &str, asking: &Asking<'_>) {
        put_in(OF_A_PROFILE_RUN, self, key, text, asking);
    }
}
