//! What profile runs leave open, though they make a profile.

use super::profile::HeaterProfile;
use crate::units::Seconds;
use std::fmt;

/// Readings until so long after heat off show what heat on its way to the display still does. The project's own figure.
const SOON: Seconds = Seconds(30.0);

/// Something that no profile run shows, so that the estimate takes it from elsewhere.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unseen {
    /// What the heater holds.
    Level,
    /// Whether the display runs on or lags when the thermostat first switches.
    Settling,
    /// Whether it runs on after heat off.
    RunningOn,
}

impl fmt::Display for Unseen {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Unseen::Level => {
                "no profile run has two readings at the top temperature, so what the heater holds is taken from its setting"
            }
            Unseen::Settling => {
                "too few readings at the top temperature tell whether the display runs on there, so the band takes that for scatter: read on for a \
                 minute"
            }
            Unseen::RunningOn => {
                "no reading in the first 30 s after heater off, so how far the display runs on then is taken from the heat-up"
            }
        })
    }
}

impl HeaterProfile {
    /// What its profile runs cannot carry.
    pub fn unseen(&self) -> Vec<Unseen> {
        let hold = match &self.prior.hold {
            None => Some(Unseen::Level),
            Some(hold) => (!hold.settles_seen).then_some(Unseen::Settling),
        };
        let mut after_off = self.profile_runs.iter().flat_map(|profile_run| &profile_run.cooling);
        let unread = self.cooling_tau.is_ok() && !after_off.any(|(at, _)| *at <= SOON);
        hold.into_iter().chain(unread.then_some(Unseen::RunningOn)).collect()
    }
}
