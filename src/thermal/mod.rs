//! How heat moves: the first-order curve of a head or a detector, and its fit to readings.

mod climb;
mod cooling;
mod curve;
mod estimate;
mod exp_fit;
mod first_order;
mod gaussian;
mod hold;
mod least_squares;
mod live;
mod place;
mod response;
mod spread;

pub use cooling::UNKNOWN as TAU_UNKNOWN;
pub use curve::{Aicc, Climbing, HeatCurve, Parameter, Ramp, RampFit};
pub use estimate::{Clockwork, Estimate, Event, Start};
pub use exp_fit::{ExpFit, Prediction, Refused, Shape, Spread, exp_fit};
pub use first_order::{RampTrip, ramp_trip, step_trip, time_constant};
pub use least_squares::{Minimum, NoMinimum, least_squares};
pub use live::{BAND, FINGER, Live};
pub use spread::{ASSUMED as POWER_SPREAD, ENOUGH as MIN_RAMPS};
