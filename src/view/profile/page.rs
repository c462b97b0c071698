//! The heater profiles of a heater as a page: state in words, plot, parameters, profile runs.

use super::{HeaterProfiles, ModeProfile, ProfileRunLine, Standing};
use crate::book::Id;
use crate::book::command::Command;
use crate::view::page::drawing::Drawing;
use crate::view::page::sign::{Look, Says, Shape, Tone};
use crate::view::page::svg::SIGNS;
use crate::view::page::{Action, Block, Button, Empty, Kind, Page, Role, Row};
use crate::view::route::{Form, Route};
use crate::view::words;

/// The page of a heater that is not known.
pub fn unknown() -> Page {
    let (title, words) = (words::NO_PROFILE_WORD.into(), words::CHOOSE_HEATER.into());
    let empty = Empty { shape: Shape::Test, title, words, buttons: Vec::new() };
    Page { name: "profile", blocks: vec![Block::new("unknown", Kind::Empty(empty))], ..Page::default() }
}

impl HeaterProfiles {
    /// The page.
    pub fn page(self, heater: Id) -> Page {
        let HeaterProfiles { name, modes, goes_on } = self;
        // Profile runs are numbered over all modes, so that each has a sheet of its own.
        let mut number = 0;
        let mut blocks: Vec<Block> = modes.into_iter().flat_map(|mode| one_mode(mode, &mut number)).collect();
        blocks.extend(take(heater, goes_on));
        Page {
            name: "profile",
            title: words::HEATER_PROFILE.into(),
            detail: name.into(),
            back: Some(Button::back(words::BACK, Route::Form(Form::Heater(Some(heater))))),
            blocks,
            ..Page::default()
        }
    }

    /// What the form of the heater says of them.
    pub fn in_form(self, heater: Id) -> Block {
        let HeaterProfiles { modes, goes_on, .. } = self;
        let to = Route::Profile(heater);
        let rows = |mode: ModeProfile| {
            let title = mode.title();
            let head = Row::new("to-profile", title, mode.words.join(" ")).sign(Shape::Findings).to(to);
            [head].into_iter().chain(mode.profile_runs.into_iter().map(move |run| row(&run, Action::Go(to))))
        };
        let rows = modes.into_iter().flat_map(rows).collect();
        let blocks = [Block::rows(words::HEATER_PROFILE, rows)].into_iter().chain(take(heater, goes_on)).collect();
        Block::section("heater-profile", words::HEATER_PROFILE, blocks)
    }
}

impl ModeProfile {
    fn title(&self) -> String {
        self.mode.as_ref().map_or_else(|| self.short.clone(), |mode| format!("{mode}: {}", self.short))
    }
}

fn take(heater: Id, goes_on: bool) -> Vec<Block> {
    let label = if goes_on { words::TO_PROFILE_RUN } else { words::TAKE_PROFILE_RUN };
    let key = Button::to("take-profile-run", label, Route::ProfileRun(heater));
    let (word, sentence) = (words::PROFILE_RUN_GOES_ON, words::PROFILE_RUN_GOES_ON_WORDS);
    let notice = goes_on.then(|| Block::notice("goes-on", Says::Info, word, sentence));
    notice.into_iter().chain([Block::buttons(vec![key.look(Look::Primary).icon(Shape::Test).wide()])]).collect()
}

fn one_mode(of: ModeProfile, number: &mut usize) -> Vec<Block> {
    let title = of.title();
    let ModeProfile { words: said, figures, plot, profile_runs, .. } = of;
    let plot = plot.map(|plot| Block::new("plot", Kind::Drawing(Box::new(Drawing::Curve(plot)))));
    let said =
        said.into_iter().zip(1..).map(|(words, n)| Block::text(format!("profile-words-{n}"), Role::Plain, words));
    let own = plot.into_iter().chain(said).collect();
    let mut blocks = vec![Block::section(title.clone(), title, own)];
    if !figures.is_empty() {
        let figure =
            |of: crate::view::findings::figure::Shown| Block::figure(format!("figure-{}", words::slug(&of.label)), of);
        blocks.push(Block::section("parameters", words::PARAMETERS, figures.into_iter().map(figure).collect()));
    }
    let mut sheets = Vec::new();
    let mut rows = Vec::new();
    for run in profile_runs {
        *number += 1;
        let key = format!("profile-run-{number}");
        rows.push(row(&run, Action::Open(key.clone().into())));
        sheets.push(details(key, run));
    }
    let listed = if rows.is_empty() {
        Block::text("no-profile-runs", Role::Soft, words::NO_PROFILE_RUNS)
    } else {
        Block::rows(words::PROFILE_RUNS, rows)
    };
    blocks.push(Block::section("profile-runs", words::PROFILE_RUNS, [listed].into_iter().chain(sheets).collect()));
    blocks
}

fn row(run: &ProfileRunLine, action: Action) -> Row {
    let (shape, tone) = match run.standing {
        Standing::Used => (Shape::Done, Tone::Good),
        Standing::Refused => (Shape::Open, Tone::Warn),
        Standing::Older => (Shape::Time, Tone::Plain),
        Standing::NotUsable => (Shape::Fail, Tone::Bad),
        Standing::GoesOn => (Shape::Wait, Tone::Note),
    };
    let at = run.sign.map_or("", |sign| SIGNS[sign % SIGNS.len()]);
    let row = Row::new("profile-run-line", run.title.clone(), run.detail.clone()).action(action);
    Row { at: at.into(), ..row.badge(shape, tone, run.standing.words()) }
}

/// One profile run: readings, notes on its time, and what can still be said of it.
fn details(key: String, run: ProfileRunLine) -> Block {
    let ProfileRunLine { id, title, detail, standing, readings, notes, ended, .. } = run;
    let mut blocks = vec![Block::text("detail", Role::Plain, detail)];
    blocks.extend(notes.into_iter().map(|note| Block::text("note", Role::Soft, note)));
    blocks.push(Block::text("readings", Role::Heading, words::READINGS));
    let readings = readings.into_iter().map(|(at, value)| (at.into(), value.into()));
    blocks.push(Block::new("reading", Kind::Facts(readings.collect())));
    blocks.extend(ended.map(|target| {
        let undo = || Action::give(Command::Undo { target });
        let used = matches!(standing, Standing::Used | Standing::Refused | Standing::Older);
        let not_usable = undo().then(Action::give(Command::EndProfileRun { run: id, usable: false }));
        let not = used.then(|| {
            Button::new("not-after-all", words::NOT_AFTER_ALL, not_usable.then(Action::Close)).look(Look::Danger)
        });
        let undo = Button::new("undo-end", words::UNDO_END, undo().then(Action::Close));
        Block::buttons(not.into_iter().chain([undo]).collect())
    }));
    Block::sheet(key, title, blocks)
}
