//! What is written out comes back as it was.

use super::{Desk, fates, rows};
use proptest::prelude::*;
use soakbook::encoding::csv::{guarded, unguarded};

/// A sheet with many positions of all kinds.
fn many(count: usize) -> String {
    let kinds = ["Rate-compensated", "Fixed-temperature, restorable", "Electronic", "Rate-of-rise", "Spot heat"];
    let mut text = "Tag;Area;Loop;Address;Type;Rating;Location;Releases;Height;Access;Serial;Installed\n".to_string();
    for at in 0..count {
        let (kind, rating) = (kinds[at % 5], ["135 F", "57,2 °C", "194.0 °F", "", "190 F"][at % 5].replace(',', "."));
        let releases = ["", "none", "\"Door 7; Fan 2\"", "", "yes"][at % 5];
        text.push_str(&format!(
            "H-{at};Hall {};L{};{}-{at:03};{kind};{rating};\"Over; {at}\";{releases};{}.5 ft;ladder;S{at};2022-05-{:02}\n",
            at % 7,
            at % 3,
            at % 3,
            10 + at % 9,
            1 + at % 28,
        ));
    }
    text
}

#[test]
fn a_site_that_is_written_out_and_read_again_is_the_same() {
    let mut desk = Desk::new();
    let ready = desk.take(&many(150));
    assert_eq!((ready.plan.count(), ready.plan.left_out()), (150, 0), "{:?}", fates(&ready.plan));
    let text = desk.export();
    let again = desk.ready(&text);
    assert!(fates(&again.plan).iter().all(|(_, said)| said == "same"), "{:?}", fates(&again.plan));
    assert!(again.plan.gone.is_empty());
    // On an empty site it makes the same site.
    let mut other = Desk::new();
    other.take(&text);
    assert_eq!(other.export(), text);
}

#[test]
fn five_thousand_positions_are_written_out_the_same_a_second_time() {
    let mut desk = Desk::new();
    let rows: String = (0..5_000).map(|row| format!("H-{row},Hall {},{row:05}\n", row % 7)).collect();
    desk.take(&format!("Tag,Area,Serial\n{rows}"));
    let text = desk.export();
    let again = desk.ready(&text);
    let plan = &again.plan;
    assert_eq!((plan.lines.len(), plan.count(), plan.left_out(), plan.gone.len()), (5_000, 0, 0, 0));
    assert_eq!(desk.export(), text);
}

#[test]
fn no_cell_is_run_by_a_spreadsheet() {
    let mut desk = Desk::new();
    // Common practice: OWASP, "CSV Injection".
    let cells = ["'=1+1", "+1", "-1", "@SUM(A1)", "'=HYPERLINK(1)"];
    let lines: String = cells.iter().enumerate().map(|(at, cell)| format!("H-{at},A,{cell}\n")).collect();
    desk.take(&format!("Tag,Area,Location\n{lines}"));
    let text = desk.export();
    let (_, sheet) = rows(text.as_bytes()).unwrap();
    let runs = |cell: &String| cell.starts_with(['=', '+', '-', '@']);
    assert_eq!(sheet.rows.iter().flat_map(|row| &row.fields).filter(|cell| runs(cell)).count(), 0, "{text}");
    let again = desk.ready(&text);
    assert!(fates(&again.plan).iter().all(|(_, said)| said == "same"), "{:?}", fates(&again.plan));
}

proptest! {
    #[test]
    fn a_guarded_cell_comes_back(cell in "['=+\\-@;\ta]{0,8}") {
        let text = guarded(&cell);
        prop_assert_eq!(unguarded(&text), cell.as_str());
        prop_assert!(text.split(';').all(|part| !part.starts_with(['=', '+', '-', '@', '\t'])));
    }
}
