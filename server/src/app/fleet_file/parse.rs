//! From bytes to nodes, within limits.
//!
//! The file is one document without tags, anchors and aliases: what stands in it is all there is,
//! so that a small file cannot unfold into a large one.

use ostler_core::check::InvalidInput;
use saphyr_parser::{Event, Marker, Parser, ScalarStyle, Span};

use super::node::{Content, Key, Node, Place};

/// Most bytes of a file.
pub(super) const BYTES_MAX: usize = 8 * 1024 * 1024;
/// Deepest nesting.
pub(super) const DEPTH_MAX: usize = 40;
/// Most nodes, keys not counted.
pub(super) const NODES_MAX: usize = 200_000;

/// Field of a fault of the file as a whole, as requests name it.
pub(super) const WHOLE: &str = "fleet_file";

/// Reads a file into its root node. A key that stands twice in a mapping is kept twice; the reader of
/// the mapping refuses it.
pub(super) fn parse(bytes: &[u8]) -> Result<Node, InvalidInput> {
    if bytes.len() > BYTES_MAX {
        let problem = format!("must be at most {BYTES_MAX} bytes, has {}", bytes.len());
        return Err(InvalidInput::one(WHOLE, problem));
    }
    let text = std::str::from_utf8(bytes).map_err(|error| {
        let valid = String::from_utf8_lossy(&bytes[..error.valid_up_to()]);
        refuse(
            place_after(&valid),
            format!("byte {} is not UTF-8", error.valid_up_to() + 1),
        )
    })?;
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    Build::default().document(text)
}

fn place_after(text: &str) -> Place {
    let line_start = text.rfind('\n').map_or(0, |end| end + 1);
    Place {
        line: text.matches('\n').count() + 1,
        column: text[line_start..].chars().count() + 1,
    }
}

fn refuse(place: Place, problem: impl std::fmt::Display) -> InvalidInput {
    InvalidInput::one(WHOLE, format!("{place}: {problem}"))
}

fn place(marker: &Marker) -> Place {
    Place {
        line: marker.line(),
        column: marker.col() + 1,
    }
}

/// A collection that is still open.
struct Open {
    place: Place,
    content: OpenContent,
}

enum OpenContent {
    Sequence(Vec<Node>),
    Mapping {
        entries: Vec<(Key, Node)>,
        key: Option<Key>,
    },
}

#[derive(Default)]
struct Build {
    open: Vec<Open>,
    root: Option<Node>,
    nodes: usize,
    documents: usize,
}

impl Build {
    fn document(mut self, text: &str) -> Result<Node, InvalidInput> {
        let mut parser = Parser::new_from_str(text);
        // Every event but a few takes at least one character, which bounds the loop.
        while let Some(event) = parser.next_event() {
            let (event, span) = event
                .map_err(|error| refuse(place(error.marker()), format!("is not YAML: {}", error.info())))?;
            if matches!(event, Event::StreamEnd) {
                break;
            }
            self.event(event, span)?;
        }
        self.root
            .ok_or_else(|| InvalidInput::one(WHOLE, "must hold a fleet, is empty"))
    }

    fn event(&mut self, event: Event<'_>, span: Span) -> Result<(), InvalidInput> {
        let place = place(&span.start);
        match event {
            Event::DocumentStart(_) => {
                self.documents += 1;
                if self.documents > 1 {
                    return Err(refuse(place, "must be one document; a second one starts here"));
                }
                Ok(())
            }
            Event::Alias(_) => Err(refuse(
                place,
                "aliases (`*…`) are not allowed; write the value out",
            )),
            Event::Scalar(text, style, anchor, tag) => {
                plain_node(place, anchor, tag.is_some())?;
                let quoted = !matches!(style, ScalarStyle::Plain);
                let text = text.into_owned();
                if let Some(Open {
                    content: OpenContent::Mapping { key: key @ None, .. },
                    ..
                }) = self.open.last_mut()
                {
                    *key = Some(Key { place, text });
                    return Ok(());
                }
                self.count(place)?;
                self.close(Node {
                    place,
                    content: Content::Scalar { text, quoted },
                });
                Ok(())
            }
            Event::SequenceStart(anchor, tag) => {
                plain_node(place, anchor, tag.is_some())?;
                self.begin(place, OpenContent::Sequence(Vec::new()))
            }
            Event::MappingStart(anchor, tag) => {
                plain_node(place, anchor, tag.is_some())?;
                self.begin(
                    place,
                    OpenContent::Mapping {
                        entries: Vec::new(),
                        key: None,
                    },
                )
            }
            Event::SequenceEnd | Event::MappingEnd => {
                if let Some(Open { place, content }) = self.open.pop() {
                    let content = match content {
                        OpenContent::Sequence(nodes) => Content::Sequence(nodes),
                        OpenContent::Mapping { entries, .. } => Content::Mapping(entries),
                    };
                    self.close(Node { place, content });
                }
                Ok(())
            }
            Event::Nothing | Event::StreamStart | Event::StreamEnd | Event::DocumentEnd => Ok(()),
        }
    }

    fn begin(&mut self, place: Place, content: OpenContent) -> Result<(), InvalidInput> {
        if let Some(Open {
            content: OpenContent::Mapping { key: None, .. },
            ..
        }) = self.open.last()
        {
            return Err(refuse(
                place,
                "a key must be a single word, not a list or mapping",
            ));
        }
        if self.open.len() == DEPTH_MAX {
            return Err(refuse(place, format!("is nested deeper than {DEPTH_MAX} levels")));
        }
        self.count(place)?;
        self.open.push(Open { place, content });
        Ok(())
    }

    fn count(&mut self, place: Place) -> Result<(), InvalidInput> {
        self.nodes += 1;
        if self.nodes > NODES_MAX {
            return Err(refuse(place, format!("has more than {NODES_MAX} values")));
        }
        Ok(())
    }

    /// Hands a finished node to what it stands in.
    fn close(&mut self, node: Node) {
        match self.open.last_mut() {
            None => self.root = Some(node),
            Some(Open {
                content: OpenContent::Sequence(nodes),
                ..
            }) => nodes.push(node),
            Some(Open {
                content: OpenContent::Mapping { entries, key },
                ..
            }) => {
                if let Some(key) = key.take() {
                    entries.push((key, node));
                }
            }
        }
    }
}

fn plain_node(place: Place, anchor: usize, tagged: bool) -> Result<(), InvalidInput> {
    if anchor != 0 {
        return Err(refuse(
            place,
            "anchors (`&…`) are not allowed; write the value out",
        ));
    }
    if tagged {
        return Err(refuse(
            place,
            "tags (`!…`) are not allowed; put a text that starts with `!` in quotes",
        ));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn problem(text: &[u8]) -> String {
        parse(text).unwrap_err().violations.remove(0).problem
    }

    #[test]
    fn nodes_know_their_places() {
        let root = parse(b"# fleet\nfleet:\n  id: orrin\n  list: [a, 'b']\n").unwrap();
        let Content::Mapping(entries) = &root.content else {
            panic!("a mapping")
        };
        let Content::Mapping(fleet) = &entries[0].1.content else {
            panic!("a mapping")
        };
        assert_eq!(fleet[0].0.place, Place { line: 3, column: 3 });
        assert_eq!(fleet[0].1.place, Place { line: 3, column: 7 });
        let Content::Sequence(list) = &fleet[1].1.content else {
            panic!("a list")
        };
        assert_eq!(list[1].place, Place { line: 4, column: 13 });
        assert_eq!(
            list[1].content,
            Content::Scalar {
                text: "b".to_owned(),
                quoted: true
            }
        );
    }

    #[test]
    fn what_could_unfold_or_mislead_is_refused_with_its_place() {
        for (text, start) in [
            (&b"a: &x 1\nb: *x\n"[..], "line 1, column 4: anchors"),
            (b"a: *x\n", "line 1, column 4: "),
            (b"a: !!str 1\n", "line 1, column 4: tags"),
            (b"? [a]\n: 1\n", "line 1, column 3: a key"),
            (b"a: 1\n---\nb: 1\n", "line 2, column 1: must be one document"),
            (b"a: 1\nb: \xff\n", "line 2, column 4: byte 9 is not UTF-8"),
            (b"a: [1\nb: 2\n", "line "),
            (b"", "must hold a fleet"),
        ] {
            let problem = problem(text);
            assert!(problem.starts_with(start), "{problem}");
        }
    }

    #[test]
    fn size_depth_and_count_are_bounded() {
        assert!(problem(&vec![b' '; BYTES_MAX + 1]).contains("bytes"));
        let nested = |levels: usize| format!("{}{}", "[".repeat(levels), "]".repeat(levels));
        assert!(parse(nested(DEPTH_MAX).as_bytes()).is_ok());
        assert!(problem(nested(DEPTH_MAX + 1).as_bytes()).contains("nested deeper"));
        assert!(parse(nested(100_000).as_bytes()).is_err());
        assert!(parse("- ".repeat(100_000).as_bytes()).is_err());
        assert!(parse("{a: ".repeat(100_000).as_bytes()).is_err());
        let many = "- 1\n".repeat(NODES_MAX + 1);
        assert!(problem(many.as_bytes()).contains("more than"));
    }
}
