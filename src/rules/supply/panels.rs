//! The load of a panel: against its rating, and over its phases.

use crate::findings::{Finding, Outcome, Severity, Subject, Want};
use crate::practice::Practice;
use crate::rules::wording::count;
use crate::rules::{Cite, Family, Rule, branch};
use crate::schedule::{
    Amps, Circuit, CircuitId, Field, FieldName, LoadTarget, Located, Panel, PanelId, Quantity,
    Schedule,
};
use crate::sizing::drop::Phases;
use crate::sizing::supply;
use crate::tables::Topic;

/// A circuit's running current, its poles and the slots that it takes.
struct Drawn {
    circuit: CircuitId,
    slots: Vec<u16>,
    amps: Amps,
}

/// What the circuits of a panel draw, and how many do not say.
struct PanelLoad {
    drawn: Vec<Drawn>,
    silent: usize,
    /// What the silent ones leave open, each once.
    wants: Vec<Want>,
}

impl PanelLoad {
    /// Counts a circuit that leaves the load open.
    fn leave(&mut self, want: Want) {
        self.silent += 1;
        if !self.wants.contains(&want) {
            self.wants.push(want);
        }
    }

    /// What is wanting to call the load known; empty where it is.
    fn wanting(&self) -> Vec<Want> {
        if self.drawn.is_empty() && self.wants.is_empty() {
            vec![Want::Field(FieldName::CircuitLoadAmps)]
        } else {
            self.wants.clone()
        }
    }

    /// `LP-1,3 24 A, LP-5 8 A`: what adds up on one phase, counted from 0, the
    /// largest first; of many circuits the first, the rest as a sum.
    fn summands(&self, schedule: &Schedule, phase: usize, panel_phases: u8) -> String {
        const SHOWN: usize = 12;
        let on_it = |drawn: &&Drawn| -> usize {
            let phases = drawn.slots.iter();
            let phases = phases.filter_map(|slot| supply::phase_of(*slot, panel_phases));
            phases.filter(|on| usize::from(*on) == phase).count()
        };
        let mut drawn: Vec<(CircuitId, Amps)> = self
            .drawn
            .iter()
            .map(|drawn| (drawn.circuit, drawn.amps * on_it(&drawn) as f64))
            .filter(|(_, amps)| amps.0 > 0.0)
            .collect();
        drawn.sort_by(|a, b| b.1.0.total_cmp(&a.1.0).then(a.0.cmp(&b.0)));
        let mut shown: Vec<String> = drawn
            .iter()
            .take(SHOWN)
            .map(|(id, amps)| format!("{} {amps}", schedule.circuit_label(*id)))
            .collect();
        let rest = drawn.get(SHOWN..).unwrap_or_default();
        if !rest.is_empty() {
            let sum: Amps = rest.iter().map(|(_, amps)| *amps).sum();
            let circuits = count(rest.len(), "more circuit", "more circuits");
            shown.push(format!("{circuits} {sum} together"));
        }
        shown.join(", ")
    }

    fn by_slots(&self) -> Vec<(Vec<u16>, Amps)> {
        self.drawn
            .iter()
            .map(|drawn| (drawn.slots.clone(), drawn.amps))
            .collect()
    }
}

fn is_spare(circuit: &Circuit) -> bool {
    let loads = &circuit.loads;
    loads.iter().all(|load| load.target == LoadTarget::Spare)
        && (!loads.is_empty() || !circuit.breaker.is_given())
}

/// The running current that a circuit's row states, else that of its units;
/// `None` where they do not tell.
pub(crate) fn current(schedule: &Schedule, circuit: &Circuit) -> Option<Amps> {
    if let Some(amps) = circuit.load_amps.copied() {
        return Some(amps);
    }
    let volts = branch::volts(schedule, circuit).filter(|volts| volts.0 > 0.0);
    if let (Some(power), Some(volts)) = (circuit.load_va.copied(), volts) {
        let three = branch::poles(circuit).is_some_and(|poles| poles.count == 3);
        let phases = if three { Phases::Three } else { Phases::Single };
        return Some(supply::current(power, volts, phases).value);
    }
    if circuit.loads.is_empty() || !branch::others(schedule, circuit).is_empty() {
        return None;
    }
    let mut sum = Amps(0.0);
    for unit in circuit.units() {
        let unit = schedule.unit(unit);
        // Which part of a heated unit is on this circuit is not told.
        if unit.has_strip_heat() {
            return None;
        }
        let by_mca = || branch::mca(unit, volts).map(|mca| mca.least / 1.25);
        sum = sum + branch::full_load(unit).or_else(by_mca)?;
    }
    Some(sum)
}

fn load_of(schedule: &Schedule, id: PanelId) -> PanelLoad {
    let mut load = PanelLoad {
        drawn: Vec::new(),
        silent: 0,
        wants: Vec::new(),
    };
    for (circuit_id, circuit) in schedule.circuit_ids() {
        // One that names no panel may be of this one.
        let of_none = !circuit.panel.is_given() && !circuit.unnamed;
        if !(circuit.panel_id == Some(id) || of_none) || is_spare(circuit) {
            continue;
        }
        if of_none {
            load.leave(Want::Field(FieldName::CircuitPanel));
            continue;
        }
        let slots: Vec<u16> = circuit
            .slots_taken()
            .iter()
            .map(|slot| slot.number)
            .collect();
        match current(schedule, circuit) {
            None => load.leave(Want::Field(FieldName::CircuitLoadAmps)),
            Some(_) if slots.is_empty() => load.leave(Want::Field(FieldName::CircuitSlots)),
            // A lone slot does not tell how many the breaker spans.
            Some(_)
                if slots.len() == 1
                    && !circuit.poles.is_given()
                    && needs_poles(schedule, circuit) =>
            {
                load.leave(Want::Field(FieldName::CircuitPoles));
            }
            Some(amps) => load.drawn.push(Drawn {
                circuit: circuit_id,
                slots,
                amps,
            }),
        }
    }
    load
}

/// Whether a unit on the circuit needs more than one pole, or does not say.
fn needs_poles(schedule: &Schedule, circuit: &Circuit) -> bool {
    circuit.units().iter().any(|&unit| {
        let plate = schedule.unit(unit).supply.get();
        plate.and_then(supply::poles_needed) != Some(1)
    })
}

fn rating(panel: &Panel) -> Option<Located<Amps>> {
    let given = |field: &Field<Amps>| match field {
        Field::Given(found) => Some(*found),
        _ => None,
    };
    match (given(&panel.main), given(&panel.bus)) {
        (Some(main), Some(bus)) if bus.value.below(main.value) => Some(bus),
        (Some(main), _) => Some(main),
        (None, bus) => bus,
    }
}

pub(super) static PANEL_OVERLOADED: Rule = Rule {
    name: "panel-overloaded",
    family: Family::Supply,
    severities: &[Severity::Verify],
    summary: "the circuits' connected load exceeds the panel's main or bus rating",
    why: "Units added to a panel that is full mean a new feeder or a service upgrade, which nobody \
          has priced.",
    decides: "Running currents of the panel's circuits, by their stated load or their units, added \
              up on each phase or leg, against the smaller of main and bus.",
    leaves: "Demand factors, and heating against cooling: hence a question. Circuits without a \
             stated load can only add to it.",
    cites: &[Cite::Code(Topic::LoadCalculation), Cite::Schedule],
    yields_to: &[],
    check: overloaded,
};

fn panels(schedule: &Schedule) -> impl Iterator<Item = (PanelId, &Panel)> {
    schedule
        .panels
        .iter()
        .enumerate()
        .map(|(index, panel)| (PanelId(index as u32), panel))
}

fn overloaded(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    panels(schedule)
        .map(|(id, panel)| judge_load(schedule, id, panel))
        .collect()
}

fn judge_load(schedule: &Schedule, id: PanelId, panel: &Panel) -> Outcome {
    let subject = Subject::Panel(id);
    let Some(rating) = rating(panel) else {
        let at = schedule.anchor(&panel.main, panel.name.at);
        return Outcome::wants(subject, at, FieldName::PanelMain);
    };
    let load = load_of(schedule, id);
    let phases = panel.supply.get().and_then(|supply| supply.phases);
    let legs: Vec<Amps> = match phases {
        Some(3) => supply::phase_loads(&load.by_slots()).to_vec(),
        Some(1) => supply::leg_loads(&load.by_slots()).to_vec(),
        _ => {
            let at = schedule.anchor(&panel.supply, panel.name.at);
            return Outcome::wants(subject, at, FieldName::PanelSupply);
        }
    };
    let (fullest, most) = legs
        .iter()
        .copied()
        .enumerate()
        .fold(
            (0, Amps(0.0)),
            |most, leg| if leg.1.0 > most.1.0 { leg } else { most },
        );
    if !most.exceeds(rating.value) {
        let mut wants = load.wanting();
        // The bus may be rated above a main that is not told.
        if matches!(panel.main, Field::Unknown(_) | Field::Unreadable(_)) {
            wants.push(Want::Field(FieldName::PanelMain));
        }
        return if wants.is_empty() {
            Outcome::met(subject, rating.at)
        } else {
            Outcome::not_checked(subject, rating.at, wants)
        };
    }
    let texts: Vec<String> = legs.iter().map(Amps::to_string).collect();
    let how = texts.join(", ");
    let silent = match load.silent {
        0 => String::new(),
        1 => " 1 circuit that states no load is not counted.".to_owned(),
        more => format!(" {more} circuits that state no load are not counted."),
    };
    let label = schedule.panel_label(id);
    let word = if legs.len() == 3 { "phase" } else { "leg" };
    let letter = ["A", "B", "C"].get(fullest).copied().unwrap_or_default();
    let summands = load.summands(schedule, fullest, phases.unwrap_or(1));
    let finding = Finding::verify(
        format!(
            "The circuits of panel {label} draw {how} on its {word}s, without demand factors; its \
             main or bus is {}. On {word} {letter}: {summands}.{silent}",
            rating.value
        ),
        most,
        "Have the load calculated by the adopted edition, with its demand factors.",
    )
    .field(FieldName::PanelMain)
    .limit(rating.value, "main or bus of the panel");
    Outcome::broken(subject, rating.at, finding)
}

pub(super) static SUPPLY_IMBALANCE: Rule = Rule {
    name: "supply-imbalance",
    family: Family::Supply,
    severities: &[Severity::Note],
    summary: "the loads of a three-phase panel are out of balance, and moving slots would help",
    why: "Unequal phases load the neutral and one leg of the feeder, and cost a breaker size.",
    decides: "Three-phase panels all of whose circuits state their load: the greatest deviation \
              from the mean of the three phases as a share of the mean, above the profile's share, \
              and an arrangement of the same circuits with at most half of it.",
    leaves: "Whether slots are free for it, and loads that do not run at the same time.",
    cites: &[Cite::Practice],
    yields_to: &[],
    check: imbalance,
};

/// Moving slots is worth a note where it at least halves what is out of
/// balance: a panel of two circuits can never be balanced. Our judgement.
const WORTH_MOVING: f64 = 0.5;

fn imbalance(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    panels(schedule)
        .filter(|(_, panel)| panel.supply.get().is_none_or(|s| s.phases != Some(1)))
        .map(|(id, panel)| judge_balance(schedule, practice, id, panel))
        .collect()
}

fn judge_balance(schedule: &Schedule, practice: &Practice, id: PanelId, panel: &Panel) -> Outcome {
    let subject = Subject::Panel(id);
    let at = panel.name.at;
    if panel.supply.get().and_then(|supply| supply.phases) != Some(3) {
        return Outcome::wants(subject, at, FieldName::PanelSupply);
    }
    let load = load_of(schedule, id);
    let wants = load.wanting();
    if !wants.is_empty() {
        return Outcome::not_checked(subject, at, wants);
    }
    let now = supply::phase_loads(&load.by_slots());
    let found = supply::imbalance(now);
    let circuits: Vec<(u8, Amps)> = load
        .drawn
        .iter()
        .map(|drawn| (drawn.slots.len().min(3) as u8, drawn.amps))
        .collect();
    let better = supply::imbalance(supply::spread(&circuits)).value;
    if !found.value.exceeds(practice.imbalance) || better.exceeds(found.value * WORTH_MOVING) {
        return Outcome::met(subject, at).steps(found.steps);
    }
    let how = found
        .steps
        .last()
        .map_or("", |step| step.how.as_str())
        .to_owned();
    let label = schedule.panel_label(id);
    let finding = Finding::note(
        format!(
            "Panel {label} is {} out of balance ({how}), above the {} that is not remarked; other \
             slots for the same circuits reach {better}.",
            found.value, practice.imbalance
        ),
        found.value,
        "Move circuits of the phase with most load to slots of the one with least.",
    )
    .field(FieldName::CircuitSlots)
    .limit(practice.imbalance, "share that is not remarked")
    .profile("imbalance");
    Outcome::broken(subject, at, finding).steps(found.steps)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::testing::{finds, meets, outcomes};
    use crate::schedule::fixture::Fixture;
    use crate::schedule::{PanelSupply, UnitKind, Volts};
    use Severity::{Note, Verify};

    /// Circuits of panel LP: slot, poles, load in amperes.
    fn job(phases: u8, main: Option<f64>, circuits: &[(u16, u8, Option<f64>)]) -> Schedule {
        let mut fixture = Fixture::new();
        fixture
            .unit("FC-1", UnitKind::Indoor, |_, _| {})
            .panel("LP", |p, cells| {
                p.supply = cells.given(PanelSupply {
                    line_to_line: Volts(208.0),
                    line_to_neutral: Some(Volts(120.0)),
                    phases: Some(phases),
                });
                if let Some(main) = main {
                    p.main = cells.amps(main);
                }
            });
        for (slot, poles, amps) in circuits {
            fixture.circuit("LP", &[*slot], &["RANGE"], |c, cells| {
                c.poles = cells.given(*poles);
                if let Some(amps) = amps {
                    c.load_amps = cells.amps(*amps);
                }
            });
        }
        fixture.build()
    }

    #[test]
    fn a_panel_at_its_rating() {
        let s = |main, second| {
            job(
                1,
                Some(main),
                &[(1, 2, Some(60.0)), (2, 2, Some(40.0)), (5, 1, second)],
            )
        };
        meets(&PANEL_OVERLOADED, &s(110.0, Some(10.0)));
        finds(&PANEL_OVERLOADED, &s(109.9, Some(10.0)), &[Verify]);
        finds(&PANEL_OVERLOADED, &s(99.0, None), &[Verify]);
        finds(&PANEL_OVERLOADED, &s(100.0, None), &[]);
        assert_eq!(outcomes(&PANEL_OVERLOADED, &job(1, None, &[])).len(), 1);
    }

    #[test]
    fn an_overload_lists_what_adds_up() {
        let says = |s: &Schedule| {
            let found = outcomes(&PANEL_OVERLOADED, s);
            found[0].finding().expect("overloaded").says.clone()
        };
        // By hand: slots 1 and 3 are legs A and B, 2 and 4 too, 5 is A: 60 +
        // 40 + 10 on A, 60 + 40 on B.
        let few = [
            (1, 2, Some(60.0)),
            (2, 2, Some(40.0)),
            (5, 1, Some(10.0)),
            (7, 1, None),
        ];
        let text = says(&job(1, Some(100.0), &few));
        let wanted = "draw 110 A, 100 A on its legs, without demand factors; its main or bus is \
                      100 A. On leg A: LP-1 60 A, LP-2 40 A, LP-5 10 A. 1 circuit that states no \
                      load is not counted.";
        assert!(text.ends_with(wanted), "{text}");
        // Phase C has slots 5, 11, 17, …: 15 circuits of 10 A, three not shown.
        let many: Vec<(u16, u8, Option<f64>)> =
            (0..15).map(|n| (5 + 6 * n, 1, Some(10.0))).collect();
        let text = says(&job(3, Some(100.0), &many));
        assert!(text.contains("On phase C: LP-5 10 A, LP-11 10 A"), "{text}");
        assert!(text.ends_with(", 3 more circuits 30 A together."), "{text}");
    }

    #[test]
    fn phases_out_of_balance() {
        // By hand, slots 1, 2 on phase A, 3 on B, 5 on C: 30, 10, 10 A: mean
        // 16.67 A, greatest deviation 13.33 A, 80 %.
        let s = |first: f64| {
            job(
                3,
                None,
                &[
                    (1, 1, Some(first)),
                    (2, 1, Some(10.0)),
                    (7, 1, Some(10.0)),
                    (3, 1, Some(10.0)),
                    (5, 1, Some(10.0)),
                ],
            )
        };
        finds(&SUPPLY_IMBALANCE, &s(10.0), &[Note]);
        // One load that cannot be divided is no reason to move others.
        let lone = job(
            3,
            None,
            &[(1, 1, Some(30.0)), (3, 1, Some(10.0)), (5, 1, Some(10.0))],
        );
        meets(&SUPPLY_IMBALANCE, &lone);
        // 12, 10, 10: mean 10.67, 12.5 %.
        let near = job(
            3,
            None,
            &[(1, 1, Some(12.0)), (3, 1, Some(10.0)), (5, 1, Some(10.0))],
        );
        meets(&SUPPLY_IMBALANCE, &near);
        let open = job(3, None, &[(1, 1, Some(12.0)), (3, 1, None)]);
        finds(&SUPPLY_IMBALANCE, &open, &[]);
        assert_eq!(
            outcomes(&SUPPLY_IMBALANCE, &job(1, None, &[(1, 1, Some(5.0))])),
            []
        );
    }
}
