//! The Results screen as a page: what to retest, what is wrong, the tests by area. Areas are shaped when their turn to be drawn comes.

use super::family::{FamilyView, MemberRow, NUMBERS};
use super::one::CAUTION;
use super::{
    AreaTests, FindingRow, FindingsScreen, ITEMS, NO_PUBLISHED_TOLERANCE, NOTHING, RETEST, RetestRow, TITLE, TO_VISIT,
    WORKING,
};
use crate::findings::VisitFindings;
use crate::units::Degree;
use crate::view::computed::way_here;
use crate::view::page::drawing::Drawing;
use crate::view::page::sign::{Look, Says, Shape};
use crate::view::page::{Action, Badge, Block, Button, Empty, Kind, Later, Page, Role, Row, Section};
use crate::view::route::Route;
use crate::view::visit::ItemRow;
use std::sync::Arc;

/// The page without anything on it.
fn bare(detail: String, blocks: Vec<Block>) -> Page {
    Page { name: "findings", title: TITLE.into(), detail: detail.into(), long: true, blocks, ..Page::default() }
}

/// Shown until every number is there.
pub fn working(name: &'static str) -> Page {
    let notice = Block::notice("findings-working", Says::Info, WORKING.0, WORKING.1);
    Page { name, title: TITLE.into(), blocks: vec![notice], ..Page::default() }
}

/// Shown while there is no visit, or no test in it.
pub fn nothing() -> Page {
    let to_visit = Button::to("to-visit", TO_VISIT, Route::Visit).look(Look::Primary);
    let (title, words) = (NOTHING.0.into(), NOTHING.1.into());
    let empty = Empty { shape: Shape::Findings, title, words, buttons: vec![to_visit] };
    bare(String::new(), vec![Block::new("nothing", Kind::Empty(empty))])
}

impl FindingsScreen {
    /// The page.
    pub fn page(self, found: &Arc<VisitFindings>, unit: Degree) -> Page {
        let FindingsScreen { detail, retest, items, areas } = self;
        if areas.is_empty() && items.is_empty() {
            return Page { detail: detail.into(), ..nothing() };
        }
        let mut blocks = Vec::new();
        if !retest.is_empty() {
            let (count, rows) = (retest.len(), retest.into_iter().map(retest_row).collect());
            blocks.push(Block::numbered("retest", RETEST, count, vec![Block::rows(RETEST, rows)]));
        }
        if !items.is_empty() {
            let open = items.iter().filter(|row| row.open).count();
            let rows = items.into_iter().map(ItemRow::line).collect();
            blocks.push(Block::numbered("items", ITEMS, open, vec![Block::rows(ITEMS, rows)]));
        }
        blocks.extend(areas.into_iter().map(|area| section(area, found, unit)));
        blocks.push(Block::text("findings-end", Role::Soft, NO_PUBLISHED_TOLERANCE));
        blocks.push(way_here());
        Page { menu: vec![Button::print()], ..bare(detail, blocks) }
    }
}

fn retest_row(row: RetestRow) -> Row {
    let RetestRow { position, tag, why } = row;
    Row::new(format!("retest-{tag}"), tag, why).sign(Shape::Again).to(Route::Before(position))
}

/// What is side by side, then its tests.
fn section(area: AreaTests, found: &Arc<VisitFindings>, unit: Degree) -> Block {
    let (title, end) = (area.name.clone(), area.flag.clone());
    let (label, found) = (title.clone(), Arc::clone(found));
    let later = Later::new(move || {
        let mut blocks: Vec<Block> = area.families(&found, unit).into_iter().flat_map(family).collect();
        let rows = area.rows(&found, unit, 0, usize::MAX);
        blocks.push(Block::rows(label.clone(), rows.into_iter().map(finding_row).collect()));
        blocks
    });
    let blocks = vec![Block::new("tests", Kind::Later(later))];
    let section = Section { title: title.clone().into(), end: end.into(), blocks, ..Section::default() };
    Block::new(title, Kind::Section(section))
}

/// A family side by side: the plot, its words, and every test in numbers for those who do not see or cannot tap it.
fn family(of: FamilyView) -> Vec<Block> {
    let FamilyView { title, words, unlike, plot, legend, remarks, rows } = of;
    let picks = rows.iter().map(|row| Action::Go(Route::Finding(row.test))).collect();
    let mut blocks = vec![
        Block::text("family", Role::Heading, title),
        Block::new("dots", Kind::Drawing(Box::new(Drawing::Dots(plot, picks)))),
        Block::text("legend", Role::Soft, legend),
    ];
    blocks.extend(words.into_iter().map(|words| Block::text("family-words", Role::Plain, words)));
    blocks.extend(unlike.into_iter().map(|words| Block::text("family-unlike", Role::Soft, words)));
    for (words, of) in remarks {
        blocks.push(Block::notice("family-remark", Says::Warning, CAUTION, words));
        blocks.push(Block::figure("family-remark-figure", of));
    }
    let member = |row: MemberRow| {
        let shape = if row.flagged { Shape::Again } else { Shape::Open };
        Row::new(format!("member-{}", row.tag), row.tag, row.detail).sign(shape).to(Route::Finding(row.test))
    };
    let rows = rows.into_iter().map(member).collect();
    blocks.push(Block::fold("family-numbers", NUMBERS, vec![Block::rows(NUMBERS, rows)]));
    blocks
}

fn finding_row(row: FindingRow) -> Row {
    let FindingRow { test, tag, sign, word, detail } = row;
    let (shape, tone) = sign.drawn();
    let badge = Badge { key: "", shape, tone, word: word.into() };
    let row = Row::new(format!("finding-{tag}"), tag, detail).to(Route::Finding(test));
    Row { badges: vec![badge], ..row }
}
