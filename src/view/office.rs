//! What an office asks of the app: tables for a spreadsheet.

/// Key that sends the results as a table.
pub const RESULTS: &str = "Results for a spreadsheet";

/// What the phone is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ask {
    /// The results of the visit on screen as a table.
    Results,
    /// To choose visit files that are only checked.
    ChooseFile,
}
