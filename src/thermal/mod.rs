//! How heat moves: the first-order profile of a heater or a detector, and its fit to readings.

mod cooling;
mod estimate;
mod exp_fit;
mod first_order;
mod gaussian;
mod heat_up;
mod hold;
mod least_squares;
mod live;
mod place;
mod profile;
mod response;
mod spread;
mod unseen;

pub use cooling::UNKNOWN as TAU_UNKNOWN;
pub use estimate::{Clockwork, Estimate, Event, Start, Unknown};
pub use exp_fit::{ExpFit, Prediction, Refused, Shape, Spread, exp_fit};
pub use first_order::{RampTrip, ramp_lag, ramp_trip, step_trip, time_constant};
pub use least_squares::{Minimum, NoMinimum, least_squares};
pub use live::{BAND, FINGER, Live};
pub use profile::{Aicc, HeaterProfile, HeatingUp, Parameter, ProfileRun, ProfileRunFit};
pub use spread::{ASSUMED as POWER_SPREAD, ENOUGH as MIN_PROFILE_RUNS};
pub use unseen::Unseen;
