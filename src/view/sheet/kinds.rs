//! What people call the types of detector, and which type each word is taken for.

use super::heads::plain;
use crate::trade::detector_type::DetectorType;

/// The table. Words that leave open whether an element is used up ("fixed temperature", "combination") are not in it: a wrong type lets heat
/// destroy a detector. Common practice of the trade, no published source.
pub const WORDS: &[(&str, DetectorType)] = &[
    ("rate compensated", DetectorType::RateCompensated),
    ("rate compensation", DetectorType::RateCompensated),
    ("rate compensating", DetectorType::RateCompensated),
    ("rate comp", DetectorType::RateCompensated),
    ("rate anticipation", DetectorType::RateCompensated),
    ("fixed temperature restorable", DetectorType::FixedRestorable),
    ("fixed temp restorable", DetectorType::FixedRestorable),
    ("fixed restorable", DetectorType::FixedRestorable),
    ("restorable fixed temperature", DetectorType::FixedRestorable),
    ("fixed temperature self restoring", DetectorType::FixedRestorable),
    ("fixed temperature nonrestorable", DetectorType::FixedNonrestorable),
    ("fixed temp nonrestorable", DetectorType::FixedNonrestorable),
    ("fixed nonrestorable", DetectorType::FixedNonrestorable),
    ("nonrestorable fixed temperature", DetectorType::FixedNonrestorable),
    ("fusible", DetectorType::FixedNonrestorable),
    ("fusible link", DetectorType::FixedNonrestorable),
    ("fusible element", DetectorType::FixedNonrestorable),
    ("one shot", DetectorType::FixedNonrestorable),
    ("rate of rise only", DetectorType::RateOfRise),
    ("ror only", DetectorType::RateOfRise),
    ("combination restorable", DetectorType::CombinationRestorable),
    ("combination nonrestorable", DetectorType::CombinationNonrestorable),
    ("electronic", DetectorType::Electronic),
    ("addressable heat", DetectorType::Electronic),
    ("electronic heat", DetectorType::Electronic),
    ("thermistor", DetectorType::Electronic),
    ("not known", DetectorType::Unknown),
    ("unknown", DetectorType::Unknown),
];

/// The type that a word stands for; none where that is not known. The app's own words count, too.
pub fn kind(word: &str) -> Option<DetectorType> {
    let given = word.trim();
    let word = plain(word).replace("non restorable", "nonrestorable");
    let word = word.strip_suffix(" heat detector").or(word.strip_suffix(" detector")).unwrap_or(&word);
    let own = |kind: &DetectorType| match kind {
        // People say so of detectors with a fixed element, too, which may be used up: only as this app writes it.
        DetectorType::RateOfRise => given == kind.words() || given == crate::encoding::stored::name(kind),
        _ => plain(kind.words()) == word || plain(&crate::encoding::stored::name(kind)) == word,
    };
    DetectorType::ALL.into_iter().find(own).or_else(|| WORDS.iter().find(|(of, _)| *of == word).map(|(_, kind)| *kind))
}
