//! A page laid out for paper: everything opened, nothing to press.
//!
//! The text of people goes in escaped; the styles are those of `style/paper.css`.

use super::drawing::Drawing;
use super::{Block, Button, Kind, Page, Picture, Role, Row, Running, Table, Words, svg};
use crate::book::entry::Hash;
use crate::encoding::base64;
use crate::encoding::picture::is_picture;
use crate::view::findings::figure::Shown;

/// Where the bytes of a picture are, as an address; none where they are not at hand.
pub type Pictures<'a> = &'a dyn Fn(Hash) -> Option<String>;

/// The page as the inside of an HTML element.
pub fn html(page: &Page) -> String {
    html_with(page, &|_| None, NOT_HERE)
}

/// The same with its pictures; `missing` is said in the place of one without an address.
pub fn html_with(page: &Page, pictures: Pictures<'_>, missing: &str) -> String {
    let mut out = Html(String::new(), pictures, missing);
    page.running.iter().for_each(|of| out.put("p class=\"across\"", &of.across));
    out.put("h1", &page.title);
    out.some("p", &page.detail);
    out.blocks(2, &page.blocks);
    out.0
}

/// The page as a file of its own, which opens and prints in any browser.
pub fn document(page: &Page) -> String {
    document_with(page, &|_| None)
}

/// The same with its pictures, which are part of the file.
pub fn document_with(page: &Page, pictures: Pictures<'_>) -> String {
    let title = escaped(&format!("{} · {}", page.title, page.detail));
    let rule = page.running.as_ref().map_or_else(String::new, Running::rule);
    let inside = html_with(page, pictures, NOT_HERE);
    format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" content=\"width=device-width\">\n<title>{title}</title>\n<style>\n{PAPER}{rule}\n</style>\n</head>\n<body>\n<main id=\"paper\">{inside}</main>\n</body>\n</html>\n"
    )
}

/// A picture as an address that has all of it; none of what is no picture that every browser draws.
pub fn data_url(media: &str, bytes: &[u8]) -> Option<String> {
    is_picture(media).then(|| format!("data:{media};base64,{}", base64(bytes)))
}

/// The pictures of a page, in its order.
pub fn pictures_of(blocks: &[Block]) -> Vec<Hash> {
    let one = |block: &Block| match &block.kind {
        Kind::Section(of) => pictures_of(&of.blocks),
        Kind::Fold(of) => pictures_of(&of.blocks),
        Kind::Pictures(of) => of.pictures.iter().map(|picture| picture.photo).collect(),
        _ => Vec::new(),
    };
    blocks.iter().flat_map(one).collect()
}

/// The styles of paper.
const PAPER: &str = include_str!("../../../style/paper.css");

/// A table alone, as the screen draws it too.
pub fn table(of: &Table) -> String {
    let mut out = Html(String::new(), &|_| None, NOT_HERE);
    out.table(of);
    out.0
}

/// Text between tags or in a quoted attribute.
pub(super) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            letter => out.push(letter),
        }
    }
    out
}

/// Said in the place of a picture whose bytes are not there.
pub const NOT_HERE: &str = "picture not in this file";

/// Said in the place of every picture of a page where the browser prints by itself: it does not wait until they are read.
pub fn left_out(page: &Page) -> &'static str {
    match page.menu.contains(&Button::print()) {
        true => "picture left out: print with the app's Print key",
        false => "picture left out",
    }
}

/// Most letters of a cell that stays on one line.
const WHOLE: usize = 32;

/// The tag of a cell: a tag and a day stay on one line, a sentence does not.
fn whole(plain: &'static str, kept: &'static str, text: &str) -> &'static str {
    if text.is_empty() || text.chars().count() > WHOLE { plain } else { kept }
}

/// Letters of a name that is kept on one line, and of a word that is not parted.
const SHORT: usize = 16;

struct Html<'a>(String, Pictures<'a>, &'a str);

impl Html<'_> {
    /// An element whose tag may carry a class: `p class="soft"`.
    fn put(&mut self, tag: &str, text: &str) {
        let name = tag.split(' ').next().unwrap_or(tag);
        self.0.push_str(&format!("<{tag}>{}</{name}>", escaped(text)));
    }

    fn some(&mut self, tag: &str, text: &str) {
        if !text.is_empty() {
            self.put(tag, text);
        }
    }

    fn within(&mut self, tag: &str, inside: impl FnOnce(&mut Self)) {
        self.0.push_str(&format!("<{tag}>"));
        inside(self);
        self.0.push_str(&format!("</{}>", tag.split(' ').next().unwrap_or(tag)));
    }

    fn blocks(&mut self, level: usize, blocks: &[Block]) {
        blocks.iter().for_each(|block| self.block(level, &block.kind));
    }

    fn headed(&mut self, level: usize, title: &str, end: &str, blocks: &[Block]) {
        self.within("section", |out| {
            // HTML has six levels of headings.
            out.put(&format!("h{}", level.min(6)), title);
            out.some("p class=\"soft\"", end);
            out.blocks(level + 1, blocks);
        });
    }

    fn block(&mut self, level: usize, kind: &Kind) {
        match kind {
            Kind::Section(of) => self.headed(level, &of.title, &of.end, &of.blocks),
            Kind::Fold(of) => self.headed(level, &of.title, "", &of.blocks),
            Kind::Rows(of) if !of.rows.is_empty() => {
                self.within("table", |out| of.rows.iter().for_each(|row| out.row(row)));
            }
            Kind::Notice(of) => self.put("p class=\"notice\"", &format!("{}: {}", of.word, of.words)),
            Kind::Headline(of) => {
                self.put("p class=\"headline\"", &of.words);
                self.some("p", of.badge.as_ref().map_or("", |badge| &badge.word));
            }
            Kind::Text(role, words) => self.put(
                match role {
                    Role::Plain => "p",
                    Role::Soft => "p class=\"soft\"",
                    Role::Heading => "h4",
                    Role::Formula => "p class=\"formula\"",
                    Role::Source => "p class=\"source\"",
                },
                words,
            ),
            Kind::Table(of) => self.table(of),
            Kind::Facts(of) => self.facts(of.iter().map(|(name, value)| (&**name, &**value))),
            Kind::Figure(of) => self.figure(of),
            Kind::Empty(of) => {
                self.put("p", &of.title);
                self.put("p", &of.words);
            }
            Kind::Choice(of) => {
                let answer = of.answers.iter().find(|(value, _)| *value == of.value).map_or("", |(_, label)| *label);
                self.facts([(of.label, answer)].into_iter());
            }
            Kind::Drawing(of) => self.drawing(of),
            Kind::Pictures(of) => self.within("div class=\"pictures\"", |out| {
                for picture in &of.pictures {
                    out.picture(picture);
                }
            }),
            Kind::Later(of) => self.blocks(level, &of.blocks()),
            // What can only be pressed is not on paper.
            Kind::Rows(_) | Kind::Sheet(_) | Kind::Buttons(_) | Kind::Undo(_) | Kind::Find(_) | Kind::Paste(_) => {}
        }
    }

    fn table(&mut self, of: &Table) {
        let short = of.rows.iter().all(|row| row.first().is_none_or(|name| name.chars().count() <= SHORT));
        let names = if short { " short" } else { "" };
        self.within(&format!("table class=\"columns of-{}{names}\"", of.head.len()), |out| {
            out.within("thead", |out| {
                out.within("tr", |out| of.head.iter().for_each(|cell| out.put("th scope=\"col\"", cell)));
            });
            out.within("tbody", |out| of.rows.iter().for_each(|row| out.line(of.head.len(), row)));
        });
    }

    fn line(&mut self, columns: usize, row: &[Words]) {
        self.within("tr", |out| {
            for column in 0..columns.max(row.len()) {
                let cell = row.get(column).map_or("", |cell| cell);
                let tag = if column == 0 { "th scope=\"row\"" } else { "td" };
                out.within(tag, |out| out.cell(cell));
            }
        });
    }

    /// The words of a cell: a long one may be parted anywhere, a number and its unit never.
    fn cell(&mut self, text: &str) {
        for (at, word) in text.replace(" °", "\u{a0}°").split(' ').enumerate() {
            self.0.push_str(if at == 0 { "" } else { " " });
            let letters: Vec<char> = word.chars().collect();
            for (part, letters) in letters.chunks(SHORT).enumerate() {
                self.0.push_str(if part == 0 { "" } else { "<wbr>" });
                self.0.push_str(&escaped(&letters.iter().collect::<String>()));
            }
        }
    }

    fn row(&mut self, row: &Row) {
        self.within("tr", |out| {
            if let Some(of) = &row.figure {
                out.within("td colspan=\"3\"", |out| out.figure(of));
                return;
            }
            let states: Vec<&str> = row.badges.iter().map(|badge| &*badge.word).collect();
            let states = states.join(", ");
            out.put(whole("th", "th class=\"whole\"", &row.title), &row.title);
            out.put("td", &row.detail);
            out.put(whole("td", "td class=\"whole\"", &states), &states);
        });
    }

    fn figure(&mut self, of: &Shown) {
        self.within("div class=\"figure\"", |out| {
            let value = [&*of.value, &*of.unit, &*of.spread].into_iter().filter(|part| !part.is_empty());
            out.put("p", &format!("{}: {}", of.label, value.collect::<Vec<_>>().join(" ")));
            out.some("p class=\"formula\"", &of.formula);
            out.facts(of.inputs.iter().map(|(name, value)| (&**name, &**value)));
            out.some("p class=\"source\"", &of.source);
        });
    }

    fn facts<'a>(&mut self, of: impl Iterator<Item = (&'a str, &'a str)>) {
        self.within("dl", |out| {
            of.for_each(|(name, value)| {
                out.put("dt", name);
                out.put("dd", value);
            });
        });
    }

    /// A picture with the start of its hash; one that is not at hand says so.
    fn picture(&mut self, of: &Picture) {
        let words = if of.caption.is_empty() { &of.alt } else { &of.caption };
        let code: String = of.photo.to_string().chars().take(8).collect();
        match (self.1)(of.photo) {
            Some(address) => self.within("figure", |out| {
                out.0.push_str(&format!("<img src=\"{}\" alt=\"{}\">", escaped(&address), escaped(&of.alt)));
                out.put("figcaption", &format!("{words} · {code}"));
            }),
            None => {
                let why = if of.gone.is_empty() { self.2 } else { &*of.gone };
                self.put("p class=\"soft\"", &format!("{words} · {code} · {why}"));
            }
        }
    }

    fn drawing(&mut self, of: &Drawing) {
        self.0.push_str(&svg::svg(of));
    }
}
