//! The fonts that the program carries, and which characters they can draw.

use krilla::text::Font;
use parley::fontique::{Blob, Charmap, Collection, CollectionOptions, FontInfoOverride, GenericFamily};
use parley::{FontContext, FontFamilyName};
use std::borrow::Cow;
use std::sync::{Arc, LazyLock};

/// Each font file, and the family it counts as. The families are asked in this order.
static FILES: [(&str, &[u8]); 7] = [
    ("Latin", include_bytes!("fonts/sans-regular.ttf")),
    ("Latin", include_bytes!("fonts/sans-bold.ttf")),
    ("Hebrew", include_bytes!("fonts/hebrew-regular.ttf")),
    ("Hebrew", include_bytes!("fonts/hebrew-bold.ttf")),
    ("Arabic", include_bytes!("fonts/arabic-regular.ttf")),
    ("Arabic", include_bytes!("fonts/arabic-bold.ttf")),
    ("Emoji", include_bytes!("fonts/emoji-regular.ttf")),
];

/// In which order the families are asked for a character.
pub(super) const FAMILIES: &[FontFamilyName<'static>] = &[
    FontFamilyName::Named(Cow::Borrowed("Latin")),
    FontFamilyName::Named(Cow::Borrowed("Hebrew")),
    FontFamilyName::Named(Cow::Borrowed("Arabic")),
    FontFamilyName::Named(Cow::Borrowed("Emoji")),
];

struct Carried {
    fonts: FontContext,
    /// The number by which a text's layout names each file.
    ids: Vec<u64>,
    /// Which characters each of the four families has.
    maps: Vec<Charmap<'static>>,
}

static CARRIED: LazyLock<Carried> = LazyLock::new(|| {
    let options = CollectionOptions { shared: false, system_fonts: false };
    let mut fonts = FontContext { collection: Collection::new(options), ..FontContext::default() };
    let (mut ids, mut maps, mut last) = (Vec::new(), Vec::new(), "");
    for (family, bytes) in FILES {
        let blob = Blob::new(Arc::new(bytes));
        ids.push(blob.id());
        let named = FontInfoOverride { family_name: Some(family), ..FontInfoOverride::default() };
        for (id, infos) in fonts.collection.register_fonts(blob, Some(named)) {
            if last != family {
                maps.extend(infos.first().and_then(|i| i.charmap_index().charmap(bytes)));
                last = family;
            }
            if family == "Emoji" {
                fonts.collection.set_generic_families(GenericFamily::Emoji, [id].into_iter());
            }
        }
    }
    Carried { fonts, ids, maps }
});

/// The fonts as text is set with them.
pub(super) fn fonts() -> FontContext {
    CARRIED.fonts.clone()
}

/// Which file a layout names by that number.
pub(super) fn file(id: u64) -> Option<usize> {
    CARRIED.ids.iter().position(|have| *have == id)
}

/// A file as the PDF embeds it.
pub(super) fn font(file: usize) -> Option<Font> {
    Font::new(FILES.get(file)?.1.into(), 0)
}

/// Signs without a shape of their own that join, part or turn what stands beside them.
fn shapeless(c: char) -> bool {
    matches!(c, '\n' | '\u{ad}' | '\u{200c}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'
        | '\u{2066}'..='\u{2069}' | '\u{fe0e}' | '\u{fe0f}')
}

/// Whether a character can be drawn.
fn drawn(c: char) -> bool {
    shapeless(c) || (!c.is_control() && CARRIED.maps.iter().any(|m| m.map(c).is_some_and(|glyph| glyph != 0)))
}

/// A character as its code point.
pub(super) fn point(c: char) -> String {
    format!("[U+{:04X}]", u32::from(c))
}

/// Whether there is nothing in it to see, though it is not only plain blanks.
fn unseen(text: &str) -> bool {
    text.chars().all(|c| shapeless(c) || c.is_whitespace()) && text.chars().any(|c| !c.is_ascii_whitespace())
}

/// The text with every character that no font here draws as its code point, and every one where none of them is seen; a tab
/// is a space.
pub(super) fn legible(text: &str) -> Cow<'_, str> {
    let unseen = unseen(text);
    if !unseen && text.chars().all(drawn) {
        return Cow::Borrowed(text);
    }
    let mut out = String::new();
    for c in text.chars() {
        match c {
            '\t' => out.push(' '),
            '\r' => {}
            c if drawn(c) && !unseen => out.push(c),
            c => out += &point(c),
        }
    }
    Cow::Owned(out)
}
