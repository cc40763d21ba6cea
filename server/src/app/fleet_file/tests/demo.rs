//! The demo fleet.

use super::super::{read, write};
use super::{content, read_text, resource};

const DEMO: &str = include_str!("../../../../demo/orrin.yaml");

#[test]
fn the_demo_reads_and_comes_back() {
    let file = read_text(DEMO);
    let back = read(&write(&file)).unwrap();
    assert_eq!(content(&back), content(&file));
    let written = String::from_utf8(write(&file)).unwrap();
    let lines = DEMO
        .lines()
        .filter(|line| !line.is_empty() && !line.starts_with('#'));
    for (line, written) in lines.clone().zip(written.lines()) {
        assert_eq!(line, written, "but for its comments the demo is as it is written");
    }
    assert_eq!(lines.count(), written.lines().count());
}

#[test]
fn the_demo_is_whole() {
    let file = read_text(DEMO);
    let count = |word: &str| {
        file.resources
            .iter()
            .filter(|resource| resource.word == word)
            .count()
    };
    for (word, expected) in [
        ("fleet", 1),
        ("vehicle", 4),
        ("cargo item", 121),
        ("substitution", 10),
        ("defect", 12),
        ("weighing", 4),
        ("rule pack", 1),
        ("departure", 1),
        ("regulated item", 19),
    ] {
        assert_eq!(count(word), expected, "{word}");
    }
    assert_eq!(resource(&file, "substitutions.s01").references().len(), 3);
    for resource in &file.resources {
        for reference in resource.references() {
            let found = file
                .resources
                .iter()
                .any(|target| *target.name == *reference.target);
            assert!(
                found,
                "{}",
                resource.violation(&reference.field, "refers to nothing in the file")
            );
        }
    }
}
