//! Section rows that say where the rows below them belong.

use super::values::{is_door, is_tag};
use crate::intake::found::SectionOf;
use crate::intake::schema::{Listed, Schemas};
use crate::schedule::FieldName;

/// What a row of one or two cells names: `APARTMENT 12C`, `PANEL | LP`.
pub(super) fn section_of<'t>(
    mut cells: impl Iterator<Item = &'t str>,
    schemas: &Schemas,
) -> Option<(SectionOf, String)> {
    let first = cells.next()?;
    if first.len() > 48 {
        return None;
    }
    match cells.next() {
        Some(second) => {
            let (of, weak) = speaks_of(&schemas.key(first), schemas)?;
            let name = named(second).or_else(|| of_its_own(of, second, schemas))?;
            let known = of_its_own(of, second, schemas).is_some();
            (!weak || known).then_some((of, name))
        }
        None => alone(first, schemas),
    }
}

fn alone(text: &str, schemas: &Schemas) -> Option<(SectionOf, String)> {
    let words: Vec<&str> = text.split_whitespace().collect();
    for count in (1..words.len().min(4)).rev() {
        let (front, back) = words.split_at(count);
        let Some((of, weak)) = speaks_of(&schemas.key(&front.join(" ")), schemas) else {
            continue;
        };
        let back = back.join(" ");
        if let Some(name) = named(&back).or_else(|| of_its_own(of, &back, schemas))
            && (!weak
                || is_door(&name) && !is_tag(&name)
                || of_its_own(of, &back, schemas).is_some())
        {
            return Some((of, name));
        }
    }
    let whole = schemas.key(text);
    if schemas.layouts().dwellings.contains(&whole) {
        return Some((SectionOf::Dwelling, text.trim().to_owned()));
    }
    let building = |word: &&str| schemas.layouts().building.contains(&schemas.key(word));
    let figures = text.chars().any(|c| c.is_ascii_digit());
    (!figures && words.iter().any(building)).then(|| (SectionOf::Building, text.trim().to_owned()))
}

/// Whose name follows such a word, and whether the word is a bare one.
fn speaks_of(key: &str, schemas: &Schemas) -> Option<(SectionOf, bool)> {
    let listed = schemas.listed(key);
    let full = |fields: &[FieldName]| {
        listed
            .iter()
            .any(|(field, listed)| fields.contains(field) && *listed > Listed::Weak)
    };
    if full(&[FieldName::UnitDwelling]) {
        Some((SectionOf::Dwelling, false))
    } else if full(&[FieldName::UnitSystem]) {
        Some((SectionOf::System, false))
    } else if full(&[FieldName::PanelName]) {
        Some((SectionOf::Panel, false))
    } else if listed
        .iter()
        .any(|(field, _)| *field == FieldName::UnitDwelling)
    {
        Some((SectionOf::Dwelling, true))
    } else {
        None
    }
}

/// Whether a section row that names nothing known ends the dwelling above:
/// all but those that part a dwelling's own rows (its outdoor units, a floor,
/// a room).
pub(super) fn ends_a_dwelling(text: &str, schemas: &Schemas) -> bool {
    let layouts = schemas.layouts();
    let within = schemas
        .words(text)
        .iter()
        .any(|word| layouts.within.contains(word));
    let titled = |first: usize, words: &[String]| {
        (first + 1..=words.len()).any(|last| {
            let key = words.get(first..last).unwrap_or(&[]).concat();
            !schemas.titled(&key).is_empty()
        })
    };
    let words = schemas.words(text);
    !within && !(0..words.len()).any(|first| titled(first, &words))
}

/// A word that stands where the number of a dwelling would: `APARTMENT
/// PENTHOUSE`, `UNIT LOBBY`.
fn of_its_own(of: SectionOf, text: &str, schemas: &Schemas) -> Option<String> {
    let layouts = schemas.layouts();
    let text = text.trim().trim_start_matches([':', '-', ' ']);
    let key = schemas.key(text);
    let known = layouts.dwellings.contains(&key) || layouts.building.contains(&key);
    (of == SectionOf::Dwelling && known).then(|| text.to_owned())
}

/// A short name, without what is said besides it: `12C` of `12C - Type B`.
fn named(text: &str) -> Option<String> {
    let text = text.trim().trim_start_matches([':', '-', '#', ' ']);
    let end = [" - ", " – ", "(", ",", ";", ":"]
        .iter()
        .filter_map(|mark| text.find(mark))
        .min()
        .unwrap_or(text.len());
    let name = text
        .get(..end)?
        .trim()
        .trim_matches(|c: char| !c.is_alphanumeric());
    let words = name.split_whitespace().count();
    let short = name.chars().count() <= 4;
    let figures = name.chars().any(|c| c.is_ascii_digit());
    (words == 1 && name.len() <= 12 && (short || figures)).then(|| name.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_parts_a_dwellings_rows_does_not_end_it() {
        let schemas = Schemas::embedded();
        for text in ["INDOOR UNITS", "Outdoor unit", "SECOND FLOOR", "Bedrooms"] {
            assert!(!ends_a_dwelling(text, schemas), "{text}");
        }
        for text in ["EAST TOWER", "MANAGER", "POOL HOUSE"] {
            assert!(ends_a_dwelling(text, schemas), "{text}");
        }
    }

    #[test]
    fn sections_name_dwellings_systems_and_panels() {
        let schemas = Schemas::embedded();
        for (text, of, name) in [
            ("APARTMENT 12C", SectionOf::Dwelling, "12C"),
            ("Apt. 3 - Type B", SectionOf::Dwelling, "3"),
            ("UNIT 204", SectionOf::Dwelling, "204"),
            ("SYSTEM 1", SectionOf::System, "1"),
            ("PANEL LP", SectionOf::Panel, "LP"),
            ("Panelboard \"LP-2\"", SectionOf::Panel, "LP-2"),
            ("COMMON AREAS", SectionOf::Building, "COMMON AREAS"),
            ("PENTHOUSE", SectionOf::Dwelling, "PENTHOUSE"),
            ("APARTMENT PENTHOUSE", SectionOf::Dwelling, "PENTHOUSE"),
            ("UNIT LOBBY", SectionOf::Dwelling, "LOBBY"),
        ] {
            let found = section_of([text].into_iter(), schemas);
            assert_eq!(found, Some((of, name.to_owned())), "{text}");
        }
        for text in [
            "INDOOR UNITS",
            "HP-1",
            "SYSTEM NOTES",
            "Unit HP-1",
            "PANEL SCHEDULE",
        ] {
            assert_eq!(section_of([text].into_iter(), schemas), None, "{text}");
        }
    }
}
