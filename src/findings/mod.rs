//! What the numbers say: did it operate, where, and how that compares with the limits.
//!
//! Pure; reads `book`, uses `stats`, `trade` and `units`. Knows no clock and no screen: temperatures are °C, differences K, and a
//! screen converts. Every number is a [`Figure`] that opens to formula, inputs and source. Reading order: `methods` (every formula),
//! `figure`, `trip`, `at_trip` (what the heater profile says of it), `operating` (the mean and its uncertainty), `settling` and `first_trip`
//! (what the trips say of one another), `limits`, `judgement`
//! (as read, limit result), `remark` (what cannot be decided), `no_alarm` and `outcome` (the three results), `test`, `families`, `area`, `family_remark` and `family` (tests side by
//! side), `visit`; beside them `profile` (what profile runs make), `live` (where the heater is without its display), `estimate_trace` (the same
//! over a test), `score` (a reading against it), `fits` and `scores` (every profile and score of a book, once), `history` (what was
//! done at each position over the years), `standing` (what one visit comes to at a position).

mod area;
mod at_trip;
pub mod day;
pub mod due;
mod estimate_trace;
mod families;
mod family;
mod family_remark;
mod figure;
mod first_trip;
mod fits;
pub mod history;
mod judgement;
mod limits;
mod live;
pub mod methods;
mod no_alarm;
mod operating;
mod outcome;
mod profile;
mod remark;
mod score;
mod scores;
mod settling;
pub mod standing;
mod test;
pub mod trend;
mod trip;
mod visit;

pub use crate::book::early::{EARLY_BELOW, EARLY_WITHIN_MS, EarlyTrip, EarlyWhy, early_so_far};
pub use area::BY_HEATERS;
pub use at_trip::Late;
pub use estimate_trace::Sample;
pub use family::{Compared, Esd, Family, FamilyRemark, Member, Scored, Window, Within};
pub use family_remark::LEAST_OF_A_HEATER;
pub use figure::{COVERAGE, Figure, Input, Quantity};
pub use first_trip::{Earlier, FirstTrip};
pub use judgement::{AsRead, Judgement, Missing, Stated, limit_result_words};
pub use limits::{LimitsGiven, LimitsSource, NoLimits};
pub use live::{LiveEstimator, NoEstimate, TOP_U};
pub use no_alarm::{
    FROM_AMBIENT, LEAST_SOAK_MS, LONGEST_TAU_S, NoAlarm, NotProven, OWN_PLUS, RATE_K_PER_S, RISE, SHORTEST_TAU_S,
    no_alarm,
};
pub use operating::{NoOperating, Operating, Unknown};
pub use outcome::{AtPanel, Failed, NotExercised, Outcome, Restored, Tripped, restored as restored_of};
pub use profile::{AMBIENT_U, NoProfile, fitted, heater_profile, residuals};
pub use remark::{Remark, before, lacking};
pub use score::{FAR, Score, Share, WITHDRAWN_BELOW, is_confirmed};
pub use scores::{Estimates, Record, asked_about, newest_profile_run, scores};
pub use settling::Settling;
pub use test::{Flag, RestoresSeen, Role, TestFindings, of_test};
pub use trip::{TripFinding, TripTemperature, Way};
pub use visit::{VisitFindings, Working, visit};

/// Version of the method. It goes up when the same entries give other findings than before, or more of them.
pub const METHOD: u32 = 7;
