//! What a job says of itself, and what a form says of its panel.

use super::reader::Reader;
use super::table::{Assembly, Shared, panel_name};
use crate::intake::found::{FormEntry, SectionOf};
use crate::intake::notation::{
    Context, Reading, amps, customer, date, edition, free_text, name, panel_supply, revision,
};
use crate::schedule::{Fault, Field, FieldName, JobFacts, Located, Name, Panel, RowIndex};
use jiff::civil::Date;

impl<'a> Assembly<'a> {
    /// Reads the form on a table's sheet: facts of the job, and the panel
    /// that the table is about.
    pub(super) fn read_form(&mut self, reader: &mut Reader<'a>) -> Shared {
        let mut panel = PanelForm::default();
        let mut dwelling = Field::Blank(None);
        let found = reader.found;
        for entry in &found.form {
            let cell = entry.value;
            // Tables side by side share one form: its faults are told once.
            let told = !self.forms_read.insert((reader.place(), cell, entry.field));
            let before = reader.faults.len();
            match entry.field {
                FieldName::PanelName => panel.name = reader.form(entry, panel_name),
                FieldName::PanelSupply => panel.supply = reader.form(entry, panel_supply),
                FieldName::PanelMain => panel.main = reader.form(entry, amps),
                FieldName::PanelBus => panel.bus = reader.form(entry, amps),
                FieldName::PanelFedFrom => {
                    panel.fed_from = reader.form(entry, free_text);
                }
                FieldName::PanelDwelling
                | FieldName::UnitDwelling
                | FieldName::CircuitDwelling
                | FieldName::RunDwelling
                | FieldName::ControllerDwelling => {
                    dwelling = reader.form(entry, name);
                }
                field => {
                    read_fact(&mut self.draft.facts, reader, field, Some(entry));
                }
            }
            if told {
                reader.faults.truncate(before);
            }
            let at = reader.id_at(cell.0, cell.1);
            if let Some(text) = reader.shown(cell.0, cell.1) {
                self.draft.sources.keep_text(at, &text);
            }
        }
        if let (false, Some((text, cell))) = (panel.name.is_given(), &found.panel) {
            let at = cell.map_or_else(
                || reader.heading_cell(),
                |(row, column)| reader.id_at(row, column),
            );
            panel.name = Field::given(Name::new(text), at);
        }
        let shared = Shared {
            panel: panel.name.clone(),
            dwelling,
            ..Shared::default()
        };
        if let Field::Given(name) = panel.name {
            self.draft.panels.push(Panel {
                name,
                dwelling: shared.dwelling.clone(),
                supply: panel.supply,
                main: panel.main,
                bus: panel.bus,
                fed_from: panel.fed_from,
            });
        }
        shared
    }

    /// Takes what section rows above `row` name, where the table has no column
    /// for it. A dwelling's section ends the system and the panel above it.
    pub(super) fn pass_sections(
        &mut self,
        reader: &mut Reader<'a>,
        shared: &mut Shared,
        row: RowIndex,
    ) {
        let found = reader.found;
        while let Some(section) = found
            .sections
            .get(shared.passed)
            .filter(|section| section.at.0 < row)
        {
            shared.passed += 1;
            let at = reader.id_at(section.at.0, section.at.1);
            let named = Field::given(Name::new(&section.name), at);
            if let Some(text) = reader.shown(section.at.0, section.at.1) {
                self.draft.sources.keep_text(at, &text);
            }
            match section.of {
                SectionOf::Unknown if matches!(shared.dwelling, Field::Blank(_)) => {}
                SectionOf::Dwelling | SectionOf::Building | SectionOf::Unknown => {
                    if !has_dwellings(reader) {
                        shared.dwelling = match section.of {
                            SectionOf::Dwelling => named,
                            _ => Field::Blank(None),
                        };
                    }
                    shared.system = Field::Blank(None);
                    if found.panel.is_none() && !found.form.iter().any(of_panel) {
                        shared.panel = Field::Blank(None);
                    }
                }
                SectionOf::System => shared.system = named,
                SectionOf::Panel if reader.has(FieldName::CircuitPanel) => {}
                SectionOf::Panel => {
                    let name = Located::new(Name::new(&section.name), at);
                    self.draft.panels.push(Panel {
                        name,
                        dwelling: shared.dwelling.clone(),
                        supply: Field::Blank(None),
                        main: Field::Blank(None),
                        bus: Field::Blank(None),
                        fed_from: Field::Blank(None),
                    });
                    shared.panel = named;
                }
            }
        }
    }

    /// Facts in columns of a wide table: the first row that states one.
    pub(super) fn read_job_columns(&mut self, reader: &mut Reader<'a>) {
        for field in JOB_FIELDS {
            if reader.has(field) && !stated(&self.draft.facts, field) {
                read_fact(&mut self.draft.facts, reader, field, None);
            }
        }
    }
}

fn of_panel(entry: &FormEntry) -> bool {
    entry.field == FieldName::PanelName
}

pub(super) fn has_dwellings(reader: &Reader<'_>) -> bool {
    let fields = [
        FieldName::UnitDwelling,
        FieldName::CircuitDwelling,
        FieldName::PanelDwelling,
        FieldName::RunDwelling,
        FieldName::ControllerDwelling,
    ];
    reader.first_of(&fields).is_some()
}

#[derive(Default)]
struct PanelForm {
    name: Field<Name>,
    supply: Field<crate::schedule::PanelSupply>,
    main: Field<crate::schedule::Amps>,
    bus: Field<crate::schedule::Amps>,
    fed_from: Field<String>,
}

const JOB_FIELDS: [FieldName; 11] = [
    FieldName::JobName,
    FieldName::JobNumber,
    FieldName::JobCustomer,
    FieldName::JobSupply,
    FieldName::JobEdition,
    FieldName::JobSubmittedBy,
    FieldName::JobRevision,
    FieldName::JobDate,
    FieldName::JobPressureTest,
    FieldName::JobCharge,
    FieldName::JobPowerOn,
];

/// Whether anything was said of the fact, understood or not.
fn stated(facts: &JobFacts, field: FieldName) -> bool {
    let blank = match field {
        FieldName::JobName => facts.name.is_blank(),
        FieldName::JobNumber => facts.number.is_blank(),
        FieldName::JobCustomer => facts.customer.is_blank(),
        FieldName::JobSupply => facts.supply.is_blank(),
        FieldName::JobEdition => facts.edition.is_blank(),
        FieldName::JobSubmittedBy => facts.submitted_by.is_blank(),
        FieldName::JobRevision => facts.revision.is_blank(),
        FieldName::JobDate => facts.date.is_blank(),
        FieldName::JobPressureTest => facts.pressure_test.is_blank(),
        FieldName::JobCharge => facts.charge.is_blank(),
        FieldName::JobPowerOn => facts.power_on.is_blank(),
        _ => false,
    };
    !blank
}

/// Where a fact stands: in a form, else in its column of this row.
type Entry<'e> = Option<&'e FormEntry>;

/// Reads a fact, where nothing earlier stated it.
fn read_fact(facts: &mut JobFacts, reader: &mut Reader<'_>, field: FieldName, entry: Entry<'_>) {
    if stated(facts, field) {
        return;
    }
    match field {
        FieldName::JobName => facts.name = fetch(reader, field, entry, free_text),
        FieldName::JobNumber => facts.number = fetch(reader, field, entry, free_text),
        FieldName::JobCustomer => facts.customer = fetch(reader, field, entry, customer),
        FieldName::JobSupply => facts.supply = fetch(reader, field, entry, panel_supply),
        FieldName::JobEdition => facts.edition = fetch(reader, field, entry, edition),
        FieldName::JobSubmittedBy => facts.submitted_by = fetch(reader, field, entry, free_text),
        FieldName::JobRevision => facts.revision = fetch(reader, field, entry, revision),
        FieldName::JobDate => facts.date = fetch_date(reader, field, entry),
        FieldName::JobPressureTest => facts.pressure_test = fetch_date(reader, field, entry),
        FieldName::JobCharge => facts.charge = fetch_date(reader, field, entry),
        FieldName::JobPowerOn => facts.power_on = fetch_date(reader, field, entry),
        _ => {}
    }
}

fn fetch<T: PartialEq>(
    reader: &mut Reader<'_>,
    field: FieldName,
    entry: Entry<'_>,
    grammar: impl Fn(&str, &Context) -> Reading<T>,
) -> Field<T> {
    match entry {
        Some(entry) => reader.form(entry, grammar),
        None => reader.read(field, grammar),
    }
}

/// A date; where day and month may be exchanged, it is said which was taken.
fn fetch_date(reader: &mut Reader<'_>, field: FieldName, entry: Entry<'_>) -> Field<Date> {
    let written = fetch(reader, field, entry, date);
    if let Field::Given(given) = &written
        && let Some(other) = given.value.other
    {
        reader.faults.push(Fault::Other {
            at: given.at.into(),
            says: format!(
                "The date was taken as {}; it may also be read as {other}.",
                given.value.date
            ),
        });
    }
    written.map(|written| written.date)
}

/// Number and name of the job, as the forms of a file state them.
pub fn facts_of(file: &super::ReadFile) -> (Option<String>, Option<String>) {
    let mut facts = JobFacts::default();
    for found in &file.tables {
        let Some(sheet) = file.book.sheet(found.sheet) else {
            continue;
        };
        let mut reader = Reader::new(found, sheet, file.book.epoch_1904, file.style, 0);
        for entry in &found.form {
            if matches!(entry.field, FieldName::JobNumber | FieldName::JobName) {
                read_fact(&mut facts, &mut reader, entry.field, Some(entry));
            }
        }
    }
    let text = |field: Field<String>| match field {
        Field::Given(given) => Some(given.value),
        _ => None,
    };
    (text(facts.number), text(facts.name))
}
