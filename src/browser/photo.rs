//! A photo out of a file: scaled down, drawn anew and written as JPEG, so that nothing but its pixels is left of the file. And pictures as
//! addresses, to be drawn.

use js_sys::{Array, Function, Object, Promise, Reflect, Uint8Array};
use wasm_bindgen::{JsCast, JsValue};
use wasm_bindgen_futures::JsFuture;
use web_sys::{Blob, BlobPropertyBag, CanvasRenderingContext2d, HtmlCanvasElement, HtmlInputElement, ImageBitmap, Url};

use super::js::{After, first, member, settle, window, words};
use crate::encoding::picture::{HEAD_BYTES, MOST_BYTES, NoPicture, is_picture, kept_size, may_decode};

/// Media type of what is kept.
pub const MEDIA: &str = "image/jpeg";

/// Qualities tried before the picture is made smaller. Own figures.
const QUALITIES: [f64; 4] = [0.82, 0.7, 0.58, 0.46];
/// How often it is made smaller: noise of 1600 px a side takes four.
const TIMES: usize = 8;
/// A decoder that has not answered by then never will, ms. Own figure.
const PATIENCE_MS: i32 = 30_000;

/// The bytes of a photo made from the file chosen in an input, which is emptied so that the same file can be chosen again; none where none
/// was chosen.
pub async fn pick(input: &HtmlInputElement) -> Option<Result<Vec<u8>, NoPicture>> {
    let file = input.files().and_then(|list| list.get(0))?;
    let photo = shrink(&file).await;
    input.set_value("");
    Some(photo)
}

/// The bytes of a photo made from a file.
///
/// # Errors
/// Why there is none.
pub async fn shrink(file: &Blob) -> Result<Vec<u8>, NoPicture> {
    let size = file.size() as u64;
    let head = file.slice_with_f64_and_f64(0.0, HEAD_BYTES.min(file.size() as usize) as f64).map_err(failed)?;
    may_decode(&bytes(&head).await?, size)?;
    let bitmap = decode(file).await?;
    let kept = kept_size(bitmap.width(), bitmap.height());
    let drawn = draw(&bitmap, kept).await;
    // Its memory is given back at once and not when somebody collects it.
    bitmap.close();
    drawn
}

/// The picture, turned the way the camera was held.
async fn decode(file: &Blob) -> Result<ImageBitmap, NoPicture> {
    let options = Object::new();
    Reflect::set(&options, &"imageOrientation".into(), &"from-image".into()).map_err(failed)?;
    let decoder: Function = member(&window(), "createImageBitmap").ok_or(NoPicture::Broken)?.unchecked_into();
    let decoding: Promise = decoder.call2(&window(), file, &options).map_err(failed)?.unchecked_into();
    let patience = After::ms(PATIENCE_MS);
    // An undefined value is the timer's.
    match first(&[&decoding, patience.promise()]).await {
        Ok(bitmap) if !bitmap.is_undefined() => Ok(bitmap.unchecked_into()),
        _ => Err(NoPicture::Broken),
    }
}

async fn draw(bitmap: &ImageBitmap, (mut width, mut height): (u32, u32)) -> Result<Vec<u8>, NoPicture> {
    let document = window().document().ok_or(NoPicture::Broken)?;
    let canvas: HtmlCanvasElement = document.create_element("canvas").map_err(failed)?.unchecked_into();
    for _ in 0..TIMES {
        canvas.set_width(width);
        canvas.set_height(height);
        let context = canvas.get_context("2d").map_err(failed)?.ok_or(NoPicture::Broken)?;
        Reflect::set(&context, &"imageSmoothingQuality".into(), &"high".into()).map_err(failed)?;
        let context: CanvasRenderingContext2d = context.unchecked_into();
        let (wide, high) = (f64::from(width), f64::from(height));
        // JPEG knows no transparency; without a ground it would be black.
        context.set_fill_style_str("#fff");
        context.fill_rect(0.0, 0.0, wide, high);
        context.draw_image_with_image_bitmap_and_dw_and_dh(bitmap, 0.0, 0.0, wide, high).map_err(failed)?;
        for quality in QUALITIES {
            let written = write(&canvas, quality).await?;
            if written.size() as u64 <= MOST_BYTES {
                let written = bytes(&written).await;
                canvas.set_width(0);
                return written;
            }
        }
        (width, height) = ((width * 3 / 4).max(1), (height * 3 / 4).max(1));
    }
    Err(NoPicture::Broken)
}

async fn write(canvas: &HtmlCanvasElement, quality: f64) -> Result<Blob, NoPicture> {
    let mut begun = Ok(());
    let writing = settle(|resolve, _| {
        begun = canvas.to_blob_with_type_and_encoder_options(&resolve, MEDIA, &quality.into());
    });
    begun.map_err(failed)?;
    // Null where there was no memory for it.
    JsFuture::from(writing).await.map_err(failed)?.dyn_into().map_err(|_| NoPicture::Broken)
}

async fn bytes(blob: &Blob) -> Result<Vec<u8>, NoPicture> {
    let buffer = JsFuture::from(blob.array_buffer()).await.map_err(failed)?;
    Ok(Uint8Array::new(&buffer).to_vec())
}

fn failed(error: JsValue) -> NoPicture {
    NoPicture::Failed(words(&error))
}

/// Waits until every picture in an element can be drawn, or cannot.
pub async fn drawn(within: &web_sys::Element) {
    let Ok(pictures) = within.query_selector_all("img") else { return };
    for picture in (0..pictures.length()).filter_map(|at| pictures.item(at)) {
        let decoding = member(&picture, "decode").and_then(|decode| decode.dyn_into::<Function>().ok());
        let Some(Ok(decoding)) = decoding.map(|decode| decode.call0(&picture)) else { continue };
        let patience = After::ms(PATIENCE_MS);
        // One that is broken is drawn as its words.
        drop(first(&[decoding.unchecked_ref(), patience.promise()]).await);
    }
}

/// The address of a picture on this page, for as long as this is kept.
#[derive(Debug)]
pub struct Address(String);

impl Address {
    /// An address for a picture's bytes; none where the media type is no picture's, or the browser gives none.
    pub fn of(bytes: &[u8], media: &str) -> Option<Address> {
        if !is_picture(media) {
            return None;
        }
        let options = BlobPropertyBag::new();
        options.set_type(media);
        let parts = Array::of1(&Uint8Array::from(bytes));
        let blob = Blob::new_with_u8_array_sequence_and_options(&parts, &options).ok()?;
        Url::create_object_url_with_blob(&blob).ok().map(Address)
    }

    /// The address.
    pub fn text(&self) -> &str {
        &self.0
    }
}

impl Drop for Address {
    fn drop(&mut self) {
        // One that cannot be given back goes with the page.
        drop(Url::revoke_object_url(&self.0));
    }
}
