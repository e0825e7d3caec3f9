//! `--name value` arguments; `cargo bench` adds a bare `--bench`, which is passed over.

pub struct Args(Vec<String>);

impl Args {
    pub fn read() -> Args {
        Args(std::env::args().skip(1).collect())
    }

    pub fn text(&self, name: &str) -> Option<&str> {
        let at = self.0.iter().position(|a| a.strip_prefix("--") == Some(name))?;
        self.0.get(at + 1).map(String::as_str)
    }

    pub fn number(&self, name: &str, otherwise: usize) -> usize {
        self.text(name).map_or(otherwise, |t| t.parse().unwrap_or_else(|_| panic!("--{name} takes a number")))
    }

    pub fn has(&self, name: &str) -> bool {
        self.0.iter().any(|a| a.strip_prefix("--") == Some(name))
    }
}

/// The machine's load and the commit, for beside a figure.
pub fn conditions() -> String {
    let load = std::fs::read_to_string("/proc/loadavg").unwrap_or_default();
    let load: Vec<&str> = load.split(' ').take(3).collect();
    let commit = std::process::Command::new("git").args(["describe", "--always", "--dirty"]).output();
    let commit = commit.map(|o| String::from_utf8_lossy(&o.stdout).trim().to_owned()).unwrap_or_default();
    let cores = std::thread::available_parallelism().map_or(0, |n| n.get());
    format!("commit {commit}, {cores} cores, load {}", load.join(" "))
}

/// The value below which `share` of a sorted list lies.
pub fn quantile(sorted: &[f64], share: f64) -> f64 {
    let at = ((sorted.len() as f64 - 1.0) * share).round() as usize;
    sorted.get(at).copied().unwrap_or(f64::NAN)
}

/// Prints a measured value against its target.
pub fn verdict(what: &str, value: f64, unit: &str, target: f64, at_least: bool) {
    let met = if at_least { value >= target } else { value <= target };
    let (sign, said) = (if at_least { "≥" } else { "≤" }, if met { "met" } else { "MISSED" });
    println!("  {what}: {value:.2} {unit} (target {sign} {target:.2}: {said})");
}

/// Where made ledgers are kept from run to run.
pub fn kept_dir() -> std::path::PathBuf {
    let dir = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("target/bench-data");
    std::fs::create_dir_all(&dir).expect("a folder for made ledgers");
    dir
}
