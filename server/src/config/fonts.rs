//! The fonts that pages are set in: those of the program, and those of a folder for what they lack.

use std::io;
use std::path::{Path, PathBuf};

use ostler_sheet::{Fonts, PaperError};

/// Endings of the files that are read.
const ENDINGS: [&str; 4] = ["ttf", "otf", "ttc", "otc"];

/// Most files of a folder, and most bytes of all together: they are kept in memory.
const FILES_MAX: usize = 64;
const BYTES_MAX: u64 = 512 * 1024 * 1024;

/// A folder of fonts that cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum FontsError {
    /// The folder or a file of it cannot be read.
    #[error("the fonts {} cannot be read", .path.display())]
    Unreadable {
        /// The folder or file.
        path: PathBuf,
        /// Why.
        #[source]
        source: io::Error,
    },
    /// A file that is no font.
    #[error("{} is no font that can be used: fonts are TrueType or OpenType", .path.display())]
    NoFont {
        /// The file.
        path: PathBuf,
    },
    /// No font at all.
    #[error("{} holds no font: its files must end in .ttf, .otf, .ttc or .otc", .path.display())]
    Empty {
        /// The folder.
        path: PathBuf,
    },
    /// More than is kept in memory.
    #[error("{} holds more than {} files or {} MiB of fonts: take those that are needed", .path.display(), FILES_MAX, BYTES_MAX >> 20)]
    TooMuch {
        /// The folder.
        path: PathBuf,
    },
    /// The fonts of the program itself.
    #[error("the fonts of the program cannot be used")]
    BuiltIn(#[source] PaperError),
}

/// The fonts of the program, and after them those of `folder` in the order of their file names.
///
/// # Errors
/// When the folder cannot be read, holds no font, or a file that is none.
pub fn fonts(folder: Option<&Path>) -> Result<Fonts, FontsError> {
    let Some(folder) = folder else {
        return Fonts::built_in().map_err(FontsError::BuiltIn);
    };
    let unreadable = |path: &Path| {
        let path = path.to_owned();
        move |source| FontsError::Unreadable { path, source }
    };
    let mut paths = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(unreadable(folder))? {
        let path = entry.map_err(unreadable(folder))?.path();
        let ending = path
            .extension()
            .and_then(|ending| ending.to_str())
            .unwrap_or_default();
        if ENDINGS.contains(&ending.to_ascii_lowercase().as_str()) {
            paths.push(path);
        }
    }
    paths.sort();
    if paths.is_empty() {
        return Err(FontsError::Empty {
            path: folder.to_owned(),
        });
    }
    let mut bytes = 0;
    for path in &paths {
        bytes += std::fs::metadata(path).map_err(unreadable(path))?.len();
    }
    if paths.len() > FILES_MAX || bytes > BYTES_MAX {
        return Err(FontsError::TooMuch {
            path: folder.to_owned(),
        });
    }
    let mut files = Vec::with_capacity(paths.len());
    for path in &paths {
        files.push(std::fs::read(path).map_err(unreadable(path))?);
    }
    Fonts::and(files).map_err(|error| match error {
        PaperError::Font { index } => FontsError::NoFont {
            path: paths.get(index).cloned().unwrap_or_default(),
        },
        other => FontsError::BuiltIn(other),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_that_is_of_no_use_is_refused_by_its_name() {
        let own = |path: &str| Path::new(env!("CARGO_MANIFEST_DIR")).join(path);
        let refused = |path: &str| fonts(Some(&own(path))).unwrap_err();
        assert!(matches!(refused("demo"), FontsError::Empty { .. }));
        assert!(matches!(refused("none"), FontsError::Unreadable { .. }));
        assert!(refused("demo").to_string().contains("demo"));
        assert!(fonts(None).is_ok() && fonts(Some(&own("paper/fonts"))).is_ok());
    }
}
