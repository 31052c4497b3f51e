//! Two things of one name.

use crate::findings::{Finding, Outcome, Severity, Subject, Value};
use crate::practice::Practice;
use crate::rules::wording::list;
use crate::rules::{Cite, Family, Rule};
use crate::schedule::{
    Conflict, Controller, ControllerId, Fault, Field, FieldName, Name, RowNumber, Schedule, Unit,
    UnitId,
};
use std::collections::BTreeMap;

pub(super) static DUPLICATE_TAG: Rule = Rule {
    name: "duplicate-tag",
    family: Family::Reading,
    severities: &[Severity::Fix, Severity::Verify],
    summary: "two units or controllers of one job and dwelling bear the same name",
    why: "A tag that means two things sends the circuit of one unit to the other, and nobody on \
          site can tell which run is whose.",
    decides: "Two rows of one table with the same dwelling and the same tag, spelling set \
              aside; rows of different tables are one unit, and are compared. Where nameplates \
              conflict (MCA, MOP, volts and phases, strip heat; of two rows of one table also \
              the model) it cannot be one unit; else the question is asked, and so it is where \
              the two tags are numbers and differ by a zero.",
    leaves: "A quantity under one mark, which stands for that many units; the same tag in \
             another dwelling, or for another type of dwelling; panels whose rows repeat \
             without a conflict, as a continued panel schedule does (with one: circuit-disagrees).",
    cites: &[Cite::Schedule],
    yields_to: &[],
    check: duplicate_tag,
};

fn duplicate_tag(schedule: &Schedule, _: &Practice) -> Vec<Outcome> {
    let mut outcomes = units(schedule);
    outcomes.extend(across_tables(schedule));
    outcomes.extend(controllers(schedule));
    outcomes
}

fn units(schedule: &Schedule) -> Vec<Outcome> {
    let mut first_of: BTreeMap<(Option<&Name>, &Name), UnitId> = BTreeMap::new();
    let mut outcomes = Vec::with_capacity(schedule.units.len());
    for (index, unit) in schedule.units.iter().enumerate() {
        let id = UnitId(index as u32);
        let subject = Subject::Unit(id);
        if unit.instance.0 != 1 {
            continue;
        }
        let key = (unit.dwelling.get(), &unit.tag.value);
        let Some(&first) = first_of.get(&key) else {
            first_of.insert(key, id);
            outcomes.push(Outcome::met(subject, unit.tag.at));
            continue;
        };
        let earlier = schedule.unit(first);
        if earlier.is_of_another_type(unit) {
            outcomes.push(Outcome::met(subject, unit.tag.at));
            continue;
        }
        let conflicts = conflicts(schedule, earlier, unit);
        let label = schedule.unit_label(id);
        let row = RowNumber::from(earlier.tag.at.row);
        let spelled = earlier.tag.value.text();
        let zeros = zeros_differ(&earlier.tag.value, &unit.tag.value);
        let finding = if !conflicts.is_empty() && zeros {
            Finding::verify(
                format!(
                    "{label} and {spelled} (row {row}) differ by a zero alone, and their \
                     nameplates conflict: {}.",
                    list(conflicts, 4)
                ),
                label.as_str(),
                format!(
                    "Say whether {spelled} and {label} are two units, and give one of them a \
                     tag that no lost zero makes the other's."
                ),
            )
        } else if conflicts.is_empty() {
            Finding::verify(
                format!(
                    "{label} stands in two rows (first in row {row}), and nothing in them conflicts."
                ),
                label.as_str(),
                format!(
                    "Delete one of the two rows of {label}, give the second unit a tag of its \
                     own, or write the number of units as a quantity."
                ),
            )
        } else {
            Finding::fix(
                format!(
                    "{label} stands in two rows (first in row {row}) whose nameplates conflict: {}.",
                    list(conflicts, 4)
                ),
                label.as_str(),
                format!("Give one of the two units called {label} a tag of its own."),
            )
        };
        let finding = finding.field(FieldName::UnitTag).limit("one row a tag", "");
        outcomes.push(Outcome::broken(subject, unit.tag.at, finding).related(earlier.tag.at));
    }
    outcomes
}

/// `05` and `5`: a spreadsheet drops the zero of a bare number, or somebody
/// meant two. `FC-01` and `FC-1` are one mark to everybody on site.
fn zeros_differ(a: &Name, b: &Name) -> bool {
    let digits =
        |name: &Name| -> String { name.text().chars().filter(char::is_ascii_digit).collect() };
    a.prefix().is_empty() && digits(a) != digits(b)
}

/// `unit.mca 18.2 against 14`, of what both rows state.
fn conflicts(schedule: &Schedule, a: &Unit, b: &Unit) -> Vec<String> {
    let mut found = Vec::new();
    let mut compare = |name: FieldName, cells: Option<(_, _)>| {
        if let Some((a, b)) = cells {
            let text = |at| schedule.sources.text(at).to_owned();
            let (a, b): (String, String) = (text(a), text(b));
            found.push(if a.is_empty() && b.is_empty() {
                name.to_string()
            } else {
                format!("{name} “{b}” against “{a}”")
            });
        }
    };
    compare(FieldName::UnitMca, differ(&a.mca, &b.mca));
    compare(FieldName::UnitMop, differ(&a.mop, &b.mop));
    compare(FieldName::UnitSupply, differ(&a.supply, &b.supply));
    compare(FieldName::UnitHeatKw, differ(&a.heat_kw, &b.heat_kw));
    compare(FieldName::UnitModel, differ(&a.model, &b.model));
    found
}

fn differ<T: PartialEq>(
    a: &Field<T>,
    b: &Field<T>,
) -> Option<(crate::schedule::CellId, crate::schedule::CellId)> {
    match (a, b) {
        (Field::Given(a), Field::Given(b)) if a.value != b.value => Some((a.at, b.at)),
        _ => None,
    }
}

/// Rows of one tag in different tables that say different things.
fn across_tables(schedule: &Schedule) -> Vec<Outcome> {
    let of = |fault: &Fault| {
        let Fault::Disagrees {
            what,
            field,
            at,
            says,
            other,
            other_says,
        } = fault
        else {
            return None;
        };
        let (subject, label, nameplate) = match *what {
            Conflict::Unit(id) if schedule.unit(id).instance.0 == 1 => {
                let nameplate = matches!(
                    field,
                    FieldName::UnitMca
                        | FieldName::UnitMop
                        | FieldName::UnitSupply
                        | FieldName::UnitHeatKw
                );
                (Subject::Unit(id), schedule.unit_label(id), nameplate)
            }
            Conflict::Controller(id) => (
                Subject::Controller(id),
                schedule.controller_label(id),
                false,
            ),
            _ => return None,
        };
        let severity = if nameplate {
            Severity::Fix
        } else {
            Severity::Verify
        };
        let address = schedule.sources.address((*other).into());
        let text = format!(
            "Two tables call a unit {label} and differ in {field}: “{says}” here, “{other_says}” \
             in {} {}.",
            address.sheet, address.cell
        );
        let remedy = format!("Take {field} of {label} from its nameplate, and correct the other.");
        let finding = Finding::new(severity, text, says.as_str(), remedy)
            .field(*field)
            .limit(Value::Text(other_says.clone()), "the other table");
        Some(Outcome::broken(subject, *at, finding).related(*other))
    };
    schedule.faults.iter().filter_map(of).collect()
}

fn controllers(schedule: &Schedule) -> Vec<Outcome> {
    let mut first_of: BTreeMap<(Option<&Name>, &Name), &Controller> = BTreeMap::new();
    let mut outcomes = Vec::with_capacity(schedule.controllers.len());
    for (index, controller) in schedule.controllers.iter().enumerate() {
        let id = ControllerId(index as u32);
        let subject = Subject::Controller(id);
        let key = (controller.dwelling.get(), &controller.tag.value);
        let Some(earlier) = first_of.get(&key) else {
            first_of.insert(key, controller);
            outcomes.push(Outcome::met(subject, controller.tag.at));
            continue;
        };
        let label = schedule.controller_label(id);
        let row = RowNumber::from(earlier.tag.at.row);
        let finding = Finding::verify(
            format!("The controller {label} stands in two rows (first in row {row})."),
            label.as_str(),
            format!(
                "Give the second controller called {label} a tag of its own, or write the units \
                 of one controller into one row."
            ),
        )
        .field(FieldName::ControllerTag)
        .limit("one row a tag", "");
        let at = controller.tag.at;
        outcomes.push(Outcome::broken(subject, at, finding).related(earlier.tag.at));
    }
    outcomes
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::testing::{finds, meets};
    use crate::schedule::UnitKind;
    use crate::schedule::fixture::{Cells, Fixture};
    use Severity::{Fix, Verify};

    fn twice(second: impl FnOnce(&mut Unit, &mut Cells)) -> Schedule {
        let mut fixture = Fixture::new();
        fixture.unit("FC-1", UnitKind::Indoor, |u, cells| {
            u.mca = cells.mca(1.4);
            u.mop = cells.mop(15.0);
            u.supply = cells.supply(&[208, 230], 1);
            u.model = cells.given("A-1".to_owned());
        });
        fixture.unit("FC 01", UnitKind::Indoor, second);
        fixture.build()
    }

    #[test]
    fn one_tag_for_two_units_is_wrong_where_their_nameplates_conflict() {
        finds(&DUPLICATE_TAG, &twice(|_, _| {}), &[Verify]);
        finds(&DUPLICATE_TAG, &twice(|u, c| u.mca = c.mca(1.4)), &[Verify]);
        finds(&DUPLICATE_TAG, &twice(|u, c| u.mca = c.mca(1.5)), &[Fix]);
        finds(&DUPLICATE_TAG, &twice(|u, c| u.mop = c.mop(20.0)), &[Fix]);
        let three_phase = twice(|u, c| u.supply = c.supply(&[208], 3));
        finds(&DUPLICATE_TAG, &three_phase, &[Fix]);
        let model = twice(|u, c| u.model = c.given("B-2".to_owned()));
        finds(&DUPLICATE_TAG, &model, &[Fix]);
    }

    #[test]
    fn a_lost_zero_and_a_type_of_dwelling_are_no_proof() {
        let of = |tags: [&str; 2], types: [Option<&str>; 2]| {
            let mut fixture = Fixture::new();
            for ((tag, of), mca) in tags.into_iter().zip(types).zip([1.4, 1.9]) {
                fixture.unit(tag, UnitKind::Indoor, |u, cells| {
                    u.mca = cells.mca(mca);
                    if let Some(of) = of {
                        u.dwelling_type = cells.name(of);
                    }
                });
            }
            fixture.build()
        };
        finds(&DUPLICATE_TAG, &of(["5", "05"], [None; 2]), &[Verify]);
        finds(&DUPLICATE_TAG, &of(["5", "5"], [None; 2]), &[Fix]);
        let same = of(["FC-1", "FC-1"], [Some("A"), Some("A")]);
        finds(&DUPLICATE_TAG, &same, &[Fix]);
        let two = of(["FC-1", "FC-1"], [Some("A"), Some("B")]);
        meets(&DUPLICATE_TAG, &two);
    }

    #[test]
    fn a_quantity_another_dwelling_and_another_table_are_no_duplicates() {
        let mut fixture = Fixture::new();
        fixture.unit("FC-1", UnitKind::Indoor, |u, c| u.quantity = c.given(3));
        for door in ["12B", "12C"] {
            fixture.unit("FC-2", UnitKind::Indoor, |u, c| u.dwelling = c.name(door));
        }
        fixture.unit("FC-3", UnitKind::Indoor, |u, c| u.mca = c.mca(1.4));
        fixture.unit("FC-3", UnitKind::Indoor, |u, c| {
            u.tag.at.table = 1;
            u.mca = c.mca(1.4);
        });
        meets(&DUPLICATE_TAG, &fixture.build());
    }

    #[test]
    fn two_tables_that_differ_in_a_nameplate_conflict() {
        let mut fixture = Fixture::new();
        fixture.unit("FC-3", UnitKind::Indoor, |u, c| {
            u.kind = c.given(UnitKind::Indoor);
            u.mca = c.mca(1.4);
            u.model = c.given("A-1".to_owned());
        });
        fixture.unit("FC-3", UnitKind::BranchBox, |u, c| {
            u.tag.at.table = 1;
            u.kind = c.given(UnitKind::BranchBox);
            u.mca = c.mca(1.6);
            u.model = c.given("A-1 (basis)".to_owned());
        });
        finds(&DUPLICATE_TAG, &fixture.build(), &[Verify, Fix, Verify]);
    }

    #[test]
    fn two_rows_of_one_controller_are_asked_about() {
        let mut fixture = Fixture::new();
        fixture
            .controller("T-1", &["FC-1"], |_, _| {})
            .controller("T-1", &["FC-2"], |_, _| {});
        finds(&DUPLICATE_TAG, &fixture.build(), &[Verify]);
    }
}
