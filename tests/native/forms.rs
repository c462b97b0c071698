//! Forms: what is typed becomes a command, or every field says what is wrong with it.

use crate::demo::{at, demo_book, give};
use crate::sample::{self, id};
use soakbook::book::Id;
use soakbook::book::body::{Answer, Body, Ending, NotOurs, Point, What};
use soakbook::book::command::{Command, PutPosition};
use soakbook::book::entries::Book;
use soakbook::book::entry::Hash;
use soakbook::book::kit::Kit;
use soakbook::book::refusal::Refusal;
use soakbook::book::register::Register;
use soakbook::book::visit::Visit;
use soakbook::encoding::stored;
use soakbook::findings::{self, AsRead};
use soakbook::trade::detector::LimitsFrom;
use soakbook::trade::detector_type::DetectorType;
use soakbook::trade::heater::Cycle;
use soakbook::trade::procedure::{NumbersFrom, Procedure, ProcedureKind};
use soakbook::units::{Degree, Difference, Reading, Wall};
use soakbook::view::forms::{self, Attached, Known, Making, Typed, Wrongs};
use soakbook::view::route::Form;
use std::collections::BTreeSet;
use std::sync::Arc;

const NEW: Id = Id::from_u128(5_000);
const NOW: Wall = Wall(1_772_355_600_000);

/// A second new id, for a detector that comes with a position.
const NEW_DETECTOR: Id = Id::from_u128(5_001);

/// The commands a form makes when these texts are typed into it as it opens in this visit.
fn fill_in(book: &Book, visit: Option<Id>, form: Form, texts: &[(&str, &str)]) -> Result<Vec<Command>, Wrongs> {
    let (register, kit) = (Register::of(book), Kit::of(book));
    let known = Known { register: &register, kit: &kit, book, visit, at: at(NOW) };
    let mut typed = forms::open(form, known, Degree::F);
    texts.iter().for_each(|(key, text)| typed.set(key, text));
    made(form, &typed, known)
}

/// The commands of what was typed; each text that is kept apart is an attachment.
fn made(form: Form, typed: &Typed, known: Known<'_>) -> Result<Vec<Command>, Wrongs> {
    let attached: Attached =
        forms::texts(form, typed, known).into_iter().map(|(key, text)| (key, Hash::of(text.as_bytes()))).collect();
    let id = forms::edited(form, known).unwrap_or(NEW);
    forms::command(form, typed, Making { id, other: NEW_DETECTOR, attached: &attached }, known)
}

/// The one command of a form about register or kit.
fn fill(book: &Book, form: Form, texts: &[(&str, &str)]) -> Result<Command, Wrongs> {
    let mut commands = fill_in(book, None, form, texts)?;
    assert_eq!(commands.len(), 1, "{commands:?}");
    Ok(commands.remove(0))
}

fn wrong(book: &Book, form: Form, texts: &[(&str, &str)]) -> Vec<(&'static str, String)> {
    let wrongs = fill(book, form, texts).expect_err("something is wrong with it");
    wrongs.into_iter().map(|(key, wrong)| (key, wrong.say)).collect()
}

fn position(book: &Book, tag: &str) -> Id {
    *Register::of(book).positions.iter().find(|(_, position)| position.tag() == tag).unwrap().0
}

fn put_position(command: Command) -> PutPosition {
    let Command::PutPosition(put) = command else { panic!("{command:?}") };
    *put
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
    let command = fill(&book, Form::Position(None), &PLAIN).unwrap();
    let PutPosition { place, marking, duty, .. } = put_position(command.clone());
    assert_eq!(place.tag, "H-01");
    assert_eq!(duty.releases, None, "nobody said whether it releases anything");
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
    let said = wrong(&book, Form::Position(None), &texts);
    let keys: Vec<&str> = said.iter().map(|(key, _)| *key).collect();
    assert_eq!(keys, ["installed", "limits-from", "minus", "plus", "rating", "tag", "type"]);
}

#[test]
fn a_rating_outside_its_range_names_the_range_in_the_unit_typed() {
    let (book, _) = demo_book();
    let say = |unit: &str, rating: &str| {
        let texts = [("tag", "H-01"), ("type", "electronic"), ("unit", unit), ("rating", rating)];
        wrong(&book, Form::Position(None), &texts)
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
    let wrongs = fill(&book, Form::Position(None), &texts).unwrap_err();
    assert_eq!(wrongs["minus"].offer.as_deref(), Some("-8"));
    assert_eq!(wrongs["plus"].offer.as_deref(), Some("8.5"));
    // 60 K is 108 °F by NIST SP 811 B.9; −110 is too wide with either sign, so nothing is offered.
    texts[3] = ("minus", "110");
    assert_eq!(fill(&book, Form::Position(None), &texts).unwrap_err()["minus"].offer, None);
}

#[test]
fn a_tolerance_in_another_unit_is_offered_in_that_unit() {
    let (book, _) = demo_book();
    let mut texts = PLAIN;
    texts[3] = ("minus", "10 F");
    let unit = texts.iter().find(|(key, _)| *key == "unit").map(|(_, unit)| *unit);
    let offer = fill(&book, Form::Position(None), &texts).unwrap_err()["minus"].offer.clone();
    assert_eq!(offer.as_deref(), Some(if unit == Some("C") { "-10 °F" } else { "-10" }));
    // What is offered is taken.
    texts[3] = ("minus", "-10 °F");
    assert!(fill(&book, Form::Position(None), &texts).is_ok());
}

#[test]
fn a_detector_replaced_like_for_like_keeps_its_class() {
    let (mut book, demo) = demo_book();
    let classed = position(&book, "P-02");
    let class = |book: &Book| {
        let register = Register::of(book);
        register.marking_of(&register.positions[&classed]).and_then(|marking| marking.class)
    };
    let before = class(&book);
    assert!(before.is_some());
    let commands = fill_in(&book, Some(demo.visit), Form::Replace(classed), &[]).unwrap();
    commands.into_iter().for_each(|command| give(&mut book, at(NOW), command).unwrap());
    assert_eq!(class(&book), before);
}

#[test]
fn one_tolerance_alone_asks_for_the_other() {
    let (book, _) = demo_book();
    let mut texts = PLAIN;
    texts[4] = ("plus", "");
    assert_eq!(wrong(&book, Form::Position(None), &texts), [("plus", "Plus tolerance: fill this in.".to_string())]);
}

#[test]
fn rate_of_rise_has_no_rating_whatever_was_typed_before() {
    let (book, _) = demo_book();
    let mut texts = PLAIN;
    texts[1] = ("type", "rate-of-rise");
    let command = fill(&book, Form::Position(None), &texts).unwrap();
    let marking = put_position(command).marking;
    assert_eq!((marking.rating, marking.minus, marking.limits_from), (None, None, None));
}

#[test]
fn another_like_the_last_one_differs_by_its_tag_and_detector_alone() {
    let (book, _) = demo_book();
    let like = position(&book, "S-01");
    let command = fill(&book, Form::PositionLike(like), &[]).unwrap();
    let put = put_position(command.clone());
    let register = Register::of(&book);
    let first = &register.positions[&like];
    let stands = first.place.now().unwrap();
    assert_eq!((put.position, put.detector, put.place.tag.as_str()), (NEW, NEW_DETECTOR, "S-02"));
    assert_eq!((put.place.area, put.place.circuit), (stands.area, stands.circuit));
    assert_eq!((put.place.point, put.place.panel_text), (None, None));
    assert_eq!((&put.marking, &put.duty), (register.marking_of(first).unwrap(), first.duty.now().unwrap()));
    assert_eq!(give(&mut book.clone(), at(NOW), command), Ok(()));
}

#[test]
fn an_edited_position_keeps_its_detector() {
    let (book, _) = demo_book();
    let of = position(&book, "J-01");
    let put = put_position(fill(&book, Form::Position(Some(of)), &[("location", "Over kettle 2")]).unwrap());
    assert_eq!((put.position, Some(put.detector)), (of, Register::of(&book).positions[&of].detector()));
}

#[test]
fn whether_anything_is_released_is_yes_no_or_not_known() {
    // rule 0.8: blank is unknown; yes names what.
    let (book, _) = demo_book();
    let released = |texts: &[(&str, &str)]| {
        let texts = [&PLAIN[..], texts].concat();
        fill(&book, Form::Position(None), &texts).map(|command| put_position(command).duty.releases)
    };
    assert_eq!(released(&[]), Ok(None));
    assert_eq!(released(&[("releases-anything", "no"), ("releases", "Door 7")]), Ok(Some(Vec::new())));
    let named = released(&[("releases-anything", "yes"), ("releases", "Door 7\nFan 2")]);
    assert_eq!(named, Ok(Some(vec!["Door 7".into(), "Fan 2".into()])));
    assert!(released(&[("releases-anything", "yes")]).unwrap_err().contains_key("releases"));
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
    things.extend(register.positions.keys().map(|id| Form::Position(Some(*id))));
    things.extend(kit.heaters.keys().map(|id| Form::Heater(Some(*id))));
    things.extend(kit.procedures.keys().map(|id| Form::Procedure(Some(*id))));
    assert!(things.len() > 16);
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
fn a_heaters_times_are_kept_where_somebody_knows_them() {
    let (book, _) = demo_book();
    let mut texts = vec![
        ("heater-name", "Third"),
        ("settings", "57,5 90\n120"),
        ("unit", "C"),
        ("way", "auto-lamp"),
        ("basis", "listed"),
        ("calibrated", "unknown"),
    ];
    let heating = |texts: &[(&str, &str)]| {
        let Command::PutHeater { heating, .. } = fill(&book, Form::Heater(None), texts).unwrap() else { panic!() };
        heating
    };
    let cycle = |hold_first_ms, off_ms| Cycle::Auto {
        heat_up_cold_ms: None,
        heat_up_again_ms: None,
        hold_first_ms,
        hold_again_ms: None,
        off_ms,
    };
    // Numbers are blank until somebody takes them from the heater (design 2): a lamp or a display is marked instead.
    assert_eq!((heating(&texts).cycle, heating(&texts).overshoot), (cycle(None, None), None));
    texts.extend([("hold-first", "5:00"), ("off", "45")]);
    assert_eq!(heating(&texts).cycle, cycle(Some(300_000), Some(45_000)));
    let settings: Vec<String> = heating(&texts).settings.iter().map(|setting| setting.text()).collect();
    assert_eq!(settings, ["57.5", "90", "120"]);
}

#[test]
fn a_heater_that_shows_its_temperature_says_in_which_steps() {
    let (book, _) = demo_book();
    let texts = [
        ("heater-name", "Third"),
        ("settings", "194"),
        ("way", "manual-display"),
        ("basis", "neither"),
        ("calibrated", "unknown"),
    ];
    let said = wrong(&book, Form::Heater(None), &texts);
    assert_eq!(said, [("resolution", "Smallest step of the display: fill this in.".to_string())]);
}

#[test]
fn settings_run_together_are_named_and_not_taken_for_one() {
    let (book, _) = demo_book();
    let texts = [
        ("heater-name", "Third"),
        ("settings", "135,194"),
        ("way", "manual-lamp"),
        ("basis", "neither"),
        ("calibrated", "unknown"),
    ];
    assert_eq!(
        wrong(&book, Form::Heater(None), &texts),
        [("settings", "Temperature setting: one per line, or with a space between.".to_string())]
    );
}

/// A set-point procedure as somebody takes it from the heater's instructions.
const NUMBERS: [(&str, &str); 7] = [
    ("procedure-name", "Yearly"),
    ("numbers-from", "heater"),
    ("trips", "5"),
    ("not-averaged", "1"),
    ("soak", "5:00"),
    ("off", "45"),
    ("extra", "2"),
];

#[test]
fn times_are_minutes_and_seconds_or_seconds() {
    let (book, _) = demo_book();
    let soak = |text| match fill(&book, Form::Procedure(None), &[&NUMBERS[..], &[("soak", text)]].concat()) {
        Ok(Command::PutProcedure { now, .. }) => Ok(now.soak_ms.unwrap_or_default()),
        other => Err(other.unwrap_err()["soak"].say.clone()),
    };
    assert_eq!(soak("5:00"), Ok(300_000));
    assert_eq!(soak("45"), Ok(45_000));
    assert_eq!(soak("0:05"), Ok(5_000));
    let how = "Soak: minutes and seconds, e.g. 3:20, or seconds, e.g. 200.".to_string();
    for text in ["5:0", "5:60", "soon", "-5", "1:2:03", ":30"] {
        assert_eq!(soak(text), Err(how.clone()), "{text}");
    }
    assert_eq!(soak("60:01"), Err("Soak: from 1 to 3600 s.".to_string()));
}

#[test]
fn a_new_procedure_has_no_numbers_until_somebody_fills_them_in() {
    // Design 2: blank until taken from the heater, the detector's instructions or the owner.
    let (book, _) = demo_book();
    let keys = |texts: &[(&str, &str)]| wrong(&book, Form::Procedure(None), texts).into_iter().map(|(key, _)| key);
    let asked: Vec<_> = keys(&[]).collect();
    assert_eq!(asked, ["extra", "not-averaged", "numbers-from", "off", "procedure-name", "soak", "trips"]);
    let Ok(Command::PutProcedure { now, .. }) = fill(&book, Form::Procedure(None), &NUMBERS) else { panic!() };
    let expected = Procedure {
        name: "Yearly".into(),
        kind: ProcedureKind::SetPoint,
        trips: 5,
        not_averaged: 1,
        soak_ms: Some(300_000),
        off_ms: Some(45_000),
        extra_trips: 2,
        limits: None,
        numbers_from: Some(NumbersFrom::Heater),
    };
    assert_eq!(*now, expected);
    // A functional test needs no more than a name.
    let texts = [("kind", "functional"), ("procedure-name", "Does it operate")];
    let Ok(Command::PutProcedure { now, .. }) = fill(&book, Form::Procedure(None), &texts) else { panic!() };
    assert_eq!(*now, Procedure { name: "Does it operate".into(), ..Procedure::functional() });
}

#[test]
fn who_agreed_to_the_owners_limits_is_kept_with_them() {
    let (book, _) = demo_book();
    let texts = [&NUMBERS[..], &[("lower", "-8"), ("upper", "8"), ("agreed-by", "B. Owner")]].concat();
    let Ok(Command::PutProcedure { now, .. }) = fill(&book, Form::Procedure(None), &texts) else { panic!() };
    let limits = now.limits.expect("limits");
    assert_eq!((limits.minus.text(), limits.plus.text()), ("-8".to_string(), "8".to_string()));
    assert_eq!(limits.agreed.map(|agreed| agreed.by), Some(Hash::of(b"B. Owner")));
    let one = [&NUMBERS[..], &[("lower", "-8")]].concat();
    assert_eq!(wrong(&book, Form::Procedure(None), &one), [("upper", "Plus tolerance: fill this in.".to_string())]);
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
        ("way", "auto-display"),
        ("basis", "listed"),
        ("resolution", "1"),
        ("calibrated", "known"),
        ("calibration", "1"),
        ("unit", "C"),
    ];
    let plain: Vec<_> = PLAIN.into_iter().chain([("unit", "C"), ("rating", "100")]).collect();
    // By hand from `decide`: lowest, highest and one step beyond each, in °C, K, s or trips.
    let cases: [Range<'_>; 16] = [
        (Form::Position(None), &plain, "rating", "Rating", ["30", "350"], ["29.9", "350.1"]),
        (Form::Position(None), &plain, "minus", "Minus tolerance", ["-60", "0"], ["-60.1", "0.1"]),
        (Form::Position(None), &plain, "plus", "Plus tolerance", ["0", "60"], ["-0.1", "60.1"]),
        (Form::Heater(None), &heater, "settings", "Temperature setting", ["30", "400"], ["29.9", "400.1"]),
        (Form::Heater(None), &heater, "overshoot", "Overshoot above setting", ["0", "30"], ["-0.1", "30.1"]),
        (Form::Heater(None), &heater, "resolution", "Smallest step of the display", ["0.01", "10"], ["0", "10.1"]),
        (Form::Heater(None), &heater, "hold-first", "Hold after the first heat-up", ["1", "3600"], ["0", "3601"]),
        (Form::Heater(None), &heater, "off", "Off between heat-ups", ["1", "3600"], ["0", "3601"]),
        (Form::Heater(None), &heater, "heat-up-cold", "Heat-up from cold", ["1", "3600"], ["0", "3601"]),
        (
            Form::Heater(None),
            &heater,
            "calibration",
            "Calibration, standard uncertainty",
            ["0.001", "20"],
            ["0", "20.1"],
        ),
        (Form::Heater(None), &heater, "fit", "Fit error, standard uncertainty", ["0.001", "20"], ["0", "20.1"]),
        (Form::Heater(None), &heater, "hold-again", "Hold after later heat-ups", ["0", "3600"], ["-1", "3601"]),
        (Form::Heater(None), &heater, "timeout", "Safety time-out", ["1", "86400"], ["0", "86401"]),
        (Form::Procedure(None), &NUMBERS, "trips", "Trips", ["2", "20"], ["0", "21"]),
        (Form::Procedure(None), &NUMBERS, "not-averaged", "First trips not averaged", ["0", "4"], ["-1", "5"]),
        (Form::Procedure(None), &NUMBERS, "extra", "Extra trips allowed", ["0", "10"], ["-1", "11"]),
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
    let known = Known { register: &register, kit: &kit, book: &book, visit: None, at: at(NOW) };
    let mut typed = forms::open(Form::Position(None), known, Degree::F);
    PLAIN.iter().for_each(|(key, text)| typed.set(key, text));
    typed.set("tag", "J-01");
    let command = made(Form::Position(None), &typed, known).unwrap().remove(0);
    let refusal = give(&mut book.clone(), at(NOW), command).unwrap_err();
    let wrongs = forms::refused(Form::Position(None), &typed, &refusal, known);
    assert_eq!(wrongs["tag"].say, "Tag is already used.");
}

/// The command of a correction of this test's marking.
fn corrected(book: &Book, test: Id, texts: &[(&str, &str)]) -> Result<Command, Wrongs> {
    let (register, kit) = (Register::of(book), Kit::of(book));
    let known = Known { register: &register, kit: &kit, book, visit: None, at: at(NOW) };
    let mut typed = forms::open(Form::Marking(test), known, Degree::F);
    texts.iter().for_each(|(key, text)| typed.set(key, text));
    Ok(made(Form::Marking(test), &typed, known)?.remove(0))
}

#[test]
fn a_corrected_marking_is_a_second_judgement_with_a_reason() {
    let mut phone = sample::Phone::new();
    let test = phone.test(sample::started(1), &sample::read(&["80.0", "88.1", "87.6", "88.4", "87.9"]), Ending::Done);
    let book = &mut phone.book;
    // The form opens with the frozen marking, in its own unit: 88 °C, −3 K and +4 K.
    let wrongs = corrected(book, test, &[("rating", "90")]).expect_err("no reason");
    assert_eq!(wrongs.into_keys().collect::<Vec<_>>(), ["reason"]);
    let wrongs = corrected(book, test, &[("minus", "3"), ("reason", "Misread")]).expect_err("a wrong sign");
    assert_eq!(wrongs["minus"].offer.as_deref(), Some("-3"));
    let same = corrected(book, test, &[("reason", "Nothing")]).expect("a command");
    assert_eq!(give(book, at(NOW), same), Err(Refusal::SameMarking));
    let command = corrected(book, test, &[("rating", "95"), ("reason", "Misread plate")]).expect("a command");
    give(book, at(NOW), command).expect("a correction");
    let visit = findings::visit(book, &Visit::of(book, id(sample::VISIT)).expect("the visit"));
    let found = &visit.tests[0];
    // By hand: the mean is 88.0 °C; within 85 to 92 °C as frozen, below 92 to 99 °C as corrected.
    assert_eq!((found.judged.as_read, found.judged.corrected_by), (Some(AsRead::Within), None));
    assert_eq!(found.judged_again.iter().map(|judged| judged.as_read).collect::<Vec<_>>(), [Some(AsRead::Outside)]);
    // The form opens with what holds now.
    let same = corrected(book, test, &[("reason", "Nothing")]).expect("a command");
    assert_eq!(give(book, at(NOW), same), Err(Refusal::SameMarking));
}

#[test]
fn a_test_in_progress_or_not_here_is_not_corrected() {
    let (mut book, _) = demo_book();
    let (marking, why) = (Box::new(sample::started(1).detector.marking), Hash::of(b"why"));
    let unknown = Command::CorrectMarking { test: NEW, marking: marking.clone(), why };
    assert_eq!(give(&mut book, at(NOW), unknown), Err(Refusal::UnknownTest));
    let mut phone = sample::Phone::new();
    phone.in_visit(Body::TestStarted(Arc::new(sample::started(1))));
    phone.in_visit(Body::Mark { of: id(1), what: What::HeatOn });
    let running = Command::CorrectMarking { test: id(1), marking, why };
    assert_eq!(give(&mut phone.book, at(NOW), running), Err(Refusal::TestInProgress));
}

/// Any circuit of the demonstration.
fn circuit(book: &Book) -> Id {
    *Register::of(book).circuits.keys().next().expect("a circuit")
}

#[test]
fn every_step_of_a_visit_has_a_form_that_the_rules_take_as_it_opens() {
    let (mut book, demo) = demo_book();
    let visit = Some(demo.visit);
    let step = |book: &mut Book, form, texts: &[(&str, &str)]| {
        let commands = fill_in(book, visit, form, texts).unwrap_or_else(|wrongs| panic!("{form:?}: {wrongs:?}"));
        for command in commands {
            give(book, at(NOW), command.clone()).unwrap_or_else(|refusal| panic!("{command:?}: {refusal:?}"));
        }
    };
    let of = |book: &Book| Visit::of(book, demo.visit).expect("the visit");
    let store = *Register::of(&book).areas.iter().find(|(_, a)| a.now().unwrap().name == "Spirit store").unwrap().0;
    step(&mut book, Form::Plan, &[("edition", "2022")]);
    (0..18).for_each(|number| step(&mut book, Form::Notify(number), &[]));
    assert_eq!(of(&book).notices.len(), 19, "the demonstration's own is one of them");
    step(&mut book, Form::Impair, &[]);
    step(&mut book, Form::Secure(Hash::of(b"Packing belt stop")), &[]);
    assert!(of(&book).is_secured("Packing belt stop"));
    let permit = [
        ("permit-number", "P-17"),
        ("valid-until", "2026-03-01T17:00"),
        ("lel", "0"),
        ("oxygen", "20.9"),
        ("phone-allowed", "yes"),
    ];
    step(&mut book, Form::Permit(Some(store)), &permit);
    step(&mut book, Form::Approval(store), &[("fits", "yes")]);
    assert_eq!((of(&book).permits.len(), of(&book).approvals.len()), (1, 1));
    let jam = position(&book, "J-01");
    step(&mut book, Form::Visual(jam), &[("found", "dirty,loose")]);
    step(&mut book, Form::Repair(jam), &[("work", "cleaned")]);
    step(&mut book, Form::Replace(jam), &[]);
    assert_eq!(of(&book).work.iter().map(|work| work.replaced).collect::<Vec<_>>(), [false, true]);
    let off: Vec<Hash> = [of(&book).secured[0].hash, of(&book).impaired[0].hash].into();
    off.into_iter().for_each(|hash| step(&mut book, Form::Restore(hash), &[]));
    let permit = of(&book).permits[0].hash;
    step(&mut book, Form::Restore(permit), &[]);
    assert_eq!(of(&book).still_off(), 0);
    give(&mut book, at(NOW), Command::AlarmNotOurs { visit: demo.visit, what: NotOurs::Alarm, note: None }).unwrap();
    let alarm = of(&book).alarms[0].hash;
    step(&mut book, Form::ClearAlarm(alarm), &[("note", "Toaster in the canteen")]);
    assert_eq!(of(&book).alarms_not_cleared().count(), 0);
    for item in of(&book).items {
        step(&mut book, Form::Item(item.hash), &[("class", "deficiency"), ("closed", "withdrawn")]);
    }
    step(&mut book, Form::Lift, &[("lift-good", "yes")]);
    let circuit = circuit(&book);
    step(&mut book, Form::ProveCircuit(circuit), &[("outputs", "stayed"), ("station", "on-test"), ("point", "right")]);
    step(
        &mut book,
        Form::NotTested(jam),
        &[("not-tested-why", "not-allowed"), ("not-allowed-by", "other"), ("not-allowed-name", "Shift lead")],
    );
    let dead = [("method", "electrical"), ("basis", "Page 12"), ("tripped", "no")];
    let baseless = fill_in(&book, visit, Form::OtherMethod(jam), &[dead[0], dead[2]]).unwrap_err();
    assert_eq!(baseless.into_keys().collect::<Vec<_>>(), ["basis"]);
    // There is no panel in a laboratory, so nothing is asked of one.
    let laboratory = [("method", "laboratory"), dead[1], ("tripped", "yes")];
    let made = fill_in(&book, visit, Form::OtherMethod(jam), &laboratory).unwrap();
    let [Command::OtherMethod { other, .. }] = &made[..] else { panic!("{made:?}") };
    assert_eq!((other.point, other.restored), (Point::NotChecked, Answer::NotChecked));
    step(&mut book, Form::OtherMethod(jam), &dead);
    step(&mut book, Form::OpenPair(Some(jam)), &[]);
    step(&mut book, Form::Impair, &[]);
    let pair = of(&book).pairs[0].hash;
    step(
        &mut book,
        Form::Panel(0),
        &[("panel-normal", "no"), ("panel-troubles", "Ground fault\nBattery"), ("panel-clock", "2026-03-01T09:02")],
    );
    let ahead = of(&book).record.clocks[0].what.ahead_ms;
    // By hand: 9:02 and half a minute, against 9:00.
    assert_eq!(ahead, 150_000);
    let back = pair.to_string();
    step(&mut book, Form::Break, &[("put-back", &back), ("left-by", "other"), ("left-by-name", "O. Owner")]);
    assert!(of(&book).pairs.iter().all(|pair| !pair.is_off()) && of(&book).record.on_break().is_some());
    give(&mut book, at(NOW), Command::EndBreak { visit: demo.visit }).unwrap();
    let whole = of(&book).impaired.iter().rfind(|off| off.is_off()).unwrap().hash;
    let named =
        [("accepted-name", "O. Owner"), ("left-until", "2026-03-02T09:00"), ("left-notified-name", "Fire marshal")];
    step(&mut book, Form::LeaveOff(whole), &named);
    step(&mut book, Form::Invite, &[("invited-name", "Ben's phone")]);
    let invitation = of(&book).record.invited[0].hash;
    step(&mut book, Form::Excuse(invitation), &[("why", "Its battery died")]);
    // As left the form opens with what was found.
    step(&mut book, Form::Panel(2), &[("panel-normal", "no")]);
    assert_eq!(of(&book).record.panels.last().unwrap().said.what.troubles, ["Ground fault", "Battery"]);
    give(&mut book, at(NOW), Command::CloseVisit { visit: demo.visit }).unwrap();
    step(&mut book, Form::Reopen, &[("why", "One more position")]);
    assert!(of(&book).closed.is_empty());
    // Of several panels it opens with the one that is to be looked at.
    step(&mut book, Form::Panel(0), &[("panel-normal", "yes"), ("panel-label", "Panel 2")]);
    step(&mut book, Form::Panel(2), &[("panel-normal", "yes")]);
    assert_eq!(of(&book).record.panels.last().unwrap().said.what.label.as_deref(), Some("Panel 2"));
}

#[test]
fn a_go_ahead_without_the_station_needs_a_reason_and_is_offered_for_it_alone() {
    // rule 0.8.
    let (book, demo) = demo_book();
    let without = |number, texts: &[(&str, &str)]| {
        let texts = [&[("answer", "go-ahead-without")], texts].concat();
        fill_in(&book, Some(demo.visit), Form::Notify(number), &texts)
    };
    // By hand: the supervising station is the second on the list, and there are nine.
    assert!(without(1, &[]).unwrap_err().contains_key("reason"));
    let made = without(1, &[("reason", "Line down, owner agrees")]).unwrap();
    let [Command::Notify { notice, .. }] = &made[..] else { panic!("{made:?}") };
    assert_eq!(notice.note, Some(Hash::of(b"Line down, owner agrees")));
    for number in [0, 2, 10] {
        assert!(without(number, &[("reason", "None")]).unwrap_err().contains_key("answer"), "{number}");
    }
}

#[test]
fn a_permit_asks_for_every_line_of_the_paper() {
    // rule 0.13: a number and a unit for both gases, and whether the phone is allowed in.
    let (book, demo) = demo_book();
    let wrongs = fill_in(&book, Some(demo.visit), Form::Permit(None), &[]).unwrap_err();
    let keys: Vec<&str> = wrongs.into_keys().collect();
    assert_eq!(keys, ["lel", "oxygen", "permit-number", "phone-allowed", "valid-until"]);
}

#[test]
fn a_person_has_a_name_firm_and_license_and_takes_the_phone() {
    // rule 0.11.
    let (book, _) = demo_book();
    let texts = [("person-name", "C. Partner"), ("firm", "Invented Fire"), ("license", "L-9")];
    let commands = fill_in(&book, None, Form::Person(None), &texts).expect("commands");
    let [Command::PutPerson { person, now }, rest @ ..] = &commands[..] else { panic!("{commands:?}") };
    assert_eq!(*person, NEW);
    assert_eq!(
        (now.name, now.firm, now.license),
        (Hash::of(b"C. Partner"), Some(Hash::of(b"Invented Fire")), Some(Hash::of(b"L-9")),)
    );
    assert!(rest.iter().all(|command| matches!(command, Command::HandPhone { to: NEW })));
    assert!(fill_in(&book, None, Form::Person(None), &[]).is_err());
}
