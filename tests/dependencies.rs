//! What the program is built from: where each crate comes from, under which
//! licence, and that nothing is in it which an auditor of files has no use
//! for.
//!
//! `AMPLEDGER_BLESS=1 cargo test --test dependencies` writes the list anew.

use serde_json::Value;
use std::collections::BTreeMap;
use std::fmt::Write;
use std::path::Path;
use std::process::Command;

/// Licences (SPDX identifiers) that ask for no more than a notice.
const ALLOWED: [&str; 11] = [
    "0BSD",
    "Apache-2.0",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSL-1.0",
    "CC0-1.0",
    "MIT",
    "MIT-0",
    "Unicode-3.0",
    "Unlicense",
    "Zlib",
];
/// Crates that reach out to a network or to a database of accounts.
const UNWANTED: [&str; 6] = [
    "reqwest",
    "hyper",
    "rustls",
    "openssl",
    "native-tls",
    "object_store",
];
const REGISTRY: &str = "registry+https://github.com/rust-lang/crates.io-index";
/// One platform, so that the list is the same wherever it is made.
const PLATFORM: &str = "x86_64-unknown-linux-gnu";
const LIST: &str = "tests/licences.md";

fn packages() -> Vec<Value> {
    let out = Command::new(env!("CARGO"))
        .args(["metadata", "--format-version", "1", "--locked"])
        .args(["--filter-platform", PLATFORM])
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .expect("cargo runs");
    let said = String::from_utf8_lossy(&out.stderr).into_owned();
    assert!(out.status.success(), "cargo metadata: {said}");
    let metadata: Value = serde_json::from_slice(&out.stdout).expect("JSON");
    let all = metadata["packages"].as_array().expect("packages").clone();
    all.into_iter()
        .filter(|package| package["name"] != env!("CARGO_PKG_NAME"))
        .collect()
}

fn text<'v>(package: &'v Value, field: &str) -> &'v str {
    package[field].as_str().unwrap_or_default()
}

#[test]
fn every_crate_is_of_the_registry_and_freely_licensed() {
    let packages = packages();
    assert!(packages.len() > 100, "{} packages", packages.len());
    for package in &packages {
        let name = text(package, "name");
        assert_eq!(text(package, "source"), REGISTRY, "{name}");
        let licence = text(package, "license");
        let read = spdx::Expression::parse_mode(licence, spdx::ParseMode::LAX);
        let read = read.unwrap_or_else(|error| panic!("{name}: {licence}: {error}"));
        let allowed = read.evaluate(|asked| {
            let id = asked.license.id();
            id.is_some_and(|id| ALLOWED.contains(&id.name))
        });
        assert!(allowed, "{name} is under {licence}");
        assert!(
            !UNWANTED.contains(&name),
            "{name} is in the tree: a feature of some crate pulls it in"
        );
    }
}

#[test]
fn the_list_of_licences_is_as_built() {
    let mut by_licence: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for package in packages() {
        let licence = text(&package, "license").to_owned();
        let crate_of = format!("{} {}", text(&package, "name"), text(&package, "version"));
        by_licence.entry(licence).or_default().push(crate_of);
    }
    let mut list = format!(
        "# Licences of the crates\n\nAll crates that a build for {PLATFORM} or its tests take from the registry, by the licence \
         that each declares. Made by `tests/dependencies.rs`.\n"
    );
    for (licence, mut crates) in by_licence {
        crates.sort();
        let _ = write!(list, "\n## {licence}\n\n{}\n", crates.join(", "));
    }
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(LIST);
    if std::env::var_os("AMPLEDGER_BLESS").is_some() {
        std::fs::write(&path, &list).expect("written");
    }
    let stands = std::fs::read_to_string(&path).unwrap_or_default();
    assert_eq!(
        stands.replace("\r\n", "\n"),
        list,
        "{LIST} is out of date: AMPLEDGER_BLESS=1 cargo test --test dependencies"
    );
}
