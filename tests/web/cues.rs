//! Sounds are laid ahead, replaced, silenced. Without a tap a browser plays nothing, so the audio's state is played to it.

use std::cell::RefCell;
use std::rc::Rc;

use js_sys::Function;
use soakbook::browser::clock;
use soakbook::browser::cues::{Channel, Cue, Cues, Note, Sound};
use wasm_bindgen::prelude::*;
use wasm_bindgen_test::wasm_bindgen_test;

/// Gives the audio a state and writes down when each tone is to start, ms after the audio's now; undone by calling it.
fn pretend(state: &str) -> Function {
    let script = "((state) => {
        const base = BaseAudioContext.prototype, tone = OscillatorNode.prototype;
        const kept = Object.getOwnPropertyDescriptor(base, 'state');
        const start = AudioScheduledSourceNode.prototype.start, stop = AudioScheduledSourceNode.prototype.stop;
        const gain = base.createGain;
        window.tones = []; window.stopped = 0;
        base.createGain = function () { window.made = this; return gain.call(this); };
        Object.defineProperty(base, 'state', { configurable: true, get: () => state });
        tone.start = function (at) {
            window.tones.push(Math.round((at - this.context.currentTime) * 1000)); return start.call(this, at);
        };
        tone.stop = function (...a) { if (!a.length) window.stopped++; return stop.apply(this, a); };
        return () => { Object.defineProperty(base, 'state', kept); base.createGain = gain; delete tone.start; delete tone.stop; };
    })('STATE')";
    js_sys::eval(&script.replace("STATE", state)).unwrap().unchecked_into()
}

fn tones() -> Vec<f64> {
    let tones: js_sys::Array = js_sys::eval("window.tones").unwrap().unchecked_into();
    tones.iter().map(|tone| tone.as_f64().unwrap()).collect()
}

const NOTES: [Note; 2] = [
    Note { hz: 880.0, start_ms: 0, length_ms: 100, gain: 0.5 },
    Note { hz: 660.0, start_ms: 150, length_ms: 100, gain: 0.5 },
];

fn cue(id: u32, in_ms: i64) -> Cue {
    Cue { id, at_mono_ms: clock::now().mono_ms + in_ms, notes: NOTES.to_vec() }
}

fn near(tones: &[f64], expected: &[f64]) -> bool {
    tones.len() == expected.len() && tones.iter().zip(expected).all(|(tone, expected)| (tone - expected).abs() < 100.0)
}

#[wasm_bindgen_test]
fn sounds_are_laid_on_the_audio_clock_and_replaced() {
    let restore = pretend("running");
    let cues = Cues::new(|_| {});
    cues.wake();
    cues.lay(vec![cue(1, 2_000), cue(2, 60_000), cue(3, -100)]);
    assert_eq!(cues.laid(), [1, 2], "one whose time is past is not played");
    assert!(near(&tones(), &[2_000.0, 2_150.0, 60_000.0, 60_150.0]), "{:?}", tones());
    // An undone mark moves what follows: the old tones stop, the new ones start.
    cues.lay(vec![cue(2, 90_000)]);
    assert_eq!(js_sys::eval("window.stopped").unwrap(), 4);
    assert!(near(&tones()[4..], &[90_000.0, 90_150.0]), "{:?}", tones());
    cues.play(&NOTES[..1]);
    assert!(near(&tones()[6..], &[0.0]), "{:?}", tones());
    assert_eq!(cues.laid(), [2]);
    restore.call0(&JsValue::NULL).unwrap();
}

#[wasm_bindgen_test]
fn what_cannot_sound_yet_is_remembered_and_said() {
    for (state, expected) in [("suspended", Sound::NeedsTap), ("interrupted", Sound::Interrupted)] {
        let restore = pretend(state);
        let cues = Cues::new(|_| {});
        assert_eq!(cues.state(), Sound::NeedsTap, "before the first tap");
        cues.wake();
        cues.lay(vec![cue(7, 1_000)]);
        assert_eq!((cues.state(), cues.laid(), tones()), (expected, vec![7], vec![]));
        restore.call0(&JsValue::NULL).unwrap();
    }
}

#[wasm_bindgen_test]
fn sounds_laid_before_the_audio_ran_are_laid_when_it_does() {
    let heard = Rc::new(RefCell::new(Vec::new()));
    let keep = heard.clone();
    let cues = Cues::new(move |state| keep.borrow_mut().push(state));
    let before = pretend("suspended");
    cues.wake();
    cues.lay(vec![cue(1, 5_000)]);
    before.call0(&JsValue::NULL).unwrap();
    let restore = pretend("running");
    js_sys::eval("made.dispatchEvent(new Event('statechange'));").unwrap();
    assert_eq!(*heard.borrow(), [Sound::Running]);
    assert!(near(&tones(), &[5_000.0, 5_150.0]), "{:?}", tones());
    restore.call0(&JsValue::NULL).unwrap();
}

#[wasm_bindgen_test]
fn each_channel_is_muted_by_itself() {
    let stub = "window.buzzed = []; Object.defineProperty(navigator, 'vibrate', \
                { configurable: true, value: (pattern) => { buzzed.push(pattern.join()); return true; } })";
    js_sys::eval(stub).unwrap();
    let cues = Cues::new(|_| {});
    assert!(cues.vibrate(&[100, 50, 100]));
    cues.mute(Channel::Vibration, true);
    assert!(!cues.vibrate(&[200]));
    assert_eq!(js_sys::eval("buzzed.join(';')").unwrap(), "100,50,100");
    js_sys::eval("delete navigator.vibrate").unwrap();
    assert!(!cues.is_muted(Channel::Sound) && !cues.is_muted(Channel::Speech));
    cues.mute(Channel::Speech, true);
    assert!(!cues.speak("take the heater off", "en"));
}
