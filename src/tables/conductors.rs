//! Ampacity, its corrections, grounding conductors and wire properties.

use super::{Cite, Cited, Topic};
use crate::schedule::wire::Size::{Awg, Kcmil};
use crate::schedule::wire::{Material, Size};
use crate::schedule::{Amps, Celsius, CircularMils, Edition};

/// A temperature column of the ampacity table.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Column {
    C60,
    C75,
    C90,
}

impl Column {
    pub const ALL: [Self; 3] = [Self::C60, Self::C75, Self::C90];

    pub fn celsius(self) -> u8 {
        match self {
            Self::C60 => 60,
            Self::C75 => 75,
            Self::C90 => 90,
        }
    }

    /// The highest column that a rating reaches; `None` below 60 °C.
    pub fn at_most(rating: Celsius) -> Option<Self> {
        Self::ALL
            .into_iter()
            .rev()
            .find(|column| f64::from(column.celsius()) <= rating.0)
    }

    fn pick<T: Copy>(self, row: [T; 3]) -> T {
        match self {
            Self::C60 => row[0],
            Self::C75 => row[1],
            Self::C90 => row[2],
        }
    }
}

/// One size: amperes at 60, 75 and 90 °C, 0 where the table has a dash.
struct AmpacityRow {
    size: Size,
    copper: [u16; 3],
    aluminium: [u16; 3],
    cite: Cite,
}

const fn row(size: Size, copper: [u16; 3], aluminium: [u16; 3]) -> AmpacityRow {
    AmpacityRow {
        size,
        copper,
        aluminium,
        cite: Cite::published(Topic::Ampacity),
    }
}

const fn recalled(size: Size, copper: [u16; 3]) -> AmpacityRow {
    AmpacityRow {
        size,
        copper,
        aluminium: [0; 3],
        cite: Cite::from_memory(Topic::Ampacity),
    }
}

/// 30 °C ambient, not more than three current-carrying conductors.
const AMPACITY: [AmpacityRow; 20] = [
    recalled(Awg(18), [0, 0, 14]),
    recalled(Awg(16), [0, 0, 18]),
    row(Awg(14), [15, 20, 25], [0, 0, 0]),
    row(Awg(12), [20, 25, 30], [15, 20, 25]),
    row(Awg(10), [30, 35, 40], [25, 30, 35]),
    row(Awg(8), [40, 50, 55], [35, 40, 45]),
    row(Awg(6), [55, 65, 75], [40, 50, 55]),
    row(Awg(4), [70, 85, 95], [55, 65, 75]),
    row(Awg(3), [85, 100, 115], [65, 75, 85]),
    row(Awg(2), [95, 115, 130], [75, 90, 100]),
    row(Awg(1), [110, 130, 145], [85, 100, 115]),
    row(Awg(0), [125, 150, 170], [100, 120, 135]),
    row(Awg(-1), [145, 175, 195], [115, 135, 150]),
    row(Awg(-2), [165, 200, 225], [130, 155, 175]),
    row(Awg(-3), [195, 230, 260], [150, 180, 205]),
    row(Kcmil(250), [215, 255, 290], [170, 205, 230]),
    row(Kcmil(300), [240, 285, 320], [195, 230, 260]),
    row(Kcmil(350), [260, 310, 350], [210, 250, 280]),
    row(Kcmil(400), [280, 335, 380], [225, 270, 305]),
    row(Kcmil(500), [320, 380, 430], [260, 310, 350]),
];

/// The sizes of the ampacity table, rising.
pub fn sizes() -> impl Iterator<Item = Size> {
    AMPACITY.iter().map(|row| row.size)
}

/// `None` where the table has no such size, or a dash.
pub fn ampacity(
    size: Size,
    material: Material,
    column: Column,
    edition: Edition,
) -> Option<Cited<Amps>> {
    let row = AMPACITY.iter().find(|row| row.size == size)?;
    let amps = column.pick(match material {
        Material::Copper => row.copper,
        Material::Aluminium => row.aluminium,
    });
    (amps > 0).then(|| Cited::new(Amps(f64::from(amps)), row.cite, edition))
}

/// Ambient up to (°C), and the factors of 60, 75 and 90 °C conductors; 0
/// where the table has a dash.
struct AmbientRow {
    up_to: f64,
    factors: [f64; 3],
    cite: Cite,
}

const fn ambient(up_to: f64, factors: [f64; 3]) -> AmbientRow {
    AmbientRow {
        up_to,
        factors,
        cite: Cite::published(Topic::Ambient),
    }
}

const AMBIENT: [AmbientRow; 16] = [
    ambient(10.0, [1.29, 1.20, 1.15]),
    ambient(15.0, [1.22, 1.15, 1.12]),
    ambient(20.0, [1.15, 1.11, 1.08]),
    ambient(25.0, [1.08, 1.05, 1.04]),
    ambient(30.0, [1.00, 1.00, 1.00]),
    ambient(35.0, [0.91, 0.94, 0.96]),
    ambient(40.0, [0.82, 0.88, 0.91]),
    ambient(45.0, [0.71, 0.82, 0.87]),
    ambient(50.0, [0.58, 0.75, 0.82]),
    ambient(55.0, [0.41, 0.67, 0.76]),
    ambient(60.0, [0.0, 0.58, 0.71]),
    ambient(65.0, [0.0, 0.47, 0.65]),
    ambient(70.0, [0.0, 0.33, 0.58]),
    ambient(75.0, [0.0, 0.0, 0.50]),
    ambient(80.0, [0.0, 0.0, 0.41]),
    ambient(85.0, [0.0, 0.0, 0.29]),
];

/// Upper ends of the rows of the ambient table, rising.
pub fn ambient_steps() -> impl Iterator<Item = Celsius> {
    AMBIENT.iter().map(|row| Celsius(row.up_to))
}

/// The factor for an ambient; `None` above the end of the column, where the
/// insulation may not be used.
pub fn ambient_factor(at: Celsius, column: Column, edition: Edition) -> Option<Cited<f64>> {
    let row = AMBIENT.iter().find(|row| at.0 <= row.up_to)?;
    let factor = column.pick(row.factors);
    (factor > 0.0).then(|| Cited::new(factor, row.cite, edition))
}

struct BundlingRow {
    /// Current-carrying conductors from this number on.
    from: u32,
    factor: f64,
    cite: Cite,
}

const fn bundle(from: u32, factor: f64) -> BundlingRow {
    BundlingRow {
        from,
        factor,
        cite: Cite::published(Topic::Bundling),
    }
}

const BUNDLING: [BundlingRow; 7] = [
    bundle(0, 1.00),
    bundle(4, 0.80),
    bundle(7, 0.70),
    bundle(10, 0.50),
    bundle(21, 0.45),
    bundle(31, 0.40),
    bundle(41, 0.35),
];

/// The factor for a number of current-carrying conductors in one raceway or
/// bundle; 1 up to three.
pub fn bundling_factor(conductors: u32, edition: Edition) -> Cited<f64> {
    let row = BUNDLING
        .iter()
        .rev()
        .find(|row| conductors >= row.from)
        .unwrap_or(&BUNDLING[0]);
    Cited::new(row.factor, row.cite, edition)
}

struct SmallRow {
    size: Size,
    material: Material,
    amps: u16,
    cite: Cite,
}

const fn small(size: Size, material: Material, amps: u16) -> SmallRow {
    SmallRow {
        size,
        material,
        amps,
        cite: Cite::published(Topic::SmallConductors),
    }
}

const fn small_recalled(size: Size, amps: u16) -> SmallRow {
    SmallRow {
        size,
        material: Material::Copper,
        amps,
        cite: Cite::from_memory(Topic::SmallConductors),
    }
}

const SMALL: [SmallRow; 7] = [
    small_recalled(Awg(18), 7),
    small_recalled(Awg(16), 10),
    small(Awg(14), Material::Copper, 15),
    small(Awg(12), Material::Copper, 20),
    small(Awg(10), Material::Copper, 30),
    small(Awg(12), Material::Aluminium, 15),
    small(Awg(10), Material::Aluminium, 25),
];

/// The largest device in front of a small conductor, where the rule is not
/// lifted; `None` for sizes that it does not name.
pub fn small_conductor(size: Size, material: Material, edition: Edition) -> Option<Cited<Amps>> {
    SMALL
        .iter()
        .find(|row| row.size == size && row.material == material)
        .map(|row| Cited::new(Amps(f64::from(row.amps)), row.cite, edition))
}

/// The smallest conductor of a branch circuit.
pub fn smallest_conductor(material: Material, edition: Edition) -> Cited<Size> {
    let size = match material {
        Material::Copper => Awg(14),
        Material::Aluminium => Awg(12),
    };
    Cited::new(size, Cite::from_memory(Topic::SmallestConductor), edition)
}

/// The smallest conductor that may run in parallel sets.
pub fn smallest_parallel(edition: Edition) -> Cited<Size> {
    Cited::new(
        Awg(0),
        Cite::from_memory(Topic::ParallelConductors),
        edition,
    )
}

/// Grounding conductor by the device in front of it.
struct GroundingRow {
    up_to: u16,
    copper: Size,
    aluminium: Size,
    cite: Cite,
}

const fn ground(up_to: u16, copper: Size, aluminium: Size) -> GroundingRow {
    GroundingRow {
        up_to,
        copper,
        aluminium,
        cite: Cite::published(Topic::GroundingConductor),
    }
}

const GROUNDING: [GroundingRow; 11] = [
    ground(15, Awg(14), Awg(12)),
    ground(20, Awg(12), Awg(10)),
    ground(60, Awg(10), Awg(8)),
    ground(100, Awg(8), Awg(6)),
    ground(200, Awg(6), Awg(4)),
    ground(300, Awg(4), Awg(2)),
    ground(400, Awg(3), Awg(1)),
    ground(500, Awg(2), Awg(0)),
    ground(600, Awg(1), Awg(-1)),
    ground(800, Awg(0), Awg(-2)),
    ground(1000, Awg(-1), Awg(-3)),
];

/// The grounding conductor for a device; `None` above 1000 A.
pub fn grounding_conductor(
    device: Amps,
    material: Material,
    edition: Edition,
) -> Option<Cited<Size>> {
    use crate::schedule::Quantity;
    let row = GROUNDING
        .iter()
        .find(|row| !device.exceeds(Amps(f64::from(row.up_to))))?;
    let size = match material {
        Material::Copper => row.copper,
        Material::Aluminium => row.aluminium,
    };
    Some(Cited::new(size, row.cite, edition))
}

/// Upper ends of the rows of the grounding table, rising.
pub fn grounding_steps() -> impl Iterator<Item = Amps> {
    GROUNDING.iter().map(|row| Amps(f64::from(row.up_to)))
}

/// How a conductor is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Stranding {
    Solid,
    Stranded,
}

/// Ohms per 1000 ft, direct current, 75 °C; 0 where not tabulated here.
struct WireRow {
    size: Size,
    circular_mils: f64,
    solid: f64,
    stranded: f64,
    aluminium: f64,
    cite: Cite,
}

const fn wire(size: Size, cmil: f64, solid: f64, stranded: f64, aluminium: f64) -> WireRow {
    WireRow {
        size,
        circular_mils: cmil,
        solid,
        stranded,
        aluminium,
        cite: Cite::published(Topic::ConductorProperties),
    }
}

// 3.14 is the resistance of stranded 14 AWG, not the circle's constant.
#[allow(clippy::approx_constant)]
const WIRE: [WireRow; 20] = [
    wire(Awg(18), 1_620.0, 7.77, 7.95, 0.0),
    wire(Awg(16), 2_580.0, 4.89, 4.99, 0.0),
    wire(Awg(14), 4_110.0, 3.07, 3.14, 0.0),
    wire(Awg(12), 6_530.0, 1.93, 1.98, 3.25),
    wire(Awg(10), 10_380.0, 1.21, 1.24, 2.04),
    wire(Awg(8), 16_510.0, 0.764, 0.778, 1.28),
    wire(Awg(6), 26_240.0, 0.0, 0.491, 0.808),
    wire(Awg(4), 41_740.0, 0.0, 0.308, 0.508),
    wire(Awg(3), 52_620.0, 0.0, 0.245, 0.403),
    wire(Awg(2), 66_360.0, 0.0, 0.194, 0.319),
    wire(Awg(1), 83_690.0, 0.0, 0.154, 0.253),
    wire(Awg(0), 105_600.0, 0.0, 0.122, 0.201),
    wire(Awg(-1), 133_100.0, 0.0, 0.0967, 0.159),
    wire(Awg(-2), 167_800.0, 0.0, 0.0766, 0.126),
    wire(Awg(-3), 211_600.0, 0.0, 0.0608, 0.100),
    wire(Kcmil(250), 250_000.0, 0.0, 0.0515, 0.0847),
    wire(Kcmil(300), 300_000.0, 0.0, 0.0429, 0.0707),
    wire(Kcmil(350), 350_000.0, 0.0, 0.0367, 0.0605),
    wire(Kcmil(400), 400_000.0, 0.0, 0.0321, 0.0529),
    wire(Kcmil(500), 500_000.0, 0.0, 0.0258, 0.0424),
];

/// Cross-section of a size.
pub fn circular_mils(size: Size, edition: Edition) -> Option<Cited<CircularMils>> {
    let row = WIRE.iter().find(|row| row.size == size)?;
    Some(Cited::new(
        CircularMils(row.circular_mils),
        row.cite,
        edition,
    ))
}

/// Ohms per 1000 ft, direct current, 75 °C. Aluminium is tabulated stranded
/// only; `None` where the table has no value.
pub fn resistance(
    size: Size,
    material: Material,
    stranding: Stranding,
    edition: Edition,
) -> Option<Cited<f64>> {
    let row = WIRE.iter().find(|row| row.size == size)?;
    let ohms = match (material, stranding) {
        (Material::Copper, Stranding::Solid) => row.solid,
        (Material::Copper, Stranding::Stranded) => row.stranded,
        (Material::Aluminium, Stranding::Stranded) => row.aluminium,
        (Material::Aluminium, Stranding::Solid) => 0.0,
    };
    (ohms > 0.0).then(|| Cited::new(ohms, row.cite, edition))
}

/// Change of resistance with temperature, per °C, from 75 °C.
pub fn temperature_coefficient(material: Material, edition: Edition) -> Cited<f64> {
    let alpha = match material {
        Material::Copper => 0.00323,
        Material::Aluminium => 0.00330,
    };
    Cited::new(alpha, Cite::published(Topic::ConductorProperties), edition)
}
