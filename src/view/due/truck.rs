//! What goes on the truck for all that is due.

use super::{SiteDue, said};
use crate::book::Id;
use crate::book::register::Register;
use crate::findings::due::{Ageing, truck};
use crate::trade::detector::Reach;
use crate::trade::detector_type::DetectorType;
use crate::units::{Decimal, Degree, Length, LengthUnit, Reading};
use crate::view::page::sign::Shape;
use crate::view::page::{Block, Page, Role, Row};
use crate::view::route::Route;
use crate::view::words::{degrees, plural};

const SPARES: &str = "Spares by type and rating";
const SPARES_WORDS: &str = "What is due in this visit, so that one that fails can be replaced on the spot.";
const AGEING: &str = "End of service life within a year";
const AGEING_WORDS: &str = "15 years from installation, or the date marked on it. The 15 years are a rule for nonrestorable detectors; for others ask the maker or the owner.";
const REACH: &str = "Access";
const NONE: &str = "None.";

fn reach(by: Option<Reach>) -> &'static str {
    match by {
        Some(Reach::Floor) => "From the floor, with a pole",
        Some(Reach::Ladder) => "Ladder",
        Some(Reach::ScissorLift) => "Scissor lift",
        Some(Reach::BoomLift) => "Boom lift",
        Some(Reach::Scaffold) => "Scaffold",
        None => "Not on file: look before you drive",
    }
}

fn height(of: Length) -> String {
    let number = Decimal { value: of.value, scale: of.scale }.text();
    format!("up to {number} {}", if of.unit == LengthUnit::Ft { "ft" } else { "m" })
}

impl SiteDue {
    /// The truck list.
    pub fn truck_page(&self, register: &Register, unit: Degree) -> Page {
        let list = truck(&self.due, register, self.today, self.offset_min);
        let spare = |(of, rating, count): &(DetectorType, Option<Reading>, usize)| {
            let rating = rating.map(|rating| format!(", {}", degrees(rating.celsius(), unit, 0))).unwrap_or_default();
            Row::new("spare", format!("{}{rating}", of.words()), format!("{count} due")).sign(Shape::Detector)
        };
        let tag = |id: &Id| register.positions.get(id).map_or("", |position| position.tag()).to_string();
        let ageing = |(id, of): &(Id, Ageing)| {
            let words = match of {
                Ageing::FifteenYears(day) => format!("15 years old on {}", said::date(*day)),
                Ageing::ReplaceBy(day) => format!("replace by {}", said::date(*day)),
            };
            Row::new("ageing", tag(id), words).sign(Shape::Time)
        };
        let up = |(by, count, highest): &(Option<Reach>, usize, Option<Length>)| {
            let parts = [Some(plural(*count, "position", "positions")), highest.map(height)];
            let detail = parts.into_iter().flatten().collect::<Vec<_>>().join(" · ");
            Row::new("reach", reach(*by), detail).sign(Shape::Lower)
        };
        let mut access: Vec<Row> = list.reach.iter().map(up).collect();
        access.extend((list.shutdowns > 0).then(|| {
            Row::new("shutdown", "Shutdown first", plural(list.shutdowns, "position", "positions")).sign(Shape::Lock)
        }));
        access.extend(
            list.hazards.iter().map(|(id, words)| Row::new("hazard", tag(id), words.clone()).sign(Shape::Warning)),
        );
        let blocks = vec![
            section("spares", SPARES, SPARES_WORDS, list.spares.iter().map(spare).collect()),
            section("ageing", AGEING, AGEING_WORDS, list.ageing.iter().map(ageing).collect()),
            section("reach", REACH, "", access),
        ];
        self.page_of("truck", said::TRUCK, Route::Due(self.site), blocks)
    }
}

fn section(key: &'static str, title: &'static str, words: &'static str, rows: Vec<Row>) -> Block {
    let mut blocks = Vec::new();
    blocks.extend((!words.is_empty()).then(|| Block::text("says", Role::Soft, words)));
    blocks.push(if rows.is_empty() { Block::text("none", Role::Plain, NONE) } else { Block::rows(title, rows) });
    Block::section(key, title, blocks)
}
