//! Every drawing of the app: one stroke on a 24-unit grid each, so that one component and one class draw them all.

use crate::view::page::sign::Shape;
use leptos::prelude::*;

impl Shape {
    /// The stroke, as an SVG path on a 24 × 24 grid.
    pub const fn path(self) -> &'static str {
        match self {
            Self::Visit => {
                "M5.5 3a2.5 2.5 0 1 1 0 5 2.5 2.5 0 0 1 0-5M18.5 16a2.5 2.5 0 1 1 0 5 2.5 2.5 0 0 1 0-5M8 5.5h7a3.25 3.25 0 0 1 0 6.5H9a3.25 3.25 0 0 0 0 6.5h7"
            }
            Self::Test => "M4 3h16M8 3v2.5a4 4 0 0 0 8 0V3M5 11v3a7 7 0 0 0 14 0v-3M12 21v1.5M12 12.5v4",
            Self::Findings => {
                "M2.5 3.5h19M2.5 20.5h19M6 13a1 1 0 1 0 .01 0M11 8.5a1 1 0 1 0 .01 0M15 14a1 1 0 1 0 .01 0M19 9.5a1 1 0 1 0 .01 0"
            }
            Self::Register => "M4.5 3h15v18h-15zM8.5 3v18M12 8h4.5M12 12h4.5M12 16h4.5",
            Self::Handover => "M12 14V3M8 7l4-4 4 4M3.5 13v7.5h17V13M8 17h8",
            Self::Done => "M12 2.5a9.5 9.5 0 1 1 0 19 9.5 9.5 0 0 1 0-19M7.5 12.5l3 3 6-7",
            Self::Fail => "M3.5 3.5h17v17h-17zM8.5 8.5l7 7M15.5 8.5l-7 7",
            Self::Half => "M12 1.5 22.5 12 12 22.5 1.5 12zM12 2v20M15.3 6.5v11M18.5 9.5v5",
            Self::Open => {
                "M12 2.5a9.5 9.5 0 1 1 0 19 9.5 9.5 0 0 1 0-19M9.5 9.5a2.5 2.5 0 1 1 3.6 2.2c-.8.4-1.1 1-1.1 1.8M12 17h.01"
            }
            Self::Again => "M20 12a8 8 0 1 1-2.6-5.9L20 8.5M20 3.5v5h-5M12 8v4.5l3 1.5",
            Self::Info => "M12 2.5a9.5 9.5 0 1 1 0 19 9.5 9.5 0 0 1 0-19M12 11v6M12 7h.01",
            Self::Warning => "M12 3 22 20.5H2zM12 9.5v5M12 17.5h.01",
            Self::Alarm => "M8 2.5h8L21.5 8v8L16 21.5H8L2.5 16V8zM12 7v6M12 16.5h.01",
            Self::Wait => "M6 3h12M6 21h12M7.5 3c0 5 4.5 6 4.5 9s-4.5 4-4.5 9M16.5 3c0 5-4.5 6-4.5 9s4.5 4 4.5 9",
            Self::Lamp => "M3.5 12A8.5 8.5 0 0 1 9 4M12.5 3.5h.01",
            Self::Trip => "M13 2 4 13.5h7L10 22l10-12h-7z",
            Self::Restore => "M4 12a8 8 0 1 0 3-6.2L4 8.5M4 3.5v5h5M8.5 12.5l2.5 2.5 4.5-5",
            Self::Heat => {
                "M12 21.5a6.5 6.5 0 0 1-6.5-6.5c0-4 3-5.5 3.5-9.5 3 1.5 4 4 4 6 1-.5 1.5-1.5 1.5-3 2.5 2 4 4 4 6.5a6.5 6.5 0 0 1-6.5 6.5"
            }
            Self::Lower => "M4 3h16M12 7v12M6.5 14 12 19.5l5.5-5.5",
            Self::Undo => "M8.5 4 4 8.5 8.5 13M4.5 8.5H14a6 6 0 0 1 0 12H8",
            Self::Plus => "M12 4v16M4 12h16",
            Self::Minus => "M4 12h16",
            Self::Back => "M15 4l-8 8 8 8",
            Self::Next => "M9 4l8 8-8 8",
            Self::Close => "M5 5l14 14M19 5 5 19",
            Self::Erase => "M8 5h13v14H8l-6-7zM11.5 9l6 6M17.5 9l-6 6",
            Self::Tick => "M4 13l5.5 5.5L20 6",
            Self::Pen => "M4 20l1-5L16 4l4 4L9 19zM13.5 6.5l4 4",
            Self::Clone => "M8 8h13v13H8zM4.5 16H3V3h13v1.5M14.5 11.5v6M11.5 14.5h6",
            Self::Share => "M12 15V3M7.5 7 12 2.5 16.5 7M7 11H4.5v10.5h15V11H17",
            Self::TakeIn => "M12 3v12M7.5 10.5 12 15l4.5-4.5M3.5 14v6.5h17V14",
            Self::Print => "M7 8V3h10v5M7 17H3V8h18v9h-4M7 14h10v7H7zM17 11h1",
            Self::Camera => "M3 7.5h4.5L9 5h6l1.5 2.5H21v12H3zM12 9.5a3.75 3.75 0 1 1 0 7.5 3.75 3.75 0 0 1 0-7.5",
            Self::Sound => "M4 9v6h4l5 4.5v-15L8 9zM16.5 8.5a5 5 0 0 1 0 7M19 5.5a9 9 0 0 1 0 13",
            Self::Mute => "M4 9v6h4l5 4.5v-15L8 9zM16.5 9.5l5 5M21.5 9.5l-5 5",
            Self::More => "M5 11a1 1 0 1 0 .01 0M12 11a1 1 0 1 0 .01 0M19 11a1 1 0 1 0 .01 0",
            Self::Adjust => "M4 7h8M18 7h2M15 4v6M4 17h2M12 17h8M9 14v6",
            Self::Time => "M12 2.5a9.5 9.5 0 1 1 0 19 9.5 9.5 0 0 1 0-19M12 6.5V12l4 2.5",
            Self::Detector => {
                "M3 5h18M6 5v3.5h12V5M8.5 8.5v3a3.5 3.5 0 0 0 7 0v-3M12 18v3M7.5 17l-1.5 2.5M16.5 17l1.5 2.5"
            }
            Self::Lock => "M5 10.5h14V21H5zM8 10.5V7a4 4 0 0 1 8 0v3.5M12 14.5v2.5",
        }
    }
}

/// One drawing, in the colour of the text around it and hidden from readers: the word beside it says the same.
#[component]
pub fn icon(
    /// What is drawn.
    of: Shape,
) -> impl IntoView {
    view! {
        <svg class="icon" viewBox="0 0 24 24" aria-hidden="true">
            <path d=of.path() />
        </svg>
    }
}
