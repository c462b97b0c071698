//! The sizes that picture files say of themselves. The starts of files are those that Pillow 13.0.0 writes for
//! `Image.new('RGB', (300, 200), (120, 80, 40)).save(…)`, in the formats and with the options beside each; of JPEG without its tables.

use soakbook::encoding::from_hex;
use soakbook::encoding::picture::{
    LEAST_SIDE, MOST_FILE_BYTES, MOST_MEGAPIXELS, NoPicture, is_picture, kept_size, may_decode, picture_size,
};

const JPEG: &str = "ffd8ffe000104a46494600010100000100010000ffc000110800c8012c";

#[track_caller]
fn check_size(head: &str, expected: Option<(u32, u32)>) {
    assert_eq!(picture_size(&from_hex(head).unwrap()), expected);
}

#[test]
fn the_size_of_a_file_is_the_one_that_its_writer_gave_it() {
    let expected = Some((300, 200));
    check_size(JPEG, expected);
    // progressive=True
    check_size("ffd8ffe000104a46494600010100000100010000ffc200110800c8012c", expected);
    check_size("89504e470d0a1a0a0000000d494844520000012c000000c80802", expected);
    // lossless=True
    check_size("5249464624000000574542505650384c180000002f2bc131000750a8e215a5ff", expected);
    check_size("52494646b60000005745425056503820aa000000b010009d012a2c01c8003e6d", expected);
    // exif=…, which makes it an extended file
    check_size("52494646da00000057454250565038580a000000080000002b0100c700005650", expected);
}

#[test]
fn what_is_no_picture_or_is_cut_has_no_size() {
    for head in ["", "ff", "ffd8", "25504446", "3c737667", "474946383961", "0000001866747970686569630000"] {
        check_size(head, None);
    }
    // ITU-T T.81 B.2.1: a scan before its frame is none; B.2.2: no height in the frame header; a segment of length 0.
    for rest in ["ffda00080101003f00", "ffc000110800000000", "ffe00000ffc000110800c8012c", "ffd9"] {
        assert!(picture_size(&from_hex(&format!("ffd8{rest}")).unwrap()).is_none_or(|(_, height)| height == 200));
    }
    let whole = from_hex(JPEG).unwrap();
    (0..whole.len()).for_each(|end| assert_eq!(picture_size(&whole[..end]), None, "{end}"));
    // Every byte changed in every way comes to an answer.
    for at in 0..whole.len() {
        for byte in 0..=255 {
            let mut bytes = whole.clone();
            bytes[at] = byte;
            let _any = picture_size(&bytes);
        }
    }
}

/// A PNG's start with these sides.
fn png(width: u32, height: u32) -> Vec<u8> {
    let start = from_hex("89504e470d0a1a0a0000000d49484452").unwrap();
    [&start[..], &width.to_be_bytes(), &height.to_be_bytes()].concat()
}

#[test]
fn a_bomb_is_refused_before_it_is_decoded() {
    let refused = |width, height, bytes| may_decode(&png(width, height), bytes).unwrap_err();
    // 4 GB and more once decoded, in a file of some bytes.
    assert_eq!(refused(60_000, 60_000, 2_000), NoPicture::TooManyPixels(3_600));
    assert_eq!(refused(u32::MAX, u32::MAX, 2_000), NoPicture::TooManyPixels(18_446_744_065_119));
    assert_eq!(refused(4_000, 3_000, MOST_FILE_BYTES + 1), NoPicture::FileTooLarge(MOST_FILE_BYTES + 1));
    assert_eq!(refused(1, 1, 70), NoPicture::TooSmall);
    assert_eq!(refused(LEAST_SIDE - 1, 4_000, 70), NoPicture::TooSmall);
    assert_eq!(refused(0, 4_000, 70), NoPicture::TooSmall);
    assert_eq!(may_decode(b"%PDF-1.7", 70), Err(NoPicture::NotAPicture));
    // A file type box, ISO/IEC 14496-12 4.3, with brands of ISO/IEC 23008-12 and of a film; from memory.
    for (brand, why) in [("heic", NoPicture::Heif), ("mif1", NoPicture::Heif), ("isom", NoPicture::NotAPicture)] {
        assert_eq!(may_decode(format!("\0\0\0\x18ftyp{brand}\0\0\0\0").as_bytes(), 70), Err(why));
    }
    assert_eq!(may_decode(b"\0\0\0\x18ftyp", 70), Err(NoPicture::NotAPicture));
    assert_eq!(may_decode(&png(8_000, u32::try_from(MOST_MEGAPIXELS).unwrap() * 125), MOST_FILE_BYTES), Ok(()));
    assert_eq!(may_decode(&png(LEAST_SIDE, LEAST_SIDE), 70), Ok(()));
}

#[test]
fn the_longer_side_that_is_kept_has_1600_pixels_at_most() {
    // Cross-multiplied by hand, rounded: 3000 × 1600 ÷ 4000, 9000 × 1600 ÷ 12000, 64 × 1600 ÷ 100000.
    for (of, kept) in [
        ((4_000, 3_000), (1_600, 1_200)),
        ((9_000, 12_000), (1_200, 1_600)),
        ((100_000, 64), (1_600, 1)),
        ((1_600, 1_600), (1_600, 1_600)),
        ((640, 480), (640, 480)),
    ] {
        assert_eq!(kept_size(of.0, of.1), kept);
    }
}

#[test]
fn a_picture_is_one_by_its_media_type() {
    assert!(is_picture("image/jpeg") && is_picture("image/png") && is_picture("image/webp"));
    // What a browser may not draw, or draws by running it.
    assert!(!["image/svg+xml", "image/gif", "image/x", "image/", "IMAGE/JPEG"].into_iter().any(is_picture));
    assert!(!is_picture("text/plain") && !is_picture("application/json"));
}
