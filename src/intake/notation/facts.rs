//! What a job says of itself, and plain yes and no.

use super::text::{Digits, Kind, fold, phrase, tokens};
use super::{Context, Reading, grammar, read, words};
use crate::schedule::{CustomerType, Edition};
use jiff::civil::Date;

/// A date, and the other reading where day and month may be exchanged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WrittenDate {
    /// Month first where the text leaves it open (common practice of the
    /// trade's country, no source).
    pub date: Date,
    /// Day first; `None` where the text is clear.
    pub other: Option<Date>,
}

/// `yes`, `Y`, `X`, a check mark; `no`, `N`, `none`.
pub fn yes_no(text: &str, _ctx: &Context) -> Reading<bool> {
    let answer = |folded: &str| match folded.trim_matches(|c: char| c == '.' || c.is_whitespace()) {
        "YES" | "Y" | "TRUE" | "X" | "✓" | "✔" | "√" | "1" => Some(true),
        "NO" | "N" | "FALSE" | "0" => Some(false),
        _ => None,
    };
    if phrase(text) == ["NONE"] {
        return Reading::Value(false);
    }
    match words::classify(text) {
        Some(nothing) => nothing.into(),
        None => grammar(text, "yes or no", answer),
    }
}

/// `single family`, `dwelling`, `apartments`, `multi-family`, `commercial`.
pub fn customer(text: &str, _ctx: &Context) -> Reading<CustomerType> {
    let expected = "the type of customer: dwelling, multifamily or commercial";
    read(text, expected, |folded| {
        let words = phrase(folded);
        let has = |list: &[&str]| words.iter().any(|word| list.contains(&word.as_str()));
        let multi = has(&[
            "MULTIFAMILY",
            "MULTI",
            "MF",
            "APARTMENT",
            "APARTMENTS",
            "CONDO",
            "CONDOMINIUM",
            "CONDOMINIUMS",
            "CONDOS",
        ]);
        let single = has(&[
            "DWELLING",
            "SINGLE",
            "SFR",
            "HOUSE",
            "RESIDENCE",
            "HOME",
            "SF",
            "TOWNHOUSE",
        ]) || has(&["RESIDENTIAL"]) && !multi;
        let commercial = has(&[
            "COMMERCIAL",
            "OFFICE",
            "RETAIL",
            "RESTAURANT",
            "SCHOOL",
            "HOTEL",
        ]);
        if has(&["NOT", "NON", "MIXED"]) {
            return None;
        }
        match (single, multi, commercial) {
            (true, false, false) => Some(CustomerType::Dwelling),
            (false, true, false) => Some(CustomerType::Multifamily),
            (false, false, true) => Some(CustomerType::Commercial),
            // A multifamily dwelling is one.
            (true, true, false) if !has(&["SINGLE", "SFR", "HOUSE"]) => {
                Some(CustomerType::Multifamily)
            }
            _ => None,
        }
    })
}

/// `2020`, `NEC 2020`, `NFPA 70-2023`, `2023 NEC`. Editions before 2017 and
/// two years in one cell are not read.
pub fn edition(text: &str, _ctx: &Context) -> Reading<Edition> {
    let expected = "an edition of NFPA 70, as in 2020 or NFPA 70-2023";
    read(text, expected, |folded| {
        let filler = [
            "NEC",
            "NFPA",
            "70",
            "EDITION",
            "CODE",
            "THE",
            "NATIONAL",
            "ELECTRICAL",
            "YEAR",
            "ED",
        ];
        let mut words = phrase(folded);
        words.retain(|word| !filler.contains(&word.as_str()));
        let [year] = words.as_slice() else {
            return None;
        };
        let year: u16 = year.parse().ok()?;
        Edition::ALL
            .into_iter()
            .find(|edition| edition.year() == year)
    })
}

/// `2026-10-02`, `10/2/2026`, `2.10.2026`, `2-Oct-2026`, `October 2, 2026`.
pub fn date(text: &str, _ctx: &Context) -> Reading<WrittenDate> {
    read(text, "a date, as in 2026-10-02", |folded| {
        // A time of day behind the date says nothing here.
        let day = folded.split(['T', ' ']).next().unwrap_or(folded);
        let timed = folded.contains(':') && day.len() >= 8;
        let before = folded.split(':').next().unwrap_or(folded).trim_end();
        let hour = before.rsplit([' ', 'T']).next().unwrap_or_default();
        let worded = before.strip_suffix(hour).unwrap_or(before).trim_end();
        match (timed, folded.contains(':')) {
            (true, _) => written_date(day),
            // `20 NOV 2002 17:48`
            (false, true) => written_date(worded),
            (false, false) => written_date(folded),
        }
    })
}

fn written_date(folded: &str) -> Option<WrittenDate> {
    let tokens = tokens(folded, Digits::Whole);
    let mut numbers: Vec<(i32, usize)> = Vec::new();
    let mut month = None;
    let mut signs = String::new();
    for token in &tokens {
        match token.kind {
            Kind::Number(_) => numbers.push((token.text.parse().ok()?, token.text.len())),
            Kind::Word if month.is_none() && month_of(&token.text).is_some() => {
                month = month_of(&token.text);
            }
            Kind::Word if ["ST", "ND", "RD", "TH", "OF"].contains(&token.text.as_str()) => {}
            Kind::Sign(c) if "/-.,".contains(c) => signs.push(c),
            _ => return None,
        }
    }
    let clear = |date: Option<Date>| date.map(|date| WrittenDate { date, other: None });
    match (numbers.as_slice(), month) {
        (&[(year, 4), (month, _), (day, _)], None) => clear(make(year, month, day)),
        (&[(year, 4), (day, _)], Some(month)) => clear(make(year, month, day)),
        (&[(day, 1 | 2), (year, 4 | 2)], Some(month)) => clear(make(full_year(year), month, day)),
        (&[(first, 1 | 2), (second, 1 | 2), (year, 4 | 2)], None) => {
            let year = full_year(year);
            let month_first = make(year, first, second);
            let day_first = make(year, second, first);
            // Points are written day first.
            if signs.starts_with('.') {
                return clear(day_first);
            }
            match (month_first, day_first) {
                (Some(date), Some(other)) => Some(WrittenDate {
                    date,
                    other: (other != date).then_some(other),
                }),
                (date, other) => clear(date.or(other)),
            }
        }
        _ => None,
    }
}

fn full_year(year: i32) -> i32 {
    if year < 100 { 2000 + year } else { year }
}

fn make(year: i32, month: i32, day: i32) -> Option<Date> {
    let (year, month, day) = (i16::try_from(year), i8::try_from(month), i8::try_from(day));
    let year = year.ok().filter(|year| (1980..=2100).contains(year))?;
    Date::new(year, month.ok()?, day.ok()?).ok()
}

/// The month that a word names by three letters or in full.
pub(super) fn month_of(word: &str) -> Option<i32> {
    const MONTHS: [&str; 12] = [
        "JANUARY",
        "FEBRUARY",
        "MARCH",
        "APRIL",
        "MAY",
        "JUNE",
        "JULY",
        "AUGUST",
        "SEPTEMBER",
        "OCTOBER",
        "NOVEMBER",
        "DECEMBER",
    ];
    let at = MONTHS.iter().position(|month| {
        *month == word || month.get(..3) == Some(word) || (word == "SEPT" && *month == "SEPTEMBER")
    })?;
    i32::try_from(at + 1).ok()
}

/// A revision's own mark: `2` of `REV 2`, `B` of `Rev. B`, `1` of `R1`; another
/// text (`ISSUED FOR BID`) as it stands.
pub fn revision(text: &str, _ctx: &Context) -> Reading<String> {
    if let Some(nothing) = words::whole(text) {
        return nothing.into();
    }
    let shown = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let parts = tokens(&fold(text), Digits::Whole);
    let mut own: Vec<&str> = Vec::new();
    for (at, token) in parts.iter().enumerate() {
        match token.kind {
            Kind::Sign(c) if ".#:-".contains(c) => {}
            Kind::Word if at == 0 && token.is_word(&["REV", "REVISION", "R"]) => {}
            Kind::Word if at <= 2 && token.is_word(&["NO", "NUMBER"]) => {}
            Kind::Word | Kind::Number(_) if token.text.len() <= 4 => own.push(&token.text),
            _ => return Reading::Value(shown),
        }
    }
    match own.as_slice() {
        [mark] => Reading::Value((*mark).to_owned()),
        _ => Reading::Value(shown),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn facts_of_a_job() {
        let ctx = Context::default();
        for (text, value) in [
            ("Yes", true),
            ("x", true),
            ("✓", true),
            ("N", false),
            ("none", false),
        ] {
            assert_eq!(yes_no(text, &ctx), Reading::Value(value), "{text}");
        }
        assert_eq!(yes_no("-", &ctx), Reading::Blank);
        assert!(yes_no("maybe", &ctx).is_unreadable());
        for (text, value) in [
            ("Single family", CustomerType::Dwelling),
            ("Dwelling", CustomerType::Dwelling),
            ("Residential", CustomerType::Dwelling),
            ("Multi-family", CustomerType::Multifamily),
            ("Multifamily residential", CustomerType::Multifamily),
            ("Apartments", CustomerType::Multifamily),
            ("COMMERCIAL", CustomerType::Commercial),
            ("office", CustomerType::Commercial),
        ] {
            assert_eq!(customer(text, &ctx), Reading::Value(value), "{text}");
        }
        for text in [
            "mixed use: apartments and retail",
            "non-residential",
            "warehouse",
        ] {
            assert!(customer(text, &ctx).is_unreadable(), "{text}");
        }
        for text in [
            "2020",
            "NEC 2020",
            "2020 NEC",
            "NFPA 70-2020",
            "NFPA 70, 2020 edition",
        ] {
            assert_eq!(
                edition(text, &ctx),
                Reading::Value(Edition::Nec2020),
                "{text}"
            );
        }
        for of in Edition::ALL {
            assert_eq!(edition(&of.to_string(), &ctx), Reading::Value(of));
        }
        for text in ["2014", "2017/2020", "NEC", "2020 IECC", "20"] {
            assert!(edition(text, &ctx).is_unreadable(), "{text}");
        }
        for (text, mark) in [
            ("REV 2", "2"),
            ("Rev. B", "B"),
            ("R1", "1"),
            ("2", "2"),
            ("Revision No. 3", "3"),
            ("Issued for bid", "Issued for bid"),
        ] {
            assert_eq!(
                revision(text, &ctx),
                Reading::Value(mark.to_owned()),
                "{text}"
            );
        }
    }

    #[test]
    fn dates_and_their_doubt() {
        let ctx = Context::default();
        let on = |month, day| Date::new(2026, month, day).ok();
        for (text, date_, other) in [
            ("2026-10-02", on(10, 2), None),
            ("2026-10-02 00:00:00", on(10, 2), None),
            ("2026-10-02T08:00:00", on(10, 2), None),
            ("10/2/2026", on(10, 2), on(2, 10)),
            ("10/22/2026", on(10, 22), None),
            ("22/10/2026", on(10, 22), None),
            ("2.10.2026", on(10, 2), None),
            ("2-Oct-2026", on(10, 2), None),
            ("October 2, 2026", on(10, 2), None),
            ("Oct. 2nd, 2026", on(10, 2), None),
            ("10/2/26", on(10, 2), on(2, 10)),
            ("3/3/2026", on(3, 3), None),
            ("2 Sept 2026", on(9, 2), None),
            ("2 Oct 2026 17:48", on(10, 2), None),
            ("Oct 2, 2026 5:48 PM", on(10, 2), None),
        ] {
            let read = date(text, &ctx).value();
            assert_eq!(read.map(|d| Some(d.date)), Some(date_), "{text}");
            assert_eq!(read.and_then(|d| d.other), other, "{text}");
        }
        for text in ["2-Oct", "13/13/2026", "2026-02-30", "soon", "2026", "10/2"] {
            assert!(date(text, &ctx).is_unreadable(), "{text}");
        }
    }
}
