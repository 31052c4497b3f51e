//! Wire runs and controllers: rows of their own tables, and what a unit's
//! row tells of them.

use super::reader::Reader;
use super::table::{Assembly, Reason, Shared, dwelling};
use crate::intake::notation::{
    Context, Reading, conductor_count, free_text, gauge, length, low_voltage_wire, name, purpose,
    routing, shield_ground, shielded, side, splices, stranded, tag_list, yes_no,
};
use crate::schedule::wire::RunPurpose;
use crate::schedule::{Controller, Feet, Field, FieldName, Located, Name, Run, Unit};
use std::collections::BTreeMap;

impl<'a> Assembly<'a> {
    pub(super) fn read_run_row(
        &mut self,
        reader: &mut Reader<'a>,
        shared: &mut Shared,
    ) -> Result<(), Reason> {
        let mut run = read_run(reader, shared);
        if run.from.is_blank() && run.to.is_blank() {
            return Err("the row names neither end of a run");
        }
        run.purpose = reader.read(FieldName::RunPurpose, purpose);
        self.draft.runs.push(run);
        Ok(())
    }

    /// The run of the bus that arrives at the unit of this row.
    pub(super) fn read_arriving_run(
        &mut self,
        reader: &mut Reader<'a>,
        unit: &Unit,
        tags: &[Located<Name>],
    ) {
        if reader
            .first_of(&[FieldName::RunFrom, FieldName::RunTo, FieldName::RunLength])
            .is_none()
        {
            return;
        }
        let mut run = read_run(reader, &Shared::default());
        // The chain begins at the outdoor unit: nothing arrives there, and a
        // wire type filled down the whole column is no run.
        let arrives = !run.from.is_blank()
            || !run.to.is_blank()
            || run.length.is_given() && !unit.is_outdoor();
        if !arrives {
            return;
        }
        if tags.len() > 1 {
            let says = "The row stands for several units and names one wire run; \
                        a run for each unit is needed, and none was taken.";
            self.note(run.from.at().unwrap_or(run.at), says.to_owned());
            return;
        }
        run.dwelling = unit.dwelling.clone();
        if run.system.is_blank() {
            run.system = unit.system.clone();
        }
        if run.to.is_blank() {
            run.to = Field::given(unit.tag.value.clone(), unit.tag.at);
        } else if run.from.is_blank() {
            run.from = Field::given(unit.tag.value.clone(), unit.tag.at);
        }
        run.purpose = reader.read(FieldName::RunPurpose, purpose);
        if run.purpose.no_column() {
            run.purpose = Field::given(RunPurpose::Bus, run.at);
        }
        self.push_derived(run);
    }

    /// The controller that the unit's row names, and the wire to it.
    pub(super) fn read_unit_controller(
        &mut self,
        reader: &mut Reader<'a>,
        unit: &Unit,
        tags: &[Located<Name>],
    ) {
        if !reader.has(FieldName::ControllerTag) {
            return;
        }
        let Field::Given(tag) = reader.read(FieldName::ControllerTag, name) else {
            return;
        };
        match said_of_controller(tag.value.text()) {
            Said::Tag => self.push_unit_controller(reader, unit, tag, tags),
            Said::Absent => {}
            // Each unit has one of its own, whatever it is called.
            Said::Described => {
                for one in tags {
                    let own = Name::new(&format!("controller of {}", one.value));
                    let own = Located::new(own, tag.at);
                    self.push_unit_controller(reader, unit, own, std::slice::from_ref(one));
                }
            }
        }
    }

    fn push_unit_controller(
        &mut self,
        reader: &mut Reader<'a>,
        unit: &Unit,
        tag: Located<Name>,
        tags: &[Located<Name>],
    ) {
        let mut controller = Controller::new(tag);
        controller.dwelling = unit.dwelling.clone();
        controller.room = reader.read(FieldName::ControllerRoom, free_text);
        controller.group = reader.read(FieldName::ControllerGroup, name);
        controller.wireless = reader.read(FieldName::ControllerWireless, wireless);
        if controller.wireless.no_column()
            && let Some(text) = reader.text(FieldName::ControllerTag)
            && let Reading::Value(answer) = wireless(&text, &Context::default())
            && text.to_uppercase().contains("WIRE")
        {
            controller.wireless = Field::given(answer, controller.tag.at);
        }
        controller.units = tags.to_vec();
        controller.units_cell = Field::given((), unit.tag.at);
        self.controller_runs(reader, &controller);
        self.draft.controllers.push(controller);
    }

    pub(super) fn read_controller_row(
        &mut self,
        reader: &mut Reader<'a>,
        shared: &mut Shared,
    ) -> Result<(), Reason> {
        let room = reader.read(FieldName::ControllerRoom, free_text);
        let tag = match reader.read(FieldName::ControllerTag, name) {
            Field::Given(tag) => tag,
            // A table without a column of tags names its thermostats by room.
            Field::Blank(None) => match &room {
                Field::Given(room) => Located::new(Name::new(&room.value), room.at),
                _ => return Err("the controller has neither tag nor room"),
            },
            _ => return Err("the controller has no tag"),
        };
        let mut controller = Controller::new(tag);
        controller.dwelling = dwelling(reader, shared);
        controller.room = room;
        controller.group = reader.read(FieldName::ControllerGroup, name);
        controller.wireless = reader.read(FieldName::ControllerWireless, wireless);
        let field = if reader.has(FieldName::ControllerUnits) {
            FieldName::ControllerUnits
        } else {
            FieldName::UnitTag
        };
        let units = reader.read(field, tag_list);
        if let Field::Given(units) = &units {
            let names = units.value.iter();
            controller.units = names.map(|n| Located::new(n.clone(), units.at)).collect();
        }
        controller.units_cell = units.map(|_| ());
        self.controller_runs(reader, &controller);
        self.draft.controllers.push(controller);
        Ok(())
    }

    /// The wire from a controller to each of its units, where the row tells
    /// of one.
    fn controller_runs(&mut self, reader: &mut Reader<'a>, controller: &Controller) {
        let wire = reader.read(FieldName::ControllerWire, low_voltage_wire);
        let distance: Field<Feet> = reader.measure(FieldName::ControllerLength, "feet", length);
        if wire.is_blank() && distance.is_blank() {
            return;
        }
        let at = if wire.is_blank() {
            distance.at()
        } else {
            wire.at()
        };
        let mut run = Run::new(at.unwrap_or(controller.tag.at));
        run.dwelling = controller.dwelling.clone();
        run.from = Field::Given(controller.tag.clone());
        run.purpose = Field::given(RunPurpose::Controller, run.at);
        run.length = distance;
        run.fill_wire(&wire);
        if controller.units.is_empty() {
            run.to = Field::Blank(controller.units_cell.at());
            self.push_derived(run);
            return;
        }
        for unit in &controller.units {
            let mut one = run.clone();
            one.to = Field::Given(unit.clone());
            self.push_derived(one);
        }
    }
}

impl Assembly<'_> {
    /// A run that the row of a unit or of a controller tells of.
    fn push_derived(&mut self, run: Run) {
        self.derived.push(self.draft.runs.len());
        self.draft.runs.push(run);
    }

    /// A pull that has a row of its own in a table of wire runs is that row;
    /// what a unit's or a controller's row tells of it fills its blanks.
    pub(super) fn drop_repeated_runs(&mut self) {
        let runs = std::mem::take(&mut self.draft.runs);
        let mut derived = std::mem::take(&mut self.derived).into_iter().peekable();
        let (mut own, mut told) = (Vec::new(), Vec::new());
        for (index, run) in runs.into_iter().enumerate() {
            if derived.next_if_eq(&index).is_some() {
                told.push(run);
            } else {
                own.push(run);
            }
        }
        let mut known: BTreeMap<Pull, usize> = BTreeMap::new();
        for (index, run) in own.iter().enumerate() {
            if let Some(pull) = pull(run) {
                known.entry(pull).or_insert(index);
            }
        }
        for run in told {
            let key = pull(&run);
            let found = key.and_then(|(dwelling, a, b)| {
                let of_house = (None, a.clone(), b.clone());
                known.get(&(dwelling, a, b)).or(known.get(&of_house))
            });
            match found.and_then(|&index| own.get_mut(index)) {
                Some(row) => fill(row, run),
                None => own.push(run),
            }
        }
        self.draft.runs = own;
    }
}

/// Dwelling and both ends, whichever way the run was written.
type Pull = (Option<Name>, Name, Name);

fn pull(run: &Run) -> Option<Pull> {
    let (from, to) = (run.from.get()?.clone(), run.to.get()?.clone());
    let dwelling = run.dwelling.get().cloned();
    Some(if from <= to {
        (dwelling, from, to)
    } else {
        (dwelling, to, from)
    })
}

fn fill(row: &mut Run, more: Run) {
    fn take<T>(mine: &mut Field<T>, other: Field<T>) {
        *mine = std::mem::take(mine).or(other);
    }
    take(&mut row.gauge, more.gauge);
    take(&mut row.conductors, more.conductors);
    take(&mut row.stranded, more.stranded);
    take(&mut row.shielded, more.shielded);
    take(&mut row.splices, more.splices);
    take(&mut row.routing, more.routing);
    take(&mut row.length, more.length);
    if row.purpose.no_column() {
        row.purpose = more.purpose;
    }
}

/// The columns of a run, its purpose left out.
fn read_run(reader: &mut Reader<'_>, shared: &Shared) -> Run {
    let own = [
        FieldName::RunFrom,
        FieldName::RunTo,
        FieldName::RunName,
        FieldName::RunLength,
    ];
    let at = own.iter().find_map(|&field| reader.cell(field));
    let mut run = Run::new(at.unwrap_or_else(|| reader.row_cell()));
    run.name = reader.read(FieldName::RunName, name);
    run.system = match reader.has(FieldName::RunSystem) {
        true => reader.read(FieldName::RunSystem, name),
        false => shared.system.clone(),
    };
    run.dwelling = dwelling(reader, shared);
    run.from = reader.read(FieldName::RunFrom, name);
    run.to = reader.read(FieldName::RunTo, name);
    run.side = reader.read(FieldName::RunSide, side);
    run.gauge = reader.read(FieldName::RunGauge, gauge);
    run.conductors = reader.read(FieldName::RunConductors, conductor_count);
    run.stranded = reader.read(FieldName::RunStranding, stranded);
    run.shielded = reader.read(FieldName::RunShield, shielded);
    run.shield_ground = reader.read(FieldName::RunShieldGround, shield_ground);
    run.splices = reader.read(FieldName::RunSplices, splices);
    run.routing = reader.read(FieldName::RunRouting, routing);
    run.length = reader.measure(FieldName::RunLength, "feet", length);
    let wire = reader.read(FieldName::RunWire, low_voltage_wire);
    run.fill_wire(&wire);
    run
}

/// What a unit's row says in the column of its controller.
enum Said {
    Tag,
    /// That there is one, or of what sort: a name that many units share and
    /// that makes them no group.
    Described,
    Absent,
}

fn said_of_controller(text: &str) -> Said {
    match yes_no(text, &Context::default()) {
        Reading::Value(true) => return Said::Described,
        Reading::Value(false) => return Said::Absent,
        _ => {}
    }
    let upper = text.to_uppercase();
    let described = !text.chars().any(|c| c.is_ascii_digit())
        && upper.split(|c: char| !c.is_alphanumeric()).any(|word| {
            matches!(
                word,
                "WIRED" | "WIRELESS" | "HARDWIRED" | "REMOTE" | "HANDHELD" | "INTEGRAL"
            )
        });
    if described {
        Said::Described
    } else {
        Said::Tag
    }
}

/// Yes or no, or the words themselves.
fn wireless(text: &str, ctx: &Context) -> Reading<bool> {
    let words: String = text
        .to_uppercase()
        .chars()
        .filter(|c| c.is_alphanumeric())
        .collect();
    match words.as_str() {
        "WIRELESS" | "HANDHELD" | "WIRELESSREMOTE" => Reading::Value(true),
        "WIRED" | "HARDWIRED" | "WIREDREMOTE" => Reading::Value(false),
        _ => yes_no(text, ctx),
    }
}
