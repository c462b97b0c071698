//! What the trade knows: kinds, procedures, cautions. Pure; uses `units`.
