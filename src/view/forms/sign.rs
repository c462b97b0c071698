//! Who signs the record, or why nobody does.

use super::Wrong;
use super::row::{Asked, Row, ask};
use super::table::{ABOUT, Rows, Table, whole};
use crate::book::Id;
use crate::book::body::{Signature, Signer};
use crate::book::command::Command;
use crate::book::entry::Hash;
use crate::book::visit::Visit;
use crate::encoding::strokes::{NoSignature, Strokes};
use crate::trade::fields::{Kind, LINE, NAME};
use crate::view::record;
use crate::view::route::Form;

/// Those who sign, in the order of their numbers in a form.
pub(in crate::view) const SIGNERS: [Signer; 3] = [Signer::Tester, Signer::Owner, Signer::Authority];

const HOW: Row = ask!("signature.how", Kind::OneOf(&["drawn", "typed", "declined", "absent"]), "sign-how", "Signature")
    .words(&[
        ("drawn", "Sign on the screen", ""),
        ("typed", "Sign: type the name", "The name stands for the signature."),
        ("declined", "Declined to sign", ""),
        ("absent", "Not here", ""),
    ])
    .needed();
const DRAWN: Row = ask!("signature.drawn", Kind::Drawn, "sign-drawn", "Sign here")
    .help("With a finger. Gloves are fine.")
    .shown(draws)
    .needed();
const SIGNED_BY: Row = ask!("signature.name", Kind::Attached(NAME), "sign-name", "Name").needed_if(signs);
const WHY: Row = ask!("signature.note", Kind::Attached(LINE), "sign-note", "Note").help("Prints. May stay blank.");
const WHEN: Row = ask!("signature.happened", Kind::Happened, "happened", "Time").needed();

fn signs(asked: &Asked<'_>) -> bool {
    asked.is(&HOW, "typed") || draws(asked)
}

fn draws(asked: &Asked<'_>) -> bool {
    asked.is(&HOW, "drawn")
}

/// Why the text of a drawing is no signature, in words.
pub(super) fn no_signature(text: &str) -> Option<&'static str> {
    match Strokes::read(text).unwrap_or_default().fault()? {
        NoSignature::Nothing => Some("Nothing is drawn. Sign in the box."),
        NoSignature::Dot => Some("That is only a dot. Clear it and sign again."),
    }
}

/// What stands on the pad once it takes nothing more.
pub const PAD_FULL: &str = "The box is full. Save what is drawn, or clear it and sign again.";
/// The key that clears the pad.
pub const CLEAR: &str = "Clear";

/// Said in place of saving what was drawn for another record.
const MOVED: &str = "The record changed after this form was opened. Go back, read the record, and sign again.";

/// What is signed: this visit, with this digest.
fn about(visit: Id, digest: Hash) -> String {
    format!("{visit} {digest}")
}

/// Who signs by the number of a form.
pub(in crate::view) fn signer(number: u8) -> Signer {
    SIGNERS.get(usize::from(number)).copied().unwrap_or(Signer::Owner)
}

pub(super) const SIGN: Table = Table {
    title: |asked| match asked.form {
        Form::Sign(number) => record::signer_words(signer(number)).into(),
        _ => String::new(),
    },
    lead: "Signs the record as it is now. What comes later shows as after signing.",
    parts: &[Rows { title: "", note: "", rows: &[&[HOW, DRAWN, SIGNED_BY, WHY, WHEN]] }],
    opens: |typed, form, known, _| {
        typed.put(HOW.name, "drawn");
        // Whoever holds the phone is the tester as a rule; the others are not in its list.
        let tester = matches!(form, Form::Sign(number) if signer(number) == Signer::Tester);
        let person = known
            .at
            .who
            .filter(|_| tester)
            .and_then(|who| known.kit.people_by_name(known.book).into_iter().find(|(id, ..)| *id == who));
        typed.put(SIGNED_BY.name, person.map_or("", |(_, _, name)| name));
    },
    // What somebody drew for one record never comes under another.
    about: |_, known| {
        let digest = |visit: Visit| about(visit.id, record::digest(known.book, known.register, &visit));
        known.shown().map_or_else(String::new, digest)
    },
    make: |made| {
        let (Form::Sign(number), known) = (made.asked.form, made.asked.known) else { return Ok(Vec::new()) };
        let (how, happened) = whole(made.at("signature.how").zip(made.at("signature.happened")))?;
        let visit = whole(Visit::of(known.book, made.visit()))?;
        let digest = record::digest(known.book, known.register, &visit);
        if made.asked.typed.get(ABOUT) != about(visit.id, digest) {
            return Err([("", Wrong { say: MOVED.into(), offer: None })].into());
        }
        let signature = Signature {
            signer: signer(number),
            how,
            name: made.at("signature.name"),
            drawn: made.at("signature.drawn"),
            note: made.at("signature.note"),
            digest,
            covers: Vec::new(),
            happened,
        };
        Ok(vec![Command::Sign { visit: visit.id, signature: Box::new(signature) }])
    },
    ..Table::PLAIN
};
