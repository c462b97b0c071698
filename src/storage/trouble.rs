//! What can go wrong with storing, named by what the person can do about it.

use std::fmt;

/// A failure of storage, named by the way out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Trouble {
    /// The phone has no room left for this site's data.
    FreeSpace,
    /// An older version of the app, open in another tab, keeps the data from being opened.
    CloseOtherTab,
    /// A newer version of the app has already opened the data.
    Reload,
    /// The browser refuses storage here; its words.
    AllowStorage(String),
    /// The storage has not answered yet; it may still.
    Wait,
    /// Another text is stored under this hash, so the stored one was altered or the hash is wrong.
    Altered(String),
    /// Anything else, in the browser's words; trying again may help.
    TryAgain(String),
}

impl fmt::Display for Trouble {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Trouble::FreeSpace => f.write_str("the phone's storage is full: free some space and leave this page open"),
            Trouble::CloseOtherTab => f.write_str("an older version is open in another tab: close that tab"),
            Trouble::Reload => f.write_str("a newer version has opened the data: reload this page"),
            Trouble::AllowStorage(why) => {
                write!(f, "this browser keeps no data here: leave private browsing or allow site data ({why})")
            }
            Trouble::Wait => f.write_str("the phone's storage has not answered yet: leave this page open"),
            Trouble::Altered(hash) => write!(f, "another text is stored under {hash}: check the data"),
            Trouble::TryAgain(why) => write!(f, "the phone's storage failed: leave this page open ({why})"),
        }
    }
}
