//! A QR code as an SVG picture: dark squares on a light ground of its own, so that it reads in the dark too.

use crate::record::paper::qr::squares;
use std::fmt::Write;

/// The picture of an address; empty if that is too long for any code. `label` is what it is called, and holds nothing that
/// means something in markup.
pub(super) fn svg(address: &str, label: &str) -> String {
    let Some(code) = squares(address) else { return String::new() };
    let (wide, mut dark) = (code.wide, String::new());
    for [x, y, long] in code.dark {
        _ = write!(dark, "M{x} {y}h{long}v1h-{long}z");
    }
    format!(
        "<svg class=\"qr\" viewBox=\"0 0 {wide} {wide}\" role=\"img\" aria-label=\"{label}\" shape-rendering=\"crispEdges\">\
         <path fill=\"#fff\" d=\"M0 0h{wide}v{wide}h-{wide}z\"/><path fill=\"#000\" d=\"{dark}\"/></svg>"
    )
}
