//! A thing as a line of a sheet: every field goes out as a text and comes back.

use crate::demo::{at, demo_book, give};
use serde_json::{Value, json};
use soakbook::book::Id;
use soakbook::book::command::{Command, PutPosition};
use soakbook::book::entries::Book;
use soakbook::book::kit::Kit;
use soakbook::book::register::Register;
use soakbook::trade::classified::Classification;
use soakbook::trade::detector::{Access, Duty, LimitsFrom, Make, Marking, Place, RateFunction, Reach};
use soakbook::trade::detector_type::{Class, DetectorType, Suffix};
use soakbook::trade::heater::{Basis, Cycle, HeaterName, Heating, Metrology};
use soakbook::units::{Degree, Difference, Length, LengthUnit, Reading, Wall};
use soakbook::view::forms::Known;
use soakbook::view::forms::columns::{Column, columns, command, stands};
use soakbook::view::route::Form;
use std::collections::BTreeSet;

const NOW: Wall = Wall(1_772_355_600_000);
const THING: Id = Id::from_u128(5_000);
const DETECTOR: Id = Id::from_u128(5_001);

fn with<T>(book: &Book, ask: impl FnOnce(Known<'_>) -> T) -> T {
    let (register, kit) = (Register::of(book), Kit::of(book));
    ask(Known { register: &register, kit: &kit, book, visit: None, at: at(NOW) })
}

/// Gives the command, takes the thing out cell by cell, and makes the command anew from the cells alone.
#[track_caller]
fn there_and_back(form: Form, given: Command) -> Vec<(&'static str, String)> {
    let (mut book, _) = demo_book();
    give(&mut book, at(NOW), given.clone()).expect("a thing that the rules take");
    with(&book, |known| {
        let thing = stands(form, known);
        let (mut cells, mut back) = (Vec::new(), json!({}));
        for column in columns(form) {
            let cell = column.get(&thing, known);
            // No cell needs the unit of the screen: those with a number carry theirs.
            column.set(&mut back, &cell, Degree::C, known).unwrap_or_else(|wrong| panic!("{cell}: {wrong:?}"));
            cells.push((column.header(), cell));
        }
        assert_eq!(command(form, THING, DETECTOR, &back), Some(given));
        cells
    })
}

/// A position of the demonstration's site with every field filled in; who agreed to limits is an attachment and has no cell.
fn position(book: &Book) -> PutPosition {
    let register = Register::of(book);
    let (area, circuit) = (*register.areas.keys().next().unwrap(), *register.circuits.keys().next().unwrap());
    let line = |text: &str| Some(text.to_string());
    let difference = |value, scale| Some(Difference { value, scale, unit: Degree::F });
    PutPosition {
        position: THING,
        detector: DETECTOR,
        place: Place {
            tag: "H-77".into(),
            area,
            circuit: Some(circuit),
            point: line("1-014"),
            panel_text: line("MIXER, EAST"),
            location: line("Over mixer \"2\""),
            customer_id: line("A;9"),
        },
        access: Access {
            reach: Some(Reach::ScissorLift),
            height: Some(Length { value: 225, scale: -1, unit: LengthUnit::Ft }),
            hazard: line("Hot pipe"),
            shutdown: true,
        },
        duty: Duty { releases: Some(vec!["Door 7".into(), "Fan 2".into()]), monitored: Some(false), classified: true },
        marking: Marking {
            detector_type: DetectorType::Electronic,
            rating: Some(Reading { value: 1940, scale: -1, unit: Degree::F }),
            minus: difference(-8, 0),
            plus: difference(85, -1),
            limits_from: Some(LimitsFrom::Owner),
            agreed: None,
            class: Some(Class::B),
            suffix: Some(Suffix::S),
            rate_function: Some(RateFunction::Off),
        },
        make: Make {
            model: line("Invented 4"),
            serial: line("00017"),
            date_code: line("2219"),
            installed_on: line("2022-05-17"),
            replace_by: line("2037-05-17"),
        },
    }
}

#[test]
fn every_field_of_a_position_goes_out_and_comes_back() {
    let (book, _) = demo_book();
    let put = position(&book);
    let cells = there_and_back(Form::Position(Some(THING)), Command::PutPosition(Box::new(put)));
    assert!(cells.iter().all(|(_, cell)| !cell.is_empty()), "{cells:?}");
    let cell = |header: &str| cells.iter().find(|(other, _)| *other == header).unwrap().1.as_str();
    // Numbers keep the digits and the unit in which they were given; answers stand in the words of the form.
    assert_eq!((cell("Rating"), cell("Minus tolerance"), cell("Height")), ("194.0 °F", "-8 °F", "22.5 ft"));
    assert_eq!(
        (cell("Reached from"), cell("Releases"), cell("Serial number")),
        ("Scissor lift", "Door 7; Fan 2", "00017")
    );
}

#[test]
fn what_nobody_said_and_what_is_none_stay_apart() {
    let (book, _) = demo_book();
    for releases in [None, Some(Vec::new())] {
        let mut put = position(&book);
        put.duty = Duty { releases: releases.clone(), ..Duty::default() };
        (put.access, put.make) = (Access::default(), Make::default());
        let cells = there_and_back(Form::Position(Some(THING)), Command::PutPosition(Box::new(put)));
        let cell = cells.iter().find(|(header, _)| *header == "Releases").unwrap().1.as_str();
        assert_eq!(cell, if releases.is_none() { "" } else { "none" });
    }
}

fn heater(cycle: Cycle) -> Command {
    let line = |text: &str| Some(text.to_string());
    let celsius = |value, scale| Some(Difference { value, scale, unit: Degree::C });
    Command::PutHeater {
        heater: THING,
        name: HeaterName {
            name: "Heater Z".into(),
            serial: line("Z-1"),
            basis: Basis::DetectorInstructions,
            approval: Some(Classification {
                class: line("Class I"),
                division: line("Division 2"),
                group: line("D"),
                temperature_code: line("T3"),
            }),
        },
        heating: Box::new(Heating {
            settings: [(100, 0, Degree::C), (2485, -1, Degree::F)]
                .map(|(value, scale, unit)| Reading { value, scale, unit })
                .to_vec(),
            overshoot: celsius(3, 0),
            modes: vec!["slow".into(), "fast".into()],
            cycle,
            resolution: celsius(1, -1),
            lamp: line("Red is hot"),
            timeout_ms: Some(4_500_000),
        }),
        metrology: Metrology {
            calibration_u: celsius(12, -1),
            certificate: line("C-1"),
            due: line("2027-01-31"),
            fit_u: celsius(5, -1),
            fit_from: line("Own comparison"),
        },
    }
}

#[test]
fn every_field_of_a_heater_goes_out_and_comes_back() {
    let (heat_up_cold_ms, heat_up_again_ms) = (Some(90_000), Some(61_000));
    let auto = Cycle::Auto {
        heat_up_cold_ms,
        heat_up_again_ms,
        hold_first_ms: Some(300_000),
        hold_again_ms: Some(0),
        off_ms: Some(45_000),
    };
    let cells = there_and_back(Form::Heater(Some(THING)), heater(auto));
    assert!(cells.iter().all(|(_, cell)| !cell.is_empty()), "{cells:?}");
    there_and_back(Form::Heater(Some(THING)), heater(Cycle::Manual { heat_up_cold_ms, heat_up_again_ms }));
}

#[test]
fn the_other_things_of_the_register_come_back_too() {
    let (book, made) = demo_book();
    with(&book, |known| {
        let mut things = vec![(Form::Site(Some(made.site)), made.site)];
        things.extend(known.register.areas.keys().map(|id| (Form::Area(Some(*id)), *id)));
        things.extend(known.register.circuits.keys().map(|id| (Form::Circuit(Some(*id)), *id)));
        for (form, id) in things {
            let thing = stands(form, known);
            // What has no cell, such as that a site is invented, stays as it stands.
            let mut back = thing.clone();
            for column in columns(form) {
                column.set(&mut back, "", Degree::F, known).expect("a blank");
                column.set(&mut back, &column.get(&thing, known), Degree::F, known).expect("a cell");
            }
            assert_eq!(command(form, id, id, &back), command(form, id, id, &thing), "{form:?}");
        }
    });
}

#[test]
fn a_cell_that_is_wrong_says_so_as_the_form_does() {
    let (book, _) = demo_book();
    with(&book, |known| {
        let said = |form, header: &str, cell: &str| {
            let mut thing: Value = json!({});
            let columns = columns(form);
            let column = columns.iter().find(|column| column.header() == header).unwrap();
            column.set(&mut thing, cell, Degree::F, known).expect_err("something is wrong").say
        };
        let position = |header, cell| said(Form::Position(None), header, cell);
        // 30 and 350 °C are 86 and 662 °F by NIST SP 811 B.9.
        assert_eq!(position("Rating", "29 °C"), "Rating: from 86 °F to 662 °F.");
        assert_eq!(position("Type", "Magic"), "Type: choose one.");
        assert_eq!(position("Area", "Nowhere"), "Area: choose one.");
        assert_eq!(position("Installed on", "last May"), "Installed on: not a valid date or time.");
        assert_eq!(position("Height", "high"), "Height: a number with ft or m, e.g. 22 ft.");
        let fit = "Fit error, standard uncertainty";
        assert!(said(Form::Heater(None), fit, "0 °F").contains("zero"));
    });
}

#[test]
fn no_two_columns_of_a_thing_have_one_head() {
    for form in [Form::Site(None), Form::Area(None), Form::Circuit(None), Form::Position(None), Form::Heater(None)] {
        let columns = columns(form);
        let heads: BTreeSet<&str> = columns.iter().map(Column::header).collect();
        let keys: BTreeSet<&str> = columns.iter().map(Column::key).collect();
        assert_eq!((heads.len(), keys.len()), (columns.len(), columns.len()), "{form:?}");
    }
}
