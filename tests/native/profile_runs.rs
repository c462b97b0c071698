//! The profile run as a screen, and the profiles it makes. Times and words are reckoned by hand from the demonstration's heater A,
//! which heats up in 213 s, so that 12 readings are 15 s apart (17.75 s, down to whole 5 s), and comes on again after 43 s.

use crate::demo::{at, demo_book, give};
use soakbook::book::Id;
use soakbook::book::body::What::{self, AtTop, HeaterOff};
use soakbook::book::command::{Command, StartProfileRun};
use soakbook::book::entries::Book;
use soakbook::book::kit::Kit;
use soakbook::book::profile_run::{ProfileRun, profile_of, profile_runs};
use soakbook::book::register::Register;
use soakbook::findings::{Estimates, NoProfile, fitted, heater_profile, residuals};
use soakbook::thermal::Refused;
use soakbook::trade::conditions::Warmth;
use soakbook::units::{Degree, Difference, Reading, Seconds, TestTime, Wall};
use soakbook::view::profile::{HeaterProfiles, Standing};
use soakbook::view::profile_run::{ProfileRunAnswers, ProfileRunScreen, positions};
use soakbook::view::route::Route;

/// Later than the demonstration.
const START: Wall = Wall(1_772_355_600_000 + 3_600_000);
const PROFILE_RUN: Id = Id::from_u128(901);

struct Given {
    book: Book,
    heater: Id,
}

fn f(value: i64) -> Reading {
    Reading { value, scale: 0, unit: Degree::F }
}

fn heater(book: &Book, starts: &str) -> Id {
    *Kit::of(book).heaters.iter().find(|(_, h)| h.name.now().unwrap().name.starts_with(starts)).unwrap().0
}

impl Given {
    /// The demonstration with a profile run that goes on, heat on at 0 s.
    fn heating(starts: &str) -> Given {
        let (mut book, _) = demo_book();
        let heater = heater(&book, starts);
        let answers = ProfileRunAnswers { ambient: Some(f(70)), ..ProfileRunAnswers::offered(&book, heater) };
        let start = answers.start(PROFILE_RUN, heater).expect("everything is answered");
        give(&mut book, at(START), Command::StartProfileRun(Box::new(start))).expect("a profile run");
        Given { book, heater }
    }

    fn give(&mut self, second: i64, command: Command) {
        give(&mut self.book, at(START + second * 1_000), command).expect("allowed");
    }

    fn read(&mut self, second: i64, shown: i64) {
        self.give(second, Command::Read { of: PROFILE_RUN, reading: f(shown), trip: None });
    }

    fn mark(&mut self, second: i64, what: What) {
        self.give(second, Command::Mark { of: PROFILE_RUN, what });
    }

    fn profile_run(&self) -> ProfileRun {
        ProfileRun::of(&self.book, PROFILE_RUN).expect("the profile run")
    }

    fn screen(&self, second: i64) -> ProfileRunScreen {
        ProfileRunScreen::of(&self.book, &self.profile_run(), TestTime(second * 1_000), Degree::F)
    }

    fn profiles(&self) -> HeaterProfiles {
        HeaterProfiles::of(&self.book, self.heater, at(START).phone, Degree::F, &|_| 0, &mut Estimates::default())
            .expect("the heater")
    }
}

#[track_caller]
fn check(screen: &ProfileRunScreen, heading: &str, clock: &str, advice: &str, marks: &[What]) {
    assert_eq!((screen.heading.as_str(), screen.clock.as_str()), (heading, clock));
    assert!(screen.advice.contains(advice), "{:?}", screen.advice);
    assert_eq!(screen.marks, marks);
}

#[test]
fn the_screen_leads_through_the_parts() {
    let mut given = Given::heating("Heater A");
    check(&given.screen(5), "Heating", "0:05", "12 more readings, one every 0:15.", &[AtTop, HeaterOff]);
    assert_eq!(given.screen(5).hint, "Tap, then enter the reading");
    given.read(10, 82);
    let screen = given.screen(18);
    assert_eq!((screen.hint.as_str(), screen.due), ("1 reading · next in 0:07", false));
    let screen = given.screen(25);
    assert_eq!((screen.hint.as_str(), screen.due), ("1 reading · next one due", true));
    for n in 1..12 {
        given.read(10 + 15 * n, 82 + 10 * n);
    }
    check(&given.screen(180), "Heating", "3:00", "Enough. Continue to top temp and mark it.", &[AtTop, HeaterOff]);
    given.mark(210, AtTop);
    check(&given.screen(220), "At top temp", "0:10", "3 more readings, one every 0:30.", &[HeaterOff]);
    assert!(!given.screen(220).may_end);
    (1..=3).for_each(|n| given.read(210 + 30 * n, 206));
    check(&given.screen(310), "At top temp", "1:40", "Mark when it shuts off", &[HeaterOff]);
    given.mark(390, HeaterOff);
    check(&given.screen(400), "Cooling", "0:10", "8 more readings, one every 0:30.", &[]);
    // 20 s before a heater that cycles by itself comes on again that is said.
    check(&given.screen(412), "Cooling", "0:22", "8 more readings", &[]);
    check(&given.screen(413), "Cooling", "0:23", "Keep it off", &[]);
    assert!(given.screen(413).may_end);
    (1..=8).for_each(|n| given.read(390 + 30 * n, 206 - 10 * n));
    check(&given.screen(640), "Cooling", "4:10", "Enough. End it", &[]);
}

#[test]
fn a_heater_that_is_switched_by_hand_shows_no_time_to_come_on() {
    let mut given = Given::heating("Heater B");
    // No display and no heat-up time: tenths of the screen's unit, a reading every 15 s.
    assert_eq!(given.screen(0).step, Some(Difference { value: 1, scale: -1, unit: Degree::F }));
    given.read(10, 82);
    given.mark(200, HeaterOff);
    check(&given.screen(260), "Cooling", "1:00", "8 more readings, one every 0:30.", &[]);
    assert!(!given.screen(260).may_end, "one reading makes no profile run");
}

#[test]
fn minus_is_offered_only_near_the_zero_of_the_display() {
    let below_zero = |ambient: i64| {
        let (mut book, _) = demo_book();
        let heater = heater(&book, "Heater A");
        let start = StartProfileRun {
            run: PROFILE_RUN,
            heater,
            setting: f(201),
            mode: None,
            position: None,
            ambient: f(ambient),
            heater_warmth: Warmth::Cold,
        };
        give(&mut book, at(START), Command::StartProfileRun(Box::new(start))).expect("a profile run");
        Given { book, heater }.screen(0).below_zero
    };
    assert!(!below_zero(40));
    assert!(below_zero(5));
}

#[test]
fn only_positions_whose_detectors_may_be_heated_are_offered() {
    let (book, made) = demo_book();
    let register = Register::of(&book);
    let tags: Vec<String> = positions(&register, None).into_iter().map(|(_, tag)| tag).collect();
    // P-03 is nonrestorable.
    assert_eq!(tags, ["J-01", "J-02", "J-03", "J-04", "J-05", "P-01", "P-02", "S-01"]);
    let visit = soakbook::book::visit::Visit::of(&book, made.visit).expect("the visit");
    assert_eq!(positions(&register, Some(&visit)).len(), tags.len());
}

#[test]
fn what_was_answered_last_time_is_offered() {
    let (book, _) = demo_book();
    let offered = ProfileRunAnswers::offered(&book, heater(&book, "Heater A"));
    assert_eq!((offered.setting, offered.ambient, offered.position), (Some(f(201)), None, None));
    assert_eq!(offered.start(PROFILE_RUN, heater(&book, "Heater A")), None, "the ambient temperature is missing");
}

#[test]
fn a_profile_run_that_goes_on_is_in_the_list_and_makes_no_profile() {
    let mut given = Given::heating("Heater A");
    given.read(10, 82);
    let profiles = given.profiles();
    assert!(profiles.goes_on);
    let standings: Vec<Standing> =
        profiles.modes[0].profile_runs.iter().map(|profile_run| profile_run.standing).collect();
    assert_eq!(standings, [Standing::GoesOn, Standing::Used, Standing::Used]);
    assert_eq!(profiles.modes[0].short, "Heater profile from 2 profile runs");
    given.give(20, Command::EndProfileRun { run: PROFILE_RUN, usable: false });
    let profiles = given.profiles();
    assert_eq!((profiles.goes_on, profiles.modes[0].profile_runs[0].standing), (false, Standing::NotUsable));
    assert_eq!(profiles.modes[0].profile_runs[0].readings, [("0:10".to_string(), "82 °F".to_string())]);
}

#[test]
fn a_refused_profile_says_why() {
    let mut given = Given::heating("Heater B");
    [(10, 82), (20, 90), (30, 97)].iter().for_each(|(at, shown)| given.read(*at, *shown));
    given.mark(40, HeaterOff);
    given.give(50, Command::EndProfileRun { run: PROFILE_RUN, usable: true });
    let used = profile_runs(&given.book, &profile_of(&given.book, given.heater, None));
    // Three readings and the start at ambient are four points; AICc of a line with its variance needs five.
    assert_eq!(heater_profile(&used, f(150)), Err(NoProfile::Refused(Refused::TooFewClimbing)));
    assert_eq!(heater_profile(&[], f(150)), Err(NoProfile::NoProfileRun));
    let mode = given.profiles().modes.remove(0);
    assert_eq!(mode.short, "No profile");
    assert!(mode.words[0].contains("Too few readings of the heat-up"), "{:?}", mode.words);
    // What was read is shown all the same, and the profile run does not stand there as if it made a profile.
    let plot = mode.plot.expect("the readings");
    assert_eq!((plot.dots.len(), plot.lines.len(), plot.residuals.len()), (3, 0, 0));
    assert_eq!((mode.profile_runs[0].standing, mode.figures.len()), (Standing::Refused, 0));
}

#[test]
fn readings_are_the_profile_and_what_is_left_over() {
    let (book, _) = demo_book();
    let used = profile_runs(&book, &profile_of(&book, heater(&book, "Heater A"), None));
    let profile = heater_profile(&used, f(201)).expect("a profile");
    for (index, profile_run) in used.iter().enumerate() {
        let left = residuals(profile_run, &profile, index);
        // All but the readings while it held.
        assert_eq!(left.len(), profile_run.readings.len() - 2);
        for (time, residual) in left {
            // The fit takes a reading as a little before its tap; no two are within a second of each other.
            let here = |at: i64| (Seconds::from_millis(at) - time).0.abs() < 1.0;
            let reading =
                profile_run.readings.iter().find(|reading| here(reading.at.since_heat_on())).expect("a reading");
            let on_profile = fitted(profile_run, &profile, index, time).expect("on the profile");
            assert!(((reading.reading.celsius() - on_profile) - residual).abs().0 < 1e-9, "at {time:?}");
        }
        assert_eq!(fitted(profile_run, &profile, index, Seconds(300.0)), None, "while it holds");
    }
    // At another setting the same heat-up, but nothing about what is held there.
    let other = heater_profile(&used, f(140)).expect("a profile");
    assert_eq!((other.rate, other.heating_tau), (profile.rate, profile.heating_tau));
    assert!(profile.held.is_some() && other.held.is_none());
}

#[test]
fn both_places_belong_to_the_register() {
    let id = Id::from_u128(7);
    for place in [Route::Profile(id), Route::ProfileRun(id)] {
        assert_eq!(place.tab(), Route::Register.tab());
    }
}
