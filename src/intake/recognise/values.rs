//! Do the values of a column read as a field's values?

use crate::intake::memo::Memo;
use crate::intake::notation::{self as n, Context, Reading};
use crate::intake::schema::Notation;
use crate::schedule::Name;
use std::cell::{OnceCell, RefCell};
use std::collections::HashMap;
use std::rc::Rc;

/// What of a column is looked at.
#[derive(Clone, Debug, Default)]
pub(super) struct Sample {
    /// Texts of its first cells with a value.
    pub texts: Vec<String>,
    /// What was told already: a column is asked the same again for each kind
    /// of table that its row may be, and grammars are the dear part.
    told: RefCell<Vec<Told>>,
    panels_and_slots: OnceCell<f64>,
}

type Told = (Notation, Context, Option<f64>);

impl Sample {
    /// The part of the values that read under the notation, 0 to 1; `None`
    /// where nothing in the column tells.
    ///
    /// Notations that take any text tell less than one that asks for form:
    /// at most [`LOOSE`].
    pub fn reads(&self, notation: Notation, context: &Context) -> Option<f64> {
        let asked = |told: &&Told| told.0 == notation && told.1 == *context;
        if let Some(told) = self.told.borrow().iter().find(asked) {
            return told.2;
        }
        let part = self.part_that_reads(notation, context);
        self.told.borrow_mut().push((notation, *context, part));
        part
    }

    fn part_that_reads(&self, notation: Notation, context: &Context) -> Option<f64> {
        let memo = memo_of(notation, context);
        let mut told = 0u32;
        let mut read = 0.0;
        // Columns say the same again and again.
        let mut seen: Vec<(&str, Option<f64>)> = Vec::new();
        for text in &self.texts {
            let known = seen.iter().find(|(known, _)| known == text);
            let says = known.map(|(_, says)| *says).unwrap_or_else(|| {
                let says = memo.say(text, || reads(notation, text, context));
                seen.push((text, says));
                says
            });
            if let Some(says) = says {
                told += 1;
                read += says;
            }
        }
        (told > 0).then(|| read / f64::from(told))
    }

    /// The part of the values that look like numbers on doors.
    pub fn doors(&self) -> f64 {
        self.part(is_door)
    }

    /// The part of the values that look like marks of units.
    pub fn tags(&self) -> f64 {
        self.part(is_tag)
    }

    /// Whole numbers that count on from one; rows between may be no data.
    pub fn runs(&self) -> bool {
        let numbers: Option<Vec<u32>> = self.texts.iter().map(|t| t.trim().parse().ok()).collect();
        numbers.is_some_and(|n| {
            n.len() >= 2 && n.first() == Some(&1) && n.windows(2).all(|pair| pair[0] < pair[1])
        })
    }

    /// Whether a value has a comma between two figures.
    pub fn has_comma_in_figures(&self) -> bool {
        let between = |text: &String| {
            let bytes = text.as_bytes().windows(3);
            let mut found = bytes.filter(
                |three| matches!(three, [a, b',', c] if a.is_ascii_digit() && c.is_ascii_digit()),
            );
            found.next().is_some()
        };
        self.texts.iter().any(between)
    }

    /// The part of the values that have a figure.
    pub fn figures(&self) -> f64 {
        self.part(|text| text.chars().any(|c| c.is_ascii_digit()))
    }

    /// The part of the values that stand more than once.
    pub fn repeats(&self) -> f64 {
        let mut sorted: Vec<&str> = self.texts.iter().map(String::as_str).collect();
        sorted.sort_unstable();
        let repeated: usize = sorted
            .chunk_by(|a, b| a == b)
            .filter(|same| same.len() > 1)
            .map(<[&str]>::len)
            .sum();
        repeated as f64 / self.texts.len().max(1) as f64
    }

    /// Whether two or more cells of the column hold `LP-1,3` and the like: a
    /// panel's name before several slots.
    pub fn panels_and_slots(&self, prefixes: &[String]) -> f64 {
        // One field has prefixes, so that the answer is one.
        *self
            .panels_and_slots
            .get_or_init(|| self.part(|text| names_panel_and_slots(text, prefixes)))
    }

    fn part(&self, is: impl Fn(&str) -> bool) -> f64 {
        let hits = self.texts.iter().filter(|text| is(text)).count();
        hits as f64 / self.texts.len().max(1) as f64
    }
}

/// What a notation said of texts before, in this or another file.
fn memo_of(notation: Notation, context: &Context) -> Rc<Memo<Option<f64>>> {
    type Memos = HashMap<(Notation, Context), Rc<Memo<Option<f64>>>>;
    thread_local!(static KNOWN: RefCell<Memos> = RefCell::default());
    let asked = (notation, *context);
    KNOWN.with_borrow_mut(|known| known.entry(asked).or_default().clone())
}

/// The most that a notation tells that takes any text.
const LOOSE: f64 = 0.6;

/// Longer texts are prose, or the rest of a file behind an open quote: no
/// grammar is tried on them.
const LONGEST_VALUE: usize = 2_000;

/// `None` where the cell tells nothing: empty, `TBD`, `BY OTHERS`.
pub(super) fn reads(notation: Notation, text: &str, context: &Context) -> Option<f64> {
    if text.len() > LONGEST_VALUE {
        let free = matches!(notation, Notation::FreeText | Notation::Revision);
        return Some(if free { LOOSE } else { 0.0 });
    }
    match notation {
        Notation::FreeText | Notation::Revision => Some(LOOSE),
        Notation::Loads => Some(LOOSE),
        Notation::Name => Some(if is_tag(text) {
            0.8
        } else if text.len() > 30 || text.split_whitespace().count() > 4 {
            0.2
        } else {
            LOOSE
        }),
        Notation::TagList => tells(&n::tag_list(text, context)).map(|read| {
            let tagged = text.split([',', '&', ';', '/']).any(is_tag);
            if tagged { read } else { read * LOOSE }
        }),
        Notation::Dwelling => Some(if is_door(text) { 1.0 } else { LOOSE }),
        Notation::Kind => Some(f64::from(u8::from(n::kind_from_text(text).is_some()))),
        Notation::Quantity => tells(&n::quantity(text, context)),
        Notation::WholeNumber => tells(&n::whole_number(text, context)),
        Notation::Capacity => tells(&n::capacity(text, context)),
        Notation::Amps => tells(&n::amps(text, context)),
        Notation::NameplateAmps => tells(&n::nameplate_amps(text, context)),
        Notation::Mop => tells(&n::mop(text, context)),
        Notation::McaMop => tells(&n::mca_mop(text, context)),
        Notation::Fuse => tells(&n::fuse(text, context)),
        Notation::Supply => tells(&n::supply(text, context)),
        Notation::PanelSupply => tells(&n::panel_supply(text, context)),
        Notation::Volts => tells(&n::volts(text, context)),
        Notation::Phases => tells(&n::phases(text, context)),
        Notation::Hertz => Some(f64::from(u8::from(is_hertz(text)))),
        Notation::Kilowatts => tells(&n::heater(text, context)),
        Notation::YesNo => tells(&n::yes_no(text, context)),
        Notation::Horsepower => tells(&n::horsepower(text, context)),
        Notation::Place => tells(&n::place(text, context)),
        Notation::Disconnect => tells(&n::disconnect(text, context)),
        Notation::Length => tells(&n::length(text, context)),
        Notation::Slots => tells(&n::slots(text, context)),
        Notation::PanelSlots => match n::panel_slots(text, &[], context) {
            Reading::Value(value) => Some(if value.slots.is_empty() { 0.0 } else { 1.0 }),
            other => tells(&other),
        },
        // A device of less than ten amperes is none: the number of poles.
        Notation::Breaker => match n::breaker(text, context) {
            Reading::Value(value) => Some(if value.amps.0 < 10.0 { 0.3 } else { 1.0 }),
            other => tells(&other),
        },
        Notation::Poles => tells(&n::poles(text, context)),
        Notation::Conductor => match n::conductor(text, context) {
            Reading::Value(value) => Some(match value.size {
                Some(crate::schedule::wire::Size::Awg(awg)) if awg > 14 => 0.2,
                _ => 1.0,
            }),
            other => tells(&other),
        },
        Notation::Grounding => tells(&n::grounding(text, context)),
        Notation::Insulation => tells(&n::insulation(text, context)),
        Notation::Terminals => tells(&n::terminals(text, context)),
        Notation::Raceway => tells(&n::raceway(text, context)),
        Notation::Temperature => tells(&n::temperature(text, context)),
        Notation::VoltAmps => tells(&n::volt_amps(text, context)),
        Notation::Purpose => tells(&n::purpose(text, context)),
        Notation::Side => tells(&n::side(text, context)),
        Notation::LowVoltageWire => match n::low_voltage_wire(text, context) {
            Reading::Value(value) => Some(match value.gauge {
                Some(crate::schedule::wire::Size::Awg(awg)) if awg < 14 => 0.2,
                Some(crate::schedule::wire::Size::Awg(14)) => 0.6,
                _ => 1.0,
            }),
            other => tells(&other),
        },
        Notation::Gauge => tells(&n::gauge(text, context)),
        Notation::ConductorCount => tells(&n::conductor_count(text, context)),
        Notation::Stranded => tells(&n::stranded(text, context)),
        Notation::Shielded => tells(&n::shielded(text, context)),
        Notation::ShieldGround => tells(&n::shield_ground(text, context)),
        Notation::Splices => tells(&n::splices(text, context)),
        Notation::Routing => tells(&n::routing(text, context)),
        Notation::Customer => tells(&n::customer(text, context)),
        Notation::Edition => tells(&n::edition(text, context)),
        Notation::Date => tells(&n::date(text, context)),
    }
}

fn tells<T>(reading: &Reading<T>) -> Option<f64> {
    match reading {
        Reading::Value(_) => Some(1.0),
        Reading::Unreadable { .. } => Some(0.0),
        Reading::Blank | Reading::Unknown | Reading::Elsewhere | Reading::Same => None,
    }
}

fn is_hertz(text: &str) -> bool {
    let digits: String = text
        .chars()
        .take_while(|c| c.is_ascii_digit() || *c == '.')
        .collect();
    matches!(digits.parse::<f64>(), Ok(hertz) if hertz == 50.0 || hertz == 60.0)
}

/// `101`, `12C`, `B-204`, `#7`, `PH1`.
pub(super) fn is_door(text: &str) -> bool {
    let text = text.trim().trim_start_matches('#').to_uppercase();
    let digits = text.chars().filter(char::is_ascii_digit).count();
    let mut letters = text.chars().filter(|c| c.is_alphabetic());
    let (first, second) = (letters.next(), letters.next());
    let shaped = text.chars().all(|c| c.is_ascii_alphanumeric() || c == '-');
    let starts = text.chars().next().is_some_and(|c| c.is_ascii_digit());
    shaped
        && (1..=5).contains(&digits)
        && second.is_none()
        && (first.is_none() || starts || digits >= 3)
}

/// `FC-1`, `ODU 2`, `AHU1A`: letters, then a number.
pub(super) fn is_tag(text: &str) -> bool {
    let text = text.trim();
    let letters = text.chars().take_while(|c| c.is_alphabetic()).count();
    let rest: String = text.chars().skip(letters).collect();
    let rest = rest.trim_start_matches(['-', ' ', '_', '.', '#', '/']);
    (1..=6).contains(&letters)
        && text.len() <= 16
        && rest.chars().next().is_some_and(|c| c.is_ascii_digit())
        && rest
            .chars()
            .all(|c| c.is_ascii_alphanumeric() || matches!(c, '-' | '.' | '_'))
}

/// `LP-1,3` and `12C-2/4`; `LP-5` only where the name begins as panels' do.
fn names_panel_and_slots(text: &str, prefixes: &[String]) -> bool {
    let Reading::Value(read) = n::panel_slots(text, &[], &Context::default()) else {
        return false;
    };
    let begins = |name: &Name| {
        let letters: String = name
            .to_string()
            .chars()
            .take_while(|c| c.is_alphabetic())
            .flat_map(char::to_uppercase)
            .collect();
        prefixes.contains(&letters)
    };
    read.slots.len() > 1 || !read.slots.is_empty() && begins(&read.panel)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn doors_and_marks_are_told_apart() {
        for door in ["101", "12C", "#7", "B-204", "3"] {
            assert!(is_door(door) && !is_tag(door) || door == "B-204", "{door}");
        }
        for tag in ["FC-1", "ODU 2", "AHU1A", "HP-1", "BB-08"] {
            assert!(is_tag(tag) && !is_door(tag), "{tag}");
        }
        for neither in [
            "Bedroom",
            "208/230-1-60",
            "",
            "Living room 2 of the east wing",
        ] {
            assert!(!is_tag(neither) && !is_door(neither), "{neither}");
        }
    }
}
