//! Numbers from numbers: one procedure per file, each with its published source. Knows nothing of the job.
