//! The large keys: orders that never change their meaning under a finger that comes down.

use crate::book::Id;
use crate::book::body::Point;
use crate::book::command::Command;
use crate::browser::clock;
use crate::encoding::stored;
use crate::ui::app::use_app;
use crate::ui::memo::memo;
use crate::ui::parts::{Key, Mark, MarkState, Shape};
use crate::ui::screens::test::went_on;
use crate::view::test::{Big, Plate, TestScreen};
use crate::view::words;
use leptos::prelude::*;
use std::time::Duration;

/// How long a plate that has just changed takes no press, ms: longer than a thumb that was on its way takes to come down. Own
/// figure.
const DEAD_MS: u64 = 1_000;

/// What a plate means: two that agree in this are one plate, whatever their second line says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Order {
    /// What it does.
    pub(super) big: Big,
    number: u32,
}

impl Order {
    /// The order of a plate.
    pub(super) fn of(plate: &Plate) -> Order {
        Order { big: plate.big, number: plate.number }
    }

    /// The name by which a test finds its plate, where it is not the first.
    fn name(self) -> String {
        match self.big {
            Big::Mark(what) => format!("plate-{}", stored::name(&what)),
            Big::End(how) => format!("plate-end-{}", stored::name(&how)),
            Big::Nothing => "plate-none".to_string(),
        }
    }

    fn kind(self) -> &'static str {
        use crate::book::body::What;
        match self.big {
            Big::Mark(What::Tripped) => "trip",
            Big::Mark(What::Restored | What::PanelReset) => "restore",
            Big::Mark(What::Lowered) => "lower",
            Big::Mark(_) => "heat",
            Big::End(_) | Big::Nothing => "end",
        }
    }

    fn shape(self) -> Shape {
        match self.kind() {
            "trip" => Shape::Trip,
            "restore" => Shape::Restore,
            "lower" => Shape::Lower,
            "heat" => Shape::Heat,
            _ => Shape::Done,
        }
    }
}

/// Keeps a press away from plates that have just changed.
#[derive(Clone, Copy)]
pub(super) struct Guard {
    /// When the plates last changed, ms since the page's start, as events count.
    since: StoredValue<f64>,
    /// Whether a press is taken for nothing now.
    dead: RwSignal<bool>,
}

impl Guard {
    /// Follows the plates of a screen.
    pub(super) fn new(screen: Memo<Option<TestScreen>>) -> Guard {
        let guard = Guard { since: StoredValue::new(0.0), dead: RwSignal::new(true) };
        let orders = memo(move || {
            screen.with(|screen| screen.iter().flat_map(|s| &s.plates).map(Order::of).collect::<Vec<_>>())
        });
        Effect::new(move |_| {
            // Read, not only tracked: a memo that nobody has read follows nothing.
            orders.with(|_| ());
            let since = clock::time_stamp();
            guard.since.set_value(since);
            guard.dead.set(true);
            let wake = move || {
                // A later change has its own time.
                if guard.since.try_get_value() == Some(since) {
                    guard.dead.set(false);
                }
            };
            set_timeout(wake, Duration::from_millis(DEAD_MS));
        });
        guard
    }

    /// Whether a press that began `at`, ms since the page's start, is on a plate that has just changed.
    pub(super) fn is_dead(self, at: f64) -> bool {
        // A made event may carry no stamp.
        let at = if at > 0.0 { at } else { clock::time_stamp() };
        self.since.with_value(|since| at < since + DEAD_MS as f64)
    }
}

/// The plates, the first one the largest.
#[component]
pub(super) fn plates(
    screen: Memo<Option<TestScreen>>,
    guard: Guard,
    press: Callback<(Order, f64)>,
    state: Signal<MarkState>,
) -> impl IntoView {
    let orders =
        memo(move || screen.with(|screen| screen.iter().flat_map(|s| &s.plates).map(Order::of).collect::<Vec<_>>()));
    let plate = move |(at, order): (usize, Order)| {
        let of = move |get: fn(&Plate) -> String| {
            Signal::derive(move || {
                screen.with(|screen| screen.as_ref().and_then(|s| s.plates.get(at)).map(get).unwrap_or_default())
            })
        };
        let pale = Signal::derive(move || {
            screen.with(|screen| screen.as_ref().and_then(|s| s.plates.get(at)).is_some_and(|plate| !plate.expected))
        });
        let testid = if at == 0 { "mark".to_string() } else { order.name() };
        view! {
            <Mark
                label=of(|plate| plate.label.clone())
                sub=of(|plate| plate.hint.clone())
                state
                shape=order.shape()
                kind=order.kind()
                pale
                dead=guard.dead
                on_press=Callback::new(move |at: f64| press.run((order, at)))
                testid
            />
        }
    };
    view! { <div class="plates">{move || orders.get().into_iter().enumerate().map(plate).collect_view()}</div> }
}

/// What the panel shows at the first trip.
#[component]
pub(super) fn panel_asked(screen: Memo<Option<TestScreen>>) -> impl IntoView {
    let app = use_app();
    let asked = memo(move || screen.with(|screen| screen.as_ref().and_then(|s| s.ask_panel.map(|trip| (s.id, trip)))));
    let key = move |(test, trip): (Id, crate::book::entry::Hash), point: Point| {
        let say = move |()| {
            if app.act(clock::now(), Command::SayPanel { trip, point, said: None }).is_ok() {
                went_on(app, test);
            }
        };
        view! { <Key label=words::point(point) on_press=say testid=format!("panel-{}", stored::name(&point)) /> }
    };
    move || {
        asked.get().map(|asked| {
            view! {
                <div class="panel-asked" data-testid="panel-asked">
                    <span>{words::PANEL_SHOWED}</span>
                    <div class="keys">
                        {[Point::Right, Point::Wrong, Point::NotThere].map(|point| key(asked, point)).collect_view()}
                    </div>
                </div>
            }
        })
    }
}
