//! The Run screen: one big mark, the time left, the trips so far, undo.

use super::trace::{Asked, Known, Trace};
use super::{time, words};
use crate::book::body::{Ending, Point, What};
use crate::book::entry::Hash;
use crate::book::log::Book;
use crate::book::phase::{NotCounted, Phase, Stage, Timeline, Trip, ahead};
use crate::book::run::Run;
use crate::book::{Id, clock::ClockNote};
use crate::findings::Estimates;
use crate::trade::procedure::Template;
use crate::trade::seen::Resets;
use crate::units::{Degree, Difference};

/// What the big mark does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Big {
    /// It marks.
    Mark(What),
    /// It ends the run.
    End(Ending),
    /// Nothing is left to do.
    Nothing,
}

/// The tone of the screen: what a glance from a metre away has to tell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mood {
    /// The head heats.
    Heat,
    /// The head holds.
    Soak,
    /// The head is off.
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
    /// Number of its climb.
    pub number: u32,
    /// Run time, such as `3:05`.
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

/// One stretch of the trace: stage, start and end in run time, ms.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Band {
    /// What the head did.
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
    /// Number of its climb.
    pub number: u32,
    /// Step of the display.
    pub step: Difference,
}

/// The Run screen of one run.
#[derive(Clone, Debug, PartialEq)]
pub struct RunScreen {
    /// Which run.
    pub id: Id,
    /// The detector's tag.
    pub tag: String,
    /// Procedure and head.
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
    /// Whether they belong beside the big one: a hand or a lamp drives the cycle. Otherwise the sheet behind the run has them.
    pub marks_at_hand: bool,
    /// The trips so far.
    pub tally: Vec<TallyTrip>,
    /// Trips wanted.
    pub wanted: u32,
    /// Climbs that ended without a trip.
    pub missing: Vec<u32>,
    /// The trace.
    pub bands: Vec<Band>,
    /// Trips on the trace: time and whether it counts.
    pub ticks: Vec<(i64, bool)>,
    /// Run time now, ms.
    pub at: i64,
    /// Run time at the end of the trace, ms.
    pub to: i64,
    /// A reading that is wanted now.
    pub reading: Option<WantedReading>,
    /// The last mark, for undo: its entry and name.
    pub last: Option<(Hash, String)>,
    /// Whether that last one is a mark that can be moved.
    pub last_moves: bool,
    /// Ways to end it early.
    pub endings: Vec<Ending>,
    /// Where the head's display stands: the value, and its 95 % band or why there is no estimate.
    pub live: (String, String),
    /// Why the head has no estimates any more; empty while it has.
    pub withdrawn: String,
    /// The head's temperature over the run, where the head has a curve.
    pub trace: Option<Trace>,
    /// A reading that is asked about.
    pub ask_reading: Option<Asked>,
    /// Notes on its time.
    pub clock_notes: Vec<String>,
    /// A sleep that is asked about.
    pub ask_sleep: Option<Hash>,
    /// Whether another phone keeps it.
    pub other_phone: bool,
    /// Whether a hand is needed: the screen of several runs shows these first.
    pub needs_hand: bool,
}

impl RunScreen {
    /// Shapes a run at `now`, ms since heat on, for the phone that shows it.
    pub fn of(book: &Book, run: &Run, now: i64, phone: Id, unit: Degree, estimates: &mut Estimates) -> RunScreen {
        let timeline = Timeline::of(run, now);
        let frozen = &run.frozen;
        let words = Words::of(run, &timeline);
        let other_phone = !run.kept_by(phone);
        let (big, big_label, big_hint) = if other_phone {
            (Big::Nothing, words::OTHER_PHONE, words::OTHER_PHONE_MARKS.to_string())
        } else {
            big(run, &timeline)
        };
        let tally = timeline.trips.iter().map(|trip| TallyTrip {
            mark: trip.mark,
            number: trip.climb,
            at: time::gone(trip.at),
            counted: trip.not_counted.is_none(),
            why: trip.not_counted.map_or("", words::not_counted),
            reading: run.reading_of(trip.mark).map_or_else(String::new, |reading| reading.reading.text()),
            open: open_reading(run, trip).filter(|_| !other_phone),
            panel: run.panel(trip.mark).map(|(point, _)| point),
            moved: moved(run, trip.mark),
        });
        let (clock, clock_label, over) = clock(&timeline);
        let reading = wanted_reading(run, &timeline);
        let known = Known::of(book, run, &timeline, unit, reading.is_some(), estimates);
        let upper = frozen.head.heating.upper(&frozen.head.setting);
        let last = run.last.and_then(|hash| Some((hash, name_of(book, hash)?)));
        let marks = if run.ended.is_none() { marks(run, &timeline, big) } else { Vec::new() };
        RunScreen {
            id: run.id,
            tag: frozen.detector.place.tag.clone(),
            under: words::under(&frozen.head.name.name, &words::degrees(upper, unit, 0), &frozen.procedure.name),
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
            marks_at_hand: marks_at_hand(run),
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
            last_moves: run.last.is_some_and(|last| run.marks.iter().any(|mark| mark.hash == last)),
            last,
            endings: endings(run, &timeline),
            clock_notes: run.clock_notes.iter().map(|(_, note)| words::clock_note(note)).collect(),
            ask_sleep: run.clock_notes.iter().find_map(|(_, note)| match note {
                ClockNote::Asleep { answered: false, gap, .. } => Some(*gap),
                _ => None,
            }),
            other_phone,
            needs_hand: matches!(words.mood, Mood::Hand | Mood::Alarm),
        }
    }
}

fn moved(run: &Run, mark: Hash) -> String {
    let by = run.marks.iter().find(|marked| marked.hash == mark).map_or(0, |marked| marked.moved_ms);
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
        Body::RunEnded { how, .. } => format!("end ({})", words::ending(*how).to_ascii_lowercase()),
        _ => return None,
    })
}

/// The end of a run with its name, while it is this phone's last word on it and can be taken back.
pub fn last_end(book: &Book, run: &Run) -> Option<(Hash, String)> {
    let last = run.ended.and(run.last)?;
    Some((last, name_of(book, last)?))
}

struct Words {
    now: String,
    advice: String,
    mood: Mood,
}

impl Words {
    fn of(run: &Run, timeline: &Timeline) -> Words {
        let say = |now: &str, advice: &str, mood| Words { now: now.into(), advice: advice.into(), mood };
        let by_itself = run.frozen.head.heating.cycle.by_itself();
        let tripped = timeline.trip_of(timeline.climb()).is_some();
        let soaks = || matches!(ahead(run, timeline.now, 1)[..], [(_, Phase::Soak { .. })]);
        match timeline.phase {
            Phase::Climb { until: None, .. } if tripped => {
                say("Climbing", "Tripped. Mark the lamp at upper.", Mood::Heat)
            }
            Phase::Climb { until: None, .. } => say("Climbing", "Mark the trip, and the lamp at upper.", Mood::Heat),
            Phase::Climb { .. } if tripped && soaks() => say("Climbing", "Tripped. Soak next.", Mood::Heat),
            Phase::Climb { .. } if tripped => say("Climbing", "Tripped. Off next.", Mood::Heat),
            Phase::Climb { .. } => say("Climbing", "Watch for the trip.", Mood::Heat),
            Phase::Soak { .. } if tripped => say("Soak", "The head stays on.", Mood::Soak),
            Phase::Soak { .. } => say("At upper", "No trip yet: watch.", Mood::Soak),
            Phase::SwitchOff { .. } => say("Switch the head off", "Then mark it.", Mood::Hand),
            Phase::SwitchOn { .. } => say("Switch the head on", "Then mark it.", Mood::Hand),
            Phase::Cool { .. } => {
                let advice = match (run.frozen.seen_by.latching, run.frozen.seen_by.resets) {
                    (true, _) => "Reset the panel.",
                    (false, Resets::Watched) => "Watch for the reset.",
                    (false, _) if by_itself => "It comes on by itself.",
                    (false, _) => "Leave it on the detector, off.",
                };
                say("Head off", advice, Mood::Cool)
            }
            Phase::NoTrip { .. } => say("No trip", "Head off. Do not heat again.", Mood::Alarm),
            Phase::AwaitReset { .. } => say("Tripped", "Head off. Watch for the reset.", Mood::Hand),
            Phase::Complete { .. } => say("Complete", "Head off. It burns.", Mood::Hand),
            Phase::Ended { how, .. } => say("Ended", words::ending(how), Mood::Over),
        }
    }
}

/// What the big mark does: the thing that a technician would want to say next with the eyes on the detector.
pub fn big(run: &Run, timeline: &Timeline) -> (Big, &'static str, String) {
    let number = |climb: u32| format!("Trip {climb} of {}", timeline.wanted);
    let mark = |what: What, hint: String| (Big::Mark(what), words::what(what), hint);
    let climb = timeline.climb();
    let tripped = timeline.trip_of(climb);
    let watched = run.frozen.seen_by.resets == Resets::Watched;
    match timeline.phase {
        Phase::Ended { .. } => (Big::Nothing, "Ended", String::new()),
        Phase::Complete { .. } => (Big::End(Ending::Done), "Done", "Head is off the detector".into()),
        Phase::NoTrip { .. } => (Big::End(Ending::DidNotOperate), "Did not operate", "Head is off the detector".into()),
        Phase::AwaitReset { .. } => mark(What::Reset, "The detector has reset".into()),
        Phase::SwitchOff { .. } => mark(What::HeadOff, String::new()),
        Phase::SwitchOn { .. } => mark(What::HeadOn, String::new()),
        Phase::Climb { until: None, .. } if tripped.is_some() => mark(What::AtUpper, "When the lamp shows it".into()),
        Phase::Cool { .. } if tripped.is_none() => mark(What::Tripped, number(climb)),
        Phase::Cool { .. } if watched && tripped.is_some_and(|trip| trip.reset_at.is_none()) => {
            mark(What::Reset, "When the detector resets".into())
        }
        Phase::Climb { .. } | Phase::Soak { .. } if tripped.is_none() => mark(What::Tripped, number(climb)),
        // Trip and reset are marked: the next thing that can happen to the detector is the next trip.
        _ => mark(What::Tripped, words::next_trip(climb.saturating_add(1), timeline.wanted)),
    }
}

fn marks(run: &Run, timeline: &Timeline, big: Big) -> Vec<What> {
    let mut marks = match timeline.phase {
        Phase::Climb { .. } => vec![What::AtUpper, What::Tripped],
        Phase::Soak { .. } => vec![What::HeadOff, What::Tripped],
        Phase::SwitchOff { .. } => vec![What::HeadOff, What::Tripped],
        Phase::Cool { .. } | Phase::SwitchOn { .. } => vec![What::HeadOn, What::Reset],
        Phase::NoTrip { .. } => vec![What::Tripped],
        Phase::AwaitReset { .. } | Phase::Complete { .. } | Phase::Ended { .. } => Vec::new(),
    };
    if run.frozen.seen_by.resets == Resets::CannotBeSeen {
        marks.retain(|what| *what != What::Reset);
    }
    if run.frozen.seen_by.latching && matches!(timeline.phase, Phase::Cool { .. }) {
        marks.push(What::PanelReset);
    }
    let tripped = timeline.trip_of(timeline.climb()).is_some();
    marks.retain(|what| Big::Mark(*what) != big && !(*what == What::Tripped && tripped));
    marks
}

fn marks_at_hand(run: &Run) -> bool {
    let cycle = &run.frozen.head.heating.cycle;
    !cycle.by_itself() || cycle.climb_ms(1).is_none() || cycle.climb_ms(2).is_none() || run.frozen.seen_by.latching
}

fn endings(run: &Run, timeline: &Timeline) -> Vec<Ending> {
    if run.ended.is_some() {
        return Vec::new();
    }
    let mut endings = Vec::new();
    let complete = matches!(timeline.phase, Phase::Complete { .. } | Phase::AwaitReset { .. });
    if matches!(timeline.phase, Phase::AwaitReset { .. }) {
        endings.push(Ending::Done);
    }
    if !timeline.trips.is_empty() {
        if !complete && run.frozen.procedure.template == Template::SetPoint {
            endings.push(Ending::Enough);
        }
        endings.push(Ending::StaysInAlarm);
    }
    endings.extend([Ending::HeadTrouble, Ending::DetectorTrouble, Ending::SiteAsked, Ending::Mistake]);
    endings
}

/// What the clock counts in most phases.
const TIME_LEFT: &str = "time left";

fn clock(timeline: &Timeline) -> (String, &'static str, bool) {
    let now = timeline.now;
    let over = |since: i64| (time::glance(now.saturating_sub(since)), "over by", true);
    let gone = |since: i64| (time::glance(now.saturating_sub(since)), "so far", false);
    match timeline.phase {
        Phase::Climb { until: Some(until), .. }
        | Phase::Soak { until: Some(until), .. }
        | Phase::Cool { until, .. } => (time::left(until.saturating_sub(now)), TIME_LEFT, false),
        Phase::Climb { since, until: None, .. } | Phase::Soak { since, until: None, .. } => gone(since),
        Phase::SwitchOff { since, .. } | Phase::SwitchOn { since, .. } | Phase::NoTrip { since } => over(since),
        Phase::AwaitReset { since } | Phase::Complete { since } => gone(since),
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
fn wanted_reading(run: &Run, timeline: &Timeline) -> Option<WantedReading> {
    let trip = timeline.trips.iter().rfind(|trip| trip.not_counted != Some(NotCounted::Repeat))?;
    open_reading(run, trip).filter(|_| trip.not_counted.is_none())
}

/// The reading that a trip has not.
fn open_reading(run: &Run, trip: &Trip) -> Option<WantedReading> {
    let head = &run.frozen.head;
    let step = super::ramp::step(&head.heating, head.setting.unit);
    let open = run.frozen.display_read && run.reading_of(trip.mark).is_none();
    open.then_some(WantedReading { trip: trip.mark, number: trip.climb, step })
}
