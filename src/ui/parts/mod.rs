//! The parts every screen is drawn with. They know nothing of the app: labels, signals and callbacks in, markup out.
//!
//! Reading order: `icon` (all drawings), `key`, `row`, `section` and `fold` (the ruled page), `field`, `numbers`, `pad`, `choice`, `switch` and `questions`, which draws forms with them, `notice`,
//! `banner`, `undo`, `badge` (what speaks back), `sheet`, `figure`; then the test: `mark`, `clock`, `track`, `heat`, `tally`, `lanes`,
//! `digits`, `steps`; `show` for what is not always there. Classes are in `style/`; nothing here sets a style, because the
//! page's policy allows none inline.

pub mod badge;
pub mod banner;
pub mod bar;
pub mod choice;
pub mod clock;
pub mod digits;
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
pub mod numbers;
pub mod pad;
pub mod questions;
pub mod row;
pub mod section;
pub mod sheet;
pub mod show;
pub mod steps;
pub mod switch;
pub mod tally;
pub mod track;
pub mod undo;

pub use crate::view::page::sign::{Look, Says, Shape, Tone};
pub use badge::Badge;
pub use banner::Banner;
pub use bar::{Bar, BarKey};
pub use choice::Choice;
pub use clock::{Clock, ClockState};
pub use digits::Digits;
pub use empty::Empty;
pub use field::Field;
pub use figure::Figure;
pub use fold::Fold;
pub use icon::Icon;
pub use key::Key;
pub use lanes::{Lane, Lanes};
pub use mark::{Mark, MarkState};
pub use notice::Notice;
pub use numbers::Numbers;
pub use pad::Pad;
pub use questions::{Fields, Parts, Questions};
pub use row::{Row, Rows};
pub use section::{PageHead, Section};
pub use sheet::Sheet;
pub use show::Show;
pub use steps::Steps;
pub use switch::Switch;
pub use tally::{Chip, Counts, Tally};
pub use track::Track;
pub use undo::Undo;
