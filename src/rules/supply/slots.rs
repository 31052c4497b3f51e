//! Slots of a panel.

use crate::findings::{Finding, Outcome, Severity, Subject};
use crate::practice::Practice;
use crate::rules::{Cite, Family, Rule};
use crate::schedule::{Circuit, CircuitId, FieldName, LoadTarget, Name, Schedule, Slot};
use crate::sizing::supply;
use std::collections::BTreeMap;

pub(super) static SLOT_TAKEN_TWICE: Rule = Rule {
    name: "slot-taken-twice",
    family: Family::Supply,
    severities: &[Severity::Fix, Severity::Verify],
    summary: "two circuits claim one slot of a panel",
    why: "A slot holds one breaker: one of the circuits has no place in the panel.",
    decides: "The slots of each panel of each dwelling, those that a 2- or 3-pole breaker spans \
              counted; odd slots are left and even right, so a breaker at slot n takes n, n + 2, n \
              + 4. Halves of a tandem (4A, 4B) are two places. A panel that writes a breaker of \
              several poles in slots next to each other (1,2) seems to be numbered down its \
              columns, and is asked about.",
    leaves: "A row that repeats the load of the breaker above it on its further slots, spaces, and \
             circuits without a panel.",
    cites: &[Cite::Schedule, Cite::Practice],
    yields_to: &[],
    check: taken_twice,
};

/// A circuit that claims slots.
type Claim<'a> = (CircuitId, &'a Circuit);

fn taken_twice(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    let mut panels: BTreeMap<(Option<&Name>, &Name), Vec<Claim<'_>>> = BTreeMap::new();
    let mut outcomes = Vec::new();
    for (id, circuit) in schedule.circuit_ids() {
        if is_space(circuit) {
            continue;
        }
        if !circuit.slots.is_given() {
            // One that is known by a name of its own needs no slots.
            if !circuit.unnamed && !circuit.name.is_given() {
                let at = schedule.anchor(&circuit.slots, circuit.at);
                let subject = Subject::Circuit(id);
                outcomes.push(Outcome::wants(subject, at, FieldName::CircuitSlots));
            }
            continue;
        }
        match circuit.panel.get() {
            Some(panel) => panels
                .entry((circuit.dwelling.get(), panel))
                .or_default()
                .push((id, circuit)),
            None => {
                let at = schedule.anchor(&circuit.panel, circuit.at);
                let subject = Subject::Circuit(id);
                outcomes.push(Outcome::wants(subject, at, FieldName::CircuitPanel));
            }
        }
    }
    for ((_, panel), circuits) in panels {
        judge(schedule, panel, &circuits, &mut outcomes);
    }
    outcomes
}

/// Nothing is there: no breaker, and no load but a space.
fn is_space(circuit: &Circuit) -> bool {
    !circuit.breaker.is_given()
        && circuit
            .loads
            .iter()
            .all(|load| load.target == LoadTarget::Spare)
}

/// A lone slot whose breaker has poles that nothing states, though a unit on
/// it needs more than one: what else it spans is not known.
fn spans_untold(schedule: &Schedule, circuit: &Circuit) -> bool {
    let lone = circuit.slots.get().is_some_and(|slots| slots.len() == 1);
    let several = || {
        circuit.units().iter().any(|&unit| {
            let plate = schedule.unit(unit).supply.get();
            plate
                .and_then(supply::poles_needed)
                .is_some_and(|poles| poles > 1)
        })
    };
    lone && circuit.breaker.is_given() && !circuit.poles.is_given() && several()
}

/// A breaker of several poles written in slots next to each other.
fn runs_down(circuit: &Circuit) -> bool {
    let Some(slots) = circuit.slots.get() else {
        return false;
    };
    slots.iter().all(|slot| slot.half.is_none())
        && slots
            .windows(2)
            .any(|pair| pair[1].number == pair[0].number.saturating_add(1))
}

fn judge(schedule: &Schedule, panel: &Name, circuits: &[Claim<'_>], outcomes: &mut Vec<Outcome>) {
    let down: Vec<&Claim<'_>> = circuits
        .iter()
        .filter(|(_, circuit)| runs_down(circuit))
        .collect();
    let mut asked = false;
    let mut taken: BTreeMap<Slot, Vec<Claim<'_>>> = BTreeMap::new();
    for &(id, circuit) in circuits {
        let slots = slots_of(circuit, !down.is_empty());
        let other = slots.iter().find_map(|slot| {
            let (number, claims) = clash(&taken, *slot)?;
            claims
                .iter()
                .find(|(_, other)| !same_breaker(circuit, other))
                .map(|(other_id, other)| (number, *other_id, *other))
        });
        let at = schedule.anchor(&circuit.slots, circuit.at);
        let subject = Subject::Circuit(id);
        let outcome = match other {
            Some((slot, other_id, other)) => {
                let finding = twice(schedule, panel, (id, circuit), other_id, slot, &down);
                Outcome::broken(subject, at, finding)
                    .also(Subject::Circuit(other_id))
                    .related_all(other.slots.at())
            }
            None if runs_down(circuit) && !asked => {
                asked = true;
                let finding = numbered_down(schedule, panel, id, down.len());
                Outcome::broken(subject, at, finding)
            }
            None if spans_untold(schedule, circuit) => {
                Outcome::wants(subject, at, FieldName::CircuitPoles)
            }
            None => Outcome::met(subject, at),
        };
        outcomes.push(outcome);
        for slot in slots {
            taken.entry(slot).or_default().push((id, circuit));
        }
    }
}

/// The slots that a circuit takes; in a panel numbered down its columns the
/// next ones instead of every second.
fn slots_of(circuit: &Circuit, down: bool) -> Vec<Slot> {
    let slots = circuit.slots.get().map_or(&[][..], Vec::as_slice);
    match slots {
        [only] if down && only.half.is_none() => {
            let poles = u16::from(circuit.poles.copied().unwrap_or(1)).max(1);
            (0..poles)
                .map(|n| Slot {
                    number: only.number.saturating_add(n),
                    half: None,
                })
                .collect()
        }
        [only] if only.half.is_none() => {
            let poles = u16::from(circuit.poles.copied().unwrap_or(1)).max(1);
            (0..poles)
                .map(|n| Slot {
                    number: only.number.saturating_add(2 * n),
                    half: None,
                })
                .collect()
        }
        many => many.to_vec(),
    }
}

/// Who has the slot, or a half of it where the whole is asked for, or the
/// whole where a half is.
fn clash<'a>(
    taken: &'a BTreeMap<Slot, Vec<Claim<'a>>>,
    slot: Slot,
) -> Option<(Slot, &'a [Claim<'a>])> {
    let first = Slot {
        number: slot.number,
        half: None,
    };
    let last = Slot {
        number: slot.number,
        half: Some(char::MAX),
    };
    taken
        .range(first..=last)
        .find(|(has, _)| has.half == slot.half || has.half.is_none() || slot.half.is_none())
        .map(|(has, claims)| (*has, claims.as_slice()))
}

/// One breaker written on each of its rows: the same loads and the same
/// rating, or a row that continues the one above with nothing of its own.
fn same_breaker(a: &Circuit, b: &Circuit) -> bool {
    let texts = |circuit: &Circuit| {
        let mut texts: Vec<Name> = circuit
            .loads
            .iter()
            .map(|load| Name::new(&load.text.value))
            .collect();
        texts.sort();
        texts
    };
    let loads = a.loads.is_empty() || b.loads.is_empty() || texts(a) == texts(b);
    let rating = match (a.breaker.copied(), b.breaker.copied()) {
        (Some(a), Some(b)) => a == b,
        _ => true,
    };
    loads && rating
}

fn twice(
    schedule: &Schedule,
    panel: &Name,
    (id, circuit): (CircuitId, &Circuit),
    other: CircuitId,
    slot: Slot,
    down: &[&Claim<'_>],
) -> Finding {
    let poles = |id: CircuitId, circuit: &Circuit| {
        let label = schedule.circuit_label(id);
        match circuit.poles.copied() {
            Some(poles) if poles > 1 => format!("{label} ({poles} poles)"),
            _ => label,
        }
    };
    let mine = poles(id, circuit);
    let others = poles(other, schedule.circuit(other));
    let says = format!("Slot {slot} of panel {panel} is taken by {others} and by {mine}.");
    let (severity, says) = if down.is_empty() {
        (Severity::Fix, says)
    } else {
        let more = " The panel seems to be numbered down its columns.";
        (Severity::Verify, format!("{says}{more}"))
    };
    Finding::new(
        severity,
        says,
        format!("slot {slot}"),
        format!("Give one of the two circuits another slot of panel {panel}."),
    )
    .field(FieldName::CircuitSlots)
    .limit(crate::findings::Value::Count(1, "circuit in a slot"), "")
}

fn numbered_down(schedule: &Schedule, panel: &Name, id: CircuitId, count: usize) -> Finding {
    let label = schedule.circuit_label(id);
    let more = match count {
        0 | 1 => String::new(),
        more => format!(", as do {} more circuits of the panel", more - 1),
    };
    Finding::verify(
        format!(
            "{label} takes slots next to each other{more}. With odd slots left and even right such \
             slots are on one phase; panel {panel} may be numbered down its columns."
        ),
        "slots next to each other",
        format!("Confirm how panel {panel} is numbered, or write every second slot (1,3)."),
    )
    .field(FieldName::CircuitSlots)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::testing::{finds, meets};
    use crate::schedule::UnitKind;
    use crate::schedule::fixture::Fixture;
    use Severity::{Fix, Verify};

    /// Slots, poles, load.
    type Row<'a> = (&'a [(u16, Option<char>)], u8, &'a str);

    fn job(circuits: &[Row<'_>]) -> Schedule {
        let mut fixture = Fixture::new();
        fixture.unit("FC-1", UnitKind::Indoor, |_, _| {});
        for (slots, poles, load) in circuits {
            let loads: &[&str] = if load.is_empty() { &[] } else { &[load] };
            fixture.circuit("LP", &[], loads, |c, cells| {
                c.poles = cells.given(*poles);
                if !load.is_empty() && *load != "SPACE" {
                    c.breaker = cells.amps(20.0);
                }
                c.slots = cells.given(
                    slots
                        .iter()
                        .map(|&(number, half)| Slot { number, half })
                        .collect(),
                );
            });
        }
        fixture.build()
    }

    const fn at(number: u16) -> (u16, Option<char>) {
        (number, None)
    }

    #[test]
    fn spanned_slots_count() {
        meets(
            &SLOT_TAKEN_TWICE,
            &job(&[
                (&[at(1)], 2, "FC-1"),
                (&[at(2)], 1, "LTG"),
                (&[at(5)], 1, "EF"),
            ]),
        );
        finds(
            &SLOT_TAKEN_TWICE,
            &job(&[(&[at(1)], 2, "FC-1"), (&[at(3)], 1, "LTG")]),
            &[Fix],
        );
        finds(
            &SLOT_TAKEN_TWICE,
            &job(&[(&[at(1)], 3, "FC-1"), (&[at(5)], 1, "LTG")]),
            &[Fix],
        );
        finds(
            &SLOT_TAKEN_TWICE,
            &job(&[(&[at(1), at(3)], 2, "FC-1"), (&[at(3), at(5)], 2, "RANGE")]),
            &[Fix],
        );
    }

    #[test]
    fn tandems_have_two_places() {
        let (a, b) = ((4, Some('A')), (4, Some('B')));
        meets(
            &SLOT_TAKEN_TWICE,
            &job(&[(&[a], 1, "LTG"), (&[b], 1, "FC-1")]),
        );
        finds(
            &SLOT_TAKEN_TWICE,
            &job(&[(&[at(4)], 1, "LTG"), (&[b], 1, "FC-1")]),
            &[Fix],
        );
        finds(
            &SLOT_TAKEN_TWICE,
            &job(&[(&[at(2)], 2, "LTG"), (&[a], 1, "FC-1")]),
            &[Fix],
        );
    }

    #[test]
    fn rows_that_continue_a_breaker_are_no_second_one() {
        meets(
            &SLOT_TAKEN_TWICE,
            &job(&[(&[at(1)], 2, "FC-1"), (&[at(3)], 2, "FC-1")]),
        );
        finds(
            &SLOT_TAKEN_TWICE,
            &job(&[(&[at(1)], 2, "FC-1"), (&[at(3)], 1, "")]),
            &[],
        );
        finds(
            &SLOT_TAKEN_TWICE,
            &job(&[(&[at(1)], 2, "FC-1"), (&[at(3)], 1, "SPACE")]),
            &[],
        );
        finds(
            &SLOT_TAKEN_TWICE,
            &job(&[(&[at(1)], 2, "FC-1"), (&[at(3)], 1, "SPARE")]),
            &[Fix],
        );
    }

    #[test]
    fn a_panel_numbered_down_its_columns_is_asked_about_once() {
        let s = job(&[(&[at(1), at(2)], 2, "FC-1"), (&[at(3), at(4)], 2, "RANGE")]);
        finds(&SLOT_TAKEN_TWICE, &s, &[Verify]);
        let s = job(&[
            (&[at(1), at(2)], 2, "FC-1"),
            (&[at(3)], 2, "A"),
            (&[at(4)], 1, "B"),
        ]);
        finds(&SLOT_TAKEN_TWICE, &s, &[Verify, Verify]);
    }

    #[test]
    fn apartments_have_panels_of_their_own() {
        let mut fixture = Fixture::new();
        for n in 1..=24 {
            let door = format!("{n}A");
            fixture.unit("FC-1", UnitKind::Indoor, |u, cells| {
                u.dwelling = cells.name(&door)
            });
            fixture.circuit("LP", &[1, 3], &["FC-1"], |c, cells| {
                c.dwelling = cells.name(&door);
                c.breaker = cells.amps(15.0);
            });
        }
        meets(&SLOT_TAKEN_TWICE, &fixture.build());
    }
}
