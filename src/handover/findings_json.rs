//! Findings as JSON for readers without the app: those of tests, and what a bundle and its readers have in common.

use super::family_json::family_finding;
use super::rounded::rounded;
use crate::book::body::Point;
use crate::book::entries::Book;
use crate::book::timeline::NotCounted;
use crate::book::visit::Visit;
use crate::findings::{
    self, AsRead, AtPanel, Judgement, LimitsSource, TestFindings, TripFinding, Tripped, VisitFindings, Way,
};
use crate::stats::LimitResult;
use serde_json::{Map, Value, json};

/// Findings of visits as a bundle carries them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FindingsJson {
    /// One value per test, those of a visit in the order of their starts.
    pub tests: Vec<Value>,
    /// One value per family of tests side by side.
    pub families: Vec<Value>,
}

impl FindingsJson {
    /// The findings of visits, in their order.
    pub(super) fn of(book: &Book, visits: &[Visit]) -> FindingsJson {
        let mut all = FindingsJson::default();
        visits.iter().for_each(|visit| all.add(&findings::visit(book, visit)));
        all
    }

    /// Adds what a visit says.
    pub fn add(&mut self, of: &VisitFindings) {
        self.tests.extend(of.by_start().into_iter().map(test_finding));
        self.families.extend(of.families.iter().map(|family| family_finding(of.visit, family)));
    }
}

/// The findings of a test as a bundle carries them. Every reason and result goes by a name that stays, whatever the screen says.
fn test_finding(found: &TestFindings) -> Value {
    let frozen = &found.frozen;
    let mut map = Map::new();
    let mut put = |name: &str, value: Value| map.insert(name.into(), value);
    put("test", found.test.to_string().into());
    put("visit", found.visit.to_string().into());
    put("position", found.position.to_string().into());
    put("detector", frozen.detector.of.to_string().into());
    put("tag", frozen.position.place.tag.clone().into());
    put("by", frozen.by.to_string().into());
    put("role", found.role.name().into());
    if let Some(follows) = frozen.follows {
        put("follows", follows.to_string().into());
    }
    put("outcome", found.outcome.name().into());
    let tripped = match &found.tripped {
        Tripped::Yes { .. } => "yes",
        Tripped::No(_) => "no",
        Tripped::NotYet => "not_yet",
        Tripped::NotDecided(_) => "not_decided",
    };
    put("tripped", tripped.into());
    if let Some(why) = found.not_proven() {
        put("not_proven", why.name().into());
    }
    put("at_panel", found.panel.name().into());
    if let AtPanel::Wrong(Some(said)) = &found.panel {
        put("panel_said", said.clone().into());
    }
    put("restored", found.restored.name().into());
    if let Some(early) = &found.early {
        put("early_trip", if early.confirmed { "confirmed" } else { "not_answered" }.into());
    }
    put("not_exercised", found.not_exercised.iter().map(|what| Value::from(what.name())).collect());
    map.insert("trips".into(), found.trips.iter().map(trip).collect());
    match &found.operating {
        Ok(operating) => {
            let unknown: Vec<Value> = operating.unknown.iter().map(|part| part.name().into()).collect();
            let mut value = json!({
                "n": operating.n,
                "mean_c": rounded(operating.mean.0),
                "u_k": rounded(operating.u.0),
                "expanded_k": rounded(operating.expanded.0),
                "range_k": rounded(operating.range.0),
                "complete": operating.complete(),
                "missing": unknown,
            });
            if let (Some(df), Value::Object(map)) = (operating.df, &mut value) {
                map.insert("df".into(), rounded(df));
            }
            if let Value::Object(map) = &mut value {
                map.extend((operating.estimated > 0).then(|| ("estimated".to_string(), operating.estimated.into())));
                map.extend(operating.late.map(|late| ("late_k".to_string(), rounded(late.rise.0))));
                if let Some((rate, u)) = operating.rate {
                    map.insert("rate_k_per_min".into(), rounded(rate.0 * 60.0));
                    map.insert("rate_u_k_per_min".into(), rounded(u.0 * 60.0));
                }
            }
            map.insert("operating".into(), value);
        }
        Err(why) => {
            map.insert("why".into(), why.name().into());
        }
    }
    let judgements = std::iter::once(&found.judged).chain(&found.judged_again);
    map.insert("judgements".into(), judgements.map(judgement).collect());
    map.insert("restores_seen".into(), found.restores.seen.into());
    Value::Object(map)
}

fn trip(trip: &TripFinding) -> Value {
    let counted = match trip.not_counted {
        None => "yes",
        Some(NotCounted::First) => "first",
        Some(NotCounted::NoRestore) => "no_restore",
        Some(NotCounted::Repeat) => "second",
        Some(NotCounted::Surplus) => "extra",
    };
    let mut map = Map::new();
    map.insert("number".into(), trip.number.into());
    map.insert("heat_up".into(), trip.heat_up.into());
    map.insert("at_ms".into(), trip.at.0.into());
    map.insert("counted".into(), counted.into());
    if let Some(reading) = trip.reading {
        map.insert("displayed".into(), format!("{} {}", reading.text(), reading.unit.symbol()).into());
    }
    if let Some(temperature) = &trip.temperature {
        map.insert("temperature_c".into(), rounded(temperature.value.0));
        map.insert("u_k".into(), rounded(temperature.u.0));
        let from = if temperature.way == Way::Read { "reading" } else { "estimate" };
        map.insert("from".into(), from.into());
        if let Some(late) = temperature.shifted() {
            map.insert("late_k".into(), rounded(late.rise.0));
            map.insert("late_u_k".into(), rounded(late.u().0));
        }
    }
    if let Some((point, said)) = &trip.panel {
        let point = match point {
            Point::Right => "right",
            Point::Wrong => "wrong",
            Point::NotThere => "not_there",
            Point::NotChecked => "not_checked",
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
    match &judgement.limit_result {
        Ok(stated) => {
            let limit_result = match stated.limit_result {
                LimitResult::Within => "within",
                LimitResult::WithinCloseToLimit => "within_close_to_limit",
                LimitResult::OutsideWithinUncertainty => "outside_within_uncertainty",
                LimitResult::Outside => "outside",
            };
            map.insert("limit_result".into(), limit_result.into());
            map.insert("p_conform".into(), rounded(stated.p_conform));
        }
        Err(missing) => {
            map.insert("missing".into(), missing.iter().map(|missing| Value::from(missing.name())).collect());
        }
    }
    Value::Object(map)
}
