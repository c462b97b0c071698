//! The works in full: sixty positions of every type, in groups that share everything but their numbers.

use super::small::{Demo, demo, f, limited, marked};
use crate::book::Id;
use crate::book::body::{Area, Circuit};
use crate::book::command::{Command, PutPosition};
use crate::trade::detector::{Access, AreaConditions, Duty, Make, Marking, Place, RateFunction, Reach};
use crate::trade::detector_type::DetectorType as Type;
use crate::units::{Length, LengthUnit, Wall};

/// Areas beside those of the small works.
const AREAS: [&str; 7] =
    ["Syrup loft", "Cold store", "Boiler house", "Dispatch", "Offices", "Labelling", "Kettle gallery"];

/// Circuits beside those of the small works: name, whether the panel shows the point, whether it releases.
const CIRCUITS: [(&str, bool, bool); 4] =
    [("Loop 4", true, false), ("Zone 5", false, false), ("Zone 6", false, false), ("Kettle spray", false, true)];

/// What hangs on the alarm of the kettle gallery.
const SPRAY: &str = "Kettle water spray";

/// Positions that share everything but their numbers.
struct Group {
    letter: char,
    /// Number of the first one.
    first: i64,
    count: i64,
    /// Place in [`AREAS`].
    area: usize,
    /// Place in [`CIRCUITS`].
    circuit: usize,
    detector_type: Type,
    /// Rating, lower and upper limit, °F; none is 0.
    rating: [i64; 3],
    reach: Reach,
    height_ft: i64,
}

const fn group(tags: (char, i64, i64), at: (usize, usize), of: (Type, [i64; 3]), reach: (Reach, i64)) -> Group {
    Group {
        letter: tags.0,
        first: tags.1,
        count: tags.2,
        area: at.0,
        circuit: at.1,
        detector_type: of.0,
        rating: of.1,
        reach: reach.0,
        height_ft: reach.1,
    }
}

const GROUPS: [Group; 9] = [
    group(('L', 1, 12), (0, 0), (Type::RateCompensated, [194, -7, 9]), (Reach::Ladder, 11)),
    group(('K', 1, 8), (1, 0), (Type::Electronic, [135, 0, 0]), (Reach::ScissorLift, 19)),
    group(('B', 1, 6), (2, 1), (Type::CombinationRestorable, [200, 0, 0]), (Reach::BoomLift, 34)),
    group(('D', 1, 6), (3, 2), (Type::RateOfRise, [0; 3]), (Reach::ScissorLift, 23)),
    group(('D', 7, 3), (3, 2), (Type::FixedNonrestorable, [165, 0, 0]), (Reach::ScissorLift, 23)),
    group(('D', 10, 1), (3, 2), (Type::Unknown, [0; 3]), (Reach::ScissorLift, 23)),
    group(('O', 1, 8), (4, 1), (Type::CombinationNonrestorable, [200, 0, 0]), (Reach::Floor, 9)),
    group(('G', 1, 4), (5, 2), (Type::FixedRestorable, [135, -6, 7]), (Reach::Ladder, 12)),
    group(('R', 1, 3), (6, 3), (Type::FixedRestorable, [135, -6, 7]), (Reach::Scaffold, 27)),
];

/// The works in full. The commands of the small works, which open today's visit last, have those of the larger ones before that.
pub(super) fn works(new_id: &mut impl FnMut() -> Id, wall_ms: Wall) -> Demo {
    let mut small = demo(&mut *new_id, wall_ms);
    let (site, open) = (small.site, small.commands.pop());
    let areas = AREAS.map(|name| (new_id(), name));
    let circuits = CIRCUITS.map(|circuit| (new_id(), circuit));
    small.commands.extend(areas.map(|(area, name)| Command::PutArea {
        area,
        now: Area { site, name: name.to_string() },
        conditions: AreaConditions::default(),
    }));
    small.commands.extend(circuits.map(|(circuit, (name, shows_point, releasing))| Command::PutCircuit {
        circuit,
        now: Circuit {
            site,
            name: name.to_string(),
            shows_point,
            addressable: Some(shows_point),
            releasing: Some(releasing),
            verification: false,
        },
    }));
    // Behind the nine points of the small works.
    let mut point = 9;
    for group in &GROUPS {
        for number in group.first..group.first + group.count {
            point += 1;
            let place = Place {
                tag: format!("{}-{number:02}", group.letter),
                area: areas[group.area].0,
                circuit: Some(circuits[group.circuit].0),
                point: Some(format!("{point:03}")),
                ..Place::default()
            };
            small.commands.push(Command::PutPosition(Box::new(put(group, place, [new_id(), new_id()]))));
        }
    }
    small.commands.extend(open);
    small
}

fn put(group: &Group, place: Place, [position, detector]: [Id; 2]) -> PutPosition {
    let [rating, minus, plus] = group.rating;
    let given = |limit: i64| (limit != 0).then(|| f(limit));
    let marking = Marking {
        minus: given(minus),
        plus: given(plus),
        rate_function: (group.detector_type == Type::Electronic).then_some(RateFunction::Off),
        ..marked(group.detector_type, (rating != 0).then_some(rating))
    };
    let releases = if group.letter == 'R' { vec![SPRAY.to_string()] } else { Vec::new() };
    let height = Length { value: group.height_ft, scale: 0, unit: LengthUnit::Ft };
    PutPosition {
        position,
        detector,
        place,
        access: Access { reach: Some(group.reach), height: Some(height), ..Access::default() },
        duty: Duty { releases: Some(releases), monitored: Some(true), classified: false },
        marking: limited(marking),
        make: Make { installed_on: Some("2019-05-06".to_string()), ..Make::default() },
    }
}
