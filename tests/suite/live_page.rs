//! The live page as a browser meets it, over its real connection: whom it answers, how much it takes, and what it writes.

use std::fs;
use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use dialwright::limits;
use dialwright::revision::Digest;
use tempfile::TempDir;

const DIAL: &str = "dial \"Points\"\nparam across: length = 60mm from 50mm to 70mm\noutline circle(diameter: across)\n\
    layer base of birch { engrave ring points { labels 0 to 9 } }\n\
    layer cover of birch { window peep = circle(diameter: 12mm) at polar(20mm, 0deg) }\n\
    stack { base; turn on magnets(disc); cover }\nreads points through peep\n";

/// A page that is served until it is dropped.
struct Page {
    child: Child,
    folder: TempDir,
    port: String,
    token: String,
}

impl Drop for Page {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Page {
    fn open() -> Self {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("a.dial"), DIAL).unwrap();
        let mut command = Command::new(env!("CARGO_BIN_EXE_dialwright"));
        command.args(["view", "a.dial", "--stay"]).current_dir(folder.path()).stdout(Stdio::piped());
        let mut child = command.spawn().unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.as_mut().unwrap()).read_line(&mut line).unwrap();
        let port = line.split("127.0.0.1:").nth(1).unwrap().split('/').next().unwrap().to_owned();
        let key = line.split("/?key=").nth(1).unwrap().split(' ').next().unwrap().to_owned();
        let mut page = Self { child, folder, port, token: String::new() };
        let shell = page.get(&format!("/?key={key}"), &[]).1;
        let token = shell.split("content=\"").find_map(|rest| rest.split('"').next().filter(|it| it.len() == 64));
        page.token = token.expect("a token in the page").to_owned();
        page
    }

    fn path(&self) -> PathBuf {
        self.folder.path().join("a.dial")
    }

    /// Status and body of the answer to a request with these headers besides its own.
    fn asked(&self, method: &str, address: &str, headers: &[(&str, &str)], body: &str) -> (u16, String) {
        let own = format!("127.0.0.1:{}", self.port);
        let host =
            if headers.iter().any(|(name, _)| *name == "Host") { String::new() } else { format!("Host: {own}\r\n") };
        let cookie = format!("dialwright-{}={}", self.port, self.token);
        let mine = [("Cookie", cookie.as_str())].into_iter().filter(|_| !self.token.is_empty());
        let more: String =
            headers.iter().copied().chain(mine).map(|(name, value)| format!("{name}: {value}\r\n")).collect();
        let length = body.len();
        let mut stream = TcpStream::connect(own).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(60))).unwrap();
        let head =
            format!("{method} {address} HTTP/1.1\r\n{host}{more}Content-Length: {length}\r\nConnection: close\r\n\r\n");
        stream.write_all(head.as_bytes()).unwrap();
        // It may be refused before all of it is read.
        let _ = stream.write_all(body.as_bytes());
        let mut answer = Vec::new();
        let _ = stream.read_to_end(&mut answer);
        let answer = String::from_utf8_lossy(&answer).into_owned();
        let status = answer.split(' ').nth(1).and_then(|status| status.parse().ok()).unwrap_or_default();
        (status, answer.split_once("\r\n\r\n").map_or(String::new(), |(_, body)| body.to_owned()))
    }

    fn get(&self, address: &str, headers: &[(&str, &str)]) -> (u16, String) {
        self.asked("GET", address, headers, "")
    }

    fn write(&self, value: &str, seen: &str) -> (u16, String) {
        let wish = serde_json::json!({ "param": "across", "value": value, "seen": seen }).to_string();
        self.asked("POST", "/write", &[("x-dialwright-token", &self.token)], &wish)
    }
}

fn digest(text: &str) -> String {
    Digest::of(text.as_bytes()).to_string()
}

/// As it is saved with a height of a million kilometres, which once used up the stack, and after that.
#[test]
fn a_length_out_of_all_bounds_is_shown_and_the_page_lives_on() {
    let page = Page::open();
    let far = DIAL.replace("labels 0 to 9", "labels 0 to 9; height 1000000000000mm");
    for (text, shown) in [(far.as_str(), true), (DIAL, false)] {
        fs::write(page.path(), text).unwrap();
        let since = std::time::Instant::now();
        while page.get("/state", &[]).1.contains("out-of-bounds") != shown {
            assert!(since.elapsed() < Duration::from_secs(60), "shown: {shown}");
            std::thread::sleep(Duration::from_millis(50));
        }
    }
}

#[test]
fn a_value_is_written_only_over_what_was_shown() {
    let page = Page::open();
    let (status, told) = page.write("64mm", &digest(DIAL));
    assert_eq!((status, told.as_str()), (200, "across = 64mm was written into a.dial"));
    let written = DIAL.replace("= 60mm", "= 64mm");
    assert_eq!(fs::read_to_string(page.path()).unwrap(), written);
    // The page of before, after a save in an editor.
    let saved = format!("// saved\n{written}");
    fs::write(page.path(), &saved).unwrap();
    assert_eq!(page.write("66mm", &digest(&written)).0, 409);
    assert_eq!(fs::read_to_string(page.path()).unwrap(), saved);
    // Faulty texts and vanished files are left alone.
    fs::write(page.path(), "dial \"").unwrap();
    assert_eq!(page.write("66mm", &digest("dial \"")).0, 409);
    assert_eq!(fs::read_to_string(page.path()).unwrap(), "dial \"");
    fs::remove_file(page.path()).unwrap();
    assert_eq!(page.write("66mm", &digest(&saved)).0, 409);
    assert!(!page.path().exists());
    let left: Vec<_> = fs::read_dir(page.folder.path()).unwrap().collect();
    assert!(left.is_empty(), "{left:?}");
}

/// Many writes and saves at once: the file is always one whole text that somebody wrote.
#[test]
fn writes_and_saves_at_once_leave_a_whole_text() {
    let page = Page::open();
    let texts: Vec<String> = (50..70).map(|at| DIAL.replace("= 60mm", &format!("= {at}mm"))).collect();
    std::thread::scope(|scope| {
        let saver = scope.spawn(|| {
            for round in 0..40 {
                // As an editor saves: beside it, then swapped.
                let beside = page.folder.path().join("a.dial~");
                fs::write(&beside, &texts[round % 20]).unwrap();
                fs::rename(beside, page.path()).unwrap();
            }
        });
        for at in 0..20 {
            let seen = fs::read_to_string(page.path()).unwrap();
            let (status, told) = page.write(&format!("{}mm", 50 + at), &digest(&seen));
            assert!(status == 200 || status == 409, "{status}: {told}");
            assert!(texts.contains(&fs::read_to_string(page.path()).unwrap()));
        }
        saver.join().unwrap();
    });
    assert!(texts.contains(&fs::read_to_string(page.path()).unwrap()));
}

#[test]
fn nobody_else_is_answered() {
    let page = Page::open();
    let rebound = format!("dial.example:{}", page.port);
    assert_eq!(page.get("/state", &[("Host", &rebound)]).0, 421);
    assert_eq!(page.get("/state", &[("Origin", "http://dial.example")]).0, 403);
    assert_eq!(page.get("/state", &[("Origin", "null")]).0, 403);
    let (status, told) = page.get("http://dial.example/state", &[]);
    assert_eq!(status, 421, "{told}");
    assert_eq!(page.get("/state", &[("Sec-Fetch-Site", "cross-site")]).0, 403);
    assert_eq!(page.get("/../a.dial", &[]).0, 404);
    assert_eq!(page.get("/a.dial", &[]).0, 404);
    assert_eq!(page.asked("POST", "/write", &[], "{}").0, 403);
    assert_eq!(page.asked("OPTIONS", "/write", &[("Origin", "http://dial.example")], "").0, 403);
    let before = fs::read_to_string(page.path()).unwrap();
    let foreign = [("x-dialwright-token", page.token.as_str()), ("Origin", "http://dial.example")];
    let wish = serde_json::json!({ "param": "across", "value": "64mm", "seen": digest(DIAL) }).to_string();
    assert_eq!(page.asked("POST", "/write", &foreign, &wish).0, 403);
    assert_eq!(fs::read_to_string(page.path()).unwrap(), before);
}

/// As another account of the machine asks, which was not told the address.
#[test]
fn strangers_read_and_write_nothing() {
    let mut page = Page::open();
    let token = std::mem::take(&mut page.token);
    for address in ["/", "/state", "/boards", "/setup.svg?board=1&setup=1", "/events", "/live.js", "/?key=x"] {
        let (status, told) = page.get(address, &[]);
        assert_eq!(status, 403, "{address}");
        assert!(!told.contains(&token) && !told.contains("across"), "{address}: {told}");
    }
    page.token = "x".repeat(64);
    assert_eq!(page.write("64mm", &digest(DIAL)).0, 403);
    assert_eq!(fs::read_to_string(page.path()).unwrap(), DIAL);
}

#[test]
fn only_so_much_is_taken() {
    let page = Page::open();
    let wish = |bytes: usize| {
        let wish = serde_json::json!({ "param": "across", "value": "64mm", "seen": digest(DIAL) }).to_string();
        let padded = format!("{wish}{}", " ".repeat(bytes - wish.len()));
        page.asked("POST", "/write", &[("x-dialwright-token", &page.token)], &padded).0
    };
    assert_eq!(wish(limits::REQUEST_BYTES + 1), 400);
    assert_eq!(wish(limits::REQUEST_BYTES), 200);
}
