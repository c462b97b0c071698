//! Forms: what is typed becomes a command, or every field says what is wrong with it.

use super::demo::{at, demo_book, give};
use super::sample::{self, id};
use soakbook::book::Id;
use soakbook::book::body::{Body, Ending, What};
use soakbook::book::command::Command;
use soakbook::book::entry::Hash;
use soakbook::book::kit::Kit;
use soakbook::book::log::Book;
use soakbook::book::refusal::Refusal;
use soakbook::book::register::Register;
use soakbook::book::test::Test;
use soakbook::book::visit::Visit;
use soakbook::encoding::stored;
use soakbook::findings::{self, AsRead};
use soakbook::trade::detector::LimitsFrom;
use soakbook::trade::detector_type::DetectorType;
use soakbook::trade::heater::Cycle;
use soakbook::trade::procedure::Procedure;
use soakbook::units::{Degree, Difference, Reading};
use soakbook::view::forms::{self, Known, Typed, Wrongs};
use soakbook::view::place::Form;
use std::collections::BTreeSet;
use std::sync::Arc;

const NEW: Id = Id::from_u128(5_000);
const NOW: i64 = 1_772_355_600_000;

/// The command a form makes when these texts are typed into it as it opens.
fn fill(book: &Book, form: Form, texts: &[(&str, &str)]) -> Result<Command, Wrongs> {
    let (register, kit) = (Register::of(book), Kit::of(book));
    let known = Known { register: &register, kit: &kit };
    let mut typed = forms::open(form, known, Degree::F);
    texts.iter().for_each(|(key, text)| typed.set(key, text));
    forms::command(form, &typed, forms::edited(form, known).unwrap_or(NEW), None, known)
}

fn wrong(book: &Book, form: Form, texts: &[(&str, &str)]) -> Vec<(&'static str, String)> {
    let wrongs = fill(book, form, texts).expect_err("something is wrong with it");
    wrongs.into_iter().map(|(key, wrong)| (key, wrong.say)).collect()
}

fn detector(book: &Book, tag: &str) -> Id {
    *Register::of(book).detectors.iter().find(|(_, detector)| detector.tag() == tag).unwrap().0
}

const PLAIN: [(&str, &str); 6] = [
    ("tag", " H-01 "),
    ("type", "rate-compensated"),
    ("rating", "194"),
    ("minus", "-8"),
    ("plus", "8,5"),
    ("limits-from", "owner"),
];

#[test]
fn a_detector_keeps_the_digits_and_the_unit_as_typed() {
    let (book, _) = demo_book();
    let command = fill(&book, Form::Detector(None), &PLAIN).unwrap();
    let Command::PutDetector { place, marking, .. } = command.clone() else { panic!("{command:?}") };
    assert_eq!(place.tag, "H-01");
    assert_eq!(marking.detector_type, DetectorType::RateCompensated);
    assert_eq!(marking.rating, Some(Reading { value: 194, scale: 0, unit: Degree::F }));
    assert_eq!(marking.minus, Some(Difference { value: -8, scale: 0, unit: Degree::F }));
    assert_eq!(marking.plus, Some(Difference { value: 85, scale: -1, unit: Degree::F }));
    assert_eq!(marking.limits_from, Some(LimitsFrom::Owner));
    assert_eq!(give(&mut book.clone(), at(NOW), command), Ok(()));
}

#[test]
fn every_field_that_is_wrong_says_so_at_once() {
    let (book, _) = demo_book();
    let texts = [("tag", " "), ("rating", "hot"), ("minus", "8"), ("plus", "-8"), ("installed", "2026-02-30")];
    let said = wrong(&book, Form::Detector(None), &texts);
    let keys: Vec<&str> = said.iter().map(|(key, _)| *key).collect();
    assert_eq!(keys, ["installed", "limits-from", "minus", "plus", "rating", "tag", "type"]);
}

#[test]
fn a_rating_outside_its_range_names_the_range_in_the_unit_typed() {
    let (book, _) = demo_book();
    let say = |unit: &str, rating: &str| {
        let texts = [("tag", "H-01"), ("type", "electronic"), ("unit", unit), ("rating", rating)];
        wrong(&book, Form::Detector(None), &texts)
    };
    // 30 and 350 °C are 86 and 662 °F by NIST SP 811 B.9.
    for (unit, rating) in [("C", "29.9"), ("C", "351"), ("C", "-60")] {
        assert_eq!(say(unit, rating), [("rating", "Rating: from 30 °C to 350 °C.".to_string())]);
    }
    for (unit, rating) in [("F", "85"), ("F", "663")] {
        assert_eq!(say(unit, rating), [("rating", "Rating: from 86 °F to 662 °F.".to_string())]);
    }
    assert_eq!(say("C", ""), [("rating", "Rating: fill this in.".to_string())]);
}

#[test]
fn a_tolerance_of_the_wrong_sign_is_offered_with_the_other() {
    let (book, _) = demo_book();
    let mut texts = PLAIN;
    (texts[3], texts[4]) = (("minus", "8"), ("plus", "−8,5"));
    let wrongs = fill(&book, Form::Detector(None), &texts).unwrap_err();
    assert_eq!(wrongs["minus"].offer.as_deref(), Some("-8"));
    assert_eq!(wrongs["plus"].offer.as_deref(), Some("8.5"));
    // 60 K is 108 °F by NIST SP 811 B.9; −110 is too wide with either sign, so nothing is offered.
    texts[3] = ("minus", "110");
    assert_eq!(fill(&book, Form::Detector(None), &texts).unwrap_err()["minus"].offer, None);
}

#[test]
fn one_tolerance_alone_asks_for_the_other() {
    let (book, _) = demo_book();
    let mut texts = PLAIN;
    texts[4] = ("plus", "");
    assert_eq!(wrong(&book, Form::Detector(None), &texts), [("plus", "Plus tolerance: fill this in.".to_string())]);
}

#[test]
fn rate_of_rise_has_no_rating_whatever_was_typed_before() {
    let (book, _) = demo_book();
    let mut texts = PLAIN;
    texts[1] = ("type", "rate-of-rise");
    let command = fill(&book, Form::Detector(None), &texts).unwrap();
    let Command::PutDetector { marking, .. } = command else { panic!("{command:?}") };
    assert_eq!((marking.rating, marking.minus, marking.limits_from), (None, None, None));
}

#[test]
fn another_like_the_last_one_differs_by_its_tag_alone() {
    let (book, _) = demo_book();
    let like = detector(&book, "S-01");
    let command = fill(&book, Form::DetectorLike(like), &[]).unwrap();
    let Command::PutDetector { detector, place, marking, duty } = command.clone() else { panic!("{command:?}") };
    let register = Register::of(&book);
    let first = &register.detectors[&like];
    let stands = first.place.now().unwrap();
    assert_eq!((detector, place.tag.as_str()), (NEW, "S-02"));
    assert_eq!((place.area, place.circuit), (stands.area, stands.circuit));
    assert_eq!((place.address, place.label), (None, None));
    assert_eq!((&*marking, &duty), (first.marking.now().unwrap(), first.duty.now().unwrap()));
    assert_eq!(give(&mut book.clone(), at(NOW), command), Ok(()));
}

#[test]
fn a_tag_is_counted_up_past_those_taken() {
    let check = |tag: &str, taken: &[&str], expected: &str| {
        let taken: BTreeSet<&str> = taken.iter().copied().collect();
        assert_eq!(forms::counted_up(tag, &taken), expected);
    };
    check("H-07", &["H-07"], "H-08");
    check("H-07", &["H-07", "H-08", "H-09"], "H-10");
    check("H-99", &["H-99"], "H-100");
    check("Boiler", &["Boiler"], "Boiler-2");
    check("7", &["7"], "8");
}

#[test]
fn opening_and_saving_without_a_change_writes_nothing() {
    let (book, made) = demo_book();
    let (register, kit) = (Register::of(&book), Kit::of(&book));
    let mut things = vec![Form::Site(Some(made.site))];
    things.extend(register.areas.keys().map(|id| Form::Area(Some(*id))));
    things.extend(register.circuits.keys().map(|id| Form::Circuit(Some(*id))));
    things.extend(register.detectors.keys().map(|id| Form::Detector(Some(*id))));
    things.extend(kit.heaters.keys().map(|id| Form::Heater(Some(*id))));
    things.extend(kit.procedures.keys().map(|id| Form::Procedure(Some(*id))));
    for form in things {
        let mut after = book.clone();
        give(&mut after, at(NOW + 1), fill(&book, form, &[]).unwrap()).unwrap();
        assert_eq!(after.len(), book.len(), "{form:?}");
    }
}

#[test]
fn a_draft_survives_as_json() {
    let mut typed = Typed::default();
    typed.set("tag", "H-\"7");
    let text = stored::write(&typed);
    assert_eq!(stored::read::<Typed>(&text).unwrap(), typed);
}

#[test]
fn a_heater_that_cycles_by_itself_asks_for_its_times() {
    let (book, _) = demo_book();
    let texts = [
        ("heater-name", "Third"),
        ("settings", "57,5 90\n120"),
        ("above", "5"),
        ("unit", "C"),
        ("drive", "itself"),
        ("basis", "listed"),
    ];
    assert_eq!(
        wrong(&book, Form::Heater(None), &texts),
        [
            ("hold-first", "Hold after the first heat-up: fill this in.".to_string()),
            ("off", "Off between heat-ups: fill this in.".to_string()),
        ]
    );
    let mut whole = texts.to_vec();
    whole.extend([("hold-first", "5:00"), ("off", "45")]);
    let Command::PutHeater { heating, .. } = fill(&book, Form::Heater(None), &whole).unwrap() else { panic!() };
    assert_eq!(
        heating.cycle,
        Cycle::ByItself {
            heat_up_cold_ms: None,
            heat_up_again_ms: None,
            hold_first_ms: 300_000,
            hold_again_ms: 0,
            off_ms: 45_000
        }
    );
    let settings: Vec<String> = heating.settings.iter().map(|setting| setting.text()).collect();
    assert_eq!(settings, ["57.5", "90", "120"]);
}

#[test]
fn settings_test_together_are_told_and_not_taken_for_one() {
    let (book, _) = demo_book();
    let texts =
        [("heater-name", "Third"), ("settings", "135,194"), ("above", "5"), ("drive", "hand"), ("basis", "neither")];
    assert_eq!(
        wrong(&book, Form::Heater(None), &texts),
        [("settings", "Temperature setting: one a line, or with a space between.".to_string())]
    );
}

#[test]
fn times_are_minutes_and_seconds_or_seconds() {
    let (book, _) = demo_book();
    let soak = |text: &str| match fill(&book, Form::Procedure(None), &[("soak", text)]) {
        Ok(Command::PutProcedure { now, .. }) => Ok(now.soak_ms),
        other => Err(other.unwrap_err()["soak"].say.clone()),
    };
    assert_eq!(soak("5:00"), Ok(300_000));
    assert_eq!(soak("45"), Ok(45_000));
    assert_eq!(soak("0:05"), Ok(5_000));
    let how = "Soak: minutes and seconds such as 5:00, or seconds such as 45.".to_string();
    for text in ["5:0", "5:60", "soon", "-5", "1:2:03", ":30"] {
        assert_eq!(soak(text), Err(how.clone()), "{text}");
    }
    assert_eq!(soak("60:01"), Err("Soak: from 0 to 3600 s.".to_string()));
}

#[test]
fn a_new_procedure_starts_from_common_practice_and_saving_confirms_it() {
    let (book, _) = demo_book();
    let Ok(Command::PutProcedure { now, .. }) = fill(&book, Form::Procedure(None), &[]) else { panic!() };
    assert_eq!(*now, Procedure { confirmed: true, ..Procedure::set_point_template() });
    let register = Register::default();
    let kit = Kit::default();
    let known = Known { register: &register, kit: &kit };
    let mut typed = forms::open(Form::Procedure(None), known, Degree::F);
    forms::answer(Form::Procedure(None), &mut typed, "template", "functional", known);
    let Ok(Command::PutProcedure { now, .. }) = forms::command(Form::Procedure(None), &typed, NEW, None, known) else {
        panic!()
    };
    assert_eq!(*now, Procedure { confirmed: true, ..Procedure::functional_template() });
}

#[test]
fn the_times_of_a_heater_that_cycles_by_itself_are_offered_to_a_procedure() {
    let (book, _) = demo_book();
    let (register, kit) = (Register::of(&book), Kit::of(&book));
    let known = Known { register: &register, kit: &kit };
    let typed = forms::open(Form::Procedure(None), known, Degree::F);
    let page = forms::page(Form::Procedure(None), &typed, known);
    let puts: Vec<_> = page.offers.into_iter().map(|offer| offer.puts).collect();
    // The demonstration's heater A holds 3:00 and is off 0:40; heater B is switched by hand.
    assert_eq!(puts, [[("soak", "3:00".to_string()), ("off", "0:40".to_string())]]);
}

/// A form, what else is typed, the field with its label, texts just inside and just outside its range.
type Range<'a> = (Form, &'a [(&'a str, &'a str)], &'static str, &'static str, [&'a str; 2], [&'a str; 2]);

/// Just inside every range the rules take it; just outside form and rules agree that it is wrong.
#[test]
fn forms_and_rules_have_the_same_ranges() {
    let (book, _) = demo_book();
    let heater = [
        ("heater-name", "Third"),
        ("settings", "100"),
        ("above", "0"),
        ("drive", "itself"),
        ("basis", "listed"),
        ("hold-first", "1"),
        ("off", "1"),
        ("unit", "C"),
    ];
    let plain: Vec<_> = PLAIN.into_iter().chain([("unit", "C"), ("rating", "100")]).collect();
    // By hand from `decide`: lowest, highest and one step beyond each, in °C, K, s or trips.
    let cases: [Range<'_>; 13] = [
        (Form::Detector(None), &plain, "rating", "Rating", ["30", "350"], ["29.9", "350.1"]),
        (Form::Detector(None), &plain, "minus", "Minus tolerance", ["-60", "0"], ["-60.1", "0.1"]),
        (Form::Detector(None), &plain, "plus", "Plus tolerance", ["0", "60"], ["-0.1", "60.1"]),
        (Form::Heater(None), &heater, "settings", "Temperature setting", ["30", "400"], ["29.9", "400.1"]),
        (Form::Heater(None), &heater, "above", "Heat-ups above the setting by", ["0", "30"], ["-0.1", "30.1"]),
        (Form::Heater(None), &heater, "resolution", "Smallest step of the display", ["0.01", "10"], ["0", "10.1"]),
        (Form::Heater(None), &heater, "hold-first", "Hold after the first heat-up", ["0", "3600"], ["-1", "3601"]),
        (Form::Heater(None), &heater, "off", "Off between heat-ups", ["1", "3600"], ["0", "3601"]),
        (Form::Heater(None), &heater, "heat-up-cold", "Heat-up from cold", ["1", "3600"], ["0", "3601"]),
        (
            Form::Heater(None),
            &heater,
            "calibration",
            "Calibration, standard uncertainty",
            ["0", "20"],
            ["-0.1", "20.1"],
        ),
        (Form::Procedure(None), &[], "trips", "Trips", ["2", "20"], ["0", "21"]),
        (Form::Procedure(None), &[("trips", "5")], "uncounted", "Trips that do not count", ["0", "4"], ["-1", "5"]),
        (Form::Procedure(None), &[], "appended", "Trips that may be appended", ["0", "10"], ["-1", "11"]),
    ];
    for (form, base, key, label, inside, outside) in cases {
        for text in inside {
            let texts: Vec<_> = base.iter().copied().chain([(key, text)]).collect();
            let command = fill(&book, form, &texts).unwrap_or_else(|wrongs| panic!("{key} {text}: {wrongs:?}"));
            assert_eq!(give(&mut book.clone(), at(NOW), command), Ok(()), "{key} {text}");
        }
        for text in outside {
            let texts: Vec<_> = base.iter().copied().chain([(key, text)]).collect();
            let said = wrong(&book, form, &texts);
            assert!(said.iter().any(|(wrong, say)| *wrong == key && say.starts_with(label)), "{key} {text}: {said:?}");
        }
    }
}

#[test]
fn a_refusal_of_the_rules_is_shown_at_its_field() {
    let (book, _) = demo_book();
    let (register, kit) = (Register::of(&book), Kit::of(&book));
    let known = Known { register: &register, kit: &kit };
    let mut typed = forms::open(Form::Detector(None), known, Degree::F);
    PLAIN.iter().for_each(|(key, text)| typed.set(key, text));
    typed.set("tag", "J-01");
    let command = forms::command(Form::Detector(None), &typed, NEW, None, known).unwrap();
    let refusal = give(&mut book.clone(), at(NOW), command).unwrap_err();
    let wrongs = forms::refused(Form::Detector(None), &typed, &refusal, known);
    assert_eq!(wrongs["tag"].say, "Tag: this one is taken already. Choose another.");
}

/// The command of a correction of this test's marking, with a reason or without.
fn corrected(book: &Book, test: Id, noted: bool, texts: &[(&str, &str)]) -> Result<Command, Wrongs> {
    let (register, kit) = (Register::of(book), Kit::of(book));
    let test = Test::of(book, test).expect("the test");
    let mut typed = forms::correction(test.marking(), Degree::F);
    texts.iter().for_each(|(key, text)| typed.set(key, text));
    let form = Form::Marking(test.id);
    let noted = forms::note(form, &typed).filter(|_| noted).map(|reason| Hash::of(reason.as_bytes()));
    forms::command(form, &typed, test.id, noted, Known { register: &register, kit: &kit })
}

#[test]
fn a_corrected_marking_is_a_second_judgement_with_a_reason() {
    let mut phone = sample::Phone::new();
    let test = phone.test(sample::started(1), &sample::read(&["80.0", "88.1", "87.6", "88.4", "87.9"]), Ending::Done);
    let book = &mut phone.book;
    // The form opens with the frozen marking, in its own unit: 88 °C, −3 K and +4 K.
    let wrongs = corrected(book, test, false, &[("rating", "90")]).expect_err("no reason");
    assert_eq!(wrongs.into_keys().collect::<Vec<_>>(), ["reason"]);
    let wrongs = corrected(book, test, true, &[("minus", "3"), ("reason", "Misread")]).expect_err("a wrong sign");
    assert_eq!(wrongs["minus"].offer.as_deref(), Some("-3"));
    let same = corrected(book, test, true, &[("reason", "Nothing")]).expect("a command");
    assert_eq!(give(book, at(NOW), same), Err(Refusal::SameMarking));
    let command = corrected(book, test, true, &[("rating", "95"), ("reason", "Misread plate")]).expect("a command");
    give(book, at(NOW), command).expect("a correction");
    let visit = findings::visit(book, &Visit::of(book, id(sample::VISIT)).expect("the visit"));
    let found = &visit.tests[0];
    // By hand: the mean is 88.0 °C; within 85 to 92 °C as frozen, below 92 to 99 °C as corrected.
    assert_eq!((found.judged.as_read, found.judged.corrected_by), (Some(AsRead::Within), None));
    assert_eq!(found.judged_again.iter().map(|judged| judged.as_read).collect::<Vec<_>>(), [Some(AsRead::Outside)]);
    // The form opens with what holds now.
    let same = corrected(book, test, true, &[("reason", "Nothing")]).expect("a command");
    assert_eq!(give(book, at(NOW), same), Err(Refusal::SameMarking));
}

#[test]
fn a_test_that_goes_on_or_is_not_here_is_not_corrected() {
    let (mut book, _) = demo_book();
    let (marking, reason) = (Box::new(sample::started(1).detector.marking), Hash::of(b"why"));
    let unknown = Command::CorrectMarking { test: NEW, marking: marking.clone(), reason };
    assert_eq!(give(&mut book, at(NOW), unknown), Err(Refusal::UnknownTest));
    let mut phone = sample::Phone::new();
    phone.in_visit(Body::TestStarted(Arc::new(sample::started(1))));
    phone.in_visit(Body::Mark { test: id(1), what: What::HeatOn });
    let going_on = Command::CorrectMarking { test: id(1), marking, reason };
    assert_eq!(give(&mut phone.book, at(NOW), going_on), Err(Refusal::TestGoesOn));
}
