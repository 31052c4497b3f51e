//! One heading: its levels, its unit, and the fields that it may mean.

use crate::intake::memo::OfSchemas;
use crate::intake::notation::ColumnUnit;
use crate::intake::schema::{Listed, Schemas, letters};
use crate::schedule::{FieldName, TableKind};

/// A field that a heading may mean.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Candidate {
    pub field: FieldName,
    /// How well the text alone says so, 0 to 1.
    pub score: f64,
    /// A bare heading without a band: others have to bear it out.
    pub weak: bool,
    /// A band over the heading, or the first words of it, names the group.
    pub band: bool,
    /// Lines of the heading that make its words; 0 where a line above is
    /// neither part of them nor a band that is known.
    pub lines: usize,
}

/// The heading of one column.
#[derive(Clone, Debug, Default)]
pub(super) struct Heading {
    /// From the uppermost band to the heading itself; what repeats from one
    /// level to the next stands once.
    pub levels: Vec<String>,
    pub unit: Option<ColumnUnit>,
    pub candidates: Vec<Candidate>,
}

/// A text of a heading, taken apart.
#[derive(Clone, Debug, Default, PartialEq)]
struct Parts {
    /// The ways to read the words, the fullest first.
    variants: Vec<String>,
    unit: Option<ColumnUnit>,
}

const SCORE_TITLE: f64 = 1.0;
const SCORE_LISTED: f64 = 0.98;
const SCORE_PREFIXED: f64 = 0.95;
const SCORE_BANDED: f64 = 0.95;
const SCORE_WEAK: f64 = 0.8;
/// Under the band of another table.
const UNDER_FOREIGN_BAND: f64 = 0.6;
/// Of two headings this near, a slip of the keyboard is likelier than another
/// meaning.
const NEAR: f64 = 0.86;
const SHORTEST_FOR_NEAR: usize = 6;
/// From here on the likeness is a help to people.
const HELPS: f64 = 0.7;

impl Heading {
    /// From the texts over one column, top first.
    pub fn new(texts: &[String], schemas: &Schemas) -> Self {
        thread_local!(static KNOWN: OfSchemas<Heading> = OfSchemas::default());
        // No cell has this sign.
        let asked = texts.join("\u{1}");
        KNOWN.with(|known| known.say(schemas, &asked, || Self::of(texts, schemas)))
    }

    fn of(texts: &[String], schemas: &Schemas) -> Self {
        let mut levels: Vec<String> = Vec::with_capacity(texts.len());
        for text in texts {
            let text = clean(text);
            if !text.is_empty() && levels.last() != Some(&text) {
                levels.push(text);
            }
        }
        let mut heading = Self {
            levels,
            ..Self::default()
        };
        let mut named = heading.levels.clone();
        // A bare `A` may be a heading; in brackets it is a unit.
        let bare = |text: &String| {
            !text.starts_with(['(', '[']) && !schemas.listed(&schemas.key(text)).is_empty()
        };
        if let [.., above, last] = named.as_slice()
            && let Some(unit) = unit_alone(last)
            && (!bare(last) || is_measured_in(above, unit, schemas))
        {
            heading.unit = Some(unit);
            named.pop();
        }
        heading.fill(&named, schemas);
        heading
    }

    /// As written, the levels joined by a space.
    pub fn text(&self) -> String {
        self.levels.join(" ")
    }

    /// What the heading may be compared by: each of its lines, and all of it,
    /// with and without its unit.
    pub fn keys(&self, schemas: &Schemas) -> Vec<String> {
        let whole = self.text();
        let texts = self.levels.iter().chain([&whole]);
        let variants = texts.flat_map(|text| parts(text).variants);
        variants.map(|text| schemas.key(&text)).collect()
    }

    fn fill(&mut self, named: &[String], schemas: &Schemas) {
        let Some((bottom, upper)) = named.split_last() else {
            return;
        };
        let own = parts(bottom);
        self.unit = self.unit.or(own.unit);
        let bands = Bands::new(upper, schemas);
        for start in 0..named.len() {
            let alone = start + 1 == named.len();
            let prefix = named.get(start..named.len() - 1).unwrap_or(&[]).join(" ");
            for variant in &own.variants {
                let whole = format!("{prefix} {variant}");
                let lines = match alone && !bands.known && bands.any {
                    true => 0,
                    false => named.len() - start,
                };
                self.match_text(&whole, alone.then_some(&bands), lines, schemas);
            }
            // The heading's own line is the last word of a phrase.
            if upper.len() > 1 && start == 0 {
                let first = upper.first().map_or("", String::as_str);
                self.match_text(&format!("{first} {bottom}"), None, 2, schemas);
            }
        }
        // The quantity under *Compressors* is not that of the unit.
        let apart = |c: &Candidate| {
            let binds = schemas.field(c.field).is_some_and(|s| s.band_binds);
            binds && bands.any && c.lines <= 1 && !bands.fields.contains(&c.field)
        };
        self.candidates
            .retain(|c| !is_never(named, c.field, schemas) && !apart(c));
        bands.demote_others(&mut self.candidates);
        self.candidates
            .sort_by(|a, b| b.score.total_cmp(&a.score).then(a.field.cmp(&b.field)));
    }

    fn offer(&mut self, candidate: Candidate) {
        match self
            .candidates
            .iter_mut()
            .find(|c| c.field == candidate.field)
        {
            Some(known) => {
                let band = known.band || candidate.band;
                if known.score < candidate.score {
                    *known = candidate;
                }
                known.band = band;
            }
            None => self.candidates.push(candidate),
        }
    }

    /// `bands` are those over the text, where it has not their words in it.
    fn match_text(&mut self, text: &str, bands: Option<&Bands>, lines: usize, schemas: &Schemas) {
        let words = schemas.words(text);
        let key = words.concat();
        if key.is_empty() {
            return;
        }
        for (field, listed) in schemas.listed(&key) {
            let under = bands.is_some_and(|bands| bands.fields.contains(field));
            let below_band = bands.is_some_and(|bands| bands.any);
            let (score, weak) = match listed {
                Listed::Title => (SCORE_TITLE, false),
                Listed::Heading => (SCORE_LISTED, false),
                Listed::Weak | Listed::Banded if under => (SCORE_BANDED, false),
                Listed::Weak => (SCORE_WEAK, true),
                Listed::Banded => continue,
            };
            // Under a band the same words may mean something else.
            let score = if below_band && !under && !weak {
                score - 0.03
            } else {
                score
            };
            self.offer(Candidate {
                field: *field,
                score,
                weak,
                band: under,
                lines,
            });
        }
        // `Bus Length` is *Length* under *Bus*, unless the table knows the
        // whole of it.
        let whole: Vec<TableKind> = schemas
            .listed(&key)
            .iter()
            .filter(|(_, listed)| *listed > Listed::Banded)
            .map(|(field, _)| field.table())
            .collect();
        for at in 1..words.len() {
            let (band, bare) = words.split_at(at);
            let under = schemas.under_band(&band.concat());
            for (field, listed) in schemas.listed(&bare.concat()) {
                let same = |(f, how): &(FieldName, Listed)| f == field && *how > Listed::Weak;
                let known =
                    whole.contains(&field.table()) && !schemas.listed(&key).iter().any(same);
                if *listed <= Listed::Weak && under.contains(field) && !known {
                    let candidate = Candidate {
                        field: *field,
                        score: SCORE_PREFIXED,
                        weak: false,
                        band: true,
                        lines,
                    };
                    self.offer(candidate);
                }
            }
        }
    }

    /// Looks for a slip of the keyboard, where nothing else was found. Dear:
    /// only for a heading that is settled.
    pub fn match_near(&mut self, schemas: &Schemas) {
        thread_local!(static KNOWN: OfSchemas<Vec<Candidate>> = OfSchemas::default());
        if !self.candidates.is_empty() {
            return;
        }
        let asked = self.levels.join("\u{1}");
        self.candidates = KNOWN.with(|known| {
            known.say(schemas, &asked, || {
                let mut heading = self.clone();
                heading.find_near(schemas);
                heading.candidates
            })
        });
    }

    fn find_near(&mut self, schemas: &Schemas) {
        let named = self.levels.clone();
        let bottom = named.last().map_or("", String::as_str);
        for text in [named.join(" ").as_str(), bottom] {
            let key = schemas.key(text);
            if key.len() < SHORTEST_FOR_NEAR || key.len() > 40 {
                continue;
            }
            for (_, listed, field) in schemas.may_be_near(&key, NEAR) {
                let strong = schemas
                    .listed(listed)
                    .iter()
                    .any(|(f, how)| *f == field && *how > Listed::Weak);
                if !strong || listed.len().abs_diff(key.len()) > 2 || !digits_agree(listed, &key) {
                    continue;
                }
                let near = strsim::normalized_damerau_levenshtein(listed, &key);
                if near >= NEAR {
                    self.offer(Candidate {
                        field,
                        score: near * 0.85,
                        weak: true,
                        band: false,
                        lines: 1,
                    });
                }
            }
        }
        self.candidates
            .retain(|c| !is_never(&named, c.field, schemas));
        self.candidates
            .sort_by(|a, b| b.score.total_cmp(&a.score).then(a.field.cmp(&b.field)));
    }
}

/// A heading that is whole without the unit below it: `MCA` over `AMPS`.
fn is_measured_in(text: &str, unit: ColumnUnit, schemas: &Schemas) -> bool {
    let listed = schemas.listed(&schemas.key(text));
    listed.iter().any(|(field, listed)| {
        let kept = schemas.field(*field).and_then(|schema| schema.unit);
        *listed > Listed::Weak && kept.is_some_and(|kept| measures_alike(kept, unit))
    })
}

/// The bands over a heading.
struct Bands {
    any: bool,
    /// One of them is listed as a band.
    known: bool,
    fields: Vec<FieldName>,
    tables: Vec<TableKind>,
}

impl Bands {
    fn new(upper: &[String], schemas: &Schemas) -> Self {
        let mut fields: Vec<FieldName> = Vec::new();
        let joined = upper.join(" ");
        let texts = upper.iter().map(String::as_str).chain([joined.as_str()]);
        for text in texts {
            for variant in parts(text).variants {
                fields.extend(schemas.under_band(&schemas.key(&variant)));
            }
        }
        fields.sort_unstable();
        fields.dedup();
        let mut tables: Vec<TableKind> = fields.iter().map(|f| f.table()).collect();
        tables.dedup();
        Self {
            any: !upper.is_empty(),
            known: !fields.is_empty(),
            fields,
            tables,
        }
    }

    fn demote_others(&self, candidates: &mut [Candidate]) {
        if self.tables.is_empty() {
            return;
        }
        let any = candidates.iter().any(|c| c.band);
        for candidate in candidates {
            if any && !candidate.band && !self.tables.contains(&candidate.field.table()) {
                candidate.score *= UNDER_FOREIGN_BAND;
            }
        }
    }
}

fn is_never(named: &[String], field: FieldName, schemas: &Schemas) -> bool {
    (0..named.len()).any(|start| {
        let text = named.get(start..).unwrap_or(&[]).join(" ");
        let variants = parts(&text).variants;
        variants
            .iter()
            .any(|variant| schemas.never(&schemas.key(variant), field))
    })
}

/// The nearest heading that the schemas know, for people: only where it is
/// near enough to be a help.
pub(super) fn nearest(text: &str, schemas: &Schemas) -> Option<String> {
    thread_local!(static KNOWN: OfSchemas<Option<String>> = OfSchemas::default());
    KNOWN.with(|known| known.say(schemas, text, || find_nearest(text, schemas)))
}

fn find_nearest(text: &str, schemas: &Schemas) -> Option<String> {
    let key = schemas.key(text);
    if key.len() < 3 || key.len() > 40 {
        return None;
    }
    let mut best: Option<(f64, &str, FieldName)> = None;
    for (spelled, listed, field) in schemas.may_be_near(&key, HELPS) {
        if listed.len().abs_diff(key.len()) * 3 > key.len() || !share_letters(listed, &key) {
            continue;
        }
        let near = strsim::normalized_damerau_levenshtein(listed, &key);
        if near >= HELPS && best.is_none_or(|(score, ..)| near > score) {
            best = Some((near, spelled, field));
        }
    }
    best.map(|(_, spelled, field)| format!("{spelled} ({field})"))
}

/// A cheap bound: of two texts that are near, most letters are the same.
fn share_letters(a: &str, b: &str) -> bool {
    let (a, b) = (letters(a), letters(b));
    (a & b).count_ones() * 2 >= (a | b).count_ones()
}

fn digits_agree(a: &str, b: &str) -> bool {
    let digits = |text: &str| -> String { text.chars().filter(char::is_ascii_digit).collect() };
    digits(a) == digits(b)
}

/// One line, without marks of footnotes at its end.
fn clean(text: &str) -> String {
    let line = text.split_whitespace().collect::<Vec<_>>().join(" ");
    line.trim_end_matches(['*', '†', '‡', '§', ':'])
        .trim_start_matches(['*', '†', '‡', '§'])
        .trim()
        .to_owned()
}

/// The unit, where a text is nothing else: `(A)`, `ft`, `[m]`.
pub(super) fn unit_alone(text: &str) -> Option<ColumnUnit> {
    let bare = text
        .trim()
        .trim_matches(|c| matches!(c, '(' | ')' | '[' | ']'));
    ColumnUnit::parse(bare.trim())
}

fn is_footnote(text: &str) -> bool {
    let text = text.trim().to_uppercase();
    let rest = text
        .trim_start_matches("SEE ")
        .trim_start_matches("NOTES")
        .trim_start_matches("NOTE");
    let numbers = rest
        .chars()
        .all(|c| c.is_ascii_digit() || " ,.&#".contains(c));
    text.is_empty() || numbers && (rest.len() <= 3 || rest.len() < text.len())
}

/// Units in brackets or at the end, footnotes dropped.
fn parts(text: &str) -> Parts {
    let mut outside = String::new();
    let mut all = String::new();
    let mut unit = None;
    let mut rest = text;
    while let Some(open) = rest.find(['(', '[']) {
        let (before, from) = rest.split_at(open);
        let close = if from.starts_with('(') { ')' } else { ']' };
        let Some(end) = from.find(close) else {
            break;
        };
        let inside = from.get(1..end).unwrap_or_default();
        outside.push_str(before);
        all.push_str(before);
        if is_footnote(inside) {
            // Dropped: a mark, not a word.
        } else if let Some(found) = ColumnUnit::parse(inside) {
            unit = unit.or(Some(found));
            all.push(' ');
            all.push_str(inside);
        } else {
            all.push(' ');
            all.push_str(inside);
        }
        outside.push(' ');
        all.push(' ');
        rest = from.get(end + 1..).unwrap_or_default();
    }
    outside.push_str(rest);
    all.push_str(rest);
    let mut variants = vec![all.trim().to_owned()];
    let mut also = |text: &str| {
        let text = text
            .trim()
            .trim_end_matches([',', '-', '–', '/', ':'])
            .trim();
        if !text.is_empty() && !variants.iter().any(|known| known == text) {
            variants.push(text.to_owned());
        }
    };
    also(&outside);
    let outside = outside.trim();
    let cut = outside.rfind(|c: char| c.is_whitespace() || matches!(c, ',' | '-' | '–'));
    match cut.map(|at| outside.split_at(at)) {
        Some((before, last)) => {
            let last = last.trim_start_matches(|c: char| !c.is_alphanumeric() && c != '°');
            if let Some(found) = ColumnUnit::parse(last).filter(|_| !last.is_empty()) {
                unit = unit.or(Some(found));
                let before = before.trim_end();
                also(
                    before
                        .strip_suffix(" in")
                        .or(before.strip_suffix(" IN"))
                        .unwrap_or(before),
                );
            } else if last.eq_ignore_ascii_case("note") || is_footnote(last) {
                also(before.trim_end_matches(|c: char| c.is_whitespace() || c == '('));
            }
        }
        None => unit = unit.or_else(|| ColumnUnit::parse(outside)),
    }
    Parts { variants, unit }
}

/// Whether values of a field kept in `kept` may be written in `written`.
pub(super) fn measures_alike(kept: ColumnUnit, written: ColumnUnit) -> bool {
    use ColumnUnit::*;
    let class = |unit| match unit {
        Feet | Inches | Metres => 0,
        Amps | Kiloamps => 1,
        Volts => 2,
        Watts | Kilowatts | VoltAmps | KilovoltAmps => 3,
        BtuPerHour | Mbh | Tons => 4,
        Horsepower => 5,
        Celsius | Fahrenheit => 6,
        Awg | SquareMillimetres => 7,
    };
    // Cooling capacity is written in kilowatts too.
    class(kept) == class(written) || (class(kept), class(written)) == (4, 3)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn first(levels: &[&str]) -> Option<FieldName> {
        let texts: Vec<String> = levels.iter().map(|t| (*t).to_owned()).collect();
        let heading = Heading::new(&texts, Schemas::embedded());
        heading
            .candidates
            .first()
            .filter(|c| !c.weak)
            .map(|c| c.field)
    }

    #[test]
    fn headings_of_one_and_of_several_levels() {
        use FieldName::*;
        for (levels, field) in [
            (&["MCA"][..], Some(UnitMca)),
            (&["M.C.A. (A)"], Some(UnitMca)),
            (&["MIN.", "CKT", "AMPS"], Some(UnitMca)),
            (&["Minimum Circuit\nAmpacity*"], Some(UnitMca)),
            (&["ELECTRICAL", "MOCP (1)"], Some(UnitMop)),
            (&["Max. Fuse/HACR, A"], Some(UnitMop)),
            (&["Rec. Fuse"], None),
            (&["Recommended Dual Element Fuse"], None),
            (&["LRA"], Some(UnitLra)),
            (&["MCA / MOCP"], Some(UnitMcaMop)),
            (&["COMM / BUS", "Length"], Some(RunLength)),
            (&["COMM / BUS", "Wire"], Some(RunWire)),
            (&["Bus Length (ft)"], Some(RunLength)),
            (&["CONTROLLER / THERMOSTAT", "Tag"], Some(ControllerTag)),
            (&["THERMOSTAT", "Wire"], Some(ControllerWire)),
            (&["CIRCUIT", "Wire"], Some(CircuitConductor)),
            (&["FEEDER", "Length"], Some(CircuitLength)),
            (&["CIRCUIT", "No."], Some(CircuitSlots)),
            (&["Panel/Ckt"], Some(CircuitPanelSlots)),
            (&["BREAKER", "Poles"], Some(CircuitPoles)),
            (&["BREAKER", "Amps"], Some(CircuitBreaker)),
            (&["Breakr Size"], None),
            (&["Length"], None),
            (&["Wire"], None),
            (&["CFM"], None),
            (&["Heating", "MBH"], None),
            (&["Cooling", "MBH"], Some(UnitCapacity)),
        ] {
            assert_eq!(first(levels), field, "{levels:?}");
        }
    }

    #[test]
    fn units_of_a_heading() {
        for (text, unit) in [
            ("Length (ft)", Some(ColumnUnit::Feet)),
            ("Length, m", Some(ColumnUnit::Metres)),
            ("Length in feet", Some(ColumnUnit::Feet)),
            ("LF", Some(ColumnUnit::Feet)),
            ("Heater kW", Some(ColumnUnit::Kilowatts)),
            ("Ambient (°F)", Some(ColumnUnit::Fahrenheit)),
            ("MCA", None),
            ("Remarks (2)", None),
        ] {
            assert_eq!(parts(text).unit, unit, "{text}");
        }
        let two = Heading::new(&["Length".into(), "(m)".into()], Schemas::embedded());
        assert_eq!(two.unit, Some(ColumnUnit::Metres));
    }
}
