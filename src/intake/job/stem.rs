//! What is left of a file's name once the words for tables and revisions are
//! dropped.

/// The stem of a file's name.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Stem {
    /// As people read it: `Maple Court`. Empty where the name is nothing but
    /// table and revision words.
    pub text: String,
    /// What two stems of one job share.
    pub key: String,
}

/// Words for what a file holds.
const TABLE_WORDS: [&str; 57] = [
    "BRANCH",
    "BUS",
    "CIRCUIT",
    "CIRCUITS",
    "CKT",
    "CKTS",
    "COMM",
    "COMMUNICATION",
    "CONTROL",
    "CONTROLLER",
    "CONTROLLERS",
    "CONTROLS",
    "DATA",
    "ELEC",
    "ELECTRICAL",
    "EQUIP",
    "EQUIPMENT",
    "EXPORT",
    "FACTS",
    "HVAC",
    "INFO",
    "INFORMATION",
    "JOB",
    "LIST",
    "LOAD",
    "LOADS",
    "LOW",
    "LV",
    "MECH",
    "MECHANICAL",
    "PANEL",
    "PANELBOARD",
    "PANELBOARDS",
    "PANELS",
    "POWER",
    "PULL",
    "PULLS",
    "RUN",
    "RUNS",
    "SCHED",
    "SCHEDULE",
    "SCHEDULES",
    "SHEET",
    "SHEETS",
    "STAT",
    "STATS",
    "TABLE",
    "TABLES",
    "TAKEOFF",
    "THERMOSTAT",
    "THERMOSTATS",
    "TSTAT",
    "TSTATS",
    "UNITS",
    "VOLTAGE",
    "WIRE",
    "WIRING",
];

/// Words for one state of a file among several; those that a number or a
/// letter may follow.
const REVISION_WORDS: [&str; 12] = [
    "REV",
    "REVISION",
    "VER",
    "VERSION",
    "ISSUE",
    "RESUBMITTAL",
    "RESUBMISSION",
    "SUBMITTAL",
    "SUBMISSION",
    "ADDENDUM",
    "BULLETIN",
    "DRAFT",
];

/// Words for a state that stand alone.
const STATE_WORDS: [&str; 17] = [
    "ANNOTATED",
    "APPROVED",
    "COPY",
    "CORRECTED",
    "CURRENT",
    "FINAL",
    "FINALS",
    "FIXED",
    "ISSUED",
    "LATEST",
    "NEW",
    "OLD",
    "ORIGINAL",
    "RESUBMITTED",
    "REVISED",
    "SUBMITTED",
    "UPDATED",
];

/// The stem of a file's name: `Maple Court` of
/// `Maple Court rev 2 equipment.csv`.
pub fn stem_of(file_name: &str) -> Stem {
    let words = words(without_extension(file_name));
    let upper: Vec<String> = words.iter().map(|word| word.to_uppercase()).collect();
    let mut kept: Vec<&str> = Vec::new();
    let mut at = 0;
    while let (Some(word), Some(&written)) = (upper.get(at), words.get(at)) {
        if let Some(length) = date_at(&upper, at) {
            at += length;
        } else if REVISION_WORDS.contains(&word.as_str()) {
            at += 1 + usize::from(upper.get(at + 1).is_some_and(|next| is_mark(next)));
        } else {
            let dropped = TABLE_WORDS.contains(&word.as_str())
                || STATE_WORDS.contains(&word.as_str())
                || is_revision(word);
            if !dropped {
                kept.push(written);
            }
            at += 1;
        }
    }
    let text = kept.join(" ");
    let key = crate::schedule::Name::new(&text).key().to_owned();
    Stem { text, key }
}

/// The name without its ending, where that looks like one.
pub(super) fn without_extension(file_name: &str) -> &str {
    match file_name.rsplit_once('.') {
        Some((stem, ending))
            if !stem.is_empty()
                && ending.len() <= 4
                && ending.chars().all(|c| c.is_ascii_alphanumeric())
                && ending.chars().any(|c| c.is_ascii_alphabetic()) =>
        {
            stem
        }
        _ => file_name,
    }
}

/// Words of a name: parted by signs, and where a small letter meets a large
/// one. A number in brackets at the end is the mark of a copy and left out.
fn words(stem: &str) -> Vec<&str> {
    let stem = stem.trim_end();
    let stem = match stem.strip_suffix(')').and_then(|s| s.rsplit_once('(')) {
        Some((before, number))
            if !number.is_empty()
                && number.len() <= 2
                && number.chars().all(|c| c.is_ascii_digit()) =>
        {
            before
        }
        _ => stem,
    };
    let mut words = Vec::new();
    for word in stem.split(|c: char| !c.is_alphanumeric()) {
        let mut start = 0;
        let mut last_small = false;
        for (at, c) in word.char_indices() {
            if c.is_uppercase() && last_small {
                words.push(&word[start..at]);
                start = at;
            }
            last_small = c.is_lowercase();
        }
        words.push(&word[start..]);
    }
    words.retain(|word| !word.is_empty());
    words
}

/// A number or a single letter behind a revision word.
fn is_mark(word: &str) -> bool {
    let digits = word.len() <= 3 && word.chars().all(|c| c.is_ascii_digit());
    let letter = word.len() == 1 && word.chars().all(|c| c.is_ascii_alphabetic());
    digits || letter
}

/// `R2`, `REV2`, `V3`, `REVB`.
fn is_revision(word: &str) -> bool {
    let numbered = ["REV", "VER", "R", "V"].iter().any(|prefix| {
        word.strip_prefix(prefix).is_some_and(|rest| {
            !rest.is_empty() && rest.len() <= 2 && rest.chars().all(|c| c.is_ascii_digit())
        })
    });
    let lettered = word
        .strip_prefix("REV")
        .is_some_and(|rest| rest.len() == 1 && rest.chars().all(|c| c.is_ascii_alphabetic()));
    numbered || lettered
}

/// How many words from `at` on are a date: `2026 05 01`, `5 1 26`,
/// `20260501`.
fn date_at(words: &[String], at: usize) -> Option<usize> {
    let number = |offset: usize| -> Option<(u32, usize)> {
        let word = words.get(at + offset)?;
        let digits = word.chars().all(|c| c.is_ascii_digit());
        (digits && word.len() <= 8).then(|| Some((word.parse().ok()?, word.len())))?
    };
    let (first, length) = number(0)?;
    let month_day = |a: u32, b: u32| (1..=12).contains(&a) && (1..=31).contains(&b);
    if length == 8 {
        let (year, month, day) = (first / 10_000, first / 100 % 100, first % 100);
        return ((1990..2100).contains(&year) && month_day(month, day)).then_some(1);
    }
    let (second, _) = number(1)?;
    let (third, third_length) = number(2)?;
    let year_first = length == 4 && (1990..2100).contains(&first) && month_day(second, third);
    let year_last = (third_length == 2 || third_length == 4 && (1990..2100).contains(&third))
        && (month_day(first, second) || month_day(second, first));
    (year_first || year_last).then_some(3)
}
