//! Photos out of files: what is kept of them, and what is refused. The pictures are drawn here, by the browser's own encoders.

use js_sys::{Function, Promise, Uint8Array};
use soakbook::browser::photo::{Address, MEDIA, shrink};
use soakbook::encoding::picture::{MOST_BYTES, NoPicture, picture_size};
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;
use wasm_bindgen_test::wasm_bindgen_test;
use web_sys::Blob;

async fn of_promise(script: &str) -> JsValue {
    JsFuture::from(Promise::from(js_sys::eval(script).unwrap())).await.unwrap()
}

/// A file of a picture of this size, its left half red and its right half blue or all of it noise.
async fn drawn(width: u32, height: u32, noise: bool, media: &str) -> Blob {
    let script = format!(
        "(async () => {{ const c = document.createElement('canvas'); c.width = {width}; c.height = {height};
         const x = c.getContext('2d');
         if ({noise}) {{ const d = x.createImageData({width}, {height});
           let s = 1; for (let i = 0; i < d.data.length; i++) {{ s = (s * 48271) % 2147483647; d.data[i] = i % 4 === 3 ? 255 : s & 255; }}
           x.putImageData(d, 0, 0); }}
         else {{ x.fillStyle = '#f00'; x.fillRect(0, 0, {width} / 2, {height});
           x.fillStyle = '#00f'; x.fillRect({width} / 2, 0, {width} / 2, {height}); }}
         return await new Promise((done) => c.toBlob(done, '{media}', 0.95)); }})()"
    );
    of_promise(&script).await.unchecked_into()
}

async fn bytes(blob: &Blob) -> Vec<u8> {
    Uint8Array::new(&JsFuture::from(blob.array_buffer()).await.unwrap()).to_vec()
}

fn blob(bytes: &[u8]) -> Blob {
    let make: Function = js_sys::eval("((bytes) => new Blob([bytes]))").unwrap().unchecked_into();
    make.call1(&JsValue::NULL, &Uint8Array::from(bytes)).unwrap().unchecked_into()
}

/// Red, green and blue of a pixel.
async fn pixel(photo: &[u8], x: u32, y: u32) -> [u8; 3] {
    let of: Function = js_sys::eval(&format!(
        "(async (bytes) => {{ const b = await createImageBitmap(new Blob([bytes], {{ type: '{MEDIA}' }}));
         const c = document.createElement('canvas'); c.width = b.width; c.height = b.height;
         const x = c.getContext('2d'); x.drawImage(b, 0, 0); return x.getImageData({x}, {y}, 1, 1).data; }})"
    ))
    .unwrap()
    .unchecked_into();
    let promise: Promise = of.call1(&JsValue::NULL, &Uint8Array::from(photo)).unwrap().unchecked_into();
    let data: js_sys::Uint8ClampedArray = JsFuture::from(promise).await.unwrap().unchecked_into();
    let data = data.to_vec();
    [data[0], data[1], data[2]]
}

/// What a camera writes before the picture: maker, an orientation, and where it was. The tags are those of Exif 2.3 (JEITA CP-3451C), 4.6.
fn exif(orientation: u8) -> Vec<u8> {
    let entry = |tag: u16, kind: u16, count: u32, value: [u8; 4]| {
        [&tag.to_be_bytes()[..], &kind.to_be_bytes(), &count.to_be_bytes(), &value].concat()
    };
    let directory =
        |entries: &[Vec<u8>]| [&(entries.len() as u16).to_be_bytes()[..], &entries.concat(), &[0; 4]].concat();
    // The first directory is at 8 and has 3 entries: 2 + 36 + 4 bytes; the one of the place is behind it, its numbers behind that.
    let (gps_at, numbers_at) = (8 + 42, 8 + 42 + 2 + 48 + 4);
    let first = directory(&[
        entry(0x010f, 2, 4, *b"CAM\0"),
        entry(0x0112, 3, 1, [0, orientation, 0, 0]),
        entry(0x8825, 4, 1, (gps_at as u32).to_be_bytes()),
    ]);
    let degrees =
        |of: [u32; 3]| of.iter().flat_map(|n| [n.to_be_bytes(), 1_u32.to_be_bytes()].concat()).collect::<Vec<u8>>();
    let place = directory(&[
        entry(0x0001, 2, 2, *b"N\0\0\0"),
        entry(0x0002, 5, 3, (numbers_at as u32).to_be_bytes()),
        entry(0x0003, 2, 2, *b"E\0\0\0"),
        entry(0x0004, 5, 3, (numbers_at as u32 + 24).to_be_bytes()),
    ]);
    let tiff = [&b"MM\0*\0\0\0\x08"[..], &first, &place, &degrees([48, 13, 7]), &degrees([16, 22, 9])].concat();
    let body = [&b"Exif\0\0"[..], &tiff].concat();
    [&[0xff, 0xe1][..], &(body.len() as u16 + 2).to_be_bytes(), &body].concat()
}

/// A JPEG with a camera's notes put before its picture.
fn with_exif(jpeg: &[u8], orientation: u8) -> Vec<u8> {
    [&jpeg[..2], &exif(orientation), &jpeg[2..]].concat()
}

fn contains(bytes: &[u8], part: &[u8]) -> bool {
    bytes.windows(part.len()).any(|window| window == part)
}

/// The markers of the segments of a JPEG up to its scan.
fn markers(jpeg: &[u8]) -> Vec<u8> {
    let (mut at, mut found) = (2, Vec::new());
    while jpeg[at + 1] != 0xda {
        found.push(jpeg[at + 1]);
        at += 2 + usize::from(u16::from_be_bytes([jpeg[at + 2], jpeg[at + 3]]));
    }
    found
}

#[wasm_bindgen_test]
async fn place_and_camera_are_gone_and_the_picture_stands_upright() {
    let taken = with_exif(&bytes(&drawn(2_000, 1_000, false, MEDIA).await).await, 6);
    // The browser reads what was put in: it turns the picture by a quarter.
    let read = of_promise_with("(async (bytes) => { const b = await createImageBitmap(new Blob([bytes]), { imageOrientation: 'from-image' }); return b.width; })", &taken).await;
    assert_eq!(read, 1_000);
    assert!(contains(&taken, b"Exif") && contains(&taken, b"CAM"));
    let photo = shrink(&blob(&taken)).await.unwrap();
    // 1000 × 2000 with its longer side at 1600.
    assert_eq!(picture_size(&photo), Some((800, 1_600)));
    // No notes (APP1), captions (APP13) or comment (COM): the segments are those of a picture that came from no file.
    assert!(!contains(&photo, b"Exif") && !contains(&photo, b"CAM"));
    let segments = markers(&photo);
    assert!(segments.iter().all(|marker| !matches!(marker, 0xe1 | 0xed | 0xfe)), "{segments:x?}");
    assert_eq!(segments, markers(&bytes(&drawn(800, 1_600, false, MEDIA).await).await));
    // Turned to the right by a quarter (orientation 6), what was left is on top.
    let ([red, _, _], [_, _, blue]) = (pixel(&photo, 400, 100).await, pixel(&photo, 400, 1_500).await);
    assert!(red > 200 && blue > 200, "{red} {blue}");
}

async fn of_promise_with(script: &str, bytes: &[u8]) -> JsValue {
    let of: Function = js_sys::eval(script).unwrap().unchecked_into();
    let promise: Promise = of.call1(&JsValue::NULL, &Uint8Array::from(bytes)).unwrap().unchecked_into();
    JsFuture::from(promise).await.unwrap()
}

#[wasm_bindgen_test]
async fn every_kind_of_picture_becomes_a_jpeg_that_fits() {
    for media in [MEDIA, "image/png", "image/webp"] {
        let file = drawn(640, 480, false, media).await;
        assert_eq!(picture_size(&bytes(&file).await), Some((640, 480)), "{media}");
        let photo = shrink(&file).await.unwrap();
        assert_eq!(picture_size(&photo), Some((640, 480)), "never enlarged");
        assert!(photo.starts_with(&[0xff, 0xd8]));
    }
    // Noise is what a JPEG makes least of.
    let photo = shrink(&drawn(1_700, 1_600, true, MEDIA).await).await.unwrap();
    assert!(photo.len() as u64 <= MOST_BYTES, "{}", photo.len());
    let (width, height) = picture_size(&photo).unwrap();
    assert!(width > height && width >= 400, "{width} × {height}");
}

#[wasm_bindgen_test]
async fn what_is_no_photo_is_refused_without_a_hang() {
    assert_eq!(shrink(&blob(b"%PDF-1.7 is no picture")).await, Err(NoPicture::NotAPicture));
    assert_eq!(shrink(&blob(b"")).await, Err(NoPicture::NotAPicture));
    assert_eq!(shrink(&drawn(1, 1, false, "image/png").await).await, Err(NoPicture::TooSmall));
    // A file of 40 MB, whatever is in it.
    let large = js_sys::eval("new Blob([new Uint8Array(40 << 20)])").unwrap().unchecked_into();
    assert_eq!(shrink(&large).await, Err(NoPicture::FileTooLarge(40 << 20)));
    let png = bytes(&drawn(100, 100, false, "image/png").await).await;
    // The same file with a header that claims 60,000 pixels a side.
    let side = 60_000_u32.to_be_bytes();
    let bomb = [&png[..16], &side, &side, &png[24..]].concat();
    assert_eq!(shrink(&blob(&bomb)).await, Err(NoPicture::TooManyPixels(3_600)));
    // It begins like a picture and has none.
    assert_eq!(shrink(&blob(&png[..40])).await, Err(NoPicture::Broken));
}

#[wasm_bindgen_test]
async fn a_picture_has_an_address_until_it_is_left() {
    let photo = shrink(&drawn(100, 100, false, MEDIA).await).await.unwrap();
    let address = Address::of(&photo, MEDIA).unwrap();
    let text = address.text().to_string();
    let width = |text: &str| {
        format!(
            "(async () => {{ const i = new Image(); i.src = '{text}';
             try {{ await i.decode(); return i.naturalWidth; }} catch {{ return 0; }} }})()"
        )
    };
    assert_eq!(of_promise(&width(&text)).await, 100);
    drop(address);
    assert_eq!(of_promise(&width(&text)).await, 0);
}
