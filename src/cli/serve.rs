//! `foldback serve`: the drawing board for browsers on this machine, with the engine in this program.
//!
//! The server knows the board's own files and one place to ask questions, nothing else. It listens to this machine alone
//! unless told otherwise, answers only requests that name it by a number or as `localhost`, so that no foreign page can
//! reach it under a name of its own, and bounds the size of a question and the time for its answer.

use std::io::Write;
use std::net::{IpAddr, SocketAddr, TcpListener, TcpStream};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::{Condvar, Mutex, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

use anyhow::{Context, Result};

use super::args::ServeArguments;
use super::http::{Fault, Reply, Request, drain};
use super::status::Status;
use super::{board, complain};
use crate::Watch;
use crate::page::{answer_watched, failure};

/// The longest question, in bytes: room for a sheet of more than ten thousand lines.
const LONGEST: usize = 2 << 20;

/// An answer takes no longer.
const TIME: Duration = Duration::from_secs(10);

/// Questions answered at the same time; more have to wait.
const AT_ONCE: usize = 4;

/// Connections served at the same time; some of a browser's stay idle for a while.
const CONNECTIONS: usize = 24;

/// What a page from this server may do: run its own scripts, ask this server, show pictures it made itself.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src blob: data:; connect-src 'self'; \
    base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// What is sent with everything.
const HEADERS: [(&str, &str); 6] = [
    ("Content-Security-Policy", POLICY),
    ("X-Content-Type-Options", "nosniff"),
    ("Referrer-Policy", "no-referrer"),
    ("Cross-Origin-Opener-Policy", "same-origin"),
    ("Cross-Origin-Resource-Policy", "same-origin"),
    ("Cache-Control", "no-store"),
];

/// Serves until the program is ended.
pub(super) fn run(arguments: &ServeArguments, out: &mut impl Write) -> Status {
    match serve(arguments, out) {
        Ok(()) => Status::Unique,
        Err(error) => {
            complain(&format!("{error:#}"));
            Status::Failed
        }
    }
}

fn serve(arguments: &ServeArguments, out: &mut impl Write) -> Result<()> {
    let address = SocketAddr::new(arguments.listen, arguments.port);
    let listener = TcpListener::bind(address).with_context(|| {
        format!("cannot listen at {address}; is the board open already? choose another with --port")
    })?;
    let address = listener.local_addr().unwrap_or(address);
    if !address.ip().is_loopback() {
        complain(
            "warning: other machines can reach this board; whoever can, can keep this machine busy",
        );
    }
    // A closed standard output is no reason not to serve.
    let _ = writeln!(
        out,
        "The drawing board is at http://{address}/ (end with Ctrl+C)."
    );
    let _ = out.flush();
    let server = Server {
        address,
        page: board::page("server", "")?,
        free: Mutex::new(AT_ONCE),
        freed: Condvar::new(),
    };
    thread::scope(|scope| {
        for _ in 0..CONNECTIONS {
            scope.spawn(|| {
                loop {
                    match listener.accept() {
                        Ok((mut stream, _)) => server.serve(&mut stream),
                        // Too many open files, say: that passes.
                        Err(_) => thread::sleep(Duration::from_millis(50)),
                    }
                }
            });
        }
    });
    Ok(())
}

fn refusal(status: u16, why: &str) -> Reply {
    Reply::new(status, "application/json", failure(why))
}

/// What all connections share.
struct Server {
    address: SocketAddr,
    page: String,
    /// How many more questions may be answered now.
    free: Mutex<usize>,
    freed: Condvar,
}

impl Server {
    fn serve(&self, stream: &mut TcpStream) {
        let reply = match Request::read(stream) {
            Ok(request) => self.checked(&request, stream),
            Err(Fault::Gone) => return,
            Err(_) => refusal(400, "this request cannot be read"),
        };
        // Whoever has gone needs no answer.
        if reply.send(stream, &HEADERS).is_ok() && reply.status != 200 {
            drain(stream, 2 * LONGEST as u64);
        }
    }

    /// Refuses requests that no page of this server makes.
    fn checked(&self, request: &Request, stream: &mut TcpStream) -> Reply {
        let host = request.header("host").unwrap_or_default();
        if !is_own_name(host, self.address) {
            return refusal(403, "this is not the name of this server");
        }
        let own = format!("http://{host}");
        if request.header("origin").is_some_and(|origin| origin != own) {
            return refusal(403, "only the board itself may ask here");
        }
        match (request.method.as_str(), request.path.as_str()) {
            ("POST", "/answer") => self.asked(request, stream),
            ("GET", "/") => Reply::new(200, "text/html; charset=utf-8", self.page.as_str()),
            ("GET", path) => given(path),
            _ => refusal(405, "this cannot be done here"),
        }
    }

    /// The engine's answer to a question.
    fn asked(&self, request: &Request, stream: &mut TcpStream) -> Reply {
        // Another site can send a form here, but not this kind of text.
        let kind = request.header("content-type").unwrap_or_default();
        if !kind.starts_with("application/json") {
            return refusal(415, "questions are asked in JSON");
        }
        let question = match request.body(stream, LONGEST) {
            Ok(question) => question,
            Err(Fault::TooLong) => return refusal(413, "this sheet is too large for the board"),
            Err(Fault::NoLength) => return refusal(411, "the length of the question is not said"),
            Err(_) => return refusal(400, "the question broke off"),
        };
        let _turn = self.turn();
        let clock = Clock(Instant::now());
        // A fault in the engine must not end the server, which holds nothing that it could leave half done.
        match catch_unwind(AssertUnwindSafe(|| answer_watched(&question, &clock))) {
            Ok(answer) => Reply::new(200, kind_of(&answer), answer),
            Err(_) => refusal(500, "the engine failed at this sheet; please report it"),
        }
    }

    /// Waits until a question may be answered.
    fn turn(&self) -> Turn<'_> {
        // Nothing can be half done while the number is held.
        let mut free = self.free.lock().unwrap_or_else(PoisonError::into_inner);
        while *free == 0 {
            free = self
                .freed
                .wait(free)
                .unwrap_or_else(PoisonError::into_inner);
        }
        *free -= 1;
        Turn(self)
    }
}

/// The right to answer a question; given back when dropped.
struct Turn<'s>(&'s Server);

impl Drop for Turn<'_> {
    fn drop(&mut self) {
        *self.0.free.lock().unwrap_or_else(PoisonError::into_inner) += 1;
        self.0.freed.notify_one();
    }
}

/// Whether a host as a browser names it is this server: a number or `localhost`, with the right port. Any other name could
/// be a foreign page's, made to lead here.
fn is_own_name(host: &str, address: SocketAddr) -> bool {
    let Some((name, port)) = host.rsplit_once(':') else {
        return false;
    };
    let number = name.trim_start_matches('[').trim_end_matches(']');
    let own = match number.parse::<IpAddr>() {
        Ok(ip) => ip.is_loopback() || !address.ip().is_loopback(),
        Err(_) => name.eq_ignore_ascii_case("localhost"),
    };
    own && port.parse() == Ok(address.port())
}

/// One of the board's files.
fn given(path: &str) -> Reply {
    let name = path.strip_prefix('/').unwrap_or(path);
    match name {
        "index.html" | "worker.js" => refusal(404, "there is nothing here"),
        _ => match board::file(name) {
            Some(text) if name.ends_with(".css") => {
                Reply::new(200, "text/css; charset=utf-8", text)
            }
            Some(text) => Reply::new(200, "text/javascript; charset=utf-8", text),
            None => refusal(404, "there is nothing here"),
        },
    }
}

fn kind_of(answer: &[u8]) -> &'static str {
    match answer.first() {
        Some(b'{') => "application/json",
        Some(b'<') => "image/svg+xml",
        _ => "application/octet-stream",
    }
}

/// Stops a run when its time is over.
struct Clock(Instant);

impl Watch for Clock {
    fn keep_going(&self) -> bool {
        self.0.elapsed() < TIME
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_numbers_and_localhost_are_own_names() {
        let home: SocketAddr = "127.0.0.1:4000".parse().unwrap();
        for host in [
            "127.0.0.1:4000",
            "localhost:4000",
            "LOCALHOST:4000",
            "[::1]:4000",
        ] {
            assert!(is_own_name(host, home), "{host}");
        }
        for host in [
            "",
            "127.0.0.1",
            "localhost:4001",
            "board.example:4000",
            "192.0.2.1:4000",
            "127.0.0.1.example:4000",
        ] {
            assert!(!is_own_name(host, home), "{host}");
        }
        let open: SocketAddr = "0.0.0.0:4000".parse().unwrap();
        assert!(is_own_name("192.0.2.1:4000", open));
        assert!(!is_own_name("board.example:4000", open));
    }

    #[test]
    fn only_the_files_of_the_board_are_served() {
        assert_eq!(given("/main.js").kind, "text/javascript; charset=utf-8");
        for path in [
            "/../Cargo.toml",
            "/Cargo.toml",
            "//main.js",
            "/main.js?x",
            "/%6dain.js",
            "/index.html",
        ] {
            assert_eq!(given(path).status, 404, "{path}");
        }
    }
}
