//! What is due at 5,000 positions with four years of tests, natively.

use super::{evaluation, invented};
use crate::book::register::Register;
use crate::findings::due::{self, Terms};
use crate::findings::history;

const POSITIONS: usize = 5_000;
const YEARS: usize = 4;

/// Measures and prints. Gives whether every position is there.
pub(super) fn measure() -> bool {
    let (book, site, now) = invented::site(POSITIONS, YEARS);
    println!("due: {POSITIONS} positions, {} entries", book.len());
    let register = Register::of(&book);
    let history = shortest("what was done at every position", || history::of_site(&book, site));
    let subjects = shortest("positions as plain data", || due::subjects(&register, site, &history, 0));
    let today = due::day_of(now, 0).unwrap_or_default();
    for rule in due::SHIPPED.iter().take(2) {
        let rules = [rule.rule()];
        let terms = Terms { rules: &rules, interval: None, today, open: None, failed: &[] };
        let found = shortest(rule.key, || due::due(&subjects, terms));
        let (overdue, soon, not_due) = found.counts();
        println!("  {overdue} overdue, {soon} due, {not_due} not due");
    }
    subjects.len() == POSITIONS
}

fn shortest<T>(what: &str, work: impl Fn() -> T) -> T {
    let (seconds, made) = evaluation::shortest(work);
    println!("  {:8.2} ms {what}", seconds * 1_000.0);
    made
}
