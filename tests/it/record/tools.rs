//! Other people's tools that read a PDF: what they make of ours. A tool that isn't there fails the test.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::atomic::{AtomicU32, Ordering};

/// A PDF in a folder of its own, gone with this.
pub struct Pdf(PathBuf);

impl Pdf {
    /// Writes it down.
    pub fn new(bytes: &[u8]) -> Pdf {
        static N: AtomicU32 = AtomicU32::new(0);
        let name = format!("counterclock-pdf-{}-{}", std::process::id(), N.fetch_add(1, Ordering::Relaxed));
        let dir = std::env::temp_dir().join(name);
        std::fs::create_dir_all(&dir).expect("a folder");
        std::fs::write(dir.join("it.pdf"), bytes).expect("a file");
        Pdf(dir)
    }

    /// Where it lies.
    pub fn path(&self) -> PathBuf {
        self.0.join("it.pdf")
    }

    /// What `pdftotext` reads: in the order of the document, or as it stands on the page.
    pub fn text(&self, how: &str) -> String {
        run("pdftotext", &[how, "-enc", "UTF-8"], &[&self.path(), Path::new("-")])
    }

    /// What `pdfinfo` says of it.
    pub fn info(&self, how: &[&str]) -> String {
        run("pdfinfo", how, &[&self.path()])
    }

    /// The fonts `pdffonts` finds.
    pub fn fonts(&self) -> String {
        run("pdffonts", &[], &[&self.path()])
    }

    /// What `qpdf --check` says.
    pub fn check(&self) -> String {
        run("qpdf", &["--check"], &[&self.path()])
    }

    /// Its parts as `qpdf` writes them for people to read.
    pub fn plain(&self) -> String {
        run("qpdf", &["--qdf", "--object-streams=disable"], &[&self.path(), Path::new("-")])
    }

    /// The codes that `zbarimg` reads off its pages, drawn as a printer with 203 dots to the inch does: black or white.
    pub fn codes(&self) -> Vec<String> {
        run("pdftoppm", &["-r", "203", "-mono"], &[&self.path(), &self.0.join("page")]);
        let mut pages: Vec<PathBuf> =
            std::fs::read_dir(&self.0).expect("a folder").flatten().map(|e| e.path()).collect();
        pages.retain(|p| p.extension().is_some_and(|e| e == "pbm"));
        pages.sort();
        let read = |p: &PathBuf| run("zbarimg", &["--quiet", "--raw"], &[p]);
        pages.iter().flat_map(|p| read(p).lines().map(str::to_owned).collect::<Vec<_>>()).collect()
    }
}

impl Drop for Pdf {
    fn drop(&mut self) {
        // For whoever wants to look at them.
        if let Some(keep) = std::env::var_os("COUNTERCLOCK_KEEP_PDF") {
            let name = self.0.file_name().expect("a name").to_string_lossy().into_owned();
            std::fs::create_dir_all(&keep)
                .and_then(|()| std::fs::copy(self.path(), Path::new(&keep).join(name + ".pdf")))
                .expect("kept");
        }
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

fn run(tool: &str, options: &[&str], files: &[&Path]) -> String {
    let out = Command::new(tool).args(options).args(files).output();
    let out = out.unwrap_or_else(|e| panic!("{tool} is needed (sh tests/all.sh setup installs it): {e}"));
    let said = String::from_utf8_lossy(&out.stdout).into_owned();
    assert!(out.status.success(), "{tool}: {said}{}", String::from_utf8_lossy(&out.stderr));
    said
}
