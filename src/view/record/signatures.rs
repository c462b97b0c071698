//! Who signed the record, and the lines to sign on paper for those who did not.

use super::closing::by_time;
use super::{Recorded, joined, short, signer_words, table, when};
use crate::book::body::{Body, Signature, Signed, Signer};
use crate::book::entry::{Entry, Scope};
use crate::book::visit::State;
use crate::encoding::strokes::Strokes;
use crate::view::forms::sign::SIGNERS;
use crate::view::page::drawing::{Drawing, Drawn};
use crate::view::page::sign::{Says, Shape};
use crate::view::page::{Block, Button, Kind, Role};
use crate::view::route::{Form, Route};

const SIGN_WORDS: &str = "Sign here on paper or on the phone. A signature is for the record with the digest in the footer. If someone declines or is not there, write that instead.";
const LOST: &str = "; the drawing was erased or can't be read";
const NO_DRAWING: &str = "; the drawing is not in this file";

impl<'a> Recorded<'a> {
    /// Who signed; lines to sign on paper for those who did not.
    pub(super) fn signatures(&self) -> Vec<Block> {
        let standing = self.book.scope(Scope::Visit(self.visit.id)).filter(|entry| !self.book.is_void(entry));
        let signature = |entry: &'a Entry| match &entry.body {
            Body::Signature(of) => Some(&**of),
            _ => None,
        };
        let signed: Vec<&Signature> = by_time(standing.collect()).into_iter().filter_map(signature).collect();
        let (mut rows, mut drawings) = (Vec::new(), Vec::new());
        for signer in SIGNERS {
            // Of several the newest counts.
            let last = signed.iter().rfind(|of| of.signer == signer);
            rows.extend(last.map(|of| self.signed(of)));
            drawings.extend(last.and_then(|of| self.drawn(of)));
            // One for an earlier record leaves the line for this one.
            if last.is_none_or(|of| self.is_old(of)) {
                rows.push(vec![signer_words(signer).to_string(), String::new(), String::new(), String::new()]);
            }
        }
        let mut blocks = table("to-sign", &["Who", "Name", "Signature", "Date"], rows, "");
        blocks.extend(drawings);
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

    fn is_old(&self, of: &Signature) -> bool {
        of.digest != self.digest
    }

    /// The row of somebody who signed.
    fn signed(&self, of: &Signature) -> Vec<String> {
        let how = match of.how {
            Signed::Drawn => "drawn on the phone",
            Signed::Typed => "typed",
            Signed::Declined => "declined",
            Signed::Absent => "absent",
        };
        let same = if self.is_old(of) { "; the record has changed since" } else { "" };
        let gone = match (of.how, of.drawn) {
            (Signed::Drawn, None) => NO_DRAWING,
            (Signed::Drawn, Some(_)) if self.strokes(of).is_none() => LOST,
            _ => "",
        };
        let note = of.note.map_or_else(String::new, |note| self.said(note));
        let words = joined([format!("{how}, digest {}{same}{gone}", short(of.digest)), note]);
        let name = of.name.map_or_else(|| "–".to_string(), |name| self.said(name));
        vec![signer_words(of.signer).to_string(), name, words, when(of.happened)]
    }

    /// What somebody drew to sign, where it is here and can be read.
    fn strokes(&self, of: &Signature) -> Option<Strokes> {
        let drawn = of.drawn.filter(|_| of.how == Signed::Drawn)?;
        Strokes::read(self.book.words(drawn)?)
    }

    fn drawn(&self, of: &Signature) -> Option<Block> {
        let name = of.name.map_or_else(String::new, |name| self.said(name));
        let old = match self.is_old(of) {
            true => format!("for digest {}; the record has changed since", short(of.digest)),
            false => String::new(),
        };
        let whose = joined([signer_words(of.signer).to_string(), name, old]);
        let drawn = Drawn { label: format!("Signature: {whose}"), strokes: self.strokes(of)? };
        Some(Block::new("signature", Kind::Drawing(Box::new(Drawing::Signature(drawn)))))
    }
}
