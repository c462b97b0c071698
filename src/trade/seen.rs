//! How a trip is noticed, and the conditions asked before the start.

/// What shows that the detector has tripped.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sign {
    /// The detector's own lamp.
    OwnLamp,
    /// A meter or buzzer across the pair.
    Meter,
    /// A self-resetting walk test at the panel.
    WalkTest,
    /// A person at the panel.
    Person,
}

impl Sign {
    /// Every sign, in the order of a form.
    pub const ALL: [Sign; 4] = [Sign::OwnLamp, Sign::Meter, Sign::WalkTest, Sign::Person];

    /// The words on screen and in print.
    pub fn words(self) -> &'static str {
        match self {
            Sign::OwnLamp => "The detector's own lamp",
            Sign::Meter => "Meter or buzzer across the pair",
            Sign::WalkTest => "Self-resetting walk test",
            Sign::Person => "A person at the panel",
        }
    }
}

/// Whether resets are watched.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Resets {
    /// Watched: a trip after a heat-off without a reset does not count.
    Watched,
    /// Could be seen, but nobody watches.
    NotWatched,
    /// Cannot be seen.
    CannotBeSeen,
}

impl Resets {
    /// Every way, in the order of a form.
    pub const ALL: [Resets; 3] = [Resets::Watched, Resets::NotWatched, Resets::CannotBeSeen];

    /// The words on screen and in print.
    pub fn words(self) -> &'static str {
        match self {
            Resets::Watched => "Watched",
            Resets::NotWatched => "Not watched",
            Resets::CannotBeSeen => "Cannot be seen",
        }
    }
}

/// How a trip is noticed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SeenBy {
    /// What shows it.
    pub sign: Sign,
    /// Whether the panel latches, so that each heat-off asks for a panel reset.
    pub latching: bool,
    /// Whether alarm verification is on.
    pub verification: bool,
    /// How long after the trip it is noticed, ms; always late, never early.
    pub delay_ms: i64,
    /// Standard uncertainty of that delay, ms.
    pub delay_u_ms: i64,
    /// Whether resets are watched.
    pub resets: Resets,
}

/// Whether the air around the detector moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Air {
    /// Still air.
    Still,
    /// Ventilation, a heater or a draught.
    Moving,
}

/// How warm something is at the start.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Warmth {
    /// At ambient temperature.
    Cold,
    /// Above ambient, below its upper temperature.
    Warm,
    /// Just used.
    Hot,
}

impl Warmth {
    /// Every degree of warmth, in the order of a form.
    pub const ALL: [Warmth; 3] = [Warmth::Cold, Warmth::Warm, Warmth::Hot];

    /// The words on screen and in print.
    pub fn words(self) -> &'static str {
        match self {
            Warmth::Cold => "Cold",
            Warmth::Warm => "Warm",
            Warmth::Hot => "Hot",
        }
    }
}

/// What the eye says of a detector.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Visual {
    /// Nothing wrong to be seen.
    Good,
    /// Broken, bent, corroded or loose.
    Damaged,
    /// Painted, dirty or covered.
    Covered,
    /// Something keeps heat from it.
    Obstructed,
    /// Nobody looked.
    NotDone,
}

impl Visual {
    /// Every answer, in the order of a form.
    pub const ALL: [Visual; 5] = [Visual::Good, Visual::Damaged, Visual::Covered, Visual::Obstructed, Visual::NotDone];

    /// The words on screen and in print.
    pub fn words(self) -> &'static str {
        match self {
            Visual::Good => "Good",
            Visual::Damaged => "Damaged",
            Visual::Covered => "Painted or dirty",
            Visual::Obstructed => "Obstructed",
            Visual::NotDone => "Not looked at",
        }
    }
}
