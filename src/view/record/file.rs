//! The page as a file that leaves the phone: made first, so that its size is seen before it goes anywhere.

use crate::handover::file_size;
use crate::view::handover::Left;
use crate::view::page::sign::{Look, Shape};
use crate::view::page::{Action, Block, Button, Page, Request, Role};
use crate::view::words;

/// The key that makes the file and asks what to do with it, and the heading there.
pub const FILE: &str = "Send or save as a file";
const SHEET: &str = "paper-file";
const MAKING: &str = "Making the file…";
const WHAT: &str = "It opens and prints in any browser. “soakbook record” makes it again from the visit file, with the photos in that file.";
const SHARE: &str = "Send";
const SAVE: &str = "Save";
const PICTURES: &str = "Pictures in the file";

/// A file that is ready to leave.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PaperFile {
    /// Its name.
    pub name: String,
    /// Its size, bytes.
    pub bytes: usize,
    /// Pictures that the page has.
    pub pictures: usize,
    /// Whether they are to be in it.
    pub with: bool,
    /// How many of them are not on this phone.
    pub gone: usize,
    /// What became of the last attempt to send it.
    pub left: Option<Left>,
}

/// The page with its file: the key that makes it, and what can be done with it once it is made.
pub fn with_file(mut page: Page, file: Option<&PaperFile>) -> Page {
    if page.running.is_none() {
        return page;
    }
    let make = Action::Do(Request::PaperFile(true)).then(Action::Open(SHEET.into()));
    page.foot.push(Button::new("paper-file-key", FILE, make).icon(Shape::Share).wide());
    let blocks = file.map_or_else(|| vec![Block::text("paper-file-making", Role::Plain, MAKING)], made);
    page.blocks.push(Block::sheet(SHEET, FILE, blocks));
    page
}

fn made(file: &PaperFile) -> Vec<Block> {
    let PaperFile { name, bytes, pictures, with, gone, left } = file;
    let size = match (*pictures, *with, *gone) {
        (0, ..) => file_size(*bytes),
        (all, true, gone) => {
            let missing = if gone > 0 { format!(", {gone} not on this phone") } else { String::new() };
            format!("{} with {}{missing}", file_size(*bytes), words::plural(all - gone.min(all), "picture", "pictures"))
        }
        (all, false, _) => format!("{} without its {}", file_size(*bytes), words::plural(all, "picture", "pictures")),
    };
    let mut blocks = vec![
        Block::text("paper-file-name", Role::Plain, format!("{name}, {size}.")),
        Block::text("paper-file-what", Role::Soft, WHAT),
    ];
    let mut keys = Vec::new();
    keys.extend((*pictures > 0).then(|| {
        let turn = Button::new("paper-file-pictures", PICTURES, Action::Do(Request::PaperFile(!with)));
        Button { on: Some(*with), ..turn }
    }));
    keys.push(
        Button::new("paper-file-send", SHARE, Action::Do(Request::SharePaper)).look(Look::Primary).icon(Shape::Share),
    );
    keys.push(Button::new("paper-file-save", SAVE, Action::Do(Request::SavePaper)));
    blocks.push(Block::buttons(keys));
    blocks.extend(left.as_ref().map(|left| Block::notice("paper-file-said", left.says(), FILE, left.words())));
    blocks
}
