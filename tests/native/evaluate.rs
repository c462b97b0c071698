//! `soakbook evaluate`: everything worked out again, everything that is wrong named with its place.

use std::collections::HashMap;
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::Arc;

use crate::at_trip::late_and_estimated;
use crate::sample::{HeatUp, Phone, SITE, VISIT, id, read, silent, started};
use crate::tolerances::assert_close;
use serde_json::{Value, json};
use soakbook::book::body::{Body, Ending};
use soakbook::book::entries::{Attachment, Book};
use soakbook::book::entry::{Chain, Entry, Scope};
use soakbook::desk::evaluate::{COLUMNS, Format, Wanted, evaluate};
use soakbook::encoding::{canonical, csv};
use soakbook::handover::{InUnit, Made, RESULTS, Select, bundle_of};
use soakbook::units::Wall;

const EACH: Wanted = Wanted { format: Format::Ndjson, each: true, unit: InUnit::C };
const MERGED: Wanted = Wanted { format: Format::Ndjson, each: false, unit: InUnit::C };

fn phone() -> Phone {
    let mut phone = Phone::new();
    phone.test(started(1), &read(&["80.0", "88.1", "87.6", "88.4", "87.9"]), Ending::Done);
    phone.test(silent(2), &[HeatUp::NoTrip], Ending::NoTrip);
    phone
}

fn text_of(book: &Book) -> String {
    let made = Made { at: Wall(1_750_003_600_000), app: "0.1.0".into(), phone: id(1) };
    bundle_of(book, Select::Visit(id(VISIT)), &made).expect("a bundle").text
}

fn bundle() -> String {
    text_of(&phone().book)
}

/// The bundle with its lines changed.
fn changed(change: impl FnOnce(&mut Vec<String>)) -> String {
    let mut lines: Vec<String> = bundle().lines().map(ToString::to_string).collect();
    change(&mut lines);
    lines.join("\n")
}

/// The line of the second trip, and its place in its chain.
fn second_trip(lines: &[String]) -> (usize, i64) {
    let line = (0..lines.len()).filter(|i| lines[*i].contains("\"what\":\"tripped\"")).nth(1).expect("a second trip");
    let entry: Value = serde_json::from_str(lines[line].trim_end_matches(',')).expect("an entry");
    (line, entry["seq"].as_i64().expect("a place"))
}

fn evaluated(texts: &[&str], wanted: Wanted) -> (u8, Vec<Value>) {
    let files = texts.iter().enumerate().map(|(index, text)| (format!("file {index}"), Ok((*text).to_string())));
    let mut out = Vec::new();
    let status = evaluate(files, wanted, &mut out, &mut io::sink()).expect("a vector takes everything");
    let text = String::from_utf8(out).expect("UTF-8");
    (status, text.lines().map(|line| serde_json::from_str(line).expect("one JSON object a line")).collect())
}

fn of_kind<'a>(records: &'a [Value], kind: &str) -> Vec<&'a Value> {
    records.iter().filter(|record| record["kind"] == kind).collect()
}

/// A problem by kind, first and last place.
type Problem = (String, Option<i64>, Option<i64>);

/// The status of one text, and its problems.
fn problems(text: &str) -> (u8, Vec<Problem>) {
    let (status, records) = evaluated(&[text], EACH);
    let place = |problem: &&Value| {
        (problem["problem"].as_str().expect("a kind").to_string(), problem["seq"].as_i64(), problem["seq_to"].as_i64())
    };
    (status, of_kind(&records, "problem").iter().map(place).collect())
}

#[track_caller]
fn check_problem(text: &str, kind: &str, seq: i64, seq_to: i64) {
    let (status, found) = problems(text);
    assert_eq!(status, 1);
    assert!(found.contains(&(kind.to_string(), Some(seq), Some(seq_to))), "{kind} at {seq} is not in {found:?}");
}

#[test]
fn a_sound_bundle_gives_its_tests_and_status_0() {
    let (status, records) = evaluated(&[&bundle()], EACH);
    assert_eq!(status, 0);
    assert_eq!(of_kind(&records, "problem"), Vec::<&Value>::new());
    assert_eq!(of_kind(&records, "file")[0]["findings"], "same");
    let tests = of_kind(&records, "test");
    assert_eq!(tests.len(), 2);
    // By hand: the mean of 88.1, 87.6, 88.4 and 87.9 is 88.0; s = 0.3367, u(A) = 0.1683, with 0.3 and 0.4 u = 0.5276.
    assert_eq!(tests[0]["operating"]["mean_c"], json!(88));
    assert_eq!(tests[0]["operating"]["u_k"], json!(0.528));
    assert_eq!((&tests[0]["tripped"], &tests[1]["tripped"]), (&json!("yes"), &json!("no")));
    let results = |test: &Value| ["outcome", "at_panel", "restored"].map(|name| test[name].clone());
    assert_eq!(results(tests[0]), ["passed", "right", "yes"].map(|word| json!(word)));
    assert_eq!(results(tests[1]), ["no_alarm", "not_checked", "pending"].map(|word| json!(word)));
    assert_eq!(tests[0]["judgements"][0]["as_read"], "within");
    assert!(tests[1]["judgements"][0]["missing"].is_array(), "why there is no limit result");
    assert_eq!(tests[1]["flags"][0], "No alarm");
    assert_eq!(of_kind(&records, "summary")[0]["status"], json!(0));
}

#[test]
fn tests_side_by_side_are_told_with_who_stands_apart() {
    let mut phone = Phone::new();
    for (test, mean) in (1..).zip(["88.0", "88.2", "87.9", "88.1", "88.3", "87.8", "88.0", "92.0"]) {
        phone.test(started(test), &read(&["80.0", mean, mean, mean, mean]), Ending::Done);
    }
    let text = text_of(&phone.book);
    let (status, records) = evaluated(&[&text], EACH);
    let families = of_kind(&records, "family");
    assert_eq!((status, families.len()), (0, 1));
    // By hand in the tests of areas: median 0.05 K, cut-off 4.94 for eight, the last one scores 14.895.
    let family = families[0];
    assert_eq!(
        (&family["median_k"], &family["cut_off"], &family["positions"]),
        (&json!(0.05), &json!(4.94), &json!(8))
    );
    assert_eq!((&family["compared"], &family["flags"]), (&json!("scored"), &json!(["D-8"])));
    assert_eq!(family["detector_type"], "rate_compensated");
    let last = &family["members"][7];
    assert_eq!((&last["tag"], &last["score"], &last["flagged"]), (&json!("D-8"), &json!(14.895), &json!(true)));
    let mut out = Vec::new();
    let people = Wanted { format: Format::Text, each: true, unit: InUnit::C };
    evaluate([("a".to_string(), Ok(text))], people, &mut out, &mut io::sink()).expect("a vector takes everything");
    let said = String::from_utf8(out).expect("UTF-8");
    assert!(said.contains("8 tests of 8 positions, median deviation 0.05 K; scored, cut-off 4.94"), "{said}");
    assert!(said.contains("    outlier: D-8\n"), "{said}");
}

#[test]
fn one_unlike_the_rest_within_its_uncertainty_is_a_remark_and_no_flag() {
    let mut phone = Phone::new();
    for (test, mean) in (1..).zip(["88.0", "88.0", "88.0", "88.0", "88.0", "88.0", "88.0", "88.4"]) {
        phone.test(started(test), &read(&["80.0", mean, mean, mean, mean]), Ending::Done);
    }
    let text = text_of(&phone.book);
    let (status, records) = evaluated(&[&text], EACH);
    let family = of_kind(&records, "family")[0];
    assert_eq!((status, &family["flags"]), (0, &json!([])));
    // By hand: MAD 0, scale half of 0.1 K, score 0.6745 · 0.4/0.05 = 5.396 > 4.94, and 0.4 K < U = 0.98 K.
    let last = &family["members"][7];
    assert_eq!(
        (&last["score"], &last["flagged"], &last["within"]),
        (&json!(5.396), &json!(false), &json!("own_uncertainty"))
    );
    assert!(family["members"][0].get("within").is_none());
    let words = "D-8 reads 0.40 K unlike the rest, within its own uncertainty: retest with readings";
    assert_eq!(family["remarks"], json!([words]));
    // A bundle that says nothing of it differs.
    let (status, records) = evaluated(&[&text.replace(",\"within\":\"own_uncertainty\"", "")], EACH);
    let differences = of_kind(&records, "difference");
    assert_eq!((status, &differences[0]["what"]), (1, &json!("families.1.members.within")));
}

#[test]
fn families_that_differ_from_those_of_the_bundle_give_status_1() {
    let mut phone = Phone::new();
    for test in 1..=8 {
        phone.test(started(test), &read(&["80.0", "88.1", "88.1", "88.1", "88.1"]), Ending::Done);
    }
    let text = text_of(&phone.book);
    let (from, to) = ("\"median_k\":0.1,", "\"median_k\":0.2,");
    assert!(text.contains(from), "eight times 0.1 K above the rating");
    let (status, records) = evaluated(&[&text.replace(from, to)], EACH);
    let differences = of_kind(&records, "difference");
    assert_eq!((status, differences.len()), (1, 1));
    let (what, said, found) = (&differences[0]["what"], &differences[0]["said"], &differences[0]["found"]);
    assert_eq!((what, said, found), (&json!("families.1.median_k"), &json!("0.2"), &json!("0.1")));
    assert!(differences[0].get("test").is_none());
    let mut out = Vec::new();
    let people = Wanted { format: Format::Text, each: true, unit: InUnit::C };
    let status = evaluate([("a".to_string(), Ok(text.replace(from, to)))], people, &mut out, &mut io::sink())
        .expect("a vector takes all");
    let said = String::from_utf8(out).expect("UTF-8");
    assert_eq!(status, 1);
    assert!(said.contains("a: differs: families.1.median_k: the bundle says 0.2, its entries give 0.1\n"), "{said}");
    let member = text.replace("\"expanded_k\":0.982,\"flagged\":false", "\"expanded_k\":0.982,\"flagged\":true");
    let (status, records) = evaluated(&[&member], EACH);
    let differences = of_kind(&records, "difference");
    assert_eq!((status, differences.len()), (1, 8));
    assert_eq!(
        (&differences[0]["test"], &differences[0]["what"]),
        (&json!(id(1).to_string()), &json!("families.1.members.flagged"))
    );
}

#[test]
fn an_altered_entry_is_named_by_its_own_place() {
    let mut seq = 0;
    let text = changed(|lines| {
        let (line, place) = second_trip(lines);
        seq = place;
        lines[line] = lines[line].replace("tripped", "restored");
    });
    check_problem(&text, "altered", seq, seq);
    let (_, records) = evaluated(&[&text], EACH);
    assert!(!of_kind(&records, "difference").is_empty(), "one trip less gives other findings");
}

#[test]
fn of_two_altered_neighbours_both_are_named() {
    let mut seq = 0;
    let text = changed(|lines| {
        let (line, place) = second_trip(lines);
        seq = place;
        lines[line] = lines[line].replace("\"mono\":", "\"mono\":1");
        lines[line + 1] = lines[line + 1].replace("\"mono\":", "\"mono\":1");
    });
    // The later one is certain, by the entry after it; the earlier one lies between them.
    check_problem(&text, "altered", seq + 1, seq + 1);
    check_problem(&text, "altered", seq, seq + 1);
}

#[test]
fn an_altered_last_entry_is_told_by_the_list_of_chains() {
    let text = changed(|lines| {
        let last = lines.iter().rposition(|line| line.contains("\"type\":\"test_ended\"")).expect("the last entry");
        lines[last] = lines[last].replace("\"mono\":", "\"mono\":1");
    });
    let (status, found) = problems(&text);
    let last = phone().book.tip(Chain { scope: Scope::Visit(id(VISIT)), phone: id(1) }).expect("an entry").seq;
    assert_eq!((status, found), (1, vec![("altered".to_string(), Some(last), Some(last))]));
}

#[test]
fn a_missing_place_is_named() {
    let mut seq = 0;
    let text = changed(|lines| {
        let (line, place) = second_trip(lines);
        seq = place;
        lines.remove(line);
    });
    check_problem(&text, "missing", seq, seq);
    let (_, found) = problems(&text);
    assert_eq!(found.iter().filter(|(kind, ..)| kind == "missing").count(), 1, "said once: {found:?}");
}

#[test]
fn a_gap_that_the_maker_names_is_missing_all_the_same() {
    let phone = phone();
    let mut book = Book::default();
    let lost = phone.book.entries().find(|entry| matches!(entry.body, Body::ReadingTaken { .. })).expect("a reading");
    phone.book.entries().filter(|entry| entry.hash != lost.hash).cloned().for_each(|entry| book.apply(entry));
    let text = text_of(&book);
    check_problem(&text, "missing", lost.seq, lost.seq);
    // Another phone's bundle has it, and the union is whole.
    let (status, records) = evaluated(&[&text, &bundle()], MERGED);
    assert_eq!((status, of_kind(&records, "problem").len()), (0, 0));
}

#[test]
fn a_gap_is_named_from_where_another_fault_ends() {
    // The maker has not got the three places after the second trip's reading, and that reading is broken on the way.
    let phone = phone();
    let is_reading = |entry: &&Entry| matches!(entry.body, Body::ReadingTaken { .. });
    let chain = Chain { scope: Scope::Visit(id(VISIT)), phone: id(1) };
    let reading = phone.book.chain(chain).filter(is_reading).nth(1).expect("a second reading");
    let seq = reading.seq;
    let lost = |entry: &Entry| entry.chain == chain && (seq + 1..=seq + 3).contains(&entry.seq);
    let mut book = Book::default();
    phone.book.entries().filter(|entry| !lost(entry)).cloned().for_each(|entry| book.apply(entry));
    let text = text_of(&book).replace(&reading.text, &reading.text.replace("\"mono\":", "\"momo\":"));
    let (status, found) = problems(&text);
    let expected = [("refused", seq, seq), ("missing", seq + 1, seq + 3)];
    let expected = expected.map(|(kind, from, to)| (kind.to_string(), Some(from), Some(to)));
    assert_eq!(
        (
            status,
            &found
                .iter()
                .filter(|(kind, ..)| !["names unknown", "no attachment"].contains(&kind.as_str()))
                .cloned()
                .collect::<Vec<_>>()[..]
        ),
        (1, &expected[..])
    );
    // Of two files: the first lacks the reading and all behind it, the second the reading and three places.
    let missing = |texts: &[&str]| -> Vec<(Option<i64>, Option<i64>)> {
        let (_, records) = evaluated(texts, MERGED);
        let problems = of_kind(&records, "problem").into_iter().filter(|problem| problem["problem"] == "missing");
        problems.map(|problem| (problem["seq"].as_i64(), problem["seq_to"].as_i64())).collect()
    };
    let mut early = Book::default();
    let until = phone.book.entries().filter(|entry| entry.chain != chain || entry.seq <= seq);
    until.cloned().for_each(|entry| early.apply(entry));
    let early = text_of(&early);
    let line = early.lines().position(|line| line.contains(&reading.text)).expect("the last entry");
    let mut lines: Vec<&str> = early.lines().collect();
    lines.remove(line);
    let cut = lines.join("\n").replacen("},\n],\n\"attachments\"", "}\n],\n\"attachments\"", 1);
    let mut gap = Book::default();
    let left = phone.book.entries().filter(|entry| !lost(entry) && entry.hash != reading.hash);
    left.cloned().for_each(|entry| gap.apply(entry));
    let spans = missing(&[&cut, &text_of(&gap)]);
    assert_eq!(spans, [(Some(seq), Some(seq)), (Some(seq + 1), Some(seq + 3))]);
}

#[test]
fn an_attachment_that_is_not_there_or_twice_is_told() {
    let with = |change: &dyn Fn(&mut Vec<Value>)| {
        let mut value: Value = serde_json::from_str(&bundle()).expect("JSON");
        change(value["attachments"].as_array_mut().expect("attachments"));
        problems(&value.to_string())
    };
    // The only one is the name of the technician, which the visit names at its place 1.
    assert_eq!(with(&|list| assert_eq!(list.len(), 1)), (0, vec![]));
    assert_eq!(with(&|list| list.clear()), (0, vec![("no attachment".to_string(), Some(1), Some(1))]));
    assert_eq!(with(&|list| list.push(list[0].clone())), (1, vec![("duplicate".to_string(), None, None)]));
}

#[test]
fn what_the_list_of_chains_says_of_gaps_and_chains_that_are_not_there_is_told() {
    let with = |change: &dyn Fn(&mut Vec<Value>)| {
        let mut value: Value = serde_json::from_str(&bundle()).expect("JSON");
        change(value["chains"].as_array_mut().expect("chains"));
        problems(&value.to_string())
    };
    let visit =
        |rows: &[Value]| rows.iter().position(|row| row["scope"].as_str().expect("a scope").starts_with("visit"));
    // The chain has more than twelve places, none of which is missing.
    for (from, to) in [(3, 4), (0, 0), (4, 3), (1_000, 1_001), (-2, -1)] {
        let (status, found) = with(&|rows| {
            let row = visit(rows).expect("the visit");
            rows[row]["gaps"] = json!([[from, to]]);
        });
        assert_eq!((status, found), (1, vec![("list".to_string(), Some(from), Some(to))]));
    }
    let (status, found) = with(&|rows| {
        let mut row = rows[0].clone();
        (row["phone"], row["count"]) = (json!(id(77).to_string()), json!(0));
        rows.push(row);
    });
    assert_eq!((status, found), (1, vec![("list".to_string(), None, None)]));
}

#[test]
fn a_cut_tail_is_told_by_the_count() {
    let mut seq = 0;
    let text = changed(|lines| {
        let last = lines.iter().rposition(|line| line.contains("\"type\":\"test_ended\"")).expect("the last entry");
        let entry: Value = serde_json::from_str(lines[last].trim_end_matches(',')).expect("an entry");
        seq = entry["seq"].as_i64().expect("a place");
        if !lines[last].ends_with(',') {
            lines[last - 1].pop();
        }
        lines.remove(last);
    });
    check_problem(&text, "missing", seq, seq);
}

#[test]
fn a_duplicate_is_named_and_counts_once() {
    let mut seq = 0;
    let text = changed(|lines| {
        let (line, place) = second_trip(lines);
        seq = place;
        lines.insert(line, lines[line].clone());
    });
    check_problem(&text, "duplicate", seq, seq);
    let (_, records) = evaluated(&[&text], EACH);
    assert_eq!(of_kind(&records, "file")[0]["findings"], "same");
    assert_eq!(of_kind(&records, "summary")[0]["broken"], json!(1));
}

#[test]
fn an_entry_that_cannot_be_read_is_refused_and_not_called_missing() {
    let mut seq = 0;
    let text = changed(|lines| {
        let (line, place) = second_trip(lines);
        seq = place;
        lines[line] = lines[line].replace("\"mono\":", "\"momo\":");
    });
    check_problem(&text, "refused", seq, seq);
    let (_, found) = problems(&text);
    assert!(!found.iter().any(|(kind, ..)| kind == "missing"), "{found:?}");
}

#[test]
fn a_fork_is_named_and_both_sides_are_kept() {
    let mut other = Phone::new();
    other.test(started(3), &[HeatUp::NoTrip], Ending::NoTrip);
    let (status, records) = evaluated(&[&bundle(), &text_of(&other.book)], MERGED);
    assert_eq!(status, 1);
    let forks = of_kind(&records, "problem").iter().filter(|problem| problem["problem"] == "fork").count();
    // By hand: up to the opening of the visit both wrote the same; start, heat on, top temperature and end of the other's test are forks.
    assert_eq!(forks, 4);
    assert_eq!(of_kind(&records, "test").len(), 3);
}

#[test]
fn a_test_that_two_phones_start_is_named_with_both_places() {
    let one = phone();
    let mut other = Phone::new();
    other.phone = 3;
    other.test(started(1), &[HeatUp::NoTrip], Ending::NoTrip);
    let (status, records) = evaluated(&[&text_of(&one.book), &text_of(&other.book)], MERGED);
    assert_eq!(status, 1);
    let kinds = |kind: &str| -> Vec<&Value> {
        of_kind(&records, "problem").into_iter().filter(|problem| problem["problem"] == kind).collect()
    };
    let [again] = kinds("started again")[..] else { panic!("one problem: {records:?}") };
    // By hand: the phone of the bundle opened the visit at place 0, named its technician at 1 and started the test at 2; the other one's
    // chain begins with the test.
    let words = again["words"].as_str().expect("words");
    for (place, phone) in [(2, 1), (0, 3)] {
        let at = format!("place {place} of visit:{}, phone {}", id(VISIT), id(phone));
        assert!(words.contains(&at), "{at} is not in {words}");
    }
    // The start of the lowest hash counts; of the other phone three entries are marks of the test or its end, of the first one heat on,
    // five trips with their readings, and the end.
    let start = |phone: &Phone| {
        let of_test = |body: &Body| matches!(body, Body::TestStarted(of) if of.test == id(1));
        phone.book.entries().find(|entry| of_test(&entry.body)).expect("a start").hash
    };
    let (seq, late) = if start(&one) < start(&other) { (0, 3) } else { (2, 12) };
    assert_eq!((&again["seq"], kinds("after take-over").len()), (&json!(seq), late));
    assert_eq!(of_kind(&records, "summary")[0]["remarks"], json!(late));
    let (status, records) = evaluated(&[&text_of(&one.book), &text_of(&other.book)], EACH);
    assert_eq!((status, of_kind(&records, "problem").len()), (0, 0), "each alone is whole");
}

#[test]
fn many_files_make_one_book_and_each_alone_its_own() {
    let (whole, register) = (bundle(), {
        let made = Made { at: Wall(0), app: "0.1.0".into(), phone: id(1) };
        bundle_of(&phone().book, Select::Site(id(SITE)), &made).expect("a register").text
    });
    let (status, records) = evaluated(&[&whole, &register, &whole], MERGED);
    assert_eq!((status, of_kind(&records, "test").len(), of_kind(&records, "file").len()), (0, 2, 3));
    assert!(of_kind(&records, "test")[0].get("file").is_none(), "a test of a union belongs to no file");
    let (status, records) = evaluated(&[&whole, &register, &whole], EACH);
    assert_eq!((status, of_kind(&records, "test").len()), (0, 4));
    assert_eq!(of_kind(&records, "test")[3]["file"], "file 2");
}

#[test]
fn findings_may_differ_by_one_unit_of_the_last_digit_and_no_more() {
    #[track_caller]
    fn check(from: &str, to: &str, status: u8, differences: usize, findings: &str) {
        let text = bundle();
        assert!(text.contains(from), "{from}");
        let (got, records) = evaluated(&[&text.replacen(from, to, 1)], EACH);
        assert_eq!((got, of_kind(&records, "difference").len()), (status, differences));
        assert_eq!(of_kind(&records, "file")[0]["findings"], findings);
    }
    check("\"mean_c\":88,", "\"mean_c\":88.001,", 0, 0, "same");
    check("\"mean_c\":88,", "\"mean_c\":88.002,", 1, 1, "differ");
    check("\"as_read\":\"within\"", "\"as_read\":\"outside\"", 1, 1, "differ");
    check("\"tripped\":\"no\"", "\"tripped\":\"yes\"", 1, 1, "differ");
    check("\"findings\":{", "\"other\":{", 0, 0, "none in the bundle");
    check("\"findings\":{\"method\":", "\"findings\":{\"method\":9", 0, 0, "made by a newer method");
    let method = format!("\"findings\":{{\"method\":{},", soakbook::findings::METHOD);
    let text = bundle().replace(&method, "\"findings\":{\"method\":1,").replacen("\"mean_c\":88,", "\"mean_c\":87,", 1);
    let (status, records) = evaluated(&[&text], EACH);
    assert_eq!((status, of_kind(&records, "difference").len()), (0, 1), "an older method is no fault");
}

#[test]
fn findings_that_are_not_compared_are_counted_in_every_format() {
    let method = format!("\"findings\":{{\"method\":{},", soakbook::findings::METHOD);
    let with = |method_is: &str| bundle().replace(&method, method_is);
    let (older, newer) = (with("\"findings\":{\"method\":1,"), with("\"findings\":{\"method\":9999,"));
    let texts = [&older, &newer, &with("\"other\":{\"method\":4,"), &bundle(), &newer];
    let files = || texts.iter().map(|text| (String::from("a"), Ok((*text).clone())));
    let written = |format| {
        let mut out = Vec::new();
        assert_eq!(
            evaluate(files(), Wanted { format, each: true, unit: InUnit::C }, &mut out, &mut io::sink())
                .expect("a vector takes everything"),
            0
        );
        String::from_utf8(out).expect("UTF-8")
    };
    let said = written(Format::Ndjson);
    let summary: Value = serde_json::from_str(said.lines().last().expect("a summary")).expect("JSON");
    let counted = ["older_method", "newer_method", "without_findings"];
    assert_eq!(counted.map(|name| &summary[name]), [&json!(1), &json!(2), &json!(1)]);
    let rows = csv::read(&written(Format::Csv)).expect("RFC 4180");
    let column = |name: &str| COLUMNS.iter().position(|(of, _)| *of == name).expect("a column");
    assert_eq!(counted.map(|name| rows[rows.len() - 1].fields[column(name)].as_str()), ["1", "2", "1"]);
    let said = written(Format::Text);
    assert!(said.ends_with("findings by an older method 1, by a newer one and not compared 2, none 1\n"), "{said}");
}

#[test]
fn findings_of_no_method_are_a_broken_bundle() {
    let method = format!("\"findings\":{{\"method\":{},", soakbook::findings::METHOD);
    let text = bundle().replace(&method, "\"findings\":{").replacen("\"mean_c\":88,", "\"mean_c\":89,", 1);
    let (status, records) = evaluated(&[&text], EACH);
    let problem = of_kind(&records, "problem")[0];
    assert_eq!((status, &problem["problem"]), (1, &json!("refused")));
    assert_eq!(problem["words"], "the file has no valid `findings.method`");
    assert_eq!(of_kind(&records, "difference").len(), 1, "held against today's method");
}

#[test]
fn what_is_no_bundle_is_unreadable_and_the_others_are_still_evaluated() {
    for text in [
        String::new(),
        "Dear colleague, see attachment".to_string(),
        "[1,2,3]".to_string(),
        "{\"format\":\"soakbook bundle\",\"v\":1}".to_string(),
        "{\"format\":\"soakbook bundle\",\"v\":2}".to_string(),
        bundle()[..bundle().len() / 2].to_string(),
        "[".repeat(1_000_000),
        format!("{{\"format\":{}", "{\"a\":".repeat(1_000_000)),
    ] {
        let (status, records) = evaluated(&[&text, &bundle()], EACH);
        assert_eq!((status, of_kind(&records, "test").len()), (2, 2));
        let problem = of_kind(&records, "problem")[0];
        assert_eq!((&problem["problem"], &problem["file"]), (&json!("unreadable"), &json!("file 0")));
    }
}

#[test]
fn the_table_has_the_same_columns_in_every_row() {
    let text = changed(|lines| {
        let (line, _) = second_trip(lines);
        lines.remove(line);
    });
    let mut out = Vec::new();
    let files = [("a, \"b\".json".to_string(), Ok(text)), ("none".to_string(), Err("no such file".to_string()))];
    let status =
        evaluate(files, Wanted { format: Format::Csv, each: true, unit: InUnit::C }, &mut out, &mut io::sink())
            .expect("a vector takes all");
    assert_eq!(status, 2);
    let rows = csv::read(&String::from_utf8(out).expect("UTF-8")).expect("RFC 4180");
    assert_eq!(rows[0].fields, COLUMNS.map(|(name, _)| name));
    assert!(rows.iter().all(|row| row.fields.len() == COLUMNS.len()));
    assert_eq!(rows[1].fields[1], "a, \"b\".json");
    let kinds: Vec<&str> = rows.iter().map(|row| row.fields[0].as_str()).collect();
    assert!(["file", "problem", "difference", "test", "summary"].iter().all(|kind| kinds.contains(kind)), "{kinds:?}");
}

/// A bundle whose detector has this tag.
fn tagged(tag: &str) -> String {
    let mut phone = Phone::new();
    let mut start = started(1);
    start.position.place.tag = tag.into();
    phone.test(start, &read(&["80.0", "88.1", "87.6", "88.4", "87.9"]), Ending::Done);
    text_of(&phone.book)
}

fn written(text: &str, format: Format) -> String {
    let mut out = Vec::new();
    let files = [("a".to_string(), Ok(text.to_string()))];
    evaluate(files, Wanted { format, each: true, unit: InUnit::C }, &mut out, &mut io::sink())
        .expect("a vector takes everything");
    String::from_utf8(out).expect("UTF-8")
}

#[test]
fn the_table_loses_nothing_of_a_record() {
    let mut phone = Phone::new();
    for (test, mean) in (1..).zip(["88.0", "88.2", "87.9", "88.1", "88.3", "87.8", "88.0", "92.0"]) {
        phone.test(started(test), &read(&["80.0", mean, mean, mean, mean]), Ending::Done);
    }
    let mut displayed = started(9);
    displayed.heater.metrology.fit_u = None;
    phone.test(displayed, &read(&["80.0", "88.1", "87.6"]), Ending::StoppedEarly);
    let reason = Attachment::text([9; 16], "Read wrongly");
    for _ in 0..2 {
        let marking = Arc::new(started(1).detector.marking);
        phone.in_visit(Body::MarkingCorrected { test: id(1), marking, why: reason.hash() });
    }
    phone.book.attach(reason);
    let text = text_of(&phone.book);
    let rows = csv::read(&written(&text, Format::Csv)).expect("RFC 4180");
    let mut kinds = Vec::new();
    for (line, row) in written(&text, Format::Ndjson).lines().zip(&rows[1..]) {
        let record: Value = serde_json::from_str(line).expect("JSON");
        kinds.push(record["kind"].as_str().expect("a kind").to_string());
        let field = |name: &str| {
            let column = COLUMNS.iter().position(|(of, _)| *of == name);
            row.fields[column.unwrap_or_else(|| panic!("no column for {name} in `COLUMNS` of desk/evaluate/format.rs"))]
                .as_str()
        };
        let check = |of: &Value, but: &[&str]| {
            for (name, value) in of.as_object().expect("an object") {
                let nothing = value.is_null() || value.as_array().is_some_and(Vec::is_empty);
                assert!(but.contains(&name.as_str()) || field(name).is_empty() == nothing, "{name}: {record}");
            }
        };
        check(&record, &["operating", "judgements"]);
        if let Some(operating) = record.get("operating") {
            check(operating, &["missing"]);
            assert_eq!(field("incomplete").is_empty(), operating["missing"].as_array().is_some_and(Vec::is_empty));
        }
        if let Some(judgements) = record["judgements"].as_array() {
            check(&judgements[0], &[]);
            let again: Value = serde_json::from_str(field("judged_again")).unwrap_or(json!([]));
            assert_eq!(again.as_array().map(Vec::as_slice), Some(&judgements[1..]));
        }
    }
    kinds.dedup();
    assert_eq!(kinds, ["file", "position", "test", "family", "summary"]);
}

#[test]
fn a_name_is_no_line_of_its_own_for_people() {
    let name = "D\n    pass\nfiles 1\u{1b}[2K\u{7f}\u{9b}\r\u{202e}\u{2067}\u{200f}\u{2028}\u{2029}é";
    let (plain, forged) = (written(&tagged("D"), Format::Text), written(&tagged(name), Format::Text));
    assert_eq!(forged.lines().count(), plain.lines().count(), "{forged}");
    let shown = r"D\u{a}    pass\u{a}files 1\u{1b}[2K\u{7f}\u{9b}\u{d}\u{202e}\u{2067}\u{200f}\u{2028}\u{2029}é";
    assert_eq!(forged.replace(shown, "D"), plain);
}

#[test]
fn a_field_of_the_table_is_no_formula_and_a_number_stays_one() {
    let column = |name: &str| COLUMNS.iter().position(|(of, _)| *of == name).expect("a column");
    for (tag, field) in [
        ("=1+1", "'=1+1"),
        ("+1+1", "'+1+1"),
        ("-1+1", "'-1+1"),
        ("@SUM(A1)", "'@SUM(A1)"),
        ("\t=1", "'\t=1"),
        ("\r=1", "'\r=1"),
        ("\n=1", "'\n=1"),
        ("'=1", "''=1"),
        ("-12.5", "-12.5"),
        ("D-1", "D-1"),
    ] {
        let rows = csv::read(&written(&tagged(tag), Format::Csv)).expect("RFC 4180");
        let test = rows.iter().find(|row| row.fields[0] == "test").expect("a test");
        assert_eq!(test.fields[column("tag")], field);
        let family = rows.iter().find(|row| row.fields[0] == "family").expect("a family");
        // The rating is 88 °C; the mean of 88.1, 87.6, 88.4 and 87.9 is as much.
        assert_eq!((&family.fields[column("rating_c")][..], &family.fields[column("median_k")][..]), ("88", "0"));
    }
}

#[test]
fn for_people_everything_is_a_sentence() {
    let mut out = Vec::new();
    let files = [("visit.json".to_string(), Ok(bundle()))];
    evaluate(files, Wanted { format: Format::Text, each: false, unit: InUnit::C }, &mut out, &mut io::sink())
        .expect("a vector takes everything");
    let text = String::from_utf8(out).expect("UTF-8");
    assert!(text.contains("D-1, 2025-06-15T"), "{text}");
    assert!(text.contains("as found: passed; trips 5; operating temperature 88.0 °C ± "), "{text}");
    assert!(text.contains("flag: No alarm") && text.contains("no operating temperature: "), "{text}");
    assert!(text.contains("files 1, unreadable 0, tests 2, broken places 0, differences 0, remarks 0; "), "{text}");
}

#[test]
fn estimates_are_told_as_such_in_every_format() {
    // Test 2 was not read; 88.7 °C and two more are its estimates (see `at_trip`).
    let bundle = text_of(&late_and_estimated().book);
    let (status, records) = evaluated(&[&bundle], EACH);
    assert_eq!(status, 0);
    let tests = of_kind(&records, "test");
    let estimated = tests.iter().find(|test| test["operating"]["estimated"] == 3).expect("test 2");
    assert!(estimated["trips"].as_array().expect("trips").iter().all(|trip| trip["from"] == "estimate"));
    let judgement = &estimated["judgements"][0];
    assert_eq!((judgement.get("as_read"), judgement.get("limit_result")), (None, None));
    let read = tests.iter().find(|test| test["operating"]["estimated"].is_null()).expect("test 1");
    assert_eq!(read["operating"]["late_k"], json!(0.966));
    // By hand (see `at_trip`): (220 − 89.68555)/300 K/s.
    let rate = read["operating"]["rate_k_per_min"].as_f64().expect("a number");
    assert_close("rate of profile runs read", rate, (220.0 - 89.68555192960325) / 5.0);
    let from: Vec<&Value> = of_kind(&records, "family").into_iter().map(|family| &family["from"]).collect();
    assert_eq!(from, ["readings", "estimates"]);
    let written = |format| {
        let mut out = Vec::new();
        let files = [("visit.json".to_string(), Ok(bundle.clone()))];
        evaluate(files, Wanted { format, each: true, unit: InUnit::C }, &mut out, &mut io::sink())
            .expect("a vector takes everything");
        String::from_utf8(out).expect("UTF-8")
    };
    let text = written(Format::Text);
    assert!(text.contains(", indicative: 3 of 3 trips estimated"), "{text}");
    // By hand as above, to the whole number.
    assert!(text.contains(" K at 26.0"), "{text}");
    let rows = csv::read(&written(Format::Csv)).expect("RFC 4180");
    let column = |name: &str| COLUMNS.iter().position(|(of, _)| *of == name).expect("a column");
    let mut tests = rows.iter().filter(|row| row.fields[column("kind")] == "test");
    let late = tests.find(|row| row.fields[column("late_k")] == "0.966").expect("test 1");
    assert_eq!((late.fields[column("kind")].as_str(), late.fields[column("estimated")].as_str()), ("test", ""));
}

struct Gone;

impl Write for Gone {
    fn write(&mut self, _: &[u8]) -> io::Result<usize> {
        Err(io::ErrorKind::BrokenPipe.into())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[test]
fn a_reader_that_has_gone_away_changes_no_status() {
    let broken = changed(|lines| {
        let (line, _) = second_trip(lines);
        lines.remove(line);
    });
    assert_eq!(evaluate([("x".to_string(), Ok(broken))], EACH, &mut Gone, &mut io::sink()).expect("not an error"), 1);
    assert_eq!(evaluate([("x".to_string(), Ok(bundle()))], EACH, &mut Gone, &mut io::sink()).expect("not an error"), 0);
}

fn file(name: &str, text: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("evaluate");
    fs::create_dir_all(&folder).unwrap();
    let path = folder.join(name);
    fs::write(&path, text).unwrap();
    path
}

fn soakbook(arguments: &[&str], files: &[PathBuf]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_soakbook"));
    command.arg("evaluate").args(arguments).args(files).stdin(Stdio::null()).output().unwrap()
}

#[test]
fn the_command_says_0_1_or_2() {
    let sound = file("sound.json", &bundle());
    let differing = file("differing.json", &bundle().replacen("\"mean_c\":88,", "\"mean_c\":89,", 1));
    let broken = file("broken.json", &changed(|lines| drop(lines.remove(second_trip(lines).0))));
    let none = file("none.json", "{}");
    let absent = sound.with_file_name("absent.json");
    let status = |files: &[&PathBuf]| {
        let files: Vec<PathBuf> = files.iter().map(|path| (*path).clone()).collect();
        soakbook(&["--format", "ndjson", "--each"], &files).status.code()
    };
    assert_eq!(status(&[&sound]), Some(0));
    assert_eq!(status(&[&differing]), Some(1));
    assert_eq!(status(&[&broken, &sound]), Some(1));
    assert_eq!(status(&[&none, &broken]), Some(2));
    assert_eq!(status(&[&absent]), Some(2));
    assert_eq!(soakbook(&[], &[]).status.code(), Some(2), "no file named");
}

#[test]
fn the_command_writes_canonical_lines() {
    let sound = file("lines.json", &bundle());
    let output = soakbook(&["--format", "ndjson"], &[sound]);
    let text = String::from_utf8(output.stdout).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    // One file, two positions with a test each, the family of the one with an operating temperature, the summary.
    assert_eq!(lines.len(), 7);
    for line in lines {
        assert_eq!(canonical(&serde_json::from_str(line).unwrap()), line);
    }
}

#[test]
fn a_pipe_that_closes_is_no_panic() {
    let files: Vec<PathBuf> = (0..40).map(|n| file(&format!("pipe-{n}.json"), &bundle())).collect();
    let mut command = Command::new(env!("CARGO_BIN_EXE_soakbook"));
    command.args(["evaluate", "--each", "--format", "ndjson"]).args(&files);
    let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");
    assert_eq!(output.status.code(), Some(0));
}

/// The lines of tests in the flat table, each with the names of its columns.
fn results(text: &str, unit: InUnit) -> (Vec<HashMap<String, String>>, String) {
    let (mut out, mut aside) = (Vec::new(), Vec::new());
    let wanted = Wanted { format: Format::Results, each: true, unit };
    evaluate([("a".to_string(), Ok(text.to_string()))], wanted, &mut out, &mut aside).expect("vectors take all");
    let rows = csv::read(&String::from_utf8(out).unwrap()).expect("RFC 4180");
    assert_eq!(rows[0].fields, RESULTS);
    let named = |fields: &Vec<String>| rows[0].fields.iter().cloned().zip(fields.iter().cloned()).collect();
    let lines = rows[1..].iter().map(|row| named(&row.fields)).filter(|line: &HashMap<_, _>| line["row"] == "test");
    (lines.collect(), String::from_utf8(aside).unwrap())
}

#[test]
fn the_flat_table_has_a_line_per_test_and_the_numbers_of_the_full_one() {
    let (lines, aside) = results(&bundle(), InUnit::C);
    let (_, records) = evaluated(&[&bundle()], EACH);
    let tests = of_kind(&records, "test");
    assert_eq!((lines.len(), aside.as_str()), (tests.len(), ""));
    for (line, test) in lines.iter().zip(tests) {
        let number = |column: &str| line[column].parse::<f64>().ok();
        assert_eq!(line["outcome"], test["outcome"].as_str().unwrap());
        assert_eq!(line["test"], test["test"].as_str().unwrap());
        assert_eq!(number("operating_temperature"), test.pointer("/operating/mean_c").and_then(Value::as_f64));
        assert_eq!(number("expanded_uncertainty"), test.pointer("/operating/expanded_k").and_then(Value::as_f64));
        assert_eq!(number("lower_limit"), test.pointer("/judgements/0/lower_c").and_then(Value::as_f64));
    }
}

#[test]
fn a_temperature_is_converted_as_a_point_and_its_uncertainty_as_a_difference() {
    let (celsius, fahrenheit) = (results(&bundle(), InUnit::C).0, results(&bundle(), InUnit::F).0);
    let number = |line: &HashMap<String, String>, column: &str| line[column].parse::<f64>().expect("a number");
    let (c, f) = (&celsius[0], &fahrenheit[0]);
    assert_eq!((c["unit"].as_str(), f["unit"].as_str()), ("°C", "°F"));
    // NIST SP 811 B.9: t/°C = (t/°F − 32)/1.8; B.8: an interval of 1 °F is 1/1.8 °C.
    let point = number(c, "operating_temperature") * 1.8 + 32.0;
    assert_close("printed 3 decimals", number(f, "operating_temperature"), point);
    assert_close("printed 3 decimals", number(f, "expanded_uncertainty"), number(c, "expanded_uncertainty") * 1.8);
    // The sample's heater is set in °C.
    assert_eq!(results(&bundle(), InUnit::AsEntered).0, celsius);
}

#[test]
fn what_is_wrong_with_a_file_stands_beside_the_flat_table() {
    let broken = changed(|lines| drop(lines.remove(second_trip(lines).0)));
    let (lines, aside) = results(&broken, InUnit::C);
    assert!(!lines.is_empty());
    assert!(aside.contains("missing"), "{aside}");
}

#[test]
fn a_time_is_that_of_the_wall_it_hung_on() {
    let (lines, _) = results(&bundle(), InUnit::C);
    let (_, records) = evaluated(&[&bundle()], EACH);
    let utc = of_kind(&records, "test")[0]["started"].as_str().unwrap().to_string();
    let instant = |text: &str| chrono::DateTime::parse_from_rfc3339(text).expect("RFC 3339").timestamp();
    assert_eq!(instant(&lines[0]["started"]), instant(&utc));
    assert!(!lines[0]["started"].ends_with('Z'), "{}", lines[0]["started"]);
}

#[test]
fn a_dash_reads_standard_input_and_what_cannot_be_read_is_said_on_standard_error() {
    let mut command = Command::new(env!("CARGO_BIN_EXE_soakbook"));
    command.args(["evaluate", "-", "--format", "results"]);
    let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    child.stdin.take().unwrap().write_all(bundle().as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(0));
    assert_eq!(
        csv::read(&String::from_utf8(output.stdout).unwrap()).expect("RFC 4180").len(),
        5,
        "a head, two positions, two tests"
    );

    let absent = file("there.json", "").with_file_name("not-there.json");
    let output = soakbook(&[], &[absent]);
    assert!(String::from_utf8_lossy(&output.stderr).contains("not-there.json"), "{output:?}");
    let help = Command::new(env!("CARGO_BIN_EXE_soakbook")).args(["evaluate", "--help"]).output().unwrap();
    assert!(String::from_utf8_lossy(&help.stdout).contains("Exit status"), "{help:?}");
}
