//! A bundle goes out whole, comes in whole, and comes in not at all when anything in it is broken.

use crate::at_trip::late_and_estimated;
use crate::sample::{HeatUp, OTHER_SITE, Phone, SITE, VISIT, c, id, read, silent, started};
use serde_json::{Value, json};
use soakbook::book::body::{About, Body, Ending, ProfileRunStart, What};
use soakbook::book::entries::{Attachment, Book};
use soakbook::book::entry::{Chain, Opens, Scope, Stamp};
use soakbook::book::integrity::anomalies;
use soakbook::book::seal::{Draft, seal};
use soakbook::book::visit::Visit;
use soakbook::encoding::parse_strict;
use soakbook::findings;
use soakbook::handover::{
    Bundle, BundleFault, FindingsCheck, Made, NotRead, NothingToHandOver, Progress, Select, bundle_of, file_name,
    last_recorded, read_bundle, read_in_pieces,
};
use soakbook::trade::conditions::Warmth;
use soakbook::units::{Mono, Wall};
use std::sync::Arc;

fn made() -> Made {
    Made { at: Wall(1_750_003_600_000), app: "0.1.0".into(), phone: id(1) }
}

fn phone() -> Phone {
    let mut phone = Phone::new();
    let heat_ups = read(&["80.0", "88.1", "87.6", "88.4", "87.9"]);
    phone.test(started(1), &heat_ups, Ending::Done);
    phone.test(silent(2), &[HeatUp::NoTrip], Ending::NoTrip);
    let note = Attachment::text([9; 16], "Painted over\nand \"dusty\"");
    phone.in_visit(Body::Noted { about: About::Thing(id(1)), note: note.hash() });
    phone.book.attach(note);
    phone
}

/// Nine more detectors of one rating, 2 K above it, one of them far off.
fn side_by_side(phone: &mut Phone) {
    for (test, mean) in (11..).zip(["90.0", "90.1", "89.9", "90.0", "90.1", "89.9", "90.0", "90.1", "93.5"]) {
        let mut start = started(test);
        start.procedure.soak_ms = Some(240_000);
        start.procedure.name = "Four minutes".into();
        phone.test(start, &read(&["80.0", mean, mean, mean, mean]), Ending::Done);
    }
}

fn bundle(phone: &Phone) -> Bundle {
    bundle_of(&phone.book, Select::Visit(id(VISIT)), &made()).expect("a bundle")
}

fn faults(text: &str) -> Vec<BundleFault> {
    read_bundle(text).expect_err("a refusal")
}

/// The one sentence that refuses `text`.
#[track_caller]
fn refused(text: &str, expected: &str) {
    let sentences: Vec<String> = faults(text).iter().map(ToString::to_string).collect();
    assert!(sentences.iter().any(|sentence| sentence.contains(expected)), "{expected:?} is not in {sentences:?}");
}

#[test]
fn a_bundle_in_an_empty_book_gives_the_same_findings() {
    let phone = phone();
    let bundle = bundle(&phone);
    let incoming = read_bundle(&bundle.text).expect("a sound bundle");
    assert_eq!(incoming.made, made());
    assert_eq!(incoming.findings, FindingsCheck::Same);
    assert_eq!((incoming.book.len(), incoming.book.attachments().count()), (bundle.entries, 2));
    assert_eq!(incoming.chains, bundle.chains);
    let book = incoming.book;
    let visit = |book: &Book| findings::visit(book, &Visit::of(book, id(VISIT)).expect("the visit"));
    assert_eq!(visit(&book), visit(&phone.book));
    let again = bundle_of(&book, Select::Visit(id(VISIT)), &made()).expect("a bundle");
    assert_eq!(again.text, bundle.text, "handed on it is the same to the last byte");
}

/// Lets an object have no member that its description does not have.
fn close(node: &mut Value) {
    if let Some(properties) = node.get_mut("properties").and_then(Value::as_object_mut) {
        properties.values_mut().for_each(close);
        node["additionalProperties"] = json!(false);
    }
    if let Some(items) = node.get_mut("items") {
        close(items);
    }
}

#[test]
fn a_bundle_is_valid_by_its_published_schema() {
    let schema: Value = serde_json::from_str(include_str!("../../public/bundle.schema.json")).expect("JSON");
    jsonschema::meta::validate(&schema).expect("a JSON Schema of 2020-12");
    let described = &schema["properties"]["findings"]["if"]["properties"]["method"]["const"];
    assert_eq!(*described, json!(findings::METHOD), "bundle.schema.json describes the findings of this method");
    // What is not described may stand in a bundle for later apps to add to; this one describes every finding it writes.
    let mut strict = schema.clone();
    let definitions = strict["$defs"].as_object_mut().expect("definitions");
    definitions.iter_mut().filter(|(name, _)| name.starts_with("findings_of_")).for_each(|(_, node)| close(node));
    let validator = jsonschema::validator_for(&strict).expect("a schema");
    let mut phone = phone();
    let mut displayed = started(3);
    displayed.heater.metrology.fit_u = None;
    phone.test(displayed, &read(&["80.0", "88.1", "87.6"]), Ending::StoppedEarly);
    side_by_side(&mut phone);
    let of_profiles = late_and_estimated();
    let mut selected =
        [Select::Visit(id(VISIT)), Select::Site(id(SITE)), Select::Everything].map(|of| (&phone, of)).to_vec();
    selected.push((&of_profiles, Select::Everything));
    for (phone, select) in selected {
        let bundle = bundle_of(&phone.book, select, &made()).expect("a bundle");
        let value: Value = serde_json::from_str(&bundle.text).expect("JSON");
        let errors: Vec<String> =
            validator.iter_errors(&value).map(|error| format!("{}: {error}", error.instance_path())).collect();
        assert!(errors.is_empty(), "bundle.schema.json: {errors:?}");
    }
    let mut broken: Value = serde_json::from_str(&bundle(&phone).text).expect("JSON");
    broken["entries"][0]["seq"] = json!(-1);
    assert!(!validator.is_valid(&broken));
    let families = broken["findings"]["families"].as_array_mut().expect("families");
    let scored = families.iter_mut().find(|family| family["compared"] == "scored").expect("a scored one");
    assert!(
        scored["shifts"].as_array().is_some_and(|shifts| !shifts.is_empty()),
        "all of the schema is tried: {scored}"
    );
    let of_family = |family: &Value| {
        let mut schema = schema.clone();
        schema["$ref"] = json!("#/$defs/findings_of_family");
        for name in ["properties", "required", "type"] {
            schema.as_object_mut().expect("an object").remove(name);
        }
        jsonschema::validator_for(&schema).expect("a schema").is_valid(family)
    };
    for (within, valid) in [("own_uncertainty", true), ("heaters", true), ("luck", false)] {
        scored["members"][0]["within"] = json!(within);
        assert_eq!(of_family(scored), valid, "{within}");
    }
    scored["members"][0]["within"] = json!("heaters");
    scored["members"][0]["deviation_k"] = json!("much");
    assert!(!of_family(scored));
}

#[test]
fn every_reason_against_a_verdict_stands_in_the_schema() {
    use soakbook::findings::{Missing, NotProven};
    use soakbook::units::Celsius;
    let schema = include_str!("../../public/bundle.schema.json");
    let not_proven = [
        NotProven::TopNotSeen,
        NotProven::SoakTooShort { held_ms: 0, needed_ms: 1 },
        NotProven::NotHotEnough { reach: Celsius(0.0), needed: Celsius(1.0) },
        NotProven::CalibrationUnknown,
        NotProven::FitUnknown,
        NotProven::NoRating,
        NotProven::HeaterProblem,
        NotProven::RateNotShown,
    ];
    let missing = [
        Missing::FunctionalTest,
        Missing::ElementLags,
        Missing::TypeNotAllowed,
        Missing::EarlyTrip,
        Missing::FewerTrips { counted: 0, wanted: 1 },
        Missing::Estimated { estimated: 1, of: 1 },
    ];
    let names = not_proven.iter().map(NotProven::name).chain(missing.iter().map(Missing::name));
    for name in names {
        assert!(schema.contains(&format!("\"{name}\"")), "{name}");
    }
}

#[test]
fn what_is_new_is_counted_and_forks_are_named() {
    let phone = phone();
    let bundle = bundle(&phone);
    let incoming = read_bundle(&bundle.text).expect("a sound bundle");
    let news = incoming.against(&Book::default());
    assert_eq!((news.new, news.known, news.attachments), (bundle.entries, 0, 2));
    let news = incoming.against(&phone.book);
    assert_eq!((news.new, news.known, news.attachments, news.forks.len()), (0, bundle.entries, 0, 0));
    let mut other = Phone::new();
    other.test(started(3), &[HeatUp::NoTrip], Ending::NoTrip);
    let news = incoming.against(&other.book);
    // By hand: up to the opening of the visit both wrote the same; the four entries of the other phone's test (start, heat on, top
    // temperature, end) stand where this phone wrote its own.
    assert_eq!(news.forks.len(), 4);
    assert!(news.forks.iter().all(|(chain, _)| chain.scope == Scope::Visit(id(VISIT))));
}

#[test]
fn nothing_of_another_customer_leaves_with_a_visit() {
    let phone = phone();
    let text = bundle(&phone).text;
    assert!(text.contains("Invented works") && !text.contains("Another customer"));
    assert!(!text.contains(&id(OTHER_SITE).to_string()));
    let site = bundle_of(&phone.book, Select::Site(id(SITE)), &made()).expect("a register");
    assert_eq!(site.chains.len(), 1);
    let everything = bundle_of(&phone.book, Select::Everything, &made()).expect("everything");
    assert!(everything.text.contains("Another customer"));
    assert_eq!(everything.entries, phone.book.len());
    assert_eq!(read_bundle(&everything.text).expect("a sound bundle").findings, FindingsCheck::Same);
}

#[test]
fn of_the_kits_only_those_go_along_that_hold_the_profile_runs_of_its_tests_and_those_whole() {
    // Another phone took the profile run; its kit holds nothing else that the visit names.
    let heater = started(1).heater;
    let begins = |position, marking| {
        let (heater, heater_warmth) = (heater.clone(), Warmth::Cold);
        let (run, ambient) = (id(70), c("20"));
        Body::ProfileRunStarted(
            ProfileRunStart { run, heater, position, marking, ambient, heater_warmth, by: None }.into(),
        )
    };
    let write = |phone: &mut Phone, start: Body| {
        let stamp = Stamp { session: id(91), mono: Mono(0), wall: Wall(1_750_000_000_000) };
        let opens = Opens { app: "0.1.0".into(), zone: String::new(), offset: 0, who: None };
        let drafts = [start, Body::ProfileRunEnded { run: id(70), usable: true }];
        let drafts = drafts.map(|body| Draft { scope: Scope::Kit, body }).into();
        let sealed = seal(&phone.book, id(90), stamp, 0, &opens, drafts);
        let ended = sealed[1].hash;
        sealed.into_iter().for_each(|entry| phone.book.apply(entry));
        ended
    };
    let other_kit = Chain { scope: Scope::Kit, phone: id(90) };
    let count = |made: &Bundle| made.chains.iter().find(|head| head.chain == other_kit).map(|head| head.count);
    let mut phone = Phone::new();
    let ended = write(&mut phone, begins(None, None));
    let mut with_profile = started(1);
    with_profile.heater.profile = vec![ended];
    phone.test(with_profile, &read(&["80.0", "88.1"]), Ending::StoppedEarly);
    assert_eq!(count(&bundle(&phone)), Some(2));
    // Whole, or its links would break; of the detector in place it says what it is and not whose.
    write(&mut phone, begins(Some(id(1007)), Some(started(7).detector.marking)));
    let made = bundle(&phone);
    assert_eq!(count(&made), Some(4));
    assert!(!made.text.contains("D-7"));
    // Where no profile rests on it, it stays at home, and so does this phone's own.
    let mut phone = self::phone();
    write(&mut phone, begins(None, None));
    let made = bundle(&phone);
    assert!(made.chains.iter().all(|head| head.chain.scope != Scope::Kit));
    assert!(made.text.contains("QS4gVGVjaG5pY2lhbg"), "who took part goes along all the same: A. Technician in base64");
}

#[test]
fn findings_of_a_visit_are_those_of_its_bundle_wherever_profile_runs_were_taken() {
    // A profile run on a detector of no site that is known here, in the chain that holds the profile runs of the tests' profiles.
    let mut phone = late_and_estimated();
    let mut heater = started(1).heater;
    heater.profile.clear();
    let (profile_run, heater_warmth) = (id(990), Warmth::Cold);
    let begins = ProfileRunStart {
        run: profile_run,
        heater,
        position: Some(id(1007)),
        marking: Some(started(7).detector.marking),
        ambient: c("20"),
        heater_warmth,
        by: None,
    };
    phone.say(Scope::Kit, Body::ProfileRunStarted(Arc::new(begins)));
    phone.say(Scope::Kit, Body::ProfileRunEnded { run: profile_run, usable: false });
    let incoming = read_bundle(&bundle(&phone).text).expect("a sound bundle");
    assert_eq!(incoming.findings, FindingsCheck::Same);
    assert_eq!(anomalies(&incoming.book), []);
    let visit = |book: &Book| findings::visit(book, &Visit::of(book, id(VISIT)).expect("the visit"));
    assert_eq!(visit(&incoming.book), visit(&phone.book), "its profiles are in it");
}

#[test]
fn a_bundle_says_what_its_own_entries_say() {
    // Another visit's phone wrote an undo of a mark in this one; that chain does not leave with this visit.
    let mut phone = phone();
    let trip = phone.book.entries().find(|entry| matches!(entry.body, Body::Mark { what: What::Tripped, .. }));
    let undoes = trip.expect("a trip").decision();
    phone.say(Scope::Visit(id(61)), Body::Undone { undoes });
    assert_eq!(read_bundle(&bundle(&phone).text).expect("a sound bundle").findings, FindingsCheck::Same);
}

#[test]
fn with_nothing_to_hand_over_there_is_no_bundle() {
    let book = Book::default();
    assert_eq!(bundle_of(&book, Select::Everything, &made()), Err(NothingToHandOver::Book));
    assert_eq!(bundle_of(&book, Select::Site(id(SITE)), &made()), Err(NothingToHandOver::Site));
    assert_eq!(bundle_of(&book, Select::Visit(id(VISIT)), &made()), Err(NothingToHandOver::Visit));
    assert!(NothingToHandOver::Visit.to_string().starts_with("nothing to send"));
}

#[test]
fn what_mail_does_to_a_text_does_no_harm() {
    let text = bundle(&phone()).text;
    let crlf = text.replace('\n', "\r\n");
    for changed in [format!("\u{feff}{text}"), crlf, format!("{text}\r\n\r\n"), text.trim_end().to_string()] {
        assert!(read_bundle(&changed).is_ok());
    }
}

#[test]
fn each_damage_is_refused_with_its_place() {
    let text = bundle(&phone()).text;
    let lines: Vec<&str> = text.lines().collect();
    let marks: Vec<usize> = (0..lines.len()).filter(|i| lines[*i].contains("\"what\":\"tripped\"")).collect();
    let mark: Value = serde_json::from_str(lines[marks[1]].trim_end_matches(',')).expect("an entry");
    let seq = mark["seq"].as_i64().expect("a place");
    let with = |change: &dyn Fn(&mut Vec<String>)| {
        let mut lines: Vec<String> = lines.iter().map(ToString::to_string).collect();
        change(&mut lines);
        lines.join("\n")
    };
    let line = marks[1];
    let scope = format!("visit:{}", id(VISIT));
    refused(
        &with(&|lines| lines[line] = lines[line].replace("tripped", "restored")),
        &format!("the entry at place {seq} of {scope}"),
    );
    refused(&with(&|lines| drop(lines.remove(line))), &format!("the entry at place {seq} of {scope}"));
    refused(&with(&|lines| lines.insert(line, lines[line].clone())), "is there twice");
    // The tail of a chain cut off, without its list being brought in line.
    let last =
        (0..lines.len()).rfind(|i| lines[*i].contains("\"type\":\"noted\"")).expect("the last entry of the visit");
    let has_comma = lines[last].ends_with(',');
    let cut = with(&|lines| {
        lines.remove(last);
        if !has_comma {
            lines[last - 1].pop();
        }
    });
    refused(&cut, "entries and should have");
    refused(&with(&|lines| lines[last] = lines[last].replace("\"mono\":", "\"mono\":1")), "the last entry of");
    refused(&with(&|lines| lines[line] = lines[line].replace("\"seq\":", "\"sec\":")), "has no valid `seq`");
    refused(&with(&|lines| lines[line] = lines[line].replace("\"mono\":", "\"mono\":1,\"mono\":")), "occurs twice");
    refused(&text.replace("\"bytes\":\"", "\"bytes\":\"AAAA"), "attachment 1 was altered");
    refused(&text.replace("\"bytes\":\"", "\"bytes\":\"%"), "attachment 1 was altered");
    refused(&text.replace("\"v\":2,\n", "\"v\":3,\n"), "needs a newer app");
    refused(
        &text.replace("\"made\":{", "\"made\":{\"at\":\"now\",\"was\":{\"x\":0},").replace("\"at\":1750003600000,", ""),
        "`made`",
    );
    refused(&text.replace("\"count\":", "\"count\":1"), "and should have 1");
    refused(&text.replace("\"chains\":[", "\"chains\":[7,"), "row 1 of the list of chains");
    refused(&text[..text.len() / 2], "ends too early");
}

#[test]
fn what_is_no_bundle_is_refused() {
    refused("", "the file is empty");
    refused("\u{feff} \r\n", "the file is empty");
    refused("Dear colleague, see attachment", "is not JSON");
    refused("{\"type\":\"FeatureCollection\"}", "is not a Soakbook visit file");
    refused("[1,2,3]", "is not a Soakbook visit file");
    refused("null", "is not a Soakbook visit file");
    refused(&"[".repeat(100_000), "is not JSON");
    refused(&format!("{{\"format\":{}", "{\"a\":".repeat(100_000)), "is not JSON");
    refused(r#"{"format":"soakbook bundle","v":2}"#, "no valid `entries`");
    refused(r#"{"format":"soakbook bundle","v":-9e999}"#, "is not JSON");
    refused(r#"{"format":"soakbook bundle","v":1e300}"#, "no valid `v`");
    refused(&" ".repeat(soakbook::handover::MAX_BYTES + 1), "larger than 64 MiB");
    let huge = json!({"format": "soakbook bundle", "v": 2, "made": {}, "chains": [], "attachments": [], "entries": [
        {"v": 2, "seq": 1e300}, {"v": 9_007_199_254_740_993_i64}, 5, "x", null, [], {}
    ]});
    refused(&huge.to_string(), "entry number 2");
    let many = json!({"format": "soakbook bundle", "v": 2, "made": {}, "chains": [], "attachments": [],
        "entries": vec![Value::Null; 1000]});
    assert!(faults(&many.to_string()).len() < 100, "no list that nobody can read");
}

#[test]
fn entries_in_another_order_are_taken_and_said() {
    let text = bundle(&phone()).text;
    let mut value = parse_strict(&text).expect("JSON");
    let entries = value["entries"].as_array_mut().expect("entries");
    entries.swap(0, 1);
    let incoming = read_bundle(&value.to_string()).expect("a union knows no order");
    assert_eq!(incoming.out_of_order, [2]);
    assert_eq!(incoming.findings, FindingsCheck::Same);
    assert!(read_bundle(&text).expect("a sound bundle").out_of_order.is_empty());
}

#[test]
fn a_gap_of_the_makers_own_book_is_declared_and_taken() {
    let phone = phone();
    let mut book = Book::default();
    let lost = phone.book.entries().find(|entry| matches!(entry.body, Body::ReadingTaken { .. })).expect("a reading");
    phone.book.entries().filter(|entry| entry.hash != lost.hash).cloned().for_each(|entry| book.apply(entry));
    let bundle = bundle_of(&book, Select::Visit(id(VISIT)), &made()).expect("a bundle");
    let incoming = read_bundle(&bundle.text).expect("a bundle with a gap that it names");
    assert_eq!(incoming.against(&Book::default()).missing, [(lost.chain, lost.seq, lost.seq)]);
    assert_eq!(incoming.against(&phone.book).missing, []);
}

#[test]
fn findings_that_differ_are_reported_and_refuse_nothing() {
    let text = bundle(&phone()).text;
    assert!(text.contains("\"mean_c\":88,"), "the mean of the four counted trips");
    let check = |from: &str, to: &str| read_bundle(&text.replace(from, to)).expect("a sound bundle").findings;
    // One unit of the third decimal is no difference, two are.
    assert_eq!(check("\"mean_c\":88,", "\"mean_c\":88.001,"), FindingsCheck::Same);
    let FindingsCheck::Differ(list) = check("\"mean_c\":88,", "\"mean_c\":88.002,") else { panic!("a difference") };
    let [differs] = &list[..] else { panic!("one difference: {list:?}") };
    assert_eq!((differs.test, differs.what.as_str()), (Some(id(1)), "operating.mean_c"));
    assert_eq!((differs.said.as_str(), differs.found.as_str()), ("88.002", "88.0"));
    assert!(matches!(check("\"limit_result\":\"within\"", "\"limit_result\":\"outside\""), FindingsCheck::Differ(_)));
    let method = format!("\"method\":{},", findings::METHOD);
    assert_eq!(check(&method, "\"method\":9999,"), FindingsCheck::NewerMethod);
    assert_eq!(check("\"findings\":", "\"other\":"), FindingsCheck::None);
    let older = text.replace(&method, "\"method\":1,").replace("\"mean_c\":88,", "\"mean_c\":87,");
    let findings = read_bundle(&older).expect("a sound bundle").findings;
    assert!(matches!(findings, FindingsCheck::OlderMethod(list) if list.len() == 1));
}

#[test]
fn families_that_differ_are_named_with_their_path() {
    let mut phone = phone();
    side_by_side(&mut phone);
    let text = bundle(&phone).text;
    let list = |change: &dyn Fn(&mut Value)| {
        let mut value = parse_strict(&text).expect("JSON");
        change(&mut value["findings"]);
        match read_bundle(&value.to_string()).expect("a sound bundle").findings {
            FindingsCheck::Same => Vec::new(),
            FindingsCheck::Differ(list) => list,
            other => panic!("{other:?}"),
        }
    };
    let paths = |change: &dyn Fn(&mut Value)| -> Vec<(Option<soakbook::book::Id>, String)> {
        list(change).into_iter().map(|differs| (differs.test, differs.what)).collect()
    };
    // The list has the one test of the first procedure with an operating temperature alone, and the nine; in which order is no matter.
    let value = parse_strict(&text).expect("JSON");
    let families = value["findings"]["families"].as_array().expect("families");
    let nine = families.iter().position(|family| family["positions"] == 9).expect("the nine");
    let at = |path: &str| format!("families.{}{path}", nine + 1);
    let number = |value: &Value, more: f64| json!(value.as_f64().expect("a number") + more);
    assert_eq!((families.len(), paths(&|_| {})), (2, vec![]));
    let median = |more: f64| {
        paths(&|findings| {
            let median = &mut findings["families"][nine]["median_k"];
            *median = number(median, more);
        })
    };
    // One unit of the third decimal is no difference, two are.
    assert_eq!((median(0.001), median(0.002)), (vec![], vec![(None, at(".median_k"))]));
    let score = paths(&|findings| {
        let last = &mut findings["families"][nine]["members"][8];
        assert_eq!((&last["tag"], &last["flagged"]), (&json!("D-19"), &json!(true)));
        last["flagged"] = json!(false);
    });
    assert_eq!(score, [(Some(id(19)), at(".members.flagged"))]);
    let turned = paths(&|findings| {
        findings["families"].as_array_mut().expect("families").reverse();
        findings["families"][1 - nine]["members"].as_array_mut().expect("members").reverse();
    });
    assert_eq!(turned, [], "what belongs together is found by what it names");
    // The first of two is the false one: each is held against what is found, and one is too many.
    let doubled = paths(&|findings| {
        let members = findings["families"][nine]["members"].as_array_mut().expect("members");
        let mut other = members[0].clone();
        other["deviation_k"] = json!(0);
        members.insert(0, other);
    });
    let lowest = value["findings"]["families"][nine]["members"][0]["test"].as_str().expect("a test");
    let lowest = soakbook::book::Id::try_parse(lowest).ok();
    assert_eq!(doubled, [(lowest, at(".members.deviation_k")), (lowest, at(".members"))]);
    let words = paths(&|findings| findings["families"][nine]["remarks"] = json!(["In other words"]));
    assert_eq!(words, []);
    let shift = paths(&|findings| findings["families"][nine]["shifts"] = json!([]));
    assert_eq!(shift, [(None, at(".shifts.1"))]);
    let lost = list(&|findings| drop(findings["families"].as_array_mut().expect("families").remove(nine)));
    let [lost] = &lost[..] else { panic!("one family less: {lost:?}") };
    assert_eq!((lost.what.as_str(), lost.said.as_str()), ("families", ""));
    assert!(lost.found.contains("\"area\":"), "{}", lost.found);
    let renamed = paths(&|findings| findings["families"][nine]["procedure"] = json!("Another"));
    assert_eq!(renamed.len(), 2, "one that is not found, one that is not said: {renamed:?}");
    let none = paths(&|findings| drop(findings.as_object_mut().expect("findings").remove("families")));
    assert_eq!(none.len(), 2, "today's method has families");
    for flag in [json!(null), json!([7, null, {}, []]), json!({"a": 1}), json!("families")] {
        assert!(!paths(&|findings| findings["families"] = flag.clone()).is_empty());
    }
}

#[test]
fn a_test_that_is_said_twice_is_found_once() {
    let text = bundle(&phone()).text;
    let mut value = parse_strict(&text).expect("JSON");
    let tests = value["findings"]["tests"].as_array_mut().expect("tests");
    let mut other = tests[0].clone();
    other["operating"]["mean_c"] = json!(99);
    tests.insert(0, other);
    let FindingsCheck::Differ(list) = read_bundle(&value.to_string()).expect("a sound bundle").findings else {
        panic!("differences")
    };
    let named: Vec<_> = list.iter().map(|differs| (differs.test, differs.what.as_str(), &differs.found[..])).collect();
    assert_eq!(named, [(Some(id(1)), "operating.mean_c", "88.0"), (Some(id(1)), "", "")]);
}

#[test]
fn findings_of_no_method_or_without_tests_are_refused() {
    // What the schema of the bundle does not allow.
    let text = bundle(&phone()).text;
    for (member, flag) in [
        ("method", json!(null)),
        ("method", json!("4")),
        ("method", json!(4.0)),
        ("method", json!(-1)),
        ("method", json!(0)),
        ("method", json!(true)),
        ("tests", json!(null)),
        ("tests", json!({})),
    ] {
        let mut value = parse_strict(&text).expect("JSON");
        value["findings"][member] = flag;
        refused(&value.to_string(), &format!("the file has no valid `findings.{member}`"));
        value["findings"].as_object_mut().expect("findings").remove(member);
        refused(&value.to_string(), &format!("the file has no valid `findings.{member}`"));
    }
    for flag in [json!(null), json!([]), json!("x"), json!({})] {
        let mut value = parse_strict(&text).expect("JSON");
        value["findings"] = flag;
        refused(&value.to_string(), "the file has no valid `findings.method`");
    }
}

#[test]
fn an_older_bundle_without_families_is_compared_by_its_tests() {
    let mut phone = phone();
    side_by_side(&mut phone);
    let mut value = parse_strict(&bundle(&phone).text).expect("JSON");
    value["findings"]["method"] = json!(2);
    let with_others = value.to_string().replace("\"median_k\":", "\"median_k\":1");
    let older = value["findings"].as_object_mut().expect("findings");
    older.remove("families");
    let findings = read_bundle(&value.to_string()).expect("a sound bundle").findings;
    assert_eq!(findings, FindingsCheck::OlderMethod(Vec::new()));
    let findings = read_bundle(&with_others).expect("a sound bundle").findings;
    let FindingsCheck::OlderMethod(list) = findings else { panic!("an older method: {findings:?}") };
    assert!(list.iter().all(|differs| differs.what.ends_with(".median_k")), "{list:?}");
    assert_eq!(list.len(), 2);
}

#[test]
fn no_changed_byte_among_entries_goes_unseen() {
    let text = bundle(&phone()).text;
    let sound = read_bundle(&text).expect("a sound bundle").book;
    let from = text.find("\"entries\":[").expect("entries") + 11;
    let to = text.find("\"attachments\":[").expect("attachments") - 3;
    let mut refusals = 0;
    for (step, place) in (from..to).step_by(37).enumerate() {
        let mut bytes = text.clone().into_bytes();
        bytes[place] = b" 0a}\"9"[step % 6];
        let changed = String::from_utf8(bytes).expect("ASCII");
        match read_bundle(&changed) {
            Err(faults) => {
                assert!(!faults.is_empty());
                refusals += 1;
            }
            Ok(incoming) => assert_eq!(incoming.book, sound, "byte {place}"),
        }
    }
    assert!(refusals > 100, "{refusals}");
}

#[test]
fn the_file_is_named_by_site_day_phone_count_and_content() {
    fn check(site: &str, at: Wall, offset: i64, expected: &str) {
        let made = Made { at, app: String::new(), phone: id(0x0123_4567_89ab) };
        let bundle = Bundle { text: "abc".into(), chains: Vec::new(), entries: 1_204, attachments: 0 };
        assert_eq!(file_name(site, &made, offset, &bundle), expected);
    }
    // SHA-256 of "abc": FIPS 180-4 example, ba7816bf…; 1750003600 s is 2025-06-15 16:06:40 UTC (date -u -d @1750003600).
    check("Invented works", Wall(1_750_003_600_000), 0, "soakbook-invented-works-2025-06-15-6789ab-1204-ba7816bf.json");
    check("Halle 3 / Süd", Wall(1_750_003_600_000), 480, "soakbook-halle-3-s-d-2025-06-16-6789ab-1204-ba7816bf.json");
    check("工場", Wall::MAX, i64::MAX, "soakbook-site-1970-01-01-6789ab-1204-ba7816bf.json");
}

#[test]
fn a_bundle_made_as_of_its_last_record_is_the_same_until_more_is_recorded() {
    let phone = phone();
    let select = Select::Everything;
    let at = |phone: &Phone| last_recorded(&phone.book, select).expect("records");
    let made = |phone: &Phone| {
        let made = Made { at: at(phone), app: "test".into(), phone: id(1) };
        bundle_of(&phone.book, select, &made).expect("a bundle")
    };
    assert_eq!(made(&phone), made(&phone));
    assert_eq!(at(&phone), phone.book.entries().map(|entry| entry.stamp.wall).max().expect("records"));
}

/// What a reading in pieces comes to that waits for nothing.
fn in_pieces(text: &str, go_on: impl AsyncFnMut(Progress) -> bool) -> Result<soakbook::handover::Incoming, NotRead> {
    let mut reading = std::pin::pin!(read_in_pieces(text, go_on));
    let mut context = std::task::Context::from_waker(std::task::Waker::noop());
    match std::future::Future::poll(reading.as_mut(), &mut context) {
        std::task::Poll::Ready(read) => read,
        std::task::Poll::Pending => panic!("nothing waits here"),
    }
}

#[test]
fn a_bundle_read_in_pieces_says_how_far_it_is_and_can_be_stopped_anywhere() {
    let mut phone = phone();
    side_by_side(&mut phone);
    let bundle = bundle_of(&phone.book, Select::Everything, &made()).expect("a bundle");
    let mut told = Vec::new();
    let whole = in_pieces(&bundle.text, async |progress| {
        told.push(progress);
        true
    });
    assert_eq!(whole.map_err(|why| format!("{why:?}")), read_bundle(&bundle.text).map_err(|why| format!("{why:?}")));
    // Entries first, then every note or picture and every test once, in order.
    let tests = Visit::of(&phone.book, id(VISIT)).expect("a visit").tests.len();
    let entries = told.iter().take_while(|progress| matches!(progress, Progress::Entries(..))).count();
    assert!(entries > 1, "{told:?}");
    let attached = (0..2).map(|done| Progress::Attachments(done, 2));
    let rest: Vec<Progress> = attached.chain((1..=tests).map(|done| Progress::Tests(done, tests))).collect();
    assert_eq!(told[entries..], rest);
    for stop in 0..told.len() {
        let mut left = stop;
        let stopped = in_pieces(&bundle.text, async |_| {
            left = left.wrapping_sub(1);
            left != usize::MAX
        });
        assert_eq!(stopped, Err(NotRead::Cancelled), "after {stop}");
    }
}

#[test]
fn a_fault_in_a_piece_is_told_like_one_in_the_whole() {
    let bundle = bundle_of(&phone().book, Select::Everything, &made()).expect("a bundle").text;
    let broken = |list: &str, piece: &str| {
        let at = bundle.find(&format!("\"{list}\"")).expect(list);
        let open = at + bundle[at..].find('[').expect("a list") + 1;
        format!("{}{piece}{}", &bundle[..open], &bundle[open..])
    };
    // RFC 8259: an element may not be empty, a name may not stand twice (RFC 7493, 2.3), a string ends in its line.
    for list in ["entries", "attachments"] {
        for piece in [",", "{\"a\":1,\"a\":2},", "{\"a\":\"\n\"},", "]", "{", "\"\\\","] {
            let faults = read_bundle(&broken(list, piece)).expect_err(piece);
            let whole = matches!(faults[..], [BundleFault::NotJson(_) | BundleFault::CutShort]);
            assert!(whole, "{list} {piece}: {faults:?}");
        }
    }
    // Sound JSON that is no entry is a fault of that entry, and of that attachment.
    assert_eq!(read_bundle(&broken("attachments", "{},")), Err(vec![BundleFault::Attachment { number: 1 }]));
    let faults = read_bundle(&broken("entries", "{},")).expect_err("no entry");
    assert!(matches!(faults[0], BundleFault::Entry { .. }), "{faults:?}");
}
