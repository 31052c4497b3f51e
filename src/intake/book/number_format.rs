//! Number formats: what a person sees of a number.
//!
//! Values are audited, not texts; texts matter where a format carries a
//! meaning: dates that were wires (`10/2`), fractions (`3/4`), percent, units
//! as literals (`0" A"`), zeros shown as a dash. Thousands separators and
//! rounding are left out on purpose: they hide digits that count.

use super::calendar::Clock;
use super::date_format::{Piece, date_pieces, show_date};

/// A number format of a workbook, parsed once.
#[derive(Clone, Debug, PartialEq)]
pub struct NumberFormat {
    code: String,
    shape: Shape,
    /// What a zero shows, where a section of its own says so.
    zero: Option<String>,
}

#[derive(Clone, Debug, PartialEq)]
enum Shape {
    General,
    Number(Digits),
    Date(Vec<Piece>),
}

#[derive(Clone, Debug, PartialEq, Default)]
struct Digits {
    before: String,
    after: String,
    /// Places before the point that are shown even if zero.
    least: usize,
    percent: bool,
    fraction: Option<Fraction>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
struct Fraction {
    /// Whole numbers stand apart: `1 1/2` and not `3/2`.
    whole: bool,
    most: u32,
    /// `?/8`: the denominator is fixed.
    fixed: bool,
}

/// The formats that a workbook names by number only (ECMA-376 part 1,
/// 18.8.30, ids up to 49; 14 and 22 follow the reader's locale, here US).
pub fn built_in(id: u32) -> Option<&'static str> {
    Some(match id {
        1 => "0",
        2 => "0.00",
        3 => "#,##0",
        4 => "#,##0.00",
        9 => "0%",
        10 => "0.00%",
        11 => "0.00E+00",
        12 => "# ?/?",
        13 => "# ??/??",
        14 => "m/d/yyyy",
        15 => "d-mmm-yy",
        16 => "d-mmm",
        17 => "mmm-yy",
        18 => "h:mm AM/PM",
        19 => "h:mm:ss AM/PM",
        20 => "h:mm",
        21 => "h:mm:ss",
        22 => "m/d/yyyy h:mm",
        37 | 38 => "#,##0 ;(#,##0)",
        39 | 40 => "#,##0.00;(#,##0.00)",
        45 => "mm:ss",
        46 => "[h]:mm:ss",
        47 => "mmss.0",
        48 => "##0.0E+0",
        49 => "@",
        _ => return None,
    })
}

/// One unit of a format code.
pub(super) enum Token {
    Literal(char),
    /// A letter or sign with a meaning.
    Sign(char),
    Elapsed(char),
}

/// Splits a code into sections of tokens; colours, conditions, fill and
/// padding are dropped.
fn sections(code: &str) -> Vec<Vec<Token>> {
    let mut all = vec![Vec::new()];
    let mut chars = code.chars();
    while let Some(c) = chars.next() {
        let mut keep = |token| {
            if let Some(section) = all.last_mut() {
                section.push(token);
            }
        };
        match c {
            '"' => chars
                .by_ref()
                .take_while(|&c| c != '"')
                .for_each(|c| keep(Token::Literal(c))),
            '\\' | '!' => chars.by_ref().take(1).for_each(|c| keep(Token::Literal(c))),
            '_' | '*' => {
                chars.next();
            }
            '[' => {
                let inside: String = chars.by_ref().take_while(|&c| c != ']').collect();
                if let Some(symbol) = inside.strip_prefix('$') {
                    let symbol = symbol.split('-').next().unwrap_or_default();
                    symbol.chars().for_each(|c| keep(Token::Literal(c)));
                } else if let Some(first) = inside.chars().next().map(|c| c.to_ascii_lowercase()) {
                    let same = inside.chars().all(|c| c.to_ascii_lowercase() == first);
                    if same && matches!(first, 'h' | 'm' | 's') {
                        keep(Token::Elapsed(first));
                    }
                }
            }
            ';' => all.push(Vec::new()),
            _ => keep(Token::Sign(c)),
        }
    }
    all
}

impl NumberFormat {
    /// Parses a code; every code is taken, what is not understood shows the
    /// bare number. `None` for General, which says nothing.
    pub fn parse(code: &str) -> Option<Self> {
        if code.is_empty() || code.eq_ignore_ascii_case("general") {
            return None;
        }
        let sections = sections(code);
        let first = sections.first()?;
        let shape = if is_date(first) {
            Shape::Date(date_pieces(first))
        } else {
            digits(first).map_or(Shape::General, Shape::Number)
        };
        let zero = sections.get(2).and_then(|section| {
            let has_digits = section
                .iter()
                .any(|t| matches!(t, Token::Sign('0' | '#' | 'G' | 'g')));
            (!has_digits && !matches!(shape, Shape::Date(_))).then(|| {
                let shown = section.iter().filter_map(|t| match t {
                    Token::Literal(c) | Token::Sign(c @ ('-' | ' ' | '(' | ')' | '$')) => Some(*c),
                    _ => None,
                });
                shown.collect::<String>().trim().to_owned()
            })
        });
        Some(Self {
            code: code.to_owned(),
            shape,
            zero,
        })
    }

    pub fn code(&self) -> &str {
        &self.code
    }

    /// A date or a time of day.
    pub fn is_date(&self) -> bool {
        matches!(self.shape, Shape::Date(_))
    }

    /// A fraction: `0.75` shows `3/4`.
    pub fn is_fraction(&self) -> bool {
        matches!(&self.shape, Shape::Number(digits) if digits.fraction.is_some())
    }

    pub fn is_percent(&self) -> bool {
        matches!(&self.shape, Shape::Number(digits) if digits.percent)
    }

    /// What a person sees of `value`.
    pub fn show(&self, value: f64, epoch_1904: bool) -> String {
        if let (true, Some(zero)) = (value == 0.0, &self.zero) {
            return zero.clone();
        }
        match &self.shape {
            Shape::General => general(value),
            Shape::Number(digits) => digits.show(value),
            Shape::Date(pieces) => match Clock::at(value, epoch_1904) {
                Some(clock) => show_date(pieces, &clock),
                None => general(value),
            },
        }
    }
}

/// A number without a format: the shortest text that is the same at 15
/// digits, no thousands, no trailing zeros.
pub fn general(value: f64) -> String {
    if value.fract() == 0.0 && value.abs() < 1e15 {
        return (value as i64).to_string();
    }
    // The shortest text that reads back has as many digits as it needs: with
    // 15 or fewer it is the rounded number's too.
    let shortest = value.to_string();
    let digits = shortest.bytes().filter(u8::is_ascii_digit).count();
    if digits <= 15 && (1e-9..1e15).contains(&value.abs()) {
        return shortest;
    }
    let rounded: f64 = format!("{value:.14e}").parse().unwrap_or(value);
    if (1e-9..1e15).contains(&rounded.abs()) {
        rounded.to_string()
    } else {
        format!("{rounded:e}").replace('e', "E")
    }
}

fn is_date(section: &[Token]) -> bool {
    let mut general = String::new();
    let mut date = false;
    for token in section {
        match token {
            Token::Elapsed(_) => date = true,
            Token::Sign(c) => {
                general.push(c.to_ascii_lowercase());
                date |= matches!(c.to_ascii_lowercase(), 'y' | 'm' | 'd' | 'h' | 's');
            }
            Token::Literal(_) => {}
        }
    }
    date && !general.contains("general")
}

fn digits(section: &[Token]) -> Option<Digits> {
    let mut digits = Digits::default();
    let (mut seen, mut point, mut exponent) = (false, false, false);
    // Runs of places, and what stands after the stroke of a fraction.
    let (mut runs, mut in_run) = (0, false);
    let mut below: Option<String> = None;
    for token in section {
        let place = match token {
            Token::Sign(c @ ('0' | '#' | '?')) => Some(*c),
            Token::Sign(c @ '1'..='9') if below.is_some() => Some(*c),
            _ => None,
        };
        if let Some(place) = place {
            // Literals between the digits (`00-00`): the number says more.
            if below.is_none() && !exponent && !digits.after.trim().is_empty() {
                return None;
            }
            runs += usize::from(!in_run);
            (in_run, seen) = (true, true);
            match &mut below {
                Some(below) => below.push(place),
                None if place == '0' && !point && !exponent => digits.least += 1,
                None => {}
            }
            continue;
        }
        match token {
            Token::Sign(',') => continue,
            Token::Sign('.') => point = true,
            Token::Sign('E' | 'e') => exponent = true,
            Token::Sign('/') if in_run => below = Some(String::new()),
            Token::Sign('%') => digits.percent = true,
            Token::Sign('@') => return None,
            Token::Sign(c) | Token::Literal(c) if !exponent => {
                // A blank between places belongs to the fraction.
                let text = if seen {
                    &mut digits.after
                } else {
                    &mut digits.before
                };
                text.push(*c);
            }
            _ => {}
        }
        in_run = false;
    }
    if let Some(below) = below {
        let fixed = below.parse::<u32>().ok().filter(|&n| n > 0);
        let widest = below.len().clamp(1, 4) as u32;
        digits.fraction = Some(Fraction {
            whole: runs > 2,
            most: fixed.map_or(10u32.pow(widest) - 1, |n| n.min(9_999)),
            fixed: fixed.is_some(),
        });
        digits.after = digits.after.trim().to_owned();
        digits.least = 0;
    }
    seen.then_some(digits)
}

impl Digits {
    fn show(&self, value: f64) -> String {
        let scaled = if self.percent { value * 100.0 } else { value };
        let mut body = match self.fraction {
            Some(fraction) => fraction.show(scaled.abs()),
            None => general(scaled.abs()),
        };
        let whole = body.find('.').unwrap_or(body.len());
        if whole < self.least && body.bytes().all(|b| b.is_ascii_digit() || b == b'.') {
            body.insert_str(
                0,
                &"0".repeat(self.least.min(32) - whole.min(self.least.min(32))),
            );
        }
        let sign = if value < 0.0 { "-" } else { "" };
        let percent = if self.percent { "%" } else { "" };
        let text = format!("{}{sign}{body}{percent}{}", self.before, self.after);
        text.trim().to_owned()
    }
}

impl Fraction {
    fn show(self, value: f64) -> String {
        let whole = if self.whole { value.trunc() } else { 0.0 };
        let rest = value - whole;
        if !rest.is_finite() || rest > 1e6 {
            return general(value);
        }
        let near = |below: u32| {
            let above = (rest * f64::from(below)).round();
            ((above / f64::from(below) - rest).abs(), above as u32, below)
        };
        let first = if self.fixed { self.most } else { 1 };
        // The first of equals, so that 0.5 is 1/2 and not 2/4.
        let mut best = near(first);
        for below in first..=self.most {
            let candidate = near(below);
            if candidate.0 < best.0 - 1e-12 {
                best = candidate;
            }
        }
        let (_, above, below) = best;
        if self.whole && above == below {
            return general(whole + 1.0);
        }
        match (whole == 0.0, above, below) {
            (_, 0, _) => general(whole),
            (true, above, 1) => above.to_string(),
            (true, ..) => format!("{above}/{below}"),
            (false, ..) => format!("{} {above}/{below}", general(whole)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_shows_as_a_person_sees_it() {
        // What a spreadsheet program shows for these codes; common practice,
        // no source. Thousands and rounding are left out on purpose.
        for (code, value, shown) in [
            ("", 30.0, "30"),
            ("General", 18.2, "18.2"),
            ("General", 0.1 + 0.2, "0.3"),
            ("General", -1250.5, "-1250.5"),
            ("General", 1e300, "1E300"),
            ("0.00", 18.2, "18.2"),
            ("#,##0", 1250.0, "1250"),
            ("00", 5.0, "05"),
            ("000.0", 5.5, "005.5"),
            ("0\" A\"", 30.0, "30 A"),
            ("0.0\\k\\W", 2.5, "2.5kW"),
            ("\"FC-\"0", 4.0, "FC-4"),
            ("\"#\"0", 10.0, "#10"),
            ("00-00", 1203.0, "1203"),
            ("# ##0", 1250.0, "1250"),
            ("0%", 0.03, "3%"),
            ("0.0%", 0.025, "2.5%"),
            ("# ?/?", 0.75, "3/4"),
            ("# ?/?", 1.5, "1 1/2"),
            ("# ??/??", 1.25, "1 1/4"),
            ("?/?", 1.5, "3/2"),
            ("# ?/8", 0.5, "4/8"),
            ("# ?/?", 10.0, "10"),
            ("# ?/?", 0.99, "1"),
            (
                "_(* #,##0.00_);_(* \\(#,##0.00\\);_(* \"-\"??_);_(@_)",
                0.0,
                "-",
            ),
            (
                "_(* #,##0.00_);_(* \\(#,##0.00\\);_(* \"-\"??_);_(@_)",
                7.0,
                "7",
            ),
            ("0;-0;;@", 0.0, ""),
            ("[Red]0", 12.0, "12"),
            ("[$$-409]#,##0", 1200.0, "$1200"),
            ("0.00E+00", 12.0, "12"),
            ("@", 12.0, "12"),
        ] {
            let text = match NumberFormat::parse(code) {
                Some(format) => format.show(value, false),
                None => general(value),
            };
            assert_eq!(text, shown, "{code} of {value}");
        }
    }

    #[test]
    fn a_date_shows_by_its_format() {
        // 46297 is 2 October 2026 in the 1900 system, 44835 in the 1904 one.
        for (code, serial, epoch_1904, shown) in [
            ("m/d/yyyy", 46297.0, false, "10/2/2026"),
            ("d-mmm", 46297.0, false, "2-Oct"),
            ("d-mmm", 44835.0, true, "2-Oct"),
            ("mmm-yy", 46297.0, false, "Oct-26"),
            ("m/d", 46297.0, false, "10/2"),
            ("mm-dd-yy", 46297.0, false, "10-02-26"),
            (
                "dddd, mmmm d, yyyy",
                46297.0,
                false,
                "Friday, October 2, 2026",
            ),
            ("[$-409]d\\-mmm;@", 46297.0, false, "2-Oct"),
            ("m/d/yyyy h:mm", 46297.5, false, "10/2/2026 12:00"),
            ("h:mm AM/PM", 46297.75, false, "6:00 PM"),
            ("h:mm:ss", 0.520_844_9, false, "12:30:01"),
            ("mm:ss", 0.020_844_9, false, "30:01"),
            ("[h]:mm", 1.25, false, "30:00"),
            // The serial 60 is the day that never was; before it, days are
            // one off.
            ("m/d/yyyy", 59.0, false, "2/28/1900"),
            ("m/d/yyyy", 61.0, false, "3/1/1900"),
            ("m/d/yyyy", 1.0, false, "1/1/1900"),
            ("m/d/yyyy", -4.0, false, "-4"),
        ] {
            let format = NumberFormat::parse(code).expect(code);
            assert!(format.is_date(), "{code}");
            assert_eq!(format.show(serial, epoch_1904), shown, "{code} of {serial}");
        }
    }

    #[test]
    fn letters_inside_quotes_make_no_date() {
        for code in ["0 \"days\"", "\\d0", "[Red]0", "0\" mm\"", "General\" d\""] {
            let format = NumberFormat::parse(code).expect(code);
            assert!(!format.is_date(), "{code}");
        }
    }

    #[test]
    fn no_code_panics() {
        for code in [
            "\"",
            "\\",
            "[",
            "_",
            "*",
            "/",
            "?/",
            "/?",
            "?/0",
            "?/99999999",
            ";;;",
            "m",
            "%%%",
        ] {
            if let Some(format) = NumberFormat::parse(code) {
                for value in [0.0, -0.5, 1e18, f64::NAN, f64::INFINITY, 46297.0] {
                    format.show(value, false);
                }
            }
        }
    }
}
