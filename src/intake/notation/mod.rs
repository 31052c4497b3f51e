//! From the text of one cell to a typed quantity.
//!
//! Pure functions, one grammar a quantity, one file a family. All have the
//! shape `fn(&str, &Context) -> Reading<T>`. A grammar takes the whole text
//! or nothing: what it does not know makes the cell [`Reading::Unreadable`],
//! with the nearest reading as a guess for people, never taken silently.
//!
//! No function here knows where the cell stood, nor any limit of a rule.

mod amps;
mod breaker;
mod conductor;
mod damage;
mod facts;
mod heater;
mod low_voltage;
mod measure;
mod number;
mod ranges;
mod run;
mod slots;
mod supply;
mod tags;
mod text;
mod unit;
mod wiring;
pub mod words;

#[cfg(test)]
mod properties;

pub use amps::{McaMop, amps, fuse, mca_mop, mop, nameplate_amps};
pub use breaker::{Breaker, breaker, poles};
pub use conductor::{conductor, grounding, size};
pub use damage::{DateDamage, date_damage, plausible_breakers, plausible_wires, readable};
pub use facts::{WrittenDate, customer, date, edition, revision, yes_no};
pub use heater::{Heater, heater};
pub use low_voltage::{conductor_count, gauge, low_voltage_wire, shielded, stranded};
pub use measure::{
    Measured, capacity, horsepower, kilowatts, length, temperature, volt_amps, whole_number,
};
pub use number::{Style, decimal_style, number};
pub use run::{purpose, routing, shield_ground, side, splices};
pub use slots::{PanelSlots, panel_slots, slots};
pub use supply::{panel_supply, phases, supply, volts};
pub use tags::{LoadEntry, free_text, loads, name, tag_list};
pub use unit::{disconnect, kind_from_tag, kind_from_text, place, quantity};
pub use wiring::{insulation, raceway, terminals};

/// What one cell says.
#[derive(Clone, Debug, PartialEq)]
pub enum Reading<T> {
    /// The whole text was understood.
    Value(T),
    /// Nothing there, or a word that says so: `-`, `N/A`, `NONE`.
    Blank,
    /// Stated to be unknown: `TBD`, `?`, `SEE NOTE 3`.
    Unknown,
    /// There, and provided or kept by somebody else: `NIC`, `(E) 30A/2P`.
    Elsewhere,
    /// As in the cell above: `SAME`, `"`.
    Same,
    /// Text that the grammar does not know.
    Unreadable {
        /// What was expected, with an example, for people.
        expected: &'static str,
        /// The nearest reading, for people.
        guess: Option<String>,
    },
}

impl<T> Reading<T> {
    /// The value, where there is one.
    pub fn value(self) -> Option<T> {
        match self {
            Self::Value(value) => Some(value),
            _ => None,
        }
    }

    pub fn map<U>(self, with: impl FnOnce(T) -> U) -> Reading<U> {
        match self {
            Self::Value(value) => Reading::Value(with(value)),
            Self::Blank => Reading::Blank,
            Self::Unknown => Reading::Unknown,
            Self::Elsewhere => Reading::Elsewhere,
            Self::Same => Reading::Same,
            Self::Unreadable { expected, guess } => Reading::Unreadable { expected, guess },
        }
    }

    pub fn is_unreadable(&self) -> bool {
        matches!(self, Self::Unreadable { .. })
    }
}

/// What a grammar has to know of the cell's surroundings.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Default)]
pub struct Context {
    /// Settled once a file, see [`decimal_style`].
    pub style: Style,
    /// The unit of measure that the column's heading or units row names.
    pub unit: Option<ColumnUnit>,
}

/// A unit of measure of a whole column.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize,
)]
pub enum ColumnUnit {
    Feet,
    Inches,
    Metres,
    Amps,
    Kiloamps,
    Volts,
    Watts,
    Kilowatts,
    VoltAmps,
    KilovoltAmps,
    BtuPerHour,
    Mbh,
    Tons,
    Horsepower,
    Celsius,
    Fahrenheit,
    Awg,
    SquareMillimetres,
}

impl ColumnUnit {
    /// The unit that the text of a heading's brackets or of a units row
    /// names: `ft`, `(A)`, `BTU/h`; `None` where it names none.
    pub fn parse(text: &str) -> Option<Self> {
        let mut folded = text::fold(text);
        folded.retain(|c| !c.is_whitespace() && !"()[].'\"-".contains(c) || c == '\'' || c == '"');
        Some(match folded.as_str() {
            "FT" | "FEET" | "FOOT" | "LF" | "LINFT" | "LINEARFEET" | "LINEALFEET" | "'" => {
                Self::Feet
            }
            "IN" | "INCH" | "INCHES" | "\"" => Self::Inches,
            "M" | "METER" | "METERS" | "METRE" | "METRES" | "MTR" | "MTRS" => Self::Metres,
            "A" | "AMP" | "AMPS" | "AMPERE" | "AMPERES" => Self::Amps,
            "KA" => Self::Kiloamps,
            "V" | "VOLT" | "VOLTS" | "VAC" => Self::Volts,
            "W" | "WATT" | "WATTS" => Self::Watts,
            "KW" | "KILOWATT" | "KILOWATTS" => Self::Kilowatts,
            "VA" => Self::VoltAmps,
            "KVA" => Self::KilovoltAmps,
            "BTU/H" | "BTUH" | "BTU/HR" | "BTU" => Self::BtuPerHour,
            "MBH" | "KBTU/H" | "KBTUH" | "MBTU/H" | "MBTUH" | "KBTU/HR" => Self::Mbh,
            "TON" | "TONS" | "TR" => Self::Tons,
            "HP" | "BHP" => Self::Horsepower,
            "C" | "°C" | "DEGC" => Self::Celsius,
            "F" | "°F" | "DEGF" => Self::Fahrenheit,
            "AWG" | "GA" | "GAUGE" => Self::Awg,
            "MM2" | "SQMM" | "MMSQ" | "SQ" => Self::SquareMillimetres,
            _ => return None,
        })
    }
}

/// Asks for words for nothing, then for the grammar; else offers a guess.
fn read<T>(text: &str, expected: &'static str, parse: impl Fn(&str) -> Option<T>) -> Reading<T> {
    match words::classify(text) {
        Some(nothing) => nothing.into(),
        None => grammar(text, expected, parse),
    }
}

/// As [`read`], with a guess of the grammar's own before the usual one.
fn read_or_guess<T>(
    text: &str,
    expected: &'static str,
    parse: impl Fn(&str) -> Option<T>,
    own: impl FnOnce(&str) -> Option<String>,
) -> Reading<T> {
    match read(text, expected, parse) {
        Reading::Unreadable { expected, guess } => Reading::Unreadable {
            expected,
            guess: own(&text::fold(text)).or(guess),
        },
        reading => reading,
    }
}

/// The grammar alone, for fields in which such words are values.
fn grammar<T>(text: &str, expected: &'static str, parse: impl Fn(&str) -> Option<T>) -> Reading<T> {
    let folded = text::fold(text);
    // Grammars of phrases drop signs: a doubt is no part of any value.
    let read = (!folded.contains('?')).then(|| parse(&folded)).flatten();
    match read {
        Some(value) => Reading::Value(value),
        None => Reading::Unreadable {
            expected,
            guess: guess(&folded, parse),
        },
    }
}

/// What is left, and can be read, once doubts and remarks are taken away.
fn guess<T>(folded: &str, parse: impl Fn(&str) -> Option<T>) -> Option<String> {
    let cut = |at: Option<usize>| at.and_then(|at| folded.get(..at)).map(str::to_owned);
    let bare = |text: &str| {
        text.trim_matches(|c: char| c.is_whitespace() || "?*!~.,;:+".contains(c))
            .to_owned()
    };
    let without_brackets = || {
        let (before, rest) = folded.split_once('(')?;
        let (_, after) = rest.split_once(')')?;
        Some(format!("{before} {after}"))
    };
    let number = || {
        let is_part = |c: char| c.is_ascii_digit() || ".,".contains(c);
        let mut runs = folded
            .split(|c: char| !is_part(c))
            .filter(|run| run.contains(|c: char| c.is_ascii_digit()));
        let first = runs.next()?;
        runs.next().is_none().then(|| first.to_owned())
    };
    [
        Some(folded.to_owned()),
        cut(folded.find("SEE ")),
        without_brackets(),
        cut(folded.find('(')),
        cut(folded.find(';')),
        number(),
    ]
    .into_iter()
    .flatten()
    .map(|candidate| bare(&candidate))
    .find(|candidate| candidate != folded && !candidate.is_empty() && parse(candidate).is_some())
}

impl<T> From<words::Nothing> for Reading<T> {
    fn from(nothing: words::Nothing) -> Self {
        match nothing {
            words::Nothing::Absent => Self::Blank,
            words::Nothing::Unknown => Self::Unknown,
            words::Nothing::Elsewhere => Self::Elsewhere,
            words::Nothing::Same => Self::Same,
        }
    }
}
