//! What a visit asks of a hand, beside paper and a stopwatch.
//!
//! Paper counted by hand: a *mark* is a tick, a cross or a time of four digits written once; a *stroke* is a sign of text. The forms are
//! those that any notification and test record has (NFPA 72, chapter 14, asks for what is on them), filled in for the same visit. A
//! look at a watch and a press of a stopwatch are one act each, as a tap is.
//!
//! | | paper and stopwatch | what that is | here |
//! |---|---|---|---|
//! | a functional test after the first | 9 acts | tag found on the list; start and stop of the watch; time of heat on; time of the trip; three ticks; initials | 5 taps |
//! | opening | 13 acts, 30 strokes | station, panel and release: a tick, a time and initials each; operator and account; tag number; the time it ends | 9 taps, 17 signs |
//! | a break | 12 acts | two things put back and two off again: a tick, a time and initials each; nothing says what was forgotten | 14 taps, 24 signs |
//! | closing | 13 acts, 35 strokes | station, release and panel: a tick, a time and initials each; what stays off, until when, two names; twelve lines counted through | 17 taps, 36 signs |
//!
//! A time that is typed counts sixteen signs, though a phone has it chosen on its wheel. Who and when are filled in and cost nothing here.
//! Paper adds nothing up, warns of nothing and is copied by somebody else afterwards; none of that is counted.
//!
//! The app asks for eyes when it asks for a tap; between taps it calls by sound, vibration or speech. How long that takes is reckoned.

use super::deeds::{Deed, all, to_visit};
use super::night::evening;
use crate::host::{Host, dist, folder};
use crate::phone::Phone;

/// A look that ends in a tap: to make out what is asked, to point, to press. Keystroke-level model, Card, Moran & Newell, CACM 23 (1980):
/// M 1.35 s, P 1.1 s, K 0.2 s (from memory).
const LOOK_S: f64 = 1.35 + 1.1 + 0.2;

/// Does these and says how many taps and signs they took, from the list on.
#[allow(clippy::print_stdout, reason = "figures are there to be read")]
async fn counted(phone: &Phone, what: &str, deeds: &[Deed]) {
    to_visit(phone).await;
    phone.taps.set(0);
    phone.keys.set(0);
    all(phone, deeds).await;
    let (taps, signs) = (phone.taps.get(), phone.keys.get());
    println!("{what}: {taps} taps, {signs} signs typed, eyes for {:.0} s", taps as f64 * LOOK_S);
}

#[tokio::test]
#[ignore = "figures, not behaviour"]
async fn figures_of_a_visit() {
    let host = Host::start(&dist());
    let files = folder("figures-files");
    let phone = evening(&host, &folder("figures-profile"), &files).await;
    all(&phone, &[Deed::Open]).await;
    counted(&phone, "list made from what is due", &[Deed::Plan]).await;
    counted(&phone, "opening: station, panel, release", &[Deed::Station(400), Deed::PanelFound, Deed::Secure]).await;
    for (which, tag) in [("first", "D-01"), ("next", "D-02"), ("next", "D-03")] {
        let [on, off] =
            [&[Deed::HeatOn(tag, "Heater A")][..], &[Deed::Trip(tag), Deed::Panel(tag, "right"), Deed::Restore(tag)]];
        counted(&phone, &format!("{which} functional test, to heat on"), on).await;
        phone.jump(90).await;
        phone.taps.set(0);
        phone.keys.set(0);
        all(&phone, off).await;
        let results = phone.taps.get();
        println!(
            "{which} functional test, the three results: {results} taps, eyes for {:.0} s",
            results as f64 * LOOK_S
        );
    }
    counted(&phone, "first alarm of a circuit", &[Deed::Prove]).await;
    counted(&phone, "impairment", &[Deed::Impair]).await;
    phone.jump(600).await;
    counted(&phone, "break", &[Deed::Break]).await;
    phone.jump(600).await;
    counted(&phone, "after the break", &[Deed::EndBreak, Deed::BeltAgain, Deed::Station(300)]).await;
    for tag in ["D-04", "D-05", "D-06", "D-07", "D-08", "D-09", "P-01", "P-02", "P-03"] {
        all(&phone, &[Deed::NotTested(tag, "out-of-time")]).await;
    }
    let closing = [Deed::StationOver, Deed::BeltBack, Deed::LeaveOff, Deed::PanelLeft, Deed::Close];
    counted(&phone, "closing: station, release, one thing left off by name, panel", &closing).await;
    phone.off().await;
}
