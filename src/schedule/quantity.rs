//! Quantities with their unit in the type.
//!
//! Comparing at a limit goes through [`Quantity::exceeds`] and
//! [`Quantity::below`] and nothing else: a bare `load <= factor * rating` on
//! `f64` wrongly fails about a tenth of the loads that are exactly at it.

use std::fmt;

/// Relative slack of every comparison at a limit.
const SLACK: f64 = 1e-9;

/// What all quantities can do.
pub trait Quantity: Copy + fmt::Display {
    /// The symbol printed behind the number, for example `A`.
    const UNIT: &'static str;

    /// The bare number, in [`Self::UNIT`].
    fn value(self) -> f64;

    /// Whether this is above `limit` by more than rounding error.
    fn exceeds(self, limit: Self) -> bool {
        self.value() > limit.value() + limit.value().abs() * SLACK
    }

    /// Whether this is below `limit` by more than rounding error.
    fn below(self, limit: Self) -> bool {
        self.value() < limit.value() - limit.value().abs() * SLACK
    }
}

macro_rules! quantity {
    ($($(#[$doc:meta])* $name:ident = $unit:literal;)*) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, PartialOrd, serde::Serialize, serde::Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub f64);

        impl Quantity for $name {
            const UNIT: &'static str = $unit;
            fn value(self) -> f64 { self.0 }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "{} {}", number(self.0), $unit)
            }
        }

        impl std::ops::Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self { Self(self.0 + other.0) }
        }

        impl std::ops::Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self { Self(self.0 - other.0) }
        }

        impl std::ops::Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self { Self(self.0 * factor) }
        }

        impl std::ops::Div<f64> for $name {
            type Output = Self;
            fn div(self, divisor: f64) -> Self { Self(self.0 / divisor) }
        }

        impl std::iter::Sum for $name {
            fn sum<I: Iterator<Item = Self>>(items: I) -> Self {
                Self(items.map(|item| item.0).sum())
            }
        }
    )*};
}

quantity! {
    /// Electric current, amperes.
    Amps = "A";
    /// Electric potential, volts.
    Volts = "V";
    /// Length, international feet.
    Feet = "ft";
    /// Electric power, kilowatts.
    Kilowatts = "kW";
    /// Cooling or heating capacity, thousands of Btu per hour.
    Mbh = "MBH";
    /// Temperature, degrees Celsius.
    Celsius = "°C";
    /// Shaft power, horsepower.
    Horsepower = "hp";
    /// Apparent power, volt-amperes.
    VoltAmps = "VA";
    /// Cross-section, circular mils.
    CircularMils = "cmil";
    /// A share of a whole, in percent.
    Percent = "%";
}

impl Feet {
    /// Metres to feet, exact by the definition of the international foot.
    pub fn from_metres(metres: f64) -> Self {
        Self(metres / 0.3048)
    }
}

/// A number as people write it: at most two decimals, no trailing zeros,
/// thousands separated by a comma. Rounded half away from zero on the decimal
/// text, so that 2.675 prints as 2.68.
pub fn number(value: f64) -> String {
    if !value.is_finite() {
        return "?".to_owned();
    }
    // The nudge undoes binary representation error (31.405 is stored below);
    // of a large number it must not become a hundredth.
    let nudged = value + value.signum() * (value.abs() * SLACK).min(1e-4);
    let text = format!("{nudged:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    let (sign, digits) = match text.strip_prefix('-') {
        Some("0") => ("", "0"),
        Some(rest) => ("-", rest),
        None => ("", text),
    };
    let (whole, fraction) = match digits.split_once('.') {
        Some((whole, fraction)) => (whole, Some(fraction)),
        None => (digits, None),
    };
    let mut out = String::from(sign);
    for (index, digit) in whole.chars().enumerate() {
        if index > 0 && (whole.len() - index).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    if let Some(fraction) = fraction {
        out.push('.');
        out.push_str(fraction);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_at_its_limit_neither_exceeds_nor_falls_below() {
        for tenth in 1..5_000 {
            let rating = Amps(f64::from(tenth) / 10.0);
            let load = rating * 0.8;
            let limit = rating / 1.25;
            assert!(!load.exceeds(limit), "{load} against {limit}");
            assert!(!load.below(limit), "{load} against {limit}");
        }
        assert!(Amps(15.01).exceeds(Amps(15.0)));
        assert!(Amps(14.99).below(Amps(15.0)));
    }

    #[test]
    fn numbers_print_as_people_write_them() {
        for (value, text) in [
            (0.0, "0"),
            (-0.001, "0"),
            (31.4, "31.4"),
            (31.40, "31.4"),
            (2.675, "2.68"),
            (5_099_910.0, "5,099,910"),
            (123_456_789_012.0, "123,456,789,012"),
            (6000.0, "6,000"),
            (1234567.5, "1,234,567.5"),
            (-1250.0, "-1,250"),
            (100.0, "100"),
        ] {
            assert_eq!(number(value), text);
        }
        assert_eq!(Amps(31.4).to_string(), "31.4 A");
        assert_eq!(Feet::from_metres(500.0).to_string(), "1,640.42 ft");
    }
}
