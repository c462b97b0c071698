//! The heater profiles of a heater: its profile runs, what they make, and the plot.

pub mod page;

use super::findings::figure::{Shown, decimals, explained, rate_symbol, visit_step};
use super::findings::one::sentence;
use super::{locale, time, words};
use crate::book::entry::Hash;
use crate::book::profile_run::{self, ProfileRun, profile_of, profile_runs_of};
use crate::book::{Id, clock::ClockNote, entries::Book};
use crate::findings::methods::{self, Method};
use crate::findings::{Estimates, NoEstimate, NoProfile, fitted, newest_profile_run, residuals};
use crate::thermal::{HeaterProfile, Parameter};
use crate::trade::heater::Heating;
use crate::units::{Celsius, Degree, Kelvin, Seconds, TestTime, Wall};

/// How a profile run stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// It makes the profile.
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
            Standing::Refused => words::NO_PROFILE_OF_IT,
            Standing::Older => words::OLDER,
            Standing::NotUsable => words::NOT_USABLE,
            Standing::GoesOn => words::GOES_ON,
        }
    }
}

/// One profile run in the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProfileRunLine {
    /// Which.
    pub id: Id,
    /// When, in local time.
    pub title: String,
    /// Who, setting, detector, readings.
    pub detail: String,
    /// How it stands.
    pub standing: Standing,
    /// Number of its sign in the plot; none while it makes no profile.
    pub sign: Option<usize>,
    /// Readings: time since heat on, as displayed.
    pub readings: Vec<(String, String)>,
    /// What is to be known about its time.
    pub notes: Vec<String>,
    /// The entry that ended it, while this phone can take that back.
    pub ended: Option<Hash>,
}

/// The profile of one mode.
#[derive(Clone, Debug, PartialEq)]
pub struct ModeProfile {
    /// Name of the mode; none where the heater has only one.
    pub mode: Option<String>,
    /// Whether there is a profile, in a few words.
    pub short: String,
    /// What is to be known: why there is none, or what it rests on.
    pub words: Vec<String>,
    /// Parameters, each to be opened.
    pub figures: Vec<Shown>,
    /// The plot; none without a profile run.
    pub plot: Option<Plot>,
    /// Its profile runs, newest first.
    pub profile_runs: Vec<ProfileRunLine>,
}

/// Every profile of a heater.
#[derive(Clone, Debug, PartialEq)]
pub struct HeaterProfiles {
    /// Name of the heater.
    pub name: String,
    /// One for each mode.
    pub modes: Vec<ModeProfile>,
    /// Whether this phone takes a profile run of it now.
    pub goes_on: bool,
}

/// A reading in the plot: time in s since heat on, its value, and the number of its profile run.
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
    /// Reading minus profile.
    pub residual: Axis,
    /// Fitted profiles, one line a stretch.
    pub lines: Vec<Vec<(f64, f64)>>,
    /// Readings.
    pub dots: Vec<Dot>,
    /// Readings minus profile.
    pub residuals: Vec<Dot>,
    /// Unit of the temperature and of the residuals.
    pub units: (&'static str, &'static str),
}

impl HeaterProfiles {
    /// The profiles of `heater`; `offset` gives the local time minus UTC, minutes, at a wall clock time. None when it is unknown.
    pub fn of(
        book: &Book,
        heater: Id,
        phone: Id,
        unit: Degree,
        offset: &dyn Fn(Wall) -> i64,
        estimates: &mut Estimates,
    ) -> Option<HeaterProfiles> {
        let kit = crate::book::kit::Kit::of(book);
        let known = kit.heaters.get(&heater)?;
        let (name, heating) = (known.name.now()?.name.clone(), known.heating.now()?);
        let all = profile_runs_of(book, heater);
        let mut modes: Vec<Option<String>> = heating.modes.iter().cloned().map(Some).collect();
        // A mode that the heater no longer has still shows what was taken in it.
        for mode in all.iter().map(|profile_run| &profile_run.frozen.heater.mode) {
            if !modes.contains(mode) {
                modes.push(mode.clone());
            }
        }
        if modes.is_empty() {
            modes.push(None);
        }
        let mut shape = |mode: Option<String>| {
            let of_mode = |profile_run: &&ProfileRun| profile_run.frozen.heater.mode == mode;
            let profile_runs: Vec<&ProfileRun> = all.iter().filter(of_mode).collect();
            let context = Context { book, phone, unit, offset, name: &name, heating };
            context.mode(heater, mode.clone(), &profile_runs, estimates)
        };
        let modes = modes.into_iter().map(&mut shape).collect();
        let goes_on = all.iter().any(|profile_run| profile_run.phone == phone && profile_run.ended.is_none());
        Some(HeaterProfiles { name, modes, goes_on })
    }
}

struct Context<'a> {
    book: &'a Book,
    phone: Id,
    unit: Degree,
    offset: &'a dyn Fn(Wall) -> i64,
    name: &'a str,
    heating: &'a Heating,
}

impl Context<'_> {
    fn mode(
        &self,
        heater: Id,
        mode: Option<String>,
        profile_runs: &[&ProfileRun],
        estimates: &mut Estimates,
    ) -> ModeProfile {
        let named = profile_of(self.book, heater, mode.as_ref());
        let used = profile_run::profile_runs(self.book, &named);
        let setting = used.first().map(|profile_run| profile_run.frozen.heater.setting).or(self
            .heating
            .settings
            .first()
            .copied());
        let found = setting.map(|setting| estimates.profile_of(self.book, &named, setting));
        let mut lines: Vec<ProfileRunLine> =
            profile_runs.iter().map(|profile_run| self.line(profile_run, &named)).collect();
        if let Some(Err(NoEstimate::NoProfile(NoProfile::Refused(_)))) = found {
            let meant = lines.iter_mut().filter(|line| line.standing == Standing::Used);
            meant.for_each(|line| line.standing = Standing::Refused);
        }
        let (short, words, figures, plot) = match found {
            Some(Ok(profile)) => {
                let record =
                    newest_profile_run(self.book, &named).map(|profile_run| estimates.record(self.book, profile_run));
                let record = record.unwrap_or_default();
                let short = match (record.withdrawn, used.len()) {
                    (Some(_), _) => words::ESTIMATES_WITHDRAWN.to_string(),
                    (None, 1) => "Heater profile from 1 profile run".to_string(),
                    (None, count) => format!("Heater profile from {count} profile runs"),
                };
                let mut words: Vec<String> = record.withdrawn.map(words::withdrawn).into_iter().collect();
                words.extend([words::chosen(&profile), words::profile_runs_behind(&profile)]);
                if record.readings.of > 0 {
                    words.push(words::scored(&record));
                }
                if let Err(why) = &profile.cooling_tau {
                    words.push(format!("Nothing can be said after heater off: {why}."));
                }
                words.extend(profile.unseen().iter().map(|unseen| sentence(&unseen.to_string())));
                let plot = self.plot(&used, Some(&profile));
                (short, words, figures(&profile, self.unit), Some(plot))
            }
            Some(Err(NoEstimate::NoProfile(NoProfile::Refused(why)))) => {
                let plot = self.plot(&used, None);
                (words::NO_PROFILE_WORD.into(), vec![sentence(&why.to_string())], Vec::new(), Some(plot))
            }
            _ => (words::NO_PROFILE_WORD.to_string(), vec![words::NO_PROFILE.to_string()], Vec::new(), None),
        };
        ModeProfile { mode, short, words, figures, plot, profile_runs: lines }
    }

    fn line(&self, profile_run: &ProfileRun, named: &[Hash]) -> ProfileRunLine {
        let sign = profile_run.ended.and_then(|end| named.iter().position(|hash| *hash == end.hash));
        let standing = match (profile_run.ended, sign) {
            (None, _) => Standing::GoesOn,
            (Some(_), Some(_)) => Standing::Used,
            (Some(end), None) if end.usable && profile_run.is_whole() => Standing::Older,
            (Some(_), None) => Standing::NotUsable,
        };
        let frozen = &profile_run.frozen;
        let who = frozen.by.map(|by| {
            let kit = crate::book::kit::Kit::of(self.book);
            let name = kit.people.get(&by).and_then(|group| group.now()).and_then(|now| self.book.words(now.name));
            name.unwrap_or(words::SOMEBODY).to_string()
        });
        let setting = words::setting(&frozen.heater.setting, self.unit);
        let ambient = format!("ambient {}", words::as_displayed(&frozen.ambient));
        let detail = [who, Some(setting), Some(ambient), Some(words::readings(profile_run.readings.len()))];
        let reading =
            |at: &crate::book::test::ReadingAt| (time::gone(at.at.since_heat_on()), words::as_displayed(&at.reading));
        ProfileRunLine {
            id: profile_run.id,
            title: time::wall(profile_run.started_wall, (self.offset)(profile_run.started_wall)),
            detail: detail.into_iter().flatten().collect::<Vec<_>>().join(" · "),
            standing,
            sign,
            readings: profile_run.readings.iter().map(reading).collect(),
            notes: profile_run
                .clock_notes
                .iter()
                .map(|(_, note): &(TestTime, ClockNote)| words::clock_note(note))
                .collect(),
            ended: profile_run.ended.filter(|_| profile_run.phone == self.phone).map(|end| end.hash),
        }
    }

    fn plot(&self, profile_runs: &[ProfileRun], profile: Option<&HeaterProfile>) -> Plot {
        let mut plot = Plot { units: (self.unit.symbol(), self.unit.symbol()), ..Plot::default() };
        let degrees = |at: Celsius| at.in_degrees(self.unit);
        let mut last = 0.0_f64;
        for (index, profile_run) in profile_runs.iter().enumerate() {
            let end = profile_run
                .ended
                .map_or(TestTime::HEAT_ON, |end| end.at)
                .max(profile_run.readings.last().map_or(TestTime::HEAT_ON, |reading| reading.at));
            let end = end.seconds().0;
            last = last.max(end);
            let dot = |r: &crate::book::test::ReadingAt| (r.at.seconds().0, degrees(r.reading.celsius()), index);
            plot.dots.extend(profile_run.readings.iter().map(dot));
            let Some(profile) = profile else { continue };
            let rest = residuals(profile_run, profile, index);
            plot.residuals.extend(rest.iter().map(|(time, k)| (time.0, k.in_degrees(self.unit), index)));
            // A line ends where the fit says nothing: while the heater holds.
            let mut line = Vec::new();
            for step in 0..=STEPS {
                let time = end * f64::from(step) / f64::from(STEPS);
                match fitted(profile_run, profile, index, Seconds(time)) {
                    Some(at) => line.push((time, degrees(at))),
                    None if !line.is_empty() => plot.lines.push(std::mem::take(&mut line)),
                    None => {}
                }
            }
            plot.lines.push(line);
        }
        plot.label = words::plot(self.name, profile_runs.len(), plot.dots.len());
        plot.time = time_axis(last);
        plot.temperature = axis(plot.dots.iter().map(|dot| dot.1), 4, false);
        plot.residual = axis(plot.residuals.iter().map(|dot| dot.1), 2, true);
        plot
    }
}

/// The readings of a profile run that goes on, without a profile.
pub fn plain_plot(profile_run: &ProfileRun, unit: Degree) -> Plot {
    let dot = |r: &crate::book::test::ReadingAt| (r.at.seconds().0, r.reading.celsius().in_degrees(unit), 0);
    let dots: Vec<Dot> = profile_run.readings.iter().map(dot).collect();
    let last = dots.last().map_or(0.0, |dot| dot.0);
    Plot {
        label: words::plot(&profile_run.frozen.heater.name.name, 1, dots.len()),
        time: time_axis(last.max(60.0)),
        temperature: axis(dots.iter().map(|dot| dot.1), 3, false),
        dots,
        units: (unit.symbol(), unit.symbol()),
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
    let step = visit_step((high - low).max(1e-3) / f64::from(steps));
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

/// The parameters of a profile, each to be opened.
pub fn figures(profile: &HeaterProfile, unit: Degree) -> Vec<Shown> {
    let mut all = vec![parameter(&methods::PROFILE_RATE, &profile.rate, Shape::Rate, unit)];
    all.extend(profile.rise.as_ref().map(|rise| parameter(&methods::PROFILE_RISE, rise, Shape::Difference, unit)));
    all.extend(profile.heating_tau.as_ref().map(|tau| parameter(&methods::PROFILE_HEATING, tau, Shape::Time, unit)));
    all.extend(profile.lag.as_ref().map(|lag| parameter(&methods::PROFILE_LAG, lag, Shape::Time, unit)));
    all.extend(
        profile.cooling_tau.as_ref().ok().map(|tau| parameter(&methods::PROFILE_COOLING, tau, Shape::Time, unit)),
    );
    all.extend(profile.held.as_ref().map(|held| parameter(&methods::PROFILE_HELD, held, Shape::Point, unit)));
    let sd = profile.residual_sd;
    all.push(Shown {
        value: locale::decimal(sd.text(unit, decimals(sd, unit))),
        unit: unit.symbol().into(),
        inputs: vec![(words::PROFILE_RUNS.into(), profile.profile_runs.len().to_string())],
        ..explained(&methods::PROFILE_RESIDUAL)
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
        (Shape::Difference, unit) => (unit.symbol(), unit.symbol()),
        (Shape::Point, unit) => (unit.symbol(), unit.symbol()),
    };
    let value = match shape {
        Shape::Point => Celsius(of.value).text(unit, places),
        _ => format!("{:.places$}", size(of.value)),
    };
    let text = |value: f64| format!("{:.places$} {apart}", size(value));
    let mut inputs = vec![
        (words::PROFILE_RUNS.to_string(), of.profile_runs.to_string()),
        ("Standard uncertainty u".to_string(), text(of.u)),
    ];
    inputs.extend(of.between.map(|between| ("Standard deviation between profile runs".to_string(), text(between))));
    Shown {
        value,
        unit: symbol.into(),
        spread: match of.between {
            Some(between) => format!("u of the mean = {} · s between profile runs = {}", text(of.u), text(between)),
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
    fn axes_end_at_visit_figures() {
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
