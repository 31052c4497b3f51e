//! A zip package, checked before anything in it is unpacked.

use super::limits::Limits;
use super::refusal::{Bound, Refusal, within};
use std::collections::BTreeMap;
use std::io::{BufReader, Cursor, Read};
use zip::ZipArchive;
use zip::read::ZipFile;

type Bytes = Cursor<Vec<u8>>;

/// A part of a package, unpacked as it is read, never beyond the size that
/// the package declares for it.
pub(super) type Part<'a> = BufReader<std::io::Take<ZipFile<'a, Bytes>>>;

pub(super) struct Package {
    zip: ZipArchive<Bytes>,
    /// Lower-case names with forward strokes; some programs write others.
    names: BTreeMap<String, usize>,
    /// Bytes of the parts given out so far: a part that is named again and
    /// again costs again and again.
    given: u64,
    most: u64,
}

fn corrupt(error: impl std::fmt::Display) -> Refusal {
    Refusal::Corrupt(error.to_string())
}

impl Package {
    /// Opens a package.
    ///
    /// # Errors
    /// Corrupt; or too many parts, or parts that declare too much.
    pub fn open(bytes: Vec<u8>, limits: &Limits) -> Result<Self, Refusal> {
        let mut zip = ZipArchive::new(Cursor::new(bytes)).map_err(corrupt)?;
        within(Bound::Entries, zip.len() as u64, limits.entries)?;
        let mut names = BTreeMap::new();
        let mut total = 0u64;
        for index in 0..zip.len() {
            let file = zip.by_index_raw(index).map_err(corrupt)?;
            if file.encrypted() {
                return Err(Refusal::Encrypted);
            }
            let size = file.size();
            total = total.saturating_add(size);
            within(Bound::UnpackedBytes, total, limits.unpacked_bytes)?;
            if size > Limits::RATIO_FROM {
                let ratio = size / file.compressed_size().max(1);
                within(Bound::Ratio, ratio, limits.ratio)?;
            }
            let name = file.name().map_err(corrupt)?;
            names.insert(normal(&name), index);
        }
        Ok(Self {
            zip,
            names,
            given: 0,
            most: limits.unpacked_bytes.saturating_mul(2),
        })
    }

    pub fn has(&self, name: &str) -> bool {
        self.names.contains_key(&normal(name))
    }

    /// Whether a part stands in this folder.
    pub fn has_folder(&self, folder: &str) -> bool {
        let next = self.names.range(folder.to_owned()..).next();
        next.is_some_and(|(name, _)| name.starts_with(folder))
    }

    /// The part of that name, `None` where there is none.
    pub fn part(&mut self, name: &str) -> Result<Option<Part<'_>>, Refusal> {
        let Some(index) = self.names.get(&normal(name)) else {
            return Ok(None);
        };
        let file = self.zip.by_index(*index).map_err(corrupt)?;
        let size = file.size();
        self.given = self.given.saturating_add(size);
        within(Bound::UnpackedBytes, self.given, self.most)?;
        Ok(Some(BufReader::with_capacity(
            (size as usize).clamp(256, 32 << 10),
            file.take(size),
        )))
    }

    /// A part that another reader is given; refused above `most` bytes.
    pub fn bytes(&mut self, name: &str, most: u64) -> Result<Option<Vec<u8>>, Refusal> {
        let Some(part) = self.part(name)? else {
            return Ok(None);
        };
        let mut bytes = Vec::new();
        part.take(most + 1)
            .read_to_end(&mut bytes)
            .map_err(corrupt)?;
        within(Bound::UnpackedBytes, bytes.len() as u64, most)?;
        Ok(Some(bytes))
    }

    /// Unpacks every part once into nothing, so that no part is larger than
    /// it declares when a reader without bounds is let at it.
    pub fn check_sizes(&mut self) -> Result<(), Refusal> {
        for index in 0..self.zip.len() {
            let file = self.zip.by_index(index).map_err(corrupt)?;
            let size = file.size();
            let mut bounded = file.take(size.saturating_add(1));
            let found = std::io::copy(&mut bounded, &mut std::io::sink()).map_err(corrupt)?;
            if found > size {
                return Err(corrupt("a part is larger than it says"));
            }
        }
        Ok(())
    }

    /// A small part as text; damaged bytes are replaced.
    pub fn text(&mut self, name: &str, most: u64) -> Result<Option<String>, Refusal> {
        let Some(part) = self.part(name)? else {
            return Ok(None);
        };
        let mut bytes = Vec::new();
        part.take(most).read_to_end(&mut bytes).map_err(corrupt)?;
        Ok(Some(String::from_utf8_lossy(&bytes).into_owned()))
    }

    /// Back to the bytes, for another reader.
    pub fn into_bytes(self) -> Vec<u8> {
        self.zip.into_inner().into_inner()
    }
}

fn normal(name: &str) -> String {
    let name = name.strip_prefix('/').unwrap_or(name);
    name.replace('\\', "/").to_ascii_lowercase()
}

/// A target of a relationship, from the folder of the part that has it.
pub(super) fn resolve(folder: &str, target: &str) -> String {
    let mut parts: Vec<&str> = match target.strip_prefix('/') {
        Some(_) => Vec::new(),
        None => folder.split('/').filter(|p| !p.is_empty()).collect(),
    };
    for part in target.split(['/', '\\']) {
        match part {
            "" | "." => {}
            ".." => {
                parts.pop();
            }
            _ => parts.push(part),
        }
    }
    parts.join("/")
}

/// Folder of a part, and the part that lists its relationships.
pub(super) fn relations_of(part: &str) -> (&str, String) {
    let (folder, name) = part.rsplit_once('/').unwrap_or(("", part));
    let stroke = if folder.is_empty() { "" } else { "/" };
    (folder, format!("{folder}{stroke}_rels/{name}.rels"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn targets_resolve_from_the_folder_of_their_part() {
        for (folder, target, part) in [
            ("xl", "worksheets/sheet1.xml", "xl/worksheets/sheet1.xml"),
            (
                "xl",
                "/xl/worksheets/sheet1.xml",
                "xl/worksheets/sheet1.xml",
            ),
            ("xl/worksheets", "../tables/t1.xml", "xl/tables/t1.xml"),
            ("", "xl/workbook.xml", "xl/workbook.xml"),
            ("xl", "../../../etc/passwd", "etc/passwd"),
        ] {
            assert_eq!(resolve(folder, target), part);
        }
        assert_eq!(
            relations_of("xl/workbook.xml"),
            ("xl", "xl/_rels/workbook.xml.rels".to_owned())
        );
        assert_eq!(relations_of("a.xml"), ("", "_rels/a.xml.rels".to_owned()));
    }
}
