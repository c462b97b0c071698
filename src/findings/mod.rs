//! What the numbers say of a run. Pure; reads `book`.
