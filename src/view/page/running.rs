//! What stands on every sheet of a page on paper.

/// On top, at the foot, and across.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Running {
    /// On top, left.
    pub head: String,
    /// On top, right.
    pub visit: String,
    /// At the foot, left of the number of the sheet.
    pub foot: String,
    /// Across the sheet; empty for nothing.
    pub across: String,
    /// The name of the page as a file.
    pub file: String,
}

impl Running {
    /// All of it in one line.
    pub fn line(&self) -> String {
        [&self.head, &self.visit, &self.foot, &self.across].map(String::as_str).join(" | ")
    }

    /// The CSS rule that puts it there.
    pub fn rule(&self) -> String {
        let boxes = [
            ("top-left", quoted(&self.head)),
            ("top-right", quoted(&self.visit)),
            ("bottom-left", quoted(&self.foot)),
            ("bottom-center", quoted(&self.across)),
            ("bottom-right", "\"Page \" counter(page) \" of \" counter(pages)".to_string()),
        ];
        let boxes = boxes.map(|(place, content)| format!("@{place} {{ content: {content}; }}"));
        format!("@page {{ {} }}", boxes.join(" "))
    }
}

/// A text as a string of CSS: everything but ASCII letters, digits and a few signs by its number, so that nothing in it can end the string,
/// the rule or the element around it.
fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for letter in text.chars() {
        match letter {
            ' ' | '.' | ',' | '-' | '0'..='9' | 'a'..='z' | 'A'..='Z' => out.push(letter),
            letter => out.push_str(&format!("\\{:x} ", u32::from(letter))),
        }
    }
    out.push('"');
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_ends_the_string() {
        // CSS Syntax Module Level 3, 4.3.7: a space ends an escape and is none of the string.
        assert_eq!(quoted("A · \"b\n</s>"), r#""A \b7  \22 b\a \3c \2f s\3e ""#);
    }
}
