//! What differs by place or by project: the adopted code edition, lengths of
//! the bus, limits of sharing. Each has a default; a job's own facts and a
//! system's own row go before it.

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
}

/// Temperature columns that terminals allow where the schedule is silent.
#[derive(Clone, Debug, PartialEq)]
pub struct Terminals {
    /// For conductors of 75 °C types and better, and MC cable.
    pub general: Celsius,
    /// NM-B and UF-B: the cable's own limit.
    pub nm_uf: Celsius,
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
    /// Points at which a chain's shield is grounded.
    pub shield_grounds: u32,
    /// Indoor units on one system; no limit unless set.
    pub most_units: Option<u32>,
    /// Whether a branch box may have more than two bus runs; `None`: the
    /// profile says nothing, so the question is asked.
    pub box_may_branch: Option<bool>,
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

impl Default for Practice {
    fn default() -> Self {
        Self {
            edition: Edition::Nec2023,
            customer: None,
            terminals: Terminals {
                general: Celsius(75.0),
                nm_uf: Celsius(60.0),
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
            imbalance: Percent(20.0),
            drop_note: Percent(3.0),
            drop_verify: Percent(5.0),
            nameplate_tolerance: Percent(10.0),
            capacity_ratio: (Percent(50.0), Percent(130.0)),
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

    /// Every value by name, as *Basis* prints them: key, value, what it is.
    pub fn listing(&self) -> Vec<(&'static str, String, &'static str)> {
        fn or_none<T: std::fmt::Display>(value: Option<T>) -> String {
            value.map_or_else(|| "no limit set".to_owned(), |value| value.to_string())
        }
        vec![
            (
                "edition",
                self.edition.to_string(),
                "adopted edition of the code",
            ),
            (
                "customer",
                self.customer
                    .map_or("not known".to_owned(), |c| c.to_string()),
                "customer type",
            ),
            (
                "terminals.general",
                self.terminals.general.to_string(),
                "terminals, where not stated",
            ),
            (
                "terminals.nm_uf",
                self.terminals.nm_uf.to_string(),
                "NM-B and UF-B cable",
            ),
            (
                "ambient.roof",
                self.ambient
                    .roof
                    .map_or("not set".into(), |c| c.to_string()),
                "ambient temperature on a roof",
            ),
            (
                "ambient.attic",
                self.ambient
                    .attic
                    .map_or("not set".into(), |c| c.to_string()),
                "ambient temperature in an attic",
            ),
            (
                "ambient.indoors",
                self.ambient.indoors.to_string(),
                "ambient temperature elsewhere",
            ),
            (
                "bus.budget",
                self.bus.budget.to_string(),
                "length of one system's bus in all",
            ),
            (
                "bus.budget_shielded",
                self.bus.budget_shielded.to_string(),
                "the same with shielded wire",
            ),
            (
                "bus.near",
                self.bus.near.to_string(),
                "share of the budget from which it is noted",
            ),
            (
                "bus.farthest",
                or_none(self.bus.farthest),
                "outdoor unit to the farthest unit",
            ),
            (
                "bus.gauge",
                format!("{} to {}", self.bus.smallest_gauge, self.bus.largest_gauge),
                "gauges of bus wire",
            ),
            (
                "bus.conductors",
                self.bus.conductors.to_string(),
                "conductors of bus wire",
            ),
            (
                "bus.shield_grounds",
                self.bus.shield_grounds.to_string(),
                "grounded points of a shield",
            ),
            (
                "bus.most_units",
                or_none(self.bus.most_units),
                "indoor units on one system",
            ),
            (
                "bus.box_may_branch",
                match self.bus.box_may_branch {
                    Some(true) => "yes",
                    Some(false) => "no",
                    None => "not set",
                }
                .to_owned(),
                "more than two bus runs at a branch box",
            ),
            (
                "controller.farthest",
                self.controller.farthest.to_string(),
                "controller to its unit",
            ),
            (
                "controller.most_in_group",
                self.controller.most_in_group.to_string(),
                "units on one controller of a declared group",
            ),
            (
                "sharing.rating",
                self.sharing.rating.to_string(),
                "rating of a shared circuit",
            ),
            (
                "sharing.near",
                self.sharing.near.to_string(),
                "share of it from which the load is noted",
            ),
            (
                "sharing.motor_amps",
                self.sharing.motor_amps.to_string(),
                "largest motor on a shared circuit",
            ),
            (
                "sharing.motor_hp",
                format!("{} hp", self.sharing.motor_hp),
                "largest motor on a shared circuit",
            ),
            (
                "takeoff.waste",
                self.takeoff.waste.to_string(),
                "wire added for waste in the takeoff",
            ),
            (
                "imbalance",
                self.imbalance.to_string(),
                "three phases out of balance",
            ),
            (
                "drop_note",
                self.drop_note.to_string(),
                "voltage drop that is noted",
            ),
            (
                "drop_verify",
                self.drop_verify.to_string(),
                "voltage drop that is asked about",
            ),
            (
                "nameplate_tolerance",
                self.nameplate_tolerance.to_string(),
                "nameplate against computed",
            ),
            (
                "capacity_ratio",
                format!("{} to {}", self.capacity_ratio.0, self.capacity_ratio.1),
                "indoor against outdoor capacity",
            ),
        ]
    }
}
