//! The rating that protects a unit against its nameplate's MCA and MOP.

use super::MIXED;
use crate::findings::{Finding, Outcome, Severity, Subject, Want};
use crate::practice::Practice;
use crate::rules::branch::{self, Feed, Protection, Span};
use crate::rules::{Cite, Family, Rule};
use crate::schedule::wire::Material;
use crate::schedule::{Amps, FieldName, Located, Quantity, Schedule};
use crate::sizing::{conductor, protection as ratings};
use crate::tables::Topic;
use crate::tables::ratings::Device;

const WAITS: &[&str] = &[MIXED[0], MIXED[1], MIXED[2], "mop-below-mca"];

/// What these rules have before them.
struct Held<'a> {
    schedule: &'a Schedule,
    practice: &'a Practice,
    feed: Feed<'a>,
    protection: Protection,
    mca: Option<Span>,
    mop: Option<Span>,
}

impl Held<'_> {
    fn outcome(&self, outcome: Outcome) -> Outcome {
        let related = [self.feed.unit.mop.at(), self.feed.unit.mca.at()];
        outcome
            .also(Subject::Unit(self.feed.unit_id))
            .related_all(related.into_iter().flatten())
            .steps(branch::arithmetic(
                self.schedule,
                self.feed.id,
                self.practice,
            ))
    }

    fn subject(&self) -> Subject {
        Subject::Circuit(self.feed.id)
    }

    fn met(&self) -> Outcome {
        let at = branch::rating_place(self.feed.circuit, &self.protection);
        self.outcome(Outcome::met(self.subject(), at))
    }

    fn broken(&self, at: Located<Amps>, finding: Finding) -> Outcome {
        self.outcome(Outcome::broken(self.subject(), at.at, finding))
    }

    fn wants(&self, want: Want) -> Outcome {
        let at = branch::rating_place(self.feed.circuit, &self.protection);
        Outcome::not_checked(self.subject(), at, vec![want])
            .also(Subject::Unit(self.feed.unit_id))
            .steps(branch::arithmetic(
                self.schedule,
                self.feed.id,
                self.practice,
            ))
    }

    fn wants_breaker(&self) -> Outcome {
        self.wants(branch::want(
            &self.feed.circuit.breaker,
            FieldName::CircuitBreaker,
        ))
    }

    /// Met, unless a device that the schedule leaves open may be the smaller.
    fn unless_smaller(&self) -> Outcome {
        if self.protection.breaker.is_none() {
            self.wants_breaker()
        } else if self.protection.fuse_open {
            self.wants(Want::Field(FieldName::CircuitFuse))
        } else {
            self.met()
        }
    }

    fn wants_mop(&self) -> Outcome {
        self.wants(branch::want(&self.feed.unit.mop, FieldName::UnitMop))
    }

    fn wants_mca(&self) -> Outcome {
        self.wants(branch::want(&self.feed.unit.mca, FieldName::UnitMca))
    }

    /// The largest standard rating that MOP allows and MCA asks for.
    fn proposed(&self) -> Option<Amps> {
        let device = if self.protection.by_fuse() {
            Device::Fuse
        } else {
            Device::Breaker
        };
        let most = ratings::largest_for_mop(self.mop?.least, device, self.practice.edition)?.value;
        let enough = self.mca.is_none_or(|mca| !most.below(mca.most));
        enough.then_some(most)
    }

    /// A finding on the rating: a fix with its correction where the schedule
    /// proves it, else a question.
    fn finding(&self, sure: bool, says: String, rating: Located<Amps>, remedy: String) -> Finding {
        let severity = if sure {
            Severity::Fix
        } else {
            Severity::Verify
        };
        let finding = Finding::new(severity, says, rating.value, remedy).field(self.field());
        if sure {
            self.corrected(finding)
        } else {
            finding
        }
    }

    /// Adds the correction to the rating that `proposed` names.
    fn corrected(&self, mut finding: Finding) -> Finding {
        if let Some(amps) = self.proposed() {
            finding.changes = branch::rating_changes(
                self.schedule,
                self.feed.circuit,
                Some(self.feed.unit),
                &self.protection,
                amps,
            );
        }
        finding
    }

    fn field(&self) -> FieldName {
        if self.protection.by_fuse() {
            FieldName::CircuitFuse
        } else {
            FieldName::CircuitBreaker
        }
    }

    fn tag(&self) -> &str {
        self.feed.unit.tag.value.text()
    }
}

fn each(
    schedule: &Schedule,
    practice: &Practice,
    judge: impl Fn(&Held<'_>) -> Outcome,
) -> Vec<Outcome> {
    branch::feeds(schedule)
        .into_iter()
        .map(|feed| {
            let supply = branch::volts(schedule, feed.circuit)
                .or_else(|| branch::unit_volts(schedule, feed.unit));
            let held = Held {
                schedule,
                practice,
                feed,
                protection: branch::protection(feed.circuit, Some(feed.unit)),
                mca: branch::mca(feed.unit, supply),
                mop: branch::mop(feed.unit, supply),
            };
            match branch::nameplate_binds(schedule, &feed) {
                Ok(()) => judge(&held),
                Err(want) => held.wants(want),
            }
        })
        .collect()
}

pub(super) static PROTECTION_OVER_MOP: Rule = Rule {
    name: "protection-over-mop",
    family: Family::Overcurrent,
    severities: &[Severity::Fix, Severity::Verify],
    summary: "the rating that protects the unit is above its MOP",
    why: "The nameplate's maximum overcurrent protection is what the unit was listed with. A larger \
          device may not open before the unit's own wiring or compressor is damaged.",
    decides: "The smaller of the breaker and the fuses at the disconnect protects the unit. It is \
              compared with the marked MOP; equal is right. A nameplate of two values is taken at \
              the circuit's voltage; where that is unknown the larger value decides a fix and the \
              smaller one a question. A breaker above MOP with fuses of unstated size at the \
              disconnect is a question, and so are fuses above MOP behind a breaker that is not \
              stated, and an MOP that cannot include the unit's heater.",
    leaves: "Circuits that several loads share, heater circuits apart from their unit, devices \
             provided by others, and units on several circuits whose nameplate does not say which.",
    cites: &[
        Cite::Nameplate,
        Cite::Code(Topic::EquipmentMarking),
        Cite::Code(Topic::AcNameplate),
        Cite::Code(Topic::AcProtectionMarked),
    ],
    yields_to: WAITS,
    check: over_mop,
};

fn over_mop(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    each(schedule, practice, |held| {
        let Some(rating) = held.protection.rating() else {
            return held.wants_breaker();
        };
        let Some(mop) = held.mop else {
            return held.wants_mop();
        };
        if !rating.value.exceeds(mop.least) {
            return held.met();
        }
        let unit = held.feed.unit;
        let tag = held.tag();
        let supply = branch::volts(schedule, held.feed.circuit);
        let one = format!(
            "{tag} is protected by {}; its MOP is {}.",
            held.protection.described(),
            mop.described()
        );
        if branch::mca_includes_heat(unit, supply) == Some(false) {
            let heat = branch::heater_amps(unit, supply).map_or(Amps(0.0), |heat| heat.least);
            let finding = Finding::verify(
                format!(
                    "{one} Its MCA is below the {heat} of its heater alone, so MCA and MOP seem to \
                     be those of the unit without the heater."
                ),
                rating.value,
                "Give MCA and MOP of the nameplate with the heater installed.",
            )
            .field(FieldName::UnitMop)
            .limit(mop.most, "MOP of the unit's row");
            return held.broken(rating, finding);
        }
        if held.protection.fuse_open {
            let finding = Finding::verify(
                format!("{one} Fuses are named at the disconnect without a rating."),
                rating.value,
                format!("State the fuses at the disconnect: at most {}.", mop.least),
            )
            .field(FieldName::CircuitFuse)
            .limit(mop.most, "MOP of the nameplate");
            return held.broken(rating, finding);
        }
        // Behind a breaker that is not stated larger fuses bind nothing.
        if held.protection.breaker.is_none() {
            let finding = Finding::verify(
                format!("{one} The breaker in front of the fuses is not given: it may be smaller."),
                rating.value,
                format!("State the breaker of {tag}: at most {}.", mop.least),
            )
            .field(FieldName::CircuitBreaker)
            .limit(mop.most, "MOP of the nameplate");
            return held.broken(rating, finding);
        }
        let sure = rating.value.exceeds(mop.most);
        let says = if sure {
            format!(
                "{one} {} is {} above it.",
                rating.value,
                rating.value - mop.most
            )
        } else {
            format!(
                "{one} Which of the two holds depends on a supply that the schedule does not state."
            )
        };
        let remedy = match (sure, held.proposed()) {
            (false, _) => "State the supply voltage of the panel or of the job.".to_owned(),
            (true, Some(amps)) => format!(
                "Change the {} to {amps}, the largest standard rating not above the MOP.",
                what(&held.protection)
            ),
            (true, None) => format!(
                "Protect {tag} at not more than {}; no standard rating lies between its MCA and MOP, \
                 so read the nameplate again.",
                mop.least
            ),
        };
        let finding = held.finding(sure, says, rating, remedy);
        held.broken(rating, finding.limit(mop.most, "MOP of the nameplate"))
    })
}

fn what(protection: &Protection) -> &'static str {
    if protection.by_fuse() {
        "fuses"
    } else {
        "breaker"
    }
}

pub(super) static PROTECTION_UNDER_MCA: Rule = Rule {
    name: "protection-under-mca",
    family: Family::Overcurrent,
    severities: &[Severity::Fix, Severity::Verify],
    summary: "the rating that protects the unit is below its MCA",
    why: "MCA is the least current that the circuit has to carry all the time. A device below it \
          opens in ordinary running.",
    decides: "The smaller of the breaker and the fuses at the disconnect is compared with the \
              marked MCA; equal is right. A nameplate of two values is taken at the circuit's \
              voltage; where that is unknown the smaller value decides a fix and the larger one a \
              question.",
    leaves: "Circuits that several loads share: their load is another rule's. Heater circuits \
             apart from their unit.",
    cites: &[
        Cite::Nameplate,
        Cite::Code(Topic::AcNameplate),
        Cite::Code(Topic::EquipmentMarking),
    ],
    yields_to: WAITS,
    check: under_mca,
};

fn under_mca(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    each(schedule, practice, |held| {
        let Some(rating) = held.protection.rating() else {
            return held.wants_breaker();
        };
        let Some(mca) = held.mca else {
            return held.wants_mca();
        };
        if !rating.value.below(mca.most) {
            return held.unless_smaller();
        }
        let sure = rating.value.below(mca.least);
        let tag = held.tag();
        let says = format!(
            "{tag} is protected by {}; its MCA is {}, so {} is too small for its running current.",
            held.protection.described(),
            mca.described(),
            rating.value
        );
        let remedy = match (sure, held.proposed()) {
            (false, _) => "State the supply voltage of the panel or of the job.".to_owned(),
            (true, Some(amps)) => format!(
                "Change the {} to {amps}, the largest standard rating not above the MOP.",
                what(&held.protection)
            ),
            (true, None) => format!(
                "Choose a standard rating from {} up to the MOP of the nameplate.",
                mca.least
            ),
        };
        let finding = held.finding(sure, says, rating, remedy);
        held.broken(rating, finding.limit(mca.least, "MCA of the nameplate"))
    })
}

pub(super) static PROTECTION_BELOW_MOP: Rule = Rule {
    name: "protection-below-mop",
    family: Family::Overcurrent,
    severities: &[Severity::Note],
    summary: "the rating lies between MCA and the largest standard rating that MOP allows",
    why: "It is permitted, but practice sizes the device to MOP: a smaller one may open when the \
          compressor starts.",
    decides: "The rating that protects the unit is not below MCA and below the largest standard \
              rating not above MOP.",
    leaves: "Whether the unit starts on it: the maker's manual may name a smaller device.",
    cites: &[
        Cite::Nameplate,
        Cite::Practice,
        Cite::Code(Topic::StandardRatings),
    ],
    yields_to: WAITS,
    check: below_mop,
};

fn below_mop(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    each(schedule, practice, |held| {
        let Some(rating) = held.protection.rating() else {
            return held.wants_breaker();
        };
        let Some(mop) = held.mop else {
            return held.wants_mop();
        };
        let Some(mca) = held.mca else {
            return held.wants_mca();
        };
        let largest = ratings::largest_for_mop(mop.least, Device::Breaker, practice.edition);
        let Some(largest) = largest.map(|worked| worked.value) else {
            return held.met();
        };
        if !rating.value.below(largest) || rating.value.below(mca.most) {
            return held.unless_smaller();
        }
        let tag = held.tag();
        let finding = Finding::note(
            format!(
                "{tag} is protected by {}. Its MCA is {} and its MOP {}: {} is permitted, though \
                 practice sizes to MOP, here {largest}.",
                held.protection.described(),
                mca.described(),
                mop.described(),
                rating.value
            ),
            rating.value,
            format!("Consider {largest}, if the conductors and the maker's manual allow it."),
        )
        .field(held.field())
        .limit(
            largest,
            format!("largest standard rating not above MOP {}", mop.least),
        );
        held.broken(rating, finding)
    })
}

pub(super) static FUSE_CARRIES_LIMIT: Rule = Rule {
    name: "fuse-carries-limit",
    family: Family::Overcurrent,
    severities: &[Severity::Verify],
    summary: "the breaker is above MOP and fuses at the disconnect hold the limit",
    why: "Permitted where the fuses are real: then they must be bought and stay. Up to them the \
          conductors are protected by the breaker alone.",
    decides: "The breaker is above MOP, the fuses are not. The conductor is held against the \
              breaker: next standard rating above its ampacity, small-conductor limit included.",
    leaves: "Whether the exception for air-conditioning equipment reaches the conductors up to \
             the fuses is read differently; we read it as not, and ask.",
    cites: &[
        Cite::Nameplate,
        Cite::Code(Topic::AcProtectionMarked),
        Cite::Code(Topic::SmallConductors),
        Cite::OurReading,
    ],
    yields_to: &[],
    check: fuse_carries,
};

fn fuse_carries(schedule: &Schedule, practice: &Practice) -> Vec<Outcome> {
    each(schedule, practice, |held| {
        let Some(breaker) = held.protection.breaker else {
            return held.wants_breaker();
        };
        let Some(mop) = held.mop else {
            return held.wants_mop();
        };
        if held.protection.fuse_open && breaker.value.exceeds(mop.least) {
            return held.wants(Want::Field(FieldName::CircuitFuse));
        }
        let fuse = match held.protection.fuse {
            Some(fuse) if breaker.value.exceeds(mop.most) && !fuse.value.exceeds(mop.most) => fuse,
            _ => return held.met(),
        };
        let tag = held.tag();
        let finding = Finding::verify(
            format!(
                "The breaker of {tag} is {}, above its MOP of {}; the fuses of {} at the disconnect \
                 hold the limit. {}",
                breaker.value,
                mop.described(),
                fuse.value,
                up_to_the_fuses(held, breaker.value)
            ),
            breaker.value,
            format!(
                "Confirm that the disconnect is fused at {} and that the conductors from the panel \
                 to it suit a breaker of {}.",
                fuse.value, breaker.value
            ),
        )
        .field(FieldName::CircuitBreaker)
        .limit(mop.most, "MOP of the nameplate");
        held.broken(breaker, finding).related(fuse.at)
    })
}

/// How the conductors in front of the fuses stand to the breaker.
fn up_to_the_fuses(held: &Held<'_>, breaker: Amps) -> String {
    let circuit = held.feed.circuit;
    let at = branch::conditions(circuit, held.practice);
    let found = circuit.conductor.get().and_then(|wire| {
        let size = wire.size?;
        let amps = branch::ampacity(circuit, wire, &at).ok()?.value;
        let material = wire.material.unwrap_or(Material::Copper);
        let most = |amps| {
            conductor::largest_device(amps, size, material, held.practice.edition)
                .map(|worked| worked.value)
        };
        Some((size, most(amps.least.amps)?, most(amps.most.amps)?))
    });
    match found {
        None => {
            format!("The conductors up to the fuses have to be sized for the breaker's {breaker}.")
        }
        Some((size, least, _)) if !breaker.exceeds(least) => {
            format!("The conductors up to the fuses, {size}, suit a device of {least}.")
        }
        Some((size, least, most)) => {
            let limit = if least == most {
                format!("{least}")
            } else {
                format!("{least} to {most}, by the terminals")
            };
            format!(
                "The conductors up to the fuses, {size}, suit a device of {limit} where nothing is \
                 lifted for air-conditioning equipment, and the breaker is {breaker}."
            )
        }
    }
}

#[cfg(test)]
mod tests;
