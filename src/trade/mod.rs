//! What the trade knows: types of detector, their EN 54-5 classes, procedures, heaters, what may be heated how, cautions.
//!
//! Pure; uses `units`, and `encoding` to be written. Knows nothing of entries, visits or screens. Reading order: `type`,
//! `classified` (hazardous locations), `detector`, `heater`, `procedure`, `conditions`, `heating` (the type × procedure table), `caution`, `temperature_class`;
//! `fields` says what their fields may hold, `stored` is their JSON with it.

pub mod caution;
pub mod classified;
pub mod conditions;
pub mod detector;
pub mod detector_type;
pub mod fields;
pub mod heater;
pub mod heater_gaps;
pub mod heating;
pub mod procedure;
mod stored;
pub mod temperature_class;
