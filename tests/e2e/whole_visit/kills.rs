//! A visit in which the browser is killed at ten random moments ends in the book of one in which nothing happened.

use std::fs;
use std::hash::{BuildHasher, Hasher, RandomState};
use std::time::Duration;

use soakbook::book::entries::Book;
use soakbook::book::visit::{State, Visit, headings};
use soakbook::findings::{self, Outcome};
use soakbook::handover::read_bundle;
use soakbook::units::Wall;

use super::deeds::{Deed, until_written, written};
use super::night::evening;
use crate::check::bundle;
use crate::host::{Host, dist, folder};
use crate::killed::random;
use crate::phone::Phone;

/// How often it is killed.
const KILLS: usize = 10;

/// A kill comes so long after a deed has begun, at the latest, ms: about what one takes, so that some come before and some after it.
const LATEST_MS: u64 = 1_500;

/// What is done, and how many seconds go by before it: a short form of the whole night, with one of each kind that is written.
const VISIT: [(i64, Deed); 27] = [
    (0, Deed::Open),
    (0, Deed::Station(400)),
    (0, Deed::PanelFound),
    (0, Deed::Secure),
    (60, Deed::HeatOn("D-03", "Heater A")),
    (60, Deed::HeatOn("P-01", "Heater B")),
    (60, Deed::Trip("D-03")),
    (0, Deed::Panel("D-03", "wrong")),
    (0, Deed::Restore("D-03")),
    (0, Deed::Trip("P-01")),
    (0, Deed::Panel("P-01", "right")),
    (30, Deed::Restore("P-01")),
    (0, Deed::Prove),
    (0, Deed::Showed("D-03", "D-04")),
    (0, Deed::Painted("D-06")),
    (0, Deed::NotTested("P-03", "not-accessible")),
    (0, Deed::Replace("D-05")),
    (600, Deed::Impair),
    (600, Deed::Break),
    (600, Deed::EndBreak),
    (0, Deed::BeltAgain),
    (0, Deed::Station(300)),
    // Past midnight.
    (9_000, Deed::StationOver),
    (0, Deed::BeltBack),
    (0, Deed::LeaveOff),
    (0, Deed::PanelLeft),
    (60, Deed::Close),
];

/// What the book says of the visit, apart from ids and clocks: how it stands, what each test came to, of what is off whether somebody accepted
/// it, of each item whether it is open.
type Said = (State, Vec<(String, Outcome)>, Vec<bool>, Vec<bool>);

fn says(book: &Book, now: Wall) -> Said {
    let visit = Visit::of(book, headings(book)[0].id).unwrap();
    let found = findings::visit(book, &visit);
    let outcome = |test: &soakbook::book::test::Test| {
        let found = found.tests.iter().find(|found| found.test == test.id).unwrap();
        (test.frozen.position.place.tag.clone(), found.outcome)
    };
    let mut tests: Vec<_> = visit.tests.iter().map(outcome).collect();
    tests.sort_by(|one, other| one.0.cmp(&other.0));
    let accepted = visit.off_now().iter().map(|off| off.accepted.is_some()).collect();
    let open = visit.items.iter().map(soakbook::book::visit::Item::is_open).collect();
    (visit.state(now), tests, accepted, open)
}

#[tokio::test]
async fn killed_at_ten_moments_a_visit_ends_in_the_same_book() {
    let host = Host::start(&dist());
    let (profile, files) = (folder("kills-profile"), folder("kills-files"));
    let seed = std::env::var("SOAKBOOK_SEED").ok().and_then(|seed| seed.parse().ok());
    let seed: u64 = seed.unwrap_or_else(|| RandomState::new().build_hasher().finish() | 1);
    println!("kills: SOAKBOOK_SEED={seed}");
    let mut state = seed;
    let mut at = Vec::new();
    while at.len() < KILLS {
        let moment = usize::try_from(random(&mut state, VISIT.len() as u64)).unwrap();
        if !at.contains(&moment) {
            at.push(moment);
        }
    }

    let mut phone = evening(&host, &profile, &files).await;
    let (mut expected, mut cut): (Vec<String>, usize) = (Vec::new(), 0);
    for (number, (later, deed)) in VISIT.into_iter().enumerate() {
        if later > 0 {
            phone.jump(later).await;
        }
        let before = expected.len();
        expected.extend(deed.writes().iter().map(ToString::to_string));
        if !at.contains(&number) {
            deed.by(&phone).await;
            until_written(&phone, deed, &expected).await;
            continue;
        }
        let delay = Duration::from_millis(random(&mut state, LATEST_MS));
        let whole = tokio::time::timeout(delay, deed.by(&phone)).await.is_ok();
        let ahead = phone.ahead();
        phone.kill();
        phone = Phone::timed(&profile, ahead).await;
        phone.open(&host.address()).await;
        phone.until("document.querySelector('[data-testid=test], [data-testid=tab-visit]')?.checkVisibility()").await;
        let found = written(&phone).await;
        cut += usize::from(!whole);
        // A decision is there or it is not, never a part of it.
        if found == expected[..before] {
            deed.by(&phone).await;
        }
        until_written(&phone, deed, &expected).await;
    }
    println!("kills survived: {KILLS} of {KILLS}, {cut} of them in the middle of a deed");

    let now = phone.wall().await;
    let file = bundle(&phone, "export-file", &folder("kills-out")).await;
    let book = read_bundle(&fs::read_to_string(file).unwrap()).unwrap().book;
    // By hand from the list above: D-03 showed a wrong point, P-01 passed. Zone 1 stays
    // impaired by name. The items are the wrong point and the paint, which nobody put right.
    let tests = vec![
        ("D-03".to_string(), Outcome::Failed(findings::Failed::WrongPoint)),
        ("P-01".to_string(), Outcome::Passed),
    ];
    assert_eq!(says(&book, now), (State::Closed, tests, vec![true], vec![true, true]));
    phone.off().await;
    drop(fs::remove_dir_all(profile));
}
