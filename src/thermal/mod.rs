//! The thermal model of a head. Pure; uses `units` and `stats` only.
