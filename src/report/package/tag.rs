//! What stands in a tag: its name and its attributes.

use super::text::{escape, unescape};
use std::borrow::Cow;
use std::ops::Range;

/// Name of a start or end tag, with its prefix.
pub(super) fn name_of(tag: &str) -> &str {
    let tag = tag.strip_prefix('<').unwrap_or(tag);
    let tag = tag.strip_prefix('/').unwrap_or(tag);
    let ends = |byte: u8| byte.is_ascii_whitespace() || matches!(byte, b'/' | b'>');
    let end = tag.bytes().position(ends);
    tag.get(..end.unwrap_or(tag.len())).unwrap_or_default()
}

/// How long the tag is that a text begins with; an attribute may hold the
/// sign that ends one.
pub(super) fn end_of_tag(text: &str) -> Option<usize> {
    let mut quote = None;
    for at in memchr::memchr3_iter(b'>', b'"', b'\'', text.as_bytes()) {
        let found = text.as_bytes().get(at);
        match quote {
            None if found == Some(&b'>') => return Some(at + 1),
            None => quote = found,
            Some(_) if quote == found => quote = None,
            Some(_) => {}
        }
    }
    None
}

pub(super) fn local(name: &str) -> &str {
    let colon = name.bytes().rposition(|byte| byte == b':');
    colon.map_or(name, |at| name.get(at + 1..).unwrap_or_default())
}

pub(super) fn prefix(name: &str) -> &str {
    let colon = name.find(':').map_or(0, |at| at + 1);
    name.get(..colon).unwrap_or_default()
}

/// An attribute of a start tag.
#[derive(Clone, Debug)]
pub(super) struct Attribute<'t> {
    pub name: &'t str,
    /// As written.
    pub value: &'t str,
    /// Place of the value in the tag.
    pub at: Range<usize>,
    /// Place of the whole in the tag, with the space before it.
    whole: Range<usize>,
}

/// The attributes of a start tag. Unsound ones end the list.
pub(super) fn attributes(tag: &str) -> impl Iterator<Item = Attribute<'_>> {
    let mut from = 1 + name_of(tag).len();
    std::iter::from_fn(move || {
        let rest = tag.get(from..)?;
        let equals = memchr::memchr(b'=', rest.as_bytes())?;
        let name = rest.get(..equals)?.trim_ascii();
        let after = rest.get(equals + 1..)?;
        let value = after.trim_ascii_start();
        let quote = *value.as_bytes().first()?;
        if !matches!(quote, b'"' | b'\'') {
            return None;
        }
        let start = from + equals + 1 + (after.len() - value.len()) + 1;
        let length = memchr::memchr(quote, tag.get(start..)?.as_bytes())?;
        let whole = from..start + length + 1;
        from = whole.end;
        Some(Attribute {
            name,
            value: tag.get(start..start + length)?,
            at: start..start + length,
            whole,
        })
    })
}

/// One attribute by its name without prefix, its references resolved.
pub(super) fn attribute<'t>(tag: &'t str, name: &str) -> Option<Cow<'t, str>> {
    let found = attributes(tag).find(|attribute| local(attribute.name) == name)?;
    Some(unescape(found.value))
}

pub(super) fn number<T: std::str::FromStr>(tag: &str, name: &str) -> Option<T> {
    attribute(tag, name)?.trim().parse().ok()
}

pub(super) fn flag(tag: &str, name: &str) -> bool {
    attribute(tag, name).is_some_and(|value| matches!(value.as_ref(), "1" | "true" | "on"))
}

/// The tag with an attribute set.
pub(super) fn with(tag: &str, name: &str, value: &str) -> String {
    let value = escape(value);
    if let Some(found) = attributes(tag).find(|found| local(found.name) == name) {
        let mut tag = tag.to_owned();
        tag.replace_range(found.at, &value);
        return tag;
    }
    let end = if tag.ends_with("/>") { 2 } else { 1 };
    let (start, end) = tag.split_at(tag.len().saturating_sub(end));
    format!("{} {name}=\"{value}\"{end}", start.trim_end())
}

/// The tag without an attribute.
pub(super) fn without(tag: &str, name: &str) -> String {
    let mut tag = tag.to_owned();
    let found = attributes(&tag).find(|found| local(found.name) == name);
    if let Some(whole) = found.map(|found| found.whole) {
        tag.replace_range(whole, "");
    }
    tag
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_attribute_is_set_and_taken_away_alone() {
        let tag = "<row r='5'  spans=\"1:7\" x14ac:dyDescent=\"0.25\"/>";
        assert_eq!(attribute(tag, "dyDescent").as_deref(), Some("0.25"));
        assert_eq!(
            with(tag, "spans", "1:9"),
            "<row r='5'  spans=\"1:9\" x14ac:dyDescent=\"0.25\"/>"
        );
        assert_eq!(
            without(tag, "spans"),
            "<row r='5' x14ac:dyDescent=\"0.25\"/>"
        );
        assert_eq!(with("<c/>", "s", "a\"b"), "<c s=\"a&quot;b\"/>");
        assert_eq!(with("<c >", "s", "1"), "<c s=\"1\">");
    }
}
