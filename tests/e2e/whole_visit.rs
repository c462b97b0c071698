//! A whole visit, from the panel as found to driving off: once in full, once killed at ten moments, and counted in taps.

mod deeds;
mod figures;
mod kills;
mod night;
mod signed;
mod site;
