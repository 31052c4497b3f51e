//! How one value of the profile is written: a bare number in the documented
//! unit, or a text with its unit.

use super::{Count, Megabytes, ShieldPolicy};
use crate::schedule::wire::Size;
use crate::schedule::{Amps, Celsius, CustomerType, Edition, Feet, Percent, Quantity};
use toml::de::DeValue;

/// A value that a profile can hold.
pub(super) trait Value: Sized {
    /// What to write, with an example; completes *expected …*.
    const EXPECTED: &'static str;

    /// `None` where the text is not such a value.
    fn read(item: &DeValue<'_>) -> Option<Self>;

    /// As *Basis* prints it.
    fn text(&self) -> String;
}

fn number(item: &DeValue<'_>) -> Option<f64> {
    let value = match item {
        DeValue::Integer(integer) => {
            i64::from_str_radix(integer.as_str(), integer.radix()).ok()? as f64
        }
        DeValue::Float(float) => float.as_str().parse::<f64>().ok()?,
        _ => return None,
    };
    value.is_finite().then_some(value)
}

/// A number, thousands by comma allowed, and the unit behind it.
fn with_unit(item: &DeValue<'_>) -> Option<(f64, String)> {
    if let Some(value) = number(item) {
        return Some((value, String::new()));
    }
    let text = item.as_str()?.trim();
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+')))
        .unwrap_or(text.len());
    let (digits, unit) = text.split_at_checked(end)?;
    let value: f64 = without_thousands(digits)?.parse().ok()?;
    let unit = unit.trim().trim_end_matches('.').to_lowercase();
    value.is_finite().then_some((value, unit))
}

/// `6,000` is six thousand; `6,5` is refused rather than guessed at.
fn without_thousands(digits: &str) -> Option<String> {
    let whole = digits.split('.').next().unwrap_or_default();
    let mut groups = whole.split(',');
    let first = groups.next()?;
    let mut rest = groups.peekable();
    let grouped = rest.peek().is_some();
    if grouped && !(1..=3).contains(&first.len()) {
        return None;
    }
    rest.all(|group| group.len() == 3)
        .then(|| digits.replace(',', ""))
}

fn positive(value: f64) -> Option<f64> {
    (value > 0.0).then_some(value)
}

impl Value for Feet {
    const EXPECTED: &'static str =
        "a length above zero: feet as a number, or with its unit as \"6000 ft\" or \"1830 m\"";

    fn read(item: &DeValue<'_>) -> Option<Self> {
        let (value, unit) = with_unit(item)?;
        let value = positive(value)?;
        match unit.as_str() {
            "" | "ft" | "foot" | "feet" | "'" => Some(Self(value)),
            "m" | "metre" | "metres" | "meter" | "meters" => Some(Self::from_metres(value)),
            _ => None,
        }
    }

    fn text(&self) -> String {
        self.to_string()
    }
}

impl Value for Amps {
    const EXPECTED: &'static str =
        "a current above zero: amperes as a number, or with its unit as \"15 A\"";

    fn read(item: &DeValue<'_>) -> Option<Self> {
        let (value, unit) = with_unit(item)?;
        let known = ["", "a", "amp", "amps", "ampere", "amperes"].contains(&unit.as_str());
        positive(value).filter(|_| known).map(Self)
    }

    fn text(&self) -> String {
        self.to_string()
    }
}

impl Value for Celsius {
    const EXPECTED: &'static str = "a temperature from -50 to 150 °C: degrees Celsius as a number, \
                                    or with its unit as \"75 C\" or \"167 F\"";

    fn read(item: &DeValue<'_>) -> Option<Self> {
        let (value, unit) = with_unit(item)?;
        let celsius = match unit.trim_start_matches('°').trim() {
            "" | "c" => value,
            "f" => (value - 32.0) / 1.8,
            _ => return None,
        };
        (-50.0..=150.0).contains(&celsius).then_some(Self(celsius))
    }

    fn text(&self) -> String {
        self.to_string()
    }
}

impl Value for Percent {
    const EXPECTED: &'static str =
        "a share from 0 to 1000: percent as a number, or with its unit as \"90 %\"";

    fn read(item: &DeValue<'_>) -> Option<Self> {
        let (value, unit) = with_unit(item)?;
        let known = ["", "%", "percent"].contains(&unit.as_str());
        (known && (0.0..=1000.0).contains(&value)).then_some(Self(value))
    }

    fn text(&self) -> String {
        self.to_string()
    }
}

/// A bare number of the profile is an output of a motor, in horsepower.
impl Value for f64 {
    const EXPECTED: &'static str =
        "an output above zero: horsepower as a number, or with its unit as \"1 hp\"";

    fn read(item: &DeValue<'_>) -> Option<Self> {
        let (value, unit) = with_unit(item)?;
        positive(value).filter(|_| ["", "hp"].contains(&unit.as_str()))
    }

    fn text(&self) -> String {
        crate::schedule::Horsepower(*self).to_string()
    }
}

impl Value for u32 {
    const EXPECTED: &'static str = "a whole number from 1 to 10000";

    fn read(item: &DeValue<'_>) -> Option<Self> {
        let value = number(item)?;
        (value.fract() == 0.0 && (1.0..=10_000.0).contains(&value)).then_some(value as Self)
    }

    fn text(&self) -> String {
        self.to_string()
    }
}

impl Value for u8 {
    const EXPECTED: &'static str = "a whole number from 1 to 20";

    fn read(item: &DeValue<'_>) -> Option<Self> {
        let value = u32::read(item)?;
        Self::try_from(value).ok().filter(|value| *value <= 20)
    }

    fn text(&self) -> String {
        self.to_string()
    }
}

impl Value for Count {
    const EXPECTED: &'static str = "a whole number from 1 to 1000000000";

    fn read(item: &DeValue<'_>) -> Option<Self> {
        let (value, unit) = with_unit(item)?;
        let whole = value.fract() == 0.0 && (1.0..=1e9).contains(&value);
        (whole && unit.is_empty()).then_some(Self(value as u64))
    }

    fn text(&self) -> String {
        crate::schedule::number(self.0 as f64)
    }
}

impl Value for Megabytes {
    const EXPECTED: &'static str =
        "a size from 1 MB to 1024 GB: megabytes as a whole number, or with its unit as \"512 MB\"";

    fn read(item: &DeValue<'_>) -> Option<Self> {
        let (value, unit) = with_unit(item)?;
        let megabytes = match unit.as_str() {
            "" | "mb" | "mib" => value,
            "gb" | "gib" => value * 1024.0,
            _ => return None,
        };
        let whole = megabytes.fract() == 0.0 && (1.0..=1_048_576.0).contains(&megabytes);
        whole.then_some(Self(megabytes as u64))
    }

    fn text(&self) -> String {
        format!("{} MB", crate::schedule::number(self.0 as f64))
    }
}

impl Value for bool {
    const EXPECTED: &'static str = "true or false";

    fn read(item: &DeValue<'_>) -> Option<Self> {
        item.as_bool()
    }

    fn text(&self) -> String {
        if *self { "yes" } else { "no" }.to_owned()
    }
}

impl Value for Size {
    const EXPECTED: &'static str = "a gauge from 1 to 24 AWG: a whole number, or as \"18 AWG\"";

    fn read(item: &DeValue<'_>) -> Option<Self> {
        let (value, unit) = with_unit(item)?;
        let known = ["", "awg", "ga"].contains(&unit.as_str());
        (known && value.fract() == 0.0 && (1.0..=24.0).contains(&value))
            .then_some(Self::Awg(value as i8))
    }

    fn text(&self) -> String {
        self.to_string()
    }
}

impl Value for Edition {
    const EXPECTED: &'static str = "an edition of NFPA 70: 2017, 2020, 2023 or 2026";

    fn read(item: &DeValue<'_>) -> Option<Self> {
        let year = match item.as_str() {
            Some(text) => {
                let text = text.trim();
                let bare = ["NFPA 70-", "NFPA 70 ", "NEC "]
                    .iter()
                    .find_map(|name| text.strip_prefix(name))
                    .unwrap_or(text);
                bare.trim().parse::<f64>().ok()?
            }
            None => number(item)?,
        };
        Self::ALL
            .into_iter()
            .find(|edition| f64::from(edition.year()) == year)
    }

    fn text(&self) -> String {
        self.to_string()
    }
}

impl Value for CustomerType {
    const EXPECTED: &'static str = "\"dwelling\", \"multifamily\" or \"commercial\"";

    fn read(item: &DeValue<'_>) -> Option<Self> {
        let text = item.as_str()?.trim().to_lowercase();
        [Self::Dwelling, Self::Multifamily, Self::Commercial]
            .into_iter()
            .find(|customer| customer.to_string() == text)
    }

    fn text(&self) -> String {
        self.to_string()
    }
}

impl Value for ShieldPolicy {
    const EXPECTED: &'static str = "\"beside power\" or \"anywhere\"";

    fn read(item: &DeValue<'_>) -> Option<Self> {
        let text = item.as_str()?.trim().to_lowercase();
        [Self::BesidePower, Self::Anywhere]
            .into_iter()
            .find(|policy| policy.text() == text)
    }

    fn text(&self) -> String {
        match self {
            Self::BesidePower => "beside power",
            Self::Anywhere => "anywhere",
        }
        .to_owned()
    }
}

/// A key without a default: it acts only where it is set.
impl<T: Value> Value for Option<T> {
    const EXPECTED: &'static str = T::EXPECTED;

    fn read(item: &DeValue<'_>) -> Option<Self> {
        T::read(item).map(Some)
    }

    fn text(&self) -> String {
        self.as_ref()
            .map_or_else(|| "not set".to_owned(), Value::text)
    }
}

/// Lowest and highest, or smallest and largest.
fn pair<T: Value + PartialOrd>(item: &DeValue<'_>) -> Option<(T, T)> {
    let array = item.as_array()?;
    let mut values = array.iter().map(|one| T::read(one.get_ref()));
    let (low, high) = (values.next()??, values.next()??);
    (values.next().is_none() && low <= high).then_some((low, high))
}

impl Value for (Percent, Percent) {
    const EXPECTED: &'static str =
        "the lowest and the highest share, as [50, 130] or [\"50 %\", \"130 %\"]";

    fn read(item: &DeValue<'_>) -> Option<Self> {
        pair(item)
    }

    fn text(&self) -> String {
        format!("{} to {}", self.0, self.1)
    }
}

impl Value for (Size, Size) {
    const EXPECTED: &'static str =
        "the smallest and the largest gauge, the thinner first, as [18, 16]";

    fn read(item: &DeValue<'_>) -> Option<Self> {
        pair(item)
    }

    fn text(&self) -> String {
        format!("{} to {}", self.0, self.1)
    }
}

/// Whether two temperatures are one, rounding aside.
pub(super) fn same(a: Celsius, b: f64) -> bool {
    !a.exceeds(Celsius(b)) && !a.below(Celsius(b))
}
