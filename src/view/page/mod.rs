//! A page as a value: blocks from a small closed vocabulary, with actions as data.
//!
//! `view` builds pages, `ui::page` draws every one of them, [`text`] reads one out for tests and [`html`] lays one out for paper. A page
//! that cannot be said with these blocks is a reason to extend the vocabulary here, not to draw it elsewhere; only Test and the
//! profile run are drawn by hand.

pub mod drawing;
pub mod heat;
pub mod html;
mod intervals;
mod later;
mod make;
mod running;
pub mod sign;
pub mod svg;
pub mod text;

use super::cues::CueKind;
use super::find::Filter;
use super::findings::figure::Shown;
use super::office;
use super::route::Route;
use super::sheet;
use crate::book::Id;
use crate::book::acts::About;
use crate::book::command::Command;
use crate::book::entry::Hash;
use drawing::Drawing;
pub use later::Later;
pub use running::Running;
use sign::{Look, Says, Shape, Tone};
use std::borrow::Cow;
use std::sync::Arc;

/// Words on a page: most stand in the program, some are put together.
pub type Words = Cow<'static, str>;

/// A page.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Page {
    /// Its stable name.
    pub name: &'static str,
    /// Its title.
    pub title: Words,
    /// A line below the title; empty for none.
    pub detail: Words,
    /// The way back.
    pub back: Option<Button>,
    /// Keys beside the title.
    pub menu: Vec<Button>,
    /// The anchor of the section it is come to at; none for its top.
    pub at: Option<String>,
    /// So long that what is out of sight is not laid out.
    pub long: bool,
    /// What is on it.
    pub blocks: Vec<Block>,
    /// Keys that stay in sight at its foot, however long it is.
    pub foot: Vec<Button>,
    /// What stands on every sheet of it on paper.
    pub running: Option<Running>,
}

/// A block with its stable name: by it the block keeps its state when the page changes, and tests find it. Blocks of one name are told
/// apart by their order.
#[derive(Clone, Debug, PartialEq)]
pub struct Block {
    /// The name.
    pub key: Words,
    /// What it is.
    pub kind: Kind,
}

/// The whole vocabulary.
#[derive(Clone, Debug, PartialEq)]
pub enum Kind {
    /// A heading with what belongs under it.
    Section(Section),
    /// The same, folded until it is opened.
    Fold(Fold),
    /// What comes up over the page when [`Action::Open`] names it.
    Sheet(Section),
    /// Ruled lines.
    Rows(Rows),
    /// Keys side by side.
    Buttons(Vec<Button>),
    /// A sentence that matters.
    Notice(Notice),
    /// The line that says it all.
    Headline(Headline),
    /// A sentence.
    Text(Role, Words),
    /// A table: on a phone it scrolls sideways inside itself, on paper its head repeats.
    Table(Arc<Table>),
    /// Names with their values.
    Facts(Vec<(Words, Words)>),
    /// A number that opens to where it comes from.
    Figure(Box<Shown>),
    /// A place with nothing in it yet.
    Empty(Empty),
    /// What was just done, and its undo.
    Undo(Undo),
    /// One of a few answers, taken at once.
    Choice(Choice),
    /// A place for cells to be pasted.
    Paste(Paste),
    /// A drawing.
    Drawing(Box<Drawing>),
    /// A line to type into and filters, to find something in a long list.
    Find(Find),
    /// Photos.
    Pictures(Pictures),
    /// What is shaped only when its turn to be drawn comes.
    Later(Later),
}

/// A heading with its blocks.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Section {
    /// The heading.
    pub title: Words,
    /// In the margin; empty for nothing.
    pub at: Words,
    /// At the end of the line; empty for nothing.
    pub end: Words,
    /// Its address on the page, to come to it at once.
    pub anchor: Option<String>,
    /// What belongs under it.
    pub blocks: Vec<Block>,
}

/// A part of a page that is folded.
#[derive(Clone, Debug, PartialEq)]
pub struct Fold {
    /// The heading.
    pub title: Words,
    /// Whether it is open when it first comes up.
    pub open: bool,
    /// What is in it.
    pub blocks: Vec<Block>,
}

/// Ruled lines.
#[derive(Clone, Debug, PartialEq)]
pub struct Rows {
    /// What they are, for those who do not see them.
    pub label: Words,
    /// The lines.
    pub rows: Vec<Row>,
}

/// A ruled line.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Row {
    /// Its stable name.
    pub key: Words,
    /// First line.
    pub title: Words,
    /// Second line; empty for none.
    pub detail: Words,
    /// Drawing in the margin.
    pub sign: Option<Shape>,
    /// Text in the margin; empty for none.
    pub at: Words,
    /// States at its end.
    pub badges: Vec<Badge>,
    /// What a tap does; nothing on a line that only says something.
    pub action: Option<Action>,
    /// Keys below it.
    pub buttons: Vec<Button>,
    /// A second way at its end, beside what a tap on the line does.
    pub aside: Option<Box<Button>>,
    /// A figure in the place of the two lines.
    pub figure: Option<Box<Shown>>,
}

/// A state in a drawing and a word.
#[derive(Clone, Debug, PartialEq)]
pub struct Badge {
    /// Its stable name; empty for none.
    pub key: &'static str,
    /// The drawing.
    pub shape: Shape,
    /// The colour that agrees with it.
    pub tone: Tone,
    /// The word.
    pub word: Words,
}

/// A key.
#[derive(Clone, Debug, PartialEq)]
pub struct Button {
    /// Its stable name.
    pub key: Words,
    /// Its words.
    pub label: Words,
    /// Its drawing.
    pub icon: Option<Shape>,
    /// Its weight.
    pub look: Look,
    /// As wide as the page.
    pub wide: bool,
    /// A drawing alone; the words are read out.
    pub bare: bool,
    /// Not to be pressed now.
    pub off: bool,
    /// On or off, of a key that switches something.
    pub on: Option<bool>,
    /// What it does.
    pub action: Action,
}

/// A sentence that matters.
#[derive(Clone, Debug, PartialEq)]
pub struct Notice {
    /// Its weight.
    pub says: Says,
    /// The weight in a word.
    pub word: Words,
    /// The sentence.
    pub words: Words,
    /// What can be done about it.
    pub buttons: Vec<Button>,
}

/// The line that says it all.
#[derive(Clone, Debug, PartialEq)]
pub struct Headline {
    /// Its drawing.
    pub shape: Shape,
    /// The line.
    pub words: Words,
    /// A state below it that the line does not say.
    pub badge: Option<Badge>,
}

/// A table. The first cell of a line names it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Table {
    /// What it is, for those who do not see it.
    pub label: Words,
    /// The heads of its columns.
    pub head: Vec<Words>,
    /// Its lines; a missing cell is empty.
    pub rows: Vec<Vec<Words>>,
    /// Whether a screen draws it in a task of its own, after what stands above it.
    pub later: bool,
}

/// What a sentence is on its page.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// A sentence.
    Plain,
    /// One in grey.
    Soft,
    /// A small heading.
    Heading,
    /// A formula.
    Formula,
    /// Where something comes from.
    Source,
}

/// A place with nothing in it yet.
#[derive(Clone, Debug, PartialEq)]
pub struct Empty {
    /// Its drawing.
    pub shape: Shape,
    /// Its title.
    pub title: Words,
    /// What it is for.
    pub words: Words,
    /// The act that begins it.
    pub buttons: Vec<Button>,
}

/// What was just done, and its undo.
#[derive(Clone, Debug, PartialEq)]
pub struct Undo {
    /// What was done.
    pub words: Words,
    /// Its drawing.
    pub shape: Shape,
    /// The word on the key.
    pub label: &'static str,
    /// Takes it back.
    pub action: Action,
}

/// Photos in a row.
#[derive(Clone, Debug, PartialEq)]
pub struct Pictures {
    /// As wide as the page, one below the other.
    pub large: bool,
    /// The photos.
    pub pictures: Vec<Picture>,
}

/// A photo.
#[derive(Clone, Debug, PartialEq)]
pub struct Picture {
    /// Its stable name.
    pub key: Words,
    /// The attachment: its bytes are read when it is drawn.
    pub photo: Hash,
    /// Why its picture is not here; empty where it is. Erased ones keep their place.
    pub gone: Words,
    /// What it is, for those who do not see it.
    pub alt: Words,
    /// Its caption; empty for none.
    pub caption: Words,
    /// What a tap does.
    pub action: Option<Action>,
}

/// One of a few answers, taken at once.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// Its stable name on the page.
    pub id: &'static str,
    /// The question.
    pub label: &'static str,
    /// What is chosen.
    pub setting: Setting,
    /// The answers: value, words.
    pub answers: Vec<(&'static str, &'static str)>,
    /// The value chosen.
    pub value: &'static str,
    /// Side by side.
    pub across: bool,
}

/// A line to type into and filters. What was typed belongs to the screen: the page is made from it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Find {
    /// Which list.
    pub list: List,
    /// What it finds by.
    pub label: &'static str,
    /// The filters.
    pub filters: &'static [Filter],
}

/// A list in which things are found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum List {
    /// The devices.
    Devices,
    /// The positions of the visit.
    Visit,
}

/// A place for cells to be pasted.
#[derive(Clone, Debug, PartialEq)]
pub struct Paste {
    /// Its stable name on the page.
    pub id: &'static str,
    /// What is pasted.
    pub label: &'static str,
    /// How.
    pub help: &'static str,
}

/// What a tap does.
#[derive(Clone, Debug, PartialEq)]
pub enum Action {
    /// Gives a command.
    Give(Box<Command>),
    /// Goes somewhere.
    Go(Route),
    /// Goes where one came from, or here where nothing is behind.
    Back(Route),
    /// Undoes the decision of an entry and offers to put it back; the words say what it was.
    Undo(Hash, Words),
    /// Sets something that this phone remembers.
    Set(Setting, Words),
    /// Opens a sheet of the page.
    Open(Words),
    /// Closes the sheet that is open.
    Close,
    /// Asks the phone for something.
    Do(Request),
    /// The first, and where nothing refused it the second.
    Then(Box<Action>, Box<Action>),
}

impl Action {
    /// Gives a command.
    pub fn give(command: Command) -> Action {
        Action::Give(Box::new(command))
    }

    /// This one, and where nothing refused it the other.
    #[must_use]
    pub fn then(self, other: Action) -> Action {
        Action::Then(Box::new(self), Box::new(other))
    }
}

/// What this phone remembers of its user's choices.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Setting {
    /// Unit of temperatures: "F" or "C".
    Unit,
    /// Light or dark: "phone", "light", "dark".
    Theme,
    /// Sound of the alerts: "on" or "off", like the next two.
    Sound,
    /// Vibration.
    Vibration,
    /// Speech.
    Speech,
    /// The visit on screen; empty for none.
    Visit,
}

/// What the phone is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Request {
    /// To keep the data.
    Persist,
    /// To play a cue as in a test.
    TryCue(CueKind),
    /// To load the demonstration.
    LoadDemo,
    /// To open a visit on this site and show it.
    OpenVisit(Id),
    /// To plan what is due on this site: in the visit that is open there, or in a new one.
    PlanDue(Id),
    /// To check the data.
    Check,
    /// To send the visit by the share sheet.
    ShareVisit,
    /// To save the visit as a file.
    SaveVisit,
    /// To send everything.
    ShareAll,
    /// To put the visit into the outbox, and to send what is in it now.
    Deliver,
    /// To fetch what is new in the office's folder.
    Fetch,
    /// To choose visit files to load.
    Load,
    /// To stop loading them.
    StopLoading,
    /// To record now that the detector of this test restored.
    Restored(Id),
    /// To record in this visit that something comes in at the panel now.
    CameIn(Id),
    /// To record that what came in shows normal again now.
    PanelRestored(Hash),
    /// To put this position next in the walking order of this area that is being made.
    WalkTo(Id, Id),
    /// To take the last one off it.
    WalkBack(Id),
    /// To forget it.
    WalkAfresh(Id),
    /// To take a photo of this.
    TakePhoto(About),
    /// To erase a photo for good.
    ErasePhoto(Hash),
    /// Something about a spreadsheet.
    Sheet(sheet::Ask),
    /// What an office asks for: tables, and a file that is only checked.
    Office(office::Ask),
    /// To print the page.
    Print,
    /// To make a file of the page, with its pictures or without.
    PaperFile(bool),
    /// To send that file by the share sheet.
    SharePaper,
    /// To save it.
    SavePaper,
}

impl Kind {
    /// Whether it has blocks of its own, whose state is kept when it changes.
    pub fn holds(&self) -> bool {
        matches!(self, Kind::Section(_) | Kind::Fold(_) | Kind::Sheet(_) | Kind::Rows(_))
    }
}
