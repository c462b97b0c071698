//! Settings: people, unit, theme, alerts, storage, cautions, about.

use super::cues::CueKind;
use super::page::sign::{Says, Shape, Tone};
use super::page::{Action, Block, Button, Choice, Kind, Page, Request, Role, Row, Setting};
use super::prefs::Prefs;
use super::route::Route;
use super::words::{BACK, PEOPLE};
use super::{check_file, computed, prefs};
use crate::trade::caution::{BEFORE_A_VISIT, DEFERS, IN_A_TEST};

/// Heading of the settings.
pub const TITLE: &str = "Settings";
/// Heading of units and theme.
pub const LOOK: &str = "Units and look";
/// Heading of the alerts.
pub const CUES: &str = "Alerts";
/// What the list of alerts is for.
pub const CUES_HELP: &str = "Tap one to hear and feel it as in a test. A locked phone can't alert you.";
/// Heading of the storage.
pub const STORAGE: &str = "Storage";
/// Key that asks for the promise.
pub const PERSIST: &str = "Allow storage";
/// Heading of the cautions.
pub const CAUTIONS: &str = "Cautions";
/// Heading of what the app is.
pub const ABOUT: &str = "About";
/// Question for the unit.
pub const UNIT: &str = "Temperatures in";
/// Question for the theme.
pub const THEME: &str = "Light or dark";
/// The words of a switch.
pub const ON_OFF: (&str, &str) = ("On", "Off");

/// The page; `persisted` is what the browser says of the data.
pub fn page(prefs: &Prefs, persisted: Option<bool>, version: &str) -> Page {
    Page {
        name: "settings",
        title: TITLE.into(),
        back: Some(Button::back(BACK, Route::Visit)),
        blocks: vec![
            Block::rows(PEOPLE, vec![Row::new("to-people", PEOPLE, "").sign(Shape::Pen).to(Route::People)]),
            Block::section(
                "look",
                LOOK,
                vec![
                    choice("unit", UNIT, Setting::Unit, &prefs::UNITS, prefs, true),
                    choice("theme", THEME, Setting::Theme, &prefs::THEMES, prefs, false),
                ],
            ),
            alerts(prefs),
            Block::section("storage", STORAGE, storage(persisted)),
            cautions(),
            Block::section(
                "about",
                ABOUT,
                vec![
                    Block::text("version", Role::Plain, self::version(version)),
                    computed::way_here(),
                    check_file::way_here(),
                ],
            ),
        ],
        ..Page::default()
    }
}

fn choice(
    id: &'static str,
    label: &'static str,
    setting: Setting,
    answers: &[(&'static str, &'static str)],
    prefs: &Prefs,
    across: bool,
) -> Block {
    let (answers, value) = (answers.to_vec(), prefs.get(setting));
    Block::new(id, Kind::Choice(Choice { id, label, setting, answers, value, across }))
}

fn alerts(prefs: &Prefs) -> Block {
    let channel = |(setting, label, key): (Setting, &'static str, &'static str)| {
        let on = prefs.get(setting) == prefs::ON;
        let turned = if on { prefs::OFF } else { prefs::ON };
        Button { on: Some(on), ..Button::new(key, label, Action::Set(setting, turned.into())) }
    };
    let channels = [
        (Setting::Sound, "Sound", "cue-sound"),
        (Setting::Vibration, "Vibration", "cue-vibration"),
        (Setting::Speech, "Speech", "cue-speech"),
    ];
    let cue = |kind: CueKind| {
        let row = Row::new(format!("try-{}", kind.name()), kind.words(), format!("“{}”", kind.sentence()));
        row.sign(Shape::Sound).action(Action::Do(Request::TryCue(kind)))
    };
    Block::section(
        "alerts",
        CUES,
        vec![
            Block::buttons(channels.map(channel).into()),
            Block::text("alerts-help", Role::Plain, CUES_HELP),
            Block::rows(CUES, CueKind::ALL.map(cue).into()),
        ],
    )
}

/// Whether the browser has promised to keep the data, and the key that asks for it.
pub fn storage(persisted: Option<bool>) -> Vec<Block> {
    let kept = persisted == Some(true);
    let (word, detail) = match persisted {
        Some(true) => ("Kept", "The browser won't delete the data on its own. Send it anyway: phones get lost."),
        Some(false) => ("Not promised", "Browser may delete this data. Add to home screen, allow storage, send often."),
        None => ("Not known", "This browser doesn't say. Add to home screen and send often."),
    };
    let (shape, tone) = if kept { (Shape::Lock, Tone::Good) } else { (Shape::Open, Tone::Warn) };
    let ask = Button::new("persist", PERSIST, Action::Do(Request::Persist)).icon(Shape::Lock).wide();
    let row = Row::new("persisted", STORAGE, detail).badge(shape, tone, word);
    [Block::rows(STORAGE, vec![row])].into_iter().chain((!kept).then(|| Block::buttons(vec![ask]))).collect()
}

fn cautions() -> Block {
    let caution = |caution: &crate::trade::caution::Caution| {
        Row::new("caution", caution.words, format!("Source: {}", caution.source)).sign(Shape::Warning)
    };
    Block::section(
        "cautions",
        CAUTIONS,
        vec![
            Block::notice("defers", Says::Info, CAUTIONS, DEFERS),
            Block::rows(CAUTIONS, BEFORE_A_VISIT.iter().chain(IN_A_TEST).map(caution).collect()),
        ],
    )
}

/// Which version this is.
pub fn version(version: &str) -> String {
    format!("Soakbook {version}, calculation version {}", crate::findings::METHOD)
}
