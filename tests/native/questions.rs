//! The questions before a test and before a profile run, as data.

use crate::demo::demo_book;
use soakbook::book::entries::Book;
use soakbook::book::kit::Kit;
use soakbook::book::register::Register;
use soakbook::trade::conditions::{Air, IndicatedBy, RateAnswer, Restores, Warmth};
use soakbook::trade::detector::Marking;
use soakbook::trade::detector_type::DetectorType;
use soakbook::units::{Degree, Reading};
use soakbook::view::before::{Answers, Asking, OfHeater};
use soakbook::view::forms::{Ask, Part};

fn asking<T>(book: &Book, detector_type: DetectorType, with: impl FnOnce(&Asking<'_>) -> T) -> T {
    let (register, kit) = (Register::of(book), Kit::of(book));
    let some = register.detectors.values().find_map(|detector| detector.marking.now()).unwrap();
    let marking = Marking { detector_type, ..some.clone() };
    with(&Asking { kit: &kit, register: &register, visit: None, marking: Some(&marking), unit: Degree::F })
}

fn keys(parts: &[Part]) -> Vec<&'static str> {
    parts.iter().flat_map(|part| &part.fields).map(|field| field.name.key).collect()
}

fn labels(parts: &[Part], key: &str) -> Vec<String> {
    let field = parts.iter().flat_map(|part| &part.fields).find(|field| field.name.key == key);
    let Some(Ask::Choice(answers)) = field.map(|field| &field.ask) else { panic!("{key} is no choice") };
    answers.iter().map(|answer| answer.label.clone()).collect()
}

#[test]
fn each_answer_goes_to_its_field_and_is_shown_there() {
    let (book, _) = demo_book();
    asking(&book, DetectorType::Electronic, |asking| {
        let mut answers = Answers::default().offered(asking.kit, asking.marking);
        let given = [
            ("looks-good", "yes"),
            ("rate-answer", "heater-slower"),
            ("heater-warmth", "warm"),
            ("detector-warmth", "hot"),
            ("ambient", "72,5"),
            ("air", "moving"),
            ("by", "partner"),
            ("restores", "cannot-be-seen"),
            ("display-read", ""),
            ("latching", "yes"),
            ("verification", "yes"),
            ("lag-u", "3"),
        ];
        for (key, text) in given {
            answers.put(key, text, asking);
            assert_eq!(answers.typed().get(key), text, "{key}");
        }
        assert_eq!((answers.looks_good, answers.rate_answer), (true, Some(RateAnswer::HeaterSlower)));
        assert_eq!((answers.heater_warmth, answers.detector_warmth), (Warmth::Warm, Warmth::Hot));
        let ambient = answers.ambient_reading().unwrap();
        assert_eq!(ambient, Some(Reading { value: 725, scale: -1, unit: Degree::F }));
        assert_eq!((answers.air, answers.by), (Some(Air::Moving), IndicatedBy::Partner));
        assert_eq!((answers.restores, answers.display_read), (Restores::CannotBeSeen, false));
        assert_eq!((answers.latching, answers.verification, answers.lag_u.as_str()), (true, true, "3"));
        assert!(answers.wrongs().is_empty());
    });
}

#[test]
fn the_rate_function_is_asked_of_an_electronic_detector_alone() {
    let (book, _) = demo_book();
    let asked = |detector_type| {
        asking(&book, detector_type, |asking| keys(&Answers::default().questions(asking)).contains(&"rate-answer"))
    };
    assert!(asked(DetectorType::Electronic));
    assert!(!asked(DetectorType::RateCompensated));
}

#[test]
fn settings_are_those_of_the_heater_that_was_chosen() {
    let (book, _) = demo_book();
    asking(&book, DetectorType::RateCompensated, |asking| {
        for (id, heater) in asking.kit.heaters_by_name() {
            let mut answers = Answers::default();
            answers.put("heater", &id.to_string(), asking);
            let heating = heater.heating.now().unwrap();
            let shown: Vec<String> = heating.settings.iter().map(|setting| format!("{} °F", setting.text())).collect();
            assert_eq!(labels(&answers.questions(asking), "setting"), shown);
            assert!(answers.setting.is_some_and(|setting| heating.settings.contains(&setting)), "one is offered");
            let last = heating.settings.last().unwrap();
            answers.put("setting", &format!("{}-F", last.text()), asking);
            assert_eq!(answers.setting, Some(*last));
        }
    });
}

#[test]
fn a_text_that_is_no_number_says_so_at_its_field() {
    let (book, _) = demo_book();
    asking(&book, DetectorType::RateCompensated, |asking| {
        let mut answers = Answers::default();
        answers.put("ambient", "warm", asking);
        answers.put("lag", "0", asking);
        assert_eq!(answers.wrongs().into_keys().collect::<Vec<_>>(), ["ambient", "lag"]);
    });
}

#[test]
fn a_profile_run_asks_for_heat_and_the_detector_in_place() {
    let (book, _) = demo_book();
    asking(&book, DetectorType::RateCompensated, |asking| {
        let (heater, of) = asking.kit.heaters_by_name()[0];
        let mut answers = OfHeater::offered(&book, heater);
        assert_eq!(answers.answers.setting, of.heating.now().unwrap().settings.first().copied());
        assert_eq!(keys(&answers.questions(asking)), ["setting", "heater-warmth", "in-place"]);
        answers.put("heater-warmth", "hot", asking);
        assert_eq!((answers.answers.heater_warmth, answers.typed().get("in-place")), (Warmth::Hot, ""));
        let offered = labels(&answers.questions(asking), "in-place");
        assert!(offered.len() > 1 && offered.iter().all(|tag| !tag.is_empty()), "{offered:?}");
    });
}

#[test]
fn two_heaters_take_turns_and_of_three_somebody_chooses() {
    use crate::kit::{HAND_HEATER, SELF_HEATER, World, id, manual, put_heater, start_with};
    let mut world = World::given();
    let offered = |world: &World, heater: u8| {
        let answers = Answers { heater: Some(id(heater)), ..Answers::default() };
        answers.with_free_heater(&Kit::of(&world.book), &world.visit()).heater
    };
    assert_eq!(offered(&world, SELF_HEATER), Some(id(SELF_HEATER)), "nothing goes on");
    world.wait(1_000).act(start_with(|start| start.heater = id(SELF_HEATER)));
    assert_eq!(offered(&world, SELF_HEATER), Some(id(HAND_HEATER)), "the only one that is free");
    assert_eq!(offered(&world, HAND_HEATER), Some(id(HAND_HEATER)));
    world.wait(1_000).act(put_heater(99, manual()));
    assert_eq!(offered(&world, SELF_HEATER), Some(id(SELF_HEATER)), "which of two is nobody's guess");
}
