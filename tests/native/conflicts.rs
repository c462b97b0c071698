//! Two phones edit the same thing; one version is made to hold.

use crate::demo::{at, demo_book, give};
use soakbook::book::Id;
use soakbook::book::command::{At, Command, PutPosition};
use soakbook::book::entries::Book;
use soakbook::book::kit::Kit;
use soakbook::book::register::Register;
use soakbook::trade::detector::Duty;
use soakbook::trade::detector_type::DetectorType;
use soakbook::units::Wall;
use soakbook::view::conflicts::{clashes, settle};
use soakbook::view::forms::Known;
use soakbook::view::route::Form;

const NOW: Wall = Wall(1_772_355_600_000);

fn with<T>(book: &Book, ask: impl FnOnce(Known<'_>) -> T) -> T {
    let (register, kit) = (Register::of(book), Kit::of(book));
    ask(Known { register: &register, kit: &kit, book, visit: None, at: at(NOW) })
}

/// The same position, given another tag and its detector another type by each of two phones that do not know of each other.
fn parted() -> (Book, Id) {
    let (book, _) = demo_book();
    let register = Register::of(&book);
    let (id, position) = register.positions.iter().find(|(_, position)| position.tag() == "J-01").unwrap();
    let hangs = position.detector().unwrap();
    let edited = |phone: u128, tag: &str, detector_type: DetectorType| {
        let mut put = PutPosition {
            position: *id,
            detector: hangs,
            place: position.place.now().unwrap().clone(),
            access: position.access.now().unwrap().clone(),
            duty: position.duty.now().unwrap().clone(),
            marking: register.detectors[&hangs].marking.now().unwrap().clone(),
            make: register.detectors[&hangs].make.now().cloned().unwrap_or_default(),
        };
        (put.place.tag, put.marking.detector_type) = (tag.to_string(), detector_type);
        let mut theirs = book.clone();
        let at = At { phone: Id::from_u128(phone), ..at(NOW + 1) };
        give(&mut theirs, at, Command::PutPosition(Box::new(put))).unwrap();
        theirs
    };
    let mut merged = edited(11, "J-11", DetectorType::FixedRestorable);
    merged.merge(edited(12, "J-12", DetectorType::Electronic));
    (merged, *id)
}

#[test]
fn every_group_that_parted_is_shown_with_each_version() {
    let (book, id) = parted();
    let shown = with(&book, |known| clashes(Form::Position(Some(id)), known));
    let fields: Vec<&str> = shown.iter().map(|clash| clash.fields).collect();
    assert_eq!(fields, ["Tag and place", "Type, rating, tolerance"]);
    assert!(shown.iter().all(|clash| clash.versions.len() == 2 && clash.versions[0] != clash.versions[1]));
}

#[test]
fn what_is_off_and_what_lists_nothing_is_said_and_never_called_not_entered() {
    let (book, _) = demo_book();
    let register = Register::of(&book);
    let (id, position) = register.positions.iter().find(|(_, position)| position.tag() == "J-01").unwrap();
    let edited = |phone: u128, classified: bool, releases: Option<Vec<String>>| {
        let hangs = position.detector().unwrap();
        let put = PutPosition {
            position: *id,
            detector: hangs,
            place: position.place.now().unwrap().clone(),
            access: position.access.now().unwrap().clone(),
            duty: Duty { classified, releases, ..position.duty.now().unwrap().clone() },
            marking: register.detectors[&hangs].marking.now().unwrap().clone(),
            make: register.detectors[&hangs].make.now().cloned().unwrap_or_default(),
        };
        let mut theirs = book.clone();
        let at = At { phone: Id::from_u128(phone), ..at(NOW + 1) };
        give(&mut theirs, at, Command::PutPosition(Box::new(put))).unwrap();
        theirs
    };
    let mut merged = edited(11, true, Some(Vec::new()));
    merged.merge(edited(12, false, None));
    let shown = with(&merged, |known| clashes(Form::Position(Some(*id)), known));
    let versions: Vec<&String> = shown.iter().flat_map(|clash| &clash.versions).collect();
    assert!(versions.iter().any(|said| said.contains(": none")), "{versions:?}");
    assert_eq!(versions.iter().filter(|said| said.contains("not entered")).count(), 1, "{versions:?}");
    assert!(versions.iter().all(|said| !said.ends_with(": ") && !said.contains(":  ")), "{versions:?}");
}

#[test]
fn the_picked_versions_hold_and_nothing_is_left_in_conflict() {
    let (book, id) = parted();
    let thing = Form::Position(Some(id));
    for picks in [[0, 1], [1, 0]] {
        let shown = with(&book, |known| clashes(thing, known));
        let command = with(&book, |known| settle(thing, &picks, known)).unwrap();
        let mut settled = book.clone();
        give(&mut settled, at(NOW + 2), command).unwrap();
        assert_eq!(with(&settled, |known| clashes(thing, known)), []);
        let register = Register::of(&settled);
        let position = &register.positions[&id];
        // What differs is named, what does not is left out.
        assert_eq!(shown[0].versions[picks[0]], format!("Tag: {}", position.tag()));
        let detector_type = register.marking_of(position).unwrap().detector_type;
        assert_eq!(shown[1].versions[picks[1]], format!("Type: {}", detector_type.words()));
    }
}

#[test]
fn nothing_is_settled_while_a_group_has_no_pick() {
    let (book, id) = parted();
    let thing = Form::Position(Some(id));
    assert_eq!(with(&book, |known| settle(thing, &[0], known)), None);
}
