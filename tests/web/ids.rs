//! Ids are new each time; the phone's own stays.

use std::collections::HashSet;

use soakbook::browser::ids;
use soakbook::browser::store::Store;
use soakbook::units::Wall;
use wasm_bindgen_test::wasm_bindgen_test;

#[wasm_bindgen_test]
fn ids_are_of_version_7_and_all_different() {
    // RFC 9562, section 5.7: 48 bits of Unix milliseconds first; version 7; variant 10. Its example in A.6 is of this time.
    let id = ids::uuid(Wall(0x017F_22E2_79B0));
    assert!(id.to_string().starts_with("017f22e2-79b0-7"), "{id}");
    assert_eq!((id.get_version_num(), id.get_variant()), (7, uuid::Variant::RFC4122));
    let many: HashSet<_> = (0..1000).map(|_| ids::uuid(Wall(1))).collect();
    assert_eq!(many.len(), 1000);
    assert_ne!(ids::random::<16>(), ids::random::<16>());
}

#[wasm_bindgen_test]
async fn the_phone_is_the_same_after_reopening_and_new_after_a_wipe() {
    let open = async || Store::open("t-ids", |_| {}).await.0;
    let (first, trouble) = ids::phone(&open().await, Wall(1)).await;
    assert_eq!(trouble, None);
    assert_eq!(ids::phone(&open().await, Wall(2)).await, (first.clone(), None));
    let factory = web_sys::window().unwrap().indexed_db().unwrap().unwrap();
    factory.delete_database("t-ids").unwrap();
    assert_ne!(ids::phone(&open().await, Wall(3)).await.0, first, "a wiped store is a new phone");
}
