//! By which way Trug is reached, and what follows from it: whether one must log in, which names are ours, which cookies are safe.

use std::net::{IpAddr, SocketAddr};

use axum::http::{HeaderMap, Uri, header};

/// How requests come in.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum Way {
    /// From this machine alone; whoever sits at it is the owner.
    #[default]
    Loopback,
    /// Over a network, unencrypted.
    Network,
    /// Over a network, encrypted by our own certificate.
    Encrypted,
    /// From a proxy on this machine that encrypts, by its origin (`https://trug.example`).
    Proxied {
        /// Scheme and host, as browsers send it.
        origin: String,
    },
}

/// The door of the running app.
#[derive(Debug, Clone, Default)]
pub struct Door {
    /// How requests come in.
    pub way: Way,
    /// Further names under which Trug is reached, in small letters, without a port.
    pub names: Vec<String>,
}

/// The line over which a request came.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Line {
    /// Who is at its other end.
    pub peer: IpAddr,
    /// The address of this machine that they reached.
    pub reached: SocketAddr,
}

impl Door {
    /// Whether each request needs a session.
    #[must_use]
    pub fn is_locked(&self) -> bool {
        self.way != Way::Loopback
    }

    /// Whether pages travel encrypted: cookies are then for such lines only.
    #[must_use]
    pub fn is_encrypted(&self) -> bool {
        matches!(self.way, Way::Encrypted | Way::Proxied { .. })
    }

    /// The proxy's origin, behind one.
    #[must_use]
    pub fn origin(&self) -> Option<&str> {
        match &self.way {
            Way::Proxied { origin } => Some(origin),
            _ => None,
        }
    }

    /// Whether the Host of a request is one of our names. A name that somebody else's DNS points at this machine is not.
    #[must_use]
    pub fn is_ours(&self, host: &str, line: Option<Line>) -> bool {
        let (name, port) = match host.rsplit_once(':') {
            Some((name, port)) if port.bytes().all(|digit| digit.is_ascii_digit()) => (name, port),
            _ => (host, ""),
        };
        if matches!(name, "localhost" | "127.0.0.1" | "[::1]") {
            return true;
        }
        let name = name.to_ascii_lowercase();
        self.names.contains(&name)
            || self.origin().is_some_and(|origin| origin.strip_prefix("https://") == Some(with_port(&name, port).as_str()))
            // An address cannot be pointed elsewhere by anybody's DNS.
            || line.is_some_and(|line| Ok(line.reached.ip().to_canonical()) == address(&name))
    }

    /// Where a request comes from: the line's other end, or what our own proxy says of it. Nobody else is believed.
    #[must_use]
    pub fn peer(&self, headers: &HeaderMap, line: Option<Line>) -> IpAddr {
        let near = line.map_or(IpAddr::from([127, 0, 0, 1]), |line| line.peer.to_canonical());
        if self.origin().is_none() {
            return near;
        }
        let all = headers.get_all("x-forwarded-for").iter().next_back();
        let last = all.and_then(|value| value.to_str().ok()).and_then(|hops| hops.rsplit(',').next());
        last.and_then(|hop| hop.trim().parse().ok()).unwrap_or(near)
    }

    /// Whether a request comes from this machine's own keyboard, as far as can be known.
    #[must_use]
    pub fn is_at_the_machine(&self, line: Option<Line>) -> bool {
        self.origin().is_none() && line.is_none_or(|line| line.peer.to_canonical().is_loopback())
    }

    /// Where Trug answers, as the reader asked for it: the guard let only our own names through.
    #[must_use]
    pub fn own_origin(&self, headers: &HeaderMap) -> String {
        if let Some(origin) = self.origin() {
            return origin.to_owned();
        }
        let host = headers.get(header::HOST).and_then(|host| host.to_str().ok()).unwrap_or("localhost");
        let scheme = if self.is_encrypted() { "https" } else { "http" };
        format!("{scheme}://{host}")
    }
}

/// Reads the origin of a proxy: `https://name`, perhaps with a port, and nothing behind it.
///
/// # Errors
/// A sentence that says what is wrong.
pub fn proxy_origin(typed: &str) -> Result<String, String> {
    let refused = || {
        format!("“{typed}” is no address of a proxy. Write it as https://name, with nothing behind the name.")
    };
    let uri: Uri = typed.parse().map_err(|_| refused())?;
    let plain = matches!(uri.path(), "" | "/") && uri.query().is_none();
    match uri.authority() {
        Some(authority)
            if uri.scheme_str() == Some("https") && plain && !authority.as_str().contains('@') =>
        {
            Ok(format!("https://{}", authority.as_str().to_ascii_lowercase()))
        }
        _ => Err(refused()),
    }
}

fn with_port(name: &str, port: &str) -> String {
    if matches!(port, "" | "443") { name.to_owned() } else { format!("{name}:{port}") }
}

fn address(name: &str) -> Result<IpAddr, std::net::AddrParseError> {
    name.trim_start_matches('[').trim_end_matches(']').parse()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(peer: &str, reached: &str) -> Line {
        Line { peer: peer.parse().unwrap(), reached: reached.parse().unwrap() }
    }

    #[test]
    fn on_loopback_only_loopback_names_are_ours() {
        let door = Door::default();
        for host in ["localhost", "localhost:4310", "127.0.0.1:80", "[::1]", "[::1]:4310"] {
            assert!(door.is_ours(host, None), "{host}");
        }
        for host in ["", "example.org", "localhost.example.org", "127.0.0.1.example.org:80", "localhost:x"] {
            assert!(!door.is_ours(host, Some(line("127.0.0.1", "127.0.0.1:4310"))), "{host}");
        }
    }

    #[test]
    fn on_a_network_the_address_that_was_reached_and_the_given_names_are_ours() {
        let door = Door { way: Way::Network, names: vec!["studio.lan".into()] };
        let reached = Some(line("192.168.1.7", "192.168.1.20:4310"));
        for host in ["192.168.1.20:4310", "192.168.1.20", "studio.lan:4310", "Studio.LAN", "localhost"] {
            assert!(door.is_ours(host, reached), "{host}");
        }
        for host in ["192.168.1.21", "studio.lan.example.org", "example.org", "[fe80::1]"] {
            assert!(!door.is_ours(host, reached), "{host}");
        }
        assert!(door.is_ours("[fd00::20]:4310", Some(line("fd00::7", "[fd00::20]:4310"))));
    }

    #[test]
    fn only_our_own_proxy_is_believed() {
        let mut headers = HeaderMap::new();
        headers.append("x-forwarded-for", "203.0.113.9, 198.51.100.4".parse().unwrap());
        let near = Some(line("127.0.0.1", "127.0.0.1:4310"));
        let proxied = Door { way: Way::Proxied { origin: "https://trug.example".into() }, names: Vec::new() };
        assert_eq!(
            proxied.peer(&headers, near).to_string(),
            "198.51.100.4",
            "the last hop, which the proxy saw"
        );
        assert_eq!(Door::default().peer(&headers, near).to_string(), "127.0.0.1");
        assert!(proxied.is_ours("trug.example", near) && proxied.is_ours("trug.example:443", near));
        assert!(!proxied.is_ours("trug.example:8443", near) && !proxied.is_ours("other.example", near));
        headers.insert("x-forwarded-for", "unknown".parse().unwrap());
        assert_eq!(proxied.peer(&headers, near).to_string(), "127.0.0.1");
    }

    #[test]
    fn a_proxy_is_named_by_scheme_and_host_alone() {
        assert_eq!(proxy_origin("https://Trug.example/").as_deref(), Ok("https://trug.example"));
        assert_eq!(proxy_origin("https://trug.example:8443").as_deref(), Ok("https://trug.example:8443"));
        for typed in
            ["http://trug.example", "trug.example", "https://a@b", "https://trug.example/x", "https://", ""]
        {
            assert!(proxy_origin(typed).is_err(), "{typed}");
        }
    }
}
