//! The program itself, started as a person starts it, and what Linux says of its memory.

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

pub(crate) struct Program {
    child: Child,
    pub(crate) address: String,
}

impl Drop for Program {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Starts it on a book; says how long it took to the first page.
pub(crate) fn start(folder: &Path) -> (Program, Duration) {
    let begun = Instant::now();
    let mut child = Command::new(env!("CARGO_BIN_EXE_trug"))
        .args(["serve", "--port", "0", "--data"])
        .arg(folder)
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let mut said = String::new();
    BufReader::new(child.stdout.take().unwrap()).read_line(&mut said).unwrap();
    let address = said.split("http://").nth(1).unwrap().split('/').next().unwrap().to_owned();
    let program = Program { child, address };
    program.get("/");
    (program, begun.elapsed())
}

impl Program {
    pub(crate) fn get(&self, path: &str) {
        let mut stream = TcpStream::connect(&self.address).unwrap();
        write!(stream, "GET {path} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n").unwrap();
        let mut answer = Vec::new();
        stream.read_to_end(&mut answer).unwrap();
        assert!(answer.starts_with(b"HTTP/1.1 "), "{path}");
    }

    /// What Linux says of the memory that is resident now.
    pub(crate) fn memory(&self) -> String {
        let status = fs::read_to_string(format!("/proc/{}/status", self.child.id())).unwrap_or_default();
        let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:"));
        line.map_or_else(|| "not known on this system".to_owned(), |size| size.trim().to_owned())
    }
}
