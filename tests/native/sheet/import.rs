//! What the rows do: matched by header, compared with what stands, asked where it could be something else, taken as a whole.

use super::{Desk, NOW, SITE, fates, lines};
use crate::given::{at, give};
use soakbook::book::Id;
use soakbook::book::body::{Area, Body, Circuit};
use soakbook::book::command::{Command, ImportSheet, PutPosition};
use soakbook::book::entries::Book;
use soakbook::book::refusal::{Fault, Refusal};
use soakbook::book::register::Register;
use soakbook::trade::detector::{Access, Duty, Make, Marking, Place};
use soakbook::trade::detector_type::DetectorType;
use soakbook::units::Degree;
use soakbook::view::sheet::kinds::kind;
use soakbook::view::sheet::{Ask, Question, heads};

/// What stands of a position, by its tag.
fn stands(book: &Book, tag: &str) -> (Place, Duty, Marking, Make) {
    let register = Register::of(book);
    let position = register.positions.values().find(|position| position.tag() == tag).expect(tag);
    let detector = &register.detectors[&position.detector().expect("a detector")];
    (
        position.place.now().unwrap().clone(),
        position.duty.now().cloned().unwrap_or_default(),
        detector.marking.now().unwrap().clone(),
        detector.make.now().cloned().unwrap_or_default(),
    )
}

#[test]
fn headers_are_known_by_the_words_of_the_trade() {
    // Common practice, no published source.
    let headers = [
        ("Tag", "tag"),
        ("Device No.", "tag"),
        ("ASSET ID", "customer-id"),
        ("Loc", "location"),
        ("Description", "location"),
        ("Detector Type", "type"),
        ("Set Point (°F)", "rating"),
        ("temp", "rating"),
        ("Temperature Rating", "rating"),
        ("Address", "point"),
        ("Panel point", "point"),
        ("Loop", "circuit"),
        ("Zone #", "circuit"),
        ("Circuit number", "circuit"),
        ("Room", "area"),
        ("Building", "area"),
        ("Date Installed", "installed"),
        ("Date code", "date-code"),
        ("Model No", "model"),
        ("S/N", "serial"),
        ("Serial #", "serial"),
        ("Releases", "releases"),
        ("Access", "reach"),
        ("Height (ft)", "height"),
        ("Customer's ID", "customer-id"),
        ("Replace by", "replace-by"),
    ];
    let fields = heads::fields();
    for (header, key) in headers {
        let found = heads::field(header, &fields).map(|field| fields[field].key());
        assert_eq!(found, Some(key), "{header}");
    }
    for header in ["", "Contractor", "Price"] {
        assert_eq!(heads::field(header, &fields), None, "{header}");
    }
    // No word stands for two fields.
    let words: Vec<&str> = heads::WORDS.iter().flat_map(|(_, words)| words.iter().copied()).collect();
    let unique: std::collections::BTreeSet<&str> = words.iter().copied().collect();
    assert_eq!(unique.len(), words.len());
    assert!(heads::WORDS.iter().all(|(key, _)| fields.iter().any(|field| field.key() == *key)));
}

#[test]
fn a_type_word_that_leaves_the_element_open_is_not_known() {
    // By hand, from what each word says about the element.
    let words = [
        ("Rate-Compensated", Some(DetectorType::RateCompensated)),
        ("RATE COMP", Some(DetectorType::RateCompensated)),
        ("Fixed temp., non-restorable", Some(DetectorType::FixedNonrestorable)),
        ("Fixed temperature (restorable)", Some(DetectorType::FixedRestorable)),
        ("fusible link", Some(DetectorType::FixedNonrestorable)),
        ("rate_of_rise", Some(DetectorType::RateOfRise)),
        ("Rate-of-rise", Some(DetectorType::RateOfRise)),
        ("ROR only", Some(DetectorType::RateOfRise)),
        ("rate of rise", None),
        ("RATE-OF-RISE", None),
        ("Combination, fixed element restorable", Some(DetectorType::CombinationRestorable)),
        ("Electronic heat detector", Some(DetectorType::Electronic)),
        ("Fixed temperature", None),
        ("Fixed/ROR", None),
        ("Combination", None),
        ("135F heat", None),
    ];
    for (word, expected) in words {
        assert_eq!(kind(word), expected, "{word}");
    }
}

#[test]
fn new_rows_bring_areas_and_circuits_along() {
    let mut desk = Desk::new().area("Hall 2");
    let text = "Detectors of the works\n\
        Tag,Room,Loop,Address,Type,Rating,Description,Releases,Height (ft),Lift,Installed,Serial\n\
        H-1,hall 2,L1,1-014,Rate compensated,135F,Over mixer,none,22.5,Scissor lift,5/17/2022,00017\n\
        H-2,Oven,L1,1-015,Fixed temperature,190 °F,,,,,,\n\
        H-3,,,,,,,Door 7; Fan 2,,,,\n";
    let ready = desk.take(text);
    assert_eq!(fates(&ready.plan), lines(&[(3, "new"), (4, "new"), (5, "new")]));
    let register = desk.register();
    let names: Vec<&str> = register.areas_of(SITE).iter().map(|(_, area)| area.name.as_str()).collect();
    assert_eq!(names, ["Area not given", "Hall 2", "Oven"]);
    let circuits = register.circuits_of(SITE);
    // Nobody said so, so the panel is not taken to show the point, and nothing is ruled out.
    let expected = Circuit {
        site: SITE,
        name: "L1".into(),
        shows_point: false,
        addressable: None,
        releasing: None,
        verification: false,
    };
    assert_eq!(circuits.iter().map(|(_, circuit)| (*circuit).clone()).collect::<Vec<_>>(), [expected]);
    let (place, duty, marking, make) = stands(&desk.book, "H-1");
    assert_eq!((place.point.as_deref(), place.location.as_deref()), (Some("1-014"), Some("Over mixer")));
    assert_eq!((duty.releases, make.serial.as_deref()), (Some(Vec::new()), Some("00017")));
    assert_eq!(make.installed_on.as_deref(), Some("2022-05-17"));
    assert_eq!(marking.detector_type, DetectorType::RateCompensated);
    assert_eq!(marking.rating.map(|rating| (rating.value, rating.scale, rating.unit)), Some((135, 0, Degree::F)));
    // "Fixed temperature" says nothing of the element; blank releases are not known.
    let (_, duty, marking, _) = stands(&desk.book, "H-2");
    assert_eq!((duty.releases, marking.detector_type), (None, DetectorType::Unknown));
    assert_eq!(stands(&desk.book, "H-3").1.releases, Some(vec!["Door 7".to_string(), "Fan 2".to_string()]));
    // The same sheet again does nothing.
    let again = desk.ready(text);
    assert_eq!(fates(&again.plan), lines(&[(3, "same"), (4, "same"), (5, "same")]));
}

#[test]
fn a_sheet_counts_as_a_whole_and_is_undone_as_a_whole() {
    let mut desk = Desk::new();
    let before = desk.register();
    desk.take("Tag,Area,Rating\nH-1,A,135 F\nH-2,B,135 F\n");
    let site: Vec<_> = desk.book.entries().filter(|entry| !matches!(entry.body, Body::Site(_))).cloned().collect();
    // Without its commit no row counts.
    let mut part = Desk::new();
    for entry in site.iter().filter(|entry| matches!(entry.body, Body::RowsImported { .. })) {
        part.book.apply(entry.clone());
    }
    assert_eq!(part.register(), before);
    let commit = site.iter().find(|entry| matches!(entry.body, Body::ImportCommitted { .. })).expect("a commit");
    assert_eq!(desk.register().positions.len(), 2);
    give(&mut desk.book, at(NOW + 1), Command::Undo { target: commit.hash }).expect("an undo");
    assert_eq!(desk.register(), before);
}

#[test]
fn a_large_sheet_is_written_in_parts() {
    let mut desk = Desk::new();
    let rows: String = (0..200).map(|row| format!("H-{row},A,Rate compensated,135 F\n")).collect();
    desk.take(&format!("Tag,Area,Type,Rating\n{rows}"));
    let parts = desk.book.entries().filter(|entry| matches!(entry.body, Body::RowsImported { .. })).count();
    assert!(parts > 2, "{parts}");
    assert_eq!(desk.register().positions.len(), 200);
    let decisions: std::collections::BTreeSet<_> = desk
        .book
        .entries()
        .filter(|entry| !matches!(entry.body, Body::Site(_)))
        .map(soakbook::book::entry::Entry::decision)
        .collect();
    assert_eq!(decisions.len(), 1);
}

#[test]
fn changes_are_shown_field_by_field_and_blanks_erase_nothing() {
    let mut desk = Desk::new();
    desk.take("Tag,Area,Loop,Rating,Type,Location,Model\nH-1,A,L1,135 F,rate comp,Here,M1\nH-2,A,L1,135 F,rate comp,There,M1\n");
    let text = "Tag,Area,Loop,Rating,Location,Model\nH-1,A,L2,190 F,,M2\nH-2,A,L1,135 F,There,M1\n";
    let ready = desk.ready(text);
    let changed = "Rating: 135 °F > 190 °F; Circuit: L1 > L2; Model: M1 > M2";
    assert_eq!(fates(&ready.plan), lines(&[(2, changed), (3, "same")]));
    desk.import(&ready).unwrap();
    assert_eq!(stands(&desk.book, "H-1").0.location.as_deref(), Some("Here"));
    // Told so, they do.
    let ready = desk.ready(text);
    let ready = desk.with(ready, &[Ask::Erase(true)]);
    assert_eq!(fates(&ready.plan), lines(&[(2, "Location: Here > "), (3, "same")]));
    desk.import(&ready).unwrap();
    assert_eq!(stands(&desk.book, "H-1").0.location, None);
}

#[test]
fn what_is_not_in_the_sheet_stays() {
    let mut desk = Desk::new();
    desk.take("Tag,Area\nH-1,A\nH-2,A\n");
    let ready = desk.take("Tag,Area,Location\nH-1,A,Here\n");
    assert_eq!(ready.plan.gone, ["H-2"]);
    assert_eq!(desk.register().positions.values().filter(|position| !position.retired()).count(), 2);
}

#[test]
fn a_row_is_matched_by_id_then_point_then_tag() {
    let mut desk = Desk::new();
    desk.take("ID,Tag,Area,Loop,Address,Serial\nA1,H-1,A,L1,7,S1\nA2,H-2,A,L2,7,S2\n,H-3,A,L1,9,S3\n,H-4,B,,,\n");
    let text = "ID,Tag,Area,Loop,Address,Serial\n\
        A1,H-9,A,L1,7,S1\n\
        ,H-22,A,L2,7,S2\n\
        ,H-3,A,L1,9,S33\n\
        ,H-4,B,L1,11,\n\
        ,H-4,C,,,\n\
        A5,H-2,A,,,\n";
    let ready = desk.ready(text);
    let expected = lines(&[
        (2, "Tag: H-1 > H-9"),
        (3, "twice: Several rows are about one position"),
        (4, "Same? point 9: serial number S3 here, S33 in the sheet. Same position?"),
        (5, "twice: Tag H-4 is in several rows"),
        (6, "twice: Tag H-4 is in several rows"),
        (7, "twice: Several rows are about one position"),
    ]);
    assert_eq!(fates(&ready.plan), expected);
    // What is stopped stops only itself.
    desk.import(&ready).unwrap();
    assert_eq!(desk.register().positions.len(), 4);
    let ready = desk.ready("ID,Tag,Area,Loop,Address\n,H-22,A,L2,7\nA5,H-3,A,,\n");
    let expected = [(2, "Same? point 7: tag H-2 here, H-22 in the sheet. Same position?"), (3, "Customer's ID:  > A5")];
    assert_eq!(fates(&ready.plan), lines(&expected));
    let yes = desk.with(ready.clone(), &[Ask::Answer(2, Question::Same, true)]);
    assert_eq!(fates(&yes.plan)[0].1, "Tag: H-2 > H-22");
    let no = desk.with(ready, &[Ask::AnswerAll(Question::Same, false)]);
    assert_eq!(fates(&no.plan)[0].1, "new");
}

#[test]
fn another_serial_number_is_a_correction_or_another_detector() {
    let mut desk = Desk::new();
    desk.take("Tag,Area,Type,Rating,Serial,Location\nH-1,A,rate comp,135 F,S1,Here\nH-2,A,rate comp,135 F,,\n");
    let text = "Tag,Area,Type,Rating,Serial,Location\nH-1,A,rate comp,190 F,S2,There\nH-2,A,electronic,135 F,S9,\n";
    let ready = desk.ready(text);
    let expected = [
        (2, "Correction? serial number S1 here, S2 in the sheet. Correction, or another detector?"),
        (3, "Correction? type Rate-compensated here, Electronic in the sheet. Correction, or another detector?"),
    ];
    assert_eq!(fates(&ready.plan), lines(&expected));
    assert_eq!(ready.plan.count(), 0);
    let other = desk.with(ready.clone(), &[Ask::Answer(2, Question::Correction, false)]);
    assert_eq!(fates(&other.plan)[0].1, "Location: Here > There");
    let correction = desk.with(ready, &[Ask::AnswerAll(Question::Correction, true)]);
    desk.import(&correction).unwrap();
    assert_eq!(stands(&desk.book, "H-1").3.serial.as_deref(), Some("S2"));
    // The detector is the same one: nothing of its history is broken.
    assert!(desk.register().positions.values().all(|position| position.installed.len() == 1));
}

#[test]
fn temperatures_come_with_their_unit_or_are_asked_once() {
    let mut desk = Desk::new();
    let good = ["135F", "135 °F", "135ºF", "135 deg F", "135 degrees F", "135 Fahrenheit", "135.0 f"];
    for text in good {
        let ready = desk.ready(&format!("Tag,Area,Rating\nH-1,A,{text}\n"));
        let rating = ready.plan.positions().next().expect(text).marking.rating.unwrap();
        assert_eq!((rating.text().trim_end_matches(".0"), rating.unit), ("135", Degree::F), "{text}");
    }
    let ready = desk.ready("Tag,Area,Rating\nH-1,A,135\nH-2,A,57 C\nH-3,A,190°\n");
    assert_eq!(ready.plan.no_unit, [2]);
    let expected = [(2, "bad: Rating|“135” has no unit"), (3, "new"), (4, "bad: Rating|“190°” has no unit")];
    assert_eq!(fates(&ready.plan), lines(&expected));
    let ready = desk.with(ready, &[Ask::Unit(2, Degree::F)]);
    assert_eq!((ready.plan.no_unit.len(), ready.plan.count()), (0, 3));
    assert!(ready.plan.rather_celsius.is_empty());
    // The answer is remembered with the column.
    desk.import(&ready).unwrap();
    assert_eq!(desk.ready("Tag,Area,Rating\nH-9,A,135\n").setup.columns[2].unit, Some(Degree::F));
    // The header says it.
    for (header, unit) in [("Set point (°C)", Degree::C), ("Temp F", Degree::F), ("Rating deg C", Degree::C)] {
        assert_eq!(desk.ready(&format!("Tag,Area,{header}\nH-9,A,90\n")).setup.columns[2].unit, Some(unit), "{header}");
    }
    // visit.md A6: 57 to 110 in a °F column warns.
    let warned = desk.ready("Tag,Area,Rating (F)\nA,A,57\nB,A,110\nC,A,111\nD,A,135\n");
    // 57 °F is below what can be stored at all.
    assert_eq!(warned.plan.rather_celsius, [(2, 1)]);
    let celsius = desk.with(warned, &[Ask::Unit(2, Degree::C)]);
    assert_eq!(celsius.plan.positions().next().unwrap().marking.rating.unwrap().unit, Degree::C);
}

#[test]
fn the_decimal_sign_and_the_order_of_dates_are_those_of_the_sheet() {
    let mut desk = Desk::new();
    let ready = desk
        .ready("Tag;Area;Rating;Height (m);Installed\nH-1;A;57,2 °C;6,5;17.05.2022\nH-2;A;57,2 °C;6,5;01.02.2022\n");
    assert!(ready.setup.comma && ready.setup.day_first);
    assert_eq!(fates(&ready.plan), lines(&[(2, "new"), (3, "new")]));
    let put: Vec<_> = ready.plan.positions().cloned().collect();
    assert_eq!(put[1].make.installed_on.as_deref(), Some("2022-02-01"));
    assert_eq!(put[0].marking.rating.map(|rating| (rating.value, rating.scale)), Some((572, -1)));
    assert_eq!(put[0].access.height.map(|height| (height.value, height.scale)), Some((65, -1)));
    let point = desk.with(ready, &[Ask::Comma(false), Ask::DayFirst(false)]);
    let why = "has a comma, and the decimal sign of this sheet is a point";
    let (rating, height) = (format!("Rating|“57,2 °C” {why}"), format!("Height (m)|“6,5” {why}"));
    let expected = [
        (2, format!("bad: {rating}; {height}; Installed|not a valid date or time")),
        (3, format!("bad: {rating}; {height}")),
    ];
    assert_eq!(fates(&point.plan), expected);
    let iso =
        desk.ready("Tag,Area,Installed\nH-1,A,2022-05-17\nH-2,A,2022-05-17 00:00:00\nH-3,A,05-17-22\nH-4,A,2022\n");
    let why = "isn't a date. Write one, e.g. 2022-05-17";
    let bad = |text: &str| format!("bad: Installed|“{text}” {why}");
    assert_eq!(fates(&iso.plan), [(2, "new".into()), (3, "new".into()), (4, bad("05-17-22")), (5, bad("2022"))]);
}

#[test]
fn a_year_of_two_digits_and_a_height_in_feet_and_inches_are_read() {
    let mut desk = Desk::new();
    let text = "Tag;Area;Height;Installed\n\
        H-1;A;22'-6\";5/17/22\n\
        H-2;A;22 ft 6 in;5/17/68\n\
        H-3;A;9′ 4″;5/17/69\n\
        H-4;A;10' 11.5'';5/17/2022\n\
        H-5;A;12';5/17/22 00:00:00\n\
        H-6;A;22'-14\";5/17/022\n";
    let ready = desk.ready(text);
    let put: Vec<_> = ready.plan.positions().collect();
    // POSIX, `strptime` %y: 69 to 99 are of the last century, 00 to 68 of this one.
    let days: Vec<_> = put.iter().map(|put| put.make.installed_on.as_deref().unwrap()).collect();
    assert_eq!(days, ["2022-05-17", "2068-05-17", "1969-05-17", "2022-05-17", "2022-05-17"]);
    // By hand, 12 in to the foot: 6 in are 0.5 ft, 4 in 0.33 ft, 11.5 in 0.96 ft.
    let heights: Vec<_> =
        put.iter().map(|put| put.access.height.map(|height| (height.value, height.scale)).unwrap()).collect();
    assert_eq!(heights, [(225, -1), (225, -1), (933, -2), (1_096, -2), (12, 0)]);
    let wrong = "bad: Height|“22'-14\"” isn't a height. Write one, e.g. 22.5 ft; Installed|“5/17/022” isn't a date. Write one, e.g. 2022-05-17";
    assert_eq!(fates(&ready.plan).last(), Some(&(7, wrong.to_string())));
}

#[test]
fn a_column_of_yes_and_no_says_whether_anything_is_released() {
    // By hand: no is nothing, yes is something without a name, and a number or a blank says neither.
    let mut desk = Desk::new();
    let ready = desk.ready("Tag,Area,Releases\nH-1,A,N\nH-2,A,FALSE\nH-3,A,TRUE\nH-4,A,0\nH-5,A,\n");
    let releases: Vec<_> = ready.plan.positions().map(|put| put.duty.releases.clone()).collect();
    let nothing = || Some(Vec::new());
    assert_eq!(releases, [nothing(), nothing(), Some(vec!["Not named".to_string()]), None, None]);
}

#[test]
fn a_name_of_an_area_that_is_too_long_is_a_bad_row() {
    let mut desk = Desk::new();
    let ready = desk.ready(&format!("Tag,Area,Loop\nH-1,A,\nH-2,{0},\nH-3,A,{0}\n", "x".repeat(81)));
    let expected = lines(&[(2, "new"), (3, "bad: Area|at most 80 characters"), (4, "bad: Loop|at most 80 characters")]);
    assert_eq!(fates(&ready.plan), expected);
}

#[test]
fn degrees_without_a_unit_are_asked_about_once() {
    let mut desk = Desk::new();
    let ready = desk.ready("Tag,Area,Type,Set point\nH-1,A,rate comp,135 deg\nH-2,A,rate comp,135 degrees\n");
    assert_eq!(ready.plan.no_unit, [3]);
}

#[test]
fn a_bad_row_names_line_column_and_reason() {
    let mut desk = Desk::new();
    desk.take("Tag,Area\nH-1,A\n");
    let long = "x".repeat(401);
    let text = format!(
        "Tag,Area,Type,Rating,Location,Lift,Monitored,Height\n\
        H-2,A,rate comp,1350 F,,,,\n\
        H-3,A,rate comp,,,,,\n\
        ,A,,,,,,\n\
        H-5,A,,,{long},,,\n\
        H-6,A,,=A1,,,,\n\
        H-7,A,,#REF!,,,,\n\
        H-8,A,,135F/57C,,,,\n\
        H-9,A,,,,crane,maybe,high\n\
        H-10,A,,,,,,,extra\n\
        H-1,B,,,,,,\n\
        H-12,A,,,,,,\n"
    );
    let ready = desk.ready(&text);
    let expected = lines(&[
        // 30 and 350 °C are 86 and 662 °F by NIST SP 811 B.9.
        (2, "bad: Rating|from 86 °F to 662 °F"),
        (3, "bad: |Rating: fill this in"),
        (4, "bad: |Tag: missing"),
        (5, "bad: Location|at most 400 characters"),
        (6, "bad: Rating|“=A1” is a formula. Save the sheet with values"),
        (7, "bad: Rating|“#REF!” is a formula error"),
        (8, "bad: Rating|“135F/57C” isn't a temperature. Write one, e.g. 135 °F"),
        (9, "bad: Lift|choose one; Monitored|“maybe” isn't yes or no; Height|a number with ft or m, e.g. 22 ft"),
        (10, "bad: |More cells than columns"),
        (11, "bad: |Tag H-1 is taken in A"),
        (12, "new"),
    ]);
    assert_eq!(fates(&ready.plan), expected);
    // The good one can be taken without them, and an area that only a bad one needs is not made.
    assert_eq!((ready.plan.count(), ready.plan.left_out()), (1, 10));
    assert!(ready.plan.areas.is_empty());
    desk.import(&ready).unwrap();
    assert_eq!(desk.register().positions.len(), 2);
}

#[test]
fn a_word_that_nobody_knows_takes_no_type_away() {
    let mut desk = Desk::new();
    desk.take("Tag,Area,Type,Rating\nH-1,A,rate comp,135 F\n");
    let ready =
        desk.ready("Tag,Area,Type,Rating\nH-1,A,Spot heat,135 F\nH-2,A,Spot heat,135 F\nH-3,A,Rate of rise,135 F\n");
    assert_eq!(ready.plan.types[1], ("spot heat".to_string(), DetectorType::Unknown, 2));
    assert_eq!(fates(&ready.plan)[0].1, "same");
    let kinds = |ready: &soakbook::view::sheet::page::Ready| {
        ready.plan.positions().map(|put| put.marking.detector_type).collect::<Vec<_>>()
    };
    // Rate-of-rise with a rating is a combination of a kind that nobody named.
    assert_eq!(kinds(&ready), [DetectorType::Unknown, DetectorType::Unknown]);
    let said = desk.with(ready, &[Ask::Type(1, DetectorType::RateCompensated)]);
    assert_eq!(kinds(&said)[0], DetectorType::RateCompensated);
}

#[test]
fn columns_are_matched_by_hand_and_remembered() {
    let mut desk = Desk::new();
    let text = "Pos,Where it is,Tag\nH-1,A,old\n";
    let ready = desk.ready(text);
    let fields = heads::fields();
    let of = |key: &str| fields.iter().position(|field| field.key() == key);
    let ready = desk.with(ready, &[Ask::Match(0, of("tag")), Ask::Match(1, of("area"))]);
    // A field is taken from one column.
    assert_eq!(ready.setup.columns[2].field, None);
    desk.import(&ready).unwrap();
    let again = desk.ready(text);
    assert_eq!(fates(&again.plan), lines(&[(2, "same")]));
    // Without headers the columns have numbers.
    let bare = desk.ready("H-7,A\nH-8,A\n");
    assert_eq!((bare.setup.head, bare.plan.has_tag), (None, false));
    assert_eq!(bare.setup.columns[0].header, "Column 1");
    let bare = desk.with(bare, &[Ask::Match(0, of("tag")), Ask::Match(1, of("area"))]);
    assert_eq!(bare.plan.count(), 2);
}

fn position(position: u128, tag: &str, area: Id) -> PutPosition {
    let marking = Marking {
        detector_type: DetectorType::Unknown,
        rating: None,
        minus: None,
        plus: None,
        limits_from: None,
        agreed: None,
        class: None,
        suffix: None,
        rate_function: None,
    };
    PutPosition {
        position: Id::from_u128(position),
        detector: Id::from_u128(position + 1),
        place: Place { tag: tag.into(), area, ..Place::default() },
        access: Access::default(),
        duty: Duty::default(),
        marking,
        make: Make::default(),
    }
}

#[test]
fn every_rule_of_the_forms_holds_for_each_row() {
    let mut desk = Desk::new().area("A");
    let area = *desk.register().areas.keys().next().unwrap();
    desk.take("Tag,Area\nH-1,A\n");
    let new = Id::from_u128(900_000);
    let named = |name: &str| Area { site: SITE, name: name.into() };
    let circuit = |site: Id| Circuit {
        site,
        name: "L1".into(),
        shows_point: false,
        addressable: None,
        releasing: None,
        verification: false,
    };
    let sheet = || ImportSheet {
        site: SITE,
        import: Id::from_u128(900_001),
        columns: soakbook::book::body::SheetColumns { columns: Vec::new() },
        areas: Vec::new(),
        circuits: Vec::new(),
    };
    let one = |put: PutPosition| vec![put];
    let field = |key, fault| Refusal::Field(key, fault);
    let bad = [
        (ImportSheet { site: Id::from_u128(77), ..sheet() }, vec![], Refusal::UnknownSite),
        (ImportSheet { areas: vec![(new, named("A"))], ..sheet() }, vec![], field("Area.name", Fault::Taken)),
        (ImportSheet { areas: vec![(new, named(" "))], ..sheet() }, vec![], field("Area.name", Fault::Empty)),
        (
            ImportSheet { circuits: vec![(new, circuit(SITE)), (area, circuit(SITE))], ..sheet() },
            vec![],
            field("Circuit.name", Fault::Taken),
        ),
        (
            ImportSheet { circuits: vec![(new, circuit(Id::from_u128(77)))], ..sheet() },
            vec![],
            field("Circuit.name", Fault::Taken),
        ),
        (sheet(), one(position(800, "H-1", area)), field("Place.tag", Fault::Taken)),
        (sheet(), vec![position(800, "X", area), position(802, "X", area)], field("Place.tag", Fault::Taken)),
        (sheet(), vec![position(800, "X", area), position(800, "Y", area)], Refusal::UnknownPosition),
        (sheet(), one(position(800, "", area)), field("Place.tag", Fault::Empty)),
        (sheet(), one(position(800, "X", new)), field("Place.area", Fault::Choose)),
    ];
    for (sheet, positions, refusal) in bad {
        let before = desk.book.clone();
        let command = Command::ImportSheet { sheet: Box::new(sheet), positions };
        assert_eq!(give(&mut desk.book, at(NOW), command.clone()), Err(refusal), "{command:?}");
        assert_eq!(desk.book, before);
    }
    let mut unrated = position(800, "X", area);
    unrated.marking.detector_type = DetectorType::Electronic;
    let command = Command::ImportSheet { sheet: Box::new(sheet()), positions: vec![unrated] };
    assert_eq!(give(&mut desk.book, at(NOW), command), Err(field("Marking.rating", Fault::Empty)));
    let mut on_circuit = position(800, "X", area);
    on_circuit.place.circuit = Some(new);
    let command = Command::ImportSheet { sheet: Box::new(sheet()), positions: vec![on_circuit] };
    assert_eq!(give(&mut desk.book, at(NOW), command), Err(field("Place.circuit", Fault::Choose)));
    let nobody = soakbook::book::command::At { who: None, ..at(NOW) };
    let command = Command::ImportSheet { sheet: Box::new(sheet()), positions: vec![position(800, "X", area)] };
    assert_eq!(give(&mut desk.book, nobody, command), Err(Refusal::NoPerson));
}

#[test]
#[ignore = "figures, not a test"]
#[allow(clippy::disallowed_methods, reason = "it measures")]
fn figures_of_5_000_rows() {
    let mut text =
        "Tag,Area,Circuit,Panel point,Type,Rating,Location,Releases,Height,Reached from,Model,Serial number\n"
            .to_string();
    for row in 0..5_000 {
        text.push_str(&format!(
            "H-{row},Hall {},L{},1-{row:04},Rate-compensated,135 °F,Over machine {row},none,22 ft,Ladder,M1,{row:05}\n",
            row % 20,
            row % 10
        ));
    }
    let mut desk = Desk::new();
    let clock = std::time::Instant::now();
    let ready = desk.ready(&text);
    let shown = clock.elapsed();
    desk.import(&ready).unwrap();
    let imported = clock.elapsed();
    let bytes: usize = desk.book.entries().map(|entry| entry.text.len()).sum();
    let clock = std::time::Instant::now();
    let register = desk.register();
    let folded = clock.elapsed();
    let clock = std::time::Instant::now();
    let again = desk.ready(&text);
    println!(
        "5,000 rows: shown {shown:?}, imported {:?}, {bytes} bytes in {} entries, register {folded:?} ({} positions), shown again {:?} ({} to do)",
        imported.checked_sub(shown).unwrap_or_default(),
        desk.book.len(),
        register.positions.len(),
        clock.elapsed(),
        again.plan.count()
    );
    let clock = std::time::Instant::now();
    println!("written out {} bytes in {:?}", desk.export().len(), clock.elapsed());
    let clock = std::time::Instant::now();
    let copy = register.clone();
    println!("register copied in {:?}", clock.elapsed());
    let clock = std::time::Instant::now();
    assert_eq!(copy, register);
    println!("register compared in {:?}", clock.elapsed());
}
