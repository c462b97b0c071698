//! What happened: entries, fold, rules. Pure; uses `trade` and `units`.
