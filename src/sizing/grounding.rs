//! Equipment grounding conductors.

use super::{Step, Worked};
use crate::schedule::wire::{Material, Size};
use crate::schedule::{Amps, CircularMils, Edition, Quantity};
use crate::tables::{Source, Topic, conductors};

/// The proportion may fall short by this share: a rounding of the table
/// (16,511 circular mils asked, 8 AWG has 16,510).
const ALLOWANCE: f64 = 0.001;

/// The grounding conductor for a device, never larger than the circuit's own
/// conductors where their size is given (of the same material); `None` above
/// the table.
pub fn required(
    device: Amps,
    material: Material,
    circuit: Option<Size>,
    edition: Edition,
) -> Option<Worked<Size>> {
    let row = conductors::grounding_conductor(device, material, edition)?;
    let mut size = row.value;
    let mut steps = vec![Step::new(
        "grounding-conductor",
        format!("{size} {material}"),
        format!("device {device}"),
        row.source,
    )];
    if let Some(circuit) = circuit.filter(|&circuit| circuit < size) {
        size = circuit;
        let how = "never larger than the circuit conductors";
        let source = Source::code(Topic::GroundingConductor, edition);
        steps.push(Step::new(
            "grounding-conductor",
            format!("{size} {material}"),
            how,
            source,
        ));
    }
    Some(Worked::new(size, steps))
}

/// The grounding conductor where the circuit conductors are larger than
/// needed: in proportion to the circular mils. From what size 'needed'
/// counts is read differently, so this is material for a question.
pub fn upsized(
    table_row: Size,
    needed: Size,
    chosen: Size,
    edition: Edition,
) -> Option<Worked<Size>> {
    let mils = |size| conductors::circular_mils(size, edition).map(|found| found.value);
    let (base, from, to) = (mils(table_row)?, mils(needed)?, mils(chosen)?);
    let source = Source::code(Topic::GroundingUpsized, edition);
    if !to.exceeds(from) {
        let how = "the circuit conductors are not larger than needed";
        let step = Step::new("grounding-upsized", table_row, how, source);
        return Some(Worked::new(table_row, vec![step]));
    }
    let asked = CircularMils(base.0 * to.0 / from.0);
    let least = asked * (1.0 - ALLOWANCE);
    let size = conductors::sizes()
        .filter(|&size| size >= table_row)
        .find(|&size| mils(size).is_some_and(|mils| !mils.below(least)))?;
    // Never larger than the circuit conductors.
    let size = size.min(chosen);
    let how = format!(
        "{} × {} / {} = {asked}, 0.1 % allowed for the rounding of the table",
        base, to, from
    );
    Some(Worked::new(
        size,
        vec![Step::new("grounding-upsized", size, how, source)],
    ))
}
