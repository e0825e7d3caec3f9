//! Parses arguments, calls the library.

fn main() -> std::process::ExitCode {
    counterclock::cli::run()
}
