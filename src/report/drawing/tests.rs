use super::*;
use crate::findings::Audit;
use crate::practice::Practice;
use crate::schedule::fixture::Fixture;
use crate::schedule::{Feet, UnitKind};

fn job(runs: &[(&str, &str)], units: usize) -> (Schedule, Audit) {
    let mut fixture = Fixture::new();
    fixture.unit("OU-1", UnitKind::Outdoor, |_, _| {});
    for n in 1..=units {
        fixture.unit(&format!("FC-{n}"), UnitKind::Indoor, |u, c| {
            u.room = c.given(format!("Room {n} <north> & hall"));
        });
        fixture.controller(&format!("T-{n}"), &[&format!("FC-{n}")], |_, _| {});
    }
    for (n, (from, to)) in runs.iter().enumerate() {
        fixture.run(from, to, |run, cells| {
            run.length = cells.given(Feet(20.0 + n as f64));
        });
    }
    let schedule = fixture.build();
    let audit = crate::rules::audit(&schedule, &Practice::default());
    (schedule, audit)
}

fn only(schedule: &Schedule, audit: &Audit, which: Drawings) -> String {
    let mut drawn = drawings(schedule, audit, which);
    assert_eq!(drawn.len(), 1);
    drawn.remove(0).svg
}

#[test]
fn a_chain_of_forty_units_wraps_and_names_each_once() {
    let tags: Vec<String> = (1..=40).map(|n| format!("FC-{n}")).collect();
    let mut runs = vec![("OU-1", "FC-1")];
    runs.extend(
        tags.windows(2)
            .map(|pair| (pair[0].as_str(), pair[1].as_str())),
    );
    let (schedule, audit) = job(&runs, 40);
    let svg = only(&schedule, &audit, Drawings::All);
    for tag in &tags {
        assert_eq!(svg.matches(&format!(">{tag}</text>")).count(), 1, "{tag}");
    }
    for (n, _) in runs.iter().enumerate() {
        assert_eq!(svg.matches(&format!(">{} ft</text>", 20 + n)).count(), 1);
    }
    assert!(!svg.contains(" & ") && svg.contains("Room 1 &lt;"));
    assert_eq!(svg, only(&schedule, &audit, Drawings::All));
    let readable = quick_xml::Reader::from_str(&svg);
    assert!(reads_to_its_end(readable));
}

fn reads_to_its_end(mut reader: quick_xml::Reader<&[u8]>) -> bool {
    loop {
        match reader.read_event() {
            Ok(quick_xml::events::Event::Eof) => return true,
            Ok(_) => {}
            Err(_) => return false,
        }
    }
}

#[test]
fn faults_stand_in_words_in_the_drawing() {
    let star = [("OU-1", "FC-1"), ("FC-1", "FC-2"), ("FC-1", "FC-3")];
    let (schedule, audit) = job(&star, 3);
    let svg = only(&schedule, &audit, Drawings::Findings);
    assert!(svg.contains("BRANCH: FC-1 to FC-3, 22 ft"), "{svg}");
    assert!(svg.contains("bus-branches"));

    let looped = [
        ("OU-1", "FC-1"),
        ("FC-1", "FC-2"),
        ("FC-2", "FC-3"),
        ("FC-3", "FC-1"),
    ];
    let (schedule, audit) = job(&looped, 3);
    let svg = only(&schedule, &audit, Drawings::Findings);
    assert!(svg.contains("LOOP: FC-3 to FC-1, 23 ft"), "{svg}");

    let broken = [("OU-1", "FC-1"), ("FC-2", "FC-3")];
    let (schedule, audit) = job(&broken, 3);
    let svg = only(&schedule, &audit, Drawings::Findings);
    assert!(svg.contains("NOT REACHED from the outdoor unit"), "{svg}");
    assert!(svg.contains("BROKEN"));
}

#[test]
fn nothing_is_drawn_of_a_sound_chain_unless_asked() {
    let (schedule, mut audit) = job(&[("OU-1", "FC-1"), ("FC-1", "FC-2")], 2);
    audit
        .findings
        .retain(|finding| !finding.rule.starts_with("bus-"));
    assert!(drawings(&schedule, &audit, Drawings::Findings).is_empty());
    assert!(drawings(&schedule, &audit, Drawings::None).is_empty());
    assert_eq!(drawings(&schedule, &audit, Drawings::All).len(), 1);
}

/// Pixels of a PNG of ours, read by what reads any zlib stream: width,
/// height, greys.
fn pixels(png: &[u8]) -> (usize, usize, Vec<u8>) {
    use std::io::Read;
    let number = |at: usize| {
        let bytes: [u8; 4] = png[at..at + 4].try_into().expect("four bytes");
        u32::from_be_bytes(bytes) as usize
    };
    assert_eq!(&png[..8], b"\x89PNG\r\n\x1a\n");
    let (width, height) = (number(16), number(20));
    let mut at = 8;
    let mut data = Vec::new();
    while at < png.len() {
        let length = number(at);
        if &png[at + 4..at + 8] == b"IDAT" {
            data.extend(&png[at + 8..at + 8 + length]);
        }
        at += 12 + length;
    }
    let mut rows = Vec::new();
    flate2::read::ZlibDecoder::new(&data[..])
        .read_to_end(&mut rows)
        .expect("a stream");
    assert_eq!(rows.len(), height * (width + 1));
    let greys = rows
        .chunks(width + 1)
        .flat_map(|row| row[1..].iter().copied())
        .collect();
    (width, height, greys)
}

#[test]
fn the_picture_is_the_drawing_and_always_the_same() {
    let (schedule, audit) = job(&[("OU-1", "FC-1"), ("FC-1", "FC-2")], 2);
    let drawn = drawings(&schedule, &audit, Drawings::All);
    let png = drawn[0].picture().expect("a picture");
    assert!(
        png == drawings(&schedule, &audit, Drawings::All)[0]
            .picture()
            .expect("again")
    );
    let (width, height, greys) = pixels(&png);
    assert_eq!(width as f64, (drawn[0].width * 2.0).ceil());
    assert_eq!(height as f64, (drawn[0].height * 2.0).ceil());
    // Black on white: most is paper, and there are letters and lines.
    let black = greys.iter().filter(|grey| **grey < 64).count();
    let white = greys.iter().filter(|grey| **grey > 250).count();
    assert!(white * 10 > greys.len() * 9, "{white} of {}", greys.len());
    assert!(black > 4_000, "{black} of {}", greys.len());
    assert!(greys[0] == 255, "the corner is paper");
}

/// Crosses drawn: two strokes each.
fn crosses(svg: &str) -> usize {
    let width = canvas::Stroke::Cross.width();
    svg.matches(&format!("stroke-width=\"{width}\"")).count() / 2
}

#[test]
fn every_fault_has_a_cross_and_a_star_has_no_last_unit() {
    let sound = job(&[("OU-1", "FC-1"), ("FC-1", "FC-2")], 2);
    let svg = only(&sound.0, &sound.1, Drawings::All);
    assert_eq!(crosses(&svg), 0);
    assert!(svg.contains(">last unit<"));
    let star = [("OU-1", "FC-1"), ("OU-1", "FC-2"), ("OU-1", "FC-3")];
    let star = job(&star, 3);
    let svg = only(&star.0, &star.1, Drawings::Findings);
    assert_eq!(crosses(&svg), 2, "the second and the third run");
    assert_eq!(svg.matches("BRANCH: ").count(), 2);
    assert!(!svg.contains(">last unit<"));
}

#[test]
fn a_controller_that_is_wired_elsewhere_is_drawn_so() {
    let runs = [
        ("OU-1", "FC-1"),
        ("FC-1", "FC-2"),
        ("T-1", "FC-1"),
        ("T-2", "T-1"),
    ];
    let (schedule, audit) = job(&runs, 2);
    let svg = only(&schedule, &audit, Drawings::All);
    assert!(svg.contains(">to T-1, 23 ft<"), "{svg}");
    assert!(svg.contains("controller-not-home-run"));
    assert_eq!(crosses(&svg), 1);
}

#[test]
fn a_long_drawing_can_be_cut_between_its_lines_of_units() {
    let tags: Vec<String> = (1..=40).map(|n| format!("FC-{n}")).collect();
    let mut runs = vec![("OU-1", "FC-1")];
    let pairs = tags.windows(2);
    runs.extend(pairs.map(|pair| (pair[0].as_str(), pair[1].as_str())));
    let (schedule, audit) = job(&runs, 40);
    let drawn = drawings(&schedule, &audit, Drawings::All).remove(0);
    // 41 units are nine lines of five; one cut more before the findings.
    assert_eq!(drawn.cuts.len(), 9);
    let mut last = 0.0;
    for cut in &drawn.cuts {
        assert!(*cut > last && *cut < drawn.height, "{:?}", drawn.cuts);
        assert_eq!(cut % ROW, 0.0);
        last = *cut;
    }
    // No frame and no letter of a unit is cut.
    for shape in &drawn.canvas.shapes {
        let canvas::Shape::Frame(block, _) = shape else {
            continue;
        };
        let (top, bottom) = (block.corner.1, block.corner.1 + block.size.1);
        let through = drawn.cuts.iter().find(|cut| top < **cut && **cut < bottom);
        assert_eq!(through, None, "{block:?}");
    }
}
