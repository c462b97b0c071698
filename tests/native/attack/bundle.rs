//! A file of a format that never was released changes nothing.

use super::*;
use soakbook::handover::{Made, Select, bundle_of, read_bundle};

/// Rule: entry.rs: what called itself 1 never was released and is refused as such; design 9: a clear refusal, nothing changed.
#[test]
fn a_bundle_of_format_1_is_refused_whole() {
    let (world, ..) = passed();
    let made = Made { at: world.phone.wall, app: "0.1.0".into(), phone: world.phone.id };
    let text = bundle_of(&world.book, Select::Visit(id(VISIT)), &made).expect("a bundle").text;
    assert!(read_bundle(&text).is_ok());
    assert!(text.contains("\"v\":2"), "{}", &text[..300]);
    for n in 1..=2 {
        assert!(read_bundle(&text.replacen("\"v\":2", "\"v\":1", n)).is_err());
    }
    assert!(read_bundle(&text.replace("\"v\":2", "\"v\":1")).is_err());
}
