//! Times as they are read on screen.

use super::locale;
use crate::book::decide::day;
use crate::units::Wall;
use chrono::{NaiveDateTime, Timelike};

/// Minutes and seconds of a length in ms, such as `4:05`; time left is rounded up so that 0:00 means over.
pub fn left(ms: i64) -> String {
    clock(ms.max(0).saturating_add(999) / 1_000)
}

/// Minutes and seconds of a time gone by, rounded down.
pub fn gone(ms: i64) -> String {
    clock(ms.max(0) / 1_000)
}

/// A time gone by in five signs at most, to be read from a metre away.
pub fn glance(ms: i64) -> String {
    let minutes = ms.max(0) / 60_000;
    match minutes {
        ..100 => format!("{minutes}:{:02}", ms.max(0) / 1_000 % 60),
        100..6_000 => format!("{} h", minutes / 60),
        _ => format!("{} d", minutes / 1_440),
    }
}

/// A time gone by in minutes, where a page shows no seconds.
pub fn minutes(ms: i64) -> String {
    let minutes = ms.max(0) / 60_000;
    if minutes < 60 { format!("{minutes} min") } else { format!("{} h {:02} min", minutes / 60, minutes % 60) }
}

fn clock(seconds: i64) -> String {
    if seconds < 3_600 {
        format!("{}:{:02}", seconds / 60, seconds % 60)
    } else {
        format!("{}:{:02}:{:02}", seconds / 3_600, seconds / 60 % 60, seconds % 60)
    }
}

/// Date and time of day of a wall clock, UTC ms, in local time `offset_min` minutes ahead of UTC.
pub fn wall(ms: Wall, offset_min: i64) -> String {
    let written = |at| format!("{} {}", locale::date(at), locale::time_of_day(at));
    local(ms, offset_min).map_or_else(String::new, written)
}

/// The date alone.
pub fn date(ms: Wall, offset_min: i64) -> String {
    local(ms, offset_min).map_or_else(String::new, locale::date)
}

fn local(ms: Wall, offset_min: i64) -> Option<NaiveDateTime> {
    let at = chrono::DateTime::from_timestamp_millis(ms.saturating_add(offset_min.saturating_mul(60_000)).0)?;
    Some(at.naive_utc())
}

/// Time of day alone.
pub fn of_day(ms: Wall, offset_min: i64) -> String {
    local(ms, offset_min).map_or_else(String::new, locale::time_of_day)
}

/// Time of day to the second.
pub fn to_second(ms: Wall, offset_min: i64) -> String {
    local(ms, offset_min).map_or_else(String::new, locale::time_to_second)
}

/// Day and time of day on this phone as a form keeps them: `YYYY-MM-DDTHH:MM`.
pub fn moment_text(ms: Wall, offset_min: i64) -> String {
    // By its parts: a format string would bring along the code for every format there is.
    let text = |at: NaiveDateTime| format!("{}T{:02}:{:02}", at.date(), at.hour(), at.minute());
    local(ms, offset_min).map_or_else(String::new, text)
}

/// UTC ms of a day and time of day on this phone.
pub fn moment(text: &str, offset_min: i64) -> Option<Wall> {
    let (date, time) = text.split_once('T')?;
    let whole = |digits: &str| {
        let two = digits.len() == 2 && digits.bytes().all(|digit| digit.is_ascii_digit());
        two.then(|| digits.parse::<u32>().ok()).flatten()
    };
    let (hour, rest) = time.split_once(':')?;
    // A browser may add seconds.
    let minute = rest.get(..2).filter(|_| rest.len() == 2 || rest.as_bytes().get(2) == Some(&b':'))?;
    let local = day(date)?.and_hms_opt(whole(hour)?, whole(minute)?, 0)?;
    Some(Wall(local.and_utc().timestamp_millis()) - offset_min * 60_000)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn time_left_reaches_zero_only_when_it_is_over() {
        // By hand.
        assert_eq!(left(300_000), "5:00");
        assert_eq!(left(299_001), "5:00");
        assert_eq!(left(1), "0:01");
        assert_eq!(left(0), "0:00");
        assert_eq!(gone(12_999), "0:12");
        assert_eq!(gone(3_661_000), "1:01:01");
        assert_eq!(glance(3_661_000), "61:01");
        assert_eq!(glance(6_000_000), "1 h");
        assert_eq!(glance(360_000_000), "4 d");
    }

    #[test]
    fn a_moment_is_local_and_read_back() {
        // The same instants as below.
        assert_eq!(moment("1996-12-19T16:39", -480), Some(Wall(851_042_340_000)));
        assert_eq!(moment_text(Wall(851_042_397_000), -480), "1996-12-19T16:39");
        assert_eq!(moment("1996-12-20T00:39:57", 0), Some(Wall(851_042_340_000)));
        for wrong in ["", "1996-12-19", "1996-12-19 16:39", "1996-13-01T00:00", "1996-12-19T24:00", "1996-12-19T1:00"] {
            assert_eq!(moment(wrong, 0), None, "{wrong}");
        }
    }

    #[test]
    fn wall_times_are_local() {
        // RFC 3339 section 5.8: 1996-12-19T16:39:57-08:00 is 1996-12-20T00:39:57Z; 851042397 s by `date -d … +%s`.
        assert_eq!(wall(Wall(851_042_397_000), -480), "1996-12-19 16:39");
        assert_eq!(of_day(Wall(851_042_397_000), 0), "00:39");
        assert_eq!(to_second(Wall(851_042_397_000), 0), "00:39:57");
    }
}
