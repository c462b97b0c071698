//! Where in the app one is, as the address after `#`, so that the phone's back button works.

use crate::book::Id;
use crate::book::entry::Hash;
use crate::trade::heater_gaps::Gap;

/// A place in the app.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Route {
    /// What is due, opening and closing steps.
    #[default]
    Visit,
    /// What is asked before a test of this detector.
    Before(Id),
    /// What is still off.
    StillOff,
    /// What closing waits for.
    Closing,
    /// What came in at the panel.
    AtPanel,
    /// The tests that go on; this one in front.
    Test(Option<Id>),
    /// What the numbers say.
    Findings,
    /// One test in full.
    Finding(Id),
    /// A finished test, played again.
    Play(Id),
    /// Sites, areas, detectors, heaters.
    Register,
    /// One position: what is to be known before going up, and its past.
    Position(Id),
    /// The positions of an area.
    InArea(Id),
    /// The walking order of an area.
    Walk(Id),
    /// A form.
    Form(Form),
    /// A site's spreadsheet, in and out.
    Sheet(Id),
    /// The heater profiles of a heater.
    Profile(Id),
    /// A profile run of a heater: what is asked before, or the one that goes on.
    ProfileRun(Id),
    /// People, and who has the phone.
    People,
    /// Settings, cautions, about.
    Settings,
    /// Visit files out and in.
    Handover,
    /// A visit file that somebody was sent: whether it is whole, and what it says.
    CheckFile,
    /// What was done at a site on a day, by all phones; days since 1970, local.
    Day(Id, i64),
    /// What is due at a site.
    Due(Id),
    /// Which of its positions were tested in which year.
    Coverage(Id),
    /// What goes on the truck for a visit there.
    Truck(Id),
    /// The rules it goes by.
    Rules(Id),
    /// The office's folder, where visit files are sent.
    Folder,
    /// A passphrase for a sealed file.
    Passphrase,
    /// The record of the visit on screen.
    Record,
    /// Its notice of deficiencies.
    Notice,
    /// How it is computed: this topic, or the page from its top.
    Computed(Option<usize>),
}

/// A form of the register: a new thing, or the one to edit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// A site.
    Site(Option<Id>),
    /// An area of a site.
    Area(Option<Id>),
    /// A circuit of a site.
    Circuit(Option<Id>),
    /// A position with its detector.
    Position(Option<Id>),
    /// A new position like this one.
    PositionLike(Id),
    /// A position that is not on the list, like this one.
    Unlisted(Id),
    /// A heater.
    Heater(Option<Id>),
    /// The same, at the field for an answer that something needs.
    HeaterAsks(Id, Gap),
    /// A procedure.
    Procedure(Option<Id>),
    /// A fix of the rating that a test is judged by.
    Marking(Id),
    /// A person.
    Person(Option<Id>),
    /// This phone's name.
    PhoneName,
    /// What the visit is to do.
    Plan,
    /// A step of notifying: its number, those for the end behind those for the start.
    Notify(u8),
    /// A signature under the record: number of who signs.
    Sign(u8),
    /// The reason to reopen the visit.
    Reopen,
    /// The panel: as found, between, as left.
    Panel(u8),
    /// The panel's programming changed.
    Programming,
    /// What came in at the panel, by the entry that says it.
    PanelPoint(Hash),
    /// Why a position is not tested.
    NotTested(Id),
    /// A result by another method.
    OtherMethod(Id),
    /// Something stays off, accepted by name.
    LeaveOff(Hash),
    /// A break.
    Break,
    /// A pair opened for a meter, at a position or elsewhere.
    OpenPair(Option<Id>),
    /// The first alarm of a circuit.
    ProveCircuit(Id),
    /// Lift and fall protection.
    Lift,
    /// The visit given to another phone.
    Invite,
    /// Closing without an invited phone's file.
    Excuse(Hash),
    /// An impairment.
    Impair,
    /// Securing of a release, named by the hash of its name.
    Secure(Hash),
    /// Putting back what this entry took off.
    Restore(Hash),
    /// Permit and gas test of an area, or of the site.
    Permit(Option<Id>),
    /// A heater's approval held against this area.
    Approval(Id),
    /// Clearing of an alarm that was not ours.
    ClearAlarm(Hash),
    /// A visual check of a position.
    Visual(Id),
    /// An item: its class, who was told, how it was closed.
    Item(Hash),
    /// A repair at a position.
    Repair(Id),
    /// A new detector in a position.
    Replace(Id),
    /// Correction of a reading.
    Reading(Hash),
    /// A mark that is none.
    Strike(Hash),
    /// A technician's judgment of a test.
    Judge(Id),
    /// Whether a detector restored after its test.
    Restored(Id),
    /// What the panel showed in place of the right point, at this trip.
    PanelShowed(Hash),
    /// The caption of a photo, named by its entry.
    Caption(Hash),
    /// What a site goes by, beside its rules.
    SiteRules(Id),
    /// A rule of a site, by its number; one behind the last is new.
    Rule(Id, u8),
    /// Whom a site notifies, by its number in the list of all.
    NotifyStep(Id, u8),
    /// A position put on the list of the visit by hand, or taken off.
    PlanPosition(Id),
}

/// The five places of the bar.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tab {
    /// Visit.
    Visit,
    /// Test.
    Test,
    /// Findings.
    Findings,
    /// Register.
    Register,
    /// Handover.
    Handover,
}

impl Tab {
    /// In the order of the bar.
    pub const ALL: [Tab; 5] = [Tab::Visit, Tab::Test, Tab::Findings, Tab::Register, Tab::Handover];

    /// Where a tap on it leads.
    pub fn place(self) -> Route {
        match self {
            Tab::Visit => Route::Visit,
            Tab::Test => Route::Test(None),
            Tab::Findings => Route::Findings,
            Tab::Register => Route::Register,
            Tab::Handover => Route::Handover,
        }
    }

    /// The name that stays the same in every language.
    pub fn name(self) -> &'static str {
        match self {
            Tab::Visit => "visit",
            Tab::Test => "test",
            Tab::Findings => "results",
            Tab::Register => "devices",
            Tab::Handover => "send",
        }
    }

    /// Its words.
    pub fn words(self) -> &'static str {
        match self {
            Tab::Visit => "Visit",
            Tab::Test => "Test",
            Tab::Findings => "Results",
            Tab::Register => "Devices",
            Tab::Handover => "Send",
        }
    }
}

impl Route {
    /// The bar's place it belongs to.
    pub fn tab(self) -> Tab {
        match self {
            Route::Visit | Route::StillOff | Route::Closing | Route::AtPanel => Tab::Visit,
            Route::Before(_) | Route::Settings | Route::People => Tab::Visit,
            Route::Test(_) => Tab::Test,
            Route::Findings | Route::Finding(_) | Route::Play(_) | Route::Computed(_) => Tab::Findings,
            Route::Register
            | Route::Position(_)
            | Route::InArea(_)
            | Route::Walk(_)
            | Route::Sheet(_)
            | Route::Profile(_)
            | Route::ProfileRun(_) => Tab::Register,
            Route::Due(_) | Route::Coverage(_) | Route::Truck(_) | Route::Rules(_) => Tab::Register,
            Route::Handover
            | Route::CheckFile
            | Route::Day(..)
            | Route::Folder
            | Route::Passphrase
            | Route::Record
            | Route::Notice => Tab::Handover,
            Route::Form(form) => match super::forms::back(form) {
                // A form leads back to no form.
                Route::Form(_) => Tab::Register,
                back => back.tab(),
            },
        }
    }

    /// The address, with its `#`.
    pub fn address(self) -> String {
        let with = |name: &str, id: Option<Id>| id.map_or_else(|| format!("#/{name}"), |id| format!("#/{name}/{id}"));
        let by_hash = |name: &str, hash: Hash| format!("#/{name}/{hash}");
        match self {
            Route::Visit => with("visit", None),
            Route::StillOff => with("still-off", None),
            Route::Closing => with("closing", None),
            Route::AtPanel => with("at-panel", None),
            Route::Before(id) => with("before", Some(id)),
            Route::Test(id) => with("test", id),
            Route::Findings => with("findings", None),
            Route::Finding(id) => with("findings", Some(id)),
            Route::Play(id) => with("play", Some(id)),
            Route::Register => with("register", None),
            Route::Position(id) => with("device", Some(id)),
            Route::InArea(id) => with("in-area", Some(id)),
            Route::Walk(id) => with("walk", Some(id)),
            Route::Sheet(site) => with("sheet", Some(site)),
            Route::Profile(id) => with("profile", Some(id)),
            Route::ProfileRun(id) => with("profile-run", Some(id)),
            Route::People => with("people", None),
            Route::Settings => with("settings", None),
            Route::Handover => with("handover", None),
            Route::CheckFile => with("check-file", None),
            Route::Day(site, day) => format!("#/day/{site}/{day}"),
            Route::Due(site) => with("due", Some(site)),
            Route::Coverage(site) => with("coverage", Some(site)),
            Route::Truck(site) => with("truck", Some(site)),
            Route::Rules(site) => with("rules", Some(site)),
            Route::Folder => with("office-folder", None),
            Route::Passphrase => with("passphrase", None),
            Route::Record => with("record", None),
            Route::Notice => with("notice", None),
            Route::Computed(None) => with("computed", None),
            Route::Computed(Some(topic)) => format!("#/computed/{topic}"),
            Route::Form(Form::Site(id)) => with("site", id),
            Route::Form(Form::Area(id)) => with("area", id),
            Route::Form(Form::Circuit(id)) => with("circuit", id),
            Route::Form(Form::Position(id)) => with("position", id),
            Route::Form(Form::PositionLike(id)) => with("position-like", Some(id)),
            Route::Form(Form::Unlisted(id)) => with("unlisted", Some(id)),
            Route::Form(Form::Heater(id)) => with("heater", id),
            Route::Form(Form::HeaterAsks(id, gap)) => format!("#/heater-asks/{id}/{}", gap.name()),
            Route::Form(Form::Procedure(id)) => with("procedure", id),
            Route::Form(Form::Marking(test)) => with("marking", Some(test)),
            Route::Form(Form::Person(id)) => with("person", id),
            Route::Form(Form::PhoneName) => with("phone", None),
            Route::Form(Form::Plan) => with("plan", None),
            Route::Form(Form::Notify(step)) => format!("#/notify/{step}"),
            Route::Form(Form::Sign(signer)) => format!("#/sign/{signer}"),
            Route::Form(Form::Reopen) => with("reopen", None),
            Route::Form(Form::Panel(when)) => format!("#/panel/{when}"),
            Route::Form(Form::Programming) => with("programming", None),
            Route::Form(Form::PanelPoint(saw)) => by_hash("panel-point", saw),
            Route::Form(Form::NotTested(id)) => with("not-tested", Some(id)),
            Route::Form(Form::OtherMethod(id)) => with("other-method", Some(id)),
            Route::Form(Form::LeaveOff(off)) => by_hash("leave-off", off),
            Route::Form(Form::Break) => with("break", None),
            Route::Form(Form::OpenPair(id)) => with("open-pair", id),
            Route::Form(Form::ProveCircuit(id)) => with("prove", Some(id)),
            Route::Form(Form::Lift) => with("lift", None),
            Route::Form(Form::Invite) => with("invite", None),
            Route::Form(Form::Excuse(invitation)) => by_hash("excuse", invitation),
            Route::Form(Form::Impair) => with("impair", None),
            Route::Form(Form::Secure(release)) => by_hash("secure", release),
            Route::Form(Form::Restore(ends)) => by_hash("restore", ends),
            Route::Form(Form::Permit(area)) => with("permit", area),
            Route::Form(Form::Approval(area)) => with("approval", Some(area)),
            Route::Form(Form::ClearAlarm(alarm)) => by_hash("clear-alarm", alarm),
            Route::Form(Form::Visual(id)) => with("visual", Some(id)),
            Route::Form(Form::Item(item)) => by_hash("item", item),
            Route::Form(Form::Repair(id)) => with("repair", Some(id)),
            Route::Form(Form::Replace(id)) => with("replace", Some(id)),
            Route::Form(Form::Reading(reading)) => by_hash("reading", reading),
            Route::Form(Form::Strike(mark)) => by_hash("strike", mark),
            Route::Form(Form::Judge(test)) => with("judge", Some(test)),
            Route::Form(Form::Restored(test)) => with("restored", Some(test)),
            Route::Form(Form::PanelShowed(trip)) => by_hash("panel-showed", trip),
            Route::Form(Form::Caption(photo)) => by_hash("caption", photo),
            Route::Form(Form::SiteRules(site)) => with("site-rules", Some(site)),
            Route::Form(Form::Rule(site, number)) => format!("#/rule/{site}/{number}"),
            Route::Form(Form::NotifyStep(site, number)) => format!("#/notify-step/{site}/{number}"),
            Route::Form(Form::PlanPosition(id)) => with("plan-position", Some(id)),
        }
    }

    /// Reads an address; an unknown one leads to the visit.
    pub fn read(address: &str) -> Route {
        let mut parts = address.trim_start_matches('#').trim_start_matches('/').splitn(2, '/');
        let name = parts.next().unwrap_or_default();
        let rest = parts.next();
        let id = rest.and_then(|id| Id::try_parse(id).ok());
        match (name, id) {
            ("before", Some(id)) => Route::Before(id),
            ("test", id) => Route::Test(id),
            ("findings", None) => Route::Findings,
            ("findings", Some(id)) => Route::Finding(id),
            ("play", Some(id)) => Route::Play(id),
            ("register", _) => Route::Register,
            ("device", Some(id)) => Route::Position(id),
            ("in-area", Some(id)) => Route::InArea(id),
            ("walk", Some(id)) => Route::Walk(id),
            ("sheet", Some(site)) => Route::Sheet(site),
            ("profile", Some(id)) => Route::Profile(id),
            ("profile-run", Some(id)) => Route::ProfileRun(id),
            ("handover", _) => Route::Handover,
            ("check-file", _) => Route::CheckFile,
            ("office-folder", _) => Route::Folder,
            ("passphrase", _) => Route::Passphrase,
            ("record", _) => Route::Record,
            ("notice", _) => Route::Notice,
            ("computed", _) => Route::Computed(rest.and_then(|topic| topic.parse().ok())),
            ("site", id) => Route::Form(Form::Site(id)),
            ("area", id) => Route::Form(Form::Area(id)),
            ("circuit", id) => Route::Form(Form::Circuit(id)),
            ("position", id) => Route::Form(Form::Position(id)),
            ("position-like", Some(id)) => Route::Form(Form::PositionLike(id)),
            ("unlisted", Some(id)) => Route::Form(Form::Unlisted(id)),
            ("heater", id) => Route::Form(Form::Heater(id)),
            ("procedure", id) => Route::Form(Form::Procedure(id)),
            ("marking", Some(test)) => Route::Form(Form::Marking(test)),
            ("people", _) => Route::People,
            ("settings", _) => Route::Settings,
            ("person", id) => Route::Form(Form::Person(id)),
            ("phone", _) => Route::Form(Form::PhoneName),
            ("plan", _) => Route::Form(Form::Plan),
            ("sign", _) => rest.and_then(|of| of.parse().ok()).map_or(Route::Record, |of| Route::Form(Form::Sign(of))),
            ("reopen", _) => Route::Form(Form::Reopen),
            ("impair", _) => Route::Form(Form::Impair),
            ("still-off", _) => Route::StillOff,
            ("closing", _) => Route::Closing,
            ("at-panel", _) => Route::AtPanel,
            ("programming", _) => Route::Form(Form::Programming),
            ("not-tested", Some(id)) => Route::Form(Form::NotTested(id)),
            ("other-method", Some(id)) => Route::Form(Form::OtherMethod(id)),
            ("break", _) => Route::Form(Form::Break),
            ("open-pair", id) => Route::Form(Form::OpenPair(id)),
            ("prove", Some(id)) => Route::Form(Form::ProveCircuit(id)),
            ("lift", _) => Route::Form(Form::Lift),
            ("invite", _) => Route::Form(Form::Invite),
            ("panel", _) => {
                rest.and_then(|when| when.parse().ok()).map_or(Route::Visit, |when| Route::Form(Form::Panel(when)))
            }
            ("permit", id) => Route::Form(Form::Permit(id)),
            ("approval", Some(id)) => Route::Form(Form::Approval(id)),
            ("visual", Some(id)) => Route::Form(Form::Visual(id)),
            ("repair", Some(id)) => Route::Form(Form::Repair(id)),
            ("replace", Some(id)) => Route::Form(Form::Replace(id)),
            ("judge", Some(id)) => Route::Form(Form::Judge(id)),
            ("restored", Some(id)) => Route::Form(Form::Restored(id)),
            ("site-rules", Some(id)) => Route::Form(Form::SiteRules(id)),
            ("plan-position", Some(id)) => Route::Form(Form::PlanPosition(id)),
            ("due", Some(id)) => Route::Due(id),
            ("coverage", Some(id)) => Route::Coverage(id),
            ("truck", Some(id)) => Route::Truck(id),
            ("rules", Some(id)) => Route::Rules(id),
            ("rule", None) => rest.and_then(|rest| of_site(rest, Form::Rule)).unwrap_or_default(),
            ("notify-step", None) => rest.and_then(|rest| of_site(rest, Form::NotifyStep)).unwrap_or_default(),
            ("day", None) => rest.and_then(day).unwrap_or_default(),
            ("notify", _) => {
                rest.and_then(|step| step.parse().ok()).map_or(Route::Visit, |step| Route::Form(Form::Notify(step)))
            }
            ("heater-asks", _) => heater_asks(rest.unwrap_or_default()),
            (name, _) => by_hash(name, rest),
        }
    }
}

fn heater_asks(rest: &str) -> Route {
    let (id, asked) = rest.split_once('/').unwrap_or((rest, ""));
    let Ok(id) = Id::try_parse(id) else { return Route::Register };
    let gap = Gap::ALL.into_iter().find(|gap| gap.name() == asked);
    Route::Form(gap.map_or(Form::Heater(Some(id)), |gap| Form::HeaterAsks(id, gap)))
}

/// Something of a site, by its number.
fn of_site(rest: &str, form: fn(Id, u8) -> Form) -> Option<Route> {
    let (site, number) = rest.split_once('/')?;
    Some(Route::Form(form(Id::try_parse(site).ok()?, number.parse().ok()?)))
}

/// A day of a site.
fn day(rest: &str) -> Option<Route> {
    let (site, day) = rest.split_once('/')?;
    Some(Route::Day(Id::try_parse(site).ok()?, day.parse().ok()?))
}

/// A form that is about an entry, or is named by a hash.
fn by_hash(name: &str, rest: Option<&str>) -> Route {
    let form: fn(Hash) -> Form = match name {
        "leave-off" => Form::LeaveOff,
        "panel-point" => Form::PanelPoint,
        "excuse" => Form::Excuse,
        "secure" => Form::Secure,
        "restore" => Form::Restore,
        "clear-alarm" => Form::ClearAlarm,
        "item" => Form::Item,
        "reading" => Form::Reading,
        "strike" => Form::Strike,
        "panel-showed" => Form::PanelShowed,
        "caption" => Form::Caption,
        _ => return Route::Visit,
    };
    rest.and_then(|hash| hash.parse().ok()).map_or(Route::Visit, |hash| Route::Form(form(hash)))
}
