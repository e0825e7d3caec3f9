//! The squares of a QR code.

use qrcodegen::{QrCode, QrCodeEcc};

/// Light squares around a code, without which scanners don't find it.
const QUIET: i32 = 4;

/// A code's dark squares, joined along each line.
pub struct Squares {
    /// How many squares it is wide and high, with the light ones around.
    pub wide: i32,
    /// Each stretch of dark squares: from the left, from the top, how many.
    pub dark: Vec<[i32; 3]>,
}

/// The code of a text; `None` if it is too long for any. A washed label loses some of it: with this much of it doubled it
/// still reads with a quarter gone.
pub fn squares(text: &str) -> Option<Squares> {
    let code = QrCode::encode_text(text, QrCodeEcc::Quartile).ok()?;
    let mut dark = Vec::new();
    for y in 0..code.size() {
        let mut x = 0;
        while x < code.size() {
            let from = x;
            while code.get_module(x, y) {
                x += 1;
            }
            if x > from {
                dark.push([from + QUIET, y + QUIET, x - from]);
            }
            x += 1;
        }
    }
    Some(Squares { wide: code.size() + 2 * QUIET, dark })
}
