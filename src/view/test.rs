//! The Test screen: one big mark, the time left, the trips so far, undo.

mod plates;

pub use plates::{Big, Plate, plates};

use super::trace::{Asked, Known, Trace};

use super::{time, words};
use crate::book::body::{Body, Ending, Point, What};
use crate::book::entries::Book;
use crate::book::entry::Hash;
use crate::book::test::{MarkAt, ReadingAt, Test};
use crate::book::timeline::{NotCounted, Phase, Stage, Timeline, Trip, ahead};
use crate::book::{Id, clock::ClockNote};
use crate::findings::{self, Estimates};
use crate::trade::conditions::Restores;
use crate::trade::procedure::ProcedureKind;
use crate::units::{Celsius, Degree, Difference, Kelvin, TestTime};
use plates::{NoAlarmWait, is_lowered, marks, marks_at_hand};

/// The tone of the screen: what a glance from a metre away has to tell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mood {
    /// The heater heats.
    Heat,
    /// The heater holds.
    Soak,
    /// The heater is off.
    Cool,
    /// A hand is needed.
    Hand,
    /// Something is wrong.
    Alarm,
    /// Over.
    Over,
}

/// One trip in the tally.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TallyTrip {
    /// Its mark.
    pub mark: Hash,
    /// Number of its heat-up.
    pub number: u32,
    /// The number as shown: a second trip in the same heat-up is `2b`.
    pub label: String,
    /// Test time, such as `3:05`.
    pub at: String,
    /// Whether it counts.
    pub counted: bool,
    /// Whether it is one of the first ones that are not averaged: right, and not counted.
    pub first: bool,
    /// Why not.
    pub why: &'static str,
    /// Reading as displayed, with its unit.
    pub reading: String,
    /// The reading's entry, for a correction.
    pub reading_of: Option<Hash>,
    /// What was entered first, where it was corrected.
    pub corrected_from: String,
    /// Set where it has none, counted or not, and the display is read: then one can be given, asked for or not.
    pub open: Option<WantedReading>,
    /// What the panel showed.
    pub panel: Option<Point>,
    /// How far its mark was moved, such as `−3 s`.
    pub moved: String,
}

/// A question about a trip or a reading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AskAbout {
    /// The trip or reading.
    pub of: Hash,
    /// The question.
    pub words: String,
}

/// What can be taken back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LastMark {
    /// The entry.
    pub entry: Hash,
    /// Its name and the tag.
    pub name: String,
    /// Whether the whole test goes with it, so that a tap is not enough.
    pub whole_test: bool,
}

/// One stretch of the trace: stage, start and end in test time, ms.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Band {
    /// What the heater did.
    pub stage: Stage,
    /// From, ms since heat on.
    pub from: TestTime,
    /// To, ms since heat on.
    pub to: TestTime,
}

/// A reading that is wanted now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WantedReading {
    /// The trip.
    pub trip: Hash,
    /// Number of its heat-up.
    pub number: u32,
    /// Step of the display.
    pub step: Difference,
}

/// The Test screen of one test.
#[derive(Clone, Debug, PartialEq)]
pub struct TestScreen {
    /// Which test.
    pub id: Id,
    /// The detector's tag.
    pub tag: String,
    /// Procedure and heater.
    pub under: String,
    /// What happens now, in a word or two.
    pub now: String,
    /// That, and what the clock counts unless it is the time left.
    pub heading: String,
    /// What to do, in a sentence.
    pub advice: String,
    /// The clock's text, such as `4:05`.
    pub clock: String,
    /// Whether the clock is over.
    pub over: bool,
    /// Whether it is nearly so: the ten seconds of the warning.
    pub soon: bool,
    /// Tone of the screen.
    pub mood: Mood,
    /// The large keys; the first one is the big mark.
    pub plates: Vec<Plate>,
    /// The other marks that make sense now.
    pub marks: Vec<What>,
    /// Whether they belong beside the big one: a hand or a lamp drives the cycle. Otherwise the sheet behind the test has them.
    pub marks_at_hand: bool,
    /// The trips so far.
    pub tally: Vec<TallyTrip>,
    /// Trips wanted.
    pub wanted: u32,
    /// Heat-ups that ended without a trip.
    pub missing: Vec<u32>,
    /// The trace.
    pub bands: Vec<Band>,
    /// Trips on the trace: time and whether it counts.
    pub ticks: Vec<(TestTime, bool)>,
    /// Test time now, ms.
    pub at: TestTime,
    /// Test time at the end of the trace, ms.
    pub to: TestTime,
    /// A reading that is wanted now.
    pub reading: Option<WantedReading>,
    /// The trip whose alarm at the panel is asked about.
    pub ask_panel: Option<Hash>,
    /// An early trip that nobody has answered for.
    pub ask_early: Option<AskAbout>,
    /// A reading far from those of the other trips.
    pub ask_slip: Option<AskAbout>,
    /// What can be taken back.
    pub last: Option<LastMark>,
    /// Ways to end it early.
    pub endings: Vec<Ending>,
    /// Where the heater's display stands: the value, and its 95 % band or why there is no estimate.
    pub live: (String, String),
    /// Why the heater has no estimates any more; empty while it has.
    pub withdrawn: String,
    /// The heater's temperature over the test, where the heater has a profile.
    pub trace: Option<Trace>,
    /// A reading that is asked about.
    pub ask_reading: Option<Asked>,
    /// Notes on its time.
    pub clock_notes: Vec<String>,
    /// A sleep that is asked about.
    pub ask_sleep: Option<Hash>,
    /// Whether another phone keeps it.
    pub other_phone: bool,
    /// Whether a hand is needed: the screen of several tests shows these first.
    pub needs_hand: bool,
}

impl TestScreen {
    /// Shapes a test at `now`, ms since heat on, for the phone that shows it.
    pub fn of(
        book: &Book,
        test: &Test,
        now: TestTime,
        phone: Id,
        unit: Degree,
        estimates: &mut Estimates,
    ) -> TestScreen {
        let timeline = Timeline::of(test, now);
        let frozen = &test.frozen;
        let words = Words::of(test, &timeline);
        let other_phone = !test.kept_by(phone);
        let plates = if other_phone {
            vec![Plate {
                big: Big::Nothing,
                number: 0,
                label: words::OTHER_PHONE.into(),
                hint: words::OTHER_PHONE_MARKS.into(),
                expected: false,
            }]
        } else {
            plates(test, &timeline)
        };
        let tally = timeline.trips.iter().map(|trip| {
            let reading = test.reading_of(trip.mark);
            TallyTrip {
                mark: trip.mark,
                number: trip.heat_up,
                label: match trip.not_counted {
                    Some(NotCounted::Repeat) => format!("{}b", trip.heat_up),
                    _ => trip.heat_up.to_string(),
                },
                first: trip.not_counted == Some(NotCounted::First),
                at: time::gone(trip.at.since_heat_on()),
                counted: trip.not_counted.is_none(),
                why: trip.not_counted.map_or("", words::not_counted),
                reading: reading.map_or_else(String::new, |taken| words::as_displayed(&taken.reading)),
                reading_of: reading.map(|taken| taken.hash),
                corrected_from: reading
                    .and_then(|taken| taken.corrected_from)
                    .map_or_else(String::new, |was| words::as_displayed(&was)),
                open: open_reading(test, trip).filter(|_| !other_phone),
                panel: test.panel(trip.mark).map(|(point, _)| point),
                moved: moved(test, trip.mark),
            }
        });
        let (clock, clock_label, over) = clock(&timeline);
        let reading = wanted_reading(test, &timeline);
        let known = Known::of(book, test, &timeline, unit, reading.is_some(), estimates);
        let top = frozen.heater.heating.top(&frozen.heater.setting);
        let marks = if test.ended.is_none() { marks(test, &timeline, &plates) } else { Vec::new() };
        TestScreen {
            id: test.id,
            tag: frozen.position.place.name().to_string(),
            under: words::under(&frozen.heater.name.name, &words::degrees(top, unit, 0), &frozen.procedure.name),
            heading: if ["", TIME_LEFT].contains(&clock_label) {
                words.now.clone()
            } else {
                format!("{} · {clock_label}", words.now)
            },
            now: words.now,
            advice: words.advice,
            clock,
            over,
            soon: crate::book::timeline::ends(timeline.phase)
                .is_some_and(|end| end.saturating_sub(now) <= super::cues::WARNING_MS),
            mood: words.mood,
            plates,
            marks,
            marks_at_hand: marks_at_hand(test),
            tally: tally.collect(),
            wanted: timeline.wanted,
            missing: timeline.missing.clone(),
            bands: bands(&timeline),
            ticks: timeline.trips.iter().map(|trip| (trip.at, trip.not_counted.is_none())).collect(),
            at: timeline.now,
            to: crate::book::timeline::ends(timeline.phase).unwrap_or(now).max(now).max(TestTime(1)),
            live: known.live,
            withdrawn: known.withdrawn,
            trace: known.trace,
            // Another phone's readings are its own to answer for.
            ask_reading: known.asked.filter(|_| !other_phone),
            reading,
            ask_panel: ask_panel(test, &timeline).filter(|_| !other_phone),
            ask_early: ask_early(test, &timeline, unit).filter(|_| !other_phone),
            ask_slip: ask_slip(book, test, &timeline, unit).filter(|_| !other_phone),
            last: last_mark(book, test),
            endings: endings(test, &timeline),
            clock_notes: test.clock_notes.iter().map(|(_, note)| words::clock_note(note)).collect(),
            ask_sleep: test.clock_notes.iter().find_map(|(_, note)| match note {
                ClockNote::Asleep { answered: false, gap, .. } => Some(*gap),
                _ => None,
            }),
            other_phone,
            needs_hand: matches!(words.mood, Mood::Hand | Mood::Alarm),
        }
    }
}

fn moved(test: &Test, mark: Hash) -> String {
    let by = test.marks.iter().find(|marked| marked.hash == mark).map_or(0, |marked| marked.moved_ms);
    match by {
        0 => String::new(),
        by if by < 0 => format!("−{} s", by.unsigned_abs() / 1_000),
        by => format!("+{} s", by / 1_000),
    }
}

/// The last entry of a test that can be taken back, in words.
pub fn last_mark(book: &Book, test: &Test) -> Option<LastMark> {
    let entry = test.last?;
    let number =
        || Timeline::of(test, TestTime::MAX).trips.iter().find(|trip| trip.mark == entry).map(|trip| trip.heat_up);
    let name = match &book.get(entry)?.body {
        Body::TestStarted(_) => words::what(What::HeatOn).to_string(),
        Body::Mark { what: What::Tripped, .. } => {
            number().map_or_else(|| words::what(What::Tripped).to_string(), words::trip)
        }
        Body::Mark { what, .. } => words::what(*what).to_string(),
        Body::ReadingTaken { reading, .. } => format!("Reading {}", words::as_displayed(reading)),
        Body::PanelPoint { point, .. } => format!("Panel: {}", words::point(*point)),
        Body::TestEnded { how: Ending::Done, .. } => words::TEST_DONE.to_string(),
        Body::TestEnded { how, .. } => words::ending(*how).to_string(),
        _ => return None,
    };
    let heat_on = |mark: &MarkAt| mark.hash == entry && mark.what == What::HeatOn;
    let whole_test = entry == test.start || test.marks.iter().any(heat_on);
    Some(LastMark { entry, name: format!("{} · {name}", test.frozen.position.place.name()), whole_test })
}

/// The end of a test, while it is this phone's last word on it and can be taken back.
pub fn last_end(book: &Book, test: &Test) -> Option<LastMark> {
    test.ended.and(last_mark(book, test))
}

struct Words {
    now: String,
    advice: String,
    mood: Mood,
}

impl Words {
    fn of(test: &Test, timeline: &Timeline) -> Words {
        let say = |now: &str, advice: &str, mood| Words { now: now.into(), advice: advice.into(), mood };
        let auto = test.frozen.heater.heating.cycle.is_auto();
        let trip = timeline.trip_of(timeline.heat_up());
        let tripped = trip.is_some();
        let restored = trip.is_some_and(|trip| trip.restore_at.is_some());
        let soaks = || matches!(ahead(test, timeline.now, 1)[..], [(_, Phase::Soak { .. })]);
        match timeline.phase {
            Phase::HeatUp { until: None, .. } if tripped => say("Heating", "Tripped. Mark top temp.", Mood::Heat),
            Phase::HeatUp { until: None, .. } => say("Heating", "Mark trip and top temp.", Mood::Heat),
            Phase::HeatUp { .. } if tripped && soaks() => say("Heating", "Tripped. Soak next.", Mood::Heat),
            Phase::HeatUp { .. } if tripped => say("Heating", "Tripped. Cool-down next.", Mood::Heat),
            Phase::HeatUp { .. } => say("Heating", "Watch for the trip.", Mood::Heat),
            Phase::Soak { .. } if tripped => say("Soak", "Heater stays on.", Mood::Soak),
            Phase::Soak { .. } => match NoAlarmWait::of(test, timeline) {
                NoAlarmWait::Decided => say("No trip", "Lower the heater.", Mood::Alarm),
                wait => say("At top temp", &wait.words(), Mood::Soak),
            },
            Phase::SwitchOff { .. } => say("Switch the heat off", "Keep heater in place. Then mark it.", Mood::Hand),
            Phase::SwitchOn { .. } => say("Switch the heat on", "Then mark it.", Mood::Hand),
            Phase::Cool { .. } if timeline.trips.is_empty() => {
                say("Heat off", NoAlarmWait::of(test, timeline).words_off(), Mood::Cool)
            }
            Phase::Cool { .. } if !tripped => say("Heat off", "No trip in this heat-up.", Mood::Cool),
            Phase::Cool { .. } => {
                let advice = match (test.frozen.indication.latching, test.frozen.indication.restores) {
                    (true, _) => "Reset the panel.",
                    (false, Restores::Watched) if !restored => "Watch for it to restore.",
                    _ if auto => "Heater restarts by itself.",
                    _ => "Keep heater in place, heat off.",
                };
                say("Heat off", advice, Mood::Cool)
            }
            Phase::AwaitRestore { .. } if is_lowered(test) => say("Tripped", "Watch for it to restore.", Mood::Hand),
            Phase::AwaitRestore { .. } => say("Tripped", "Lower the heater. Hot: gloves.", Mood::Hand),
            Phase::Complete { .. } => say("Done", "Lower the heater. Hot: gloves.", Mood::Hand),
            Phase::Ended { how, .. } => say("Ended", words::ending(how), Mood::Over),
        }
    }
}

/// The first trip of a test, while nobody has said what the panel showed: it proves the circuit.
fn ask_panel(test: &Test, timeline: &Timeline) -> Option<Hash> {
    let trip = timeline.trips.first()?;
    (test.ended.is_none() && test.panel(trip.mark).is_none()).then_some(trip.mark)
}

fn ask_early(test: &Test, timeline: &Timeline, unit: Degree) -> Option<AskAbout> {
    let early = findings::early_so_far(test, timeline).filter(|early| !early.confirmed && test.ended.is_none())?;
    Some(AskAbout { of: early.trip, words: words::early(early.why, test.frozen.position.place.name(), unit) })
}

/// A reading further than this from the middle of at least two others is asked about. Own figure: 20 °F.
const SLIP: Kelvin = Kelvin(20.0 / 1.8);

/// A slip of the finger among the readings at the trips, which needs no profile to be seen.
fn ask_slip(book: &Book, test: &Test, timeline: &Timeline, unit: Degree) -> Option<AskAbout> {
    if test.ended.is_some() {
        return None;
    }
    let read = |trip: &Trip| test.reading_of(trip.mark).map(|taken| (trip.heat_up, taken));
    let readings: Vec<_> = timeline.trips.iter().filter_map(read).collect();
    let off = |of: u32, taken: &ReadingAt| {
        let others = readings.iter().filter(|(number, _)| *number != of);
        let others: Vec<f64> = others.map(|(_, other)| other.reading.celsius().0).collect();
        let middle = crate::stats::median(&others).filter(|_| others.len() >= 2)?;
        Some(taken.reading.celsius() - Celsius(middle))
    };
    let far = readings.iter().filter_map(|(number, taken)| Some((*number, taken.hash, off(*number, taken)?)));
    // A slip moves the middle of the others too, so the furthest one is it.
    let (number, of, off) = far.max_by(|(.., a), (.., b)| a.abs().0.total_cmp(&b.abs().0))?;
    let asks = off.abs() > SLIP && !findings::is_confirmed(book, of);
    asks.then(|| AskAbout { of, words: words::slip(number, off, unit) })
}

fn endings(test: &Test, timeline: &Timeline) -> Vec<Ending> {
    if test.ended.is_some() {
        return Vec::new();
    }
    let mut endings = Vec::new();
    let complete = matches!(timeline.phase, Phase::Complete { .. } | Phase::AwaitRestore { .. });
    if matches!(timeline.phase, Phase::AwaitRestore { .. }) {
        endings.push(Ending::Done);
    }
    if timeline.trips.is_empty() {
        endings.push(Ending::NoTrip);
    } else {
        if !complete && test.frozen.procedure.kind == ProcedureKind::SetPoint {
            endings.push(Ending::StoppedEarly);
        }
        endings.push(Ending::StaysInAlarm);
    }
    endings.extend([Ending::HeaterProblem, Ending::DetectorProblem, Ending::SiteRequest, Ending::Mistake]);
    endings
}

/// What the clock counts in most phases.
const TIME_LEFT: &str = "time left";

fn clock(timeline: &Timeline) -> (String, &'static str, bool) {
    let now = timeline.now;
    let over = |since: TestTime| (time::glance(now.saturating_sub(since)), "late by", true);
    let gone = |since: TestTime| (time::glance(now.saturating_sub(since)), "elapsed", false);
    match timeline.phase {
        Phase::HeatUp { until: Some(until), .. }
        | Phase::Soak { until: Some(until), .. }
        | Phase::Cool { until: Some(until), .. } => (time::left(until.saturating_sub(now)), TIME_LEFT, false),
        Phase::HeatUp { since, until: None, .. } | Phase::Soak { since, until: None, .. } => gone(since),
        Phase::Cool { since, until: None, .. } => gone(since),
        Phase::SwitchOff { since, .. } | Phase::SwitchOn { since, .. } => over(since),
        Phase::AwaitRestore { since } | Phase::Complete { since } => {
            (time::glance(now.saturating_sub(since)), "", false)
        }
        Phase::Ended { at, .. } => (time::glance(at.since_heat_on()), "total", false),
    }
}

pub(super) fn bands(timeline: &Timeline) -> Vec<Band> {
    let ends = timeline.stretches.iter().skip(1).map(|stretch| stretch.from);
    let last = match timeline.phase {
        Phase::Ended { at, .. } | Phase::Complete { since: at } => at,
        _ => timeline.now,
    };
    let ends = ends.chain([last]);
    timeline
        .stretches
        .iter()
        .zip(ends)
        .map(|(s, to)| Band { stage: s.stage, from: s.from, to: to.max(s.from) })
        .collect()
}

/// The reading asked for is that of the newest trip that counts and has none, while no other mark is due.
fn wanted_reading(test: &Test, timeline: &Timeline) -> Option<WantedReading> {
    let trip = timeline.trips.iter().rfind(|trip| trip.not_counted != Some(NotCounted::Repeat))?;
    open_reading(test, trip).filter(|_| trip.not_counted.is_none())
}

/// The reading that a trip has not.
fn open_reading(test: &Test, trip: &Trip) -> Option<WantedReading> {
    let heater = &test.frozen.heater;
    let step = super::profile_run::step(&heater.heating, heater.setting.unit);
    let open = test.frozen.display_read && test.reading_of(trip.mark).is_none();
    open.then_some(WantedReading { trip: trip.mark, number: trip.heat_up, step })
}
