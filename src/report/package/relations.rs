//! Which part points to which, and what each part is.

use super::HIGHEST_ID;
use super::archive::{Archive, folder_of, relative, resolve};
use super::fault::CannotEdit;
use super::xml::{Document, Splices, escape, prefixed};
use std::collections::{BTreeMap, BTreeSet};

const NAMESPACE: &str = "http://schemas.openxmlformats.org/package/2006/relationships";
/// What the kinds of relationships between parts of a workbook begin with.
pub(super) const OFFICE: &str =
    "http://schemas.openxmlformats.org/officeDocument/2006/relationships";

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Relation {
    pub id: String,
    pub kind: String,
    /// A part; or, where external, the target as written.
    pub target: String,
    pub external: bool,
}

impl Relation {
    /// The last word of the kind: `worksheet`, `comments`.
    pub fn is(&self, kind: &str) -> bool {
        self.kind.rsplit('/').next() == Some(kind)
    }
}

/// The relationships of one part.
pub(super) struct Relations {
    folder: String,
    path: String,
    document: Option<Document>,
    pub list: Vec<Relation>,
}

/// The part that lists the relationships of another.
pub(super) fn path_of(part: &str) -> String {
    let folder = folder_of(part);
    let name = part.rsplit('/').next().unwrap_or(part);
    let stroke = if folder.is_empty() { "" } else { "/" };
    format!("{folder}{stroke}_rels/{name}.rels")
}

impl Relations {
    /// Of a part; of the package where the name is empty.
    pub fn of(archive: &mut Archive, part: &str) -> Result<Self, CannotEdit> {
        let path = path_of(part);
        let text = archive.text(&path)?;
        let document = text.map(|text| Document::new(&path, text)).transpose()?;
        let folder = folder_of(part).to_owned();
        let list = document
            .as_ref()
            .map_or_else(Vec::new, |d| list(d, &folder));
        Ok(Self {
            folder,
            path,
            document,
            list,
        })
    }

    /// The first of a kind that leads to a part.
    pub fn first(&self, kind: &str) -> Option<&Relation> {
        self.list.iter().find(|r| r.is(kind) && !r.external)
    }

    pub fn by_id(&self, id: &str) -> Option<&Relation> {
        self.list.iter().find(|relation| relation.id == id)
    }

    /// Adds one and writes the list; gives its id.
    pub fn add(
        &mut self,
        archive: &mut Archive,
        kind: &str,
        part: &str,
    ) -> Result<String, CannotEdit> {
        let ids = self.add_all(archive, kind, &[part])?;
        Ok(ids.into_iter().next().unwrap_or_default())
    }

    /// Adds some of one kind and writes the list; gives their ids.
    pub fn add_all(
        &mut self,
        archive: &mut Archive,
        kind: &str,
        parts: &[&str],
    ) -> Result<Vec<String>, CannotEdit> {
        let numbers = self.list.iter().filter_map(|relation| {
            let digits = relation.id.strip_prefix("rId")?;
            digits.parse::<u32>().ok()
        });
        let numbers = numbers.filter(|number| *number < HIGHEST_ID);
        let mut number = numbers.max().unwrap_or(0);
        let (mut xml, mut ids) = (String::new(), Vec::new());
        for part in parts {
            number += 1;
            while self.by_id(&format!("rId{number}")).is_some() {
                number += 1;
            }
            let relation = Relation {
                id: format!("rId{number}"),
                kind: kind.to_owned(),
                target: (*part).to_owned(),
                external: false,
            };
            xml.push_str(&relation_xml(&relation, &self.folder));
            ids.push(relation.id.clone());
            self.list.push(relation);
        }
        let document = match self.document.take() {
            Some(document) => document,
            None => Document::new(
                &self.path,
                format!(
                    "<?xml version=\"1.0\" encoding=\"UTF-8\" standalone=\"yes\"?>\n\
                     <Relationships xmlns=\"{NAMESPACE}\"></Relationships>"
                ),
            )?,
        };
        let mut splices = Splices::default();
        let xml = prefixed(&xml, document.prefix());
        document.append(&document.root, &xml, &mut splices);
        let document = document.edited(splices)?;
        archive.set(&self.path, document.text.clone().into_bytes());
        self.document = Some(document);
        Ok(ids)
    }

    /// Takes one away and writes the list; an empty list goes as a whole.
    pub fn remove(&mut self, archive: &mut Archive, id: &str) -> Result<(), CannotEdit> {
        let Some(document) = self.document.take() else {
            return Ok(());
        };
        let mut splices = Splices::default();
        for child in &document.children {
            if child.attribute(&document.text, "Id").as_deref() == Some(id) {
                splices.remove(child.at.clone());
            }
        }
        self.list.retain(|relation| relation.id != id);
        if self.list.is_empty() {
            archive.remove(&self.path);
            return Ok(());
        }
        let document = document.edited(splices)?;
        archive.set(&self.path, document.text.clone().into_bytes());
        self.document = Some(document);
        Ok(())
    }
}

fn list(document: &Document, folder: &str) -> Vec<Relation> {
    let relation = |child: &super::xml::Element| {
        let attribute = |name| child.attribute(&document.text, name);
        let external = attribute("TargetMode").as_deref() == Some("External");
        let target = attribute("Target")?;
        Some(Relation {
            id: attribute("Id")?.into_owned(),
            kind: attribute("Type")?.into_owned(),
            target: match external {
                true => target.into_owned(),
                false => resolve(folder, target.split('#').next().unwrap_or_default()),
            },
            external,
        })
    };
    let children = document.children_of("Relationship");
    children.filter_map(relation).collect()
}

fn relation_xml(relation: &Relation, folder: &str) -> String {
    let (target, mode) = match relation.external {
        true => (relation.target.clone(), " TargetMode=\"External\""),
        false => (relative(folder, &relation.target), ""),
    };
    format!(
        "<Relationship Id=\"{}\" Type=\"{}\" Target=\"{}\"{mode}/>",
        escape(&relation.id),
        escape(&relation.kind),
        escape(&target),
    )
}

/// A new list of relationships for a part.
pub(super) fn new_list(part: &str, relations: &[Relation]) -> String {
    let mut xml = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\" standalone=\"yes\"?>\n\
         <Relationships xmlns=\"{NAMESPACE}\">"
    );
    for relation in relations {
        xml.push_str(&relation_xml(relation, folder_of(part)));
    }
    xml.push_str("</Relationships>");
    xml
}

const CONTENT_TYPES: &str = "[Content_Types].xml";

/// The list of what each part is.
pub(super) struct ContentTypes {
    document: Document,
    /// By the part's name in lower case.
    own: BTreeMap<String, String>,
    /// By the ending in lower case.
    endings: BTreeMap<String, String>,
    /// Parts whose entry in the document does not hold any more.
    forgotten: BTreeSet<String>,
    /// New entries, as they came: names of parts, and endings.
    added: Vec<String>,
    added_endings: Vec<String>,
}

/// How two names of a part are compared.
fn key(part: &str) -> String {
    part.trim_start_matches('/').to_ascii_lowercase()
}

fn ending_of(part: &str) -> &str {
    part.rsplit_once('.').map_or("", |(_, ending)| ending)
}

impl ContentTypes {
    pub fn read(archive: &mut Archive) -> Result<Self, CannotEdit> {
        let text = archive.text(CONTENT_TYPES)?;
        let text = text.ok_or(CannotEdit::NotAPackage)?;
        let document = Document::new(CONTENT_TYPES, text)?;
        let (mut own, mut endings) = (BTreeMap::new(), BTreeMap::new());
        for child in &document.children {
            let attribute = |name| child.attribute(&document.text, name);
            let kind = attribute("ContentType").unwrap_or_default();
            let (list, name) = match child.name(&document.text) {
                "Override" => (&mut own, attribute("PartName").map(|name| key(&name))),
                "Default" => (&mut endings, attribute("Extension").map(|name| key(&name))),
                _ => continue,
            };
            if let Some(name) = name {
                list.entry(name).or_insert_with(|| kind.into_owned());
            }
        }
        Ok(Self {
            document,
            own,
            endings,
            forgotten: BTreeSet::new(),
            added: Vec::new(),
            added_endings: Vec::new(),
        })
    }

    /// Writes the list, without lists of relationships that went: some
    /// programs name each of them.
    pub fn write(mut self, archive: &mut Archive) -> Result<(), CannotEdit> {
        let gone = |name: &&String| name.ends_with(".rels") && archive.removed(name);
        let gone: Vec<String> = self.own.keys().filter(gone).cloned().collect();
        gone.iter().for_each(|part| self.forget(part));
        let document = &self.document;
        let mut splices = Splices::default();
        for child in document.children_of("Override") {
            let name = child.attribute(&document.text, "PartName");
            if name.is_some_and(|name| self.forgotten.contains(&key(&name))) {
                splices.remove(child.at.clone());
            }
        }
        let entries = |names: &[String], kinds: &BTreeMap<String, String>, tag: &str| -> String {
            let kind = |name: &String| kinds.get(&key(name)).map_or("", String::as_str);
            let entries = names.iter().map(|name| {
                let (name, kind) = (escape(name), escape(kind(name)));
                format!("<{tag}{name}\" ContentType=\"{kind}\"/>")
            });
            entries.collect()
        };
        let endings = entries(&self.added_endings, &self.endings, "Default Extension=\"");
        let own = entries(&self.added, &self.own, "Override PartName=\"/");
        let [endings, own] = [&endings, &own].map(|xml| prefixed(xml, document.prefix()));
        if document.root.is_self_closing() {
            document.append(&document.root, &format!("{endings}{own}"), &mut splices);
        } else {
            splices.insert(document.root.inner.start, endings);
            document.append(&document.root, &own, &mut splices);
        }
        let text = splices.apply(&document.text);
        archive.set(CONTENT_TYPES, text.into_bytes());
        Ok(())
    }

    pub fn of(&self, part: &str) -> Option<&str> {
        let own = self.own.get(&key(part));
        let kind = own.or_else(|| self.endings.get(&key(ending_of(part))));
        kind.map(String::as_str)
    }

    /// Says what a part is, where the list does not yet.
    pub fn add(&mut self, part: &str, kind: &str) {
        if self.of(part) == Some(kind) {
            return;
        }
        let ending = ending_of(part);
        // Pictures and drawings of old are named by their ending.
        let by_ending =
            !ending.is_empty() && ending != "xml" && !self.endings.contains_key(&key(ending));
        if by_ending {
            self.endings.insert(key(ending), kind.to_owned());
            self.added_endings.push(ending.to_owned());
        } else {
            self.forget(part);
            self.own.insert(key(part), kind.to_owned());
            self.added.push(part.to_owned());
        }
    }

    /// Forgets a part that is no more.
    pub fn forget(&mut self, part: &str) {
        let key_of = key(part);
        self.added.retain(|name| key(name) != key_of);
        if self.own.remove(&key_of).is_some() {
            self.forgotten.insert(key_of);
        }
    }
}
