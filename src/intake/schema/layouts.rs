//! Words by which layouts are known that are not one row a thing.

use serde::Deserialize;

/// Keys of words, as [`super::Schemas::key`] makes them.
#[derive(Clone, Debug, Default)]
pub struct Layouts {
    pub attribute: Vec<String>,
    pub value: Vec<String>,
    pub measure: Vec<String>,
    /// Sections that belong to no dwelling.
    pub building: Vec<String>,
    /// Sections that are a dwelling by themselves.
    pub dwellings: Vec<String>,
    /// Words of sections that part a dwelling's own rows.
    pub within: Vec<String>,
    /// Headings of the type of a dwelling.
    pub types: Vec<String>,
    /// Headings of schedules of doors, which are no dwellings.
    pub doors: Vec<String>,
    /// What marks a cell of a matrix, as written.
    pub marks: Vec<String>,
    /// What fills a matrix of what goes with what, in lower case.
    pub marks_of_matrix: Vec<String>,
    /// Texts that mean an empty cell where assets are handed over.
    pub nothing: Vec<String>,
    /// Parts of words by which a connection is of low voltage.
    pub wire: Vec<String>,
}

#[derive(Deserialize)]
#[serde(rename_all = "kebab-case")]
struct File {
    long_form: LongForm,
    building_sections: Vec<String>,
    dwelling_sections: Vec<String>,
    sections_within: Vec<String>,
    types: Vec<String>,
    doors: Vec<String>,
    marks: Vec<String>,
    marks_of_matrix: Vec<String>,
    handover: Handover,
}

#[derive(Deserialize)]
struct LongForm {
    attribute: Vec<String>,
    value: Vec<String>,
    unit: Vec<String>,
}

#[derive(Deserialize)]
struct Handover {
    nothing: Vec<String>,
    wire: Vec<String>,
}

impl Layouts {
    pub(super) fn parse(
        json: &str,
        key: impl Fn(&str) -> String,
    ) -> Result<Self, serde_json::Error> {
        let file: File = serde_json::from_str(json)?;
        let keys = |texts: &[String]| texts.iter().map(|text| key(text)).collect();
        Ok(Self {
            attribute: keys(&file.long_form.attribute),
            value: keys(&file.long_form.value),
            measure: keys(&file.long_form.unit),
            building: keys(&file.building_sections),
            dwellings: keys(&file.dwelling_sections),
            within: keys(&file.sections_within),
            types: keys(&file.types),
            doors: keys(&file.doors),
            marks: file.marks,
            marks_of_matrix: file.marks_of_matrix,
            nothing: file.handover.nothing,
            wire: file.handover.wire,
        })
    }
}
