//! The fonts: two inside the program, and after them those that a machine adds for what the two lack.

use std::sync::Arc;

use krilla::text::Font;
use parley::FontContext;
use parley::fontique::{Blob, Collection, CollectionOptions, FontInfoOverride, FontWidth, SourceCache};
use parley::style::FontFamilyName;

use crate::PaperError;

const REGULAR: &[u8] = include_bytes!("../fonts/DejaVuSansCondensed.ttf");
const BOLD: &[u8] = include_bytes!("../fonts/DejaVuSansCondensed-Bold.ttf");

/// The name under which both are registered.
const FAMILY: &str = "Paper";

/// What pages and drawings are set in: the bytes that text is shaped with are those that are embedded.
///
/// Every character is taken from the first font that has it, so that adding fonts changes no text that the fonts of the program
/// can draw.
pub struct Fonts {
    /// Files with the name of the family they stand under.
    files: Vec<(String, Blob<u8>)>,
    faces: Vec<Face>,
}

/// One font of a file.
struct Face {
    file: u64,
    index: u32,
    embedded: Font,
}

impl std::fmt::Debug for Fonts {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(formatter, "Fonts({} files)", self.files.len())
    }
}

impl Fonts {
    /// The fonts inside the program.
    ///
    /// # Errors
    /// When they cannot be used.
    pub fn built_in() -> Result<Self, PaperError> {
        Self::and(Vec::new())
    }

    /// The fonts inside the program, and after them `added` files (TrueType, OpenType, collections of them), in their order.
    ///
    /// # Errors
    /// When one of them cannot be used; it is told by its place in `added`.
    pub fn and(added: Vec<Vec<u8>>) -> Result<Self, PaperError> {
        let mut fonts = Self {
            files: Vec::new(),
            faces: Vec::new(),
        };
        for bytes in [REGULAR, BOLD] {
            fonts.add(FAMILY.to_owned(), Arc::new(bytes), || PaperError::Fonts)?;
        }
        for (index, bytes) in added.into_iter().enumerate() {
            let refused = || PaperError::Font { index };
            fonts.add(format!("Added {index}"), Arc::new(bytes), refused)?;
        }
        Ok(fonts)
    }

    fn add(
        &mut self,
        family: String,
        bytes: Arc<dyn AsRef<[u8]> + Send + Sync>,
        refused: impl Fn() -> PaperError,
    ) -> Result<(), PaperError> {
        let blob = Blob::new(bytes.clone());
        let mut collection = empty();
        let registered = register(&mut collection, &family, &blob);
        let indices: Vec<u32> = registered
            .iter()
            .flat_map(|(_, fonts)| fonts.iter().map(parley::fontique::FontInfo::index))
            .collect();
        if indices.is_empty() {
            return Err(refused());
        }
        for index in indices {
            self.faces.push(Face {
                file: blob.id(),
                index,
                embedded: Font::new(bytes.clone().into(), index).ok_or_else(&refused)?,
            });
        }
        self.files.push((family, blob));
        Ok(())
    }

    /// What shaping looks fonts up in: these and nothing of the machine.
    pub(crate) fn context(&self) -> FontContext {
        let mut collection = empty();
        for (family, blob) in &self.files {
            register(&mut collection, family, blob);
        }
        FontContext {
            collection,
            source_cache: SourceCache::default(),
        }
    }

    /// The families in the order in which they are tried.
    pub(crate) fn families(&self) -> Vec<FontFamilyName<'_>> {
        let mut names: Vec<&str> = self.files.iter().map(|(family, _)| family.as_str()).collect();
        names.dedup();
        names.into_iter().map(FontFamilyName::named).collect()
    }

    /// The place of the font that a run was shaped in.
    pub(crate) fn face(&self, file: u64, index: u32) -> usize {
        self.faces
            .iter()
            .position(|face| face.file == file && face.index == index)
            .unwrap_or(0)
    }

    /// The font for the file. `None`: there is none at that place.
    pub(crate) fn embedded(&self, face: usize) -> Option<Font> {
        self.faces.get(face).map(|face| face.embedded.clone())
    }
}

fn empty() -> Collection {
    Collection::new(CollectionOptions {
        shared: false,
        system_fonts: false,
    })
}

/// Registers the fonts of a file under a name of its own. Variable fonts stand at their default, which is what is embedded.
fn register(
    collection: &mut Collection,
    family: &str,
    blob: &Blob<u8>,
) -> Vec<(parley::fontique::FamilyId, Vec<parley::fontique::FontInfo>)> {
    let named = FontInfoOverride {
        family_name: Some(family),
        width: Some(FontWidth::NORMAL),
        axes: Some(&[]),
        ..FontInfoOverride::default()
    };
    collection.register_fonts(blob.clone(), Some(named))
}
