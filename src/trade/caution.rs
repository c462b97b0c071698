//! The usual cautions, each with where it comes from. They never replace local codes or licensed practice.

/// One caution.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Caution {
    /// What to do or not to do.
    pub words: &'static str,
    /// Where it comes from.
    pub source: &'static str,
}

/// Shown before a visit goes up.
pub const BEFORE_A_VISIT: &[Caution] = &[
    Caution {
        words: "Tell the supervising station, the occupants and the owner before the first test, and again when it is over.",
        source: "NFPA 72:2022 14.2.3.1",
    },
    Caution {
        words: "Secure everything the alarm releases or shuts down before any heat, and restore it after.",
        source: "NFPA 72 14.2.5/14.2.6, by edition; OSHA 29 CFR 1910.164(b)(2)",
    },
    Caution {
        words: "Out of service too long needs the authority and a fire watch: 4 hours in 24 is a usual limit, local rules differ.",
        source: "NFPA 101 (2009) 9.6.1.6",
    },
    Caution {
        words: "Try the lift's controls before use, stand on the floor of the basket, wear the lanyard where the lift requires it.",
        source: "OSHA 29 CFR 1926.453(b)(2), 1910.67(c)(2)",
    },
    Caution {
        words: "Check cord and plug of the heater each shift; a damaged one goes out of service.",
        source: "OSHA 29 CFR 1910.334(a)",
    },
    Caution {
        words: "A heated heater is a source of ignition. In a hazardous (classified) location it and the phone stay out without \
                permit, gas test and approval.",
        source: "OSHA 29 CFR 1910.307; NFPA 70 article 500",
    },
];

/// Shown beside a test.
pub const IN_A_TEST: &[Caution] = &[
    Caution {
        words: "Metal at 60 °C (140 °F) burns skin within seconds: gloves on, let heater and detector cool.",
        source: "burn times as quoted for metal surfaces; ISO 13732-1 gives the method",
    },
    Caution { words: "Never heat a nonrestorable element.", source: "NFPA 72 table 14.4.3.2" },
];

/// Shown with every caution list.
pub const DEFERS: &str =
    "These are reminders. The code in force on site, the maker's instructions and licensed practice come first.";
