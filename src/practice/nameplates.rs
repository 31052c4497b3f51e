//! A user's own table of nameplates, by model.

use crate::schedule::{
    Kilowatts, Mbh, Mop, Name, NameplateAmps, Quantity, Schedule, Supply, Unit, number,
};
use std::collections::BTreeMap;
use std::sync::Arc;

/// What the nameplate of one model says, as the user's table has it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Nameplate {
    /// As written.
    pub model: String,
    pub mca: Option<NameplateAmps>,
    pub mop: Option<Mop>,
    pub supply: Option<Supply>,
    pub capacity: Option<Mbh>,
    pub heat_kw: Option<Kilowatts>,
    /// Where it stands: `nameplates.csv, row 3`.
    pub origin: String,
}

impl Nameplate {
    fn of(unit: &Unit, origin: String) -> Option<Self> {
        let nameplate = Self {
            model: unit.model.get()?.clone(),
            mca: unit.mca.copied(),
            mop: unit.mop.copied(),
            supply: unit.supply.get().cloned(),
            capacity: unit.capacity.copied(),
            heat_kw: unit.heat_kw.copied(),
            origin,
        };
        Some(nameplate).filter(|nameplate| !key(&nameplate.model, None).is_empty())
    }

    fn says_nothing(&self) -> bool {
        self.mca.is_none() && self.mop.is_none() && self.supply.is_none() && self.capacity.is_none()
    }

    /// Both state what they state alike.
    fn same_as(&self, other: &Self) -> bool {
        Self {
            origin: String::new(),
            model: String::new(),
            ..self.clone()
        } == Self {
            origin: String::new(),
            model: String::new(),
            ..other.clone()
        }
    }
}

/// The table; cheap to hand on.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Nameplates {
    by_model: Arc<BTreeMap<String, Nameplate>>,
}

/// A model with one heater has a nameplate of its own.
fn key(model: &str, heat: Option<Kilowatts>) -> String {
    let model = Name::new(model);
    match heat {
        Some(kw) if kw.0 > 0.0 => format!("{}|{}", model.key(), number(kw.0)),
        _ => model.key().to_owned(),
    }
}

impl Nameplates {
    /// From the units of a schedule that is such a table; `name` gives the
    /// place of a row's first cell for messages.
    ///
    /// # Errors
    /// One model twice with different values; no model at all.
    pub fn of(schedule: &Schedule, name: &dyn Fn(&Unit) -> String) -> Result<Self, String> {
        let mut by_model: BTreeMap<String, Nameplate> = BTreeMap::new();
        for unit in &schedule.units {
            let Some(nameplate) = Nameplate::of(unit, name(unit)) else {
                continue;
            };
            if nameplate.says_nothing() {
                continue;
            }
            let key = key(&nameplate.model, nameplate.heat_kw);
            match by_model.get(&key) {
                Some(known) if !known.same_as(&nameplate) => {
                    return Err(format!(
                        "{}: model {} stands at {} with other values",
                        nameplate.origin, nameplate.model, known.origin
                    ));
                }
                Some(_) => {}
                None => {
                    by_model.insert(key, nameplate);
                }
            }
        }
        match by_model.is_empty() {
            true => Err(
                "no row with a model and a value of its nameplate was found; expected \
                         columns as Model, MCA, MOP, Volts"
                    .to_owned(),
            ),
            false => Ok(Self {
                by_model: Arc::new(by_model),
            }),
        }
    }

    /// The nameplate of a unit's model, with the same heater.
    pub fn for_unit(&self, unit: &Unit) -> Option<&Nameplate> {
        self.for_model(unit.model.get()?, unit.heat_kw.copied())
    }

    /// The same by the model's name.
    pub fn for_model(&self, model: &str, heat: Option<Kilowatts>) -> Option<&Nameplate> {
        self.by_model.get(&key(model, heat))
    }

    pub fn is_empty(&self) -> bool {
        self.by_model.is_empty()
    }

    /// How many models it has.
    pub fn len(&self) -> usize {
        self.by_model.len()
    }
}

/// Whether two texts of one nameplate can both be right: one value is shared,
/// where a nameplate has two.
pub fn amps_agree(a: NameplateAmps, b: NameplateAmps) -> bool {
    let both = |amps: NameplateAmps| match amps {
        NameplateAmps::One(one) => vec![one],
        NameplateAmps::Two { lower, higher } => vec![lower, higher],
    };
    let others = both(b);
    both(a)
        .into_iter()
        .any(|a| others.iter().any(|b| !a.exceeds(*b) && !a.below(*b)))
}
