//! A Rust source as tokens, so that comments, texts and formatting deceive no rule.

use std::str::FromStr;

use proc_macro2::{Delimiter, TokenStream, TokenTree};

/// One token, with its line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Token {
    /// An identifier, one punctuation character, an opening or closing bracket, or `""` for a literal.
    pub(crate) text: String,
    /// Line, from 1.
    pub(crate) line: usize,
}

/// The tokens of a source without what is only there in tests: items under `#[cfg(test)]`.
pub(crate) fn outside_tests(path: &str, source: &str) -> Vec<Token> {
    let mut tokens = Vec::new();
    flatten(parse(path, source), true, &mut tokens);
    tokens
}

/// The tokens of a source.
pub(crate) fn everything(path: &str, source: &str) -> Vec<Token> {
    let mut tokens = Vec::new();
    flatten(parse(path, source), false, &mut tokens);
    tokens
}

fn parse(path: &str, source: &str) -> TokenStream {
    TokenStream::from_str(source).unwrap_or_else(|error| panic!("{path}: {error}"))
}

fn flatten(stream: TokenStream, skip_tests: bool, out: &mut Vec<Token>) {
    let trees: Vec<TokenTree> = stream.into_iter().collect();
    let mut at = 0;
    while let Some(tree) = trees.get(at) {
        if skip_tests && is_test_attribute(&trees[at..]) {
            at = end_of_item(&trees, at + 2);
            continue;
        }
        push(tree.clone(), skip_tests, out);
        at += 1;
    }
}

/// Whether these begin with `#[cfg(test)]`.
fn is_test_attribute(trees: &[TokenTree]) -> bool {
    let [TokenTree::Punct(hash), TokenTree::Group(group), ..] = trees else {
        return false;
    };
    let inner: String = group.stream().to_string().split_whitespace().collect();
    hash.as_char() == '#' && group.delimiter() == Delimiter::Bracket && inner == "cfg(test)"
}

/// The place after the item that begins at `at`: after its body in braces or its semicolon.
fn end_of_item(trees: &[TokenTree], at: usize) -> usize {
    let ends = |tree: &TokenTree| match tree {
        TokenTree::Group(group) => group.delimiter() == Delimiter::Brace,
        TokenTree::Punct(punct) => punct.as_char() == ';',
        _ => false,
    };
    trees[at..]
        .iter()
        .position(ends)
        .map_or(trees.len(), |length| at + length + 1)
}

fn push(tree: TokenTree, skip_tests: bool, out: &mut Vec<Token>) {
    let line = tree.span().start().line;
    match tree {
        TokenTree::Group(group) => {
            let (open, close) = match group.delimiter() {
                Delimiter::Parenthesis => ("(", ")"),
                Delimiter::Brace => ("{", "}"),
                Delimiter::Bracket => ("[", "]"),
                Delimiter::None => ("", ""),
            };
            out.push(Token {
                text: open.to_owned(),
                line,
            });
            flatten(group.stream(), skip_tests, out);
            let line = group.span_close().start().line;
            out.push(Token {
                text: close.to_owned(),
                line,
            });
        }
        TokenTree::Ident(ident) => out.push(Token {
            text: ident.to_string(),
            line,
        }),
        TokenTree::Punct(punct) => out.push(Token {
            text: punct.as_char().to_string(),
            line,
        }),
        TokenTree::Literal(_) => out.push(Token {
            text: String::new(),
            line,
        }),
    }
}

/// The lines on which `pattern` begins, its tokens separated by spaces.
pub(crate) fn lines_with(tokens: &[Token], pattern: &str) -> Vec<usize> {
    let pattern: Vec<&str> = pattern.split(' ').collect();
    tokens
        .windows(pattern.len())
        .filter(|window| {
            window
                .iter()
                .zip(&pattern)
                .all(|(token, wanted)| token.text == *wanted)
        })
        .map(|window| window[0].line)
        .collect()
}

/// The modules of `std` that are named, alone (`std::env`) or in a group (`use std::{env, fs}`), with lines.
pub(crate) fn std_modules(tokens: &[Token]) -> Vec<(String, usize)> {
    let mut found = Vec::new();
    for (at, window) in tokens.windows(4).enumerate() {
        let [std, first, second, next] = window else {
            continue;
        };
        if std.text != "std" || first.text != ":" || second.text != ":" {
            continue;
        }
        if next.text != "{" {
            found.push((next.text.clone(), next.line));
            continue;
        }
        let (mut depth, mut begins) = (1_u32, true);
        for token in &tokens[at + 4..] {
            match token.text.as_str() {
                "{" => depth += 1,
                "}" => depth -= 1,
                "," if depth == 1 => begins = true,
                name if depth == 1 && begins => {
                    found.push((name.to_owned(), token.line));
                    begins = false;
                }
                _ => {}
            }
            if depth == 0 {
                break;
            }
        }
    }
    found
}

#[test]
fn comments_texts_and_test_modules_are_left_out() {
    let source = r#"
//! Says x.unwrap().
fn f() { let text = "todo!()"; } // y.expect("")
#[cfg(test)]
mod tests { fn g() { x.unwrap(); } }
fn h() { macro_call!(x.unwrap()); }
"#;
    let tokens = outside_tests("sample", source);
    assert_eq!(lines_with(&tokens, ". unwrap ("), [6]);
    assert_eq!(lines_with(&everything("sample", source), ". unwrap ("), [5, 6]);
    assert!(lines_with(&tokens, "todo !").is_empty());
}

#[test]
fn modules_of_std_are_seen_in_groups() {
    let tokens = outside_tests(
        "sample",
        "use std::{env, collections::{BTreeMap, BTreeSet}, fs};\nfn f() { std::io::stdin(); }",
    );
    let found: Vec<(String, usize)> = std_modules(&tokens);
    let names: Vec<&str> = found.iter().map(|(name, _)| name.as_str()).collect();
    assert_eq!(names, ["env", "collections", "fs", "io"]);
}
