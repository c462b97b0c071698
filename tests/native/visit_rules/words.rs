//! Lines of the rules whose tests stand with what they are about.
//!
//! | line | tests |
//! |---|---|
//! | 0.2, the table of types and procedures | `book::start::the_type_by_procedure_table_holds_through_the_rules` |
//! | 0.8, a nonrestorable element | `book::start::a_nonrestorable_element_keeps_its_margin` |
//! | 0.16, the key for it | end-to-end, `journeys` |
//! | 0.21, on every screen | end-to-end, `journeys` |
//! | 0.22, chased at closing | `book::visit::a_visit_closes_when_nothing_is_left_open` |
