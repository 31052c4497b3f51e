//! One deviation, told once: a rule that holds a cell against others like it
//! says nothing new of a cell that another rule has a `fix` for.

use super::twins;
use crate::findings::{Outcome, Severity, Verdict, Want};
use crate::schedule::Place;
use std::collections::HashMap;

/// Turns findings of `twin-units-differ` on a cell with a `fix` into *waits
/// for RULE*. By cells, not by subjects: another difference of the same unit
/// is a finding of its own.
pub(super) fn let_wait(outcomes: &mut [Outcome]) {
    let mut fixes: HashMap<Place, &'static str> = HashMap::new();
    let mut differing = Vec::new();
    for (index, outcome) in outcomes.iter().enumerate() {
        let Some(finding) = outcome.finding() else {
            continue;
        };
        if outcome.rule == twins::NAME {
            differing.push(index);
        } else if finding.severity == Severity::Fix && matches!(outcome.at, Place::Cell(_)) {
            fixes.entry(outcome.at).or_insert(outcome.rule);
        }
    }
    for index in differing {
        if let Some(rule) = fixes.get(&outcomes[index].at) {
            outcomes[index].verdict = Verdict::NotChecked {
                wants: vec![Want::WaitsFor(rule)],
            };
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::findings::{Severity, Verdict, Want};
    use crate::practice::Practice;
    use crate::rules::audit;
    use crate::schedule::fixture::Fixture;
    use crate::schedule::{Schedule, UnitKind};

    fn apartments(breakers: [f64; 3]) -> Schedule {
        let mut job = Fixture::new();
        for (door, breaker) in ["101", "102", "103"].into_iter().zip(breakers) {
            job.unit("OU-1", UnitKind::Outdoor, |u, cells| {
                u.dwelling = cells.name(door);
                u.dwelling_type = cells.name("A");
                u.mca = cells.mca(12.0);
                u.mop = cells.mop(20.0);
            });
            job.circuit("LP", &[1, 3], &["OU-1"], |c, cells| {
                c.dwelling = cells.name(door);
                c.breaker = cells.amps(breaker);
                c.poles = cells.given(2);
            });
        }
        job.build()
    }

    #[test]
    fn a_cell_that_has_a_fix_is_not_told_again_as_a_difference() {
        // 30 A above the MOP of 20 A is the fix; 15 A differs and breaks nothing.
        for (breakers, told) in [([20.0, 20.0, 30.0], false), ([20.0, 20.0, 15.0], true)] {
            let audit = audit(&apartments(breakers), &Practice::default());
            let fix = audit.findings.iter().any(|finding| {
                finding.rule == "protection-over-mop" && finding.severity == Severity::Fix
            });
            let twin = audit.findings.iter().any(|f| f.rule == "twin-units-differ");
            assert_eq!((fix, twin), (!told, told), "{breakers:?}");
            let waits = audit.outcomes.iter().any(|outcome| {
                outcome.rule == "twin-units-differ"
                    && outcome.verdict
                        == Verdict::NotChecked {
                            wants: vec![Want::WaitsFor("protection-over-mop")],
                        }
            });
            assert_eq!(waits, !told);
        }
    }
}
