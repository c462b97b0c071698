//! What is printed: 0.15, 0.16.

use super::*;
use soakbook::book::body::{Ending, What};
use soakbook::trade::caution;
use soakbook::view::findings::one::{OneTest, STILL_HOT};
use std::fs;
use std::path::Path;

/// Clauses that somebody saw, in a stored page or a public file; what is known from memory alone may not be printed.
const SEEN: [&str; 9] = [
    "14.2.3.1",       // NFPA 72:2022, training material of a licensing exam
    "14.4.3.2",       // NFPA 72, rows quoted by a testing laboratory
    "17.6.2.3",       // NFPA 72, trade press
    "9.6.1.6",        // NFPA 101 (2009), quoted by a monitoring station
    "1910.164(b)(2)", // 29 CFR, govinfo.gov
    "1910.307",       // 29 CFR, govinfo.gov
    "1910.334(a)",    // 29 CFR, a copy of the regulation
    "1910.67(c)(2)",  // 29 CFR, osha.gov interpretation
    "1926.453(b)(2)", // 29 CFR, law.cornell.edu
];

/// The string literals of a file.
fn literals(text: &str) -> Vec<String> {
    let code: Vec<&str> = text.lines().filter(|line| !line.trim_start().starts_with("//")).collect();
    code.join("\n").split('"').skip(1).step_by(2).map(ToString::to_string).collect()
}

fn collect(folder: &Path, all: &mut Vec<(String, String)>) {
    for entry in fs::read_dir(folder).expect("a folder").map(|entry| entry.expect("an entry").path()) {
        if entry.is_dir() {
            collect(&entry, all);
        } else {
            let text = fs::read_to_string(&entry).expect("a text");
            all.extend(literals(&text).into_iter().map(|said| (entry.display().to_string(), said)));
        }
    }
}

#[test]
fn v0_15_no_clause_from_memory_is_printed() {
    let mut all = Vec::new();
    for part in ["trade", "findings", "view", "book", "ui", "handover"] {
        collect(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src").join(part), &mut all);
    }
    let mut found = 0;
    for (file, said) in all.iter().filter(|(_, said)| ["NFPA", "CFR"].iter().any(|of| said.contains(of))) {
        let words = said.split([' ', ',', ';', ':']).map(|word| word.trim_end_matches('.'));
        // A clause is a number with a dot in it.
        let clauses = words.filter(|word| word.starts_with(|c: char| c.is_ascii_digit()) && word.contains('.'));
        for clause in clauses {
            assert!(SEEN.contains(&clause), "{file}: {clause} in “{said}”");
            found += 1;
        }
    }
    assert!(found >= SEEN.len(), "only {found} clauses found");
}

#[test]
fn v0_16_still_hot_is_gloves_until_touch_tested_and_no_clock() {
    let mut world = given(|_| {});
    world.act(functional(|_| {}));
    world.taps(&[(50, What::Tripped)]);
    world.wait(SECOND).act(Command::End { test: id(TEST), how: Ending::Done });
    let one = OneTest::of(&world.book, &world.visit(), &world.test(), &found(&world), Degree::F, 0);
    assert!(one.ended, "what ended had heat: the screen says it then");
    assert!(STILL_HOT.contains("gloves until you have touch-tested"));
    assert!(!STILL_HOT.contains(|c: char| c.is_ascii_digit()), "no time that a clock could have run down");
    assert!(caution::IN_A_TEST.iter().any(|caution| caution.words.contains("Gloves on until you have touch-tested")));
}
