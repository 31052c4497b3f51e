//! What an outcome is about.

use crate::schedule::{
    CellId, CircuitId, ControllerId, Field, Name, PanelId, RunId, Schedule, Slot, SystemId, UnitId,
};

/// The thing that an outcome is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Subject {
    Job,
    /// Index into the schedule's source tables.
    Table(u32),
    Unit(UnitId),
    Circuit(CircuitId),
    Panel(PanelId),
    Run(RunId),
    Controller(ControllerId),
    System(SystemId),
    /// A cell of a row that became none of the above.
    Cell(CellId),
}

impl Subject {
    /// What people call it.
    pub fn label(self, schedule: &Schedule) -> String {
        match self {
            Self::Job => schedule.title.clone(),
            Self::Table(table) => {
                let Some(source) = schedule.sources.tables.get(table as usize) else {
                    return String::new();
                };
                match &source.sheet {
                    Some(sheet) => format!("{} in {sheet}", source.kind),
                    None => source.kind.to_string(),
                }
            }
            Self::Unit(id) => schedule.unit_label(id),
            Self::Circuit(id) => schedule.circuit_label(id),
            Self::Panel(id) => format!("panel {}", schedule.panel_label(id)),
            Self::Run(id) => schedule.run_label(id),
            Self::Controller(id) => schedule.controller_label(id),
            Self::System(id) => format!("system {}", schedule.system_label(id)),
            Self::Cell(cell) => {
                let text = schedule.sources.text(cell);
                let shown: String = text.chars().take(40).collect();
                format!("\u{201c}{shown}\u{201d}")
            }
        }
    }

    /// The dwelling that it stands in.
    pub fn dwelling(self, schedule: &Schedule) -> Option<&Name> {
        match self {
            Self::Unit(id) => schedule.unit(id).dwelling.get(),
            Self::Circuit(id) => schedule.circuit(id).dwelling.get(),
            Self::Panel(id) => schedule.panel(id).dwelling.get(),
            Self::Run(id) => schedule.run(id).dwelling.get(),
            Self::Controller(id) => schedule.controller(id).dwelling.get(),
            Self::System(id) => schedule.system(id).dwelling.as_ref(),
            Self::Job | Self::Table(_) | Self::Cell(_) => None,
        }
    }

    /// What stays the same when rows move, files are renamed or values
    /// change: the part of a finding's identity that names the subject.
    pub fn key(self, schedule: &Schedule) -> String {
        format!(
            "{}|{}",
            dwelling_key(self.dwelling(schedule)),
            self.key_in_dwelling(schedule)
        )
    }

    /// The key without the dwelling: apartments of one plan share it.
    pub fn key_in_dwelling(self, schedule: &Schedule) -> String {
        let name = |field: &Field<Name>| field.get().map_or("", Name::key).to_owned();
        match self {
            Self::Job => "job".to_owned(),
            Self::Table(table) => {
                let kind = schedule
                    .sources
                    .tables
                    .get(table as usize)
                    .map(|t| t.kind.name());
                format!("table:{}", kind.unwrap_or_default())
            }
            Self::Unit(id) => {
                let unit = schedule.unit(id);
                format!("unit:{}#{}", unit.tag.value.key(), unit.instance.0)
            }
            Self::Circuit(id) => {
                let circuit = schedule.circuit(id);
                let slots: Vec<String> = circuit
                    .slots
                    .get()
                    .into_iter()
                    .flatten()
                    .map(Slot::to_string)
                    .collect();
                let mut key = format!(
                    "circuit:{}/{}/{}",
                    name(&circuit.panel),
                    slots.join(","),
                    name(&circuit.name)
                );
                if slots.is_empty() && !circuit.name.is_given() {
                    let loads: Vec<String> = circuit
                        .loads
                        .iter()
                        .map(|load| Name::new(&load.text.value).key().to_owned())
                        .collect();
                    key.push_str(&loads.join("+"));
                }
                key
            }
            Self::Panel(id) => format!("panel:{}", schedule.panel(id).name.value.key()),
            Self::Run(id) => {
                let run = schedule.run(id);
                let mut ends = [name(&run.from), name(&run.to)];
                ends.sort();
                format!("run:{}>{}", ends[0], ends[1])
            }
            Self::Controller(id) => {
                format!("controller:{}", schedule.controller(id).tag.value.key())
            }
            Self::System(id) => format!("system:{}", schedule.system(id).name.key()),
            Self::Cell(cell) => {
                // The heading of the column is the steadiest thing about it.
                format!("cell:{}", Name::new(schedule.sources.heading(cell)).key())
            }
        }
    }
}

fn dwelling_key(dwelling: Option<&Name>) -> &str {
    dwelling.map_or("", Name::key)
}
