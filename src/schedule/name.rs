//! Names of things in a schedule: tags, panels, circuits, dwellings.

use std::fmt;

/// A name as written, with the key by which spellings of one name agree.
///
/// `FC-1`, `fc 1`, `FC1` and `FC-01` are one name; `BB-8` and `BBH-8`, or
/// `1-11` and `11-1`, are two: letters and numbers stay apart, leading zeros
/// and separators do not count.
#[derive(Clone, Debug)]
pub struct Name {
    text: Box<str>,
    key: Box<str>,
}

impl Name {
    pub fn new(text: &str) -> Self {
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        let key = key_of(&text);
        Self {
            text: text.into(),
            key: key.into(),
        }
    }

    /// As its author wrote it, outer and repeated spaces dropped.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// What two spellings of one name share.
    pub fn key(&self) -> &str {
        &self.key
    }

    /// The letters before the first number: `FC` of `FC-12`; empty for `12C`.
    pub fn prefix(&self) -> &str {
        let end = self
            .key
            .find(|c: char| c.is_ascii_digit())
            .unwrap_or(self.key.len());
        self.key[..end].trim_end_matches('-')
    }

    /// Has both a letter prefix and a number, as equipment tags have.
    pub fn looks_like_tag(&self) -> bool {
        let prefix = self.prefix();
        !prefix.is_empty()
            && prefix.len() <= 6
            && self.key.chars().any(|c| c.is_ascii_digit())
            && self.text.split_whitespace().count() <= 2
    }
}

fn key_of(text: &str) -> String {
    #[derive(PartialEq, Clone, Copy)]
    enum Kind {
        Letter,
        Digit,
        Other,
    }
    let mut tokens: Vec<String> = Vec::new();
    let mut last = Kind::Other;
    for c in text.chars() {
        let kind = if c.is_ascii_digit() {
            Kind::Digit
        } else if c.is_alphabetic() {
            Kind::Letter
        } else {
            Kind::Other
        };
        if kind != Kind::Other {
            if kind != last {
                tokens.push(String::new());
            }
            if let Some(token) = tokens.last_mut() {
                token.extend(c.to_uppercase());
            }
        }
        last = kind;
    }
    for token in &mut tokens {
        if token.starts_with('0') {
            let trimmed = token.trim_start_matches('0');
            *token = if trimmed.is_empty() {
                "0".to_owned()
            } else {
                trimmed.to_owned()
            };
        }
    }
    if tokens.is_empty() {
        // Nothing but signs: keep them, so that `*` and `**` stay two names.
        return text.to_owned();
    }
    tokens.join("-")
}

impl PartialEq for Name {
    fn eq(&self, other: &Self) -> bool {
        self.key == other.key
    }
}

impl Eq for Name {}

impl PartialOrd for Name {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Name {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.key.cmp(&other.key)
    }
}

impl std::hash::Hash for Name {
    fn hash<H: std::hash::Hasher>(&self, state: &mut H) {
        self.key.hash(state);
    }
}

impl fmt::Display for Name {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spellings_of_one_name_agree_and_two_names_differ() {
        for same in ["FC-1", "fc 1", "FC1", "FC-01", "FC–1", "FC.1"] {
            assert_eq!(Name::new(same), Name::new("FC-1"), "{same}");
        }
        for (a, b) in [
            ("BB-8", "BBH-8"),
            ("1-11", "11-1"),
            ("FC-1", "FC-11"),
            ("FC-1", "FC-1A"),
        ] {
            assert_ne!(Name::new(a), Name::new(b));
        }
        assert_eq!(Name::new("FC-12").prefix(), "FC");
        assert_eq!(Name::new("12C").prefix(), "");
        assert!(Name::new("OU-1").looks_like_tag());
        assert!(!Name::new("RANGE").looks_like_tag());
        assert!(!Name::new("12C").looks_like_tag());
    }
}
