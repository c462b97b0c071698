//! The form of a procedure: the numbers are there, and saving confirms them.

use super::reader::{Reader, difference_text};
use super::{Answer, Ask, Field, Name, Offer, Page, Part, Typed, Wrongs, name, title, units};
use crate::book::Id;
use crate::book::command::Command;
use crate::book::kit::Kit;
use crate::book::refusal;
use crate::trade::heater::Cycle;
use crate::trade::procedure::{OwnLimits, Procedure, Template};
use crate::units::Degree;
use crate::view::time;

const NAME: Name = name!("procedure-name", "Name of the procedure");
const TEMPLATE: Name = name!("template", "What it is for");
const TRIPS: Name = name!("trips", "Trips");
const UNCOUNTED: Name = name!("uncounted", "Trips that do not count");
const SOAK: Name = name!("soak", "Soak");
const OFF: Name = name!("off", "Heat off");
const APPENDED: Name = name!("appended", "Trips that may be appended");
const MINUS: Name = name!("lower", "Lower limit");
const PLUS: Name = name!("top", "Upper limit");

const TEMPLATES: [(Template, &str); 2] = [(Template::SetPoint, "set-point"), (Template::Functional, "functional")];

pub(super) fn open(id: Option<Id>, kit: &Kit, unit: Degree) -> Typed {
    let mut typed = Typed::default();
    typed.put_unit(unit);
    match id.and_then(|id| kit.procedures.get(&id)?.now()) {
        Some(procedure) => fill(&mut typed, procedure, unit),
        None => fill(&mut typed, &Procedure::set_point_template(), unit),
    }
    typed
}

fn fill(typed: &mut Typed, procedure: &Procedure, unit: Degree) {
    typed.put(NAME, &procedure.name);
    let template = TEMPLATES.iter().find(|(template, _)| *template == procedure.template);
    typed.put(TEMPLATE, template.map_or("", |(_, code)| code));
    typed.put(TRIPS, procedure.trips.to_string());
    typed.put(UNCOUNTED, procedure.uncounted.to_string());
    typed.put(SOAK, time::gone(procedure.soak_ms));
    typed.put(OFF, time::gone(procedure.off_ms));
    typed.put(APPENDED, procedure.appended_at_most.to_string());
    if let Some(limits) = &procedure.limits {
        typed.put_unit(limits.minus.unit);
        typed.put(MINUS, difference_text(&limits.minus, limits.minus.unit));
        typed.put(PLUS, difference_text(&limits.plus, limits.minus.unit));
    } else {
        typed.put_unit(unit);
    }
}

/// A new procedure takes the numbers of the template that is chosen.
pub(super) fn answered(typed: &mut Typed, key: &str, new: bool) {
    if key != TEMPLATE.key || !new {
        return;
    }
    let unit = typed.unit();
    match typed.of(TEMPLATE) {
        "set-point" => fill(typed, &Procedure::set_point_template(), unit),
        "functional" => fill(typed, &Procedure::functional_template(), unit),
        _ => {}
    }
}

pub(super) fn page(new: bool, typed: &Typed, kit: &Kit) -> Page {
    let unit = typed.unit();
    let templates = vec![
        Answer::with("set-point", Template::SetPoint.words(), "Several trips, a mean: where does it operate."),
        Answer::with("functional", Template::Functional.words(), "One trip, one restore: does it operate."),
    ];
    let numbers = vec![
        Field::new(TEMPLATE, Ask::Choice(templates)),
        Field::new(NAME, Ask::Line),
        Field::new(TRIPS, Ask::Whole).help("How many to take."),
        Field::new(UNCOUNTED, Ask::Whole).help("How many first ones are left out of the mean."),
        Field::length(SOAK, typed, "From reaching the top temperature in the first heat-up."),
        Field::length(OFF, typed, "Time without heat between trips, in which the detector should restore."),
        Field::new(APPENDED, Ask::Whole).help(
            "When a watched restore was not seen, that trip does not count and one more is taken, up to so many.",
        ),
    ];
    let limits = vec![
        Field::difference(MINUS, unit).help("Below the rating, with its sign, such as −5."),
        Field::difference(PLUS, unit).help("Above the rating, such as 5."),
        units(),
    ];
    let parts = vec![
        Part { title: "", folded: false, note: "", fields: numbers },
        Part {
            title: "Limits of the owner for this method",
            folded: true,
            note: "May be left empty. When given they stand before the detector's own.",
            fields: limits,
        },
    ];
    Page {
        title: title(new, "procedure"),
        lead: "The numbers filled in are common practice; there is no published source for them. Hold them against what the owner and the detector's instructions ask for. Saving confirms them.",
        parts,
        offers: offers(kit),
        save: "Confirm and save",
        first: None,
    }
}

/// A heater that cycles by itself cannot be told what to do, so its own times are offered.
fn offers(kit: &Kit) -> Vec<Offer> {
    let own =
        kit.heaters.values().filter_map(|heater| match (heater.name.now(), heater.heating.now().map(|h| &h.cycle)) {
            (Some(name), Some(Cycle::ByItself { hold_first_ms, off_ms, .. })) => {
                let (soak, off) = (time::gone(*hold_first_ms), time::gone(*off_ms));
                let label = format!("Take the times of {}: soak {soak}, off {off}", name.name);
                Some(Offer { label, puts: vec![(SOAK.key, soak), (OFF.key, off)] })
            }
            _ => None,
        });
    own.collect()
}

pub(super) fn put(typed: &Typed, id: Id) -> Result<Command, Wrongs> {
    let mut reader = Reader::new(typed);
    let name = reader.name(NAME);
    let template = reader.choose(TEMPLATE, TEMPLATES).unwrap_or(Template::SetPoint);
    let trips = reader.whole(TRIPS, (1, 20), "trips");
    let uncounted = reader.whole(UNCOUNTED, (0, (trips - 1).max(0)), "trips");
    let appended = reader.whole(APPENDED, (0, 10), "trips");
    let soak = reader.length(SOAK, (0, 3_600));
    let soak_ms = reader.must(SOAK, soak).unwrap_or_default();
    let off = reader.length(OFF, (1, 3_600));
    let off_ms = reader.must(OFF, off).unwrap_or_default();
    let (minus, plus) = (reader.difference(MINUS, (-60.0, 0.0)), reader.difference(PLUS, (0.0, 60.0)));
    if typed.has(MINUS) != typed.has(PLUS) {
        let name = if typed.has(MINUS) { PLUS } else { MINUS };
        reader.wrong(name, &refusal::Field::Empty { name: name.label });
    }
    let small = |number: i64| u32::try_from(number).unwrap_or_default();
    let now = Procedure {
        name,
        template,
        trips: small(trips),
        uncounted: small(uncounted),
        soak_ms,
        off_ms,
        appended_at_most: small(appended),
        limits: minus.zip(plus).map(|(minus, plus)| OwnLimits { minus, plus }),
        confirmed: true,
    };
    reader.done(Command::PutProcedure { procedure: id, now: Box::new(now) })
}
