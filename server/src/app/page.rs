//! Opaque page tokens: where a list goes on, bound to the list they came from.

use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use sha2::{Digest, Sha256};

use super::AppError;

/// Results on a page when the caller does not say.
const SIZE_DEFAULT: i32 = 100;

/// The most results on a page.
const SIZE_MAX: i32 = 1_000;

/// Version of the tokens' form.
const FORM: u8 = 1;

/// How many results a page has.
pub(super) fn size(asked: i32) -> usize {
    let size = if asked <= 0 {
        SIZE_DEFAULT
    } else {
        asked.min(SIZE_MAX)
    };
    usize::try_from(size).unwrap_or_default()
}

/// The token of a page of `list` that goes on after `last`.
pub(super) fn token(list: &str, last: &str) -> String {
    let mut bytes = vec![FORM];
    bytes.extend_from_slice(&fingerprint(list, last));
    bytes.extend_from_slice(last.as_bytes());
    URL_SAFE_NO_PAD.encode(bytes)
}

/// Where the page of `token` goes on. `None` for the first page.
///
/// # Errors
/// When the token is not one of this list's.
pub(super) fn last(list: &str, token: &str) -> Result<Option<String>, AppError> {
    if token.is_empty() {
        return Ok(None);
    }
    let bytes = URL_SAFE_NO_PAD.decode(token).map_err(|_| AppError::PageToken)?;
    let Some((head, last)) = bytes.split_at_checked(9) else {
        return Err(AppError::PageToken);
    };
    let last = str::from_utf8(last).map_err(|_| AppError::PageToken)?;
    // A database refuses some control characters as a fault of the server.
    if head[0] != FORM || head[1..] != fingerprint(list, last) || last.contains(char::is_control) {
        return Err(AppError::PageToken);
    }
    Ok(Some(last.to_owned()))
}

/// Of the place as well, so that a token that was garbled on its way is noticed.
fn fingerprint(list: &str, last: &str) -> [u8; 8] {
    let digest = Sha256::digest(format!("{list}\n{last}").as_bytes());
    let mut short = [0; 8];
    short.copy_from_slice(&digest[..8]);
    short
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_token_belongs_to_its_list() {
        let token = token("parts of fleets/f", "fleets/f/parts/p");
        assert_eq!(
            last("parts of fleets/f", &token).unwrap().as_deref(),
            Some("fleets/f/parts/p")
        );
        assert!(last("parts of fleets/g", &token).is_err());
        for bad in [
            "x",
            "!!",
            "AAAA",
            &token[1..],
            &format!("{token}A"),
            &format!("{token}AAAA"),
        ] {
            assert!(last("parts of fleets/f", bad).is_err(), "{bad}");
        }
        assert_eq!(last("any", "").unwrap(), None);
    }
}
