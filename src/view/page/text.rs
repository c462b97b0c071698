//! A page as text, everything opened: what a test reads, and what would be read out.

use super::{Block, Button, Kind, Page, Role, Row};
use crate::view::findings::figure::Shown;

/// The page as lines; two spaces for each level.
pub fn text(page: &Page) -> String {
    let mut out = Text(String::new());
    out.line(0, &["# ", &page.title]);
    out.some(0, &page.detail);
    page.running.iter().for_each(|of| out.line(0, &["every sheet: ", &of.line()]));
    let keys: Vec<Button> = page.back.iter().chain(&page.menu).cloned().collect();
    out.buttons(0, &keys);
    out.blocks(0, &page.blocks);
    out.buttons(0, &page.foot);
    out.0
}

struct Text(String);

impl Text {
    fn line(&mut self, level: usize, parts: &[&str]) {
        self.0.push_str(&"  ".repeat(level));
        parts.iter().for_each(|part| self.0.push_str(part));
        self.0.push('\n');
    }

    fn some(&mut self, level: usize, words: &str) {
        if !words.is_empty() {
            self.line(level, &[words]);
        }
    }

    fn blocks(&mut self, level: usize, blocks: &[Block]) {
        blocks.iter().for_each(|block| self.block(level, &block.kind));
    }

    fn block(&mut self, level: usize, kind: &Kind) {
        match kind {
            Kind::Section(of) | Kind::Sheet(of) => {
                let around =
                    [&of.at, &of.end].map(|words| if words.is_empty() { String::new() } else { format!(" ({words})") });
                self.line(level, &["## ", &of.title, &around.concat()]);
                self.blocks(level + 1, &of.blocks);
            }
            Kind::Fold(of) => {
                self.line(level, &["## ", &of.title]);
                self.blocks(level + 1, &of.blocks);
            }
            Kind::Rows(of) => of.rows.iter().for_each(|row| self.row(level, row)),
            Kind::Buttons(of) => self.buttons(level, of),
            Kind::Notice(of) => {
                self.line(level, &["! ", &of.word, ": ", &of.words]);
                self.buttons(level, &of.buttons);
            }
            Kind::Headline(of) => {
                let badge = of.badge.as_ref().map_or_else(String::new, |badge| format!(" <{}>", badge.word));
                self.line(level, &["* ", &of.words, &badge]);
            }
            Kind::Text(Role::Heading, words) => self.line(level, &["### ", words]),
            Kind::Text(_, words) => self.line(level, &[words]),
            Kind::Table(of) => {
                let lines = [&of.head].into_iter().chain(&of.rows);
                lines.for_each(|row| self.line(level, &["| ", &row.join(" | ")]));
            }
            Kind::Facts(of) => of.iter().for_each(|(name, value)| self.line(level, &[name, ": ", value])),
            Kind::Figure(of) => self.figure(level, of),
            Kind::Empty(of) => {
                self.line(level, &["## ", &of.title]);
                self.line(level, &[&of.words]);
                self.buttons(level, &of.buttons);
            }
            Kind::Undo(of) => self.line(level, &[&of.words, " [", of.label, "]"]),
            Kind::Choice(of) => {
                let answer = |(value, label): &(&str, &str)| {
                    if *value == of.value { format!(" (x) {label}") } else { format!(" ( ) {label}") }
                };
                self.line(level, &[of.label, ":", &of.answers.iter().map(answer).collect::<String>()]);
            }
            Kind::Find(of) => {
                let filters = of.filters.iter().map(|filter| format!(" ( ) {}", filter.words())).collect::<String>();
                self.line(level, &["[", of.label, "]", &filters]);
            }
            Kind::Paste(of) => self.line(level, &["[", of.label, ": ", of.help, "]"]),
            Kind::Drawing(of) => self.line(level, &["[", of.label(), "]"]),
            Kind::Pictures(of) => {
                for picture in &of.pictures {
                    let between = if picture.gone.is_empty() { "" } else { " · " };
                    self.line(level, &["[", &picture.alt, between, &picture.gone, "]"]);
                }
            }
            Kind::Later(of) => self.blocks(level, &of.blocks()),
        }
    }

    fn row(&mut self, level: usize, row: &Row) {
        if let Some(figure) = &row.figure {
            self.figure(level, figure);
        } else {
            let badges = row.badges.iter().map(|badge| format!(" <{}>", badge.word)).collect::<String>();
            let between = if row.title.is_empty() || row.detail.is_empty() { "" } else { ": " };
            let leads = if row.action.is_some() { " >" } else { "" };
            self.line(level, &["- ", &row.title, between, &row.detail, &badges, leads]);
        }
        let aside = row.aside.as_deref().cloned().into_iter();
        self.buttons(level + 1, &aside.chain(row.buttons.iter().cloned()).collect::<Vec<_>>());
    }

    fn figure(&mut self, level: usize, of: &Shown) {
        let unit = if of.unit.is_empty() { String::new() } else { format!(" {}", of.unit) };
        let spread = if of.spread.is_empty() { String::new() } else { format!(" {}", of.spread) };
        self.line(level, &["= ", &of.label, ": ", &of.value, &unit, &spread]);
        self.some(level + 1, &of.formula);
        of.inputs.iter().for_each(|(name, value)| self.line(level + 1, &[name, ": ", value]));
        self.some(level + 1, &of.source);
    }

    fn buttons(&mut self, level: usize, buttons: &[Button]) {
        let key = |button: &Button| match (button.off, button.on) {
            (true, _) => format!("[{}, off]", button.label),
            (_, Some(on)) => format!("[{}: {}]", button.label, if on { "on" } else { "off" }),
            _ => format!("[{}]", button.label),
        };
        self.some(level, &buttons.iter().map(key).collect::<Vec<_>>().join(" "));
    }
}
