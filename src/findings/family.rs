//! A family: tests held side by side, what comparing them gave, and what is common to many of them.

use super::figure::{Figure, Input, Quantity};
use super::methods;
use crate::book::Id;
use crate::book::body::TestStart;
use crate::trade::detector_type::DetectorType;
use crate::units::{Kelvin, Reading};
use std::fmt;
use std::sync::Arc;

/// One test in its family.
#[derive(Clone, Debug, PartialEq)]
pub struct Member {
    /// The test.
    pub test: Id,
    /// Its position.
    pub position: Id,
    /// What was frozen into its test: tag, heater, ambient temperature.
    pub frozen: Arc<TestStart>,
    /// Operating temperature minus rating.
    pub deviation: Kelvin,
    /// Its expanded uncertainty, that of the operating temperature.
    pub expanded: Kelvin,
    /// Modified z score; none where the family is not scored.
    pub score: Option<f64>,
    /// Whether it is an outlier: score or generalized ESD finds it, and nothing else explains it.
    pub flagged: bool,
    /// Whether generalized ESD names it.
    pub esd: bool,
    /// Why it is not flagged though one of the two finds it.
    pub within: Option<Within>,
    /// One step of the display.
    pub(super) step: Kelvin,
    /// Calibration and fit of the heater, lag of the indication and heater profile; none where calibration or fit is not known.
    pub(super) shared: Option<Kelvin>,
    /// How far it may lie from the rest because heaters differ; none if unknown.
    pub(super) heaters: Option<Kelvin>,
}

impl Member {
    /// The detector's tag when the test started.
    pub fn tag(&self) -> &str {
        self.frozen.position.place.name()
    }

    /// The heater it was tested with.
    pub fn heater(&self) -> Id {
        self.frozen.heater.of
    }
}

/// Limits as differences from the rating, lower and upper.
pub type Window = (Option<Kelvin>, Option<Kelvin>);

/// Tests that are held side by side.
#[derive(Clone, Debug, PartialEq)]
pub struct Family {
    /// The area.
    pub area: Id,
    /// The type of its detectors.
    pub detector_type: DetectorType,
    /// Their rating.
    pub rating: Reading,
    /// The name of their procedure.
    pub procedure: String,
    /// Whether these are the tests as left; else those as found.
    pub as_left: bool,
    /// Whether these rest on estimates; else every counted trip was read.
    pub estimated: bool,
    /// Their limits, where all have the same.
    pub limits: Option<Window>,
    /// The tests, lowest deviation first.
    pub members: Vec<Member>,
    /// How many detectors they are of.
    pub detectors: usize,
    /// Median of the deviations.
    pub median: Kelvin,
    /// What comparing them gave.
    pub compared: Compared,
    /// Shifts of all, of one heater, with ambient temperature.
    pub remarks: Vec<FamilyRemark>,
}

/// What comparing a family gave.
#[derive(Clone, Debug, PartialEq)]
pub enum Compared {
    /// Too few detectors to tell an outlier from chance: a plot and no flag.
    TooFew,
    /// More than any cut-off was made for.
    TooMany,
    /// Scored.
    Scored(Scored),
}

/// How a family was scored.
#[derive(Clone, Debug, PartialEq)]
pub struct Scored {
    /// |score| beyond which one is an outlier.
    pub cut_off: f64,
    /// What a deviation is divided by, K: the median absolute deviation and the rounding of a reading d/√12, at least half a step
    /// d/2. Readings in steps can make the plain median absolute deviation far too small, and then healthy ones are flagged.
    pub scale: Kelvin,
    /// Median absolute deviation as it is, K; zero where more than half are alike.
    pub mad: Kelvin,
    /// One step of the coarsest display d, K.
    pub step: Kelvin,
    /// Generalized ESD; none below [`MIN_ESD`] detectors or where all are alike.
    pub esd: Option<Esd>,
    /// The deviations beyond which one is an outlier by score or generalized ESD.
    pub band: (Kelvin, Kelvin),
}

/// What generalized ESD says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Esd {
    /// How many it names.
    pub named: usize,
    /// The deviations beyond which it names one.
    pub ends: (Kelvin, Kelvin),
}

/// Why an outlier is not flagged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Within {
    /// It does so by no more than its own uncertainty, which counts among few detectors, among estimates, and where it is unknown how far
    /// the heaters may be off.
    Itself,
    /// It does so by no more than heaters may differ.
    Heaters,
}

impl Within {
    /// What is said of it, after by how much it reads unlike the rest.
    pub fn words(self) -> &'static str {
        match self {
            Within::Itself => "within its own uncertainty: retest with readings",
            Within::Heaters => "within what the heaters may differ by: retest with another heater",
        }
    }
}

/// Something common to many of a family. The figure opens it.
#[derive(Clone, Debug, PartialEq)]
pub enum FamilyRemark {
    /// The median of all deviates from the rating by more than its uncertainty.
    AllShifted(Figure),
    /// The tests of one heater deviate from those of the others.
    HeaterApart {
        /// The heater's name.
        heater: String,
        /// By how much.
        by: Figure,
    },
    /// The deviation goes with ambient temperature.
    WithAmbient(Figure),
}

impl FamilyRemark {
    /// The number it rests on.
    pub fn figure(&self) -> &Figure {
        match self {
            FamilyRemark::AllShifted(figure) | FamilyRemark::WithAmbient(figure) => figure,
            FamilyRemark::HeaterApart { by, .. } => by,
        }
    }
}

impl fmt::Display for FamilyRemark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            FamilyRemark::AllShifted(_) => f.write_str(
                "the whole family is shifted from its rating: detectors or heater? Test two of these with the other heater. It excuses no \
                 detector",
            ),
            FamilyRemark::HeaterApart { heater, .. } => write!(
                f,
                "the tests with {heater} stand apart from those with other heaters: heater or detectors? Test two of these with the other heater. It \
                 excuses no detector"
            ),
            FamilyRemark::WithAmbient(_) => f.write_str(
                "the deviation goes with the ambient temperature: air or detectors? Test two of these again at another ambient temperature. \
                 It excuses no detector",
            ),
        }
    }
}

impl Family {
    /// The score of a member, to be opened; none where the family is not scored.
    pub fn score(&self, member: &Member) -> Option<Figure> {
        let Compared::Scored(scored) = &self.compared else { return None };
        let difference = |name, value: Kelvin| Input::new(name, value.0, Quantity::Difference);
        let mut inputs = vec![
            difference("deviation from the rating x", member.deviation),
            difference("median of the family", self.median),
            difference("median absolute deviation MAD", scored.mad),
            difference("step of the display d", scored.step),
            difference("expanded uncertainty U", member.expanded),
            Input::new("cut-off", scored.cut_off, Quantity::Number),
            Input::new("detectors in the family n", self.detectors as f64, Quantity::Count),
        ];
        if let Some(esd) = &scored.esd {
            inputs.push(difference("generalized ESD names those below", esd.ends.0));
            inputs.push(difference("generalized ESD names those above", esd.ends.1));
        }
        let heaters = member.heaters.filter(|heaters| *heaters > Kelvin(0.0));
        inputs.extend(heaters.map(|heaters| difference("what the heaters may differ by U(heaters)", heaters)));
        Some(Figure { method: &methods::SCORE, value: member.score?, u: None, quantity: Quantity::Number, inputs })
    }

    /// Where neither score nor generalized ESD finds one; none where the family is not scored.
    pub fn band(&self) -> Option<(Kelvin, Kelvin)> {
        let Compared::Scored(scored) = &self.compared else { return None };
        Some(scored.band)
    }

    /// The members that are flagged.
    pub fn flagged(&self) -> impl Iterator<Item = &Member> {
        self.members.iter().filter(|member| member.flagged)
    }

    /// The members that stand apart and are not flagged, with why.
    pub fn unlike(&self) -> impl Iterator<Item = (&Member, Within)> {
        self.members.iter().filter_map(|member| Some((member, member.within?)))
    }

    /// How far a member lies from the median.
    pub fn apart(&self, member: &Member) -> Kelvin {
        (member.deviation - self.median).abs()
    }
}
