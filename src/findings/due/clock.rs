//! Calendar months.

use super::{Terms, VISIT_INTERVAL};
use chrono::{Datelike, Days, Months, NaiveDate};

/// The day so many calendar months later; where the month is too short its last day, which is never later. None beyond the calendar.
pub(super) fn after(day: NaiveDate, months: u32) -> Option<NaiveDate> {
    day.checked_add_months(Months::new(months))
}

/// Whole calendar months from one day to another; zero where it is not later.
pub(super) fn months_between(from: NaiveDate, to: NaiveDate) -> u32 {
    let count = |day: NaiveDate| i64::from(day.year()) * 12 + i64::from(day.month0());
    let months = u32::try_from(count(to) - count(from)).unwrap_or_default();
    // The last of them may not be whole.
    let whole = after(from, months).is_some_and(|day| day <= to);
    if whole { months } else { months.saturating_sub(1) }
}

/// Months between visits: what the site says, unless that is nothing.
pub(super) fn interval(terms: Terms<'_>) -> u32 {
    terms.interval.filter(|months| *months > 0).unwrap_or(VISIT_INTERVAL)
}

/// How long an open visit may have lasted and still be this one. Own figure: the longest that stays under way.
const VISIT_LASTS: Days = Days::new(31);

/// The visit after the one that is open or, where none is, after one made today. A visit that somebody forgot to close says nothing of the
/// next one.
pub(super) fn next_visit(terms: Terms<'_>) -> NaiveDate {
    let from = |day| after(day, interval(terms)).unwrap_or(NaiveDate::MAX);
    let opened = terms.open.map(|(_, opened)| opened.min(terms.today));
    let under_way = |opened: &NaiveDate| opened.checked_add_days(VISIT_LASTS).is_some_and(|ends| ends >= terms.today);
    opened.filter(under_way).map(from).filter(|next| *next > terms.today).unwrap_or_else(|| from(terms.today))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(y: i32, m: u32, d: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(y, m, d).unwrap_or_default()
    }

    #[test]
    fn months_end_where_the_calendar_says() {
        // Expected: the Gregorian calendar; a month that is too short ends on its last day, as in `dateutil.relativedelta` 2.9
        // (date(2024, 2, 29) + relativedelta(months=12) is 2025-02-28).
        for (from, months, to) in [
            (day(2024, 2, 29), 12, day(2025, 2, 28)),
            (day(2024, 2, 29), 48, day(2028, 2, 29)),
            (day(2023, 2, 28), 12, day(2024, 2, 28)),
            (day(2025, 8, 31), 6, day(2026, 2, 28)),
            (day(2025, 12, 31), 2, day(2026, 2, 28)),
            (day(2025, 3, 15), 60, day(2030, 3, 15)),
        ] {
            assert_eq!(after(from, months), Some(to), "{from} + {months}");
        }
        assert_eq!(after(day(2025, 1, 1), u32::MAX), None);
    }

    #[test]
    fn only_whole_months_count() {
        for (from, to, months) in [
            (day(2025, 1, 15), day(2030, 1, 15), 60),
            (day(2025, 1, 15), day(2030, 1, 14), 59),
            (day(2025, 1, 31), day(2025, 2, 28), 1),
            (day(2025, 1, 31), day(2025, 2, 27), 0),
            (day(2025, 1, 15), day(2025, 1, 15), 0),
            (day(2025, 1, 15), day(2024, 1, 15), 0),
        ] {
            assert_eq!(months_between(from, to), months, "{from} to {to}");
        }
    }
}
