//! `ampledger size`.

mod page;
#[cfg(test)]
mod tests;
mod work;

use super::{AUDITED, USAGE, audit, print};
use crate::intake::notation::{self, Context, Reading};
use crate::practice::Practice;
use crate::schedule::wire::{Conductor, Material};
use crate::schedule::{Amps, Celsius, Edition, Feet, Kilowatts, Volts};
use crate::sizing::conductor::Conditions;
use crate::sizing::drop::Phases;
use crate::sizing::nameplate::rated;
use clap::ValueEnum;
use std::path::PathBuf;
use work::{Circuit, Strip};

/// Size one circuit.
///
/// From the currents of its loads, or from what its nameplate marks: MCA,
/// MOP, protection, conductor, grounding conductor, disconnect and voltage
/// drop, each with its arithmetic and its source. What is marked goes before
/// what is computed.
///
/// It is no design: a licensed electrician decides.
#[derive(clap::Args, Debug)]
pub struct Args {
    /// Rated-load current of a motor-compressor; once for each.
    #[arg(long, value_name = "A", value_parser = positive)]
    rla: Vec<f64>,

    /// Branch-circuit selection current, where it is marked: it counts where
    /// it is above the rated-load current. In the order of --rla.
    #[arg(long, value_name = "A", value_parser = positive)]
    selection_current: Vec<f64>,

    /// Full-load current of a fan or blower; once for each.
    #[arg(long, value_name = "A", value_parser = positive)]
    fla: Vec<f64>,

    /// Any other load on the circuit; once for each.
    #[arg(long, value_name = "A", value_parser = positive)]
    other_amps: Vec<f64>,

    /// Strip heat on the circuit.
    #[arg(long, value_name = "KW", value_parser = positive)]
    heater_kw: Option<f64>,

    /// The voltage that the kW belong to; that of the supply unless given.
    #[arg(long, value_name = "V", value_parser = positive, requires = "heater_kw")]
    heater_volts: Option<f64>,

    /// Nominal volts of the supply between the poles used.
    #[arg(long, value_name = "V", value_parser = positive)]
    volts: Option<f64>,

    /// Phases of the supply.
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = phases)]
    phases: u8,

    /// One-way length, as 90, "90 ft" or "27 m".
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    length: Option<Feet>,

    /// Minimum circuit ampacity that the nameplate marks.
    #[arg(long, value_name = "A", value_parser = positive)]
    mca: Option<f64>,

    /// Maximum overcurrent protection that the nameplate marks.
    #[arg(long, value_name = "A", value_parser = positive)]
    mop: Option<f64>,

    /// Adopted edition of NFPA 70: 2017, 2020, 2023 or 2026.
    #[arg(long, value_name = "YEAR", value_parser = edition)]
    edition: Option<Edition>,

    /// Rating of the terminals at both ends, degrees Celsius.
    #[arg(long, value_name = "C", value_parser = terminals)]
    terminals: Option<Celsius>,

    /// Ambient temperature along the run, as 45, "45 C" or "113 F".
    #[arg(long, value_name = "C", value_parser = ambient)]
    ambient: Option<Celsius>,

    /// Current-carrying conductors together in the raceway or cable, those of
    /// this circuit included.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=200))]
    conductors_in_raceway: Option<u32>,

    /// Of the conductors.
    #[arg(long, value_enum, default_value_t = MaterialArg::Copper)]
    material: MaterialArg,

    /// Cable or insulation type: NM-B, UF-B, MC, THHN, XHHW-2, ….
    #[arg(long, value_name = "TYPE", value_parser = cable)]
    cable: Option<Conductor>,

    /// Practice profile (TOML), as of `ampledger audit`.
    #[arg(long, value_name = "FILE")]
    practice: Option<PathBuf>,

    /// As JSON.
    #[arg(long)]
    json: bool,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum MaterialArg {
    Copper,
    Aluminium,
}

fn positive(text: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(value) if value.is_finite() && value > 0.0 && value <= 1e6 => Ok(value),
        _ => Err("expected a number above zero".to_owned()),
    }
}

fn phases(text: &str) -> Result<u8, String> {
    match text {
        "1" => Ok(1),
        "3" => Ok(3),
        _ => Err("expected 1 or 3".to_owned()),
    }
}

/// What intake's own grammar makes of it.
fn read<T>(reading: Reading<T>, expected: &str) -> Result<T, String> {
    reading
        .value()
        .ok_or_else(|| format!("expected {expected}"))
}

fn length(text: &str) -> Result<Feet, String> {
    let read = read(notation::length(text, &Context::default()), "a length")?;
    let zero = read.value.0 <= 0.0;
    if zero {
        return Err("expected a length above zero".to_owned());
    }
    Ok(read.value)
}

fn celsius(text: &str) -> Result<Celsius, String> {
    // A bare number is in the unit that the help names.
    let context = Context {
        unit: Some(notation::ColumnUnit::Celsius),
        ..Context::default()
    };
    read(notation::temperature(text, &context), "degrees Celsius")
}

fn ambient(text: &str) -> Result<Celsius, String> {
    let value = celsius(text)?;
    if (-50.0..=150.0).contains(&value.0) {
        Ok(value)
    } else {
        Err("expected a temperature from -50 to 150 °C".to_owned())
    }
}

fn terminals(text: &str) -> Result<Celsius, String> {
    let value = celsius(text)?;
    if [60.0, 75.0, 90.0].contains(&value.0) {
        Ok(value)
    } else {
        Err("expected 60, 75 or 90".to_owned())
    }
}

fn edition(text: &str) -> Result<Edition, String> {
    let expected = "2017, 2020, 2023 or 2026";
    read(notation::edition(text, &Context::default()), expected)
}

fn cable(text: &str) -> Result<Conductor, String> {
    let expected = "a type of cable or insulation, as NM-B, MC or THHN";
    let read = read(notation::conductor(text, &Context::default()), expected)?;
    if read.cable.is_none() && read.insulation.is_none() {
        return Err(format!("expected {expected}"));
    }
    Ok(Conductor {
        size: None,
        sets: 1,
        ..read
    })
}

impl Args {
    fn circuit(&self, practice: &Practice) -> Circuit {
        let edition = self.edition.unwrap_or(practice.edition);
        let material = match self.material {
            MaterialArg::Copper => Material::Copper,
            MaterialArg::Aluminium => Material::Aluminium,
        };
        let compressors = self.rla.iter().enumerate().map(|(index, amps)| {
            let selection = self.selection_current.get(index).copied().map(Amps);
            rated(Amps(*amps), selection)
        });
        let others = self.fla.iter().chain(&self.other_amps);
        Circuit {
            edition,
            compressors: compressors.collect(),
            others: others.copied().map(Amps).collect(),
            strip: self.heater_kw.map(|kw| Strip {
                rating: Kilowatts(kw),
                volts: self.heater_volts.map(Volts),
            }),
            mca: self.mca.map(Amps),
            mop: self.mop.map(Amps),
            volts: self.volts.map(Volts),
            phases: if self.phases == 3 {
                Phases::Three
            } else {
                Phases::Single
            },
            length: self.length,
            at: Conditions {
                terminals: self.terminals,
                assumed_terminals: Some(practice.terminals.general),
                ambient: self.ambient,
                together: self.conductors_in_raceway,
                ..Conditions::unstated(edition)
            },
            like: Conductor {
                material: Some(material),
                sets: 1,
                ..self.cable.clone().unwrap_or_default()
            },
            drop_noted: practice.drop_note,
        }
    }
}

pub(super) fn run(args: &Args) -> u8 {
    let practice = match audit::practice(args.practice.as_deref()) {
        Ok(practice) => practice,
        Err(error) => {
            eprintln!("ampledger: {error}");
            return USAGE;
        }
    };
    let circuit = args.circuit(&practice);
    match work::work(&circuit) {
        Ok(parts) => {
            let text = if args.json {
                page::json(&circuit, &parts)
            } else {
                page::text(&circuit, &parts)
            };
            print(&text);
            AUDITED
        }
        Err(says) => {
            eprintln!("ampledger: {says}");
            USAGE
        }
    }
}
