//! What holds for every package that may be handed out.

use super::super::archive::{Archive, resolve};
use super::super::relations::{ContentTypes, Relations, path_of};
use super::super::xml::{Document, Kind, Tokens, attributes, local, name_of};
use std::collections::{BTreeMap, BTreeSet};

/// Content of all parts, by name.
pub fn parts(bytes: &[u8]) -> BTreeMap<String, Vec<u8>> {
    let mut archive = Archive::open(bytes).expect("a package");
    let names = archive.names();
    let content = |name: String| {
        let bytes = archive.bytes(&name).expect("a part").expect("a part");
        (name, bytes)
    };
    names.into_iter().map(content).collect()
}

/// The compressed bytes of all parts.
pub fn compressed(bytes: &[u8]) -> BTreeMap<String, Vec<u8>> {
    let mut zip = zip::ZipArchive::new(std::io::Cursor::new(bytes)).expect("a zip");
    let mut found = BTreeMap::new();
    for index in 0..zip.len() {
        let mut file = zip.by_index_raw(index).expect("a part");
        let mut raw = Vec::new();
        std::io::Read::read_to_end(&mut file, &mut raw).expect("bytes");
        found.insert(file.name().expect("a name").into_owned(), raw);
    }
    found
}

/// All XML is well-formed; what is pointed to is there, by ids that are there
/// once; each part says what it is, and nothing is said of a part that is not
/// there; ids of boxes are told apart in their drawing.
pub fn sound(bytes: &[u8]) {
    let mut archive = Archive::open(bytes).expect("a package");
    let types = ContentTypes::read(&mut archive).expect("content types");
    let names = archive.names();
    for name in &names {
        let lower = name.to_ascii_lowercase();
        if name != "[Content_Types].xml" {
            assert!(types.of(name).is_some(), "{name} says not what it is");
        }
        if lower.ends_with(".vml") {
            drawing(name, &archive.text(name).expect("text").expect("there"));
        } else if lower.ends_with(".xml") || lower.ends_with(".rels") {
            let document = archive.document(name).expect("well-formed");
            unique_attributes(name, &document.text);
            if name == "[Content_Types].xml" {
                overrides(&document, &names);
            }
        }
    }
    let owners = names.iter().map(String::as_str).chain([""]);
    let mut lists = 0;
    for owner in owners {
        let relations = Relations::of(&mut archive, owner).expect("relations");
        lists += usize::from(archive.has(&path_of(owner)));
        let mut ids = BTreeSet::new();
        for relation in &relations.list {
            assert!(ids.insert(&relation.id), "{owner}: {} twice", relation.id);
            assert!(
                relation.external || archive.has(&relation.target),
                "{owner} leads to {}, which is not there",
                relation.target
            );
        }
        if let Some(text) = archive.text(owner).ok().flatten() {
            for id in named(owner, &text) {
                assert!(ids.contains(&id), "{owner} names {id}, which is not there");
            }
        }
    }
    let all = names.iter().filter(|name| name.ends_with(".rels")).count();
    assert_eq!(lists, all, "a list of relationships of no part");
    super::schema::valid(bytes);
}

fn overrides(types: &Document, names: &[String]) {
    let mut seen = BTreeSet::new();
    for child in types.children_of("Override") {
        let part = child.attribute(&types.text, "PartName").expect("a part");
        let part = resolve("", &part);
        assert!(
            names.iter().any(|name| name.eq_ignore_ascii_case(&part)),
            "{part} is not there"
        );
        assert!(seen.insert(part.to_lowercase()), "{part} twice");
    }
    let mut seen = BTreeSet::new();
    for child in types.children_of("Default") {
        let ending = child
            .attribute(&types.text, "Extension")
            .expect("an ending");
        assert!(seen.insert(ending.to_lowercase()), "{ending} twice");
    }
}

/// An attribute twice is no XML, which the reader lets pass.
fn unique_attributes(part: &str, text: &str) {
    let mut tokens = Tokens::new(part, text, 0..text.len());
    while let Some(token) = tokens.next().expect("well-formed") {
        if matches!(token.kind, Kind::Start | Kind::Empty) {
            let mut seen = BTreeSet::new();
            let tag = &text[token.at];
            for attribute in attributes(tag) {
                assert!(seen.insert(attribute.name), "{part}: {tag}");
            }
        }
    }
}

/// Ids of relationships that a part names: attributes of the namespace.
fn named(part: &str, text: &str) -> Vec<String> {
    if part.ends_with(".rels") || part.ends_with(".vml") || !text.contains("/relationships") {
        return Vec::new();
    }
    let mut prefixes = BTreeSet::new();
    let mut found = Vec::new();
    let mut tokens = Tokens::new(part, text, 0..text.len());
    while let Ok(Some(token)) = tokens.next() {
        if !matches!(token.kind, Kind::Start | Kind::Empty) {
            continue;
        }
        let tag = &text[token.at];
        for attribute in attributes(tag) {
            if attribute
                .value
                .ends_with("officeDocument/2006/relationships")
                && let Some(prefix) = attribute.name.strip_prefix("xmlns:")
            {
                prefixes.insert(prefix);
            }
        }
        for attribute in attributes(tag) {
            let prefix = attribute.name.split_once(':').map(|(prefix, _)| prefix);
            if prefix.is_some_and(|prefix| prefixes.contains(prefix)) {
                found.push(attribute.value.to_owned());
            }
        }
    }
    found
}

fn drawing(part: &str, text: &str) {
    let mut ids = BTreeSet::new();
    let mut tokens = Tokens::new(part, text, 0..text.len());
    while let Some(token) = tokens.next().expect("our drawings are well-formed") {
        let tag = &text[token.at];
        if matches!(token.kind, Kind::Start) && local(name_of(tag)) == "shape" {
            let id = attributes(tag)
                .find(|a| a.name == "id")
                .expect("an id")
                .value;
            assert!(ids.insert(id.to_owned()), "{part}: {id} twice");
        }
    }
}

/// The parts that differ, or are on one side only.
pub fn differing(before: &[u8], after: &[u8]) -> BTreeSet<String> {
    let (before, after) = (parts(before), parts(after));
    let names: BTreeSet<&String> = before.keys().chain(after.keys()).collect();
    let differ = names
        .into_iter()
        .filter(|name| before.get(*name) != after.get(*name));
    differ.cloned().collect()
}
