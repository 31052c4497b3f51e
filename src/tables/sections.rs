//! Section numbers of NFPA 70 by topic and edition.

use super::Known::{self, FromMemory, Published};
use crate::schedule::Edition;

/// What a section is about, whatever its number in an edition.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Topic {
    StandardRatings,
    /// The next larger device where an ampacity is no standard rating.
    NextLargerDevice,
    SmallConductors,
    /// Equipment to which the small-conductor rule does not apply.
    SmallConductorsLifted,
    Ampacity,
    Ambient,
    Bundling,
    /// What a raceway close above a roof adds to the ambient.
    RoofRaceway,
    ParallelConductors,
    SmallestConductor,
    BranchConductors,
    BranchDevice,
    OutdoorGfci,
    /// Electric space heating: 125 % of heater and blower.
    ElectricHeat,
    HeatSubdivision,
    /// Where the maker subdivides inside the enclosure.
    HeatSubdividedInside,
    /// Heaters of 50 kW and more at 100 %.
    LargeHeat,
    AcNameplate,
    AcDisconnect,
    AcDisconnectInSight,
    AcProtection,
    /// Protection not above what the nameplate marks.
    AcProtectionMarked,
    AcConductor,
    /// Several motors, or a motor and other loads, on one conductor.
    AcConductorSeveral,
    /// Equipment of several motors that marks its minimum circuit ampacity.
    AcConductorMarked,
    SeveralMotors,
    GroupMotors,
    SmallGroupMotors,
    GroundingConductor,
    GroundingUpsized,
    GroundingByRaceway,
    Class2Separation,
    EquipmentMarking,
    Terminals,
    BranchVoltageDrop,
    FeederVoltageDrop,
    LoadCalculation,
    NmBAmpacity,
    UfBAmpacity,
    /// Conductor properties: resistance and circular mils.
    ConductorProperties,
}

/// One topic: its number in 2017, 2020, 2023 and 2026.
#[derive(Clone, Copy, Debug)]
pub struct SectionRow {
    pub topic: Topic,
    pub numbers: [Option<&'static str>; 4],
    /// How the numbers to 2023 are known; those of 2026 are from memory.
    pub known: Known,
}

impl SectionRow {
    pub fn in_edition(&self, edition: Edition) -> Option<&'static str> {
        match edition {
            Edition::Nec2017 => self.numbers[0],
            Edition::Nec2020 => self.numbers[1],
            Edition::Nec2023 => self.numbers[2],
            Edition::Nec2026 => self.numbers[3],
        }
    }
}

/// The section of `topic`; `None` where the edition has none, or where its
/// number is not known.
pub fn section(topic: Topic, edition: Edition) -> Option<&'static str> {
    row(topic).in_edition(edition)
}

const fn all(topic: Topic, number: &'static str, known: Known) -> SectionRow {
    SectionRow {
        topic,
        numbers: [Some(number); 4],
        known,
    }
}

const fn moved(topic: Topic, numbers: [Option<&'static str>; 4], known: Known) -> SectionRow {
    SectionRow {
        topic,
        numbers,
        known,
    }
}

/// The row of a topic. A match, so that a topic without a row does not build.
pub fn row(topic: Topic) -> SectionRow {
    use Topic::*;
    match topic {
        StandardRatings => all(topic, "240.6(A)", Published),
        NextLargerDevice => all(topic, "240.4(B)", Published),
        SmallConductors => all(topic, "240.4(D)", Published),
        SmallConductorsLifted => all(topic, "240.4(G)", Published),
        Ampacity => moved(
            topic,
            [
                Some("Table 310.15(B)(16)"),
                Some("Table 310.16"),
                Some("Table 310.16"),
                Some("Table 310.16"),
            ],
            Published,
        ),
        Ambient => moved(
            topic,
            [
                Some("Table 310.15(B)(2)(a)"),
                Some("Table 310.15(B)(1)"),
                Some("Table 310.15(B)(1)(1)"),
                Some("Table 310.15(B)(1)(1)"),
            ],
            Published,
        ),
        Bundling => moved(
            topic,
            [
                Some("Table 310.15(B)(3)(a)"),
                Some("Table 310.15(C)(1)"),
                Some("Table 310.15(C)(1)"),
                Some("Table 310.15(C)(1)"),
            ],
            Published,
        ),
        RoofRaceway => moved(
            topic,
            [
                Some("310.15(B)(3)(c)"),
                Some("310.15(B)(2)"),
                Some("310.15(B)(2)"),
                Some("310.15(B)(2)"),
            ],
            FromMemory,
        ),
        ParallelConductors => moved(
            topic,
            [
                Some("310.10(H)"),
                Some("310.10(G)"),
                Some("310.10(G)"),
                Some("310.10(G)"),
            ],
            FromMemory,
        ),
        SmallestConductor => moved(
            topic,
            [
                Some("310.106(A)"),
                Some("310.3(A)"),
                Some("310.3(A)"),
                Some("310.3(A)"),
            ],
            FromMemory,
        ),
        BranchConductors => moved(
            topic,
            [
                Some("210.19(A)(1)"),
                Some("210.19(A)(1)"),
                Some("210.19(A)"),
                Some("210.19(A)"),
            ],
            Published,
        ),
        BranchDevice => all(topic, "210.20(A)", Published),
        OutdoorGfci => moved(
            topic,
            [None, Some("210.8(F)"), Some("210.8(F)"), Some("210.8(F)")],
            Published,
        ),
        ElectricHeat => moved(
            topic,
            [
                Some("424.3(B)"),
                Some("424.4(B)"),
                Some("424.4(B)"),
                Some("424.4(B)"),
            ],
            Published,
        ),
        HeatSubdivision => all(topic, "424.22(B)", Published),
        HeatSubdividedInside => all(topic, "424.22(C)", Published),
        LargeHeat => all(topic, "424.22(D)", FromMemory),
        AcNameplate => all(topic, "440.4(B)", Published),
        AcDisconnect => all(topic, "440.12", Published),
        AcDisconnectInSight => all(topic, "440.14", Published),
        AcProtection => all(topic, "440.22(A)", Published),
        AcProtectionMarked => all(topic, "440.22(C)", Published),
        AcConductor => all(topic, "440.32", Published),
        AcConductorSeveral => all(topic, "440.33", Published),
        AcConductorMarked => all(topic, "440.35", Published),
        SeveralMotors => all(topic, "430.24", Published),
        GroupMotors => all(topic, "430.53", Published),
        SmallGroupMotors => all(topic, "430.53(A)", Published),
        GroundingConductor => all(topic, "Table 250.122", Published),
        GroundingUpsized => all(topic, "250.122(B)", Published),
        GroundingByRaceway => all(topic, "250.118", Published),
        Class2Separation => moved(
            topic,
            [Some("725.136"), Some("725.136"), Some("725.136"), None],
            Published,
        ),
        EquipmentMarking => all(topic, "110.3(B)", Published),
        Terminals => all(topic, "110.14(C)(1)", Published),
        BranchVoltageDrop => all(topic, "210.19, informational note", Published),
        FeederVoltageDrop => all(topic, "215.2, informational note", Published),
        LoadCalculation => moved(
            topic,
            [
                Some("Article 220"),
                Some("Article 220"),
                Some("Article 220"),
                Some("Article 120"),
            ],
            Published,
        ),
        NmBAmpacity => all(topic, "334.80", Published),
        UfBAmpacity => all(topic, "340.80", Published),
        ConductorProperties => all(topic, "Chapter 9 Table 8", Published),
    }
}

impl Topic {
    pub const ALL: [Self; 40] = [
        Self::StandardRatings,
        Self::NextLargerDevice,
        Self::SmallConductors,
        Self::SmallConductorsLifted,
        Self::Ampacity,
        Self::Ambient,
        Self::Bundling,
        Self::RoofRaceway,
        Self::ParallelConductors,
        Self::SmallestConductor,
        Self::BranchConductors,
        Self::BranchDevice,
        Self::OutdoorGfci,
        Self::ElectricHeat,
        Self::HeatSubdivision,
        Self::HeatSubdividedInside,
        Self::LargeHeat,
        Self::AcNameplate,
        Self::AcDisconnect,
        Self::AcDisconnectInSight,
        Self::AcProtection,
        Self::AcProtectionMarked,
        Self::AcConductor,
        Self::AcConductorSeveral,
        Self::AcConductorMarked,
        Self::SeveralMotors,
        Self::GroupMotors,
        Self::SmallGroupMotors,
        Self::GroundingConductor,
        Self::GroundingUpsized,
        Self::GroundingByRaceway,
        Self::Class2Separation,
        Self::EquipmentMarking,
        Self::Terminals,
        Self::BranchVoltageDrop,
        Self::FeederVoltageDrop,
        Self::LoadCalculation,
        Self::NmBAmpacity,
        Self::UfBAmpacity,
        Self::ConductorProperties,
    ];
}
