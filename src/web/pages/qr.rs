//! A QR code as an SVG picture: dark squares on a light ground of its own, so that it reads in the dark too.

use crate::items::Tag;
use qrcodegen::{QrCode, QrCodeEcc};
use std::fmt::Write;

/// Light squares around a code, without which scanners don't find it.
const QUIET: i32 = 4;

/// The picture of a tag's address; empty if that is too long for any code.
pub(super) fn svg(address: &str, tag: &Tag) -> String {
    // A washed label loses some of it: this much of a code still reads with a quarter gone.
    let Ok(code) = QrCode::encode_text(address, QrCodeEcc::Quartile) else { return String::new() };
    let wide = code.size() + 2 * QUIET;
    let mut dark = String::new();
    for y in 0..code.size() {
        let mut x = 0;
        while x < code.size() {
            let from = x;
            while code.get_module(x, y) {
                x += 1;
            }
            if x > from {
                _ = write!(dark, "M{} {}h{}v1h-{}z", from + QUIET, y + QUIET, x - from, x - from);
            }
            x += 1;
        }
    }
    format!(
        "<svg class=\"qr\" viewBox=\"0 0 {wide} {wide}\" role=\"img\" aria-label=\"{tag}\" shape-rendering=\"crispEdges\">\
         <path fill=\"#fff\" d=\"M0 0h{wide}v{wide}h-{wide}z\"/><path fill=\"#000\" d=\"{dark}\"/></svg>"
    )
}
