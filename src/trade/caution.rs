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
        words: "Notify supervising station, occupants and owner before the first test, and again when testing is over.",
        source: "NFPA 72:2022 14.2.3.1",
    },
    Caution {
        words: "Before heating, secure everything the alarm releases or shuts down. Restore it after.",
        source: "NFPA 72, chapter 14, releasing systems; OSHA 29 CFR 1910.164(b)(2)",
    },
    Caution {
        words: "Long impairments need the AHJ and a fire watch: more than 4 hours in 24 is a usual limit, local rules differ.",
        source: "NFPA 101 (2009) 9.6.1.6",
    },
    Caution {
        words: "Test the lift controls before use. Stand on the platform floor. Tie off where the lift requires it.",
        source: "OSHA 29 CFR 1926.453(b)(2), 1910.67(c)(2)",
    },
    Caution {
        words: "Check the heater's cord and plug every shift. Damaged: out of service.",
        source: "OSHA 29 CFR 1910.334(a)",
    },
    Caution {
        words: "A hot heater can ignite gas or dust. In a hazardous (classified) location: no heater or phone without a permit, gas \
                test and approval.",
        source: "OSHA 29 CFR 1910.307; NFPA 70, hazardous (classified) locations",
    },
];

/// Shown beside a test.
pub const IN_A_TEST: &[Caution] = &[
    Caution {
        words: "Metal at 140 °F (60 °C) burns skin within seconds. Gloves on until you have touch-tested it.",
        source: "burn times as quoted for metal surfaces; ISO 13732-1 gives the method",
    },
    Caution { words: "Never heat a nonrestorable element.", source: "NFPA 72 table 14.4.3.2" },
];

/// Shown with every caution list.
pub const DEFERS: &str = "Reminders only. Adopted code, manufacturer's instructions and your license come first.";
