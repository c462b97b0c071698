//! The page "How it is computed": every formula with its source, from the same table that the figures open to, and every number that
//! is a choice, from the constant that the code reckons with.

use super::findings::NO_PUBLISHED_TOLERANCE;
use super::findings::figure::input_text;
use super::page::sign::Shape;
use super::page::{Action, Block, Button, Kind, Page, Role, Section};
use super::route::Route;
use super::words::BACK;
use crate::book::profile_run::{PROFILE_OF, READINGS_AT_LEAST};
use crate::findings::day::{LEAST_INTERVALS, LIKELY, NIGHT_MS, PAUSE_MS};
use crate::findings::methods::{self as by, Method};
use crate::findings::trend::{LEAST_POINTS, LEAST_YEARS};
use crate::findings::{
    AMBIENT_U, BY_HEATERS, COVERAGE, EARLY_BELOW, EARLY_WITHIN_MS, FAR, FROM_AMBIENT, Input, LEAST_OF_A_HEATER,
    LEAST_SOAK_MS, LONGEST_TAU_S, METHOD, OWN_PLUS, Quantity, RATE_K_PER_S, RISE, TOP_U, WITHDRAWN_BELOW,
};
use crate::stats::{ALPHA, CUT_OFF_FAMILIES, CUT_OFF_SEED, MIN_ESD, MIN_FAMILY, NORMAL_MAD, SHARE, cut_offs};
use crate::thermal::{BAND, MIN_PROFILE_RUNS, POWER_SPREAD, TAP_LATENCY, TAU_UNKNOWN};
use crate::trade::heating::NONRESTORABLE_MARGIN;
use crate::units::Degree;

/// Title of the page, and the words of every way to it.
pub const TITLE: &str = "How it is computed";
/// Said above everything.
pub const INTRODUCTION: &str = "Every figure under Results comes from one of these formulas and opens to the numbers that went in. Where a \
                                number has no published source, it says so.";
/// Word before a source.
pub const SOURCE: &str = "Source: ";

/// A number that is a choice, and who made it.
type Given = (Input, &'static str);
/// What is said beside the formulas, and its source.
type Rule = (&'static str, &'static str);

/// One topic of the page.
#[derive(Debug)]
pub struct Topic {
    /// Its heading.
    pub title: &'static str,
    /// Its formulas.
    pub methods: &'static [Method],
    rules: &'static [Rule],
    given: fn() -> Vec<Given>,
}

const OWN: &str = "the project's own, no published source";

/// The page, in its order.
pub const TOPICS: [Topic; 12] = [
    Topic {
        title: "Reading",
        methods: &[],
        rules: &[(
            "A reading is kept as the display showed it. A temperature: t/°C = (t/°F − 32)/1.8. A difference, tolerance, uncertainty or rate: \
             5/9 alone.",
            "NIST SP 811 (2008), B.9",
        )],
        given: Vec::new,
    },
    Topic {
        title: "Trip",
        methods: &[by::TRIP_READ, by::TRIP_ESTIMATED, by::LATE],
        rules: &[(
            "First trips that the procedure leaves out, a second one in a heat-up, one without a watched restore before it and extra ones do \
             not count.",
            "common practice, no published source",
        )],
        given: Vec::new,
    },
    Topic {
        title: "Passed, failed, not decided",
        methods: &[],
        rules: &[
            (
                "Passed: it tripped, the panel showed the right point, and it restored. With one of them unchecked the result says which.",
                "NFPA 72, chapter 14, asks for the functional test of the detector and its circuit",
            ),
            (
                "No alarm, for a fixed element: the top temperature was seen, then a soak, and top − 2 u(cal) − 2 u(fit) − what the element may \
                 still lag is at or above rating + plus tolerance. The lag is r · τ · e^(−t/τ), r 1.25 times the mean rate of the heat-up. Anything \
                 less is not decided.",
                "first-order element: Heskestad & Bill; the rule is the project's own",
            ),
            (
                "No alarm, for a rate element: a rise from near ambient, fast and far enough, by two readings or the heater profile. Anything \
                 less is not decided.",
                OWN,
            ),
            (
                "Stays in alarm: five minutes or more after the heater was lowered, or by a reading near ambient. A panel reset proves no \
                 detector's restore.",
                OWN,
            ),
            ("An early trip is asked about: it may be another detector's.", OWN),
        ],
        given: outcome,
    },
    Topic {
        title: "Operating temperature",
        methods: &[by::OPERATING, by::UNCERTAINTY, by::EXPANDED, by::RANGE],
        rules: &[
            (
                "With a trip missing among the counted ones, or one that neither a reading nor the heater profile places, there is no mean: one \
                 of the others would be biased towards passing.",
                OWN,
            ),
            (
                "With an estimated trip among them it is indicative, and neither “as read” nor a limit result rests on it: between the trough of \
                 cool-down and the top temperature a trip can lie nowhere else.",
                OWN,
            ),
        ],
        given: || {
            vec![number(
                "Probability that U and t are meant to cover",
                COVERAGE,
                "common practice; JCGM 100:2008 (GUM) 6.2",
            )]
        },
    },
    Topic {
        title: "Limits and limit result",
        methods: &[by::LOWER_LIMIT, by::UPPER_LIMIT, by::CONFORMANCE, by::REACH, by::ELEMENT_LAG, by::TWICE],
        rules: &[
            (NO_PUBLISHED_TOLERANCE, "NFPA 72, chapter 14, asks whether a detector operates, not where"),
            (
                "The window of an EN 54-5 class is an air temperature that rises very slowly. It judges nothing here.",
                "EN 54-5; limits for this method are the owner's",
            ),
            (
                "As read: the mean alone lies within the limits or on one of them, or outside.",
                "simple acceptance, ILAC-G8:09/2019, 4.2.1",
            ),
            (
                "Limit result: within where the mean is inside the limits by U or more; within, close to limit where it is inside by less; \
                 outside, within uncertainty where it is outside by no more than U; else outside. It says nothing of the detector's fitness. \
                 Only with a complete budget and all trips of a set-point test.",
                "the four zones of ILAC-G8:09/2019, 4.2.3",
            ),
            (
                "A fixed-temperature or electronic element lags the heater, by an unknown amount: no limit result, unless the owner \
                 gave limits for this method. By how much it may matter is shown as a range, never as a correction.",
                "first-order element: Heskestad & Bill; the rule is the project's own",
            ),
        ],
        given: Vec::new,
    },
    Topic {
        title: "First trip",
        methods: &[by::FIRST_TRIP],
        rules: &[(
            "An earlier first trip is expected of a rate-compensated detector from cold, with U = t · u. What an estimate cannot tell is said \
             so. Not a test of the listing.",
            "common practice, no published source",
        )],
        given: Vec::new,
    },
    Topic { title: "Settling", methods: &[by::SLOPE], rules: &[], given: Vec::new },
    Topic {
        title: "Heater profile",
        methods: &[
            by::PROFILE_RATE,
            by::PROFILE_RISE,
            by::PROFILE_HEATING,
            by::PROFILE_LAG,
            by::PROFILE_COOLING,
            by::PROFILE_HELD,
            by::PROFILE_RESIDUAL,
        ],
        rules: &[
            (
                "All profile runs of a heater in one mode are fitted together: an approach with a time constant, or a constant rate, whichever AICc \
                 prefers. Readings that cannot carry a profile are refused with the reason.",
                "Levenberg 1944, Marquardt 1963; variable projection, Golub & Pereyra 1973; AICc, Hurvich & Tsai 1989",
            ),
            (
                "A new test may lie as far from the mean of n profile runs as they lie apart, 1 + 1/n times in variance.",
                "NIST/SEMATECH e-Handbook 7.2.6; GUM 4.2",
            ),
        ],
        given: profile,
    },
    Topic {
        title: "Live estimate",
        methods: &[],
        rules: &[
            (
                "The heater profile is carried from heat on through heat-up, hold and cool-down, together with its uncertainty. Readings and “at top temp” narrow it.",
                "extended Kalman filter, Jazwinski 1970, 8.3",
            ),
            (
                "Where one of them lies further off than the spread between a few profile runs allows, that spread grows to its most likely size.",
                "expectation and maximization, Dempster, Laird & Rubin 1977",
            ),
            (
                "It is what the display shows, not the detector. It is indicative: no limit result rests on it alone.",
                OWN,
            ),
            (
                "A reading far from the estimate before it is asked about once and narrows nothing; if it stands, the test has no estimate.",
                OWN,
            ),
            (
                "Every reading is scored against the band before it. When too many tests begin outside, or too many readings of several tests \
                 lie outside, the heater's estimates are withdrawn until a new profile run; when too many of one test do, that test has none.",
                "exact binomial tail, Johnson, Kemp & Kotz, chapter 3; the rule is the project's own",
            ),
        ],
        given: live,
    },
    Topic {
        title: "Side by side",
        methods: &[by::SCORE, by::ALL_SHIFTED, by::HEATER_APART, by::WITH_AMBIENT],
        rules: &[
            (
                "Tests of one area, type, rating and procedure, as found or as left, read or estimated. Deviation is operating temperature − rating.",
                OWN,
            ),
            (
                "From 15 detectors on generalized ESD looks for up to a fifth of the tests. The standard deviation of the others is not taken \
                 below half a step of the display.",
                "Rosner (1983); NIST/SEMATECH e-Handbook 1.3.5.17.3; the allowance for steps is the project's own",
            ),
            (
                "U(heaters) = k · √(u² + v² + s²): calibration, fit, lag and heater profile of its heater and the largest of the other heaters, \
                 s = scale/0.6745; k is the normal quantile for the share below, divided among the further heaters. It is 0 for a heater with two \
                 thirds of the tests.",
                OWN,
            ),
            ("A detector that is tested twice counts by its mean; each of its tests is held against the others.", OWN),
            ("One that stands apart by no more than U or U(heaters) is remarked in grey, not flagged.", OWN),
            ("What many of a family have in common is remarked. It never excuses a detector.", OWN),
        ],
        given: family,
    },
    Topic {
        title: "Over the years",
        methods: &[by::TREND],
        rules: &[("With an interval that holds 0 no drift is shown. That says nothing of one that is smaller.", OWN)],
        given: || {
            vec![
                count("Fewest points of a slope", LEAST_POINTS, "Kendall's test: 2/4! is 8%, 2/5! is 2%"),
                number("Years they have to span", LEAST_YEARS, OWN),
            ]
        },
    },
    Topic {
        title: "The day",
        methods: &[],
        rules: &[
            (
                "The end of the day lies between L + m·x̄ ± t·s·√(m + m²/n): L the end of the last test, m what is left, x̄ and s mean and \
                 standard deviation of the n times between the ends of today's tests, t of Student with n − 1 degrees of freedom.",
                "prediction interval for the mean of m more, times m: Hahn, Journal of Quality Technology 2 (1970), 168–178 (from memory)",
            ),
            ("It takes today's pace to go on. It is no promise, and no verdict rests on it.", OWN),
        ],
        given: || {
            vec![
                count("Fewest times between tests from which an end is said", LEAST_INTERVALS, OWN),
                number("Probability that the span is meant to cover", LIKELY, OWN),
                from_ms("A longer time between two tests is a pause", PAUSE_MS),
                from_ms("A longer one is the night", NIGHT_MS),
            ]
        },
    },
];

fn number(name: &'static str, value: f64, source: &'static str) -> Given {
    (Input::new(name, value, Quantity::Number), source)
}

fn count(name: &'static str, value: usize, source: &'static str) -> Given {
    (Input::new(name, value as f64, Quantity::Count), source)
}

fn seconds(name: &'static str, value: f64, source: &'static str) -> Given {
    (Input::new(name, value, Quantity::Duration), source)
}

fn from_ms(name: &'static str, ms: i64) -> Given {
    seconds(name, ms as f64 / 1000.0, OWN)
}

fn difference(name: &'static str, value: f64, source: &'static str) -> Given {
    (Input::new(name, value, Quantity::Difference), source)
}

fn outcome() -> Vec<Given> {
    let plus = "where no plus tolerance is on file; the project's own, no published source";
    vec![
        seconds("Least soak", LEAST_SOAK_MS as f64 / 1_000.0, OWN),
        seconds(
            "Longest time constant τ an element is taken to have",
            LONGEST_TAU_S,
            "the project's own; RTI 180 √(ft·s) at 5 ft/s is 80 s, and a heater moves less air",
        ),
        difference("Plus tolerance", OWN_PLUS.0, plus),
        (Input::new("Rate that a rate element has to be heated at", RATE_K_PER_S, Quantity::Rate), OWN),
        difference("Rise at that rate, at least", RISE.0, OWN),
        difference("From within this of ambient", FROM_AMBIENT.0, OWN),
        difference("A trip is early from so far below the rating", EARLY_BELOW.0, OWN),
        seconds("Or within this of heat on, from ambient", EARLY_WITHIN_MS as f64 / 1_000.0, OWN),
        difference(
            "Least distance from the top temperature to a nonrestorable element",
            NONRESTORABLE_MARGIN.0,
            "the distance NFPA 72 17.6.2.3 keeps from a rating; its use here is the project's own",
        ),
    ]
}

fn profile() -> Vec<Given> {
    vec![
        count("Newest profile runs that make a profile, at most", PROFILE_OF, OWN),
        count("Readings while heating that a profile run needs", READINGS_AT_LEAST, OWN),
        difference("Standard uncertainty of an ambient temperature", AMBIENT_U.0, OWN),
        count("Profile tests from which their own spread is taken", MIN_PROFILE_RUNS, OWN),
        number(
            "Relative spread of the heating power assumed with fewer",
            POWER_SPREAD,
            "supply within ±10%, EN 50160:2010; rectangular, GUM 4.3.7; of cooling assumed for want of a source",
        ),
        number(
            "Relative uncertainty from which a heating rate or a time constant of cooling is none",
            TAU_UNKNOWN,
            OWN,
        ),
    ]
}

fn live() -> Vec<Given> {
    vec![
        number("Probability that the band is meant to cover", BAND, OWN),
        seconds("A tap is taken to be late by, and by as much more or less", TAP_LATENCY, OWN),
        difference("Standard uncertainty of a top temperature that no profile run has shown", TOP_U.0, OWN),
        number("Standard uncertainties from which a reading is asked about and left out", FAR, OWN),
        number(
            "Probability of so many tests begun or readings taken outside the band, below which the estimates are withdrawn",
            WITHDRAWN_BELOW,
            OWN,
        ),
    ]
}

fn of_10_000(share: f64) -> usize {
    (share * 10_000.0).round() as usize
}

fn family() -> Vec<Given> {
    vec![
        count("Detectors from which a family is scored", MIN_FAMILY, OWN),
        number("Quartile of the normal distribution in the score", NORMAL_MAD, "Iglewicz & Hoaglin (1993)"),
        count("Detectors from which generalized ESD is used too", MIN_ESD, "NIST/SEMATECH e-Handbook 1.3.5.17.3"),
        number("Its significance", ALPHA, OWN),
        count("Of 10,000 healthy families, those in which one of the two finds something", of_10_000(SHARE), OWN),
        count("Of 10,000 healthy families, those flagged because heaters differ", of_10_000(BY_HEATERS), OWN),
        count("Tests of a heater that can be held against the others, at least", LEAST_OF_A_HEATER, OWN),
    ]
}

/// Said above the cut-offs.
pub fn cut_off_words() -> String {
    format!(
        "Cut-offs by the number of detectors: the |score| that the largest of n normal values exceeds 1 time in 20; from {MIN_ESD} on that with \
         which score or generalized ESD finds one {} times in 10,000, above 60 also with the steps of a display that make most. By {} million \
         simulated families for each n. Seed {CUT_OFF_SEED} + n; generator, simulation and its check are tests/native/cut_off.rs in the source. The \
         textbook's 3.5 for every n flags one healthy family of 8 in seven.",
        of_10_000(SHARE),
        CUT_OFF_FAMILIES / 1_000_000
    )
}

/// The cut-offs with the numbers of detectors they hold for.
pub fn cut_off_rows() -> Vec<(String, String)> {
    let mut from = MIN_FAMILY;
    let mut rows = Vec::new();
    for (to, cut_off) in cut_offs() {
        let tests = if from == to { to.to_string() } else { format!("{from} to {to}") };
        rows.push((tests, format!("{cut_off:.2}")));
        from = to + 1;
    }
    rows
}

/// Which method this is, and in which units.
pub fn version(unit: Degree) -> String {
    format!("Calculation version {METHOD}. Temperatures and differences in {}.", unit.symbol())
}

/// The page, come to at `topic`.
pub fn page(topic: Option<usize>, unit: Degree) -> Page {
    let back = Button { action: Action::Back(Route::Findings), ..Button::back(BACK, Route::Findings) };
    let introduction = Block::text("introduction", Role::Plain, INTRODUCTION);
    let section = |(at, topic): (usize, &'static Topic)| {
        let (title, number) = (topic.title.into(), (at + 1).to_string().into());
        let section =
            Section { title, at: number, anchor: Some(anchor(at)), blocks: topic.blocks(unit), ..Section::default() };
        Block::new(topic.title, Kind::Section(section))
    };
    Page {
        name: "computed",
        title: TITLE.into(),
        detail: version(unit).into(),
        back: Some(back),
        at: topic.map(anchor),
        blocks: [introduction].into_iter().chain(TOPICS.iter().enumerate().map(section)).collect(),
        ..Page::default()
    }
}

fn anchor(topic: usize) -> String {
    format!("computed-{topic}")
}

/// The key that leads to the page.
pub fn way_here() -> Block {
    let to = Button::to("to-computed", TITLE, Route::Computed(None));
    Block::buttons(vec![to.icon(Shape::Info).wide()])
}

impl Topic {
    fn blocks(&'static self, unit: Degree) -> Vec<Block> {
        let source = |of: &'static str| Block::text("source", Role::Source, format!("{SOURCE}{of}"));
        let mut blocks = Vec::new();
        for method in self.methods {
            blocks.push(Block::text("method", Role::Heading, method.name));
            blocks.push(Block::text("formula", Role::Formula, method.formula));
            blocks.push(source(method.source));
        }
        for (words, from) in self.rules {
            blocks.push(Block::text("rule", Role::Plain, *words));
            blocks.push(source(from));
        }
        for (input, from) in (self.given)() {
            let value = input_text(&input, unit);
            blocks.push(Block::new("given", Kind::Facts(vec![(input.name, value.into())])));
            blocks.push(source(from));
        }
        if self.methods.contains(&by::SCORE) {
            let rows = cut_off_rows().into_iter().map(|(tests, cut_off)| (tests.into(), cut_off.into()));
            blocks.push(Block::text("cut-off-words", Role::Plain, cut_off_words()));
            blocks.push(Block::new("cut-offs", Kind::Facts(rows.collect())));
        }
        blocks
    }
}

/// Where a method is explained.
pub fn place_of(method: &Method) -> Route {
    Route::Computed(TOPICS.iter().position(|topic| topic.methods.contains(method)))
}
