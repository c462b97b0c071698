//! The heater profiles of a book, each fitted once.

use super::live::NoEstimate;
use super::profile::{NoProfile, heater_profile};
use crate::book::entries::{Book, Part};
use crate::book::entry::Hash;
use crate::book::profile_run::{ProfileRun, profile_runs};
use crate::thermal::HeaterProfile;
use crate::units::Reading;
use std::sync::Arc;

/// The profiles fitted so far: fitting one takes longer than all else that a test says, and tests of one heater mostly share it.
#[derive(Clone, Debug, Default)]
pub(super) struct Fits {
    fits: Vec<Fit>,
    /// The revision of the kit when the profile runs were read last.
    kit: u64,
    refits: usize,
}

#[derive(Clone, Debug)]
struct Fit {
    profile: Vec<Hash>,
    setting: Reading,
    profile_runs: Vec<ProfileRun>,
    found: Result<Arc<HeaterProfile>, NoEstimate>,
}

impl Fits {
    /// The profile of these profile runs for a heater at `setting`.
    pub(super) fn profile(
        &mut self,
        book: &Book,
        profile: &[Hash],
        setting: Reading,
    ) -> Result<Arc<HeaterProfile>, NoEstimate> {
        if profile.is_empty() {
            return Err(NoEstimate::NoProfile(NoProfile::NoProfileRun));
        }
        self.refits(book);
        if let Some(known) = self.fits.iter().find(|fit| fit.setting == setting && fit.profile == profile) {
            return known.found.clone();
        }
        let profile_runs = profile_runs(book, profile);
        let found = fit(profile, &profile_runs, setting);
        self.fits.push(Fit { profile: profile.to_vec(), setting, profile_runs, found: found.clone() });
        found
    }

    /// How often a known profile was fitted anew because its profile runs changed: while it stays the same, so do they all.
    pub(super) fn refits(&mut self, book: &Book) -> usize {
        let kit = book.revision(Part::Kit);
        if self.kit != kit {
            self.kit = kit;
            for known in &mut self.fits {
                let profile_runs = profile_runs(book, &known.profile);
                if known.profile_runs != profile_runs {
                    known.found = fit(&known.profile, &profile_runs, known.setting);
                    known.profile_runs = profile_runs;
                    self.refits += 1;
                }
            }
        }
        self.refits
    }
}

fn fit(profile: &[Hash], profile_runs: &[ProfileRun], setting: Reading) -> Result<Arc<HeaterProfile>, NoEstimate> {
    // A part of them would be another profile than the one that was frozen.
    if profile_runs.len() < profile.len() {
        return Err(NoEstimate::NotHere);
    }
    heater_profile(profile_runs, setting).map(Arc::new).map_err(NoEstimate::NoProfile)
}
