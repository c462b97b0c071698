//! What the sheet would do, as blocks: counts, questions, every row that cannot be taken, every change, what is new and what is gone.

use super::plan::{Change, Fate, Line, Plan};
use super::{Ask, Question};
use crate::view::page::sign::{Says, Shape, Tone};
use crate::view::page::{Action, Block, Button, Later, Request, Role, Row, Words};
use crate::view::words::plural;
use std::sync::Arc;

/// Lines that are drawn in one piece.
const PIECE: usize = 40;

/// New positions that are listed: they are in the sheet in the same order.
const LISTED: usize = 100;

fn ask(ask: Ask) -> Action {
    Action::Do(Request::Sheet(ask))
}

/// What the sheet would do.
pub(super) fn blocks(plan: &Arc<Plan>) -> Vec<Block> {
    let count = |is: fn(&Fate) -> bool| plan.lines.iter().filter(|line| is(&line.fate)).count();
    let new = count(|fate| matches!(fate, Fate::New));
    let changed = count(|fate| matches!(fate, Fate::Changed(_)));
    let asked = count(|fate| matches!(fate, Fate::Asked(..)));
    let bad = count(|fate| matches!(fate, Fate::Bad(_)));
    let twice = count(|fate| matches!(fate, Fate::Twice(_)));
    let fact = |name: &'static str, count: usize| (Words::from(name), Words::from(count.to_string()));
    let facts = [
        ("New", new),
        ("Changed", changed),
        ("Same", count(|fate| matches!(fate, Fate::Same))),
        ("Not in the sheet", plan.gone.len()),
        ("Questions", asked),
        ("Can't be imported", bad + twice),
    ];
    let facts = facts.into_iter().filter(|(name, count)| *count > 0 || matches!(*name, "New" | "Changed"));
    let facts = facts.map(|(name, count)| fact(name, count)).collect();
    let mut blocks = vec![Block::new("counts", crate::view::page::Kind::Facts(facts))];
    blocks.extend(made("New areas", &plan.areas));
    blocks.extend(made("New circuits", &plan.circuits));
    if !plan.circuits.is_empty() {
        let words = "New circuits: panel shows the zone only. Change this under Devices.";
        blocks.push(Block::text("made-circuits", Role::Soft, words));
    }
    blocks.extend(questions(plan, Question::Same, "Same position?"));
    blocks.extend(questions(plan, Question::Correction, "Correction, or another detector?"));
    blocks.extend(list(plan, "sheet-bad", "Can't be imported", bad + twice, usize::MAX, |line| match &line.fate {
        Fate::Bad(faults) => {
            let fault = |of: &super::plan::Fault| match of.column.is_empty() {
                true => of.why.clone(),
                false => format!("{}: {}", of.column, of.why),
            };
            Some(row(line, faults.iter().map(fault).collect::<Vec<_>>().join(" · ")).sign(Shape::Fail))
        }
        Fate::Twice(why) => Some(row(line, why.clone()).sign(Shape::Clone)),
        _ => None,
    }));
    blocks.extend(list(plan, "sheet-changed", "Changed", changed, usize::MAX, |line| match &line.fate {
        Fate::Changed(changes) => Some(row(line, said(changes)).sign(Shape::Pen)),
        _ => None,
    }));
    blocks.extend(list(plan, "sheet-new", "New", new, LISTED, |line| {
        matches!(line.fate, Fate::New).then(|| row(line, String::new()).sign(Shape::Plus))
    }));
    if !plan.gone.is_empty() {
        let rows = plan.gone.iter().take(LISTED).map(|tag| Row::new("sheet-gone", tag.clone(), "")).collect();
        let words = "They stay as they are. If one is really gone, retire it under Devices.";
        let mut inside = vec![Block::text("gone-words", Role::Soft, words), Block::rows("Not in the sheet", rows)];
        inside.extend(rest(plan.gone.len()));
        blocks.push(Block::fold("gone", format!("Not in the sheet: {}", plan.gone.len()), inside));
    }
    blocks
}

fn row(line: &Line, detail: String) -> Row {
    let title = if line.name.is_empty() { String::new() } else { format!(" · {}", line.name) };
    Row::new("sheet-line", format!("Line {}{title}", line.line), detail)
}

fn said(changes: &[Change]) -> String {
    let blank = |text: &str| if text.is_empty() { "blank".to_string() } else { super::plan::short(text) };
    let change = |of: &Change| format!("{}: {} → {}", of.label, blank(&of.old), blank(&of.new));
    changes.iter().map(change).collect::<Vec<_>>().join(" · ")
}

fn made(words: &str, of: &[(crate::book::Id, String)]) -> Option<Block> {
    let mut names: Vec<&str> = of.iter().take(20).map(|(_, name)| name.as_str()).collect();
    names.extend((of.len() > names.len()).then_some("…"));
    (!of.is_empty()).then(|| Block::text("made", Role::Plain, format!("{words}: {}.", names.join(", "))))
}

fn rest(count: usize) -> Option<Block> {
    let more = count.checked_sub(LISTED).filter(|more| *more > 0)?;
    Some(Block::text("more", Role::Soft, format!("And {more} more.")))
}

/// A folded list, drawn piece by piece.
fn list(
    plan: &Arc<Plan>,
    key: &'static str,
    title: &'static str,
    count: usize,
    most: usize,
    shape: fn(&Line) -> Option<Row>,
) -> Option<Block> {
    let shown = count.min(most);
    let piece = |from: usize| {
        let plan = Arc::clone(plan);
        let later = Later::new(move || {
            let rows = plan.lines.iter().filter_map(shape).skip(from).take(PIECE.min(shown - from)).collect();
            vec![Block::rows(title, rows)]
        });
        Block::new(key, crate::view::page::Kind::Later(later))
    };
    let mut pieces: Vec<Block> = (0..shown).step_by(PIECE).map(piece).collect();
    pieces.extend(rest(count).filter(|_| most < count));
    (count > 0).then(|| Block::fold(key, format!("{title}: {count}"), pieces))
}

/// Questions about rows, each with its two answers, and the same answer for all.
fn questions(plan: &Plan, question: Question, title: &'static str) -> Option<Block> {
    let (yes, no) = match question {
        Question::Same => ("Same position", "Another position"),
        Question::Correction => ("Correction", "Other detector"),
    };
    let rows: Vec<Row> = plan
        .lines
        .iter()
        .filter_map(|line| match &line.fate {
            Fate::Asked(of, asked) if *of == question => {
                let answer = |key: &'static str, label: &'static str, answer: bool| {
                    Button::new(key, label, ask(Ask::Answer(line.line, question, answer)))
                };
                let buttons = vec![answer("sheet-yes", yes, true), answer("sheet-no", no, false)];
                Some(Row { buttons, ..row(line, asked.clone()).badge(Shape::Half, Tone::Warn, "Question") })
            }
            _ => None,
        })
        .collect();
    let count = rows.len();
    let all = |key: &'static str, label: &str, answer: bool| {
        Button::new(key, format!("All: {label}"), ask(Ask::AnswerAll(question, answer)))
    };
    let words = match question {
        Question::Same => "Until you answer, these rows are left out.",
        Question::Correction => {
            "A correction changes what is on file. If a different detector is installed, nothing on file changes: \
             record the replacement on the position, so that its history is kept."
        }
    };
    let listed = rows.into_iter().take(LISTED).collect();
    let mut blocks = vec![
        Block::notice("sheet-asked", Says::Info, plural(count, "question", "questions"), words),
        Block::rows(title, listed),
    ];
    blocks.extend(rest(count));
    if count > 1 {
        blocks.push(Block::buttons(vec![all("sheet-all-yes", yes, true), all("sheet-all-no", no, false)]));
    }
    (count > 0).then(|| Block::section(title, title, blocks))
}
