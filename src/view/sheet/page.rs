//! The page of a site's spreadsheet.

use super::load::{CHARSETS, SEPARATORS, Sheet};
use super::plan::{Fate, Line, Plan};
use super::{Ask, Format, Matched, Pick, Setup, heads, kinds, preview};
use crate::book::Id;
use crate::book::body::SheetColumns;
use crate::book::entry::Hash;
use crate::trade::detector_type::DetectorType;
use crate::trade::fields::Kind as Holds;
use crate::units::Degree;
use crate::view::forms::Known;
use crate::view::forms::columns::Column;
use crate::view::page::sign::{Look, Says, Shape, Tone};
use crate::view::page::{Action, Block, Button, Kind, Page, Paste, Request, Role, Row, Undo, Words};
use crate::view::route::Route;
use crate::view::words::{BACK, UNDO, plural};
use std::sync::Arc;

/// Title of the page, and words of the key that leads to it.
pub const TITLE: &str = "Spreadsheet";

/// The sheet of the page with what can be chosen.
pub const CHOICES: &str = "sheet-choices";

const SAVING: &str = "Saving";

/// How far a sheet has come.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Stage {
    /// Nothing is loaded.
    #[default]
    Start,
    /// A file was refused: its name, and why.
    Refused(String, String),
    /// Something is done that takes long: what, and how far of 100.
    Working(&'static str, usize),
    /// It is saved, which is carried through: how far of 100.
    Saving(usize),
    /// The sheet is read and shown.
    Ready(Arc<Ready>),
    /// It is taken in: the words, and the entry that undoes it.
    Done(String, Hash),
    /// The site was written out under this name.
    Saved(String),
}

/// A sheet that is read.
#[derive(Clone, Debug, PartialEq)]
pub struct Ready {
    /// The file's name; empty for cells that were pasted.
    pub name: String,
    /// How it was read.
    pub format: Format,
    /// Its rows.
    pub sheet: Arc<Sheet>,
    /// How they are understood.
    pub setup: Setup,
    /// What they would do.
    pub plan: Arc<Plan>,
    /// The revision of the sites by which that was found.
    pub revision: u64,
}

/// What a change by hand asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum Next {
    /// To read the file in this way.
    Load(Format),
    /// To understand its rows in this way.
    Plan(Setup),
}

impl Ready {
    /// What follows from a change by hand, by what the site's columns were last time; none where it is no change.
    pub fn changed(&self, ask: Ask, last: Option<&SheetColumns>) -> Option<Next> {
        let mut setup = self.setup.clone();
        match ask {
            Ask::Separator(separator) => return Some(Next::Load(Format { separator, ..self.format })),
            Ask::Charset(charset) => return Some(Next::Load(Format { charset, ..self.format })),
            Ask::Comma(comma) => setup.comma = comma,
            Ask::DayFirst(day_first) => setup.day_first = day_first,
            Ask::Head(head) => setup = heads::with_head(&self.sheet.rows, head, last),
            Ask::Match(at, field) => {
                // A field is taken from one column.
                for other in setup.columns.iter_mut().filter(|other| field.is_some() && other.field == field) {
                    other.field = None;
                }
                setup.columns.get_mut(at)?.field = field;
            }
            Ask::Unit(at, unit) => setup.columns.get_mut(at)?.unit = Some(unit),
            Ask::Type(at, kind) => {
                let (word, ..) = self.plan.types.get(at)?;
                setup.types.insert(word.clone(), kind);
            }
            Ask::Answer(line, question, answer) => {
                setup.answers.insert((line, question), answer);
            }
            Ask::AnswerAll(question, answer) => {
                let asked = |line: &&Line| matches!(&line.fate, Fate::Asked(of, _) if *of == question);
                let lines = self.plan.lines.iter().filter(asked).map(|line| ((line.line, question), answer));
                setup.answers.extend(lines);
            }
            Ask::Erase(erase) => setup.erase = erase,
            _ => return None,
        }
        Some(Next::Plan(setup))
    }
}

/// What is going on at the page.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct State {
    /// The site it is about; of another one nothing is going on.
    pub site: Option<Id>,
    /// How far it has come.
    pub stage: Stage,
    /// What is to be chosen on the sheet of the page.
    pub pick: Option<Pick>,
}

fn ask(ask: Ask) -> Action {
    Action::Do(Request::Sheet(ask))
}

/// The page of a site.
pub fn page(known: Known<'_>, site: Id, state: &State) -> Page {
    let of = known.register.sites.get(&site).and_then(|site| site.now());
    let here = state.site == Some(site);
    let blocks = match if here { &state.stage } else { &Stage::Start } {
        Stage::Start => start(known, site),
        Stage::Refused(name, why) => {
            let word = if name.is_empty() { "Not imported".to_string() } else { format!("Not imported: {name}") };
            let refused = Block::notice("sheet-refused", Says::Warning, word, format!("{why} Nothing was changed."));
            [refused].into_iter().chain(start(known, site)).collect()
        }
        Stage::Working(what, percent) => vec![
            Block::notice("sheet-working", Says::Info, *what, format!("{percent}%")),
            // Apart from the words, which change while a finger presses.
            Block::buttons(vec![Button::new("sheet-stop", "Cancel", ask(Ask::Stop)).wide()]),
        ],
        Stage::Saving(percent) => vec![Block::notice("sheet-saving", Says::Info, SAVING, format!("{percent}%"))],
        Stage::Ready(ready) => read(ready, state.pick),
        Stage::Done(words, entry) => {
            let undo = Action::Undo(*entry, "Spreadsheet".into()).then(ask(Ask::Again));
            let done = Undo { words: words.clone().into(), shape: Shape::Done, label: UNDO, action: undo };
            let keys = vec![
                Button::to("sheet-devices", "To the devices", Route::Register).look(Look::Primary).wide(),
                Button::new("sheet-again", "Another sheet", ask(Ask::Again)).wide(),
            ];
            vec![Block::new("sheet-done", Kind::Undo(done)), Block::buttons(keys)]
        }
        Stage::Saved(name) => {
            let saved = format!(
                "Saved as {name}. Cells that begin with = + - or @ have an apostrophe in front, so that no spreadsheet runs them."
            );
            let saved = Block::notice("sheet-saved", Says::Done, "Saved", saved);
            [saved].into_iter().chain(start(known, site)).collect()
        }
    };
    Page {
        name: "sheet",
        title: TITLE.into(),
        detail: of.map(|site| site.name.clone()).unwrap_or_default().into(),
        back: Some(Button::back(BACK, Route::Register)),
        long: true,
        blocks,
        ..Page::default()
    }
}

fn start(known: Known<'_>, site: Id) -> Vec<Block> {
    let help = "A CSV file: in the spreadsheet program choose Save as, then CSV. One row per position, up to 10,000 rows. \
         You see what it does before anything is imported.";
    let choose = Button::new("sheet-choose", "Choose a file", ask(Ask::Choose));
    let paste = Paste {
        id: "field-cells",
        label: "Pasted cells",
        help: "Copy the cells with their headers and paste them here.",
    };
    let mut blocks = vec![Block::section(
        "sheet-in",
        "Load",
        vec![
            Block::text("sheet-help", Role::Plain, help),
            Block::buttons(vec![choose.look(Look::Primary).icon(Shape::TakeIn).wide()]),
            Block::new("sheet-cells", Kind::Paste(paste)),
            Block::buttons(vec![Button::new("sheet-paste", "Read the pasted cells", ask(Ask::Paste)).wide()]),
        ],
    )];
    let any = known.register.positions.keys().any(|id| known.register.site_of(*id) == Some(site));
    if any {
        let words = "All positions of this site with every field. Changed in a spreadsheet and loaded again, only the changes count.";
        let save = Button::new("sheet-save", "Save as a spreadsheet", ask(Ask::Export)).icon(Shape::Share).wide();
        blocks.push(Block::section(
            "sheet-out",
            "Save",
            vec![Block::text("sheet-out-help", Role::Plain, words), Block::buttons(vec![save])],
        ));
    }
    blocks
}

fn read(ready: &Ready, pick: Option<Pick>) -> Vec<Block> {
    let Ready { sheet, setup, plan, .. } = ready;
    let mut blocks = vec![Block::section("sheet-read", "How it was read", how(ready))];
    blocks.push(Block::section("sheet-columns", "Columns", columns(setup)));
    if !plan.types.is_empty() {
        blocks.push(Block::section("sheet-types", "Type words", types(plan)));
    }
    let mut inside = asked(setup, plan);
    inside.extend(preview::blocks(plan));
    let label = if setup.erase { "Blank cells erase what's on file" } else { "Blank cells leave what's on file" };
    let erase = Button::new("sheet-erase", "Blank cells erase", ask(Ask::Erase(!setup.erase)));
    inside.push(Block::text("sheet-erase-words", Role::Soft, format!("{label}. Rows that aren't in the sheet stay.")));
    inside.push(Block::buttons(vec![Button { on: Some(setup.erase), ..erase }]));
    blocks.push(Block::section("sheet-preview", "What it does", inside));
    blocks.push(Block::buttons(take(plan)));
    blocks.extend(pick.map(|pick| choices(pick, ready, sheet)));
    blocks
}

/// The key that takes it in.
fn take(plan: &Plan) -> Vec<Button> {
    let (count, out) = (plan.count(), plan.left_out());
    let label = match (count, out) {
        (0, _) => "Nothing to import".to_string(),
        (_, 0) => format!("Import {}", plural(count, "row", "rows")),
        _ => format!("Import {} without these {out}", plural(count, "row", "rows")),
    };
    let off = count == 0 || !plan.no_unit.is_empty() || !plan.has_tag;
    vec![
        Button::new("sheet-import", label, ask(Ask::Import)).look(Look::Primary).icon(Shape::TakeIn).wide().off(off),
        Button::new("sheet-cancel", "Cancel", ask(Ask::Again)).wide(),
    ]
}

/// What has to be answered first, and what looks wrong.
fn asked(setup: &Setup, plan: &Plan) -> Vec<Block> {
    let mut blocks = Vec::new();
    if !plan.has_tag {
        let words = "No column is the tag. Choose above which one it is.";
        blocks.push(Block::notice("sheet-no-tag", Says::Warning, "Tag", words));
    }
    let header = |at: usize| setup.columns.get(at).map_or("", |column| column.header.as_str());
    for at in &plan.no_unit {
        let key = |key: &'static str, unit: Degree| Button::new(key, unit.symbol(), ask(Ask::Unit(*at, unit)));
        let words = format!("{}: these temperatures have no unit. Which one is it?", header(*at));
        let unit = Block::notice("sheet-unit", Says::Warning, "Unit", words);
        blocks.push(unit.with(vec![key("sheet-unit-F", Degree::F), key("sheet-unit-C", Degree::C)]));
    }
    for (at, count) in &plan.rather_celsius {
        let ratings = plural(*count, "rating", "ratings");
        let words = format!("{}: {ratings} from 57 to 110 °F. That looks like °C.", header(*at));
        let celsius = Button::new("sheet-rather-C", "They are °C", ask(Ask::Unit(*at, Degree::C)));
        blocks.push(Block::notice("sheet-rather", Says::Warning, "Unit", words).with(vec![celsius]));
    }
    blocks
}

/// The unit of numbers that have none of their own.
fn without_unit(unit: Degree) -> &'static str {
    match unit {
        Degree::F => "Numbers without a unit are °F",
        Degree::C => "Numbers without a unit are °C",
    }
}

/// Opens the sheet with what can be chosen.
fn open(pick: Pick) -> Action {
    ask(Ask::Pick(pick)).then(Action::Open(CHOICES.into()))
}

fn how(ready: &Ready) -> Vec<Block> {
    let Ready { name, format, sheet, setup, .. } = ready;
    let row = |key: &'static str, title: &'static str, value: String, pick: Pick| {
        Row::new(key, title, value).sign(Shape::Adjust).action(open(pick))
    };
    let charset = CHARSETS.iter().find(|(of, _)| *of == format.charset).map_or("", |(_, words)| words);
    let separator = SEPARATORS.iter().find(|(of, _)| *of == format.separator).map_or("", |(_, words)| words);
    let mut rows = vec![row("sheet-separator", "Separator", separator.to_string(), Pick::Separator)];
    if !name.is_empty() {
        rows.push(row("sheet-charset", "Encoding", charset.to_string(), Pick::Charset));
    }
    if setup.has(heads::is_number) {
        rows.push(row("sheet-decimal", "Decimal sign", decimal(setup.comma).to_string(), Pick::Decimal));
    }
    if setup.has(|kind| kind == Holds::Day) {
        rows.push(row("sheet-dates", "Dates", dates(setup.day_first).to_string(), Pick::Dates));
    }
    let head = setup.head.and_then(|head| sheet.rows.get(head));
    let head = head.map_or_else(|| "None".to_string(), |row| format!("Line {}", row.line));
    rows.push(row("sheet-head", "Headers", head, Pick::Head));
    let count = super::plan::rows_below(&sheet.rows, setup).len();
    let name = if name.is_empty() { "Pasted cells" } else { name };
    let mut blocks = vec![Block::text("sheet-file", Role::Plain, format!("{name}: {}.", plural(count, "row", "rows")))];
    if sheet.cleaned > 0 {
        let cells = plural(sheet.cleaned, "cell", "cells");
        blocks.push(Block::text(
            "sheet-cleaned",
            Role::Soft,
            format!("Invisible characters were removed from {cells}."),
        ));
    }
    blocks.push(Block::rows("How it was read", rows));
    blocks
}

fn decimal(comma: bool) -> &'static str {
    if comma { "Comma, 57,2" } else { "Point, 57.2" }
}

fn dates(day_first: bool) -> &'static str {
    if day_first { "Day first, 17/05/2022" } else { "Month first, 05/17/2022" }
}

fn columns(setup: &Setup) -> Vec<Block> {
    let fields = heads::fields();
    let row = |(at, of): (usize, &Matched)| {
        let row = Row::new("sheet-column", of.header.clone(), of.sample.join(" · ")).action(open(Pick::Column(at)));
        let field = of.field.and_then(|field| fields.get(field));
        match field {
            Some(field) => {
                let temperature = matches!(field.kind(), Holds::Temperature(..) | Holds::Difference(..));
                let unit = of.unit.filter(|_| temperature).map_or(String::new(), |unit| format!(", {}", unit.symbol()));
                row.badge(Shape::Done, Tone::Good, format!("{}{unit}", field.header()))
            }
            None => row.badge(Shape::Minus, Tone::Plain, LEFT_OUT),
        }
    };
    vec![
        Block::text("sheet-columns-help", Role::Soft, "Tap a column to change what it is."),
        Block::rows("Columns", setup.columns.iter().enumerate().map(row).collect()),
    ]
}

/// What a column is that no field is taken from.
const LEFT_OUT: &str = "Left out";

fn types(plan: &Plan) -> Vec<Block> {
    let unknown = plan.types.iter().any(|(_, kind, _)| *kind == DetectorType::Unknown);
    let row = |(at, (word, kind, count)): (usize, &(String, DetectorType, usize))| {
        let row = Row::new("sheet-type", word.clone(), plural(*count, "row", "rows")).action(open(Pick::Type(at)));
        match kind {
            DetectorType::Unknown => row.badge(Shape::Warning, Tone::Warn, "Type not known"),
            kind => row.badge(Shape::Done, Tone::Good, kind.words()),
        }
    };
    let mut blocks = vec![Block::rows("Type words", plan.types.iter().enumerate().map(row).collect())];
    if unknown {
        let words = "Tap a word to say what it is. Without a type there is no heat.";
        blocks.push(Block::text("sheet-types-help", Role::Soft, words));
    }
    let table = kinds::WORDS.iter().map(|(word, kind)| Row::new("sheet-word", *word, kind.words())).collect();
    blocks.push(Block::fold(
        "sheet-words",
        "Type words the app knows",
        vec![Block::rows("Type words the app knows", table)],
    ));
    blocks
}

/// What can be chosen for one thing.
fn choices(pick: Pick, ready: &Ready, sheet: &Sheet) -> Block {
    let Ready { setup, format, plan, .. } = ready;
    let row = |key: String, label: Words, detail: Words, on: bool, what: Ask| {
        let row = Row::new(key, label, detail).action(Action::Close.then(ask(what)));
        if on { row.badge(Shape::Done, Tone::Good, "Now") } else { row }
    };
    let plain = |key: String, label: &'static str, on: bool, what: Ask| row(key, label.into(), "".into(), on, what);
    let (title, rows): (Words, Vec<Row>) = match pick {
        Pick::Separator => {
            let each = SEPARATORS
                .iter()
                .map(|(of, words)| plain(format!("pick-{of}"), words, *of == format.separator, Ask::Separator(*of)));
            ("Separator".into(), each.collect())
        }
        Pick::Charset => {
            let each = CHARSETS
                .iter()
                .enumerate()
                .map(|(at, (of, words))| plain(format!("pick-{at}"), words, *of == format.charset, Ask::Charset(*of)));
            ("Encoding".into(), each.collect())
        }
        Pick::Decimal => {
            let each = [false, true]
                .map(|comma| plain(format!("pick-{comma}"), decimal(comma), comma == setup.comma, Ask::Comma(comma)));
            ("Decimal sign".into(), each.to_vec())
        }
        Pick::Dates => {
            let each = [false, true].map(|first| {
                plain(format!("pick-{first}"), dates(first), first == setup.day_first, Ask::DayFirst(first))
            });
            ("Dates".into(), each.to_vec())
        }
        Pick::Head => {
            let each = sheet.rows.iter().take(8).enumerate().map(|(at, of)| {
                let cells =
                    of.fields.iter().take(4).map(|cell| super::plan::short(cell)).collect::<Vec<_>>().join(" · ");
                let label = format!("Line {}", of.line);
                row(format!("pick-{at}"), label.into(), cells.into(), setup.head == Some(at), Ask::Head(Some(at)))
            });
            let none = plain("pick-none".into(), "No headers", setup.head.is_none(), Ask::Head(None));
            ("Headers".into(), std::iter::once(none).chain(each).collect())
        }
        Pick::Column(at) => {
            let now = setup.columns.get(at).and_then(|column| column.field);
            let each = heads::fields().into_iter().enumerate().map(|(field, column)| {
                let what = Ask::Match(at, Some(field));
                plain(format!("pick-{}", column.key()), column.header(), now == Some(field), what)
            });
            let none = plain("pick-none".into(), LEFT_OUT, now.is_none(), Ask::Match(at, None));
            let (of, fields) = (setup.columns.get(at), heads::fields());
            // A unit that was given before, perhaps for another contractor's sheet, can be given anew.
            let kind = now.and_then(|field| fields.get(field)).map(Column::kind);
            let units = [Degree::F, Degree::C]
                .into_iter()
                .filter(|_| matches!(kind, Some(Holds::Temperature(..) | Holds::Difference(..))))
                .map(|unit| {
                    let on = of.and_then(|column| column.unit) == Some(unit);
                    plain(
                        format!("pick-unit-{}", crate::encoding::stored::name(&unit)),
                        without_unit(unit),
                        on,
                        Ask::Unit(at, unit),
                    )
                });
            let title = of.map(|column| column.header.clone()).unwrap_or_default();
            (title.into(), units.chain(std::iter::once(none)).chain(each).collect())
        }
        Pick::Type(at) => {
            let of = plan.types.get(at);
            let each = DetectorType::ALL.iter().map(|kind| {
                let on = of.is_some_and(|(_, now, _)| now == kind);
                plain(format!("pick-{}", crate::encoding::stored::name(kind)), kind.words(), on, Ask::Type(at, *kind))
            });
            (of.map(|(word, ..)| word.clone()).unwrap_or_default().into(), each.collect())
        }
    };
    Block::sheet(CHOICES, title, vec![Block::rows("Choices", rows)])
}
