//! The Visit screen as a page: before a visit is chosen, and with one.

use super::list::{OpenResults, PositionRow, Standing};
use super::{ItemRow, NotifyRow, ReleaseRow, VisitScreen, impaired_for};
use crate::book::Id;
use crate::book::body::NotifyWhen;
use crate::book::command::Command;
use crate::book::register::Register;
use crate::book::visit::{Heading, Station};
use crate::encoding::stored;
use crate::order;
use crate::trade::caution;
use crate::view::findings::one::page::panel_keys;
use crate::view::page::sign::{Look, Says, Shape, Tone};
use crate::view::page::{Action, Block, Button, Empty, Fold, Kind, Page, Request, Role, Row, Setting};
use crate::view::route::{Form, Route};
use crate::view::{time, words};

fn to_settings() -> Button {
    let to = Button::to("to-settings", words::SETTINGS, Route::Settings);
    Button { bare: true, ..to.look(Look::Plain).icon(Shape::Adjust) }
}

fn form(key: impl Into<crate::view::page::Words>, label: &'static str, form: Form) -> Button {
    Button::to(key, label, Route::Form(form))
}

/// The first start: who has the phone, then an invented demo site, a site of one's own, or a visit file.
pub fn first(named: bool, anybody: bool) -> Page {
    let who = if anybody { Route::People } else { Route::Form(Form::Person(None)) };
    let buttons = if named {
        vec![
            Button::new("demo", words::FIRST_DEMO, Action::Do(Request::LoadDemo)).look(Look::Primary).wide(),
            form("own-site", words::FIRST_OWN, Form::Site(None)).wide(),
            Button::to("take-in", words::FIRST_BUNDLE, Route::Handover).wide(),
        ]
    } else {
        vec![Button::to("who", words::WHO_ARE_YOU, who).look(Look::Primary).wide()]
    };
    let empty = Empty { shape: Shape::Visit, title: words::FIRST_TITLE.into(), words: words::FIRST.into(), buttons };
    Page { name: "first", blocks: vec![Block::new("welcome", Kind::Empty(empty))], ..Page::default() }
}

/// Sites to open a visit on, and the visits there are; `whole` once all of them are read, `offset` local time minus UTC at a wall clock time.
pub fn choose(register: &Register, visits: &[Heading], whole: bool, offset: impl Fn(i64) -> i64) -> Page {
    let name = |site: Id| register.sites.get(&site).and_then(|group| group.now()).map(|site| site.name.clone());
    let sites = register.sites.keys().filter_map(|id| Some((name(*id)?, *id)));
    let open = |(name, id): (String, Id)| {
        Row::new("open-visit", name, "").sign(Shape::Plus).action(Action::Do(Request::OpenVisit(id)))
    };
    let sites = order::by(sites.collect::<Vec<_>>(), |(name, _)| (0, 0, name.clone())).into_iter().map(open).collect();
    // Looking writes nothing: another phone's visit is taken part in with the first fact recorded in it.
    let known = |visit: &Heading| {
        let state = if visit.closed { words::CLOSED } else { words::OPEN };
        let opened = time::wall(visit.opened, offset(visit.opened));
        let row = Row::new("other-visit", name(visit.site).unwrap_or_default(), format!("{opened} · {state}"));
        row.sign(Shape::Visit).action(Action::Set(Setting::Visit, visit.id.to_string().into()))
    };
    let open = Block::section("open", words::OPEN_VISIT, vec![Block::rows(words::OPEN_VISIT, sites)]);
    let mut earlier: Vec<Block> = Vec::new();
    earlier.extend((!whole).then(|| Block::text("still-reading", Role::Soft, words::STILL_READING)));
    if !visits.is_empty() {
        earlier.push(Block::rows(words::EARLIER_VISITS, visits.iter().map(known).collect()));
    }
    let earlier = (!earlier.is_empty()).then(|| Block::section("earlier", words::EARLIER_VISITS, earlier));
    Page {
        name: "visits",
        title: words::VISIT.into(),
        detail: words::NO_VISIT_WORDS.into(),
        menu: vec![to_settings()],
        blocks: [open].into_iter().chain(earlier).collect(),
        ..Page::default()
    }
}

impl VisitScreen {
    /// The page at `now`, UTC ms. What has to be right before the lift goes up is open at the first look.
    pub fn page(&self, now: i64) -> Page {
        let leave = Button::new("leave-visit", words::LEAVE_VISIT, Action::Set(Setting::Visit, "".into()));
        let leave = Button { bare: true, ..leave.look(Look::Plain).icon(Shape::More) };
        let mut blocks = Vec::new();
        if self.closed {
            let closed = Block::notice("visit-closed", Says::Done, words::CLOSED, words::VISIT_CLOSED);
            blocks.push(closed.with(vec![form("reopen", words::REOPEN, Form::Reopen)]));
        } else {
            blocks.extend(self.opening(now));
        }
        if self.areas.is_empty() {
            let add = form("to-register", words::TO_REGISTER, Form::Position(None)).look(Look::Primary);
            blocks.push(Block::new(
                "no-detectors",
                Kind::Empty(Empty {
                    shape: Shape::Register,
                    title: words::NO_DETECTORS.into(),
                    words: words::NO_DETECTORS_WORDS.into(),
                    buttons: vec![add],
                }),
            ));
        }
        for (area, rows) in &self.areas {
            let rows = rows.iter().map(position).collect();
            blocks.push(Block::section(area.clone(), area.clone(), vec![Block::rows(area.clone(), rows)]));
        }
        if !self.items.is_empty() {
            let rows = self.items.iter().cloned().map(ItemRow::line).collect();
            blocks.push(Block::section("items", words::ITEMS, vec![Block::rows(words::ITEMS, rows)]));
        }
        if !self.closed {
            blocks.extend(self.closing());
        }
        Page {
            name: "visit",
            title: self.site.clone().into(),
            detail: words::visit_detail(self.visit_type, &self.opened, self.done).into(),
            menu: vec![to_settings(), leave],
            blocks,
            ..Page::default()
        }
    }

    /// What has to be right before the lift goes up.
    fn opening(&self, now: i64) -> Vec<Block> {
        let mut blocks = Vec::new();
        if matches!(self.station, Station::Lapsed { .. }) {
            let (word, words) = (words::STATION_LAPSED_WORD, words::STATION_LAPSED);
            blocks.push(Block::notice("station-lapsed", Says::Alarm, word, words));
        }
        let mut steps = self.notified(NotifyWhen::Before);
        steps.extend(self.impairments(now));
        steps.push(Block::buttons(vec![form("plan", words::PLAN, Form::Plan).icon(Shape::Pen)]));
        steps.push(Block::text("cautions", Role::Heading, words::CAUTIONS));
        for caution in caution::BEFORE_A_VISIT {
            steps.push(Block::text("caution", Role::Plain, caution.words));
            steps.push(Block::text("source", Role::Source, caution.source));
        }
        steps.push(Block::text("defers", Role::Plain, caution::DEFERS));
        // Open at the first look at a new visit; it must not fold away under a finger later.
        let fold = Fold { title: self.before_up().into(), open: self.is_untouched(), blocks: steps };
        blocks.push(Block::new("before-up", Kind::Fold(fold)));
        blocks.extend(self.secure());
        blocks.extend(self.permit());
        blocks
    }

    fn notified(&self, when: NotifyWhen) -> Vec<Block> {
        let title = match when {
            NotifyWhen::Before => words::TOLD_BEFORE,
            NotifyWhen::After => words::TOLD_AFTER,
        };
        let rows = |listed: bool| {
            let of = self.notify.iter().filter(|row| row.when == when && row.listed == listed);
            of.map(notify).collect::<Vec<_>>()
        };
        vec![
            Block::text(title, Role::Heading, title),
            Block::rows(title, rows(true)),
            Block::fold(
                format!("others-{}", stored::name(&when)),
                words::OTHERS,
                vec![Block::rows(words::OTHERS, rows(false))],
            ),
        ]
    }

    fn impairments(&self, now: i64) -> Vec<Block> {
        let mut blocks = vec![Block::text("service", Role::Heading, words::SERVICE)];
        for row in &self.impaired {
            let (since, long) = impaired_for(row.from, now);
            let detail = [words::out_since(&since), row.detail.clone()].join(" · ");
            blocks.push(Block::rows(words::SERVICE, vec![Row::new("impaired", row.what.clone(), detail)]));
            // Apart from the clock, which goes on while a finger presses.
            blocks.push(Block::buttons(vec![form("put-back", words::PUT_BACK, Form::Restore(row.hash))]));
            blocks.extend(long.then(|| Block::notice("out-long", Says::Warning, words::SERVICE, words::OUT_LONG)));
        }
        blocks.push(Block::buttons(vec![form("take-out", words::TAKE_OUT, Form::Impair)]));
        blocks
    }

    fn secure(&self) -> Option<Block> {
        let (rows, unknown) = (&self.releases, self.releases_unknown);
        if rows.is_empty() && unknown == 0 {
            return None;
        }
        let open = rows.iter().filter(|row| row.secured.is_none()).count();
        let warning = (unknown > 0).then(|| {
            let words = words::releases_unknown(unknown);
            Block::notice("releases-unknown", Says::Warning, words::RELEASES_UNKNOWN_WORD, words)
        });
        let rows = Block::rows(words::SECURE, rows.iter().map(release).collect());
        Some(Block::fold("secure", words::secure(open), warning.into_iter().chain([rows]).collect()))
    }

    fn permit(&self) -> Option<Block> {
        if self.classified.is_empty() {
            return None;
        }
        let have = self.permits.iter().map(|line| Row::new("permit-line", line.clone(), "").sign(Shape::Done));
        let area = |(id, name): &(Option<Id>, String)| {
            let approval = id.map(|id| form("approval", words::CHECK_APPROVAL, Form::Approval(id)));
            let permit = form("permit", words::TAKE_PERMIT, Form::Permit(*id));
            let row = Row::new("classified", name.clone(), "").sign(Shape::Warning);
            Row { buttons: [permit].into_iter().chain(approval).collect(), ..row }
        };
        let rows = have.chain(self.classified.iter().map(area)).collect();
        Some(Block::fold("permits", words::permits(self.permits.len()), vec![Block::rows(words::PERMIT, rows)]))
    }

    /// What has to be put back before the visit is closed.
    fn closing(&self) -> [Block; 2] {
        let close = Action::give(Command::CloseVisit { visit: self.id });
        let press = if self.open_points.is_empty() { close.clone() } else { Action::Open("still-open".into()) };
        let mut steps = self.notified(NotifyWhen::After);
        steps.push(Block::buttons(vec![Button::new("close-visit", words::CLOSE_VISIT, press).wide()]));
        let points = self.open_points.iter().map(|point| Row::new("open-point", point.clone(), "").sign(Shape::Open));
        let anyway = Button::new("close-anyway", words::CLOSE_ANYWAY, Action::Close.then(close));
        let open = vec![
            Block::rows(words::STILL_OPEN, points.collect()),
            Block::buttons(vec![anyway.look(Look::Danger).wide()]),
        ];
        [Block::fold("after", words::AFTER, steps), Block::sheet("still-open", words::STILL_OPEN, open)]
    }
}

fn notify(row: &NotifyRow) -> Row {
    let NotifyRow { whom, form, said, entry, when, .. } = row;
    let (shape, tone, word) = match said {
        Some(_) => (Shape::Done, Tone::Good, words::TOLD),
        None => (Shape::Open, Tone::Plain, words::NOT_TOLD),
    };
    let (whom, name) = (words::whom(*whom), stored::name(whom));
    let key = format!("notify-{}-{name}", stored::name(when));
    let undo = entry.map(|entry| {
        let undo = Button::new(format!("undo-notify-{name}"), words::UNDO, Action::Undo(entry, whom.into()));
        undo.icon(Shape::Undo)
    });
    let row = Row::new(key, whom, said.clone().unwrap_or_default()).to(Route::Form(*form));
    Row { buttons: undo.into_iter().collect(), ..row.badge(shape, tone, word) }
}

fn release(row: &ReleaseRow) -> Row {
    let name = words::slug(&row.release);
    let key = match row.secured {
        Some(_) => form(format!("restore-{name}"), words::RESTORE_IT, row.form),
        None => form(format!("secure-{name}"), words::SECURE_IT, row.form),
    };
    Row { buttons: vec![key], ..Row::new("release", row.release.clone(), row.detail.clone()) }
}

fn position(row: &PositionRow) -> Row {
    let (shape, tone) = match row.standing {
        Standing::Due => (Shape::Time, Tone::Plain),
        Standing::Running | Standing::Calculating => (Shape::Wait, Tone::Note),
        Standing::Tested(sign, _) => sign.drawn(),
        Standing::Retest => (Shape::Again, Tone::Warn),
        Standing::DoNotHeat => (Shape::Alarm, Tone::Plain),
    };
    let to = row.running.map_or(Route::Before(row.id), |test| Route::Test(Some(test)));
    let buttons = row.open.map(|open| results(&row.tag, open)).unwrap_or_default();
    let line = Row::new(format!("position-{}", row.tag), row.tag.clone(), row.detail.clone());
    Row { buttons, ..line.to(to).badge(shape, tone, row.standing.words()) }
}

/// What the last test leaves to be said, a key each: panel point, then restore.
fn results(tag: &str, open: OpenResults) -> Vec<Button> {
    let panel = open.panel.into_iter().flat_map(|trip| panel_keys(trip, &format!("-{tag}")));
    let test = open.test;
    let restore = open.restore.then(|| {
        let yes = Action::Do(Request::Restored(test));
        [
            Button::new(format!("restored-{tag}"), words::RESTORED, yes),
            form(format!("not-restored-{tag}"), words::NOT_RESTORED, Form::Restored(test)),
        ]
    });
    panel.chain(restore.into_iter().flatten()).collect()
}

impl ItemRow {
    /// Its line in a list.
    pub fn line(self) -> Row {
        let sign = if self.open { Shape::Warning } else { Shape::Done };
        Row::new("item", self.title, self.detail).sign(sign).to(Route::Form(Form::Item(self.hash)))
    }
}
