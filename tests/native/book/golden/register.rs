//! The register of the site.

use super::kit::{bare_marking, bare_rule_set, classification, marking, rule_set};
use super::writer::*;
use soakbook::book::body::{
    Area, Body, Circuit, Edit, NotifyStep, Removal, RemovedWhy, SheetColumn, SheetColumns, Site, SiteRules, Whom,
};
use soakbook::book::entry::Scope;
use soakbook::trade::classified::Classification;
use soakbook::trade::detector::{Access, AreaConditions, Duty, Make, Place, Reach, Status, WalkingOrder};
use soakbook::units::{Degree, Length, LengthUnit};
use std::sync::Arc;

pub(super) fn place() -> Place {
    Place {
        tag: "HD-1".into(),
        area: id(HALL),
        circuit: Some(id(LOOP)),
        point: text("2/017"),
        panel_text: text("HALL \"NORTH\" 5 µ"),
        location: text("Over the east door"),
        customer_id: text("EQ-00017"),
    }
}

/// Only what every place has.
pub(super) fn bare_place(tag: &str) -> Place {
    Place { tag: tag.into(), area: id(YARD), ..Place::default() }
}

pub(super) fn duty() -> Duty {
    Duty { releases: Some(vec!["Door 7".into()]), monitored: Some(true), classified: true }
}

pub(super) fn make() -> Make {
    Make {
        model: text("Invented 190"),
        serial: text("INV-D-1"),
        date_code: text("1905"),
        installed_on: text("2019-05-04"),
        replace_by: text("2034"),
    }
}

pub(super) fn write(w: &mut Writer) {
    let name = Site { name: "Invented mill".into(), address: None, invented: false };
    let first = w.site(Body::Site(Edit::new(id(SITE), vec![], name)));
    let now = Site { name: "Invented mill, north".into(), address: text("1 Nowhere Lane"), invented: true };
    w.site(Body::Site(Edit::new(id(SITE), vec![first], now)));
    let first = w.site(Body::SiteRules(Edit::new(id(SITE), vec![], SiteRules::default())));
    let step = NotifyStep {
        whom: Whom::SupervisingStation,
        label: text("Invented Monitoring"),
        required: true,
        contact: Some(w.words("Night desk, 555-0101")),
    };
    let other = NotifyStep { whom: Whom::Occupants, label: None, required: false, contact: None };
    let rules = SiteRules {
        visit_interval_months: Some(12),
        impairment_limit_min: Some(240),
        written_notice_h: Some(24),
        rules: vec![rule_set(), bare_rule_set()],
        notify: vec![step, other],
    };
    w.site(Body::SiteRules(Edit::new(id(SITE), vec![first], rules)));
    for (area, name) in [(HALL, "Hall"), (YARD, "Yard")] {
        w.site(Body::Area(Edit::new(id(area), vec![], Area { site: id(SITE), name: name.into() })));
    }
    let full = AreaConditions { ceiling: Some(f(120, 0)), classification: Some(classification()) };
    w.site(Body::AreaConditions(Edit::new(id(HALL), vec![], full)));
    let first = w.site(Body::AreaConditions(Edit::new(id(YARD), vec![], AreaConditions::default())));
    let empty = AreaConditions { ceiling: None, classification: Some(Classification::default()) };
    w.site(Body::AreaConditions(Edit::new(id(YARD), vec![first], empty)));
    let full = Circuit {
        site: id(SITE),
        name: "Loop 2".into(),
        shows_point: true,
        addressable: Some(true),
        releasing: Some(false),
        verification: true,
    };
    let bare = Circuit {
        name: "Zone 9".into(),
        shows_point: false,
        addressable: None,
        releasing: None,
        verification: false,
        ..full.clone()
    };
    w.site(Body::Circuit(Edit::new(id(LOOP), vec![], full)));
    w.site(Body::Circuit(Edit::new(id(ZONE), vec![], bare)));
    positions(w);
    imported(w);
}

fn positions(w: &mut Writer) {
    let (h1, h2, h3) = (id(H1), id(H2), id(H3));
    w.site(Body::PositionPlace(Edit::new(h1, vec![], place())));
    w.site(Body::PositionPlace(Edit::new(h2, vec![], bare_place("HD-2"))));
    w.site(Body::PositionPlace(Edit::new(h3, vec![], bare_place("HD-3"))));
    let access = Access {
        reach: Some(Reach::ScissorLift),
        height: Some(Length { value: 265, scale: -1, unit: LengthUnit::Ft }),
        shutdown: true,
        hazard: text("Crane rail 2 m below"),
    };
    w.site(Body::PositionAccess(Edit::new(h1, vec![], access)));
    w.site(Body::PositionAccess(Edit::new(h2, vec![], Access::default())));
    w.site(Body::PositionDuty(Edit::new(h1, vec![], duty())));
    let nothing = Duty { releases: Some(Vec::new()), ..Duty::default() };
    w.site(Body::PositionDuty(Edit::new(h2, vec![], nothing)));
    w.site(Body::PositionDuty(Edit::new(h3, vec![], Duty::default())));
    w.site(Body::PositionStatus(Edit::new(h1, vec![], Status::default())));
    let both = Status { retired: true, provisional: true };
    w.site(Body::PositionStatus(Edit::new(h2, vec![], both)));
    let undoes = w.last().decision();
    w.site(Body::Undone { undoes });
    w.site(Body::PositionOrder(Edit::new(h1, vec![], WalkingOrder { number: 20 })));
    w.site(Body::PositionOrder(Edit::new(h2, vec![], WalkingOrder { number: -10 })));

    let owner = w.words("Olga Owner, for the mill");
    w.site(Body::DetectorMarking(Edit::new(id(D1), vec![], marking(owner))));
    w.site(Body::DetectorMarking(Edit::new(id(D2), vec![], bare_marking())));
    w.site(Body::DetectorMake(Edit::new(id(D1), vec![], make())));
    w.site(Body::DetectorMake(Edit::new(id(D2), vec![], Make::default())));
    w.site(Body::DetectorInstalled { detector: id(D1), position: h1, happened: None });
    w.site(Body::DetectorInstalled { detector: id(D2), position: h2, happened: Some(at(-60)) });
    let hung = w.site(Body::DetectorInstalled { detector: id(D3), position: h3, happened: None });
    let why = RemovedWhy::Age;
    w.site(Body::DetectorRemoved(Removal { detector: id(D3), ends: hung, why, happened: None }.into()));
}

/// Two positions of a sheet, in two parts.
fn imported(w: &mut Writer) {
    let column = |header: &str, field: Option<String>, unit| SheetColumn { header: header.into(), field, unit };
    let columns = vec![
        column("Device ID", text("tag"), None),
        column("Set Temp", text("rating"), Some(Degree::F)),
        column("Remarks", None, None),
    ];
    w.site(Body::SheetColumns(Edit::new(id(SITE), vec![], SheetColumns { columns })));
    let owner = w.words("Olga Owner, by the sheet");
    for part in 0..2 {
        let (position, detector) = (id(0x40 + u128::from(part)), id(0x50 + u128::from(part)));
        let rows = vec![
            Body::PositionPlace(Edit::new(position, vec![], bare_place(&format!("ROW-{part}")))),
            Body::DetectorInstalled { detector, position, happened: None },
            Body::DetectorMarking(Edit::new(detector, vec![], marking(owner))),
        ];
        w.site(Body::RowsImported { import: id(IMPORT), part, rows: Arc::new(rows) });
    }
    w.say(Scope::Site(id(SITE)), Body::ImportCommitted { import: id(IMPORT), parts: 2, rows: 6 });
}
