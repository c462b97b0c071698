//! Items, work, the end of the visit, and what leaves the phone.

use super::kit::bare_marking;
use super::tests::as_left;
use super::writer::*;
use soakbook::book::body::{
    About, Amendment, Body, Delivered, DeliveredHow, DeliveredWhat, Edit, ItemClosed, ItemClosing, ItemFound,
    ItemTelling, ItemWhat, Photo, ProgrammingChange, Removal, RemovedWhy, Reopening, Repair, Replaced, Restoring,
    Signature, Signed, Signer, Who, Work,
};
use soakbook::book::entry::{Hash, Scope};
use soakbook::trade::conditions::{ItemClass, Visual};
use std::sync::Arc;

pub(super) fn write(w: &mut Writer) {
    let item = items(w);
    let after = work(w, item);
    as_left(w, after);
    let (by, note) = (w.named("Pat Partner"), Some(w.words("Both seen")));
    let (how, test, evidence) = (ItemClosed::ReplacedAndTested, Some(id(TEST_3)), Some(after));
    w.visit(Body::ItemClosed(ItemClosing { item, how, test, evidence, by, note, happened: at(95) }.into()));
    about(w);
    w.restart();
    the_end(w);
}

fn items(w: &mut Writer) -> Hash {
    let ada = Who::Person(id(ADA));
    let full = ItemFound {
        what: ItemWhat::WrongPoint,
        class: Some(ItemClass::Deficiency),
        position: Some(id(H1)),
        other_position: Some(id(H2)),
        circuit: Some(id(LOOP)),
        test: Some(id(TEST)),
        visual: vec![Visual::Dirty],
        note: Some(w.words("Shows zone 9")),
        remedy: Some(w.words("Correct the address")),
        photo: Some(w.picture()),
        by: Some(w.named("Pat Partner")),
        happened: at(75),
    };
    let bare = ItemFound {
        what: ItemWhat::Other,
        class: None,
        position: None,
        other_position: None,
        circuit: None,
        test: None,
        visual: Vec::new(),
        note: None,
        remedy: None,
        photo: None,
        by: None,
        happened: tapped(76),
    };
    let item = w.visit(Body::ItemFound(Arc::new(full)));
    let other = w.visit(Body::ItemFound(Arc::new(bare)));
    w.visit(Body::ItemClassed { item: other, class: ItemClass::Observation, by: id(ADA) });
    let (to, by) = (w.named("Olga Owner"), w.named("Pat Partner"));
    w.visit(Body::ItemTold(ItemTelling { item, to, in_writing: true, by, happened: at(77) }.into()));
    let (how, happened) = (ItemClosed::Accepted, at(78));
    w.visit(Body::ItemClosed(
        ItemClosing { item: other, how, test: None, evidence: None, by: ada, note: None, happened }.into(),
    ));
    item
}

/// Gives the replacement.
fn work(w: &mut Writer, item: Hash) -> Hash {
    let ada = Who::Person(id(ADA));
    let (note, by) = (Some(w.words("Wiped")), w.named("Pat Partner"));
    let position = id(H1);
    w.visit(Body::Repaired(
        Repair { position, work: Work::Cleaned, item: Some(item), note, by, happened: at(80) }.into(),
    ));
    w.visit(Body::Repaired(
        Repair { position, work: Work::Refitted, item: None, note: None, by: ada, happened: at(81) }.into(),
    ));

    let (site, visit) = (Scope::Site(id(SITE)), Scope::Visit(id(VISIT)));
    let hung = |body: &Body| matches!(body, Body::DetectorInstalled { detector, .. } if *detector == id(D1));
    let ends = w.log.iter().find(|entry| hung(&entry.body)).expect("it hangs").hash;
    let (removed, installed, why, happened) = (id(D1), Some(id(D1_NEW)), RemovedWhy::WrongType, at(82));
    let replaced = Replaced {
        position,
        removed,
        installed,
        why,
        item: Some(item),
        note: Some(w.words("Same model")),
        by: w.named("Pat Partner"),
        happened,
    };
    let hashes = w.decide(vec![
        (site, Body::DetectorRemoved(Removal { detector: removed, ends, why, happened: Some(happened) }.into())),
        (site, Body::DetectorInstalled { detector: id(D1_NEW), position, happened: Some(happened) }),
        (site, Body::DetectorMarking(Edit::new(id(D1_NEW), vec![], bare_marking()))),
        (visit, Body::Replaced(Arc::new(replaced.clone()))),
    ]);
    let gone = Replaced { installed: None, why: RemovedWhy::Sample, item: None, note: None, by: ada, ..replaced };
    w.visit(Body::Replaced(Arc::new(Replaced { position: id(H3), removed: id(D3), ..gone })));
    // Taken back in both chains, and then that as well: it stands.
    for _ in 0..2 {
        let undoes = if matches!(w.last().body, Body::Undone { .. }) {
            w.last().decision()
        } else {
            w.book.get(hashes[0]).expect("written").decision()
        };
        w.decide(vec![(site, Body::Undone { undoes }), (visit, Body::Undone { undoes })]);
    }
    let (note, by) = (Some(w.words("Address 17 moved")), w.named("Pat Partner"));
    w.visit(Body::ProgrammingChanged(
        ProgrammingChange { affected: vec![id(H1), id(H2)], note, by, happened: at(84) }.into(),
    ));
    w.visit(Body::ProgrammingChanged(
        ProgrammingChange { affected: Vec::new(), note: None, by: ada, happened: at(85) }.into(),
    ));
    hashes[3]
}

fn about(w: &mut Writer) {
    let note = w.words("Slow to restore");
    w.visit(Body::Noted { about: About::Thing(id(TEST)), note });
    let act = w.last().hash;
    let (photo, caption) = (w.picture(), Some(w.words("The old label")));
    w.visit(Body::Photo(Photo { about: About::Act(act), photo, caption }.into()));
    let photo = w.picture();
    w.site(Body::Photo(Photo { about: About::Thing(id(H1)), photo, caption: None }.into()));
    let note = w.words("Lamp flickers");
    w.kit(Body::Noted { about: About::Thing(id(HEATER)), note });
}

fn the_end(w: &mut Writer) {
    let ada = Who::Person(id(ADA));
    let off = |body: &Body| matches!(body, Body::Secured(_) | Body::Impaired(_));
    let still: Vec<Hash> = w.log.iter().filter(|entry| off(&entry.body)).map(|entry| entry.hash).collect();
    for ends in still {
        if w.book.naming(ends).all(|end| !matches!(end.body, Body::Restored(_))) {
            w.visit(Body::Restored(
                Restoring { ends, by: ada, verified_by: None, note: None, happened: at(99) }.into(),
            ));
        }
    }
    let covers = w.ends();
    let ends = w.visit(Body::VisitClosed { covers });
    let why = w.words("A signature is missing");
    w.visit(Body::VisitReopened(Reopening { ends, why, by: id(ADA) }.into()));
    let (covers, digest) = (w.ends(), Hash::of(b"an invented record"));
    let full = Signature {
        signer: Signer::Owner,
        how: Signed::Drawn,
        name: Some(w.words("Olga Owner")),
        drawn: Some(w.picture()),
        note: Some(w.words("Asks for a copy by mail")),
        digest,
        covers: covers.clone(),
        happened: at(100),
    };
    let bare = Signature {
        how: Signed::Absent,
        signer: Signer::Authority,
        name: None,
        drawn: None,
        note: None,
        ..full.clone()
    };
    w.visit(Body::Signature(Arc::new(full)));
    w.visit(Body::Signature(Arc::new(bare)));
    let why = w.words("The owner's address");
    w.visit(Body::Amended(Amendment { amends: digest, why, by: id(ADA) }.into()));
    let covers = w.ends();
    w.visit(Body::VisitClosed { covers: covers.clone() });
    let full = Delivered {
        what: DeliveredWhat::VisitFile,
        how: DeliveredHow::Uploaded,
        to: Some(w.words("https://files.example/ada")),
        digest: Hash::of(b"an invented file"),
        covers,
        happened: tapped(101),
    };
    let bare = Delivered { what: DeliveredWhat::Notice, how: DeliveredHow::Shared, to: None, ..full.clone() };
    w.visit(Body::Delivered(Arc::new(full)));
    w.visit(Body::Delivered(Arc::new(bare)));
}
