//! The Devices screen: sites with their areas and positions, heaters, procedures, half-filled forms.

use super::before::marking;
use super::conflicts::{clashes, said_heating, shows_point};
use super::forms::Known;
use super::place::{Form, Place};
use super::words;
use crate::book::Id;
use crate::book::register::Register;
use crate::book::versions::Versions;
use crate::order;
use crate::units::Degree;
use std::collections::BTreeMap;

/// A line of the screen; a tap opens the form.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// The form it opens, which names the thing.
    pub form: Form,
    /// First line.
    pub title: String,
    /// Second line.
    pub detail: String,
    /// Words that have to be seen at once: release, classified location.
    pub flags: Vec<&'static str>,
    /// Whether it stands in several versions.
    pub conflict: bool,
}

/// An area with its positions.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AreaLines {
    /// The area itself.
    pub area: Line,
    /// Which.
    pub id: Id,
    /// Its positions.
    pub positions: Vec<Line>,
    /// The one entered last, to make another like it, with its tag.
    pub last: Option<(Id, String)>,
}

/// A site with everything on it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SiteLines {
    /// The site itself.
    pub site: Line,
    /// Which.
    pub id: Id,
    /// Its areas.
    pub areas: Vec<AreaLines>,
    /// Its circuits.
    pub circuits: Vec<Line>,
    /// Positions that were taken off the list.
    pub retired: Vec<Line>,
}

/// The Register screen.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct RegisterScreen {
    /// Forms that were left half filled.
    pub half_filled: Vec<Line>,
    /// Sites, by name.
    pub sites: Vec<SiteLines>,
    /// Heaters, by name.
    pub heaters: Vec<Line>,
    /// Procedures, by name.
    pub procedures: Vec<Line>,
}

impl RegisterScreen {
    /// The screen in the unit chosen, with the half-filled forms by their addresses.
    pub fn of(known: Known<'_>, drafts: &BTreeMap<String, String>, unit: Degree) -> RegisterScreen {
        let line = |form, title: &str, detail: String| Line {
            form,
            title: title.to_string(),
            detail,
            flags: Vec::new(),
            conflict: !clashes(form, known, unit).is_empty(),
        };
        let Known { register, kit, .. } = known;
        let position = |id: Id| {
            let position = &register.positions[&id];
            let mut line = line(Form::Position(Some(id)), position.tag(), marking(register, position, unit));
            if let Some(duty) = position.duty.now() {
                line.flags.extend(duty.releases.as_ref().is_none_or(|of| !of.is_empty()).then_some(words::RELEASES));
                line.flags.extend(duty.classified.then_some(words::CLASSIFIED));
            }
            line
        };
        let area = |id: Id, name: &str| {
            let positions = register.positions_of(id);
            // Ids of things made later are larger by their first 48 bits, a time in ms (RFC 9562 version 7).
            let last = positions
                .iter()
                .max_by_key(|(id, last)| (id.as_u128() >> 80, last.tag()))
                .map(|(id, last)| (*id, last.tag().to_string()));
            let positions: Vec<Line> = positions.into_iter().map(|(id, _)| position(id)).collect();
            AreaLines { area: line(Form::Area(Some(id)), name, words::positions(positions.len())), id, positions, last }
        };
        let retired = |site: Id| {
            let gone = register.positions.iter().filter(|(id, d)| d.retired() && register.site_of(**id) == Some(site));
            gone.map(|(id, _)| position(*id)).collect()
        };
        let sites = named(
            register.sites.iter().filter_map(|(id, group)| {
                let site = group.now()?;
                let invented = site.invented.then_some(words::INVENTED);
                let detail = site.address.as_deref().into_iter().chain(invented).collect::<Vec<_>>().join(" · ");
                let circuits = register.circuits_of(*id).into_iter();
                Some(SiteLines {
                    site: line(Form::Site(Some(*id)), &site.name, detail),
                    id: *id,
                    areas: register.areas_of(*id).into_iter().map(|(id, now)| area(id, &now.name)).collect(),
                    circuits: circuits
                        .map(|(id, now)| line(Form::Circuit(Some(id)), &now.name, shows_point(now).to_string()))
                        .collect(),
                    retired: retired(*id),
                })
            }),
            |site| &site.site.title,
        );
        let heaters = kit.heaters.iter().map(|(id, heater)| {
            let detail = heater.heating.now().map(|heating| said_heating(heating, unit)).unwrap_or_default();
            line(Form::Heater(Some(*id)), heater.name.now().map_or("", |name| &name.name), detail)
        });
        let procedures = kit.procedures.iter().filter_map(|(id, group)| {
            let now = group.now()?;
            Some(line(Form::Procedure(Some(*id)), &now.name, words::procedure_detail(now)))
        });
        let (heaters, procedures) = (named(heaters, |line| &line.title), named(procedures, |line| &line.title));
        let half_filled = drafts.keys().filter_map(|address| match Place::read(address) {
            Place::Form(form) => Some(Line {
                form,
                title: thing(form).to_string(),
                detail: what(form, register),
                flags: Vec::new(),
                conflict: false,
            }),
            _ => None,
        });
        RegisterScreen { half_filled: half_filled.collect(), sites, heaters, procedures }
    }
}

fn named<T>(things: impl Iterator<Item = T>, name: impl Fn(&T) -> &String) -> Vec<T> {
    order::by(things.collect(), |thing| (0, 0, name(thing).clone()))
}

fn thing(form: Form) -> &'static str {
    match form {
        Form::Site(_) => words::SITE,
        Form::Area(_) => words::AREA,
        Form::Circuit(_) => words::CIRCUIT,
        Form::Position(_) | Form::PositionLike(_) => words::DETECTOR,
        Form::Heater(_) => words::HEATER,
        Form::Procedure(_) => words::PROCEDURE,
        Form::Marking(_) => words::MARKING,
        _ => words::STEP,
    }
}

/// Which thing a half-filled form is about.
fn what(form: Form, register: &Register) -> String {
    let tag = |id: Id| register.positions.get(&id).map(|position| position.tag().to_string());
    let known = match form {
        Form::Site(Some(id)) => register.sites.get(&id).and_then(Versions::now).map(|site| site.name.clone()),
        Form::Area(Some(id)) => register.areas.get(&id).and_then(Versions::now).map(|area| area.name.clone()),
        Form::Position(Some(id)) => tag(id),
        Form::PositionLike(id) => tag(id).map(|tag| words::like(&tag)),
        _ => None,
    };
    known.unwrap_or_else(|| words::HALF_FILLED_NEW.to_string())
}
