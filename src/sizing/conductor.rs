//! Ampacity of a circuit's conductors, and the size that a load asks for.
//!
//! Where the schedule leaves the temperature column open there are two
//! readings, the cautious and the favourable one: a load above the
//! favourable fails, one within the cautious passes, and between them the
//! question is asked.

use super::{Step, Worked, protection};
use crate::schedule::wire::{CableType, Conductor, Insulation, Material, Size};
use crate::schedule::{Amps, Celsius, Edition, Quantity};
use crate::tables::conductors::{self, Column};
use crate::tables::ratings::Device;
use crate::tables::{Source, Topic, limits};

/// What is known around a conductor. `None` is *not stated*.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conditions {
    pub edition: Edition,
    /// Rating of the terminals, where the schedule states it.
    pub terminals: Option<Celsius>,
    /// Rating of the circuit: above 100 A terminals that are not marked count
    /// as 75 °C.
    pub device: Option<Amps>,
    /// What the profile takes for terminals where the wiring method is
    /// stated and is not limited to 60 °C. `None`: both readings.
    pub assumed_terminals: Option<Celsius>,
    pub ambient: Option<Celsius>,
    /// Current-carrying conductors together, this circuit's included.
    pub together: Option<u32>,
    /// A wet place, as outdoors.
    pub wet: bool,
    /// In a raceway closer than 7/8 in above a roof.
    pub close_to_roof: bool,
}

impl Conditions {
    /// Nothing stated, in a dry place.
    pub fn unstated(edition: Edition) -> Self {
        Self {
            edition,
            terminals: None,
            device: None,
            assumed_terminals: None,
            ambient: None,
            together: None,
            wet: false,
            close_to_roof: false,
        }
    }
}

/// One reading of the ampacity.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Reading {
    pub amps: Amps,
    /// Temperature of the column that limits at the terminals, °C.
    pub terminals: u8,
}

#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Ampacity {
    /// The cautious reading.
    pub least: Reading,
    /// The favourable reading; equal to `least` where nothing is open.
    pub most: Reading,
    /// The material was not stated and copper was taken.
    pub copper_assumed: bool,
}

/// How a load stands to an ampacity of two readings.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Carries {
    Yes,
    /// The favourable reading carries it, the cautious one does not.
    IfFavourable,
    No,
}

impl Ampacity {
    pub fn carries(&self, load: Amps) -> Carries {
        if !load.exceeds(self.least.amps) {
            Carries::Yes
        } else if load.exceeds(self.most.amps) {
            Carries::No
        } else {
            Carries::IfFavourable
        }
    }

    /// Both readings are one.
    pub fn is_settled(&self) -> bool {
        self.least.amps == self.most.amps
    }
}

/// Why there is no ampacity.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoAmpacity {
    SizeNotStated,
    /// The table has no value for this size and material.
    NotInTable,
    /// A flexible cord, which has tables of its own.
    OtherTable,
    /// The ambient is above what the insulation may be used at.
    TooHot,
}

/// The column at the terminals and the column that corrections start from.
#[derive(Clone, Copy, PartialEq)]
struct Columns {
    terminals: Column,
    insulation: Column,
}

/// What the wiring method tells of the two columns.
enum Method {
    /// Its ampacity is the 60 °C column, whatever the terminals.
    Limited { insulation: Column, topic: Topic },
    /// Individual conductors or armoured cable: the insulation is known.
    Known { insulation: Column },
    /// A cable of no stated type: it may be a limited one.
    UnknownCable,
    /// Conductors whose insulation is not stated.
    UnknownConductors,
}

fn method(conductor: &Conductor, insulation: Option<Insulation>, wet: bool) -> Method {
    match conductor.cable {
        Some(CableType::NmB) => Method::Limited {
            insulation: Column::C90,
            topic: Topic::NmBAmpacity,
        },
        Some(CableType::UfB) => Method::Limited {
            insulation: Column::C60,
            topic: Topic::UfBAmpacity,
        },
        // Which insulation such a cable carries is not stated; 90 °C is usual.
        Some(CableType::Mc | CableType::Ac | CableType::TrayCable) => Method::Known {
            insulation: Column::C90,
        },
        // Where such a cable runs decides its column; a cord never comes here.
        Some(CableType::SeR | CableType::SeU | CableType::Cord) => Method::UnknownCable,
        None => match insulation.or(conductor.insulation) {
            Some(kind) => {
                let dry = kind.dry_rating();
                let rating = if wet {
                    kind.wet_rating().unwrap_or(dry)
                } else {
                    dry
                };
                let insulation = Column::at_most(Celsius(f64::from(rating))).unwrap_or(Column::C60);
                Method::Known { insulation }
            }
            None if conductor.is_cable => Method::UnknownCable,
            None => Method::UnknownConductors,
        },
    }
}

/// The cautious and the favourable columns, and how they were told.
struct Told {
    least: Columns,
    most: Columns,
    how: &'static str,
    topic: Topic,
}

impl Told {
    fn settled(terminals: Column, insulation: Column, how: &'static str) -> Self {
        Self::open((terminals, insulation), (terminals, insulation), how)
    }

    fn open(least: (Column, Column), most: (Column, Column), how: &'static str) -> Self {
        let columns = |(terminals, insulation)| Columns {
            terminals,
            insulation,
        };
        Self {
            least: columns(least),
            most: columns(most),
            how,
            topic: Topic::Terminals,
        }
    }

    fn step(&self, edition: Edition) -> Step {
        let (least, most) = (self.least.terminals, self.most.terminals);
        let value = if least == most {
            format!("{} °C", least.celsius())
        } else {
            format!("{} to {} °C", least.celsius(), most.celsius())
        };
        let source = Source::code(self.topic, edition);
        Step::new("terminal-temperature", value, self.how, source)
    }
}

/// Above 75 °C terminals are not taken: they serve corrections only.
fn terminal_column(rating: Celsius) -> Column {
    Column::at_most(rating)
        .unwrap_or(Column::C60)
        .min(Column::C75)
}

fn columns(method: &Method, size: Size, at: &Conditions) -> Told {
    use Column::{C60, C75, C90};
    let unmarked = limits::small_terminals_up_to(at.edition).value;
    // Without a device the size tells: above 1 AWG, from memory.
    let large = at
        .device
        .map_or(size > Size::Awg(1), |amps| amps.exceeds(unmarked));
    let stated = at.terminals.map(terminal_column);
    let assumed = at.assumed_terminals.map(terminal_column);
    match (method, stated) {
        (Method::Limited { insulation, topic }, _) => Told {
            topic: *topic,
            ..Told::settled(C60, *insulation, "this cable type")
        },
        (Method::Known { insulation }, Some(column)) => {
            Told::settled(column.min(*insulation), *insulation, "terminals as stated")
        }
        (Method::Known { insulation }, None) => match assumed {
            _ if large => Told::settled(C75.min(*insulation), *insulation, "terminals above 100 A"),
            Some(column) => {
                let column = column.min(*insulation);
                Told::settled(column, *insulation, "terminals by the profile")
            }
            None => Told::open(
                (C60, *insulation),
                (C75.min(*insulation), *insulation),
                "terminals not stated",
            ),
        },
        (Method::UnknownCable, stated) => Told::open(
            (C60, C60),
            (stated.unwrap_or(C75), C90),
            "cable type not stated",
        ),
        (Method::UnknownConductors, Some(column)) => Told::open(
            (column, column),
            (column, C90),
            "terminals as stated, insulation not",
        ),
        (Method::UnknownConductors, None) if large => Told::open(
            (C75, C75),
            (C75, C90),
            "terminals above 100 A, insulation not stated",
        ),
        (Method::UnknownConductors, None) => Told::open(
            (C60, C60),
            (C75, C90),
            "terminals and insulation not stated",
        ),
    }
}

/// Ampacity of a circuit's conductors. `insulation` is that of a column of
/// its own, which goes before what the conductor's notation says.
pub fn ampacity(
    conductor: &Conductor,
    insulation: Option<Insulation>,
    at: &Conditions,
) -> Result<Worked<Ampacity>, NoAmpacity> {
    let size = conductor.size.ok_or(NoAmpacity::SizeNotStated)?;
    if conductor.cable == Some(CableType::Cord) {
        return Err(NoAmpacity::OtherTable);
    }
    let mut steps = Vec::new();
    let material = conductor.material.unwrap_or(Material::Copper);
    if conductor.material.is_none() {
        steps.push(Step::new("material", material, "not stated", None));
    }
    let method = method(conductor, insulation, at.wet);
    let told = columns(&method, size, at);
    steps.push(told.step(at.edition));
    let (cautious, favourable) = (told.least, told.most);
    let mut at = *at;
    if at.close_to_roof && insulation.or(conductor.insulation) != Some(Insulation::Xhhw2) {
        let adder = limits::roof_adder(at.edition);
        let base = at.ambient.unwrap_or(Celsius(30.0));
        let sum = base + adder.value;
        let how = format!("{base} + {} above the roof", adder.value);
        steps.push(Step::new("ambient", sum, how, adder.source));
        at.ambient = Some(sum);
    }
    let sets = conductor.sets.max(1);
    let least = reading(size, material, sets, cautious, &at, &mut steps);
    let (least, most) = if favourable == cautious {
        let one = least?;
        (one, one)
    } else {
        let most = reading(size, material, sets, favourable, &at, &mut steps)?;
        // Only the cautious reading of an open insulation is too hot: nothing
        // is proven, and nothing passes.
        let nothing = Reading {
            amps: Amps(0.0),
            terminals: cautious.terminals.celsius(),
        };
        (least.unwrap_or(nothing), most)
    };
    Ok(Worked::new(
        Ampacity {
            least,
            most,
            copper_assumed: conductor.material.is_none(),
        },
        steps,
    ))
}

fn reading(
    size: Size,
    material: Material,
    sets: u8,
    columns: Columns,
    at: &Conditions,
    steps: &mut Vec<Step>,
) -> Result<Reading, NoAmpacity> {
    let look_up = |column| conductors::ampacity(size, material, column, at.edition);
    let base = look_up(columns.insulation).ok_or(NoAmpacity::NotInTable)?;
    let limit = look_up(columns.terminals).ok_or(NoAmpacity::NotInTable)?;
    let mut factor = 1.0;
    if let Some(ambient) = at.ambient {
        let found = conductors::ambient_factor(ambient, columns.insulation, at.edition)
            .ok_or(NoAmpacity::TooHot)?;
        factor *= found.value;
        let how = format!("{ambient}, {} °C insulation", columns.insulation.celsius());
        steps.push(Step::new("ambient-factor", found.value, how, found.source));
    }
    if let Some(together) = at.together.filter(|&count| count > 3) {
        let found = conductors::bundling_factor(together, at.edition);
        factor *= found.value;
        let how = format!("{together} current-carrying conductors together");
        steps.push(Step::new("bundling-factor", found.value, how, found.source));
    }
    let corrected = base.value * factor;
    let one = if corrected.exceeds(limit.value) {
        limit.value
    } else {
        corrected
    };
    let amps = one * f64::from(sets);
    let mut how = format!(
        "{size} {material}: {} at {} °C",
        base.value,
        columns.insulation.celsius()
    );
    if factor != 1.0 {
        how.push_str(&format!(
            " × {} = {corrected}",
            (factor * 1e6).round() / 1e6
        ));
    }
    how.push_str(&format!(
        ", at most {} at {} °C terminals",
        limit.value,
        columns.terminals.celsius()
    ));
    if sets > 1 {
        how.push_str(&format!(", {sets} sets"));
    }
    steps.push(Step::new("ampacity", amps, how, base.source));
    Ok(Reading {
        amps,
        terminals: columns.terminals.celsius(),
    })
}

/// The largest device in front of a conductor, where nothing is lifted: the
/// next standard rating at or above its ampacity up to 800 A, not above the
/// small-conductor limit. `None` where the ampacity is beyond the ratings.
pub fn largest_device(
    ampacity: Amps,
    size: Size,
    material: Material,
    edition: Edition,
) -> Option<Worked<Amps>> {
    let mut steps = Vec::new();
    let up_to = limits::next_larger_up_to(edition);
    let (rating, how) = if ampacity.exceeds(up_to.value) {
        let rating = protection::standard_at_or_below(ampacity, Device::Breaker, edition)?;
        (rating, "largest standard rating not above")
    } else {
        let rating = protection::standard_at_or_above(ampacity, Device::Breaker, edition)?;
        (rating, "smallest standard rating not below")
    };
    steps.push(Step::new(
        "largest-device",
        rating.value,
        format!("{how} the ampacity {ampacity}"),
        up_to.source,
    ));
    let mut value = rating.value;
    if let Some(cap) = conductors::small_conductor(size, material, edition)
        && value.exceeds(cap.value)
    {
        value = cap.value;
        let how = format!("{size} {material}, the small-conductor limit");
        steps.push(Step::new("largest-device", value, how, cap.source));
    }
    Some(Worked::new(value, steps))
}

/// What a proposed conductor has to do.
#[derive(Clone, Debug, PartialEq)]
pub struct Request {
    pub load: Amps,
    /// The device in front of it, where the circuit has no exception for
    /// air-conditioning equipment; `None` where it has.
    pub device: Option<Amps>,
    /// The wiring method to keep: its size is the one that is sought.
    pub like: Conductor,
    pub insulation: Option<Insulation>,
}

/// The smallest size whose cautious reading carries the load and, where a
/// device is given, may stand behind it; `None` beyond the table.
pub fn smallest_for(request: &Request, at: &Conditions) -> Option<Worked<Size>> {
    let material = request.like.material.unwrap_or(Material::Copper);
    let smallest = conductors::smallest_conductor(material, at.edition);
    conductors::sizes()
        .filter(|&size| size >= smallest.value)
        .find_map(|size| {
            let mut conductor = request.like.clone();
            conductor.size = Some(size);
            let mut steps = Vec::new();
            let found = ampacity(&conductor, request.insulation, at)
                .ok()?
                .into_value(&mut steps);
            let carries = found.carries(request.load) == Carries::Yes;
            let allowed = match request.device {
                None => true,
                Some(device) => {
                    let most = largest_device(found.least.amps, size, material, at.edition)?
                        .into_value(&mut steps);
                    !device.exceeds(most)
                }
            };
            if !(carries && allowed) {
                return None;
            }
            let how = format!(
                "smallest whose ampacity {} is not below {}",
                found.least.amps, request.load
            );
            steps.push(Step::new("conductor", size, how, None));
            Some(Worked::new(size, steps))
        })
}

/// Whether a conductor is smaller than any branch circuit permits.
pub fn below_smallest(size: Size, material: Material, edition: Edition) -> bool {
    size < conductors::smallest_conductor(material, edition).value
}

/// Whether a size may run in several sets in parallel.
pub fn may_parallel(size: Size, edition: Edition) -> bool {
    size >= conductors::smallest_parallel(edition).value
}

/// How many steps of the table `size` lies above `needed`; 0 where it does
/// not, `None` where the table lacks one of them.
pub fn steps_above(needed: Size, size: Size) -> Option<usize> {
    let at = |wanted| conductors::sizes().position(|size| size == wanted);
    Some(at(size)?.saturating_sub(at(needed)?))
}
