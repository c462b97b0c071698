//! The large keys of the Test screen, each an order, and the marks beside them.

use crate::book::body::{Ending, What};
use crate::book::test::Test;
use crate::book::timeline::{Phase, Timeline};
use crate::findings::{self, NotProven};
use crate::trade::conditions::Restores;
use crate::view::{time, words};

/// What a plate does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Big {
    /// It marks.
    Mark(What),
    /// It ends the test.
    End(Ending),
    /// Nothing is left to do.
    Nothing,
}

/// A large key of the test: an order, with the tag of the detector it is for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Plate {
    /// What it does.
    pub big: Big,
    /// Number of the heat-up whose trip it marks, 0 of anything else: a plate for another trip is another plate.
    pub number: u32,
    /// The order, e.g. `Mark trip 2`.
    pub label: String,
    /// Its second line: the tag, and what to look for.
    pub hint: String,
    /// Whether what it marks is to be expected now; else it is drawn pale.
    pub expected: bool,
}

pub(super) fn is_lowered(test: &Test) -> bool {
    test.marks.iter().any(|mark| mark.what == What::Lowered)
}

/// What a test without a trip waits for at the top temperature.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum NoAlarmWait {
    /// Nobody has seen the top temperature.
    TopNotSeen,
    /// The soak has so much to go, ms.
    Soak(i64),
    /// Silence means something now.
    Decided,
    /// However long it soaks, silence means nothing.
    NotHotEnough,
    /// Nobody can say how long it takes.
    Unknown,
}

impl NoAlarmWait {
    pub(super) fn of(test: &Test, timeline: &Timeline) -> NoAlarmWait {
        match findings::no_alarm(test, timeline, None) {
            Ok(_) => NoAlarmWait::Decided,
            Err(NotProven::TopNotSeen) => NoAlarmWait::TopNotSeen,
            Err(NotProven::SoakTooShort { held_ms, needed_ms }) => NoAlarmWait::Soak(needed_ms.saturating_sub(held_ms)),
            Err(NotProven::NotHotEnough { .. }) => NoAlarmWait::NotHotEnough,
            Err(_) => NoAlarmWait::Unknown,
        }
    }

    pub(super) fn words(self) -> String {
        match self {
            NoAlarmWait::TopNotSeen => "No trip yet. Mark top temp when you see it.".into(),
            NoAlarmWait::Soak(left) => format!("No trip yet – keep watching, {} more.", time::left(left)),
            NoAlarmWait::Decided => "No trip. Lower the heater.".into(),
            NoAlarmWait::NotHotEnough => "No trip yet. This setting is too low to prove a failure.".into(),
            NoAlarmWait::Unknown => "No trip yet – keep watching.".into(),
        }
    }

    /// The same once the heat is off: what is true, and what may be done about it.
    pub(super) fn words_off(self) -> &'static str {
        match self {
            NoAlarmWait::TopNotSeen => "No trip. Top temp not marked. Wait or end test.",
            NoAlarmWait::Soak(_) => "No trip. Soak was too short. Wait or end test.",
            NoAlarmWait::Decided => "No trip. Lower the heater.",
            NoAlarmWait::NotHotEnough => "No trip. This setting is too low to prove a failure.",
            NoAlarmWait::Unknown => "No trip, not decided. Wait or end test.",
        }
    }
}

/// The large keys: what a technician would want to say next with the eyes on the detector.
pub fn plates(test: &Test, timeline: &Timeline) -> Vec<Plate> {
    let tag = test.frozen.position.place.name();
    let hint = |more: &str| if more.is_empty() { tag.to_string() } else { format!("{tag} · {more}") };
    let plate = |big: Big, label: &str, more: &str| Plate {
        big,
        number: 0,
        label: label.into(),
        hint: hint(more),
        expected: true,
    };
    let mark = |what: What, more: &str| plate(Big::Mark(what), words::order(what), more);
    let trip = |number: u32, expected: bool| {
        let (label, of) = match timeline.wanted {
            1 => (words::order(What::Tripped).to_string(), String::new()),
            wanted => (words::order_trip(number), words::of_trips(wanted)),
        };
        Plate { number, expected, ..plate(Big::Mark(What::Tripped), &label, &of) }
    };
    let no_trip = || plate(Big::End(Ending::NoTrip), "No trip", "heater is lowered");
    let heat_up = timeline.heat_up();
    let tripped = timeline.trip_of(heat_up);
    let watched = test.frozen.indication.restores == Restores::Watched;
    match timeline.phase {
        Phase::Ended { .. } => vec![Plate { expected: false, ..plate(Big::Nothing, "Ended", "") }],
        Phase::Complete { .. } => vec![plate(Big::End(Ending::Done), words::order(What::Lowered), "ends the test")],
        Phase::AwaitRestore { .. } if is_lowered(test) => {
            let next = plate(Big::End(Ending::Done), "Next detector", "check the restore later");
            vec![mark(What::Restored, ""), next]
        }
        Phase::AwaitRestore { .. } => vec![mark(What::Restored, ""), mark(What::Lowered, "")],
        Phase::SwitchOff { .. } => vec![mark(What::HeaterOff, "")],
        Phase::SwitchOn { .. } => vec![mark(What::HeaterOn, "")],
        Phase::HeatUp { until: None, .. } if tripped.is_some() => vec![mark(What::AtTop, "when you see it")],
        Phase::Cool { .. } if timeline.trips.is_empty() => {
            // It may be over, and only a person can say so: the clock decides nothing. In a heat-up the whole half is the trip's.
            let end = match NoAlarmWait::of(test, timeline) {
                NoAlarmWait::Decided => no_trip(),
                _ => Plate { expected: false, ..plate(Big::End(Ending::NoTrip), "End: no trip", "not decided") },
            };
            vec![trip(heat_up, true), end]
        }
        Phase::Cool { .. } if tripped.is_none() => vec![trip(heat_up, true)],
        Phase::Cool { .. } if watched && tripped.is_some_and(|trip| trip.restore_at.is_none()) => {
            vec![mark(What::Restored, "when it restores")]
        }
        Phase::Soak { .. } if tripped.is_none() && timeline.trips.is_empty() => {
            let mut plates = vec![trip(heat_up, true)];
            match NoAlarmWait::of(test, timeline) {
                NoAlarmWait::Decided => plates.push(no_trip()),
                NoAlarmWait::TopNotSeen => plates.push(mark(What::AtTop, "when you see it")),
                NoAlarmWait::Soak(_) | NoAlarmWait::NotHotEnough | NoAlarmWait::Unknown => {}
            }
            plates
        }
        Phase::HeatUp { .. } | Phase::Soak { .. } if tripped.is_none() => vec![trip(heat_up, true)],
        // Trip and restore are marked: the next thing that can happen to the detector is the next trip.
        _ => vec![trip(heat_up.saturating_add(1), false)],
    }
}

pub(super) fn marks(test: &Test, timeline: &Timeline, plates: &[Plate]) -> Vec<What> {
    let mut marks = match timeline.phase {
        Phase::HeatUp { .. } => vec![What::AtTop, What::Tripped],
        Phase::Soak { .. } => vec![What::HeaterOff, What::Tripped],
        Phase::SwitchOff { .. } => vec![What::HeaterOff, What::Tripped],
        Phase::Cool { .. } | Phase::SwitchOn { .. } => vec![What::HeaterOn, What::Restored],
        Phase::AwaitRestore { .. } | Phase::Complete { .. } => vec![What::Lowered],
        Phase::Ended { .. } => Vec::new(),
    };
    if test.frozen.indication.restores == Restores::CannotBeSeen {
        marks.retain(|what| *what != What::Restored);
    }
    if test.frozen.indication.latching && matches!(timeline.phase, Phase::Cool { .. }) {
        marks.push(What::PanelReset);
    }
    let tripped = timeline.trip_of(timeline.heat_up()).is_some();
    let lowered = is_lowered(test);
    let shown = |what: &What| plates.iter().any(|plate| plate.big == Big::Mark(*what));
    let done = |what: &What| match what {
        What::Tripped => tripped,
        What::Lowered => lowered,
        _ => false,
    };
    marks.retain(|what| !shown(what) && !done(what));
    marks
}

pub(super) fn marks_at_hand(test: &Test) -> bool {
    let cycle = &test.frozen.heater.heating.cycle;
    !cycle.is_auto()
        || cycle.heat_up_ms(1).is_none()
        || cycle.heat_up_ms(2).is_none()
        || test.frozen.indication.latching
}
