//! Reads the clocks and notices when they part. Every time that the app knows enters through here.

use std::cell::{Cell, RefCell};
use std::rc::Rc;

use gloo_events::EventListener;
use gloo_timers::callback::Interval;
use js_sys::{Array, Date, Intl, Object, Reflect};
use wasm_bindgen::JsValue;
use web_sys::{Event, VisibilityState};

use super::js::window;
use crate::units::{Mono, Wall};

/// Between two looks at the clocks they may part by this much, ms; more is a gap.
pub const GAP_MS: i64 = 2_000;

/// How often the clocks are looked at while something runs, ms.
const TICK_MS: u32 = 250;

/// One look at the clocks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Now {
    /// Wall clock, UTC ms since 1970.
    pub wall_ms: Wall,
    /// Milliseconds since this session began; it never goes back, and may stand still while the phone sleeps.
    pub mono_ms: Mono,
    /// Whether the page could be seen.
    pub visible: bool,
}

/// The clocks parted between two looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Gap {
    /// How far the wall clock went, ms; negative when it was set back.
    pub wall_ms: i64,
    /// How far the session clock went, ms.
    pub mono_ms: i64,
    /// Whether the page was hidden at either end.
    pub hidden: bool,
}

/// The gap between two neighbouring looks, if the clocks parted by more than [`GAP_MS`].
pub fn gap(before: Now, after: Now) -> Option<Gap> {
    let (wall_ms, mono_ms) = (after.wall_ms - before.wall_ms, after.mono_ms - before.mono_ms);
    let hidden = !(before.visible && after.visible);
    ((wall_ms - mono_ms).abs() > GAP_MS).then_some(Gap { wall_ms, mono_ms, hidden })
}

/// Both clocks now.
pub fn now() -> Now {
    Now { wall_ms: Wall(Date::now() as i64), mono_ms: Mono(performance_now() as i64), visible: visible() }
}

/// Both clocks at the time of an event, which is earlier than the time it is handled.
pub fn event_time(event: &Event) -> Now {
    at_time_stamp(event.time_stamp())
}

/// Both clocks at an event's time stamp, ms since the page's start.
pub fn at_time_stamp(at: f64) -> Now {
    let Now { wall_ms, visible, .. } = now();
    let now = performance_now();
    // A stamp outside this session is no stamp on this clock (a made event may carry none).
    let late = if at > 0.0 && at <= now { now - at } else { 0.0 };
    Now { wall_ms: wall_ms - late as i64, mono_ms: Mono((now - late) as i64), visible }
}

/// Now, as events are stamped: ms since the page's start.
pub fn time_stamp() -> f64 {
    performance_now()
}

/// The name of the time zone, as "Europe/Berlin"; nothing where the browser does not tell.
pub fn zone() -> Option<String> {
    let format = Intl::DateTimeFormat::new(&Array::new(), &Object::new());
    Reflect::get(&format.resolved_options(), &"timeZone".into()).ok()?.as_string()
}

/// Minutes that local time is ahead of UTC at a time given in UTC ms.
pub fn offset_minutes(wall_ms: Wall) -> i32 {
    // The standard counts the other way round.
    -(Date::new(&JsValue::from_f64(wall_ms.0 as f64)).get_timezone_offset() as i32)
}

fn performance_now() -> f64 {
    window().performance().map_or(0.0, |performance| performance.now())
}

/// Whether the page can be seen.
pub fn visible() -> bool {
    window().document().is_none_or(|document| document.visibility_state() != VisibilityState::Hidden)
}

struct Watched {
    last: Cell<Now>,
    act: Box<dyn Fn(Now, Option<Gap>)>,
}

impl Watched {
    fn look(&self) {
        let now = now();
        (self.act)(now, gap(self.last.replace(now), now));
    }
}

/// Looks at the clocks again and again; ends when dropped.
pub struct Watch {
    watched: Rc<Watched>,
    ticking: RefCell<Option<Interval>>,
    _listening: Vec<EventListener>,
}

impl std::fmt::Debug for Watch {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Watch").field("last", &self.watched.last).finish_non_exhaustive()
    }
}

/// Calls `act` whenever the page may have slept or come back, and every 250 ms while ticking. Between two calls anything
/// may have passed: nothing may count them. A process that was stopped tells nothing at all; only the late tick shows it.
pub fn watch(act: impl Fn(Now, Option<Gap>) + 'static) -> Watch {
    let watched = Rc::new(Watched { last: Cell::new(now()), act: Box::new(act) });
    let look = |watched: &Rc<Watched>| {
        let watched = watched.clone();
        move |_: &Event| watched.look()
    };
    let window = window();
    let mut listening: Vec<_> =
        ["pageshow", "focus"].iter().map(|event| EventListener::new(&window, *event, look(&watched))).collect();
    if let Some(document) = window.document() {
        listening.extend(
            ["visibilitychange", "resume"].iter().map(|event| EventListener::new(&document, *event, look(&watched))),
        );
    }
    Watch { watched, ticking: RefCell::default(), _listening: listening }
}

impl Watch {
    /// Ticks while something is timed, and rests otherwise.
    pub fn tick(&self, wanted: bool) {
        let mut ticking = self.ticking.borrow_mut();
        if wanted && ticking.is_none() {
            let watched = self.watched.clone();
            *ticking = Some(Interval::new(TICK_MS, move || watched.look()));
        } else if !wanted {
            *ticking = None;
        }
    }
}
