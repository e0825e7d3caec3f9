//! Text into lines of placed glyphs: the order of scripts, the shapes of letters, where lines end.

use super::{Align, Text, faces};
use krilla::text::{GlyphId, KrillaGlyph};
use parley::style::{FontFamily, FontWeight, LineHeight, OverflowWrap, StyleProperty};
use parley::{Alignment, AlignmentOptions, FontContext, Layout, LayoutContext};
use std::borrow::Cow;
use std::ops::Range;
use std::sync::Arc;

/// How far lines stand apart, against the size of the type.
const LEADING: f32 = 1.3;
/// From this size on, in points, lines stand closer: such text is a figure or two words.
const LARGE_PT: f32 = 20.0;

/// How far lines of a size stand apart; points.
pub(super) fn leading(pt: f32) -> f32 {
    if pt < LARGE_PT { pt * LEADING } else { pt * 1.05 }
}

/// Glyphs of one font, side by side.
#[derive(Clone)]
pub(super) struct Run {
    /// Which of the carried files.
    pub face: usize,
    /// Its size.
    pub pt: f32,
    /// Where it begins, from the left end of the lines' width; points.
    pub x: f32,
    pub glyphs: Vec<KrillaGlyph>,
}

/// One line.
#[derive(Clone)]
pub(super) struct Line {
    /// How far the next line stands below this one's top; points.
    pub height: f32,
    /// Where the letters stand, below the top; points.
    pub baseline: f32,
    /// From left to right as seen.
    pub runs: Vec<Run>,
    /// Whether the order seen is not the order read.
    pub turned: bool,
    /// The whole text, which the glyphs point into.
    pub text: Arc<str>,
}

/// Sets text.
pub(super) struct Setter {
    fonts: FontContext,
    context: LayoutContext<()>,
}

impl Setter {
    pub(super) fn new() -> Setter {
        Setter { fonts: faces::fonts(), context: LayoutContext::new() }
    }

    /// The lines of a text in a width of so many points.
    pub(super) fn set(&mut self, text: &Text, wide: f32) -> Vec<Line> {
        let mut parts: Vec<(Cow<str>, bool)> = text.parts.iter().map(|(t, b)| (faces::legible(t), *b)).collect();
        let mut layout = self.lay(&parts, text, wide);
        // A mark that no font has together with its letter leaves an empty box: then each stands as its code point.
        let boxes = empty_boxes(&layout);
        if !boxes.is_empty() {
            let mut at = 0;
            for (part, _) in &mut parts {
                let from = at;
                at += part.len();
                let spelt = part.char_indices().map(|(i, c)| {
                    let boxed = boxes.iter().any(|b| b.contains(&(from + i)));
                    if boxed && !c.is_ascii() { faces::point(c) } else { c.to_string() }
                });
                *part = Cow::Owned(spelt.collect());
            }
            layout = self.lay(&parts, text, wide);
        }
        let whole: Arc<str> = parts.iter().map(|(t, _)| t.as_ref()).collect::<String>().into();
        layout.lines().map(|l| line(&l, &whole, text.pt)).collect()
    }

    fn lay(&mut self, parts: &[(Cow<str>, bool)], text: &Text, wide: f32) -> Layout<()> {
        let whole: String = parts.iter().map(|(t, _)| t.as_ref()).collect();
        let mut b = self.context.ranged_builder(&mut self.fonts, &whole, 1.0, false);
        b.push_default(StyleProperty::FontFamily(FontFamily::List(Cow::Borrowed(faces::FAMILIES))));
        b.push_default(StyleProperty::FontSize(text.pt));
        b.push_default(StyleProperty::LineHeight(LineHeight::Absolute(leading(text.pt))));
        b.push_default(StyleProperty::OverflowWrap(OverflowWrap::Anywhere));
        let mut at = 0;
        for (part, bold) in parts {
            if *bold {
                b.push(StyleProperty::FontWeight(FontWeight::BOLD), at..at + part.len());
            }
            at += part.len();
        }
        let mut layout = b.build(&whole);
        layout.break_all_lines(Some(wide));
        let align = match text.align {
            Align::Start => Alignment::Start,
            Align::Middle => Alignment::Center,
            Align::Right => Alignment::Right,
        };
        layout.align(align, AlignmentOptions::default());
        layout
    }
}

/// The parts of the text whose font lacks a glyph.
fn empty_boxes(layout: &Layout<()>) -> Vec<Range<usize>> {
    let runs = layout.lines().flat_map(|l| l.runs().collect::<Vec<_>>());
    let clusters = runs.flat_map(|r| r.clusters().collect::<Vec<_>>());
    clusters.filter(|c| c.glyphs().any(|g| g.id == 0)).map(|c| c.text_range()).collect()
}

fn line(line: &parley::Line<()>, text: &Arc<str>, pt: f32) -> Line {
    let metrics = line.metrics();
    let (mut x, mut runs, mut turned) = (metrics.offset, Vec::new(), false);
    for run in line.runs() {
        turned |= run.is_rtl();
        let (from, size) = (x, run.font_size());
        let mut glyphs: Vec<KrillaGlyph> = Vec::new();
        // Letters drawn as one glyph: that glyph stands for all of them, and from right to left the later come first.
        let mut later = 0;
        for cluster in run.visual_clusters() {
            let mut part = cluster.text_range();
            if cluster.is_ligature_continuation() {
                match glyphs.last_mut() {
                    _ if run.is_rtl() => later = later.max(part.end),
                    Some(glyph) => glyph.text_range.end = part.end,
                    None => {}
                }
                continue;
            }
            part.end = part.end.max(later);
            later = 0;
            for g in cluster.glyphs() {
                // A layout counts downwards, the paper upwards.
                let (dx, dy) = (g.x / size, -g.y / size);
                glyphs.push(KrillaGlyph::new(GlyphId::new(g.id), g.advance / size, dx, dy, 0.0, part.clone(), None));
                x += g.advance;
            }
        }
        if let (Some(face), false) = (faces::file(run.font().data.id()), glyphs.is_empty()) {
            runs.push(Run { face, pt: size, x: from, glyphs });
        }
    }
    let height = if metrics.line_height > 0.0 { metrics.line_height } else { leading(pt) };
    let baseline = metrics.baseline - metrics.block_min_coord;
    Line { height, baseline, runs, turned, text: text.clone() }
}
