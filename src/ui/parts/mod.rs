//! Parts: labels, signals and callbacks; they know nothing of the app.
