//! Where in the app one is, as the address after `#`, so that the phone's back button works.

use crate::book::Id;
use crate::book::entry::Hash;

/// A place in the app.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Route {
    /// What is due, opening and closing steps.
    #[default]
    Visit,
    /// What is asked before a test of this detector.
    Before(Id),
    /// The tests that go on; this one in front.
    Test(Option<Id>),
    /// What the numbers say.
    Findings,
    /// One test in full.
    Finding(Id),
    /// Sites, areas, detectors, heaters.
    Register,
    /// A form.
    Form(Form),
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
    /// A heater.
    Heater(Option<Id>),
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
    /// The reason to reopen the visit.
    Reopen,
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
            Route::Visit | Route::Before(_) | Route::Settings | Route::People => Tab::Visit,
            Route::Test(_) => Tab::Test,
            Route::Findings | Route::Finding(_) | Route::Computed(_) => Tab::Findings,
            Route::Register | Route::Profile(_) | Route::ProfileRun(_) => Tab::Register,
            Route::Handover => Tab::Handover,
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
            Route::Before(id) => with("before", Some(id)),
            Route::Test(id) => with("test", id),
            Route::Findings => with("findings", None),
            Route::Finding(id) => with("findings", Some(id)),
            Route::Register => with("register", None),
            Route::Profile(id) => with("profile", Some(id)),
            Route::ProfileRun(id) => with("profile-run", Some(id)),
            Route::People => with("people", None),
            Route::Settings => with("settings", None),
            Route::Handover => with("handover", None),
            Route::Computed(None) => with("computed", None),
            Route::Computed(Some(topic)) => format!("#/computed/{topic}"),
            Route::Form(Form::Site(id)) => with("site", id),
            Route::Form(Form::Area(id)) => with("area", id),
            Route::Form(Form::Circuit(id)) => with("circuit", id),
            Route::Form(Form::Position(id)) => with("position", id),
            Route::Form(Form::PositionLike(id)) => with("position-like", Some(id)),
            Route::Form(Form::Heater(id)) => with("heater", id),
            Route::Form(Form::Procedure(id)) => with("procedure", id),
            Route::Form(Form::Marking(test)) => with("marking", Some(test)),
            Route::Form(Form::Person(id)) => with("person", id),
            Route::Form(Form::PhoneName) => with("phone", None),
            Route::Form(Form::Plan) => with("plan", None),
            Route::Form(Form::Notify(step)) => format!("#/notify/{step}"),
            Route::Form(Form::Reopen) => with("reopen", None),
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
            ("register", _) => Route::Register,
            ("profile", Some(id)) => Route::Profile(id),
            ("profile-run", Some(id)) => Route::ProfileRun(id),
            ("handover", _) => Route::Handover,
            ("computed", _) => Route::Computed(rest.and_then(|topic| topic.parse().ok())),
            ("site", id) => Route::Form(Form::Site(id)),
            ("area", id) => Route::Form(Form::Area(id)),
            ("circuit", id) => Route::Form(Form::Circuit(id)),
            ("position", id) => Route::Form(Form::Position(id)),
            ("position-like", Some(id)) => Route::Form(Form::PositionLike(id)),
            ("heater", id) => Route::Form(Form::Heater(id)),
            ("procedure", id) => Route::Form(Form::Procedure(id)),
            ("marking", Some(test)) => Route::Form(Form::Marking(test)),
            ("people", _) => Route::People,
            ("settings", _) => Route::Settings,
            ("person", id) => Route::Form(Form::Person(id)),
            ("phone", _) => Route::Form(Form::PhoneName),
            ("plan", _) => Route::Form(Form::Plan),
            ("reopen", _) => Route::Form(Form::Reopen),
            ("impair", _) => Route::Form(Form::Impair),
            ("permit", id) => Route::Form(Form::Permit(id)),
            ("approval", Some(id)) => Route::Form(Form::Approval(id)),
            ("visual", Some(id)) => Route::Form(Form::Visual(id)),
            ("repair", Some(id)) => Route::Form(Form::Repair(id)),
            ("replace", Some(id)) => Route::Form(Form::Replace(id)),
            ("judge", Some(id)) => Route::Form(Form::Judge(id)),
            ("restored", Some(id)) => Route::Form(Form::Restored(id)),
            ("notify", _) => {
                rest.and_then(|step| step.parse().ok()).map_or(Route::Visit, |step| Route::Form(Form::Notify(step)))
            }
            (name, _) => by_hash(name, rest),
        }
    }
}

/// A form that is about an entry, or is named by a hash.
fn by_hash(name: &str, rest: Option<&str>) -> Route {
    let form: fn(Hash) -> Form = match name {
        "secure" => Form::Secure,
        "restore" => Form::Restore,
        "clear-alarm" => Form::ClearAlarm,
        "item" => Form::Item,
        "reading" => Form::Reading,
        "strike" => Form::Strike,
        _ => return Route::Visit,
    };
    rest.and_then(|hash| hash.parse().ok()).map_or(Route::Visit, |hash| Route::Form(form(hash)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_place_is_found_again_by_its_address() {
        let id = Id::from_u128(7);
        let forms = [
            Form::Site(None),
            Form::Area(Some(id)),
            Form::Circuit(None),
            Form::Position(Some(id)),
            Form::PositionLike(id),
            Form::Heater(None),
            Form::Procedure(Some(id)),
            Form::Marking(id),
            Form::Person(None),
            Form::PhoneName,
            Form::Plan,
            Form::Notify(11),
            Form::Reopen,
            Form::Impair,
            Form::Secure(Hash::of(b"a")),
            Form::Restore(Hash::of(b"b")),
            Form::Permit(None),
            Form::Approval(id),
            Form::ClearAlarm(Hash::of(b"c")),
            Form::Visual(id),
            Form::Item(Hash::of(b"d")),
            Form::Repair(id),
            Form::Replace(id),
            Form::Reading(Hash::of(b"e")),
            Form::Strike(Hash::of(b"f")),
            Form::Judge(id),
            Form::Restored(id),
        ];
        let places = [
            Route::Visit,
            Route::Before(id),
            Route::Test(None),
            Route::Test(Some(id)),
            Route::Findings,
            Route::Finding(id),
            Route::Register,
            Route::Profile(id),
            Route::ProfileRun(id),
            Route::People,
            Route::Settings,
            Route::Handover,
            Route::Computed(None),
            Route::Computed(Some(3)),
        ];
        for place in places.into_iter().chain(forms.map(Route::Form)) {
            assert_eq!(Route::read(&place.address()), place);
        }
        assert_eq!(Route::read("#/nonsense/xyz"), Route::Visit);
        assert_eq!(Route::read(""), Route::Visit);
    }
}
