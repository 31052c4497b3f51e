//! A sheet of ours as it stands in another workbook: with the numbers that its
//! styles have there, and its strings in its cells.

use super::archive::Archive;
use super::fault::CannotEdit;
use super::xml::{attributes, with, without};
use memchr::{memchr, memmem};
use std::ops::Range;

/// What each shared string is, as XML.
#[derive(Default)]
pub(super) struct Strings {
    text: String,
    places: Vec<Range<usize>>,
}

impl Strings {
    /// Of the part that holds them, where there is one.
    pub fn read(archive: &mut Archive, part: Option<&str>) -> Result<Self, CannotEdit> {
        let Some(part) = part else {
            return Ok(Self::default());
        };
        Self::of(part, archive.text(part)?.unwrap_or_default())
    }

    /// As rust_xlsxwriter writes them: no item has attributes, none holds
    /// another.
    fn of(part: &str, text: String) -> Result<Self, CannotEdit> {
        let mut places = Vec::new();
        let mut ends = memmem::find_iter(text.as_bytes(), "</si>");
        for at in memmem::find_iter(text.as_bytes(), "<si>") {
            let end = ends.next();
            let end = end.ok_or_else(|| CannotEdit::damaged(part, "a string is not closed"))?;
            places.push(at + "<si>".len()..end);
        }
        drop(ends);
        Ok(Self { text, places })
    }

    fn get(&self, index: usize) -> Option<&str> {
        self.text.get(self.places.get(index)?.clone())
    }
}

/// What a sheet says in the other workbook.
pub(super) struct Renumber {
    /// The numbers there of formats of cells, by their numbers here.
    pub formats: Vec<String>,
    /// Those of formats of conditions.
    pub conditions: Vec<String>,
    pub strings: Strings,
}

impl Renumber {
    /// Rewrites a sheet; `in_front` where it is the one that is shown.
    ///
    /// One pass over the text, since this is most of what grafting does: the
    /// sheet is what rust_xlsxwriter wrote a moment ago. It has no comments,
    /// no data sections and no prefixes, and the signs that begin and end a
    /// tag stand nowhere else.
    pub fn sheet(&self, part: &str, text: &str, in_front: bool) -> Result<String, CannotEdit> {
        let mut new = Rewritten {
            text,
            copied: 0,
            out: String::with_capacity(text.len() * 2),
        };
        let mut from = 0;
        while let Some(found) = memchr(b'<', new.rest(from).as_bytes()) {
            let at = from + found;
            from = at + 1;
            let rest = new.rest(from);
            let is_cell = rest.starts_with("c ");
            if is_cell && let Some(next) = self.plain(&mut new, from) {
                from = next;
                continue;
            }
            let is_view = rest.starts_with("sheetView ");
            let (attribute, numbers) = match rest {
                _ if is_cell || rest.starts_with("row ") => ("s", &self.formats),
                _ if rest.starts_with("col ") => ("style", &self.formats),
                _ if rest.starts_with("cfRule ") => ("dxfId", &self.conditions),
                _ if is_view => ("", &self.formats),
                _ => continue,
            };
            let end = memchr(b'>', rest.as_bytes());
            let end = end.ok_or_else(|| CannotEdit::damaged(part, "a tag is not closed"))?;
            from += end + 1;
            let tag = text.get(at..from).unwrap_or_default();
            if is_view {
                let tag = match in_front {
                    true => with(tag, "tabSelected", "1"),
                    false => without(tag, "tabSelected"),
                };
                new.replace(at..from, &[&tag]);
                continue;
            }
            let mut shared = false;
            for found in attributes(tag) {
                let place = at + found.at.start..at + found.at.end;
                if found.name == attribute {
                    let number = found.value.parse().ok();
                    if let Some(number) = number.and_then(|old: usize| numbers.get(old)) {
                        new.replace(place, &[number]);
                    }
                } else if is_cell && found.name == "t" && found.value == "s" {
                    shared = true;
                    new.replace(place, &["inlineStr"]);
                }
            }
            if shared && !tag.ends_with("/>") {
                from = self.string(part, &mut new, from)?;
            }
        }
        let rest = new.rest(new.copied);
        new.out.push_str(rest);
        Ok(new.out)
    }

    /// Rewrites a cell that is spelled as most are, from behind the sign that
    /// begins its tag: its place, its format, and the string that it shares or
    /// the end of the tag. Where to go on.
    fn plain(&self, new: &mut Rewritten, from: usize) -> Option<usize> {
        let tag = new.rest(from);
        let at = tag.strip_prefix("c r=\"")?;
        let behind_at = at.get(at.bytes().position(|byte| byte == b'"')? + 1..)?;
        let begin = from + tag.len() - behind_at.len();
        let (number, rest) = match behind_at.strip_prefix(" s=\"") {
            Some(old) => {
                let end = old.bytes().position(|byte| byte == b'"')?;
                let number = self.formats.get(old.get(..end)?.parse::<usize>().ok()?)?;
                (Some(number.as_str()), old.get(end + 1..)?)
            }
            None => (None, behind_at),
        };
        let (open, format, close) = match number {
            Some(number) => (" s=\"", number, "\""),
            None => ("", "", ""),
        };
        if let Some(index) = rest.strip_prefix(" t=\"s\"><v>") {
            let end = index.bytes().position(|byte| byte == b'<')?;
            let string = self.strings.get(index.get(..end)?.parse().ok()?)?;
            let rest = index.get(end..)?.strip_prefix("</v></c>")?;
            let next = from + tag.len() - rest.len();
            let shared = " t=\"inlineStr\"><is>";
            new.replace(
                begin..next,
                &[open, format, close, shared, string, "</is></c>"],
            );
            return Some(next);
        }
        let ends = rest.starts_with('>') || rest.starts_with("/>");
        ends.then(|| {
            let next = from + tag.len() - rest.len();
            new.replace(begin..next, &[open, format, close]);
            next
        })
    }

    /// Writes the string that the cell shares whose content begins here; where
    /// its content ends.
    fn string(&self, part: &str, new: &mut Rewritten, from: usize) -> Result<usize, CannotEdit> {
        let content = new.rest(from).strip_prefix("<v>");
        let index = content.and_then(|content| content.get(..memchr(b'<', content.as_bytes())?));
        let string = index.and_then(|index| {
            let string = self.strings.get(index.parse().ok()?)?;
            let after = from + "<v>".len() + index.len();
            let closed = new.rest(after).starts_with("</v>");
            closed.then_some((string, after + "</v>".len()))
        });
        let (string, end) =
            string.ok_or_else(|| CannotEdit::damaged(part, "a cell without its string"))?;
        new.replace(from..end, &["<is>", string, "</is>"]);
        // The end of the cell is no tag that is looked for.
        let closed = new.rest(end).starts_with("</c>");
        Ok(if closed { end + "</c>".len() } else { end })
    }
}

/// A text that is changed from its beginning to its end.
struct Rewritten<'t> {
    text: &'t str,
    /// Up to where it is in `out`.
    copied: usize,
    out: String,
}

impl<'t> Rewritten<'t> {
    fn rest(&self, from: usize) -> &'t str {
        self.text.get(from..).unwrap_or_default()
    }

    fn replace(&mut self, place: Range<usize>, by: &[&str]) {
        let before = self.text.get(self.copied..place.start);
        self.out.push_str(before.unwrap_or_default());
        by.iter().for_each(|text| self.out.push_str(text));
        self.copied = place.end;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_and_strings_are_those_of_the_other_workbook() {
        let strings = "<si><t>a &lt; b</t></si><si><r><t>c</t></r></si>";
        let renumber = Renumber {
            formats: ["0", "17"].map(str::to_owned).into(),
            conditions: ["5"].map(str::to_owned).into(),
            strings: Strings::of("p", strings.to_owned()).expect("sound"),
        };
        let sheet = "<sheetViews><sheetView tabSelected=\"1\" workbookViewId=\"0\"/></sheetViews>\
             <cols><col min=\"1\" max=\"2\" width=\"9\" style=\"1\"/></cols><sheetData>\
             <row r=\"1\" s=\"1\" customFormat=\"1\"><c r=\"A1\" s=\"1\" t=\"s\"><v>0</v></c>\
             <c r=\"B1\" t=\"s\"><v>1</v></c><c r=\"C1\" s=\"1\"/><c r=\"D1\" s=\"0\"><v>4</v></c>\
             <c r=\"E1\" s=\"1\" t=\"str\"><f>A1</f><v>s</v></c><c s=\"1\" r=\"F1\" t=\"s\"><v>1</v></c>\
             <c r=\"G1\"><v>2</v></c></row></sheetData>\
             <cfRule type=\"expression\" dxfId=\"0\" priority=\"1\"/>";
        let new = renumber.sheet("p", sheet, false).expect("sound");
        assert_eq!(
            new,
            "<sheetViews><sheetView workbookViewId=\"0\"/></sheetViews>\
             <cols><col min=\"1\" max=\"2\" width=\"9\" style=\"17\"/></cols><sheetData>\
             <row r=\"1\" s=\"17\" customFormat=\"1\"><c r=\"A1\" s=\"17\" t=\"inlineStr\">\
             <is><t>a &lt; b</t></is></c><c r=\"B1\" t=\"inlineStr\"><is><r><t>c</t></r></is></c>\
             <c r=\"C1\" s=\"17\"/><c r=\"D1\" s=\"0\"><v>4</v></c>\
             <c r=\"E1\" s=\"17\" t=\"str\"><f>A1</f><v>s</v></c>\
             <c s=\"17\" r=\"F1\" t=\"inlineStr\"><is><r><t>c</t></r></is></c>\
             <c r=\"G1\"><v>2</v></c></row></sheetData>\
             <cfRule type=\"expression\" dxfId=\"5\" priority=\"1\"/>"
        );
        let front = renumber.sheet("p", sheet, true).expect("sound");
        assert!(front.starts_with("<sheetViews><sheetView tabSelected=\"1\""));
        let without_string = "<c r=\"A1\" t=\"s\"><v>2</v></c>";
        assert!(renumber.sheet("p", without_string, false).is_err());
    }
}
