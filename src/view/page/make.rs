//! Short ways to make blocks, lines and keys.

use super::sign::{Look, Says, Shape, Tone};
use super::{Action, Badge, Block, Button, Fold, Kind, Notice, Request, Role, Row, Rows, Section, Words};
use crate::view::findings::figure::Shown;
use crate::view::route::Route;

/// Words of the key that prints a page.
const PRINT: &str = "Print";

impl Block {
    /// A block by its name.
    pub fn new(key: impl Into<Words>, kind: Kind) -> Block {
        Block { key: key.into(), kind }
    }

    /// A heading with its blocks.
    pub fn section(key: impl Into<Words>, title: impl Into<Words>, blocks: Vec<Block>) -> Block {
        Block::new(key, Kind::Section(Section { title: title.into(), blocks, ..Section::default() }))
    }

    /// A heading with its number in the margin.
    pub fn numbered(key: impl Into<Words>, title: impl Into<Words>, at: usize, blocks: Vec<Block>) -> Block {
        let at = at.to_string().into();
        Block::new(key, Kind::Section(Section { title: title.into(), at, blocks, ..Section::default() }))
    }

    /// A folded part.
    pub fn fold(key: impl Into<Words>, title: impl Into<Words>, blocks: Vec<Block>) -> Block {
        Block::new(key, Kind::Fold(Fold { title: title.into(), open: false, blocks }))
    }

    /// A sheet.
    pub fn sheet(key: impl Into<Words>, title: impl Into<Words>, blocks: Vec<Block>) -> Block {
        Block::new(key, Kind::Sheet(Section { title: title.into(), blocks, ..Section::default() }))
    }

    /// Ruled lines; their label is their name.
    pub fn rows(label: impl Into<Words>, rows: Vec<Row>) -> Block {
        let label = label.into();
        Block::new(label.clone(), Kind::Rows(Rows { label, rows }))
    }

    /// Keys side by side.
    pub fn buttons(buttons: Vec<Button>) -> Block {
        Block::new("keys", Kind::Buttons(buttons))
    }

    /// A sentence that matters.
    pub fn notice(key: impl Into<Words>, says: Says, word: impl Into<Words>, words: impl Into<Words>) -> Block {
        let (word, words) = (word.into(), words.into());
        Block::new(key, Kind::Notice(Notice { says, word, words, buttons: Vec::new() }))
    }

    /// A notice with what can be done about it.
    #[must_use]
    pub fn with(mut self, buttons: Vec<Button>) -> Block {
        if let Kind::Notice(notice) = &mut self.kind {
            notice.buttons = buttons;
        }
        self
    }

    /// A sentence.
    pub fn text(key: impl Into<Words>, role: Role, words: impl Into<Words>) -> Block {
        Block::new(key, Kind::Text(role, words.into()))
    }

    /// A figure that opens.
    pub fn figure(key: impl Into<Words>, of: Shown) -> Block {
        Block::new(key, Kind::Figure(Box::new(of)))
    }

    /// A heading over lines of text; none where there are no lines.
    pub fn lines(key: &'static str, title: &'static str, lines: Vec<String>) -> Option<Block> {
        let line = |line: String| Row { key: key.into(), detail: line.into(), ..Row::default() };
        let rows: Vec<Row> = lines.into_iter().map(line).collect();
        (!rows.is_empty()).then(|| Block::section(title, title, vec![Block::rows(title, rows)]))
    }
}

impl Row {
    /// A line with its name, title and second line.
    pub fn new(key: impl Into<Words>, title: impl Into<Words>, detail: impl Into<Words>) -> Row {
        Row::of(key.into(), title.into(), detail.into())
    }

    // Made in one place: a line has many parts, and pages have many lines.
    #[inline(never)]
    fn of(key: Words, title: Words, detail: Words) -> Row {
        Row { key, title, detail, ..Row::default() }
    }

    /// With a drawing in the margin.
    #[must_use]
    pub fn sign(self, sign: Shape) -> Row {
        Row { sign: Some(sign), ..self }
    }

    /// That does something.
    #[must_use]
    pub fn action(self, action: Action) -> Row {
        Row { action: Some(action), ..self }
    }

    /// That leads somewhere.
    #[must_use]
    pub fn to(self, place: Route) -> Row {
        self.action(Action::Go(place))
    }

    /// With a second way at its end.
    #[must_use]
    pub fn aside(self, button: Button) -> Row {
        Row { aside: Some(Box::new(button)), ..self }
    }

    /// With a state at its end.
    #[must_use]
    pub fn badge(mut self, shape: Shape, tone: Tone, word: impl Into<Words>) -> Row {
        self.badges.push(Badge { key: "", shape, tone, word: word.into() });
        self
    }
}

impl Button {
    /// A key with its name and words.
    pub fn new(key: impl Into<Words>, label: impl Into<Words>, action: Action) -> Button {
        Button::of(key.into(), label.into(), action)
    }

    #[inline(never)]
    fn of(key: Words, label: Words, action: Action) -> Button {
        let (icon, look, on) = (None, Look::Quiet, None);
        Button { key, label, icon, look, wide: false, bare: false, off: false, on, action }
    }

    /// A key that leads somewhere.
    pub fn to(key: impl Into<Words>, label: impl Into<Words>, place: Route) -> Button {
        Button::new(key, label, Action::Go(place))
    }

    /// The key that prints the page.
    pub fn print() -> Button {
        let print = Button::new("print", PRINT, Action::Do(Request::Print));
        Button { icon: Some(Shape::Print), look: Look::Plain, bare: true, ..print }
    }

    /// The way back of a page.
    pub fn back(label: &'static str, place: Route) -> Button {
        Button { icon: Some(Shape::Back), look: Look::Plain, bare: true, ..Button::to("back", label, place) }
    }

    /// With a drawing.
    #[must_use]
    pub fn icon(self, icon: Shape) -> Button {
        Button { icon: Some(icon), ..self }
    }

    /// With a weight.
    #[must_use]
    pub fn look(self, look: Look) -> Button {
        Button { look, ..self }
    }

    /// As wide as the page.
    #[must_use]
    pub fn wide(self) -> Button {
        Button { wide: true, ..self }
    }

    /// Not to be pressed while `off`.
    #[must_use]
    pub fn off(self, off: bool) -> Button {
        Button { off, ..self }
    }
}
