//! The package: a zip archive of parts. Those that nobody changes are copied
//! as they are compressed.

use super::fault::CannotEdit;
use super::xml::Document;
use std::collections::BTreeMap;
use std::io::{Cursor, Read, Write};
use zip::write::SimpleFileOptions;
use zip::{DateTime, ZipArchive, ZipWriter};

/// Unpacked bytes of all parts, above which a package is not edited.
const MOST_BYTES: u64 = 256 << 20;
const COMPOUND_FILE: [u8; 4] = [0xD0, 0xCF, 0x11, 0xE0];

pub(super) struct Archive<'a> {
    zip: ZipArchive<Cursor<&'a [u8]>>,
    /// By the name in lower case: place in the archive, name as written.
    parts: BTreeMap<String, (usize, String)>,
    /// `None` for parts taken away.
    changed: BTreeMap<String, Option<Vec<u8>>>,
    /// New parts, as they came.
    added: Vec<String>,
}

/// How two names of a part are compared.
fn key(name: &str) -> String {
    normal(name).to_ascii_lowercase()
}

fn normal(name: &str) -> String {
    name.trim_start_matches('/').replace('\\', "/")
}

impl<'a> Archive<'a> {
    /// # Errors
    /// Encrypted, no package, too large, or two parts of one name.
    pub fn open(bytes: &'a [u8]) -> Result<Self, CannotEdit> {
        if bytes.starts_with(&COMPOUND_FILE) {
            // Workbooks of the old format begin so as well.
            let locked: Vec<u8> = "EncryptedPackage".bytes().flat_map(|b| [b, 0]).collect();
            let locked = bytes.windows(locked.len()).any(|window| window == locked);
            return Err(match locked {
                true => CannotEdit::Encrypted,
                false => CannotEdit::NotAPackage,
            });
        }
        let zip = ZipArchive::new(Cursor::new(bytes));
        let mut zip = zip.map_err(|_| CannotEdit::NotAPackage)?;
        let mut parts = BTreeMap::new();
        let mut total = 0u64;
        for index in 0..zip.len() {
            let file = zip
                .by_index_raw(index)
                .map_err(|error| CannotEdit::damaged("the archive", error))?;
            if file.encrypted() {
                return Err(CannotEdit::Encrypted);
            }
            total = total.saturating_add(file.size());
            let name = file
                .name()
                .map_err(|error| CannotEdit::damaged("the archive", error))?;
            let part = (index, normal(&name));
            if parts.insert(key(&name), part).is_some() {
                return Err(CannotEdit::damaged(&name, "two parts have this name"));
            }
        }
        if total > MOST_BYTES {
            return Err(CannotEdit::TooLarge);
        }
        Ok(Self {
            zip,
            parts,
            changed: BTreeMap::new(),
            added: Vec::new(),
        })
    }

    pub fn has(&self, part: &str) -> bool {
        match self.changed.get(&key(part)) {
            Some(change) => change.is_some(),
            None => self.parts.contains_key(&key(part)),
        }
    }

    pub fn bytes(&mut self, part: &str) -> Result<Option<Vec<u8>>, CannotEdit> {
        let key = key(part);
        if let Some(change) = self.changed.get(&key) {
            return Ok(change.clone());
        }
        let Some((index, _)) = self.parts.get(&key) else {
            return Ok(None);
        };
        let file = self.zip.by_index(*index);
        let file = file.map_err(|error| CannotEdit::damaged(part, error))?;
        let size = file.size();
        let mut bytes = Vec::with_capacity(usize::try_from(size.min(64 << 20)).unwrap_or(0));
        file.take(size)
            .read_to_end(&mut bytes)
            .map_err(|error| CannotEdit::damaged(part, error))?;
        Ok(Some(bytes))
    }

    /// A part as text, a mark of byte order included.
    ///
    /// # Errors
    /// Damaged, or not in UTF-8.
    pub fn text(&mut self, part: &str) -> Result<Option<String>, CannotEdit> {
        let Some(bytes) = self.bytes(part)? else {
            return Ok(None);
        };
        let encoding = || CannotEdit::Encoding {
            part: part.to_owned(),
        };
        let text = String::from_utf8(bytes).map_err(|_| encoding())?;
        match declared_encoding(&text) {
            Some(name) if !["utf-8", "utf8", "us-ascii"].contains(&name.as_str()) => {
                Err(encoding())
            }
            _ => Ok(Some(text)),
        }
    }

    /// A part that has to be there.
    pub fn document(&mut self, part: &str) -> Result<Document, CannotEdit> {
        let text = self.text(part)?;
        let text = text.ok_or_else(|| CannotEdit::damaged(part, "the part is missing"))?;
        Document::new(part, text)
    }

    /// The first bytes of a part: what stands before its rows.
    pub fn head(&mut self, part: &str, most: u64) -> Result<Vec<u8>, CannotEdit> {
        let key = key(part);
        if let Some(change) = self.changed.get(&key) {
            let most = usize::try_from(most).unwrap_or(usize::MAX);
            let whole = change.as_deref().unwrap_or_default();
            return Ok(whole.get(..most).unwrap_or(whole).to_vec());
        }
        let Some((index, _)) = self.parts.get(&key) else {
            return Ok(Vec::new());
        };
        let file = self.zip.by_index(*index);
        let file = file.map_err(|error| CannotEdit::damaged(part, error))?;
        let mut bytes = Vec::new();
        file.take(most)
            .read_to_end(&mut bytes)
            .map_err(|error| CannotEdit::damaged(part, error))?;
        Ok(bytes)
    }

    /// Sets the content of a part, new or not.
    pub fn set(&mut self, part: &str, content: Vec<u8>) {
        let key = key(part);
        if !self.parts.contains_key(&key) && !matches!(self.changed.get(&key), Some(Some(_))) {
            self.added.push(normal(part));
        }
        self.changed.insert(key, Some(content));
    }

    pub fn remove(&mut self, part: &str) {
        let key = key(part);
        self.added.retain(|name| name.to_ascii_lowercase() != key);
        // A part that comes again comes at the end.
        self.changed.insert(key, None);
    }

    /// Whether a part was taken away.
    pub fn removed(&self, part: &str) -> bool {
        matches!(self.changed.get(&key(part)), Some(None))
    }

    /// Names of the parts that are there now.
    pub fn names(&self) -> Vec<String> {
        let old = self
            .parts
            .iter()
            .filter(|(key, _)| !matches!(self.changed.get(*key), Some(None)));
        let old = old.map(|(_, (_, name))| name.clone());
        old.chain(self.added.iter().cloned()).collect()
    }

    /// A name that no part has: `xl/drawings/drawing1.xml` with the next
    /// free number.
    pub fn free_name(&self, wanted: &str) -> String {
        let (folder, file) = wanted.rsplit_once('/').unwrap_or(("", wanted));
        let (stem, ending) = file.rsplit_once('.').unwrap_or((file, "xml"));
        let stem = stem.trim_end_matches(|c: char| c.is_ascii_digit());
        let stroke = if folder.is_empty() { "" } else { "/" };
        let mut number = 1u32;
        loop {
            let name = format!("{folder}{stroke}{stem}{number}.{ending}");
            if !self.has(&name) {
                return name;
            }
            number += 1;
        }
    }

    /// The new package. Its times are those of the original, and none for
    /// what is new.
    pub fn save(mut self) -> Result<Vec<u8>, CannotEdit> {
        let broken = |part: &str, error: &dyn std::fmt::Display| CannotEdit::damaged(part, error);
        let mut out = ZipWriter::new(Cursor::new(Vec::new()));
        // Marking again gives the same bytes, so that all parts are packed alike.
        let options = SimpleFileOptions::default()
            .last_modified_time(DateTime::default())
            .compression_level(Some(crate::report::PACKED_QUICKLY.into()));
        let mut names = vec![None; self.zip.len()];
        for (key, (index, name)) in &self.parts {
            if let Some(slot) = names.get_mut(*index) {
                *slot = Some((key, name));
            }
        }
        for (index, slot) in names.into_iter().enumerate() {
            let Some((key, name)) = slot else { continue };
            match self.changed.get(key) {
                None => {
                    let file = self.zip.by_index_raw(index);
                    let file = file.map_err(|error| broken(name, &error))?;
                    out.raw_copy_file(file)
                        .map_err(|error| broken(name, &error))?;
                }
                Some(None) => {}
                Some(Some(content)) => {
                    out.start_file(name, options)
                        .map_err(|error| broken(name, &error))?;
                    out.write_all(content)
                        .map_err(|error| broken(name, &error))?;
                }
            }
        }
        for name in &self.added {
            if let Some(Some(content)) = self.changed.get(&key(name)) {
                out.start_file(name, options)
                    .map_err(|error| broken(name, &error))?;
                out.write_all(content)
                    .map_err(|error| broken(name, &error))?;
            }
        }
        let out = out
            .finish()
            .map_err(|error| broken("the archive", &error))?;
        Ok(out.into_inner())
    }
}

fn declared_encoding(text: &str) -> Option<String> {
    let text = text.trim_start_matches('\u{feff}');
    let declaration = text.strip_prefix("<?xml")?.split_once("?>")?.0;
    let (_, value) = declaration.split_once("encoding")?;
    let value = value.trim_start().strip_prefix('=')?.trim_start();
    let quote = value.chars().next()?;
    let value = value.get(1..)?.split_once(quote)?.0;
    Some(value.to_ascii_lowercase())
}

/// A target of a relationship, from the folder of the part that has it.
pub(super) fn resolve(folder: &str, target: &str) -> String {
    let mut parts: Vec<&str> = match target.strip_prefix(['/', '\\']) {
        Some(_) => Vec::new(),
        None => folder.split('/').filter(|part| !part.is_empty()).collect(),
    };
    for part in target.split(['/', '\\']) {
        match part {
            "" | "." => {}
            ".." => drop(parts.pop()),
            _ => parts.push(part),
        }
    }
    parts.join("/")
}

/// How a part is named from the folder of another.
pub(super) fn relative(folder: &str, part: &str) -> String {
    let from: Vec<&str> = folder.split('/').filter(|part| !part.is_empty()).collect();
    let to: Vec<&str> = part.split('/').collect();
    let most = to.len().saturating_sub(1);
    let common = from
        .iter()
        .zip(to.iter().take(most))
        .take_while(|(a, b)| a == b)
        .count();
    let mut target = "../".repeat(from.len() - common);
    target.push_str(&to.get(common..).unwrap_or_default().join("/"));
    target
}

pub(super) fn folder_of(part: &str) -> &str {
    part.rsplit_once('/').map_or("", |(folder, _)| folder)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn targets_are_resolved_and_made() {
        for (folder, target, part) in [
            ("xl", "worksheets/sheet1.xml", "xl/worksheets/sheet1.xml"),
            ("xl/worksheets", "../tables/t1.xml", "xl/tables/t1.xml"),
            ("", "xl/workbook.xml", "xl/workbook.xml"),
            ("xl/worksheets", "a.xml", "xl/worksheets/a.xml"),
        ] {
            assert_eq!(resolve(folder, target), part);
            assert_eq!(relative(folder, part), target);
        }
        assert_eq!(resolve("a/b", "/xl/s.xml"), "xl/s.xml");
        assert_eq!(relative("b/c", "x/y.xml"), "../../x/y.xml");
    }

    #[test]
    fn an_encoding_is_read_from_its_declaration() {
        for (text, encoding) in [
            (
                "<?xml version=\"1.0\" encoding=\"UTF-8\"?><a/>",
                Some("utf-8"),
            ),
            (
                "\u{feff}<?xml version='1.0' encoding='ISO-8859-1'?><a/>",
                Some("iso-8859-1"),
            ),
            ("<a encoding=\"x\"/>", None),
        ] {
            assert_eq!(declared_encoding(text).as_deref(), encoding);
        }
    }
}
