//! Two invented phones that write the golden log: ids, salts and times are fixed, and every value is written by hand.

use soakbook::book::Id;
use soakbook::book::body::{Body, Happened, Precision, Who};
use soakbook::book::entries::{Attachment, Book};
use soakbook::book::entry::{ChainEnd, Entry, Hash, Opens, Scope, Stamp};
use soakbook::book::seal::{Draft, seal};
use soakbook::units::{Decimal, Degree, Difference, Mono, Reading, Wall};

pub(super) fn id(n: u128) -> Id {
    Id::from_u128(0x0190_0000_0000_7000_8000_0000_0000_0000 | n)
}

pub(super) const SITE: u128 = 0x10;
pub(super) const HALL: u128 = 0x11;
pub(super) const YARD: u128 = 0x12;
pub(super) const LOOP: u128 = 0x13;
pub(super) const ZONE: u128 = 0x14;
pub(super) const H1: u128 = 0x15;
pub(super) const H2: u128 = 0x16;
pub(super) const H3: u128 = 0x17;
pub(super) const D1: u128 = 0x18;
pub(super) const D2: u128 = 0x19;
pub(super) const D3: u128 = 0x1a;
pub(super) const D1_NEW: u128 = 0x1b;
pub(super) const IMPORT: u128 = 0x1c;
pub(super) const HEATER: u128 = 0x20;
pub(super) const SPARE: u128 = 0x21;
pub(super) const SET_POINT: u128 = 0x22;
pub(super) const FUNCTIONAL: u128 = 0x23;
pub(super) const ADA: u128 = 0x24;
pub(super) const BEN: u128 = 0x25;
pub(super) const RULES: u128 = 0x26;
pub(super) const RUN: u128 = 0x28;
pub(super) const SHORT_RUN: u128 = 0x29;
pub(super) const VISIT: u128 = 0x30;
pub(super) const TEST: u128 = 0x31;
pub(super) const TEST_2: u128 = 0x32;
pub(super) const TEST_3: u128 = 0x33;
pub(super) const OTHER: u128 = 0x34;
pub(super) const OTHER_2: u128 = 0x35;

/// 2026-03-02 08:00 UTC, by hand: 20,514 days of 86,400 s and 8 h.
pub(super) const MORNING: Wall = Wall(1_772_438_400_000);

/// One of the two phones.
#[derive(Clone, Copy)]
pub(super) struct Phone {
    pub(super) id: Id,
    session: Id,
    mono: Mono,
    offset: i64,
    zone: &'static str,
    pub(super) who: Option<Id>,
    decision: i64,
}

pub(super) struct Writer {
    pub(super) book: Book,
    pub(super) log: Vec<Entry>,
    pub(super) attachments: Vec<Attachment>,
    wall: Wall,
    pub(super) here: Phone,
    there: Phone,
}

impl Writer {
    pub(super) fn new() -> Writer {
        let phone = |n: u128, zone, offset| Phone {
            id: id(n),
            session: id(0x100 + n),
            mono: Mono(60_000),
            offset,
            zone,
            who: None,
            decision: 0,
        };
        Writer {
            book: Book::default(),
            log: Vec::new(),
            attachments: Vec::new(),
            wall: MORNING,
            here: phone(1, "America/Chicago", -360),
            there: phone(2, "", 60),
        }
    }

    pub(super) fn wait(&mut self, ms: i64) {
        self.wall += ms;
        self.here.mono += ms;
        self.there.mono += ms;
    }

    /// The phone sleeps: its monotonic clock stands still.
    pub(super) fn sleep(&mut self, ms: i64) {
        self.wall += ms;
        self.there.mono += ms;
    }

    pub(super) fn restart(&mut self) {
        self.here.session = Id::from_u128(self.here.session.as_u128() + 0x10);
        (self.here.mono, self.here.decision) = (Mono(0), 0);
    }

    /// From here on the other phone writes.
    pub(super) fn swap(&mut self) {
        std::mem::swap(&mut self.here, &mut self.there);
    }

    /// One decision a second later, for this phone's own chains.
    pub(super) fn decide(&mut self, bodies: Vec<(Scope, Body)>) -> Vec<Hash> {
        self.wait(1_000);
        let Phone { id, session, mono, offset, zone, who, decision } = self.here;
        let stamp = Stamp { session, mono, wall: self.wall };
        let opens = Opens { app: "0.1.0".into(), zone: zone.into(), offset, who };
        let drafts = bodies.into_iter().map(|(scope, body)| Draft { scope, body }).collect();
        let sealed = seal(&self.book, id, stamp, decision, &opens, drafts);
        self.here.decision += 1;
        sealed.iter().for_each(|entry| self.book.apply(entry.clone()));
        let hashes = sealed.iter().map(|entry| entry.hash).collect();
        self.log.extend(sealed);
        hashes
    }

    pub(super) fn say(&mut self, scope: Scope, body: Body) -> Hash {
        self.decide(vec![(scope, body)])[0]
    }

    pub(super) fn kit(&mut self, body: Body) -> Hash {
        self.say(Scope::Kit, body)
    }

    pub(super) fn site(&mut self, body: Body) -> Hash {
        self.say(Scope::Site(id(SITE)), body)
    }

    pub(super) fn visit(&mut self, body: Body) -> Hash {
        self.say(Scope::Visit(id(VISIT)), body)
    }

    pub(super) fn here_mono(&self) -> Mono {
        self.here.mono
    }

    /// The last entry.
    pub(super) fn last(&self) -> &Entry {
        self.log.last().expect("an entry")
    }

    /// Where the visit's chains end now.
    pub(super) fn ends(&self) -> Vec<ChainEnd> {
        self.book.ends(Scope::Visit(id(VISIT)))
    }

    fn attach(&mut self, media: &str, bytes: &[u8]) -> Hash {
        let salt = [u8::try_from(self.attachments.len()).expect("few attachments"); 16];
        let attachment = Attachment { salt, media: media.into(), bytes: bytes.to_vec() };
        let hash = attachment.hash();
        self.book.attach(attachment.clone());
        self.attachments.push(attachment);
        hash
    }

    /// Words as an attachment.
    pub(super) fn words(&mut self, text: &str) -> Hash {
        self.attach("text/plain", text.as_bytes())
    }

    /// Bytes that stand for a picture.
    pub(super) fn picture(&mut self) -> Hash {
        self.attach("image/jpeg", &[0xff, 0xd8, 0xff, 0xd9])
    }

    /// Somebody who is only named.
    pub(super) fn named(&mut self, name: &str) -> Who {
        Who::Named(self.words(name))
    }
}

/// A time that a person gave, `min` minutes after the log begins.
pub(super) fn at(min: i64) -> Happened {
    Happened { at: MORNING + min * 60_000, offset: -360, precision: Precision::Minute }
}

pub(super) fn tapped(min: i64) -> Happened {
    Happened { precision: Precision::Second, ..at(min) }
}

pub(super) fn f(value: i64, scale: i8) -> Reading {
    Reading { value, scale, unit: Degree::F }
}

pub(super) fn c(value: i64, scale: i8) -> Reading {
    Reading { value, scale, unit: Degree::C }
}

pub(super) fn df(value: i64, scale: i8) -> Difference {
    Difference { value, scale, unit: Degree::F }
}

pub(super) fn k(value: i64, scale: i8) -> Difference {
    Difference { value, scale, unit: Degree::C }
}

pub(super) fn number(value: i64, scale: i8) -> Decimal {
    Decimal { value, scale }
}

pub(super) fn text(text: &str) -> Option<String> {
    Some(text.into())
}
