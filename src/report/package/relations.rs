//! Which part points to which, and what each part is.

use super::archive::{Archive, folder_of, relative, resolve};
use super::fault::CannotEdit;
use super::xml::{Document, Splices, escape, prefixed};

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
        let numbers = self.list.iter().filter_map(|relation| {
            let digits = relation.id.strip_prefix("rId")?;
            digits.parse::<u32>().ok()
        });
        let mut number = numbers.max().unwrap_or(0).saturating_add(1);
        while self.by_id(&format!("rId{number}")).is_some() {
            number = number.saturating_add(1);
        }
        let relation = Relation {
            id: format!("rId{number}"),
            kind: kind.to_owned(),
            target: part.to_owned(),
            external: false,
        };
        let xml = relation_xml(&relation, &self.folder);
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
        self.list.push(relation.clone());
        Ok(relation.id)
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
}

impl ContentTypes {
    pub fn read(archive: &mut Archive) -> Result<Self, CannotEdit> {
        let text = archive.text(CONTENT_TYPES)?;
        let text = text.ok_or(CannotEdit::NotAPackage)?;
        Ok(Self {
            document: Document::new(CONTENT_TYPES, text)?,
        })
    }

    /// Writes the list, without lists of relationships that went: some
    /// programs name each of them.
    pub fn write(mut self, archive: &mut Archive) -> Result<(), CannotEdit> {
        let overrides = self.document.children_of("Override");
        let names = overrides.filter_map(|child| child.attribute(&self.document.text, "PartName"));
        let gone: Vec<String> = names
            .map(|name| name.trim_start_matches('/').to_owned())
            .filter(|name| name.ends_with(".rels") && archive.removed(name))
            .collect();
        for part in gone {
            self.forget(&part)?;
        }
        archive.set(CONTENT_TYPES, self.document.text.into_bytes());
        Ok(())
    }

    /// What a part is, by its own entry.
    fn own(&self, part: &str) -> Option<String> {
        let mut overrides = self.document.children_of("Override");
        let found = overrides.find(|child| self.names(child, part))?;
        let kind = found.attribute(&self.document.text, "ContentType")?;
        Some(kind.into_owned())
    }

    fn names(&self, child: &super::xml::Element, part: &str) -> bool {
        let name = child.attribute(&self.document.text, "PartName");
        name.is_some_and(|name| name.trim_start_matches('/').eq_ignore_ascii_case(part))
    }

    fn by_ending(&self, part: &str) -> Option<String> {
        let ending = part.rsplit_once('.')?.1;
        let text = &self.document.text;
        let mut defaults = self.document.children_of("Default");
        let found = defaults.find(|child| {
            let of = child.attribute(text, "Extension");
            of.is_some_and(|of| of.eq_ignore_ascii_case(ending))
        })?;
        Some(found.attribute(text, "ContentType")?.into_owned())
    }

    pub fn of(&self, part: &str) -> Option<String> {
        self.own(part).or_else(|| self.by_ending(part))
    }

    /// Says what a part is, where the list does not yet.
    pub fn add(&mut self, part: &str, kind: &str) -> Result<(), CannotEdit> {
        if self.of(part).as_deref() == Some(kind) {
            return Ok(());
        }
        let document = &self.document;
        let ending = part.rsplit_once('.').map_or("", |(_, ending)| ending);
        let mut splices = Splices::default();
        // Pictures and drawings of old are named by their ending.
        if self.by_ending(part).is_none() && !ending.is_empty() && ending != "xml" {
            let xml = format!(
                "<Default Extension=\"{}\" ContentType=\"{}\"/>",
                escape(ending),
                escape(kind)
            );
            let xml = prefixed(&xml, document.prefix());
            document.insert(document.root.inner.start, &xml, &mut splices);
        } else {
            let xml = format!(
                "<Override PartName=\"/{}\" ContentType=\"{}\"/>",
                escape(part),
                escape(kind)
            );
            let xml = prefixed(&xml, document.prefix());
            document.append(&document.root, &xml, &mut splices);
        }
        self.document = self.document.clone().edited(splices)?;
        Ok(())
    }

    /// Forgets a part that is no more.
    pub fn forget(&mut self, part: &str) -> Result<(), CannotEdit> {
        let mut splices = Splices::default();
        for child in self.document.children_of("Override") {
            if self.names(child, part) {
                splices.remove(child.at.clone());
            }
        }
        self.document = self.document.clone().edited(splices)?;
        Ok(())
    }
}
