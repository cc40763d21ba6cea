//! Where two JSON texts say different things, for people who ask what was changed in a file.

use serde_json::Value;

/// Longest text of a value that is shown, in characters.
const SHOWN_MAX: usize = 60;

/// Where `given` differs from `stored`: paths with both values, at most `most`. Order of keys and spaces do not count.
pub(crate) fn differences(stored: &[u8], given: &[u8], most: usize) -> Vec<String> {
    let Ok(stored) = serde_json::from_slice::<Value>(stored) else {
        return vec!["the stored bytes are no JSON".to_owned()];
    };
    match serde_json::from_slice::<Value>(given) {
        Err(error) => vec![format!("the given file is no JSON: {error}")],
        Ok(given) => {
            let mut found = Vec::new();
            compare("", Some(&stored), Some(&given), &mut found, most);
            found
        }
    }
}

fn compare(path: &str, stored: Option<&Value>, given: Option<&Value>, found: &mut Vec<String>, most: usize) {
    if stored == given || found.len() >= most {
        return;
    }
    match (stored, given) {
        (Some(Value::Object(stored)), Some(Value::Object(given))) => {
            let below = |key: &str| {
                if path.is_empty() {
                    key.to_owned()
                } else {
                    format!("{path}.{key}")
                }
            };
            for (key, value) in stored {
                compare(&below(key), Some(value), given.get(key), found, most);
            }
            for (key, value) in given.iter().filter(|(key, _)| !stored.contains_key(*key)) {
                compare(&below(key), None, Some(value), found, most);
            }
        }
        (Some(Value::Array(stored)), Some(Value::Array(given))) => {
            for index in 0..stored.len().max(given.len()) {
                let at = format!("{path}[{index}]");
                compare(&at, stored.get(index), given.get(index), found, most);
            }
        }
        _ => found.push(format!(
            "{path}: issued {}, given {}",
            shown(stored),
            shown(given)
        )),
    }
}

fn shown(value: Option<&Value>) -> String {
    let Some(value) = value else {
        return "nothing".to_owned();
    };
    let text = value.to_string();
    match text.char_indices().nth(SHOWN_MAX) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn between(stored: &str, given: &str) -> Vec<String> {
        differences(stored.as_bytes(), given.as_bytes(), 50)
    }

    #[test]
    fn order_and_spaces_do_not_count() {
        assert!(between(r#"{"a":1,"b":[2]}"#, "{ \"b\": [2], \"a\": 1 }").is_empty());
    }

    #[test]
    fn each_difference_has_its_path() {
        let stored = r#"{"a":{"mass":10.5},"b":[1,2],"gone":true}"#;
        let given = r#"{"a":{"mass":10.4},"b":[1,2,3],"more":"x"}"#;
        assert_eq!(
            between(stored, given),
            [
                "a.mass: issued 10.5, given 10.4",
                "b[2]: issued nothing, given 3",
                "gone: issued true, given nothing",
                "more: issued nothing, given \"x\"",
            ]
        );
    }

    #[test]
    fn what_is_no_json_is_said() {
        assert!(
            between("{}", "%PDF")
                .first()
                .is_some_and(|text| text.contains("no JSON"))
        );
    }
}
