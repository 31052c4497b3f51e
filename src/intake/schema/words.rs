//! The text of a heading, made comparable.

use serde::Deserialize;
use std::collections::HashMap;

/// The most words that one spelling of the table has.
const LONGEST: usize = 4;

/// Words that mean the same in a heading, read from a file of data.
#[derive(Clone, Debug, Default)]
pub(super) struct Words {
    /// A spelling, its words joined by a space, to the word that it means.
    canonical: HashMap<String, String>,
    /// Signs that are words.
    signs: Vec<char>,
}

#[derive(Deserialize)]
struct File {
    words: std::collections::BTreeMap<String, Vec<String>>,
}

impl Words {
    pub fn parse(json: &str) -> Result<Self, serde_json::Error> {
        let file: File = serde_json::from_str(json)?;
        let mut words = Self::default();
        let spelled = file.words.values().flatten();
        for spelling in spelled {
            let mut chars = spelling.chars();
            if let (Some(sign), None) = (chars.next(), chars.next())
                && !sign.is_ascii_alphanumeric()
            {
                words.signs.push(sign);
            }
        }
        for (canonical, spellings) in &file.words {
            for spelling in spellings {
                let spelled = words.split(spelling).join(" ");
                words.canonical.insert(spelled, canonical.clone());
            }
        }
        Ok(words)
    }

    /// Upper case, one word each, plurals made singular; marks of footnotes
    /// are dropped.
    fn split(&self, text: &str) -> Vec<String> {
        let mut out = Vec::new();
        let mut word = String::new();
        for c in text.chars().flat_map(char::to_uppercase) {
            if self.signs.contains(&c) {
                push(&mut out, &mut word);
                out.push(c.to_string());
            } else if is_superscript(c) || is_apostrophe(c) {
                // `REQ'D` is one word; a raised figure is a footnote.
            } else if c.is_alphanumeric() {
                word.push(c);
            } else {
                push(&mut out, &mut word);
            }
        }
        push(&mut out, &mut word);
        out
    }

    /// The words of a text, each spelling replaced by what it means.
    pub fn canonical(&self, text: &str) -> Vec<String> {
        let words = self.split(text);
        let mut out = Vec::with_capacity(words.len());
        let mut at = 0;
        while at < words.len() {
            let longest = LONGEST.min(words.len() - at);
            let found = (1..=longest).rev().find_map(|n| {
                let spelled = words.get(at..at + n)?;
                let means = match spelled {
                    [one] => self.canonical.get(one),
                    many => self.canonical.get(&many.join(" ")),
                };
                Some((n, means?.clone()))
            });
            match found {
                Some((n, means)) => {
                    out.push(means);
                    at += n;
                }
                None => {
                    out.extend(words.get(at).cloned());
                    at += 1;
                }
            }
        }
        out
    }
}

fn push(out: &mut Vec<String>, word: &mut String) {
    if word.is_empty() {
        return;
    }
    if word.len() > 3 && word.ends_with('S') && !word.ends_with("SS") {
        word.pop();
    }
    out.push(std::mem::take(word));
}

fn is_superscript(c: char) -> bool {
    matches!(c, '¹' | '²' | '³' | '⁰' | '⁴'..='⁹')
}

fn is_apostrophe(c: char) -> bool {
    matches!(c, '\'' | '\u{2018}' | '\u{2019}' | '`')
}
