//! Where in the app one is, as the address after `#`, so that the phone's back button works.

use crate::book::Id;

/// A place in the app.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Place {
    /// What is due, opening and closing steps.
    #[default]
    Round,
    /// What is asked before a run of this detector.
    Before(Id),
    /// The runs that go on; this one in front.
    Run(Option<Id>),
    /// What the numbers say.
    Findings,
    /// One run in full.
    Finding(Id),
    /// Sites, areas, detectors, heads.
    Register,
    /// A form of the register.
    Form(Form),
    /// The heat curves of a head.
    Curve(Id),
    /// A ramp of a head: what is asked before, or the one that goes on.
    Ramp(Id),
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
    /// A head.
    Head(Option<Id>),
    /// A procedure.
    Procedure(Option<Id>),
    /// A correction of the marking that a run is judged by.
    Marking(Id),
}

/// The five places of the bar.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tab {
    /// Round.
    Round,
    /// Run.
    Run,
    /// Findings.
    Findings,
    /// Register.
    Register,
    /// Handover.
    Handover,
}

impl Tab {
    /// In the order of the bar.
    pub const ALL: [Tab; 5] = [Tab::Round, Tab::Run, Tab::Findings, Tab::Register, Tab::Handover];

    /// Where a tap on it leads.
    pub fn place(self) -> Place {
        match self {
            Tab::Round => Place::Round,
            Tab::Run => Place::Run(None),
            Tab::Findings => Place::Findings,
            Tab::Register => Place::Register,
            Tab::Handover => Place::Handover,
        }
    }

    /// Its name.
    pub fn words(self) -> &'static str {
        match self {
            Tab::Round => "Round",
            Tab::Run => "Run",
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
            Place::Round | Place::Before(_) => Tab::Round,
            Place::Run(_) => Tab::Run,
            Place::Findings | Place::Finding(_) | Place::Computed(_) | Place::Form(Form::Marking(_)) => Tab::Findings,
            Place::Register | Place::Form(_) | Place::Curve(_) | Place::Ramp(_) => Tab::Register,
            Place::Handover => Tab::Handover,
        }
    }

    /// The address, with its `#`.
    pub fn address(self) -> String {
        let with = |name: &str, id: Option<Id>| id.map_or_else(|| format!("#/{name}"), |id| format!("#/{name}/{id}"));
        match self {
            Place::Round => with("round", None),
            Place::Before(id) => with("before", Some(id)),
            Place::Run(id) => with("run", id),
            Place::Findings => with("findings", None),
            Place::Finding(id) => with("findings", Some(id)),
            Place::Register => with("register", None),
            Place::Curve(id) => with("curve", Some(id)),
            Place::Ramp(id) => with("ramp", Some(id)),
            Place::Handover => with("handover", None),
            Place::Computed(None) => with("computed", None),
            Place::Computed(Some(topic)) => format!("#/computed/{topic}"),
            Place::Form(Form::Site(id)) => with("site", id),
            Place::Form(Form::Area(id)) => with("area", id),
            Place::Form(Form::Circuit(id)) => with("circuit", id),
            Place::Form(Form::Detector(id)) => with("detector", id),
            Place::Form(Form::DetectorLike(id)) => with("detector-like", Some(id)),
            Place::Form(Form::Head(id)) => with("head", id),
            Place::Form(Form::Procedure(id)) => with("procedure", id),
            Place::Form(Form::Marking(run)) => with("marking", Some(run)),
        }
    }

    /// Reads an address; an unknown one leads to the round.
    pub fn read(address: &str) -> Place {
        let mut parts = address.trim_start_matches('#').trim_start_matches('/').splitn(2, '/');
        let name = parts.next().unwrap_or_default();
        let rest = parts.next();
        let id = rest.and_then(|id| Id::try_parse(id).ok());
        match (name, id) {
            ("before", Some(id)) => Place::Before(id),
            ("run", id) => Place::Run(id),
            ("findings", None) => Place::Findings,
            ("findings", Some(id)) => Place::Finding(id),
            ("register", _) => Place::Register,
            ("curve", Some(id)) => Place::Curve(id),
            ("ramp", Some(id)) => Place::Ramp(id),
            ("handover", _) => Place::Handover,
            ("computed", _) => Place::Computed(rest.and_then(|topic| topic.parse().ok())),
            ("site", id) => Place::Form(Form::Site(id)),
            ("area", id) => Place::Form(Form::Area(id)),
            ("circuit", id) => Place::Form(Form::Circuit(id)),
            ("detector", id) => Place::Form(Form::Detector(id)),
            ("detector-like", Some(id)) => Place::Form(Form::DetectorLike(id)),
            ("head", id) => Place::Form(Form::Head(id)),
            ("procedure", id) => Place::Form(Form::Procedure(id)),
            ("marking", Some(run)) => Place::Form(Form::Marking(run)),
            _ => Place::Round,
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
            Form::Head(None),
            Form::Procedure(Some(id)),
            Form::Marking(id),
        ];
        let places = [
            Place::Round,
            Place::Before(id),
            Place::Run(None),
            Place::Run(Some(id)),
            Place::Findings,
            Place::Finding(id),
            Place::Register,
            Place::Curve(id),
            Place::Ramp(id),
            Place::Handover,
            Place::Computed(None),
            Place::Computed(Some(3)),
        ];
        for place in places.into_iter().chain(forms.map(Place::Form)) {
            assert_eq!(Place::read(&place.address()), place);
        }
        assert_eq!(Place::read("#/nonsense/xyz"), Place::Round);
        assert_eq!(Place::read(""), Place::Round);
    }
}
