//! Three hundred positions.

use super::*;
use soakbook::book::visit::headings;
use soakbook::desk::promises::{Size, book};
use soakbook::view::page::html::document;

#[test]
fn three_hundred_positions_have_a_line_each() {
    let book = book(Size { tests: 300, per_visit: 300 }, 1);
    let visit = headings(&book)[0].id;
    let page = page(&book, visit, record::record);
    let read = text(&page);
    assert_eq!(fact(&read, "In scope"), "300");
    for number in [1, 150, 300] {
        line(&read, &format!("H-{number:04} | "));
    }
    let html = document(&page);
    assert!(html.len() < 1 << 20, "{} bytes", html.len());
}
