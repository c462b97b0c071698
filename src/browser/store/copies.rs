//! The second copy: the same texts in localStorage, for the day the database cannot be opened. It may be minutes behind on
//! disk when the browser is killed, so nothing that is promised rests on it.

use super::Record;
use crate::browser::settings::local;
use crate::storage::Trouble;

/// Longest text that is copied, bytes.
const LONGEST: usize = 65_536;

/// The copies of one store, under `<store>.e/<scope>/<phone>/<seq>/<hash>`.
#[derive(Debug)]
pub(super) struct Copies {
    prefix: String,
}

impl Copies {
    pub(super) fn new(store: &str) -> Copies {
        Copies { prefix: format!("{store}.e/") }
    }

    fn key(&self, record: &Record) -> String {
        let Record { scope, phone, seq, hash, .. } = record;
        format!("{}{scope}/{phone}/{seq}/{hash}", self.prefix)
    }

    /// Writes the texts that are not there yet; stops at the first that fails. One that is longer than any mark or form makes has no
    /// copy: it is a part of a sheet, which can be imported again, and a few of them would leave no room for a visit.
    pub(super) fn write<'a>(&self, records: impl IntoIterator<Item = &'a Record>) -> Result<(), Trouble> {
        let storage = local()?;
        for record in records.into_iter().filter(|record| record.text.len() <= LONGEST) {
            storage.set_item(&self.key(record), &record.text).map_err(|error| Trouble::from_js(&error))?;
        }
        Ok(())
    }

    /// Every copy there is. Keys that are not of this form are left alone.
    pub(super) fn read(&self) -> Result<Vec<Record>, Trouble> {
        let storage = local()?;
        let mut records = Vec::new();
        for key in self.keys(&storage)? {
            if let (Some(mut record), Ok(Some(text))) = (self.parse(&key), storage.get_item(&key)) {
                record.text = text;
                records.push(record);
            }
        }
        Ok(records)
    }

    /// Removes the copies of one scope.
    pub(super) fn forget(&self, scope: &str) -> Result<(), Trouble> {
        let storage = local()?;
        for key in self.keys(&storage)? {
            if self.parse(&key).is_some_and(|record| record.scope == scope) {
                storage.remove_item(&key).map_err(|error| Trouble::from_js(&error))?;
            }
        }
        Ok(())
    }

    /// Removes every copy.
    pub(super) fn forget_all(&self) -> Result<(), Trouble> {
        let storage = local()?;
        for key in self.keys(&storage)? {
            storage.remove_item(&key).map_err(|error| Trouble::from_js(&error))?;
        }
        Ok(())
    }

    fn keys(&self, storage: &web_sys::Storage) -> Result<Vec<String>, Trouble> {
        let length = storage.length().map_err(|error| Trouble::from_js(&error))?;
        Ok((0..length)
            .filter_map(|index| storage.key(index).ok().flatten())
            .filter(|key| key.starts_with(&self.prefix))
            .collect())
    }

    // From the right, because a scope may hold a slash and the other parts never do.
    fn parse(&self, key: &str) -> Option<Record> {
        let mut parts = key.strip_prefix(&self.prefix)?.rsplitn(4, '/');
        let (hash, seq, phone, scope) = (parts.next()?, parts.next()?, parts.next()?, parts.next()?);
        Some(Record {
            scope: scope.into(),
            phone: phone.into(),
            seq: seq.parse().ok()?,
            hash: hash.into(),
            text: String::new(),
        })
    }
}
