//! What the numbers say: did it operate, where, and how that stands against the limits.
//!
//! Pure; reads `book`, uses `stats`, `trade` and `units`. Knows no clock and no screen: temperatures are °C, differences K, and a
//! screen converts. Every number is a [`Figure`] that opens to formula, inputs and source. Reading order: `figure`, `trip`,
//! `operating` (the mean and its uncertainty), `limits`, `judgement` (as read, statement), `remark` (what cannot be decided), `run`,
//! `round`; beside them `curve` (what ramps make).

mod curve;
mod figure;
mod judgement;
mod limits;
mod operating;
mod remark;
mod round;
mod run;
mod trip;

pub use curve::{AMBIENT_U, NoCurve, fitted, heat_curve, residuals};
pub use figure::{Figure, Input, Quantity};
pub use judgement::{AsRead, Judgement, Missing, Stated, statement_words};
pub use limits::{LimitsGiven, LimitsSource, NoLimits};
pub use operating::{COVERAGE, NoOperating, Operating, Unknown};
pub use remark::{Remark, before};
pub use round::{DetectorRuns, RoundFindings, round};
pub use run::{Odd, Operated, ResetsSeen, RunFindings, of_run};
pub use trip::TripFinding;

/// Version of the method. It goes up when the same entries give other findings than before.
pub const METHOD: u32 = 1;
