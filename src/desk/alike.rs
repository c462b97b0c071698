//! Puts functions that are alike side by side: gzip looks back 32 kB, and many functions are the same generic one for another type.
//!
//! wasm-opt can sort functions by their names and knows everything that refers to them, so the order is told to it in names.

use std::collections::HashMap;
use std::fs;
use std::io;
use std::path::Path;
use std::process::Command;

/// Neighbouring bytes that count as one trait of a function.
const BYTES: usize = 4;
/// Traits by which a function is compared: those with the smallest hashes, so that two that are alike keep the same ones.
const TRAITS: usize = 128;
/// A trait of more functions than this says nothing, and would only take time.
const COMMON: usize = 150;

/// Reorders the app of a built folder. Without wasm-opt it stays as it is.
///
/// # Errors
/// When a file cannot be read or written, or wasm-opt refuses the app.
pub(crate) fn reorder(folder: &Path) -> io::Result<()> {
    let files = fs::read_dir(folder)?.collect::<Result<Vec<_>, _>>()?;
    for path in files.iter().map(fs::DirEntry::path).filter(|path| path.extension().is_some_and(|end| end == "wasm")) {
        let Some(named) = named(&fs::read(&path)?) else {
            return Err(io::Error::other("the app's sections cannot be read"));
        };
        let between = folder.join(".named.wasm");
        fs::write(&between, named)?;
        // The levels make no pass run, but without them what was gained in writing is lost again.
        let words = ["--optimize-level=2", "--shrink-level=2", "--reorder-functions-by-name", "-o"];
        let outcome = Command::new("wasm-opt").args(words).arg(&path).arg(&between).status();
        fs::remove_file(&between)?;
        match outcome {
            Err(error) if error.kind() == io::ErrorKind::NotFound => {}
            Err(error) => return Err(error),
            Ok(status) if status.success() => {}
            Ok(status) => return Err(io::Error::other(format!("wasm-opt ended with {status}"))),
        }
    }
    Ok(())
}

/// The module with its functions named by their places in [`order`]; nothing when it is no module.
#[must_use]
pub fn named(module: &[u8]) -> Option<Vec<u8>> {
    let mut rest = Reader(module);
    let mut kept = rest.take(8)?.to_vec();
    let (mut imported, mut bodies) = (0, Vec::new());
    while !rest.0.is_empty() {
        let from = rest.0;
        let (id, size) = (rest.byte()?, rest.number()?);
        let mut section = Reader(rest.take(size)?);
        match id {
            2 => imported = imported_functions(section)?,
            10 => {
                for _ in 0..section.number()? {
                    let size = section.number()?;
                    bodies.push(section.take(size)?);
                }
            }
            0 if section.text()? == b"name" => continue,
            _ => {}
        }
        kept.extend(&from[..from.len() - rest.0.len()]);
    }
    let mut places = vec![0; bodies.len()];
    order(&bodies).into_iter().enumerate().for_each(|(place, function)| places[function] = place);
    let mut names = Vec::new();
    put(&mut names, places.len());
    for (function, place) in places.iter().enumerate() {
        put(&mut names, imported + function);
        text(&mut names, format!("{place:07}").as_bytes());
    }
    let mut section = Vec::new();
    text(&mut section, b"name");
    // The names of functions are part 1 of the section.
    section.push(1);
    text(&mut section, &names);
    kept.push(0);
    text(&mut kept, &section);
    Some(kept)
}

/// From the longest one on, always to the one left that is most like it.
#[must_use]
pub fn order(functions: &[&[u8]]) -> Vec<usize> {
    let traits: Vec<Vec<u32>> = functions.iter().map(|function| traits(function)).collect();
    let mut having: HashMap<u32, Vec<usize>> = HashMap::new();
    for (function, traits) in traits.iter().enumerate() {
        traits.iter().for_each(|&of| having.entry(of).or_default().push(function));
    }
    having.retain(|_, functions| functions.len() <= COMMON);
    let mut by_length: Vec<usize> = (0..functions.len()).collect();
    by_length.sort_by_key(|&function| (functions[function].len(), function));
    let mut left = vec![true; functions.len()];
    let mut order = Vec::with_capacity(functions.len());
    let mut next = by_length.pop();
    let (mut shared, mut sharing) = (vec![0; functions.len()], Vec::new());
    while let Some(function) = next {
        order.push(function);
        left[function] = false;
        for &other in traits[function].iter().filter_map(|of| having.get(of)).flatten().filter(|&&other| left[other]) {
            if shared[other] == 0 {
                sharing.push(other);
            }
            shared[other] += 1;
        }
        // Traits in common, of a thousand that either has; of equals the first.
        let likeness = |&other: &usize| {
            let either = traits[function].len() + traits[other].len() - shared[other];
            (shared[other] * 1_000 / either, functions.len() - other)
        };
        next = sharing.iter().copied().max_by_key(likeness);
        sharing.drain(..).for_each(|other| shared[other] = 0);
        while next.is_none() {
            match by_length.pop() {
                None => return order,
                Some(other) => next = left[other].then_some(other),
            }
        }
    }
    order
}

fn traits(function: &[u8]) -> Vec<u32> {
    // Mixed, so that the smallest are a fair sample and not those that begin with zeros.
    let mix = |bytes: &[u8]| {
        let word = bytes.iter().fold(0_u32, |word, &byte| word << 8 | u32::from(byte));
        let word = (word ^ word >> 16).wrapping_mul(0x85eb_ca6b);
        let word = (word ^ word >> 13).wrapping_mul(0xc2b2_ae35);
        word ^ word >> 16
    };
    let mut found: Vec<u32> = function.windows(BYTES).map(mix).collect();
    found.sort_unstable();
    found.dedup();
    found.truncate(TRAITS);
    found
}

fn imported_functions(mut section: Reader<'_>) -> Option<usize> {
    let mut functions = 0;
    for _ in 0..section.number()? {
        section.text()?;
        section.text()?;
        let kind = section.byte()?;
        // A table has a type before its limits, a global its kind before whether it changes, a tag a byte before its type.
        if kind != 0 && kind != 2 {
            section.byte()?;
        }
        match kind {
            0 => functions += 1,
            1 | 2 => {
                if section.byte()? & 1 == 1 {
                    section.number()?;
                }
            }
            3 | 4 => {}
            _ => return None,
        }
        section.number()?;
    }
    Some(functions)
}

/// What is left to read of a module.
struct Reader<'a>(&'a [u8]);

impl<'a> Reader<'a> {
    fn take(&mut self, count: usize) -> Option<&'a [u8]> {
        let (taken, rest) = self.0.split_at_checked(count)?;
        self.0 = rest;
        Some(taken)
    }

    fn byte(&mut self) -> Option<u8> {
        self.take(1).map(|byte| byte[0])
    }

    /// A number of at most 32 bits in LEB128.
    fn number(&mut self) -> Option<usize> {
        let mut number = 0;
        for place in 0..5 {
            let byte = self.byte()?;
            number |= usize::from(byte & 0x7f) << (7 * place);
            if byte < 0x80 {
                return Some(number);
            }
        }
        None
    }

    fn text(&mut self) -> Option<&'a [u8]> {
        let size = self.number()?;
        self.take(size)
    }
}

fn put(to: &mut Vec<u8>, mut number: usize) {
    while number >= 0x80 {
        to.push((number & 0x7f) as u8 | 0x80);
        number >>= 7;
    }
    to.push(number as u8);
}

fn text(to: &mut Vec<u8>, text: &[u8]) {
    put(to, text.len());
    to.extend(text);
}
