//! Loads the invented demonstration.

use crate::browser::clock::Now;
use crate::ui::app::App;
use crate::view::demo::demo;
use crate::view::route::Route;

/// Puts the demonstration into the register, opens a visit on it and goes there. The first refusal ends it and is shown; what was given
/// before stays.
pub(in crate::ui) fn load_demo(app: App, now: Now) {
    let mut made = demo(|| app.new_id(), now.wall_ms);
    let open = made.commands.pop();
    // Without a database no profile run starts; the demonstration is then one without a heater profile.
    let profile_runs = made.profile_runs.into_iter().filter(|_| app.at(now).durable);
    let here = |command| (0, command);
    let mut all = made.commands.into_iter().map(here).chain(profile_runs).chain(open.map(here));
    let given = all.try_for_each(|(ago, command)| {
        app.act(Now { wall_ms: now.wall_ms - ago, mono_ms: now.mono_ms - ago, ..now }, command)
    });
    if given.is_ok() {
        app.prefer(|prefs| prefs.visit = Some(made.visit));
        app.go(Route::Visit);
    }
}
