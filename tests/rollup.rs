//! Many audits as one: parts of a batch, put together again, and audits of
//! which only what changed is done again.

mod common;

use common::*;
use std::path::{Path, PathBuf};

/// A small house; `mca` and `breaker` are what jobs differ in.
fn house(job: &str, mca: &str, breaker: &str) -> String {
    format!(
        "Job,Tag,Type,Model,MCA,MOCP,V/PH/HZ,Panel,Ckt,Breaker,Wire\n\
         {job},OU-1,Outdoor unit,ZZ-OUT-36,{mca},50,208/230-1-60,LP,\"1,3\",{breaker},\"2#8 THHN, 1#10G\"\n\
         {job},FC-1,Fan coil,ZZ-IN-09,0.8,15,208/230-1-60,LP,\"2,4\",15A/2P,14/2 MC\n"
    )
}

/// Twenty houses in ten folders, and one below: names that come twice, a nameplate that
/// two jobs state differently, a file that cannot be read, files that are no
/// schedules.
fn season(root: &Path) -> PathBuf {
    for n in 0..10 {
        let folder = format!("season/street {n}");
        let mca = if n == 7 { "34.0" } else { "31.4" };
        let breaker = if n % 3 == 0 { "60A/2P" } else { "50A/2P" };
        let name = format!("House {}", n % 6);
        write(
            root,
            &format!("{folder}/a.csv"),
            house(&format!("Elm {n}"), mca, breaker),
        );
        write(
            root,
            &format!("{folder}/b.csv"),
            house(&name, "31.4", breaker),
        );
        write(root, &format!("{folder}/photo.jpg"), "no schedule");
    }
    write(root, "season/street 4/broken.xlsx", "no workbook");
    write(
        root,
        "season/street 5/lot/plan.csv",
        house("Elm 5", "31.4", "40A/2P"),
    );
    write(root, "season/notes.md", "# notes");
    root.join("season")
}

fn same(one: &Path, two: &Path) {
    let (one, two) = (tree(one), tree(two));
    let names = |tree: &std::collections::BTreeMap<String, Vec<u8>>| {
        tree.keys().cloned().collect::<Vec<_>>()
    };
    assert_eq!(names(&one), names(&two));
    for (name, bytes) in &one {
        assert!(*bytes == two[name], "{name} differs");
    }
}

/// The summary but for the line that names the folder.
fn said(summary: &str) -> Vec<&str> {
    summary
        .lines()
        // These name the output folder.
        .filter(|line| !line.starts_with("Start with") && !line.starts_with("Checks:"))
        .collect()
}

fn roll_up(folder: &Path, folders: &[&Path], out: &Path, more: &[&str]) -> std::process::Output {
    let mut args: Vec<String> = vec!["roll-up".into()];
    args.extend(folders.iter().map(|path| path.display().to_string()));
    args.extend(["--out".into(), out.display().to_string()]);
    args.extend(more.iter().map(|arg| (*arg).to_owned()));
    let args: Vec<&str> = args.iter().map(String::as_str).collect();
    ampledger(folder, &args)
}

#[test]
fn three_parts_rolled_up_are_the_bytes_of_one_run() {
    let folder = tempfile::tempdir().expect("a folder");
    let root = folder.path();
    let season = season(root);
    let profile = write(
        root,
        "site.toml",
        "edition = 2020\n[bus]\nbudget = \"5000 ft\"\n",
    );
    let profile = profile.display().to_string();
    // One that holds, one that lapsed.
    let entry = |job: &str, limit: &str| {
        format!(
            "[[accepted]]\njob = \"{job}\"\nrule = \"protection-over-mop\"\n\
             subject = \"LP-1,3\"\nfound = \"60 A\"\nlimit = \"{limit}\"\n\
             reason = \"a letter\"\nby = \"J. Ames\"\n\n"
        )
    };
    let accepted = write(
        root,
        "accepted.toml",
        entry("Elm 0", "50 A (MOP of the nameplate)") + &entry("Elm 3", "45 A"),
    );
    let accepted = accepted.display().to_string();
    let nameplates = write(root, "nameplates.csv", "Model,MCA\nZZ-OUT-36,31.4\n");
    let nameplates = nameplates.display().to_string();
    let samples = samples();
    for (name, paths, more) in [
        ("samples", vec![samples.as_path()], vec![]),
        (
            "season",
            vec![season.as_path()],
            vec!["--practice", &profile],
        ),
        ("files", vec![season.as_path()], vec!["--job-per", "file"]),
        ("lists", vec![season.as_path()], vec!["--findings-only"]),
        (
            "reviewed",
            vec![season.as_path()],
            vec![
                "--accepted",
                &accepted,
                "--nameplates",
                &nameplates,
                "--min-severity",
                "verify",
            ],
        ),
    ] {
        let one = root.join("out").join(name).join("one");
        let whole = audit(root, &paths, &one, &more);
        let mut jobs = 0;
        let parts = root.join("out").join(name).join("parts");
        for part in ["1/3", "2/3", "3/3"] {
            let out = parts.join(part.replace('/', "-of-"));
            let more: Vec<&str> = more.iter().copied().chain(["--shard", part]).collect();
            let run = audit(root, &paths, &out, &more);
            assert!(matches!(run.status.code(), Some(0 | 3)), "{}", stderr(&run));
            let share = rows(&out.join("jobs.csv")).len();
            assert!(share > 0, "{name}: part {part} has some of the jobs");
            jobs += share;
        }
        assert_eq!(jobs, rows(&one.join("jobs.csv")).len(), "{name}");
        let rolled = root.join("out").join(name).join("rolled");
        let run = roll_up(root, &[&parts], &rolled, &[]);
        assert_eq!(run.status.code(), whole.status.code(), "{}", stderr(&run));
        assert_eq!(said(&stdout(&run)), said(&stdout(&whole)), "{name}");
        let shown = stderr(&whole);
        assert_eq!(stderr(&run), shown, "{name}");
        assert_eq!(shown.contains(" lapsed: "), name == "reviewed", "{shown}");
        same(&one, &rolled);
        // In any order, and a folder named twice is one folder.
        let back = root.join("out").join(name).join("back");
        let three = ["3-of-3", "1-of-3", "2-of-3", "1-of-3"].map(|part| parts.join(part));
        roll_up(root, &three.each_ref().map(PathBuf::as_path), &back, &[]);
        same(&one, &back);
    }
}

#[test]
fn a_roll_up_of_the_batch_alone_leaves_the_jobs_where_they_are() {
    let folder = tempfile::tempdir().expect("a folder");
    let root = folder.path();
    let season = season(root);
    let one = root.join("one");
    audit(root, &[&season], &one, &[]);
    let out = root.join("rolled");
    roll_up(root, &[&one], &out, &["--batch-only"]);
    let (one, out) = (tree(&one), tree(&out));
    assert!(
        out.keys().all(|name| !name.contains('/')),
        "{:?}",
        out.keys()
    );
    for (name, bytes) in out.iter().filter(|(name, _)| *name != "ampledger.json") {
        assert!(*bytes == one[name], "{name} differs");
    }
    assert!(out.contains_key("batch.xlsx") && out.contains_key("findings.sarif"));
}

#[test]
fn a_roll_up_refuses_what_it_cannot_vouch_for() {
    let folder = tempfile::tempdir().expect("a folder");
    let root = folder.path();
    let a = write(root, "in/elm/a.csv", house("Elm", "31.4", "60A/2P"));
    let out = root.join("rolled");
    let refused = |folders: &[&Path]| {
        let run = roll_up(root, folders, &out, &[]);
        assert_eq!(run.status.code(), Some(2), "{}", stdout(&run));
        assert!(!out.exists(), "nothing is written");
        stderr(&run)
    };
    assert!(refused(&[&root.join("nowhere")]).contains("nowhere"));
    assert!(refused(&[&root.join("in")]).contains("no folder of an audit"));
    let (one, two) = (root.join("one"), root.join("two"));
    audit(root, &[&root.join("in")], &one, &[]);
    // Another audit of the same file.
    std::fs::write(&a, house("Elm", "31.4", "50A/2P")).expect("an edit");
    audit(root, &[&root.join("in")], &two, &[]);
    let why = refused(&[&one, &two]);
    assert!(
        why.contains("elm/a.csv") && why.contains("not alike"),
        "{why}"
    );
    let own = roll_up(root, &[&one], &one, &[]);
    assert_eq!(own.status.code(), Some(2));
    // Facts that somebody changed.
    std::fs::write(two.join("jobs.parquet"), "edited").expect("an edit");
    let why = refused(&[&two]);
    assert!(
        why.contains("jobs.parquet") && why.contains("audit again"),
        "{why}"
    );
}

#[test]
fn a_part_that_is_missing_is_named_and_parts_do_not_share_a_folder() {
    let folder = tempfile::tempdir().expect("a folder");
    let root = folder.path();
    let season = season(root);
    let season = season.to_str().expect("a name");
    for part in ["1/3", "3/3"] {
        ampledger(root, &["audit", season, "--shard", part]);
    }
    let (first, third) = (root.join("audited-1-of-3"), root.join("audited-3-of-3"));
    assert!(first.join("batch.xlsx").is_file() && third.join("batch.xlsx").is_file());
    let run = roll_up(root, &[&first, &third], &root.join("rolled"), &[]);
    assert!(
        stderr(&run).contains("part 2/3 is not among the folders"),
        "{}",
        stderr(&run)
    );
    let run = ampledger(
        root,
        &["audit", season, "--shard", "2/3", "--out", "audited-1-of-3"],
    );
    assert_eq!(run.status.code(), Some(2));
    assert!(
        stderr(&run).contains("a folder of its own"),
        "{}",
        stderr(&run)
    );
    let wrong = ampledger(root, &["audit", season, "--shard", "4/3"]);
    assert_eq!(wrong.status.code(), Some(2));
}

/// What a summary says of jobs that were not audited again.
fn reused(run: &std::process::Output) -> Option<String> {
    let text = stdout(run);
    let line = text.lines().find(|line| line.contains("unchanged since"))?;
    Some(line.split(" unchanged").next()?.to_owned())
}

#[test]
fn a_rerun_after_one_edit_audits_one_job_and_gives_the_bytes_of_a_full_run() {
    let folder = tempfile::tempdir().expect("a folder");
    let root = folder.path();
    let season = season(root);
    let out = root.join("out");
    let again = |more: &[&str]| audit(root, &[&season], &out, more);
    assert_eq!(reused(&again(&[])), None, "a first run");
    assert_eq!(reused(&again(&[])).as_deref(), Some("21 of 21 jobs"));
    let fresh = |name: &str, more: &[&str]| {
        let fresh = root.join(name);
        audit(root, &[&season], &fresh, more);
        fresh
    };
    same(&out, &fresh("fresh", &[]));
    // One edit.
    write(
        root,
        "season/street 9/a.csv",
        house("Elm 9", "31.4", "45A/2P"),
    );
    assert_eq!(reused(&again(&[])).as_deref(), Some("20 of 21 jobs"));
    same(&out, &fresh("edited", &[]));
    // A job more, a job less; the names of files move along.
    write(
        root,
        "season/street 0/0.csv",
        house("House 3", "31.4", "45A/2P"),
    );
    std::fs::remove_file(root.join("season/street 8/b.csv")).expect("a file goes");
    let run = again(&[]);
    let left: usize = reused(&run)
        .and_then(|t| t.split(' ').next()?.parse().ok())
        .unwrap_or(0);
    assert!((15..20).contains(&left), "{}", stdout(&run));
    same(&out, &fresh("moved", &[]));
    // An output that is gone, and one that somebody typed into.
    std::fs::remove_file(out.join("letters/Elm 3.md")).expect("an output goes");
    std::fs::write(out.join("jobs/Elm 4.xlsx"), "a reviewer's words").expect("an edit");
    let run = again(&[]);
    assert_eq!(reused(&run).as_deref(), Some("19 of 21 jobs"));
    assert!(
        stderr(&run).contains("kept/jobs/Elm 4.xlsx"),
        "{}",
        stderr(&run)
    );
    let kept = std::fs::read_to_string(out.join("kept/jobs/Elm 4.xlsx"));
    assert_eq!(kept.expect("kept"), "a reviewer's words");
    std::fs::remove_dir_all(out.join("kept")).expect("read");
    same(&out, &root.join("moved"));
    // Other settings are another audit, and so is one that was asked for.
    let profile = write(root, "site.toml", "edition = 2017\n");
    let profile = profile.to_str().expect("a name");
    assert_eq!(reused(&again(&["--practice", profile])), None);
    same(&out, &fresh("practice", &["--practice", profile]));
    assert_eq!(reused(&again(&["--practice", profile, "--afresh"])), None);
    assert_eq!(
        reused(&again(&["--practice", profile, "--drawings", "all"])),
        None
    );
    assert_eq!(reused(&again(&["--findings-only"])), None);
    assert_eq!(
        reused(&again(&["--findings-only"])).as_deref(),
        Some("21 of 21 jobs")
    );
}

#[test]
fn jobs_are_reused_from_another_folder() {
    let folder = tempfile::tempdir().expect("a folder");
    let root = folder.path();
    let season = season(root);
    let (last, next) = (root.join("last"), root.join("next"));
    audit(root, &[&season], &last, &[]);
    write(
        root,
        "season/street 9/a.csv",
        house("Elm 9", "31.4", "45A/2P"),
    );
    let before = tree(&last);
    let reuse = ["--reuse", last.to_str().expect("a name")];
    let run = audit(root, &[&season], &next, &reuse);
    assert_eq!(reused(&run).as_deref(), Some("20 of 21 jobs"));
    assert_eq!(before, tree(&last), "the other folder is only read");
    let fresh = root.join("fresh");
    audit(root, &[&season], &fresh, &[]);
    same(&next, &fresh);
    let none = audit(root, &[&season], &next, &["--reuse", "nowhere"]);
    assert_eq!(none.status.code(), Some(2));
    assert!(stderr(&none).contains("nowhere"), "{}", stderr(&none));
}

#[test]
fn a_run_that_was_cut_short_is_not_reused_from() {
    let folder = tempfile::tempdir().expect("a folder");
    let root = folder.path();
    let season = season(root);
    let out = root.join("out");
    audit(root, &[&season], &out, &[]);
    // As a run leaves it that dies after it announced a workbook anew.
    let name = "jobs/Elm 1.xlsx";
    write(&out, name, "half of another run");
    let hash = "0".repeat(64);
    write(&out, "ampledger.journal", format!("{hash} {name}\n"));
    let run = audit(root, &[&season], &out, &[]);
    assert_eq!(reused(&run).as_deref(), Some("20 of 21 jobs"));
}
