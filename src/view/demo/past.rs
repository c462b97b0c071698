//! The plan of the past: which visits there were, and what is told of single positions.

/// What a visit of the past did.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Did {
    /// Everything was tested that may be heated.
    Tested,
    /// Everything was looked at.
    Looked,
    /// The areas of [`LAST`] were tested.
    TestedSome,
}

/// The visits of the past: days ago, and what they did.
pub(super) const VISITS: [(i64, Did); 7] = [
    (1_118, Did::Tested),
    (936, Did::Looked),
    (753, Did::Tested),
    (571, Did::Looked),
    (388, Did::Tested),
    (206, Did::Looked),
    (23, Did::TestedSome),
];

/// First letters of the tags that the last visit of the past took up.
pub(super) const LAST: &str = "LKG";

/// What is told of single positions, by number of the visit in [`VISITS`] and tag.
pub(super) const LEFT: (usize, &str) = (6, "G-03");
pub(super) const REPLACED: (usize, &str) = (2, "G-02");
pub(super) const REPAIRED: (usize, &str) = (4, "K-05");
pub(super) const BLOCKED: (usize, &str) = (3, "D-05");
pub(super) const FLAGGED: (usize, &str) = (6, "L-07");
/// It reads a little higher at every visit.
pub(super) const DRIFTING: &str = "L-03";

/// Whether a visit got to a position that it was about. A few were not reached, by no rule that anybody would see.
pub(super) fn reached(number: usize, did: Did, index: usize, tag: &str) -> Option<bool> {
    let told = [LEFT, REPLACED, REPAIRED, BLOCKED, FLAGGED].iter().any(|(_, of)| *of == tag);
    let missed = (index * 7 + number * 13).is_multiple_of(17) && !told;
    (did != Did::TestedSome || tag.starts_with(|letter| LAST.contains(letter))).then_some(!missed)
}
