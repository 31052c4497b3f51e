//! The keys of a profile, each in one row: how it is read, printed and
//! described. The reader, *Basis* and the schema stand on this list alone.

use super::value::{Value, same};
use super::{Count, Megabytes, Practice, ShieldPolicy};
use crate::schedule::wire::Size;
use crate::schedule::{Amps, Celsius, CustomerType, Edition, Feet, Percent};
use toml::de::DeValue;

/// One key.
pub(super) struct Key {
    /// Dotted, as in a profile.
    pub path: &'static str,
    pub meaning: &'static str,
    /// What to write; completes *expected …*.
    pub expected: &'static str,
    pub text: fn(&Practice) -> String,
    /// `false` where the value is not what is expected.
    pub read: fn(&mut Practice, &DeValue<'_>) -> bool,
}

macro_rules! key {
    ($path:literal, $type:ty, $($field:ident).+, $meaning:literal) => {
        key!($path, $type, |p| p.$($field).+, |p, value| p.$($field).+ = value, $meaning)
    };
    ($path:literal, $type:ty, |$p:ident| $get:expr, |$q:ident, $value:ident| $set:expr, $meaning:literal) => {
        Key {
            path: $path,
            meaning: $meaning,
            expected: <$type as Value>::EXPECTED,
            text: |$p| Value::text(&$get),
            read: |$q, item| match <$type as Value>::read(item) {
                Some($value) => {
                    $set;
                    true
                }
                None => false,
            },
        }
    };
}

/// In the order of *Basis*.
pub(super) static KEYS: &[Key] = &[
    key!(
        "edition",
        Edition,
        edition,
        "adopted edition of the code, where the job names none"
    ),
    key!(
        "customer",
        Option<CustomerType>,
        customer,
        "customer type, where the job does not state it"
    ),
    key!(
        "terminals.general",
        Celsius,
        terminals.general,
        "rating of terminals, where the schedule states none"
    ),
    key!(
        "ambient.roof",
        Option<Celsius>,
        ambient.roof,
        "ambient temperature on a roof, where the schedule states none"
    ),
    key!(
        "ambient.attic",
        Option<Celsius>,
        ambient.attic,
        "ambient temperature in an attic, where the schedule states none"
    ),
    key!(
        "ambient.outdoors",
        Option<Celsius>,
        ambient.outdoors,
        "ambient temperature outdoors, where the schedule states none"
    ),
    key!(
        "ambient.indoors",
        Celsius,
        ambient.indoors,
        "ambient temperature elsewhere"
    ),
    key!(
        "bus.budget",
        Feet,
        bus.budget,
        "length of one system's bus in all"
    ),
    key!(
        "bus.budget_shielded",
        Feet,
        bus.budget_shielded,
        "the same where any run is shielded"
    ),
    key!(
        "bus.near",
        Percent,
        bus.near,
        "share of the budget above which it is noted"
    ),
    key!(
        "bus.farthest",
        Option<Feet>,
        bus.farthest,
        "outdoor unit to the farthest unit along the bus; no limit unless set"
    ),
    key!(
        "bus.gauge",
        (Size, Size),
        |p| (p.bus.smallest_gauge, p.bus.largest_gauge),
        |p, value| (p.bus.smallest_gauge, p.bus.largest_gauge) = value,
        "gauges of bus wire, smallest and largest"
    ),
    key!(
        "bus.conductors",
        u8,
        bus.conductors,
        "conductors of bus wire"
    ),
    key!(
        "bus.stranded",
        bool,
        bus.stranded,
        "bus wire is to be stranded; where not, solid wire is not asked about"
    ),
    key!(
        "bus.shield",
        ShieldPolicy,
        bus.shield,
        "where a shield on bus wire has its place"
    ),
    key!(
        "bus.shield_grounds",
        u32,
        bus.shield_grounds,
        "points at which the shield of one chain is grounded"
    ),
    key!(
        "bus.most_units",
        Option<u32>,
        bus.most_units,
        "indoor units on one system; no limit unless set"
    ),
    key!(
        "bus.box_may_branch",
        Option<bool>,
        bus.box_may_branch,
        "more than two bus runs at a branch box; asked unless set"
    ),
    key!(
        "controller.farthest",
        Feet,
        controller.farthest,
        "controller to its unit"
    ),
    key!(
        "controller.most_in_group",
        u32,
        controller.most_in_group,
        "units on one controller of a declared group"
    ),
    key!(
        "sharing.rating",
        Amps,
        sharing.rating,
        "rating of a shared circuit that needs no question"
    ),
    key!(
        "sharing.near",
        Percent,
        sharing.near,
        "share of the rating above which the load is noted"
    ),
    key!(
        "sharing.motor_amps",
        Amps,
        sharing.motor_amps,
        "largest motor on a shared circuit, by current"
    ),
    key!(
        "sharing.motor_hp",
        f64,
        sharing.motor_hp,
        "largest motor on a shared circuit, by output"
    ),
    key!(
        "imbalance",
        Percent,
        imbalance,
        "three phases out of balance, above which it is noted"
    ),
    key!(
        "drop_note",
        Percent,
        drop_note,
        "voltage drop of a branch circuit above which it is noted"
    ),
    key!(
        "drop_verify",
        Percent,
        drop_verify,
        "voltage drop of a branch circuit above which it is asked about"
    ),
    key!(
        "nameplate_tolerance",
        Percent,
        nameplate_tolerance,
        "how far a nameplate's MCA may lie off the computed one"
    ),
    key!(
        "capacity_ratio",
        (Percent, Percent),
        capacity_ratio,
        "indoor capacity against the outdoor unit's, lowest and highest"
    ),
    key!(
        "takeoff.waste",
        Percent,
        takeoff.waste,
        "wire added for waste in the takeoff"
    ),
    key!(
        "files.size",
        Megabytes,
        files.size,
        "a file above it is refused: size of a file"
    ),
    key!(
        "files.size_xls",
        Megabytes,
        files.size_xls,
        "a file above it is refused: size of an XLS, which its reader builds whole in memory"
    ),
    key!(
        "files.unpacked",
        Megabytes,
        files.unpacked,
        "a file above it is refused: all parts of a workbook once unpacked"
    ),
    key!(
        "files.ratio",
        Count,
        files.ratio,
        "a file above it is refused: size of a part once unpacked over its packed size; parts below 32 MB are not held to it"
    ),
    key!(
        "files.parts",
        Count,
        files.parts,
        "a file above it is refused: parts of a workbook's package"
    ),
    key!(
        "files.sheets",
        Count,
        files.sheets,
        "a file above it is refused: sheets of a workbook"
    ),
    key!(
        "files.rows",
        Count,
        files.rows,
        "a file above it is refused: rows of one sheet or text file"
    ),
    key!(
        "files.columns",
        Count,
        files.columns,
        "a file above it is refused: columns of one sheet or text file"
    ),
    key!(
        "files.cells",
        Count,
        files.cells,
        "a file above it is refused: cells with a value, over all sheets"
    ),
    key!(
        "files.cells_xls",
        Count,
        files.cells_xls,
        "a file above it is refused: the same in an XLS, empty ones between the first and the last counted"
    ),
    key!(
        "files.text",
        Megabytes,
        files.text,
        "a file above it is refused: text in cells, over all sheets"
    ),
    key!(
        "files.merges",
        Count,
        files.merges,
        "a file above it is refused: merged ranges of one sheet"
    ),
];

impl Key {
    /// Whether it bounds what is read, and says nothing of a schedule:
    /// *Basis* names such a key only where it was set.
    pub fn is_of_files(&self) -> bool {
        self.path.starts_with("files.")
    }
}

/// The key's name in the listing for severities, which rules declare.
pub(super) const SEVERITIES: &str = "severities";

/// Values that are right alone and wrong together, or that the code's tables
/// leave no room for: the key to blame and what was expected.
pub(super) fn contradictions(practice: &Practice) -> Vec<(&'static str, String)> {
    let mut found = Vec::new();
    let terminals = practice.terminals.general;
    if ![60.0, 75.0, 90.0]
        .iter()
        .any(|&column| same(terminals, column))
    {
        found.push((
            "terminals.general",
            "60, 75 or 90 °C, the columns of the table".to_owned(),
        ));
    }
    if practice.drop_verify < practice.drop_note {
        let expected = format!("a share not below drop_note, {}", practice.drop_note);
        found.push(("drop_verify", expected));
    }
    found
}
