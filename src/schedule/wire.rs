//! Conductors, cables, raceways and low-voltage wire as a schedule names them.

use std::fmt;

/// A conductor's size in the American system.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Size {
    /// American wire gauge; the sizes 1/0 to 4/0 are 0 to -3.
    Awg(i8),
    /// Thousands of circular mils.
    Kcmil(u16),
}

impl Size {
    /// Grows with the cross-section: orders gauges and kcmil in one row.
    fn rank(self) -> i32 {
        match self {
            Self::Awg(gauge) => -i32::from(gauge),
            Self::Kcmil(kcmil) => 1000 + i32::from(kcmil),
        }
    }
}

impl PartialOrd for Size {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Size {
    /// By cross-section: `14 AWG < 12 AWG < 1/0 < 250 kcmil`.
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.rank().cmp(&other.rank())
    }
}

impl fmt::Display for Size {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::Awg(gauge) if gauge <= 0 => write!(f, "{}/0 AWG", 1 - gauge),
            Self::Awg(gauge) => write!(f, "{gauge} AWG"),
            Self::Kcmil(kcmil) => write!(f, "{kcmil} kcmil"),
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Material {
    Copper,
    Aluminium,
}

impl fmt::Display for Material {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Copper => "copper",
            Self::Aluminium => "aluminium",
        })
    }
}

/// Types of cable that carry several conductors under one jacket or armour.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum CableType {
    NmB,
    UfB,
    Mc,
    Ac,
    SeR,
    SeU,
    TrayCable,
    /// Flexible cord: SOOW and the like.
    Cord,
}

impl fmt::Display for CableType {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::NmB => "NM-B",
            Self::UfB => "UF-B",
            Self::Mc => "MC",
            Self::Ac => "AC",
            Self::SeR => "SER",
            Self::SeU => "SEU",
            Self::TrayCable => "TC",
            Self::Cord => "cord",
        })
    }
}

/// Insulation types of single conductors.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Insulation {
    Tw,
    Thw,
    Thwn,
    Thwn2,
    Thhn,
    /// Marked both, as most building wire is.
    ThhnThwn2,
    Xhhw,
    Xhhw2,
    Rhw,
    Rhw2,
    Use2,
}

impl Insulation {
    /// Temperature rating in dry places, degrees Celsius (NFPA 70 Table
    /// 310.4(A); 310.104(A) to 2017; from memory).
    pub fn dry_rating(self) -> u8 {
        match self {
            Self::Tw => 60,
            Self::Thw | Self::Thwn | Self::Rhw => 75,
            Self::Thwn2 | Self::Thhn | Self::ThhnThwn2 | Self::Xhhw | Self::Xhhw2 => 90,
            Self::Rhw2 | Self::Use2 => 90,
        }
    }

    /// Temperature rating in wet places, degrees Celsius; `None` where the
    /// type is not for wet places (same tables; from memory).
    pub fn wet_rating(self) -> Option<u8> {
        match self {
            Self::Tw => Some(60),
            Self::Thw | Self::Thwn | Self::Xhhw | Self::Rhw => Some(75),
            Self::Thwn2 | Self::ThhnThwn2 | Self::Xhhw2 | Self::Rhw2 | Self::Use2 => Some(90),
            Self::Thhn => None,
        }
    }
}

impl fmt::Display for Insulation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Tw => "TW",
            Self::Thw => "THW",
            Self::Thwn => "THWN",
            Self::Thwn2 => "THWN-2",
            Self::Thhn => "THHN",
            Self::ThhnThwn2 => "THHN/THWN-2",
            Self::Xhhw => "XHHW",
            Self::Xhhw2 => "XHHW-2",
            Self::Rhw => "RHW",
            Self::Rhw2 => "RHW-2",
            Self::Use2 => "USE-2",
        })
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum RacewayType {
    Emt,
    Rmc,
    Imc,
    Pvc,
    Fmc,
    Lfmc,
    Lfnc,
    Ent,
    /// "Conduit" and nothing more.
    Unnamed,
}

impl RacewayType {
    /// Metal raceways that may themselves be the grounding conductor
    /// (NFPA 70 250.118). Flexible ones only in part: not counted here.
    pub fn may_ground(self) -> bool {
        matches!(self, Self::Emt | Self::Rmc | Self::Imc)
    }
}

impl fmt::Display for RacewayType {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Emt => "EMT",
            Self::Rmc => "RMC",
            Self::Imc => "IMC",
            Self::Pvc => "PVC",
            Self::Fmc => "FMC",
            Self::Lfmc => "LFMC",
            Self::Lfnc => "LFNC",
            Self::Ent => "ENT",
            Self::Unnamed => "conduit",
        })
    }
}

/// A raceway and its trade size as written (`3/4`), if any.
#[derive(Clone, Debug, PartialEq)]
pub struct Raceway {
    pub kind: RacewayType,
    pub trade_size: Option<Box<str>>,
}

/// A grounding conductor as a notation states it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Grounding {
    /// A ground of a stated size.
    Sized {
        size: Size,
        material: Option<Material>,
    },
    /// "w/ground": there, its size not stated (in a factory cable, the
    /// maker's own).
    Unsized,
    /// "by raceway", "EMT": a metal raceway is the grounding conductor
    /// (NFPA 70 250.118); whether the one that is installed may be, its type
    /// tells.
    ByRaceway,
    /// "no ground".
    Absent,
}

/// The conductors of a circuit: `(2)#10+(1)#10G in 3/4 EMT`, `10/2 NM-B`.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Conductor {
    pub size: Option<Size>,
    pub material: Option<Material>,
    /// Insulated conductors of one set, grounding conductor not counted.
    pub count: Option<u8>,
    /// Sets in parallel; 1 unless stated.
    pub sets: u8,
    pub ground: Option<Grounding>,
    pub cable: Option<CableType>,
    pub insulation: Option<Insulation>,
    pub raceway: Option<Raceway>,
    /// The notation is that of a cable (`10/2`), whose type may be unstated.
    pub is_cable: bool,
}

impl fmt::Display for Conductor {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.size {
            Some(size) => write!(f, "{size}")?,
            None => f.write_str("size not stated")?,
        }
        if self.sets > 1 {
            write!(f, ", {} sets in parallel", self.sets)?;
        }
        if let Some(material) = self.material {
            write!(f, " {material}")?;
        }
        if let Some(cable) = self.cable {
            write!(f, " {cable}")?;
        } else if let Some(insulation) = self.insulation {
            write!(f, " {insulation}")?;
        } else if self.is_cable {
            f.write_str(" cable")?;
        }
        Ok(())
    }
}

/// Low-voltage wire as one cell describes it: `18/2 STR UNSH`. Each part is
/// `None` where the text does not say.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct LowVoltageWire {
    pub gauge: Option<Size>,
    pub conductors: Option<u8>,
    pub stranded: Option<bool>,
    pub shielded: Option<bool>,
}

/// What a low-voltage run is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum RunPurpose {
    /// The communication chain.
    Bus,
    /// A thermostat to its indoor unit.
    Controller,
    /// A float or condensate switch, or another external contact.
    Interlock,
    /// To a central controller or between outdoor units.
    Central,
}

impl fmt::Display for RunPurpose {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Bus => "bus",
            Self::Controller => "controller",
            Self::Interlock => "interlock",
            Self::Central => "central",
        })
    }
}

/// Which pair of the outdoor unit's communication terminals a run lands on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum TerminalSide {
    /// The pair for its own indoor units.
    Indoor,
    /// The pair for other outdoor units and central control.
    Central,
}

impl fmt::Display for TerminalSide {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Indoor => "indoor side",
            Self::Central => "central side",
        })
    }
}

/// Where a run's shield is grounded.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ShieldGround {
    Nowhere,
    /// At the outdoor unit's end: one point of the chain, however often said.
    OutdoorEnd,
    /// At the indoor unit's end of this run.
    IndoorEnd,
    /// At the end of this run that is away from the outdoor unit.
    FarEnd,
    /// At the last unit of the chain: one point, however often said.
    LastUnit,
    FromEnd,
    ToEnd,
    BothEnds,
    /// At a named unit.
    At(super::Name),
}

/// How a low-voltage run lies to line voltage.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Routing {
    /// In the same raceway, cable, box or enclosure, no barrier.
    SameRaceway,
    /// In the same raceway or enclosure with a barrier between.
    SameRacewayWithBarrier,
    /// Tied to line-voltage wiring.
    Tied,
    /// Side by side with it.
    Parallel,
    /// Crosses it only.
    Crossing,
    /// Kept away; in a raceway of its own, or along the line set.
    Apart,
}

impl fmt::Display for Routing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::SameRaceway => "in the same raceway or enclosure as line voltage",
            Self::SameRacewayWithBarrier => "in one enclosure with line voltage, a barrier between",
            Self::Tied => "tied to line-voltage wiring",
            Self::Parallel => "parallel with line-voltage wiring",
            Self::Crossing => "crossing line-voltage wiring",
            Self::Apart => "apart from line voltage",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_order_by_cross_section_and_print_as_the_trade_writes_them() {
        let rising = [
            Size::Awg(18),
            Size::Awg(14),
            Size::Awg(1),
            Size::Awg(0),
            Size::Awg(-3),
            Size::Kcmil(250),
            Size::Kcmil(500),
        ];
        assert!(rising.is_sorted());
        assert_eq!(Size::Awg(0).to_string(), "1/0 AWG");
        assert_eq!(Size::Awg(-3).to_string(), "4/0 AWG");
        assert_eq!(Size::Awg(10).to_string(), "10 AWG");
    }
}
