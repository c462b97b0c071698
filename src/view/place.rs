//! Where in the app one is, as the address after `#`, so that the phone's back button works.

use crate::book::Id;
use crate::book::entry::Hash;

/// A place in the app.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Place {
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
    pub fn place(self) -> Place {
        match self {
            Tab::Visit => Place::Visit,
            Tab::Test => Place::Test(None),
            Tab::Findings => Place::Findings,
            Tab::Register => Place::Register,
            Tab::Handover => Place::Handover,
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

impl Place {
    /// The bar's place it belongs to.
    pub fn tab(self) -> Tab {
        match self {
            Place::Visit | Place::Before(_) | Place::Settings | Place::People => Tab::Visit,
            Place::Test(_) => Tab::Test,
            Place::Findings | Place::Finding(_) | Place::Computed(_) => Tab::Findings,
            Place::Register | Place::Profile(_) | Place::ProfileRun(_) => Tab::Register,
            Place::Handover => Tab::Handover,
            Place::Form(form) => match super::forms::back(form) {
                // A form leads back to no form.
                Place::Form(_) => Tab::Register,
                back => back.tab(),
            },
        }
    }

    /// The address, with its `#`.
    pub fn address(self) -> String {
        let with = |name: &str, id: Option<Id>| id.map_or_else(|| format!("#/{name}"), |id| format!("#/{name}/{id}"));
        let by_hash = |name: &str, hash: Hash| format!("#/{name}/{hash}");
        match self {
            Place::Visit => with("visit", None),
            Place::Before(id) => with("before", Some(id)),
            Place::Test(id) => with("test", id),
            Place::Findings => with("findings", None),
            Place::Finding(id) => with("findings", Some(id)),
            Place::Register => with("register", None),
            Place::Profile(id) => with("profile", Some(id)),
            Place::ProfileRun(id) => with("profile-run", Some(id)),
            Place::People => with("people", None),
            Place::Settings => with("settings", None),
            Place::Handover => with("handover", None),
            Place::Computed(None) => with("computed", None),
            Place::Computed(Some(topic)) => format!("#/computed/{topic}"),
            Place::Form(Form::Site(id)) => with("site", id),
            Place::Form(Form::Area(id)) => with("area", id),
            Place::Form(Form::Circuit(id)) => with("circuit", id),
            Place::Form(Form::Position(id)) => with("position", id),
            Place::Form(Form::PositionLike(id)) => with("position-like", Some(id)),
            Place::Form(Form::Heater(id)) => with("heater", id),
            Place::Form(Form::Procedure(id)) => with("procedure", id),
            Place::Form(Form::Marking(test)) => with("marking", Some(test)),
            Place::Form(Form::Person(id)) => with("person", id),
            Place::Form(Form::PhoneName) => with("phone", None),
            Place::Form(Form::Plan) => with("plan", None),
            Place::Form(Form::Notify(step)) => format!("#/notify/{step}"),
            Place::Form(Form::Reopen) => with("reopen", None),
            Place::Form(Form::Impair) => with("impair", None),
            Place::Form(Form::Secure(release)) => by_hash("secure", release),
            Place::Form(Form::Restore(ends)) => by_hash("restore", ends),
            Place::Form(Form::Permit(area)) => with("permit", area),
            Place::Form(Form::Approval(area)) => with("approval", Some(area)),
            Place::Form(Form::ClearAlarm(alarm)) => by_hash("clear-alarm", alarm),
            Place::Form(Form::Visual(id)) => with("visual", Some(id)),
            Place::Form(Form::Item(item)) => by_hash("item", item),
            Place::Form(Form::Repair(id)) => with("repair", Some(id)),
            Place::Form(Form::Replace(id)) => with("replace", Some(id)),
            Place::Form(Form::Reading(reading)) => by_hash("reading", reading),
            Place::Form(Form::Strike(mark)) => by_hash("strike", mark),
            Place::Form(Form::Judge(test)) => with("judge", Some(test)),
            Place::Form(Form::Restored(test)) => with("restored", Some(test)),
        }
    }

    /// Reads an address; an unknown one leads to the visit.
    pub fn read(address: &str) -> Place {
        let mut parts = address.trim_start_matches('#').trim_start_matches('/').splitn(2, '/');
        let name = parts.next().unwrap_or_default();
        let rest = parts.next();
        let id = rest.and_then(|id| Id::try_parse(id).ok());
        match (name, id) {
            ("before", Some(id)) => Place::Before(id),
            ("test", id) => Place::Test(id),
            ("findings", None) => Place::Findings,
            ("findings", Some(id)) => Place::Finding(id),
            ("register", _) => Place::Register,
            ("profile", Some(id)) => Place::Profile(id),
            ("profile-run", Some(id)) => Place::ProfileRun(id),
            ("handover", _) => Place::Handover,
            ("computed", _) => Place::Computed(rest.and_then(|topic| topic.parse().ok())),
            ("site", id) => Place::Form(Form::Site(id)),
            ("area", id) => Place::Form(Form::Area(id)),
            ("circuit", id) => Place::Form(Form::Circuit(id)),
            ("position", id) => Place::Form(Form::Position(id)),
            ("position-like", Some(id)) => Place::Form(Form::PositionLike(id)),
            ("heater", id) => Place::Form(Form::Heater(id)),
            ("procedure", id) => Place::Form(Form::Procedure(id)),
            ("marking", Some(test)) => Place::Form(Form::Marking(test)),
            ("people", _) => Place::People,
            ("settings", _) => Place::Settings,
            ("person", id) => Place::Form(Form::Person(id)),
            ("phone", _) => Place::Form(Form::PhoneName),
            ("plan", _) => Place::Form(Form::Plan),
            ("reopen", _) => Place::Form(Form::Reopen),
            ("impair", _) => Place::Form(Form::Impair),
            ("permit", id) => Place::Form(Form::Permit(id)),
            ("approval", Some(id)) => Place::Form(Form::Approval(id)),
            ("visual", Some(id)) => Place::Form(Form::Visual(id)),
            ("repair", Some(id)) => Place::Form(Form::Repair(id)),
            ("replace", Some(id)) => Place::Form(Form::Replace(id)),
            ("judge", Some(id)) => Place::Form(Form::Judge(id)),
            ("restored", Some(id)) => Place::Form(Form::Restored(id)),
            ("notify", _) => {
                rest.and_then(|step| step.parse().ok()).map_or(Place::Visit, |step| Place::Form(Form::Notify(step)))
            }
            (name, _) => by_hash(name, rest),
        }
    }
}

/// A form that is about an entry, or is named by a hash.
fn by_hash(name: &str, rest: Option<&str>) -> Place {
    let form: fn(Hash) -> Form = match name {
        "secure" => Form::Secure,
        "restore" => Form::Restore,
        "clear-alarm" => Form::ClearAlarm,
        "item" => Form::Item,
        "reading" => Form::Reading,
        "strike" => Form::Strike,
        _ => return Place::Visit,
    };
    rest.and_then(|hash| hash.parse().ok()).map_or(Place::Visit, |hash| Place::Form(form(hash)))
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
            Place::Visit,
            Place::Before(id),
            Place::Test(None),
            Place::Test(Some(id)),
            Place::Findings,
            Place::Finding(id),
            Place::Register,
            Place::Profile(id),
            Place::ProfileRun(id),
            Place::People,
            Place::Settings,
            Place::Handover,
            Place::Computed(None),
            Place::Computed(Some(3)),
        ];
        for place in places.into_iter().chain(forms.map(Place::Form)) {
            assert_eq!(Place::read(&place.address()), place);
        }
        assert_eq!(Place::read("#/nonsense/xyz"), Place::Visit);
        assert_eq!(Place::read(""), Place::Visit);
    }
}
