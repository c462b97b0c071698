//! When "no alarm" may be concluded. The clock alone concludes nothing: the top temperature has to be seen, held, and be enough for an
//! element that lags behind it.

use crate::book::body::What;
use crate::book::test::Test;
use crate::book::timeline::{Soak, Stage, Timeline};
use crate::thermal::HeaterProfile;
use crate::trade::conditions::Warmth;
use crate::units::{Celsius, Difference, Kelvin, Reading, TestTime};
use std::fmt;

/// The least soak, ms. Own figure: one minute.
pub const LEAST_SOAK_MS: i64 = 60_000;

/// The longest time constant that an element is taken to have, s; the shortest of the stated range is [`SHORTEST_TAU_S`].
///
/// Own figures, no published source for this use. RTI 180 ft½s½ at 5 ft/s is 80 s (NFPA 72 annex example); a heater moves less air, so
/// half as much again.
pub const LONGEST_TAU_S: f64 = 120.0;

/// The shortest time constant of the stated range, s.
pub const SHORTEST_TAU_S: f64 = 20.0;

/// The plus tolerance assumed if none is on file: 10 °F. Own figure.
pub const OWN_PLUS: Kelvin = Kelvin(10.0 / 1.8);

/// How fast a rate element has to be heated before its silence means anything: 20 °F/min. Own figure; usual set points are 12 to
/// 15 °F/min.
pub const RATE_K_PER_S: f64 = 20.0 / 1.8 / 60.0;

/// Over how many kelvin: 30 °F. Own figure.
pub const RISE: Kelvin = Kelvin(30.0 / 1.8);

/// From how near to ambient: 20 °F. Own figure.
pub const FROM_AMBIENT: Kelvin = Kelvin(20.0 / 1.8);

/// How much faster than on average a heater may have heated when it reached its top temperature. Own figure: heat comes late at first.
const FASTER: f64 = 1.25;

/// Coverage factor for 95 % (GUM G.6.6).
const K: f64 = 2.0;

/// The coldest that an unmeasured ambient temperature may have been, °C.
const COLDEST: Celsius = Celsius(-40.0);

/// Why the absence of a trip decides nothing, and what would.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum NotProven {
    /// The heater was not seen at its top temperature.
    TopNotSeen,
    /// It was held there too short.
    SoakTooShort {
        /// How long it was held, ms.
        held_ms: i64,
        /// How long it takes, ms.
        needed_ms: i64,
    },
    /// However long it soaks, the heater does not surely get the element to its upper limit.
    NotHotEnough {
        /// What the heater surely reaches.
        reach: Celsius,
        /// What it takes.
        needed: Celsius,
    },
    /// The heater's calibration uncertainty is not known.
    CalibrationUnknown,
    /// The uncertainty of the fit is not known.
    FitUnknown,
    /// The detector has no rating.
    NoRating,
    /// The test was stopped for a problem of the heater.
    HeaterProblem,
    /// No readings or profile show that it was heated fast enough for a rate element.
    RateNotShown,
}

impl NotProven {
    /// The name it has in files.
    pub fn name(&self) -> &'static str {
        match self {
            NotProven::TopNotSeen => "top_not_seen",
            NotProven::SoakTooShort { .. } => "soak_too_short",
            NotProven::NotHotEnough { .. } => "not_hot_enough",
            NotProven::CalibrationUnknown => "calibration_unknown",
            NotProven::FitUnknown => "fit_unknown",
            NotProven::NoRating => "no_rating",
            NotProven::HeaterProblem => "heater_problem",
            NotProven::RateNotShown => "rate_not_shown",
        }
    }
}

impl fmt::Display for NotProven {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let clock = |ms: i64| format!("{}:{:02}", ms / 60_000, ms / 1_000 % 60);
        match self {
            NotProven::TopNotSeen => f.write_str("top temperature was not seen: retest and mark “At top temp”, or enter a reading at the top"),
            NotProven::SoakTooShort { held_ms, needed_ms } => write!(
                f,
                "soaked {} at top temperature, {} would decide it: retest and keep the heater in place longer",
                clock(*held_ms),
                // A second less would not.
                clock(needed_ms.saturating_add(999))
            ),
            NotProven::NotHotEnough { .. } => {
                f.write_str("the heater does not surely get hot enough: retest at a higher setting, or test another way")
            }
            NotProven::CalibrationUnknown => {
                f.write_str("the heater's calibration uncertainty is missing: enter it from the certificate, under Devices")
            }
            NotProven::FitUnknown => f.write_str("the heater's fit error is missing: enter it under Devices"),
            NotProven::NoRating => f.write_str("the detector's rating is missing: enter it under Devices"),
            NotProven::HeaterProblem => f.write_str("the heater had a problem: check it, then retest"),
            NotProven::RateNotShown => f.write_str(
                "nothing shows a rise of 20 °F per minute over 30 °F from ambient: retest from cold with two readings, or profile this heater",
            ),
        }
    }
}

/// What "no alarm" is said up to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NoAlarm {
    /// What the element surely reached; for a rate element what was read or held at most.
    pub up_to: Celsius,
    /// The soak that decided it; none for a rate element.
    pub soak: Option<Soak>,
}

/// Whether a test without a trip shows that the detector does not operate.
///
/// # Errors
/// Why it decides nothing.
pub fn no_alarm(test: &Test, timeline: &Timeline, profile: Option<&HeaterProfile>) -> Result<NoAlarm, NotProven> {
    if test.marking().detector_type.has_rate_element() {
        rate_element(test, timeline, profile)
    } else {
        fixed_element(test, timeline)
    }
}

/// What a fixed element has to reach, and what the heater's temperature is short of.
struct Needs {
    target: Celsius,
    u: Kelvin,
}

impl Needs {
    fn of(test: &Test) -> Result<Needs, NotProven> {
        let marking = test.marking();
        let rating = marking.rating.ok_or(NotProven::NoRating)?.celsius();
        let plus = marking.plus.map_or(OWN_PLUS, Difference::kelvin);
        let metrology = &test.frozen.heater.metrology;
        let calibration = metrology.calibration_u.ok_or(NotProven::CalibrationUnknown)?.kelvin().abs();
        let fit = metrology.fit_u.ok_or(NotProven::FitUnknown)?.kelvin().abs();
        Ok(Needs { target: rating + plus, u: calibration * K + fit * K })
    }

    /// Whether a soak at `nominal` is enough.
    fn decide(&self, test: &Test, nominal: Celsius, soak: Soak) -> Result<NoAlarm, NotProven> {
        // What was read during the soak is nearer the truth than the nominal top temperature where it is lower.
        let within = |at: TestTime| (soak.from..=soak.until).contains(&at);
        let read = test.readings.iter().filter(|taken| within(taken.at)).map(|taken| taken.reading.celsius().0);
        let needed_ms = self.soak_ms(test, Celsius(read.fold(nominal.0, f64::min)), soak)?;
        let held_ms = soak.until.saturating_sub(soak.from);
        if held_ms < needed_ms {
            return Err(NotProven::SoakTooShort { held_ms, needed_ms });
        }
        Ok(NoAlarm { up_to: self.target, soak: Some(soak) })
    }

    /// How long `soak` at `top` has to last to leave the element no further behind than the heater lies above the target, ms.
    ///
    /// A first-order element lags by r·τ while the heat rises at r, and that lag falls as e^(−t/τ) in the soak (Heskestad & Bill);
    /// a heat-up that slows down towards its top leaves no more than its mean rate would.
    fn soak_ms(&self, test: &Test, top: Celsius, soak: Soak) -> Result<i64, NotProven> {
        let reach = top - self.u;
        let margin = (reach - self.target).0;
        if margin <= 0.0 {
            return Err(NotProven::NotHotEnough { reach, needed: self.target });
        }
        let ambient = test.frozen.ambient.map_or(COLDEST, Reading::celsius);
        let whole = (top - ambient).0.max(0.0);
        let heated_up_ms = soak.from.saturating_sub(soak.heat_up_from);
        let rate = whole / (heated_up_ms.max(1) as f64 / 1_000.0) * FASTER;
        // A heater that was warm when it came on, as in any later heat-up, heats as suddenly as a step.
        let cold = test.frozen.heater_warmth == Warmth::Cold && soak.heat_up_from <= TestTime::HEAT_ON;
        let lag = if cold { (rate * LONGEST_TAU_S).min(whole) } else { whole };
        let seconds = if lag > margin { LONGEST_TAU_S * (lag / margin).ln() } else { 0.0 };
        let least = LEAST_SOAK_MS.max(test.frozen.procedure.soak_ms.unwrap_or(0));
        Ok(least.max((seconds * 1_000.0).ceil() as i64))
    }
}

fn fixed_element(test: &Test, timeline: &Timeline) -> Result<NoAlarm, NotProven> {
    let heater = &test.frozen.heater;
    let nominal = heater.heating.top(&heater.setting);
    let calibration = heater.metrology.calibration_u.map_or(Kelvin(0.0), |u| u.kelvin().abs() * K);
    // A reading within the uncertainty of the top temperature shows that it was there.
    let near = |reading: &Reading| reading.celsius() >= nominal - calibration;
    let seen: Vec<TestTime> = test.readings.iter().filter(|taken| near(&taken.reading)).map(|taken| taken.at).collect();
    let soaks = timeline.soaks(test, &seen);
    if soaks.is_empty() {
        return Err(NotProven::TopNotSeen);
    }
    let needs = Needs::of(test)?;
    // Any soak may decide it. Of those that do not, the one that came nearest says what is missing; while the test is in progress, the
    // last one.
    let last = soaks.len() - 1;
    let short = |(index, found): &(usize, Result<NoAlarm, NotProven>)| match found {
        Ok(_) => -1,
        Err(_) if test.ended.is_none() && *index == last => 0,
        Err(NotProven::SoakTooShort { held_ms, needed_ms }) => needed_ms.saturating_sub(*held_ms),
        Err(_) => i64::MAX,
    };
    let decided = soaks.into_iter().map(|soak| needs.decide(test, nominal, soak)).enumerate();
    decided.min_by_key(short).map_or(Err(NotProven::TopNotSeen), |(_, found)| found)
}

fn rate_element(test: &Test, timeline: &Timeline, profile: Option<&HeaterProfile>) -> Result<NoAlarm, NotProven> {
    let ambient = test.frozen.ambient.ok_or(NotProven::RateNotShown)?.celsius();
    if test.frozen.detector_warmth != Warmth::Cold {
        return Err(NotProven::RateNotShown);
    }
    let near = |reading: Celsius| (reading - ambient).abs() <= FROM_AMBIENT;
    let off = timeline.stretches.get(1).filter(|next| next.stage == Stage::Off).map(|off| off.from);
    // What the display shows of a heater that is off, or off the detector, says nothing of the detector.
    let lowered = test.marks.iter().find(|mark| mark.what == What::Lowered).map(|mark| mark.at);
    let ended = test.ended.map(|(_, at)| at);
    let until = off.into_iter().chain(lowered).chain(ended).min().unwrap_or(TestTime::MAX);
    let readings: Vec<(f64, Celsius)> = test
        .readings
        .iter()
        .filter(|taken| (TestTime::HEAT_ON..=until).contains(&taken.at))
        .map(|taken| (taken.at.seconds().0, taken.reading.celsius()))
        .collect();
    let fast = readings.iter().enumerate().filter(|(_, (_, from))| near(*from)).find_map(|(index, (begun, from))| {
        readings[index + 1..].iter().find(|(at, to)| {
            let rise = *to - *from;
            rise >= RISE && rise.0 >= RATE_K_PER_S * (at - begun)
        })
    });
    if let Some((_, to)) = fast {
        return Ok(NoAlarm { up_to: *to, soak: None });
    }
    // A profile says how fast it heats; that it did heat has to be seen.
    let at_end = profile.map(|profile| profile.rate_at(RISE + FROM_AMBIENT));
    let by_profile = at_end.is_some_and(|(rate, u)| rate.0 - K * u.0 >= RATE_K_PER_S);
    let cold = test.frozen.heater_warmth == Warmth::Cold;
    let top = test.frozen.heater.heating.top(&test.frozen.heater.setting);
    if by_profile && cold && top - ambient >= RISE && !timeline.soaks(test, &[]).is_empty() {
        return Ok(NoAlarm { up_to: top, soak: None });
    }
    Err(NotProven::RateNotShown)
}
