//! Reads what was typed and collects everything that is wrong with it.

use super::{Name, Typed, Wrong, Wrongs};
use crate::book::Id;
use crate::book::decide::day;
use crate::book::refusal::Field;
use crate::units::{Celsius, Decimal, Degree, Difference, Kelvin, Length, LengthUnit, NotANumber, Reading};
use crate::view::{time, words};

/// Longest name and longest line, characters; as the rules have them.
const NAME: usize = 80;
const LINE: usize = 400;

/// Reads fields one after another; `done` says what was wrong.
pub(super) struct Reader<'a> {
    typed: &'a Typed,
    unit: Degree,
    wrongs: Wrongs,
}

impl<'a> Reader<'a> {
    pub(super) fn new(typed: &'a Typed) -> Reader<'a> {
        Reader { typed, unit: typed.unit(), wrongs: Wrongs::new() }
    }

    /// What was read, unless something is wrong. Values read after a fault stand for nothing.
    pub(super) fn done<T>(self, made: T) -> Result<T, Wrongs> {
        if self.wrongs.is_empty() { Ok(made) } else { Err(self.wrongs) }
    }

    pub(super) fn say(&mut self, name: Name, say: String) {
        self.wrongs.entry(name.key).or_insert(Wrong { say, offer: None });
    }

    pub(super) fn wrong(&mut self, name: Name, field: &Field) {
        self.say(name, words::field(field, self.unit));
    }

    pub(super) fn offer(&mut self, name: Name, say: String, offer: String) {
        self.wrongs.entry(name.key).or_insert(Wrong { say, offer: Some(offer) });
    }

    /// A text that has to be there.
    pub(super) fn name(&mut self, name: Name) -> String {
        let text = self.typed.of(name);
        if text.is_empty() {
            self.wrong(name, &Field::Empty { name: name.label });
        }
        self.at_most(name, text, NAME);
        text.to_string()
    }

    /// A text that may be left out.
    pub(super) fn line(&mut self, name: Name) -> Option<String> {
        let text = self.typed.of(name);
        self.at_most(name, text, LINE);
        (!text.is_empty()).then(|| text.to_string())
    }

    /// Names, one a line or with commas between.
    pub(super) fn names(&mut self, name: Name) -> Vec<String> {
        let parts = self.typed.of(name).split(['\n', ',', ';']).map(str::trim).filter(|part| !part.is_empty());
        let mut names: Vec<String> = Vec::new();
        for part in parts {
            self.at_most(name, part, NAME);
            if !names.iter().any(|known| known == part) {
                names.push(part.to_string());
            }
        }
        names
    }

    fn at_most(&mut self, name: Name, text: &str, most: usize) {
        if text.chars().count() > most {
            self.wrong(name, &Field::TooLong { name: name.label, most });
        }
    }

    /// A temperature within a range; none when nothing was typed or it is wrong.
    pub(super) fn reading(&mut self, name: Name, range: (Celsius, Celsius)) -> Option<Reading> {
        let text = self.typed.of(name);
        self.reading_of(name, text, range)
    }

    fn reading_of(&mut self, name: Name, text: &str, (from, to): (Celsius, Celsius)) -> Option<Reading> {
        let reading = Reading::parse(text, self.unit);
        let reading = self.number(name, reading)?;
        if reading.celsius() < from || reading.celsius() > to {
            self.wrong(name, &Field::Temperature { name: name.label, from, to });
            return None;
        }
        Some(reading)
    }

    /// Temperatures, one a line or with spaces between; a comma may be a decimal sign.
    pub(super) fn readings(&mut self, name: Name, range: (Celsius, Celsius)) -> Vec<Reading> {
        let text = self.typed.of(name);
        if text.is_empty() {
            self.wrong(name, &Field::Empty { name: name.label });
        }
        let parts = text.split(|sign: char| sign.is_whitespace() || sign == ';').map(|part| part.trim_end_matches(','));
        let mut readings = Vec::new();
        for part in parts.filter(|part| !part.is_empty()) {
            if part.split_once(',').is_some_and(|(_, digits)| digits.len() > 2) {
                self.say(name, format!("{}: one per line, or with a space between.", name.label));
            } else if let Some(reading) = self.reading_of(name, part, range)
                && !readings.contains(&reading)
            {
                readings.push(reading);
            }
        }
        readings
    }

    /// A difference within a range of K. One of the wrong sign is answered with the one that was probably meant.
    pub(super) fn difference(&mut self, name: Name, (from, to): (f64, f64)) -> Option<Difference> {
        let difference = Difference::parse(self.typed.of(name), self.unit);
        let difference = self.number(name, difference)?;
        let within = |value: f64| value >= from && value <= to;
        let kelvin = difference.kelvin().0;
        if within(kelvin) {
            return Some(difference);
        }
        let field = Field::Difference { name: name.label, from: Kelvin(from), to: Kelvin(to) };
        if within(-kelvin) {
            let meant = Difference { value: -difference.value, ..difference }.text();
            let say = format!("{} Was {meant} meant?", words::field(&field, self.unit)).replace(" -", " −");
            self.offer(name, say, meant);
        } else {
            self.wrong(name, &field);
        }
        None
    }

    /// A standard uncertainty up to a number of K: never zero.
    pub(super) fn uncertainty(&mut self, name: Name, to: f64) -> Option<Difference> {
        let given = self.difference(name, (0.0, to))?;
        if given.kelvin().0 < 0.001 {
            self.wrong(name, &Field::Zero { name: name.label });
            return None;
        }
        Some(given)
    }

    fn number<T>(&mut self, name: Name, parsed: Result<T, NotANumber>) -> Option<T> {
        match parsed {
            Ok(number) => Some(number),
            Err(NotANumber::Empty) => None,
            Err(why) => {
                self.say(name, format!("{}: {why}.", name.label));
                None
            }
        }
    }

    /// A whole number within a range.
    pub(super) fn whole(&mut self, name: Name, (from, to): (i64, i64), unit: &'static str) -> i64 {
        match self.typed.of(name).parse::<i64>() {
            Ok(value) if (from..=to).contains(&value) => value,
            _ => {
                self.wrong(name, &Field::Number { name: name.label, from, to, unit });
                0
            }
        }
    }

    /// A length of time in ms within a range in s; none when nothing was typed or it is wrong.
    pub(super) fn length(&mut self, name: Name, (from, to): (i64, i64)) -> Option<i64> {
        let text = self.typed.of(name);
        if text.is_empty() {
            return None;
        }
        let Some(ms) = length(text) else {
            self.say(name, format!("{}: minutes and seconds, e.g. 5:00, or seconds, e.g. 45.", name.label));
            return None;
        };
        if ms < from * 1_000 || ms > to * 1_000 {
            self.wrong(name, &Field::Number { name: name.label, from, to, unit: "s" });
            return None;
        }
        Some(ms)
    }

    /// A height in feet or metres, with its unit; none when nothing was typed or it is wrong.
    pub(super) fn height(&mut self, name: Name) -> Option<Length> {
        let text = self.typed.of(name);
        if text.is_empty() {
            return None;
        }
        let end = text.find(|sign: char| !(sign.is_ascii_digit() || ".,".contains(sign))).unwrap_or(text.len());
        let unit = match text[end..].trim().to_ascii_lowercase().as_str() {
            "ft" | "feet" | "'" | "′" => Some(LengthUnit::Ft),
            "m" => Some(LengthUnit::M),
            _ => None,
        };
        match (Decimal::parse(&text[..end]), unit) {
            (Ok(Decimal { value, scale }), Some(unit)) => Some(Length { value, scale, unit }),
            _ => {
                self.say(name, format!("{}: a number with ft or m, e.g. 22 ft.", name.label));
                None
            }
        }
    }

    /// Says that a field is empty, when it is.
    pub(super) fn must<T>(&mut self, name: Name, value: Option<T>) -> Option<T> {
        if value.is_none() && !self.typed.has(name) {
            self.wrong(name, &Field::Empty { name: name.label });
        }
        value
    }

    /// A calendar day.
    pub(super) fn day(&mut self, name: Name) -> Option<String> {
        let text = self.typed.of(name);
        if !text.is_empty() && day(text).is_none() {
            self.wrong(name, &Field::Date { name: name.label });
        }
        (!text.is_empty()).then(|| text.to_string())
    }

    /// A day and a time of day as UTC ms; none when nothing was typed or it is wrong.
    pub(super) fn moment(&mut self, name: Name, offset_min: i64) -> Option<i64> {
        let text = self.typed.of(name);
        let at = time::moment(text, offset_min);
        if at.is_none() && !text.is_empty() {
            self.wrong(name, &Field::Date { name: name.label });
        }
        at
    }

    /// A number; none when nothing was typed or it is wrong.
    pub(super) fn decimal(&mut self, name: Name) -> Option<Decimal> {
        let number = Decimal::parse(self.typed.of(name));
        self.number(name, number)
    }

    /// Every answer that was ticked.
    pub(super) fn several<T>(&self, name: Name, of: impl IntoIterator<Item = (T, &'static str)>) -> Vec<T> {
        let ticked: Vec<&str> = self.typed.of(name).split(',').collect();
        of.into_iter().filter(|(_, code)| ticked.contains(code)).map(|(value, _)| value).collect()
    }

    /// An answer that has to be given, by the words it is kept as.
    pub(super) fn choose<T>(&mut self, name: Name, of: impl IntoIterator<Item = (T, &'static str)>) -> Option<T> {
        let chosen = self.maybe(name, of);
        if chosen.is_none() {
            self.wrong(name, &Field::Choose { name: name.label });
        }
        chosen
    }

    /// An answer that may be left out.
    pub(super) fn maybe<T>(&self, name: Name, of: impl IntoIterator<Item = (T, &'static str)>) -> Option<T> {
        of.into_iter().find(|(_, code)| *code == self.typed.of(name)).map(|(value, _)| value)
    }

    /// A thing that has to be chosen and has to be known.
    pub(super) fn thing(&mut self, name: Name, known: impl Fn(Id) -> bool) -> Id {
        match Id::try_parse(self.typed.of(name)).ok().filter(|id| known(*id)) {
            Some(id) => id,
            None => {
                self.wrong(name, &Field::Choose { name: name.label });
                Id::nil()
            }
        }
    }

    /// Yes or no.
    pub(super) fn yes(&self, name: Name) -> bool {
        self.typed.of(name) == "yes"
    }
}

/// Minutes and seconds, or seconds alone, as ms.
pub(super) fn length(text: &str) -> Option<i64> {
    let whole = |digits: &str| {
        let fits = (1..=5).contains(&digits.len()) && digits.bytes().all(|digit| digit.is_ascii_digit());
        fits.then(|| digits.parse::<i64>().ok()).flatten()
    };
    let seconds = match text.split_once(':') {
        Some((minutes, seconds)) if seconds.len() == 2 => {
            whole(minutes)? * 60 + whole(seconds).filter(|seconds| *seconds < 60)?
        }
        Some(_) => return None,
        None => whole(text)?,
    };
    Some(seconds * 1_000)
}

/// A temperature as it is typed into a form of this unit: its own digits, or converted when it was given in the other unit.
pub(super) fn reading_text(reading: &Reading, unit: Degree) -> String {
    if reading.unit == unit { reading.text() } else { short(reading.celsius().text(unit, 2)) }
}

/// The same of a difference.
pub(super) fn difference_text(difference: &Difference, unit: Degree) -> String {
    if difference.unit == unit { difference.text() } else { short(difference.kelvin().text(unit, 2)) }
}

fn short(text: String) -> String {
    text.trim_end_matches('0').trim_end_matches('.').to_string()
}
