//! The parts every screen is drawn with. They know nothing of the app: labels, signals and callbacks in, markup out.
//!
//! Reading order: `icon` (all drawings), `key`, `row`, `section` and `fold` (the ruled page), `field`, `choice`, `switch` (forms), `notice`,
//! `banner`, `undo`, `badge` (what speaks back), `sheet`, `figure`; then the test: `mark`, `clock`, `track`, `heat`, `tally`, `lanes`,
//! `digits`, `steps`; `dots` and `plot`, which draw numbers; `show` for what is not always there. Classes are in `style/`; nothing here sets a style, because the
//! page's policy allows none inline.

pub mod badge;
pub mod banner;
pub mod bar;
pub mod choice;
pub mod clock;
pub mod digits;
pub mod dots;
pub mod empty;
pub mod field;
pub mod figure;
pub mod fold;
pub mod heat;
pub mod icon;
pub mod key;
pub mod lanes;
pub mod mark;
pub mod notice;
pub mod plot;
pub mod row;
pub mod section;
pub mod sheet;
pub mod show;
pub mod steps;
pub mod switch;
pub mod tally;
pub mod track;
pub mod undo;

pub use badge::{Badge, Tone};
pub use banner::Banner;
pub use bar::{Bar, BarKey};
pub use choice::{Choice, Pick};
pub use clock::{Clock, ClockState};
pub use digits::Digits;
pub use dots::{Dot, Dots, Plot};
pub use empty::Empty;
pub use field::{Entry, Field};
pub use figure::Figure;
pub use fold::Fold;
pub use icon::{Icon, Shape};
pub use key::{Key, Look};
pub use lanes::{Lane, Lanes};
pub use mark::{Mark, MarkState};
pub use notice::{Notice, Says};
pub use row::{Row, Rows};
pub use section::{PageHead, Section};
pub use sheet::Sheet;
pub use show::Show;
pub use steps::Steps;
pub use switch::Switch;
pub use tally::{Chip, Counts, Tally};
pub use track::{Leg, Span, Tick, Track};
pub use undo::Undo;
