//! One tab writes; a lock that is dropped is free for the next.

use soakbook::browser::locks::{self, NoLock, TEST_ACTIVE};
use wasm_bindgen_futures::spawn_local;
use wasm_bindgen_test::wasm_bindgen_test;

#[wasm_bindgen_test]
async fn the_second_learns_that_the_first_writes_and_follows_it() {
    let first = locks::try_for("t-writer").await.unwrap();
    // Freeing is not immediate in a browser, so a lock that is not held would still look taken at once.
    crate::sleep(50).await;
    assert_eq!(locks::try_for("t-writer").await.unwrap_err(), NoLock::Taken);
    spawn_local(async move {
        crate::sleep(50).await;
        drop(first);
    });
    let second = locks::wait_for("t-writer").await.unwrap();
    crate::sleep(50).await;
    assert_eq!(locks::try_for("t-writer").await.unwrap_err(), NoLock::Taken);
    drop(second);
    let third = locks::wait_for("t-writer").await;
    assert!(third.is_ok());
}

#[wasm_bindgen_test]
async fn several_tabs_may_each_have_a_test_active() {
    let (one, two) = (locks::share_in(TEST_ACTIVE).await.unwrap(), locks::share_in(TEST_ACTIVE).await.unwrap());
    drop(one);
    crate::sleep(50).await;
    assert_eq!(locks::try_for(TEST_ACTIVE).await.unwrap_err(), NoLock::Taken);
    drop(two);
    let free = locks::wait_for(TEST_ACTIVE).await;
    assert!(free.is_ok());
}

#[wasm_bindgen_test]
async fn where_there_are_no_locks_that_is_said() {
    js_sys::eval("Object.defineProperty(navigator, 'locks', { value: undefined, configurable: true })").unwrap();
    let refused = locks::try_for("t-none").await;
    js_sys::eval("delete navigator.locks").unwrap();
    assert!(matches!(refused, Err(NoLock::Absent(_))), "{refused:?}");
}

#[wasm_bindgen_test]
async fn a_refused_request_is_an_answer() {
    // A name that begins with a hyphen is refused by rejecting the promise (Web Locks, request, step 6).
    assert!(matches!(locks::try_for("-t").await, Err(NoLock::Absent(_))));
}
