//! Which position was tested in which year.

use super::{SiteDue, said};
use crate::findings::due::{Mark, coverage};
use crate::view::page::{Block, Kind, Later, Page, Role, Section, Table, Words};
use crate::view::route::Route;
use std::sync::Arc;

/// Lines of one table: a thousand are no frame's work.
const LINES: usize = 100;

const WHAT_IT_SAYS: &str = "By the tests of each year: passed, not passed, a visual check only, or nothing. Tests by others aren't in this list.";

fn word(mark: Mark) -> &'static str {
    match mark {
        Mark::Passed => "passed",
        Mark::Tested => "not passed",
        Mark::Looked => "visual",
        Mark::Nothing => "–",
    }
}

impl SiteDue {
    /// The page of the years.
    pub fn coverage_page(self: &Arc<Self>) -> Page {
        let found = Arc::new(coverage(&self.due, &self.history, self.today, self.offset_min));
        let facts = vec![
            ("Outside its period".into(), found.outside.to_string().into()),
            ("No known date".into(), found.no_date.to_string().into()),
            ("Positions".into(), found.rows.len().to_string().into()),
        ];
        let mut blocks = vec![
            Block::new("coverage-counts", Kind::Facts(facts)),
            Block::text("coverage-says", Role::Soft, WHAT_IT_SAYS),
        ];
        for (area, name) in &self.areas {
            let here = self.of_area(*area);
            if here.is_empty() {
                continue;
            }
            let mut tables = Vec::new();
            for lines in here.chunks(LINES) {
                let (site, found, label, lines) = (Arc::clone(self), Arc::clone(&found), name.clone(), lines.to_vec());
                let table = move || {
                    let years = found.years.iter().map(|year| Words::from(year.to_string()));
                    let head = [Words::from("Position")].into_iter().chain(years).collect();
                    let row = |index: &usize| {
                        let marks = found.rows[*index].1.iter().map(|mark| Words::from(word(*mark)));
                        [Words::from(site.tags[*index].clone())].into_iter().chain(marks).collect()
                    };
                    let rows = lines.iter().map(row).collect();
                    let table = Table { label: label.clone().into(), head, rows, later: false };
                    vec![Block::new("years", Kind::Table(table.into()))]
                };
                tables.push(Block::new("coverage-table", Kind::Later(Later::new(table))));
            }
            let section = Section { title: name.clone().into(), blocks: tables, ..Section::default() };
            blocks.push(Block::new(name.clone(), Kind::Section(section)));
        }
        self.page_of("coverage", said::COVERAGE, Route::Due(self.site), blocks)
    }
}
