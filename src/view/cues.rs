//! Cues: what is to be heard, felt and spoken when. Told apart with the eyes closed.

use crate::book::test::Test;
use crate::book::timeline::{Phase, Timeline, ahead, ends};
use crate::findings::{self, NotProven};
use crate::order;
use crate::units::TestTime;

/// How long before a change the warning comes, ms.
pub const WARNING_MS: i64 = 10_000;

/// One kind of cue.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CueKind {
    /// Ten seconds to go.
    Warning,
    /// The heater should be at its top temperature.
    Top,
    /// The heater goes off, or is to be switched off.
    HeatOff,
    /// The heater comes on, or is to be switched on.
    HeatOn,
    /// No trip, and the soak was long enough to mean something: lower the heater.
    NoTrip,
    /// A trip after which heat has to go at once: lower the heater.
    TakeOff,
    /// Everything is taken.
    Complete,
    /// A mark could not be recorded.
    NotRecorded,
}

/// One tone: pitch in Hz, start and length in ms, loudness 0 to 1.
pub type Tone = (f32, u32, u32, f32);

impl CueKind {
    /// Every kind, to be tried.
    pub const ALL: [CueKind; 8] = [
        CueKind::Warning,
        CueKind::Top,
        CueKind::HeatOff,
        CueKind::HeatOn,
        CueKind::NoTrip,
        CueKind::TakeOff,
        CueKind::Complete,
        CueKind::NotRecorded,
    ];

    /// Its sound. Rhythm tells the kinds apart even where the pitch is lost: ticks warn, rising means heat, falling means
    /// no heat, an even alarm means lower the heater.
    pub fn tones(self) -> &'static [Tone] {
        match self {
            CueKind::Warning => &[(880.0, 0, 90, 0.5), (880.0, 180, 90, 0.5)],
            CueKind::Top => &[(740.0, 0, 500, 0.6)],
            CueKind::HeatOff => &[(988.0, 0, 200, 0.8), (740.0, 220, 200, 0.8), (494.0, 440, 400, 0.8)],
            CueKind::HeatOn => &[(494.0, 0, 200, 0.8), (740.0, 220, 200, 0.8), (988.0, 440, 400, 0.8)],
            CueKind::NoTrip => {
                &[(415.0, 0, 350, 1.0), (415.0, 500, 350, 1.0), (415.0, 1000, 350, 1.0), (415.0, 1500, 350, 1.0)]
            }
            CueKind::TakeOff => &[
                (1319.0, 0, 130, 1.0),
                (1319.0, 200, 130, 1.0),
                (1319.0, 400, 130, 1.0),
                (1319.0, 600, 130, 1.0),
                (1319.0, 800, 130, 1.0),
            ],
            CueKind::Complete => {
                &[(659.0, 0, 160, 0.8), (831.0, 180, 160, 0.8), (988.0, 360, 160, 0.8), (1319.0, 540, 500, 0.8)]
            }
            CueKind::NotRecorded => {
                &[(330.0, 0, 120, 1.0), (247.0, 140, 120, 1.0), (330.0, 280, 120, 1.0), (247.0, 420, 400, 1.0)]
            }
        }
    }

    /// Its vibration: on and off in turn, ms.
    pub fn vibration(self) -> &'static [u32] {
        match self {
            CueKind::Warning => &[60, 120, 60],
            CueKind::Top => &[350],
            CueKind::HeatOff => &[400, 120, 150],
            CueKind::HeatOn => &[150, 120, 400],
            CueKind::NoTrip => &[600, 200, 600, 200, 600],
            CueKind::TakeOff => &[120, 80, 120, 80, 120, 80, 120],
            CueKind::Complete => &[100, 80, 100, 80, 500],
            CueKind::NotRecorded => &[250, 100, 250, 100, 250],
        }
    }

    /// What is said, without the detector's tag.
    pub fn sentence(self) -> &'static str {
        match self {
            CueKind::Warning => "ten seconds",
            CueKind::Top => "top temperature",
            CueKind::HeatOff => "heat off, keep in place",
            CueKind::HeatOn => "heat on",
            CueKind::NoTrip => "no trip. Lower the heater",
            CueKind::TakeOff => "lower the heater now",
            CueKind::Complete => "done. Lower the heater",
            CueKind::NotRecorded => "not recorded yet. Trying again",
        }
    }

    /// Its stable name.
    pub fn name(self) -> &'static str {
        match self {
            CueKind::Warning => "warning",
            CueKind::Top => "top",
            CueKind::HeatOff => "heat-off",
            CueKind::HeatOn => "heat-on",
            CueKind::NoTrip => "no-trip",
            CueKind::TakeOff => "take-off",
            CueKind::Complete => "complete",
            CueKind::NotRecorded => "not-recorded",
        }
    }

    /// What it stands for, on the list where cues can be tried.
    pub fn words(self) -> &'static str {
        match self {
            CueKind::Warning => "Ten seconds to go",
            CueKind::Top => "Top temperature",
            CueKind::HeatOff => "Heat off",
            CueKind::HeatOn => "Heat on",
            CueKind::NoTrip => "No trip",
            CueKind::TakeOff => "Lower the heater now",
            CueKind::Complete => "Done",
            CueKind::NotRecorded => "Not recorded",
        }
    }
}

/// A cue at its time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CueAt {
    /// Test time, ms since heat on.
    pub at: TestTime,
    /// Which.
    pub kind: CueKind,
}

/// How many changes of phase are laid ahead: a hidden page cannot lay more, and this covers a whole five-trip check.
const AHEAD: usize = 16;

/// The cues of a test after `now`, by time. One that a mark has overtaken is not among them.
pub fn upcoming(test: &Test, now: TestTime) -> Vec<CueAt> {
    if test.ended.is_some() {
        return Vec::new();
    }
    let mut cues = Vec::new();
    let mut phase = Timeline::of(test, now).phase;
    let mut changes = ahead(test, now, AHEAD).into_iter();
    loop {
        // Ten seconds before any end that is further away than that.
        if let Some(until) = ends(phase).filter(|until| *until - WARNING_MS > now) {
            cues.push(CueAt { at: until - WARNING_MS, kind: CueKind::Warning });
        }
        let Some((at, next)) = changes.next() else { break };
        if let Some(kind) = on_entering(next) {
            cues.push(CueAt { at, kind });
        }
        phase = next;
    }
    cues.extend(silence_means(test, now).map(|at| CueAt { at, kind: CueKind::NoTrip }));
    order::by_number(cues, |cue| cue.at.0)
}

/// When the soak under way will have lasted long enough for "no trip" to mean something, if the heater holds until then.
fn silence_means(test: &Test, now: TestTime) -> Option<TestTime> {
    let timeline = Timeline::of(test, now);
    if !timeline.trips.is_empty() {
        return None;
    }
    let Phase::Soak { until, .. } = timeline.phase else { return None };
    match findings::no_alarm(test, &timeline, None) {
        Err(NotProven::SoakTooShort { held_ms, needed_ms }) => {
            let at = now.saturating_add(needed_ms.saturating_sub(held_ms));
            (at > now && until.is_none_or(|until| at <= until)).then_some(at)
        }
        _ => None,
    }
}

/// The cue of a phase that begins by the clock.
fn on_entering(phase: Phase) -> Option<CueKind> {
    match phase {
        Phase::HeatUp { .. } | Phase::SwitchOn { .. } => Some(CueKind::HeatOn),
        Phase::Soak { .. } => Some(CueKind::Top),
        Phase::Cool { .. } | Phase::SwitchOff { .. } => Some(CueKind::HeatOff),
        Phase::Complete { .. } => Some(CueKind::Complete),
        Phase::AwaitRestore { .. } | Phase::Ended { .. } => None,
    }
}

/// The cue that answers a mark at once: the phase it led to asks for a hand.
pub fn on_mark(before: Phase, after: Phase, combination_nonrestorable: bool) -> Option<CueKind> {
    if std::mem::discriminant(&before) == std::mem::discriminant(&after) {
        return None;
    }
    match after {
        Phase::Complete { .. } | Phase::AwaitRestore { .. } if combination_nonrestorable => Some(CueKind::TakeOff),
        Phase::Complete { .. } | Phase::AwaitRestore { .. } => Some(CueKind::Complete),
        Phase::SwitchOff { .. } => Some(CueKind::HeatOff),
        _ => None,
    }
}

/// The cues crossed between two looks. After a gap only the newest one is to be played; the overrun shows on the clock.
pub fn crossed(cues: &[CueAt], before: TestTime, now: TestTime) -> Option<CueAt> {
    cues.iter().rfind(|cue| cue.at > before && cue.at <= now).copied()
}

/// Looks at the clocks come every 250 ms; one that comes this late, ms, follows a pause in which no sound may have come.
const LATE_MS: i64 = 2_000;

/// Whether there was a pause between two looks, by how far each clock went, ms.
pub fn paused(mono_ms: i64, wall_ms: i64) -> bool {
    mono_ms > LATE_MS || wall_ms > LATE_MS
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_gap_plays_the_newest_cue_only() {
        let cue = |at, kind| CueAt { at, kind };
        let cues = [
            cue(TestTime(10), CueKind::Warning),
            cue(TestTime(20), CueKind::HeatOff),
            cue(TestTime(30), CueKind::Warning),
        ];
        assert_eq!(crossed(&cues, TestTime(5), TestTime(25)), Some(cues[1]));
        assert_eq!(crossed(&cues, TestTime(10), TestTime(19)), None, "a cue sounds once");
        assert_eq!(crossed(&cues, TestTime(19), TestTime(20)), Some(cues[1]), "on crossing, the end included");
        assert_eq!(crossed(&cues, TestTime(30), TestTime(90)), None);
    }

    #[test]
    fn no_two_kinds_share_sound_or_vibration() {
        for (index, kind) in CueKind::ALL.iter().enumerate() {
            for other in &CueKind::ALL[index + 1..] {
                assert_ne!(kind.tones(), other.tones());
                assert_ne!(kind.vibration(), other.vibration());
            }
        }
    }
}
