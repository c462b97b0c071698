//! What a block looks like, by name: the drawing, the colour that agrees with it, the weight of a key or a notice.

/// What is drawn. Places first, then signs (always beside a word), then acts.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Shape {
    /// Place: stops along a way that closes.
    Visit,
    /// Place: a heater's cup under a detector.
    Test,
    /// Place: points between two limits.
    Findings,
    /// Place: a ruled page with its margin.
    Register,
    /// Place: a sheet leaving its tray.
    Handover,
    /// Sign: done, pass, yes.
    Done,
    /// Sign: fail, no.
    Fail,
    /// Sign: a decision on a condition.
    Half,
    /// Sign: not decided.
    Open,
    /// Sign: retest.
    Again,
    /// Sign: for your information.
    #[default]
    Info,
    /// Sign: warning.
    Warning,
    /// Sign: alarm.
    Alarm,
    /// Sign: being recorded, waiting.
    Wait,
    /// Sign: the glint on a lamp that is dark: the mark waits.
    Lamp,
    /// Act: mark a trip.
    Trip,
    /// Act: mark a restore.
    Restore,
    /// Act: mark heat.
    Heat,
    /// Act: lower the heater.
    Lower,
    /// Act: undo.
    Undo,
    /// Act: add, step up.
    Plus,
    /// Act: step down.
    Minus,
    /// Act: back.
    Back,
    /// Act: go on, open.
    Next,
    /// Act: close.
    Close,
    /// Act: erase the last digit.
    Erase,
    /// Act: tick off, OK.
    Tick,
    /// Act: change.
    Pen,
    /// Act: make one like it.
    Clone,
    /// Act: hand over to another app.
    Share,
    /// Act: take in a file.
    TakeIn,
    /// Act: print.
    Print,
    /// Act: take a photo.
    Camera,
    /// Sign: sound on.
    Sound,
    /// Sign: sound off.
    Mute,
    /// Act: more.
    More,
    /// Act: set, adjust.
    Adjust,
    /// Sign: time.
    Time,
    /// Sign: detector.
    Detector,
    /// Sign: place under cover, secured.
    Lock,
}

/// The colour that agrees with the shape and the word.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Tone {
    /// Ink.
    #[default]
    Plain,
    /// Pass, done.
    Good,
    /// Fail, no.
    Bad,
    /// Take care, retest.
    Warn,
    /// Neither good nor bad, worth knowing.
    Note,
}

/// The weight of a notice.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Says {
    /// Good to know.
    #[default]
    Info,
    /// Take care.
    Warning,
    /// Act now; interrupts a screen reader.
    Alarm,
    /// It is done.
    Done,
}

/// How much a key asks to be pressed.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Look {
    /// Outlined: one of several acts.
    #[default]
    Quiet,
    /// Filled: the act that the screen is for, once per screen.
    Primary,
    /// Outlined in the colour of failing: takes something away.
    Danger,
    /// Without an outline: beside a title.
    Plain,
}
