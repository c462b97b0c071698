//! Plots where people look rather than read: each area's results against their limits, and the course of the tests that matter.

use super::{Recorded, joined};
use crate::book::Id;
use crate::book::test::Test;
use crate::book::timeline::Timeline;
use crate::findings::{
    AsRead, Estimates, Judgement, LimitsGiven, Outcome, Role as Among, TestFindings, limit_result_words,
};
use crate::order;
use crate::stats::LimitResult;
use crate::units::{Celsius, Kelvin, TestTime};
use crate::view::findings::figure::visit_step;
use crate::view::findings::{lower, role};
use crate::view::page::drawing::{Drawing, Heated, Interval, Intervals, Tick, Trace};
use crate::view::page::{Block, Kind, Role};
use crate::view::test::bands;
use crate::view::{trace, words};

const AREAS: &str = "Results against limits";
const AREAS_WORDS: &str = "One plot for each area and pair of limits. Dot: the mean. Bar: its expanded uncertainty U (about 95%). Strong lines: the limits. Diamond: outside, or closer to a limit than U.";
const TESTS: &str = "Tests to look at";
const TESTS_WORDS: &str = "Line: heater temperature, estimated from the heater's profile. Shaded band: about 95%. Diamonds: readings of the display. Flags: trips, white where one doesn't count. Dashed lines: limits. Strip below: heating, holding, off. Without a profile only heating, holding and off are drawn, not temperatures. Time since heat on in minutes:seconds.";
/// Most plots of areas, most results of one, and most courses: three pages of them. Own figures.
const MOST_AREAS: usize = 8;
const MOST_RESULTS: usize = 24;
const MOST_TESTS: usize = 6;

/// A result with the limits that hold for it.
#[derive(Clone, Copy)]
struct Judged<'a> {
    found: &'a TestFindings,
    judged: &'a Judgement,
    limits: &'a LimitsGiven,
    mean: Celsius,
    u: Kelvin,
}

impl<'a> Judged<'a> {
    fn of(found: &'a TestFindings) -> Option<Judged<'a>> {
        let (judged, operating) = (found.holding().last()?, found.operating.as_ref().ok()?);
        let limits = judged.limits.as_ref().ok()?;
        (limits.lower().is_some() || limits.upper().is_some()).then_some(Judged {
            found,
            judged,
            limits,
            mean: operating.mean,
            u: operating.expanded,
        })
    }

    /// How far the mean is from the nearer limit by more than its uncertainty, K; less than nothing where it is nearer or outside.
    fn room(&self) -> f64 {
        let below = self.limits.lower().map_or(f64::INFINITY, |lower| self.mean.0 - lower.0);
        let above = self.limits.upper().map_or(f64::INFINITY, |upper| upper.0 - self.mean.0);
        below.min(above) - self.u.0
    }

    fn word(&self) -> &'static str {
        match (&self.judged.limit_result, self.judged.as_read) {
            (Ok(stated), _) => match stated.limit_result {
                LimitResult::Within => "Within",
                LimitResult::WithinCloseToLimit => "Close to limit",
                LimitResult::OutsideWithinUncertainty => "Outside within U",
                LimitResult::Outside => "Outside",
            },
            (Err(_), Some(AsRead::Outside)) => "Mean outside",
            (Err(_), Some(AsRead::Within)) => "Mean within",
            (Err(_), None) => "No result",
        }
    }
}

impl Recorded<'_> {
    /// The results of each area against their limits, of the tests in the order of the table.
    pub(super) fn against_limits(&self, tests: &[&TestFindings]) -> Vec<Block> {
        let mut groups: Vec<(Id, String, Vec<Judged<'_>>)> = Vec::new();
        for judged in tests.iter().filter_map(|found| Judged::of(found)) {
            let (area, limits) = (judged.found.frozen.position.place.area, self.limits(judged.limits));
            match groups.iter_mut().find(|(of, same, _)| *of == area && *same == limits) {
                Some((_, _, all)) => all.push(judged),
                None => groups.push((area, limits, vec![judged])),
            }
        }
        if groups.is_empty() {
            return Vec::new();
        }
        let mut blocks =
            vec![Block::text("plots", Role::Heading, AREAS), Block::text("plots-words", Role::Soft, AREAS_WORDS)];
        if groups.len() > MOST_AREAS {
            let more = format!(
                "{} of {} plots are shown: those with the results nearest to a limit or outside. The table below has every result.",
                MOST_AREAS,
                groups.len()
            );
            blocks.push(Block::text("plots-more", Role::Plain, more));
            let nearest = |all: &[Judged<'_>]| all.iter().map(Judged::room).fold(f64::INFINITY, f64::min);
            groups = first(groups, MOST_AREAS, |(_, _, all)| thousandths(nearest(all)));
        }
        for (area, limits, all) in groups {
            let count = all.len();
            let all = first(all, MOST_RESULTS, |judged| thousandths(judged.room()));
            let part =
                if all.len() < count { format!("{} of {count}, nearest to a limit", all.len()) } else { String::new() };
            let title = joined([self.area_name(area).to_string(), limits, part]);
            blocks.push(Block::text("plot-title", Role::Plain, title.clone()));
            let plot = Drawing::Intervals(self.intervals(&title, &all));
            blocks.push(Block::new("intervals", Kind::Drawing(Box::new(plot))));
        }
        blocks
    }

    fn intervals(&self, title: &str, all: &[Judged<'_>]) -> Intervals {
        let degrees = |at: Celsius| at.in_degrees(self.unit);
        let given = all.first().map(|judged| judged.limits);
        let limits: Vec<Celsius> =
            given.into_iter().flat_map(|given| given.lower().into_iter().chain(given.upper())).collect();
        let ends = |judged: &Judged<'_>| [degrees(judged.mean - judged.u), degrees(judged.mean + judged.u)];
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for at in all.iter().flat_map(ends).chain(limits.iter().map(|limit| degrees(*limit))) {
            (low, high) = (low.min(at), high.max(at));
        }
        // Four steps or so, and room at both ends.
        let step = visit_step((high - low).max(0.1) / 4.0);
        (low, high) = (low - step * 0.3, high + step * 0.3);
        let digits = usize::from(step < 1.0);
        let place = |at: f64| (at - low) / (high - low);
        let tick = |n: i64| (place(n as f64 * step), format!("{:.digits$}", n as f64 * step));
        let row = |judged: &Judged<'_>| {
            let ([low, high], word, flagged) = (ends(judged), judged.word(), judged.room() < 0.0);
            let among =
                if judged.found.role == Among::AsFound { String::new() } else { lower(role(judged.found.role)) };
            let name = [judged.found.tag(), &among].join(" ").trim_end().to_string();
            let at = place(degrees(judged.mean));
            Interval { name, low: place(low), at, high: place(high), word: word.into(), flagged }
        };
        let rows: Vec<Interval> = all.iter().map(row).collect();
        let flagged = |row: &Interval| row.flagged.then(|| format!("{} {}", row.name, lower(&row.word)));
        let flagged: Vec<String> = rows.iter().filter_map(flagged).collect();
        let flagged =
            if flagged.is_empty() { "none close to a limit or outside".to_string() } else { flagged.join(", ") };
        Intervals {
            label: format!("{title}: {}; {flagged}", words::plural(rows.len(), "result", "results")),
            axis: format!("Mean temperature at the trip, {}", self.unit.symbol()),
            ticks: ((low / step).ceil() as i64..=(high / step).floor() as i64).map(tick).collect(),
            limits: limits.into_iter().map(|limit| (place(degrees(limit)), limit.text(self.unit, 1))).collect(),
            rows,
        }
    }

    /// The course of the tests that failed, that are not decided, or whose result is close to a limit or outside.
    pub(super) fn courses(&self) -> Option<Block> {
        let why = |found: &TestFindings| match found.outcome {
            Outcome::Failed(_) => Some((0, found.outcome.words())),
            Outcome::NotDecided | Outcome::EarlyTrip => Some((1, found.outcome.words())),
            _ => {
                let stated = found.holding().last()?.limit_result.as_ref().ok()?.limit_result;
                (stated != LimitResult::Within).then(|| (2, limit_result_words(stated)))
            }
        };
        let matter = self.found.by_start().into_iter().filter_map(|found| Some((found, why(found)?)));
        let matter: Vec<_> = matter.filter(|(found, _)| found.ended.is_some()).collect();
        if matter.is_empty() {
            return None;
        }
        let mut blocks = vec![Block::text("tests-words", Role::Soft, TESTS_WORDS)];
        if matter.len() > MOST_TESTS {
            let more = format!(
                "{MOST_TESTS} of {} are shown: failed ones first, then those not decided, then those close to a limit or outside.",
                matter.len()
            );
            blocks.push(Block::text("tests-more", Role::Plain, more));
        }
        let mut estimates = Estimates::default();
        for (found, (_, why)) in order::by_number(matter, |(_, (rank, _))| *rank).into_iter().take(MOST_TESTS) {
            let Some(test) = self.visit.tests.iter().find(|test| test.id == found.test) else { continue };
            let what = joined([
                found.tag().to_string(),
                found.frozen.procedure.name.clone(),
                self.wall(found.started_wall),
                why.to_string(),
            ]);
            blocks.push(Block::text("plot-title", Role::Plain, what));
            blocks.push(Block::new("course", Kind::Drawing(Box::new(self.course(found, test, &mut estimates)))));
        }
        Some(Block::section("courses", TESTS, blocks))
    }

    fn course(&self, found: &TestFindings, test: &Test, estimates: &mut Estimates) -> Drawing {
        let end = test.ended.map_or(TestTime::HEAT_ON, |(_, end)| end);
        let timeline = Timeline::of(test, end);
        let (bands, trips) = (bands(&timeline), &timeline.trips);
        let tick = |trip: &crate::book::timeline::Trip| Tick {
            at: trip.at,
            number: trip.heat_up,
            counted: trip.not_counted.is_none(),
        };
        let ticks: Vec<Tick> = trips.iter().map(tick).collect();
        // Those of the table: a corrected rating takes the frozen one's place.
        let limits = found.holding().last().and_then(|judged| judged.limits.as_ref().ok());
        match trace::of_ended(self.book, test, &timeline, self.unit, limits, estimates) {
            Some(trace) => Drawing::Heat(Heated { trace, bands, ticks }),
            None => Drawing::Trace(Trace {
                label: words::trace(test.frozen.position.place.name(), ticks.len()),
                bands,
                ticks,
            }),
        }
    }
}

/// As many items as that with the smallest numbers, in the order they had.
fn first<T>(items: Vec<T>, most: usize, number: impl Fn(&T) -> i64) -> Vec<T> {
    let numbered: Vec<(i64, T)> = (0..).zip(items).collect();
    let first = order::by_number(numbered, |(_, item)| number(item)).into_iter().take(most).collect();
    order::by_number(first, |(at, _)| *at).into_iter().map(|(_, item)| item).collect()
}

/// A difference that is ordered by: finer ones are the same.
fn thousandths(of: f64) -> i64 {
    (of * 1_000.0).round() as i64
}
