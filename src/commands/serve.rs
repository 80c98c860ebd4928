//! `trug serve`: the app on this machine, or for the studio's network.

mod way;

use std::io::Write;
use std::net::{IpAddr, Ipv4Addr, SocketAddr, UdpSocket};
use std::time::Duration;

use anyhow::{Context, bail};
use clap::Args;
use tokio::net::TcpListener;
use tokio::sync::oneshot;
use trug::app::router;
use trug::clock::Clock;
use trug::db::Book;
use trug::studio::backups::see_to;
use trug::web::door::{Door, Way};
use trug::web::serving;
use trug::web::state::App;
use way::Opened;
pub(crate) use way::WayArgs;

use super::{DataArgs, log};

#[derive(Args)]
pub(crate) struct ServeArgs {
    #[command(flatten)]
    data: DataArgs,
    /// The port on this machine; 0 takes any free one
    #[arg(long, default_value_t = 4310)]
    port: u16,
    #[command(flatten)]
    way: WayArgs,
}

pub(crate) async fn run(args: ServeArgs) -> anyhow::Result<()> {
    let opened = args.way.opened(args.port)?;
    let listener = listener(opened.address).await?;
    let path = args.data.book_path()?;
    let book = Book::open(&path).await?;
    if opened.door.is_locked() {
        way::owner_needed(&book).await?;
    }
    log::to_the_screen_and_beside(&path)?;
    serve(listener, book, opened).await
}

/// Sees to the backups from the start on, and again every ten minutes, so that each day has its own soon after it begins.
/// One that is under way at the end is finished.
async fn back_up_daily(app: App, mut ended: oneshot::Receiver<()>) {
    loop {
        let trouble = see_to(&app.book, Clock::Machine.now()).await.err().map(|error| error.to_string());
        if let Some(trouble) = &trouble {
            tracing::warn!("A backup is missing: {trouble}");
        }
        app.tell_of_backups(trouble);
        tokio::select! {
            () = tokio::time::sleep(Duration::from_mins(10)) => {}
            _ = &mut ended => return,
        }
    }
}

/// This machine alone.
pub(crate) fn loopback(port: u16) -> Opened {
    let address = SocketAddr::from((Ipv4Addr::LOCALHOST, port));
    Opened { address, door: Door::default(), certificate: None }
}

/// Takes the port first: where it is taken nothing else is begun.
pub(crate) async fn listener(address: SocketAddr) -> anyhow::Result<TcpListener> {
    let port = address.port();
    match TcpListener::bind(address).await {
        Ok(listener) => Ok(listener),
        Err(error) if error.kind() == std::io::ErrorKind::AddrInUse => {
            bail!(
                "Port {port} is taken, perhaps by a Trug that already runs. Choose another with --port, or 0 for any."
            )
        }
        Err(error) if error.kind() == std::io::ErrorKind::AddrNotAvailable => {
            bail!(
                "This machine has no address {}. Give --listen one that it has, or 0.0.0.0 for all.",
                address.ip()
            )
        }
        Err(error) => Err(error).with_context(|| format!("Port {port} cannot be opened")),
    }
}

pub(crate) async fn serve(listener: TcpListener, book: Book, opened: Opened) -> anyhow::Result<()> {
    let reached = listener.local_addr()?;
    // In one piece, and whoever closed the other end of a pipe is served all the same.
    let _ = std::io::stdout().write_all(said(&book, reached, &opened).as_bytes());
    let app = App::behind(opened.door, book.clone(), Clock::Machine);
    let (end, ended) = oneshot::channel();
    let daily = tokio::spawn(back_up_daily(app.clone(), ended));
    serving::serve(listener, opened.certificate.as_ref(), router(app), asked_to_end()).await;
    drop(end);
    daily.await?;
    book.close().await;
    Ok(())
}

/// What the start says: where, who logs in, what is encrypted.
fn said(book: &Book, reached: SocketAddr, opened: &Opened) -> String {
    let encrypted = opened.certificate.is_some();
    let scheme = if encrypted { "https" } else { "http" };
    let place = match &opened.door.way {
        Way::Proxied { origin } => {
            format!("{origin}/ through the proxy, which reaches it at http://{reached}/")
        }
        _ if reached.ip().is_unspecified() => {
            let own = own_address().map_or_else(|| "ADDRESS".to_owned(), |own| own.to_string());
            format!("{scheme}://{own}:{}/ and on every address of this machine", reached.port())
        }
        _ => format!("{scheme}://{reached}/"),
    };
    let first = format!("Trug serves {} at {place}  (Ctrl-C ends it)", book.path().display());
    let rest = match (&opened.door.way, &opened.certificate) {
        (Way::Loopback, _) => return format!("{first}\n"),
        (Way::Network, _) => {
            "Everybody logs in. What travels on this network is NOT encrypted: whoever is on it can read passphrases \
             and pages. Give --certificate and --key, or put an encrypting proxy before it (--behind-proxy)."
                .to_owned()
        }
        (Way::Encrypted, Some(certificate)) => {
            format!("Everybody logs in. The certificate ends on {}.", certificate.last_day())
        }
        (Way::Encrypted | Way::Proxied { .. }, _) => "Everybody logs in.".to_owned(),
    };
    format!("{first}\n{rest}\n")
}

/// The address by which this machine would reach others, so that the start can say what to type on the tablet. Choosing the
/// other end of a datagram line sends nothing; the end is one of those kept for documentation (RFC 5737).
fn own_address() -> Option<IpAddr> {
    let line = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).ok()?;
    line.connect((Ipv4Addr::new(192, 0, 2, 1), 9)).ok()?;
    Some(line.local_addr().ok()?.ip()).filter(|own| !own.is_unspecified())
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
