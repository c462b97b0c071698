//! The tests of the visit, and what else was found out about its positions.

use super::kit::{bare_heater, bare_marking, heater, marking, procedure};
use super::register::{bare_place, duty, make, place};
use super::writer::*;
use soakbook::book::body::{
    Answer, Body, CircuitProof, ClockOf, DetectorSnapshot, Ending, Method, NotTested, NotTestedWhy, OtherMethod,
    Outputs, PanelSighting, Point, PositionSnapshot, ReadingCorrection, RestoreWord, RetestWhy, StationSaw, TestStart,
    VisualCheck, What, Who,
};
use soakbook::book::entry::Hash;
use soakbook::trade::conditions::{Air, IndicatedBy, Indication, RateAnswer, Restores, Visual, Warmth};
use soakbook::trade::detector::{Duty, Make};
use soakbook::trade::procedure::Procedure;
use std::sync::Arc;

/// What the marking of a detector comes from.
fn marked_by(w: &Writer, detector: u128) -> Hash {
    let marks = |body: &Body| matches!(body, Body::DetectorMarking(edit) if edit.of == id(detector));
    w.log.iter().find(|entry| marks(&entry.body)).expect("a marking").hash
}

/// A start with every field.
pub(super) fn full(w: &mut Writer, profile: Vec<Hash>) -> TestStart {
    let owner = w.words("Olga Owner, before the work");
    TestStart {
        test: id(TEST),
        by: id(ADA),
        follows: None,
        after: None,
        position: PositionSnapshot { of: id(H1), place: place(), duty: duty() },
        detector: DetectorSnapshot { of: id(D1), marking: marking(owner), marked_by: marked_by(w, D1), make: make() },
        heater: heater(profile),
        procedure: procedure(owner),
        indication: Indication {
            by: IndicatedBy::Partner,
            latching: true,
            verification: true,
            lag_ms: 4_000,
            lag_u_ms: 2_000,
            restores: Restores::Watched,
        },
        display_read: true,
        ambient: Some(f(70, 0)),
        air: Some(Air::Moving),
        heater_warmth: Warmth::Cold,
        detector_warmth: Warmth::Cold,
        visual: Some(vec![Visual::Dirty, Visual::Loose]),
        rate_answer: Some(RateAnswer::HeaterSlower),
    }
}

/// A start with only what every start has.
fn bare(w: &Writer, test: u128) -> TestStart {
    TestStart {
        test: id(test),
        by: id(ADA),
        follows: None,
        after: None,
        position: PositionSnapshot { of: id(H2), place: bare_place("HD-2"), duty: Duty::default() },
        detector: DetectorSnapshot {
            of: id(D2),
            marking: bare_marking(),
            marked_by: marked_by(w, D2),
            make: Make::default(),
        },
        heater: bare_heater(),
        procedure: Procedure::functional(),
        indication: Indication {
            by: IndicatedBy::OwnLamp,
            latching: false,
            verification: false,
            lag_ms: 1_000,
            lag_u_ms: 500,
            restores: Restores::NotWatched,
        },
        display_read: false,
        ambient: None,
        air: None,
        heater_warmth: Warmth::Hot,
        detector_warmth: Warmth::Warm,
        visual: None,
        rate_answer: None,
    }
}

pub(super) fn write(w: &mut Writer, profile: Vec<Hash>) {
    visual(w);
    first(w, profile);
    second(w);
    without_heat(w);
}

fn visual(w: &mut Writer) {
    let (by, note, photo) = (w.named("Pat Partner"), Some(w.words("Cobwebs")), Some(w.picture()));
    let (position, detector, found) = (id(H3), Some(id(D3)), vec![Visual::Dirty, Visual::Obstructed]);
    w.visit(Body::VisualCheck(VisualCheck { position, detector, found, by, note, photo, happened: at(52) }.into()));
    let (position, by) = (id(H2), Who::Person(id(ADA)));
    let found = Vec::new();
    w.visit(Body::VisualCheck(
        VisualCheck { position, detector: None, found, by, note: None, photo: None, happened: tapped(52) }.into(),
    ));
}

/// Heat on; a slip struck; a trip 80 s later, moved 2 s earlier and read; asleep for 120 s; stopped early.
fn first(w: &mut Writer, profile: Vec<Hash>) {
    let start = full(w, profile);
    let of = id(TEST);
    w.visit(Body::TestStarted(Arc::new(start)));
    w.visit(Body::Mark { of, what: What::HeatOn });
    let zero = w.last().stamp;
    w.wait(4_000);
    let early = w.visit(Body::Mark { of, what: What::Tripped });
    w.visit(Body::EarlyTripAnswered { trip: early, this_detector: false, by: id(ADA) });
    let why = Some(w.words("Not this detector"));
    w.visit(Body::MarkStruck { mark: early, why });
    w.wait(zero.mono + 79_000 - w.here_mono());
    let trip = w.visit(Body::Mark { of, what: What::Tripped });
    let reading = w.visit(Body::ReadingTaken { of, reading: f(1295, -1), trip: Some(trip) });
    let why = Some(w.words("Typed wrongly"));
    w.visit(Body::ReadingCorrected(ReadingCorrection { reading, now: Some(f(1925, -1)), why }.into()));
    w.visit(Body::ReadingConfirmed { reading });
    let slip = w.visit(Body::ReadingTaken { of, reading: f(1, 0), trip: None });
    w.visit(Body::ReadingCorrected(ReadingCorrection { reading: slip, now: None, why: None }.into()));
    w.visit(Body::PanelPoint { trip, point: Point::Wrong, said: text("Zone 9") });
    w.visit(Body::Moved { mark: trip, to_session: zero.session, to_mono: zero.mono + 78_000 });
    let (point, outputs, station) = (Point::Wrong, Outputs::Stayed, StationSaw::OnTest);
    let by = w.named("Pat Partner");
    let proved = Body::CircuitProved(
        CircuitProof { circuit: id(LOOP), trip: Some(trip), point, outputs, station, by, happened: at(60) }.into(),
    );
    w.visit(proved);
    w.sleep(119_000);
    let gap = w.visit(Body::ClockGap { wall_ms: 120_000, mono_ms: 1_000, hidden: true });
    w.visit(Body::ClockAnswered { gap, asleep: true });
    w.visit(Body::TestEnded { test: of, how: Ending::StoppedEarly });
    let by = w.named("Pat Partner");
    w.visit(Body::RestoreSaid(RestoreWord { test: of, restored: Answer::Yes, by, happened: at(66) }.into()));
}

/// Started on the first phone, taken over by the other one, no trip.
fn second(w: &mut Writer) {
    let of = id(TEST_2);
    let start = bare(w, TEST_2);
    w.visit(Body::TestStarted(Arc::new(start)));
    let last = w.visit(Body::Mark { of, what: What::HeatOn });
    w.swap();
    w.visit(Body::TestTakenOver { test: of, last });
    w.visit(Body::Mark { of, what: What::AtTop });
    w.visit(Body::Mark { of, what: What::Lowered });
    w.visit(Body::TestEnded { test: of, how: Ending::NoTrip });
    w.swap();
    w.visit(Body::TestJudged { test: of, did_not_operate: false, by: id(ADA), note: None });
    let note = Some(w.words("Held a lighter lamp to it"));
    w.visit(Body::TestJudged { test: of, did_not_operate: true, by: id(ADA), note });
    let (marking, why) = (Arc::new(marking(w.words("Olga Owner, later"))), w.words("Read off the label"));
    w.visit(Body::MarkingCorrected { test: of, marking, why });
    w.visit(Body::RetestListed { position: id(H2), test: Some(of), why: RetestWhy::Requested });
    w.visit(Body::RetestListed { position: id(H3), test: None, why: RetestWhy::UnlikeArea });
}

/// One more of the first position, after work: as left.
pub(super) fn as_left(w: &mut Writer, after: Hash) {
    let mut start = full(w, Vec::new());
    (start.test, start.follows, start.after) = (id(TEST_3), Some(id(TEST)), Some(after));
    start.detector.of = id(D1_NEW);
    let of = id(TEST_3);
    w.visit(Body::TestStarted(Arc::new(start)));
    w.visit(Body::Mark { of, what: What::HeatOn });
    w.wait(60_000);
    let trip = w.visit(Body::Mark { of, what: What::Tripped });
    w.visit(Body::PanelPoint { trip, point: Point::Right, said: None });
    w.visit(Body::Mark { of, what: What::HeaterOff });
    w.visit(Body::Mark { of, what: What::Restored });
    w.visit(Body::Mark { of, what: What::PanelReset });
    w.visit(Body::Mark { of, what: What::HeaterOn });
    let slip = w.last().decision();
    w.visit(Body::Undone { undoes: slip });
    w.visit(Body::TestEnded { test: of, how: Ending::StoppedEarly });
    w.swap();
    let (clock, happened) = (ClockOf::Panel, at(90));
    let (restored_at, test) = (Some(happened.at + 25_000), Some(of));
    let (point, label) = ("2/017 HALL".into(), text("Panel 1"));
    let saw = w.visit(Body::PanelSaw(
        PanelSighting { point, label, clock, happened, restored_at, test, replaces: None }.into(),
    ));
    let came_in = PanelSighting {
        point: String::new(),
        label: None,
        clock: ClockOf::Phone,
        happened: tapped(91),
        restored_at: None,
        test: None,
        replaces: None,
    };
    let replaces = Some(w.visit(Body::PanelSaw(came_in.clone().into())));
    w.visit(Body::PanelSaw(PanelSighting { point: "2/018 HALL".into(), replaces, ..came_in }.into()));
    w.swap();
    w.visit(Body::PanelSawAccepted { saw, trip });
}

fn without_heat(w: &mut Writer) {
    let full = OtherMethod {
        test: id(OTHER),
        position: id(H3),
        detector: Some(id(D3)),
        method: Method::DetectorInstructions,
        basis: text("Instructions, sheet 4"),
        tripped: Answer::Yes,
        point: Point::Right,
        said: text("ZONE 9 ALARM"),
        restored: Answer::NotChecked,
        by: w.named("Pat Partner"),
        note: Some(w.words("With the magnet")),
        happened: at(70),
    };
    let bare = OtherMethod {
        test: id(OTHER_2),
        detector: None,
        basis: None,
        said: None,
        by: Who::Person(id(ADA)),
        note: None,
        ..full.clone()
    };
    w.visit(Body::OtherMethod(Arc::new(full)));
    w.visit(Body::OtherMethod(Arc::new(bare)));
    let (by, not_allowed_by) = (w.named("Pat Partner"), Some(w.named("Sid Safety")));
    let (note, photo) = (Some(w.words("Furnace running")), Some(w.picture()));
    let (position, why) = (id(H3), NotTestedWhy::NotAllowed);
    w.visit(Body::NotTested(NotTested { position, why, not_allowed_by, note, photo, by, happened: at(71) }.into()));
    let (by, why) = (Who::Person(id(ADA)), NotTestedWhy::OutOfTime);
    let happened = tapped(72);
    w.visit(Body::NotTested(
        NotTested { position, why, not_allowed_by: None, note: None, photo: None, by, happened }.into(),
    ));
}
