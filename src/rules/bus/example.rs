//! Invented systems for the tests of this family.

use crate::schedule::fixture::{Cells, Fixture};
use crate::schedule::{Feet, Run, Schedule, UnitKind};

/// One outdoor unit OU-1 and indoor units FC-1 to FC-n; nothing wired yet.
pub(super) fn units(indoor: usize) -> Fixture {
    let mut fixture = Fixture::new();
    fixture.unit("OU-1", UnitKind::Outdoor, |_, _| {});
    for n in 1..=indoor {
        fixture.unit(&format!("FC-{n}"), UnitKind::Indoor, |_, _| {});
    }
    fixture
}

/// The same with these runs, each of 40 ft.
pub(super) fn wired(indoor: usize, runs: &[(&str, &str)]) -> Schedule {
    let mut fixture = units(indoor);
    for (from, to) in runs {
        fixture.run(from, to, |run, cells| run.length = cells.given(Feet(40.0)));
    }
    fixture.build()
}

/// OU-1, FC-1, FC-2 in one chain, each run filled by `fill` with its number
/// from zero.
pub(super) fn chain(fill: impl Fn(usize, &mut Run, &mut Cells)) -> Schedule {
    let mut fixture = units(2);
    fixture.run("OU-1", "FC-1", |run, cells| fill(0, run, cells));
    fixture.run("FC-1", "FC-2", |run, cells| fill(1, run, cells));
    fixture.build()
}
