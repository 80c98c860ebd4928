//! By which way `trug serve` is to be reached: this machine alone, the studio's network, behind a proxy.

use std::net::{Ipv4Addr, SocketAddr};
use std::path::PathBuf;

use anyhow::bail;
use clap::Args;
use trug::clock::Clock;
use trug::db::Book;
use trug::studio::people::store::owners_but;
use trug::web::door::{Door, Way, proxy_origin};
use trug::web::serving::Certificate;

#[derive(Args)]
pub(crate) struct WayArgs {
    /// Listen on an address of this machine, for the studio's network; everybody logs in then (0.0.0.0:4310 for all addresses)
    #[arg(long, value_name = "ADDRESS:PORT", conflicts_with = "port")]
    listen: Option<SocketAddr>,
    /// A further name under which this machine is reached; may be given several times
    #[arg(long, value_name = "NAME")]
    host: Vec<String>,
    /// Encrypt with this certificate (a PEM file, ours first, then those between it and its root)
    #[arg(long, value_name = "FILE", requires = "key")]
    certificate: Option<PathBuf>,
    /// The certificate's private key (a PEM file)
    #[arg(long, value_name = "FILE", requires = "certificate")]
    key: Option<PathBuf>,
    /// Only a proxy on this machine reaches Trug; it encrypts, and browsers know it by this address; everybody logs in then
    #[arg(long, value_name = "https://NAME", conflicts_with_all = ["listen", "certificate"])]
    behind_proxy: Option<String>,
}

/// Where to listen, and what follows.
pub(crate) struct Opened {
    pub(crate) address: SocketAddr,
    pub(crate) door: Door,
    pub(crate) certificate: Option<Certificate>,
}

impl WayArgs {
    /// Reads what was asked for; a file that cannot be used, or a name that is none, is said before anything is begun.
    pub(crate) fn opened(self, port: u16) -> anyhow::Result<Opened> {
        let certificate = match (&self.certificate, &self.key) {
            (Some(certificate), Some(key)) => {
                Some(Certificate::read(certificate, key, Clock::Machine.now())?)
            }
            _ => None,
        };
        let address = self.listen.unwrap_or_else(|| SocketAddr::from((Ipv4Addr::LOCALHOST, port)));
        let way = match &self.behind_proxy {
            Some(origin) => Way::Proxied { origin: proxy_origin(origin).map_err(anyhow::Error::msg)? },
            None if certificate.is_some() => Way::Encrypted,
            None if address.ip().is_loopback() => Way::Loopback,
            None => Way::Network,
        };
        let names = self.host.iter().map(|name| host_name(name)).collect::<Result<_, _>>()?;
        Ok(Opened { address, door: Door { way, names }, certificate })
    }
}

fn host_name(typed: &str) -> anyhow::Result<String> {
    let fine = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | '-' | '_');
    if typed.is_empty() || !typed.chars().all(fine) {
        bail!(
            "“{typed}” is no name of a machine. Give --host the bare name, without http:// and without a port."
        );
    }
    Ok(typed.to_ascii_lowercase())
}

/// A book in which nobody could log in is not opened to a network.
pub(crate) async fn owner_needed(book: &Book) -> anyhow::Result<()> {
    if owners_but(&mut *book.read().await?, None).await? > 0 {
        return Ok(());
    }
    bail!(
        "Nobody could log in: there is no owner with a passphrase yet. Write `trug person add NAME --role owner`, or open \
         Trug without --listen and go to Settings, People. Then start again."
    )
}
