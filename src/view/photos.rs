//! Photos of a thing or an act, as blocks of whatever page shows it: thumbnails, each opening large, and the key that takes another.

use super::forms::Known;
use super::page::sign::{Look, Shape};
use super::page::{Action, Block, Button, Kind, Picture, Pictures, Request, Role, Words};
use super::route::{Form, Route};
use crate::book::Id;
use crate::book::acts::About;
use crate::book::entry::Hash;
use crate::book::photos::{PhotoOf, photos_of};
use crate::encoding::picture::{LEAST_SIDE, MOST_FILE_BYTES, MOST_MEGAPIXELS, NoPicture};

/// Heading.
pub const PHOTOS: &str = "Photos";
/// One photo.
pub const PHOTO: &str = "Photo";
/// The key that takes one.
pub const ADD: &str = "Add photo";
/// While one is made ready.
pub const WORKING: &str = "Getting the photo ready";
const GONE: &str = "Erased, or still on another phone";
const CAPTION: &str = "Caption";
const REMOVE: &str = "Remove";
const ERASE: &str = "Erase for good";
const ASK: &str = "Erase this photo for good?";
const ASK_WORDS: &str = "The picture goes from this phone. The record stays complete and shows that a photo was erased. Visit files \
    already sent or waiting to be sent still have it, and loading one brings it back.";
const KEEP: &str = "Keep it";

/// The photos of something, and the key that takes another.
pub fn blocks(known: Known<'_>, about: About) -> Vec<Block> {
    let photos = photos_of(known.book, known.register, known.kit, about);
    let add = Button::new("add-photo", ADD, Action::Do(Request::TakePhoto(about))).icon(Shape::Camera).wide();
    let mut own = Vec::new();
    if !photos.is_empty() {
        let row = photos.iter().map(|photo| Picture { action: Some(opens(photo)), ..picture(known, photo) }).collect();
        own.push(Block::new("photos", Kind::Pictures(Pictures { large: false, pictures: row })));
    }
    own.push(Block::buttons(vec![add]));
    own.extend(photos.iter().flat_map(|photo| sheets(known, photo)));
    vec![Block::section("photos", PHOTOS, own)]
}

/// What a form of this visit shows photos of; none for what has none. A photo of the panel is one of the visit: it is taken before anything
/// of the panel is recorded.
pub fn of_form(form: Form, visit: Option<Id>) -> Option<About> {
    match form {
        Form::Position(Some(id))
        | Form::Heater(Some(id))
        | Form::Visual(id)
        | Form::NotTested(id)
        | Form::Area(Some(id)) => Some(About::Thing(id)),
        Form::Panel(_) => visit.map(About::Thing),
        Form::Item(act) => Some(About::Act(act)),
        _ => None,
    }
}

/// Why a file did not become a photo, and what to do.
pub fn refused(why: &NoPicture) -> String {
    let words = match why {
        NoPicture::FileTooLarge(bytes) => {
            format!("The file has {} MB; at most {} MB are read.", bytes >> 20, MOST_FILE_BYTES >> 20)
        }
        NoPicture::NotAPicture => "That isn't a photo: it has to be a JPEG, PNG or WebP picture.".into(),
        NoPicture::Heif => {
            "The camera saved this photo as HEIC, which can't be used here. Set the camera to JPEG in its settings, \
            then take the photo again."
                .into()
        }
        NoPicture::TooManyPixels(millions) => format!(
            "The picture claims {millions} megapixels; at most {MOST_MEGAPIXELS} are read. Choose a smaller size in the camera."
        ),
        NoPicture::TooSmall => {
            format!("The picture is too small to show anything: at least {LEAST_SIDE} pixels a side.")
        }
        NoPicture::Broken => "The picture is damaged and can't be read. Take it again.".into(),
        NoPicture::Failed(why) => format!("The phone couldn't make the photo ready: {why}. Take it again."),
    };
    format!("No photo recorded. {words}")
}

fn name(photo: &PhotoOf) -> String {
    photo.photo.to_string()[..8].to_string()
}

fn opens(photo: &PhotoOf) -> Action {
    Action::Open(format!("photo-{}", name(photo)).into())
}

fn picture(known: Known<'_>, photo: &PhotoOf) -> Picture {
    let caption = photo.caption.and_then(|caption| known.book.words(caption)).unwrap_or_default().to_string();
    let alt = if caption.is_empty() { PHOTO.to_string() } else { format!("{PHOTO}: {caption}") };
    let gone = if known.book.has_attachment(photo.photo) { "" } else { GONE };
    let key = format!("picture-{}", name(photo)).into();
    Picture { key, photo: photo.photo, gone: gone.into(), alt: alt.into(), caption: caption.into(), action: None }
}

/// The sheet with the picture large, and the one that asks before it is erased.
fn sheets(known: Known<'_>, photo: &PhotoOf) -> Vec<Block> {
    let large = picture(known, photo);
    let (here, caption) = (large.gone.is_empty(), large.caption.clone());
    let ask: Words = format!("erase-{}", name(photo)).into();
    let mut blocks = vec![Block::new(
        "large",
        Kind::Pictures(Pictures { large: true, pictures: vec![Picture { caption: "".into(), ..large }] }),
    )];
    let mut keys = Vec::new();
    if let Some(newest) = photo.entries.first() {
        let to_caption = Button::to("caption", CAPTION, Route::Form(Form::Caption(*newest)));
        keys.push(Button { action: Action::Close.then(to_caption.action.clone()), ..to_caption.icon(Shape::Pen) });
    }
    // Its own entries can be taken back, and it is gone with the last of them.
    let own = |entry: &Hash| known.book.get(*entry).is_some_and(|entry| entry.chain.phone == known.at.phone);
    if !photo.entries.is_empty() && photo.entries.iter().all(own) {
        let undo = photo.entries.iter().map(|entry| Action::Undo(*entry, PHOTO.into()));
        let all = undo.reduce(Action::then).unwrap_or(Action::Close);
        keys.push(Button::new("remove-photo", REMOVE, Action::Close.then(all)).icon(Shape::Undo));
    }
    let erasing = here.then(|| Button::new("erase-photo", ERASE, Action::Open(ask.clone())).look(Look::Danger));
    keys.extend(erasing);
    blocks.push(Block::buttons(keys));
    let title = if caption.is_empty() { PHOTO.into() } else { caption };
    let mut sheets = vec![Block::sheet(format!("photo-{}", name(photo)), title, blocks)];
    if here {
        let erase = Action::Close.then(Action::Do(Request::ErasePhoto(photo.photo)));
        let keys = vec![
            Button::new("keep-photo", KEEP, opens(photo)),
            Button::new("erase-photo-now", ERASE, erase).look(Look::Danger),
        ];
        let blocks = vec![Block::text("ask", Role::Plain, ASK_WORDS), Block::buttons(keys)];
        sheets.push(Block::sheet(ask, ASK, blocks));
    }
    sheets
}
