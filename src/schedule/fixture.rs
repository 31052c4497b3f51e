//! Small schedules for tests, built without files: each value gets a cell of
//! its own, so that places can be asserted.

use super::*;

/// Builds a [`Draft`] row by row.
pub struct Fixture {
    pub draft: Draft,
    rows: [u32; 6],
}

fn at(table: u32, row: u32, column: u16) -> CellId {
    CellId {
        table,
        row: RowIndex(row),
        column: ColIndex(column),
    }
}

/// Gives out cells of one row, one column after the other.
pub struct Cells {
    table: u32,
    row: u32,
    next: u16,
}

impl Cells {
    pub fn cell(&mut self) -> CellId {
        self.next += 1;
        at(self.table, self.row, self.next)
    }

    /// A given field in the next cell.
    pub fn given<T>(&mut self, value: T) -> Field<T> {
        Field::given(value, self.cell())
    }

    /// An empty cell of a column that the table has.
    pub fn blank<T>(&mut self) -> Field<T> {
        Field::Blank(Some(self.cell()))
    }

    pub fn name(&mut self, text: &str) -> Field<Name> {
        self.given(Name::new(text))
    }

    pub fn amps(&mut self, amps: f64) -> Field<Amps> {
        self.given(Amps(amps))
    }

    pub fn mca(&mut self, amps: f64) -> Field<NameplateAmps> {
        self.given(NameplateAmps::One(Amps(amps)))
    }

    pub fn mop(&mut self, amps: f64) -> Field<Mop> {
        self.given(Mop {
            amps: NameplateAmps::One(Amps(amps)),
            fuses_only: false,
        })
    }

    pub fn supply(&mut self, volts: &[u16], phases: u8) -> Field<Supply> {
        self.given(Supply {
            volts: volts.to_vec(),
            phases: Some(phases),
        })
    }
}

impl Default for Fixture {
    fn default() -> Self {
        Self::new()
    }
}

impl Fixture {
    /// An empty job with one table of each kind; nothing in it yet.
    pub fn new() -> Self {
        let mut draft = Draft {
            key: "test".into(),
            title: "test".into(),
            ..Draft::default()
        };
        draft.sources.files.push(SourceFile {
            path: "test.csv".into(),
            bytes: 0,
        });
        for kind in TableKind::ALL {
            draft.sources.tables.push(SourceTable {
                file: 0,
                sheet: Some(kind.name().to_owned()),
                kind,
                kinds: Vec::new(),
                header: (RowIndex(0), RowIndex(0)),
                part_of: None,
                columns: Vec::new(),
                rows_taken: 0,
                rows_left_out: Vec::new(),
                hidden: false,
            });
        }
        Self {
            draft,
            rows: [1; 6],
        }
    }

    fn row(&mut self, kind: TableKind) -> Cells {
        let table = TableKind::ALL.iter().position(|k| *k == kind).unwrap_or(0);
        let row = self.rows[table];
        self.rows[table] += 1;
        let source = &mut self.draft.sources.tables[table];
        source.rows_taken += 1;
        if source.kinds.is_empty() {
            source.kinds.push(kind);
        }
        Cells {
            table: table as u32,
            row,
            next: 0,
        }
    }

    pub fn unit(
        &mut self,
        tag: &str,
        kind: UnitKind,
        fill: impl FnOnce(&mut Unit, &mut Cells),
    ) -> &mut Self {
        let mut cells = self.row(TableKind::Equipment);
        let mut unit = Unit::new(Located::new(Name::new(tag), cells.cell()));
        unit.kind = Field::given(kind, unit.tag.at);
        fill(&mut unit, &mut cells);
        self.draft.units.push(unit);
        self
    }

    /// A circuit on panel `panel` at the slots given, feeding `loads`.
    pub fn circuit(
        &mut self,
        panel: &str,
        slots: &[u16],
        loads: &[&str],
        fill: impl FnOnce(&mut Circuit, &mut Cells),
    ) -> &mut Self {
        let mut cells = self.row(TableKind::Circuits);
        let mut circuit = Circuit::new(cells.cell());
        circuit.panel = Field::given(Name::new(panel), circuit.at);
        let slots = slots
            .iter()
            .map(|&number| Slot { number, half: None })
            .collect();
        circuit.slots = cells.given(slots);
        let load_cell = cells.cell();
        circuit.loads = loads
            .iter()
            .map(|text| Load::new(text, Part::Whole, load_cell))
            .collect();
        fill(&mut circuit, &mut cells);
        self.draft.circuits.push(circuit);
        self
    }

    pub fn panel(&mut self, name: &str, fill: impl FnOnce(&mut Panel, &mut Cells)) -> &mut Self {
        let mut cells = self.row(TableKind::Panels);
        let mut panel = Panel {
            name: Located::new(Name::new(name), cells.cell()),
            dwelling: Field::default(),
            supply: Field::default(),
            main: Field::default(),
            bus: Field::default(),
            fed_from: Field::default(),
        };
        fill(&mut panel, &mut cells);
        self.draft.panels.push(panel);
        self
    }

    pub fn run(
        &mut self,
        from: &str,
        to: &str,
        fill: impl FnOnce(&mut Run, &mut Cells),
    ) -> &mut Self {
        let mut cells = self.row(TableKind::WireRuns);
        let mut run = Run::new(cells.cell());
        run.from = Field::given(Name::new(from), run.at);
        run.to = cells.name(to);
        fill(&mut run, &mut cells);
        self.draft.runs.push(run);
        self
    }

    pub fn controller(
        &mut self,
        tag: &str,
        units: &[&str],
        fill: impl FnOnce(&mut Controller, &mut Cells),
    ) -> &mut Self {
        let mut cells = self.row(TableKind::Controllers);
        let mut controller = Controller::new(Located::new(Name::new(tag), cells.cell()));
        let units_cell = cells.cell();
        controller.units = units
            .iter()
            .map(|tag| Located::new(Name::new(tag), units_cell))
            .collect();
        controller.units_cell = if units.is_empty() {
            Field::Blank(Some(units_cell))
        } else {
            Field::given((), units_cell)
        };
        fill(&mut controller, &mut cells);
        self.draft.controllers.push(controller);
        self
    }

    pub fn facts(&mut self, fill: impl FnOnce(&mut JobFacts, &mut Cells)) -> &mut Self {
        let mut cells = self.row(TableKind::JobFacts);
        fill(&mut self.draft.facts, &mut cells);
        self
    }

    pub fn build(&mut self) -> Schedule {
        std::mem::take(&mut self.draft).build()
    }
}

#[cfg(test)]
mod tests {
    use super::super::wire::RunPurpose;
    use super::*;

    #[test]
    fn names_resolve_and_rows_merge() {
        let mut fixture = Fixture::new();
        fixture
            .unit("OU-1", UnitKind::Outdoor, |_, _| {})
            .unit("FC-1", UnitKind::Indoor, |_, _| {})
            .unit("FC-2", UnitKind::Indoor, |_, _| {})
            .circuit(
                "LP",
                &[1, 3],
                &["FC-1", "FC 02", "RANGE", "SPARE", "FC-9"],
                |_, _| {},
            )
            .circuit("LP", &[1], &["EF-1"], |c, cells| c.poles = cells.given(2))
            .circuit("LP", &[5], &["CONDENSER OU-1"], |c, cells| {
                c.poles = cells.given(2)
            })
            .run("OU-1", "FC-1", |_, _| {})
            .run("T-1", "FC-1", |_, _| {})
            .controller("T-1", &["FC-1"], |_, _| {});
        let schedule = fixture.build();
        assert_eq!(
            schedule.circuits.len(),
            2,
            "the two rows of slots 1 and 3 are one circuit"
        );
        let targets: Vec<_> = schedule.circuits[0]
            .loads
            .iter()
            .map(|l| &l.target)
            .collect();
        assert!(matches!(targets[0], LoadTarget::Unit(UnitId(1))));
        assert!(matches!(targets[1], LoadTarget::Unit(UnitId(2))));
        assert!(matches!(targets[2], LoadTarget::Other));
        assert!(matches!(targets[3], LoadTarget::Spare));
        assert!(matches!(
            targets[4],
            LoadTarget::UnknownTag { nearest: Some(_) }
        ));
        assert!(
            matches!(targets[5], LoadTarget::Other),
            "EF is no prefix of this job"
        );
        assert_eq!(schedule.units[0].circuits, [(CircuitId(1), Part::Whole)]);
        assert_eq!(schedule.runs[1].serves, RunPurpose::Controller);
        assert_eq!(schedule.systems.len(), 1);
        assert_eq!(schedule.systems[0].units.len(), 3);
        assert_eq!(schedule.units[1].controllers, [ControllerId(0)]);
    }

    #[test]
    fn a_quantity_expands_and_its_circuits_are_handed_out() {
        let mut fixture = Fixture::new();
        fixture
            .unit("FC-1", UnitKind::Indoor, |u, cells| {
                u.quantity = cells.given(2)
            })
            .circuit("LP", &[1, 3], &["FC-1"], |_, _| {})
            .circuit("LP", &[5, 7], &["FC-1"], |_, _| {});
        let schedule = fixture.build();
        assert_eq!(schedule.units.len(), 2);
        assert_eq!(schedule.units[0].circuits.len(), 1);
        assert_eq!(schedule.units[1].circuits.len(), 1);
        assert_eq!(schedule.unit_label(UnitId(1)), "FC-1 (2 of 2)");
    }

    #[test]
    fn a_receptacle_beside_a_unit_is_not_the_unit() {
        let schedule = Fixture::new()
            .unit("OU-1", UnitKind::Outdoor, |_, _| {})
            .circuit("LP", &[1, 3], &["OU-1"], |_, _| {})
            .circuit("LP", &[5], &["OU-1 SERVICE RECEPTACLE"], |_, _| {})
            .build();
        assert_eq!(schedule.units[0].circuits, [(CircuitId(0), Part::Whole)]);
        assert!(matches!(
            schedule.circuits[1].loads[0].target,
            LoadTarget::MaybeUnits(_)
        ));
    }

    #[test]
    fn apartments_keep_their_names_apart() {
        let mut fixture = Fixture::new();
        for door in ["12B", "12C"] {
            fixture.unit("FC-1", UnitKind::Indoor, |u, cells| {
                u.dwelling = cells.name(door)
            });
            fixture.circuit("LP", &[1, 3], &["FC-1"], |c, cells| {
                c.dwelling = cells.name(door)
            });
        }
        let schedule = fixture.build();
        assert_eq!(schedule.circuits.len(), 2);
        for (index, unit) in schedule.units.iter().enumerate() {
            assert_eq!(unit.circuits, [(CircuitId(index as u32), Part::Whole)]);
        }
    }
}
