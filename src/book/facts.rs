//! What a body is, whatever it says: where it belongs, which group of fields it edits, which entries and attachments it names, what
//! it is to a test. One table, a row per type and no wildcard, so that a new type cannot slip through.

use super::Id;
use super::body::{About, Body, PhoneRef, Who};
use super::chain::Scope;
use crate::encoding::Hash;
use crate::trade::procedure::Procedure;

/// The scopes a body may belong to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Scopes {
    /// The phone's kit.
    pub kit: bool,
    /// A site's register.
    pub site: bool,
    /// A visit.
    pub visit: bool,
}

impl Scopes {
    const KIT: Scopes = Scopes { kit: true, site: false, visit: false };
    const SITE: Scopes = Scopes { kit: false, site: true, visit: false };
    const VISIT: Scopes = Scopes { kit: false, site: false, visit: true };
    /// What belongs to a test or to a profile run, and a check of a heater.
    const KIT_OR_VISIT: Scopes = Scopes { kit: true, site: false, visit: true };
    const ANY: Scopes = Scopes { kit: true, site: true, visit: true };

    /// Whether a chain about `scope` is among them.
    pub fn include(self, scope: Scope) -> bool {
        match scope {
            Scope::Kit => self.kit,
            Scope::Site(_) => self.site,
            Scope::Visit(_) => self.visit,
        }
    }
}

/// What an entry is to a test or profile run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TestLink {
    /// It is about none.
    Nothing,
    /// It starts one.
    Starts(Id),
    /// The phone that conducts the test writes it; from any other phone it changes nothing. Found by the test's id, or by a mark
    /// or reading of the test.
    Conducts(About),
    /// Any phone adds it to a test.
    Says(About),
    /// It names a test without becoming part of it.
    Mentions(Id),
    /// It belongs to the thing of this id, which may be a test.
    MaySay(Id),
}

/// An edit: its group of fields, the thing, and the edits it replaces.
pub type Edited<'a> = (Group, Id, &'a [Hash]);

macro_rules! facts {
    (
        edits { $($edit:ident in $edit_scope:ident $(, $files:expr)?;)* }
        acts { $($act:pat => $scope:ident, $names:expr, $link:expr, $attached:expr;)* }
    ) => {
        /// A group of fields that is edited as one, by the type of entry that edits it.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[allow(missing_docs, reason = "`FORMAT.md` has a row for each")]
        pub enum Group { $($edit,)* }

        impl Body {
            /// Where it belongs.
            #[allow(unused_variables, reason = "a row binds what any of its facts needs")]
            pub fn scopes(&self) -> Scopes {
                match self {
                    $(Body::$edit(_) => Scopes::$edit_scope,)*
                    $($act => Scopes::$scope,)*
                }
            }

            /// What it edits.
            #[allow(unused_variables, reason = "a row binds what any of its facts needs")]
            pub fn edited(&self) -> Option<Edited<'_>> {
                match self {
                    $(Body::$edit(edit) => Some((Group::$edit, edit.of, &edit.replaces)),)*
                    $($act => None,)*
                }
            }

            /// The entries it names as what it ends, answers, corrects or rests on. What an edit replaces may stay at home.
            #[allow(unused_variables, reason = "a row binds what any of its facts needs")]
            pub fn names(&self) -> Vec<Hash> {
                match self {
                    $(Body::$edit(_) => Vec::new(),)*
                    $($act => { let names: &[Hash] = &$names; names.to_vec() })*
                }
            }

            /// The attachments it names: words, photos, names of people. Each can be erased without breaking a chain.
            #[allow(unused_variables, reason = "a row binds what any of its facts needs")]
            pub fn attachments(&self) -> Vec<Hash> {
                match self {
                    $(Body::$edit(edit) => {
                        let files: Vec<Hash> = Vec::new();
                        $(let files = of(&*edit.now, $files);)?
                        files
                    })*
                    $($act => { let attached: &[Hash] = &$attached; attached.to_vec() })*
                }
            }

            /// How it belongs to a test or profile run.
            #[allow(unused_variables, reason = "a row binds what any of its facts needs")]
            pub fn test_link(&self) -> TestLink {
                use TestLink::{Conducts, MaySay, Mentions, Nothing, Says, Starts};
                match self {
                    $(Body::$edit(_) => Nothing,)*
                    $($act => $link,)*
                }
            }
        }
    };
}

// An edit: its scope, and its attachments where it has any. An act: its scope, the entries it names, its link to a test, its
// attachments.
facts! {
    edits {
        Site in SITE;
        SiteRules in SITE, |rules| rules.notify.iter().filter_map(|step| step.contact).collect();
        Area in SITE;
        AreaConditions in SITE;
        Circuit in SITE;
        PositionPlace in SITE;
        PositionAccess in SITE;
        PositionDuty in SITE;
        PositionStatus in SITE;
        PositionOrder in SITE;
        DetectorMarking in SITE, |marking| marking.agreed.iter().map(|agreed| agreed.by).collect();
        DetectorMake in SITE;
        SheetColumns in SITE;
        HeaterName in KIT;
        HeaterHeating in KIT;
        HeaterMetrology in KIT;
        Procedure in KIT, |procedure| list(agreed(procedure));
        Person in KIT, |person| files([Some(person.name), person.firm, person.license, person.contact]);
        PhoneName in KIT, |phone| vec![phone.name];
        RuleSet in KIT;
        VisitPlan in VISIT;
    }
    acts {
        Body::DetectorInstalled { .. } => SITE, [], Nothing, [];
        Body::DetectorRemoved(of) => SITE, [of.ends], Nothing, [];
        Body::RowsImported { rows, .. } => SITE, rows.iter().flat_map(Body::names).collect::<Vec<_>>(), Nothing, rows.iter().flat_map(Body::attachments).collect::<Vec<_>>();
        Body::ImportCommitted { .. } => SITE, [], Nothing, [];

        Body::HeaterChecked(check) => KIT_OR_VISIT, [], Nothing, named([Some(check.by)]);
        Body::PhoneHanded { .. } => KIT, [], Nothing, [];
        Body::ProfileRunStarted(start) => KIT, start.heater.profile[..], Starts(start.run), list(start.marking.as_ref().and_then(|marking| marking.agreed.as_ref()).map(|agreed| agreed.by));
        Body::ProfileRunEnded { run, .. } => KIT, [], Conducts(About::Thing(*run)), [];

        Body::VisitOpened { .. } => VISIT, [], Nothing, [];
        Body::VisitJoined { invitation, .. } => VISIT, list(*invitation), Nothing, [];
        Body::Attended(of) => VISIT, [], Nothing, files([Some(of.name), of.firm, of.license, of.contact]);
        Body::PositionsPlanned(of) => VISIT, list(of.sample), Nothing, list(of.why);
        Body::SampleDrawn(_) => VISIT, [], Nothing, [];
        Body::PhoneInvited { name } => VISIT, [], Nothing, [*name];
        Body::PhoneExcused(of) => VISIT, list(invitation(of.of)), Nothing, [vec![of.why], named([Some(of.by)])].concat();
        Body::AreaAssigned { to, .. } => VISIT, list(invitation(*to)), Nothing, [];

        Body::Notified(of) => VISIT, [], Nothing, [named([Some(of.by)]), files([of.contact, of.note])].concat();
        Body::PanelState(of) => VISIT, [], Nothing, [named([Some(of.by)]), files([of.photo])].concat();
        Body::ClockOffset(of) => VISIT, [], Nothing, named([Some(of.by)]);
        Body::Impaired(of) => VISIT, [], Nothing, [named([Some(of.by), of.coordinator, of.go_ahead, of.fire_watch_by]), files([of.why])].concat();
        Body::Secured(of) => VISIT, [], Nothing, named([Some(of.by), of.verified_by]);
        Body::PairOpened(of) => VISIT, [], Nothing, named([Some(of.by)]);
        Body::Restored(of) => VISIT, [of.ends], Nothing, [named([Some(of.by), of.verified_by]), files([of.note])].concat();
        Body::PermitTaken(of) => VISIT, [], Nothing, named([Some(of.by)]);
        Body::ApprovalHeld(of) => VISIT, [], Nothing, named([Some(of.by)]);
        Body::AlarmNotOurs(of) => VISIT, [], Nothing, [named([Some(of.by)]), files([of.note])].concat();
        Body::AlarmCleared(of) => VISIT, [of.ends], Nothing, [named([Some(of.by)]), files([of.note])].concat();
        Body::CircuitProved(of) => VISIT, list(of.trip), Nothing, named([Some(of.by)]);
        Body::LiftChecked(of) => VISIT, [], Nothing, [named([Some(of.by)]), files([of.note])].concat();
        Body::BreakStarted { items, .. } => VISIT, items.iter().map(|item| item.off).collect::<Vec<_>>(), Nothing, items.iter().flat_map(|item| named([item.left_off_by])).collect::<Vec<_>>();
        Body::BreakEnded { ends, .. } => VISIT, [*ends], Nothing, [];
        Body::LeftOff(of) => VISIT, [of.off], Nothing, [named([Some(of.accepted_by), of.notified]), files([of.note])].concat();

        Body::VisualCheck(of) => VISIT, [], Nothing, [named([Some(of.by)]), files([of.note, of.photo])].concat();
        Body::TestStarted(start) => VISIT, [&start.heater.profile[..], &list(start.after)].concat(), Starts(start.test), files([start.detector.marking.agreed.as_ref().map(|agreed| agreed.by), agreed(&start.procedure)]);
        Body::Mark { of, .. } => KIT_OR_VISIT, [], Conducts(About::Thing(*of)), [];
        Body::MarkStruck { mark, why } => KIT_OR_VISIT, [*mark], Conducts(About::Act(*mark)), list(*why);
        Body::ReadingTaken { of, trip, .. } => KIT_OR_VISIT, list(*trip), Conducts(About::Thing(*of)), [];
        Body::ReadingCorrected(of) => KIT_OR_VISIT, [of.reading], Conducts(About::Act(of.reading)), list(of.why);
        Body::ReadingConfirmed { reading } => KIT_OR_VISIT, [*reading], Nothing, [];
        Body::EarlyTripAnswered { trip, .. } => VISIT, [*trip], Conducts(About::Act(*trip)), [];
        Body::PanelPoint { trip, .. } => VISIT, [*trip], Says(About::Act(*trip)), [];
        Body::RestoreSaid(of) => VISIT, [], Says(About::Thing(of.test)), named([Some(of.by)]);
        Body::TestEnded { test, .. } => VISIT, [], Conducts(About::Thing(*test)), [];
        Body::TestTakenOver { test, last } => VISIT, [*last], Mentions(*test), [];
        Body::TestJudged { test, note, .. } => VISIT, [], Says(About::Thing(*test)), list(*note);
        Body::MarkingCorrected { test, marking, why } => VISIT, [], Says(About::Thing(*test)), files([Some(*why), marking.agreed.as_ref().map(|agreed| agreed.by)]);
        Body::OtherMethod(of) => VISIT, [], Starts(of.test), [named([Some(of.by)]), files([of.note])].concat();
        Body::NotTested(of) => VISIT, [], Nothing, [named([Some(of.by), of.not_allowed_by]), files([of.note, of.photo])].concat();
        Body::RetestListed { test, .. } => VISIT, [], mentioned(*test), [];
        Body::PanelSaw(of) => VISIT, list(of.replaces), mentioned(of.test), [];
        Body::PanelSawAccepted { saw, trip } => VISIT, [*saw, *trip], Says(About::Act(*trip)), [];

        Body::ItemFound(item) => VISIT, [], item.test.map_or(Nothing, |test| Says(About::Thing(test))), [named([item.by]), files([item.note, item.remedy, item.photo])].concat();
        Body::ItemClassed { item, .. } => VISIT, [*item], Nothing, [];
        Body::ItemTold(of) => VISIT, [of.item], Nothing, named([Some(of.to), Some(of.by)]);
        Body::ItemClosed(of) => VISIT, [&[of.item][..], &list(of.evidence)].concat(), mentioned(of.test), [named([Some(of.by)]), files([of.note])].concat();
        Body::Repaired(of) => VISIT, list(of.item), Nothing, [named([Some(of.by)]), files([of.note])].concat();
        Body::Replaced(of) => VISIT, list(of.item), Nothing, [named([Some(of.by)]), files([of.note])].concat();
        Body::ProgrammingChanged(of) => VISIT, [], Nothing, [named([Some(of.by)]), files([of.note])].concat();
        Body::VisitClosed { .. } => VISIT, [], Nothing, [];
        Body::VisitReopened(of) => VISIT, [of.ends], Nothing, [of.why];
        Body::Signature(of) => VISIT, [], Nothing, files([of.name, of.drawn, of.note]);
        Body::Amended(of) => VISIT, [], Nothing, [of.why];

        Body::Delivered(of) => ANY, [], Nothing, list(of.to);
        Body::Noted { about, note } => ANY, list(act(*about)), thing(*about).map_or(Nothing, MaySay), [*note];
        Body::Photo(of) => ANY, list(act(of.about)), thing(of.about).map_or(Nothing, MaySay), files([Some(of.photo), of.caption]);
        Body::Undone { .. } => ANY, [], Nothing, [];
        Body::Moved { mark, .. } => KIT_OR_VISIT, [*mark], Conducts(About::Act(*mark)), [];
        Body::ClockGap { .. } => KIT_OR_VISIT, [], Nothing, [];
        Body::ClockAnswered { gap, .. } => KIT_OR_VISIT, [*gap], Nothing, [];
        Body::Newer { .. } => ANY, [], Nothing, [];
    }
}

impl Body {
    /// The test or profile run that it names by its id.
    pub fn test(&self) -> Option<Id> {
        match self.test_link() {
            TestLink::Starts(test) | TestLink::Mentions(test) | TestLink::MaySay(test) => Some(test),
            TestLink::Conducts(of) | TestLink::Says(of) => thing(of),
            TestLink::Nothing => None,
        }
    }

    /// The rows of an import, each a body of its own.
    pub fn rows(&self) -> &[Body] {
        if let Body::RowsImported { rows, .. } = self { rows } else { &[] }
    }

    /// Whether undoing its decision takes it back. What the clocks said is a fact of the phone.
    pub fn can_be_undone(&self) -> bool {
        !matches!(self, Body::ClockGap { .. })
    }
}

fn of<T>(now: &T, files: fn(&T) -> Vec<Hash>) -> Vec<Hash> {
    files(now)
}

fn files<const N: usize>(files: [Option<Hash>; N]) -> Vec<Hash> {
    files.into_iter().flatten().collect()
}

/// The names of humans who are not people of the kit.
fn named<const N: usize>(who: [Option<Who>; N]) -> Vec<Hash> {
    let named = who.into_iter().flatten().filter_map(|who| match who {
        Who::Named(name) => Some(name),
        Who::Person(_) => None,
    });
    named.collect()
}

/// Who agreed to the limits of a procedure.
fn agreed(procedure: &Procedure) -> Option<Hash> {
    procedure.limits.as_ref()?.agreed.as_ref().map(|agreed| agreed.by)
}

fn list(hash: Option<Hash>) -> Vec<Hash> {
    hash.into_iter().collect()
}

fn mentioned(test: Option<Id>) -> TestLink {
    test.map_or(TestLink::Nothing, TestLink::Mentions)
}

fn invitation(to: PhoneRef) -> Option<Hash> {
    match to {
        PhoneRef::Invited(invitation) => Some(invitation),
        PhoneRef::Phone(_) => None,
    }
}

fn act(about: About) -> Option<Hash> {
    match about {
        About::Act(hash) => Some(hash),
        About::Thing(_) => None,
    }
}

fn thing(about: About) -> Option<Id> {
    match about {
        About::Thing(id) => Some(id),
        About::Act(_) => None,
    }
}
