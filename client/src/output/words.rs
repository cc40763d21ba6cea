//! Words and numbers for people.

/// `text` without control characters, line breaks kept and tabs as spaces: what others wrote must not steer the terminal.
pub(crate) fn clean(text: &str) -> String {
    let kept = |c: &char| *c == '\n' || !c.is_control();
    text.chars()
        .map(|c| if c == '\t' { ' ' } else { c })
        .filter(kept)
        .collect()
}

/// The words of an enum value: `DEFECT_SEVERITY_MINOR` of `DefectSeverity` is `minor`.
pub(crate) fn word(enum_name: &str, value_name: &str) -> String {
    let mut prefix = String::new();
    for (index, letter) in enum_name.chars().enumerate() {
        if letter.is_uppercase() && index > 0 {
            prefix.push('_');
        }
        prefix.extend(letter.to_uppercase());
    }
    prefix.push('_');
    let word = value_name.strip_prefix(&prefix).unwrap_or(value_name);
    match word {
        "UNSPECIFIED" => "not stated".to_owned(),
        _ => word.to_lowercase().replace('_', " "),
    }
}

/// A number rounded for people: to a tenth from 100 up, to a hundredth from 1 up, to three digits below.
pub(crate) fn number(value: f64) -> String {
    let magnitude = value.abs();
    let decimals = if magnitude >= 100.0 {
        1
    } else if magnitude >= 1.0 {
        2
    } else if magnitude >= 1e-6 {
        3 + magnitude.log10().floor().abs() as usize - 1
    } else {
        3
    };
    let text = format!("{value:.decimals$}");
    let trimmed = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        &text
    };
    if trimmed == "-0" {
        "0".to_owned()
    } else {
        trimmed.to_owned()
    }
}

/// `1 record`, `2 records`.
pub(crate) fn count(number: usize, singular: &str, plural: &str) -> String {
    format!("{number} {}", if number == 1 { singular } else { plural })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_rounded_for_people() {
        for (value, text) in [
            (1637.8049, "1637.8"),
            (-37.8, "-37.8"),
            (-37.804, "-37.8"),
            (1.005, "1"),
            (0.0, "0"),
            (-0.0, "0"),
            (0.84, "0.84"),
            (0.012345, "0.0123"),
            (-0.04, "-0.04"),
            (1e-9, "0"),
            (3500.0, "3500"),
        ] {
            assert_eq!(number(value), text, "{value}");
        }
    }

    #[test]
    fn enum_values_read_as_words() {
        assert_eq!(word("DefectSeverity", "DEFECT_SEVERITY_GROUNDING"), "grounding");
        assert_eq!(
            word("Answer", "ANSWER_MET_WITH_CONDITIONS"),
            "met with conditions"
        );
        assert_eq!(word("Fluid", "FLUID_UNSPECIFIED"), "not stated");
    }

    #[test]
    fn control_characters_go() {
        assert_eq!(clean("a\u{1b}[2Jb\r\nc\td"), "a[2Jb\nc d");
    }
}
