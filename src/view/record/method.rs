//! How the detectors were tested, in plain words.

use super::{Recorded, facts, joined, table};
use crate::book::body::HeaterSnapshot;
use crate::encoding::stored;
use crate::findings::{FROM_AMBIENT, LEAST_SOAK_MS, LONGEST_TAU_S, METHOD, OWN_PLUS, RATE_K_PER_S, RISE};
use crate::trade::conditions::Indication;
use crate::trade::procedure::Procedure;
use crate::units::Kelvin;
use crate::view::findings::one::heater_conditions;
use crate::view::page::{Block, Role};
use crate::view::{time, words};

const METHODS: &str = "How they were tested";
const HEATED: &str = "Detectors tested with a heater were heated in place. The technician tapped heat on, trip and restore when seen; the app recorded the times.";
const TRIPPED: &str =
    "Tripped: the trip was seen as listed below, after heat on. The tap comes after the trip by the lag listed there.";
const RESTORED: &str = "Restored: the detector was seen back to normal after the heater was lowered, or the technician said so later. Resetting the panel alone does not count as a restore.";
const NO_HEAT: &str = "No detector was tested with a heater.";

impl Recorded<'_> {
    pub(super) fn method(&self) -> Block {
        let mut blocks = Vec::new();
        let mut say = |key: &'static str, words: String| blocks.push(Block::text(key, Role::Plain, words));
        if self.visit.tests.is_empty() {
            say("no-heat", NO_HEAT.to_string());
        } else {
            say("heated", HEATED.to_string());
            say("tripped", TRIPPED.to_string());
            say("no-alarm", self.no_alarm_words());
            say("restored", RESTORED.to_string());
        }
        let mut heaters: Vec<(&HeaterSnapshot, Vec<(&'static str, String)>)> = Vec::new();
        let mut procedures: Vec<&Procedure> = Vec::new();
        let mut indications: Vec<&Indication> = Vec::new();
        for test in &self.visit.tests {
            let frozen = &test.frozen;
            // Which heater it was and how well it was known; not which profile runs it had then. Its settings stand below each other.
            let same = |(other, _): &&mut (&HeaterSnapshot, Vec<_>)| {
                let one = &frozen.heater;
                (one.of, &one.name, &one.heating, &one.metrology, &one.mode)
                    == (other.of, &other.name, &other.heating, &other.metrology, &other.mode)
            };
            let of = heater_conditions(frozen, self.unit);
            match heaters.iter_mut().find(same) {
                Some((_, known)) => {
                    let new: Vec<_> = of.into_iter().filter(|fact| !known.contains(fact)).collect();
                    let at = known.iter().rposition(|(name, _)| new.iter().any(|(other, _)| name == other));
                    known.splice(at.map_or(0, |at| at + 1)..at.map_or(0, |at| at + 1), new);
                }
                None => heaters.push((&frozen.heater, of)),
            }
            if !procedures.contains(&&frozen.procedure) {
                procedures.push(&frozen.procedure);
            }
            if !indications.contains(&&frozen.indication) {
                indications.push(&frozen.indication);
            }
        }
        for (_, mut of) in heaters {
            let name = of.remove(0).1;
            blocks.push(Block::text("heater", Role::Heading, format!("Heater: {name}")));
            blocks.push(facts("heater", of));
        }
        if !indications.is_empty() {
            blocks.push(Block::text("seen", Role::Heading, "How the trip was seen, and the steps"));
            let rows = indications.into_iter().map(indication).collect();
            let head = [
                "Trip seen by",
                "Lag, trip to tap",
                "Panel holds the alarm",
                "Alarm verification",
                "Restore between trips",
            ];
            blocks.extend(table("indications", &head, rows, ""));
            let rows = procedures.into_iter().map(procedure).collect();
            blocks.extend(table("procedures", &["Procedure", "Steps", "Numbers from"], rows, ""));
        }
        let others = &self.visit.record.other_methods;
        if !others.is_empty() {
            blocks.push(Block::text("others", Role::Heading, "Other methods"));
            let row = |other: &crate::book::visit::OtherResult| {
                let of = &other.said.what;
                let note = of.note.map_or_else(String::new, |note| self.said(note));
                let how = stored::name(&of.method).replace('_', " ");
                vec![self.tag(of.position).to_string(), how, joined([super::given(of.basis.as_ref()), note])]
            };
            let rows = others.iter().map(row).collect();
            blocks.extend(table("others", &["Detector", "Method", "Basis"], rows, ""));
        }
        blocks.push(Block::text("version", Role::Soft, format!("Calculation version {METHOD}.")));
        Block::section("method", METHODS, blocks)
    }

    /// When the absence of a trip is a failure.
    fn no_alarm_words(&self) -> String {
        let difference = |of: Kelvin| words::difference(of, self.unit, 0);
        let rate = words::difference(Kelvin(RATE_K_PER_S * 60.0), self.unit, 0);
        format!(
            "No alarm: the heater was seen at its top temperature and soaked for {} or more; with all uncertainties and the lag of an element of up to {LONGEST_TAU_S:.0} s taken off, it was above the rating plus its tolerance, or plus {} where none is on file. A rate element: {rate} per minute or faster over {} from within {} of ambient. These are this app's own figures, not NFPA's. Anything less is not decided.",
            time::gone(LEAST_SOAK_MS),
            difference(OWN_PLUS),
            difference(RISE),
            difference(FROM_AMBIENT)
        )
    }
}

fn indication(of: &Indication) -> Vec<String> {
    let seconds = |ms: i64| format!("{}.{} s", ms / 1_000, ms % 1_000 / 100);
    let yes = |holds: bool, yes: &'static str, no: &'static str| if holds { yes } else { no }.to_string();
    vec![
        of.by.words().to_string(),
        format!("{}, u = {}", seconds(of.lag_ms), seconds(of.lag_u_ms)),
        yes(of.latching, "yes", "no"),
        yes(of.verification, "on", "off"),
        of.restores.words().to_string(),
    ]
}

fn procedure(of: &Procedure) -> Vec<String> {
    let from = of.numbers_from.map_or(super::NOT_RECORDED, |from| from.words());
    vec![of.name.clone(), words::procedure_detail(of), from.to_string()]
}
