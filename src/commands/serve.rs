//! `trug serve`: the app on this machine.

use std::net::{Ipv4Addr, SocketAddr};
use std::time::Duration;

use anyhow::{Context, bail};
use clap::Args;
use tokio::net::TcpListener;
use trug::app::router;
use trug::clock::Clock;
use trug::db::Book;
use trug::studio::backups::see_to;
use trug::web::state::App;

use super::{DataArgs, log};

#[derive(Args)]
pub(crate) struct ServeArgs {
    #[command(flatten)]
    data: DataArgs,
    /// The port on this machine; 0 takes any free one
    #[arg(long, default_value_t = 4310)]
    port: u16,
}

pub(crate) async fn run(args: ServeArgs) -> anyhow::Result<()> {
    let listener = listener(args.port).await?;
    let path = args.data.book_path()?;
    let book = Book::open(&path).await?;
    log::to_the_screen_and_beside(&path)?;
    tokio::spawn(back_up_daily(book.clone()));
    serve(listener, book).await
}

/// Sees to the backups from the start on, and again every ten minutes, so that each day has its own soon after it begins.
async fn back_up_daily(book: Book) {
    loop {
        if let Err(error) = see_to(&book, Clock::Machine.now()).await {
            tracing::warn!("No backup was made: {error}");
        }
        tokio::time::sleep(Duration::from_mins(10)).await;
    }
}

/// Takes the port first: where it is taken nothing else is begun.
pub(crate) async fn listener(port: u16) -> anyhow::Result<TcpListener> {
    let address = SocketAddr::from((Ipv4Addr::LOCALHOST, port));
    match TcpListener::bind(address).await {
        Ok(listener) => Ok(listener),
        Err(error) if error.kind() == std::io::ErrorKind::AddrInUse => {
            bail!(
                "Port {port} is taken, perhaps by a Trug that already runs. Choose another with --port, or 0 for any."
            )
        }
        Err(error) => Err(error).with_context(|| format!("Port {port} cannot be opened")),
    }
}

pub(crate) async fn serve(listener: TcpListener, book: Book) -> anyhow::Result<()> {
    println!("Trug serves {} at http://{}/  (Ctrl-C ends it)", book.path().display(), listener.local_addr()?);
    let app = App::new(book.clone(), Clock::Machine);
    axum::serve(listener, router(app)).with_graceful_shutdown(asked_to_end()).await?;
    book.close().await;
    Ok(())
}

/// Waits for Ctrl-C, or for the system to ask the program to end.
async fn asked_to_end() {
    #[cfg(unix)]
    if let Ok(mut end) = tokio::signal::unix::signal(tokio::signal::unix::SignalKind::terminate()) {
        tokio::select! {
            _ = end.recv() => {}
            _ = tokio::signal::ctrl_c() => {}
        }
        return;
    }
    // Without a handler for Ctrl-C the process ends by itself, which is as good.
    let _ = tokio::signal::ctrl_c().await;
}
