//! Files out and in.

use soakbook::browser::share::{self, NotRead, NotShared, Sent};
use wasm_bindgen::prelude::*;
use wasm_bindgen_test::wasm_bindgen_test;
use web_sys::HtmlInputElement;

/// A share sheet of our own, because a desktop browser has none.
fn pretend(accepts: &str, does: &str) {
    let script = "window.shared = '';
        Object.defineProperty(navigator, 'canShare', { configurable: true, value: ({ files: [file] }) => ACCEPTS });
        Object.defineProperty(navigator, 'share', { configurable: true, value: async ({ files: [file] }) => {
            DOES window.shared = [file.name, file.type, await file.text()].join('|'); } })";
    js_sys::eval(&script.replace("ACCEPTS", accepts).replace("DOES", does)).unwrap();
}

async fn check(accepts: &str, does: &str, expected: Result<Sent, NotShared>, shared: &str) {
    pretend(accepts, does);
    let outcome = share::share("b.json", r#"{"é":1}"#, "application/json").await;
    assert_eq!(outcome, expected, "{accepts} {does}");
    assert_eq!(js_sys::eval("window.shared").unwrap(), shared);
    js_sys::eval("delete navigator.canShare; delete navigator.share").unwrap();
}

#[wasm_bindgen_test]
async fn a_file_is_shared_as_json_or_else_as_text() {
    let text = r#"{"é":1}"#;
    let json = format!("b.json|application/json|{text}");
    let plain = format!("b.json.txt|text/plain|{text}");
    check("true", "", Ok(Sent::Shared("b.json".into())), &json).await;
    check("file.type === 'text/plain'", "", Ok(Sent::Shared("b.json.txt".into())), &plain).await;
    check("false", "", Err(NotShared::Download), "").await;
    check("true", "throw new DOMException('', 'AbortError');", Ok(Sent::Cancelled), "").await;
    let failed = NotShared::TryAgain("NotAllowedError: no tap".into());
    check("true", "throw new DOMException('no tap', 'NotAllowedError');", Err(failed), "").await;
}

#[wasm_bindgen_test]
async fn a_browser_that_shares_nothing_says_download() {
    js_sys::eval("Object.defineProperty(navigator, 'canShare', { configurable: true, value: undefined })").unwrap();
    let outcome = share::share("b.json", "{}", "application/json").await;
    js_sys::eval("delete navigator.canShare").unwrap();
    assert_eq!(outcome, Err(NotShared::Download));
}

#[wasm_bindgen_test]
async fn a_download_has_the_name_and_the_bytes() {
    let catch = "window.got = null; HTMLAnchorElement.prototype.click = function () {
        window.got = fetch(this.href).then(async (r) => [this.download, r.headers.get('content-type'), await r.text()].join('|')); }";
    js_sys::eval(catch).unwrap();
    share::download("r.csv", "a,b\r\nü,1", "text/csv").unwrap();
    js_sys::eval("delete HTMLAnchorElement.prototype.click").unwrap();
    let got = wasm_bindgen_futures::JsFuture::from(js_sys::Promise::from(js_sys::eval("window.got").unwrap())).await;
    assert_eq!(got.unwrap(), "r.csv|text/csv|a,b\r\nü,1");
}

#[wasm_bindgen_test]
async fn chosen_files_are_read_up_to_the_limit() {
    let script = "(() => { const data = new DataTransfer();
        data.items.add(new File(['{\"ü\":1}'], 'a.json')); data.items.add(new File(['x'.repeat(11)], 'b.json'));
        const input = document.createElement('input'); input.type = 'file'; input.multiple = true;
        input.files = data.files; return input; })()";
    let input: HtmlInputElement = js_sys::eval(script).unwrap().unchecked_into();
    let picked = share::pick(&input, 10).await;
    let read: Vec<_> = picked.into_iter().map(|one| (one.name, one.text)).collect();
    assert_eq!(
        read,
        [("a.json".to_string(), Ok(r#"{"ü":1}"#.to_string())), ("b.json".to_string(), Err(NotRead::TooLarge(11)))]
    );
    assert_eq!(input.files().unwrap().length(), 0, "the same file can be chosen again");
}
