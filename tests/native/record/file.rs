//! The record out of a visit file, and what it is bound to.

use super::*;
use soakbook::desk::record::{Which, print};
use soakbook::handover::{Made, Select, bundle_of};
use soakbook::view::locale::{self, Locale};
use soakbook::view::page::html::document;

fn bundle(world: &World) -> String {
    let made = Made { at: MORNING, app: "0.1.0".into(), phone: world.phone.id };
    bundle_of(&world.book, Select::Visit(id(VISIT)), &made).expect("a bundle").text
}

fn tested() -> World {
    let mut world = given();
    functional(&mut world, TEST, POSITION, Point::Wrong, Answer::Yes);
    world
}

#[test]
fn a_file_gives_the_phones_pages_to_the_last_byte() {
    let world = tested();
    // Whatever the phone is set to.
    locale::set(Locale::of("de-DE", ','));
    let pages =
        [record::record, record::notice].map(|make: record::Make| document(&page(&world.book, id(VISIT), make)));
    locale::set(Locale::default());
    let text = bundle(&world);
    for (which, page) in [Which::Record, Which::Notice].into_iter().zip(pages) {
        let (printed, faults) = print(&text, which, None, true).expect("a page");
        assert_eq!(printed, page);
        assert_eq!(faults, Vec::<String>::new());
    }
    let visit = id(VISIT).to_string();
    assert!(print(&text, Which::Record, Some(&visit[..13]), true).is_ok());
    assert_eq!(print(&text, Which::Record, Some("ff"), true).unwrap_err(), "it has no visit ff");
    assert!(print("{}", Which::Record, None, true).is_err());
}

#[test]
fn the_digest_is_of_what_was_recorded_and_not_of_who_signed() {
    use soakbook::book::body::{Body, Signature, Signed, Signer};
    use soakbook::book::entry::{Chain, Scope};
    let mut world = tested();
    let digest = |world: &World| fact(&record(world), "Digest (SHA-256)").to_string();
    let before = digest(&world);
    let chain = Chain { scope: Scope::Visit(id(VISIT)), phone: world.phone.id };
    let tip = world.book.tip(chain).map(|tip| (tip.seq, tip.hash)).expect("a chain");
    let count = |page: &str| section(page, "This record and its file");
    let listed = count(&record(&world));
    assert!(listed.contains(&format!("| {} | {}", tip.0 + 1, tip.1)), "{listed}");
    let signature = Signature {
        signer: Signer::Owner,
        how: Signed::Declined,
        name: None,
        drawn: None,
        note: None,
        digest: before.parse().expect("a hash"),
        covers: Vec::new(),
        happened: happened(MORNING),
    };
    let entry = sealed(chain, tip.0 + 1, Some(tip.1), world.phone.stamp(), Body::Signature(signature.into()));
    world.book.apply(entry);
    let page = record(&world);
    assert_eq!(digest(&world), before);
    assert_eq!(count(&page), listed);
    assert!(line(&page, "Owner's representative").contains(&format!("declined, digest {}", &before[..8])), "{page}");
    assert!(page.contains(&format!("| Digest {} |", &before[..8])), "{page}");
    // Whatever is recorded besides makes it another one.
    world.act(not_tested(OTHER_POSITION, NotTestedWhy::OutOfTime));
    assert_ne!(digest(&world), before);
    let page = record(&world);
    assert!(line(&page, "Owner's representative").contains("the record has changed since"), "{page}");
}

#[test]
fn what_people_typed_ends_no_element_and_no_rule() {
    let mut world = given();
    let hostile = "</style><script>alert(\"1\")</script>\\\n'&";
    let site = soakbook::book::body::Site { name: hostile.into(), address: Some(hostile.into()), invented: false };
    world.act(Command::PutSite { site: id(SITE), now: site });
    world.act(put_position(POSITION, "<b>&\"", marking(), no_duty()));
    for make in [record::record, record::notice] as [record::Make; 2] {
        let html = document(&page(&world.book, id(VISIT), make));
        assert!(!html.contains("<script") && !html.contains("<b>"), "{html}");
        assert_eq!(html.matches("</style>").count(), 1);
        assert!(html.contains("&lt;/style&gt;"), "{html}");
    }
}
