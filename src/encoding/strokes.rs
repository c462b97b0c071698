//! A signature drawn with a finger: strokes of whole numbers in a box, and the text they are kept as, which is SVG path data of `M` and `L`
//! alone. A text that is anything else is no drawing, whoever wrote it.

/// Width of the box.
pub const WIDE: u16 = 1_000;
/// Its height.
pub const HIGH: u16 = 500;
/// Most points that are kept. Own figure: a signature has 50 to 300 of them at [`NEAR`].
pub const MOST_POINTS: usize = 2_000;
/// Most strokes that are kept, dots on letters among them. Own figure.
pub const MOST_STROKES: usize = 200;
/// Points nearer to the one before say nothing: half a millimetre under a finger on a phone. Own figure.
const NEAR: u32 = 6;
/// Where the points become too many, nearer ones than this are left out before the box is full. Own figure.
const NEAR_AT_LAST: u32 = 24;
/// A drawing that reaches less far is a dot: a twentieth of the width. Own figure.
const LEAST_REACH: u16 = 50;

type Point = (u16, u16);

/// What was drawn.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Strokes {
    strokes: Vec<Vec<Point>>,
    /// By how much nearer points are left out now, where that is more than at first.
    near: u32,
}

/// Why a drawing is no signature.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoSignature {
    /// Nothing was drawn, or what was kept is no drawing.
    Nothing,
    /// It is hardly more than a dot.
    Dot,
}

impl Strokes {
    /// A finger comes down, at shares of the box; false where the box is full.
    pub fn begin(&mut self, x: f64, y: f64) -> bool {
        // One that was read back knows not how far it was thinned.
        if self.is_full() || (self.count() >= MOST_POINTS && !self.thin()) {
            return false;
        }
        self.strokes.push(vec![place(x, y)]);
        true
    }

    /// The finger goes on; false where that adds nothing.
    pub fn go(&mut self, x: f64, y: f64) -> bool {
        let (at, near) = (place(x, y), self.near.max(NEAR));
        let Some(stroke) = self.strokes.last_mut() else { return false };
        if stroke.last().is_some_and(|last| apart(*last, at) < near) || self.is_full() {
            return false;
        }
        if self.count() >= MOST_POINTS && !self.thin() {
            return false;
        }
        if let Some(stroke) = self.strokes.last_mut() {
            stroke.push(at);
        }
        true
    }

    /// Whether nothing more is taken.
    pub fn is_full(&self) -> bool {
        self.strokes.len() >= MOST_STROKES || (self.count() >= MOST_POINTS && self.near >= NEAR_AT_LAST)
    }

    /// Whether there is nothing.
    pub fn is_empty(&self) -> bool {
        self.strokes.is_empty()
    }

    /// Why it is no signature; none where it is one.
    pub fn fault(&self) -> Option<NoSignature> {
        let all = || self.strokes.iter().flatten();
        let reach = |of: fn(&Point) -> u16| {
            let (low, high) = (all().map(of).min().unwrap_or_default(), all().map(of).max().unwrap_or_default());
            high.saturating_sub(low)
        };
        match () {
            () if self.is_empty() => Some(NoSignature::Nothing),
            () if reach(|at| at.0).max(reach(|at| at.1)) < LEAST_REACH => Some(NoSignature::Dot),
            () => None,
        }
    }

    /// The text it is kept as.
    pub fn text(&self) -> String {
        self.strokes.iter().map(|stroke| line(stroke)).collect()
    }

    /// The same for a drawing of it: a dot is a line of no length, which shows where its ends are round.
    pub fn path(&self) -> String {
        let drawn = |stroke: &Vec<Point>| line(stroke) + if stroke.len() == 1 { "h0" } else { "" };
        self.strokes.iter().map(drawn).collect()
    }

    /// The stroke that is being drawn, for a drawing of it.
    pub fn last(&self) -> String {
        self.strokes.last().map_or_else(String::new, |stroke| line(stroke) + "h0")
    }

    /// What a text keeps; none where it is not such a text.
    pub fn read(text: &str) -> Option<Strokes> {
        let strokes = text.strip_prefix('M')?.split('M').map(stroke).collect::<Option<Vec<_>>>()?;
        let read = Strokes { strokes, near: 0 };
        (read.strokes.len() <= MOST_STROKES && read.count() <= MOST_POINTS).then_some(read)
    }

    fn count(&self) -> usize {
        self.strokes.iter().map(Vec::len).sum()
    }

    /// Leaves out more of the points that lie near the one before; false where nothing more may be left out.
    fn thin(&mut self) -> bool {
        while self.count() >= MOST_POINTS {
            if self.near >= NEAR_AT_LAST {
                return false;
            }
            self.near = self.near.max(NEAR) * 2;
            for stroke in &mut self.strokes {
                let (end, near) = (stroke.len().saturating_sub(1), self.near);
                let mut kept: Vec<Point> = Vec::new();
                for (index, at) in stroke.iter().enumerate() {
                    if index == end || kept.last().is_none_or(|last| apart(*last, *at) >= near) {
                        kept.push(*at);
                    }
                }
                *stroke = kept;
            }
        }
        true
    }
}

/// What draws: one finger or pen at a time. Whatever else touches the pad meanwhile, a palm say, draws nothing and ends nothing.
#[derive(Clone, Debug, Default)]
pub struct Pen(Option<(i32, Strokes)>);

impl Pen {
    /// Whether this pointer may begin a stroke.
    pub fn is_free_for(&self, pointer: i32) -> bool {
        self.0.as_ref().is_none_or(|(down, _)| *down == pointer)
    }

    /// A pointer comes down on what was drawn before; false where the box is full. A stroke of its own that nobody ended goes on.
    pub fn down(&mut self, pointer: i32, before: Strokes, x: f64, y: f64) -> bool {
        let mut strokes = self.up(pointer).unwrap_or(before);
        let taken = strokes.begin(x, y);
        self.0 = Some((pointer, strokes));
        taken
    }

    /// What this pointer draws on; none where another one draws, or none.
    pub fn drawing(&mut self, pointer: i32) -> Option<&mut Strokes> {
        self.0.as_mut().filter(|(down, _)| *down == pointer).map(|(_, strokes)| strokes)
    }

    /// Its stroke ends: all that is drawn. None where another one draws, or none.
    pub fn up(&mut self, pointer: i32) -> Option<Strokes> {
        self.0.take_if(|(down, _)| *down == pointer).map(|(_, strokes)| strokes)
    }
}

/// The nearest place in the box.
fn place(x: f64, y: f64) -> Point {
    // What is no number becomes the corner.
    let share = |at: f64, of: u16| (at.clamp(0.0, 1.0) * f64::from(of)).round() as u16;
    (share(x, WIDE), share(y, HIGH))
}

/// How far two points are apart, along the sides of the box.
fn apart(one: Point, other: Point) -> u32 {
    u32::from(one.0.abs_diff(other.0)) + u32::from(one.1.abs_diff(other.1))
}

fn line(stroke: &[Point]) -> String {
    let mut text = String::new();
    for (index, (x, y)) in stroke.iter().enumerate() {
        text += &format!("{}{x} {y}", ["M", "L", " "][index.min(2)]);
    }
    text
}

/// A stroke without its `M`: a point, then those after `L`.
fn stroke(text: &str) -> Option<Vec<Point>> {
    let (first, rest) = text.split_once('L').map_or((text, None), |(first, rest)| (first, Some(rest)));
    let mut numbers = Vec::new();
    for number in first.split(' ') {
        numbers.push(whole(number)?);
    }
    if numbers.len() != 2 {
        return None;
    }
    for number in rest.into_iter().flat_map(|rest| rest.split(' ')) {
        numbers.push(whole(number)?);
    }
    let point = |pair: &[u16]| match *pair {
        [x, y] if x <= WIDE && y <= HIGH => Some((x, y)),
        _ => None,
    };
    numbers.chunks(2).map(point).collect()
}

/// A number as it is written here: digits alone, none for show.
fn whole(text: &str) -> Option<u16> {
    let number: u16 = text.parse().ok()?;
    (number.to_string() == text).then_some(number)
}
