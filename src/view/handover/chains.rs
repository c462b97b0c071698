//! Chains by the names that people know them by.

use crate::book::Id;
use crate::book::entries::Book;
use crate::book::entry::{Chain, Hash, Scope};
use crate::book::register::Register;
use crate::book::visit::headings;
use crate::handover::ChainHead;
use crate::order;
use crate::units::Wall;
use crate::view::time;
use std::collections::BTreeMap;

/// One chain, as an auditor compares it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChainRow {
    /// What it is about.
    pub about: String,
    /// Number of its entries and whose it is.
    pub detail: String,
    /// Its last hash, in groups.
    pub last: String,
}

/// Names scopes as people know them.
#[derive(Debug)]
pub struct Names<'a> {
    register: &'a Register,
    visits: BTreeMap<Id, (Id, Wall)>,
    phone: Id,
    pub(super) offset: i64,
}

impl<'a> Names<'a> {
    /// Names for a book; `offset` is local time minus UTC, minutes.
    pub fn of(book: &Book, register: &'a Register, phone: Id, offset: i64) -> Names<'a> {
        let visits = order::map(headings(book).into_iter().map(|visit| (visit.id, (visit.site, visit.opened))));
        Names { register, visits, phone, offset }
    }

    fn site(&self, site: Id) -> String {
        let known = self.register.sites.get(&site).and_then(|site| site.now());
        known.map_or_else(|| "a site that is not here".to_string(), |site| site.name.clone())
    }

    /// What a chain is about.
    pub fn about(&self, scope: Scope) -> String {
        match scope {
            Scope::Kit => "Heaters, procedures and people".into(),
            Scope::Site(site) => format!("Devices of {}", self.site(site)),
            Scope::Visit(visit) => match self.visits.get(&visit) {
                Some((site, opened)) => {
                    format!("Visit {} at {}", time::wall(*opened, self.offset), self.site(*site))
                }
                None => "A visit whose start is not here".into(),
            },
        }
    }

    /// Whose a chain is.
    pub fn phone(&self, phone: Id) -> String {
        if phone == self.phone {
            "this phone".into()
        } else {
            let id = phone.simple().to_string();
            format!("phone …{}", id.get(id.len().saturating_sub(6)..).unwrap_or_default())
        }
    }

    pub(super) fn chain(&self, chain: Chain) -> String {
        format!("{}, {}", self.about(chain.scope), self.phone(chain.phone))
    }
}

/// Every chain of the book.
pub fn chain_heads(book: &Book) -> Vec<ChainHead> {
    let head = |chain: Chain| {
        let last = book.tip(chain)?.hash;
        Some(ChainHead { chain, count: book.chain(chain).count(), last, gaps: Vec::new() })
    };
    book.chains().filter_map(head).collect()
}

/// The chains of a bundle or of the book.
pub fn chain_rows(heads: &[ChainHead], names: &Names<'_>) -> Vec<ChainRow> {
    let row = |head: &ChainHead| ChainRow {
        about: names.about(head.chain.scope),
        detail: format!("{} records, {}", head.count, names.phone(head.chain.phone)),
        last: grouped(head.last),
    };
    heads.iter().map(row).collect()
}

/// A hash in groups of eight, so that two people can compare it aloud.
fn grouped(hash: Hash) -> String {
    let text = hash.to_string();
    let groups: Vec<&str> = (0..8).filter_map(|group| text.get(group * 8..group * 8 + 8)).collect();
    groups.join(" ")
}
