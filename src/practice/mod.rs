//! What differs by place or by project: the adopted code edition, lengths of
//! the bus, limits of sharing. Each has a default; a job's own facts and a
//! system's own row go before it.

mod keys;
mod nameplates;
mod read;
mod severity;
#[cfg(test)]
mod tests;
mod value;

pub use nameplates::{Nameplate, Nameplates, amps_agree};
pub use read::{ProfileError, ProfileFault};
pub use severity::{RuleSeverities, Severities};

use keys::KEYS;

use crate::schedule::{Amps, Celsius, CustomerType, Edition, Feet, Percent, Schedule, wire::Size};

/// The practice that a job is held against.
#[derive(Clone, Debug, PartialEq)]
pub struct Practice {
    /// Adopted edition of NFPA 70, where the job does not name its own.
    pub edition: Edition,
    /// Customer type, where the job does not state it; `None`: not known.
    pub customer: Option<CustomerType>,
    pub terminals: Terminals,
    pub ambient: Ambient,
    pub bus: BusPractice,
    pub controller: ControllerPractice,
    pub sharing: SharingPractice,
    pub takeoff: TakeoffPractice,
    pub files: FilesPractice,
    /// Largest share of unbalance among three phases that is not remarked.
    pub imbalance: Percent,
    /// Voltage drop of a branch circuit from which it is noted, and from
    /// which it is asked about.
    pub drop_note: Percent,
    pub drop_verify: Percent,
    /// How far a nameplate's MCA may lie off the computed one.
    pub nameplate_tolerance: Percent,
    /// Indoor capacity in percent of the outdoor unit's, lowest and highest.
    pub capacity_ratio: (Percent, Percent),
    /// Severities raised or lowered.
    pub severities: Severities,
    /// The user's own table of nameplates; empty where none was given.
    pub nameplates: Nameplates,
}

/// Temperature columns that terminals allow where the schedule is silent.
#[derive(Clone, Debug, PartialEq)]
pub struct Terminals {
    /// For conductors of 75 °C types and better, and MC cable. NM-B and UF-B
    /// are held to 60 °C by their own sections, whatever is written here.
    pub general: Celsius,
}

/// Ambient temperatures assumed by place, where the schedule states none.
#[derive(Clone, Debug, PartialEq)]
pub struct Ambient {
    pub roof: Option<Celsius>,
    pub attic: Option<Celsius>,
    pub outdoors: Option<Celsius>,
    pub indoors: Celsius,
}

/// Limits of the communication bus. Families of equipment differ widely: a
/// system's own row overrides every one of them.
#[derive(Clone, Debug, PartialEq)]
pub struct BusPractice {
    /// Sum of the indoor-side runs of one system.
    pub budget: Feet,
    /// The same where any run is shielded.
    pub budget_shielded: Feet,
    /// Share of the budget from which it is noted.
    pub near: Percent,
    /// Outdoor unit to the farthest unit; no limit unless set.
    pub farthest: Option<Feet>,
    pub smallest_gauge: Size,
    pub largest_gauge: Size,
    pub conductors: u8,
    /// Whether solid wire is asked about.
    pub stranded: bool,
    pub shield: ShieldPolicy,
    /// Points at which a chain's shield is grounded.
    pub shield_grounds: u32,
    /// Indoor units on one system; no limit unless set.
    pub most_units: Option<u32>,
    /// Whether a branch box may have more than two bus runs; `None`: the
    /// profile says nothing, so the question is asked.
    pub box_may_branch: Option<bool>,
}

/// Where a shield on bus wire has its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ShieldPolicy {
    /// Only beside line voltage; elsewhere it costs length for nothing.
    BesidePower,
    /// Anywhere: a maker that asks for shielded wire throughout.
    Anywhere,
}

/// Limits of the thermostats' wiring.
#[derive(Clone, Debug, PartialEq)]
pub struct ControllerPractice {
    pub farthest: Feet,
    /// Units that one controller of a declared group may serve.
    pub most_in_group: u32,
}

/// Limits of sharing a circuit.
#[derive(Clone, Debug, PartialEq)]
pub struct SharingPractice {
    /// Rating of a shared circuit that needs no question.
    pub rating: Amps,
    /// Share of the rating from which the load is noted.
    pub near: Percent,
    /// A motor of more current than this is asked about.
    pub motor_amps: Amps,
    pub motor_hp: f64,
}

/// How wire is taken off.
#[derive(Clone, Debug, PartialEq)]
pub struct TakeoffPractice {
    /// Share of every length that is added for waste (common practice, no
    /// source).
    pub waste: Percent,
}

/// What keeps one file from filling memory or time; a file above a bound is
/// refused.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FilesPractice {
    pub size: Megabytes,
    /// An XLS is built whole in memory by its reader.
    pub size_xls: Megabytes,
    /// All parts of a workbook.
    pub unpacked: Megabytes,
    /// Of one part, unpacked over packed.
    pub ratio: Count,
    pub parts: Count,
    pub sheets: Count,
    /// Of one sheet; so are the columns and the merged ranges.
    pub rows: Count,
    pub columns: Count,
    /// Over all sheets, as the text.
    pub cells: Count,
    /// Empty ones counted.
    pub cells_xls: Count,
    pub text: Megabytes,
    pub merges: Count,
}

/// Megabytes of 1,048,576 bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Megabytes(pub u64);

impl Megabytes {
    pub fn bytes(self) -> u64 {
        self.0 << 20
    }
}

/// How many.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Count(pub u64);

impl Default for Practice {
    fn default() -> Self {
        Self {
            edition: Edition::Nec2023,
            customer: None,
            terminals: Terminals {
                general: Celsius(75.0),
            },
            ambient: Ambient {
                roof: None,
                attic: None,
                outdoors: None,
                indoors: Celsius(30.0),
            },
            bus: BusPractice {
                budget: Feet(6000.0),
                budget_shielded: Feet(5000.0),
                near: Percent(90.0),
                farthest: None,
                smallest_gauge: Size::Awg(18),
                largest_gauge: Size::Awg(16),
                conductors: 2,
                stranded: true,
                shield: ShieldPolicy::BesidePower,
                shield_grounds: 1,
                most_units: None,
                box_may_branch: None,
            },
            controller: ControllerPractice {
                farthest: Feet(1640.0),
                most_in_group: 8,
            },
            sharing: SharingPractice {
                rating: Amps(15.0),
                near: Percent(80.0),
                motor_amps: Amps(6.0),
                motor_hp: 1.0,
            },
            takeoff: TakeoffPractice {
                waste: Percent(10.0),
            },
            files: FilesPractice {
                size: Megabytes(512),
                size_xls: Megabytes(64),
                unpacked: Megabytes(1_024),
                ratio: Count(200),
                parts: Count(10_000),
                sheets: Count(1_000),
                rows: Count(2_097_152),
                columns: Count(16_384),
                cells: Count(30_000_000),
                cells_xls: Count(8_000_000),
                text: Megabytes(512),
                merges: Count(200_000),
            },
            imbalance: Percent(20.0),
            drop_note: Percent(3.0),
            drop_verify: Percent(5.0),
            nameplate_tolerance: Percent(10.0),
            capacity_ratio: (Percent(50.0), Percent(130.0)),
            severities: Severities::default(),
            nameplates: Nameplates::default(),
        }
    }
}

impl Practice {
    /// This practice with what the job itself states put in its place.
    pub fn for_job(&self, schedule: &Schedule) -> Self {
        let mut own = self.clone();
        if let Some(edition) = schedule.facts.edition.copied() {
            own.edition = edition;
        }
        if let Some(customer) = schedule.facts.customer.copied() {
            own.customer = Some(customer);
        }
        own
    }

    /// Every value by name, as *Basis* prints them: key, value, what it is. A
    /// value that is not the default says so, beside the default. Bounds of
    /// what is read are listed where they are not the default.
    pub fn listing(&self) -> Vec<(&'static str, String, &'static str)> {
        let default = Self::default();
        let marked = |text: String, default: String| {
            if text == default {
                text
            } else {
                format!("{text} (default: {default})")
            }
        };
        let said =
            |key: &&keys::Key| !key.is_of_files() || (key.text)(self) != (key.text)(&default);
        let mut rows: Vec<_> = KEYS
            .iter()
            .filter(said)
            .map(|key| {
                let text = marked((key.text)(self), (key.text)(&default));
                (key.path, text, key.meaning)
            })
            .collect();
        rows.push((
            keys::SEVERITIES,
            self.severities.text(),
            "severities raised or lowered; a fix that is lowered stays a broken limit",
        ));
        rows
    }
}
