//! Photos of a thing or an act: where they are recorded, and which there are.

use super::Id;
use super::acts::About;
use super::body::Body;
use super::entries::Book;
use super::entry::{Entry, Hash, Scope};
use super::kit::Kit;
use super::profile_run::ProfileRun;
use super::register::Register;
use super::test::Test;
use super::versions::Versions;
use super::visit::Visit;
use crate::order;

/// A photo.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PhotoOf {
    /// The entries that say it, the newest first: it added the photo, or gave it its caption.
    pub entries: Vec<Hash>,
    /// The attachment.
    pub photo: Hash,
    /// Attachment with its caption.
    pub caption: Option<Hash>,
}

/// Where photos of this are recorded; none where it is not here.
pub fn scope_of(book: &Book, register: &Register, kit: &Kit, about: About) -> Option<Scope> {
    match about {
        About::Act(act) => book.get(act).filter(|entry| !book.is_void(entry)).map(|entry| entry.chain.scope),
        About::Thing(id) => thing(book, register, kit, id),
    }
}

fn thing(book: &Book, register: &Register, kit: &Kit, id: Id) -> Option<Scope> {
    let site_of = |area: Option<&Versions<super::body::Area>>| Some(area?.now()?.site);
    let circuit = || Some(register.circuits.get(&id)?.now()?.site);
    let site = register.sites.contains_key(&id).then_some(id);
    let site = site.or_else(|| site_of(register.areas.get(&id))).or_else(circuit).or_else(|| register.site_of(id));
    if let Some(site) = site {
        return Some(Scope::Site(site));
    }
    if kit.heaters.contains_key(&id) || kit.procedures.contains_key(&id) || ProfileRun::of(book, id).is_some() {
        return Some(Scope::Kit);
    }
    let visit = Visit::shared(book, id).map(|visit| visit.id).or_else(|| Some(Test::of(book, id)?.visit));
    visit.map(Scope::Visit)
}

/// The photos of a thing or an act, in the order in which they were added.
pub fn photos_of(book: &Book, register: &Register, kit: &Kit, about: About) -> Vec<PhotoOf> {
    let Some(scope) = scope_of(book, register, kit, about) else { return Vec::new() };
    // Across phones order has no meaning, so that of their clocks serves: every phone has the same.
    let said = book.scope(scope).filter(|entry| !book.is_void(entry)).filter_map(|entry| match &entry.body {
        Body::Photo(photo) if photo.about == about => Some((entry, photo)),
        _ => None,
    });
    let mut photos = own(book, about);
    for (entry, said) in order::by_number(said.collect::<Vec<_>>(), |(entry, _)| entry.stamp.wall.0) {
        match photos.iter_mut().find(|photo| photo.photo == said.photo) {
            Some(photo) => {
                photo.entries.insert(0, entry.hash);
                photo.caption = said.caption;
            }
            None => photos.push(PhotoOf { entries: vec![entry.hash], photo: said.photo, caption: said.caption }),
        }
    }
    photos
}

/// The photo that an act was recorded with.
fn own(book: &Book, about: About) -> Vec<PhotoOf> {
    let About::Act(act) = about else { return Vec::new() };
    let photo = book.get(act).and_then(photo_in);
    photo.map(|photo| PhotoOf { entries: Vec::new(), photo, caption: None }).into_iter().collect()
}

fn photo_in(entry: &Entry) -> Option<Hash> {
    match &entry.body {
        Body::ItemFound(of) => of.photo,
        Body::VisualCheck(of) => of.photo,
        Body::NotTested(of) => of.photo,
        Body::PanelState(of) => of.photo,
        _ => None,
    }
}
