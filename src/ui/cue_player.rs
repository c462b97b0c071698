//! Turns the cues of `view` into sound, vibration and speech, and keeps the screen on while a test or a profile run goes on.

use super::app::App;
use crate::book::test::Test;
use crate::browser::clock::Now;
use crate::browser::cues::{Channel, Cue, Cues, Note, Sound};
use crate::browser::locks;
use crate::browser::wake::{self, Awake, KeepAwake};
use crate::ui::memo::memo;
use crate::units::TestTime;
use crate::view::cues::{self, CueAt, CueKind};
use leptos::prelude::*;
use leptos::task::spawn_local;
use std::time::Duration;

/// Handle to the cues, given by context.
#[derive(Clone, Copy, Debug)]
pub(super) struct Cueing {
    cues: StoredValue<Cues, LocalStorage>,
    /// Whether a sound can be heard.
    pub(super) sound: RwSignal<Sound>,
    /// Whether the screen is kept on; none while nothing asks for it.
    pub(super) awake: RwSignal<Option<Awake>>,
}

impl Cueing {
    /// Wakes the sound; browsers want this in a tap.
    pub(super) fn wake(self) {
        self.cues.with_value(Cues::wake);
    }

    /// Plays a cue now.
    pub(super) fn play(self, kind: CueKind, tag: &str) {
        self.cues.with_value(|cues| {
            cues.play(&notes(kind));
            feel(cues, kind, tag);
        });
    }
}

/// The cues of this app.
pub(super) fn use_cueing() -> Cueing {
    expect_context::<Cueing>()
}

fn notes(kind: CueKind) -> Vec<Note> {
    let note = |&(hz, start_ms, length_ms, gain): &cues::Tone| Note { hz, start_ms, length_ms, gain };
    kind.tones().iter().map(note).collect()
}

fn feel(cues: &Cues, kind: CueKind, tag: &str) {
    cues.vibrate(kind.vibration());
    cues.speak(&format!("{tag}: {}", kind.sentence()), "en");
}

/// Starts cueing. Cues are laid ahead on the audio clock whenever the tests change, so they sound in a hidden page too.
pub(super) fn start(app: App) {
    let sound = RwSignal::new(Sound::NeedsTap);
    let awake = RwSignal::new(None);
    let cues = StoredValue::new_local(Cues::new(move |state| sound.set(state)));
    provide_context(Cueing { cues, sound, awake });

    Effect::new(move |_| {
        let prefs = app.prefs.get();
        cues.with_value(|cues| {
            cues.mute(Channel::Sound, !prefs.sound);
            cues.mute(Channel::Vibration, !prefs.vibration);
            cues.mute(Channel::Speech, !prefs.speech);
        });
    });
    // Laid anew when a mark, an undo or a move changes the tests; what was laid before is taken back by `lay`.
    let laid: RwSignal<Vec<Laid>> = RwSignal::new(Vec::new());
    Effect::new(move |_| {
        let now = crate::browser::clock::now();
        let tests = app.visit.with(|visit| {
            let mine = |test: &&Test| test.kept_by(app.phone());
            visit
                .iter()
                .flat_map(crate::book::visit::Visit::active)
                .filter(mine)
                .map(|test| Laid::of(app, test, now))
                .collect::<Vec<_>>()
        });
        let mut id = 0;
        let mut all = Vec::new();
        for test in &tests {
            for cue in &test.cues {
                id += 1;
                all.push(Cue { id, at_mono_ms: now.mono_ms + (cue.at - test.at), notes: notes(cue.kind) });
            }
        }
        laid.set(tests);
        // Laying makes dozens of audio nodes. The mark that caused it is to be shown as recorded first.
        set_timeout(move || cues.try_with_value(|cues| cues.lay(all)).unwrap_or_default(), LAY_AFTER);
    });
    // Vibration and speech have no clock of their own: they follow the looks at the clocks.
    Effect::new(move |before: Option<Now>| {
        let now = app.now.get();
        let before = before.unwrap_or(now);
        let late = cues::paused(now.mono_ms - before.mono_ms, now.wall_ms - before.wall_ms);
        laid.with_untracked(|laid| {
            cues.with_value(|cues| laid.iter().for_each(|test| test.feel(app, cues, before, now, late)));
        });
        now
    });
    keep_awake(app, awake);
}

/// How long after a change of the tests their cues are laid: less than any cue is ahead, more than a write takes.
const LAY_AFTER: Duration = Duration::from_millis(150);

#[derive(Clone, Debug)]
struct Laid {
    test: Test,
    at: TestTime,
    cues: Vec<CueAt>,
}

impl Laid {
    fn of(app: App, test: &Test, now: Now) -> Laid {
        let at = app.test_time(test, now);
        Laid { test: test.clone(), at, cues: cues::upcoming(test, at) }
    }

    fn feel(&self, app: App, cues: &Cues, before: Now, now: Now, late: bool) {
        let (before, now) = (app.test_time(&self.test, before), app.test_time(&self.test, now));
        let Some(cue) = cues::crossed(&self.cues, before, now) else { return };
        if late {
            cues.play(&notes(cue.kind));
        }
        feel(cues, cue.kind, self.test.frozen.position.place.name());
    }
}

fn keep_awake(app: App, awake: RwSignal<Option<Awake>>) {
    let active = memo(move || app.active());
    let screen: StoredValue<Option<KeepAwake>, LocalStorage> = StoredValue::new_local(None);
    let lock: StoredValue<Option<locks::Lock>, LocalStorage> = StoredValue::new_local(None);
    Effect::new(move |_| {
        if active.get() {
            screen.set_value(Some(wake::keep_awake(move |state| awake.set(Some(state)))));
            spawn_local(async move {
                // Without locks an update could come in a test; the page then asks the worker, which finds no lock held.
                if let Ok(held) = locks::share_in(locks::TEST_ACTIVE).await
                    && active.get_untracked()
                {
                    lock.set_value(Some(held));
                }
            });
        } else {
            screen.set_value(None);
            lock.set_value(None);
            awake.set(None);
        }
    });
}
