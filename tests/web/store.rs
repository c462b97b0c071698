//! The store keeps every text, in both copies, whatever fails.

use std::cell::RefCell;
use std::rc::Rc;

use crate::Stub;
use gloo_storage::{LocalStorage, Storage as _};
use js_sys::{Array, Function, Promise};
use soakbook::browser::store::{Attachment, Attachments, Batch, Record, Settled, Store, Written};
use soakbook::browser::trouble::Trouble;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;
use wasm_bindgen_test::wasm_bindgen_test;
use web_sys::{IdbDatabase, IdbOpenDbRequest, IdbRequest, IdbTransactionMode};

type Heard = Rc<RefCell<Vec<Written>>>;

/// A store of its own for each test, so that no test sees another's data.
async fn store(name: &str) -> (Store, Heard) {
    let heard = Heard::default();
    let keep = heard.clone();
    let (store, opened) = Store::open(name, move |written| keep.borrow_mut().push(written)).await;
    assert_eq!(opened, Ok(()));
    (store, heard)
}

fn record(scope: &str, seq: u64, hash: &str) -> Record {
    let text = format!(r#"{{"seq":{seq},"note":"°F \"{hash}\""}}"#);
    Record { scope: scope.into(), phone: "p".into(), seq, hash: hash.into(), text }
}

fn batch(records: &[Record]) -> Batch {
    Batch { records: records.to_vec(), attachments: Vec::new() }
}

fn sorted(mut records: Vec<Record>) -> Vec<Record> {
    records.sort_by(|a, b| (&a.scope, a.seq, &a.hash).cmp(&(&b.scope, b.seq, &b.hash)));
    records
}

/// Waits until something was heard; a test that waits 20 s in vain fails.
async fn until(heard: &Heard, what: impl Fn(&Written) -> bool) {
    for _ in 0..400 {
        if heard.borrow().iter().any(&what) {
            return;
        }
        crate::sleep(50).await;
    }
    panic!("not heard; heard: {:?}", heard.borrow());
}

fn recorded(hash: &str) -> impl Fn(&Written) -> bool {
    move |written| matches!(written, Written::Recorded { hashes } if hashes.iter().any(|one| one == hash))
}

fn waiting(hash: &str) -> impl Fn(&Written) -> bool {
    move |written| matches!(written, Written::Waiting { hashes, .. } if hashes.iter().any(|one| one == hash))
}

fn copies(name: &str) -> usize {
    let storage = LocalStorage::raw();
    let prefix = format!("{name}.e/");
    (0..LocalStorage::length()).filter(|index| storage.key(*index).unwrap().unwrap().starts_with(&prefix)).count()
}

async fn outcome(request: &IdbRequest) -> Result<JsValue, JsValue> {
    JsFuture::from(Promise::new(&mut |resolve: Function, reject: Function| {
        request.set_onsuccess(Some(&resolve));
        request.set_onerror(Some(&reject));
    }))
    .await
}

/// The database itself, past the store.
async fn raw(name: &str, version: Option<u32>) -> IdbDatabase {
    let factory = web_sys::window().unwrap().indexed_db().unwrap().unwrap();
    let request: IdbOpenDbRequest = match version {
        Some(version) => factory.open_with_u32(name, version).unwrap(),
        None => factory.open(name).unwrap(),
    };
    outcome(&request).await.unwrap();
    request.result().unwrap().unchecked_into()
}

async fn raw_delete(name: &str) {
    let factory = web_sys::window().unwrap().indexed_db().unwrap().unwrap();
    outcome(&factory.delete_database(name).unwrap()).await.unwrap();
}

#[wasm_bindgen_test]
async fn texts_come_back_as_they_were_written_and_have_a_second_copy() {
    let (first, heard) = store("t-round-trip").await;
    let forks = [record("visit/1", 0, "a"), record("visit/1", 1, "b"), record("visit/1", 1, "c")];
    first.append(batch(&forks[..1]));
    first.append(batch(&forks[1..]));
    assert_eq!(copies("t-round-trip"), 3, "the second copy is written before the call returns");
    until(&heard, recorded("c")).await;
    assert_eq!(
        *heard.borrow(),
        [Written::Recorded { hashes: vec!["a".into()] }, Written::Recorded { hashes: vec!["b".into(), "c".into()] }]
    );
    assert_eq!(first.unrecorded(), 0);
    drop(first);

    let (again, _) = store("t-round-trip").await;
    let found = again.start(&Settled::default(), None).await;
    assert_eq!((sorted(found.records), found.restored), (forks.to_vec(), 0));
    assert_eq!((found.trouble, found.copy_trouble), (None, None));
}

#[wasm_bindgen_test]
async fn a_write_is_begun_in_the_task_of_its_caller() {
    let (store, heard) = store("t-own-task").await;
    let before = raw("t-own-task", None).await;
    store.append(batch(&[record("s", 0, "a")]));
    // A transaction made later waits for one that was begun earlier, so it sees the text.
    let tx = before.transaction_with_str("entries").unwrap();
    let count = tx.object_store("entries").unwrap().count().unwrap();
    outcome(&count).await.unwrap();
    assert_eq!(count.result().unwrap(), 1);
    until(&heard, recorded("a")).await;
}

#[wasm_bindgen_test]
async fn every_write_is_strict_and_committed_at_once() {
    let (store, heard) = store("t-strict").await;
    let watch = "(() => {
        const seen = [], kept = IDBDatabase.prototype.transaction, commit = IDBTransaction.prototype.commit;
        IDBDatabase.prototype.transaction = function (...a) { const t = kept.apply(this, a); seen.push(t.mode, t.durability); return t; };
        IDBTransaction.prototype.commit = function () { seen.push('commit'); return commit.apply(this); };
        return () => { IDBDatabase.prototype.transaction = kept; IDBTransaction.prototype.commit = commit; return seen.join(); };
    })()";
    let unwatch: Function = js_sys::eval(watch).unwrap().unchecked_into();
    store.append(batch(&[record("s", 0, "a")]));
    let seen = unwatch.call0(&JsValue::NULL).unwrap();
    assert_eq!(seen, "readwrite,strict,commit");
    until(&heard, recorded("a")).await;
}

#[wasm_bindgen_test]
async fn scopes_are_read_one_by_one() {
    let (store, heard) = store("t-scopes").await;
    store.append(batch(&[record("a", 0, "1"), record("a/b", 0, "2"), record("a/b", 1, "3"), record("ab", 0, "4")]));
    until(&heard, recorded("4")).await;
    for (scope, hashes) in [("a", vec!["1"]), ("a/b", vec!["2", "3"]), ("ab", vec!["4"]), ("b", vec![])] {
        let found = store.read(Some(&[scope.to_string()])).await.unwrap();
        assert_eq!(found.iter().map(|record| record.hash.as_str()).collect::<Vec<_>>(), hashes, "{scope}");
    }
}

#[wasm_bindgen_test]
async fn a_start_leaves_settled_stretches_for_later() {
    let (store, _) = store("t-settled").await;
    let scopes = ["kit", "r/1", "r/2", "r/3", "r/5", "r/6", "s/1"];
    let two = |scope: &&str| [0, 1].map(|seq| record(scope, seq, &format!("{scope}{seq}").replace('/', "")));
    store.import(batch(&scopes.iter().flat_map(two).collect::<Vec<_>>())).await.unwrap();
    let names = |records: Vec<Record>| {
        let mut names: Vec<String> = records.into_iter().map(|record| record.scope).collect();
        names.dedup();
        names.join(" ")
    };
    let starts = async |settled: &str, also: Option<&str>| {
        let found = store.start(&Settled::read(settled), also).await;
        assert_eq!(found.trouble, None);
        names(found.records)
    };
    assert_eq!(starts("", None).await, scopes.join(" "));
    assert_eq!(starts("r/1 r/6", None).await, "kit s/1");
    assert_eq!(starts("r/1 r/2\nr/5 r/6", None).await, "kit r/3 s/1");
    assert_eq!(starts("r/1 r/6", Some("r/2")).await, "kit s/1 r/2");
    assert_eq!(starts("r/1 r/2", Some("r/3")).await, "kit r/3 r/5 r/6 s/1", "nothing twice");
    assert_eq!(starts("kit s/1", None).await, "");

    // The rest comes page by page, and nothing of it is lost or read twice at their edges.
    for most in [1, 2, 3, 9, 10, 11] {
        let (mut read, mut behind) = (Vec::new(), None);
        loop {
            let (records, more) = store.page(("r/1", "r/6"), behind, most).await.unwrap();
            assert!(records.len() <= most as usize);
            read.extend(records);
            behind = more;
            if behind.is_none() {
                break;
            }
        }
        assert_eq!((read.len(), names(read)), (10, "r/1 r/2 r/3 r/5 r/6".to_string()), "pages of {most}");
    }
}

#[wasm_bindgen_test]
async fn each_copy_fills_what_the_other_lacks() {
    let name = "t-union";
    let (first, heard) = store(name).await;
    let (both, copy_only, base_only) = (record("r/1", 0, "a"), record("r/2", 5, "b"), record("r/1", 1, "c"));
    first.append(batch(std::slice::from_ref(&both)));
    until(&heard, recorded("a")).await;
    LocalStorage::raw().set_item("t-union.e/r/2/p/5/b", &copy_only.text).unwrap();
    assert_eq!(first.import(batch(std::slice::from_ref(&base_only))).await, Ok(1));
    assert_eq!(copies(name), 2);

    // In a settled stretch a second copy waits like the rest.
    let settled = first.start(&Settled::read("r/2 r/2"), None).await;
    assert_eq!((settled.records.len(), settled.copies_later, settled.restored), (2, vec![copy_only.clone()], 0));
    // What only the second copy has comes all the same.
    let found = first.start(&Settled::default(), None).await;
    assert_eq!((sorted(found.records.clone()), found.restored), (vec![both, base_only, copy_only.clone()], 1));
    assert_eq!(first.read(Some(&["r/2".to_string()])).await.unwrap(), [copy_only]);

    first.keep_copies(&found.records);
    assert_eq!(copies(name), 3);
    assert_eq!(first.forget_copies("r/1"), Ok(()));
    assert_eq!(copies(name), 1);
    assert_eq!(first.read(None).await.unwrap().len(), 3, "forgetting a copy touches no entry");
}

#[wasm_bindgen_test]
async fn a_failing_write_is_tried_again_and_the_next_one_waits() {
    let name = "t-retry";
    let (store, heard) = store(name).await;
    // Another text under the first record's key makes its write fail until it is gone.
    let base = raw(name, None).await;
    let key = Array::of4(&"s".into(), &"p".into(), &0.into(), &"a".into());
    let put = |text: Option<&str>| {
        let tx = base.transaction_with_str_and_mode("entries", IdbTransactionMode::Readwrite).unwrap();
        let entries = tx.object_store("entries").unwrap();
        match text {
            Some(text) => entries.put_with_key(&text.into(), &key).unwrap(),
            None => entries.delete(&key).unwrap(),
        }
    };
    outcome(&put(Some("other"))).await.unwrap();
    store.append(batch(&[record("s", 0, "a"), record("s", 1, "b")]));
    store.append(batch(&[record("s", 2, "c")]));
    until(&heard, |one| matches!(one, Written::Waiting { tries: 2, .. })).await;
    assert!(
        matches!(&heard.borrow()[0], Written::Waiting { hashes, why, tries: 1 }
            if *hashes == ["a", "b"] && *why == Trouble::Altered("a".into())),
        "{:?}",
        heard.borrow()
    );
    assert_eq!(store.unrecorded(), 2);
    assert_eq!(store.read(None).await.unwrap().len(), 1, "nothing of a refused batch is stored");

    outcome(&put(None)).await.unwrap();
    store.try_now();
    until(&heard, recorded("c")).await;
    let order: Vec<_> = heard
        .borrow()
        .iter()
        .filter_map(|one| match one {
            Written::Recorded { hashes } => Some(hashes.join("")),
            _ => None,
        })
        .collect();
    assert_eq!(order, ["ab", "c"]);
    assert_eq!(store.read(None).await.unwrap().len(), 3);
}

#[wasm_bindgen_test]
async fn a_write_whose_answer_was_lost_counts_as_recorded() {
    let (store, heard) = store("t-twice").await;
    let (a, b) = (record("s", 0, "a"), record("s", 1, "b"));
    assert_eq!(store.import(batch(std::slice::from_ref(&a))).await, Ok(1));
    store.append(batch(&[a, b]));
    until(&heard, recorded("b")).await;
    assert_eq!(heard.borrow().len(), 1, "{:?}", heard.borrow());
    assert_eq!(store.read(None).await.unwrap().len(), 2);
}

#[wasm_bindgen_test]
async fn a_database_taken_away_is_opened_again() {
    let name = "t-lost";
    let (store, heard) = store(name).await;
    store.append(batch(&[record("s", 0, "a")]));
    until(&heard, recorded("a")).await;
    // A newer version takes the database over; the store lets go at once, or this would wait for ever.
    let newer = raw(name, Some(9)).await;
    store.append(batch(&[record("s", 1, "b")]));
    until(&heard, |one| matches!(one, Written::NotSafe { why: Trouble::Reload, .. })).await;
    assert!(!store.safe());
    newer.close();
    raw_delete(name).await;
    until(&heard, recorded("b")).await;
    assert!(store.safe());
    assert!(heard.borrow().contains(&Written::Erased), "data that vanished under the app is not passed over");
    // The copies still have what the deleted database had.
    assert_eq!(store.start(&Settled::default(), None).await.restored, 1);
    assert_eq!(store.read(None).await.unwrap().len(), 2);
}

#[wasm_bindgen_test]
async fn without_a_database_every_write_is_said_not_to_be_safe_and_kept_in_the_copy() {
    let name = "t-none";
    let refused = Stub::new("indexedDB", "get() { throw new DOMException('no', 'SecurityError'); }");
    let heard = Heard::default();
    let keep = heard.clone();
    let (store, opened) = Store::open(name, move |written| keep.borrow_mut().push(written)).await;
    assert_eq!(opened, Err(Trouble::AllowStorage("SecurityError: no".into())));
    drop(refused);
    let absent = Stub::new("indexedDB", "value: undefined");
    let a = record("s", 0, "a");
    store.append(batch(std::slice::from_ref(&a)));
    until(&heard, |one| matches!(one, Written::NotSafe { hashes, why: Trouble::AllowStorage(_) } if *hashes == ["a"]))
        .await;
    assert!(!store.safe());
    let found = store.start(&Settled::default(), None).await;
    assert_eq!((found.records, found.restored), (vec![a.clone()], 1));
    assert!(matches!(found.trouble, Some(Trouble::AllowStorage(_))));
    assert!(store.import(batch(&[a])).await.is_err());

    drop(absent);
    store.try_now();
    until(&heard, recorded("a")).await;
    assert!(store.safe());
    assert_eq!(store.read(None).await.unwrap().len(), 1);
}

#[wasm_bindgen_test]
async fn without_local_storage_writes_are_recorded_all_the_same() {
    let (store, heard) = store("t-no-copy").await;
    let refused = Stub::new("localStorage", "get() { throw new DOMException('no', 'SecurityError'); }");
    store.append(batch(&[record("s", 0, "a")]));
    let found = store.start(&Settled::default(), None).await;
    drop(refused);
    until(&heard, recorded("a")).await;
    let why = Trouble::AllowStorage("SecurityError: no".into());
    assert_eq!(heard.borrow()[0], Written::NoCopy { why: why.clone() });
    assert_eq!((found.records.len(), found.copy_trouble), (1, Some(why)));
}

#[wasm_bindgen_test]
async fn an_import_is_all_or_nothing() {
    let name = "t-import";
    let (store, _) = store(name).await;
    let many: Vec<Record> = (0..500).map(|seq| record("s", seq, &format!("h{seq}"))).collect();
    let mut clash = many[499].clone();
    clash.text = "altered".into();
    assert_eq!(store.import(batch(&[clash])).await, Ok(1));
    assert_eq!(store.import(batch(&many)).await, Err(Trouble::Altered("h499".into())));
    assert_eq!(store.read(None).await.unwrap().len(), 1);
    assert_eq!(store.import(batch(&many[..499])).await, Ok(499));
    assert_eq!(store.import(batch(&many[..499])).await, Ok(0), "what is there already is passed over");
    assert_eq!(copies(name), 0, "an import has no second copy");
}

/// Longer than one slice: still all or nothing, whichever slice breaks it.
#[wasm_bindgen_test]
async fn a_long_import_is_stored_whole_or_not_at_all() {
    let (store, _) = store("t-import-long").await;
    let many: Vec<Record> = (0..1_300).map(|seq| record("s", seq, &format!("h{seq}"))).collect();
    let kept = Attachment { hash: "a".into(), salt: vec![1], media: "text/plain".into(), bytes: vec![2] };
    let whole = Batch { records: many.clone(), attachments: vec![kept] };
    for breaks in [700, 1_200, 1_301] {
        let script = format!(
            "(() => {{ const kept = IDBObjectStore.prototype.add; let count = 0;
             IDBObjectStore.prototype.add = function (...a) {{
               if (++count === {breaks}) {{ throw new DOMException('', 'DataError') }} return kept.apply(this, a); }};
             return () => {{ IDBObjectStore.prototype.add = kept; }}; }})()"
        );
        let restore: Function = js_sys::eval(&script).unwrap().unchecked_into();
        let outcome = store.import(whole.clone()).await;
        restore.call0(&JsValue::NULL).unwrap();
        assert!(outcome.is_err(), "{breaks}: {outcome:?}");
        assert_eq!(
            (store.read(None).await.unwrap().len(), store.attachments().await.unwrap().read.len()),
            (0, 0),
            "{breaks}"
        );
    }
    let mut clash = many[1_299].clone();
    clash.text = "altered".into();
    assert_eq!(store.import(batch(&[clash])).await, Ok(1));
    assert_eq!(store.import(whole).await, Err(Trouble::Altered("h1299".into())));
    assert_eq!(store.import(batch(&many[..1_299])).await, Ok(1_299));
    assert_eq!(store.read(None).await.unwrap().len(), 1_300);
}

#[wasm_bindgen_test]
async fn an_import_that_breaks_midway_leaves_nothing() {
    let (store, _) = store("t-import-midway").await;
    // What nobody waits for must not surface as an unhandled failure either.
    js_sys::eval("window.unhandled = 0; window.addEventListener('unhandledrejection', () => window.unhandled++)")
        .unwrap();
    let three = [record("s", 0, "a"), record("s", 1, "b"), record("s", 2, "c")];
    // The third is refused at once; or it is accepted and the transaction fails later.
    for breaks in ["throw new DOMException('', 'DataError')", "this.transaction.abort()"] {
        let script = format!(
            "(() => {{ const kept = IDBObjectStore.prototype.add; let count = 0;
             IDBObjectStore.prototype.add = function (...a) {{ if (++count === 3) {{ {breaks} }} return kept.apply(this, a); }};
             return () => {{ IDBObjectStore.prototype.add = kept; return count; }}; }})()"
        );
        let restore: Function = js_sys::eval(&script).unwrap().unchecked_into();
        let outcome = store.import(batch(&three)).await;
        assert_eq!(restore.call0(&JsValue::NULL).unwrap(), 3);
        assert!(matches!(outcome, Err(Trouble::TryAgain(_))), "{outcome:?}");
        assert_eq!(store.read(None).await.unwrap(), []);
    }
    crate::sleep(50).await;
    assert_eq!(js_sys::eval("unhandled").unwrap(), 0);
    let twice = [&three[..], &three[..]].concat();
    assert_eq!(store.import(batch(&twice)).await, Ok(3), "a text that comes twice is stored once");
}

#[wasm_bindgen_test]
async fn attachments_are_stored_with_their_entry_and_can_be_erased() {
    let (store, heard) = store("t-attach").await;
    let photo = Attachment { hash: "f0".into(), salt: vec![0, 255], media: "image/jpeg".into(), bytes: vec![7; 3000] };
    store.append(Batch { records: vec![record("s", 0, "a")], attachments: vec![photo.clone()] });
    until(&heard, recorded("a")).await;
    assert_eq!(store.attachment("f0").await, Ok(Some(photo)));
    // A start reads the name of a picture, and of everything else the whole.
    let note = Attachment { hash: "e0".into(), salt: vec![1], media: "text/plain".into(), bytes: vec![2] };
    let words = Batch { records: Vec::new(), attachments: vec![note.clone()] };
    assert_eq!(store.import(words).await, Ok(0));
    let both = Attachments { read: vec![note.clone()], pictures: vec!["f0".into()] };
    assert_eq!(store.attachments().await, Ok(both));
    assert_eq!(store.attachment("e0").await, Ok(Some(note)));
    assert_eq!(store.erase_attachment("f0").await, Ok(()));
    assert_eq!(store.attachment("f0").await, Ok(None));
    assert_eq!(store.read(None).await.unwrap().len(), 1);
}

#[wasm_bindgen_test]
async fn a_draft_is_replaced_kept_over_a_reopening_and_forgotten() {
    let (first, _) = store("t-draft").await;
    first.keep_draft("detector", "{}").await.unwrap();
    first.keep_draft("detector", r#"{"tag":"H-1"}"#).await.unwrap();
    first.keep_draft("site", "{}").await.unwrap();
    drop(first);
    let (again, _) = store("t-draft").await;
    let expected = [("detector".to_string(), r#"{"tag":"H-1"}"#.to_string()), ("site".to_string(), "{}".to_string())];
    assert_eq!(again.drafts().await.unwrap(), expected);
    again.forget_draft("detector").await.unwrap();
    assert_eq!(again.drafts().await.unwrap(), expected[1..]);
}

#[wasm_bindgen_test]
async fn a_full_second_copy_is_said_once_and_blocks_nothing() {
    let name = "t-full";
    let (store, heard) = store(name).await;
    let storage = LocalStorage::raw();
    // 5 242 880 UTF-16 units is the limit that Chromium documents: with this there is no room for a record of 60 000.
    storage.set_item("t-full-filler", &"x".repeat(5_200_000)).unwrap();
    let mut big = record("s", 0, "a");
    big.text = "x".repeat(60_000);
    let mut bigger = record("s", 1, "b");
    bigger.text = "y".repeat(60_000);
    store.append(batch(&[big]));
    store.append(batch(&[bigger]));
    until(&heard, recorded("b")).await;
    let warnings = heard.borrow().iter().filter(|one| **one == Written::NoCopy { why: Trouble::FreeSpace }).count();
    assert_eq!(warnings, 1, "{}", heard.borrow().len());
    store.append(batch(&[record("s", 2, "c")]));
    until(&heard, recorded("c")).await;
    assert!(storage.get_item("t-full.e/s/p/2/c").unwrap().is_some());
    storage.remove_item("t-full-filler").unwrap();
    assert!(!heard.borrow().iter().any(|one| waiting("a")(one)));
}

#[wasm_bindgen_test]
async fn the_phone_keeps_its_id_until_its_database_is_gone() {
    let name = "t-phone";
    let (first, _) = store(name).await;
    assert_eq!(first.phone("one").await.unwrap(), "one");
    assert_eq!(first.phone("two").await.unwrap(), "one");
    drop(first);
    let (again, _) = store(name).await;
    assert_eq!(again.phone("three").await.unwrap(), "one");
    raw_delete(name).await;
    assert_eq!(again.phone("four").await.unwrap(), "four");
}

#[wasm_bindgen_test]
async fn a_file_for_the_office_stays_until_its_receipt_is_kept() {
    let (store, _) = store("outbox").await;
    assert_eq!(store.keep_file("a", "known", "text of a").await, Ok(()));
    assert_eq!(store.keep_file("b", "known b", "text of b").await, Ok(()));
    // One of this name is left as it is.
    assert_eq!(store.keep_file("a", "other", "other").await, Ok(()));
    store.close();
    let again = Store::open("outbox", |_| {}).await.0;
    assert_eq!(again.outbox().await, Ok(vec!["known".into(), "known b".into()]));
    assert_eq!(again.file("a").await, Ok(Some("text of a".into())));
    assert_eq!(again.keep_receipt("a", "receipt").await, Ok(()));
    assert_eq!(again.outbox().await, Ok(vec!["receipt".into(), "known b".into()]));
    assert_eq!((again.file("a").await, again.file("b").await), (Ok(None), Ok(Some("text of b".into()))));
    // What was delivered does not come back.
    assert_eq!(again.keep_file("a", "known", "text of a").await, Ok(()));
    assert_eq!(
        (again.outbox().await.map(|all| all[0].clone()), again.file("a").await),
        (Ok("receipt".into()), Ok(None))
    );
}
