//! Parses arguments, calls the library.

/// A request makes many small allocations; the system's own allocator takes a quarter of its time for them.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> std::process::ExitCode {
    counterclock::cli::run()
}
