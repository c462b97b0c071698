//! What the numbers say: did it operate, where, and how that stands against the limits.
//!
//! Pure; reads `book`, uses `stats`, `trade` and `units`. Knows no clock and no screen: temperatures are °C, differences K, and a
//! screen converts. Every number is a [`Figure`] that opens to formula, inputs and source. Reading order: `methods` (every formula),
//! `figure`, `trip`, `at_trip` (what the heat curve says of it), `operating` (the mean and its uncertainty), `settling` and `first`
//! (what the trips say of one another), `limits`, `judgement`
//! (as read, statement), `remark` (what cannot be decided), `hot`, `run`, `families`, `area` and `family_remark` (runs side by
//! side), `round`; beside them `curve` (what ramps make), `live` (where the head is without its display), `path` (the same
//! over a run) and `scores` (how it stood up).

mod area;
mod at_trip;
mod curve;
mod families;
mod family_remark;
mod figure;
mod first;
mod hot;
mod judgement;
mod limits;
mod live;
pub mod methods;
mod operating;
mod path;
mod remark;
mod round;
mod run;
mod scores;
mod settling;
mod trip;

pub use area::{ALPHA, Compared, MIN_ESD, Scored};
pub use at_trip::Late;
pub use curve::{AMBIENT_U, NoCurve, fitted, heat_curve, residuals};
pub use families::{Family, Member, Window};
pub use family_remark::{FamilyRemark, LEAST_OF_A_HEAD};
pub use figure::{Figure, Input, Quantity};
pub use first::{Earlier, FirstTrip};
pub use hot::{Cooling, HotUnknown, HotUntil, TOUCH, hot_until};
pub use judgement::{AsRead, Judgement, Missing, Stated, statement_words};
pub use limits::{LimitsGiven, LimitsSource, NoLimits};
pub use live::{Follower, NoEstimate, UPPER_U, curve_of_run, estimate};
pub use operating::{COVERAGE, NoOperating, Operating, Unknown};
pub use path::Sample;
pub use remark::{Remark, before, lacking};
pub use round::{DetectorRuns, RoundFindings, Working, round};
pub use run::{Odd, Operated, ResetsSeen, RunFindings, of_run};
pub use scores::{Estimates, FAR, Record, Score, Share, WITHDRAWN_BELOW, asked_about, newest_ramp, scores};
pub use settling::Settling;
pub use trip::{TripFinding, TripTemperature, Way};

/// Version of the method. It goes up when the same entries give other findings than before, or more of them.
pub const METHOD: u32 = 5;
