//! The real release binary as a process of its own.

use std::io::{BufRead, BufReader};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// The binary built with the benchmark, or the one named in `COUNTERCLOCK_BINARY`.
pub fn binary() -> String {
    std::env::var("COUNTERCLOCK_BINARY").unwrap_or_else(|_| env!("CARGO_BIN_EXE_counterclock").to_owned())
}

pub struct Server {
    child: Child,
    pub address: String,
    started: Instant,
}

/// Makes a manager's token.
pub fn token(db: &str) -> String {
    let out = Command::new(binary())
        .args(["token", "add", "--name", "load", "--role", "manager", "--site-zone", "Europe/London", "--db", db])
        .stderr(Stdio::inherit())
        .output()
        .expect("the binary runs");
    String::from_utf8_lossy(&out.stdout).trim().to_owned()
}

impl Server {
    /// Starts it on a free port and waits until it says that it listens.
    pub fn start(db: &str, more: &[&str]) -> Server {
        let started = Instant::now();
        let mut child = Command::new(binary())
            .args(["serve", "--listen", "127.0.0.1:0", "--db", db])
            .args(more)
            .stdout(Stdio::piped())
            .spawn()
            .expect("the binary runs");
        let mut out = BufReader::new(child.stdout.take().expect("its output"));
        let mut line = String::new();
        while !line.starts_with("listening on http://") {
            line.clear();
            assert!(out.read_line(&mut line).expect("its output") > 0, "the server ended at its start");
        }
        let address = line.trim().trim_start_matches("listening on http://").to_owned();
        std::thread::spawn(move || std::io::copy(&mut out, &mut std::io::sink()));
        Server { child, address, started }
    }

    pub fn since_start(&self) -> Duration {
        self.started.elapsed()
    }

    /// A figure of `/proc/PID/status` in MB: `VmRSS`, `VmHWM`.
    pub fn memory_mb(&self, name: &str) -> f64 {
        memory_mb(self.child.id(), name)
    }

    /// Seconds of processor time used so far.
    pub fn cpu_s(&self) -> f64 {
        cpu_s(&self.child.id().to_string())
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        _ = Command::new("kill").arg(self.child.id().to_string()).status();
        let patience = Instant::now();
        while patience.elapsed() < Duration::from_secs(12) {
            if matches!(self.child.try_wait(), Ok(Some(_))) {
                return;
            }
            std::thread::sleep(Duration::from_millis(20));
        }
        _ = self.child.kill();
        _ = self.child.wait();
    }
}

pub fn memory_mb(pid: u32, name: &str) -> f64 {
    let status = std::fs::read_to_string(format!("/proc/{pid}/status")).unwrap_or_default();
    let line = status.lines().find_map(|l| l.strip_prefix(name)?.strip_prefix(':'));
    let kb: Option<f64> = line.and_then(|l| l.trim().trim_end_matches(" kB").trim().parse().ok());
    kb.map_or(f64::NAN, |kb| kb / 1024.0)
}

/// User and system time of a process (`self` for this one), in seconds.
pub fn cpu_s(pid: &str) -> f64 {
    let stat = std::fs::read_to_string(format!("/proc/{pid}/stat")).unwrap_or_default();
    let fields: Vec<&str> = stat.rsplit(')').next().unwrap_or("").split_whitespace().collect();
    let ticks = |i: usize| fields.get(i).and_then(|f| f.parse::<f64>().ok()).unwrap_or(0.0);
    (ticks(11) + ticks(12)) / 100.0
}
