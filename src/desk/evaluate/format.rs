//! Records written as lines of JSON, as CSV or as text for people.

use std::io::{self, Write};

use clap::ValueEnum;
use serde_json::Value;

use super::text;
use crate::encoding::{canonical, csv};
use crate::handover::{InUnit, RESULTS, guarded, line};

/// How records are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// One JSON object a line
    Ndjson,
    /// One table (RFC 4180) for all kinds of records
    Csv,
    /// One flat table (RFC 4180) for a spreadsheet: a line for each position in scope and for each test; what is wrong goes to standard error
    Results,
    /// For people
    Text,
}

/// The columns of the table, each with the JSON pointer (RFC 6901) to the member of the record that it shows; where there is none, that
/// of the column's own name.
pub const COLUMNS: [(&str, &str); 97] = [
    ("kind", "/kind"),
    ("file", "/file"),
    ("made", "/made"),
    ("app", "/app"),
    ("entries", "/entries"),
    ("attachments", "/attachments"),
    ("findings", "/findings"),
    ("problem", "/problem"),
    ("scope", "/scope"),
    ("phone", "/phone"),
    ("seq", "/seq"),
    ("seq_to", "/seq_to"),
    ("number", "/number"),
    ("hash", "/hash"),
    ("words", "/words"),
    ("what", "/what"),
    ("said", "/said"),
    ("found", "/found"),
    ("visit", "/visit"),
    ("test", "/test"),
    ("position", "/position"),
    ("detector", "/detector"),
    ("site_name", "/site_name"),
    ("area_name", "/area_name"),
    ("tag", "/tag"),
    ("customer_id", "/customer_id"),
    ("panel_point", "/panel_point"),
    ("location", "/location"),
    ("follows", "/follows"),
    ("started", "/started"),
    ("started_local", "/started_local"),
    ("by", "/by"),
    ("by_name", "/by_name"),
    ("phone_name", "/phone_name"),
    ("role", "/role"),
    ("outcome", "/outcome"),
    ("reason", "/reason"),
    ("method", "/method"),
    ("tripped", "/tripped"),
    ("not_proven", "/not_proven"),
    ("at_panel", "/at_panel"),
    ("panel_said", "/panel_said"),
    ("restored", "/restored"),
    ("early_trip", "/early_trip"),
    ("not_exercised", "/not_exercised"),
    ("trips", "/trips"),
    ("n", "/operating/n"),
    ("estimated", "/operating/estimated"),
    ("mean_c", "/operating/mean_c"),
    ("u_k", "/operating/u_k"),
    ("df", "/operating/df"),
    ("expanded_k", "/operating/expanded_k"),
    ("range_k", "/operating/range_k"),
    ("late_k", "/operating/late_k"),
    ("rate_k_per_min", "/operating/rate_k_per_min"),
    ("rate_u_k_per_min", "/operating/rate_u_k_per_min"),
    ("complete", "/operating/complete"),
    ("incomplete", "/operating/missing"),
    ("why", "/why"),
    ("rating_c", "/judgements/0/rating_c"),
    ("lower_c", "/judgements/0/lower_c"),
    ("upper_c", "/judgements/0/upper_c"),
    ("limits_from", "/judgements/0/limits_from"),
    ("as_read", "/judgements/0/as_read"),
    ("limit_result", "/judgements/0/limit_result"),
    ("p_conform", "/judgements/0/p_conform"),
    ("missing", "/judgements/0/missing"),
    (JUDGED_AGAIN, "/judgements"),
    ("restores_seen", "/restores_seen"),
    ("flags", "/flags"),
    ("area", "/area"),
    ("detector_type", "/detector_type"),
    ("procedure", "/procedure"),
    ("marked_c", "/marked_c"),
    ("heater", "/heater"),
    ("heater_name", "/heater_name"),
    ("entered_in", "/entered_in"),
    ("as_left", "/as_left"),
    ("from", "/from"),
    ("positions", "/positions"),
    ("median_k", "/median_k"),
    ("compared", "/compared"),
    ("cut_off", "/cut_off"),
    ("scale_k", "/scale_k"),
    ("esd", "/esd"),
    ("members", "/members"),
    ("shifts", "/shifts"),
    ("remarks", "/remarks"),
    ("files", "/files"),
    ("unreadable", "/unreadable"),
    ("tests", "/tests"),
    ("broken", "/broken"),
    ("differences", "/differences"),
    ("older_method", "/older_method"),
    ("newer_method", "/newer_method"),
    ("without_findings", "/without_findings"),
    ("status", "/status"),
];

/// The column of the judgements after the first one.
const JUDGED_AGAIN: &str = "judged_again";

/// Where records go.
pub(super) struct Sink<'a> {
    out: &'a mut dyn Write,
    aside: &'a mut dyn Write,
    format: Format,
    unit: InUnit,
    failed: Option<io::Error>,
}

impl<'a> Sink<'a> {
    /// Records go to `out`. What a table of tests has no place for goes to `aside`.
    pub(super) fn new(out: &'a mut dyn Write, aside: &'a mut dyn Write, format: Format, unit: InUnit) -> Sink<'a> {
        let mut sink = Sink { out, aside, format, unit, failed: None };
        match format {
            Format::Csv => sink.write(&csv::write([COLUMNS.map(|(name, _)| name)])),
            Format::Results => sink.write(&csv::write([RESULTS])),
            Format::Ndjson | Format::Text => {}
        }
        sink
    }

    /// Writes a record.
    #[expect(clippy::needless_pass_by_value, reason = "a record is made to be written once")]
    pub(super) fn put(&mut self, record: Value) {
        let line = match self.format {
            Format::Ndjson => format!("{}\n", canonical(&record)),
            Format::Csv => csv::write([COLUMNS.map(|column| field(&record, column))]),
            Format::Results if matches!(record["kind"].as_str(), Some("position" | "test")) => {
                csv::write([line(&record, self.unit)])
            }
            Format::Results => {
                if matches!(record["kind"].as_str(), Some("problem" | "difference")) {
                    // Nobody listening is no reason to stop.
                    let _ = self.aside.write_all(text::lines(&record, self.unit).as_bytes());
                }
                return;
            }
            Format::Text => text::lines(&record, self.unit),
        };
        self.write(&line);
    }

    fn write(&mut self, text: &str) {
        if self.failed.is_none() {
            self.failed = self.out.write_all(text.as_bytes()).err();
        }
    }

    pub(super) fn finish(mut self) -> io::Result<()> {
        if self.failed.is_none() {
            self.failed = self.out.flush().err();
        }
        match self.failed {
            Some(error) if error.kind() != io::ErrorKind::BrokenPipe => Err(error),
            _ => Ok(()),
        }
    }
}

fn field(record: &Value, (name, pointer): (&str, &str)) -> String {
    let value = record.pointer(pointer).or_else(|| record.get(name));
    match value {
        Some(Value::Array(all)) if name == JUDGED_AGAIN => all
            .get(1..)
            .filter(|again| !again.is_empty())
            .map_or_else(String::new, |again| cell(&again.to_vec().into())),
        Some(value) => guarded(cell(value)),
        None => String::new(),
    }
}

/// A member of a record as one field: a list of sentences joined, a list of things as JSON.
fn cell(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::String(text) => text.clone(),
        Value::Array(items) if items.iter().all(Value::is_string) => {
            items.iter().filter_map(Value::as_str).collect::<Vec<_>>().join("; ")
        }
        other => canonical(other),
    }
}
