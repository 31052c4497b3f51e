//! Folding of look-alike characters, and the tokens that all grammars share.

/// Text with its look-alikes made one: upper case, one dash, one quote of
/// each kind, one phase sign. A no-break space stays one, because it may
/// separate thousands.
pub fn fold(text: &str) -> String {
    // Nearly all cells have no look-alike in them.
    let plain = |b: u8| b == b' ' || b.is_ascii_graphic() && !matches!(b, b'\'' | b'`');
    if text.bytes().all(plain) {
        return text.trim().to_ascii_uppercase();
    }
    let mut out = String::with_capacity(text.len());
    let mut last_digit = false;
    for c in text.trim().chars() {
        let was_digit = std::mem::replace(&mut last_digit, c.is_ascii_digit());
        match c {
            '\u{2010}'..='\u{2015}' | '\u{2212}' | '\u{fe58}' | '\u{ff0d}' => out.push('-'),
            '\u{2018}' | '\u{2019}' | '\u{201a}' | '\u{201b}' | '\u{2032}' | '`' | '\u{b4}' => {
                push_single_quote(&mut out);
            }
            '\'' => push_single_quote(&mut out),
            '\u{201c}'..='\u{201f}' | '\u{2033}' | '\u{3003}' | '\u{2036}' => out.push('"'),
            '\u{d7}' | '\u{2715}' | '\u{2716}' => out.push('X'),
            'Ø' | 'ø' | 'φ' | 'Φ' | 'ϕ' | '∅' | '⌀' => out.push('Ø'),
            '½' | '¼' | '¾' | '⅓' | '⅔' | '⅛' | '⅜' | '⅝' | '⅞' => {
                if was_digit {
                    out.push(' ');
                }
                out.push_str(match c {
                    '½' => "1/2",
                    '¼' => "1/4",
                    '¾' => "3/4",
                    '⅓' => "1/3",
                    '⅔' => "2/3",
                    '⅛' => "1/8",
                    '⅜' => "3/8",
                    '⅝' => "5/8",
                    _ => "7/8",
                });
            }
            '⁄' | '∕' => out.push('/'),
            '²' => out.push('2'),
            'º' | '˚' => out.push('°'),
            '≈' | '∼' => out.push('~'),
            '…' => out.push_str("..."),
            '\u{a0}' | '\u{2007}' | '\u{2009}' | '\u{202f}' => out.push('\u{a0}'),
            '\u{200b}'..='\u{200f}' | '\u{feff}' | '\u{ad}' => {}
            c if c.is_whitespace() => out.push(' '),
            c => out.extend(c.to_uppercase()),
        }
    }
    out
}

/// Two single quotes in a row are an inch mark.
fn push_single_quote(out: &mut String) {
    if out.ends_with('\'') {
        out.pop();
        out.push('"');
    } else {
        out.push('\'');
    }
}

/// How digits group in a text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Digits {
    /// Decimal point, thousands by comma.
    Point,
    /// Decimal comma, thousands by point.
    Comma,
    /// Whole numbers alone: every sign between digits separates.
    Whole,
}

#[derive(Clone, Debug, PartialEq)]
pub enum Kind {
    Number(f64),
    Word,
    Sign(char),
}

#[derive(Clone, Debug, PartialEq)]
pub struct Token {
    pub kind: Kind,
    /// As folded.
    pub text: String,
    /// White space stands before it.
    pub spaced: bool,
}

impl Token {
    pub fn number(&self) -> Option<f64> {
        match self.kind {
            Kind::Number(value) => Some(value),
            _ => None,
        }
    }

    pub fn is_sign(&self, sign: char) -> bool {
        self.kind == Kind::Sign(sign)
    }

    pub fn is_word(&self, words: &[&str]) -> bool {
        self.kind == Kind::Word && words.contains(&self.text.as_str())
    }
}

/// The tokens of folded text. Runs of letters are words, without the dots of
/// abbreviations (`L.F.` is `LF`); all else is a sign.
pub fn tokens(folded: &str, digits: Digits) -> Vec<Token> {
    let chars: Vec<char> = folded.chars().collect();
    let mut out = Vec::new();
    let mut at = 0;
    let mut spaced = false;
    while let Some(&c) = chars.get(at) {
        let begin = at;
        let kind = if c.is_whitespace() {
            spaced = true;
            at += 1;
            continue;
        } else if c.is_ascii_digit() || starts_fraction(&chars, at, digits) {
            let (value, end) = scan_number(&chars, at, digits);
            at = end;
            Kind::Number(value)
        } else if is_letter(c) {
            at = scan_word(&chars, at);
            Kind::Word
        } else {
            at += 1;
            Kind::Sign(c)
        };
        let mut text: String = chars.get(begin..at).unwrap_or_default().iter().collect();
        if kind == Kind::Word {
            text.retain(|c| c != '.');
        }
        out.push(Token { kind, text, spaced });
        spaced = false;
    }
    out
}

fn is_letter(c: char) -> bool {
    c.is_alphabetic() || c == '°'
}

fn digit_at(chars: &[char], at: usize) -> bool {
    chars.get(at).is_some_and(char::is_ascii_digit)
}

/// `.5` where no digit stands before.
fn starts_fraction(chars: &[char], at: usize, digits: Digits) -> bool {
    digits == Digits::Point
        && chars.get(at) == Some(&'.')
        && digit_at(chars, at + 1)
        && (at == 0
            || chars
                .get(at - 1)
                .is_some_and(|c| c.is_whitespace() || *c == '('))
}

fn scan_number(chars: &[char], begin: usize, digits: Digits) -> (f64, usize) {
    let (decimal, thousands) = match digits {
        Digits::Point => ('.', ','),
        Digits::Comma => (',', '.'),
        Digits::Whole => ('\0', '\0'),
    };
    let mut text = String::new();
    let mut at = begin;
    while digit_at(chars, at) {
        text.push(chars[at]);
        at += 1;
    }
    if digits != Digits::Whole && (1..=3).contains(&text.len()) && !text.starts_with('0') {
        while let Some(&mark) = chars.get(at)
            && (mark == thousands || mark == '\'' || mark == '\u{a0}')
            && (1..=3).all(|n| digit_at(chars, at + n))
            && !digit_at(chars, at + 4)
            && chars.get(at + 4) != Some(&'"')
        {
            text.extend(chars.get(at + 1..at + 4).unwrap_or_default());
            at += 4;
        }
    }
    if chars.get(at) == Some(&decimal) && digit_at(chars, at + 1) {
        text.push('.');
        at += 1;
        while digit_at(chars, at) {
            text.push(chars[at]);
            at += 1;
        }
    }
    (text.parse().unwrap_or(f64::NAN), at)
}

fn scan_word(chars: &[char], begin: usize) -> usize {
    let letter = |at: usize| chars.get(at).copied().is_some_and(is_letter);
    let mut at = begin;
    loop {
        let segment = at;
        while letter(at) {
            at += 1;
        }
        if chars.get(at) != Some(&'.') {
            return at;
        }
        // One dot ends an abbreviation and is part of it; `L.F.` goes on.
        if chars.get(at + 1) == Some(&'.') {
            return at;
        }
        at += 1;
        let single = at - segment == 2;
        if !(single && letter(at) && !letter(at + 1)) {
            return at;
        }
    }
}

/// Walks over tokens; copying it is how a grammar tries and goes back.
#[derive(Clone, Copy)]
pub struct Cursor<'a> {
    rest: &'a [Token],
}

impl<'a> Cursor<'a> {
    pub fn new(tokens: &'a [Token]) -> Self {
        Self { rest: tokens }
    }

    pub fn done(&self) -> bool {
        self.rest.is_empty()
    }

    pub fn peek(&self) -> Option<&'a Token> {
        self.rest.first()
    }

    pub fn peek_second(&self) -> Option<&'a Token> {
        self.rest.get(1)
    }

    pub fn advance(&mut self) -> Option<&'a Token> {
        let (first, rest) = self.rest.split_first()?;
        self.rest = rest;
        Some(first)
    }

    pub fn sign(&mut self, sign: char) -> bool {
        let hit = self.peek().is_some_and(|token| token.is_sign(sign));
        if hit {
            self.advance();
        }
        hit
    }

    pub fn any_sign(&mut self, signs: &str) -> Option<char> {
        match self.peek()?.kind {
            Kind::Sign(c) if signs.contains(c) => {
                self.advance();
                Some(c)
            }
            _ => None,
        }
    }

    pub fn word(&mut self, words: &[&str]) -> bool {
        let hit = self.peek().is_some_and(|token| token.is_word(words));
        if hit {
            self.advance();
        }
        hit
    }

    pub fn number(&mut self) -> Option<f64> {
        // A run of hundreds of digits is no quantity.
        let value = self.peek()?.number().filter(|value| value.is_finite())?;
        self.advance();
        Some(value)
    }

    /// A whole number from `low` to `high`.
    pub fn whole(&mut self, low: u32, high: u32) -> Option<u32> {
        let value = whole(self.peek()?.number()?)?;
        if !(low..=high).contains(&value) {
            return None;
        }
        self.advance();
        Some(value)
    }

    /// `3/4`, `1-1/2`, `1 1/2`, `6`, `6.5`.
    pub fn mixed(&mut self) -> Option<f64> {
        let mut ahead = *self;
        if let Some(value) = ahead.fraction() {
            *self = ahead;
            return Some(value);
        }
        let whole_part = self.number()?;
        if whole_part.fract() == 0.0 {
            let mut ahead = *self;
            let dash = ahead.sign('-');
            if (dash || ahead.peek().is_some_and(|token| token.spaced))
                && let Some(fraction) = ahead.fraction()
            {
                *self = ahead;
                return Some(whole_part + fraction);
            }
        }
        Some(whole_part)
    }

    /// A proper fraction of a rule's division: `30/2` is none.
    fn fraction(&mut self) -> Option<f64> {
        let mut ahead = *self;
        let over = ahead.whole(1, 31)?;
        if !ahead.sign('/') {
            return None;
        }
        let under = ahead.whole(2, 32)?;
        if over >= under || ![2, 3, 4, 8, 16, 32].contains(&under) {
            return None;
        }
        *self = ahead;
        Some(f64::from(over) / f64::from(under))
    }
}

/// The whole number that a value is, if it is one.
pub fn whole(value: f64) -> Option<u32> {
    (value.fract() == 0.0 && (0.0..=f64::from(u32::MAX)).contains(&value)).then_some(value as u32)
}

/// The words and numbers of a text, signs dropped, for phrases.
pub fn phrase(text: &str) -> Vec<String> {
    tokens(&fold(text), Digits::Whole)
        .into_iter()
        .filter(|token| !matches!(token.kind, Kind::Sign(_)))
        .map(|token| token.text)
        .collect()
}
