//! A visit as somebody reads it who was sent its file: how it came out, what was left off, and the digest to hold against the paper.

use super::front::{COUNTS, LEFT};
use super::{Recorded, facts, short};
use crate::view::page::{Block, Kind, Role};

const DIGEST_WORDS: &str = "The footer of the printed record must show these eight characters.";

impl Recorded<'_> {
    pub(super) fn checked(&self) -> Block {
        let mut blocks = self.cautions();
        blocks.push(Block::new("visit-result", Kind::Headline(self.headline())));
        blocks.push(facts("visit-digest", vec![("Closed", self.closed()), ("Digest", short(self.digest))]));
        blocks.push(Block::text("digest-words", Role::Soft, DIGEST_WORDS));
        blocks.push(Block::text("digest", Role::Formula, self.digest.to_string()));
        blocks.push(Block::section("left", LEFT, self.left()));
        blocks.push(Block::section("counts", COUNTS, vec![facts("visit-counts", self.counts())]));
        Block::section("visit", self.under_title(), blocks)
    }
}
