use super::*;
use std::collections::BTreeSet;

#[test]
fn every_field_of_the_schemas_is_one_field_of_the_model() {
    let schemas = Schemas::parse(&TABLES).expect("schemas");
    let mut described = Vec::new();
    for (kind, table) in TableKind::ALL.iter().zip(schemas.tables()) {
        assert_eq!(table.name, kind.name());
        for schema in &table.fields {
            assert_eq!(schema.field.table(), *kind, "{}", schema.field);
            described.push(schema.field);
        }
        for field in table.identity.iter().chain(&table.signature) {
            assert_eq!(field.table(), *kind, "{field}");
        }
    }
    assert_eq!(described, FieldName::ALL, "one to one, and in one order");
}

#[test]
fn the_files_are_table_schemas() {
    let types: BTreeSet<&str> = ["string", "number", "integer", "boolean", "date"].into();
    for json in TABLES {
        let value: serde_json::Value = serde_json::from_str(json).expect("JSON");
        let fields = value["fields"].as_array().expect("fields");
        let mut names = BTreeSet::new();
        for field in fields {
            let name = field["name"].as_str().expect("a name");
            assert!(names.insert(name), "{name} twice");
            let of_schedule = field["x-field"].as_str().expect("a field");
            let own = of_schedule
                .split('.')
                .next_back()
                .map(|n| n.replace('_', "-"));
            assert_eq!(own.as_deref(), Some(name));
            assert!(types.contains(field["type"].as_str().expect("a type")));
            assert!(!field["description"].as_str().expect("words").is_empty());
            for key in field.as_object().expect("an object").keys() {
                let open = ["name", "title", "description", "type", "constraints"];
                assert!(
                    open.contains(&key.as_str()) || key.starts_with("x-"),
                    "{key}"
                );
            }
        }
        for key in value["primaryKey"].as_array().expect("a key") {
            assert!(names.contains(key.as_str().expect("a name")));
        }
    }
}

#[test]
fn spellings_of_one_meaning_have_one_key() {
    let schemas = Schemas::embedded();
    for (a, b) in [
        ("Unit #", "UNIT NO."),
        ("Ckt. Nos.", "Circuit Number"),
        ("T-Stat", "thermostats"),
        ("Min. Circuit\nAmps", "MIN CKT AMPS"),
        ("M.C.A.", "mca"),
        ("V/Ø/Hz", "V-Phase-Hertz"),
        ("No. Req'd", "# REQUIRED"),
        ("Max. Overcurrent Protective Device", "MAX OCPD"),
        ("LENGTH¹", "Lgth"),
        ("MCA*", "MCA"),
    ] {
        assert_eq!(schemas.key(a), schemas.key(b), "{a} = {b}");
    }
    assert_ne!(schemas.key("Rec. Fuse"), schemas.key("Max Fuse"));
}

#[test]
fn a_strong_heading_of_a_table_means_one_field_of_it() {
    let schemas = Schemas::embedded();
    let mut twice = BTreeSet::new();
    for (spelled, key, _) in schemas.headings() {
        for kind in TableKind::ALL {
            let strong: Vec<FieldName> = schemas
                .listed(key)
                .iter()
                .filter(|(field, listed)| field.table() == kind && *listed > Listed::Weak)
                .map(|(field, _)| *field)
                .collect();
            if strong.len() > 1 {
                twice.insert(format!("{spelled}: {strong:?}"));
            }
        }
    }
    assert!(twice.is_empty(), "{twice:#?}");
}

#[test]
fn no_field_lists_what_it_must_never_take() {
    let schemas = Schemas::embedded();
    for (spelled, key, field) in schemas.headings() {
        assert!(!schemas.never(key, field), "{spelled} for {field}");
    }
    assert!(schemas.never(&schemas.key("Rec. Fuse"), FieldName::UnitMop));
    let locked = schemas.key("LRA");
    assert_eq!(
        schemas.listed(&locked).first().map(|(field, _)| *field),
        Some(FieldName::UnitLra)
    );
}
