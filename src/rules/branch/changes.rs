//! Corrections of cells, in the notation that the cell holds.

use super::Protection;
use crate::findings::Change;
use crate::schedule::wire::{Conductor, Grounding, Material, Size};
use crate::schedule::{Amps, CellId, Circuit, Field, FieldName, Schedule, Unit, number};

/// The corrections of one value: in its own cell, and in the same column of
/// the circuit's other rows that say the same.
pub fn changes(
    schedule: &Schedule,
    circuit: &Circuit,
    at: CellId,
    field: FieldName,
    proposed: &str,
) -> Vec<Change> {
    let was = schedule.sources.text(at).to_owned();
    let mut cells = vec![at];
    for row in &circuit.rows {
        let same = CellId {
            column: at.column,
            ..*row
        };
        if row.table == at.table
            && !cells.contains(&same)
            && !was.is_empty()
            && schedule.sources.text(same) == was
        {
            cells.push(same);
        }
    }
    cells
        .into_iter()
        .map(|at| Change {
            at,
            field,
            was: was.clone(),
            proposed: proposed.to_owned(),
        })
        .collect()
}

/// The correction of the rating that protects: the breaker, or the fuse that
/// stands for it, in the notation that its cell holds.
pub fn rating_changes(
    schedule: &Schedule,
    circuit: &Circuit,
    unit: Option<&Unit>,
    protection: &Protection,
    amps: Amps,
) -> Vec<Change> {
    let Some(rating) = protection.rating() else {
        return Vec::new();
    };
    let plain = number(amps.0);
    if !protection.by_fuse() {
        let text = match circuit.poles {
            Field::Given(poles) if poles.at == rating.at => format!("{plain}A/{}P", poles.value),
            _ => plain,
        };
        return changes(
            schedule,
            circuit,
            rating.at,
            FieldName::CircuitBreaker,
            &text,
        );
    }
    let switches = [
        Some((&circuit.disconnect, FieldName::CircuitDisconnect)),
        unit.map(|unit| (&unit.disconnect, FieldName::UnitDisconnect)),
    ];
    for (field, name) in switches.into_iter().flatten() {
        if let Field::Given(found) = field
            && found.at == rating.at
        {
            // Without the switch's size there is no notation to keep.
            return found.value.amps.map_or_else(Vec::new, |switch| {
                let text = format!("{}A/{plain}F", number(switch.0));
                changes(schedule, circuit, rating.at, name, &text)
            });
        }
    }
    let name = if circuit.fuse.at() == Some(rating.at) {
        FieldName::CircuitFuse
    } else {
        FieldName::UnitFuse
    };
    changes(schedule, circuit, rating.at, name, &plain)
}

/// `10`, `1/0`, `250 kcmil`, as notations write a size.
fn size_text(size: Size) -> String {
    match size {
        Size::Awg(gauge) if gauge <= 0 => format!("{}/0", 1 - gauge),
        Size::Awg(gauge) => gauge.to_string(),
        Size::Kcmil(kcmil) => format!("{kcmil} kcmil"),
    }
}

/// The notation of a conductor with another size; the rest as it was.
pub fn conductor_text(conductor: &Conductor, size: Size) -> Option<String> {
    if conductor.sets > 1 {
        return None;
    }
    let material = conductor
        .material
        .filter(|&material| material != Material::Copper)
        .map_or_else(String::new, |_| " AL".to_owned());
    let wire = size_text(size);
    if conductor.is_cable || conductor.cable.is_some() {
        let count = conductor.count?;
        let kind = conductor
            .cable
            .map_or_else(String::new, |kind| format!(" {kind}"));
        let ground = match conductor.ground {
            Some(Grounding::Absent | Grounding::ByRaceway) | None => "",
            Some(_) => " w/G",
        };
        return Some(format!("{wire}/{count}{material}{kind}{ground}"));
    }
    let insulation = conductor
        .insulation
        .map_or_else(String::new, |kind| format!(" {kind}"));
    let mut text = match conductor.count {
        Some(count) => format!("({count})#{wire}{material}{insulation}"),
        None => match size {
            Size::Awg(_) => format!("{wire} AWG{material}{insulation}"),
            Size::Kcmil(_) => format!("{wire}{material}{insulation}"),
        },
    };
    match conductor.ground {
        Some(Grounding::Sized { size, .. }) => text.push_str(&format!("+(1)#{}G", size_text(size))),
        Some(Grounding::Unsized) => text.push_str(" w/G"),
        Some(Grounding::Absent | Grounding::ByRaceway) | None => {}
    }
    if let Some(raceway) = &conductor.raceway {
        match &raceway.trade_size {
            Some(trade) => text.push_str(&format!(" in {trade} {}", raceway.kind)),
            None => text.push_str(&format!(" in {}", raceway.kind)),
        }
    }
    Some(text)
}
