//! Finding a position by what one types with gloves on: pure.
//!
//! Separators, leading zeros, capitals and accents make no difference, so that "h7" finds "H-07"; the order of the words makes none either.

use crate::book::Id;
use crate::book::register::{Position, Register};
use crate::book::versions::Versions;
use crate::order;

/// Most hits that are drawn: who has more to choose from types more.
pub const MOST: usize = 50;

/// What is looked for in a list.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Seek {
    /// What was typed.
    pub text: String,
    /// The filter chosen.
    pub filter: Option<Filter>,
}

impl Seek {
    /// Whether nothing is looked for.
    pub fn is_empty(&self) -> bool {
        self.filter.is_none() && words(&self.text).is_empty()
    }
}

/// By what one finds a position.
pub const FIND_BY: &str = "Find: tag, point, text, place, ID, serial";
/// Said where nothing is found.
pub const NOTHING_FOUND: &str = "Nothing found. Fewer letters find more.";

/// That not all is drawn.
pub fn more(count: usize) -> String {
    format!("{count} more: type more.")
}

/// Which positions a list is cut down to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Filter {
    /// Not tested in the visit on screen.
    Untested,
    /// To be tested once more.
    Retest,
    /// Failed in the visit on screen.
    Failed,
    /// Failed, or an open item of any visit.
    Open,
    /// Nobody knows the type.
    TypeUnknown,
    /// Nobody said what it releases.
    ReleasesUnknown,
    /// Added on the lift and not settled.
    Provisional,
    /// Taken off the list.
    Retired,
}

impl Filter {
    /// Those of the devices.
    pub const OF_DEVICES: [Filter; 6] = [
        Filter::Untested,
        Filter::Provisional,
        Filter::TypeUnknown,
        Filter::Retired,
        Filter::Open,
        Filter::ReleasesUnknown,
    ];
    /// Those of a visit's list.
    pub const OF_VISIT: [Filter; 3] = [Filter::Untested, Filter::Retest, Filter::Failed];

    /// The name that stays the same in every language.
    pub fn name(self) -> &'static str {
        match self {
            Filter::Untested => "untested",
            Filter::Retest => "retest",
            Filter::Failed => "failed",
            Filter::Open => "open",
            Filter::TypeUnknown => "type-unknown",
            Filter::ReleasesUnknown => "releases-unknown",
            Filter::Provisional => "provisional",
            Filter::Retired => "retired",
        }
    }

    /// On screen.
    pub fn words(self) -> &'static str {
        match self {
            Filter::Untested => "Not tested",
            Filter::Retest => "Retest",
            Filter::Failed => "Failed",
            Filter::Open => "Failed or open item",
            Filter::TypeUnknown => "Type not known",
            Filter::ReleasesUnknown => "Releases not answered",
            Filter::Provisional => "Provisional",
            Filter::Retired => "Off the list",
        }
    }
}

/// How much a field says of the position: a tag more than the text of the panel.
const FIELDS: usize = 8;
const WEIGHTS: [i64; FIELDS] = [0, 1, 1, 1, 2, 2, 3, 3];

/// Every position in words that can be compared, in the order of a list.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Index(Vec<Line>);

#[derive(Clone, Debug, PartialEq, Eq)]
struct Line {
    id: Id,
    fields: [String; FIELDS],
}

/// What was found.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Hits {
    /// The best ones, best first.
    pub ids: Vec<Id>,
    /// How many more there are.
    pub more: usize,
}

impl Index {
    /// The positions of a register, those off the list too.
    pub fn of(register: &Register) -> Index {
        let lines = register.positions.iter().filter_map(|(id, position)| line(register, *id, position)).collect();
        Index(order::by(lines, |(key, _): &(order::Key, Line)| key.clone()).into_iter().map(|(_, line)| line).collect())
    }

    /// The positions that hold every word, of those to `keep`; at most so many of them. Nothing typed finds all.
    pub fn hits(&self, typed: &str, keep: impl Fn(Id) -> bool, most: usize) -> Hits {
        let words = words(typed);
        let joined = words.concat();
        let mut found: Vec<(i64, Id)> = Vec::new();
        for line in &self.0 {
            if let Some(score) = line.score(&words, &joined).filter(|_| keep(line.id)) {
                found.push((score, line.id));
            }
        }
        let more = found.len().saturating_sub(most);
        // Equal ones stay in the order of the list.
        let found = order::by_number(found, |(score, _)| *score);
        Hits { ids: found.into_iter().take(most).map(|(_, id)| id).collect(), more }
    }
}

fn line(register: &Register, id: Id, position: &Position) -> Option<(order::Key, Line)> {
    let place = position.place.now()?;
    let area = register.areas.get(&place.area).and_then(Versions::now);
    let circuit = place.circuit.and_then(|id| register.circuits.get(&id)?.now());
    let detector = position.detector().and_then(|id| register.detectors.get(&id));
    let serial = detector.and_then(|detector| detector.make.now()?.serial.as_deref());
    let text = |text: &Option<String>| text.as_deref().map(plain).unwrap_or_default();
    let area_name = area.map_or("", |area| &area.name);
    let fields = [
        plain(&place.tag),
        text(&place.point),
        text(&place.customer_id),
        plain(serial.unwrap_or_default()),
        text(&place.panel_text),
        text(&place.location),
        plain(area_name),
        plain(circuit.map_or("", |circuit| &circuit.name)),
    ];
    let number = position.order.now().map_or(i64::MAX, |order| order.number);
    // By area, there as one walks, then by tag.
    let key = (0, 0, format!("{area_name}\0{:020}\0{}\0{id}", number.max(0), place.tag));
    Some((key, Line { id, fields }))
}

impl Line {
    /// How well it fits, smaller is better; none where a word is nowhere.
    fn score(&self, words: &[String], joined: &str) -> Option<i64> {
        let apart = words.iter().try_fold(0, |sum, word| Some(sum + self.best(word)?));
        // "h 7" is the tag "H-07" before it is anything with an h and a 7.
        let together = if words.len() > 1 { self.best(joined) } else { None };
        [apart, together].into_iter().flatten().min()
    }

    fn best(&self, word: &str) -> Option<i64> {
        let fits = self.fields.iter().zip(WEIGHTS).filter_map(|(field, weight)| Some(fit(field, word)? * 4 + weight));
        fits.min()
    }
}

/// How a word sits in a field: all of it, at its start, somewhere, at the start of a number, within one.
fn fit(field: &str, word: &str) -> Option<i64> {
    let digit = |sign: Option<char>| sign.is_some_and(|sign| sign.is_ascii_digit());
    let number = digit(word.chars().next());
    let at = |(at, _): (usize, &str)| match (at, &field[at + word.len()..]) {
        (0, "") => 0,
        (0, _) => 1,
        _ if number && digit(field[..at].chars().next_back()) => 4,
        (_, rest) if number && digit(rest.chars().next()) => 3,
        _ => 2,
    };
    field.match_indices(word).map(at).min()
}

/// What was typed, word by word. A zero at the end may be the first of "07".
fn words(typed: &str) -> Vec<String> {
    let word = |word: &str| {
        let plain = plain(word);
        let digits = word.trim_end_matches(|sign: char| !sign.is_alphanumeric());
        let zeros = digits.len() - digits.trim_end_matches('0').len();
        let before = digits[..digits.len() - zeros].chars().next_back();
        let begun = zeros > 0 && !before.is_some_and(|sign| sign.is_ascii_digit());
        match plain.strip_suffix('0') {
            Some(rest) if begun && !rest.is_empty() => rest.to_string(),
            _ => plain,
        }
    };
    typed.split_whitespace().map(word).filter(|word| !word.is_empty()).collect()
}

/// A text without what makes no difference.
fn plain(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    // Zeros that may yet turn out to lead a number.
    let (mut zeros, mut in_number) = (false, false);
    for sign in text.chars() {
        if sign == '0' && !in_number {
            zeros = true;
            continue;
        }
        if zeros && !sign.is_ascii_digit() {
            plain.push('0');
        }
        (zeros, in_number) = (false, sign.is_ascii_digit());
        if sign.is_alphanumeric() {
            put(&mut plain, sign);
        }
    }
    if zeros {
        plain.push('0');
    }
    plain
}

/// A letter without its capital and its accents; of the letters that European keyboards have.
fn put(plain: &mut String, sign: char) {
    let base = match sign {
        'à'..='å' | 'À'..='Å' | 'Ā'..='ą' => "a",
        'æ' | 'Æ' => "ae",
        'ç' | 'Ç' | 'Ć'..='č' => "c",
        'Ď'..='đ' | 'ð' | 'Ð' => "d",
        'è'..='ë' | 'È'..='Ë' | 'Ē'..='ě' => "e",
        'Ĝ'..='ģ' => "g",
        'ì'..='ï' | 'Ì'..='Ï' | 'Ĩ'..='ı' => "i",
        'Ĺ'..='ł' => "l",
        'ñ' | 'Ñ' | 'Ń'..='ň' => "n",
        'ò'..='ö' | 'Ò'..='Ö' | 'ø' | 'Ø' | 'Ō'..='ő' => "o",
        'Œ' | 'œ' => "oe",
        'Ŕ'..='ř' => "r",
        'Ś'..='š' => "s",
        'ß' => "ss",
        'Ţ'..='ŧ' => "t",
        'ù'..='ü' | 'Ù'..='Ü' | 'Ũ'..='ų' => "u",
        'ý' | 'ÿ' | 'Ý' | 'Ŷ'..='Ÿ' => "y",
        'Ź'..='ž' => "z",
        sign => return plain.extend(sign.to_lowercase()),
    };
    plain.push_str(base);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn separators_zeros_capitals_and_accents_make_no_difference() {
        // Expected: by hand from the rule at the head of this file.
        for (text, expected) in [
            ("H-07", "h7"),
            ("h 7", "h7"),
            ("H.007/A", "h7a"),
            ("L1D010", "l1d10"),
            ("000", "0"),
            ("H-0", "h0"),
            ("Über Größe 3", "ubergrosse3"),
            ("Ŵ", "ŵ"),
            ("--", ""),
        ] {
            assert_eq!(plain(text), expected, "{text}");
        }
    }

    #[test]
    fn a_number_that_is_being_typed_may_begin_with_zeros() {
        assert_eq!(words("h0"), ["h"]);
        assert_eq!(words("h-00"), ["h"]);
        assert_eq!(words("h-007"), ["h7"]);
        assert_eq!(words("h10"), ["h10"]);
        assert_eq!(words("0"), ["0"]);
        assert_eq!(words(" - "), Vec::<String>::new());
    }
}
