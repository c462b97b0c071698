//! The trips so far, and the places of those to come.

use super::{Icon, Shape};
use leptos::prelude::*;

/// Whether a trip counts.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Counts {
    /// Counts for the mean: solid edge.
    #[default]
    Yes,
    /// Does not count: dashed edge.
    No,
    /// As it should be, and left out of the mean: dashed edge.
    First,
    /// Not yet tripped: dotted edge.
    Due,
}

/// One trip.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Chip {
    /// Handed to the callback: the trip's index.
    pub index: usize,
    /// Its number as shown.
    pub number: String,
    /// When it tripped, since heat on; empty for none. Shown where there is room.
    pub time: String,
    /// The reading or estimate, five places at most, its unit being the test's; a dash where there is none.
    pub reading: String,
    /// "counted", "not counted", "to come", and why in short.
    pub word: String,
    /// Whether it counts.
    pub counts: Counts,
}

/// One plate for each trip; a press opens it.
#[component]
pub fn tally(
    /// What the strip holds, read out.
    #[prop(into)]
    label: Signal<String>,
    /// The trips.
    #[prop(into)]
    chips: Signal<Vec<Chip>>,
    /// Called with the index of the trip pressed; trips to come cannot be.
    #[prop(into)]
    on_pick: Callback<usize>,
) -> impl IntoView {
    let plate = move |chip: Chip| {
        let (class, shape) = match chip.counts {
            Counts::Yes => ("tally-chip", Shape::Tick),
            Counts::No => ("tally-chip out", Shape::Close),
            Counts::First => ("tally-chip out", Shape::Tick),
            Counts::Due => ("tally-chip due", Shape::Time),
        };
        let due = chip.counts == Counts::Due;
        let testid = if due { format!("due-{}", chip.number) } else { format!("trip-{}", chip.index) };
        view! {
            <button
                type="button"
                class=class
                disabled=due
                data-testid=testid
                on:click=move |_| on_pick.run(chip.index)
            >
                <span class="tally-top"><b>{chip.number}</b> <span class="tally-time">{chip.time}</span> <Icon of=shape /></span>
                <span class="tally-read">{chip.reading}</span>
                <span class="tally-word">{chip.word}</span>
            </button>
        }
    };
    view! {
        <div class="tally" role="group" aria-label=label tabindex="-1" data-testid="tally">
            {move || chips.get().into_iter().map(plate).collect_view()}
        </div>
    }
}
