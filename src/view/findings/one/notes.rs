//! What else was said of a test: readings that looked off, what was struck, and what came late.

use crate::book::body::Body;
use crate::book::entries::Book;
use crate::book::entry::{Entry, Hash};
use crate::book::test::Test;
use crate::findings::{TestFindings, limit_result_words};
use crate::units::Degree;
use crate::view::findings::{figure, limit_result_short, limits_words, lower};
use crate::view::{time, words};

/// The readings of a test that stand though they are far from what its heater profile says.
pub(super) fn far(found: &TestFindings, unit: Degree) -> Vec<String> {
    found.confirmed_far.iter().map(|score| words::far_stands(&score.shown, &score.before, unit)).collect()
}

/// Marks that are none and readings that are none, as they were.
pub(super) fn struck(test: &Test) -> Vec<String> {
    let marks =
        test.struck.iter().map(|mark| format!("{} at {}", words::what(mark.what), time::gone(mark.at.since_heat_on())));
    let readings = test.withdrawn.iter().map(|taken| format!("Reading {}", words::as_displayed(&taken.reading)));
    let corrected = test.readings.iter().filter_map(|taken| {
        let was = taken.corrected_from?;
        Some(format!("Reading {}, now {}", words::as_displayed(&was), words::as_displayed(&taken.reading)))
    });
    marks.chain(readings).chain(corrected).collect()
}

pub(super) fn late(book: &Book, hashes: &[Hash], why: &str, offset: i64) -> Vec<String> {
    let line = |entry: &Entry| {
        let what = match &entry.body {
            Body::Mark { what, .. } => words::what(*what).to_string(),
            Body::ReadingTaken { reading, .. } => format!("Reading {} {}", reading.text(), reading.unit.symbol()),
            Body::TestEnded { how, .. } => words::ending(*how).to_string(),
            Body::TestStarted(_) => "Test started".to_string(),
            _ => "Entry".to_string(),
        };
        format!("{what}, {}, {why}", time::wall(entry.stamp.wall, offset))
    };
    hashes.iter().filter_map(|hash| book.get(*hash)).map(line).collect()
}

/// What was measured, with its uncertainty; against its limits only where a limit result is meant and decided, else why there is none.
pub(super) fn measured_line(found: &TestFindings, unit: Degree) -> String {
    let Ok(operating) = &found.operating else { return String::new() };
    let mut parts = vec![figure::operating_line(operating, unit)];
    let judgement = found.holding().last().filter(|_| found.frozen.procedure.is_set_point());
    if let Some(judgement) = judgement {
        let result = limit_result_short(judgement);
        let decided = judgement.limit_result.as_ref().ok().zip(judgement.limits.as_ref().ok());
        parts.extend(decided.map_or(result, |(stated, limits)| {
            let word = lower(limit_result_words(stated.limit_result));
            Some(format!("limits {}: {word}", limits_words(limits, unit)))
        }));
    }
    parts.join(" · ")
}
