//! Going from place to place: the address follows, and each place comes up where it is looked for.

use super::App;
use crate::view::place::Place;
use leptos::prelude::*;

impl App {
    /// Goes to a place; the address follows, so that "back" works.
    pub fn go(self, place: Place) {
        self.refused.set(None);
        if self.place.get_untracked() != place {
            self.show(place);
            crate::ui::set_address(&place.address());
        }
    }

    /// Shows a place from its top, and one of the bar's where one left it.
    pub(in crate::ui) fn show(self, place: Place) {
        let (from, y) = (self.place.get_untracked(), window().scroll_y().unwrap_or_default());
        self.left.update_value(|left| {
            left.retain(|(of, _)| *of != from);
            left.push((from, y));
        });
        self.place.set(place);
        let to = match place {
            Place::Round | Place::Findings | Place::Register | Place::Handover => {
                self.left.with_value(|left| left.iter().find(|(of, _)| *of == place).map_or(0.0, |(_, y)| *y))
            }
            Place::Before(_) | Place::Curve(_) | Place::Ramp(_) => 0.0,
            // These go by themselves.
            Place::Run(_) | Place::Finding(_) | Place::Form(_) | Place::Computed(_) => return,
        };
        request_animation_frame(move || window().scroll_to_with_x_and_y(0.0, to));
    }
}
