//! Comparing what a procedure gave with what a case expects.

use serde_json::Value;

/// How far a number may lie from the one expected.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Tolerance {
    /// Not at all.
    Exact,
    /// By the larger of a share of the expected number and a fixed amount.
    Within { rel: f64, abs: f64 },
}

/// The tolerance of a file, and those of single outputs.
#[derive(Debug)]
pub(super) struct Tolerances {
    all: Tolerance,
    single: Vec<(String, Tolerance)>,
}

impl Tolerances {
    pub(super) fn read(file: &Value) -> Result<Tolerances, String> {
        let all = file.get("within").ok_or("no tolerance named \"within\"")?;
        let all = Tolerance::read(all).ok_or_else(|| malformed("within"))?;
        let single = match file.get("within_output") {
            None => Vec::new(),
            Some(single) => {
                let members = single.as_object().ok_or("\"within_output\" must be an object of tolerances")?;
                let read = |(name, value): (&String, &Value)| Some((name.clone(), Tolerance::read(value)?));
                members.iter().map(read).collect::<Option<_>>().ok_or_else(|| malformed("within_output"))?
            }
        };
        Ok(Tolerances { all, single })
    }

    pub(super) fn of(&self, output: &str) -> Tolerance {
        self.single.iter().find(|(name, _)| name == output).map_or(self.all, |(_, tolerance)| *tolerance)
    }
}

fn malformed(name: &str) -> String {
    format!("\"{name}\" must give \"exact\" or numbers \"rel\" and \"abs\" that are not negative")
}

impl Tolerance {
    fn read(value: &Value) -> Option<Tolerance> {
        if value.as_str() == Some("exact") {
            return Some(Tolerance::Exact);
        }
        let part = |name: &str| match value.get(name) {
            None => Some(0.0),
            Some(part) => part.as_f64().filter(|part| *part >= 0.0),
        };
        let given = value.get("rel").is_some() || value.get("abs").is_some();
        given.then_some(Tolerance::Within { rel: part("rel")?, abs: part("abs")? })
    }

    /// The size below which numbers are told apart by their difference alone.
    fn floor(self) -> f64 {
        match self {
            Tolerance::Exact => 0.0,
            Tolerance::Within { abs, .. } => abs,
        }
    }

    fn admits(self, value: f64, expected: f64) -> bool {
        match self {
            Tolerance::Exact => value == expected,
            Tolerance::Within { rel, abs } => (value - expected).abs() <= (rel * expected.abs()).max(abs),
        }
    }
}

/// Differences collected over the outputs of a case.
#[derive(Debug, Default)]
pub(super) struct Comparison {
    pub(super) worst: f64,
    pub(super) failures: Vec<String>,
}

impl Comparison {
    /// Compares one output, part by part where it has parts; of an object the parts that are expected.
    pub(super) fn add(&mut self, name: &str, expected: &Value, value: &Value, tolerance: Tolerance) {
        match (expected, value) {
            _ if is_undefined(expected) => {
                if !is_undefined(value) {
                    self.fail(name, expected, value);
                }
            }
            (Value::Array(expected), Value::Array(values)) if expected.len() == values.len() => {
                for (index, (expected, value)) in expected.iter().zip(values).enumerate() {
                    self.add(&format!("{name}[{index}]"), expected, value, tolerance);
                }
            }
            (Value::Object(expected), Value::Object(values)) => {
                for (part, expected) in expected {
                    let value = values.get(part).unwrap_or(&Value::Null);
                    self.add(&format!("{name}.{part}"), expected, value, tolerance);
                }
            }
            (Value::Number(expected_number), Value::Number(number)) => {
                let (Some(e), Some(x)) = (expected_number.as_f64(), number.as_f64()) else { return };
                if e.abs() > tolerance.floor() {
                    self.worst = self.worst.max(((x - e) / e).abs());
                }
                if !tolerance.admits(x, e) {
                    self.fail(name, expected, value);
                }
            }
            _ if expected == value => {}
            _ => self.fail(name, expected, value),
        }
    }

    fn fail(&mut self, name: &str, expected: &Value, value: &Value) {
        self.failures.push(format!("{name} is {value}, expected {expected}"));
    }
}

/// `null`, or a text such as "undefined (n < 3)".
fn is_undefined(value: &Value) -> bool {
    match value {
        Value::Null => true,
        Value::String(text) => text.starts_with("undefined"),
        _ => false,
    }
}
