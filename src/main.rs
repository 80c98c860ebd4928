//! The command line: see `commands`.

mod commands;

use std::process::ExitCode;

use clap::Parser;
use commands::Cli;
use mimalloc::MiMalloc;

/// Planning an order takes and leaves a lot of memory on many threads. The usual allocator of Linux keeps what they left; this
/// one gives it back.
#[global_allocator]
static ALLOCATOR: MiMalloc = MiMalloc;

#[tokio::main]
async fn main() -> ExitCode {
    match commands::run(Cli::parse()).await {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("trug: {error:#}");
            ExitCode::FAILURE
        }
    }
}
