//! A job, and what its things are called.

use super::*;

/// A job, typed, resolved and ready for the rules.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Schedule {
    /// The job key: its number, else its normalised name, else its file's
    /// stem without revision words. Finding ids hang on it.
    pub key: String,
    /// What people call the job.
    pub title: String,
    pub facts: JobFacts,
    pub units: Vec<Unit>,
    pub circuits: Vec<Circuit>,
    pub panels: Vec<Panel>,
    pub runs: Vec<Run>,
    pub controllers: Vec<Controller>,
    pub systems: Vec<System>,
    pub faults: Vec<Fault>,
    pub sources: Sources,
}

impl Schedule {
    pub fn unit(&self, id: UnitId) -> &Unit {
        &self.units[id.index()]
    }

    pub fn circuit(&self, id: CircuitId) -> &Circuit {
        &self.circuits[id.index()]
    }

    pub fn panel(&self, id: PanelId) -> &Panel {
        &self.panels[id.index()]
    }

    pub fn run(&self, id: RunId) -> &Run {
        &self.runs[id.index()]
    }

    pub fn controller(&self, id: ControllerId) -> &Controller {
        &self.controllers[id.index()]
    }

    pub fn system(&self, id: SystemId) -> &System {
        &self.systems[id.index()]
    }

    /// Units that the audit looks at: repetitions of a row left out.
    pub fn audited_units(&self) -> impl Iterator<Item = (UnitId, &Unit)> {
        self.units
            .iter()
            .enumerate()
            .filter(|(_, unit)| unit.repeats.is_none())
            .map(|(index, unit)| (UnitId(index as u32), unit))
    }

    pub fn circuit_ids(&self) -> impl Iterator<Item = (CircuitId, &Circuit)> {
        self.circuits
            .iter()
            .enumerate()
            .map(|(i, c)| (CircuitId(i as u32), c))
    }

    pub fn run_ids(&self) -> impl Iterator<Item = (RunId, &Run)> {
        self.runs
            .iter()
            .enumerate()
            .map(|(i, r)| (RunId(i as u32), r))
    }

    pub fn controller_ids(&self) -> impl Iterator<Item = (ControllerId, &Controller)> {
        self.controllers
            .iter()
            .enumerate()
            .map(|(i, c)| (ControllerId(i as u32), c))
    }

    pub fn system_ids(&self) -> impl Iterator<Item = (SystemId, &System)> {
        self.systems
            .iter()
            .enumerate()
            .map(|(i, s)| (SystemId(i as u32), s))
    }

    /// Whether any table of that kind was found.
    pub fn has_table(&self, kind: TableKind) -> bool {
        self.sources
            .tables
            .iter()
            .any(|table| table.kinds.contains(&kind))
    }

    /// Whether any table has a column for `field` with something in it: a
    /// column wholly absent or wholly empty makes its rules not checked.
    pub fn covers<T, F: Fn(&T) -> bool>(items: &[T], filled: F) -> bool {
        items.iter().any(filled)
    }

    /// The supply of a circuit's panel, else the job's, with the cell.
    pub fn supply_of(&self, circuit: &Circuit) -> Option<Located<PanelSupply>> {
        let panel = circuit.panel_id.map(|id| &self.panel(id).supply);
        match panel {
            Some(Field::Given(located)) => Some(*located),
            _ => match &self.facts.supply {
                Field::Given(located) => Some(*located),
                _ => None,
            },
        }
    }

    /// Where a finding about an absent value is pinned: the empty cell of
    /// the field, else the cell that names the thing.
    pub fn anchor<T>(&self, field: &Field<T>, thing: CellId) -> Place {
        Place::Cell(field.at().unwrap_or(thing))
    }

    /// `FC-1`, `12C FC-1`, `FC-1 (2 of 3)`.
    pub fn unit_label(&self, id: UnitId) -> String {
        let unit = self.unit(id);
        let mut label = labelled(unit.dwelling.get(), unit.tag.value.text());
        if unit.instance.1 > 1 {
            label.push_str(&format!(" ({} of {})", unit.instance.0, unit.instance.1));
        }
        label
    }

    /// `LP-1,3`, `12C LP-1,3`, `circuit AC-1`, `circuit of FC-1`.
    pub fn circuit_label(&self, id: CircuitId) -> String {
        let circuit = self.circuit(id);
        let slots = circuit.slots.get().map(|slots| {
            slots
                .iter()
                .map(Slot::to_string)
                .collect::<Vec<_>>()
                .join(",")
        });
        let own = match (circuit.panel.get(), slots, circuit.name.get()) {
            (Some(panel), Some(slots), _) => format!("{panel}-{slots}"),
            (None, Some(slots), _) => format!("circuit {slots}"),
            (Some(panel), None, Some(name)) => format!("{panel} {name}"),
            (None, None, Some(name)) => format!("circuit {name}"),
            (panel, None, None) => {
                let loads: Vec<_> = circuit
                    .loads
                    .iter()
                    .map(|load| load.text.value.as_str())
                    .collect();
                let of = if loads.is_empty() {
                    "?".to_owned()
                } else {
                    loads.join(", ")
                };
                match panel {
                    Some(panel) => format!("{panel}, circuit of {of}"),
                    None => format!("circuit of {of}"),
                }
            }
        };
        labelled(circuit.dwelling.get(), &own)
    }

    /// `OU-1 to FC-1`.
    pub fn run_label(&self, id: RunId) -> String {
        let run = self.run(id);
        let end = |field: &Field<Name>| field.get().map_or("?", Name::text).to_owned();
        labelled(
            run.dwelling.get(),
            &format!("{} to {}", end(&run.from), end(&run.to)),
        )
    }

    pub fn controller_label(&self, id: ControllerId) -> String {
        let controller = self.controller(id);
        labelled(controller.dwelling.get(), controller.tag.value.text())
    }

    pub fn system_label(&self, id: SystemId) -> String {
        let system = self.system(id);
        labelled(system.dwelling.as_ref(), system.name.text())
    }

    pub fn panel_label(&self, id: PanelId) -> String {
        let panel = self.panel(id);
        labelled(panel.dwelling.get(), panel.name.value.text())
    }

    /// Whether the table that a cell lies in has a column for `field`.
    pub fn table_has(&self, at: CellId, field: FieldName) -> bool {
        self.sources
            .tables
            .get(at.table as usize)
            .is_some_and(|table| table.has(field))
    }
}

fn labelled(dwelling: Option<&Name>, own: &str) -> String {
    match dwelling {
        Some(dwelling) => format!("{dwelling} {own}"),
        None => own.to_owned(),
    }
}
