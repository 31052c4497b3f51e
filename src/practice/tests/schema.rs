//! The schema of a profile, held against the keys.
//!
//! `AMPLEDGER_BLESS=1 cargo test` writes it anew.

use crate::findings::Severity;
use crate::practice::Practice;
use crate::practice::keys::KEYS;
use serde_json::{Map, Value, json};
use std::path::Path;

/// JSON types by which a value may be written.
fn types(expected: &str) -> Value {
    if expected.starts_with("true") {
        json!({ "type": "boolean" })
    } else if expected.starts_with("a whole number") {
        json!({ "type": "integer", "minimum": 1 })
    } else if expected.starts_with('"') {
        let choices: Vec<&str> = expected.split('"').skip(1).step_by(2).collect();
        json!({ "enum": choices })
    } else if expected.starts_with("an edition") {
        json!({ "enum": [2017, 2020, 2023, 2026, "2017", "2020", "2023", "2026"] })
    } else if expected.starts_with("the ") {
        json!({
            "type": "array",
            "items": { "type": ["number", "string"] },
            "minItems": 2,
            "maxItems": 2
        })
    } else {
        json!({ "type": ["number", "string"] })
    }
}

fn object(properties: Map<String, Value>) -> Value {
    json!({ "type": "object", "additionalProperties": false, "properties": properties })
}

fn severities() -> Value {
    let any = json!({ "$ref": "#/$defs/severity" });
    let mut rules = Map::new();
    for rule in crate::rules::ALL.iter() {
        let of = |severity: &Severity| (severity.name().to_owned(), any.clone());
        let by_severity = object(rule.severities.iter().map(of).collect());
        let value = if rule.severities.len() == 1 {
            json!({ "anyOf": [any, by_severity] })
        } else {
            by_severity
        };
        rules.insert(rule.name.to_owned(), value);
    }
    let mut value = object(rules);
    value["description"] = json!("severities raised or lowered, by rule");
    value
}

fn schema() -> Value {
    let default = Practice::default();
    let mut properties = Map::new();
    for key in KEYS {
        let mut value = types(key.expected);
        value["description"] = json!(format!(
            "{}. Expected: {}. Default: {}.",
            key.meaning,
            key.expected,
            (key.text)(&default)
        ));
        match key.path.split_once('.') {
            None => properties.insert(key.path.to_owned(), value),
            Some((group, name)) => {
                let group = properties
                    .entry(group)
                    .or_insert_with(|| object(Map::new()));
                group["properties"][name] = value;
                None
            }
        };
    }
    properties.insert("severities".to_owned(), severities());
    let mut schema = json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Practice profile of ampledger",
        "description": "What differs by place or by project. Every key may be left out."
    });
    let Value::Object(body) = object(properties) else {
        unreachable!("an object is an object");
    };
    schema.as_object_mut().expect("an object").extend(body);
    schema["$defs"] = json!({ "severity": { "enum": ["fix", "verify", "note"] } });
    schema
}

#[test]
fn the_schema_has_every_key_and_no_other() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("schemas/practice.schema.json");
    let text = serde_json::to_string_pretty(&schema()).expect("JSON") + "\n";
    if std::env::var_os("AMPLEDGER_BLESS").is_some() {
        std::fs::create_dir_all(path.parent().expect("a folder")).expect("a folder");
        std::fs::write(&path, &text).expect("the schema can be written");
    }
    let stands = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(
        stands == text,
        "schemas/practice.schema.json is stale: run AMPLEDGER_BLESS=1 cargo test"
    );
}
