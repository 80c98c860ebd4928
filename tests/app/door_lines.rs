//! Real lines: encrypted ones, bounded ones; and the program as it is started for a network.

use std::io::{Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::path::{Path, PathBuf};
use std::process::Stdio;
use std::sync::Arc;

use rcgen::{CertificateParams, KeyPair, date_time_ymd};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpListener;
use tokio_rustls::TlsConnector;
use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::pki_types::pem::PemObject;
use tokio_rustls::rustls::pki_types::{CertificateDer, ServerName};
use tokio_rustls::rustls::{ClientConfig, RootCertStore};
use trug::app::router;
use trug::clock::Clock;
use trug::config::BOOK_FILE;
use trug::db::Book;
use trug::web::door::{Door, Way};
use trug::web::serving::{Certificate, serve};
use trug::web::state::App;

use crate::machine::{Machine, answer_to};
use crate::people::{OWNER, let_in};
use crate::support::{NOW, TestStudio};

/// A certificate of our own making for this machine, that holds from 2020 to 2060.
struct Pair {
    certificate: PathBuf,
    key: PathBuf,
}

fn pair(folder: &std::path::Path) -> Pair {
    let mut params = CertificateParams::new(vec!["localhost".into()]).unwrap();
    params.not_before = date_time_ymd(2020, 1, 1);
    params.not_after = date_time_ymd(2060, 1, 1);
    let secret = KeyPair::generate().unwrap();
    let pair = Pair { certificate: folder.join("certificate.pem"), key: folder.join("key.pem") };
    std::fs::write(&pair.certificate, params.self_signed(&secret).unwrap().pem()).unwrap();
    std::fs::write(&pair.key, secret.serialize_pem()).unwrap();
    pair
}

async fn listening(studio: &TestStudio, way: Way, certificate: Option<Certificate>) -> SocketAddr {
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap();
    let door = Door { way, names: Vec::new() };
    let app = App::behind(door, studio.book.clone(), Clock::Fixed(NOW.parse().unwrap()));
    tokio::spawn(async move {
        serve(listener, certificate.as_ref(), router(app), std::future::pending()).await;
    });
    address
}

/// Asks over an encrypted line, trusting this certificate alone.
async fn ask(address: SocketAddr, pair: &Pair, request: &str) -> String {
    let mut roots = RootCertStore::empty();
    let text = std::fs::read(&pair.certificate).unwrap();
    roots.add(CertificateDer::from_pem_slice(&text).unwrap()).unwrap();
    let config = ClientConfig::builder_with_provider(Arc::new(ring::default_provider()))
        .with_safe_default_protocol_versions()
        .unwrap()
        .with_root_certificates(roots)
        .with_no_client_auth();
    let stream = tokio::net::TcpStream::connect(address).await.unwrap();
    let name = ServerName::try_from("localhost").unwrap();
    let mut stream = TlsConnector::from(Arc::new(config)).connect(name, stream).await.unwrap();
    stream.write_all(request.as_bytes()).await.unwrap();
    let mut answer = Vec::new();
    let _ = stream.read_to_end(&mut answer).await;
    String::from_utf8_lossy(&answer).into_owned()
}

#[tokio::test]
async fn over_an_encrypted_line_one_logs_in_and_the_cookie_keeps_to_it() {
    let studio = TestStudio::new().await;
    let_in(&studio).await;
    let pair = pair(studio.book.path().parent().unwrap());
    let certificate = Certificate::read(&pair.certificate, &pair.key, NOW.parse().unwrap()).unwrap();
    let address = listening(&studio, Way::Encrypted, Some(certificate)).await;
    let get =
        format!("GET /log-in HTTP/1.1\r\nhost: localhost:{}\r\nconnection: close\r\n\r\n", address.port());
    let page = ask(address, &pair, &get).await;
    assert!(page.starts_with("HTTP/1.1 200") && page.contains("strict-transport-security"), "{page}");
    assert!(!page.contains("travels unencrypted"));
    let body = format!("name=mia+thorne&passphrase={}", OWNER.1.replace(' ', "+"));
    let post = format!(
        "POST /log-in HTTP/1.1\r\nhost: localhost:{}\r\nconnection: close\r\norigin: https://localhost:{}\r\n\
         content-type: application/x-www-form-urlencoded\r\ncontent-length: {}\r\n\r\n{body}",
        address.port(),
        address.port(),
        body.len()
    );
    let answer = ask(address, &pair, &post).await;
    assert!(answer.starts_with("HTTP/1.1 303"), "{answer}");
    assert!(answer.contains("__Host-trug_session=") && answer.contains("; Secure"), "{answer}");
    // Nothing is said to who does not encrypt.
    let plain = tokio::task::spawn_blocking(move || plainly(address, &get)).await.unwrap();
    assert!(!plain.contains("HTTP/1.1 200") && !plain.contains("Trug"), "{plain}");
}

fn plainly(address: SocketAddr, request: &str) -> String {
    let mut line = TcpStream::connect(address).unwrap();
    line.write_all(request.as_bytes()).unwrap();
    let mut answer = Vec::new();
    let _ = line.read_to_end(&mut answer);
    String::from_utf8_lossy(&answer).into_owned()
}

#[tokio::test]
async fn the_address_that_was_reached_is_a_name_of_ours_and_no_other() {
    let studio = TestStudio::new().await;
    let_in(&studio).await;
    let address = listening(&studio, Way::Network, None).await;
    let get = move |host: &'static str| {
        let request = format!("GET /log-in HTTP/1.1\r\nhost: {host}\r\nconnection: close\r\n\r\n");
        tokio::task::spawn_blocking(move || plainly(address, &request))
    };
    assert!(get("127.0.0.1").await.unwrap().starts_with("HTTP/1.1 200"));
    assert!(get("192.168.1.20").await.unwrap().starts_with("HTTP/1.1 421"));
    assert!(get("rebound.example.org").await.unwrap().starts_with("HTTP/1.1 421"));
    let long = format!("GET /{} HTTP/1.1\r\nhost: localhost\r\n\r\n", "x".repeat(100_000));
    let answer = tokio::task::spawn_blocking(move || plainly(address, &long)).await.unwrap();
    assert!(answer.is_empty() || answer.starts_with("HTTP/1.1 4"), "a head without end: {answer}");
}

#[test]
fn a_book_in_which_nobody_could_log_in_is_not_opened_to_a_network() {
    let machine = Machine::new();
    let book = machine.at("book");
    let said = machine.refuses(&["serve", "--listen", "0.0.0.0:0", "--data", &book]);
    assert!(said.contains("no owner with a passphrase") && said.contains("trug person add"), "{said}");
    let said =
        machine.refuses(&["serve", "--behind-proxy", "https://trug.example", "--port", "0", "--data", &book]);
    assert!(said.contains("no owner with a passphrase"), "{said}");
    // A desk is not enough.
    assert!(
        typed(&machine, &["person", "add", "Otto", "--role", "desk", "--data", &book], "nine grey herons")
            .contains("Otto may")
    );
    machine.refuses(&["serve", "--listen", "0.0.0.0:0", "--data", &book]);
    let said = typed(&machine, &["person", "add", "Mia Thorne", "--role", "owner", "--data", &book], OWNER.1);
    assert!(said.contains("Mia Thorne may come in: everything"), "{said}");
    let list = machine.says(&["person", "list", "--data", &book]);
    assert!(list.contains("Mia Thorne, owner") && list.contains("Otto, desk"), "{list}");
}

#[test]
fn on_a_network_the_start_says_who_logs_in_and_what_is_not_encrypted() {
    let machine = Machine::new();
    let book = machine.at("book");
    typed(&machine, &["person", "add", "Mia Thorne", "--role", "owner", "--data", &book], OWNER.1);
    let served = machine.serve(&["serve", "--listen", "0.0.0.0:0", "--data", &book]);
    assert!(served.said.contains("and on every address of this machine"), "{}", served.said);
    let port = served.said.split("/ and on every").next().unwrap().rsplit(':').next().unwrap();
    let get = |path| answer_to(&format!("127.0.0.1:{port}"), "GET", path, "").unwrap();
    let page = get("/events");
    assert!(page.starts_with("HTTP/1.1 303") && page.contains("/log-in?to=%2Fevents"), "here too: {page}");
    assert!(get("/log-in").contains("travels unencrypted"));
}

#[test]
fn what_cannot_be_listened_to_or_used_is_said_in_a_sentence() {
    let machine = Machine::new();
    let (book, file) = (machine.at("book"), machine.at("no.pem"));
    std::fs::write(&file, "nothing").unwrap();
    for (words, said) in [
        (vec!["--certificate", &file, "--key", &file], "holds no certificate"),
        (vec!["--behind-proxy", "http://trug.example"], "Write it as https://name"),
        (vec!["--host", "http://studio.lan"], "the bare name"),
    ] {
        let all: Vec<&str> = ["serve", "--data", &book].into_iter().chain(words).collect();
        let refused = machine.refuses(&all);
        assert!(refused.contains(said), "{refused}");
    }
    for passphrase in ["short", "Password12345!", ""] {
        let output =
            typed_output(&machine, &["person", "add", "Mia", "--role", "owner", "--data", &book], passphrase);
        assert_eq!(output.status.code(), Some(1));
        assert!(String::from_utf8_lossy(&output.stderr).contains("Nothing was changed."));
    }
    assert!(machine.refuses(&["person", "passphrase", "Nobody", "--data", &book]).contains("Nobody named"));
}

#[tokio::test]
async fn what_a_command_changes_stands_in_the_history_with_its_way() {
    let machine = Machine::new();
    let book = machine.at("book");
    typed(&machine, &["person", "add", "Otto", "--role", "desk", "--data", &book], "nine grey herons");
    let book = Book::open(&Path::new(&book).join(BOOK_FILE)).await.unwrap();
    let acts: Vec<(String, String)> = sqlx::query_as(
        "SELECT way, record FROM act JOIN act_change ON act_id = act.id WHERE table_name = 'person'",
    )
    .fetch_all(&mut *book.read().await.unwrap())
    .await
    .unwrap();
    assert_eq!(acts, [("trug person".to_owned(), "person-1".to_owned())]);
}

fn typed(machine: &Machine, words: &[&str], line: &str) -> String {
    let output = typed_output(machine, words, line);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

fn typed_output(machine: &Machine, words: &[&str], line: &str) -> std::process::Output {
    let mut command = machine.command(words);
    let mut child =
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    writeln!(child.stdin.take().unwrap(), "{line}").unwrap();
    child.wait_with_output().unwrap()
}
