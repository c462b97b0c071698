//! Native tests.

mod reference;
