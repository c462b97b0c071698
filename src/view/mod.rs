//! Screen-shaped data, one file per screen. Pure.
