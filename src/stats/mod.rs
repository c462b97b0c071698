//! Numbers from numbers: one procedure per file, each with its published source. Knows nothing of the job.

mod binomial;
mod conformance;
mod cut_off;
mod gesd;
mod hypergeom_bound;
mod kalman;
mod line;
mod modified_z;
mod normal;
mod outliers;
mod student_t;
mod summary;
mod theil_sen;
mod welch_satterthwaite;
mod zero_failure;

pub use binomial::binomial_tail;
pub use conformance::{Conformance, LimitResult, Limits, Measured, conformance};
pub use cut_off::{ALPHA, CUT_OFF_FAMILIES, CUT_OFF_SEED, MIN_ESD, MIN_FAMILY, SHARE, cut_offs, modified_z_cut_off};
pub use gesd::{Gesd, Step, gesd};
pub use hypergeom_bound::{Bound, MAX_POPULATION, hypergeom_bound};
pub use kalman::{Estimate, kalman_scalar};
pub use line::{Line, line};
pub use modified_z::{ModifiedZ, NORMAL_MAD, NORMAL_MEAN_AD, median, modified_z};
pub use outliers::{Outliers, outliers};
pub use student_t::{t_cdf, t_quantile, t_sf, t_upper_quantile};
pub use summary::{Interval, Summary, mean_sd};
pub use theil_sen::{MAX_POINTS, TheilSen, theil_sen};
pub use welch_satterthwaite::{Combined, Component, Coverage, EffectiveDf, welch_satterthwaite};
pub use zero_failure::{Acceptable, zero_failure_n, zero_failure_n_infinite};
