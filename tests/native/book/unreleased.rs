//! What called itself format 1 was never released: it is refused by that name, and nothing changes.

use super::golden;
use soakbook::book::entry::{Entry, Hash, Unreadable};
use soakbook::encoding::canonical;
use soakbook::handover::{BundleFault, Made, Select, audit_bundle, bundle_of, read_bundle};
use soakbook::units::Wall;

/// An entry as the last test version wrote it, by hand.
fn old_entry() -> String {
    let id = |n: u32| format!("01900000-0000-7000-8000-{n:012}");
    format!(
        r#"{{"at":1772438400000,"mono":5000,"of":"{}","phone":"{}","prev":null,"scope":"kit","seq":0,"session":"{}","type":"person","now":{{"name":"{}"}},"v":1}}"#,
        id(1),
        id(2),
        id(3),
        Hash::of(b"name")
    )
}

fn bundle() -> String {
    let mut book = soakbook::book::entries::Book::default();
    golden::entries().into_iter().for_each(|entry| book.apply(entry));
    let made = Made { at: Wall(0), app: "0.1.0".into(), phone: golden::entries()[0].chain.phone };
    bundle_of(&book, Select::Everything, &made).unwrap().text
}

#[test]
fn an_entry_of_it_is_refused_by_name() {
    let text = canonical(&serde_json::from_str(&old_entry()).unwrap());
    assert_eq!(Entry::read(&text), Err(Unreadable::Unreleased));
    assert_eq!(Unreadable::Unreleased.to_string(), "is of a test version's format, from before the first release");
    // Also where everything else is as today.
    let today = &golden::entries()[0].text;
    assert_eq!(Entry::read(&today.replace("\"v\":2", "\"v\":1")), Err(Unreadable::Unreleased));
    assert_eq!(Entry::read(&today.replace("\"v\":2", "\"v\":0")), Err(Unreadable::Frame("v")));
}

#[test]
fn a_bundle_of_it_is_refused_by_name_and_gives_nothing_to_take() {
    let old = bundle().replacen("\"v\":2", "\"v\":1", 1);
    assert_eq!(read_bundle(&old), Err(vec![BundleFault::Unreleased]));
    assert_eq!(audit_bundle(&old), Err(vec![BundleFault::Unreleased]));
    assert!(BundleFault::Unreleased.to_string().contains("from a test version before the first release"));
}

#[test]
fn one_entry_of_it_refuses_the_whole_bundle() {
    let text = bundle();
    let line = text.lines().find(|line| line.contains("\"type\":\"visit_opened\"")).unwrap();
    let mixed = text.replace(line, &line.replace("\"v\":2", "\"v\":1"));
    let faults = read_bundle(&mixed).unwrap_err();
    let old = |fault: &&BundleFault| matches!(fault, BundleFault::Entry { why: Unreadable::Unreleased, .. });
    assert_eq!(faults.iter().filter(old).count(), 1, "{faults:?}");
    // And without the change it is whole.
    assert!(read_bundle(&text).is_ok());
}
#[test]
fn print_size() {
    use soakbook::book::body as b;
    eprintln!("Entry {} Body {} ItemClosed.. ", size_of::<Entry>(), size_of::<b::Body>());
    eprintln!(
        "Happened {} Who {} Stamp {} About {} Reading {}",
        size_of::<b::Happened>(),
        size_of::<b::Who>(),
        size_of::<soakbook::book::entry::Stamp>(),
        size_of::<b::About>(),
        size_of::<soakbook::units::Reading>()
    );
}
