//! Tests side by side as JSON for readers without the app.

use super::rounded::rounded;
use crate::book::Id;
use crate::encoding::stored::Stored;
use crate::findings::{Compared, Family, FamilyRemark, Member, Within};
use crate::units::Degree;
use serde_json::{Map, Value, json};

/// A family: what its tests have in common, what comparing them gave, and every test.
pub(super) fn family_finding(visit: Id, of: &Family) -> Value {
    let compared = match of.compared {
        Compared::TooFew => "too_few",
        Compared::TooMany => "too_many",
        Compared::Scored(_) => "scored",
    };
    let unlike = of.unlike().map(|(member, within)| {
        let by = of.apart(member).text(Degree::C, 2);
        format!("{} reads {by} K unlike the rest, {}", member.tag(), within.words())
    });
    let mut family = json!({
        "visit": visit.to_string(),
        "area": of.area.to_string(),
        "detector_type": of.detector_type.to_value(),
        "rating_c": rounded(of.rating.celsius().0),
        "procedure": of.procedure,
        "as_left": of.as_left,
        "from": if of.estimated { "estimates" } else { "readings" },
        "positions": of.detectors,
        "median_k": rounded(of.median.0),
        "compared": compared,
        "members": of.members.iter().map(member).collect::<Vec<_>>(),
        "flags": of.flagged().map(|member| member.tag().to_owned()).collect::<Vec<_>>(),
        "shifts": of.remarks.iter().map(shift).collect::<Vec<_>>(),
        "remarks": of.remarks.iter().map(ToString::to_string).chain(unlike).collect::<Vec<_>>(),
    });
    if let (Compared::Scored(scored), Value::Object(map)) = (&of.compared, &mut family) {
        map.insert("cut_off".into(), rounded(scored.cut_off));
        map.insert("scale_k".into(), rounded(scored.scale.0));
        map.extend(scored.esd.map(|esd| ("esd".to_string(), esd.named.into())));
    }
    family
}

fn member(of: &Member) -> Value {
    let mut map = Map::new();
    map.insert("test".into(), of.test.to_string().into());
    map.insert("tag".into(), of.tag().into());
    map.insert("deviation_k".into(), rounded(of.deviation.0));
    map.insert("expanded_k".into(), rounded(of.expanded.0));
    map.extend(of.score.map(|score| ("score".to_string(), rounded(score))));
    map.insert("flagged".into(), of.flagged.into());
    map.insert("esd".into(), of.esd.into());
    let within = of.within.map(|within| match within {
        Within::Itself => "own_uncertainty",
        Within::Heaters => "heaters",
    });
    map.extend(within.map(|within| ("within".to_string(), within.into())));
    Value::Object(map)
}

/// What a remark rests on, as numbers.
fn shift(remark: &FamilyRemark) -> Value {
    let (of, value) = match remark {
        FamilyRemark::AllShifted(_) => ("all", "by_k"),
        FamilyRemark::HeaterApart { .. } => ("heater", "by_k"),
        FamilyRemark::WithAmbient(_) => ("ambient", "k_per_k"),
    };
    let mut map = Map::new();
    map.insert("of".into(), of.into());
    if let FamilyRemark::HeaterApart { heater, .. } = remark {
        map.insert("heater".into(), heater.clone().into());
    }
    let figure = remark.figure();
    map.insert(value.into(), rounded(figure.value));
    map.extend(figure.u.map(|u| ("u_k".to_string(), rounded(u))));
    Value::Object(map)
}
