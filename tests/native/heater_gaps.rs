//! What the app cannot say of a heater, the form that asks for little, and the way from what needs an answer to its field.

use crate::kit::*;
use crate::sample::{self, HeatUp};
use soakbook::book::Id;
use soakbook::book::body::{Ending, TestStart};
use soakbook::book::command::Command;
use soakbook::book::kit::Kit;
use soakbook::book::refusal::Refusal;
use soakbook::book::register::Register;
use soakbook::trade::classified::Classification;
use soakbook::trade::heater::{Basis, Cycle, HeaterName, Heating, Metrology};
use soakbook::trade::heater_gaps::{Gap, Unsaid, cannot_say};
use soakbook::units::{Degree, Difference, Reading};
use soakbook::view::forms::{self, Attached, Known, Making, Typed, Wrongs};
use soakbook::view::heater::{asked_after, not_possible, profile_needs, why};
use soakbook::view::page::Page;
use soakbook::view::page::text::text;
use soakbook::view::remedy::remedy_at;
use soakbook::view::route::{Form, Route};
use soakbook::view::words;

fn name() -> HeaterName {
    HeaterName { name: "Long".into(), serial: None, basis: Basis::Listed, approval: None }
}

/// One that cycles on its own, of which nothing is known that may stay blank.
fn bare() -> Heating {
    let (overshoot, resolution, lamp, timeout_ms) = (None, None, None, None);
    Heating { settings: vec![c(90)], overshoot, modes: Vec::new(), cycle: Cycle::AUTO, resolution, lamp, timeout_ms }
}

/// Everything is known of it.
fn whole() -> (HeaterName, Heating, Metrology) {
    let cycle = Cycle::Manual { heat_up_cold_ms: Some(60_000), heat_up_again_ms: Some(20_000) };
    let approval = Some(Classification { class: Some("I".into()), ..Classification::default() });
    let metrology = Metrology {
        calibration_u: Some(k(1)),
        certificate: None,
        due: None,
        fit_u: Some(k(1)),
        fit_from: Some("own comparison".into()),
    };
    let heating = Heating { overshoot: Some(k(3)), resolution: Some(k(1)), cycle, ..bare() };
    (HeaterName { approval, ..name() }, heating, metrology)
}

#[test]
fn of_a_bare_heater_all_that_needs_an_answer_is_unsaid() {
    let expected = [
        (Unsaid::LimitResult, vec![Gap::Calibration, Gap::Fit, Gap::Display]),
        (Unsaid::NoAlarm, vec![Gap::Calibration, Gap::Fit]),
        (Unsaid::Estimate, vec![Gap::Display]),
        (Unsaid::TopTime, vec![Gap::HeatUp]),
        (Unsaid::BelowElement, vec![Gap::Overshoot, Gap::Calibration]),
        (Unsaid::Hazardous, vec![Gap::Approval]),
    ];
    assert_eq!(cannot_say(&name(), &bare(), &Metrology::default()), expected);
}

#[test]
fn of_a_whole_heater_nothing_is_unsaid_and_each_gap_takes_away_what_rests_on_it() {
    let (name, heating, metrology) = whole();
    assert_eq!(cannot_say(&name, &heating, &metrology), []);
    let unsaid = |name: &HeaterName, heating: &Heating, metrology: &Metrology| {
        cannot_say(name, heating, metrology).into_iter().map(|(unsaid, _)| unsaid).collect::<Vec<_>>()
    };
    let of_metrology = |metrology| unsaid(&name, &heating, &metrology);
    let no_calibration = Metrology { calibration_u: None, ..metrology.clone() };
    assert_eq!(of_metrology(no_calibration), [Unsaid::LimitResult, Unsaid::NoAlarm, Unsaid::BelowElement]);
    let no_fit = Metrology { fit_u: None, fit_from: None, ..metrology.clone() };
    assert_eq!(of_metrology(no_fit), [Unsaid::LimitResult, Unsaid::NoAlarm]);
    assert_eq!(of_metrology(Metrology { fit_from: None, ..metrology.clone() }), [Unsaid::LimitResult]);
    let of_heating = |heating| unsaid(&name, &heating, &metrology);
    let no_display = Heating { resolution: None, ..heating.clone() };
    assert_eq!(of_heating(no_display), [Unsaid::LimitResult, Unsaid::Estimate]);
    assert_eq!(of_heating(Heating { overshoot: None, ..heating.clone() }), [Unsaid::BelowElement]);
    assert_eq!(of_heating(Heating { cycle: Cycle::MANUAL, ..heating.clone() }), [Unsaid::TopTime]);
    // An approval with nothing in it is none.
    let blank = HeaterName { approval: Some(Classification::default()), ..name.clone() };
    assert_eq!(unsaid(&blank, &heating, &metrology), [Unsaid::Hazardous]);
}

/// The heater's form as it opens, with these texts typed.
fn typed<T>(form: Form, texts: &[(&str, &str)], with: impl FnOnce(Known<'_>, Typed) -> T) -> T {
    let world = World::given();
    let (register, kit) = (Register::of(&world.book), Kit::of(&world.book));
    let known = Known { register: &register, kit: &kit, book: &world.book, visit: None, at: world.phone.at() };
    let mut typed = forms::open(form, known, Degree::F);
    texts.iter().for_each(|(key, text)| typed.set(key, text));
    with(known, typed)
}

fn made(texts: &[(&str, &str)]) -> Result<(HeaterName, Heating, Metrology), Wrongs> {
    typed(Form::Heater(None), texts, |known, typed| {
        let (id, other, attached) = (Id::from_u128(5_000), Id::from_u128(5_001), Attached::new());
        let making = Making { id, other, attached: &attached };
        let mut commands = forms::command(Form::Heater(None), &typed, making, known)?;
        match commands.pop() {
            Some(Command::PutHeater { name, heating, metrology, .. }) => Ok((name, *heating, metrology)),
            other => panic!("{other:?}"),
        }
    })
}

/// The answers without which no heater starts.
const SIX: [(&str, &str); 6] = [
    ("heater-name", "Long"),
    ("way", "auto-display"),
    ("settings", "200"),
    ("resolution", "1"),
    ("basis", "listed"),
    ("calibrated", "unknown"),
];

#[test]
fn six_answers_start_a_heater_and_no_number_is_made_up() {
    let (name, heating, metrology) = made(&SIX).expect("six are enough");
    let f = |value| Reading { value, scale: 0, unit: Degree::F };
    let step = Difference { value: 1, scale: 0, unit: Degree::F };
    assert_eq!(name, self::name());
    assert_eq!(heating, Heating { settings: vec![f(200)], resolution: Some(step), ..bare() });
    assert_eq!(metrology, Metrology::default());
    // Each of them is asked for, and nothing else.
    for (key, _) in SIX {
        let five: Vec<_> = SIX.into_iter().filter(|(other, _)| *other != key).collect();
        let wrongs = made(&five).expect_err(key);
        assert_eq!(wrongs.keys().copied().collect::<Vec<_>>(), [key], "{wrongs:?}");
    }
}

#[test]
fn a_template_fills_in_what_follows_from_the_way_it_works_alone() {
    for (way, is_auto, shows) in [
        ("auto-display", true, true),
        ("auto-lamp", true, false),
        ("manual-display", false, true),
        ("manual-lamp", false, false),
    ] {
        // The step of a display that it does not have is not kept.
        let texts = [&SIX[..], &[("way", way), ("hold-first", "5:00")]].concat();
        let (_, heating, _) = made(&texts).expect(way);
        assert_eq!((heating.cycle.is_auto(), heating.resolution.is_some()), (is_auto, shows), "{way}");
        // Only one that cycles on its own has a hold of its own.
        assert_eq!(matches!(heating.cycle, Cycle::Auto { hold_first_ms: Some(300_000), .. }), is_auto, "{way}");
        assert_eq!((heating.overshoot, heating.timeout_ms, heating.lamp), (None, None, None), "{way}");
    }
}

#[test]
fn a_calibration_that_is_known_has_its_number_and_never_zero() {
    let with = |text| made(&[&SIX[..], &[("calibrated", "known"), ("calibration", text)]].concat());
    assert_eq!(with("").expect_err("a number").keys().copied().collect::<Vec<_>>(), ["calibration"]);
    assert_eq!(with("0").expect_err("no zero").keys().copied().collect::<Vec<_>>(), ["calibration"]);
    let half = Difference { value: 5, scale: -1, unit: Degree::F };
    assert_eq!(with("0.5").expect("whole").2.calibration_u, Some(half));
    // What was typed before it was said to be unknown is not kept.
    let unknown = made(&[&SIX[..], &[("calibration", "0.5")]].concat());
    assert_eq!(unknown.expect("whole").2.calibration_u, None);
}

#[test]
fn every_gap_leads_to_a_field_that_is_open_and_says_why() {
    for gap in Gap::ALL {
        let form = Form::HeaterAsks(id(SELF_HEATER), gap);
        assert_eq!(Route::read(&Route::Form(form).address()), Route::Form(form));
        assert_eq!(forms::come_for(form), (Form::Heater(Some(id(SELF_HEATER))), Some(gap)));
        typed(Form::Heater(Some(id(SELF_HEATER))), &[], |known, typed| {
            let page = forms::page(Form::Heater(Some(id(SELF_HEATER))), &typed, known);
            let (page, field) = forms::page_for(page, gap, &typed);
            let mut open = page.parts.iter().filter(|part| !part.folded);
            let part = open.find(|part| part.fields.iter().any(|asked| asked.name.id == field));
            let part = part.unwrap_or_else(|| panic!("{gap:?}: {field}"));
            assert_eq!(part.note, why(gap));
        });
    }
}

#[test]
fn a_refusal_that_needs_an_answer_leads_to_its_field() {
    let heater = id(SELF_HEATER);
    let leads = |refusal| remedy_at(&refusal, id(POSITION), Some(id(HALL)), Some(heater)).map(|(_, place)| place);
    for (refusal, gap) in [
        (Refusal::OvershootUnknown, Gap::Overshoot),
        (Refusal::CalibrationUnknown, Gap::Calibration),
        (Refusal::CalibrationOverdue { due: "2020-01-01".into() }, Gap::Due),
        (Refusal::HeaterNotApproved, Gap::Approval),
    ] {
        assert_eq!(leads(refusal), Some(Route::Form(Form::HeaterAsks(heater, gap))));
    }
}

#[test]
fn the_heaters_form_says_what_is_not_possible_yet() {
    let mut world = World::given();
    let put = |heating: Heating, metrology| Command::PutHeater {
        heater: id(20),
        name: name(),
        heating: heating.into(),
        metrology,
    };
    world.act(put(bare(), Metrology::default()));
    let page = |world: &World| {
        let blocks = not_possible(&Kit::of(&world.book), id(20));
        text(&Page { title: "Long".into(), blocks, ..Page::default() })
    };
    let expected = "# Long\n## Not possible yet with this heater\n  Each needs data that isn't entered yet. Tap to enter it.\n  \
         - No limit results: Not entered: calibration uncertainty, fit error, display >\n  \
         - “No trip” decides nothing: Not entered: calibration uncertainty, fit error >\n  \
         - No temperature between readings: Not entered: display >\n  \
         - No time to top temperature: you mark it: Not entered: heat-up times >\n  \
         - Not for combination detectors with a nonrestorable element: Not entered: overshoot, calibration uncertainty >\n  \
         - Not for hazardous (classified) locations: Not entered: approval >\n";
    assert_eq!(page(&world), expected);
    let (name, heating, metrology) = whole();
    world.act(Command::PutHeater { heater: id(20), name, heating: heating.into(), metrology });
    assert_eq!(page(&world), "# Long\n");
}

#[test]
fn a_setting_in_the_other_unit_stands_beside_the_screens() {
    // 200 °F is 93.3 °C, 93 °C is 199.4 °F by NIST SP 811 B.9.
    let f = Reading { value: 200, scale: 0, unit: Degree::F };
    assert_eq!(words::setting(&f, Degree::F), "200 °F");
    assert_eq!(words::setting(&f, Degree::C), "200 °F (93 °C)");
    assert_eq!(words::setting(&c(93), Degree::F), "93 °C (199 °F)");
    let heating = Heating { settings: vec![f, c(93)], ..bare() };
    assert_eq!(words::heating(&heating, Degree::C), "200 °F (93 °C), 93 °C · auto-cycling");
}

/// Where the result of a test of one of the sample's heaters leads.
fn asked_of(start: TestStart, heat_ups: &[HeatUp], how: Ending) -> Option<Route> {
    let heater = start.heater.of;
    let mut phone = sample::Phone::new();
    phone.test(start, heat_ups, how);
    asked_after(&phone.visit().tests[0], heater)
}

#[test]
fn a_result_that_lacks_an_answer_leads_to_its_field() {
    let leads = |gap| Some(Route::Form(Form::HeaterAsks(sample::started(1).heater.of, gap)));
    let trips = sample::read(&["80.0", "88.1", "87.6", "88.4", "87.9"]);
    assert_eq!(asked_of(sample::started(1), &trips, Ending::Done), None, "nothing is missing");
    let mut no_fit = sample::started(1);
    no_fit.heater.metrology.fit_u = None;
    assert_eq!(asked_of(no_fit, &trips, Ending::Done), leads(Gap::Fit));
    // Without a trip the calibration is what its top temperature rests on.
    let mut no_calibration = sample::silent(1);
    no_calibration.heater.metrology.calibration_u = None;
    assert_eq!(asked_of(no_calibration, &[HeatUp::NoTrip], Ending::NoTrip), leads(Gap::Calibration));
}

#[test]
fn a_profile_needs_a_display() {
    let mut world = World::given();
    for (heater, heating) in [(20, bare()), (21, whole().1)] {
        world.act(Command::PutHeater {
            heater: id(heater),
            name: HeaterName { name: format!("Heater {heater}"), ..name() },
            heating: heating.into(),
            metrology: Metrology::default(),
        });
    }
    let kit = Kit::of(&world.book);
    let place = Route::Form(Form::HeaterAsks(id(20), Gap::Display));
    assert_eq!(profile_needs(&kit, id(20)), Some((why(Gap::Display), place)));
    assert_eq!(profile_needs(&kit, id(21)), None);
}
