//! XML as a text with places in it. A part is scanned for where its elements
//! stand, and edited by splices: what no splice touches stays byte for byte,
//! known or unknown.

use super::fault::CannotEdit;
use super::tag::prefix;
pub(super) use super::tag::{
    attribute, attributes, end_of_tag, flag, local, name_of, number, with, without,
};
pub(super) use super::text::{cell_text, escape, unescape};
use quick_xml::Reader;
use quick_xml::events::Event;
use std::borrow::Cow;
use std::io::BufRead;
use std::ops::Range;

const BOM: &str = "\u{feff}";

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Start,
    /// Self-closing.
    Empty,
    End,
    /// Text, comments, instructions.
    Other,
}

/// A tag, or what stands between two, and its place in the text.
#[derive(Clone, Debug)]
pub(super) struct Token {
    pub kind: Kind,
    pub at: Range<usize>,
}

/// Tokens of a stretch of a text, which has to be whole elements.
pub(super) struct Tokens<'a> {
    reader: Reader<&'a [u8]>,
    stretch: &'a str,
    behind_tag: bool,
    offset: usize,
    part: &'a str,
}

impl<'a> Tokens<'a> {
    pub fn new(part: &'a str, text: &'a str, stretch: Range<usize>) -> Self {
        let mut offset = stretch.start;
        let mut stretch = text.get(stretch).unwrap_or_default();
        if let Some(rest) = stretch.strip_prefix(BOM) {
            stretch = rest;
            offset += BOM.len();
        }
        Self {
            reader: Reader::from_str(stretch),
            stretch,
            behind_tag: false,
            offset,
            part,
        }
    }

    /// Takes tags that are not closed: drawings of old write some.
    pub fn loose(mut self) -> Self {
        let config = self.reader.config_mut();
        config.check_end_names = false;
        config.allow_unmatched_ends = true;
        self
    }

    /// What comes, and where it stands in the text; `None` unless a tag was the
    /// last token, since behind a text the reader has begun the next tag.
    pub fn rest(&self) -> Option<(&'a str, usize)> {
        let at = self.reader.buffer_position() as usize;
        let rest = self.stretch.get(at..).filter(|_| self.behind_tag)?;
        Some((rest, at + self.offset))
    }

    /// Passes over whole elements of the rest that the caller read himself.
    pub fn pass(&mut self, bytes: usize) {
        self.reader.stream().consume(bytes);
    }

    /// The next token; `None` at the end.
    ///
    /// # Errors
    /// XML that is not well-formed, or with a document type of its own.
    pub fn next(&mut self) -> Result<Option<Token>, CannotEdit> {
        let before = self.reader.buffer_position() as usize;
        let event = self.reader.read_event();
        let event = event.map_err(|error| CannotEdit::damaged(self.part, error))?;
        let kind = match event {
            Event::Start(_) => Kind::Start,
            Event::Empty(_) => Kind::Empty,
            Event::End(_) => Kind::End,
            Event::Eof => return Ok(None),
            Event::DocType(_) => {
                return Err(CannotEdit::damaged(self.part, "a document type"));
            }
            _ => Kind::Other,
        };
        self.behind_tag = kind != Kind::Other;
        let after = self.reader.buffer_position() as usize;
        Ok(Some(Token {
            kind,
            at: before + self.offset..after + self.offset,
        }))
    }
}

/// An element and its place in a text.
#[derive(Clone, Debug)]
pub(super) struct Element {
    /// From the start tag to behind the end tag.
    pub at: Range<usize>,
    /// The start tag.
    pub tag: Range<usize>,
    /// Between the tags; empty where the element is self-closing.
    pub inner: Range<usize>,
}

impl Element {
    pub fn is_self_closing(&self) -> bool {
        self.tag.end == self.at.end
    }

    pub fn tag<'t>(&self, text: &'t str) -> &'t str {
        text.get(self.tag.clone()).unwrap_or_default()
    }

    pub fn inner<'t>(&self, text: &'t str) -> &'t str {
        text.get(self.inner.clone()).unwrap_or_default()
    }

    pub fn raw<'t>(&self, text: &'t str) -> &'t str {
        text.get(self.at.clone()).unwrap_or_default()
    }

    pub fn name<'t>(&self, text: &'t str) -> &'t str {
        local(name_of(self.tag(text)))
    }

    pub fn attribute<'t>(&self, text: &'t str, name: &str) -> Option<Cow<'t, str>> {
        attribute(self.tag(text), name)
    }
}

/// The elements that stand directly in a stretch of a text.
///
/// # Errors
/// XML that is not well-formed.
pub(super) fn elements(
    part: &str,
    text: &str,
    stretch: Range<usize>,
) -> Result<Vec<Element>, CannotEdit> {
    let [elements] = levels(part, text, stretch)?;
    Ok(elements)
}

/// The elements that stand directly in a stretch of a text, those that stand
/// directly in them, and so on, a list a level.
fn levels<const N: usize>(
    part: &str,
    text: &str,
    stretch: Range<usize>,
) -> Result<[Vec<Element>; N], CannotEdit> {
    let mut tokens = Tokens::new(part, text, stretch);
    let mut found = [const { Vec::new() }; N];
    let mut open: [Option<Range<usize>>; N] = [const { None }; N];
    let mut depth = 0usize;
    while let Some(token) = tokens.next()? {
        match token.kind {
            Kind::Start => {
                if let Some(open) = open.get_mut(depth) {
                    *open = Some(token.at);
                }
                depth += 1;
            }
            Kind::Empty => {
                if let Some(found) = found.get_mut(depth) {
                    found.push(Element {
                        tag: token.at.clone(),
                        inner: token.at.end..token.at.end,
                        at: token.at,
                    });
                }
            }
            Kind::End => {
                depth = depth.saturating_sub(1);
                if let Some(found) = found.get_mut(depth)
                    && let Some(tag) = open.get_mut(depth).and_then(Option::take)
                {
                    found.push(Element {
                        at: tag.start..token.at.end,
                        inner: tag.end..token.at.start,
                        tag,
                    });
                }
            }
            Kind::Other => {}
        }
    }
    if open.iter().any(Option::is_some) {
        return Err(CannotEdit::damaged(part, "an element is not closed"));
    }
    Ok(found)
}

/// A part: its root and what stands directly in it.
#[derive(Clone, Debug)]
pub(super) struct Document {
    pub part: String,
    pub text: String,
    pub root: Element,
    pub children: Vec<Element>,
}

impl Document {
    pub fn new(part: &str, text: String) -> Result<Self, CannotEdit> {
        let [whole, mut children] = levels(part, &text, 0..text.len())?;
        let root = whole.into_iter().next();
        let root = root.ok_or_else(|| CannotEdit::damaged(part, "no element"))?;
        // What stands behind the root is none of its own.
        children.retain(|child| child.at.end <= root.inner.end);
        Ok(Self {
            part: part.to_owned(),
            text,
            root,
            children,
        })
    }

    /// A part of which one child is passed over, as the rows of a sheet, which
    /// are most of it: whether that child is well-formed its reader has to see.
    pub fn around(part: &str, text: String, child: &str) -> Result<Self, CannotEdit> {
        let Some(inner) = inner_of(&text, child) else {
            return Self::new(part, text);
        };
        let (before, after) = (text.get(..inner.start), text.get(inner.end..));
        let rest = [before, after].map(Option::unwrap_or_default).concat();
        // What is moved is what stands behind the gap; an end tag at it as well.
        let moved = |place: &mut usize, behind: usize| {
            if *place >= behind {
                *place += inner.len();
            }
        };
        let document = Self::new(part, rest).map(|mut document| {
            for element in document.children.iter_mut().chain([&mut document.root]) {
                let Element {
                    at,
                    tag,
                    inner: within,
                } = element;
                for place in [&mut at.start, &mut at.end, &mut tag.start, &mut tag.end] {
                    moved(place, inner.start + 1);
                }
                moved(&mut within.start, inner.start + 1);
                moved(&mut within.end, inner.start);
            }
            document
        });
        let found = document
            .ok()
            .filter(|d| d.children.iter().any(|c| c.inner == inner));
        // The words may have stood in a comment.
        let Some(mut document) = found else {
            return Self::new(part, text);
        };
        document.text = text;
        Ok(document)
    }

    /// The prefix that elements of the root's kind have, with its colon.
    pub fn prefix(&self) -> &str {
        prefix(name_of(self.root.tag(&self.text)))
    }

    pub fn root_name(&self) -> &str {
        self.root.name(&self.text)
    }

    pub fn child(&self, name: &str) -> Option<&Element> {
        self.children_of(name).next()
    }

    pub fn children_of(&self, name: &str) -> impl DoubleEndedIterator<Item = &Element> {
        self.children
            .iter()
            .filter(move |child| child.name(&self.text) == name)
    }

    pub fn elements_in(&self, parent: &Element) -> Result<Vec<Element>, CannotEdit> {
        elements(&self.part, &self.text, parent.inner.clone())
    }

    /// Where a child of that name has to stand, by the order that the schema
    /// asks for. Names that it does not list are passed over.
    pub fn place_for(&self, name: &str, order: &[&str]) -> usize {
        let rank = |name: &str| order.iter().position(|other| *other == name);
        let own = rank(name);
        // What is wrapped for later programs stands where its content does.
        let wrapped = |child: &Element| {
            let inner = child.inner(&self.text);
            let has = |name: &&str| {
                inner.contains(&format!("<{name}")) || inner.contains(&format!(":{name}"))
            };
            let wrapped = child.name(&self.text) == "AlternateContent";
            order.iter().position(|name| wrapped && has(name))
        };
        let of = |child: &Element| rank(child.name(&self.text)).or_else(|| wrapped(child));
        let mut children = self.children.iter();
        let next = children.find(|child| own.is_some() && of(child) > own);
        next.map_or(self.root.inner.end, |child| child.at.start)
    }

    /// The text with the splices, scanned anew.
    pub fn edited(self, splices: Splices) -> Result<Self, CannotEdit> {
        if splices.is_empty() {
            return Ok(self);
        }
        Self::new(&self.part, splices.apply(&self.text))
    }

    /// Puts XML at the end of an element of this text, opening it where it
    /// is self-closing.
    pub fn append(&self, element: &Element, xml: &str, splices: &mut Splices) {
        append(&self.text, element, xml, splices);
    }

    /// Puts XML at the end of the child of that name, which is made where
    /// there is none. `xml` has no prefixes.
    pub fn append_to(&self, name: &str, order: &[&str], xml: &str, splices: &mut Splices) {
        let xml = prefixed(xml, self.prefix());
        match self.child(name) {
            Some(child) => self.append(child, &xml, splices),
            None => {
                let name_here = format!("{}{name}", self.prefix());
                let xml = format!("<{name_here}>{xml}</{name_here}>");
                self.insert(self.place_for(name, order), &xml, splices);
            }
        }
    }

    /// Puts XML between children; a self-closing root is opened.
    pub fn insert(&self, at: usize, xml: &str, splices: &mut Splices) {
        if self.root.is_self_closing() {
            self.append(&self.root, xml, splices);
        } else {
            splices.insert(at, xml);
        }
    }
}

/// Where the content of the one element of a name seems to stand, its prefix
/// whatever it is.
fn inner_of(text: &str, name: &str) -> Option<Range<usize>> {
    let bytes = text.as_bytes();
    let mut places = memchr::memmem::find_iter(bytes, name.as_bytes());
    let first = places.next()?;
    let open = first + memchr::memchr(b'>', bytes.get(first..)?)?;
    let last = memchr::memmem::rfind(bytes, name.as_bytes())?;
    let close = memchr::memrchr(b'<', bytes.get(..last)?)?;
    let end = bytes.get(close..last)?;
    let sound = end.starts_with(b"</") && close > open && bytes.get(open - 1) != Some(&b'/');
    sound.then_some(open + 1..close)
}

fn append(text: &str, element: &Element, xml: &str, splices: &mut Splices) {
    if element.is_self_closing() {
        let tag = element.tag(text);
        let opened = tag.trim_end_matches('>').trim_end_matches('/').trim_end();
        let name = name_of(tag);
        splices.replace(element.at.clone(), format!("{opened}>{xml}</{name}>"));
    } else {
        splices.insert(element.inner.end, xml);
    }
}

/// Changes of a text, none inside another.
#[derive(Debug, Default)]
pub(super) struct Splices(Vec<(Range<usize>, String)>);

impl Splices {
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    pub fn replace(&mut self, range: Range<usize>, by: impl Into<String>) {
        self.0.push((range, by.into()));
    }

    pub fn insert(&mut self, at: usize, text: impl Into<String>) {
        self.replace(at..at, text);
    }

    pub fn remove(&mut self, range: Range<usize>) {
        self.replace(range, "");
    }

    pub fn absorb(&mut self, other: Self) {
        self.0.extend(other.0);
    }

    /// The text with all changes; what is put at one place keeps its order.
    pub fn apply(mut self, text: &str) -> String {
        self.0.sort_by_key(|(range, _)| (range.start, range.end));
        let added: usize = self.0.iter().map(|(_, by)| by.len()).sum();
        let mut out = String::with_capacity(text.len() + added);
        let mut from = 0;
        for (range, by) in &self.0 {
            debug_assert!(range.start >= from, "one change inside another");
            out.push_str(text.get(from..range.start).unwrap_or_default());
            out.push_str(by);
            from = from.max(range.end);
        }
        out.push_str(text.get(from..).unwrap_or_default());
        out
    }
}

/// XML of ours, written without prefixes, for a document that has one.
pub(super) fn prefixed<'x>(xml: &'x str, prefix: &str) -> Cow<'x, str> {
    if prefix.is_empty() {
        return Cow::Borrowed(xml);
    }
    let mut out = String::with_capacity(xml.len() + xml.len() / 4);
    let mut rest = xml;
    while let Some(at) = rest.find('<') {
        let (before, tag) = rest.split_at(at);
        let open = if tag.starts_with("</") { "</" } else { "<" };
        out.push_str(before);
        out.push_str(open);
        rest = tag.get(open.len()..).unwrap_or_default();
        let name = name_of(rest);
        if !name.contains(':') {
            out.push_str(prefix);
        }
    }
    out.push_str(rest);
    Cow::Owned(out)
}

/// What a string item says: its runs joined, phonetic hints left out.
pub(super) fn string_of(
    part: &str,
    text: &str,
    stretch: Range<usize>,
) -> Result<String, CannotEdit> {
    let mut tokens = Tokens::new(part, text, stretch);
    let (mut out, mut in_text, mut phonetic) = (String::new(), false, 0u32);
    while let Some(token) = tokens.next()? {
        let raw = text.get(token.at).unwrap_or_default();
        match (token.kind, local(name_of(raw))) {
            (Kind::Start, "t") => in_text = phonetic == 0,
            (Kind::End, "t") => in_text = false,
            (Kind::Start, "rPh") => phonetic += 1,
            (Kind::End, "rPh") => phonetic = phonetic.saturating_sub(1),
            (Kind::Other, _) if in_text => match raw.strip_prefix("<![CDATA[") {
                Some(data) => out.push_str(data.trim_end_matches("]]>")),
                None => out.push_str(&unescape(raw)),
            },
            _ => {}
        }
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn splices_leave_the_rest_as_it_is() {
        let text = "\u{feff}<?xml version=\"1.0\"?>\r\n<a><!-- x --><b/><c  d='1'>t</c></a>\n";
        let document = Document::new("p", text.to_owned()).expect("sound");
        let mut splices = Splices::default();
        document.append_to("b", &["b", "c"], "<n/>", &mut splices);
        document.append_to("z", &["z", "c"], "<n/>", &mut splices);
        assert_eq!(
            splices.apply(text),
            "\u{feff}<?xml version=\"1.0\"?>\r\n<a><!-- x --><b><n/></b><z><n/></z><c  d='1'>t</c></a>\n"
        );
    }

    #[test]
    fn a_child_that_is_passed_over_has_its_place() {
        for text in [
            "<w><a/><x:rows n=\"1\"><r><c/></r><r/></x:rows><b>é</b></w>",
            "<w><!-- rows --><a/><rows><r/></rows><b/></w>",
            "<w><rows><r/></rows><b n=\"rows\"/></w>",
            "<w><rows/><b/></w>",
            "<w><a/><b/></w>",
            "<w n=\"rows\"><rows></rows></w>",
        ] {
            let whole = Document::new("p", text.to_owned()).expect("sound");
            let around = Document::around("p", text.to_owned(), "rows").expect("sound");
            assert_eq!(around.text, whole.text);
            let places = |document: &Document| {
                let elements = [&document.root].into_iter().chain(&document.children);
                let places = elements.map(|e| (e.at.clone(), e.tag.clone(), e.inner.clone()));
                places.collect::<Vec<_>>()
            };
            assert_eq!(places(&around), places(&whole), "{text}");
        }
        let damaged = "<w><rows><r></rows></w>".to_owned();
        assert!(Document::around("p", damaged, "rows").is_ok());
    }

    #[test]
    fn a_prefix_goes_to_names_alone() {
        assert_eq!(
            prefixed("<a b=\"c\"><d/>1 &lt; 2</a>", "x:"),
            "<x:a b=\"c\"><x:d/>1 &lt; 2</x:a>"
        );
    }

    #[test]
    fn a_string_is_read_as_it_shows() {
        let item = "<si><r><t>FC</t></r><r><rPr/><t>-1 &amp; 2</t></r><rPh><t>no</t></rPh></si>";
        let read = string_of("p", item, 0..item.len()).expect("sound");
        assert_eq!(read, "FC-1 & 2");
        assert_eq!(cell_text("a\u{b}_x0041_ <"), "a_x000B__x005F_x0041_ &lt;");
    }

    #[test]
    fn unsound_xml_is_refused() {
        for text in ["", "<a>", "<a></b>", "<!DOCTYPE a><a/>", "<a><b></a>"] {
            assert!(Document::new("p", text.to_owned()).is_err(), "{text}");
        }
    }
}
