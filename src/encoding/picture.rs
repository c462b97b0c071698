//! What a picture file says of its size, read without decoding it: a file of a few bytes may claim more pixels than a phone can hold.
//!
//! Sources: PNG (W3C, third edition) 5.2 and 11.2.1; JPEG, ITU-T T.81 annex B; WebP, RFC 9649 2 and 3.4, and RFC 6386 9.1 for its lossy frames;
//! HEIF, ISO/IEC 14496-12 4.3 and ISO/IEC 23008-12, from memory.

/// Bytes at the start of a file in which its size has to be found: a camera puts its notes and a preview before it.
pub const HEAD_BYTES: usize = 4 << 20;
/// No file larger than this is read, bytes. Own figure: files of phone cameras have 2 to 20 MB.
pub const MOST_FILE_BYTES: u64 = 32 << 20;
/// No picture of more pixels is decoded, in millions. Own figure: each takes 4 bytes while it is.
pub const MOST_MEGAPIXELS: u64 = 64;
/// A picture with a shorter side shows nothing, px. Own figure.
pub const LEAST_SIDE: u32 = 64;
/// The longer side of a picture that is kept, px.
pub const MOST_SIDE: u32 = 1_600;
/// No picture that is kept is larger, bytes. Own figure: 150 of them fit into one visit file.
pub const MOST_BYTES: u64 = 300_000;

/// Why a file does not become a picture.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoPicture {
    /// The file is too large; its size, bytes.
    FileTooLarge(u64),
    /// It is no JPEG, PNG or WebP.
    NotAPicture,
    /// It is a HEIF picture, as some cameras save them; hardly any browser reads them.
    Heif,
    /// It claims too many pixels; how many millions.
    TooManyPixels(u64),
    /// It has hardly any pixels.
    TooSmall,
    /// It begins like a picture, but the browser cannot read it.
    Broken,
    /// The browser cannot do it, in its words.
    Failed(String),
}

/// Whether something of this media type is a picture: one that every browser draws. Its bytes are read only when it is drawn or sent, never as
/// words. The hash of an attachment does not cover its media type, so on a phone and on a computer the same ones are.
pub fn is_picture(media: &str) -> bool {
    matches!(media, "image/jpeg" | "image/png" | "image/webp")
}

/// Width and height, px, from the start of a JPEG, PNG or WebP file; none where it is none of them.
pub fn picture_size(head: &[u8]) -> Option<(u32, u32)> {
    match head {
        [0x89, b'P', b'N', b'G', 0x0d, 0x0a, 0x1a, 0x0a, _, _, _, _, b'I', b'H', b'D', b'R', rest @ ..] => {
            Some((big_endian(rest.get(..4)?), big_endian(rest.get(4..8)?)))
        }
        [0xff, 0xd8, rest @ ..] => jpeg(rest),
        [b'R', b'I', b'F', b'F', _, _, _, _, b'W', b'E', b'B', b'P', rest @ ..] => webp(rest),
        _ => None,
    }
}

/// Whether a file of so many bytes that begins like this may be decoded.
///
/// # Errors
/// Why not.
pub fn may_decode(head: &[u8], file_bytes: u64) -> Result<(), NoPicture> {
    if file_bytes > MOST_FILE_BYTES {
        return Err(NoPicture::FileTooLarge(file_bytes));
    }
    let other = if is_heif(head) { NoPicture::Heif } else { NoPicture::NotAPicture };
    let (width, height) = picture_size(head).ok_or(other)?;
    let pixels = u64::from(width) * u64::from(height);
    if pixels > MOST_MEGAPIXELS * 1_000_000 {
        return Err(NoPicture::TooManyPixels(pixels / 1_000_000));
    }
    if width.min(height) < LEAST_SIDE { Err(NoPicture::TooSmall) } else { Ok(()) }
}

/// Width and height at which a picture is kept: its longer side at most [`MOST_SIDE`], never enlarged.
pub fn kept_size(width: u32, height: u32) -> (u32, u32) {
    let longer = width.max(height);
    if longer <= MOST_SIDE {
        return (width, height);
    }
    let scaled = |side: u32| {
        let side = (u64::from(side) * u64::from(MOST_SIDE) + u64::from(longer) / 2) / u64::from(longer);
        u32::try_from(side).unwrap_or(MOST_SIDE).max(1)
    };
    (scaled(width), scaled(height))
}

/// Whether a file begins with a file type box whose brand is one of the pictures that are coded like video.
fn is_heif(head: &[u8]) -> bool {
    let brand = head.get(4..).and_then(|rest| rest.strip_prefix(b"ftyp"));
    let brands = [b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1"];
    brand.is_some_and(|brand| brands.iter().any(|known| brand.starts_with(*known)))
}

fn big_endian(bytes: &[u8]) -> u32 {
    bytes.iter().fold(0, |number, byte| number << 8 | u32::from(*byte))
}

fn little_endian(bytes: &[u8]) -> u32 {
    bytes.iter().rev().fold(0, |number, byte| number << 8 | u32::from(*byte))
}

/// The frame header of a JPEG; none where its scans begin before one.
fn jpeg(mut rest: &[u8]) -> Option<(u32, u32)> {
    loop {
        let [0xff, marker, after @ ..] = rest else { return None };
        match marker {
            // A fill byte.
            0xff => rest = &rest[1..],
            // Without parameters.
            0x01 | 0xd0..=0xd7 => rest = after,
            // The start of a scan, or the end.
            0xd9 | 0xda => return None,
            // Start of a frame: length, precision, height, width. 0xc4, 0xc8 and 0xcc are others.
            0xc0..=0xcf if !matches!(marker, 0xc4 | 0xc8 | 0xcc) => {
                let (height, width) = (big_endian(after.get(3..5)?), big_endian(after.get(5..7)?));
                return (height > 0).then_some((width, height));
            }
            _ => {
                let length = usize::try_from(big_endian(after.get(..2)?)).ok()?;
                rest = after.get(length.max(2)..)?;
            }
        }
    }
}

/// The first chunk of a WebP file.
fn webp(chunk: &[u8]) -> Option<(u32, u32)> {
    let data = chunk.get(8..)?;
    match chunk.get(..4)? {
        // The canvas, each side less one in 24 bits.
        b"VP8X" => Some((little_endian(data.get(4..7)?) + 1, little_endian(data.get(7..10)?) + 1)),
        // A lossless picture: after its signature each side less one in 14 bits.
        b"VP8L" if data.first() == Some(&0x2f) => {
            let bits = little_endian(data.get(1..5)?);
            Some(((bits & 0x3fff) + 1, (bits >> 14 & 0x3fff) + 1))
        }
        // A lossy one: after tag and start code each side in 14 bits.
        b"VP8 " if data.get(3..6)? == [0x9d, 0x01, 0x2a] => {
            Some((little_endian(data.get(6..8)?) & 0x3fff, little_endian(data.get(8..10)?) & 0x3fff))
        }
        _ => None,
    }
}
