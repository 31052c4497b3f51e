//! What the parts of a package have in common as XML.

use super::refusal::Refusal;
use quick_xml::Reader;
use quick_xml::events::{BytesRef, BytesStart, Event};
use std::borrow::Cow;
use std::io::BufRead;

/// A reader that takes XML as programs write it. Entities that a document
/// declares itself are never expanded.
pub(super) fn reader<R: BufRead>(part: R) -> Reader<R> {
    let mut reader = Reader::from_reader(part);
    let config = reader.config_mut();
    config.check_end_names = false;
    config.trim_text(false);
    reader
}

pub(super) fn broken(error: impl std::fmt::Display) -> Refusal {
    Refusal::Corrupt(error.to_string())
}

/// The attributes of an element, name without prefix and raw value, as they
/// come. Unsound ones end the list.
pub(super) fn attributes<'a>(element: &'a BytesStart<'_>) -> Attributes<'a> {
    Attributes {
        rest: element.attributes_raw(),
    }
}

pub(super) struct Attributes<'a> {
    rest: &'a str,
}

impl<'a> Iterator for Attributes<'a> {
    type Item = (&'a str, &'a str);

    fn next(&mut self) -> Option<Self::Item> {
        let (name, rest) = self.rest.split_once('=')?;
        let rest = rest.trim_start();
        let quote = rest.chars().next().filter(|c| matches!(c, '"' | '\''))?;
        let (value, rest) = rest.get(1..)?.split_once(quote)?;
        self.rest = rest;
        let name = name.trim();
        let local = name.rsplit_once(':').map_or(name, |(_, local)| local);
        Some((local, value))
    }
}

/// One attribute's value, its references resolved.
pub(super) fn attribute<'a>(element: &'a BytesStart<'_>, name: &str) -> Option<Cow<'a, str>> {
    let (_, value) = attributes(element).find(|(local, _)| *local == name)?;
    Some(unescape(value))
}

pub(super) fn unescape(value: &str) -> Cow<'_, str> {
    quick_xml::escape::unescape(value).unwrap_or(Cow::Borrowed(value))
}

/// `1`, `true`: the truth values of XML Schema.
pub(super) fn is_true(value: &str) -> bool {
    matches!(value, "1" | "true" | "on")
}

/// Appends what a reference stands for; a reference that is not known says
/// nothing.
pub(super) fn push_reference(reference: &BytesRef<'_>, out: &mut String) {
    if let Ok(Some(c)) = reference.resolve_char_ref() {
        out.push(c);
    } else if let Some(text) = quick_xml::escape::resolve_predefined_entity(reference) {
        out.push_str(text);
    }
}

/// Appends the text of the element just begun, up to its end.
pub(super) fn read_text<R: BufRead>(
    reader: &mut Reader<R>,
    buffer: &mut Vec<u8>,
    out: &mut String,
) -> Result<(), Refusal> {
    let mut depth = 0;
    loop {
        buffer.clear();
        match reader.read_event_into(buffer).map_err(broken)? {
            Event::Text(text) => out.push_str(&text.xml10_content()),
            Event::CData(text) => out.push_str(&text.xml10_content()),
            Event::GeneralRef(reference) => push_reference(&reference, out),
            Event::Start(_) => depth += 1,
            Event::End(_) if depth == 0 => return Ok(()),
            Event::End(_) => depth -= 1,
            Event::Eof => return Err(broken("the part ends inside a text")),
            _ => {}
        }
    }
}

/// Appends the text of a string item (`si`, `is`, a note's `text`), its runs
/// joined, phonetic hints left out.
pub(super) fn read_runs<R: BufRead>(
    reader: &mut Reader<R>,
    buffer: &mut Vec<u8>,
    item: &str,
    out: &mut String,
) -> Result<(), Refusal> {
    let start = out.len();
    let mut phonetic = 0;
    loop {
        buffer.clear();
        match reader.read_event_into(buffer).map_err(broken)? {
            Event::Start(element) => match element.local_name().as_ref() {
                "t" if phonetic == 0 => read_text(reader, buffer, out)?,
                "rPh" => phonetic += 1,
                _ => {}
            },
            Event::End(element) => match element.local_name().as_ref() {
                "rPh" => phonetic -= 1,
                name if name == item => break,
                _ => {}
            },
            Event::Eof => return Err(broken("the part ends inside a string")),
            _ => {}
        }
    }
    decode_escapes(out, start);
    Ok(())
}

/// `_x000D_`: the escape of spreadsheets for characters that XML has not.
pub(super) fn decode_escapes(text: &mut String, start: usize) {
    if !text.get(start..).is_some_and(|new| new.contains("_x")) {
        return;
    }
    let new = text.split_off(start);
    let mut rest = new.as_str();
    while let Some(at) = rest.find("_x") {
        let (before, found) = rest.split_at(at);
        text.push_str(before);
        let digits = found.get(2..6);
        let decoded = digits
            .filter(|d| d.bytes().all(|b| b.is_ascii_hexdigit()) && found.get(6..7) == Some("_"))
            .and_then(|d| u32::from_str_radix(d, 16).ok())
            .and_then(char::from_u32);
        match decoded {
            Some(c) => {
                text.push(c);
                rest = found.get(7..).unwrap_or_default();
            }
            None => {
                text.push_str("_x");
                rest = found.get(2..).unwrap_or_default();
            }
        }
    }
    text.push_str(rest);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn escapes_of_spreadsheets_are_decoded() {
        for (raw, decoded) in [
            ("a_x000D_\nb", "a\r\nb"),
            ("_x005F_x000D_", "_x000D_"),
            ("FC_x1", "FC_x1"),
            ("_xZZZZ_", "_xZZZZ_"),
            ("_x", "_x"),
            ("plain", "plain"),
        ] {
            let mut text = raw.to_owned();
            decode_escapes(&mut text, 0);
            assert_eq!(text, decoded);
        }
    }
}
