//! A WebDAV folder (RFC 4918): files are made, read back and listed.
//!
//! `credentials: "omit"` and a header of our own: with the browser's own sign-in a wrong password opens its dialog and the request
//! never ends. Redirects are not followed: a folder does not redirect, the sign-in page of a network does.

use std::fmt;

use js_sys::{Object, Promise, Reflect, Uint8Array, encode_uri_component};
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;

use super::js::words;
use crate::encoding::{base64, sha256_hex};

/// How long a listing may take, ms: a long one on a slow network. Own figure.
const PATIENCE_MS: u32 = 120_000;

#[wasm_bindgen]
extern "C" {
    fn fetch(address: &str, options: &Object) -> Promise;

    #[wasm_bindgen(catch, js_namespace = AbortSignal, js_name = timeout)]
    fn abort_after(ms: u32) -> Result<JsValue, JsValue>;

    type Response;
    #[wasm_bindgen(method, getter)]
    fn status(this: &Response) -> u16;
    #[wasm_bindgen(method, getter, js_name = type)]
    fn kind(this: &Response) -> String;
    #[wasm_bindgen(method, js_name = arrayBuffer)]
    fn bytes(this: &Response) -> Promise;

    #[wasm_bindgen(js_name = DOMParser)]
    type Parser;
    #[wasm_bindgen(constructor, js_class = "DOMParser")]
    fn new() -> Parser;
    #[wasm_bindgen(method, js_name = parseFromString)]
    fn parse(this: &Parser, text: &str, media: &str) -> Tree;

    type Tree;
    #[wasm_bindgen(method, js_name = getElementsByTagNameNS)]
    fn named(this: &Tree, space: &str, name: &str) -> Trees;
    #[wasm_bindgen(method, getter, js_name = textContent)]
    fn text(this: &Tree) -> Option<String>;

    type Trees;
    #[wasm_bindgen(method, getter)]
    fn length(this: &Trees) -> u32;
    #[wasm_bindgen(method)]
    fn item(this: &Trees, index: u32) -> Option<Tree>;
}

/// A folder and who signs in there.
#[derive(Clone, Default, PartialEq, Eq)]
pub struct Folder {
    /// Its address, with a slash at the end.
    pub address: String,
    /// The user; empty where nobody has to sign in.
    pub user: String,
    /// The password.
    pub password: String,
}

// The password is in no log.
impl fmt::Debug for Folder {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Folder({})", self.address)
    }
}

/// Why there is no status.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoReply {
    /// The answer leads elsewhere.
    Redirected,
    /// No answer, or one that was cut off; the browser's words.
    Nothing(String),
}

/// A file of a listing: where it is and its size, bytes.
pub type Listed = (String, Option<u64>);

impl Folder {
    /// Makes a file where none has its name, within a time in ms; the status.
    pub async fn make(&self, name: &str, text: &str, media: &str, ms: u32) -> Result<u16, NoReply> {
        let more = [("If-None-Match", "*"), ("Content-Type", media)];
        self.ask("PUT", name, &more, Some(text), ms).await.map(|response| response.status())
    }

    /// Reads a file back within a time in ms: the status, and whether its SHA-256 is this.
    pub async fn read_back(&self, name: &str, digest: &str, ms: u32) -> Result<(u16, bool), NoReply> {
        let (status, bytes) = self.read(name, ms).await?;
        Ok((status, status == 200 && sha256_hex(&bytes) == digest))
    }

    /// Reads a file within a time in ms: the status and its bytes.
    pub async fn read(&self, name: &str, ms: u32) -> Result<(u16, Vec<u8>), NoReply> {
        let response = self.ask("GET", name, &[], None, ms).await?;
        Ok((response.status(), bytes(&response).await?))
    }

    /// Lists the folder: the status and its files; none where the answer is no listing.
    pub async fn list(&self) -> Result<(u16, Option<Vec<Listed>>), NoReply> {
        const WANTED: &str =
            r#"<?xml version="1.0"?><propfind xmlns="DAV:"><prop><getcontentlength/></prop></propfind>"#;
        let more = [("Depth", "1"), ("Content-Type", "application/xml")];
        let response = self.ask("PROPFIND", "", &more, Some(WANTED), PATIENCE_MS).await?;
        let text = String::from_utf8(bytes(&response).await?).unwrap_or_default();
        Ok((response.status(), listing(&text)))
    }

    async fn ask(
        &self,
        method: &str,
        name: &str,
        more: &[(&str, &str)],
        body: Option<&str>,
        ms: u32,
    ) -> Result<Response, NoReply> {
        let said = |error: JsValue| NoReply::Nothing(words(&error));
        let (options, headers) = (Object::new(), Object::new());
        let put =
            |object: &Object, name: &str, value: JsValue| Reflect::set(object, &name.into(), &value).map_err(said);
        if !self.user.is_empty() {
            let pair = base64(format!("{}:{}", self.user, self.password).as_bytes());
            put(&headers, "Authorization", format!("Basic {pair}").into())?;
        }
        for (name, value) in more {
            put(&headers, name, (*value).into())?;
        }
        let fixed =
            [("credentials", "omit"), ("cache", "no-store"), ("redirect", "manual"), ("referrerPolicy", "no-referrer")];
        for (name, value) in fixed.into_iter().chain([("method", method)]) {
            put(&options, name, value.into())?;
        }
        put(&options, "headers", headers.into())?;
        // An older browser without it waits as long as it likes.
        put(&options, "signal", abort_after(ms).unwrap_or(JsValue::UNDEFINED))?;
        if let Some(body) = body {
            put(&options, "body", body.into())?;
        }
        let address = format!("{}{}", self.address, String::from(encode_uri_component(name)));
        let response: Response = JsFuture::from(fetch(&address, &options)).await.map_err(said)?.unchecked_into();
        if response.kind() == "opaqueredirect" { Err(NoReply::Redirected) } else { Ok(response) }
    }
}

async fn bytes(response: &Response) -> Result<Vec<u8>, NoReply> {
    let read = JsFuture::from(response.bytes()).await;
    read.map(|bytes| Uint8Array::new(&bytes).to_vec()).map_err(|error| NoReply::Nothing(words(&error)))
}

/// The files of a 207 answer; none when it is no such answer. Entities outside of the text are never fetched by this parser.
fn listing(text: &str) -> Option<Vec<Listed>> {
    const DAV: &str = "DAV:";
    let tree = Parser::new().parse(text, "application/xml");
    if tree.named(DAV, "multistatus").length() != 1 {
        return None;
    }
    let responses = tree.named(DAV, "response");
    let first = |tree: &Tree, name| tree.named(DAV, name).item(0).and_then(|found| found.text());
    let file = |response: Tree| {
        let href = first(&response, "href")?.trim().to_string();
        let size = first(&response, "getcontentlength").and_then(|size| size.trim().parse().ok());
        Some((href, size))
    };
    Some((0..responses.length()).filter_map(|at| file(responses.item(at)?)).collect())
}
