//! Serving over lines: plain ones and encrypted ones, with bounds on how many there are and how slow they may be. On loopback
//! the bounds are the same; nobody there comes near them.

mod certificate;
mod crowd;

use std::convert::Infallible;
use std::future::Future;
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use axum::body::Body;
use axum::http::{Request, Response};
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::server::graceful::{GracefulShutdown, Watcher};
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::net::{TcpListener, TcpStream};
use tokio_rustls::TlsAcceptor;
use tower_http::timeout::DeadlineBody;
use tower_service::Service;

use super::door::Line;
pub use certificate::{Certificate, CertificateError};
use crowd::Crowd;

/// Whoever has not said what they want by then is not waited for.
const HEADERS_WITHIN: Duration = Duration::from_secs(20);
const HANDSHAKE_WITHIN: Duration = Duration::from_secs(10);
/// A picture of some megabytes over a weak network takes its time.
const BODY_WITHIN: Duration = Duration::from_mins(2);
/// What is under way at the end may still be answered.
const END_WITHIN: Duration = Duration::from_secs(10);
/// The longest head of a request.
const MOST_HEAD: usize = 64 * 1024;
/// After an error that is not one line's (too many open files) the next one is waited for so long.
const PAUSE: Duration = Duration::from_millis(200);

/// Serves until the end is asked for; then answers what is under way.
pub async fn serve(
    listener: TcpListener,
    certificate: Option<&Certificate>,
    router: Router,
    end: impl Future<Output = ()>,
) {
    let encrypts = certificate.map(Certificate::acceptor);
    let graceful = GracefulShutdown::new();
    let crowd = Arc::new(Crowd::default());
    let mut end = std::pin::pin!(end);
    loop {
        let accepted = tokio::select! {
            accepted = listener.accept() => accepted,
            () = &mut end => break,
        };
        let (stream, peer) = match accepted {
            Ok(accepted) => accepted,
            Err(error) => {
                tracing::warn!("A line could not be taken: {error}");
                tokio::time::sleep(PAUSE).await;
                continue;
            }
        };
        let Some(place) = crowd.enter(peer.ip()) else { continue };
        let line = answer(stream, peer, encrypts.clone(), router.clone(), graceful.watcher());
        tokio::spawn(async move {
            line.await;
            drop(place);
        });
    }
    drop(listener);
    let _ = tokio::time::timeout(END_WITHIN, graceful.shutdown()).await;
}

/// Answers what comes over one line, until it ends.
async fn answer(
    stream: TcpStream,
    peer: SocketAddr,
    encrypts: Option<TlsAcceptor>,
    router: Router,
    watcher: Watcher,
) {
    let _ = stream.set_nodelay(true);
    let Ok(reached) = stream.local_addr() else { return };
    let line = Line { peer: peer.ip(), reached };
    match encrypts {
        None => converse(stream, line, router, watcher).await,
        Some(encrypts) => {
            let shaken = tokio::time::timeout(HANDSHAKE_WITHIN, encrypts.accept(stream)).await;
            if let Ok(Ok(stream)) = shaken {
                converse(stream, line, router, watcher).await;
            }
        }
    }
}

async fn converse<S>(stream: S, line: Line, router: Router, watcher: Watcher)
where
    S: AsyncRead + AsyncWrite + Unpin + Send + 'static,
{
    let service = service_fn(move |request: Request<Incoming>| respond(router.clone(), line, request));
    let conversation = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(HEADERS_WITHIN)
        .max_buf_size(MOST_HEAD)
        .serve_connection(TokioIo::new(stream), service);
    if let Err(error) = watcher.watch(conversation).await {
        // A browser that went away is no trouble of ours.
        tracing::debug!("A line ended: {error}");
    }
}

async fn respond(
    mut router: Router,
    line: Line,
    request: Request<Incoming>,
) -> Result<Response<Body>, Infallible> {
    let mut request = request.map(|body| Body::new(DeadlineBody::new(BODY_WITHIN, body)));
    request.extensions_mut().insert(line);
    router.call(request).await
}

#[cfg(test)]
mod tests {
    use tokio::io::{AsyncReadExt, AsyncWriteExt};
    use tokio::time::Instant;

    use super::*;

    /// What somebody hears who says so much and then no more, and when. The clock is ours: waiting takes no time.
    async fn heard(said: &str) -> (String, Duration) {
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let address = listener.local_addr().unwrap();
        let router = Router::new().fallback(async |body: String| format!("here: {body}"));
        let served = tokio::spawn(async move { serve(listener, None, router, std::future::pending()).await });
        let mut line = TcpStream::connect(address).await.unwrap();
        tokio::time::pause();
        let begun = Instant::now();
        line.write_all(said.as_bytes()).await.unwrap();
        let mut answer = Vec::new();
        let _ = line.read_to_end(&mut answer).await;
        served.abort();
        let took = begun.elapsed();
        tokio::time::resume();
        (String::from_utf8(answer).unwrap(), took)
    }

    #[tokio::test]
    async fn a_head_that_does_not_come_is_not_waited_for() {
        for said in ["", "GET / HTTP/1.1\r\n", "GET / HTTP/1.1\r\nHost: localhost\r\nX-Slow: "] {
            let (answer, took) = heard(said).await;
            assert!(!answer.contains("here"), "{answer}");
            assert!((HEADERS_WITHIN..HEADERS_WITHIN * 2).contains(&took), "{said:?}: {took:?}");
        }
    }

    #[tokio::test]
    async fn a_body_that_does_not_come_is_not_waited_for() {
        let (answer, took) =
            heard("POST / HTTP/1.1\r\nHost: localhost\r\nContent-Length: 10\r\n\r\nhalf").await;
        assert!(answer.starts_with("HTTP/1.1 4"), "{answer}");
        assert!((BODY_WITHIN..BODY_WITHIN * 2).contains(&took), "{took:?}");
    }
}
