//! Schedules, workbooks and profiles that were damaged by chance, through the
//! properties beside this file: what drives them where there is no fuzzer.

#![allow(dead_code)]

#[path = "properties.rs"]
mod properties;

use super::generate;
use std::io::{Cursor, Read, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::time::{Duration, Instant};

/// What people type into such cells, and what nobody should.
const WORDS: [&str; 40] = [
    "30A/2P",
    "2#10, 1#10G",
    "10/2 NM-B w/G",
    "18/2 STR UNSH",
    "12'-6\"",
    "65m",
    "208/230-1-60",
    "18.2/30",
    "1,3",
    "FC-1",
    "FC-1 thru FC-9999",
    "OU-1",
    "SAME",
    "\"",
    "TBD",
    "NIC",
    "-",
    "",
    "99999999999999999999",
    "-1",
    "1e308",
    "NaN",
    "0",
    "1/0",
    "3/4\" EMT",
    "LP-1,3,5",
    "(2)#3/0",
    "\u{221e}",
    "\u{00bd}",
    "\u{202e}abc",
    "=1+1",
    "Tag",
    "Length (ft)",
    "Total",
    "T-1",
    "bus",
    "\u{0}",
    "12C FC-1",
    "0.0000001",
    "2#10&2#10&2#10",
];

struct Chance(u64);

impl Chance {
    fn below(&mut self, most: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % most.max(1) as u64) as usize
    }

    fn word(&mut self) -> &'static str {
        WORDS[self.below(WORDS.len())]
    }
}

fn damage_text(text: &mut Vec<u8>, chance: &mut Chance) {
    for _ in 0..=chance.below(4) {
        let at = chance.below(text.len() + 1);
        let cell = |text: &[u8], at: usize| {
            let stop = |byte: &u8| b",;\n\t<>".contains(byte);
            let from = text[..at].iter().rposition(&stop).map_or(0, |p| p + 1);
            let to = text[at..]
                .iter()
                .position(stop)
                .map_or(text.len(), |p| at + p);
            from..to
        };
        match chance.below(8) {
            0 => drop(text.splice(at..at, chance.word().bytes())),
            1..=3 => drop(text.splice(cell(text, at), chance.word().bytes())),
            4 => {
                let other = cell(text, chance.below(text.len() + 1));
                let other = text[other].to_vec();
                text.splice(cell(text, at), other);
            }
            5 => {
                // A line again, or lost.
                let from = text[..at]
                    .iter()
                    .rposition(|b| *b == b'\n')
                    .map_or(0, |p| p + 1);
                let to = text[at..]
                    .iter()
                    .position(|b| *b == b'\n')
                    .map_or(text.len(), |p| at + p + 1);
                let line = text[from..to].to_vec();
                match chance.below(2) {
                    0 => text.splice(from..from, line),
                    _ => text.splice(from..to, Vec::new()),
                };
            }
            6 if at < text.len() => text[at] ^= 1 << chance.below(8),
            _ => text.truncate(at.max(8)),
        }
    }
}

/// Damages what is in a package, not only its wrapping, which would be all
/// that flipped bytes reach.
fn damage_package(bytes: &[u8], chance: &mut Chance) -> Option<Vec<u8>> {
    let mut zip = zip::ZipArchive::new(Cursor::new(bytes)).ok()?;
    let chosen = chance.below(zip.len());
    let mut out = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for index in 0..zip.len() {
        let mut part = zip.by_index(index).ok()?;
        let name = part.name().ok()?.into_owned();
        let mut content = Vec::new();
        part.read_to_end(&mut content).ok()?;
        if index == chosen || name.contains("sheet") && chance.below(3) == 0 {
            damage_text(&mut content, chance);
        }
        let stored = zip::write::SimpleFileOptions::default()
            .compression_method(zip::CompressionMethod::Stored);
        out.start_file(name, stored).ok()?;
        out.write_all(&content).ok()?;
    }
    Some(out.finish().ok()?.into_inner())
}

fn seeds() -> (Vec<Vec<u8>>, Vec<Vec<u8>>) {
    let samples = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-schedules");
    let (mut texts, mut books) = (Vec::new(), Vec::new());
    for entry in walkdir::WalkDir::new(samples)
        .sort_by_file_name()
        .into_iter()
        .flatten()
    {
        let ending = entry
            .path()
            .extension()
            .map(|ending| ending.to_string_lossy().into_owned());
        let Ok(bytes) = std::fs::read(entry.path()) else {
            continue;
        };
        match ending.as_deref() {
            Some("csv" | "txt") => texts.push(bytes),
            Some("xlsx") if bytes.len() < 40_000 => books.push(bytes),
            _ => {}
        }
    }
    for table in generate::tables(3) {
        let mut writer = csv::Writer::from_writer(Vec::new());
        for row in table.rows.iter().take(12) {
            writer.write_record(row).expect("a row");
        }
        texts.push(writer.into_inner().expect("rows"));
    }
    books.push(generate::workbook(3).expect("a workbook"));
    (texts, books)
}

/// The profile that the README shows: a value of every kind.
fn profile() -> Vec<u8> {
    let readme = include_str!("../../README.md");
    let (_, profile) = readme.split_once("```toml\n").expect("a profile");
    let (profile, _) = profile.split_once("```").expect("its end");
    assert!(profile.contains("[bus]"));
    profile.as_bytes().to_vec()
}

/// How many inputs were tried.
#[derive(Debug, Default)]
pub struct Tried {
    /// Text files, from bytes to findings.
    pub texts: usize,
    /// Packages of workbooks, likewise.
    pub packages: usize,
    /// Of both, those that were marked up as well, workbooks in place.
    pub marked: usize,
    pub profiles: usize,
    /// Texts of cells, through every grammar.
    pub notations: usize,
}

/// Looks for faults until the time is up.
///
/// # Panics
/// At the first fault, whose input is kept as a file.
pub fn look(seconds: f64, seed: u64) -> Tried {
    let (texts, books) = seeds();
    let profile = profile();
    assert!(texts.len() > 5 && books.len() > 3);
    let mut chance = Chance(seed);
    let began = Instant::now();
    let (mut tried, mut at) = (Tried::default(), 0);
    while began.elapsed() < Duration::from_secs_f64(seconds) {
        at += 1;
        let is_package = at % 4 == 0;
        let input = if is_package {
            let book = &books[chance.below(books.len())];
            let Some(bytes) = damage_package(book, &mut chance) else {
                continue;
            };
            bytes
        } else {
            let mut bytes = texts[chance.below(texts.len())].clone();
            damage_text(&mut bytes, &mut chance);
            bytes
        };
        let mut damaged = profile.clone();
        damage_text(&mut damaged, &mut chance);
        let mark = at % 8 == 0 || at % 16 == 1;
        let outcome = catch_unwind(AssertUnwindSafe(|| {
            properties::road(&input, mark);
            properties::profile(&String::from_utf8_lossy(&damaged));
            let cells = String::from_utf8_lossy(&input);
            let cells = cells.split(['\n', ',']).skip(at % 97).take(16);
            cells.map(properties::notations).count()
        }));
        let Ok(cells) = outcome else {
            let kept = std::env::temp_dir().join(format!("ampledger-fault-{seed:x}-{at}"));
            std::fs::write(&kept, &input).expect("the input can be kept");
            std::fs::write(kept.with_extension("toml"), &damaged).expect("and the profile");
            panic!("input {at} of seed {seed:x}, kept as {}", kept.display());
        };
        tried.texts += usize::from(!is_package);
        tried.packages += usize::from(is_package);
        tried.marked += usize::from(mark);
        tried.profiles += 1;
        tried.notations += cells;
    }
    tried
}
