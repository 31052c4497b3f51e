//! Splits text into records and fields.
//!
//! By hand and not by a library, because the text of schedules breaks the
//! rules in ways that have to survive: inch marks at the edge of a field, a
//! lone quote mark as a ditto, blank lines whose number counts.

use super::refusal::Refusal;
use std::borrow::Cow;

/// Splits text into records, one a line but for line ends inside quotes.
pub(super) struct Records<'a> {
    text: &'a str,
    at: usize,
    delimiter: u8,
    /// Fields of the record before.
    width: usize,
}

impl<'a> Records<'a> {
    pub fn new(text: &'a str, delimiter: u8) -> Self {
        Self {
            text,
            at: 0,
            delimiter,
            width: 0,
        }
    }

    /// Gives each field of the next record with its column; `false` at the
    /// end of the text.
    pub fn next_record(
        &mut self,
        mut field: impl FnMut(usize, Cow<'a, str>) -> Result<(), Refusal>,
    ) -> Result<bool, Refusal> {
        let bytes = self.text.as_bytes();
        if self.at >= bytes.len() {
            return Ok(false);
        }
        let mut column = 0;
        loop {
            let (content, end) = match self.quoted() {
                Some(found) => found,
                None => {
                    let end = self.field_end(self.at);
                    (Cow::Borrowed(self.slice(self.at, end)), end)
                }
            };
            field(column, content)?;
            column += 1;
            match bytes.get(end) {
                Some(b'\r') if bytes.get(end + 1) == Some(&b'\n') => self.at = end + 2,
                Some(b'\r' | b'\n') => self.at = end + 1,
                Some(_) => {
                    self.at = end + 1;
                    continue;
                }
                None => self.at = bytes.len(),
            }
            self.width = column;
            return Ok(true);
        }
    }

    fn slice(&self, from: usize, to: usize) -> &'a str {
        // Ends lie on ASCII bytes, so never inside a character.
        self.text.get(from..to).unwrap_or_default()
    }

    /// End of a field without quotes that starts at `from`.
    fn field_end(&self, from: usize) -> usize {
        let rest = self.text.as_bytes().get(from..).unwrap_or_default();
        let end = rest
            .iter()
            .position(|b| *b == self.delimiter || *b == b'\n' || *b == b'\r');
        from + end.unwrap_or(rest.len())
    }

    /// The field at hand and its end, if it is quoted from end to end.
    /// Otherwise its quote marks are text: inches, or a ditto.
    fn quoted(&self) -> Option<(Cow<'a, str>, usize)> {
        let bytes = self.text.as_bytes();
        if bytes.get(self.at) != Some(&b'"') {
            return None;
        }
        let start = self.at + 1;
        let mut at = start;
        let mut doubled = false;
        loop {
            at += bytes.get(at..)?.iter().position(|b| *b == b'"')?;
            match bytes.get(at + 1) {
                Some(b'"') => {
                    doubled = true;
                    at += 2;
                }
                None | Some(b'\r' | b'\n') => break,
                Some(next) if *next == self.delimiter => break,
                // Blanks may stand between the quote mark and the delimiter.
                Some(_) => {
                    let end = self.field_end(at + 1);
                    if !self.slice(at + 1, end).trim().is_empty() {
                        return None;
                    }
                    break;
                }
            }
        }
        let content = self.slice(start, at);
        if self.swallows(content) {
            return None;
        }
        let end = self.field_end(at + 1);
        Some(if doubled {
            (Cow::Owned(content.replace("\"\"", "\"")), end)
        } else {
            (Cow::Borrowed(content), end)
        })
    }

    /// Two stray quote marks in two cells look like one field around all that
    /// lies between: dittos in `FC-2,",30A` over `FC-3,",30A`. Told by
    /// delimiters at both edges, or by whole records inside.
    fn swallows(&self, content: &str) -> bool {
        let bytes = content.as_bytes();
        let (Some(first), Some(last)) = (bytes.first(), bytes.last()) else {
            return false;
        };
        let edge = |b: u8| b == self.delimiter || b == b'\n' || b == b'\r';
        if edge(*first) && edge(*last) {
            return true;
        }
        let breaks = bytes.iter().filter(|b| **b == b'\n').count();
        if breaks == 0 || self.width < 3 {
            return false;
        }
        let delimiters = bytes.iter().filter(|b| **b == self.delimiter).count();
        delimiters >= (self.width - 1) * breaks
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn split(text: &str) -> Vec<Vec<String>> {
        let mut records = Records::new(text, b',');
        let mut all = Vec::new();
        loop {
            let mut fields = Vec::new();
            let more = records.next_record(|column, field| {
                assert_eq!(column, fields.len());
                fields.push(field.into_owned());
                Ok(())
            });
            if more != Ok(true) {
                return all;
            }
            all.push(fields);
        }
    }

    #[test]
    fn records_and_fields_are_split() {
        // Quoting as in RFC 4180; what breaks it stays as it was typed.
        for (text, expected) in [
            ("a,b\nc,d", &[&["a", "b"][..], &["c", "d"]][..]),
            ("a,b\r\nc,d\r\n", &[&["a", "b"], &["c", "d"]]),
            ("a,b\rc,d\r", &[&["a", "b"], &["c", "d"]]),
            ("a\n\nb", &[&["a"], &[""], &["b"]]),
            ("a,", &[&["a", ""]]),
            ("\"a,b\",c", &[&["a,b", "c"]]),
            ("\"a\"\"b\",c", &[&["a\"b", "c"]]),
            ("\"a\nb\",c\nd", &[&["a\nb", "c"], &["d"]]),
            ("\"\",c", &[&["", "c"]]),
            ("\"a\" ,c", &[&["a", "c"]]),
            ("12'-6\",c\n3\",d", &[&["12'-6\"", "c"], &["3\"", "d"]]),
            ("\"3/4\" EMT,c", &[&["\"3/4\" EMT", "c"]]),
            ("x,\"unclosed\ny,z", &[&["x", "\"unclosed"], &["y", "z"]]),
            ("a,\",1\nb,\",2\n", &[&["a", "\"", "1"], &["b", "\"", "2"]]),
            ("a,\",\"\nb,c,d\n", &[&["a", "\"", "\""], &["b", "c", "d"]]),
            (
                "a,b,c\n\"x,1,2\ny,6\",3\n",
                &[&["a", "b", "c"], &["\"x", "1", "2"], &["y", "6\"", "3"]],
            ),
            ("\u{2033},\u{d8}\n", &[&["\u{2033}", "\u{d8}"]]),
        ] {
            assert_eq!(split(text), expected, "{text:?}");
        }
    }

    #[test]
    fn what_a_csv_library_writes_reads_back() {
        // No field both begins and ends with a delimiter or line end: those
        // are taken for two stray quote marks, a known limit.
        let pieces = [
            "FC-1",
            "12'-6\"",
            "a,b",
            "Min\nCkt",
            "",
            "x \"y\" z",
            "\u{d8}",
            "\"q\"",
        ];
        let rows: Vec<Vec<&str>> = (0..64usize)
            .map(|n| vec!["tag", pieces[n % 8], pieces[n / 8], pieces[(n * 5 + 3) % 8]])
            .collect();
        let mut writer = csv::Writer::from_writer(Vec::new());
        for row in &rows {
            writer.write_record(row).expect("a record");
        }
        let bytes = writer.into_inner().expect("all records");
        assert_eq!(split(&String::from_utf8_lossy(&bytes)), rows);
    }

    #[test]
    fn stray_quote_marks_cost_no_quadratic_time() {
        let text = "\"x,\"\"y,\n".repeat(100_000);
        assert_eq!(split(&text).len(), 100_000);
    }
}
