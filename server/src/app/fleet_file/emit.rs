//! Writes nodes as YAML: the same text for the same nodes, short mappings and lists on one line.

use super::node::{Plain, plain};

/// Columns that a line may take before a mapping or list is broken up.
const WIDTH: usize = 120;

/// Levels that are always broken up: sections, resources and their fields.
const BLOCK_LEVELS: usize = 3;

/// A node to be written.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Out {
    /// A number, `true`, `false` or `null`, as it stands.
    Bare(String),
    /// A text, quoted where it has to be.
    Text(String),
    /// A list.
    Sequence(Vec<Out>),
    /// Entries in their order.
    Mapping(Vec<(String, Out)>),
}

/// The document.
pub(super) fn document(root: &Out) -> String {
    let mut text = String::new();
    match root {
        Out::Mapping(entries) if !entries.is_empty() => block_mapping(&mut text, entries, 0, 0),
        root => {
            text.push_str(&flow(root, usize::MAX).unwrap_or_default());
            text.push('\n');
        }
    }
    text
}

fn block_mapping(text: &mut String, entries: &[(String, Out)], indent: usize, level: usize) {
    for (index, (key, value)) in entries.iter().enumerate() {
        if index > 0 || !text.ends_with("- ") {
            text.extend(std::iter::repeat_n(' ', indent));
        }
        let key = scalar(key, true);
        text.push_str(&key);
        text.push(':');
        below(text, value, indent, indent + key.chars().count() + 2, level + 1);
    }
}

/// Writes what stands behind a key.
fn below(text: &mut String, value: &Out, indent: usize, column: usize, level: usize) {
    let always_block =
        (level < BLOCK_LEVELS && matches!(value, Out::Mapping(_)) && !is_empty(value)) || is_nested(value);
    if !always_block && let Some(line) = one_line(value, WIDTH.saturating_sub(column)) {
        text.push(' ');
        text.push_str(&line);
        text.push('\n');
        return;
    }
    text.push('\n');
    match value {
        Out::Mapping(entries) => block_mapping(text, entries, indent + 2, level),
        Out::Sequence(values) => block_sequence(text, values, indent + 2, level),
        Out::Bare(_) | Out::Text(_) => {}
    }
}

fn block_sequence(text: &mut String, values: &[Out], indent: usize, level: usize) {
    for value in values {
        text.extend(std::iter::repeat_n(' ', indent));
        text.push_str("- ");
        match one_line(value, WIDTH.saturating_sub(indent + 2)) {
            Some(line) => {
                text.push_str(&line);
                text.push('\n');
            }
            None => match value {
                Out::Mapping(entries) => block_mapping(text, entries, indent + 2, level + 1),
                Out::Sequence(values) => {
                    text.push('\n');
                    block_sequence(text, values, indent + 2, level + 1);
                }
                Out::Bare(_) | Out::Text(_) => {}
            },
        }
    }
}

/// Whether a mapping holds mappings, or a list holds such a mapping: too much for one line to be read.
fn is_nested(value: &Out) -> bool {
    match value {
        Out::Mapping(entries) => entries
            .iter()
            .any(|(_, value)| matches!(value, Out::Mapping(_)) && !is_empty(value)),
        Out::Sequence(values) => values.iter().any(is_nested),
        Out::Bare(_) | Out::Text(_) => false,
    }
}

fn is_empty(value: &Out) -> bool {
    match value {
        Out::Mapping(entries) => entries.is_empty(),
        Out::Sequence(values) => values.is_empty(),
        Out::Bare(_) | Out::Text(_) => false,
    }
}

/// The value on one line: scalars always, collections when they fit and are no list of several mappings.
fn one_line(value: &Out, width: usize) -> Option<String> {
    match value {
        Out::Bare(text) => Some(text.clone()),
        Out::Text(text) => Some(scalar(text, false)),
        Out::Sequence(values)
            if values.len() > 1 && values.iter().any(|value| matches!(value, Out::Mapping(_))) =>
        {
            None
        }
        value => flow(value, width),
    }
}

/// The value in flow style; `None` when it takes more than `width` columns.
fn flow(value: &Out, width: usize) -> Option<String> {
    let text = match value {
        Out::Bare(text) => text.clone(),
        Out::Text(text) => scalar(text, true),
        Out::Sequence(values) => {
            let values: Option<Vec<String>> = values.iter().map(|value| flow(value, width)).collect();
            format!("[{}]", values?.join(", "))
        }
        Out::Mapping(entries) => {
            let entries: Option<Vec<String>> = entries
                .iter()
                .map(|(key, value)| Some(format!("{}: {}", scalar(key, true), flow(value, width)?)))
                .collect();
            format!("{{{}}}", entries?.join(", "))
        }
    };
    (text.chars().count() <= width).then_some(text)
}

/// A text as a scalar: without quotes where every reader takes it for that text, in double quotes otherwise.
/// `inside` says that it stands in a flow collection or is a key, where commas and brackets have a meaning.
fn scalar(text: &str, inside: bool) -> String {
    if is_plain(text, inside) {
        text.to_owned()
    } else {
        quoted(text)
    }
}

fn is_plain(text: &str, inside: bool) -> bool {
    let edge = |character: Option<char>| character.is_some_and(|character| !character.is_whitespace());
    text.chars()
        .next()
        .is_some_and(|first| first.is_alphanumeric() || matches!(first, '/' | '(' | '+' | '.' | '$'))
        && edge(text.chars().next_back())
        && text.chars().all(|character| {
            character.is_alphanumeric()
                || matches!(
                    character,
                    ' ' | '-' | '_' | '.' | '/' | '(' | ')' | '+' | '%' | '\'' | '<' | '>' | '=' | '*'
                )
                || matches!(
                    character,
                    '°' | '±' | '×' | '²' | '³' | '&' | '|' | '!' | '?' | ';' | '@' | '"' | '~' | '$'
                )
                || (!inside && matches!(character, ',' | '[' | ']' | '{' | '}'))
        })
        && plain(text) == Plain::Text
}

fn quoted(text: &str) -> String {
    let mut quoted = String::with_capacity(text.len() + 2);
    quoted.push('"');
    for character in text.chars() {
        match character {
            '"' => quoted.push_str("\\\""),
            '\\' => quoted.push_str("\\\\"),
            '\n' => quoted.push_str("\\n"),
            '\t' => quoted.push_str("\\t"),
            character if is_unprintable(character) => {
                quoted.push_str(&format!("\\U{:08X}", u32::from(character)));
            }
            character => quoted.push(character),
        }
    }
    quoted.push('"');
    quoted
}

/// What YAML 1.2.2, section 5.1 (read), does not count as printable, and what editors hide or break lines at.
fn is_unprintable(character: char) -> bool {
    character.is_control()
        || matches!(
            character,
            '\u{2028}' | '\u{2029}' | '\u{feff}' | '\u{fffe}' | '\u{ffff}'
        )
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::node::Content;
    use super::super::parse::parse;
    use super::*;

    /// The texts of a document `{a: [text, {b: text}], c: text}` read back.
    fn read_back(text: &str) -> Vec<(String, bool)> {
        let text = Out::Text(text.to_owned());
        let inner = Out::Mapping(vec![("b".to_owned(), text.clone())]);
        let root = Out::Mapping(vec![
            ("a".to_owned(), Out::Sequence(vec![text.clone(), inner])),
            ("c".to_owned(), text),
        ]);
        let node =
            parse(document(&root).as_bytes()).unwrap_or_else(|error| panic!("{error}: {}", document(&root)));
        let mut found = Vec::new();
        collect(&node.content, &mut found);
        found
    }

    fn collect(content: &Content, found: &mut Vec<(String, bool)>) {
        match content {
            Content::Scalar { text, quoted } => found.push((text.clone(), *quoted)),
            Content::Sequence(nodes) => nodes.iter().for_each(|node| collect(&node.content, found)),
            Content::Mapping(entries) => entries.iter().for_each(|(_, node)| collect(&node.content, found)),
        }
    }

    fn comes_back(text: &str) {
        let found = read_back(text);
        assert_eq!(found.len(), 3, "{text:?}");
        for (back, quoted) in found {
            assert_eq!(back, text);
            assert!(
                quoted || plain(&back) == Plain::Text,
                "{text:?} is taken for something else"
            );
        }
    }

    #[test]
    fn texts_that_look_like_something_else_come_back() {
        for text in [
            "",
            "yes",
            "No",
            "null",
            "~",
            "true",
            "1e3",
            "12",
            "0x1F",
            ".inf",
            "12:30",
            "2027-05-24",
            "a: b",
            "a:b",
            "a #b",
            "#",
            "# a",
            "- a",
            "-",
            "? a",
            "!tag",
            "&anchor",
            "*alias",
            "%directive",
            "@at",
            "`tick",
            "'",
            "\"",
            "it's",
            "\"quoted\" text",
            " lead",
            "trail ",
            "\ttab",
            "line\nbreak",
            "cr\r\nlf",
            "\n",
            "a,b",
            "[a]",
            "{a}",
            "a]",
            "|",
            ">",
            "---",
            "--- a",
            "...",
            "\u{feff}bom",
            "\u{85}",
            "\u{2028}",
            "\u{1f699} lorry",
            "ä ö ü",
            "\\n",
            "a\\",
            "<<",
            "=",
            "end:",
            "key: value, other: [1, 2]",
            "\u{0}",
            "\u{7f}",
            "\u{ffff}",
            "x\u{a0}",
            "\u{a0}x",
        ] {
            comes_back(text);
        }
    }

    #[test]
    fn short_collections_stand_on_one_line_and_long_ones_do_not() {
        let position = Out::Mapping(vec![
            ("x_mm".to_owned(), Out::Bare("1950".to_owned())),
            ("y_mm".to_owned(), Out::Bare("250".to_owned())),
        ]);
        let resource = Out::Mapping(vec![
            ("position".to_owned(), position.clone()),
            ("list".to_owned(), Out::Sequence(vec![position.clone(), position])),
            (
                "long".to_owned(),
                Out::Sequence(vec![Out::Text("x".repeat(60)), Out::Text("y".repeat(60))]),
            ),
            ("empty".to_owned(), Out::Mapping(Vec::new())),
        ]);
        let root = Out::Mapping(vec![(
            "things".to_owned(),
            Out::Mapping(vec![("t1".to_owned(), resource)]),
        )]);
        let long = format!("      - {}\n      - {}\n", "x".repeat(60), "y".repeat(60));
        assert_eq!(
            document(&root),
            format!(
                "things:\n  t1:\n    position: {{x_mm: 1950, y_mm: 250}}\n    list:\n      - {{x_mm: 1950, y_mm: 250}}\n      \
                 - {{x_mm: 1950, y_mm: 250}}\n    long:\n{long}    empty: {{}}\n"
            )
        );
    }

    fn any_out() -> impl Strategy<Value = Out> {
        let leaf = any::<String>().prop_map(Out::Text);
        leaf.prop_recursive(5, 60, 6, |inner| {
            prop_oneof![
                prop::collection::vec(inner.clone(), 0..6).prop_map(Out::Sequence),
                prop::collection::btree_map("[a-z][a-z0-9_.-]{0,20}", inner, 0..6)
                    .prop_map(|entries| Out::Mapping(entries.into_iter().collect())),
            ]
        })
    }

    fn same(content: &Content, out: &Out) -> bool {
        match (content, out) {
            (Content::Scalar { text, .. }, Out::Text(written)) => text == written,
            (Content::Sequence(nodes), Out::Sequence(values)) => {
                nodes.len() == values.len()
                    && nodes
                        .iter()
                        .zip(values)
                        .all(|(node, value)| same(&node.content, value))
            }
            (Content::Mapping(nodes), Out::Mapping(entries)) => {
                nodes.len() == entries.len()
                    && nodes.iter().zip(entries).all(|((key, node), (written, value))| {
                        key.text == *written && same(&node.content, value)
                    })
            }
            _ => false,
        }
    }

    proptest! {
        #[test]
        fn any_text_comes_back(text in any::<String>()) {
            comes_back(&text);
        }

        #[test]
        fn texts_of_signs_come_back(text in "[-a0 :#,'\"\\[\\]{}&*!|>%@`?\\\\\n\t~.<=]{0,12}") {
            comes_back(&text);
        }

        #[test]
        fn any_tree_comes_back(root in any_out()) {
            let text = document(&root);
            let node = parse(text.as_bytes()).unwrap();
            prop_assert!(same(&node.content, &root), "{text}");
        }
    }
}
