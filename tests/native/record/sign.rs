//! Signatures: typed, declined, absent; never under a draft.

use super::*;
use soakbook::book::body::{Signature, Signed, Signer};
use soakbook::book::refusal::{Fault, Refusal};
use soakbook::units::Degree;
use soakbook::view::forms::{self, Known, Making};
use soakbook::view::page::text::text as read;
use soakbook::view::route::{Form, Route};

fn sign(world: &World, how: Signed, change: impl FnOnce(&mut Signature)) -> Command {
    let digest = record::digest(&world.book, &world.register(), &world.visit());
    let happened = happened(MORNING);
    let (signer, covers) = (Signer::Owner, Vec::new());
    let mut signature = Signature { signer, how, name: None, drawn: None, note: None, digest, covers, happened };
    change(&mut signature);
    Command::Sign { visit: id(VISIT), signature: Box::new(signature) }
}

fn closed() -> World {
    let mut world = given();
    passes(&mut world, TEST, POSITION);
    world.act(not_tested(OTHER_POSITION, NotTestedWhy::OutOfTime));
    world.close();
    world
}

#[test]
fn a_draft_is_not_signed() {
    // rule C7, and B18 of what a merge brings.
    let open = given();
    check(open.clone(), sign(&open, Signed::Absent, |_| {}), Err(Refusal::Draft));
    let world = closed();
    let mut other = given().other_phone();
    other.act(secure("Foam"));
    let merged = world.merged(&other);
    check(merged.clone(), sign(&merged, Signed::Absent, |_| {}), Err(Refusal::Draft));
    check(world.clone(), sign(&world, Signed::Absent, |_| {}), Ok(&["signature"]));
}

#[test]
fn a_typed_one_has_a_name() {
    let world = closed();
    let nameless = Err(Refusal::Field("Signature.name", Fault::Empty));
    check(world.clone(), sign(&world, Signed::Typed, |_| {}), nameless);
    let later = sign(&world, Signed::Declined, |of| of.happened = happened(MORNING + 3_600 * 1_000 * SECOND));
    assert!(world.decide(later).is_err());
}

#[test]
fn all_sign_the_same_and_what_comes_later_shows() {
    // rule C7.
    let mut world = closed();
    let before = fact(&record(&world), "Digest (SHA-256)").to_string();
    let name = attach(&mut world, "O. Owner");
    world.wait(26 * 3_600 * SECOND);
    let owner = world.act(sign(&world.clone(), Signed::Typed, |of| of.name = Some(name)));
    world.act(sign(&world.clone(), Signed::Absent, |of| of.signer = Signer::Authority));
    let page = record(&world);
    assert_eq!(fact(&page, "Digest (SHA-256)"), before);
    // Who signs the day after makes the visit no longer.
    assert!(page.contains("Invented mill · 2026-03-02\n"), "{page}");
    let signed = line(&page, "Owner's representative");
    assert!(signed.contains(&format!("| O. Owner | typed, digest {} |", &before[..8])), "{signed}");
    assert!(line(&page, "Authority (AHJ)").contains("| – | absent, digest "), "{page}");
    assert!(line(&page, "Tester").ends_with("|  |  |"), "{page}");
    assert!(!page.contains("Amendments"), "{page}");
    // A phone that comes only to sign has no part in the visit.
    let mut office = world.other_phone();
    office.phone.who = Some(id(PARTNER));
    office.act(sign(&office.clone(), Signed::Declined, |of| of.signer = Signer::Tester));
    let theirs = record(&office);
    assert_eq!(fact(&theirs, "Digest (SHA-256)"), before);
    assert!(line(&theirs, "Tester").contains("| – | declined, digest "), "{theirs}");
    assert!(!theirs.contains("Amendments") && !theirs.contains("has changed since"), "{theirs}");
    assert_eq!(fact(&theirs, "Tested by"), fact(&page, "Tested by"));
    // Taken back it leaves nothing.
    world.act(Command::Undo { target: owner });
    let page = record(&world);
    assert_eq!(fact(&page, "Digest (SHA-256)"), before);
    assert!(line(&page, "Owner's representative").ends_with("|  |  |") && !page.contains("Amendments"), "{page}");
}

#[test]
fn the_keys_lead_to_the_forms_once_it_is_closed() {
    let open = page(&given().book, id(VISIT), record::record);
    assert!(!read(&open).contains("[Owner's representative]"));
    let world = closed();
    assert!(record(&world).contains("[Tester] [Owner's representative] [Authority (AHJ)]"));
    let (register, kit) = (world.register(), soakbook::book::kit::Kit::of(&world.book));
    let known =
        Known { register: &register, kit: &kit, book: &world.book, visit: Some(id(VISIT)), at: world.phone.at() };
    let signs = |texts: &[(&str, &str)]| {
        let mut typed = forms::open(Form::Sign(1), known, Degree::F);
        texts.iter().for_each(|(key, text)| typed.set(key, text));
        let attached = forms::texts(Form::Sign(1), &typed, known).into_iter();
        let attached = attached.map(|(key, text)| (key, Hash::of(text.as_bytes()))).collect();
        let making = Making { id: id(90), other: id(91), attached: &attached };
        forms::command(Form::Sign(1), &typed, making, known)
    };
    assert!(signs(&[("sign-how", "typed")]).is_err());
    let commands = signs(&[("sign-how", "typed"), ("sign-name", "O. Owner")]).expect("a command");
    let [Command::Sign { signature, .. }] = commands.as_slice() else { panic!("{commands:?}") };
    assert_eq!((signature.signer, signature.how), (Signer::Owner, Signed::Typed));
    assert_eq!(signature.name, Some(Hash::of(b"O. Owner")));
    assert_eq!(signature.digest, record::digest(&world.book, &register, &world.visit()));
    assert_eq!(forms::back(Form::Sign(1)), Route::Record);
    assert_eq!(Route::read("#/sign/2"), Route::Form(Form::Sign(2)));
}

#[test]
fn a_drawn_one_is_drawn_on_paper_from_the_file_too() {
    use soakbook::desk::record::{Which, print};
    use soakbook::handover::{Made, Select, bundle_of};
    use soakbook::view::page::html::document;
    let mut world = closed();
    check(world.clone(), sign(&world, Signed::Drawn, |_| {}), Err(Refusal::Field("Signature.drawn", Fault::Empty)));
    let before = fact(&record(&world), "Digest (SHA-256)").to_string();
    let (name, drawn) = (attach(&mut world, "O. Owner"), attach(&mut world, "M100 300L200 100 300 300M900 90"));
    let signed = world.act(sign(&world.clone(), Signed::Drawn, |of| (of.name, of.drawn) = (Some(name), Some(drawn))));
    let page = record(&world);
    assert_eq!(fact(&page, "Digest (SHA-256)"), before);
    let row = line(&page, "Owner's representative");
    assert!(row.contains(&format!("| O. Owner | drawn on the phone, digest {} |", &before[..8])), "{row}");
    assert!(page.contains("[Signature: Owner's representative · O. Owner]"), "{page}");
    let html = document(&self::page(&world.book, id(VISIT), record::record));
    assert!(html.contains("<path d=\"M100 300L200 100 300 300M900 90h0\"/>"), "{html}");
    let made = Made { at: MORNING, app: "0.1.0".into(), phone: world.phone.id };
    let file = bundle_of(&world.book, Select::Visit(id(VISIT)), &made).expect("a bundle").text;
    assert_eq!(print(&file, Which::Record, None, true).expect("a page").0, html);
    // Erased, it says so; anything else in its place is not drawn.
    let mut erased = world.clone();
    erased.book.erase(drawn);
    assert!(line(&record(&erased), "Owner's").contains("; the drawing was erased or can't be read |"));
    world.act(Command::Undo { target: signed });
    let script = attach(&mut world, "M0 0\"/><script>alert(1)</script>");
    world.act(sign(&world.clone(), Signed::Drawn, |of| of.drawn = Some(script)));
    let page = record(&world);
    assert!(page.contains("; the drawing was erased or can't be read |") && !page.contains("[Signature"), "{page}");
    assert!(!document(&self::page(&world.book, id(VISIT), record::record)).contains("<script"));
}

#[test]
fn the_form_refuses_a_dot_and_keeps_what_is_drawn() {
    let world = closed();
    let (register, kit) = (world.register(), soakbook::book::kit::Kit::of(&world.book));
    let known =
        Known { register: &register, kit: &kit, book: &world.book, visit: Some(id(VISIT)), at: world.phone.at() };
    let signs = |drawn: &str| {
        let mut typed = forms::open(Form::Sign(1), known, Degree::F);
        assert_eq!(typed.get("sign-how"), "drawn");
        typed.set("sign-drawn", drawn);
        typed.set("sign-name", "O. Owner");
        let attached = forms::texts(Form::Sign(1), &typed, known).into_iter();
        let attached = attached.map(|(key, text)| (key, Hash::of(text.as_bytes()))).collect();
        forms::command(Form::Sign(1), &typed, Making { id: id(90), other: id(91), attached: &attached }, known)
    };
    let says = |drawn: &str| signs(drawn).expect_err("a fault")["sign-drawn"].say.clone();
    assert_eq!(says(""), "Nothing is drawn. Sign in the box.");
    assert_eq!(says("M500 250"), "That is only a dot. Clear it and sign again.");
    assert_eq!(says("a cross"), "Nothing is drawn. Sign in the box.");
    let commands = signs("M100 300L200 100").expect("a command");
    let [Command::Sign { signature, .. }] = commands.as_slice() else { panic!("{commands:?}") };
    assert_eq!((signature.how, signature.drawn), (Signed::Drawn, Some(Hash::of(b"M100 300L200 100"))));
    assert_eq!(signature.name, Some(Hash::of(b"O. Owner")));
}
