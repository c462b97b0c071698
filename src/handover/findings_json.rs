//! Findings as JSON for readers without the app, and how two such lists differ.

use crate::book::Id;
use crate::book::body::Point;
use crate::book::phase::NotCounted;
use crate::findings::{AsRead, Judgement, LimitsSource, Operated, RoundFindings, RunFindings, TripFinding};
use crate::order;
use crate::stats::Statement;
use serde_json::{Map, Value, json};

/// Digits after the point of every number in the findings of a bundle: m°C, mK, and thousandths of a probability.
pub const DIGITS: i32 = 3;

/// Members that hold sentences. They are for people, a later app may word them better, and they say nothing that another
/// member does not.
const SENTENCES: [&str; 2] = ["why", "missing"];

/// A finding of a bundle that this app finds otherwise.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Differs {
    /// The run, where it names one.
    pub run: Option<Id>,
    /// Which finding, as the path of members.
    pub what: String,
    /// What the bundle says; empty when it says nothing.
    pub said: String,
    /// What this app finds; empty when it finds nothing.
    pub found: String,
}

/// A number to the digits that a bundle carries.
pub fn rounded(value: f64) -> Value {
    let unit = 10_f64.powi(DIGITS);
    let rounded = (value * unit).round() / unit;
    // Adding zero turns −0 into 0.
    serde_json::Number::from_f64(rounded + 0.0).map_or(Value::Null, Value::Number)
}

/// The findings of a round, one value per run, in the order of their starts.
pub(super) fn runs(findings: &RoundFindings) -> Vec<Value> {
    let mut runs: Vec<&RunFindings> = findings.runs.iter().collect();
    runs = order::by(runs, |found| (found.started_wall, 0, found.run.to_string()));
    runs.into_iter().map(run_finding).collect()
}

/// The findings of a run as a bundle carries them.
pub fn run_finding(found: &RunFindings) -> Value {
    let operated = match found.operated {
        Operated::Yes { .. } => "yes",
        Operated::No { .. } => "no",
        Operated::NotYet | Operated::NotDecided { .. } => "not decided",
    };
    let mut map = Map::new();
    map.insert("run".into(), found.run.to_string().into());
    map.insert("round".into(), found.round.to_string().into());
    map.insert("detector".into(), found.detector.to_string().into());
    map.insert("tag".into(), found.tag.clone().into());
    if let Some(follows) = found.follows {
        map.insert("follows".into(), follows.to_string().into());
    }
    map.insert("operated".into(), operated.into());
    map.insert("trips".into(), found.trips.iter().map(trip).collect());
    match &found.operating {
        Ok(operating) => {
            let unknown: Vec<Value> = operating.unknown.iter().map(|part| part.to_string().into()).collect();
            let mut value = json!({
                "n": operating.n,
                "mean_c": rounded(operating.mean.0),
                "u_k": rounded(operating.u.0),
                "expanded_k": rounded(operating.expanded.0),
                "range_k": rounded(operating.range.value),
                "complete": operating.complete(),
                "missing": unknown,
            });
            if let (Some(df), Value::Object(map)) = (operating.df, &mut value) {
                map.insert("df".into(), rounded(df));
            }
            map.insert("operating".into(), value);
        }
        Err(why) => {
            map.insert("why".into(), why.to_string().into());
        }
    }
    let judgements = std::iter::once(&found.judged).chain(&found.judged_again);
    map.insert("judgements".into(), judgements.map(judgement).collect());
    map.insert("resets_seen".into(), found.resets.seen.into());
    Value::Object(map)
}

fn trip(trip: &TripFinding) -> Value {
    let counted = match trip.not_counted {
        None => "yes",
        Some(NotCounted::First) => "no: one of the first",
        Some(NotCounted::NoReset) => "no: reset not seen before it",
        Some(NotCounted::Repeat) => "no: second in its climb",
        Some(NotCounted::Surplus) => "no: more than asked for",
    };
    let mut map = Map::new();
    map.insert("number".into(), trip.number.into());
    map.insert("climb".into(), trip.climb.into());
    map.insert("at_ms".into(), trip.at.into());
    map.insert("counted".into(), counted.into());
    if let Some(reading) = trip.reading {
        map.insert("displayed".into(), format!("{} {}", reading.text(), reading.unit.symbol()).into());
    }
    if let Some(temperature) = &trip.temperature {
        map.insert("temperature_c".into(), rounded(temperature.value));
        map.insert("u_k".into(), temperature.u.map_or(Value::Null, rounded));
    }
    if let Some((point, said)) = &trip.panel {
        let point = match point {
            Point::Right => "right",
            Point::Wrong => "wrong",
            Point::NotSeen => "not seen",
        };
        map.insert("panel".into(), point.into());
        if let Some(said) = said {
            map.insert("panel_said".into(), said.clone().into());
        }
    }
    Value::Object(map)
}

fn judgement(judgement: &Judgement) -> Value {
    let mut map = Map::new();
    if let Some(by) = judgement.corrected_by {
        map.insert("corrected_by".into(), by.to_string().into());
    }
    if let Ok(limits) = &judgement.limits {
        let from = match limits.from {
            LimitsSource::Procedure => "procedure",
            LimitsSource::Owner => "owner",
            LimitsSource::Marking => "marking",
        };
        map.insert("rating_c".into(), rounded(limits.rating.0));
        map.extend(limits.lower().map(|limit| ("lower_c".to_string(), rounded(limit.0))));
        map.extend(limits.upper().map(|limit| ("upper_c".to_string(), rounded(limit.0))));
        map.insert("limits_from".into(), from.into());
    }
    if let Some(as_read) = judgement.as_read {
        map.insert("as_read".into(), if as_read == AsRead::Within { "within" } else { "outside" }.into());
    }
    match &judgement.statement {
        Ok(stated) => {
            let statement = match stated.statement {
                Statement::Pass => "pass",
                Statement::ConditionalPass => "conditional pass",
                Statement::ConditionalFail => "conditional fail",
                Statement::Fail => "fail",
            };
            map.insert("statement".into(), statement.into());
            map.insert("p_conform".into(), rounded(stated.p_conform.value));
        }
        Err(missing) => {
            map.insert("missing".into(), missing.iter().map(|missing| Value::from(missing.to_string())).collect());
        }
    }
    Value::Object(map)
}

/// Where `said` differs from `found` by more than one unit of the last printed digit, run by run.
pub(super) fn differences(said: &[Value], found: &[Value]) -> Vec<Differs> {
    fn name(value: &Value) -> Option<&str> {
        value.get("run").and_then(Value::as_str)
    }
    let by_run = |list: &[Value]| -> std::collections::BTreeMap<String, Value> {
        order::map(list.iter().map(|value| (name(value).unwrap_or_default().to_string(), value.clone())))
    };
    let (said, found) = (by_run(said), by_run(found));
    let mut differs = Vec::new();
    let names = order::set(said.keys().chain(found.keys()));
    for run in names {
        let mut list = Vec::new();
        compare(said.get(run), found.get(run), "", &mut list);
        differs.extend(list.into_iter().map(|(what, said, found)| Differs {
            run: Id::try_parse(run).ok(),
            what,
            said,
            found,
        }));
    }
    differs
}

fn compare(said: Option<&Value>, found: Option<&Value>, path: &str, list: &mut Vec<(String, String, String)>) {
    let join = |member: &str| if path.is_empty() { member.to_string() } else { format!("{path}.{member}") };
    match (said, found) {
        (Some(Value::Object(said)), Some(Value::Object(found))) => {
            let members = order::set(said.keys().chain(found.keys()));
            for member in members.into_iter().filter(|member| !SENTENCES.contains(&member.as_str())) {
                compare(said.get(member), found.get(member), &join(member), list);
            }
        }
        (Some(Value::Array(said)), Some(Value::Array(found))) => {
            for index in 0..said.len().max(found.len()) {
                compare(said.get(index), found.get(index), &join(&(index + 1).to_string()), list);
            }
        }
        (Some(Value::Number(said)), Some(Value::Number(found))) if close(said.as_f64(), found.as_f64()) => {}
        (said, found) if said == found => {}
        (said, found) => {
            // A foreign value may be as large as the file; the start of it is enough to recognise it.
            let text =
                |value: Option<&Value>| value.map_or_else(String::new, |v| v.to_string().chars().take(60).collect());
            list.push((path.to_string(), text(said), text(found)));
        }
    }
}

/// Whether two printed numbers differ by no more than one unit of the last digit.
fn close(a: Option<f64>, b: Option<f64>) -> bool {
    let units = |value: f64| (value * 10_f64.powi(DIGITS)).round();
    matches!((a, b), (Some(a), Some(b)) if (units(a) - units(b)).abs() <= 1.0)
}
