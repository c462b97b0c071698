//! Who signs the record, or why nobody does.

use super::row::{Asked, Row, ask};
use super::table::{Rows, Table, whole};
use crate::book::body::{Signature, Signer};
use crate::book::command::Command;
use crate::book::visit::Visit;
use crate::trade::fields::{Kind, LINE, NAME};
use crate::view::record;
use crate::view::route::Form;

/// Those who sign, in the order of their numbers in a form.
pub(in crate::view) const SIGNERS: [Signer; 3] = [Signer::Tester, Signer::Owner, Signer::Authority];

const HOW: Row = ask!("signature.how", Kind::OneOf(&["typed", "declined", "absent"]), "sign-how", "Signature")
    .words(&[
        ("typed", "Sign: type the name", "The name stands for the signature."),
        ("declined", "Declined to sign", ""),
        ("absent", "Not here", ""),
    ])
    .needed();
const SIGNED_BY: Row = ask!("signature.name", Kind::Attached(NAME), "sign-name", "Name").needed_if(signs);
const WHY: Row = ask!("signature.note", Kind::Attached(LINE), "sign-note", "Note").help("Prints. May stay blank.");
const WHEN: Row = ask!("signature.happened", Kind::Happened, "happened", "Time").needed();

fn signs(asked: &Asked<'_>) -> bool {
    asked.is(&HOW, "typed")
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
    parts: &[Rows { title: "", note: "", rows: &[&[HOW, SIGNED_BY, WHY, WHEN]] }],
    make: |made| {
        let (Form::Sign(number), known) = (made.asked.form, made.asked.known) else { return Ok(Vec::new()) };
        let (how, happened) = whole(made.at("signature.how").zip(made.at("signature.happened")))?;
        let visit = whole(Visit::of(known.book, made.visit()))?;
        let signature = Signature {
            signer: signer(number),
            how,
            name: made.at("signature.name"),
            drawn: None,
            note: made.at("signature.note"),
            digest: record::digest(known.book, known.register, &visit),
            covers: Vec::new(),
            happened,
        };
        Ok(vec![Command::Sign { visit: visit.id, signature: Box::new(signature) }])
    },
    ..Table::PLAIN
};
