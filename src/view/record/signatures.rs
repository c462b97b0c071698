//! Who signed the record, and the lines to sign on paper for those who did not.

use super::{Recorded, joined, short, signer_words, table, when};
use crate::book::body::{Body, Signature, Signed, Signer};
use crate::book::entry::Scope;
use crate::book::visit::State;
use crate::encoding::strokes::Strokes;
use crate::view::forms::sign::SIGNERS;
use crate::view::page::drawing::{Drawing, Drawn};
use crate::view::page::sign::{Says, Shape};
use crate::view::page::{Block, Button, Kind, Role};
use crate::view::route::{Form, Route};

const SIGN_WORDS: &str = "Sign here on paper or on the phone. A signature is for the record with the digest in the footer. If someone declines or is not there, write that instead.";
const LOST: &str = "; the drawing was erased or can't be read";

impl Recorded<'_> {
    /// Who signed; lines to sign on paper for those who did not.
    pub(super) fn signatures(&self) -> Vec<Block> {
        let standing = self.book.scope(Scope::Visit(self.visit.id)).filter(|entry| !self.book.is_void(entry));
        let signed: Vec<_> = standing
            .filter_map(|entry| match &entry.body {
                Body::Signature(of) => Some(of),
                _ => None,
            })
            .collect();
        let row = |signer: Signer| {
            let last = signed.iter().rfind(|of| of.signer == signer);
            last.map_or_else(
                || vec![signer_words(signer).to_string(), String::new(), String::new(), String::new()],
                |of| {
                    let how = match of.how {
                        Signed::Drawn => "drawn on the phone",
                        Signed::Typed => "typed",
                        Signed::Declined => "declined",
                        Signed::Absent => "absent",
                    };
                    let same = if of.digest == self.digest { "" } else { "; the record has changed since" };
                    let note = of.note.map_or_else(String::new, |note| self.said(note));
                    let lost = if of.drawn.is_some() && self.strokes(of).is_none() { LOST } else { "" };
                    let words = joined([format!("{how}, digest {}{same}{lost}", short(of.digest)), note]);
                    let signer = of.name.map_or_else(|| "–".to_string(), |name| self.said(name));
                    vec![signer_words(of.signer).to_string(), signer, words, when(of.happened)]
                },
            )
        };
        let rows = SIGNERS.map(row).to_vec();
        let mut blocks = table("to-sign", &["Who", "Name", "Signature", "Date"], rows, "");
        blocks.extend(SIGNERS.iter().filter_map(|signer| self.drawn(signed.iter().rfind(|of| of.signer == *signer)?)));
        blocks.push(Block::text("sign-words", Role::Soft, SIGN_WORDS));
        if self.state() == State::Closed {
            let key = |(at, of): (u8, Signer)| {
                Button::to(format!("sign-{at}"), signer_words(of), Route::Form(Form::Sign(at))).icon(Shape::Pen).wide()
            };
            blocks.push(Block::buttons((0..).zip(SIGNERS).map(key).collect()));
        } else {
            blocks.push(Block::notice("not-yet", Says::Info, "Draft", "Don't sign a draft."));
        }
        blocks
    }

    /// What somebody drew, where it is here and can be read.
    fn strokes(&self, of: &Signature) -> Option<Strokes> {
        Strokes::read(self.book.words(of.drawn?)?)
    }

    fn drawn(&self, of: &Signature) -> Option<Block> {
        let who =
            joined([signer_words(of.signer).to_string(), of.name.map_or_else(String::new, |name| self.said(name))]);
        let drawn = Drawn { label: format!("Signature: {who}"), strokes: self.strokes(of)? };
        Some(Block::new("signature", Kind::Drawing(Box::new(Drawing::Signature(drawn)))))
    }
}
