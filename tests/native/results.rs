//! The table for a spreadsheet that leaves the phone: what it says of positions and tests, and that the command says the same.

use crate::kit::*;
use soakbook::book::Id;
use soakbook::book::body::{Answer, Ending, Method, NotTested, NotTestedWhy, OtherMethod, Point, What, Who, Work};
use soakbook::book::command::Command;
use soakbook::book::entries::{Attachment, Book};
use soakbook::desk::evaluate::{Format, Wanted, evaluate};
use soakbook::encoding::csv;
use soakbook::handover::{InUnit, Made, NothingToHandOver, RESULTS, Select, bundle_of, results_name, results_sheet};
use soakbook::trade::conditions::Restores;
use soakbook::trade::detector::{Make, Marking};
use soakbook::units::{Degree, Reading};
use std::collections::HashMap;
use std::io;

type Line = HashMap<String, String>;

const THIRD: u8 = 30;

/// A passed test with readings at the first position, another method at the second, a reason at the third.
fn world() -> World {
    let mut world = World::given();
    let rating = Some(Reading { value: 200, scale: 0, unit: Degree::F });
    world.act(put_position(THIRD, "=1+1", Marking { rating, ..marking() }, no_duty()));
    functional(&mut world, TEST, POSITION);
    world.wait(SECOND);
    let name = Attachment::text([9; 16], "P. Partner");
    let by = Who::Named(name.hash());
    world.book.attach(name);
    let warm_air = OtherMethod {
        test: id(OTHER_TEST),
        position: id(OTHER_POSITION),
        detector: None,
        method: Method::WarmAir,
        basis: Some("Owner's procedure 7".into()),
        tripped: Answer::Yes,
        point: Point::Wrong,
        said: Some("+HD-9".into()),
        restored: Answer::Yes,
        by,
        note: None,
        happened: happened(MORNING),
    };
    world.act(Command::OtherMethod { visit: id(VISIT), other: Box::new(warm_air) });
    let not_tested = NotTested {
        position: id(THIRD),
        why: NotTestedWhy::Obstructed,
        not_allowed_by: None,
        note: None,
        photo: None,
        by,
        happened: happened(MORNING),
    };
    world.act(Command::NotTested { visit: id(VISIT), not_tested: Box::new(not_tested) });
    world
}

fn functional(world: &mut World, test: u8, position: u8) {
    world.act(start_with(|start| {
        (start.test, start.position, start.procedure) = (id(test), id(position), Some(id(FUNCTIONAL)));
        start.indication.restores = Restores::Watched;
        start.visual = Some(Vec::new());
    }));
    world.wait(50 * SECOND);
    let trip = world.act(Command::Mark { of: id(test), what: What::Tripped });
    world.act(Command::SayPanel { trip, point: Point::Right, said: None });
    world.act(Command::Mark { of: id(test), what: What::Lowered });
    world.wait(10 * SECOND);
    if world.test_of(test).ended.is_none() {
        world.act(Command::End { test: id(test), how: Ending::Done });
    }
    world.act(Command::SayRestore { test: id(test), restored: Answer::Yes, happened: happened(MORNING) });
}

fn sheet(book: &Book, unit: InUnit) -> String {
    results_sheet(book, &[id(VISIT)], unit).expect("a visit").text
}

fn lines(text: &str) -> Vec<Line> {
    let rows = csv::read(text.strip_prefix(csv::MARK).expect("a mark")).expect("RFC 4180");
    assert_eq!(rows[0].fields, RESULTS);
    let named = |fields: &[String]| rows[0].fields.iter().cloned().zip(fields.iter().cloned()).collect();
    rows[1..].iter().map(|row| named(&row.fields)).collect()
}

fn position(lines: &[Line], of: u8) -> &Line {
    let of = id(of).to_string();
    lines.iter().find(|line| line["row"] == "position" && line["position"] == of).expect("a position")
}

#[test]
fn each_column_is_described() {
    let described: Vec<&str> = include_str!("../../src/handover/RESULTS.md")
        .lines()
        .filter_map(|line| line.strip_prefix("| `")?.split_once('`'))
        .map(|(name, _)| name)
        .collect();
    assert_eq!(described, RESULTS);
}

#[test]
fn a_position_has_a_line_and_a_test_has_one() {
    let world = world();
    let lines = lines(&sheet(&world.book, InUnit::C));
    let kinds: Vec<&str> = lines.iter().map(|line| line["row"].as_str()).collect();
    assert_eq!(kinds, ["position", "position", "position", "test"]);
    let (tested, other, not) = (position(&lines, POSITION), position(&lines, OTHER_POSITION), position(&lines, THIRD));
    let said = |line: &Line| ["outcome", "reason", "method", "tripped", "at_panel"].map(|name| line[name].clone());
    assert_eq!(said(tested), ["passed", "", "", "yes", "right"]);
    assert_eq!(said(other), ["wrong_point", "", "warm_air", "yes", "wrong"]);
    assert_eq!(said(not), ["not_tested", "obstructed", "", "", ""]);
    // The line of a position has what that of its test has.
    let test = &lines[3];
    for name in RESULTS.iter().filter(|name| **name != "row") {
        assert_eq!(tested[*name], test[*name], "{name}");
    }
    // The technician's name is not in the kit's world, as if it was erased.
    assert_eq!([tested, other, not].map(|line| line["person"].as_str()), ["", "P. Partner", "P. Partner"]);
}

#[test]
fn times_are_iso_dates_with_the_offset_of_the_phone() {
    let lines = lines(&sheet(&world().book, InUnit::C));
    // MORNING is 08:00 UTC; the phone's offset is an hour.
    assert_eq!(position(&lines, THIRD)["started"], "2026-03-02T09:00:00+01:00");
    for line in &lines {
        let at = chrono::DateTime::parse_from_rfc3339(&line["started"]).expect("RFC 3339");
        assert_eq!(at.offset().local_minus_utc(), 3_600);
    }
}

#[test]
fn a_rating_of_200_f_is_200_f() {
    // In °C it is carried as 93.333.
    for (unit, shown, rating) in [(InUnit::F, "°F", 200.0), (InUnit::AsEntered, "°F", 200.0), (InUnit::C, "°C", 93.333)]
    {
        let lines = lines(&sheet(&world().book, unit));
        let line = position(&lines, THIRD);
        assert_eq!((line["unit"].as_str(), line["rating"].parse()), (shown, Ok(rating)));
    }
}

#[test]
fn no_cell_is_a_formula() {
    let lines = lines(&sheet(&world().book, InUnit::F));
    assert_eq!(position(&lines, THIRD)["tag"], "'=1+1");
    assert_eq!(position(&lines, OTHER_POSITION)["panel_said"], "'+HD-9");
    for (name, cell) in lines.iter().flatten() {
        let formula = cell.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']);
        assert!(!formula || cell.parse::<f64>().is_ok(), "{name}: {cell}");
    }
}

#[test]
fn the_phone_and_the_command_write_the_same_text() {
    let world = world();
    let made = Made { at: MORNING, app: "0.1.0".into(), phone: id(100) };
    let bundle = bundle_of(&world.book, Select::Visit(id(VISIT)), &made).expect("a bundle").text;
    for unit in [InUnit::C, InUnit::F] {
        let mut out = Vec::new();
        let wanted = Wanted { format: Format::Results, each: true, unit };
        evaluate([("a".to_string(), Ok(bundle.clone()))], wanted, &mut out, &mut io::sink()).expect("a vector");
        let written = String::from_utf8(out).expect("UTF-8");
        assert_eq!(sheet(&world.book, unit), csv::MARK.to_string() + &written);
    }
}

#[test]
fn work_after_a_test_leaves_a_position_without_its_numbers() {
    let mut world = world();
    world.act(Command::Repair {
        visit: id(VISIT),
        position: id(POSITION),
        work: Work::Wiring,
        item: None,
        note: None,
        happened: happened(world.phone.wall),
    });
    let lines = lines(&sheet(&world.book, InUnit::C));
    let line = position(&lines, POSITION);
    assert_eq!((line["outcome"].as_str(), line["tripped"].as_str()), ("repaired_not_tested", ""));
    assert_eq!((line["test"].as_str(), line["operating_temperature"].as_str()), ("", ""));
    assert!(
        lines.iter().any(|line| line["row"] == "test" && line["outcome"] == "passed"),
        "the test keeps its own line"
    );
}

fn other_method(test: u8, of: u8, method: Method) -> Command {
    let other = OtherMethod { detector: Some(detector(of)), ..crate::record::other_method(of, test, method) };
    Command::OtherMethod { visit: id(VISIT), other: Box::new(other) }
}

/// Another detector with another rating hangs there now.
fn replaced(world: &mut World, of: u8, visit: Option<Id>) {
    let Command::Replace(mut new) = replace(of) else { unreachable!() };
    (new.visit, new.new) = (visit, Some((id(of + 100), Marking { rating: Some(c(57)), ..marking() }, Make::default())));
    world.wait(SECOND).act(Command::Replace(new));
}

#[test]
fn a_result_keeps_the_detector_that_it_is_of() {
    let mut world = World::given();
    world.act(other_method(TEST, POSITION, Method::WarmAir));
    replaced(&mut world, POSITION, None);
    let lines = lines(&sheet(&world.book, InUnit::C));
    let line = position(&lines, POSITION);
    let said = ["outcome", "method", "tripped", "detector", "rating"].map(|name| line[name].clone());
    assert_eq!(said, ["passed", "warm_air", "yes", &detector(POSITION).to_string(), "88.0"]);
}

#[test]
fn a_replaced_detector_takes_its_results_with_it() {
    let mut world = World::given();
    world.act(other_method(TEST, POSITION, Method::WarmAir));
    replaced(&mut world, POSITION, Some(id(VISIT)));
    let lines = lines(&sheet(&world.book, InUnit::C));
    let line = position(&lines, POSITION);
    let said = ["outcome", "method", "tripped", "at_panel", "restored"].map(|name| line[name].as_str());
    assert_eq!(said, ["replaced_not_tested", "", "", "", ""]);
    assert_eq!((&line["detector"], line["rating"].as_str()), (&id(POSITION + 100).to_string(), "57.0"));
}

#[test]
fn the_rating_beside_limits_is_the_one_they_come_from() {
    let mut world = world();
    let right = Marking { rating: Some(c(91)), ..marking() };
    let why = Attachment::text([9; 16], "Misread").hash();
    world.act(Command::CorrectMarking { test: id(TEST), marking: right.into(), why });
    let lines = lines(&sheet(&world.book, InUnit::C));
    let test = lines.iter().find(|line| line["row"] == "test").expect("a test");
    for line in [position(&lines, POSITION), test] {
        // By hand: 91 °C, 4 K more and less.
        let said = ["rating", "lower_limit", "upper_limit", "judgements"].map(|name| line[name].as_str());
        assert_eq!(said, ["91.0", "87.0", "95.0", "2"]);
    }
}

#[test]
fn an_electrical_check_is_no_passed_test() {
    let mut world = World::given();
    world.act(other_method(TEST, POSITION, Method::Electrical));
    let table = lines(&sheet(&world.book, InUnit::C));
    let said = ["outcome", "method", "tripped"].map(|name| position(&table, POSITION)[name].as_str());
    assert_eq!(said, ["electrical_only", "electrical", "yes"]);
    let mut other = other_method(TEST, POSITION, Method::Electrical);
    if let Command::OtherMethod { other, .. } = &mut other {
        (other.tripped, other.point, other.restored) = (Answer::No, Point::NotThere, Answer::NotChecked);
    }
    let mut world = World::given();
    world.act(other);
    assert_eq!(position(&lines(&sheet(&world.book, InUnit::C)), POSITION)["outcome"], "no_alarm");
}

#[test]
fn a_file_has_site_date_phone_and_count_in_its_name() {
    let phone = Id::from_u128(0xab_cdef);
    assert_eq!(
        results_name("Mill No. 3 (invented)", MORNING, phone, 60, 12),
        "soakbook-mill-no-3-invented-2026-03-02-abcdef-12-results.csv"
    );
}

#[test]
fn without_a_visit_there_is_no_table() {
    let unknown = results_sheet(&world().book, &[id(99)], InUnit::C);
    assert_eq!(unknown, Err(NothingToHandOver::Visit));
    assert_eq!(results_sheet(&world().book, &[], InUnit::C), Err(NothingToHandOver::Visit));
}
