//! Tests side by side: the plot, its words and its list, from a bundle that was taken in.

use std::fs;
use std::path::{Path, PathBuf};

use soakbook::book::body::{Area, Body, Edit, Ending, TestStart};
use soakbook::book::entry::Scope;
use soakbook::handover::{Made, Select, bundle_of};
use soakbook::units::Wall;

use crate::check::take_in;
use crate::host::{Host, dist, folder};
use crate::phone::Phone;
use crate::sample::{self, id};
use crate::setting_up::named;

/// Adds a position and its detector to the register, as they were when their test started.
fn register(phone: &mut sample::Phone, started: &TestStart) {
    let (position, detector) = (&started.position, &started.detector);
    let site = Scope::Site(id(sample::SITE));
    phone.say(site, Body::PositionPlace(Edit::new(position.of, vec![], position.place.clone())));
    phone.say(site, Body::PositionDuty(Edit::new(position.of, vec![], position.duty.clone())));
    phone.say(site, Body::DetectorMarking(Edit::new(detector.of, vec![], detector.marking.clone())));
    phone.say(
        site,
        Body::DetectorInstalled { detector: detector.of, position: position.of, happened: Some(phone.happened()) },
    );
}

/// A file with a hall of sixteen detectors, two of them flagged, and an annex of three.
pub(crate) fn side_by_side(into: &Path) -> PathBuf {
    let mut phone = sample::Phone::new();
    let annex = Area { site: id(sample::SITE), name: "Annex".into() };
    phone.say(Scope::Site(id(sample::SITE)), Body::Area(Edit::new(id(21), vec![], annex)));
    let hall = [
        "88.0", "88.4", "87.7", "88.1", "88.6", "87.5", "88.2", "92.9", "87.9", "88.3", "88.0", "87.8", "88.5", "88.1",
        "83.4", "88.2",
    ];
    for (test, mean) in (1..).zip(hall.into_iter().chain(["87.8", "88.4", "88.9"])) {
        let mut start = sample::started(test);
        start.ambient = Some(sample::c("21"));
        if test > 16 {
            start.position.place.area = id(21);
        }
        register(&mut phone, &start);
        phone.test(start, &sample::read(&["80.0", mean, mean, mean, mean]), Ending::Done);
    }
    let made = Made { at: Wall(1_760_000_000_000), app: "0.1.0".into(), phone: id(sample::PHONE) };
    let file = into.join("side-by-side.json");
    fs::write(&file, bundle_of(&phone.book, Select::Everything, &made).unwrap().text).unwrap();
    file
}

#[tokio::test]
async fn an_area_is_seen_side_by_side_and_the_odd_one_is_a_tap_away() {
    let host = Host::start(&dist());
    let file = side_by_side(&folder("area-files"));
    let phone = named(&host, &folder("area-profile")).await;
    phone.tap("take-in").await;
    take_in(&phone, &file).await;
    phone.see("import-taken").await;
    phone.tap("tab-results").await;
    // Areas are drawn one after another.
    phone.until("document.querySelectorAll('[data-testid=dots]').length === 2").await;
    // Sixteen in a hall and three in an annex: one family is scored, the other one only drawn.
    let drawn = "return [...document.querySelectorAll('[data-testid=dots]')].map((plot) =>
        [plot.querySelector('.dot').getAttribute('d').split('z').length - 1, plot.querySelectorAll('.name').length])";
    assert_eq!(phone.ask(drawn).await, serde_json::json!([[14, 2], [3, 0]]));
    phone.reads("family-words", "Outlier: D-15, D-8.").await;
    // Not what is seen: an area out of sight is not laid out.
    let said =
        "return [...document.querySelectorAll('[data-testid=family-words]')].map((it) => it.textContent).join(' ')";
    let words = phone.ask(said).await.to_string();
    assert!(words.contains("3 detectors: fewer than 8"), "{words}");
    assert!(words.contains("Generalized ESD names D-15, D-8."), "{words}");
    phone.flawless("findings-side-by-side").await;

    // A finger on the plot takes the nearest dot; without it, the list has every test.
    phone.tap_on(".dots .name").await;
    phone.reads("finding", "D-15").await;
    phone.unfold("measured").await;
    phone.reads("beside", "Outlier among 15 others").await;
    phone.reads("first-trip", "earlier").await;
    phone.reads("settling", "Settled").await;
    phone.reads("still-hot", "gloves").await;
    phone.flawless("finding-side-by-side").await;
    phone.tap("back").await;
    phone.unfold("family-numbers").await;
    phone.tap("member-D-3").await;
    phone.reads("finding", "D-3").await;
    // On paper the page is laid out anew, with everything open and nothing to press.
    phone.ask("dispatchEvent(new Event('beforeprint'))").await;
    phone
        .until(
            "document.body.classList.contains('on-paper') && !paper.querySelector('button')
                && ['D-3', 'Operating temperature', 'Conditions at start'].every((words) => paper.textContent.includes(words))",
        )
        .await;
    phone.ask("dispatchEvent(new Event('afterprint'))").await;
    phone.until("paper.innerHTML === '' && !document.body.classList.contains('on-paper')").await;
    phone.unfold("measured").await;
    phone.reads("beside", "Does not stand apart").await;
    phone.tap("back").await;

    back_to_where_one_was(&phone).await;
    how_it_is_computed(&phone).await;
    a_marking_is_corrected(&phone).await;

    // One tap leads to the questions before it is tested again.
    phone.tap("retest-D-8").await;
    phone.see("looks-good").await;
    let title = phone.ask("return [...document.querySelectorAll('.page h1')].map((title) => title.textContent)").await;
    assert_eq!(title, serde_json::json!(["D-8"]));
    phone.off().await;
}

/// A test is read from its top, and "back" leads to the line that was tapped, however far down.
async fn back_to_where_one_was(phone: &Phone) {
    let last = "[...document.querySelectorAll('[data-testid^=finding-D-]')].at(-1)";
    phone.until(&format!("{last}?.offsetParent")).await;
    phone.ask(&format!("{last}.scrollIntoView({{ block: 'center' }})")).await;
    phone.until(&format!("scrollY > 700 && Math.abs({last}.getBoundingClientRect().top - 340) < 60")).await;
    let top = phone.ask(&format!("return {last}.getBoundingClientRect().top")).await;
    phone.ask(&format!("{last}.click()")).await;
    phone.see("headline").await;
    phone.until("scrollY === 0").await;
    phone.tap("back").await;
    phone.until(&format!("Math.abs({last}.getBoundingClientRect().top - {top}) < 2")).await;
    // So does the focus, and a place that is new has it at its title.
    phone.ask(&format!("{last}.focus()")).await;
    phone.ask(&format!("{last}.click()")).await;
    phone.until("document.activeElement.matches('[data-testid=finding] h1')").await;
    phone.tap("back").await;
    phone.until(&format!("document.activeElement === {last}")).await;
}

/// From the list and from an opened figure, and back to where one came from.
async fn how_it_is_computed(phone: &Phone) {
    phone.tap("to-computed").await;
    phone.reads("computed", "Modified z score").await;
    phone.reads("computed", "1 million simulated").await;
    phone.flawless("computed").await;
    phone.tap("back").await;
    phone.unfold("family-numbers").await;
    phone.tap("member-D-3").await;
    phone.reads("finding", "D-3").await;
    phone.unfold("measured").await;
    phone.tap_on("[data-testid=beside-figure] summary").await;
    phone.tap_on("[data-testid=beside-figure] .way").await;
    // The topic of the figure is at hand at once.
    phone
        .until(
            "[...document.querySelectorAll('[data-testid=computed] h2')].find((e) => e.textContent === 'Side by side')
                ?.getBoundingClientRect().top < innerHeight / 2 && scrollY > innerHeight",
        )
        .await;
    phone.ask("scrollTo(0, 0)").await;
    phone.tap("back").await;
    phone.reads("finding", "D-3").await;
    phone.tap("tab-results").await;
}

/// A second judgement beside the first one, and not without a reason.
async fn a_marking_is_corrected(phone: &Phone) {
    phone.unfold("family-numbers").await;
    phone.tap("member-D-3").await;
    phone.tap("correct-marking").await;
    phone.see("save").await;
    phone.fill("rating", "99").await;
    phone.tap("save").await;
    phone.see("not-saved").await;
    assert!(phone.page().await.contains("Reason: fill this in."));
    phone.flawless("correct-marking").await;
    phone.fill("reason", "Misread plate").await;
    phone.tap("save").await;
    phone.unfold("measured").await;
    phone.reads("finding", "Reason: Misread plate").await;
    let words = phone.page().await;
    // By hand: 87.7 °C lies within 85 to 92 °C as marked, and below 96 to 103 °C as corrected.
    assert!(words.contains("Mean within limits") && words.contains("Mean outside limits"), "{words}");
    phone.flawless("judged-again").await;
    phone.tap("back").await;
}
