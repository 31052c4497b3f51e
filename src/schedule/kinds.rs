//! What cells say of kinds, ratings and supplies.

use super::{Amps, Volts};
use std::fmt;

/// What a unit of the equipment is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum UnitKind {
    Outdoor,
    /// A further module of an outdoor unit.
    OutdoorModule,
    Indoor,
    /// A ducted indoor unit, often with strip heat.
    AirHandler,
    BranchBox,
    CentralController,
    Gateway,
    /// Something that this tool does not audit.
    Other,
}

impl UnitKind {
    pub fn is_outdoor(self) -> bool {
        matches!(self, Self::Outdoor | Self::OutdoorModule)
    }

    pub fn is_indoor(self) -> bool {
        matches!(self, Self::Indoor | Self::AirHandler)
    }

    /// Stands on the chain of its system's bus.
    pub fn on_chain(self) -> bool {
        matches!(
            self,
            Self::Outdoor | Self::Indoor | Self::AirHandler | Self::BranchBox
        )
    }

    /// Needs a supply of line voltage that we audit.
    pub fn needs_supply(self) -> bool {
        self.is_outdoor() || self.is_indoor() || self == Self::BranchBox
    }
}

impl fmt::Display for UnitKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Outdoor => "outdoor unit",
            Self::OutdoorModule => "outdoor module",
            Self::Indoor => "indoor unit",
            Self::AirHandler => "air handler",
            Self::BranchBox => "branch box",
            Self::CentralController => "central controller",
            Self::Gateway => "gateway",
            Self::Other => "other equipment",
        })
    }
}

/// A current of a nameplate, which may be given for two voltages:
/// `42.7/46.7` at 208/230 V.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum NameplateAmps {
    One(Amps),
    /// In the order of the nameplate's voltages, lower voltage first.
    Two {
        lower: Amps,
        higher: Amps,
    },
}

impl NameplateAmps {
    /// The value that holds at `supply`: for a two-voltage nameplate the one
    /// nearer to 208 V below 219 V and nearer to 230 V above; `None` where
    /// there are two values and the supply is not known.
    pub fn at(self, supply: Option<Volts>) -> Option<Amps> {
        match (self, supply) {
            (Self::One(amps), _) => Some(amps),
            (Self::Two { lower, higher }, _) if lower == higher => Some(lower),
            (Self::Two { lower, higher }, Some(volts)) => {
                Some(if volts.0 < 219.0 { lower } else { higher })
            }
            (Self::Two { .. }, None) => None,
        }
    }

    pub fn smallest(self) -> Amps {
        match self {
            Self::One(amps) => amps,
            Self::Two { lower, higher } => Amps(lower.0.min(higher.0)),
        }
    }

    pub fn largest(self) -> Amps {
        match self {
            Self::One(amps) => amps,
            Self::Two { lower, higher } => Amps(lower.0.max(higher.0)),
        }
    }
}

impl fmt::Display for NameplateAmps {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::One(amps) => amps.fmt(f),
            Self::Two { lower, higher } => {
                write!(f, "{}/{higher}", super::number(lower.0))
            }
        }
    }
}

/// A nameplate's maximum overcurrent protection.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mop {
    pub amps: NameplateAmps,
    /// The cell itself (never its heading) asks for fuses and no breaker.
    pub fuses_only: bool,
}

/// The supply that a nameplate or a circuit row names: `208/230-1-60`.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Supply {
    /// Nominal volts as written, rising: `[208, 230]`, `[460]`. Never empty
    /// unless the cell names the phases alone.
    pub volts: Vec<u16>,
    pub phases: Option<u8>,
}

/// The class of a nominal voltage: those of one class feed one nameplate, as
/// 208, 230 and 240 V do (common practice, no source).
pub fn voltage_class(volts: u16) -> u16 {
    match volts {
        110..=127 => 120,
        200..=240 => 240,
        250..=277 => 277,
        380..=415 => 400,
        440..=480 => 480,
        550..=600 => 600,
        other => other,
    }
}

impl fmt::Display for Supply {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let volts: Vec<_> = self.volts.iter().map(u16::to_string).collect();
        match (volts.is_empty(), self.phases) {
            (false, Some(phases)) => write!(f, "{} V {phases}-phase", volts.join("/")),
            (false, None) => write!(f, "{} V", volts.join("/")),
            (true, Some(phases)) => write!(f, "{phases}-phase"),
            (true, None) => f.write_str("not stated"),
        }
    }
}

/// The system of a panel: `208Y/120`, `120/240 1PH 3W`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PanelSupply {
    /// Between two poles.
    pub line_to_line: Volts,
    /// Between a pole and the neutral, if there is one.
    pub line_to_neutral: Option<Volts>,
    /// 1 or 3; `None` where the text does not tell.
    pub phases: Option<u8>,
}

impl fmt::Display for PanelSupply {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        use super::number;
        match (self.phases, self.line_to_neutral) {
            (Some(3), Some(neutral)) => {
                write!(
                    f,
                    "{}Y/{} V 3-phase",
                    number(self.line_to_line.0),
                    number(neutral.0)
                )
            }
            (_, Some(neutral)) => {
                write!(f, "{}/{} V", number(neutral.0), number(self.line_to_line.0))?;
                self.phases.map_or(Ok(()), |p| write!(f, " {p}-phase"))
            }
            (Some(phases), None) => write!(f, "{} {phases}-phase", self.line_to_line),
            (None, None) => self.line_to_line.fmt(f),
        }
    }
}

/// Where a unit stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum UnitPlace {
    Roof,
    /// On the ground or a wall outdoors.
    Outdoors,
    Attic,
    Indoors,
}

/// A disconnect: `60A/30F`, `30A NF`, `non-fused`.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Disconnect {
    /// The switch's rating; a switch size is no overcurrent rating.
    pub amps: Option<Amps>,
    pub fused: Option<bool>,
    /// The fuses in it, where the same cell names them.
    pub fuse: Option<Amps>,
}

/// Whom the work is for.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "lowercase")]
pub enum CustomerType {
    Dwelling,
    Multifamily,
    Commercial,
}

impl CustomerType {
    /// Each part of the job is a dwelling.
    pub fn is_dwelling(self) -> bool {
        matches!(self, Self::Dwelling | Self::Multifamily)
    }
}

impl fmt::Display for CustomerType {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Dwelling => "dwelling",
            Self::Multifamily => "multifamily",
            Self::Commercial => "commercial",
        })
    }
}

/// An edition of NFPA 70.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize,
)]
pub enum Edition {
    #[serde(rename = "2017")]
    Nec2017,
    #[serde(rename = "2020")]
    Nec2020,
    #[serde(rename = "2023")]
    Nec2023,
    #[serde(rename = "2026")]
    Nec2026,
}

impl Edition {
    pub const ALL: [Self; 4] = [Self::Nec2017, Self::Nec2020, Self::Nec2023, Self::Nec2026];

    pub fn year(self) -> u16 {
        match self {
            Self::Nec2017 => 2017,
            Self::Nec2020 => 2020,
            Self::Nec2023 => 2023,
            Self::Nec2026 => 2026,
        }
    }
}

impl fmt::Display for Edition {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "NFPA 70-{}", self.year())
    }
}
