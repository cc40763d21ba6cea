//! Every parser of bytes from outside, against bytes that nobody would send: none panics, and what is accepted survives
//! being written and read again.
//!
//! Two parts: the corpus that long fuzzing runs left (`tests/fuzz`), and a short run of seeded random changes to it.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use std::path::Path;

use ostler_server::parsers::{Outcome, PARSERS, Parser};
use rand::seq::IndexedRandom as _;
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;

/// Changed inputs a parser.
const CHANGES: usize = 3_000;

/// Pieces that grammars break at.
const PIECES: &[&[u8]] = &[
    b"\"",
    b"'",
    b"\n",
    b"\r\n",
    b",",
    b";",
    b":",
    b"{",
    b"}",
    b"[",
    b"]",
    b"(",
    b")",
    b"&a",
    b"*a",
    b"<<: ",
    b"---\n",
    b"!",
    b"-",
    b"1e999",
    b"NaN",
    b"-0",
    b"99999999999999999999",
    b"\xff",
    b"\xc3\x28",
    b"\xe2\x80\xae",
    b"\0",
    b"=1+1",
    b" && ",
    b" || ",
    b" ? ",
    b"R",
    b"x",
    b"/",
    b".",
    b"null",
    b"true",
    b"\\u0000",
];

fn corpus(parser: &Parser) -> Vec<Vec<u8>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("fuzz/corpus")
        .join(parser.name);
    let mut files: Vec<_> = std::fs::read_dir(&folder)
        .unwrap_or_else(|error| panic!("{}: {error}", folder.display()))
        .map(|entry| entry.unwrap().path())
        .collect();
    files.sort();
    let seeds = parser.seeds.iter().map(|seed| seed.to_vec());
    seeds
        .chain(files.into_iter().map(|file| std::fs::read(file).unwrap()))
        .collect()
}

fn changed(inputs: &[Vec<u8>], random: &mut ChaCha8Rng) -> Vec<u8> {
    let mut input = inputs.choose(random).unwrap().clone();
    for _ in 0..random.random_range(1..=6) {
        let at = random.random_range(0..=input.len());
        match random.random_range(0..5) {
            0 if at < input.len() => input[at] = random.random(),
            1 if at < input.len() => {
                input.remove(at);
            }
            2 => {
                let piece = PIECES.choose(random).unwrap();
                input.splice(at..at, piece.iter().copied());
            }
            3 => {
                let other = inputs.choose(random).unwrap();
                let from = random.random_range(0..=other.len());
                input.truncate(at);
                input.extend_from_slice(&other[from..]);
            }
            _ => {
                let to = (at + random.random_range(0..16)).min(input.len());
                let piece = input[at..to].to_vec();
                input.splice(at..at, piece);
            }
        }
    }
    input
}

fn read(parser: &Parser, input: &[u8]) -> Outcome {
    (parser.read)(input).unwrap_or_else(|unfaithful| panic!("{}: {input:?}: {unfaithful}", parser.name))
}

#[test]
fn the_corpus_is_read_or_refused() {
    for parser in PARSERS {
        let outcomes: Vec<Outcome> = corpus(parser).iter().map(|input| read(parser, input)).collect();
        assert!(outcomes.contains(&Outcome::Refused), "{}", parser.name);
        // A token is accepted only by who knows what its list was; the seeds of the others hold a good one.
        if !parser.name.ends_with("_token") {
            assert!(outcomes.contains(&Outcome::Accepted), "{}", parser.name);
        }
    }
}

#[test]
fn changed_inputs_are_read_or_refused() {
    for parser in PARSERS {
        let inputs = corpus(parser);
        let mut random = ChaCha8Rng::seed_from_u64(7);
        for _ in 0..CHANGES {
            read(parser, &changed(&inputs, &mut random));
        }
    }
}
