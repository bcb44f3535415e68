//! What a template may know: itself, one sheet and two fonts. It reaches no file, no network and no clock.

use std::sync::LazyLock;

use typst::diag::{FileError, FileResult};
use typst::foundations::{Bytes, Datetime, Duration};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World};

const TEMPLATE: &str = include_str!("sheet.typ");

/// What all sheets share.
struct Shared {
    library: LazyHash<Library>,
    fonts: Vec<Font>,
    book: LazyHash<FontBook>,
    template: Source,
    sheet: FileId,
}

static SHARED: LazyLock<Option<Shared>> = LazyLock::new(|| {
    let fonts = [dejavu::sans::regular(), dejavu::sans::bold()];
    let fonts = fonts.map(|font| Font::new(Bytes::new(font), 0));
    let fonts: Vec<Font> = fonts.into_iter().flatten().collect();
    let file = |path| {
        let path = VirtualPath::new(path).ok()?;
        Some(RootedPath::new(VirtualRoot::Project, path).intern())
    };
    Some(Shared {
        library: LazyHash::new(Library::default()),
        book: LazyHash::new(FontBook::from_fonts(&fonts)),
        fonts,
        template: Source::new(file("/sheet.typ")?, TEMPLATE.to_owned()),
        sheet: file("/sheet.json")?,
    })
});

/// The template and one sheet.
pub(super) struct OneSheet {
    shared: &'static Shared,
    sheet: Bytes,
}

impl OneSheet {
    /// `None` where the program lacks what it was built with.
    pub(super) fn new(sheet: Vec<u8>) -> Option<Self> {
        Some(Self {
            shared: SHARED.as_ref()?,
            sheet: Bytes::new(sheet),
        })
    }
}

impl World for OneSheet {
    fn library(&self) -> &LazyHash<Library> {
        &self.shared.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &self.shared.book
    }

    fn main(&self) -> FileId {
        self.shared.template.id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        match id == self.main() {
            true => Ok(self.shared.template.clone()),
            false => Err(FileError::AccessDenied),
        }
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        match id == self.shared.sheet {
            true => Ok(self.sheet.clone()),
            false => Err(FileError::AccessDenied),
        }
    }

    fn font(&self, index: usize) -> Option<Font> {
        self.shared.fonts.get(index).cloned()
    }

    fn today(&self, _: Option<Duration>) -> Option<Datetime> {
        None
    }
}
