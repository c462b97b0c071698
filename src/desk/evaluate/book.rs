//! What the entries of a book say, as records.

use serde_json::{Map, Value, json};

use super::text;
use crate::book::log::Book;
use crate::book::round::{Round, rounds};
use crate::findings::{self, Compared, Family, Member, RunFindings};
use crate::handover::{rounded, run_finding};
use crate::order;

/// Everything worked out again.
#[derive(Debug, Default)]
pub(super) struct Found {
    /// The findings of each run as a bundle carries them.
    pub(super) runs: Vec<Value>,
    /// What is told beside, run by run.
    beside: Vec<Map<String, Value>>,
    /// Runs side by side.
    families: Vec<Value>,
}

impl Found {
    /// Works out every round of a book, oldest first, its runs by start.
    pub(super) fn of(book: &Book) -> Found {
        let mut found = Found::default();
        for round in rounds(book).iter().rev() {
            found.add(book, round);
        }
        found
    }

    fn add(&mut self, book: &Book, round: &Round) {
        let said = findings::round(book, round);
        let runs = order::by(said.runs.iter().collect(), |run| (run.started_wall, 0, run.run.to_string()));
        for run in runs {
            self.runs.push(run_finding(run));
            self.beside.push(beside(run));
        }
        self.families.extend(said.families.iter().map(|of| family(round, of)));
    }

    /// The records, one for each run and one for each family.
    pub(super) fn records(self) -> impl Iterator<Item = Value> {
        let runs = self.runs.into_iter().zip(self.beside).map(|(mut run, beside)| {
            if let Value::Object(map) = &mut run {
                map.insert("kind".into(), "run".into());
                map.extend(beside);
            }
            run
        });
        runs.chain(self.families)
    }
}

/// What a run says beside the findings that a bundle carries.
fn beside(run: &RunFindings) -> Map<String, Value> {
    let mut map = Map::new();
    map.insert("started".into(), text::instant(run.started_wall).into());
    let flags = run.odd.iter().map(|odd| odd.words().to_string());
    let remarks = run.holding().iter().flat_map(|judgement| &judgement.remarks).map(ToString::to_string);
    map.insert("flags".into(), flags.chain(remarks).map(Value::from).collect());
    map
}

/// A family: what its runs have in common, what comparing them gave, and every run.
fn family(round: &Round, of: &Family) -> Value {
    let compared = match of.compared {
        Compared::TooFew => "too few",
        Compared::TooMany => "too many",
        Compared::Scored(_) => "scored",
    };
    let mut record = json!({
        "kind": "family",
        "round": round.id.to_string(),
        "area": of.area.to_string(),
        "detector_kind": of.kind.words(),
        "rating_c": rounded(of.rating.celsius().0),
        "procedure": of.procedure,
        "as_left": of.as_left,
        "detectors": of.detectors,
        "median_k": rounded(of.median.0),
        "compared": compared,
        "members": of.members.iter().map(member).collect::<Vec<_>>(),
        "flags": of.flagged().map(|member| member.tag.clone()).collect::<Vec<_>>(),
        "remarks": of.remarks.iter().map(ToString::to_string).collect::<Vec<_>>(),
    });
    if let (Compared::Scored(scored), Value::Object(map)) = (&of.compared, &mut record) {
        map.insert("cut_off".into(), rounded(scored.cut_off));
        map.insert("scale_k".into(), rounded(scored.scale.0));
        map.extend(scored.esd.map(|named| ("esd".to_string(), named.into())));
    }
    record
}

fn member(of: &Member) -> Value {
    let mut map = Map::new();
    map.insert("run".into(), of.run.to_string().into());
    map.insert("tag".into(), of.tag.clone().into());
    map.insert("deviation_k".into(), rounded(of.deviation.0));
    map.insert("expanded_k".into(), rounded(of.expanded.0));
    map.extend(of.score.map(|score| ("score".to_string(), rounded(score))));
    map.insert("flagged".into(), of.flagged.into());
    map.insert("esd".into(), of.esd.into());
    Value::Object(map)
}
