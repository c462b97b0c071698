//! One visit: opening and closing steps, what is secured, its tests and what came of them.

use super::Id;
use super::body::{Body, Disposition, Fault, RetestWhy, Told, Watcher};
use super::entry::{Entry, Hash, Scope};
use super::log::Book;
use super::sorted::Sorted;
use super::test::Test;
use crate::order;
use std::collections::BTreeSet;

/// Something secured, and by whom.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Securing {
    /// The entry.
    pub hash: Hash,
    /// What, by the name used in the register.
    pub release: String,
    /// By whom.
    pub by: Id,
    /// When, wall clock, UTC ms.
    pub wall: i64,
    /// By whom and when it was restored; absent while it is in force.
    pub restored: Option<(Id, i64)>,
}

/// A permit with its gas test.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Permit {
    /// The entry.
    pub hash: Hash,
    /// The area it covers; none means the site.
    pub area: Option<Id>,
    /// Its number.
    pub number: String,
    /// What the gas test said.
    pub gas_test: String,
    /// When the gas test was taken, UTC ms.
    pub tested_at: i64,
    /// Until when it holds, UTC ms.
    pub until: i64,
}

/// Something taken out of service.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Outage {
    /// The entry.
    pub hash: Hash,
    /// The circuit; none means the whole system.
    pub circuit: Option<Id>,
    /// When, wall clock, UTC ms.
    pub from: i64,
    /// When it came back, wall clock, UTC ms.
    pub to: Option<i64>,
}

/// Something wrong with a detector.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Deficiency {
    /// The entry.
    pub hash: Hash,
    /// The detector.
    pub detector: Id,
    /// The test that showed it.
    pub test: Option<Id>,
    /// What.
    pub fault: Fault,
    /// Attachment with the words.
    pub note: Option<Hash>,
    /// What became of it.
    pub disposed: Vec<Disposition>,
}

/// A detector to be tested once more.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Again {
    /// The detector.
    pub detector: Id,
    /// The test that gave the reason.
    pub test: Id,
    /// Why.
    pub why: RetestWhy,
    /// Whether a later test of it has been started.
    pub taken: bool,
}

/// One visit.
#[derive(Clone, Debug, PartialEq)]
pub struct Visit {
    /// Which.
    pub id: Id,
    /// Its site.
    pub site: Id,
    /// Phones that take part.
    pub phones: BTreeSet<Id>,
    /// Wall clock of the first opening, UTC ms.
    pub opened: i64,
    /// The closings in force.
    pub closed: Vec<Hash>,
    /// Who was told, when, wall clock.
    pub told: Vec<(Watcher, Told, i64)>,
    /// What is secured or was.
    pub securings: Vec<Securing>,
    /// Permits.
    pub permits: Vec<Permit>,
    /// What is out of service or was.
    pub outages: Vec<Outage>,
    /// Its tests, by start.
    pub tests: Vec<Test>,
    /// What is wrong.
    pub deficiencies: Vec<Deficiency>,
    /// What is to be tested once more.
    pub again: Vec<Again>,
    /// Marks that another phone made after a closing, by the clocks that people read.
    pub after_closing: Vec<Hash>,
}

impl Visit {
    /// Folds a visit out of the book; none while no opening of it is known.
    pub fn of(book: &Book, id: Id) -> Option<Visit> {
        let mut visit = Visit {
            id,
            site: Id::nil(),
            phones: BTreeSet::new(),
            opened: i64::MAX,
            closed: Vec::new(),
            told: Vec::new(),
            securings: Vec::new(),
            permits: Vec::new(),
            outages: Vec::new(),
            tests: Vec::new(),
            deficiencies: Vec::new(),
            again: Vec::new(),
            after_closing: Vec::new(),
        };
        let sorted = Sorted::of(book, Scope::Visit(id), None);
        for entry in sorted.chains.iter().flat_map(|chain| &chain.standing) {
            visit.fold(book, entry);
        }
        if visit.phones.is_empty() {
            return None;
        }
        visit.tests.reserve_exact(sorted.tests().count());
        visit.tests.extend(sorted.tests().filter_map(|test| Test::among(book, test, &sorted)));
        // They come by id, and those that started at one time stay so.
        visit.tests = order::by_number(visit.tests, |test| test.started_wall);
        let follows = order::set(visit.tests.iter().filter_map(|test| test.frozen.follows));
        visit.again.iter_mut().for_each(|again| again.taken = follows.contains(&again.test));
        visit.after_closing = after_closing(book, &sorted, &visit.closed);
        Some(visit)
    }

    fn fold(&mut self, book: &Book, entry: &Entry) {
        let Entry { hash, stamp, .. } = entry;
        match &entry.body {
            Body::VisitOpened { site } => {
                self.phones.insert(entry.chain.phone);
                if stamp.wall < self.opened {
                    (self.opened, self.site) = (stamp.wall, *site);
                }
            }
            Body::VisitClosed {} => self.closed.push(*hash),
            Body::WatcherTold { whom, when, .. } => self.told.push((*whom, *when, stamp.wall)),
            Body::Secured { release, by } => {
                let restored = book.naming(*hash).find_map(|end| match end.body {
                    Body::Restored { by, .. } => Some((by, end.stamp.wall)),
                    _ => None,
                });
                self.securings.push(Securing {
                    hash: *hash,
                    release: release.clone(),
                    by: *by,
                    wall: stamp.wall,
                    restored,
                });
            }
            Body::PermitTaken { area, number, gas_test, tested_at, until } => self.permits.push(Permit {
                hash: *hash,
                area: *area,
                number: number.clone(),
                gas_test: gas_test.clone(),
                tested_at: *tested_at,
                until: *until,
            }),
            Body::OutOfService { circuit } => {
                let back = book.naming(*hash).find(|end| matches!(end.body, Body::BackInService { .. }));
                let to = back.map(|end| end.stamp.wall);
                self.outages.push(Outage { hash: *hash, circuit: *circuit, from: stamp.wall, to });
            }
            Body::DeficiencyFound { detector, test, fault, note } => {
                let mut disposed: Vec<_> = book
                    .naming(*hash)
                    .filter_map(|end| match end.body {
                        Body::DeficiencyDisposed { how, .. } => Some((end.stamp.wall, end.hash, how)),
                        _ => None,
                    })
                    .collect();
                disposed = order::by(disposed, |(wall, hash, _)| (*wall, 0, hash.to_string()));
                let disposed = disposed.into_iter().map(|(_, _, how)| how).collect();
                let (hash, detector, test, fault, note) = (*hash, *detector, *test, *fault, *note);
                self.deficiencies.push(Deficiency { hash, detector, test, fault, note, disposed });
            }
            Body::Retest { detector, test, why } => {
                self.again.push(Again { detector: *detector, test: *test, why: *why, taken: false });
            }
            _ => {}
        }
    }

    /// Tests that have not ended.
    pub fn active(&self) -> impl Iterator<Item = &Test> {
        self.tests.iter().filter(|test| test.ended.is_none())
    }

    /// Tests of a detector, by start.
    pub fn tests_of(&self, detector: Id) -> impl Iterator<Item = &Test> {
        self.tests.iter().filter(move |test| test.frozen.detector.of == detector)
    }

    /// Whether a release is secured now.
    pub fn is_secured(&self, release: &str) -> bool {
        self.securings.iter().any(|securing| securing.release == release && securing.restored.is_none())
    }

    /// Whether nothing more is expected of it: closed, no test going on, everything restored.
    pub fn over(&self) -> bool {
        !self.closed.is_empty() && self.active().next().is_none() && self.open_ends() == 0
    }

    /// Whether a securing, an outage or a notice is still to be undone before the visit is over.
    pub fn open_ends(&self) -> usize {
        let secured = self.securings.iter().filter(|securing| securing.restored.is_none()).count();
        secured + self.outages.iter().filter(|outage| outage.to.is_none()).count()
    }
}

/// What a list says of a visit, without its tests.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Heading {
    /// Which.
    pub id: Id,
    /// Its site.
    pub site: Id,
    /// Wall clock of the first opening, UTC ms.
    pub opened: i64,
    /// Whether a closing is in force.
    pub closed: bool,
}

/// Every visit known, newest first, as a list shows it.
pub fn headings(book: &Book) -> Vec<Heading> {
    let mut headings = Vec::new();
    for id in visit_ids(book) {
        let mut heading = Heading { id, site: Id::nil(), opened: i64::MAX, closed: false };
        for entry in book.scope(Scope::Visit(id)).filter(|entry| !book.is_void(entry.hash)) {
            match &entry.body {
                Body::VisitOpened { site } if entry.stamp.wall < heading.opened => {
                    (heading.opened, heading.site) = (entry.stamp.wall, *site);
                }
                Body::VisitClosed {} => heading.closed = true,
                _ => {}
            }
        }
        if heading.opened < i64::MAX {
            headings.push(heading);
        }
    }
    order::by(headings, |heading| (heading.opened.saturating_neg(), 0, heading.id.to_string()))
}

/// Every visit known, newest first.
pub fn visits(book: &Book) -> Vec<Visit> {
    headings(book).into_iter().filter_map(|heading| Visit::of(book, heading.id)).collect()
}

/// Every visit that has a chain, opened or not.
pub fn visit_ids(book: &Book) -> BTreeSet<Id> {
    order::set(book.chains().filter_map(|chain| match chain.scope {
        Scope::Visit(id) => Some(id),
        _ => None,
    }))
}

fn after_closing(book: &Book, sorted: &Sorted<'_>, closed: &[Hash]) -> Vec<Hash> {
    let closings: Vec<&Entry> = closed.iter().filter_map(|hash| book.get(*hash)).collect();
    let mut late = Vec::new();
    for chain in &sorted.chains {
        let by_others = closings.iter().filter(|closing| closing.chain.phone != chain.phone());
        let Some(first) = by_others.map(|closing| closing.stamp.wall).min() else { continue };
        let marks = |body: &Body| matches!(body, Body::Mark { .. } | Body::ReadingTaken { .. } | Body::TestStarted(_));
        let after = chain.standing.iter().filter(|entry| entry.stamp.wall > first && marks(&entry.body));
        late.extend(after.map(|entry| entry.hash));
    }
    late
}
