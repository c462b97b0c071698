//! The record of a visit and the notice of deficiencies, as they read.

mod closed;
mod counts;
mod draft;
mod file;
mod large;
mod notice;
mod pictures;
mod plots;
mod sign;
mod standing;

use crate::kit::*;
use soakbook::book::Id;
use soakbook::book::body::{Answer, Ending, ItemWhat, Method, NotTested, NotTestedWhy, OtherMethod, Point, What, Who};
use soakbook::book::command::Command;
use soakbook::book::entries::{Attachment, Book};
use soakbook::book::entry::Hash;
use soakbook::book::register::Register;
use soakbook::book::visit::Visit;
use soakbook::findings;
use soakbook::trade::conditions::{ItemClass, Restores};
use soakbook::view::page::Page;
use soakbook::view::page::text::text;
use soakbook::view::record;

fn page(book: &Book, visit: Id, make: record::Make) -> Page {
    let visit = Visit::of(book, visit).expect("a visit");
    make(book, &Register::of(book), &visit, &findings::visit(book, &visit))
}

fn record(world: &World) -> String {
    text(&page(&world.book, id(VISIT), record::record))
}

fn notice(world: &World) -> String {
    text(&page(&world.book, id(VISIT), record::notice))
}

/// The line of a table that begins so.
#[track_caller]
fn line<'a>(page: &'a str, starts: &str) -> &'a str {
    let starts = format!("| {starts}");
    page.lines().map(str::trim).find(|line| line.starts_with(&starts)).unwrap_or_else(|| panic!("{starts}\n{page}"))
}

/// What stands beside a name.
#[track_caller]
fn fact<'a>(page: &'a str, name: &str) -> &'a str {
    let name = format!("{name}: ");
    let found = page.lines().map(str::trim).find_map(|line| line.strip_prefix(&name));
    found.unwrap_or_else(|| panic!("{name}\n{page}"))
}

/// The lines of a section and what is below it.
#[track_caller]
fn section(page: &str, title: &str) -> String {
    let head = |line: &str| line.trim_start().strip_prefix("## ").map(str::to_string);
    let level = |line: &str| line.len() - line.trim_start().len();
    let mut lines = page.lines().skip_while(|line| head(line).is_none_or(|head| head != title));
    let first = lines.next().unwrap_or_else(|| panic!("{title}\n{page}"));
    let below = lines.take_while(|line| line.trim().is_empty() || level(line) > level(first));
    below.collect::<Vec<_>>().join("\n")
}

/// A word or a name, kept as an attachment.
fn attach(world: &mut World, words: &str) -> Hash {
    let attachment = Attachment::text([9; 16], words);
    let hash = attachment.hash();
    world.book.attach(attachment);
    hash
}

/// The kit's world, its people with names.
fn given() -> World {
    World::given()
}

/// A functional test at a position with its three results, done at once.
#[track_caller]
fn functional(world: &mut World, test: u8, position: u8, point: Point, restored: Answer) -> Hash {
    world.wait(60 * SECOND);
    let start = start_with(|start| {
        (start.test, start.position, start.procedure) = (id(test), id(position), Some(id(FUNCTIONAL)));
        start.indication.restores = Restores::Watched;
        start.visual = Some(Vec::new());
    });
    world.act(start);
    world.wait(50 * SECOND);
    let trip = world.act(Command::Mark { of: id(test), what: What::Tripped });
    world.wait(SECOND);
    let item = world.act(Command::SayPanel { trip, point, said: (point == Point::Wrong).then(|| "HD-9".into()) });
    world.act(Command::Mark { of: id(test), what: What::Lowered });
    world.wait(10 * SECOND);
    if world.test_of(test).ended.is_none() {
        world.act(Command::End { test: id(test), how: Ending::Done });
    }
    if restored != Answer::NotChecked {
        world.act(Command::SayRestore { test: id(test), restored, happened: happened(MORNING) });
    }
    item
}

pub(crate) fn passes(world: &mut World, test: u8, position: u8) {
    functional(world, test, position, Point::Right, Answer::Yes);
}

pub(crate) fn not_tested(n: u8, why: NotTestedWhy) -> Command {
    let (position, by, happened) = (id(n), Who::Person(id(PERSON)), happened(MORNING));
    let of = NotTested { position, why, not_allowed_by: None, note: None, photo: None, by, happened };
    Command::NotTested { visit: id(VISIT), not_tested: Box::new(of) }
}

fn warm_air(n: u8, test: u8) -> Command {
    Command::OtherMethod { visit: id(VISIT), other: Box::new(other_method(n, test, Method::WarmAir)) }
}

/// A good result of the detector at a position, which is not named.
pub(crate) fn other_method(n: u8, test: u8, method: Method) -> OtherMethod {
    OtherMethod {
        test: id(test),
        position: id(n),
        detector: None,
        method,
        basis: Some("Owner's procedure 7".into()),
        tripped: Answer::Yes,
        point: Point::Right,
        said: None,
        restored: Answer::Yes,
        by: Who::Person(id(PERSON)),
        note: None,
        happened: happened(MORNING),
    }
}

impl World {
    pub(crate) fn test_of(&self, test: u8) -> soakbook::book::test::Test {
        soakbook::book::test::Test::of(&self.book, id(test)).expect("a test")
    }

    #[track_caller]
    pub(crate) fn close(&mut self) -> &mut World {
        self.leave();
        self.act(Command::CloseVisit { visit: id(VISIT) });
        self
    }

    fn item(&mut self, what: ItemWhat, class: Option<ItemClass>) -> Hash {
        let item = self.visit().items.into_iter().find(|item| item.found.what == what).expect("an item").hash;
        if let Some(class) = class {
            self.act(Command::ClassItem { item, class });
        }
        item
    }
}
