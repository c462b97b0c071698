//! The office's folder: its address, and what of its files has not been fetched.

use crate::encoding::sha256_hex;
use crate::handover::MAX_BYTES;
use std::fmt;

/// Why an address is no folder to send to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AddressFault {
    /// Not encrypted.
    NotHttps,
    /// User or password are in it.
    HasUser,
    /// It has a question mark or a hash sign.
    HasQuery,
    /// It is neither an address nor a path.
    NoAddress,
}

impl fmt::Display for AddressFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            AddressFault::NotHttps => {
                "the address must begin with https://, or with / for a folder on this app’s own server"
            }
            AddressFault::HasUser => "leave user and password out of the address; they have fields of their own",
            AddressFault::HasQuery => "the address of a folder has no ? and no #",
            AddressFault::NoAddress => {
                "type an address like https://office.example/inbox/, or /inbox/ on this app’s own server"
            }
        })
    }
}

impl std::error::Error for AddressFault {}

/// How long a file may take, ms: an answer on a slow network, and 16 bytes a millisecond (128 kbit/s). Own figures.
pub fn patience_ms(bytes: usize) -> u32 {
    u32::try_from(bytes / 16).unwrap_or(u32::MAX).saturating_add(120_000)
}

/// The password of a folder that is set, from what it and its user were and are, the password known there and the one typed. None goes
/// to a place or for a user it was not typed for.
pub fn password_for<'a>(was: (&str, &str), is: (&str, &str), known: &'a str, typed: &'a str) -> &'a str {
    match (is, typed) {
        (("", _), _) => "",
        (_, "") if was == is => known,
        _ => typed,
    }
}

/// The address of a folder as it was typed, put right: with a slash at its end. Beside `https` only a path of this app's own server is
/// one, and `http` of this very computer, for a try.
///
/// # Errors
/// When it is no address that files and a password may be sent to.
pub fn address(typed: &str) -> Result<String, AddressFault> {
    let typed = typed.trim();
    if typed.contains(['?', '#']) {
        return Err(AddressFault::HasQuery);
    }
    if typed.contains(|c: char| c.is_whitespace() || c.is_control() || c == '\\') {
        return Err(AddressFault::NoAddress);
    }
    let rest = match typed.split_once("://") {
        Some((scheme, rest)) => {
            let host = rest.split('/').next().unwrap_or_default();
            if host.contains('@') {
                return Err(AddressFault::HasUser);
            }
            let name = host.rsplit_once(':').map_or(host, |(name, _)| name);
            let here = ["localhost", "127.0.0.1"].contains(&name);
            match scheme {
                "https" => {}
                "http" if here => {}
                _ => return Err(AddressFault::NotHttps),
            }
            if name.is_empty() {
                return Err(AddressFault::NoAddress);
            }
            rest
        }
        // Two slashes at the start would name another server.
        None if typed.starts_with('/') && !typed.starts_with("//") => typed,
        None => return Err(AddressFault::NoAddress),
    };
    let slash = if rest.ends_with('/') { "" } else { "/" };
    Ok(format!("{typed}{slash}"))
}

/// A file of a folder's listing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Listed {
    /// Where it is, as the server says: a path or an address.
    pub href: String,
    /// Its size, bytes, where the server says.
    pub size: Option<u64>,
}

/// The names of visit files in a listing that have not been seen yet, each once, in the listing's order. Anything that is named as no
/// visit file is, or is too large to be one, is left alone.
pub fn unseen(listed: &[Listed], seen: impl Fn(&str) -> bool) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for Listed { href, size } in listed {
        let name = href.rsplit('/').next().unwrap_or_default();
        let fits = size.is_none_or(|size| size <= MAX_BYTES as u64);
        if fits && digits(name).is_some() && !seen(name) && !names.iter().any(|known| known == name) {
            names.push(name.to_string());
        }
    }
    names
}

/// Whether a file's text is the one that its name was made from: one that was cut off or altered is not.
pub fn is_whole(name: &str, text: &str) -> bool {
    digits(name).is_some_and(|digits| sha256_hex(text.as_bytes()).starts_with(digits))
}

/// The digits of the digest in a visit file's name; none where it is no such name.
fn digits(name: &str) -> Option<&str> {
    let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    let stem = name.strip_prefix("soakbook-")?.strip_suffix(".json")?;
    let (before, digits) = stem.rsplit_once('-')?;
    let hex = |c: char| matches!(c, '0'..='9' | 'a'..='f');
    (name.len() <= 160 && before.chars().all(plain) && digits.len() == 8 && digits.chars().all(hex)).then_some(digits)
}
