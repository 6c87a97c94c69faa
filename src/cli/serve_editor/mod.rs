//! `serve-editor`: the language server, on standard input and output.
//!
//! Three threads: one reads messages, one looks at whole designs, and this one does all the rest. On every change the
//! texts are parsed and their names and kinds checked, and what is found is shown at once; once no key was pressed for
//! [`PAUSE`], or when a file is saved, the whole design is worked out, proven and planned.

mod abilities;
mod answers;
mod edits;
mod files;
mod server;
mod wire;
mod worker;

use std::collections::VecDeque;
use std::io::{self, BufReader, Write};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread;
use std::time::Duration;

use clap::Args;
use lsp_server::{ErrorCode, Message, Notification, Request, Response};
use lsp_types::notification::{Notification as _, ShowMessage};
use lsp_types::{MessageType, ShowMessageParams};
use serde_json::Value;

use super::shelter::sheltered;
use super::{MessageFormat, report};
use crate::parallel::STACK_BYTES;
use server::Server;
use wire::Incoming;

/// How long no key is pressed before a whole design is looked at.
const PAUSE: Duration = Duration::from_millis(250);
/// How long to wait where nothing is to be done: any time will do.
const IDLE: Duration = Duration::from_secs(3600);

#[derive(Debug, Args)]
pub(super) struct ServeEditorArguments {
    /// Changes nothing: the server always speaks on standard input and output, but some editors insist on saying so
    #[arg(long)]
    stdio: bool,
}

/// What the main thread is told.
enum Event {
    /// A message came.
    Incoming(Incoming),
    /// A design was looked at.
    Done(Box<worker::Done>),
    /// The editor is gone.
    End,
}

pub(super) fn run(_: &ServeEditorArguments) -> u8 {
    let (events, inbox) = channel();
    let (jobs, work) = channel();
    let reader = events.clone();
    // It waits on standard input and ends with the process.
    let listener = thread::Builder::new().spawn(move || listen(&reader));
    // Trees are walked on it.
    let worker = thread::Builder::new().stack_size(STACK_BYTES).spawn(move || worker::work(&work, &events));
    let (Ok(_), Ok(worker)) = (listener, worker) else {
        return report::fail("the system gives no thread to work with", MessageFormat::Text);
    };
    let mut session =
        Session { jobs, server: None, shut_down: false, output: io::stdout(), queue: VecDeque::new(), told: None };
    let code = session.run(&inbox).unwrap_or(super::COULD_NOT_RUN);
    if let Some(server) = &session.server {
        server.stop();
    }
    // Without senders the worker ends once its job is stopped; the process need not wait for it.
    drop((session, worker));
    code
}

fn listen(events: &Sender<Event>) {
    let mut input = BufReader::new(io::stdin().lock());
    loop {
        let event = match wire::read(&mut input) {
            Ok(Some(incoming)) => Event::Incoming(incoming),
            Ok(None) | Err(_) => Event::End,
        };
        let ends = matches!(event, Event::End);
        if events.send(event).is_err() || ends {
            return;
        }
    }
}

/// One editor, from its first message to its last.
struct Session<W: Write> {
    /// None until the editor has introduced itself.
    server: Option<Server>,
    jobs: Sender<worker::Job>,
    shut_down: bool,
    output: W,
    queue: VecDeque<Event>,
    /// The fault of ours that was told last.
    told: Option<String>,
}

impl<W: Write> Session<W> {
    /// Goes on until the editor leaves; the exit code.
    fn run(&mut self, inbox: &Receiver<Event>) -> io::Result<u8> {
        loop {
            if self.queue.is_empty() {
                self.settle()?;
                let wait = self.server.as_ref().map_or(IDLE, |server| server.wait(IDLE));
                match inbox.recv_timeout(wait) {
                    Ok(event) => self.queue.push_back(event),
                    Err(RecvTimeoutError::Timeout) => self.dig(),
                    Err(RecvTimeoutError::Disconnected) => return Ok(super::COULD_NOT_RUN),
                }
            }
            // Whatever else has come by now is known before any of it is answered, so that a change is shown once for
            // all keys pressed meanwhile, and what was cancelled is not worked out.
            self.queue.extend(inbox.try_iter());
            match self.queue.pop_front() {
                None => {}
                Some(Event::End) => return Ok(super::COULD_NOT_RUN),
                Some(Event::Done(mut done)) => {
                    done.failed.take().map_or(Ok(()), |words| self.failed(words))?;
                    if let Some(server) = &mut self.server {
                        server.done(*done);
                    }
                    self.dig();
                }
                Some(Event::Incoming(Incoming::Fault(fault))) => wire::refuse(&mut self.output, &fault)?,
                Some(Event::Incoming(Incoming::Message(message))) => {
                    if let Some(code) = self.message(message)? {
                        return Ok(code);
                    }
                }
            }
        }
    }

    /// Shows what changed.
    fn settle(&mut self) -> io::Result<()> {
        let Some(server) = &mut self.server else { return Ok(()) };
        match sheltered("what is open", || server.settle()) {
            Ok(notes) => notes.into_iter().try_for_each(|note| Message::from(note).write(&mut self.output)),
            Err(words) => self.failed(words),
        }
    }

    /// Tells of a fault of ours, once and not again at every key. The session goes on with all that is open.
    fn failed(&mut self, words: String) -> io::Result<()> {
        if self.told.as_ref() == Some(&words) {
            return Ok(());
        }
        let parameters = ShowMessageParams { typ: MessageType::ERROR, message: words.clone() };
        self.told = Some(words);
        Message::from(Notification::new(ShowMessage::METHOD.to_owned(), parameters)).write(&mut self.output)
    }

    /// Has the next design looked at, where one is due.
    fn dig(&mut self) {
        if let Some(job) = self.server.as_mut().and_then(Server::next_job) {
            // The worker is there as long as the session is.
            let _ = self.jobs.send(job);
        }
    }

    /// The exit code, where the message is the last one.
    fn message(&mut self, message: Message) -> io::Result<Option<u8>> {
        match message {
            Message::Request(request) => {
                let cancelled = self.take_cancel(&request);
                let response = if cancelled {
                    Response::new_err(request.id, ErrorCode::RequestCanceled as i32, "no longer wanted".to_owned())
                } else {
                    self.request(request)
                };
                Message::from(response).write(&mut self.output)?;
            }
            Message::Notification(note) if note.method == "exit" => {
                // An `exit` without a `shutdown` before it counts as an error (Language Server Protocol 3.17).
                return Ok(Some(if self.shut_down { super::FINE } else { super::FINDINGS }));
            }
            Message::Notification(note) => {
                let method = note.method.clone();
                let done = sheltered(&format!("`{method}`"), || self.notification(note));
                done.or_else(|words| self.failed(words))?;
            }
            Message::Response(_) => {}
        }
        Ok(None)
    }

    /// Whether a request was taken back by a message that has come already.
    fn take_cancel(&mut self, request: &Request) -> bool {
        let Ok(id) = serde_json::to_value(&request.id) else { return false };
        self.queue.iter().any(|event| {
            let Event::Incoming(Incoming::Message(Message::Notification(note))) = event else { return false };
            note.method == "$/cancelRequest" && note.params.get("id") == Some(&id)
        })
    }

    fn request(&mut self, request: Request) -> Response {
        let Request { id, method, params } = request;
        let outcome = match (method.as_str(), &mut self.server) {
            // The protocol wants this of a server between `shutdown` and `exit`.
            (_, _) if self.shut_down => Err((ErrorCode::InvalidRequest, "the server is shutting down".to_owned())),
            ("initialize", None) => match serde_json::from_value(params) {
                Ok(wishes) => {
                    let (server, abilities) = Server::new(wishes);
                    self.server = Some(server);
                    Ok(abilities)
                }
                Err(error) => Err((ErrorCode::InvalidParams, error.to_string())),
            },
            ("initialize", Some(_)) => Err((ErrorCode::InvalidRequest, "`initialize` came before".to_owned())),
            (_, None) => Err((ErrorCode::ServerNotInitialized, "`initialize` comes first".to_owned())),
            ("shutdown", Some(_)) => {
                self.shut_down = true;
                Ok(Value::Null)
            }
            (method, Some(server)) => answers::answer(server, method, params),
        };
        match outcome {
            Ok(value) => Response { id, response_result: Ok(value) },
            Err((code, words)) => Response::new_err(id, code as i32, words),
        }
    }

    fn notification(&mut self, note: Notification) {
        // What the protocol has no answer for cannot be refused; it is passed over.
        if let Some(server) = &mut self.server
            && !self.shut_down
        {
            server.notification(&note.method, note.params);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A fault of ours is shown once (`window/showMessage`, Language Server Protocol 3.17), and the session goes on to its end.
    #[test]
    fn a_fault_of_ours_is_shown_and_the_session_goes_on() {
        let (jobs, _work) = channel();
        let (events, inbox) = channel();
        let done = || {
            let failed = Some("`one.dial` could not be worked out".to_owned());
            Event::Done(Box::new(worker::Done { design: "one.dial".to_owned(), insight: None, failed }))
        };
        let exit = Message::Notification(Notification::new("exit".to_owned(), Value::Null));
        for event in [done(), done(), Event::Incoming(Incoming::Message(exit))] {
            events.send(event).unwrap();
        }
        let mut session =
            Session { server: None, jobs, shut_down: true, output: Vec::new(), queue: VecDeque::new(), told: None };
        assert_eq!(session.run(&inbox).unwrap(), 0);
        let told = String::from_utf8(session.output).unwrap();
        assert_eq!(told.matches("window/showMessage").count(), 1, "{told}");
        assert!(told.contains("`one.dial` could not be worked out"));
    }
}
