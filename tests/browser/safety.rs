//! What neither a hostile sheet nor a hostile page nor a mistake may do.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::Duration;

use serde_json::{Value, json};

use crate::board::{Served, Single, asked, ready};
use crate::chromium::Browser;

/// Sends a request as it is written and gives the status and the whole reply.
fn raw(served: &Served, request: &[u8]) -> (u16, String) {
    let mut stream = TcpStream::connect(served.host()).expect("the server listens");
    stream
        .set_read_timeout(Some(Duration::from_secs(30)))
        .expect("a time above nought");
    stream.write_all(request).expect("the server takes it");
    let mut reply = Vec::new();
    // A server that refuses a body may close while it is still being sent.
    let _ = stream.read_to_end(&mut reply);
    let reply = String::from_utf8_lossy(&reply).into_owned();
    let status = reply.split(' ').nth(1).and_then(|code| code.parse().ok());
    (status.unwrap_or_default(), reply)
}

fn get(served: &Served, path: &str, host: &str) -> (u16, String) {
    let request = format!("GET {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n");
    raw(served, request.as_bytes())
}

fn post(served: &Served, headers: &str, body: &str) -> (u16, String) {
    let host = served.host();
    let length = body.len();
    let request = format!(
        "POST /answer HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\nContent-Length: {length}\r\n{headers}\r\n{body}"
    );
    raw(served, request.as_bytes())
}

const JSON: &str = "Content-Type: application/json\r\n";

#[test]
fn server_answers_only_under_its_own_name() {
    let served = Served::start();
    let port = served.host().rsplit(':').next().expect("a port");
    for host in [served.host(), &format!("localhost:{port}")] {
        assert_eq!(get(&served, "/", host).0, 200, "{host}");
    }
    for host in [
        "board.example",
        &format!("board.example:{port}"),
        "127.0.0.1:1",
        "",
    ] {
        assert_eq!(get(&served, "/", host).0, 403, "{host}");
    }
    let origin = format!("{JSON}Origin: http://board.example\r\n");
    assert_eq!(post(&served, &origin, "{}").0, 403);
}

#[test]
fn server_sends_its_policy_with_everything() {
    let served = Served::start();
    for path in ["/", "/main.js", "/style.css", "/nothing"] {
        let (_, reply) = get(&served, path, served.host());
        for header in [
            "Content-Security-Policy: default-src 'none'; script-src 'self';",
            "X-Content-Type-Options: nosniff",
            "Referrer-Policy: no-referrer",
        ] {
            assert!(reply.contains(header), "{path}: {reply}");
        }
    }
}

#[test]
fn server_gives_out_nothing_but_the_board() {
    let served = Served::start();
    for path in [
        "/../Cargo.toml",
        "/..%2fCargo.toml",
        "/etc/passwd",
        "//etc/passwd",
        "/src/main.rs",
    ] {
        assert_eq!(get(&served, path, served.host()).0, 404, "{path}");
    }
}

#[test]
fn server_takes_no_question_that_is_too_long_or_no_json() {
    let served = Served::start();
    let sheet = r#"{"do":"check","sheet":{"lines":[]}}"#;
    assert_eq!(post(&served, JSON, sheet).0, 200);
    assert_eq!(post(&served, "Content-Type: text/plain\r\n", sheet).0, 415);
    let (status, reply) = post(&served, JSON, "nonsense");
    assert!(status == 200 && reply.contains(r#"{"error":"#), "{reply}");
    let long = format!("{}{}", sheet, " ".repeat(3 << 20));
    assert_eq!(post(&served, JSON, &long).0, 413);
    let chunks = format!("{:x}\r\n{sheet}\r\n", sheet.len());
    let request = format!(
        "POST /answer HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n{JSON}Transfer-Encoding: chunked\r\n\r\n{chunks}0\r\n\r\n",
        served.host()
    );
    assert_eq!(raw(&served, request.as_bytes()).0, 411);
    assert_eq!(post(&served, JSON, sheet).0, 200);
}

/// Names and texts that would run if anything took them for HTML.
fn hostile_sheet() -> Value {
    let script = "<img src=x onerror=\"window.hurt=1\"></script><script>window.hurt=1</script>";
    json!({
        "unit": "mm",
        "lines": [{"view": script, "type": script, "line": [0, 0, 1, script]}],
    })
}

#[test]
fn hostile_sheet_or_link_runs_no_script() {
    let (Some(single), Some(mut browser)) = (Single::write(), Browser::start()) else {
        return;
    };
    let served = Served::start();
    for url in [single.url(), served.url.clone()] {
        let mut page = browser.open(&url);
        ready(&mut page);
        let answer = asked(
            &mut page,
            &json!({"do": "open", "name": "<b>x</b>", "text": hostile_sheet().to_string()}),
        );
        assert!(answer.starts_with(br#"{"error":"#));
        let script = "javascript:window.hurt=1";
        for link in [
            "#<script>window.hurt=1</script>",
            "#sheet=%3Cimg%20src=x%20onerror=window.hurt=1%3E",
            script,
        ] {
            let target = if link == script {
                url.clone()
            } else {
                format!("{url}{link}")
            };
            let mut page = browser.open(&target);
            page.wait("document.readyState === 'complete'");
            assert_eq!(page.eval("window.hurt === undefined"), true, "{link}");
        }
        // Scripts that come in by any other way are stopped by the policy.
        page.eval("document.body.insertAdjacentHTML('beforeend', '<img src=x onerror=\"window.hurt=1\">')");
        page.eval("(() => { const s = document.createElement('script'); s.text = 'window.hurt=1'; document.body.append(s); })()");
        page.wait("true");
        assert_eq!(page.eval("window.hurt === undefined"), true);
    }
}

#[test]
fn page_loads_without_an_error_and_asks_nobody_else() {
    let (Some(single), Some(mut browser)) = (Single::write(), Browser::start()) else {
        return;
    };
    let served = Served::start();
    for url in [single.url(), served.url.clone()] {
        let mut page = browser.open(&url);
        page.wait("document.querySelector('#samples button')");
        page.eval("document.querySelector('#samples button').click()");
        page.wait("['unique', 'ambiguous', 'contradictory'].includes(document.getElementById('verdict').dataset.state)");
        assert_eq!(page.troubles(), [""; 0]);
        let own = |asked: &String| {
            asked.starts_with(&served.url)
                || ["file:", "blob:", "data:"]
                    .iter()
                    .any(|kind| asked.starts_with(kind))
        };
        let requests = page.requests();
        assert!(
            !requests.is_empty() && requests.iter().all(own),
            "{requests:?}"
        );
    }
}
