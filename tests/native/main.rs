//! Native tests.
