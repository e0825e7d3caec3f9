//! Documents on paper, read back by other people's tools.
//!
//! Guards against S-18 of SAFETY.md.

use super::tools::Pdf;
use counterclock::clock::Instant;
use counterclock::record::paper::{Align, Bar, Block, Code, Column, Grid, Ink, Paper, Size, Strip, Table, Text};

fn paper(size: Size, blocks: Vec<Block>) -> Paper {
    Paper {
        title: "Day's record".into(),
        author: "Corner bakery".into(),
        made_at: Instant(1_777_735_200_000),
        size,
        foot: size != Size::ROLL,
        blocks,
    }
}

fn written(paper: &Paper) -> Pdf {
    Pdf::new(&paper.pdf().expect("a paper"))
}

/// One of everything.
fn everything() -> Vec<Block> {
    let wide = "Frosting is whipped cold and used within the time it may stand out; what is left goes back into the \
                cold at once, and nobody tops up an old tub with a new one. ";
    vec![
        Block::Heading(1, Text::bold("Of everything one").pt(18.0)),
        Block::Text(Text::from(wide.repeat(3)).and("This part is bold.", true)),
        Block::Heading(2, Text::bold("Words").pt(13.0)),
        Block::List(vec![Text::from("the first point"), Text::from(wide), Text::from("the last point")]),
        Block::Rule,
        Block::Table(Table::answers(
            0.3,
            vec![("Marked".into(), "by hand".into()), ("Thrown away by".into(), wide.into())],
        )),
        Block::Beside {
            main: vec![Block::Text("Beside the code".into()), Block::Strip(strip())],
            side: vec![Block::Code(code())],
            side_mm: 25.0,
        },
        Block::Table(Table {
            columns: ["Item", "Out", "Minutes"]
                .map(|head| Column { head: head.into(), share: 1.0, align: Align::Start })
                .into_iter()
                .map(|c| if c.head == "Minutes" { Column { align: Align::Right, ..c } } else { c })
                .collect(),
            rows: (1..40)
                .map(|n| vec![format!("tub-{n}").into(), "10:05".into(), format!("{}", n * 3).into()])
                .collect(),
            row_heads: true,
            ruled: true,
            ..Table::default()
        }),
    ]
}

fn code() -> Code {
    let address = "https://holding.example/t/0123456789".to_owned();
    Code { alt: "The code of tub-3".into(), address, square_mm: 0.5 }
}

fn strip() -> Strip {
    let bar = |from, to, ink| Bar { from, to, ink };
    Strip {
        alt: "Out from 10:05 to 11:00".into(),
        bars: vec![
            bar(0.0, 0.1, Ink::Came),
            bar(0.14, 0.7, Ink::Cold),
            bar(0.3, 0.45, Ink::Out),
            bar(0.7, 0.8, Ink::Ahead),
        ],
        notch: Some(0.8),
        ticks: vec![(0.14, Some("03:00".into())), (0.35, None), (0.57, Some("12:00".into()))],
    }
}

#[test]
fn other_tools_find_nothing_wrong() {
    for size in [Size::A4, Size::Letter, Size::ROLL] {
        // The PDF/UA-1 checks of the library have passed, or there were no bytes.
        let pdf = written(&paper(size, everything()));
        assert!(pdf.check().contains("No syntax or stream encoding errors found"), "{size:?}");
        let info = pdf.info(&[]);
        for line in ["Title:           Day's record", "Author:          Corner bakery", "Tagged:          yes"] {
            assert!(info.contains(line), "{size:?}: {info}");
        }
        let fonts = pdf.fonts();
        let lines: Vec<&str> = fonts.lines().skip(2).collect();
        assert!(
            !lines.is_empty() && lines.iter().all(|l| l.contains(" yes yes yes ")),
            "embedded, subset, readable: {fonts}"
        );
    }
}

#[test]
fn a_page_is_as_large_as_it_says() {
    // ISO 216: 210 mm by 297 mm; ANSI/ASME Y14.1: 8.5 in by 11 in. A point is 1/72 in.
    for (size, says) in [(Size::A4, "595.276 x 841.89 pts (A4)"), (Size::Letter, "612 x 792 pts (letter)")] {
        let info = written(&paper(size, everything())).info(&[]);
        assert!(info.contains(says), "{info}");
    }
    let info = written(&paper(Size::ROLL, vec![Block::Text("short".into())])).info(&[]);
    // 57 mm.
    assert!(info.contains("161.575 x"), "{info}");
}

#[test]
fn the_parts_are_told_to_who_hears_them() {
    let parts = written(&paper(Size::A4, everything())).info(&["-struct-text"]);
    for (name, times) in [("H1", 1), ("H2", 1), ("L ", 1), ("LI", 3), ("Table", 2), ("THead", 1), ("Figure", 2)] {
        let found = parts.lines().filter(|l| format!("{} ", l.trim_start()).starts_with(name)).count();
        assert_eq!(found, times, "{name}: {parts}");
    }
    assert!(parts.contains("Marked") && parts.contains("tub-39"), "{parts}");
    // The heading row is repeated to the eye, and said once.
    assert_eq!(parts.matches("Minutes").count(), 1);
    let shown = written(&paper(Size::A4, everything())).text("-layout");
    assert!(shown.matches("Minutes").count() > 1, "{shown}");
    assert!(shown.contains("page 1 of 2") && shown.contains("page 2 of 2"), "{shown}");
}

#[test]
fn the_same_paper_is_the_same_bytes() {
    let once = paper(Size::Letter, everything()).pdf().expect("a paper");
    assert!(once == paper(Size::Letter, everything()).pdf().expect("a paper"));
}

#[test]
fn a_thousand_rows_keep_their_order() {
    let columns = (0..8).map(|i| Column { head: format!("column {i}"), share: 1.0, ..Column::default() }).collect();
    let row = |n: usize| (0..8).map(|i| Text::from(format!("r{n}c{i} out 10:05"))).collect();
    let table = Table { columns, rows: (0..1000).map(row).collect(), pt: 7.5, ruled: true, ..Table::default() };
    let paper = paper(Size::A4, vec![Block::Heading(1, Text::bold("Rows")), Block::Table(table)]);
    let begun = std::time::Instant::now();
    let bytes = paper.pdf().expect("a paper");
    let took = begun.elapsed();
    println!("1,000 rows of 8: {took:?}, {} bytes", bytes.len());
    let text = Pdf::new(&bytes).text("-layout");
    let rows: Vec<usize> =
        (0..1000).filter_map(|n| text.find(&format!(" r{n}c0 ")).or_else(|| text.find(&format!("r{n}c0 ")))).collect();
    assert_eq!(rows.len(), 1000);
    assert!(rows.is_sorted());
    assert!(took.as_secs() < 30, "{took:?}");
}

#[test]
fn every_script_it_has_prints_and_any_other_as_its_code_point() {
    let texts = [
        "Crème brûlée, žemlja, phở, Ǻ",
        "Κρέμα ζαχαροπλαστικής ᾧ",
        "Сливочный крем, їжа, ґ",
        "קצפת וניל",
        "كريمة بالفانيليا",
        "🍰🎂🧁☕",
    ];
    let blocks = texts.iter().map(|t| Block::Text((*t).into())).collect();
    let text = written(&paper(Size::A4, blocks)).text("-raw");
    // Whether an Arabic form or its letter comes back is the reader's affair; here they are letters.
    for t in texts {
        for c in t.chars().filter(|c| !c.is_whitespace()) {
            assert!(text.contains(c), "{c} of {t}: {text}");
        }
    }
    assert!(!text.contains("U+"), "{text}");
    // In the order it is read: for those who copy it, and, as the part's own text, for those who hear it.
    let pdf = written(&paper(Size::A4, vec![Block::Text(texts[3].into()), Block::Text(texts[4].into())]));
    assert!(pdf.text("-nopgbrk").contains(texts[3]));
    let plain = pdf.plain();
    for t in &texts[3..5] {
        let hex: String = t.encode_utf16().map(|unit| format!("{unit:04x}")).collect();
        assert!(plain.contains(&format!("/ActualText <feff{hex}>")), "{t}");
    }
    let odd = ["奶油", "ครีม", "\u{1}\u{7f}\u{feff}\u{e000}\u{10ffff}", "क्रीम"];
    let text = written(&paper(Size::A4, odd.iter().map(|t| Block::Text((*t).into())).collect())).text("-raw");
    for c in odd.iter().flat_map(|t| t.chars()) {
        let point = format!("[U+{:04X}]", u32::from(c));
        assert!(text.contains(&point), "{point}: {text}");
    }
}

#[test]
fn no_text_keeps_a_paper_from_being_written() {
    // Every character of the first plane and of the one with the emoji, five hundred at a time: with a mark, between
    // marks, joined, turned, and in bold.
    let all: Vec<char> = (0..0x20000_u32).filter_map(char::from_u32).collect();
    for some in all.chunks(16_000) {
        let blocks = some.chunks(500).map(|line| {
            let plain: String = line.iter().collect();
            let marked: String =
                line.iter().step_by(7).flat_map(|c| ['e', *c, '\u{301}', *c, '\u{200d}', *c, '\u{5b8}']).collect();
            Block::Text(Text::from(plain).and(marked, true).pt(4.0))
        });
        let paper = paper(Size::A4, blocks.collect());
        paper.pdf().unwrap_or_else(|e| panic!("from U+{:04X}: {e}", u32::from(some[0])));
    }
}

#[test]
fn a_cell_longer_than_a_page_goes_on() {
    let long: String = (0..3000).map(|n| format!("word{n} ")).collect();
    let table = Table::answers(0.5, vec![("Why".into(), long.as_str().into()), ("After".into(), "the end".into())]);
    let text = written(&paper(Size::A4, vec![Block::Table(table)])).text("-raw");
    assert!((0..3000).all(|n| text.contains(&format!("word{n} ")) || text.contains(&format!("word{n}\n"))));
    assert!(text.contains("the end"));
}

#[test]
fn labels_stand_side_by_side_and_their_codes_read() {
    let cell = |n: usize| {
        let address = format!("https://holding.example/t/{n:010}");
        vec![
            Block::Text(Text::bold(format!("Tub {n}"))),
            Block::Code(Code { alt: format!("tub {n}"), address, square_mm: 0.5 }),
        ]
    };
    let grid = Grid { columns: 3, wide_mm: 57.0, high_mm: 40.0, cells: (0..24).map(cell).collect() };
    let pdf = written(&paper(Size::A4, vec![Block::Grid(grid)]));
    let mut codes = pdf.codes();
    codes.sort();
    let asked: Vec<String> = (0..24).map(|n| format!("https://holding.example/t/{n:010}")).collect();
    assert_eq!(codes, asked);
}
