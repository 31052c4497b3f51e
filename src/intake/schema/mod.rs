//! The tables that we read, as data: fields, headings, units, notations.
//!
//! The files under `schemas/` are Table Schemas; properties of ours begin
//! with `x-`. Nothing in code knows a heading.

mod layouts;
mod user;
mod words;

pub use layouts::Layouts;
pub use user::HeadingsFault;

use super::memo::OfSchemas;
use super::notation::ColumnUnit;
use crate::schedule::{FieldName, TableKind};
use serde::Deserialize;
use std::collections::HashMap;
use std::rc::Rc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, LazyLock};
use words::Words;

const TABLES: [&str; 6] = [
    include_str!("../../../schemas/equipment.json"),
    include_str!("../../../schemas/circuits.json"),
    include_str!("../../../schemas/panels.json"),
    include_str!("../../../schemas/wire-runs.json"),
    include_str!("../../../schemas/controllers.json"),
    include_str!("../../../schemas/job-facts.json"),
];
const LAYOUTS: &str = include_str!("../../../schemas/layouts.json");
const WORDS: &str = include_str!("../../../schemas/heading-words.json");

/// A field as its schema describes it.
#[derive(Clone, Debug, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct FieldSchema {
    pub title: String,
    pub description: String,
    /// One of the types of the Table Schema.
    #[serde(rename = "type")]
    pub kind: String,
    #[serde(rename = "x-field", deserialize_with = "field_name")]
    pub field: FieldName,
    /// The grammar of its cells.
    #[serde(rename = "x-notation")]
    pub notation: Notation,
    /// The unit that its values are kept in.
    #[serde(default, rename = "x-unit", deserialize_with = "unit")]
    pub unit: Option<ColumnUnit>,
    /// Headings that mean this field wherever its table is read.
    #[serde(rename = "x-headings")]
    pub headings: Vec<String>,
    /// Bare headings that need a band, neighbours or notation.
    #[serde(default, rename = "x-weak")]
    pub weak: Vec<String>,
    /// Headings that mean it under a band alone.
    #[serde(default, rename = "x-under-band")]
    pub under_band: Vec<String>,
    /// Headings of a group of columns, under which a bare heading means it.
    #[serde(default, rename = "x-bands")]
    pub bands: Vec<String>,
    /// Under a band that is none of these, the heading means something else.
    #[serde(default, rename = "x-band-binds")]
    pub band_binds: bool,
    /// Fields beside whose column a bare heading means it.
    #[serde(default, rename = "x-beside", deserialize_with = "field_names")]
    pub beside: Vec<FieldName>,
    /// Headings that must not be taken for it, however near.
    #[serde(default, rename = "x-never")]
    pub never: Vec<String>,
    /// Beginnings of panels' names.
    #[serde(default, rename = "x-prefixes")]
    pub prefixes: Vec<String>,
    /// Several columns may feed it.
    #[serde(default, rename = "x-many")]
    pub many: bool,
    /// One column feeds it in every table that the row carries.
    #[serde(default, rename = "x-shared")]
    pub shared: bool,
}

/// A table as its schema describes it.
#[derive(Clone, Debug, Deserialize)]
pub struct TableSchema {
    pub name: String,
    pub title: String,
    pub description: String,
    pub fields: Vec<FieldSchema>,
    /// A row is named by one of these fields.
    #[serde(rename = "x-identity", deserialize_with = "field_names")]
    pub identity: Vec<FieldName>,
    /// Without one of these, a table is none of this kind.
    #[serde(rename = "x-signature", deserialize_with = "field_names")]
    pub signature: Vec<FieldName>,
    /// The fewest columns that make a table of this kind.
    #[serde(rename = "x-minimum")]
    pub minimum: usize,
    /// How such a table is titled.
    #[serde(rename = "x-titles")]
    pub titles: Vec<String>,
    /// What tells that the table is about something else.
    #[serde(default, rename = "x-foreign")]
    pub foreign: Foreign,
}

/// Headings and titles of tables about other things, that have columns in
/// common with one of ours: pipes run from a unit to a unit too.
#[derive(Clone, Debug, Default, Deserialize)]
pub struct Foreign {
    pub headings: Vec<String>,
    pub titles: Vec<String>,
    /// A column of one of these makes it a table of ours all the same.
    #[serde(deserialize_with = "field_names")]
    pub unless: Vec<FieldName>,
}

/// The grammars that a schema can name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Notation {
    Name,
    FreeText,
    Dwelling,
    Kind,
    Quantity,
    WholeNumber,
    Capacity,
    Amps,
    NameplateAmps,
    Mop,
    McaMop,
    Fuse,
    Supply,
    PanelSupply,
    Volts,
    Phases,
    Hertz,
    Kilowatts,
    YesNo,
    Horsepower,
    Place,
    Disconnect,
    Length,
    Slots,
    PanelSlots,
    Breaker,
    Poles,
    Conductor,
    Grounding,
    Insulation,
    Terminals,
    Raceway,
    Temperature,
    VoltAmps,
    Loads,
    TagList,
    Purpose,
    Side,
    LowVoltageWire,
    Gauge,
    ConductorCount,
    Stranded,
    Shielded,
    ShieldGround,
    Splices,
    Routing,
    Customer,
    Edition,
    Revision,
    Date,
}

fn field_name<'de, D: serde::Deserializer<'de>>(from: D) -> Result<FieldName, D::Error> {
    let name = String::deserialize(from)?;
    FieldName::parse(&name)
        .ok_or_else(|| serde::de::Error::custom(format!("{name} is no field of the schedule")))
}

fn field_names<'de, D: serde::Deserializer<'de>>(from: D) -> Result<Vec<FieldName>, D::Error> {
    let names = Vec::<String>::deserialize(from)?;
    let parsed = names.iter().map(|name| {
        FieldName::parse(name)
            .ok_or_else(|| serde::de::Error::custom(format!("{name} is no field of the schedule")))
    });
    parsed.collect()
}

fn unit<'de, D: serde::Deserializer<'de>>(from: D) -> Result<Option<ColumnUnit>, D::Error> {
    let name = String::deserialize(from)?;
    ColumnUnit::parse(&name)
        .map(Some)
        .ok_or_else(|| serde::de::Error::custom(format!("{name} is no unit of measure")))
}

/// How a heading is listed for a field.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Listed {
    /// Means nothing without a band.
    Banded,
    /// Needs a band, neighbours or notation.
    Weak,
    /// Another spelling of it.
    Heading,
    /// The field's title, or the first of its headings.
    Title,
}

/// All tables, ready to be asked for a heading.
#[derive(Clone, Debug)]
pub struct Schemas {
    number: u64,
    tables: Vec<TableSchema>,
    words: Words,
    layouts: Layouts,
    /// By the heading's key: the fields that list it.
    headings: HashMap<String, Vec<(FieldName, Listed)>>,
    /// By the band's key: the fields that a bare heading under it may mean.
    bands: HashMap<String, Vec<FieldName>>,
    never: HashMap<String, Vec<FieldName>>,
    /// By the title's key.
    titles: HashMap<String, Vec<TableKind>>,
    /// By the key of a heading, or of a title, that is foreign to a table.
    foreign: HashMap<String, Vec<TableKind>>,
    foreign_titles: HashMap<String, Vec<TableKind>>,
    /// Every word that occurs in a heading or a band.
    vocabulary: std::collections::HashSet<String>,
    /// Headings for people, each with its key, in the order of the schemas.
    spelled: Vec<Spelled>,
    /// The user's own headings, as their file says them.
    user: String,
}

#[derive(Clone, Debug)]
struct Spelled {
    text: String,
    key: String,
    field: FieldName,
    /// Of the key, a bit each.
    letters: u32,
}

/// The letters that occur in a key, a bit each.
pub(in crate::intake) fn letters(key: &str) -> u32 {
    key.bytes()
        .filter(u8::is_ascii_uppercase)
        .fold(0, |set, b| set | 1 << (b - b'A'))
}

/// Never 0, which stands for no schemas.
fn next_number() -> u64 {
    static LAST: AtomicU64 = AtomicU64::new(0);
    LAST.fetch_add(1, Ordering::Relaxed) + 1
}

static EMBEDDED: LazyLock<Result<Arc<Schemas>, String>> =
    LazyLock::new(|| Schemas::parse(&TABLES).map(Arc::new));

impl Schemas {
    /// The schemas that the program carries.
    pub fn embedded() -> &'static Self {
        Self::carried()
    }

    /// The same, for options that own theirs.
    pub fn shared() -> Arc<Self> {
        Arc::clone(Self::carried())
    }

    fn carried() -> &'static Arc<Self> {
        static NONE: LazyLock<Arc<Schemas>> = LazyLock::new(|| Arc::new(Schemas::empty()));
        // A test parses the files that are compiled in.
        EMBEDDED.as_ref().unwrap_or(&NONE)
    }

    fn empty() -> Self {
        Self {
            number: next_number(),
            tables: Vec::new(),
            words: Words::default(),
            layouts: Layouts::default(),
            headings: HashMap::new(),
            bands: HashMap::new(),
            never: HashMap::new(),
            titles: HashMap::new(),
            foreign: HashMap::new(),
            foreign_titles: HashMap::new(),
            vocabulary: std::collections::HashSet::new(),
            spelled: Vec::new(),
            user: String::new(),
        }
    }

    fn parse(files: &[&str]) -> Result<Self, String> {
        let mut schemas = Self::empty();
        schemas.words = Words::parse(WORDS).map_err(|e| format!("words of headings: {e}"))?;
        schemas.layouts = Layouts::parse(LAYOUTS, |text| schemas.key(text))
            .map_err(|e| format!("words of layouts: {e}"))?;
        for json in files {
            let table: TableSchema = serde_json::from_str(json).map_err(|e| e.to_string())?;
            schemas.add(&table);
            schemas.tables.push(table);
        }
        Ok(schemas)
    }

    fn add(&mut self, table: &TableSchema) {
        for schema in &table.fields {
            let field = schema.field;
            let first = schema.headings.first();
            for heading in &schema.headings {
                let listed = if first == Some(heading) || *heading == schema.title {
                    Listed::Title
                } else {
                    Listed::Heading
                };
                self.list(heading, field, listed);
            }
            for heading in &schema.weak {
                self.list(heading, field, Listed::Weak);
            }
            for heading in &schema.under_band {
                self.list(heading, field, Listed::Banded);
            }
            for band in &schema.bands {
                let key = self.learn(band);
                let fields = self.bands.entry(key).or_default();
                if !fields.contains(&field) {
                    fields.push(field);
                }
            }
            for heading in &schema.never {
                let key = self.key(heading);
                self.never.entry(key).or_default().push(field);
            }
        }
        let Some(kind) = table.fields.first().map(|f| f.field.table()) else {
            return;
        };
        for title in &table.titles {
            let key = self.key(title);
            self.titles.entry(key).or_default().push(kind);
        }
        for heading in &table.foreign.headings {
            let key = self.key(heading);
            self.foreign.entry(key).or_default().push(kind);
        }
        for title in &table.foreign.titles {
            let key = self.key(title);
            self.foreign_titles.entry(key).or_default().push(kind);
        }
    }

    fn list(&mut self, heading: &str, field: FieldName, listed: Listed) {
        let key = self.learn(heading);
        let fields = self.headings.entry(key.clone()).or_default();
        match fields.iter_mut().find(|(known, _)| *known == field) {
            Some((_, known)) => *known = (*known).max(listed),
            None => {
                fields.push((field, listed));
                self.spelled.push(Spelled {
                    text: heading.to_owned(),
                    letters: letters(&key),
                    key,
                    field,
                });
            }
        }
    }

    /// Keeps the words of a heading; gives its key.
    fn learn(&mut self, heading: &str) -> String {
        let words = self.words.canonical(heading);
        let key = words.concat();
        self.vocabulary.extend(words);
        key
    }

    /// Tells these schemas from others, as long as the program runs.
    pub(in crate::intake) fn number(&self) -> u64 {
        self.number
    }

    /// The words of a heading, spellings of one meaning made one.
    pub fn words(&self, text: &str) -> Rc<[String]> {
        thread_local!(static WORDS: OfSchemas<Rc<[String]>> = OfSchemas::default());
        let words = || self.words.canonical(text).into();
        WORDS.with(|known| known.say(self, text, words))
    }

    /// What is compared when headings are: without case, spaces and signs.
    pub fn key(&self, text: &str) -> String {
        self.words(text).concat()
    }

    /// Fields that list a heading of this key.
    pub fn listed(&self, key: &str) -> &[(FieldName, Listed)] {
        self.headings.get(key).map_or(&[], Vec::as_slice)
    }

    /// Fields that a bare heading under a band of this key may mean.
    pub fn under_band(&self, key: &str) -> &[FieldName] {
        self.bands.get(key).map_or(&[], Vec::as_slice)
    }

    /// Whether a heading of this key must not be taken for `field`.
    pub fn never(&self, key: &str, field: FieldName) -> bool {
        self.never
            .get(key)
            .is_some_and(|fields| fields.contains(&field))
    }

    /// Kinds of table that are titled so.
    pub fn titled(&self, key: &str) -> &[TableKind] {
        self.titles.get(key).map_or(&[], Vec::as_slice)
    }

    /// Whether a heading of this key tells that a table is not of `kind`.
    pub fn foreign(&self, key: &str, kind: TableKind) -> bool {
        let kinds = self.foreign.get(key);
        kinds.is_some_and(|kinds| kinds.contains(&kind))
    }

    /// Kinds of which a table titled so is none.
    pub fn foreign_titles(&self, key: &str) -> &[TableKind] {
        self.foreign_titles.get(key).map_or(&[], Vec::as_slice)
    }

    /// Whether a word occurs in any heading or band.
    pub fn knows_word(&self, word: &str) -> bool {
        self.vocabulary.contains(word)
    }

    /// Every heading as the schemas spell it, with its key and its field.
    pub fn headings(&self) -> impl Iterator<Item = (&str, &str, FieldName)> {
        self.spelled
            .iter()
            .map(|one| (one.text.as_str(), one.key.as_str(), one.field))
    }

    /// Those of [`Schemas::headings`] whose likeness to a key, as
    /// `1 - edits / length`, may reach `least`: a cheap bound, because an
    /// edit changes the set of letters by two at most.
    pub fn may_be_near(
        &self,
        key: &str,
        least: f64,
    ) -> impl Iterator<Item = (&str, &str, FieldName)> {
        let (own, length) = (letters(key), key.len());
        self.spelled
            .iter()
            .filter(move |one| {
                let edits = (1.0 - least) * length.max(one.key.len()) as f64 + 1e-9;
                one.key.len().abs_diff(length) as f64 <= edits
                    && f64::from((one.letters ^ own).count_ones()) <= 2.0 * edits
            })
            .map(|one| (one.text.as_str(), one.key.as_str(), one.field))
    }

    /// Words by which layouts other than one row a thing are known.
    pub fn layouts(&self) -> &Layouts {
        &self.layouts
    }

    pub fn tables(&self) -> &[TableSchema] {
        &self.tables
    }

    pub fn table(&self, kind: TableKind) -> Option<&TableSchema> {
        self.tables.iter().find(|table| table.name == kind.name())
    }

    pub fn field(&self, field: FieldName) -> Option<&FieldSchema> {
        self.table(field.table())?
            .fields
            .iter()
            .find(|schema| schema.field == field)
    }
}

#[cfg(test)]
mod tests;
