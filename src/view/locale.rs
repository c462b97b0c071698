//! How numbers, dates and times of day are written where the user is. The words are English everywhere.

use chrono::{Datelike, NaiveDateTime, Timelike};
use std::cell::Cell;

/// The order of a date.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum DateOrder {
    /// `2026-11-29`, ISO 8601.
    #[default]
    Iso,
    /// `11/29/2026`.
    MonthFirst,
    /// `29/11/2026`.
    DayFirst,
    /// `29.11.2026`.
    Dotted,
}

/// A way of writing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Locale {
    /// Whether a comma stands before the decimals.
    pub comma: bool,
    /// The order of a date.
    pub date: DateOrder,
    /// Whether the day has twice twelve hours.
    pub twelve: bool,
}

impl Locale {
    /// The way of a language tag, with the decimal sign that the browser has for it.
    ///
    /// Source: Unicode CLDR 48, short dates and times of the languages named; days and months with two digits outside en-US.
    pub fn of(language: &str, decimal: char) -> Locale {
        let mut parts = language.split('-');
        let name = parts.next().unwrap_or_default();
        let region = parts.find(|part| part.len() == 2).unwrap_or_default();
        let (date, twelve) = match (name, region) {
            ("en", "US" | "") => (DateOrder::MonthFirst, true),
            ("en", "CA") => (DateOrder::Iso, true),
            ("en", "GB" | "IE") => (DateOrder::DayFirst, false),
            ("en", "AU" | "NZ") => (DateOrder::DayFirst, true),
            ("de", _) => (DateOrder::Dotted, false),
            _ => (DateOrder::Iso, false),
        };
        Locale { comma: decimal == ',', date, twelve }
    }
}

thread_local! {
    // The page has one user. An argument would go through every function that writes a number.
    static NOW: Cell<Locale> = const { Cell::new(Locale { comma: false, date: DateOrder::Iso, twelve: false }) };
}

/// Takes a way of writing for this thread.
pub fn set(locale: Locale) {
    NOW.with(|now| now.set(locale));
}

fn now() -> Locale {
    NOW.with(Cell::get)
}

/// What is made in one way of writing, whatever the user's is: a record reads the same on every phone and computer.
pub fn within<T>(locale: Locale, make: impl FnOnce() -> T) -> T {
    let before = now();
    set(locale);
    let made = make();
    set(before);
    made
}

/// The decimal sign.
pub fn point() -> &'static str {
    if now().comma { "," } else { "." }
}

/// A text with each number's decimal point as it is written here.
pub fn decimal(text: String) -> String {
    if !now().comma || !text.contains('.') {
        return text;
    }
    let chars: Vec<char> = text.chars().collect();
    let digit = |at: usize| chars.get(at).is_some_and(char::is_ascii_digit);
    let sign = |(at, c): (usize, &char)| {
        let inside = *c == '.' && at > 0 && digit(at - 1) && digit(at + 1);
        if inside { ',' } else { *c }
    };
    chars.iter().enumerate().map(sign).collect()
}

/// A date.
pub fn date(at: NaiveDateTime) -> String {
    let (y, m, d) = (at.year(), at.month(), at.day());
    match now().date {
        DateOrder::Iso => format!("{y:04}-{m:02}-{d:02}"),
        DateOrder::MonthFirst => format!("{m}/{d}/{y}"),
        DateOrder::DayFirst => format!("{d:02}/{m:02}/{y}"),
        DateOrder::Dotted => format!("{d:02}.{m:02}.{y}"),
    }
}

/// A time of day to the minute.
pub fn time_of_day(at: NaiveDateTime) -> String {
    of_day(at, String::new())
}

/// A time of day to the second.
pub fn time_to_second(at: NaiveDateTime) -> String {
    of_day(at, format!(":{:02}", at.second()))
}

fn of_day(at: NaiveDateTime, seconds: String) -> String {
    let (h, m) = (at.hour(), at.minute());
    if now().twelve {
        let half = if h < 12 { "AM" } else { "PM" };
        return format!("{}:{m:02}{seconds} {half}", (h + 11) % 12 + 1);
    }
    format!("{h:02}:{m:02}{seconds}")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(h: u32, m: u32) -> NaiveDateTime {
        chrono::NaiveDate::from_ymd_opt(2026, 11, 9).and_then(|day| day.and_hms_opt(h, m, 0)).unwrap_or_default()
    }

    // Expected: Intl.DateTimeFormat of Node 20.20.2 (ICU 78.2, CLDR 48), en-US with numeric day, month and hour, the others with two
    // digits for each.
    #[test]
    fn a_date_is_written_as_in_its_country() {
        for (language, decimal, date_, morning, evening) in [
            ("en-US", '.', "11/9/2026", "12:05 AM", "7:40 PM"),
            ("en-GB", '.', "09/11/2026", "00:05", "19:40"),
            ("de-DE", ',', "09.11.2026", "00:05", "19:40"),
            ("sv-SE", ',', "2026-11-09", "00:05", "19:40"),
        ] {
            set(Locale::of(language, decimal));
            assert_eq!(date(at(0, 5)), date_, "{language}");
            assert_eq!(time_of_day(at(0, 5)), morning, "{language}");
            assert_eq!(time_of_day(at(19, 40)), evening, "{language}");
        }
        set(Locale::default());
    }

    #[test]
    fn only_points_inside_numbers_become_commas() {
        set(Locale::of("de-DE", ','));
        assert_eq!(decimal("191.4 °F. Retest e.g. at 0.5".into()), "191,4 °F. Retest e.g. at 0,5");
        set(Locale::default());
        assert_eq!(decimal("191.4".into()), "191.4");
    }
}
