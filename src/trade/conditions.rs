//! How a trip is noticed, and the conditions asked before the start.

/// What shows that the detector has tripped.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum IndicatedBy {
    /// The detector's own lamp.
    OwnLamp,
    /// A meter or buzzer across the contacts.
    Meter,
    /// A walk test at the panel.
    WalkTest,
    /// A partner at the panel, by radio.
    Partner,
}

impl IndicatedBy {
    /// Every indication, in the order of a form.
    pub const ALL: [IndicatedBy; 4] =
        [IndicatedBy::OwnLamp, IndicatedBy::Meter, IndicatedBy::WalkTest, IndicatedBy::Partner];

    /// The words on screen and in print.
    pub fn words(self) -> &'static str {
        match self {
            IndicatedBy::OwnLamp => "Detector's own lamp",
            IndicatedBy::Meter => "Meter or buzzer across the contacts",
            IndicatedBy::WalkTest => "Walk test at the panel",
            IndicatedBy::Partner => "Partner at the panel",
        }
    }

    /// The usual lag from trip to tap and its standard uncertainty, ms.
    ///
    /// Own figures, changeable and printed: a lamp or meter in view is a reaction time, a radio call a few words, and an
    /// addressable panel polls its loop.
    pub fn usual_lag_ms(self) -> (i64, i64) {
        match self {
            IndicatedBy::OwnLamp | IndicatedBy::Meter => (1_000, 500),
            IndicatedBy::Partner => (4_000, 2_000),
            IndicatedBy::WalkTest => (6_000, 3_000),
        }
    }

    /// Whether it is seen at the detector, whatever the panel shows.
    pub fn is_local(self) -> bool {
        matches!(self, IndicatedBy::OwnLamp | IndicatedBy::Meter)
    }
}

/// Whether restores are watched between trips.
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
    /// Whether the panel holds the alarm, so that each cool-down asks for a panel reset.
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
    /// Ventilation, a unit heater or a draft.
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

/// Whether the rate function of an electronic detector can trip it before the programmed temperature.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum RateAnswer {
    /// The rate function is switched off.
    Off,
    /// The heater heats more slowly than it.
    HeaterSlower,
}

/// How bad something is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ItemClass {
    /// Could be better.
    Observation,
    /// Fails a requirement, but works.
    Deficiency,
    /// Does not work, or is off.
    Impairment,
}

impl ItemClass {
    /// Every class, the mildest first.
    pub const ALL: [ItemClass; 3] = [ItemClass::Observation, ItemClass::Deficiency, ItemClass::Impairment];

    /// The words on screen and in print.
    pub fn words(self) -> &'static str {
        match self {
            ItemClass::Observation => "Observation",
            ItemClass::Deficiency => "Deficiency",
            ItemClass::Impairment => "Impairment",
        }
    }
}

/// Something the eye finds wrong with a detector.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Visual {
    /// There is no detector.
    Missing,
    /// Loose on its base or box.
    Loose,
    /// Broken or bent.
    Damaged,
    /// Corroded.
    Corroded,
    /// Painted.
    Painted,
    /// Dirty.
    Dirty,
    /// Something keeps heat from it.
    Obstructed,
    /// In the wrong place.
    WrongPlace,
    /// Of the wrong rating for its place.
    WrongRating,
}

impl Visual {
    /// Every finding, in the order of a form.
    pub const ALL: [Visual; 9] = [
        Visual::Missing,
        Visual::Loose,
        Visual::Damaged,
        Visual::Corroded,
        Visual::Painted,
        Visual::Dirty,
        Visual::Obstructed,
        Visual::WrongPlace,
        Visual::WrongRating,
    ];

    /// The words on screen and in print.
    pub fn words(self) -> &'static str {
        match self {
            Visual::Missing => "Missing",
            Visual::Loose => "Loose",
            Visual::Damaged => "Damaged",
            Visual::Corroded => "Corroded",
            Visual::Painted => "Painted",
            Visual::Dirty => "Dirty",
            Visual::Obstructed => "Obstructed",
            Visual::WrongPlace => "Wrong place",
            Visual::WrongRating => "Wrong rating",
        }
    }

    /// The class an item with this finding starts with. Own figures.
    pub fn class(self) -> ItemClass {
        match self {
            Visual::Missing | Visual::Damaged => ItemClass::Impairment,
            Visual::Loose
            | Visual::Corroded
            | Visual::Painted
            | Visual::Obstructed
            | Visual::WrongPlace
            | Visual::WrongRating => ItemClass::Deficiency,
            Visual::Dirty => ItemClass::Observation,
        }
    }

    /// Whether heat says nothing, or harms, while this is so.
    pub fn refuses_heat(self) -> bool {
        matches!(self, Visual::Missing | Visual::Damaged | Visual::Painted)
    }
}
