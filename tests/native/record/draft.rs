//! A visit that is still open.

use super::*;

#[test]
fn a_visit_with_nothing_done_says_so() {
    // rules C2, C3, C12.
    let page = record(&given());
    assert!(page.contains("every sheet: Invented mill | Visit 2026-03-02 · Record | Digest "), "{page}");
    assert!(page.contains("Draft, visit open · Demo, invented\n"), "{page}");
    assert!(page.contains("! Draft, visit open: The visit is not closed."), "{page}");
    assert!(page.contains("* 0 of 2 detectors passed · 2 not tested"), "{page}");
    assert_eq!(fact(&page, "In scope"), "2");
    assert_eq!(fact(&page, "Tested"), "0");
    assert_eq!(fact(&page, "Why not tested"), "no reason given 2");
    assert_eq!(fact(&page, "Closed"), "Not closed: this is a draft");
    assert!(line(&page, "HD-1").ends_with("| Not tested: no reason given"), "{page}");
    assert!(section(&page, "Result of each detector").contains("Inputs only"));
    assert!(section(&page, "How they were tested").contains("No detector was tested with a heater."));
    assert!(section(&page, "Owner's information, not asked for by NFPA 72").contains("No trip temperature was taken."));
    assert!(page.contains("Don't sign a draft."), "{page}");
}

#[test]
fn every_field_stands_there_or_is_not_recorded() {
    // rule C5: the fields of its table.
    let page = record(&given());
    for name in [
        "Address",
        "Code and edition asked for",
        "Scope of work",
        "Not in scope",
        "Time between visits",
        "Positions proposed by",
        "AHJ and its representative",
        "Owner's representative",
        "Lift and fall protection",
        "Panel as left",
        "Other tests required by the manufacturer or the AHJ",
    ] {
        assert_eq!(fact(&page, name), "Not recorded", "{name}");
    }
    assert_eq!(fact(&page, "Smoke detectors"), "Not in scope: this record is about heat detectors");
    assert_eq!(fact(&page, "Loop resistance of line-type detectors"), "None in scope: spot-type detectors only");
    assert_eq!(fact(&page, "Reacceptance after a change"), "No change of programming recorded");
    assert!(fact(&page, "Required sequence of operations").starts_with("Not in scope"));
    assert!(section(&page, "Other fields of the record").contains("No rules of the site's own on file."));
    for title in ["Problems found, and what became of them", "Panel, impairments, releases, permits"] {
        assert!(section(&page, title).contains("None recorded."), "{title}");
    }
    // Nothing from memory stands there as a clause.
    assert!(page.contains("NFPA 72, chapter 14") && !page.contains("14."), "{page}");
}

#[test]
fn what_is_off_stands_on_the_first_page() {
    let mut world = given();
    world.act(impair(Some(LOOP)));
    world.wait(SECOND);
    let page = record(&world);
    assert!(section(&page, "Impairments left").contains("| Zone 1 impaired | 2026-03-02 09:00 | Nobody"), "{page}");
    assert!(section(&page, "Panel, impairments, releases, permits").contains("| Zone 1 | Not recorded |"), "{page}");
    assert!(line(&page, "Zone 1 |").contains("| Still off |"), "{page}");
}

#[test]
fn a_sampling_sentence_only_where_the_app_drew() {
    // rule C14.
    use soakbook::book::body::{Body, Sample, SampleWhy};
    use soakbook::book::entry::{Chain, Scope};
    let mut world = given();
    assert!(!record(&world).contains("drawn at random"));
    let chain = Chain { scope: Scope::Visit(id(VISIT)), phone: world.phone.id };
    let tip = world.book.tip(chain).map(|tip| (tip.seq, tip.hash)).expect("a chain");
    let drawn = Sample {
        why: SampleWhy::Reacceptance,
        from: vec![id(POSITION), id(OTHER_POSITION)],
        seed: "1".into(),
        drawn: vec![id(POSITION)],
    };
    let body = Body::SampleDrawn(drawn.into());
    let entry = sealed(chain, tip.0 + 1, Some(tip.1), world.phone.stamp(), body);
    world.book.apply(entry);
    let page = record(&world);
    assert!(page.contains("Sample: 1 of 2 positions were drawn at random by this app for reacceptance"), "{page}");
}
