//! The people of this phone.

use super::forms::Known;
use super::words;
use crate::book::Id;
use crate::book::versions::Versions;

/// The screen.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PeopleScreen {
    /// Id, name, firm and license, and whether this one has the phone.
    pub people: Vec<(Id, String, String, bool)>,
    /// What the phone is called.
    pub phone: String,
}

impl PeopleScreen {
    /// Everybody who uses this phone, by name.
    pub fn of(known: Known<'_>) -> PeopleScreen {
        let words = |hash| known.book.words(hash);
        let person = |(id, person, name): (Id, &crate::book::body::Person, &str)| {
            let detail: Vec<&str> = [person.firm, person.license].into_iter().flatten().filter_map(words).collect();
            (id, name.to_string(), detail.join(" · "), known.at.who == Some(id))
        };
        let phone = known.kit.phones.get(&known.at.phone).and_then(Versions::now);
        PeopleScreen {
            people: known.kit.people_by_name(known.book).into_iter().map(person).collect(),
            phone: phone.and_then(|phone| words(phone.name)).unwrap_or(words::NO_PHONE_NAME).to_string(),
        }
    }
}
