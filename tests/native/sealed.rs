//! Files under a passphrase: opened by the right one, and by nothing else.

use crate::sample::{Phone, id, read, started};
use aes_gcm::aead::{Aead, KeyInit, Payload};
use aes_gcm::{Aes256Gcm, Nonce};
use soakbook::book::body::Ending;
use soakbook::desk::unseal::{decrypt, key, open};
use soakbook::encoding::from_hex;
use soakbook::handover::sealed::{IV, MAX_ROUNDS, ROUNDS, SALT, Seal, SealFault, is_sealed, open_each, sealed_name};
use soakbook::handover::{Made, Select, bundle_of};
use soakbook::units::Wall;
use soakbook::view::handover;
use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use std::task::{Context, Poll, Waker};

/// Sealed with 1,000 rounds by Python 3.11's hashlib.pbkdf2_hmac and cryptography 48.0.0, AESGCM(key).encrypt(iv, text, header), with
/// salt 00…0f and vector 64…6f.
const FILE: &str = concat!(
    r#"{"cipher":"AES-256-GCM","format":"soakbook sealed","iv":"ZGVmZ2hpamtsbW5v","kdf":"PBKDF2-HMAC-SHA-256","#,
    r#""rounds":1000,"salt":"AAECAwQFBgcICQoLDA0ODw==","v":1}"#,
    "\nNz9y10/NAFDhfoCJRxF45oTjzQssKG0wwW3KVKFloW/+v7WgTAm8Sg==\n"
);
const PASSPHRASE: &str = "fünf Hühner gackern";
const TEXT: &str = "what was sealed: 90 °C\n";

fn hex(text: &str) -> Vec<u8> {
    from_hex(text).expect("hex")
}

// RFC 7914 11, the first 32 of 64 bytes.
#[test]
fn the_key_is_that_of_the_published_vectors() {
    let first = hex("55ac046e56e3089fec1691c22544b605f94185216dde0465e68b9d57c20dacbc");
    assert_eq!(key(b"passwd", b"salt", 1).to_vec(), first);
    let second = hex("4ddcd8f60b98be21830cee5ef22701f9641a4418d04c0414aeff08876b34ab56");
    assert_eq!(key(b"Password", b"NaCl", 80_000).to_vec(), second);
}

// McGrew and Viega, The Galois/Counter Mode of Operation (GCM), submitted to NIST, appendix B, test case 16.
#[test]
fn the_cipher_is_that_of_the_published_vectors() {
    let key: [u8; 32] = hex("feffe9928665731c6d6a8f9467308308feffe9928665731c6d6a8f9467308308").try_into().unwrap();
    let iv: [u8; 12] = hex("cafebabefacedbaddecaf888").try_into().unwrap();
    let text = hex(concat!(
        "d9313225f88406e5a55909c5aff5269a86a7a9531534f7da2e4c303d8a318a72",
        "1c3c0c95956809532fcf0e2449a6b525b16aedf5aa0de657ba637b39"
    ));
    let authenticated = hex("feedfacedeadbeeffeedfacedeadbeefabaddad2");
    let encrypted = hex(concat!(
        "522dc1f099567d07f47f37a32a84427d643a8cdcbfe5c0c97598a2bd2555d1aa",
        "8cb08e48590dbb3da7b08b1056828838c5f61e6393ba7a0abcc9f662",
        "76fc6ece0f4e1768cddf8853bb2d551b"
    ));
    assert_eq!(decrypt(key, iv, &authenticated, &encrypted), Some(text));
    assert_eq!(decrypt(key, iv, &authenticated[1..], &encrypted), None);
}

#[test]
fn another_programs_file_is_opened_by_its_passphrase_alone() {
    assert!(is_sealed(FILE));
    assert_eq!(open(FILE, PASSPHRASE).as_deref(), Ok(TEXT));
    for wrong in ["", "fünf Hühner gackern ", "Fünf Hühner gackern"] {
        assert_eq!(open(FILE, wrong), Err(SealFault::NotOpened));
    }
    // The same letters as other code points, u and a combining diaeresis: Unicode Standard Annex 15, canonical equivalence.
    assert_eq!(open(FILE, "fu\u{308}nf Hu\u{308}hner gackern").as_deref(), Ok(TEXT));
    assert!(SealFault::NotOpened.to_string().contains("check it"));
}

#[test]
fn no_flipped_bit_and_no_cut_goes_unseen() {
    for at in 0..FILE.len() {
        for bit in [0, 5] {
            let mut bytes = FILE.as_bytes().to_vec();
            bytes[at] ^= 1 << bit;
            // A byte that is no text is refused before this is asked.
            let Ok(changed) = String::from_utf8(bytes) else { continue };
            assert!(open(&changed, PASSPHRASE).is_err(), "bit {bit} of byte {at}");
        }
        assert!(open(&FILE[..at], PASSPHRASE).is_err(), "cut at {at}");
    }
    assert!(open(&format!("{FILE}\n"), PASSPHRASE).is_err());
}

/// What comes of work that waits for nothing.
fn done<T>(work: impl Future<Output = T>) -> T {
    match std::pin::pin!(work).poll(&mut Context::from_waker(Waker::noop())) {
        Poll::Ready(done) => done,
        Poll::Pending => panic!("nothing waits here"),
    }
}

#[test]
fn a_file_that_is_not_opened_keeps_no_other_back() {
    let named = |name: &str, file: &str| (name.to_string(), file.to_string());
    let other = FILE.replace("AAECAwQFBgcICQoLDA0ODw==", "AQECAwQFBgcICQoLDA0ODw==");
    let files = vec![
        named("cut", &FILE[..60]),
        named("other", &other),
        named("newer", &FILE.replace("\"v\":1", "\"v\":2")),
        named("whole", FILE),
        named("again", FILE),
    ];
    let decrypted = async |seal: &Seal, encrypted: &[u8]| {
        let key = key(PASSPHRASE.as_bytes(), &seal.salt, seal.rounds);
        decrypt(key, seal.iv, seal.header.as_bytes(), encrypted).ok_or("not opened")
    };
    let mut taken = Vec::new();
    let stay = done(open_each(files, decrypted, async |name, opened| taken.push((name, opened))));
    assert_eq!(stay, [(named("other", &other), "not opened")], "with another passphrase it may be opened");
    let expected = [
        ("cut", Err(SealFault::Damaged)),
        ("newer", Err(SealFault::Newer)),
        ("whole", Ok(TEXT.to_string())),
        ("again", Ok(TEXT.to_string())),
    ];
    assert_eq!(taken, expected.map(|(name, opened)| (name.to_string(), opened)));
    let stay: Vec<_> = stay.into_iter().map(|(file, _)| file).chain([named("b", FILE)]).collect();
    let said = handover::not_opened(&stay, &handover::seal_words(SealFault::NotOpened));
    assert!(said.starts_with("Not opened: other, b. The passphrase does not open"), "{said}");
}

#[test]
fn a_sealed_file_that_could_not_be_sent_is_not_to_be_saved_unsealed() {
    let said = handover::sealed_not_saved("no room");
    assert!(said.contains("no room") && !said.contains("Save it as a file"), "{said}");
}

#[test]
fn line_ends_that_mail_or_an_editor_changed_do_no_harm() {
    assert_eq!(open(&FILE.replace('\n', "\r\n"), PASSPHRASE).as_deref(), Ok(TEXT));
    assert!(is_sealed(&FILE.replace('\n', "\r\n")));
}

#[test]
fn too_many_rounds_are_refused_before_anything_is_derived() {
    let with = |rounds: &str| {
        Seal::of(&FILE.replace("\"rounds\":1000", &format!("\"rounds\":{rounds}"))).map(|of| of.0.rounds)
    };
    assert_eq!(with("2000000"), Ok(MAX_ROUNDS));
    assert_eq!(with("2000001"), Err(SealFault::TooManyRounds(2_000_001)));
    assert_eq!(with("9007199254740991"), Err(SealFault::TooManyRounds(9_007_199_254_740_991)));
    for rounds in ["0", "-1", "1.5", "\"1000\"", "1e3"] {
        assert_eq!(with(rounds), Err(SealFault::Damaged), "{rounds}");
    }
    assert!(SealFault::TooManyRounds(2_000_001).to_string().contains("more than the 2000000"));
}

#[test]
fn other_methods_are_a_newer_apps_and_other_files_are_not_sealed() {
    for (said, other) in [("\"v\":1", "\"v\":2"), ("AES-256-GCM", "AES-256-SIV"), ("PBKDF2-HMAC-SHA-256", "Argon2id")] {
        assert_eq!(open(&FILE.replace(said, other), PASSPHRASE), Err(SealFault::Newer), "{other}");
    }
    assert!(!is_sealed("{\"format\":\"soakbook bundle\",\"v\":2,\n") && !is_sealed(""));
}

#[test]
fn a_new_seal_has_the_promised_rounds_and_is_read_back() {
    let seal = Seal::new([7; SALT], [9; IV]);
    let file = seal.file(b"encrypted and tagged");
    assert!(is_sealed(&file));
    assert_eq!(Seal::of(&file), Ok((seal.clone(), b"encrypted and tagged".to_vec())));
    assert_eq!((seal.rounds, ROUNDS), (600_000, 600_000));
    assert_eq!(sealed_name("soakbook-a-ba7816bf.json"), "soakbook-a-ba7816bf.sealed");
}

/// A file sealed with one round, so that the test is short.
fn sealed(text: &str) -> String {
    let mut seal = Seal::new([3; SALT], [4; IV]);
    (seal.rounds, seal.header) = (1, seal.header.replace("600000", "1"));
    let cipher = Aes256Gcm::new(&key(PASSPHRASE.as_bytes(), &seal.salt, seal.rounds).into());
    let payload = Payload { msg: text.as_bytes(), aad: seal.header.as_bytes() };
    seal.file(&cipher.encrypt(&Nonce::from(seal.iv), payload).unwrap())
}

#[test]
fn photos_that_have_no_room_are_told_before_sealing() {
    assert_eq!(handover::left_out(0), "");
    assert!(handover::left_out(1).starts_with("1 photo will not be in the sealed file"));
    assert!(handover::left_out(3).ends_with("They stay on this phone."));
}

#[test]
fn the_command_opens_a_sealed_bundle_with_the_passphrase_of_the_environment() {
    let mut phone = Phone::new();
    phone.test(started(1), &read(&["80.0", "88.1", "87.6", "88.4", "87.9"]), Ending::Done);
    let made = Made { at: Wall(0), app: "test".into(), phone: id(1) };
    let bundle = bundle_of(&phone.book, Select::Everything, &made).expect("a bundle");
    let file = Path::new(env!("CARGO_TARGET_TMPDIR")).join("visit.sealed");
    fs::write(&file, sealed(&bundle.text)).unwrap();
    let evaluate = |passphrase: Option<&str>| -> Output {
        let mut command = Command::new(env!("CARGO_BIN_EXE_soakbook"));
        command.arg("evaluate").arg(&file).stdin(Stdio::null()).env_remove("SOAKBOOK_PASSPHRASE");
        command.envs(passphrase.map(|passphrase| ("SOAKBOOK_PASSPHRASE", passphrase))).output().unwrap()
    };
    assert_eq!(evaluate(Some(PASSPHRASE)).status.code(), Some(0));
    for (passphrase, says) in [(Some("another"), "does not open the file"), (None, "set SOAKBOOK_PASSPHRASE")] {
        let output = evaluate(passphrase);
        assert_eq!(output.status.code(), Some(2));
        let said = String::from_utf8_lossy(&output.stderr).into_owned() + &String::from_utf8_lossy(&output.stdout);
        assert!(said.contains(says), "{said}");
        assert!(!said.contains(PASSPHRASE));
    }
}
