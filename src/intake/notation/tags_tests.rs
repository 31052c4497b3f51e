use super::*;

fn list(text: &str) -> Option<String> {
    let names = tag_list(text, &Context::default()).value()?;
    Some(names.iter().map(Name::text).collect::<Vec<_>>().join("|"))
}

#[test]
fn lists_and_ranges_of_tags() {
    for (text, expected) in [
        ("FC-1", "FC-1"),
        ("FC-1 thru FC-4", "FC-1|FC-2|FC-3|FC-4"),
        ("FC-1 through 3", "FC-1|FC-2|FC-3"),
        ("FC-1..4", "FC-1|FC-2|FC-3|FC-4"),
        ("FC-1 – FC-3", "FC-1|FC-2|FC-3"),
        ("FC-01 thru FC-03", "FC-01|FC-02|FC-03"),
        ("FC-1, 2 & 3", "FC-1|FC-2|FC-3"),
        ("FC-1 & FC-2", "FC-1|FC-2"),
        ("FC-1/FC-2", "FC-1|FC-2"),
        ("FC-1; FC-2\nFC-3", "FC-1|FC-2|FC-3"),
        ("FC-1 and FC-2", "FC-1|FC-2"),
        ("FC-1, FC-3 thru FC-5", "FC-1|FC-3|FC-4|FC-5"),
        ("FC-1-4", "FC-1-4"),
        ("FC-1A thru FC-1C", "FC-1A|FC-1B|FC-1C"),
        ("FC-1A..C", "FC-1A|FC-1B|FC-1C"),
        ("FC-1a to c", "FC-1a|FC-1b|FC-1c"),
        ("FC-1 to FC-4", "FC-1|FC-2|FC-3|FC-4"),
        ("FC-1 through 4", "FC-1|FC-2|FC-3|FC-4"),
        ("FC 1 - 4", "FC 1|FC 2|FC 3|FC 4"),
        ("FC-1, -2, -3", "FC-1|FC-2|FC-3"),
        ("FC-1, -2 & -3", "FC-1|FC-2|FC-3"),
        ("FC-1,2,3", "FC-1|FC-2|FC-3"),
        ("(2) FC-1 & FC-2", "FC-1|FC-2"),
        ("(4) FC-1 thru FC-4", "FC-1|FC-2|FC-3|FC-4"),
        ("(1) FC-1, (1) FC-2", "FC-1|FC-2"),
        ("UNIT 1-4", "UNIT 1-4"),
        ("FC-1A, B & C", "FC-1A|FC-1B|FC-1C"),
        ("FC-1 thru -4", "FC-1|FC-2|FC-3|FC-4"),
        ("Living & Dining", "Living & Dining"),
        ("KITCHEN STAT", "KITCHEN STAT"),
    ] {
        assert_eq!(list(text).as_deref(), Some(expected), "{text}");
    }
    for text in [
        "FC-1/2",
        "FC-1 thru AH-4",
        "FC-4 thru FC-1",
        "FC-1 thru FC-999",
        "FC-1?",
        "FC-1A thru FC-2C",
        "FC-1C thru FC-1A",
        "FC-1A thru FC-1",
        "FC-1A thru FC-4",
        "FC-1 thru FC-1C",
        "(4) FC-1",
        "(3) FC-1, FC-2",
        "FC-1, (2) FC-2",
        "(0) FC-1",
        "FC 1-4",
    ] {
        assert!(
            tag_list(text, &Context::default()).is_unreadable(),
            "{text}"
        );
    }
    for (text, expected) in [
        ("FC-1/2", "FC-1, FC-2"),
        ("FC 1-4", "FC 1 thru FC 4"),
        ("(4) FC-1", "FC-1"),
    ] {
        assert!(
            matches!(
                tag_list(text, &Context::default()),
                Reading::Unreadable { guess: Some(ref guess), .. } if guess == expected
            ),
            "{text}"
        );
    }
    assert_eq!(tag_list("TBD", &Context::default()), Reading::Unknown);
}

/// Entries as `tags (part)`, or `text` where there are none.
fn shown(text: &str) -> Vec<String> {
    let entries = loads(text, &Context::default()).value().unwrap_or_default();
    entries
        .iter()
        .map(|entry| {
            let mut tags: Vec<_> = entry.tags.iter().map(|tag| tag.text().to_owned()).collect();
            if tags.is_empty() {
                tags.push(entry.text.clone());
            }
            let mark = match (entry.spare, entry.elsewhere) {
                (true, _) => " spare",
                (_, true) => " elsewhere",
                _ => "",
            };
            format!("{} ({}){mark}", tags.join("|"), entry.part)
        })
        .collect()
}

#[test]
fn loads_of_circuits() {
    for (text, expected) in [
        ("AH-1 HEATER", &["AH-1 (heater 1)"][..]),
        ("AH-1 HTR 2", &["AH-1 (heater 2)"]),
        ("AH-1 HTR #2", &["AH-1 (heater 2)"]),
        ("AH-1 HTR 1 & 2", &["AH-1 (heater 1)", "AH-1 (heater 2)"]),
        ("AH-1 HTR 1, 2", &["AH-1 (heater 1)", "AH-1 (heater 2)"]),
        ("FC-1 BATH 1 & 2", &["FC-1 (unit)"]),
        ("FAN COILS FC-1 & 2", &["FC-1 (unit)", "FC-2 (unit)"]),
        ("AH-1 STRIP HEAT 1 OF 2", &["AH-1 (heater 1)"]),
        ("AH-1 ELEMENT 2", &["AH-1 (heater 2)"]),
        ("AH-1 HTR 10KW", &["AH-1 (heater 1)"]),
        ("AH-1 HTR 9.6 KW", &["AH-1 (heater 1)"]),
        ("AH-1 HEAT KIT", &["AH-1 (heater 1)"]),
        ("FC-1 208/230V", &["FC-1 (unit)"]),
        ("FC-1 / 1.5HP", &["FC-1 (unit)"]),
        ("FCU 1-3", &["FCU 1-3 (unit)"]),
        ("AH-1 STRIP HEAT", &["AH-1 (heater 1)"]),
        ("AH-1 FAN", &["AH-1 (fan)"]),
        ("AH-1 BLOWER", &["AH-1 (fan)"]),
        ("AH-1 W/ HEATER", &["AH-1 (unit)"]),
        ("FC-1, FC-2", &["FC-1 (unit)", "FC-2 (unit)"]),
        (
            "FC-1 thru FC-3",
            &["FC-1 (unit)", "FC-2 (unit)", "FC-3 (unit)"],
        ),
        (
            "FC-1, 2 & 3",
            &["FC-1 (unit)", "FC-2 (unit)", "FC-3 (unit)"],
        ),
        ("FC-1/FC-2", &["FC-1 (unit)", "FC-2 (unit)"]),
        ("FAN COIL FC-1", &["FC-1 (unit)"]),
        ("FC 1", &["FC 1 (unit)"]),
        ("COND UNIT OU-1", &["OU-1 (unit)"]),
        ("OU-1 MODULE M2", &["OU-1|M2 (unit)"]),
        ("12C-FC-1", &["12C-FC-1 (unit)"]),
        ("(E) RANGE", &["(E) RANGE (unit) elsewhere"]),
        ("RANGE/OVEN", &["RANGE/OVEN (unit)"]),
        ("BATH & HALL LTG", &["BATH & HALL LTG (unit)"]),
        ("SPARE", &["SPARE (unit) spare"]),
        ("Space", &["Space (unit) spare"]),
        ("SPARE 20A", &["SPARE 20A (unit) spare"]),
        ("SPACE HEATER", &["SPACE HEATER (unit)"]),
        ("WATER HEATER", &["WATER HEATER (unit)"]),
        ("HEAT PUMP HP-1", &["HP-1 (unit)"]),
        ("EXHAUST FAN EF-1", &["EF-1 (unit)"]),
        (
            "AH-1 HEATER, AH-2 HEATER",
            &["AH-1 (heater 1)", "AH-2 (heater 1)"],
        ),
        ("BEDROOM 2 RECEPT", &["BEDROOM 2 RECEPT (unit)"]),
        ("OUTDOOR UNIT 1", &["OUTDOOR UNIT 1 (unit)"]),
        ("LTS R101", &["R101 (unit)"]),
        ("FC-1, -2", &["FC-1 (unit)", "FC-2 (unit)"]),
        ("FC-1A thru B", &["FC-1A (unit)", "FC-1B (unit)"]),
        ("(2) FC-1 & FC-2", &["FC-1 (unit)", "FC-2 (unit)"]),
        (
            "(2) AH-1 HTR 1 & 2",
            &["AH-1 (heater 1)", "AH-1 (heater 2)"],
        ),
        ("(1) FC-1", &["FC-1 (unit)"]),
        ("FC-1A & B", &["FC-1A (unit)", "FC-1B (unit)"]),
        ("EF-1 THRU WALL", &["EF-1 (unit)"]),
    ] {
        assert_eq!(shown(text), expected, "{text}");
    }
    for text in [
        "FC-1/2",
        "FAN COIL FC-1/2",
        "OU-1, FC-1/2",
        "(4) FC-1",
        "(2) FC-1, FC-2, FC-3",
        "OU-1, (2) FC-1",
        "FAN COIL FC-1 THRU FC-4",
        "FC-1A THRU 3C",
        "FC-1 THRU FC-999",
    ] {
        assert!(loads(text, &Context::default()).is_unreadable(), "{text}");
    }
    assert_eq!(loads("-", &Context::default()), Reading::Blank);
    assert_eq!(loads("BY OTHERS", &Context::default()), Reading::Elsewhere);
}

#[test]
fn names_and_texts_are_kept_as_written() {
    let ctx = Context::default();
    assert_eq!(
        free_text("  Living   Room ", &ctx),
        Reading::Value("Living Room".to_owned())
    );
    assert_eq!(name("N/A", &ctx), Reading::Blank);
    assert_eq!(name("DITTO", &ctx), Reading::Same);
    assert_eq!(
        name("LP", &ctx)
            .value()
            .map(|of| of.text().to_owned())
            .as_deref(),
        Some("LP")
    );
}
