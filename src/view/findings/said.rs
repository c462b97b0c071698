//! What one test says beside its operating temperature: settling, first trip, the rest of its area. Each a sentence or two, and the
//! figure they rest on.

use super::family::unlike;
use super::figure::{Shown, at_rate, decimals, shown};
use crate::findings::{Compared, Family, Figure, FirstTrip, Operating, TestFindings};
use crate::units::{Degree, Kelvin};
use crate::view::words;

/// Sentences and their figure.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Said {
    /// What is said.
    pub words: String,
    /// What it rests on.
    pub figure: Option<Shown>,
    /// Whether it is a remark in grey.
    pub soft: bool,
}

pub(super) fn settling(operating: &Operating, unit: Degree) -> Said {
    let Some(settling) = &operating.settling else {
        let words = match operating.estimated {
            0 => "Fewer than three counted trips: no slope.",
            _ => "Estimated trips: no slope.",
        };
        return Said { words: words.into(), ..Said::default() };
    };
    let digits = decimals(settling.expanded, unit);
    let words = if settling.still {
        let slope = words::difference(settling.slope, unit, digits);
        let expanded = words::difference(settling.expanded, unit, digits);
        format!(
            "Still settling: {slope} from trip to trip, beyond its uncertainty of {expanded}. Counts as extra uncertainty."
        )
    } else {
        "Settled: the slope from trip to trip is within its uncertainty.".to_string()
    };
    Said { words, figure: Some(shown(&settling.figure(), unit)), soft: false }
}

pub(super) fn first(first: &FirstTrip, found: &TestFindings, unit: Degree) -> Said {
    let started = &found.frozen;
    let rate = found.operating.as_ref().map_or_else(|_| String::new(), |operating| at_rate(operating, unit));
    let by = first.by;
    let digits = decimals(first.expanded.unwrap_or(by), unit);
    let spread = first.expanded.map_or_else(String::new, |u| format!(" ± {}", words::difference(u, unit, digits)));
    let way = if by < Kelvin(0.0) { "later" } else { "earlier" };
    Said {
        words: format!(
            "{}{spread} {way} than the counted trips{}{rate}: {}. Heater {}, detector {} at the start. Not a test of the listing.",
            words::difference(by.abs(), unit, digits),
            if first.estimated { ", by estimates" } else { "" },
            first.earlier.words(),
            started.heater_warmth.words().to_ascii_lowercase(),
            started.detector_warmth.words().to_ascii_lowercase()
        ),
        figure: Some(shown(&first.figure(), unit)),
        soft: false,
    }
}

/// The test among those of its area; nothing where it is the only one of its family.
pub(super) fn beside(found: &TestFindings, families: &[Family], unit: Degree) -> Option<Said> {
    let family = families.iter().find(|family| family.members.iter().any(|member| member.test == found.test))?;
    let member = family.members.iter().find(|member| member.test == found.test)?;
    let others = family.members.len().checked_sub(1).filter(|others| *others > 0)?;
    let unlike = unlike(family, member, unit);
    let soft = unlike.is_some();
    let words = match &family.compared {
        Compared::Scored(_) if member.flagged => format!("Outlier among {others} others. Retest."),
        Compared::Scored(_) => unlike
            .map_or_else(|| format!("Does not stand apart from {others} others."), |unlike| format!("Reads {unlike}.")),
        Compared::TooFew => {
            format!("Only {} to compare with – too few to flag.", words::plural(others, "other", "others"))
        }
        Compared::TooMany => format!("Beside {others} others: more than there is a cut-off for."),
    };
    let score = |figure: Figure| Shown { value: super::family::score(figure.value), ..shown(&figure, unit) };
    Some(Said { words, figure: family.score(member).map(score), soft })
}
