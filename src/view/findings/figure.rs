//! A figure of `findings` in the unit of the screen. A point and a difference are converted each in their own way.

use crate::findings::methods::Method;
use crate::findings::{Figure, Input, Operating, Quantity, TripFinding};
use crate::units::{Celsius, Degree, Difference, Kelvin, Reading};
use crate::view::computed::place_of;
use crate::view::{locale, time, words};

/// A number and what opens with it, as texts.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Shown {
    /// What it is.
    pub label: String,
    /// The number.
    pub value: String,
    /// Its unit; empty for none.
    pub unit: String,
    /// Its uncertainty or what else belongs beside it; empty for nothing.
    pub spread: String,
    /// How it comes out of the inputs.
    pub formula: String,
    /// Names and values of what went in.
    pub inputs: Vec<(String, String)>,
    /// Where the formula comes from.
    pub source: String,
    /// Address of the page that explains it; empty for none.
    pub way: String,
}

/// Digits after the point at which an uncertainty, in degrees of the screen, has two significant ones (GUM 7.2.6), never more
/// than two.
pub fn decimals(u: Kelvin, unit: Degree) -> usize {
    match u.in_degrees(unit).abs() {
        u if u >= 9.95 => 0,
        u if u >= 0.995 => 1,
        _ => 2,
    }
}

/// A figure in the unit of the screen: a point to the digits of its uncertainty, a difference to two significant ones.
pub fn shown(figure: &Figure, unit: Degree) -> Shown {
    let (value, symbol) = match (figure.quantity, figure.u) {
        (Quantity::Point, Some(u)) => {
            (locale::decimal(Celsius(figure.value).text(unit, decimals(Kelvin(u), unit))), unit.symbol().to_string())
        }
        (Quantity::Difference, _) => {
            let value = Kelvin(figure.value);
            (locale::decimal(value.text(unit, decimals(value, unit))), unit.symbol().to_string())
        }
        (Quantity::Point, None) => (number(figure.value, Quantity::Point, unit), unit.symbol().to_string()),
        (Quantity::Duration, _) => (time::gone((figure.value * 1_000.0) as i64), "min".to_string()),
        (quantity, _) => (number(figure.value, quantity, unit), String::new()),
    };
    let spread = figure.u.map_or_else(String::new, |u| {
        let u = Kelvin(u);
        format!("u = {}", words::difference(u, unit, decimals(u, unit)))
    });
    Shown {
        value,
        unit: symbol,
        spread,
        inputs: figure.inputs.iter().map(|input| (input.name.to_string(), input_text(input, unit))).collect(),
        ..explained(figure.method)
    }
}

/// What a method gives to a figure beside its numbers.
pub(crate) fn explained(method: &Method) -> Shown {
    Shown {
        label: method.name.to_string(),
        formula: method.formula.to_string(),
        source: method.source.to_string(),
        way: place_of(method).address(),
        ..Shown::default()
    }
}

pub(crate) fn input_text(input: &Input, unit: Degree) -> String {
    let text = number(input.value, input.quantity, unit);
    match input.quantity {
        Quantity::Point => format!("{text} {}", unit.symbol()),
        Quantity::Difference => format!("{text} {}", unit.symbol()),
        Quantity::Rate => format!("{text} {}", rate_symbol(unit)),
        Quantity::Duration => format!("{text} s"),
        Quantity::Count | Quantity::Number => text,
    }
}

/// A number with enough digits to compute with, and no zeros that say nothing.
fn number(value: f64, quantity: Quantity, unit: Degree) -> String {
    if !value.is_finite() {
        return "∞".into();
    }
    locale::decimal(match quantity {
        Quantity::Point => trimmed(Celsius(value).text(unit, 2)),
        Quantity::Difference => trimmed(Kelvin(value).text(unit, 3)),
        // Heating rates are usual by the minute.
        Quantity::Rate => trimmed(Kelvin(value * 60.0).text(unit, 2)),
        Quantity::Duration => trimmed(format!("{value:.1}")),
        Quantity::Count => format!("{value:.0}"),
        Quantity::Number => trimmed(format!("{value:.3}")),
    })
}

fn trimmed(text: String) -> String {
    match text.split_once('.') {
        Some(_) => text.trim_end_matches('0').trim_end_matches('.').to_string(),
        None => text,
    }
}

/// A probability in per cent; the ends are never shown as certainty.
pub fn percent(p: f64) -> String {
    match p * 100.0 {
        p if p > 99.9 => locale::decimal("> 99.9".into()),
        p if p < 0.1 => locale::decimal("< 0.1".into()),
        p => locale::decimal(format!("{p:.1}")),
    }
}

/// The operating temperature with its expanded uncertainty on one line, to the digits of that uncertainty.
pub fn operating_line(operating: &Operating, unit: Degree) -> String {
    let way = if operating.estimated > 0 { ", from estimates" } else { "" };
    format!("{} {}{way}", mean_text(operating, unit), spread_text(operating, unit))
}

/// The mean, with its unit.
fn mean_text(operating: &Operating, unit: Degree) -> String {
    words::degrees(operating.mean, unit, decimals(operating.expanded, unit))
}

/// The expanded uncertainty; an incomplete one says so.
fn spread_text(operating: &Operating, unit: Degree) -> String {
    let expanded = words::difference(operating.expanded, unit, decimals(operating.expanded, unit));
    if operating.complete() { format!("± {expanded}") } else { format!("± {expanded} or more") }
}

/// The operating temperature over `trips`, those of its test, as a figure that opens.
pub fn operating(operating: &Operating, trips: &[TripFinding], unit: Degree) -> Shown {
    let decimals = decimals(operating.expanded, unit);
    let of_what = if operating.complete() { "95%" } else { "95%, of the parts that are known" };
    let label = match operating.estimated {
        0 => format!("Operating temperature, as heater temperature at trip{}", at_rate(operating, unit)),
        estimated => format!("Operating temperature, indicative: {estimated} of {} trips estimated", operating.n),
    };
    Shown {
        label,
        value: locale::decimal(operating.mean.text(unit, decimals)),
        spread: format!("± {} ({of_what})", words::difference(operating.expanded, unit, decimals)),
        ..shown(&operating.mean_figure(trips), unit)
    }
}

/// ", at r", where the heater profile says it.
pub(super) fn at_rate(operating: &Operating, unit: Degree) -> String {
    operating.rate.map_or_else(String::new, |(rate, u)| {
        let (rate, u) = (Kelvin(rate.0 * 60.0), Kelvin(u.0 * 60.0));
        locale::decimal(format!(", at {} {}", rate.text(unit, decimals(u, unit)), rate_symbol(unit)))
    })
}

/// The unit of a heating rate.
pub fn rate_symbol(unit: Degree) -> &'static str {
    match unit {
        Degree::C => "°C/min",
        Degree::F => "°F/min",
    }
}

/// A temperature as it was given, and in the unit of the screen where that is another one.
pub fn as_given(reading: Reading, unit: Degree) -> String {
    let given = words::as_displayed(&reading);
    if reading.unit == unit { given } else { format!("{given} ({})", words::degrees(reading.celsius(), unit, 1)) }
}

/// A difference as it was given, and in degrees of the screen where those are others.
pub fn difference_as_given(difference: Difference, unit: Degree) -> String {
    let given = format!("{} {}", difference.text().replace('-', "−"), difference.unit.symbol());
    let given = locale::decimal(given);
    if difference.unit == unit {
        given
    } else {
        let decimals = if difference.kelvin().abs() < Kelvin(1.0) { 2 } else { 1 };
        format!("{given} ({})", words::difference(difference.kelvin(), unit, decimals))
    }
}

/// The step of an axis: 1, 2 or 5 times a power of ten, at least `least` to the last digits.
pub(crate) fn visit_step(least: f64) -> f64 {
    let power = 10_f64.powf(least.log10().floor());
    [1.0, 2.0, 5.0].into_iter().map(|of| of * power).find(|step| *step >= least * 0.999).unwrap_or(10.0 * power)
}
