//! A large JSON object taken apart without reading it: the texts of the elements of one of its lists, and the object without them. What is cut
//! is not judged; every piece has to be read strictly, and a text that is no JSON in a piece is none as a whole.

/// The object with `name`'s list empty, and the texts of the list's elements. None where the object has no such list, or more than
/// one member whose name is written so.
pub fn split_list<'a>(text: &'a str, name: &str) -> Option<(String, Vec<&'a str>)> {
    let bytes = text.as_bytes();
    let mut found: Option<(usize, usize, Vec<&str>)> = None;
    let (mut depth, mut at) = (0_usize, 0_usize);
    // The last string at the level of the members: a name, if a colon follows.
    let mut string = "";
    while let Some(byte) = bytes.get(at) {
        match byte {
            b'"' => {
                let end = end_of_string(bytes, at)?;
                string = if depth == 1 { text.get(at + 1..end)? } else { "" };
                at = end;
            }
            b':' if depth == 1 && string == name => {
                let open = at + 1 + bytes.get(at + 1..)?.iter().position(|byte| !byte.is_ascii_whitespace())?;
                if found.is_some() || bytes.get(open) != Some(&b'[') {
                    return None;
                }
                let (close, elements) = elements(text, open)?;
                found = Some((open, close, elements));
                at = close;
            }
            b'{' | b'[' => depth += 1,
            b'}' | b']' => depth = depth.checked_sub(1)?,
            _ => {}
        }
        at += 1;
    }
    let (open, close, elements) = found?;
    Some((format!("{}[]{}", text.get(..open)?, text.get(close + 1..)?), elements))
}

/// Where the list that opens at `open` closes, and the texts between its commas.
fn elements(text: &str, open: usize) -> Option<(usize, Vec<&str>)> {
    let bytes = text.as_bytes();
    let (mut depth, mut at, mut from) = (0_usize, open + 1, open + 1);
    let mut elements = Vec::new();
    loop {
        match bytes.get(at)? {
            b'"' => at = end_of_string(bytes, at)?,
            b'{' | b'[' => depth += 1,
            b']' if depth == 0 => {
                let last = text.get(from..at)?;
                // An empty list has no element; an empty one after a comma is no JSON, which its reader says.
                if !elements.is_empty() || !last.bytes().all(|byte| matches!(byte, b' ' | b'\t' | b'\n' | b'\r')) {
                    elements.push(last);
                }
                return Some((at, elements));
            }
            b'}' | b']' => depth = depth.checked_sub(1)?,
            b',' if depth == 0 => {
                elements.push(text.get(from..at)?);
                from = at + 1;
            }
            _ => {}
        }
        at += 1;
    }
}

/// The closing quote of the string that opens at `at`.
fn end_of_string(bytes: &[u8], at: usize) -> Option<usize> {
    let mut at = at + 1;
    loop {
        match bytes.get(at)? {
            b'\\' => at += 2,
            b'"' => return Some(at),
            _ => at += 1,
        }
    }
}
