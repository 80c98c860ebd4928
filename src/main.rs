//! The command line: see `commands`.

mod commands;

use std::process::ExitCode;

use clap::Parser;
use commands::Cli;
use mimalloc::MiMalloc;
use tokio::runtime::Builder;

/// Planning an order takes and leaves a lot of memory on many threads. The usual allocator of Linux keeps what they left; this
/// one gives it back.
#[global_allocator]
static ALLOCATOR: MiMalloc = MiMalloc;

fn main() -> ExitCode {
    let cli = Cli::parse();
    let done = Builder::new_multi_thread().enable_all().build().map_err(Into::into).and_then(|runtime| {
        let done = runtime.block_on(commands::run(cli));
        // A plan that is still looked for is waited for by nobody.
        runtime.shutdown_background();
        done
    });
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("trug: {error:#}");
            ExitCode::FAILURE
        }
    }
}
