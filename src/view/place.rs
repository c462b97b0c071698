//! Where in the app one is, as the address after `#`, so that the phone's back button works.

use crate::book::Id;

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
    /// A form of the register.
    Form(Form),
    /// The heater profiles of a heater.
    Profile(Id),
    /// A profile run of a heater: what is asked before, or the one that goes on.
    ProfileRun(Id),
    /// Bundle out and in, settings.
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
    /// A detector.
    Detector(Option<Id>),
    /// A new detector like this one.
    DetectorLike(Id),
    /// A heater.
    Heater(Option<Id>),
    /// A procedure.
    Procedure(Option<Id>),
    /// A correction of the marking that a test is judged by.
    Marking(Id),
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

    /// Its name.
    pub fn words(self) -> &'static str {
        match self {
            Tab::Visit => "Visit",
            Tab::Test => "Test",
            Tab::Findings => "Findings",
            Tab::Register => "Register",
            Tab::Handover => "Handover",
        }
    }
}

impl Place {
    /// The bar's place it belongs to.
    pub fn tab(self) -> Tab {
        match self {
            Place::Visit | Place::Before(_) => Tab::Visit,
            Place::Test(_) => Tab::Test,
            Place::Findings | Place::Finding(_) | Place::Computed(_) | Place::Form(Form::Marking(_)) => Tab::Findings,
            Place::Register | Place::Form(_) | Place::Profile(_) | Place::ProfileRun(_) => Tab::Register,
            Place::Handover => Tab::Handover,
        }
    }

    /// The address, with its `#`.
    pub fn address(self) -> String {
        let with = |name: &str, id: Option<Id>| id.map_or_else(|| format!("#/{name}"), |id| format!("#/{name}/{id}"));
        match self {
            Place::Visit => with("visit", None),
            Place::Before(id) => with("before", Some(id)),
            Place::Test(id) => with("test", id),
            Place::Findings => with("findings", None),
            Place::Finding(id) => with("findings", Some(id)),
            Place::Register => with("register", None),
            Place::Profile(id) => with("profile", Some(id)),
            Place::ProfileRun(id) => with("profile_run", Some(id)),
            Place::Handover => with("handover", None),
            Place::Computed(None) => with("computed", None),
            Place::Computed(Some(topic)) => format!("#/computed/{topic}"),
            Place::Form(Form::Site(id)) => with("site", id),
            Place::Form(Form::Area(id)) => with("area", id),
            Place::Form(Form::Circuit(id)) => with("circuit", id),
            Place::Form(Form::Detector(id)) => with("detector", id),
            Place::Form(Form::DetectorLike(id)) => with("detector-like", Some(id)),
            Place::Form(Form::Heater(id)) => with("heater", id),
            Place::Form(Form::Procedure(id)) => with("procedure", id),
            Place::Form(Form::Marking(test)) => with("marking", Some(test)),
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
            ("profile_run", Some(id)) => Place::ProfileRun(id),
            ("handover", _) => Place::Handover,
            ("computed", _) => Place::Computed(rest.and_then(|topic| topic.parse().ok())),
            ("site", id) => Place::Form(Form::Site(id)),
            ("area", id) => Place::Form(Form::Area(id)),
            ("circuit", id) => Place::Form(Form::Circuit(id)),
            ("detector", id) => Place::Form(Form::Detector(id)),
            ("detector-like", Some(id)) => Place::Form(Form::DetectorLike(id)),
            ("heater", id) => Place::Form(Form::Heater(id)),
            ("procedure", id) => Place::Form(Form::Procedure(id)),
            ("marking", Some(test)) => Place::Form(Form::Marking(test)),
            _ => Place::Visit,
        }
    }
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
            Form::Detector(Some(id)),
            Form::DetectorLike(id),
            Form::Heater(None),
            Form::Procedure(Some(id)),
            Form::Marking(id),
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
