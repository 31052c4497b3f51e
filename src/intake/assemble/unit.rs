//! A row of the equipment: its unit or units, and what a wide row carries
//! besides.

use super::reader::Reader;
use super::table::{Assembly, Reason, Shared, dwelling};
use crate::intake::notation::{
    amps, capacity, disconnect, free_text, heater, horsepower, kind_from_tag, kind_from_text,
    length, mca_mop, mop, name, nameplate_amps, phases, place, quantity, supply, tag_list, volts,
    whole_number, words, yes_no,
};
use crate::schedule::{Field, FieldName, Located, Name, Supply, TableKind, Unit, UnitKind};

impl<'a> Assembly<'a> {
    pub(super) fn read_unit_row(
        &mut self,
        reader: &mut Reader<'a>,
        shared: &mut Shared,
    ) -> Result<(), Reason> {
        let ditto = reader
            .text(FieldName::UnitTag)
            .is_some_and(|text| words::classify(&text) == Some(words::Nothing::Same));
        let carried = self.carried_tag(reader, shared);
        let continues = (ditto || carried.is_some() || reader.is_merged_down(FieldName::UnitTag))
            && shared.last_unit.is_some();
        let counted = reader
            .text(FieldName::UnitTag)
            .and_then(|text| counted_tag(&text))
            .and_then(|(count, tag)| Some((count, tag, reader.cell(FieldName::UnitTag)?)));
        let read = match (&counted, carried) {
            (Some((_, tag, at)), _) => Field::given(vec![tag.clone()], *at),
            (None, Some(carried)) => carried,
            (None, None) => reader.read(FieldName::UnitTag, tag_list),
        };
        let tags = match read {
            Field::Given(tags) if !tags.value.is_empty() => tags,
            Field::Given(_) | Field::Blank(_) => {
                return match reader.found.kind {
                    TableKind::Circuits => self.read_circuit_row(reader, shared),
                    TableKind::WireRuns => self.read_run_row(reader, shared),
                    TableKind::Controllers => self.read_controller_row(reader, shared),
                    _ => Err("the row has no tag"),
                };
            }
            Field::Unknown(_) => return Err("the tag is stated to be unknown"),
            Field::Elsewhere(_) => return Err("the row is provided by others"),
            Field::Unreadable(_) => {
                let slash = reader
                    .text(FieldName::UnitTag)
                    .is_some_and(|t| t.contains('/'));
                return Err(match slash {
                    true => "its tag may be one unit or several: a slash says neither",
                    false => "the tag cannot be understood",
                });
            }
        };
        let (names, marks): (Vec<Name>, Vec<Mark>) = tags.value.iter().map(unmarked).unzip();
        let tags = Located::new(names, tags.at);
        let tag = Located::new(tags.value[0].clone(), tags.at);
        let mut unit = read_unit(reader, shared, tag);
        if let Some((count, _, at)) = counted
            && unit.quantity.is_blank()
        {
            unit.quantity = Field::given(count, at);
        }
        self.settle_quantity(&mut unit, tags.value.len());
        let names: Vec<Located<Name>> = tags
            .value
            .iter()
            .map(|tag| Located::new(tag.clone(), tags.at))
            .collect();
        self.read_unit_circuits(reader, shared, &unit, &names);
        self.read_arriving_run(reader, &unit, &names);
        self.read_unit_controller(reader, &unit, &names);
        if continues && let Some(last) = shared.last_unit {
            // A merged tag, or a ditto, goes on over this row: what the rows above left
            // blank is told here, and no second unit.
            if let Some(known) = self.draft.units.get_mut(last) {
                fill(known, unit);
            }
            shared.last_row = Some(reader.row());
            return Ok(());
        }
        shared.last_row = Some(reader.row());
        for (tag, mark) in names.into_iter().zip(marks) {
            let mut one = unit.clone();
            if !unit.kind.is_given() {
                one.kind = kind_of_tag(&tag);
            }
            if mark == Mark::Existing {
                // There, and not audited.
                one.kind = Field::given(UnitKind::Other, tag.at);
            }
            one.tag = tag;
            shared.last_unit = Some(self.push_unit(one));
        }
        Ok(())
    }

    /// The tag of the row just above, for a row that leaves its own blank and
    /// goes on with a circuit or a run and no nameplate of its own.
    fn carried_tag(&self, reader: &Reader<'_>, shared: &Shared) -> Option<Field<Vec<Name>>> {
        use FieldName::{CircuitBreaker, CircuitPanel, CircuitPanelSlots, CircuitSlots};
        use FieldName::{RunTo, UnitMca, UnitMcaMop, UnitModel, UnitMop, UnitTag};
        let says = |field| reader.text(field).is_some();
        let next = shared
            .last_row
            .is_some_and(|row| row.0 + 1 == reader.row().0);
        let more = [
            CircuitBreaker,
            CircuitPanel,
            CircuitPanelSlots,
            CircuitSlots,
            RunTo,
        ];
        let own = [UnitTag, UnitMca, UnitMop, UnitMcaMop, UnitModel];
        if !next || own.into_iter().any(says) || !more.into_iter().any(says) {
            return None;
        }
        let above = self.draft.units.get(shared.last_unit?)?;
        Some(Field::given(
            vec![above.tag.value.clone()],
            reader.cell(UnitTag)?,
        ))
    }

    /// A row for several tags whose quantity counts those tags is one unit
    /// for each tag.
    fn settle_quantity(&mut self, unit: &mut Unit, tags: usize) {
        let Field::Given(count) = &unit.quantity else {
            return;
        };
        if tags < 2 || count.value <= 1 {
            return;
        }
        let at = count.at;
        if count.value as usize != tags {
            self.note(
                at,
                format!(
                    "The quantity is {} and the row names {tags} tags; one unit was taken for each tag.",
                    count.value
                ),
            );
        }
        unit.quantity = Field::Blank(Some(at));
    }
}

/// `(2) FC-4`: two units under the mark FC-4.
fn counted_tag(text: &str) -> Option<(u32, Name)> {
    let (count, tag) = text.trim().strip_prefix('(')?.split_once(')')?;
    let count: u32 = count.trim().parse().ok()?;
    let tag = Name::new(tag);
    (count > 0 && tag.looks_like_tag()).then_some((count, tag))
}

fn read_unit(reader: &mut Reader<'_>, shared: &Shared, tag: Located<Name>) -> Unit {
    let mut unit = Unit::new(tag);
    unit.dwelling = dwelling(reader, shared);
    unit.dwelling_type = reader.read(FieldName::UnitDwellingType, name);
    unit.kind = read_kind(reader, &unit.tag);
    unit.system = match reader.has(FieldName::UnitSystem) {
        true => reader.read(FieldName::UnitSystem, name),
        false => shared.system.clone(),
    };
    unit.quantity = reader.read(FieldName::UnitQuantity, quantity);
    unit.model = reader.read(FieldName::UnitModel, free_text);
    unit.capacity = reader
        .read(FieldName::UnitCapacity, capacity)
        .map(|measured| measured.value);
    unit.mca = reader.read(FieldName::UnitMca, nameplate_amps);
    unit.mop = reader.read(FieldName::UnitMop, mop);
    let both = reader.read(FieldName::UnitMcaMop, mca_mop);
    unit.mca = unit.mca.or(both.clone().map(|both| both.mca));
    unit.mop = unit.mop.or(both.map(|both| both.mop));
    unit.rla = reader.read(FieldName::UnitRla, amps);
    unit.fla = reader.read(FieldName::UnitFla, amps);
    unit.supply = read_supply(reader);
    let heat = reader.read(FieldName::UnitHeatKw, heater);
    unit.heat_volts = reader.read(FieldName::UnitHeatVolts, volts);
    if let Field::Given(heat) = &heat
        && let Some(volts) = heat.value.volts
        && unit.heat_volts.is_blank()
    {
        unit.heat_volts = Field::given(volts, heat.at);
    }
    unit.heat_kw = heat.map(|heat| heat.rating.value);
    unit.heat_protection = reader.read(FieldName::UnitHeatProtection, yes_no);
    unit.horsepower = reader.read(FieldName::UnitHorsepower, horsepower);
    unit.room = reader.read(FieldName::UnitRoom, free_text);
    unit.place = reader.read(FieldName::UnitPlace, place);
    unit.disconnect = reader.read(FieldName::UnitDisconnect, disconnect);
    unit.fuse = reader.read(FieldName::UnitFuse, amps);
    unit.fuse = std::mem::take(&mut unit.fuse).or(super::circuit::fuse_in(&unit.disconnect));
    unit.bus_limit = reader.measure(FieldName::UnitBusLimit, "feet", length);
    unit.most_units = reader.read(FieldName::UnitMostUnits, whole_number);
    unit.interlock = reader.read(FieldName::UnitInterlock, free_text);
    unit
}

/// The volts and phases of a nameplate, from one column or from two.
fn read_supply(reader: &mut Reader<'_>) -> Field<Supply> {
    let mut given = reader
        .read(FieldName::UnitSupply, supply)
        .or(reader.read(FieldName::UnitVolts, supply));
    let phase = reader.read(FieldName::UnitPhase, phases);
    match (&mut given, phase) {
        (Field::Given(supply), Field::Given(phase)) => {
            supply.value.phases = supply.value.phases.or(Some(phase.value));
        }
        (Field::Blank(None), Field::Given(phase)) => {
            given = Field::given(
                Supply {
                    volts: Vec::new(),
                    phases: Some(phase.value),
                },
                phase.at,
            );
        }
        _ => {}
    }
    given
}

/// The kind, and the cell that told: the kind's own column, else the
/// description, else the tag.
fn read_kind(reader: &mut Reader<'_>, tag: &Located<Name>) -> Field<UnitKind> {
    let mut silent = None;
    for field in [FieldName::UnitKind, FieldName::UnitDescription] {
        let text = reader.read(field, free_text);
        match text {
            Field::Given(text) => match kind_from_text(&text.value) {
                Some(kind) => return Field::given(kind, text.at),
                None => silent = silent.or(Some((field, text))),
            },
            Field::Blank(_) => {}
            Field::Elsewhere(at) => return Field::Elsewhere(at),
            Field::Unknown(_) | Field::Unreadable(_) => {}
        }
    }
    match (kind_of_tag(tag), silent) {
        (Field::Given(kind), _) => Field::Given(kind),
        // The column says something that we do not know: its own cell is
        // the place to ask at.
        (_, Some((FieldName::UnitKind, text))) => Field::Blank(Some(text.at)),
        (none, _) => reader
            .cell(FieldName::UnitKind)
            .map_or(none, |at| Field::Blank(Some(at))),
    }
}

fn kind_of_tag(tag: &Located<Name>) -> Field<UnitKind> {
    match kind_from_tag(&tag.value) {
        Some(kind) => Field::given(kind, tag.at),
        None => Field::Blank(None),
    }
}

/// What `known` leaves blank, `more` tells.
fn fill(known: &mut Unit, more: Unit) {
    fn take<T>(mine: &mut Field<T>, other: Field<T>) {
        *mine = std::mem::take(mine).or(other);
    }
    take(&mut known.kind, more.kind);
    take(&mut known.system, more.system);
    take(&mut known.quantity, more.quantity);
    take(&mut known.model, more.model);
    take(&mut known.capacity, more.capacity);
    take(&mut known.mca, more.mca);
    take(&mut known.mop, more.mop);
    take(&mut known.rla, more.rla);
    take(&mut known.fla, more.fla);
    take(&mut known.supply, more.supply);
    take(&mut known.heat_kw, more.heat_kw);
    take(&mut known.heat_volts, more.heat_volts);
    take(&mut known.heat_protection, more.heat_protection);
    take(&mut known.horsepower, more.horsepower);
    take(&mut known.room, more.room);
    take(&mut known.place, more.place);
    take(&mut known.disconnect, more.disconnect);
    take(&mut known.fuse, more.fuse);
    take(&mut known.bus_limit, more.bus_limit);
    take(&mut known.most_units, more.most_units);
    take(&mut known.interlock, more.interlock);
}

/// What stands in brackets at a tag.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Mark {
    New,
    Existing,
}

/// A tag without the mark that it is existing or new: `FC-1` of `(E) FC-1`.
fn unmarked(tag: &Name) -> (Name, Mark) {
    let text = tag.text();
    let bracketed = text
        .strip_prefix('(')
        .and_then(|rest| rest.split_once(')'))
        .or_else(|| {
            let (rest, mark) = text.strip_suffix(')')?.rsplit_once('(')?;
            Some((mark, rest))
        });
    let Some((mark, rest)) = bracketed.filter(|(_, rest)| !rest.trim().is_empty()) else {
        return (tag.clone(), Mark::New);
    };
    match mark.trim().to_uppercase().as_str() {
        "E" | "EX" | "EXIST" | "EXISTING" | "ETR" => (Name::new(rest.trim()), Mark::Existing),
        "N" | "NEW" => (Name::new(rest.trim()), Mark::New),
        _ => (tag.clone(), Mark::New),
    }
}
