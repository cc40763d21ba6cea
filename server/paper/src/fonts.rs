//! The fonts inside the program.

use std::sync::Arc;

use krilla::text::Font;
use parley::FontContext;
use parley::fontique::{Blob, Collection, CollectionOptions, FontInfoOverride, SourceCache};

use crate::PaperError;

const REGULAR: &[u8] = include_bytes!("../fonts/DejaVuSansCondensed.ttf");
const BOLD: &[u8] = include_bytes!("../fonts/DejaVuSansCondensed-Bold.ttf");

/// The name under which both are registered.
pub(crate) const FAMILY: &str = "Paper";

/// The fonts: the bytes that text is shaped with are those that are embedded.
pub(crate) struct Fonts {
    blobs: [Blob<u8>; 2],
    embedded: [Font; 2],
}

/// One of the two fonts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Face {
    Regular,
    Bold,
}

impl Fonts {
    pub(crate) fn new() -> Result<Self, PaperError> {
        let embedded = |bytes: &'static [u8]| Font::new(bytes.into(), 0).ok_or(PaperError::Fonts);
        Ok(Self {
            blobs: [REGULAR, BOLD].map(|bytes| Blob::new(Arc::new(bytes))),
            embedded: [embedded(REGULAR)?, embedded(BOLD)?],
        })
    }

    /// What shaping looks fonts up in: these two and nothing of the machine.
    pub(crate) fn context(&self) -> FontContext {
        let mut collection = Collection::new(CollectionOptions {
            shared: false,
            system_fonts: false,
        });
        for blob in &self.blobs {
            let named = FontInfoOverride {
                family_name: Some(FAMILY),
                width: Some(parley::fontique::FontWidth::NORMAL),
                ..FontInfoOverride::default()
            };
            collection.register_fonts(blob.clone(), Some(named));
        }
        FontContext {
            collection,
            source_cache: SourceCache::default(),
        }
    }

    /// The font that a shaped run was set in.
    pub(crate) fn face(&self, id: u64) -> Face {
        if self.blobs[1].id() == id {
            Face::Bold
        } else {
            Face::Regular
        }
    }

    /// The font for the file.
    pub(crate) fn embedded(&self, face: Face) -> Font {
        let [regular, bold] = &self.embedded;
        match face {
            Face::Regular => regular.clone(),
            Face::Bold => bold.clone(),
        }
    }
}
