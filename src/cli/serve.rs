//! `foldback serve`: the drawing board for browsers on this machine, with the engine in this program.
//!
//! The server knows the board's own files and one place to ask questions, nothing else. It listens to this machine alone
//! unless told otherwise, answers only requests that name it by a number or as `localhost`, so that no foreign page can
//! reach it under a name of its own, and bounds the size of a question and the time for its answer.

use std::io::{Read, Write};
use std::net::{IpAddr, SocketAddr};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::thread;
use std::time::{Duration, Instant};

use anyhow::{Result, anyhow};
use tiny_http::{Header, Method, Request, Response, Server, StatusCode};

use super::args::ServeArguments;
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

/// What a page from this server may do: run its own scripts, ask this server, show pictures it made itself.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src blob: data:; connect-src 'self'; \
    base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

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
    let server = Server::http(address).map_err(|error| {
        anyhow!("cannot listen at {address}: {error}; is the board open already? choose another with --port")
    })?;
    let address = server.server_addr().to_ip().unwrap_or(address);
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
    thread::scope(|scope| {
        for _ in 0..AT_ONCE {
            scope.spawn(|| {
                while let Ok(request) = server.recv() {
                    reply(request, address);
                }
            });
        }
    });
    Ok(())
}

/// What to send back.
struct Reply {
    status: u16,
    kind: &'static str,
    body: Vec<u8>,
}

impl Reply {
    fn new(status: u16, kind: &'static str, body: impl Into<Vec<u8>>) -> Reply {
        let body = body.into();
        Reply { status, kind, body }
    }

    fn refusal(status: u16, why: &str) -> Reply {
        Reply::new(status, "application/json", failure(why))
    }
}

fn reply(mut request: Request, address: SocketAddr) {
    let reply = checked(&mut request, address);
    let mut response = Response::from_data(reply.body).with_status_code(StatusCode(reply.status));
    let headers = [
        ("Content-Type", reply.kind),
        ("Content-Security-Policy", POLICY),
        ("X-Content-Type-Options", "nosniff"),
        ("Referrer-Policy", "no-referrer"),
        ("Cross-Origin-Opener-Policy", "same-origin"),
        ("Cross-Origin-Resource-Policy", "same-origin"),
        ("Cache-Control", "no-store"),
    ];
    for (name, value) in headers {
        if let Ok(header) = Header::from_bytes(name, value) {
            response.add_header(header);
        }
    }
    // Whoever has gone needs no answer.
    let _ = request.respond(response);
}

/// Refuses requests that no page of this server makes.
fn checked(request: &mut Request, address: SocketAddr) -> Reply {
    let host = header(request, "Host").unwrap_or_default();
    if !is_own_name(host, address) {
        return Reply::refusal(403, "this is not the name of this server");
    }
    let foreign =
        header(request, "Origin").is_some_and(|origin| origin != format!("http://{host}"));
    if foreign {
        return Reply::refusal(403, "only the board itself may ask here");
    }
    match (request.method().clone(), request.url().to_owned().as_str()) {
        (Method::Post, "/answer") => asked(request),
        (Method::Get, path) => given(path),
        _ => Reply::refusal(405, "this cannot be done here"),
    }
}

fn header<'r>(request: &'r Request, name: &'static str) -> Option<&'r str> {
    let found = request.headers().iter().find(|h| h.field.equiv(name));
    found.map(|header| header.value.as_str())
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
        "" => Reply::new(200, "text/html; charset=utf-8", board::page("server", "")),
        "index.html" | "worker.js" => Reply::refusal(404, "there is nothing here"),
        _ => match board::file(name) {
            Some(text) if name.ends_with(".css") => {
                Reply::new(200, "text/css; charset=utf-8", text)
            }
            Some(text) => Reply::new(200, "text/javascript; charset=utf-8", text),
            None => Reply::refusal(404, "there is nothing here"),
        },
    }
}

/// The engine's answer to a question.
fn asked(request: &mut Request) -> Reply {
    // Another site can send a form here, but not this kind of text.
    let kind = header(request, "Content-Type").unwrap_or_default();
    if !kind.starts_with("application/json") {
        return Reply::refusal(415, "questions are asked in JSON");
    }
    let too_long = || Reply::refusal(413, "this sheet is too large for the board");
    if request.body_length().is_some_and(|length| length > LONGEST) {
        return too_long();
    }
    let mut question = Vec::new();
    let most = LONGEST as u64 + 1;
    if request
        .as_reader()
        .take(most)
        .read_to_end(&mut question)
        .is_err()
    {
        return Reply::refusal(400, "the question broke off");
    }
    if question.len() > LONGEST {
        return too_long();
    }
    let clock = Clock(Instant::now());
    // A fault in the engine must not end the server, which holds nothing that it could leave half done.
    match catch_unwind(AssertUnwindSafe(|| answer_watched(&question, &clock))) {
        Ok(answer) => Reply::new(200, kind_of(&answer), answer),
        Err(_) => Reply::refusal(500, "the engine failed at this sheet; please report it"),
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
        assert_eq!(given("/").status, 200);
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
