//! Loads the invented demonstration.

use crate::book::refusal::Refusal;
use crate::browser::clock::Now;
use crate::ui::app::App;
use crate::view::demo::demo;
use crate::view::place::Place;

/// Puts the demonstration into the register, opens a visit on it and goes there.
///
/// # Errors
/// When a rule says no; what was given before stays.
pub(in crate::ui) fn load_demo(app: App, now: Now) -> Result<(), Refusal> {
    let mut made = demo(|| app.new_id(), now.wall_ms);
    let open = made.commands.pop();
    made.commands.into_iter().try_for_each(|command| app.act(now, command))?;
    for (ago, command) in made.profile_runs {
        let then = Now { wall_ms: now.wall_ms - ago, mono_ms: now.mono_ms - ago, ..now };
        // Without a database no profile run starts; the demonstration is then one without a heater profile.
        drop(app.try_act(then, command, Vec::new()));
    }
    open.map_or(Ok(()), |open| app.act(now, open))?;
    app.prefer(|prefs| prefs.visit = Some(made.visit));
    app.go(Place::Visit);
    Ok(())
}
