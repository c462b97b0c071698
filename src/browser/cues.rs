//! Sound, vibration and speech. Which of them belongs to what is data from outside.
//!
//! A sound is laid ahead on the audio clock, which keeps time where timers do not. That clock stands still while the audio is
//! suspended, so what was laid is remembered by the session's clock and laid again when the audio runs.

use std::cell::{Cell, RefCell};
use std::rc::{Rc, Weak};

use gloo_events::EventListener;
use js_sys::{Array, Reflect};
use wasm_bindgen::JsValue;
use web_sys::{AudioContext, GainNode, OscillatorNode, SpeechSynthesisUtterance};

use super::clock;
use super::js::{ignore, member, window, words};
use crate::units::Mono;

/// Each note swells and fades this long, s, so that it does not click. Common practice, no published source.
const FADE_S: f64 = 0.01;

/// One tone of a pattern.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Note {
    /// Pitch, Hz.
    pub hz: f32,
    /// After the pattern's beginning, ms.
    pub start_ms: u32,
    /// Length, ms.
    pub length_ms: u32,
    /// Loudness, 0 to 1.
    pub gain: f32,
}

/// A pattern to be heard at a time.
#[derive(Debug, Clone, PartialEq)]
pub struct Cue {
    /// The caller's name for it.
    pub id: u32,
    /// When, ms on the session's clock ([`clock::Now::mono_ms`]).
    pub at_mono_ms: Mono,
    /// Its notes.
    pub notes: Vec<Note>,
}

/// Whether a sound can be heard.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Sound {
    /// Yes.
    Running,
    /// Not before the next tap, which must call [`Cues::wake`].
    NeedsTap,
    /// Something else took the speaker (a call, the lock screen); the next tap brings it back.
    Interrupted,
    /// This browser has none; its words.
    Absent(String),
}

/// A way to be noticed that can be muted by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Channel {
    /// Web Audio.
    Sound,
    /// Vibration, where the phone has it.
    Vibration,
    /// Speech, where the browser has a voice.
    Speech,
}

struct Audio {
    context: AudioContext,
    master: GainNode,
    _listening: EventListener,
}

struct Inner {
    audio: RefCell<Option<Audio>>,
    absent: RefCell<Option<String>>,
    laid: RefCell<Vec<Cue>>,
    nodes: RefCell<Vec<OscillatorNode>>,
    muted: [Cell<bool>; 3],
    changed: Box<dyn Fn(Sound)>,
}

/// The cues. Dropping it silences everything.
#[derive(Clone)]
pub struct Cues(Rc<Inner>);

impl std::fmt::Debug for Cues {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Cues({:?}, {} laid)", self.state(), self.0.laid.borrow().len())
    }
}

impl Cues {
    /// No sound yet: browsers allow it only after a tap. `changed` hears each change of state.
    pub fn new(changed: impl Fn(Sound) + 'static) -> Cues {
        Cues(Rc::new(Inner {
            audio: RefCell::default(),
            absent: RefCell::default(),
            laid: RefCell::default(),
            nodes: RefCell::default(),
            muted: Default::default(),
            changed: Box::new(changed),
        }))
    }

    /// To be called in every tap: makes or resumes the audio, at no cost when it runs.
    pub fn wake(&self) {
        let mut audio = self.0.audio.borrow_mut();
        if audio.is_none() {
            match Audio::new(&Rc::downgrade(&self.0)) {
                Ok(made) => *audio = Some(made),
                Err(error) => *self.0.absent.borrow_mut() = Some(words(&error)),
            }
        }
        if let Some(audio) = audio.as_ref() {
            audio.master.gain().set_value(if self.is_muted(Channel::Sound) { 0.0 } else { 1.0 });
            if state_of(&audio.context) != Sound::Running {
                // What comes of it is told by the state.
                ignore(audio.context.resume());
            }
        }
        drop(audio);
        if self.0.absent.borrow().is_some() {
            (self.0.changed)(self.state());
        }
    }

    /// Whether a sound can be heard now.
    pub fn state(&self) -> Sound {
        if let Some(why) = self.0.absent.borrow().clone() {
            return Sound::Absent(why);
        }
        self.0.audio.borrow().as_ref().map_or(Sound::NeedsTap, |audio| state_of(&audio.context))
    }

    /// Replaces all sounds laid ahead by these. Those whose time is past are not played.
    pub fn lay(&self, cues: Vec<Cue>) {
        *self.0.laid.borrow_mut() = cues;
        self.0.relay();
    }

    /// Plays a pattern now and leaves what is laid ahead.
    pub fn play(&self, notes: &[Note]) {
        if let Some(audio) = self.0.audio.borrow().as_ref() {
            let played = audio.schedule(0.0, notes);
            self.0.nodes.borrow_mut().extend(played);
        }
    }

    /// The cues laid ahead and not yet due.
    pub fn laid(&self) -> Vec<u32> {
        let now = clock::now().mono_ms;
        self.0.laid.borrow().iter().filter(|cue| cue.at_mono_ms >= now).map(|cue| cue.id).collect()
    }

    /// Vibrates: on, off, on …, ms each. Says whether the phone did.
    pub fn vibrate(&self, pattern: &[u32]) -> bool {
        let navigator = window().navigator();
        if self.is_muted(Channel::Vibration) || member(&navigator, "vibrate").is_none() {
            return false;
        }
        let pattern: Array = pattern.iter().map(|ms| JsValue::from(*ms)).collect();
        navigator.vibrate_with_pattern(&pattern)
    }

    /// Speaks, in place of what is being said. Says whether the browser can; a voice may be missing all the same.
    pub fn speak(&self, text: &str, language: &str) -> bool {
        let Ok(speech) = window().speech_synthesis() else { return false };
        if self.is_muted(Channel::Speech) || member(&window(), "speechSynthesis").is_none() {
            return false;
        }
        let Ok(utterance) = SpeechSynthesisUtterance::new_with_text(text) else { return false };
        utterance.set_lang(language);
        speech.cancel();
        speech.speak(&utterance);
        true
    }

    /// Mutes or unmutes a channel; sounds laid ahead follow at once.
    pub fn mute(&self, channel: Channel, muted: bool) {
        self.0.muted[channel as usize].set(muted);
        if let (Channel::Sound, Some(audio)) = (channel, self.0.audio.borrow().as_ref()) {
            audio.master.gain().set_value(if muted { 0.0 } else { 1.0 });
        }
    }

    /// Whether a channel is muted.
    pub fn is_muted(&self, channel: Channel) -> bool {
        self.0.muted[channel as usize].get()
    }
}

impl Inner {
    fn relay(&self) {
        self.silence();
        let audio = self.audio.borrow();
        let Some(audio) = audio.as_ref().filter(|audio| state_of(&audio.context) == Sound::Running) else { return };
        let now = clock::now().mono_ms;
        let mut nodes = self.nodes.borrow_mut();
        for cue in self.laid.borrow().iter().filter(|cue| cue.at_mono_ms >= now) {
            nodes.extend(audio.schedule((cue.at_mono_ms - now) as f64 / 1000.0, &cue.notes));
        }
    }

    fn silence(&self) {
        for node in self.nodes.take() {
            // One that never began refuses to stop; cut off, it is silent either way.
            drop(node.stop());
            drop(node.disconnect());
        }
    }
}

impl Drop for Inner {
    fn drop(&mut self) {
        self.silence();
        if let Some(audio) = self.audio.take() {
            ignore(audio.context.close());
        }
    }
}

impl Audio {
    fn new(inner: &Weak<Inner>) -> Result<Audio, JsValue> {
        // Without this an iPhone's silent switch silences the cues (W3C Audio Session).
        if let Some(session) = member(&window().navigator(), "audioSession") {
            drop(Reflect::set(&session, &"type".into(), &"playback".into()));
        }
        let context = AudioContext::new()?;
        let master = context.create_gain()?;
        master.connect_with_audio_node(&context.destination())?;
        let inner = inner.clone();
        let listening = EventListener::new(&context, "statechange", move |_| {
            let Some(inner) = inner.upgrade() else { return };
            inner.relay();
            (inner.changed)(Cues(inner.clone()).state());
        });
        Ok(Audio { context, master, _listening: listening })
    }

    /// Schedules a pattern, in seconds from now; a note that cannot be made is left out.
    fn schedule(&self, in_s: f64, notes: &[Note]) -> Vec<OscillatorNode> {
        let begin = self.context.current_time() + in_s;
        let note = |note: &Note| -> Result<OscillatorNode, JsValue> {
            let (start, length) = (begin + f64::from(note.start_ms) / 1000.0, f64::from(note.length_ms) / 1000.0);
            let (tone, envelope) = (self.context.create_oscillator()?, self.context.create_gain()?);
            tone.frequency().set_value(note.hz);
            let gain = envelope.gain();
            gain.set_value_at_time(0.0, start)?;
            gain.linear_ramp_to_value_at_time(note.gain, start + FADE_S)?;
            gain.set_value_at_time(note.gain, start + length)?;
            gain.linear_ramp_to_value_at_time(0.0, start + length + FADE_S)?;
            tone.connect_with_audio_node(&envelope)?.connect_with_audio_node(&self.master)?;
            tone.start_with_when(start)?;
            tone.stop_with_when(start + length + FADE_S)?;
            Ok(tone)
        };
        notes.iter().filter_map(|one| note(one).ok()).collect()
    }
}

// As text, because "interrupted" is newer than the list of states that web-sys knows.
fn state_of(context: &AudioContext) -> Sound {
    match member(context, "state").and_then(|state| state.as_string()).as_deref() {
        Some("running") => Sound::Running,
        Some("interrupted") => Sound::Interrupted,
        _ => Sound::NeedsTap,
    }
}
