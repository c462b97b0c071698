//! Native tests.

mod architecture;
mod desk;
mod reference;
mod tolerances;
