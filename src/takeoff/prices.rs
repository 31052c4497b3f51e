//! The user's own price list: item, unit, price.

use std::collections::BTreeMap;
use std::fmt;

/// Prices by item and unit, upper and lower case and spaces set aside.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Prices {
    of: BTreeMap<(String, String), f64>,
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

impl Prices {
    /// Reads a list with the headings item, unit and price, in any order.
    ///
    /// # Errors
    /// A missing heading, a price that is no number, an item named twice.
    pub fn read(text: &str) -> Result<Self, PriceFault> {
        let mut reader = csv::ReaderBuilder::new()
            .flexible(true)
            .from_reader(text.as_bytes());
        let fault = |line: u64, why: String| PriceFault { line, why };
        let headings = reader
            .headers()
            .map_err(|error| fault(1, error.to_string()))?
            .clone();
        let column = |wanted: &str| {
            let bare = |heading: &str| plain(heading.trim_start_matches('\u{feff}'));
            headings
                .iter()
                .position(|heading| bare(heading) == wanted)
                .ok_or_else(|| fault(1, format!("no column \u{201c}{wanted}\u{201d}")))
        };
        let (item, unit, price) = (column("item")?, column("unit")?, column("price")?);
        let mut prices = Self::default();
        for record in reader.records() {
            let record = record.map_err(|error| fault(0, error.to_string()))?;
            let line = record.position().map_or(0, csv::Position::line);
            let cell = |at: usize| record.get(at).unwrap_or_default();
            if record.iter().all(|cell| cell.trim().is_empty()) {
                continue;
            }
            let written = cell(price).replace([',', '$'], "");
            let value: f64 = written
                .trim()
                .parse()
                .ok()
                .filter(|value: &f64| value.is_finite() && *value >= 0.0)
                .ok_or_else(|| {
                    fault(line, format!("\u{201c}{}\u{201d} is no price", cell(price)))
                })?;
            let key = (plain(cell(item)), plain(cell(unit)));
            if prices.of.insert(key, value).is_some() {
                let why = format!("\u{201c}{}\u{201d} is priced twice", cell(item));
                return Err(fault(line, why));
            }
        }
        Ok(prices)
    }

    /// The price of one unit of an item.
    pub fn of(&self, item: &str, unit: &str) -> Option<f64> {
        self.of.get(&(plain(item), plain(unit))).copied()
    }

    pub fn is_empty(&self) -> bool {
        self.of.is_empty()
    }
}
