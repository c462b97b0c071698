//! The phone's battery ends: the browser is killed with SIGKILL at random moments and started again.

use std::fs;
use std::hash::{BuildHasher, Hasher, RandomState};
use std::time::Duration;

use crate::host::{Host, dist, folder};
use crate::phone::Phone;
use crate::setting_up::{BARE, demo, start_demo};

/// How often it is killed.
const KILLS: usize = 20;

/// What the text of a mark's entry holds.
const MARK: &str = "\"type\":\"mark\"";

/// How far the time left on screen may be from the wall clock, s.
const CLOSE: i64 = 2;

/// The demo heater's own cycle from heat on, s, by hand from its times (`view::demo`): 213 s of heat-up, 183 s of hold, 43 s off,
/// then 47 s of heat-up, 11 s of hold and 43 s off again and again until the fourth heat-up, from which no trip is taken, ends at
/// 699 s, and with it the test.
fn phase(at: i64) -> (&'static str, i64) {
    match at {
        ..213 => ("Heating", 213 - at),
        213..396 => ("Soak", 396 - at),
        396..439 => ("Heat off", 439 - at),
        688..699 => ("At top temp", 699 - at),
        699.. => ("Done", at - 699),
        _ => match (at - 439) % 101 {
            into @ ..47 => ("Heating", 47 - into),
            into @ 47..58 => ("Soak", 58 - into),
            into => ("Heat off", 101 - into),
        },
    }
}

/// Whether the last trip can be taken back now and marked again in the same heat-up. The only one is left alone from the end of the
/// first soak on.
fn can_go(at: i64, trips: usize) -> bool {
    let into = (at - 439) % 101;
    trips > 0 && (at < 380 || (trips > 1 && at < 600 && (3..50).contains(&into)))
}

/// Whether clock and phase are what the wall clock says, by up to two seconds either way.
fn agrees(at: i64, (words, left): (&str, i64)) -> bool {
    (at - CLOSE..=at + CLOSE).any(|at| {
        let (phase, wall) = phase(at);
        phase == words && (wall - left).abs() <= CLOSE
    })
}

/// A random number below `below`: xorshift (Marsaglia 2003), seeded at random and printed, so that a failure can be repeated.
pub(crate) fn random(state: &mut u64, below: u64) -> u64 {
    *state ^= *state << 13;
    *state ^= *state >> 7;
    *state ^= *state << 17;
    *state % below
}

#[tokio::test]
async fn killed_at_any_moment_the_test_goes_on_where_it_is() {
    let host = Host::start(&dist());
    let profile = folder("killed-profile");
    let seed = std::env::var("SOAKBOOK_SEED").ok().and_then(|seed| seed.parse().ok());
    let seed: u64 = seed.unwrap_or_else(|| RandomState::new().build_hasher().finish() | 1);
    println!("kills: SOAKBOOK_SEED={seed}");
    let mut state = seed;

    let mut phone = demo(&host, &profile).await;
    let marked = async |phone: &Phone| {
        let of_test = |text: &str| text.contains(MARK) && text.contains("\"scope\":\"visit:");
        phone.entries().await.iter().filter(|entry| of_test(entry.as_str().unwrap())).count()
    };
    let before = marked(&phone).await;
    start_demo(&phone, BARE).await;
    let heat_on = phone.heat_on.get();
    // Trips 1 to 3 are marked once their heat-ups have come; a fourth would complete the test.
    let due = [30, 441, 542];
    let (mut trips, mut marks, mut after_mark) = (0, 1, 0);
    for kill in 0..KILLS {
        // 20 steps of 24 to 39 s go through heat-up, soak, and off, several times.
        phone.jump(24 + i64::try_from(random(&mut state, 16)).unwrap()).await;
        let at = (phone.wall().await - heat_on) / 1_000;
        let comes = trips < due.len() && at >= due[trips];
        let again = !comes && can_go(at, trips) && random(&mut state, 2) == 0;
        if again {
            phone.tap("undo").await;
            trips -= 1;
            phone.tripped(trips).await;
        }
        if comes || again {
            trips += 1;
            phone.mark(&format!("Mark trip {trips}")).await;
            marks += 1;
            after_mark += 1;
            phone.tripped(trips).await;
            phone.recorded(&format!("Trip {trips}")).await;
        } else {
            tokio::time::sleep(Duration::from_millis(random(&mut state, 400))).await;
        }
        let ahead = phone.ahead();
        phone.kill();

        phone = Phone::timed(&profile, ahead).await;
        phone.open(&host.address()).await;
        phone.tripped(trips).await;
        let clock = phone.clock().await;
        let at = (phone.wall().await - heat_on) / 1_000;
        assert!(agrees(at, (&clock.0, clock.1)), "kill {kill}: {clock:?} at {at} s, {:?}", phase(at));
        assert_eq!(marked(&phone).await - before, marks, "kill {kill}");
    }
    println!("kills survived: {KILLS} of {KILLS}, {after_mark} of them right after a mark was shown as recorded");
    phone.tap("more").await;
    phone.reads("details", "The app restarted after").await;
    phone.off().await;
    drop(fs::remove_dir_all(profile));
}
