//! Data moves one way: a module may use what stands to its left on the road
//! and nothing to its right.

use std::path::{Path, PathBuf};

/// The road. A module may import from itself and from those before it.
const ROAD: [&str; 13] = [
    "schedule",
    "intake",
    "tables",
    "sizing",
    "findings",
    "practice",
    "rules",
    "acceptance",
    "proposal",
    "takeoff",
    "report",
    "batch",
    "cli",
];

/// What a module to the right may not know all the same.
const NEVER: [(&str, &[&str]); 7] = [
    ("tables", &["intake"]),
    ("sizing", &["intake", "practice"]),
    ("practice", &["intake", "tables", "sizing"]),
    ("findings", &["intake", "practice"]),
    ("rules", &["intake"]),
    ("proposal", &["intake"]),
    ("takeoff", &["intake"]),
];

fn sources(folder: &Path, into: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder)
        .expect("src can be read")
        .flatten()
    {
        let path = entry.path();
        if path.is_dir() {
            sources(&path, into);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            into.push(path);
        }
    }
}

#[test]
fn no_import_goes_up_the_road() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    sources(&src, &mut files);
    assert!(files.len() > 20, "the sources were not found");
    let place = |name: &str| ROAD.iter().position(|module| *module == name);
    let mut faults = Vec::new();
    for file in &files {
        let relative = file.strip_prefix(&src).expect("below src");
        let first = relative
            .components()
            .next()
            .expect("a path")
            .as_os_str()
            .to_string_lossy();
        let module = first.trim_end_matches(".rs").to_owned();
        let Some(own) = place(&module) else {
            assert!(
                ["lib", "main", "build"].contains(&module.as_str()),
                "{module} is not on the road"
            );
            continue;
        };
        let never = NEVER
            .iter()
            .find(|(name, _)| *name == module)
            .map_or(&[][..], |(_, n)| n);
        let text = std::fs::read_to_string(file).expect("a source can be read");
        // Tests may look anywhere: they prove the road from outside.
        let text = text.split("#[cfg(test)]\nmod tests {").next().unwrap_or("");
        let is_test = relative
            .file_stem()
            .is_some_and(|stem| stem == "tests" || stem == "testing" || stem == "fixture")
            || relative
                .components()
                .any(|part| part.as_os_str() == "tests");
        if is_test {
            continue;
        }
        for (number, line) in text.lines().enumerate() {
            let code = line.split("//").next().unwrap_or("");
            for (start, _) in code.match_indices("crate::") {
                let rest = &code[start + "crate::".len()..];
                let target: String = rest
                    .chars()
                    .take_while(|c| c.is_alphanumeric() || *c == '_')
                    .collect();
                let Some(there) = place(&target) else {
                    continue;
                };
                if there > own || never.contains(&target.as_str()) {
                    faults.push(format!(
                        "{}:{}: {}",
                        relative.display(),
                        number + 1,
                        line.trim()
                    ));
                }
            }
        }
    }
    assert!(
        faults.is_empty(),
        "imports that go up the road:\n{}",
        faults.join("\n")
    );
}
