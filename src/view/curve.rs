//! The heat curves of a head: its ramps, what they make, and the plot.

use super::findings::figure::{Shown, decimals, difference_symbol, explained, rate_symbol, round_step};
use super::findings::one::sentence;
use super::{time, words};
use crate::book::entry::Hash;
use crate::book::ramp::{self, Ramp, curve_of, ramps_of};
use crate::book::{Id, clock::ClockNote, log::Book};
use crate::findings::methods::{self, Method};
use crate::findings::{Estimates, NoCurve, fitted, heat_curve, newest_ramp, residuals};
use crate::thermal::{HeatCurve, Parameter};
use crate::trade::head::Heating;
use crate::units::{Celsius, Degree, Kelvin, Seconds};

/// How a ramp stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// It makes the curve.
    Used,
    /// It is meant to, but the readings carry none.
    Refused,
    /// Usable, but newer ones are enough.
    Older,
    /// Nobody may use it.
    NotUsable,
    /// It has not ended.
    GoesOn,
}

impl Standing {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Standing::Used => words::USABLE,
            Standing::Refused => words::NO_CURVE_OF_IT,
            Standing::Older => words::OLDER,
            Standing::NotUsable => words::NOT_USABLE,
            Standing::GoesOn => words::GOES_ON,
        }
    }
}

/// One ramp in the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RampLine {
    /// Which.
    pub id: Id,
    /// When, in local time.
    pub title: String,
    /// Who, setting, detector, readings.
    pub detail: String,
    /// How it stands.
    pub standing: Standing,
    /// Number of its sign in the plot; none while it makes no curve.
    pub sign: Option<usize>,
    /// Readings: time since heat on, as displayed.
    pub readings: Vec<(String, String)>,
    /// What is to be known about its time.
    pub notes: Vec<String>,
    /// The entry that ended it, while this phone can take that back.
    pub ended: Option<Hash>,
}

/// The curve of one mode.
#[derive(Clone, Debug, PartialEq)]
pub struct ModeCurve {
    /// Name of the mode; none where the head has only one.
    pub mode: Option<String>,
    /// Whether there is a curve, in a few words.
    pub short: String,
    /// What is to be known: why there is none, or what it rests on.
    pub words: Vec<String>,
    /// Parameters, each to be opened.
    pub figures: Vec<Shown>,
    /// The plot; none without a ramp.
    pub plot: Option<Plot>,
    /// Its ramps, newest first.
    pub ramps: Vec<RampLine>,
}

/// Every curve of a head.
#[derive(Clone, Debug, PartialEq)]
pub struct HeadCurves {
    /// Name of the head.
    pub name: String,
    /// One for each mode.
    pub modes: Vec<ModeCurve>,
    /// Whether this phone takes a ramp of it now.
    pub goes_on: bool,
}

/// A reading in the plot: time in s since heat on, its value, and the number of its ramp.
pub type Dot = (f64, f64, usize);

/// An axis: from, to, and where its figures stand.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Axis {
    /// Its low end.
    pub from: f64,
    /// Its high end.
    pub to: f64,
    /// Where its figures stand, and their texts.
    pub ticks: Vec<(f64, String)>,
}

/// What is drawn. Temperatures in degrees of the screen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Plot {
    /// Text alternative.
    pub label: String,
    /// Time since heat on, s.
    pub time: Axis,
    /// Temperature.
    pub temperature: Axis,
    /// Reading minus curve.
    pub residual: Axis,
    /// Fitted curves, one line a stretch.
    pub lines: Vec<Vec<(f64, f64)>>,
    /// Readings.
    pub dots: Vec<Dot>,
    /// Readings minus curve.
    pub residuals: Vec<Dot>,
    /// Unit of the temperature and of the residuals.
    pub units: (&'static str, &'static str),
}

impl HeadCurves {
    /// The curves of `head`; `offset` gives the local time minus UTC, minutes, at a wall clock time. None when it is unknown.
    pub fn of(
        book: &Book,
        head: Id,
        phone: Id,
        unit: Degree,
        offset: &dyn Fn(i64) -> i64,
        estimates: &mut Estimates,
    ) -> Option<HeadCurves> {
        let kit = crate::book::kit::Kit::of(book);
        let known = kit.heads.get(&head)?;
        let (name, heating) = (known.name.now()?.name.clone(), known.heating.now()?);
        let all = ramps_of(book, head);
        let mut modes: Vec<Option<String>> = heating.modes.iter().cloned().map(Some).collect();
        // A mode that the head no longer has still shows what was taken in it.
        for mode in all.iter().map(|ramp| &ramp.frozen.head.mode) {
            if !modes.contains(mode) {
                modes.push(mode.clone());
            }
        }
        if modes.is_empty() {
            modes.push(None);
        }
        let mut shape = |mode: Option<String>| {
            let of_mode = |ramp: &&Ramp| ramp.frozen.head.mode == mode;
            let ramps: Vec<&Ramp> = all.iter().filter(of_mode).collect();
            let context = Context { book, phone, unit, offset, name: &name, heating };
            context.mode(head, mode.clone(), &ramps, estimates)
        };
        let modes = modes.into_iter().map(&mut shape).collect();
        let goes_on = all.iter().any(|ramp| ramp.phone == phone && ramp.ended.is_none());
        Some(HeadCurves { name, modes, goes_on })
    }
}

struct Context<'a> {
    book: &'a Book,
    phone: Id,
    unit: Degree,
    offset: &'a dyn Fn(i64) -> i64,
    name: &'a str,
    heating: &'a Heating,
}

impl Context<'_> {
    fn mode(&self, head: Id, mode: Option<String>, ramps: &[&Ramp], estimates: &mut Estimates) -> ModeCurve {
        let named = curve_of(self.book, head, mode.as_ref());
        let used = ramp::ramps(self.book, &named);
        let setting = used.first().map(|ramp| ramp.frozen.head.setting).or(self.heating.settings.first().copied());
        let found = setting.map(|setting| heat_curve(&used, setting));
        let mut lines: Vec<RampLine> = ramps.iter().map(|ramp| self.line(ramp, &named)).collect();
        if let Some(Err(NoCurve::Refused(_))) = found {
            let meant = lines.iter_mut().filter(|line| line.standing == Standing::Used);
            meant.for_each(|line| line.standing = Standing::Refused);
        }
        let (short, words, figures, plot) = match found {
            Some(Ok(curve)) => {
                let record = newest_ramp(self.book, &named).map(|ramp| estimates.record(self.book, ramp));
                let record = record.unwrap_or_default();
                let short = match (record.withdrawn, used.len()) {
                    (Some(_), _) => words::ESTIMATES_WITHDRAWN.to_string(),
                    (None, 1) => "Heat curve from 1 ramp".to_string(),
                    (None, count) => format!("Heat curve from {count} ramps"),
                };
                let mut words: Vec<String> = record.withdrawn.map(words::withdrawn).into_iter().collect();
                words.extend([words::chosen(&curve), words::ramps_behind(&curve)]);
                if record.readings.of > 0 {
                    words.push(words::scored(&record));
                }
                if let Err(why) = &curve.cooling_tau {
                    words.push(format!("Nothing can be said after head off: {why}."));
                }
                let plot = self.plot(&used, Some(&curve));
                (short, words, figures(&curve, self.unit), Some(plot))
            }
            Some(Err(NoCurve::Refused(why))) => {
                let plot = self.plot(&used, None);
                (words::NO_CURVE_WORD.into(), vec![sentence(&why.to_string())], Vec::new(), Some(plot))
            }
            _ => (words::NO_CURVE_WORD.to_string(), vec![words::NO_CURVE.to_string()], Vec::new(), None),
        };
        ModeCurve { mode, short, words, figures, plot, ramps: lines }
    }

    fn line(&self, ramp: &Ramp, named: &[Hash]) -> RampLine {
        let sign = ramp.ended.and_then(|end| named.iter().position(|hash| *hash == end.hash));
        let standing = match (ramp.ended, sign) {
            (None, _) => Standing::GoesOn,
            (Some(_), Some(_)) => Standing::Used,
            (Some(end), None) if end.usable && ramp.is_whole() => Standing::Older,
            (Some(_), None) => Standing::NotUsable,
        };
        let frozen = &ramp.frozen;
        let who = frozen.by.map(|by| {
            let kit = crate::book::kit::Kit::of(self.book);
            let name = kit.people.get(&by).and_then(|group| group.now()).and_then(|now| self.book.words(now.name));
            name.unwrap_or(words::SOMEBODY).to_string()
        });
        let detector = frozen.detector.as_ref().map(|detector| detector.place.tag.clone());
        let setting = format!("{} {}", frozen.head.setting.text(), frozen.head.setting.unit.symbol());
        let ambient = format!("ambient {} {}", frozen.ambient.text(), frozen.ambient.unit.symbol());
        let detail = [who, Some(setting), Some(ambient), detector, Some(words::readings(ramp.readings.len()))];
        let reading = |at: &crate::book::run::ReadingAt| {
            (time::gone(at.at), format!("{} {}", at.reading.text(), at.reading.unit.symbol()))
        };
        RampLine {
            id: ramp.id,
            title: time::wall(ramp.started_wall, (self.offset)(ramp.started_wall)),
            detail: detail.into_iter().flatten().collect::<Vec<_>>().join(" · "),
            standing,
            sign,
            readings: ramp.readings.iter().map(reading).collect(),
            notes: ramp.clock_notes.iter().map(|(_, note): &(i64, ClockNote)| words::clock_note(note)).collect(),
            ended: ramp.ended.filter(|_| ramp.phone == self.phone).map(|end| end.hash),
        }
    }

    fn plot(&self, ramps: &[Ramp], curve: Option<&HeatCurve>) -> Plot {
        let mut plot = Plot { units: (self.unit.symbol(), difference_symbol(self.unit)), ..Plot::default() };
        let degrees = |at: Celsius| at.in_degrees(self.unit);
        let mut last = 0.0_f64;
        for (index, ramp) in ramps.iter().enumerate() {
            let end = ramp.ended.map_or(0, |end| end.at).max(ramp.readings.last().map_or(0, |reading| reading.at));
            let end = Seconds::from_millis(end).0;
            last = last.max(end);
            let dot =
                |r: &crate::book::run::ReadingAt| (Seconds::from_millis(r.at).0, degrees(r.reading.celsius()), index);
            plot.dots.extend(ramp.readings.iter().map(dot));
            let Some(curve) = curve else { continue };
            let rest = residuals(ramp, curve, index);
            plot.residuals.extend(rest.iter().map(|(time, k)| (time.0, k.in_degrees(self.unit), index)));
            // A line ends where the fit says nothing: while the head holds.
            let mut line = Vec::new();
            for step in 0..=STEPS {
                let time = end * f64::from(step) / f64::from(STEPS);
                match fitted(ramp, curve, index, Seconds(time)) {
                    Some(at) => line.push((time, degrees(at))),
                    None if !line.is_empty() => plot.lines.push(std::mem::take(&mut line)),
                    None => {}
                }
            }
            plot.lines.push(line);
        }
        plot.label = words::plot(self.name, ramps.len(), plot.dots.len());
        plot.time = time_axis(last);
        plot.temperature = axis(plot.dots.iter().map(|dot| dot.1), 4, false);
        plot.residual = axis(plot.residuals.iter().map(|dot| dot.1), 2, true);
        plot
    }
}

/// The readings of a ramp that goes on, without a curve.
pub fn plain_plot(ramp: &Ramp, unit: Degree) -> Plot {
    let dot = |r: &crate::book::run::ReadingAt| (Seconds::from_millis(r.at).0, r.reading.celsius().in_degrees(unit), 0);
    let dots: Vec<Dot> = ramp.readings.iter().map(dot).collect();
    let last = dots.last().map_or(0.0, |dot| dot.0);
    Plot {
        label: words::plot(&ramp.frozen.head.name.name, 1, dots.len()),
        time: time_axis(last.max(60.0)),
        temperature: axis(dots.iter().map(|dot| dot.1), 3, false),
        dots,
        units: (unit.symbol(), difference_symbol(unit)),
        ..Plot::default()
    }
}

/// Points of a fitted line.
const STEPS: u32 = 120;

/// An axis around values with about so many steps; `even` puts zero in the middle.
pub(super) fn axis(values: impl Iterator<Item = f64>, steps: u32, even: bool) -> Axis {
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for value in values {
        (low, high) = (low.min(value), high.max(value));
    }
    if !(low.is_finite() && high.is_finite()) {
        (low, high) = (0.0, 1.0);
    } else if !even && high - low < 1.0 {
        (low, high) = (low - 0.5, high + 0.5);
    }
    if even {
        high = low.abs().max(high.abs()).max(1e-3);
        low = -high;
    }
    let step = round_step((high - low).max(1e-3) / f64::from(steps));
    let (from, to) = ((low / step).floor() * step, (high / step).ceil() * step);
    let decimals = if step >= 1.0 { 0 } else { (-step.log10()).ceil() as usize };
    let count = ((to - from) / step).round() as u32;
    let ticks = (0..=count).map(|at| from + step * f64::from(at));
    Axis { from, to, ticks: ticks.map(|at| (at, signed(at, decimals, even))).collect() }
}

fn signed(value: f64, decimals: usize, sign: bool) -> String {
    let text = format!("{:.decimals$}", value.abs());
    match value {
        value if value < 0.0 && text.bytes().any(|byte| (b'1'..=b'9').contains(&byte)) => format!("−{text}"),
        value if sign && value > 0.0 => format!("+{text}"),
        _ => text,
    }
}

/// Steps of a time axis, s.
const TIME_STEPS: [i64; 9] = [10, 30, 60, 120, 300, 600, 1_200, 1_800, 3_600];

fn time_axis(last: f64) -> Axis {
    let to = last.max(10.0);
    let step = TIME_STEPS.into_iter().find(|step| to / *step as f64 <= 5.0).unwrap_or(7_200);
    let count = (to / step as f64) as i64;
    let ticks = (0..=count.min(100)).map(|at| ((at * step) as f64, time::gone(at * step * 1_000))).collect();
    Axis { from: 0.0, to, ticks }
}

/// The parameters of a curve, each to be opened.
pub fn figures(curve: &HeatCurve, unit: Degree) -> Vec<Shown> {
    let mut all = vec![parameter(&methods::CURVE_RATE, &curve.rate, Shape::Rate, unit)];
    all.extend(curve.rise.as_ref().map(|rise| parameter(&methods::CURVE_RISE, rise, Shape::Difference, unit)));
    all.extend(curve.heating_tau.as_ref().map(|tau| parameter(&methods::CURVE_HEATING, tau, Shape::Time, unit)));
    all.extend(curve.lag.as_ref().map(|lag| parameter(&methods::CURVE_LAG, lag, Shape::Time, unit)));
    all.extend(curve.cooling_tau.as_ref().ok().map(|tau| parameter(&methods::CURVE_COOLING, tau, Shape::Time, unit)));
    all.extend(curve.held.as_ref().map(|held| parameter(&methods::CURVE_HELD, held, Shape::Point, unit)));
    let sd = curve.residual_sd;
    all.push(Shown {
        value: sd.text(unit, decimals(sd, unit)),
        unit: difference_symbol(unit).into(),
        inputs: vec![(words::RAMPS.into(), curve.ramps.len().to_string())],
        ..explained(&methods::CURVE_RESIDUAL)
    });
    all
}

/// What kind of number a parameter is.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Shape {
    Rate,
    Difference,
    Time,
    Point,
}

fn parameter(method: &Method, of: &Parameter, shape: Shape, unit: Degree) -> Shown {
    // A rate is a difference per second; it is shown per minute.
    let scaled = |value: f64| if shape == Shape::Rate { value * 60.0 } else { value };
    let size = |value: f64| match shape {
        Shape::Time => Kelvin(value).0,
        _ => Kelvin(scaled(value)).in_degrees(unit),
    };
    let places = match shape {
        Shape::Time => decimals(Kelvin(of.u), Degree::C),
        _ => decimals(Kelvin(scaled(of.u)), unit),
    };
    let (symbol, apart) = match (shape, unit) {
        (Shape::Time, _) => ("s", "s"),
        (Shape::Rate, unit) => (rate_symbol(unit), rate_symbol(unit)),
        (Shape::Difference, unit) => (difference_symbol(unit), difference_symbol(unit)),
        (Shape::Point, unit) => (unit.symbol(), difference_symbol(unit)),
    };
    let value = match shape {
        Shape::Point => Celsius(of.value).text(unit, places),
        _ => format!("{:.places$}", size(of.value)),
    };
    let text = |value: f64| format!("{:.places$} {apart}", size(value));
    let mut inputs =
        vec![(words::RAMPS.to_string(), of.ramps.to_string()), ("Standard uncertainty u".to_string(), text(of.u))];
    inputs.extend(of.between.map(|between| ("Standard deviation between ramps".to_string(), text(between))));
    Shown {
        value,
        unit: symbol.into(),
        spread: match of.between {
            Some(between) => format!("u of the mean = {} · s between ramps = {}", text(of.u), text(between)),
            None => format!("u = {}", text(of.u)),
        },
        inputs,
        ..explained(method)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn axes_end_at_round_figures() {
        // By hand: 21 to 97 in about four steps is steps of 20 from 20 to 100.
        let shown = axis([21.0, 97.0].into_iter(), 4, false);
        let texts: Vec<&str> = shown.ticks.iter().map(|(_, text)| text.as_str()).collect();
        assert_eq!(texts, ["20", "40", "60", "80", "100"]);
        let shown = axis([-0.3, 0.7].into_iter(), 2, true);
        let texts: Vec<&str> = shown.ticks.iter().map(|(_, text)| text.as_str()).collect();
        assert_eq!(texts, ["−1", "0", "+1"]);
        assert_eq!(time_axis(150.0).ticks.last().map(|(_, text)| text.as_str()), Some("2:30"));
    }

    #[test]
    fn an_axis_of_nothing_is_an_axis() {
        // By hand: 0 to 1 in about four steps of 0.25 is steps of 0.5, the next round figure: 0, 0.5 and 1.
        assert_eq!(axis([].into_iter(), 4, false).ticks.len(), 3);
        // One value lies in the middle of a degree.
        let shown = axis([5.0, 5.0].into_iter(), 4, false);
        assert_eq!((shown.from, shown.to), (4.5, 5.5));
    }
}
