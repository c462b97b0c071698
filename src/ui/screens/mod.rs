//! Screens: each wires `view` data to parts.
