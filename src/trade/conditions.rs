//! How a trip is noticed, and the conditions asked before the start.

/// What shows that the detector has tripped.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum IndicatedBy {
    /// The detector's own lamp.
    OwnLamp,
    /// A meter or buzzer across the pair.
    Meter,
    /// A self-resetting walk test at the panel.
    WalkTest,
    /// A person at the panel.
    Person,
}

impl IndicatedBy {
    /// Every sign, in the order of a form.
    pub const ALL: [IndicatedBy; 4] =
        [IndicatedBy::OwnLamp, IndicatedBy::Meter, IndicatedBy::WalkTest, IndicatedBy::Person];

    /// The words on screen and in print.
    pub fn words(self) -> &'static str {
        match self {
            IndicatedBy::OwnLamp => "The detector's own lamp",
            IndicatedBy::Meter => "Meter or buzzer across the pair",
            IndicatedBy::WalkTest => "Self-resetting walk test",
            IndicatedBy::Person => "A person at the panel",
        }
    }
}

/// Whether restores are watched.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Restores {
    /// Watched: a trip after a cool-down without a restore does not count.
    Watched,
    /// Could be seen, but nobody watches.
    NotWatched,
    /// Cannot be seen.
    CannotBeSeen,
}

impl Restores {
    /// Every way, in the order of a form.
    pub const ALL: [Restores; 3] = [Restores::Watched, Restores::NotWatched, Restores::CannotBeSeen];

    /// The words on screen and in print.
    pub fn words(self) -> &'static str {
        match self {
            Restores::Watched => "Watched",
            Restores::NotWatched => "Not watched",
            Restores::CannotBeSeen => "Cannot be seen",
        }
    }
}

/// How a trip is noticed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Indication {
    /// What shows it.
    pub by: IndicatedBy,
    /// Whether the panel latches, so that each cool-down asks for a panel reset.
    pub latching: bool,
    /// Whether alarm verification is on.
    pub verification: bool,
    /// How long after the trip it is noticed, ms; always late, never early.
    pub lag_ms: i64,
    /// Standard uncertainty of that lag, ms.
    pub lag_u_ms: i64,
    /// Whether restores are watched.
    pub restores: Restores,
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
    /// Above ambient, below its top temperature.
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
