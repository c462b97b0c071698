//! The Visit screen as a page: before a visit is chosen, and with one.

use super::day::has_estimate;
use super::list::{OpenResults, PositionRow, Standing};
use super::{ItemRow, NotifyRow, ReleaseRow, VisitScreen};
use crate::book::Id;
use crate::book::body::{NotifyWhen, What};
use crate::book::command::Command;
use crate::book::entry::Hash;
use crate::book::register::Register;
use crate::book::visit::{Heading, State, Station};
use crate::encoding::stored;
use crate::order;
use crate::trade::caution;
use crate::units::Wall;
use crate::view::find::{FIND_BY, Filter, Index, MOST, Seek};
use crate::view::findings::Sign;
use crate::view::findings::one::page::panel_keys;
use crate::view::page::sign::{Look, Says, Shape, Tone};
use crate::view::page::{Action, Block, Button, Empty, Find, Fold, Kind, List, Page, Request, Role, Row, Setting};
use crate::view::register::{MOST_AT_ONCE, listed_hits};
use crate::view::route::{Form, Route};
use crate::view::{at_panel, leaving, time, words};

const PANEL: &str = "Panel";
const REQUIRED: &str = "Required here";
const SWAPPED: &str = "Addresses swapped?";
const WHICH_POINT: &str = "Which point…";
const RECORD_IT: &str = "Record it";
const PROVE: &str = "Answer";
const FIRST_ALARM: &str = "First alarm on this circuit";
const PROGRAMMING: &str = "Programming changed";
const FIRST_ALARMS: &str = "First alarms";

/// Words of the key for a detector that is not on the list.
const NOT_ON_THE_LIST: &str = "Not on the list";

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

/// Sites to open a visit on, and the visits there are, each with how it stands; `whole` once all of them are read, `offset` local time
/// minus UTC at a wall clock time.
pub fn choose(register: &Register, visits: &[(Heading, State)], whole: bool, offset: impl Fn(Wall) -> i64) -> Page {
    let name = |site: Id| register.sites.get(&site).and_then(|group| group.now()).map(|site| site.name.clone());
    let sites = register.sites.keys().filter_map(|id| Some((name(*id)?, *id)));
    let open = |(name, id): (String, Id)| {
        Row::new("open-visit", name, "").sign(Shape::Plus).action(Action::Do(Request::OpenVisit(id)))
    };
    let sites = order::by(sites.collect::<Vec<_>>(), |(name, _)| (0, 0, name.clone())).into_iter().map(open).collect();
    // Looking writes nothing: another phone's visit is taken part in with the first fact recorded in it.
    let known = |(visit, state): &(Heading, State)| {
        let (sign, state) = match state {
            State::Open => (Shape::Visit, words::OPEN),
            State::Closed => (Shape::Visit, words::CLOSED),
            State::ClosedStillOff => (Shape::Warning, words::STILL_OFF),
        };
        let opened = time::wall(visit.opened, offset(visit.opened));
        let row = Row::new("other-visit", name(visit.site).unwrap_or_default(), format!("{opened} · {state}"));
        row.sign(sign).action(Action::Set(Setting::Visit, visit.id.to_string().into()))
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
    pub fn page(&self, now: Wall) -> Page {
        let mut blocks = Vec::new();
        blocks.extend(self.tour());
        if self.closed {
            let reopen = form("reopen", words::REOPEN, Form::Reopen);
            blocks.push(match self.closed_still_off {
                // A merge brought something that the closing did not know of, or an acceptance ran out.
                true => {
                    let off = Button::to("to-still-off", leaving::STILL_OFF, Route::StillOff).look(Look::Primary);
                    let (word, words) = (leaving::CLOSED_STILL_OFF, leaving::CLOSED_STILL_OFF_WORDS);
                    Block::notice("closed-still-off", Says::Alarm, word, words).with(vec![off, reopen])
                }
                false => {
                    let closed = Block::notice("visit-closed", Says::Done, words::CLOSED, words::VISIT_CLOSED);
                    closed.with(vec![reopen])
                }
            });
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
        blocks.extend(self.next());
        blocks.extend(self.day());
        blocks.extend((!self.areas.is_empty()).then(find));
        blocks.extend(self.positions());
        blocks.extend(self.unlisted());
        if !self.proofs.is_empty() {
            let row = |(circuit, said): &(String, String)| Row::new("proof", circuit.clone(), said.clone());
            let rows = Block::rows(FIRST_ALARMS, self.proofs.iter().map(row).collect());
            blocks.push(Block::section("proofs", FIRST_ALARMS, vec![rows]));
        }
        blocks.extend(self.reacceptance());
        if !self.items.is_empty() {
            let rows = self.items.iter().cloned().map(ItemRow::line).collect();
            blocks.push(Block::section("items", words::ITEMS, vec![Block::rows(words::ITEMS, rows)]));
        }
        if !self.closed {
            blocks.extend(self.closing());
        }
        self.framed(blocks)
    }

    fn framed(&self, blocks: Vec<Block>) -> Page {
        let leave = Button::new("leave-visit", words::LEAVE_VISIT, Action::Set(Setting::Visit, "".into()));
        let leave = Button { bare: true, ..leave.look(Look::Plain).icon(Shape::More) };
        Page {
            name: "visit",
            title: self.site.clone().into(),
            detail: words::visit_detail(self.visit_type, &self.opened, self.done).into(),
            menu: vec![to_settings(), leave],
            blocks,
            ..Page::default()
        }
    }

    /// The positions of an area. Where they are too many for one list, only the area one works in is open.
    fn area(&self, name: &str, rows: &[&PositionRow], many: bool) -> Block {
        let list = vec![Block::rows(name.to_string(), rows.iter().map(|row| position(row)).collect())];
        if !many {
            return Block::section(name.to_string(), name.to_string(), list);
        }
        let tested = rows.iter().filter(|row| row.standing.is_tested()).count();
        let title = format!("{name}: {tested} of {} tested", rows.len());
        let open = rows.iter().any(|row| self.like == Some(row.id));
        Block::new(name.to_string(), Kind::Fold(Fold { title: title.into(), open, blocks: list }))
    }

    /// The page with what was found in place of everything else.
    pub fn found(&self, index: &Index, seek: &Seek) -> Page {
        let rows = order::map(self.areas.iter().flat_map(|(_, rows)| rows).map(|row| (row.id, row)));
        let fits = |row: &PositionRow| match seek.filter {
            // Not tested for a reason is still to be tested.
            Some(Filter::Untested) => {
                matches!(row.standing, Standing::Due | Standing::NotTested(_) | Standing::NoResult)
            }
            Some(Filter::Retest) => matches!(row.standing, Standing::Retest | Standing::Tested(Sign::Again, _)),
            Some(Filter::Failed) => matches!(row.standing, Standing::Tested(Sign::Bad | Sign::BadHalf, _)),
            _ => true,
        };
        let hits = index.hits(&seek.text, |id| rows.get(&id).is_some_and(|row| fits(row)), MOST);
        let found = hits.ids.iter().filter_map(|id| rows.get(id)).map(|row| position(row)).collect();
        let mut blocks = vec![find()];
        blocks.extend(listed_hits(found, hits.more));
        blocks.extend(self.unlisted());
        self.framed(blocks)
    }

    /// Leads on from the last test, or to the first: from here to heat on are two taps.
    fn next(&self) -> Option<Block> {
        let (id, tag) = self.next.as_ref().filter(|_| !self.closed)?;
        let key = Button::to("next", format!("Next: {tag}"), Route::Before(*id));
        Some(Block::buttons(vec![key.look(Look::Primary).icon(Shape::Test).wide()]))
    }

    /// What is left of the day.
    fn day(&self) -> Option<Block> {
        let facts = self.day.iter().map(|(name, said)| ((*name).into(), said.clone().into())).collect();
        let mut blocks = vec![Block::new("day-facts", Kind::Facts(facts))];
        // They are about an estimate.
        blocks.extend(has_estimate(&self.day).then(|| Block::text("day-words", Role::Soft, words::DAY_WORDS)));
        (!self.day.is_empty()).then(|| Block::section("day", words::DAY, blocks))
    }

    /// What is tested again because the panel's programming changed.
    fn reacceptance(&self) -> Option<Block> {
        let row = |(entry, what, how): &(Hash, String, String)| {
            let undo = Button::new("undo-programming", words::UNDO, Action::Undo(*entry, PROGRAMMING.into()));
            Row { buttons: vec![undo], ..Row::new("programming", what.clone(), how.clone()) }
        };
        let rows: Vec<Row> = self.programming.iter().map(row).collect();
        let source = Block::text("source", Role::Source, words::REACCEPTANCE_SOURCE);
        (!rows.is_empty())
            .then(|| Block::section("reacceptance", PROGRAMMING, vec![Block::rows(PROGRAMMING, rows), source]))
    }

    /// The key for a detector that hangs there and is not on the list.
    fn unlisted(&self) -> Option<Block> {
        let like = self.like.filter(|_| !self.closed)?;
        let key = form("unlisted", NOT_ON_THE_LIST, Form::Unlisted(like)).icon(Shape::Plus);
        Some(Block::buttons(vec![key]))
    }

    /// Where a newcomer may look.
    fn tour(&self) -> Option<Block> {
        let sign = |place: &Route| match place {
            Route::Play(_) => Shape::Time,
            Route::Finding(_) => Shape::Findings,
            _ => Shape::Test,
        };
        let line = |(words, place): &(&'static str, Route)| Row::new("tour", *words, "").sign(sign(place)).to(*place);
        let rows: Vec<Row> = self.tour.iter().map(line).collect();
        let blocks = vec![Block::text("tour-words", Role::Plain, words::TOUR_WORDS), Block::rows(words::TOUR, rows)];
        (!self.tour.is_empty()).then(|| Block::section("tour", words::TOUR, blocks))
    }

    /// The positions by area. With a list those on it come first, and the others only where they need somebody; the rest is folded.
    fn positions(&self) -> Vec<Block> {
        let any = self.areas.iter().flat_map(|(_, rows)| rows).any(|row| row.planned);
        let first = |row: &PositionRow| {
            !any || row.planned || row.open.is_some() || matches!(row.standing, Standing::Running | Standing::Retest)
        };
        let rest = self.areas.iter().flat_map(|(_, rows)| rows).filter(|row| !first(row)).count();
        let all = self.areas.iter().map(|(_, rows)| rows.len()).sum::<usize>();
        let areas = |wanted: bool, count: usize| {
            let of = |(area, rows): &(String, Vec<PositionRow>)| {
                let rows: Vec<&PositionRow> = rows.iter().filter(|row| first(row) == wanted).collect();
                (!rows.is_empty()).then(|| self.area(area, &rows, count > MOST_AT_ONCE))
            };
            self.areas.iter().filter_map(of).collect::<Vec<_>>()
        };
        let mut blocks = areas(true, all - rest);
        let others = || Block::fold("not-planned", format!("Not planned: {rest}"), areas(false, rest));
        blocks.extend((rest > 0).then(others));
        blocks
    }

    /// What has to be right before the lift goes up.
    fn opening(&self, now: Wall) -> Vec<Block> {
        let mut blocks = Vec::new();
        if matches!(self.station, Station::Lapsed { .. }) {
            let (word, words) = (words::STATION_LAPSED_WORD, words::STATION_LAPSED);
            blocks.push(Block::notice("station-lapsed", Says::Alarm, word, words));
        }
        for (circuit, name) in &self.unproved {
            let prove = form("prove", PROVE, Form::ProveCircuit(*circuit)).look(Look::Primary);
            let words = format!("First alarm on {name}: right point, outputs stayed off, station received it?");
            blocks.push(Block::notice("unproved", Says::Warning, FIRST_ALARM, words).with(vec![prove]));
        }
        for [(one, tag), (other, other_tag)] in &self.swapped {
            let find = Command::FindSwapped { visit: self.id, one: *one, other: *other };
            let find = Button::new("swapped", RECORD_IT, Action::give(find)).look(Look::Primary);
            let words = format!("{tag} and {other_tag} look swapped: each showed the other's point.");
            blocks.push(Block::notice("swapped", Says::Warning, SWAPPED, words).with(vec![find]));
        }
        let to_panel = |label| Button::to("to-panel", label, Route::AtPanel);
        if self.matches > 0 {
            let words = words::plural(
                self.matches,
                "point came in at the panel that matches a trip",
                "points came in at the panel that match trips",
            );
            let keys = vec![to_panel(at_panel::LOOK).look(Look::Primary)];
            blocks.push(Block::notice("panel-matches", Says::Info, PANEL, format!("{words}.")).with(keys));
        }
        for words in &self.contradictions {
            let keys = vec![to_panel(at_panel::LOOK)];
            blocks.push(Block::notice("panel-contradicts", Says::Warning, PANEL, words.clone()).with(keys));
        }
        let mut steps = self.notified(NotifyWhen::Before);
        steps.push(Block::text("panel", Role::Heading, PANEL));
        steps.push(Block::rows(PANEL, vec![panel("panel-found", "Panel as found", &self.panel[0], 0)]));
        steps.extend(self.impairments(now));
        let lift = Row::new("lift", "Lift check", self.lift.clone().unwrap_or_else(|| "Once a shift".into()));
        steps.push(Block::rows("Lift", vec![lift.to(Route::Form(Form::Lift))]));
        steps.push(Block::buttons(vec![
            form("plan", words::PLAN, Form::Plan).icon(Shape::Pen),
            Button::to("to-due", words::DUE, Route::Due(self.site_id)).icon(Shape::Time),
            form("open-pair", "Lift wires", Form::OpenPair(None)),
            form("invite", "Add a phone", Form::Invite),
            form("programming", PROGRAMMING, Form::Programming),
        ]));
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
        blocks.push(Block::buttons(vec![to_panel(at_panel::TITLE).icon(Shape::Time)]));
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
        let site_list = Button::to("site-list", words::SITE_LIST, Route::Rules(self.site_id)).icon(Shape::Pen);
        vec![
            Block::text(title, Role::Heading, title),
            Block::rows(title, rows(true)),
            Block::fold(
                format!("others-{}", stored::name(&when)),
                words::OTHERS,
                vec![Block::rows(words::OTHERS, rows(false)), Block::buttons(vec![site_list])],
            ),
        ]
    }

    fn impairments(&self, now: Wall) -> Vec<Block> {
        let mut blocks = vec![Block::text("service", Role::Heading, words::SERVICE)];
        for row in &self.impaired {
            let since = time::minutes(now.saturating_sub(row.from));
            let detail = [words::out_since(&since), row.detail.clone()].join(" · ");
            blocks.push(Block::rows(words::SERVICE, vec![Row::new("impaired", row.what.clone(), detail)]));
            // Apart from the clock, which goes on while a finger presses.
            blocks.push(Block::buttons(vec![form("put-back", words::PUT_BACK, Form::Restore(row.hash))]));
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
        let mut steps = self.notified(NotifyWhen::After);
        steps.push(Block::rows(PANEL, vec![panel("panel-left", "Panel as left", &self.panel[1], 2)]));
        let close = Button::to("to-closing", leaving::TO_CLOSING, Route::Closing).look(Look::Primary).wide();
        [Block::fold("after", words::AFTER, steps), Block::buttons(vec![close])]
    }
}

/// The panel as somebody saw it, and its form.
fn panel(key: &'static str, title: &'static str, seen: &Option<String>, when: u8) -> Row {
    let row = Row::new(key, title, seen.clone().unwrap_or_default()).to(Route::Form(Form::Panel(when)));
    match seen {
        Some(_) => row.badge(Shape::Done, Tone::Good, "Seen"),
        None => row.badge(Shape::Open, Tone::Plain, "Not recorded"),
    }
}

fn notify(row: &NotifyRow) -> Row {
    let NotifyRow { whom, form, said, entry, when, .. } = row;
    let (shape, tone, word) = match said {
        Some(_) => (Shape::Done, Tone::Good, words::TOLD),
        None if row.required => (Shape::Warning, Tone::Warn, REQUIRED),
        None => (Shape::Open, Tone::Plain, words::NOT_TOLD),
    };
    let (whom, name) = (words::whom(*whom), stored::name(whom));
    let key = format!("notify-{}-{name}", stored::name(when));
    let undo = entry.map(|entry| {
        let undo = Button::new(format!("undo-notify-{name}"), words::UNDO, Action::Undo(entry, whom.into()));
        undo.icon(Shape::Undo)
    });
    let detail = said.clone().or_else(|| row.label.clone()).unwrap_or_default();
    let row = Row::new(key, whom, detail).to(Route::Form(*form));
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

fn find() -> Block {
    let find = Find { list: List::Visit, label: FIND_BY, filters: &Filter::OF_VISIT };
    Block::new("find", Kind::Find(find))
}

fn position(row: &PositionRow) -> Row {
    let (shape, tone) = match row.standing {
        Standing::Due | Standing::NotTested(_) => (Shape::Time, Tone::Plain),
        Standing::NoResult => Sign::Open.drawn(),
        Standing::Running | Standing::Calculating => (Shape::Wait, Tone::Note),
        Standing::Tested(sign, _) => sign.drawn(),
        Standing::Retest => (Shape::Again, Tone::Warn),
        Standing::DoNotHeat => (Shape::Alarm, Tone::Plain),
    };
    let to = row.running.map_or(Route::Before(row.id), |test| Route::Test(Some(test)));
    let buttons = row.open.map(|open| results(&row.tag, open)).unwrap_or_default();
    let line = Row::new(format!("position-{}", row.tag), row.tag.clone(), row.detail.clone());
    let about = Button::to(format!("about-{}", row.tag), format!("About {}", row.tag), Route::Position(row.id));
    let about = Button { bare: true, ..about.look(Look::Plain).icon(Shape::More) };
    Row { buttons, ..line.to(to).badge(shape, tone, row.standing.words()).aside(about) }
}

/// What the last test leaves to be said, a key each: trip, then panel point, then restore.
fn results(tag: &str, open: OpenResults) -> Vec<Button> {
    let mark = |what| Action::give(Command::Mark { of: open.test, what });
    let tripped =
        open.trip.then(|| Button::new(format!("tripped-{tag}"), words::order(What::Tripped), mark(What::Tripped)));
    let panel = open.panel.into_iter().flat_map(|trip| panel_keys(trip, &format!("-{tag}")));
    let showed = open.showed.map(|trip| form(format!("showed-{tag}"), WHICH_POINT, Form::PanelShowed(trip)));
    let restored = if open.running { mark(What::Restored) } else { Action::Do(Request::Restored(open.test)) };
    let yes = open.restore.then(|| Button::new(format!("restored-{tag}"), words::RESTORED, restored));
    let no = (open.restore && !open.running)
        .then(|| form(format!("not-restored-{tag}"), words::NOT_RESTORED, Form::Restored(open.test)));
    tripped.into_iter().chain(panel).chain(showed).chain(yes).chain(no).collect()
}

impl ItemRow {
    /// Its line in a list.
    pub fn line(self) -> Row {
        let sign = if self.open { Shape::Warning } else { Shape::Done };
        Row::new("item", self.title, self.detail).sign(sign).to(Route::Form(Form::Item(self.hash)))
    }
}
