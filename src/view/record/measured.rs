//! What was measured: the owner's information, apart from the functional results.

use super::{NOT_RECORDED, Recorded, joined, table};
use crate::findings::{Judgement, LimitsGiven, LimitsSource, Role as Among, TestFindings, limit_result_words};
use crate::order;
use crate::trade::detector::Agreed;
use crate::units::Kelvin;
use crate::view::findings::figure::{decimals, operating_line, rate_symbol};
use crate::view::findings::{NO_PUBLISHED_TOLERANCE, limits_words, lower, missing_short, role};
use crate::view::page::{Block, Role};

/// Heading of the section.
pub(super) const MEASURED: &str = "Owner's information, not asked for by NFPA 72";
const WHAT: &str = "Temperatures of the heater at the trip, with their expanded uncertainty U (about 95%). They are not the detector's set point and do not change the results above.";
const RULE: &str = "Decision rule for a limit result: guard band equal to U (ILAC-G8:09/2019). Within: the mean lies inside the limits by more than U. Within, close to limit: inside by less. Outside, within uncertainty: outside by less than U. Outside: outside by more. As read: the mean alone. Marked limits are those on the detector or in its listing.";
const NOTHING: &str = "No trip temperature was taken.";
const HEAD: [&str; 8] =
    ["Detector", "Test", "Trips", "Mean ± U", "Heating rate ± 2u", "Limits", "As read", "Limit result"];

impl Recorded<'_> {
    pub(super) fn measured(&self) -> Block {
        let place = order::map(self.lines.iter().zip(0_i64..).map(|(line, at)| (line.position, at)));
        let tests = self
            .found
            .by_start()
            .into_iter()
            .filter(|found| found.operating.is_ok() || found.frozen.procedure.is_set_point());
        let tests = order::by_number(tests.collect(), |found| place.get(&found.position).copied().unwrap_or(i64::MAX));
        let rows: Vec<Vec<String>> = tests
            .iter()
            .flat_map(|found| found.holding().iter().map(|judged| self.measured_row(found, judged)))
            .collect();
        let mut blocks =
            vec![Block::text("what", Role::Plain, WHAT), Block::text("nfpa", Role::Plain, NO_PUBLISHED_TOLERANCE)];
        if !rows.is_empty() {
            blocks.push(Block::text("rule", Role::Plain, RULE));
            blocks.push(Block::text("agreed", Role::Plain, self.agreed(&tests)));
        }
        blocks.extend(self.against_limits(&tests));
        blocks.extend(table("measured", &HEAD, rows, NOTHING));
        Block::section("measured", MEASURED, blocks)
    }

    fn measured_row(&self, found: &TestFindings, judged: &Judgement) -> Vec<String> {
        let operating = found.operating.as_ref();
        let n = operating.map_or_else(|_| "–".to_string(), |of| of.n.to_string());
        let mean = operating.map_or_else(|why| format!("None: {why}"), |of| operating_line(of, self.unit));
        let rate = operating.ok().and_then(|of| of.rate).map_or_else(
            || "–".to_string(),
            |(rate, u)| {
                let digits = decimals(Kelvin(2.0 * u.0 * 60.0), self.unit);
                let per_min = |of: f64| Kelvin(of * 60.0).text(self.unit, digits);
                format!("{} ± {} {}", per_min(rate.0), per_min(2.0 * u.0), rate_symbol(self.unit))
            },
        );
        let as_read = judged.as_read.map_or("–", |as_read| as_read.words());
        let result = match &judged.limit_result {
            Ok(stated) => limit_result_words(stated.limit_result).to_string(),
            Err(missing) => {
                let mut short: Vec<&str> = missing.iter().map(missing_short).collect();
                short.dedup();
                format!("None: {}", short.join(", "))
            }
        };
        let corrected = if judged.corrected_by.is_some() { "rating fixed after the test" } else { "" };
        let among = if found.role == Among::AsFound { String::new() } else { lower(role(found.role)) };
        vec![
            found.tag().to_string(),
            joined([found.frozen.procedure.name.clone(), among, corrected.to_string()]),
            n,
            mean,
            rate,
            judged.limits.as_ref().map_or_else(|_| "–".to_string(), |limits| self.limits(limits)),
            as_read.to_string(),
            result,
        ]
    }

    /// As the digest has it.
    pub(super) fn measured_line(&self, found: &TestFindings) -> String {
        let rows = found.holding().iter().map(|judged| self.measured_row(found, judged).join("\t"));
        format!("{}\t{}", found.test, rows.collect::<Vec<_>>().join("\n"))
    }

    pub(super) fn limits(&self, of: &LimitsGiven) -> String {
        let from = match of.from {
            LimitsSource::Procedure => "owner's, in the procedure",
            LimitsSource::Owner => "owner's",
            LimitsSource::Marking => "marked",
        };
        joined([limits_words(of, self.unit), from.to_string()])
    }

    /// Who agreed to the limits and the decision rule, and when.
    fn agreed(&self, tests: &[&TestFindings]) -> String {
        let mut known: Vec<&Agreed> = Vec::new();
        for found in tests {
            let own = found.frozen.procedure.limits.as_ref().and_then(|limits| limits.agreed.as_ref());
            let marked = found.holding().last().and_then(|judged| judged.marking.agreed.as_ref());
            known.extend(own.or(marked).filter(|of| !known.contains(of)));
        }
        let said =
            |of: &&Agreed| joined([self.said(of.by), of.on.clone().unwrap_or_else(|| "day not recorded".to_string())]);
        let said: Vec<String> = known.iter().map(said).collect();
        let said = if said.is_empty() { NOT_RECORDED.to_string() } else { said.join("; ") };
        format!("Who agreed to the limits and the decision rule before the work: {said}.")
    }
}
