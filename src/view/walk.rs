//! Walking order: the next one that is tapped is next. Nothing is written before the order is saved; until then it is a draft.

use super::before::marking;
use super::forms::Known;
use super::page::sign::{Look, Shape, Tone};
use super::page::{Action, Block, Button, Page, Request, Role, Row};
use super::route::Route;
use super::words;
use crate::book::Id;
use crate::book::command::Command;
use crate::book::register::Register;
use crate::units::Degree;

/// Title of the page and words of the key that leads to it.
pub const WALKING_ORDER: &str = "Walking order";
const HOW: &str = "Tap the positions in the order you walk. Those you leave out stay behind, as they are now.";
const SAVE: &str = "Save order";
const LAST_OFF: &str = "Undo last";
const AFRESH: &str = "Start over";
/// In the place of a number.
const NONE: &str = "–";
const DONE: &str = "In order";

/// The page of an area, with what was tapped so far and where it leads back to.
pub fn page(known: Known<'_>, area: Id, draft: &str, from: Route, unit: Degree) -> Page {
    let register = known.register;
    let tapped = tapped(register, area, draft);
    let name = register.areas.get(&area).and_then(|area| area.now()).map(|area| area.name.clone());
    let row = |(id, position): (Id, &crate::book::register::Position)| {
        let row =
            Row::new(format!("walk-{}", position.tag()), position.tag().to_string(), marking(register, position, unit));
        // Nothing moves under the finger: a line gets its number where it is.
        match tapped.iter().position(|other| *other == id) {
            Some(place) => Row { at: (place + 1).to_string().into(), ..row.badge(Shape::Done, Tone::Good, DONE) },
            None => Row { at: NONE.into(), ..row.action(Action::Do(Request::WalkTo(area, id))) },
        }
    };
    let rows: Vec<Row> = register.positions_of(area).into_iter().map(row).collect();
    let none = tapped.is_empty();
    let save = Action::give(Command::PutInOrder { positions: whole(register, area, &tapped) });
    let save = save.then(Action::Do(Request::WalkAfresh(area))).then(Action::Go(from));
    let keys = vec![
        Button::new("walk-back", LAST_OFF, Action::Do(Request::WalkBack(area))).icon(Shape::Undo).off(none),
        Button::new("walk-save", SAVE, save).look(Look::Primary).icon(Shape::Tick).off(none),
    ];
    let so_far = match tapped.last().and_then(|last| register.positions.get(last)) {
        Some(last) => format!("{} of {} so far, last {}.", tapped.len(), rows.len(), last.tag()),
        None => String::new(),
    };
    let mut blocks = vec![Block::text("how", Role::Plain, HOW)];
    blocks.extend((!so_far.is_empty()).then(|| Block::text("so-far", Role::Soft, so_far)));
    blocks.push(Block::rows(WALKING_ORDER, rows));
    let afresh = Button::new("walk-afresh", AFRESH, Action::Do(Request::WalkAfresh(area)));
    blocks.extend((!none).then(|| Block::buttons(vec![afresh])));
    Page {
        name: "walk",
        title: WALKING_ORDER.into(),
        detail: name.unwrap_or_default().into(),
        back: Some(Button::back(words::BACK, from)),
        blocks,
        foot: keys,
        ..Page::default()
    }
}

/// The draft with this one next; one that is in it already stays where it is.
pub fn next(draft: &str, id: Id) -> String {
    let id = id.to_string();
    match draft.split(',').any(|other| other == id) {
        true => draft.to_string(),
        false if draft.is_empty() => id,
        false => format!("{draft},{id}"),
    }
}

/// The draft without its last one; none where nothing is left.
pub fn back(draft: &str) -> Option<String> {
    draft.rsplit_once(',').map(|(rest, _)| rest.to_string())
}

/// Those tapped that are still in the area.
fn tapped(register: &Register, area: Id, draft: &str) -> Vec<Id> {
    let here = |id: &Id| {
        let position = register.positions.get(id).filter(|position| !position.retired());
        position.and_then(|position| position.place.now()).is_some_and(|place| place.area == area)
    };
    draft.split(',').filter_map(|id| Id::try_parse(id).ok()).filter(here).collect()
}

/// Those tapped, then the others as they stand now.
fn whole(register: &Register, area: Id, tapped: &[Id]) -> Vec<Id> {
    let others = register.positions_of(area).into_iter().map(|(id, _)| id).filter(|id| !tapped.contains(id));
    tapped.iter().copied().chain(others).collect()
}
