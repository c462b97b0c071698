//! The Visit screen: opening and closing steps, the detectors and how far they are.

use super::before::marking;
use super::{time, words};
use crate::book::Id;
use crate::book::body::{Told, Watcher};
use crate::book::entry::Hash;
use crate::book::phase::Timeline;
use crate::book::register::Register;
use crate::book::visit::Visit;
use crate::units::Degree;
use std::collections::BTreeSet;

/// How far a detector is in this visit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Not run yet.
    Due,
    /// A test goes on.
    Running,
    /// It operated.
    Operated,
    /// It did not.
    DidNotOperate,
    /// To be tested once more.
    Again,
    /// Test, and not decided.
    Undecided,
    /// Never heated.
    NoHeat,
}

impl Standing {
    /// In a word or two.
    pub fn words(self) -> &'static str {
        match self {
            Standing::Due => "Not run",
            Standing::Running => "Running",
            Standing::Operated => "Operated",
            Standing::DidNotOperate => "Did not operate",
            Standing::Again => "Retest",
            Standing::Undecided => "Not decided",
            Standing::NoHeat => "No heat",
        }
    }
}

/// A detector's row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DetectorRow {
    /// Which.
    pub id: Id,
    /// Its tag.
    pub tag: String,
    /// Type, rating and tolerance.
    pub detail: String,
    /// How far it is.
    pub standing: Standing,
    /// The test that goes on.
    pub running: Option<Id>,
}

/// One thing that can be released.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReleaseRow {
    /// Its name.
    pub release: String,
    /// The securing in force.
    pub secured: Option<Hash>,
    /// Since when and by whom, or which detectors it hangs on.
    pub detail: String,
}

/// Somebody to be told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WatcherRow {
    /// Who.
    pub whom: Watcher,
    /// Told before.
    pub before: bool,
    /// Told after.
    pub after: bool,
}

/// The Visit screen.
#[derive(Clone, Debug, PartialEq)]
pub struct VisitScreen {
    /// Which.
    pub id: Id,
    /// Name of the site.
    pub site: String,
    /// Whether the site is invented.
    pub invented: bool,
    /// When it was opened.
    pub opened: String,
    /// Whether it is closed.
    pub closed: bool,
    /// Who was told.
    pub watchers: Vec<WatcherRow>,
    /// What can be released.
    pub releases: Vec<ReleaseRow>,
    /// Whether a detector hangs in a classified location.
    pub needs_permit: bool,
    /// Permits as lines.
    pub permits: Vec<String>,
    /// What is out of service: entry, what, and since when (wall, ms).
    pub outages: Vec<(Hash, String, i64)>,
    /// Areas with their detectors.
    pub areas: Vec<(String, Vec<DetectorRow>)>,
    /// How many detectors were tested, of how many that may be heated.
    pub done: (usize, usize),
    /// What still has to be ended before the visit can close.
    pub open_ends: usize,
    /// Marks made by another phone after the closing.
    pub after_closing: usize,
}

/// Who is to be told, with the words for each.
pub fn watcher(whom: Watcher) -> &'static str {
    match whom {
        Watcher::SupervisingStation => "Supervising station",
        Watcher::Occupants => "Occupants",
        Watcher::Owner => "Owner",
        Watcher::FireService => "Fire service",
    }
}

const WATCHERS: [Watcher; 4] = [Watcher::SupervisingStation, Watcher::Occupants, Watcher::Owner, Watcher::FireService];

impl VisitScreen {
    /// Heading of the opening steps, with how far they are.
    pub fn before_up(&self) -> String {
        let told = self.watchers.iter().filter(|row| row.before).count();
        words::before_up(told, self.watchers.len(), !self.outages.is_empty())
    }

    /// Whether nobody has been told and nothing test yet.
    pub fn untouched(&self) -> bool {
        self.done.0 == 0 && self.outages.is_empty() && self.watchers.iter().all(|row| !row.before)
    }

    /// Shapes a visit. `person` gives the name of a person.
    pub fn of(
        register: &Register,
        visit: &Visit,
        unit: Degree,
        offset_min: i64,
        person: impl Fn(Id) -> String,
    ) -> VisitScreen {
        let site = register.sites.get(&visit.site).and_then(|group| group.now());
        let told = |whom, when| visit.told.iter().any(|(who, at, _)| *who == whom && *at == when);
        let areas: Vec<(String, Vec<DetectorRow>)> = register
            .areas_of(visit.site)
            .into_iter()
            .map(|(id, area)| (area.name.clone(), rows(register, visit, id, unit)))
            .filter(|(_, rows)| !rows.is_empty())
            .collect();
        let heated = || areas.iter().flat_map(|(_, rows)| rows).filter(|row| row.standing != Standing::NoHeat);
        let ran = heated().filter(|row| !matches!(row.standing, Standing::Due | Standing::Running)).count();
        let circuit = |id: Option<Id>| match id {
            None => "The whole system".to_string(),
            Some(id) => {
                register.circuits.get(&id).and_then(|group| group.now()).map_or("A circuit".into(), |c| c.name.clone())
            }
        };
        VisitScreen {
            id: visit.id,
            site: site.map_or_else(|| "Unknown site".to_string(), |site| site.name.clone()),
            invented: site.is_some_and(|site| site.invented),
            opened: time::wall(visit.opened, offset_min),
            closed: !visit.closed.is_empty(),
            watchers: WATCHERS
                .iter()
                .map(|whom| WatcherRow {
                    whom: *whom,
                    before: told(*whom, Told::Before),
                    after: told(*whom, Told::After),
                })
                .collect(),
            releases: releases(register, visit, offset_min, person),
            needs_permit: detectors(register, visit.site)
                .any(|(_, d)| d.duty.now().is_some_and(|duty| duty.classified)),
            permits: visit
                .permits
                .iter()
                .map(|p| {
                    format!("Permit {} · gas test {} · until {}", p.number, p.gas_test, time::wall(p.until, offset_min))
                })
                .collect(),
            outages: visit
                .outages
                .iter()
                .filter(|outage| outage.to.is_none())
                .map(|outage| (outage.hash, circuit(outage.circuit), outage.from))
                .collect(),
            done: (ran, heated().count()),
            areas,
            open_ends: visit.open_ends() + visit.active().count(),
            after_closing: visit.after_closing.len(),
        }
    }
}

fn detectors(register: &Register, site: Id) -> impl Iterator<Item = (Id, &crate::book::register::Detector)> {
    register.areas_of(site).into_iter().flat_map(|(area, _)| register.detectors_of(area))
}

fn rows(register: &Register, visit: &Visit, area: Id, unit: Degree) -> Vec<DetectorRow> {
    let row = |(id, detector): (Id, &crate::book::register::Detector)| DetectorRow {
        id,
        tag: detector.tag().to_string(),
        detail: marking(detector, unit),
        standing: standing(visit, id, detector),
        running: visit.active().find(|test| test.frozen.detector.of == id).map(|test| test.id),
    };
    register.detectors_of(area).into_iter().map(row).collect()
}

fn standing(visit: &Visit, id: Id, detector: &crate::book::register::Detector) -> Standing {
    use crate::trade::heating::{Heat, may_heat};
    use crate::trade::procedure::Template;
    let Some(test) = visit.tests_of(id).last() else {
        let never = detector
            .marking
            .now()
            .is_some_and(|m| may_heat(m.detector_type, m.class.is_some(), Template::Functional) == Heat::UsesUpElement);
        return if never { Standing::NoHeat } else { Standing::Due };
    };
    if test.ended.is_none() {
        return Standing::Running;
    }
    if visit.again.iter().any(|again| again.detector == id && !again.taken) {
        return Standing::Again;
    }
    match Timeline::of(test, i64::MAX).operated() {
        Some(true) => Standing::Operated,
        Some(false) => Standing::DidNotOperate,
        None => Standing::Undecided,
    }
}

fn releases(register: &Register, visit: &Visit, offset_min: i64, person: impl Fn(Id) -> String) -> Vec<ReleaseRow> {
    let mut names: BTreeSet<String> = BTreeSet::new();
    for (_, detector) in detectors(register, visit.site) {
        names.extend(detector.duty.now().into_iter().flat_map(|duty| duty.releases.iter().cloned()));
    }
    // Something secured stays on the list until it is restored, whatever the register says meanwhile.
    names.extend(visit.securings.iter().filter(|s| s.restored.is_none()).map(|s| s.release.clone()));
    let row = |release: String| {
        let in_force = visit.securings.iter().find(|s| s.release == release && s.restored.is_none());
        let last = visit.securings.iter().rfind(|s| s.release == release).and_then(|s| s.restored);
        let detail = match (in_force, last) {
            (Some(s), _) => format!("Secured {} by {}", time::of_day(s.wall, offset_min), person(s.by)),
            (None, Some((by, wall))) => format!("Restored {} by {}", time::of_day(wall, offset_min), person(by)),
            (None, None) => "Not secured".to_string(),
        };
        ReleaseRow { secured: in_force.map(|s| s.hash), release, detail }
    };
    names.into_iter().map(row).collect()
}

/// Out of service this long asks for the authority and a fire watch, ms: 4 hours (NFPA 101 (2009) 9.6.1.6); local rules differ.
pub const OUT_OF_SERVICE_LIMIT_MS: i64 = 4 * 3_600_000;

/// The out-of-service clock: text and whether the usual limit is near (30 minutes) or passed.
pub fn out_of_service(from_wall: i64, now_wall: i64) -> (String, bool) {
    let gone = now_wall.saturating_sub(from_wall).max(0);
    (time::gone(gone), gone > OUT_OF_SERVICE_LIMIT_MS - 30 * 60_000)
}
