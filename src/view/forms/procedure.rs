//! The form of a procedure. Its numbers are blank until somebody takes them from the heater, the detector's instructions or the owner.

use super::row::{Asked, Row, row};
use super::table::{Made, Rows, Table, at, put};
use super::{Answer, UNIT, Wrongs, thing, title};
use crate::book::command::Command;
use crate::book::refusal::Fault;
use crate::trade::detector::Agreed;
use crate::trade::procedure::{NumbersFrom, OwnLimits, Procedure, ProcedureKind};
use serde_json::{Value, json};

const NAME: Row = row!("procedure", Procedure, "name", "procedure-name", "Procedure's name");
const KIND: Row = row!("procedure", Procedure, "kind", "kind", "What it is for")
    .asked(|_| {
        vec![
            Answer::with(
                "set-point",
                ProcedureKind::SetPoint.words(),
                "Several trips, their mean: at what temperature.",
            ),
            Answer::with("functional", ProcedureKind::Functional.words(), "One trip, alarm at the panel, restore."),
        ]
    })
    .needed();
const FROM: Row = row!("procedure", Procedure, "numbers_from", "numbers-from", "Numbers are from")
    .asked(|_| Answer::each(&NumbersFrom::ALL, NumbersFrom::words))
    .shown(set_point)
    .needed();
const TRIPS: Row =
    row!("procedure", Procedure, "trips", "trips", "Trips").help("How many to take.").shown(set_point).needed();
const NOT_AVERAGED: Row = row!("procedure", Procedure, "not_averaged", "not-averaged", "First trips not averaged")
    .help("How many first ones stay out of the mean.")
    .shown(set_point)
    .needed();
const SOAK: Row = row!("procedure", Procedure, "soak_ms", "soak", "Soak")
    .help("At top temperature in the first heat-up.")
    .needed_if(set_point);
const OFF: Row = row!("procedure", Procedure, "off_ms", "off", "Cool-down")
    .help("Without heat between trips, for the detector to restore.")
    .shown(set_point)
    .needed();
const EXTRA: Row = row!("procedure", Procedure, "extra_trips", "extra", "Extra trips allowed")
    .help("When the restore was watched and not seen, that trip does not count and one more is taken.")
    .shown(set_point)
    .needed();
const LOWER: Row = row!("procedure.limits", OwnLimits, "minus", "lower", "Minus tolerance")
    .help("Below the rating, with its sign, e.g. −5.")
    .shown(set_point)
    .needed_if(|asked| asked.has("upper"));
const UPPER: Row = row!("procedure.limits", OwnLimits, "plus", "upper", "Plus tolerance")
    .help("Above the rating, e.g. 5.")
    .shown(set_point)
    .needed_if(|asked| asked.has("lower"));
const AGREED_BY: Row = row!("procedure.limits.agreed", Agreed, "by", "agreed-by", "Agreed by")
    .help("Who agreed to the limits and to how they are decided.")
    .shown(set_point);
const AGREED_ON: Row = row!("procedure.limits.agreed", Agreed, "on", "agreed-on", "Agreed on").shown(set_point);

fn set_point(asked: &Asked<'_>) -> bool {
    asked.is(&KIND, "set-point")
}

pub(super) const TABLE: Table = Table {
    title: |asked| title(asked, "procedure"),
    lead: "Take the numbers from the heater's marking, the detector's instructions or the owner. The app has none of its own.",
    parts: &[
        Rows { title: "", note: "", rows: &[&[KIND, NAME, FROM, TRIPS, NOT_AVERAGED, SOAK, OFF, EXTRA]] },
        Rows {
            title: "Owner's limits for this method",
            note: "Leave blank if there are none. They come before the detector's own.",
            rows: &[&[LOWER, UPPER, UNIT.shown(set_point), AGREED_BY, AGREED_ON]],
        },
    ],
    base: thing::base,
    opens: |typed, _, _, _| {
        if !typed.has(KIND.name) {
            typed.put(KIND.name, "set-point");
        }
    },
    make,
    ..Table::PLAIN
};

fn make(mut made: Made<'_>) -> Result<Vec<Command>, Wrongs> {
    if set_point(&made.asked) {
        let number = |path| at(&made.value, path).and_then(Value::as_i64).unwrap_or_default();
        let most = number("procedure.trips") - 1;
        if number("procedure.not_averaged") > most {
            return Err(made.wrong(&NOT_AVERAGED, Fault::Number { from: 0, to: most, unit: "trips" }));
        }
    } else {
        // The functional test needs no numbers.
        for (path, number) in [("procedure.trips", 1), ("procedure.not_averaged", 0), ("procedure.extra_trips", 0)] {
            put(&mut made.value, path, json!(number));
        }
    }
    // Without limits there is nothing that somebody could agree to, and without a name nobody who did.
    for (path, over) in
        [("procedure.limits.agreed.by", "procedure.limits.agreed"), ("procedure.limits.minus", "procedure.limits")]
    {
        if at(&made.value, path).is_none() {
            put(&mut made.value, over, Value::Null);
        }
    }
    thing::command(made.asked.form, made.making.id, made.making.other, &made.value)
}
