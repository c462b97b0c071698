//! The Test screen: one big mark, the time left, the trips so far, undo.

use super::trace::{Asked, Known, Trace};
use super::{time, words};
use crate::book::body::{Ending, Point, What};
use crate::book::entry::Hash;
use crate::book::log::Book;
use crate::book::phase::{NotCounted, Phase, Stage, Timeline, Trip, ahead};
use crate::book::test::Test;
use crate::book::{Id, clock::ClockNote};
use crate::findings::Estimates;
use crate::trade::conditions::Restores;
use crate::trade::procedure::Template;
use crate::units::{Degree, Difference};

/// What the big mark does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Big {
    /// It marks.
    Mark(What),
    /// It ends the test.
    End(Ending),
    /// Nothing is left to do.
    Nothing,
}

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
    /// Test time, such as `3:05`.
    pub at: String,
    /// Whether it counts.
    pub counted: bool,
    /// Why not.
    pub why: &'static str,
    /// Reading as displayed.
    pub reading: String,
    /// Set where it has none, counted or not, and the display is read: then one can be given, asked for or not.
    pub open: Option<WantedReading>,
    /// What the panel showed.
    pub panel: Option<Point>,
    /// How far its mark was moved, such as `−3 s`.
    pub moved: String,
}

/// One stretch of the trace: stage, start and end in test time, ms.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Band {
    /// What the heater did.
    pub stage: Stage,
    /// From, ms since heat on.
    pub from: i64,
    /// To, ms since heat on.
    pub to: i64,
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
    /// What the clock counts: "time left", "over by", "so far".
    pub clock_label: &'static str,
    /// Whether the clock is over.
    pub over: bool,
    /// Whether it is nearly so: the ten seconds of the warning.
    pub soon: bool,
    /// Tone of the screen.
    pub mood: Mood,
    /// What the big mark does.
    pub big: Big,
    /// Its label.
    pub big_label: &'static str,
    /// Its second line.
    pub big_hint: String,
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
    pub ticks: Vec<(i64, bool)>,
    /// Test time now, ms.
    pub at: i64,
    /// Test time at the end of the trace, ms.
    pub to: i64,
    /// A reading that is wanted now.
    pub reading: Option<WantedReading>,
    /// The last mark, for undo: its entry and name.
    pub last: Option<(Hash, String)>,
    /// Whether that last one is a mark that can be moved.
    pub last_moves: bool,
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
    pub fn of(book: &Book, test: &Test, now: i64, phone: Id, unit: Degree, estimates: &mut Estimates) -> TestScreen {
        let timeline = Timeline::of(test, now);
        let frozen = &test.frozen;
        let words = Words::of(test, &timeline);
        let other_phone = !test.kept_by(phone);
        let (big, big_label, big_hint) = if other_phone {
            (Big::Nothing, words::OTHER_PHONE, words::OTHER_PHONE_MARKS.to_string())
        } else {
            big(test, &timeline)
        };
        let tally = timeline.trips.iter().map(|trip| TallyTrip {
            mark: trip.mark,
            number: trip.heat_up,
            at: time::gone(trip.at),
            counted: trip.not_counted.is_none(),
            why: trip.not_counted.map_or("", words::not_counted),
            reading: test.reading_of(trip.mark).map_or_else(String::new, |reading| reading.reading.text()),
            open: open_reading(test, trip).filter(|_| !other_phone),
            panel: test.panel(trip.mark).map(|(point, _)| point),
            moved: moved(test, trip.mark),
        });
        let (clock, clock_label, over) = clock(&timeline);
        let reading = wanted_reading(test, &timeline);
        let known = Known::of(book, test, &timeline, unit, reading.is_some(), estimates);
        let top = frozen.heater.heating.top(&frozen.heater.setting);
        let last = test.last.and_then(|hash| Some((hash, name_of(book, hash)?)));
        let marks = if test.ended.is_none() { marks(test, &timeline, big) } else { Vec::new() };
        TestScreen {
            id: test.id,
            tag: frozen.detector.place.tag.clone(),
            under: words::under(&frozen.heater.name.name, &words::degrees(top, unit, 0), &frozen.procedure.name),
            heading: if clock_label == TIME_LEFT { words.now.clone() } else { format!("{}, {clock_label}", words.now) },
            now: words.now,
            advice: words.advice,
            clock,
            clock_label,
            over,
            soon: crate::book::phase::ends(timeline.phase)
                .is_some_and(|end| end.saturating_sub(now) <= super::cues::WARNING_MS),
            mood: words.mood,
            big,
            big_label,
            big_hint,
            marks,
            marks_at_hand: marks_at_hand(test),
            tally: tally.collect(),
            wanted: timeline.wanted,
            missing: timeline.missing.clone(),
            bands: bands(&timeline),
            ticks: timeline.trips.iter().map(|trip| (trip.at, trip.not_counted.is_none())).collect(),
            at: timeline.now,
            to: crate::book::phase::ends(timeline.phase).unwrap_or(now).max(now).max(1),
            live: known.live,
            withdrawn: known.withdrawn,
            trace: known.trace,
            // Another phone's readings are its own to answer for.
            ask_reading: known.asked.filter(|_| !other_phone),
            reading,
            last_moves: test.last.is_some_and(|last| test.marks.iter().any(|mark| mark.hash == last)),
            last,
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

fn name_of(book: &Book, hash: Hash) -> Option<String> {
    use crate::book::body::Body;
    Some(match &book.get(hash)?.body {
        Body::Mark { what, .. } => words::what(*what).to_string(),
        Body::ReadingTaken { reading, .. } => format!("reading {}", reading.text()),
        Body::TestEnded { how, .. } => format!("end ({})", words::ending(*how).to_ascii_lowercase()),
        _ => return None,
    })
}

/// The end of a test with its name, while it is this phone's last word on it and can be taken back.
pub fn last_end(book: &Book, test: &Test) -> Option<(Hash, String)> {
    let last = test.ended.and(test.last)?;
    Some((last, name_of(book, last)?))
}

struct Words {
    now: String,
    advice: String,
    mood: Mood,
}

impl Words {
    fn of(test: &Test, timeline: &Timeline) -> Words {
        let say = |now: &str, advice: &str, mood| Words { now: now.into(), advice: advice.into(), mood };
        let by_itself = test.frozen.heater.heating.cycle.by_itself();
        let tripped = timeline.trip_of(timeline.heat_up()).is_some();
        let soaks = || matches!(ahead(test, timeline.now, 1)[..], [(_, Phase::Soak { .. })]);
        match timeline.phase {
            Phase::HeatUp { until: None, .. } if tripped => {
                say("HeatingUp", "Tripped. Mark the lamp at top.", Mood::Heat)
            }
            Phase::HeatUp { until: None, .. } => say("HeatingUp", "Mark the trip, and the lamp at top.", Mood::Heat),
            Phase::HeatUp { .. } if tripped && soaks() => say("HeatingUp", "Tripped. Soak next.", Mood::Heat),
            Phase::HeatUp { .. } if tripped => say("HeatingUp", "Tripped. Off next.", Mood::Heat),
            Phase::HeatUp { .. } => say("HeatingUp", "Watch for the trip.", Mood::Heat),
            Phase::Soak { .. } if tripped => say("Soak", "The heater stays on.", Mood::Soak),
            Phase::Soak { .. } => say("At top", "No trip yet: watch.", Mood::Soak),
            Phase::SwitchOff { .. } => say("Switch the heater off", "Then mark it.", Mood::Hand),
            Phase::SwitchOn { .. } => say("Switch the heater on", "Then mark it.", Mood::Hand),
            Phase::Cool { .. } => {
                let advice = match (test.frozen.indication.latching, test.frozen.indication.restores) {
                    (true, _) => "Restore the panel.",
                    (false, Restores::Watched) => "Watch for the restore.",
                    (false, _) if by_itself => "It comes on by itself.",
                    (false, _) => "Leave it on the detector, off.",
                };
                say("Heater off", advice, Mood::Cool)
            }
            Phase::NoTrip { .. } => say("No trip", "Heater off. Do not heat again.", Mood::Alarm),
            Phase::AwaitRestore { .. } => say("Tripped", "Heater off. Watch for the restore.", Mood::Hand),
            Phase::Complete { .. } => say("Complete", "Heater off. It burns.", Mood::Hand),
            Phase::Ended { how, .. } => say("Ended", words::ending(how), Mood::Over),
        }
    }
}

/// What the big mark does: the thing that a technician would want to say next with the eyes on the detector.
pub fn big(test: &Test, timeline: &Timeline) -> (Big, &'static str, String) {
    let number = |heat_up: u32| format!("Trip {heat_up} of {}", timeline.wanted);
    let mark = |what: What, hint: String| (Big::Mark(what), words::what(what), hint);
    let heat_up = timeline.heat_up();
    let tripped = timeline.trip_of(heat_up);
    let watched = test.frozen.indication.restores == Restores::Watched;
    match timeline.phase {
        Phase::Ended { .. } => (Big::Nothing, "Ended", String::new()),
        Phase::Complete { .. } => (Big::End(Ending::Done), "Done", "Heater is off the detector".into()),
        Phase::NoTrip { .. } => {
            (Big::End(Ending::DidNotOperate), "Did not operate", "Heater is off the detector".into())
        }
        Phase::AwaitRestore { .. } => mark(What::Restore, "The detector has restore".into()),
        Phase::SwitchOff { .. } => mark(What::HeaterOff, String::new()),
        Phase::SwitchOn { .. } => mark(What::HeaterOn, String::new()),
        Phase::HeatUp { until: None, .. } if tripped.is_some() => mark(What::AtTop, "When the lamp shows it".into()),
        Phase::Cool { .. } if tripped.is_none() => mark(What::Tripped, number(heat_up)),
        Phase::Cool { .. } if watched && tripped.is_some_and(|trip| trip.restore_at.is_none()) => {
            mark(What::Restore, "When the detector restores".into())
        }
        Phase::HeatUp { .. } | Phase::Soak { .. } if tripped.is_none() => mark(What::Tripped, number(heat_up)),
        // Trip and restore are marked: the next thing that can happen to the detector is the next trip.
        _ => mark(What::Tripped, words::next_trip(heat_up.saturating_add(1), timeline.wanted)),
    }
}

fn marks(test: &Test, timeline: &Timeline, big: Big) -> Vec<What> {
    let mut marks = match timeline.phase {
        Phase::HeatUp { .. } => vec![What::AtTop, What::Tripped],
        Phase::Soak { .. } => vec![What::HeaterOff, What::Tripped],
        Phase::SwitchOff { .. } => vec![What::HeaterOff, What::Tripped],
        Phase::Cool { .. } | Phase::SwitchOn { .. } => vec![What::HeaterOn, What::Restore],
        Phase::NoTrip { .. } => vec![What::Tripped],
        Phase::AwaitRestore { .. } | Phase::Complete { .. } | Phase::Ended { .. } => Vec::new(),
    };
    if test.frozen.indication.restores == Restores::CannotBeSeen {
        marks.retain(|what| *what != What::Restore);
    }
    if test.frozen.indication.latching && matches!(timeline.phase, Phase::Cool { .. }) {
        marks.push(What::PanelReset);
    }
    let tripped = timeline.trip_of(timeline.heat_up()).is_some();
    marks.retain(|what| Big::Mark(*what) != big && !(*what == What::Tripped && tripped));
    marks
}

fn marks_at_hand(test: &Test) -> bool {
    let cycle = &test.frozen.heater.heating.cycle;
    !cycle.by_itself()
        || cycle.heat_up_ms(1).is_none()
        || cycle.heat_up_ms(2).is_none()
        || test.frozen.indication.latching
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
    if !timeline.trips.is_empty() {
        if !complete && test.frozen.procedure.template == Template::SetPoint {
            endings.push(Ending::Enough);
        }
        endings.push(Ending::StaysInAlarm);
    }
    endings.extend([Ending::HeaterTrouble, Ending::DetectorTrouble, Ending::SiteAsked, Ending::Mistake]);
    endings
}

/// What the clock counts in most phases.
const TIME_LEFT: &str = "time left";

fn clock(timeline: &Timeline) -> (String, &'static str, bool) {
    let now = timeline.now;
    let over = |since: i64| (time::glance(now.saturating_sub(since)), "over by", true);
    let gone = |since: i64| (time::glance(now.saturating_sub(since)), "so far", false);
    match timeline.phase {
        Phase::HeatUp { until: Some(until), .. }
        | Phase::Soak { until: Some(until), .. }
        | Phase::Cool { until, .. } => (time::left(until.saturating_sub(now)), TIME_LEFT, false),
        Phase::HeatUp { since, until: None, .. } | Phase::Soak { since, until: None, .. } => gone(since),
        Phase::SwitchOff { since, .. } | Phase::SwitchOn { since, .. } | Phase::NoTrip { since } => over(since),
        Phase::AwaitRestore { since } | Phase::Complete { since } => gone(since),
        Phase::Ended { at, .. } => (time::glance(at), "in all", false),
    }
}

fn bands(timeline: &Timeline) -> Vec<Band> {
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
