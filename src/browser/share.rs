//! Texts leave and enter as files: share sheet, download, file input.

use js_sys::{Array, Uint8Array};
use wasm_bindgen::{JsCast, JsValue};
use wasm_bindgen_futures::{JsFuture, spawn_local};
use web_sys::{Blob, BlobPropertyBag, File, FilePropertyBag, HtmlAnchorElement, HtmlInputElement, ShareData, Url};

use super::js::{After, member, window, words};

/// What was done with a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Sent {
    /// Handed to what the person chose in the share sheet, under this name. Whether it arrived is not known.
    Shared(String),
    /// The person closed the share sheet.
    Cancelled,
}

/// Why a file was not shared.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NotShared {
    /// This browser shares no such file: download it.
    Download,
    /// The share sheet failed, in the browser's words: try again or download.
    TryAgain(String),
}

/// Shares a text as a file, in a tap. Some browsers refuse `.json`, so the same bytes are then offered as `.json.txt`.
pub async fn share(name: &str, media: &str, text: &str) -> Result<Sent, NotShared> {
    let navigator = window().navigator();
    if member(&navigator, "canShare").is_none() {
        return Err(NotShared::Download);
    }
    for (name, media) in [(name.to_string(), media), (format!("{name}.txt"), "text/plain")] {
        let data = ShareData::new();
        let file = file(&name, text, media).map_err(|error| NotShared::TryAgain(words(&error)))?;
        data.set_files(&Array::of1(&file));
        if navigator.can_share_with_data(&data) {
            return match JsFuture::from(navigator.share_with_data(&data)).await {
                Ok(_) => Ok(Sent::Shared(name)),
                Err(error) if member(&error, "name").is_some_and(|name| name == "AbortError") => Ok(Sent::Cancelled),
                Err(error) => Err(NotShared::TryAgain(words(&error))),
            };
        }
    }
    Err(NotShared::Download)
}

fn file(name: &str, text: &str, media: &str) -> Result<File, JsValue> {
    let options = FilePropertyBag::new();
    options.set_type(media);
    File::new_with_str_sequence_and_options(&Array::of1(&text.into()), name, &options)
}

/// Downloads a text as a file of this name and media type. The error is in the browser's words.
pub fn download(name: &str, text: &str, media: &str) -> Result<(), String> {
    let saved = || -> Result<(), JsValue> {
        let options = BlobPropertyBag::new();
        options.set_type(media);
        let blob = Blob::new_with_str_sequence_and_options(&Array::of1(&text.into()), &options)?;
        let url = Url::create_object_url_with_blob(&blob)?;
        let document = window().document().ok_or("no document")?;
        let anchor: HtmlAnchorElement = document.create_element("a")?.unchecked_into();
        anchor.set_href(&url);
        anchor.set_download(name);
        anchor.click();
        // A browser may read the bytes only after it has asked where to put them.
        spawn_local(async move {
            let timer = After::ms(60_000);
            drop(JsFuture::from(timer.promise().clone()).await);
            drop(Url::revoke_object_url(&url));
        });
        Ok(())
    };
    saved().map_err(|error| words(&error))
}

/// A file that was chosen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picked {
    /// Its name.
    pub name: String,
    /// Its text, or why there is none.
    pub text: Result<String, NotRead>,
}

/// Why a chosen file was not read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NotRead {
    /// It is larger than allowed; its size, bytes.
    TooLarge(u64),
    /// The browser could not read it, in its words: choose it again.
    ChooseAgain(String),
}

/// The bytes of the file chosen in an input, of at most `limit`, with its name, and empties the input; none where no file was chosen.
pub async fn pick_bytes(input: &HtmlInputElement, limit: u64) -> Option<(String, Result<Vec<u8>, NotRead>)> {
    let file = files(input).into_iter().next()?;
    let size = file.size() as u64;
    let bytes = if size > limit {
        Err(NotRead::TooLarge(size))
    } else {
        let bytes = JsFuture::from(file.array_buffer()).await;
        bytes.map(|bytes| Uint8Array::new(&bytes).to_vec()).map_err(|error| NotRead::ChooseAgain(words(&error)))
    };
    input.set_value("");
    Some((file.name(), bytes))
}

fn files(input: &HtmlInputElement) -> Vec<File> {
    let list = input.files();
    list.iter().flat_map(|list| (0..list.length()).filter_map(|at| list.get(at))).collect()
}

/// Reads the files chosen in an input as UTF-8 texts, each of at most `limit` bytes, and empties the input, so that the same
/// file can be chosen again.
pub async fn pick(input: &HtmlInputElement, limit: u64) -> Vec<Picked> {
    let files = files(input);
    let mut picked = Vec::new();
    for file in files {
        let size = file.size() as u64;
        let text = if size > limit {
            Err(NotRead::TooLarge(size))
        } else {
            let text = JsFuture::from(file.text()).await;
            text.map(|text| text.as_string().unwrap_or_default()).map_err(|error| NotRead::ChooseAgain(words(&error)))
        };
        picked.push(Picked { name: file.name(), text });
    }
    input.set_value("");
    picked
}
