//! Identifiers within a vehicle or departure, and full names of resources.

use std::borrow::Borrow;
use std::fmt;
use std::ops::Deref;
use std::sync::Arc;

use crate::check::InvalidInput;

/// Most characters of an [`Id`].
const ID_LENGTH_MAX: usize = 63;

/// Most characters of a [`Name`].
const NAME_LENGTH_MAX: usize = 400;

/// An identifier: lower-case letters, digits, `-`, `_` and `.`, starting and ending with a letter or
/// digit, 1 to 63 characters. `gearbox`, `spring.front.left`, `t1a`. Copies share the text: results name what they come from.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Id(Arc<str>);

impl Id {
    /// Takes `text` as an identifier.
    ///
    /// # Errors
    /// When it is not of the form of an identifier.
    pub fn new(text: impl Into<String>) -> Result<Self, InvalidInput> {
        let text = text.into();
        if is_id(&text) {
            Ok(Self(text.into()))
        } else {
            Err(InvalidInput::one(
                "",
                format!(
                    "must be 1 to {ID_LENGTH_MAX} lower-case letters, digits, `-`, `_` or `.`, starting and ending \
                     with a letter or digit, is {:?}",
                    shorten(&text)
                ),
            ))
        }
    }

    /// The part before the first dot: `spring` of `spring.front.left`.
    pub fn head(&self) -> &str {
        self.0.split('.').next().unwrap_or(&self.0)
    }
}

/// Whether `text` has the form of an [`Id`].
pub fn is_id(text: &str) -> bool {
    let edge =
        |byte: Option<&u8>| byte.is_some_and(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit());
    let bytes = text.as_bytes();
    bytes.len() <= ID_LENGTH_MAX
        && edge(bytes.first())
        && edge(bytes.last())
        && bytes.iter().all(|byte| {
            byte.is_ascii_lowercase() || byte.is_ascii_digit() || matches!(byte, b'-' | b'_' | b'.')
        })
}

/// Full name of a resource: `fleets/orrin/vehicles/v1`. Collections and ids alternate. Copies share the text.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Name(Arc<str>);

impl Name {
    /// Takes `text` as a name.
    ///
    /// # Errors
    /// When it is not pairs of a collection and an identifier, joined by `/`.
    pub fn new(text: impl Into<String>) -> Result<Self, InvalidInput> {
        let text = text.into();
        let segments: Vec<&str> = text.split('/').collect();
        let well_formed = text.len() <= NAME_LENGTH_MAX
            && segments.len().is_multiple_of(2)
            && segments
                .chunks(2)
                .all(|pair| is_collection(pair[0]) && is_id(pair[1]));
        if well_formed {
            Ok(Self(text.into()))
        } else {
            Err(InvalidInput::one(
                "",
                format!(
                    "must be a resource name such as `fleets/orrin/vehicles/v1`, is {:?}",
                    shorten(&text)
                ),
            ))
        }
    }

    /// The name of the resource `id` in `collection` below this one.
    pub fn child(&self, collection: &str, id: &Id) -> Self {
        Self(format!("{}/{collection}/{id}", self.0).into())
    }

    /// The last part: the resource's id.
    pub fn id(&self) -> &str {
        self.0.rsplit('/').next().unwrap_or(&self.0)
    }

    /// The collection it is in: `vehicles` of `fleets/orrin/vehicles/v1`.
    pub fn collection(&self) -> &str {
        self.0.rsplit('/').nth(1).unwrap_or_default()
    }

    /// The resource it stands below. `None` for a fleet.
    pub fn parent(&self) -> Option<Self> {
        let end = self.0.rmatch_indices('/').nth(1)?.0;
        Some(Self(self.0[..end].into()))
    }

    /// The fleet it belongs to: its first two parts.
    pub fn fleet(&self) -> Self {
        match self.0.match_indices('/').nth(1) {
            Some((end, _)) => Self(self.0[..end].into()),
            None => self.clone(),
        }
    }
}

fn is_collection(text: &str) -> bool {
    let bytes = text.as_bytes();
    bytes.first().is_some_and(u8::is_ascii_lowercase) && bytes.iter().all(u8::is_ascii_alphabetic)
}

fn shorten(text: &str) -> String {
    text.chars().take(80).collect()
}

macro_rules! text_newtype {
    ($type:ty) => {
        impl Deref for $type {
            type Target = str;
            fn deref(&self) -> &str {
                &self.0
            }
        }
        impl Borrow<str> for $type {
            fn borrow(&self) -> &str {
                &self.0
            }
        }
        impl AsRef<str> for $type {
            fn as_ref(&self) -> &str {
                &self.0
            }
        }
        impl fmt::Display for $type {
            fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
                formatter.write_str(&self.0)
            }
        }
        impl From<$type> for String {
            fn from(value: $type) -> Self {
                value.0.as_ref().to_owned()
            }
        }
    };
}

text_newtype!(Id);
text_newtype!(Name);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_keep_to_their_form() {
        for good in ["v1", "spring.front.left", "a", "k09-p8", "slip_joint"] {
            assert!(Id::new(good).is_ok(), "{good}");
        }
        for bad in ["", "V1", "-a", "a-", ".a", "a/b", "ä", "a b", &"a".repeat(64)] {
            assert!(Id::new(bad).is_err(), "{bad}");
        }
        assert_eq!(Id::new("spring.front.left").unwrap().head(), "spring");
    }

    #[test]
    fn names_know_their_parts() {
        let name = Name::new("fleets/orrin/vehicles/v1/fitments/gearbox").unwrap();
        assert_eq!(name.id(), "gearbox");
        assert_eq!(name.collection(), "fitments");
        assert_eq!(&*name.parent().unwrap(), "fleets/orrin/vehicles/v1");
        assert_eq!(&*name.fleet(), "fleets/orrin");
        assert_eq!(Name::new("fleets/orrin").unwrap().parent(), None);
        for bad in [
            "",
            "fleets",
            "fleets/",
            "fleets/orrin/vehicles",
            "/a",
            "fleets/A",
            "1/a",
        ] {
            assert!(Name::new(bad).is_err(), "{bad}");
        }
    }
}
