//! The user's own price list: item, unit, price.

use super::count::boxed;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

/// Rows in which the headings are looked for.
const HEADING_ROWS: usize = 20;

/// Prices of one foot, one piece or one box, by item. Case, spaces, commas
/// and the order of the words are set aside.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Prices {
    of: BTreeMap<(Vec<String>, Option<&'static str>), Entry>,
    /// Lines with an item and no price.
    without: Vec<u64>,
}

#[derive(Clone, Debug, PartialEq)]
struct Entry {
    price: f64,
    line: u64,
    /// As the list writes it.
    item: String,
}

/// Why a price list cannot be used.
#[derive(Clone, Debug, PartialEq)]
pub struct PriceFault {
    /// From one, the heading row counted.
    pub line: u64,
    pub why: String,
}

impl fmt::Display for PriceFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}: {}", self.line, self.why)
    }
}

fn plain(text: &str) -> String {
    let words: Vec<String> = text.split_whitespace().map(str::to_lowercase).collect();
    words.join(" ")
}

/// The words of an item, in alphabetical order: `Breaker, 40A 2P` and
/// `breaker 40 A 2-pole` are one. A figure stands apart from the letters
/// behind it; what only means `AWG` or `pole` in other letters is turned.
fn words(item: &str) -> Vec<String> {
    let mut spaced = String::with_capacity(item.len() + 8);
    let mut before = ' ';
    for c in item.to_lowercase().chars() {
        let is_comma = c == ',' || c == ';' || c == '(' || c == ')';
        if is_comma && !before.is_ascii_digit() {
            spaced.push(' ');
        } else if c == '#' {
            spaced.push_str(" awg ");
        } else if before.is_ascii_digit() && c.is_alphabetic() {
            spaced.push(' ');
            spaced.push(c);
        } else if c == '-' && before.is_ascii_digit() {
            // `2-pole`
            spaced.push(' ');
        } else {
            spaced.push(c);
        }
        before = c;
    }
    let mut words: Vec<String> = spaced
        .split_whitespace()
        .map(|word| word.trim_matches(|c: char| c == ',' || c == '.' || c == '-'))
        .filter(|word| !word.is_empty())
        .map(|word| match word {
            "amp" | "amps" | "ampere" | "amperes" => "a".to_owned(),
            "poles" | "p" => "pole".to_owned(),
            "conductors" => "conductor".to_owned(),
            // A comma of thousands.
            number if number.starts_with(|c: char| c.is_ascii_digit()) => number.replace(',', ""),
            other => other.to_owned(),
        })
        .collect();
    words.sort_unstable();
    // `#10 AWG` says it twice.
    words.dedup_by(|a, b| a == "awg" && a == b);
    words
}

/// What a price is for: how many, and of what; the item's own unit where
/// only how many is told. `ea`, `per 100 ft`, `C`, `M`, `box`.
fn unit(text: &str) -> Option<(f64, Option<&'static str>)> {
    let text = plain(text).replace([',', '.'], "");
    let text = text.trim_start_matches(['/', ' ']);
    let text = text.strip_prefix("per ").unwrap_or(text).trim();
    let digits = text.len() - text.trim_start_matches(|c: char| c.is_ascii_digit()).len();
    let (figure, name) = text.split_at(digits);
    let count = match figure {
        "" => 1.0,
        figure => figure.parse::<f64>().ok().filter(|count| *count > 0.0)?,
    };
    let name = name.trim_start_matches(['-', ' ']);
    let (times, of) = match name {
        "" if digits == 0 => (1.0, None),
        "each" | "ea" | "e" | "pc" | "pcs" | "piece" | "pieces" | "no" | "unit" => {
            (1.0, Some("each"))
        }
        "ft" | "foot" | "feet" | "lf" | "'" | "lft" | "lin ft" => (1.0, Some("ft")),
        "clf" => (100.0, Some("ft")),
        "mlf" | "mft" | "kft" => (1000.0, Some("ft")),
        // Prices by the hundred and by the thousand, as supply houses write.
        "c" => (100.0, None),
        "m" => (1000.0, None),
        "box" | "bx" | "boxes" => (1.0, Some("box")),
        // `1,000 ft box`
        "ft box" | "ft bx" if figure == "1000" => return Some((1.0, Some("box"))),
        _ => return None,
    };
    Some((count * times, of))
}

/// A price as written, and what is written behind it: `$85.00 / C`. `None`
/// where it is no number; a comma before one or two last digits is that of
/// the decimals.
fn money(text: &str) -> Option<(f64, String)> {
    let text = text.trim();
    let sign = |c: char| "$\u{20ac}\u{a3}".contains(c) || c.is_whitespace();
    let mut rest = text.trim_start_matches(sign);
    for name in ["usd", "us$", "cad", "eur"] {
        if rest
            .get(..3)
            .is_some_and(|start| start.eq_ignore_ascii_case(name))
        {
            rest = rest.get(3..).unwrap_or_default().trim_start_matches(sign);
        }
    }
    let is_figure = |c: char| c.is_ascii_digit() || c == '.' || c == ',';
    let end = rest.find(|c| !is_figure(c)).unwrap_or(rest.len());
    let (figures, behind) = rest.split_at(end);
    let figures = figures.trim_end_matches(',');
    let (comma, dot) = (figures.rfind(','), figures.rfind('.'));
    let decimal = match (comma, dot) {
        (Some(comma), Some(dot)) => comma.max(dot),
        (Some(comma), None) if (1..=2).contains(&(figures.len() - comma - 1)) => comma,
        (Some(_), None) => figures.len(),
        (None, Some(dot)) => dot,
        (None, None) => figures.len(),
    };
    let (whole, part) = figures.split_at(decimal);
    let part = part.trim_start_matches([',', '.']);
    let number = format!("{}.{part}", whole.replace([',', '.'], ""));
    let value: f64 = number.parse().ok()?;
    let behind = behind.trim().trim_start_matches(sign).trim();
    let behind = match behind.to_ascii_lowercase().as_str() {
        "usd" | "cad" | "eur" => "",
        _ => behind,
    };
    (value.is_finite() && !figures.is_empty()).then(|| (value, behind.to_owned()))
}

/// Cells of an item that has no price.
fn says_none(text: &str) -> bool {
    let plain = plain(text);
    let plain = plain.trim_matches(|c: char| !c.is_alphanumeric());
    ["", "tbd", "n/a", "na", "call", "quote", "by quote", "none"].contains(&plain)
}

/// The columns of item, unit and price by their headings.
fn columns(row: &[String]) -> [Option<usize>; 3] {
    const KNOWN: [&[&str]; 3] = [
        &["item", "description", "material", "items"],
        &["unit", "uom", "u/m", "units", "per", "price per"],
        &["price", "unit price", "cost", "unit cost", "each price"],
    ];
    KNOWN.map(|known| {
        let is = |cell: &String| {
            let bare = plain(cell.trim_start_matches('\u{feff}'));
            // `Price (USD)`, `Price [$]`
            let bare = bare.split(['(', '[', '$']).next().unwrap_or("").trim();
            known.contains(&bare)
        };
        row.iter().position(is)
    })
}

impl Prices {
    /// Reads a list from CSV text; a user's file is read as any table is.
    ///
    /// # Errors
    /// As [`Self::of_rows`].
    #[cfg(test)]
    pub fn read(text: &str) -> Result<Self, PriceFault> {
        let mut reader = csv::ReaderBuilder::new()
            .flexible(true)
            .has_headers(false)
            .from_reader(text.as_bytes());
        let mut rows = Vec::new();
        for record in reader.records() {
            let record = record.map_err(|error| PriceFault {
                line: error.position().map_or(0, csv::Position::line),
                why: error.to_string(),
            })?;
            let line = record.position().map_or(0, csv::Position::line);
            rows.push((line, record.iter().map(str::to_owned).collect()));
        }
        Self::of_rows(&rows)
    }

    /// Takes a list from its rows, each with its number. Lines without a
    /// price are left out.
    ///
    /// # Errors
    /// A missing heading, a price that is no number, a unit that is not
    /// known, an item named twice with different prices.
    pub fn of_rows(rows: &[(u64, Vec<String>)]) -> Result<Self, PriceFault> {
        let fault = |line: u64, why: String| PriceFault { line, why };
        let best = rows
            .iter()
            .take(HEADING_ROWS)
            .enumerate()
            .max_by_key(|(at, (_, row))| {
                let found = columns(row).iter().flatten().count();
                (found, std::cmp::Reverse(*at))
            });
        let Some((head, (line, row))) = best else {
            return Err(fault(1, "the list is empty".to_owned()));
        };
        let found = columns(row);
        let wanted = |at: usize, name: &str| {
            found[at].ok_or_else(|| {
                let why = format!(
                    "no column \u{201c}{name}\u{201d}; the list needs the headings item, unit and \
                     price"
                );
                fault(*line, why)
            })
        };
        let columns = [wanted(0, "item")?, wanted(1, "unit")?, wanted(2, "price")?];
        let mut prices = Self::default();
        for (line, row) in rows.iter().skip(head + 1) {
            if row.iter().any(|cell| !cell.trim().is_empty()) {
                let cell = |at: usize| row.get(at).map_or("", String::as_str).trim();
                prices
                    .add(*line, columns.map(cell))
                    .map_err(|why| fault(*line, why))?;
            }
        }
        Ok(prices)
    }

    fn add(&mut self, line: u64, [item, per, price]: [&str; 3]) -> Result<(), String> {
        // A heading between groups of items.
        if item.is_empty() || per.is_empty() && price.is_empty() {
            return Ok(());
        }
        if says_none(price) {
            self.without.push(line);
            return Ok(());
        }
        let Some((amount, behind)) = money(price) else {
            return Err(format!(
                "\u{201c}{price}\u{201d} is no price; expected a number, as in 12.50 or $1,200"
            ));
        };
        let told = if per.is_empty() { &behind } else { per };
        let unknown = |text: &str| {
            format!(
                "\u{201c}{text}\u{201d} is no unit that is known; expected each, ft, per 100 ft, \
                 per 1000 ft, C, M or box"
            )
        };
        let (count, of) = unit(told).ok_or_else(|| unknown(told))?;
        if !per.is_empty() && !behind.is_empty() {
            let again = unit(&behind).ok_or_else(|| unknown(&behind))?;
            if again.0 != count {
                return Err(format!(
                    "the price \u{201c}{price}\u{201d} and the unit \u{201c}{per}\u{201d} differ"
                ));
            }
        }
        let entry = Entry {
            price: amount / count,
            line,
            item: item.to_owned(),
        };
        // A price by the hundred says nothing of the unit: it may be either.
        let words = words(item);
        let either = |known: &Option<&'static str>| known.is_none() || of.is_none() || *known == of;
        let units = super::UNITS.iter().copied().map(Some);
        for known in std::iter::once(None).chain(units).filter(either) {
            let Some(first) = self.of.get(&(words.clone(), known)) else {
                continue;
            };
            let scale = first.price.abs().max(entry.price.abs()).max(1e-9);
            if (first.price - entry.price).abs() > scale * 1e-9 {
                return Err(format!(
                    "\u{201c}{item}\u{201d} is priced twice: another price stands in line {}",
                    first.line
                ));
            }
        }
        self.of.entry((words, of)).or_insert(entry);
        Ok(())
    }

    fn entry(&self, item: &str, unit: &str) -> Option<&Entry> {
        let words = words(item);
        let unit = super::UNITS.iter().find(|known| plain(unit) == **known)?;
        let of = |unit| self.of.get(&(words.clone(), unit));
        of(Some(*unit)).or_else(|| of(None))
    }

    /// The price of one unit of an item.
    pub fn of(&self, item: &str, unit: &str) -> Option<f64> {
        Some(self.entry(item, unit)?.price)
    }

    pub fn is_empty(&self) -> bool {
        self.of.is_empty()
    }

    /// Whether anything is to be said of it: it has lines, priced or not.
    pub fn is_given(&self) -> bool {
        !self.is_empty() || !self.without.is_empty()
    }

    /// Sentences on a takeoff of these items by name and unit: lines of the
    /// list that price none of them, and items that no line prices.
    pub fn gaps<'a>(&self, items: impl Iterator<Item = (&'a str, &'a str)>) -> Vec<String> {
        if !self.is_given() {
            return Vec::new();
        }
        let (mut used, mut unpriced) = (BTreeSet::new(), BTreeSet::new());
        for (item, unit) in items {
            match self.entry(item, unit) {
                Some(entry) => _ = used.insert(entry.line),
                // Bought by the box.
                None if unit == "ft" && self.of(&boxed(item).name, "box").is_some() => {}
                None => _ = unpriced.insert(format!("{item} ({unit})")),
            }
        }
        let spare: Vec<String> = self
            .of
            .values()
            .filter(|entry| !used.contains(&entry.line))
            .map(|entry| (entry.line, &entry.item))
            .collect::<BTreeMap<_, _>>()
            .into_iter()
            .map(|(line, item)| format!("{item} (line {line})"))
            .collect();
        let mut says = Vec::new();
        if !unpriced.is_empty() {
            says.push(format!(
                "price list: no price for {}",
                some(unpriced.into_iter().collect())
            ));
        }
        if !spare.is_empty() {
            says.push(format!(
                "price list: no such item in the takeoff, as takeoff.csv names them: {}",
                some(spare)
            ));
        }
        if !self.without.is_empty() {
            let lines = self.without.iter().map(u64::to_string).collect();
            says.push(format!(
                "price list: lines without a price: {}",
                some(lines)
            ));
        }
        says
    }
}

/// The first of many, and how many more.
fn some(mut items: Vec<String>) -> String {
    const SHOWN: usize = 8;
    let more = items.len().saturating_sub(SHOWN);
    items.truncate(SHOWN);
    let text = items.join("; ");
    match more {
        0 => text,
        more => format!("{text}; and {more} more"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_estimators_list_is_read() {
        let prices = Prices::read(
            "Invented price list,,,\n,,,\nDescription,Stock no.,U/M,Unit price (USD)\n\
             BREAKERS,,,\n\
             \"Breaker, 40A 2P\",1,EA,\"$ 21.50\"\n\
             Cable NM-B 14/2,2,per 100 ft,$62.00\n\
             conductor #10 AWG,3,M,\"USD 1,240.00\"\n\
             grounding conductor 10 awg,4,/ft,\"0,55\"\n\
             fuse 35 A,5,,$85.00/C\n\
             bus wire 18 AWG,6,CLF,TBD\n\
             \"bus wire 18 AWG, box of 1,000 ft\",7,1000 ft box,189\n\
             \"Breaker 40 A, 2-pole\",8,each,21.5\n",
        )
        .expect("a list");
        for (item, unit, price) in [
            ("breaker 40 A 2-pole", "each", Some(21.5)),
            ("14/2 NM-B cable", "ft", Some(0.62)),
            ("conductor 10 AWG", "ft", Some(1.24)),
            ("grounding conductor 10 AWG", "ft", Some(0.55)),
            ("fuse 35 A", "each", Some(0.85)),
            ("bus wire 18 AWG", "ft", None),
            ("bus wire 18 AWG, box of 1,000 ft", "box", Some(189.0)),
            ("breaker 40 A 2-pole", "ft", None),
            ("breaker 40 A 3-pole", "each", None),
        ] {
            let found = prices.of(item, unit);
            let same = match (found, price) {
                (Some(a), Some(b)) => (a - b).abs() < 1e-9,
                (a, b) => a == b,
            };
            assert!(same, "{item} {unit}: {found:?}");
        }
        let gaps = prices.gaps([("fuse 35 A", "each"), ("fuse 60 A", "each")].into_iter());
        assert_eq!(gaps.len(), 3, "{gaps:#?}");
        assert!(
            gaps[0].ends_with("no price for fuse 60 A (each)"),
            "{gaps:#?}"
        );
        assert!(
            gaps[1].contains("Breaker, 40A 2P (line 5); Cable NM-B 14/2 (line 6)"),
            "{gaps:#?}"
        );
        assert!(gaps[2].ends_with("lines without a price: 10"), "{gaps:#?}");
    }

    #[test]
    fn money_is_read_with_signs_and_either_comma() {
        for (text, value) in [
            ("12.50", 12.5),
            ("$1,200", 1200.0),
            ("1,200.50", 1200.5),
            ("1.200,50 \u{20ac}", 1200.5),
            ("0,55", 0.55),
            ("US$ 3", 3.0),
            (".85", 0.85),
        ] {
            assert_eq!(money(text).map(|(value, _)| value), Some(value), "{text}");
        }
        for text in ["dear", "-4", "", "$"] {
            assert_eq!(money(text), None, "{text}");
        }
    }

    #[test]
    fn a_list_that_cannot_be_meant_is_refused_by_line() {
        let fault = |text: &str| Prices::read(text).expect_err("a fault");
        let two = fault("item,unit,price\nfuse 35 A,each,2\nFuse 35A,C,300\n");
        assert_eq!(two.line, 3);
        assert!(two.why.contains("line 2"), "{two}");
        let unit = fault("item,unit,price\nfuse 35 A,barrel,2\n");
        assert!(unit.line == 2 && unit.why.contains("barrel"), "{unit}");
        let both = fault("item,unit,price\n14/2 NM-B cable,ft,$62/C\n");
        assert!(both.why.contains("differ"), "{both}");
        assert_eq!(fault("item,unit\nx,ft\n").line, 1);
    }
}
