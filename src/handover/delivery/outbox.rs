//! The outbox: which file is asked about next, and when.

use super::answer::{Answer, Meaning, Rule, Step, Why};
use crate::encoding::stored::fields;
use crate::units::{Mono, Wall};
use std::collections::BTreeMap;

/// How long after a failure, and after each further one, ms; the last one from then on. Own figures: soon after a hiccup, rarely in a
/// dead spot.
pub const WAITS_MS: [i64; 6] = [2_000, 5_000, 15_000, 60_000, 300_000, 900_000];

/// How long until it is looked again whether a test is over, ms. Own figure.
const BUSY_MS: i64 = 15_000;

/// A file that was put into the outbox, as it is kept beside its text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Parcel {
    /// The file's name, by its content.
    pub name: String,
    /// SHA-256 of its text, hex.
    pub digest: String,
    /// Up to which place it holds each chain: number of entries and last hash.
    pub chains: BTreeMap<String, (usize, String)>,
    /// When it was confirmed, UTC ms; none before.
    pub delivered: Option<Wall>,
    /// How many photos had no room in it or were not here; none where it has all of them.
    pub without: Option<usize>,
}

fields!(Parcel { name, digest, chains, delivered, without });

/// A request to be made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Job {
    /// The file.
    pub name: String,
    /// Its SHA-256, hex.
    pub digest: String,
    /// What is asked.
    pub step: Step,
}

/// Where a file stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// It waits; why it did not arrive at the last try.
    Waiting(Option<Why>),
    /// It is being sent or read back.
    Sending(Step),
    /// It is there, confirmed at this time, UTC ms.
    Delivered(Wall),
    /// It is not tried again by itself.
    Refused(Why),
}

/// What to do now.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Next {
    /// Make this request and tell its answer.
    Do(Job),
    /// Look again at this time, on the clock of the argument.
    At(Mono),
    /// Nothing until something changes.
    Nothing,
}

#[derive(Clone, Debug, PartialEq, Eq)]
struct File {
    parcel: Parcel,
    state: State,
    failures: usize,
    due: Mono,
}

/// The outbox.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Outbox {
    files: Vec<File>,
    /// Failures in a row that were no file's own.
    failures: usize,
    /// Nothing is sent before, ms.
    quiet_until: Mono,
    revision: u64,
}

impl Outbox {
    /// The outbox at a start: everything that is not confirmed waits.
    pub fn of(parcels: Vec<Parcel>) -> Outbox {
        let mut outbox = Outbox::default();
        for parcel in parcels {
            outbox.add(parcel);
        }
        outbox
    }

    /// Counts changes.
    pub fn revision(&self) -> u64 {
        self.revision
    }

    /// Adds a file; false where one of its name, which means of its content, is there already.
    pub fn add(&mut self, parcel: Parcel) -> bool {
        if self.files.iter().any(|file| file.parcel.name == parcel.name) {
            return false;
        }
        let state = parcel.delivered.map_or(State::Waiting(None), State::Delivered);
        self.files.push(File { parcel, state, failures: 0, due: Mono(0) });
        self.revision += 1;
        true
    }

    /// Every file with its state, in the order it came.
    pub fn files(&self) -> impl DoubleEndedIterator<Item = (&Parcel, State)> {
        self.files.iter().map(|file| (&file.parcel, file.state))
    }

    /// How many are not confirmed.
    pub fn unconfirmed(&self) -> usize {
        self.files.iter().filter(|file| !matches!(file.state, State::Delivered(_))).count()
    }

    /// Whether a file holds these chains as far as they go.
    pub fn holds(&self, chains: &BTreeMap<String, (usize, String)>) -> bool {
        let within = |file: &&File| chains.iter().all(|(name, head)| file.parcel.chains.get(name) == Some(head));
        self.files.iter().any(|file| within(&file))
    }

    /// What to do at a time; nothing is sent while the phone is busy with a test.
    pub fn next(&mut self, now: Mono, busy: bool) -> Next {
        let stops = |file: &File| match file.state {
            State::Sending(_) => true,
            State::Refused(why) => why.rule() == Rule::Stop,
            State::Waiting(_) | State::Delivered(_) => false,
        };
        if self.files.iter().any(stops) {
            return Next::Nothing;
        }
        let quiet_until = self.quiet_until;
        // Of files due at once the one that failed least: one that always fails keeps none of the others back.
        let mut first: Option<((Mono, usize), &mut File)> = None;
        for file in self.files.iter_mut().filter(|file| matches!(file.state, State::Waiting(_))) {
            let order = (file.due.max(quiet_until).max(now), file.failures);
            if first.as_ref().is_none_or(|(soonest, _)| order < *soonest) {
                first = Some((order, file));
            }
        }
        let Some(((due, _), file)) = first else { return Next::Nothing };
        if busy {
            return Next::At(due.max(now.saturating_add(BUSY_MS)));
        }
        if due > now {
            return Next::At(due);
        }
        file.state = State::Sending(Step::Put);
        self.revision += 1;
        Next::Do(file.job(Step::Put))
    }

    /// Takes an answer to a request. The file, once it is confirmed; the next request where one follows at once.
    pub fn answered(&mut self, job: &Job, answer: Answer, now: Mono, wall: Wall) -> (Option<Parcel>, Option<Job>) {
        let asked = |file: &&mut File| file.parcel.name == job.name && file.state == State::Sending(job.step);
        let (Some(file), Some(meaning)) = (self.files.iter_mut().find(asked), answer.meaning(job.step)) else {
            return (None, None);
        };
        self.revision += 1;
        match meaning {
            Meaning::Delivered => {
                file.state = State::Delivered(wall);
                file.parcel.delivered = Some(wall);
                let parcel = file.parcel.clone();
                (self.failures, self.quiet_until) = (0, Mono(0));
                (Some(parcel), None)
            }
            Meaning::ReadBack => {
                let Answer::Put(after) = answer else { return (None, None) };
                let step = Step::ReadBack { after };
                file.state = State::Sending(step);
                (None, Some(file.job(step)))
            }
            Meaning::Not(why) => {
                let rule = why.rule();
                file.state = match rule {
                    Rule::AllLater | Rule::Later => State::Waiting(Some(why)),
                    Rule::Never | Rule::Stop => State::Refused(why),
                };
                file.due = now.saturating_add(wait(file.failures));
                file.failures += 1;
                if rule == Rule::AllLater {
                    self.quiet_until = now.saturating_add(wait(self.failures));
                    self.failures += 1;
                }
                (None, None)
            }
        }
    }

    /// Everything that is not confirmed may be tried at once: by hand, at a start, with another folder.
    pub fn again(&mut self) {
        for file in &mut self.files {
            if let State::Refused(why) = file.state {
                file.state = State::Waiting(Some(why));
            }
            (file.failures, file.due) = (0, Mono(0));
        }
        (self.failures, self.quiet_until) = (0, Mono(0));
        self.revision += 1;
    }

    /// The network is back: what waits is tried at once. What was refused stays refused, because that was no matter of the network.
    pub fn online(&mut self) {
        for file in &mut self.files {
            if matches!(file.state, State::Waiting(Some(why)) if why.rule() == Rule::AllLater) {
                // The first try often comes before the network can be used, and must not cost the longest wait; others still go first.
                (file.failures, file.due) = (file.failures.min(1), Mono(0));
            }
        }
        (self.failures, self.quiet_until) = (0, Mono(0));
    }
}

impl File {
    fn job(&self, step: Step) -> Job {
        Job { name: self.parcel.name.clone(), digest: self.parcel.digest.clone(), step }
    }
}

fn wait(failures: usize) -> i64 {
    WAITS_MS[failures.min(WAITS_MS.len() - 1)]
}
