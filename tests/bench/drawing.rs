//! How long the picture of a bus takes: drawing, vectors, and the picture
//! made of them, of a chain of so many units.

use ampledger::intake::assemble::{Hints, ReadFile, RowChoice, draft};
use ampledger::intake::book::{Book, Limits};
use ampledger::intake::recognise;
use ampledger::intake::schema::Schemas;
use ampledger::practice::Practice;
use ampledger::report::drawing::{Drawings, drawings};
use ampledger::rules;
use std::error::Error;
use std::fmt::Write;
use std::time::{Duration, Instant};

type Outcome<T> = Result<T, Box<dyn Error + Send + Sync>>;

const ROUNDS: usize = 5;

/// Prints the table.
pub fn rasterised() -> Outcome<()> {
    println!("\n| picture of a chain of | drawn, ms | rasterised, ms | picture, kB |");
    println!("| --- | --- | --- | --- |");
    for units in [8, 40, 160] {
        let name = "chain.csv";
        let book = Book::from_bytes(name, chain(units)?.into_bytes(), &Limits::default())
            .map_err(|refused| refused.to_string())?;
        let recognised = recognise::recognise(&book, Schemas::embedded());
        let file = ReadFile::recognised(name.to_owned(), 0, book, recognised);
        let schedule = draft(&[(&file, RowChoice::All)], Hints { stem: "chain" }).build();
        let audit = rules::audit(&schedule, &Practice::default());
        let (mut drawn, mut made, mut bytes) = (Duration::MAX, Duration::MAX, 0);
        for _ in 0..ROUNDS {
            let began = Instant::now();
            let all = drawings(&schedule, &audit, Drawings::All);
            drawn = drawn.min(began.elapsed());
            let [only] = all.as_slice() else {
                return Err(format!("{} drawings of one system", all.len()).into());
            };
            let began = Instant::now();
            bytes = only.picture().ok_or("a drawing without a size")?.len();
            made = made.min(began.elapsed());
        }
        println!(
            "| {units} units | {:.2} | {:.2} | {:.0} |",
            drawn.as_secs_f64() * 1e3,
            made.as_secs_f64() * 1e3,
            bytes as f64 / 1e3
        );
    }
    Ok(())
}

/// An invented job: one outdoor unit, the others behind it in one chain.
fn chain(units: usize) -> Result<String, std::fmt::Error> {
    let mut text =
        String::from("Tag,Type,Room,Comm From,Comm Length (ft),Tstat,Tstat Length (ft)\n");
    writeln!(text, "OU-1,Outdoor unit,Side yard,,,,")?;
    for unit in 1..=units {
        let before = match unit {
            1 => "OU-1".to_owned(),
            unit => format!("FC-{}", unit - 1),
        };
        writeln!(
            text,
            "FC-{unit},Fan coil,Room {unit},{before},40,T-{unit},25"
        )?;
    }
    Ok(text)
}
