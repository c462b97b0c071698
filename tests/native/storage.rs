//! What a start may leave for later: stretches of scopes.

use soakbook::storage::Settled;
use std::collections::BTreeSet;

#[test]
fn stretches_are_made_of_neighbours_and_split() {
    let all: BTreeSet<String> = ["a", "b", "c", "d", "e"].map(String::from).into();
    let of =
        |over: &str| Settled::of(all.iter().map(|scope| (scope.clone(), over.contains(scope.as_str())))).to_string();
    assert_eq!(of("abcde"), "a e\n");
    assert_eq!(of("abe"), "a b\ne e\n");
    assert_eq!(of("bd"), "b b\nd d\n");
    assert_eq!(of(""), "");
    let without =
        |text: &str, scope: &str, known: bool| Settled::read(text).without(scope, known.then_some(&all)).to_string();
    assert_eq!(without("a e\n", "c", true), "a b\nd e\n");
    assert_eq!(without("a e\n", "a", true), "b e\n");
    assert_eq!(without("a e\n", "e", true), "a d\n");
    assert_eq!(without("c c\n", "c", true), "");
    assert_eq!(without("a b\nd e\n", "c", true), "a b\nd e\n");
    assert_eq!(without("a b\nd e\n", "e", false), "a b\n");
    // Lines that are no stretch, out of order or overlapping are as if they were not there.
    assert_eq!(Settled::read("b a\nx\n\na c\nb d\ne f").to_string(), "a c\ne f\n");
}
