//! What the loads of the circuits are: units of the job, other loads, or a
//! question.

use super::draft::MOST_UNDER_ONE_MARK;
use super::names::Names;
use super::{Circuit, Fault, LoadTarget, Name, Schedule, Unit, UnitId, merge};

impl Schedule {
    /// Names of the loads to units, and the units' circuits.
    pub(super) fn resolve_loads(&mut self) {
        let names = Names::of_units(&self.units);
        let prefixes = names.prefixes();
        // Under one mark, the n-th circuit that names it feeds the n-th unit
        // where there are as many circuits as units.
        let mut named: std::collections::HashMap<UnitId, u32> = std::collections::HashMap::new();
        let mut targets = Vec::new();
        for (circuit_index, circuit) in self.circuits.iter().enumerate() {
            for (load_index, load) in circuit.loads.iter().enumerate() {
                let target = match_load(&load.text.value, circuit, &names, &prefixes, &self.units);
                if let Target::Units(units) = &target
                    && let [first, _, ..] = units.as_slice()
                {
                    *named.entry(*first).or_default() += 1;
                }
                targets.push((circuit_index, load_index, target));
            }
        }
        let mut handed: std::collections::HashMap<UnitId, usize> = std::collections::HashMap::new();
        let mut extra = Vec::new();
        for (circuit_index, load_index, target) in targets {
            let load = &mut self.circuits[circuit_index].loads[load_index];
            match target {
                Target::Units(units) if units.len() == 1 => {
                    load.target = LoadTarget::Unit(units[0]);
                }
                Target::Units(units) => {
                    let circuits_of_mark = named.get(&units[0]).copied().unwrap_or(0) as usize;
                    if circuits_of_mark == units.len() {
                        let next = handed.entry(units[0]).or_default();
                        load.target = LoadTarget::Unit(units[*next % units.len()]);
                        *next += 1;
                    } else if circuits_of_mark == 1 {
                        // One circuit for the whole mark: all of them are on it.
                        load.target = LoadTarget::Unit(units[0]);
                        for &unit in &units[1..] {
                            let mut more = load.clone();
                            more.target = LoadTarget::Unit(unit);
                            extra.push((circuit_index, more));
                        }
                    } else {
                        load.target = LoadTarget::MaybeUnits(units);
                    }
                }
                Target::Maybe(units) => load.target = LoadTarget::MaybeUnits(units),
                Target::Unknown(nearest) => load.target = LoadTarget::UnknownTag { nearest },
                Target::Spare => load.target = LoadTarget::Spare,
                Target::Other => load.target = LoadTarget::Other,
            }
        }
        for (circuit, load) in extra {
            self.circuits[circuit].loads.push(load);
        }
    }

    /// Holds what the equipment says of a circuit against the loads that the
    /// circuits' own table lists. A listed load that may mean the unit and
    /// names no other tag means it; a list of other units, or of spares,
    /// disagrees.
    pub(super) fn settle_claims(&mut self, claims: &[merge::Claim]) {
        for claim in claims {
            let circuit = &self.circuits[claim.circuit];
            let table = circuit.at.table;
            let tag = Name::new(&claim.load);
            let claimed = circuit.loads.iter().find_map(|load| match load.target {
                LoadTarget::Unit(unit) if Name::new(&load.text.value) == tag => Some(unit),
                _ => None,
            });
            let Some(claimed) = claimed else { continue };
            let listed: Vec<usize> = (0..circuit.loads.len())
                .filter(|&at| circuit.loads[at].text.at.table == table)
                .collect();
            let means = |at: &usize| match &circuit.loads[*at].target {
                LoadTarget::MaybeUnits(units) => units.contains(&claimed),
                LoadTarget::Unit(unit) => *unit == claimed,
                _ => false,
            };
            let others = |at: &usize| {
                matches!(
                    circuit.loads[*at].target,
                    LoadTarget::Unit(_) | LoadTarget::Spare
                )
            };
            if let Some(at) = listed.iter().copied().find(means) {
                let names_a_tag = candidates(&circuit.loads[at].text.value)
                    .iter()
                    .any(Name::looks_like_tag);
                if !names_a_tag {
                    self.circuits[claim.circuit].loads[at].target = LoadTarget::Unit(claimed);
                }
            } else if !listed.is_empty() && listed.iter().all(others) {
                let other = circuit.loads[listed[0]].text.at;
                self.faults.push(Fault::Disagrees {
                    what: super::Conflict::Circuit(super::CircuitId(claim.circuit as u32)),
                    field: super::FieldName::CircuitLoads,
                    at: claim.at,
                    says: format!("{} is on it", claim.load),
                    other,
                    other_says: self.sources.text(other).to_owned(),
                });
            }
        }
    }

    /// The units' circuits, from the circuits' loads.
    pub(super) fn link_circuits(&mut self) {
        for (index, circuit) in self.circuits.iter().enumerate() {
            let id = super::CircuitId(index as u32);
            for load in &circuit.loads {
                if let LoadTarget::Unit(unit) = load.target {
                    let circuits = &mut self.units[unit.index()].circuits;
                    if !circuits.contains(&(id, load.part)) {
                        circuits.push((id, load.part));
                    }
                }
            }
        }
    }
}

enum Target {
    Units(Vec<UnitId>),
    Maybe(Vec<UnitId>),
    Unknown(Option<Name>),
    Spare,
    Other,
}

fn match_load(
    text: &str,
    circuit: &Circuit,
    names: &Names,
    prefixes: &[String],
    units: &[Unit],
) -> Target {
    let upper = text.to_uppercase();
    if ["SPARE", "SPACE", "BLANK", "UNUSED", "OPEN"]
        .iter()
        .any(|word| {
            upper.trim_matches(|c: char| !c.is_alphanumeric()) == *word
                || upper.split_whitespace().next() == Some(word)
                    && upper.split_whitespace().count() <= 2
        })
    {
        return Target::Spare;
    }
    let dwelling = circuit.dwelling.get();
    for name in with_dwelling(text) {
        let found = names.qualified(&name);
        if !found.is_empty() {
            return Target::Units(found.iter().map(|&index| UnitId(index)).collect());
        }
    }
    let whole = Name::new(text);
    let mut unknown = None;
    for candidate in candidates(text).into_iter().chain(std::iter::once(whole)) {
        let found = names.find(dwelling, &candidate);
        match found.as_slice() {
            [] => {
                if unknown.is_none()
                    && candidate.looks_like_tag()
                    && prefixes.iter().any(|prefix| prefix == candidate.prefix())
                {
                    unknown = Some(candidate);
                }
            }
            many => {
                let found: Vec<_> = many.iter().map(|&index| UnitId(index)).collect();
                let one_mark = found.iter().all(|unit| {
                    units[unit.index()].dwelling.get() == units[found[0].index()].dwelling.get()
                });
                return if one_mark && !is_accessory(&upper) {
                    Target::Units(found)
                } else {
                    Target::Maybe(found)
                };
            }
        }
    }
    if let Some(name) = unknown {
        let range = range_of(&name, dwelling, names);
        return if range.is_empty() {
            Target::Unknown(names.nearest(dwelling, &name))
        } else {
            Target::Maybe(range)
        };
    }
    let class = words_for_units(&upper);
    if let Some(outdoor) = class {
        let maybe: Vec<_> = units
            .iter()
            .enumerate()
            .filter(|(_, unit)| {
                let wanted = match outdoor {
                    Some(true) => unit.is_outdoor(),
                    Some(false) => unit.is_indoor(),
                    None => unit.is_outdoor() || unit.is_indoor(),
                };
                wanted && (dwelling.is_none() || unit.dwelling.get() == dwelling)
            })
            .map(|(index, _)| UnitId(index as u32))
            .collect();
        if !maybe.is_empty() {
            return Target::Maybe(maybe);
        }
    }
    Target::Other
}

/// A load beside a unit that is named by the unit's tag: `OU-1 SERVICE
/// RECEPTACLE`. Whether the unit itself is on that circuit is not told.
fn is_accessory(upper: &str) -> bool {
    const WORDS: [&str; 11] = [
        "RECEPTACLE",
        "RECEPTACLES",
        "RECEPT",
        "RCPT",
        "OUTLET",
        "OUTLETS",
        "LIGHT",
        "LIGHTS",
        "LTG",
        "CONDENSATE",
        "TRACE",
    ];
    upper
        .split(|c: char| !c.is_alphanumeric())
        .any(|word| WORDS.contains(&word))
}

/// The words of a load; none where there are too many for a load.
fn words_of(text: &str) -> Vec<&str> {
    let words: Vec<&str> = text
        .split(|c: char| c.is_whitespace() || matches!(c, '(' | ')' | ';' | ':'))
        .filter(|word| !word.is_empty())
        .collect();
    if words.len() > 24 { Vec::new() } else { words }
}

/// Words and pairs of words of a load that may be a tag: `COND UNIT OU-1`
/// gives `COND UNIT`, `UNIT OU-1`, `COND`, `UNIT`, `OU-1`, those with a
/// number first.
fn candidates(text: &str) -> Vec<Name> {
    let words = words_of(text);
    let numbered = |word: &&str| word.chars().any(|c| c.is_ascii_digit());
    let mut names: Vec<Name> = words
        .iter()
        .filter(|w| numbered(w))
        .map(|w| Name::new(w))
        .collect();
    names.extend(
        words
            .windows(2)
            .filter(|pair| numbered(&pair[1]) && !numbered(&pair[0]))
            .map(|pair| Name::new(&pair.join(" "))),
    );
    names
}

/// Words of a load, and neighbours either way round, that may be a dwelling
/// and a tag: `APT 12C FC-1`, `FC-1 (12C)`, `12C-FC-1`.
fn with_dwelling(text: &str) -> Vec<Name> {
    let words = words_of(text);
    let mut names: Vec<Name> = words.iter().map(|word| Name::new(word)).collect();
    for pair in words.windows(2) {
        names.push(Name::new(&pair.join(" ")));
        names.push(Name::new(&format!("{} {}", pair[1], pair[0])));
    }
    names
}

/// `FCU 1-4` where the job has FCU-1, FCU-2, FCU-3 and FCU-4: these may be
/// meant, or a unit whose name has two numbers.
fn range_of(name: &Name, dwelling: Option<&Name>, names: &Names) -> Vec<UnitId> {
    let mut parts = name.key().rsplitn(3, '-');
    let (Some(last), Some(first), Some(prefix)) = (parts.next(), parts.next(), parts.next()) else {
        return Vec::new();
    };
    let (Ok(first), Ok(last)) = (first.parse::<u32>(), last.parse::<u32>()) else {
        return Vec::new();
    };
    if first >= last || last - first > MOST_UNDER_ONE_MARK {
        return Vec::new();
    }
    let mut units = Vec::new();
    for number in first..=last {
        let found = names.find(dwelling, &Name::new(&format!("{prefix}-{number}")));
        if found.is_empty() {
            return Vec::new();
        }
        units.extend(found.into_iter().map(UnitId));
    }
    units
}

/// `Some(Some(true))` for words that mean an outdoor unit, `Some(Some(false))`
/// an indoor one, `Some(None)` either.
#[allow(clippy::option_option)]
fn words_for_units(upper: &str) -> Option<Option<bool>> {
    let padded: String = std::iter::once(' ')
        .chain(upper.chars().map(|c| {
            if c.is_alphanumeric() || c == '/' {
                c
            } else {
                ' '
            }
        }))
        .chain(std::iter::once(' '))
        .collect();
    let any = |words: &[&str]| {
        words
            .iter()
            .any(|word| padded.contains(&format!(" {word} ")))
    };
    if any(&[
        "CONDENSER",
        "CONDENSING",
        "OUTDOOR UNIT",
        "COND UNIT",
        "ODU",
        "OU",
        "CU",
        "ACCU",
    ]) {
        Some(Some(true))
    } else if any(&[
        "FAN COIL",
        "FAN COILS",
        "FANCOIL",
        "FANCOILS",
        "FC",
        "FCU",
        "FCUS",
        "AH",
        "AHU",
        "INDOOR UNIT",
        "INDOOR UNITS",
        "IDU",
        "IDUS",
        "AIR HANDLER",
        "AIR HANDLERS",
        "CASSETTE",
        "CASSETTES",
    ]) {
        Some(Some(false))
    } else if any(&[
        "HEAT PUMP",
        "HEAT PUMPS",
        "HP",
        "A/C",
        "AC",
        "HVAC",
        "AIR CONDITIONING",
    ]) {
        Some(None)
    } else {
        None
    }
}
