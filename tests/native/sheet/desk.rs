//! A site that sheets are taken into, as the page does it.

use crate::given::{at, give};
use soakbook::book::Id;
use soakbook::book::body::{Area, Site};
use soakbook::book::command::Command;
use soakbook::book::entries::Book;
use soakbook::book::kit::Kit;
use soakbook::book::refusal::Refusal;
use soakbook::book::register::Register;
use soakbook::trade::detector::AreaConditions;
use soakbook::units::Wall;
use soakbook::view::forms::Known;
use soakbook::view::sheet::export::Writing;
use soakbook::view::sheet::heads;
use soakbook::view::sheet::load::{self, Loading, NoSheet, Sheet};
use soakbook::view::sheet::page::{Next, Ready};
use soakbook::view::sheet::plan::{Fate, Line, Plan};
use soakbook::view::sheet::planner::Planner;
use soakbook::view::sheet::{Ask, Format, Setup};
use std::sync::Arc;

pub(crate) const NOW: Wall = Wall(1_772_355_600_000);
pub(crate) const SITE: Id = Id::from_u128(5);

/// A book with a site and nothing on it, and the ids that are new to it.
pub(crate) struct Desk {
    pub(crate) book: Book,
    next: u128,
}

impl Desk {
    pub(crate) fn new() -> Desk {
        let mut book = Book::default();
        let site = Site { name: "Works".into(), address: None, invented: false };
        give(&mut book, at(NOW), Command::PutSite { site: SITE, now: site }).expect("a site");
        Desk { book, next: 1_000 }
    }

    pub(crate) fn area(mut self, name: &str) -> Desk {
        let area = Id::from_u128(self.next());
        let now = Area { site: SITE, name: name.into() };
        let put = Command::PutArea { area, now, conditions: AreaConditions::default() };
        give(&mut self.book, at(NOW), put).expect("an area");
        self
    }

    pub(crate) fn next(&mut self) -> u128 {
        self.next += 1;
        self.next
    }

    pub(crate) fn known<T>(&self, with: impl FnOnce(Known<'_>) -> T) -> T {
        let (register, kit) = (Register::of(&self.book), Kit::of(&self.book));
        with(Known { register: &register, kit: &kit, book: &self.book, visit: None, at: at(NOW) })
    }

    pub(crate) fn register(&self) -> Register {
        Register::of(&self.book)
    }

    pub(crate) fn setup(&self, sheet: &Sheet) -> Setup {
        self.known(|known| {
            heads::setup(&sheet.rows, known.register.sheet_columns.get(&SITE).and_then(|last| last.now()))
        })
    }

    pub(crate) fn plan(&mut self, sheet: &Sheet, setup: &Setup) -> Plan {
        let mut next = self.next;
        let plan = self.known(|known| {
            let mut planner = Planner::new(known, SITE, &sheet.rows, setup);
            let mut new = || {
                next += 1;
                Id::from_u128(next)
            };
            while planner.step(known, &sheet.rows, setup, &mut new) {}
            planner.end(known)
        });
        self.next = next;
        plan
    }

    /// Reads a text as it would be shown.
    pub(crate) fn ready(&mut self, text: &str) -> Ready {
        let (format, sheet) = rows(text.as_bytes()).expect("a sheet");
        let setup = self.setup(&sheet);
        let plan = Arc::new(self.plan(&sheet, &setup));
        Ready { name: "a.csv".into(), format, sheet: Arc::new(sheet), setup, plan, revision: 0 }
    }

    /// The same after changes by hand.
    pub(crate) fn with(&mut self, mut ready: Ready, asks: &[Ask]) -> Ready {
        for ask in asks {
            let Some(Next::Plan(setup)) = ready.changed(*ask, None) else { panic!("{ask:?}") };
            ready.plan = Arc::new(self.plan(&ready.sheet, &setup));
            ready.setup = setup;
        }
        ready
    }

    /// Takes in what is shown.
    pub(crate) fn import(&mut self, ready: &Ready) -> Result<(), Refusal> {
        let sheet = Box::new(ready.plan.decision(SITE, Id::from_u128(self.next()), &ready.setup));
        let positions = ready.plan.positions().cloned().collect();
        give(&mut self.book, at(NOW), Command::ImportSheet { sheet, positions })
    }

    pub(crate) fn take(&mut self, text: &str) -> Ready {
        let ready = self.ready(text);
        self.import(&ready).expect("an import");
        ready
    }

    pub(crate) fn export(&self) -> String {
        self.known(|known| {
            let mut writing = Writing::new(known, SITE);
            while writing.step(known) {}
            writing.end()
        })
    }
}

/// The rows of a file, read as it is guessed to be.
pub(crate) fn rows(bytes: &[u8]) -> Result<(Format, Sheet), NoSheet> {
    let format = load::guess(bytes)?;
    let mut loading = Loading::begin(bytes, format)?;
    while loading.step()? {}
    Ok((format, loading.end()?))
}

/// What would become of the lines: line, and a word with what belongs to it.
pub(crate) fn fates(plan: &Plan) -> Vec<(usize, String)> {
    let said = |line: &Line| match &line.fate {
        Fate::New => "new".to_string(),
        Fate::Same => "same".to_string(),
        Fate::Changed(changes) => {
            let change = |of: &soakbook::view::sheet::plan::Change| format!("{}: {} > {}", of.label, of.old, of.new);
            changes.iter().map(change).collect::<Vec<_>>().join("; ")
        }
        Fate::Asked(question, asked) => format!("{question:?}? {asked}"),
        Fate::Twice(why) => format!("twice: {why}"),
        Fate::Bad(faults) => {
            let fault = |of: &soakbook::view::sheet::plan::Fault| format!("{}|{}", of.column, of.why);
            format!("bad: {}", faults.iter().map(fault).collect::<Vec<_>>().join("; "))
        }
    };
    plan.lines.iter().map(|line| (line.line, said(line))).collect()
}

pub(crate) fn lines(of: &[(usize, &str)]) -> Vec<(usize, String)> {
    of.iter().map(|(line, said)| (*line, (*said).to_string())).collect()
}
