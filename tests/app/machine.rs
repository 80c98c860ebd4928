//! A machine of one test: the program itself, started as a person starts it.

use std::io::{self, BufRead, BufReader, Read, Write};
use std::path::PathBuf;
use std::process::{Command, Output, Stdio};
use std::{fs, net};

use crate::support::own_folder;

/// A machine of one test: a folder for everything, removed at its end.
pub(crate) struct Machine(pub(crate) PathBuf);

impl Machine {
    pub(crate) fn new() -> Machine {
        let folder = own_folder();
        fs::create_dir_all(&folder).unwrap();
        Machine(folder)
    }

    pub(crate) fn at(&self, name: &str) -> String {
        self.0.join(name).to_string_lossy().into_owned()
    }

    pub(crate) fn command(&self, words: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_trug"));
        command.args(words).current_dir(&self.0).env("TMPDIR", &self.0);
        command
    }

    pub(crate) fn run(&self, words: &[&str]) -> Output {
        self.command(words).output().unwrap()
    }

    /// What the program says when all is well.
    #[track_caller]
    pub(crate) fn says(&self, words: &[&str]) -> String {
        let output = self.run(words);
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).unwrap()
    }

    /// What it says when it refuses: one sentence or a few, no panic, on the standard error.
    #[track_caller]
    pub(crate) fn refuses(&self, words: &[&str]) -> String {
        let output = self.run(words);
        let said = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(1), "{said}");
        assert!(said.starts_with("trug: ") && !said.contains("panicked"), "{said}");
        said
    }

    /// Starts a server on any free port; its first word is where it serves.
    pub(crate) fn serve(&self, words: &[&str]) -> Served {
        self.serve_with(&mut self.command(words))
    }

    /// Starts a server by another command, such as a shell that sets limits first.
    pub(crate) fn serve_with(&self, command: &mut Command) -> Served {
        let command = command.current_dir(&self.0).env("TMPDIR", &self.0);
        let mut child = command.stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let mut said = String::new();
        while !said.contains("Trug serves") {
            said.push_str(&lines.next().unwrap().unwrap());
        }
        Served { child, said }
    }

    pub(crate) fn demo_book(&self, folder: &str) {
        drop(self.serve(&["demo", "--port", "0", "--data", folder]));
    }
}

impl Drop for Machine {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

pub(crate) struct Served {
    pub(crate) child: std::process::Child,
    pub(crate) said: String,
}

impl Served {
    /// Where it answers.
    pub(crate) fn address(&self) -> String {
        let from = self.said.split("http://").nth(1).unwrap();
        from.split('/').next().unwrap().to_owned()
    }

    pub(crate) fn get(&self, path: &str) -> String {
        answer_to(&self.address(), "GET", path, "").unwrap()
    }

    pub(crate) fn post(&self, path: &str, form: &str) -> String {
        answer_to(&self.address(), "POST", path, form).unwrap()
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// One request over a connection of its own, and the whole answer; an error where the server dies under it.
pub(crate) fn answer_to(address: &str, method: &str, path: &str, form: &str) -> io::Result<String> {
    let mut stream = net::TcpStream::connect(address)?;
    let length = form.len();
    write!(
        stream,
        "{method} {path} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\
        Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {length}\r\n\r\n{form}"
    )?;
    let mut answer = String::new();
    stream.read_to_string(&mut answer)?;
    Ok(answer)
}
