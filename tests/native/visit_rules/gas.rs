//! Hazardous (classified) locations: 0.13.

use super::*;
use soakbook::book::body::{Permit, Who};
use soakbook::book::refusal::Refusal;
use soakbook::trade::classified::{Classification, Gas, GasReading, GasVerdict};
use soakbook::trade::detector::AreaConditions;
use soakbook::units::Decimal;

/// `tenths` of a percent.
fn percent(tenths: i64) -> Decimal {
    Decimal { value: tenths, scale: -1 }
}

fn of(gas: Gas, tenths: i64) -> GasReading {
    GasReading { gas, percent: percent(tenths) }
}

/// A permit for the site with a clean gas test of this morning, with one thing changed.
pub(super) fn take(change: impl FnOnce(&mut Permit)) -> Command {
    let mut permit = Permit {
        area: None,
        number: "P-17".into(),
        valid_from: MORNING,
        valid_until: MORNING + 8 * 3_600_000,
        gas_tested_at: Some(MORNING),
        readings: vec![of(Gas::Lel, 0), of(Gas::Oxygen, 209)],
        instrument: Some("Meter 3".into()),
        interval_min: Some(60),
        lel_limit: None,
        phone_allowed: true,
        by: Who::Person(id(PERSON)),
        happened: happened(MORNING),
    };
    change(&mut permit);
    Command::TakePermit { visit: id(VISIT), permit: Box::new(permit) }
}

fn classified(class: &str) -> Classification {
    Classification { class: Some(class.into()), division: Some("Division 2".into()), ..Classification::default() }
}

/// The hall classified and the heater approved for it, the approval held against the area; no permit yet.
fn hazardous() -> World {
    let mut world = World::given();
    let conditions = AreaConditions { classification: Some(classified("Class I")), ..AreaConditions::default() };
    world.act(put_area(HALL, "Hall", conditions));
    world.act(put_heater_with(HAND_HEATER, manual(), |name, metrology| {
        name.approval = Some(classified("Class I"));
        *metrology = known();
    }));
    world.act(hold(true));
    world.wait(SECOND);
    world
}

fn hold(fits: bool) -> Command {
    Command::HoldApproval { visit: id(VISIT), heater: id(HAND_HEATER), area: id(HALL), fits }
}

fn heat(world: &mut World) -> Result<(), Refusal> {
    world.try_act(functional(|_| {})).map(|_| ())
}

#[test]
fn v0_13_heat_in_a_classified_area_needs_the_permit_as_on_the_paper() {
    assert_eq!(heat(&mut hazardous()), Err(Refusal::NoPermit));
    let check = |change: fn(&mut Permit), then: Result<(), Refusal>| {
        let mut world = hazardous();
        world.act(take(change));
        world.wait(SECOND);
        assert_eq!(heat(&mut world), then);
    };
    check(|_| {}, Ok(()));
    check(|permit| permit.phone_allowed = false, Err(Refusal::PhoneNotAllowed));
    check(|permit| permit.area = Some(id(STORE)), Err(Refusal::NoPermit));
    check(|permit| permit.valid_from = MORNING + 3_600_000, Err(Refusal::NoPermit));
    // A test older than the permit's interval; one without its time.
    check(
        |permit| {
            permit.gas_tested_at = Some(MORNING - 3_600_000);
            permit.interval_min = Some(60);
        },
        Err(Refusal::GasTestTooOld),
    );
    check(|permit| permit.gas_tested_at = None, Err(Refusal::GasTestTooOld));
    // Without an interval on the permit a test is good for a shift, twelve hours (own figure).
    for (hours, then) in [(11, Ok(())), (13, Err(Refusal::GasTestTooOld))] {
        let mut world = hazardous();
        world.act(take(|permit| {
            permit.interval_min = None;
            permit.gas_tested_at = Some(MORNING - hours * 3_600_000);
        }));
        world.wait(SECOND);
        assert_eq!(heat(&mut world), then, "{hours} h");
    }
    // Blank refuses.
    let blank = |gas| Err(Refusal::Gas(GasVerdict::NotMeasured(gas)));
    check(|permit| permit.readings.clear(), blank(Gas::Lel));
    check(|permit| permit.readings.truncate(1), blank(Gas::Oxygen));
}

#[test]
fn v0_13_any_gas_refuses_unless_the_permit_states_a_limit_and_ten_percent_always() {
    let check = |lel: i64, limit: Option<i64>, then: Result<(), Refusal>| {
        let mut world = hazardous();
        world.act(take(|permit| {
            permit.readings = vec![of(Gas::Lel, lel), of(Gas::Oxygen, 209)];
            permit.lel_limit = limit.map(percent);
        }));
        world.wait(SECOND);
        assert_eq!(heat(&mut world), then, "{lel}, {limit:?}");
    };
    let refused = |percent, most| Err(Refusal::Gas(GasVerdict::Combustible { percent, most }));
    check(1, None, refused(0.1, 0.0));
    check(40, Some(50), Ok(()));
    check(60, Some(50), refused(6.0, 5.0));
    check(100, Some(200), refused(10.0, 10.0));
    // Oxygen from 19.5 to 23.5 %.
    for (oxygen, allowed) in [(194, false), (195, true), (235, true), (236, false)] {
        let mut world = hazardous();
        world.act(take(|permit| permit.readings = vec![of(Gas::Lel, 0), of(Gas::Oxygen, oxygen)]));
        world.wait(SECOND);
        assert_eq!(heat(&mut world).is_ok(), allowed, "{oxygen}");
    }
}

#[test]
fn v0_13_a_heater_without_approval_stays_out_whoever_signs_and_a_person_holds_it_against_the_area() {
    let mut world = hazardous();
    world.act(take(|_| {}));
    world.wait(SECOND);
    // No to the question; then yes; then the area is classified anew, which asks again.
    world.act(hold(false));
    assert_eq!(heat(&mut world.clone()), Err(Refusal::HeaterNotApproved));
    world.act(hold(true));
    assert_eq!(heat(&mut world.clone()), Ok(()));
    let other = AreaConditions { classification: Some(classified("Class II")), ..AreaConditions::default() };
    world.act(put_area(HALL, "Hall", other));
    assert_eq!(heat(&mut world.clone()), Err(Refusal::ApprovalNotHeld));
    world.act(put_heater_with(HAND_HEATER, manual(), |_, metrology| *metrology = known()));
    assert_eq!(heat(&mut world), Err(Refusal::HeaterNotApproved));
    assert_eq!(
        world.try_act(hold(true)).map(|_| ()),
        Err(Refusal::NothingToHold),
        "nobody can sign for what is not marked"
    );
}
