//! What the numbers say: did it operate, where, and how that stands against the limits.
//!
//! Pure; reads `book`, uses `stats`, `trade` and `units`. Knows no clock and no screen: temperatures are °C, differences K, and a
//! screen converts. Every number is a [`Figure`] that opens to formula, inputs and source. Reading order: `methods` (every formula),
//! `figure`, `trip`, `at_trip` (what the heater profile says of it), `operating` (the mean and its uncertainty), `settling` and `first`
//! (what the trips say of one another), `limits`, `judgement`
//! (as read, limit result), `remark` (what cannot be decided), `no_alarm` and `outcome` (the three results), `test`, `families`, `area` and `family_remark` (tests side by
//! side), `visit`; beside them `profile` (what profile runs make), `live` (where the heater is without its display), `path` (the same
//! over a test) and `scores` (how it stood up).

mod area;
mod at_trip;
mod families;
mod family_remark;
mod figure;
mod first;
mod judgement;
mod limits;
mod live;
pub mod methods;
mod no_alarm;
mod operating;
mod outcome;
mod path;
mod profile;
mod remark;
mod scores;
mod settling;
mod test;
mod trip;
mod visit;

pub use area::{BY_HEATERS, Compared, Esd, Scored, Within};
pub use at_trip::Late;
pub use families::{Family, Member, Window};
pub use family_remark::{FamilyRemark, LEAST_OF_A_HEATER};
pub use figure::{Figure, Input, Quantity};
pub use first::{Earlier, FirstTrip};
pub use judgement::{AsRead, Judgement, Missing, Stated, limit_result_words};
pub use limits::{LimitsGiven, LimitsSource, NoLimits};
pub use live::{Follower, NoEstimate, TOP_U, estimate, profile_of_test};
pub use no_alarm::{
    FROM_AMBIENT, LEAST_SOAK_MS, LONGEST_TAU_S, NoAlarm, NotProven, OWN_PLUS, RATE_K_PER_S, RISE, SHORTEST_TAU_S,
    no_alarm,
};
pub use operating::{COVERAGE, NoOperating, Operating, Unknown};
pub use outcome::{
    AtPanel, EARLY_BELOW, EARLY_WITHIN_MS, EarlyTrip, EarlyWhy, Failed, NotExercised, Outcome, Restored, Tripped,
    early_so_far, restored as restored_of,
};
pub use path::Sample;
pub use profile::{AMBIENT_U, NoProfile, fitted, heater_profile, residuals};
pub use remark::{Remark, before, lacking};
pub use scores::{
    Estimates, FAR, Record, Score, Share, WITHDRAWN_BELOW, asked_about, is_confirmed, newest_profile_run, scores,
};
pub use settling::Settling;
pub use test::{Flag, RestoresSeen, Role, TestFindings, of_test};
pub use trip::{TripFinding, TripTemperature, Way};
pub use visit::{VisitFindings, Working, visit};

/// Version of the method. It goes up when the same entries give other findings than before, or more of them.
pub const METHOD: u32 = 6;
